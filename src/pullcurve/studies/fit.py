"""A measured pull fitted: which numbers of the job explain it, how sure they are, and what the pull does not tell."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.studies.benchpull import Branches, LeverKind
from pullcurve.studies.parameters import INTERVAL, Unknown, unknowns
from pullcurve.studies.prediction import Predicted, predict, values_at
from pullcurve.studies.readings import Readings, readings, thinned
from pullcurve.studies.squares import MOST_LOOKS, ROUGH, Best, most_probable, searched

INFORMED = 0.7
"""A value whose uncertainty is below this share of the prior's was told by the data."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted pull.

    Per unknown, (n,), in the unit of its key: ``value``, ``deviation`` (of the logarithm where it is spread over
    ratios, times the value), ``low`` and ``high`` of the 95 % interval; ``narrowing`` is the posterior's width as a
    share of the prior's. ``measured`` is the pull on the places that were used. ``scaled``, ``covariance`` (n, n) and
    ``slopes`` (D, n) are in standard deviations of the prior and of the readings. ``predicted`` is what the fitted job
    would read, ``pull_residual`` and ``release_residual`` measured less predicted (P,) [N]. ``evidence`` is the
    logarithm of the marginal likelihood up to a constant of the readings.
    """

    unknowns: tuple[Unknown, ...]
    readings: Readings
    measured: Branches
    value: FloatArray
    deviation: FloatArray
    low: FloatArray
    high: FloatArray
    narrowing: FloatArray
    scaled: FloatArray
    covariance: FloatArray
    slopes: FloatArray
    predicted: Predicted
    pull_residual: FloatArray
    release_residual: FloatArray
    chi_square: float
    degrees: float
    evidence: float

    @property
    def correlation(self) -> FloatArray:
        """Correlation of the unknowns, (n, n)."""
        width = np.sqrt(np.diag(self.covariance))
        return np.asarray(self.covariance / np.outer(width, width))

    @property
    def reduced(self) -> float:
        """Chi square per degree of freedom: near 1 where the model explains the pull, well above where it does not."""
        return self.chi_square / max(self.degrees, 1.0)

    @property
    def cost(self) -> float:
        """Half the squares of residuals and of moves off the priors: the less, the more probable."""
        return 0.5 * (self.chi_square + float(self.scaled @ self.scaled))

    def evidence_at(self, scale: float) -> float:
        """Evidence if the squares of all deviations of the readings were so many times what they were taken to be."""
        information = self.slopes.T @ self.slopes / scale + np.eye(self.scaled.size)
        size = float(np.linalg.slogdet(information)[1])
        return -0.5 * (self.chi_square / scale + float(self.scaled @ self.scaled) + size)

    def place(self, path: str) -> int:
        """Row of an unknown by its path."""
        return next(row for row, unknown in enumerate(self.unknowns) if unknown.path == path)

    def values(self) -> dict[str, float]:
        """Fitted values by path."""
        return {unknown.path: float(x) for unknown, x in zip(self.unknowns, self.value, strict=True)}

    @property
    def informed(self) -> tuple[str, ...]:
        """Paths of the numbers that the data told, not the prior alone."""
        pairs = zip(self.unknowns, self.narrowing, strict=True)
        return tuple(unknown.path for unknown, share in pairs if share < INFORMED)


def fit(job: Job, measured: Branches, lever: LeverKind) -> Fit:
    """Fit one lever's measured pull; raises BadInput where too little was measured."""
    few = thinned(measured)
    known = readings(job, few, lever)
    return fit_unknowns(few, known, unknowns(job, known.bench.row))


def fit_unknowns(
    measured: Branches,
    known: Readings,
    wanted: tuple[Unknown, ...],
    start: FloatArray | None = None,
    looks: int = MOST_LOOKS,
) -> Fit:
    """Least squares of readings and priors together, from the job as it is said or from near a solution.

    ``start`` is in standard deviations of the prior.
    """
    begin, near = (said(wanted), False) if start is None else (start, True)
    best = searched(lambda z: known.off(wanted, z), begin, bounds_of(wanted), looks, near)
    return _told(measured, known, wanted, best)


def fit_roughly(
    measured: Branches, known: Readings, wanted: tuple[Unknown, ...], start: FloatArray, steps: int
) -> Fit:
    """The same in a few steps with one-sided slopes: good enough to tell what is worth a thorough search."""
    best = most_probable(
        lambda z: known.off(wanted, z), start, bounds_of(wanted), steps, close=ROUGH, one_sided=True
    )
    return _told(measured, known, wanted, best)


def bounds_of(wanted: Sequence[Unknown]) -> tuple[FloatArray, FloatArray]:
    """Bounds of all unknowns, in standard deviations of their priors."""
    low, high = zip(*(unknown.bounds for unknown in wanted), strict=True)
    return np.array(low), np.array(high)


def said(wanted: Sequence[Unknown]) -> FloatArray:
    """What the job says now, in standard deviations of the prior, (n,)."""
    return np.array([unknown.scaled(unknown.value) for unknown in wanted])


def _told(measured: Branches, known: Readings, wanted: tuple[Unknown, ...], best: Best) -> Fit:
    """Everything that is said of a fit, from its most probable values."""
    z = best.z
    covariance = np.asarray(np.linalg.inv(best.information), dtype=np.float64)
    width = np.sqrt(np.diag(covariance))
    value, low, high = (
        np.array([float(unknown.natural(one)) for unknown, one in zip(wanted, at, strict=True)])
        for at in (z, z - INTERVAL * width, z + INTERVAL * width)
    )
    least, most = (np.array(ends) for ends in zip(*((u.least, u.most) for u in wanted), strict=True))
    spread = [unknown.spread * (x if unknown.log else 1.0) for unknown, x in zip(wanted, value, strict=True)]
    predicted = predict(known.bench, values_at(wanted, z[None, :]))
    return Fit(
        unknowns=wanted,
        readings=known,
        measured=measured,
        value=value,
        deviation=np.array(spread) * width,
        low=np.maximum(low, least),
        high=np.minimum(high, most),
        narrowing=width,
        scaled=z,
        covariance=covariance,
        slopes=best.slopes,
        predicted=predicted,
        pull_residual=measured.pull - predicted.pull[0],
        release_residual=measured.release - predicted.release[0],
        chi_square=float(best.rest @ best.rest),
        degrees=best.rest.size - (z.size - float(np.trace(covariance))),
        evidence=best.evidence,
    )
