"""Find: the sets of the rack that come nearest to a rider's wishes, what they cost, and why no better is to be had."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pullcurve.errors import BadInput, Fault, Impossible
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray
from pullcurve.pull.mechanism import Cam, fitted, mechanism
from pullcurve.studies.bounds import Bound, bounds
from pullcurve.studies.candidates import Candidates, Told, candidates, silent, single
from pullcurve.studies.doubt import Doubtful, gain_words, gains
from pullcurve.studies.sentences import Change, changes, explain
from pullcurve.studies.wishes import Wish, distances, total, undominated, wishes_of

STEP_FRACTION = 0.5
"""Costs are compared in half felt steps: no answer beats another by what no finger could tell."""


IndexArray = NDArray[np.intp]

TIE = 0.2
"""Distances [felt steps] closer than this count as equal: then fewer swaps win."""


@dataclass(frozen=True, slots=True)
class Excluded:
    """How many candidates of the rack a limit rules out, and by how much the nearest of them misses it."""

    key: str
    sentence: str
    unit: str
    count: int
    nearest_miss: float


@dataclass(frozen=True, slots=True)
class WishCost:
    """What one wish costs: how much nearer the others could be met without it [felt steps], and with which cams."""

    wish: Wish
    steps: float
    without: float
    cams: dict[str, Cam]


@dataclass(frozen=True, slots=True)
class Answer:
    """One set for one lever: cams, distance from the wishes [felt steps], change from what is fitted, plain words.

    ``gain`` says how much nearer to the wishes it is than what is fitted, where the job has measured numbers whose
    intervals could leave that open; else it is None.
    """

    row: int
    cams: dict[str, Cam]
    distance: float
    steps: dict[str, float]
    changes: tuple[Change, ...]
    words: tuple[str, ...]
    gain: Doubtful | None = None


@dataclass(frozen=True, slots=True)
class LeverAnswer:
    """Everything found for one lever."""

    lever: str
    table: Candidates
    fitted: Candidates
    wishes: tuple[Wish, ...]
    steps: FloatArray
    distance: FloatArray
    front: BoolArray
    answers: tuple[Answer, ...]
    fitted_distance: float
    excluded: tuple[Excluded, ...]
    bounds: tuple[Bound, ...]
    costs: tuple[WishCost, ...]

    @property
    def best(self) -> dict[str, Cam]:
        """The first answer that may be called better, or what is fitted where there is none."""
        better = (one.cams for one in self.answers if one.gain is None or one.gain.better)
        return next(better, self.fitted.set_at(0))


@dataclass(frozen=True, slots=True)
class Exchange:
    """One cam for another; ``off`` is None where none is fitted."""

    kind: str
    off: Cam | None
    on: Cam


@dataclass(frozen=True, slots=True)
class Found:
    """Answers for every lever that carries cams of the rack, and the way there, one change at a time.

    A step is one exchange, except where a lever's reach changes: then all its cams go together.
    """

    levers: tuple[LeverAnswer, ...]
    route: tuple[tuple[Exchange, ...], ...]

    @property
    def best(self) -> dict[str, Cam]:
        """The complete best set by what each cam drives."""
        return {kind: cam for lever in self.levers for kind, cam in lever.best.items()}


def rack_for(job: Job, lever: int) -> dict[str, Sequence[Cam]]:
    """Cams that may stand on one lever, by what they drive: the rack's, or what is fitted where it has none.

    Empty for a lever of which the rack has nothing.
    """
    assert job.rack is not None
    racks: dict[str, Sequence[Cam]] = {
        "brake": job.rack.brake_cams,
        "clutch": job.rack.clutch_cams,
        "assist": job.rack.assist_cams,
    }
    driven = [rocker.drives for rocker in job.unit.levers[lever].rockers]
    if not any(racks[kind] for kind in driven):
        return {}
    now = fitted(job)
    return {kind: racks[kind] or now.of(kind) for kind in driven if racks[kind] or now.of(kind)}


def find(job: Job, most: int = 5, told: Told = silent) -> Found:
    """Search the whole rack of a job, lever by lever, and rank what keeps every limit by felt steps from the wishes."""
    if job.rack is None:
        raise BadInput(Fault(job.title, "rack", "is missing; give the cams that the workshop has"))
    levers = tuple(
        answer_for(job, lever, most, told) for lever in range(len(job.unit.levers)) if rack_for(job, lever)
    )
    if not levers:
        raise BadInput(
            Fault(job.title, "rack", "has no cam for this unit; give the cams that the workshop has")
        )
    return Found(levers, _route(job, levers))


def answer_for(job: Job, lever: int, most: int, told: Told) -> LeverAnswer:
    """Search one lever."""
    table = candidates(job, lever, rack_for(job, lever), told=told)
    now = single(job, lever, fitted_at(job, lever))
    wishes = _wishes(job, now)
    steps = _steps(wishes, table)
    distance = total(wishes, steps)
    allowed = table.allowed & np.isfinite(distance)
    excluded = _excluded(table)
    if not np.any(allowed):
        raise Impossible(_nothing_left(table, excluded))
    whole = mechanism(job, fitted(job))
    front = _front(wishes, steps, allowed)
    order = _order(table, distance, allowed, fitted_at(job, lever))
    ranked = [int(row) for row in order if front[row]][:most]
    answers = tuple(_answer(table, now, wishes, steps, distance, row) for row in ranked)
    fitted_distance = float(total(wishes, _steps(wishes, now))[0])
    if job.measured and now.allowed[0] and np.isfinite(fitted_distance):
        answers = _doubted(job, lever, wishes, answers)
    return LeverAnswer(
        lever=table.lever,
        table=table,
        fitted=now,
        wishes=wishes,
        steps=steps,
        distance=distance,
        front=front,
        answers=answers,
        fitted_distance=fitted_distance,
        excluded=excluded,
        bounds=bounds(whole, whole.levers[lever], wishes),
        costs=_costs(table, wishes, steps, allowed, answers[0]),
    )


def fitted_at(job: Job, lever: int) -> dict[str, Cam]:
    """Cams fitted on one lever, by what they drive."""
    choice = fitted(job)
    driven = [rocker.drives for rocker in job.unit.levers[lever].rockers]
    return {kind: choice.of(kind)[0] for kind in driven if choice.of(kind)}


def _steps(wishes: tuple[Wish, ...], table: Candidates) -> FloatArray:
    """Signed felt steps from every wish, (wishes, n)."""
    parts = []
    for kind, known in table.readouts().items():
        parts.append(distances(tuple(wish for wish in wishes if wish.kind == kind), known))
    return np.concatenate(parts)


def _front(wishes: tuple[Wish, ...], steps: FloatArray, allowed: BoolArray) -> BoolArray:
    """Undominated among the allowed, compared in half felt steps."""
    front = np.zeros(allowed.shape, dtype=np.bool_)
    rows = np.flatnonzero(allowed)
    coarse = np.round(np.abs(steps[:, rows]) / STEP_FRACTION)
    front[rows] = undominated(coarse)
    return front


def _order(table: Candidates, distance: FloatArray, allowed: BoolArray, now: dict[str, Cam]) -> IndexArray:
    """Rows by distance, in steps that matter; among equals the one that changes fewest cams comes first."""
    swapped = np.zeros(table.count, dtype=np.intp)
    for kind, index in table.picked.items():
        swapped += np.array([cam != now.get(kind) for cam in table.cams[kind]])[index]
    coarse = np.where(allowed, np.round(distance / TIE), np.inf)
    return np.lexsort((distance, swapped, coarse))


def _excluded(table: Candidates) -> tuple[Excluded, ...]:
    """Every limit that rules something out."""
    found = []
    for limit in table.limits:
        broken = limit.margin < 0.0
        if np.any(broken):
            nearest = float(-np.max(limit.margin[broken]))
            found.append(Excluded(limit.key, limit.sentence, limit.unit, int(np.sum(broken)), nearest))
    return tuple(found)


def _nothing_left(table: Candidates, excluded: tuple[Excluded, ...]) -> str:
    """The one sentence for a rack of which nothing may be fitted."""
    worst = max(excluded, key=lambda known: known.count)
    miss = (
        ""
        if np.isinf(worst.nearest_miss)
        else f"; the nearest misses by {worst.nearest_miss:.2g} {worst.unit}"
    )
    return (
        f"{table.lever}: none of the {table.count} sets of the rack keeps every limit; "
        f"{worst.count} break this one: {worst.sentence}{miss}"
    )


def _answer(
    table: Candidates,
    now: Candidates,
    wishes: tuple[Wish, ...],
    steps: FloatArray,
    distance: FloatArray,
    row: int,
) -> Answer:
    """One ranked answer with its words."""
    changed = changes(now, table, row)
    by_wish = {wish.key: float(steps[k, row]) for k, wish in enumerate(wishes)}
    words = explain(wishes, by_wish, changed, table, row)
    return Answer(row, table.set_at(row), float(distance[row]), by_wish, changed, words)


def _doubted(
    job: Job, lever: int, wishes: tuple[Wish, ...], answers: tuple[Answer, ...]
) -> tuple[Answer, ...]:
    """Answers with what the measured numbers leave open of each gain; nothing is gained by what is fitted."""
    now = fitted_at(job, lever)
    others = [one for one in answers if one.cams != now]
    told = dict(
        zip(
            [one.row for one in others],
            gains(job, lever, wishes, now, [one.cams for one in others]),
            strict=True,
        )
    )
    return tuple(
        replace(one, gain=told[one.row], words=(*one.words, gain_words(told[one.row])))
        if one.row in told
        else one
        for one in answers
    )


def _costs(
    table: Candidates, wishes: tuple[Wish, ...], steps: FloatArray, allowed: BoolArray, best: Answer
) -> tuple[WishCost, ...]:
    """What each wish costs the others: the best distance over the others, with and without it."""
    found = []
    for k, wish in enumerate(wishes if len(wishes) > 1 else ()):
        others = tuple(other for other in wishes if other is not wish)
        without = np.where(allowed, total(others, np.delete(steps, k, axis=0)), np.inf)
        free = int(np.argmin(without))
        gained = float(without[best.row] - without[free])
        found.append(WishCost(wish, float(steps[k, best.row]), gained, table.set_at(free)))
    return tuple(found)


def _route(job: Job, levers: tuple[LeverAnswer, ...]) -> tuple[tuple[Exchange, ...], ...]:
    """Steps from what is fitted to the best set: levers in order, assist last of its lever."""
    now = fitted(job)
    steps: list[tuple[Exchange, ...]] = []
    for lever in levers:
        changed = [
            Exchange(kind, next(iter(now.of(kind)), None), cam)
            for kind, cam in lever.best.items()
            if cam not in now.of(kind)
        ]
        if any(one.off is not None and one.off.reach_deg != one.on.reach_deg for one in changed):
            steps.append(tuple(changed))
        else:
            steps += [(one,) for one in changed]
    return tuple(steps)


def _wishes(job: Job, now: Candidates) -> tuple[Wish, ...]:
    """Wishes of one lever; where it drives brake and clutch, its one place at rest is wished for once."""
    every = [wish for kind, known in now.readouts().items() for wish in wishes_of(job, kind, known)]
    places = [wish for wish in every if wish.readout == "gap_rest"]
    stated = [wish for wish in places if wish.source != "kept"] or places[:1]
    return tuple(wish for wish in every if wish.readout != "gap_rest" or wish in stated)
