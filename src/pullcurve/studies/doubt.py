"""What the intervals of measured numbers leave open of the difference between two sets of cams."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.studies.candidates import single
from pullcurve.studies.parameters import INTERVAL, with_values
from pullcurve.studies.wishes import Wish, distances, felt_steps, first_surface, total

FELT = 1.0
"""Felt steps from which a difference is one."""


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A number with its standard deviation, from the intervals of what was measured."""

    value: float
    deviation: float

    @property
    def sure(self) -> bool:
        """Whether it differs from zero by more than the measured numbers leave open, at 95 %."""
        return abs(self.value) > self.margin

    @property
    def margin(self) -> float:
        """Half of the 95 % interval."""
        return INTERVAL * self.deviation

    @property
    def counts(self) -> bool:
        """Whether felt steps are felt, and more than what the measured numbers leave open."""
        return self.sure and abs(self.value) >= FELT

    @property
    def better(self) -> bool:
        """Whether a gain of felt steps counts as one."""
        return self.counts and self.value > 0.0


@dataclass(frozen=True, slots=True)
class Difference:
    """One read-out, one set against another: the change [SI] and its felt steps."""

    kind: str
    readout: str
    facet: Facet
    change: Doubtful
    steps: Doubtful

    @property
    def counts(self) -> bool:
        """Whether it is felt, and larger than what the measured numbers leave open."""
        return self.steps.counts


def ends_of(job: Job) -> tuple[Job, ...]:
    """The job as it is, then with every measured number at the low and at the high end of its interval."""
    return (
        job,
        *(
            with_values(job, {path: end})
            for path, interval in job.measured.items()
            for end in (interval.low, interval.high)
        ),
    )


def differences(
    job: Job, lever: int, before: Mapping[str, Cam], after: Mapping[str, Cam]
) -> tuple[Difference, ...]:
    """Change of every read-out of one lever from one set to another; a number moves both sets alike."""
    was, now = (_pulled(job, lever, cams) for cams in (before, after))
    return tuple(
        Difference(
            kind,
            name,
            facet,
            _doubtful(now[kind, name] - was[kind, name]),
            _doubtful(felt_steps(was[kind, name], now[kind, name], facet)),
        )
        for kind, name, facet in _names(job, lever, before)
    )


def gains(
    job: Job,
    lever: int,
    wishes: tuple[Wish, ...],
    before: Mapping[str, Cam],
    sets: Sequence[Mapping[str, Cam]],
) -> tuple[Doubtful, ...]:
    """How much nearer to the wishes each set is than another [felt steps]; it is better only where this counts."""
    ends = ends_of(job)
    was = _distances(ends, lever, wishes, before)
    return tuple(_doubtful(was - _distances(ends, lever, wishes, after)) for after in sets)


def gain_words(gain: Doubtful) -> str:
    """Whether a set may be called better than what is fitted, and why not."""
    if np.isnan(gain.margin):
        return "Not called better: the measured numbers leave open whether the wished feel is reached at all."
    told = f"{abs(gain.value):.1f} ± {gain.margin:.1f} felt steps"
    if gain.better:
        return f"Better: {told} nearer to the wishes than what is fitted."
    if not gain.sure:
        return f"Not called better: {told} of difference is within what the measured numbers leave open."
    if not gain.counts:
        return f"Not called better: {told} of difference is less than a finger tells for sure."
    return f"Not called better: it is {told} further from the wishes than what is fitted."


def _names(job: Job, lever: int, cams: Mapping[str, Cam]) -> list[tuple[str, str, Facet]]:
    known = single(job, lever, cams).readouts()
    return [(kind, name, facet) for kind, read in known.items() for name, facet in facets(read)]


def _pulled(job: Job, lever: int, cams: Mapping[str, Cam]) -> dict[tuple[str, str], FloatArray]:
    """Read-outs of one set for the job and for the ends of its intervals, (1 + 2 n,) each."""
    rows = [single(one, lever, cams).readouts() for one in ends_of(job)]
    return {
        (kind, name): np.array([_first(row[kind], name, facet) for row in rows])
        for kind, known in rows[0].items()
        for name, facet in facets(known)
    }


def _first(known: Readouts, name: str, facet: Facet) -> float:
    return float(np.ravel(first_surface(getattr(known, name), facet))[0])


def _distances(
    ends: tuple[Job, ...], lever: int, wishes: tuple[Wish, ...], cams: Mapping[str, Cam]
) -> FloatArray:
    """Distance of one set from the wishes [felt steps] for each of some jobs; NaN where it cannot be told."""
    found = np.array([_distance(one, lever, wishes, cams) for one in ends])
    return np.where(np.isfinite(found), found, np.nan)


def _distance(job: Job, lever: int, wishes: tuple[Wish, ...], cams: Mapping[str, Cam]) -> float:
    """Distance of one set from the wishes [felt steps]."""
    steps = [
        distances(tuple(wish for wish in wishes if wish.kind == kind), known)
        for kind, known in single(job, lever, cams).readouts().items()
    ]
    return float(total(wishes, np.concatenate(steps))[0])


def _doubtful(values: FloatArray) -> Doubtful:
    """A number from its value and its values at both ends of every interval; measured numbers count as independent."""
    low, high = values[1::2], values[2::2]
    return Doubtful(float(values[0]), float(np.sqrt(np.sum(((high - low) / (2.0 * INTERVAL)) ** 2))))
