"""A measured pull as one row of numbers with their deviations, and what the model says to each of them."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray
from pullcurve.studies.benchpull import Branches, LeverKind
from pullcurve.studies.parameters import Unknown, taken
from pullcurve.studies.prediction import Bench, Predicted, predict, values_at
from pullcurve.units import to_si

FEWEST = 8
"""Places with a force on either branch that a fit needs."""

DARING = 0.5
"""A scatter below this share of the usual one is luck of few readings, not a better place."""


@dataclass(frozen=True, slots=True)
class Readings:
    """What was measured: values (D,) [N, then Pa] and their standard deviations.

    The first ``counts`` numbers are the pull branch, then the release branch, then pressures on the pull branch;
    ``pull_at`` and ``release_at`` (P,) say at which places of the bench they were read.
    """

    bench: Bench
    value: FloatArray
    deviation: FloatArray
    pull_at: BoolArray
    release_at: BoolArray
    pressure_at: BoolArray

    def row_of(self, predicted: Predicted) -> FloatArray:
        """A prediction at the places where something was read, (N, D)."""
        parts = [predicted.pull[:, self.pull_at], predicted.release[:, self.release_at]]
        if np.any(self.pressure_at):
            assert predicted.pressure is not None
            parts.append(predicted.pressure[:, self.pressure_at])
        return np.concatenate(parts, axis=-1)

    def expected(self, unknowns: Sequence[Unknown], scaled: FloatArray) -> FloatArray:
        """What the model says to each number, for rows of guesses (N, n): (N, D)."""
        return self.row_of(predict(self.bench, values_at(unknowns, scaled)))

    def off(self, unknowns: Sequence[Unknown], scaled: FloatArray) -> FloatArray:
        """Residuals in standard deviations, (N, D)."""
        residual = (self.expected(unknowns, scaled) - self.value) / self.deviation
        return np.where(np.isfinite(residual), residual, WORST)


BETWEEN = 4.0
"""Share of a second difference that a place may be off where the force steps: a step may lie anywhere between."""

STEPS = 3
"""Places at which the force may step."""

WORST = 1e3
"""What a guess that the mechanism cannot be pulled at counts as [standard deviations]."""


def row_of_lever(job: Job, lever: LeverKind) -> int:
    """Which lever of the unit works the brake or the clutch; raises BadInput where none does."""
    for row, known in enumerate(job.unit.levers):
        if any(rocker.drives == lever for rocker in known.rockers):
            return row
    drives = sorted({rocker.drives for known in job.unit.levers for rocker in known.rockers} - {"assist"})
    said = f"is about a {lever} that this unit does not work; allowed is {' or '.join(drives)}"
    raise BadInput(Fault("bench pull", "lever", said))


def readings(job: Job, measured: Branches, lever: LeverKind) -> Readings:
    """What was measured, ready to be compared; raises BadInput where there is too little of it."""
    row = row_of_lever(job, lever)
    bench = Bench(job, row, measured.place, measured.angular, stepped=_stepped(measured))
    moved = measured.place > _spacing(measured.place) / 2.0
    pull_at, release_at = (moved & np.isfinite(force) for force in (measured.pull, measured.release))
    if min(np.count_nonzero(pull_at), np.count_nonzero(release_at)) < FEWEST:
        fewest = min(int(np.count_nonzero(at)) for at in (pull_at, release_at))
        said = f"has {fewest} places on one of its branches; a fit needs {FEWEST} on both"
        raise BadInput(Fault("bench pull", "", said))
    value = [measured.pull[pull_at], measured.release[release_at]]
    deviation = [
        _deviation(measured, force, scatter)[at]
        for force, scatter, at in (
            (measured.pull, measured.pull_deviation, pull_at),
            (measured.release, measured.release_deviation, release_at),
        )
    ]
    pressure_at = np.zeros_like(pull_at)
    if measured.pull_pressure is not None:
        pressure_at = moved & np.isfinite(measured.pull_pressure)
        value.append(measured.pull_pressure[pressure_at])
        gauge = to_si("gauge_bar", taken("noise", "pressure_bar"))[1]
        share = taken("noise", "floor_percent") / 100.0 * measured.pull_pressure[pressure_at]
        deviation.append(np.hypot(gauge, share))
    return Readings(bench, np.concatenate(value), np.concatenate(deviation), pull_at, release_at, pressure_at)


def _stepped(measured: Branches) -> BoolArray:
    """Places near which a branch bends most, (P,): a step of the force lies there if there is one."""
    bends = np.zeros(measured.place.shape)
    for force in (measured.pull, measured.release):
        bends[1:-1] = np.fmax(bends[1:-1], np.abs(np.diff(force, 2)))
    stepped = np.zeros(bends.shape, dtype=np.bool_)
    for row in np.argsort(-bends)[:STEPS].tolist():
        stepped[max(row - 1, 0) : row + 2] = True
    return stepped


def thinned(measured: Branches) -> Branches:
    """The pull on no more places than are worth it, each the mean of its neighbours.

    Neighbouring places share the errors of the model and of the bench: many of them must not count as many
    witnesses, and their mean is taken to be no surer than one of them.
    """
    group = int(np.ceil(measured.place.size / taken("noise", "independent_places")))
    if group < 2:
        return measured
    skipped = measured.place.size % group

    def mean(values: FloatArray | None) -> FloatArray | None:
        if values is None:
            return None
        rows = values[skipped:].reshape(-1, group)
        read = np.isfinite(rows)
        total = np.sum(np.where(read, rows, 0.0), axis=-1)
        count = np.sum(read, axis=-1)
        # A mean over half a group does not stand in its middle.
        return np.where(count == group, total / group, np.nan)

    changed: dict[str, Any] = {
        known.name: mean(getattr(measured, known.name))
        for known in fields(measured)
        if known.name != "angular"
    }
    return replace(measured, **changed)


def _spacing(place: FloatArray) -> float:
    return float(np.median(np.diff(place)))


def _deviation(measured: Branches, force: FloatArray, scatter: FloatArray) -> FloatArray:
    """Standard deviation of a mean force, (P,).

    Its scatter, the model's own error, a place read a little off, and a step that falls between two places. Single
    readings that were typed tell nothing of their scatter; they are taken to be read by eye.
    """
    typed = not np.any(np.isfinite(scatter))
    usual = taken("noise", "typed_newton") if typed else float(np.nanmedian(scatter))
    own = np.maximum(np.where(np.isfinite(scatter), scatter, usual), DARING * usual)
    floor = taken("noise", "floor_newton") + taken("noise", "floor_percent") / 100.0 * np.abs(force)
    known = np.isfinite(force)
    filled = np.interp(measured.place, measured.place[known], force[known])
    off = to_si("off_mm", taken("noise", "typed_place_mm" if typed else "place_mm"))[1]
    if measured.angular:
        off = off / FINGER_ARM
    steep = np.abs(np.gradient(filled, measured.place)) * off
    bent = np.zeros_like(filled)
    bent[1:-1] = np.abs(np.diff(filled, 2)) / BETWEEN
    return np.asarray(np.sqrt(own**2 + floor**2 + steep**2 + bent**2))


FINGER_ARM = 0.075
"""Distance of a finger from the pin at which an angle's error is taken to be made [m]."""
