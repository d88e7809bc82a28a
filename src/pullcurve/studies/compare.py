"""Two pulls against each other: before and after, one machine and another, measured and predicted."""

from dataclasses import dataclass

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import felt_steps_force, felt_steps_position
from pullcurve.parts.job import Job
from pullcurve.studies.benchpull import Branches, LeverKind
from pullcurve.studies.parameters import INTERVAL
from pullcurve.studies.prediction import Bench, predict
from pullcurve.studies.readings import row_of_lever

LEAST_FORCE = 5.0
"""Force below which a finger holds the lever rather than pulls it; differences there are not counted [N]."""

EARLY_FORCE = 10.0
"""Force that tells where the work begins [N]."""

LATER = 2.0
"""Felt steps from which a difference is felt a day later too, as 15 % are of 7 % [-]."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing read off a measured pull, SI, with its standard deviation; NaN where it was not reached."""

    label: str
    unit: str
    felt: str
    value: float
    deviation: float


@dataclass(frozen=True, slots=True)
class Changed:
    """One reading before and after, and its change in felt steps (NaN where no finger feels it)."""

    before: Reading
    after: Reading
    steps: float

    @property
    def change(self) -> float:
        """After less before, SI."""
        return self.after.value - self.before.value

    @property
    def deviation(self) -> float:
        """Standard deviation of the change, SI."""
        return float(np.hypot(self.before.deviation, self.after.deviation))

    @property
    def sure(self) -> bool:
        """Whether the change is larger than what both readings leave open, at 95 %."""
        return abs(self.change) > INTERVAL * self.deviation


@dataclass(frozen=True, slots=True)
class Compared:
    """Two pulls at equal travel: changes of force (P,) [N], their deviations, felt steps, readings, and a sentence.

    The sentence speaks of changes that are sure.
    """

    place: FloatArray
    pull_change: FloatArray
    release_change: FloatArray
    pull_deviation: FloatArray
    release_deviation: FloatArray
    pull_steps: FloatArray
    release_steps: FloatArray
    readings: tuple[Changed, ...]
    sentence: str


def predicted_branches(job: Job, lever: LeverKind, like: Branches) -> Branches:
    """What a job would read at the places of a measured pull, without any scatter."""
    seen = predict(Bench(job, row_of_lever(job, lever), like.place, like.angular), {})
    none = np.zeros_like(like.place)
    pressure = None if seen.pressure is None else seen.pressure[0]
    return Branches(like.place, like.angular, seen.pull[0], seen.release[0], none, none, pressure, pressure)


def compare(before: Branches, after: Branches) -> Compared:
    """Two pulls at equal travel; raises BadInput where one has travel and the other angles."""
    if before.angular != after.angular:
        said = "has travel on one side and angles on the other; allowed is the same on both"
        raise BadInput(Fault("bench pulls", "place", said))
    place = before.place[before.place <= after.place[-1]]
    pulls, releases = (
        (_at(place, before.place, before_force), _at(place, after.place, after_force))
        for before_force, after_force in ((before.pull, after.pull), (before.release, after.release))
    )
    doubts = [
        np.hypot(*(_at(place, known.place, getattr(known, branch)) for known in (before, after)))
        for branch in ("pull_deviation", "release_deviation")
    ]
    pull_steps, release_steps = _steps(*pulls), _steps(*releases)
    changes = pulls[1] - pulls[0], releases[1] - releases[0]
    sure = [
        np.where(np.abs(change) <= INTERVAL * doubt, 0.0, steps)
        for change, doubt, steps in zip(changes, doubts, (pull_steps, release_steps), strict=True)
    ]
    changed = tuple(_changed(*both) for both in zip(readings_of(before), readings_of(after), strict=True))
    return Compared(
        place=place,
        pull_change=changes[0],
        release_change=changes[1],
        pull_deviation=doubts[0],
        release_deviation=doubts[1],
        pull_steps=pull_steps,
        release_steps=release_steps,
        readings=changed,
        sentence=_sentence(*sure),
    )


def _at(place: FloatArray, known: FloatArray, values: FloatArray) -> FloatArray:
    """Values at other places, NaN outside what was read."""
    read = np.isfinite(values)
    if np.count_nonzero(read) < 2:
        return np.full(place.shape, np.nan)
    return np.asarray(np.interp(place, known[read], values[read], left=np.nan, right=np.nan))


def _steps(before: FloatArray, after: FloatArray) -> FloatArray:
    """Felt steps of a force, NaN where a finger only holds the lever."""
    pulled = np.fmin(before, after) >= LEAST_FORCE
    return np.where(
        pulled, felt_steps_force(np.where(pulled, before, 1.0), np.where(pulled, after, 1.0)), np.nan
    )


def readings_of(known: Branches) -> tuple[Reading, ...]:
    """What can be read off a measured pull without knowing what is behind it; NaN where a branch was not read."""
    unit = "deg" if known.angular else "mm"
    felt = "no" if known.angular else "place"
    last, least = _last_and_least(known)
    end = float(known.place[last])
    half = end / 2.0
    pull, release, above, below = (
        float(_at(np.array([half]), known.place, values)[0])
        for values in (known.pull, known.release, known.pull_deviation, known.release_deviation)
    )
    work = [_work(known.place, values) for values in (known.pull, known.release)]
    doubt = [_work_doubt(known.place, values) for values in (known.pull_deviation, known.release_deviation)]
    share = (pull - release) / pull
    return (
        Reading("travel", unit, felt, end, _spacing(known) / np.sqrt(12.0)),
        Reading(f"travel to {EARLY_FORCE:g} N", unit, felt, *_reached(known)),
        Reading("pull force at half travel", "newton", "force", pull, above),
        Reading("release force at half travel", "newton", "force", release, below),
        Reading(
            "force at the end", "newton", "force", float(known.pull[last]), float(known.pull_deviation[last])
        ),
        Reading(
            "least force on the way out",
            "newton",
            "force",
            float(known.release[least]),
            float(known.release_deviation[least]),
        ),
        Reading(
            "friction between pull and release",
            "percent",
            "no",
            share,
            float(np.hypot(above * release / pull, below)) / pull,
        ),
        Reading("work put in", "joule", "no", work[0], doubt[0]),
        Reading("work given back", "joule", "no", work[1], doubt[1]),
    )


def _last_and_least(known: Branches) -> tuple[int, int]:
    """Rows of the last force of the pull and of the least of the release; where a branch was not read, any is NaN."""
    read, back = (np.flatnonzero(np.isfinite(values)) for values in (known.pull, known.release))
    return (
        int(read[-1]) if read.size else -1,
        int(back[np.argmin(known.release[back])]) if back.size else -1,
    )


def _spacing(known: Branches) -> float:
    return float(np.median(np.diff(known.place)))


def _reached(known: Branches) -> tuple[float, float]:
    """Where the pull first reaches the early force, and how sure that is."""
    read = np.isfinite(known.pull)
    place, pull = known.place[read], known.pull[read]
    beyond = np.flatnonzero(pull >= EARLY_FORCE)
    if beyond.size == 0 or beyond[0] == 0:
        return float("nan"), float("nan")
    row = int(beyond[0])
    slope = (pull[row] - pull[row - 1]) / (place[row] - place[row - 1])
    at = place[row - 1] + (EARLY_FORCE - pull[row - 1]) / slope
    return float(at), float(known.pull_deviation[read][row] / slope)


def _work(place: FloatArray, force: FloatArray) -> float:
    read = np.isfinite(force)
    return float(np.trapezoid(force[read], place[read])) if read.any() else float("nan")


def _work_doubt(place: FloatArray, deviation: FloatArray) -> float:
    width = np.gradient(place)
    return float(np.sqrt(np.nansum((width * deviation) ** 2)))


def _changed(before: Reading, after: Reading) -> Changed:
    """A reading before and after, in steps where a finger feels it."""
    if before.felt == "force":
        low = max(min(before.value, after.value), 0.0)
        steps = float(felt_steps_force(before.value, after.value)) if low >= LEAST_FORCE else float("nan")
    elif before.felt == "place":
        steps = float(felt_steps_position(before.value, after.value))
    else:
        steps = float("nan")
    return Changed(before, after, steps)


def _sentence(pull: FloatArray, release: FloatArray) -> str:
    """Whether a finger can tell the two apart, on which branch and how."""
    most = [
        float(np.nanmax(np.abs(steps))) if np.any(np.isfinite(steps)) else 0.0 for steps in (pull, release)
    ]
    branch, steps = ("pull", pull) if most[0] >= most[1] else ("release", release)
    greatest = max(most)
    if greatest < 1.0:
        return "No finger can tell the two apart: at equal travel the forces differ by less than is felt or sure."
    way = "harder" if steps[int(np.nanargmax(np.abs(steps)))] > 0 else "lighter"
    felt = "back to back only" if greatest < LATER else "a day later too"
    return f"A finger can tell them apart, {felt}: the {branch} is {way} by up to {greatest:.1f} felt steps."
