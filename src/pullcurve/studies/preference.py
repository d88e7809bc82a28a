"""Ride notes that teach: what a rider would like best, how sure that is, and which ride would teach most next.

A note rates a read-out from -3 (far too little) through 0 (just right) to +3 (far too much). The rating is taken to
be linear in felt steps from the rider's own ideal,

    r = g (x - m) + e,   x, m: read-out and ideal in felt steps from the wish,   e ~ N(0, s),

rounded to whole points and cut off at the ends. The ideal m of each read-out starts at the wish, with a normal doubt;
the rider's gain g, points per felt step, is one number for all read-outs and starts log-normal. Both lie on a grid, so
that rounding, cut-off and the unknown gain need no approximation.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

import numpy as np
from scipy.special import logsumexp, ndtr, ndtri, softmax

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import FELT_FORCE, FELT_POSITION
from pullcurve.parts.fields import Span
from pullcurve.parts.job import Job
from pullcurve.parts.rider import BrakeWishes, ClutchWishes
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.studies.candidates import Told, silent, single
from pullcurve.studies.find import fitted_at, rack_for
from pullcurve.studies.swap import Swap, swaps
from pullcurve.studies.wishes import WISH_READOUTS, Wish, felt_steps, first_surface, wishes_of
from pullcurve.units import from_si

MOST_POINTS = 3
"""A rating goes from minus to plus so many points."""

DOUBT: Mapping[str, float] = {"given": 3.0, "prior": 4.0, "kept": 5.0}
"""How far an ideal may lie from a wish, by where the wish comes from: standard deviation [felt steps]; a choice."""

GAIN, GAIN_SPREAD = 0.5, 1.6
"""Points that a felt step is worth to a rider, and the factor by which riders differ [1/step, -]; a choice: what is
felt a day later is worth about one point, three such steps about three."""

SCATTER = 0.7
"""Standard deviation of one rating before it is rounded [points]; a choice."""

OFFSETS: FloatArray = np.linspace(-20.0, 20.0, 401)
"""Ideals that are weighed, from the wish [felt steps]."""

GAINS: FloatArray = GAIN * GAIN_SPREAD ** ndtri((np.arange(9) + 0.5) / 9)
"""Gains that are weighed, equally likely before any note [points per felt step]."""

CENTRAL = 0.95
"""Share that an interval holds [-]."""

POINTS: FloatArray = np.arange(-MOST_POINTS, MOST_POINTS + 1.0)


@dataclass(frozen=True, slots=True)
class Note:
    """One rating: of which read-out, the value that was ridden (SI), and the points given."""

    kind: str
    readout: str
    value: float
    points: int


@dataclass(frozen=True, slots=True)
class Preference:
    """What a rider would like of one read-out: the wish as learned, the wish as it was, interval (SI), doubt.

    ``weights`` are those of gains and ideals on the grid, (gains, offsets); ``now`` is the value that is fitted.
    """

    wish: Wish
    before: Wish
    low: float
    high: float
    doubt: float
    notes: int
    now: float
    weights: FloatArray

    @property
    def learned(self) -> bool:
        """Whether any note speaks of it."""
        return self.notes > 0


@dataclass(frozen=True, slots=True)
class Lesson:
    """One ride: with which swap (None: as it is), the doubt expected after it, and which read-out it tells most of.

    Of a swap, that is the read-out of which it tells most that a ride as it is would not.
    """

    swap: Swap | None
    doubt: float
    tells: str


# Learn --------------------------------------------------------------------------------------------------------------


def learn(job: Job, notes: Sequence[Note]) -> tuple[Preference, ...]:
    """What the notes say of every read-out that is wished for or was rated."""
    known = _fitted(job)
    subjects = [wish for kind, readouts in known.items() for wish in _subjects(job, kind, readouts, notes)]
    tables = [_likelihood(wish, _about(wish, notes)) for wish in subjects]
    gains = _gains(tables)
    return tuple(
        _preference(wish, gains, table, len(_about(wish, notes)), _value(known[wish.kind], wish))
        for wish, table in zip(subjects, tables, strict=True)
    )


def _fitted(job: Job) -> dict[str, Readouts]:
    """Read-outs of what is on the machine, by what they belong to."""
    found: dict[str, Readouts] = {}
    for lever in range(len(job.unit.levers)):
        found |= single(job, lever, fitted_at(job, lever)).readouts()
    return found


def _subjects(job: Job, kind: str, known: Readouts, notes: Iterable[Note]) -> list[Wish]:
    """Wishes of brake or clutch, and read-outs that were rated although nobody had a wish for them."""
    rated = {note.readout: note.value for note in notes if note.kind == kind}
    found = [
        replace(wish, weight=1.0) if wish.source == "kept" and wish.readout in rated else wish
        for wish in wishes_of(job, kind, known)
    ]
    there = {wish.readout for wish in found}
    labels = dict(facets(known))
    for key, readout in WISH_READOUTS.items():
        if key.startswith(f"{kind}.") and readout in rated and readout not in there:
            found.append(Wish(key, kind, readout, rated[readout], 1.0, "kept", labels[readout]))
    return found


def _about(wish: Wish, notes: Iterable[Note]) -> list[Note]:
    """Notes on one read-out; a note on what was never reached says nothing of where it should be."""
    same = [note for note in notes if (note.kind, note.readout) == (wish.kind, wish.readout)]
    return [note for note in same if np.isfinite(felt_steps(wish.target, note.value, wish.facet))]


def _value(known: Readouts, wish: Wish) -> float:
    return float(np.ravel(first_surface(getattr(known, wish.readout), wish.facet))[0])


def chance(points: FloatArray | float, away: FloatArray) -> FloatArray:
    """Chance of a rating where the rider feels a read-out so many felt steps above the ideal, (..., gains, offsets).

    ``away`` broadcasts against the gains on its second last axis.
    """
    felt = GAINS[:, None] * away
    given = np.asarray(points)
    above = np.where(given >= MOST_POINTS, 1.0, ndtr((given + 0.5 - felt) / SCATTER))
    below = np.where(given <= -MOST_POINTS, 0.0, ndtr((given - 0.5 - felt) / SCATTER))
    return np.asarray(np.maximum(above - below, 1e-12))


def _likelihood(wish: Wish, notes: Iterable[Note]) -> FloatArray:
    """How well each gain and ideal explain the notes on a read-out, doubt included: logarithm, (gains, offsets)."""
    found = np.zeros((GAINS.size, OFFSETS.size)) - 0.5 * (OFFSETS / DOUBT[wish.source]) ** 2
    for note in notes:
        steps = float(felt_steps(wish.target, note.value, wish.facet))
        found += np.log(chance(float(note.points), steps - OFFSETS))
    return found - logsumexp(-0.5 * (OFFSETS / DOUBT[wish.source]) ** 2)


def _gains(tables: Sequence[FloatArray]) -> FloatArray:
    """How likely each gain is after all notes on all read-outs, (gains,)."""
    evidence = np.zeros(GAINS.size)
    for table in tables:
        evidence += logsumexp(table, axis=-1)
    return np.asarray(softmax(evidence))


def _preference(wish: Wish, gains: FloatArray, table: FloatArray, notes: int, now: float) -> Preference:
    """What is believed of one read-out."""
    weights = gains[:, None] * softmax(table, axis=-1)
    ideals = np.sum(weights, axis=0)
    mean = float(np.sum(ideals * OFFSETS))
    deviation = float(np.sqrt(np.sum(ideals * (OFFSETS - mean) ** 2)))
    low, high = (_quantile(ideals, share) for share in (0.5 - CENTRAL / 2, 0.5 + CENTRAL / 2))
    target, least, most = (at_steps(wish.target, steps, wish.facet) for steps in (mean, low, high))
    learned = replace(wish, target=target, source="learned") if notes else wish
    return Preference(learned, wish, least, most, deviation, notes, now, weights)


def _quantile(ideals: FloatArray, share: float) -> float:
    """The offset below which a share of the weight lies; weight is spread evenly around each point of the grid."""
    half = 0.5 * (OFFSETS[1] - OFFSETS[0])
    return float(np.interp(share, np.concatenate([[0.0], np.cumsum(ideals)]), _edges(half)))


def _edges(half: float) -> FloatArray:
    return np.concatenate([[OFFSETS[0] - half], OFFSETS + half])


def at_steps(value: float, steps: float, facet: Facet) -> float:
    """The value that lies so many felt steps from another, SI."""
    if facet.felt == "force":
        return float(value * FELT_FORCE**steps)
    return float(value + steps * FELT_POSITION)


# Use ----------------------------------------------------------------------------------------------------------------


def wishing(job: Job, known: Sequence[Preference]) -> Job:
    """The job with what was learned in place of its wishes, so that the finder looks for it."""
    typed: dict[str, Any] = job.wishes.model_dump(exclude_unset=True) if job.wishes else {}
    for kind, model in (("brake", BrakeWishes), ("clutch", ClutchWishes)):
        about = [one for one in known if one.wish.kind == kind]
        if not any(one.learned for one in about):
            continue
        typed[kind] = {
            name: _typed(one, name, _span(model, name))
            for one in about
            if one.wish.source != "kept"
            for name in [one.wish.key.removeprefix(f"{kind}.")]
        }
    return Job.model_validate({**job.model_dump(exclude_unset=True), "wishes": typed})


def _span(model: type[BrakeWishes | ClutchWishes], name: str) -> Span:
    """What may be wished for."""
    kinds = [kind for choice in get_args(model.model_fields[name].annotation) for kind in get_args(choice)]
    return next(kind for kind in kinds if isinstance(kind, Span))


def _typed(one: Preference, name: str, span: Span) -> float:
    """A target as a job file has it: in its unit, to a tenth, within what may be wished for."""
    value = round(float(from_si(name, one.wish.target)), 1)
    return min(max(value, span.low), span.high)


# Teach --------------------------------------------------------------------------------------------------------------


def teach(job: Job, known: Sequence[Preference], told: Told = silent) -> tuple[Lesson, ...]:
    """Every ride that could come next, as it is or after one swap that keeps every limit, what teaches most first."""
    racked = job.rack is not None and any(rack_for(job, lever) for lever in range(len(job.unit.levers)))
    found = swaps(job, told=told) if racked else None
    rides: list[Swap | None] = [None, *(found.helping + found.others if found else ())]
    left = [_left(known, ride) for ride in rides]
    plain = [one.doubt**2 for one in known]
    lessons = [
        Lesson(ride, _over_all(known, rest), _tells(known, plain if ride is None else left[0], rest))
        for ride, rest in zip(rides, left, strict=True)
    ]
    return tuple(sorted(lessons, key=lambda lesson: lesson.doubt))


def doubt(known: Sequence[Preference]) -> float:
    """Doubt over all read-outs, root of the weighted mean square [felt steps]."""
    return _over_all(known, [one.doubt**2 for one in known])


def _over_all(known: Sequence[Preference], squares: Sequence[float]) -> float:
    weights = [one.wish.weight for one in known]
    if not weights:
        return 0.0
    return float(np.sqrt(np.dot(weights, squares) / np.sum(weights)))


def _left(known: Sequence[Preference], ride: Swap | None) -> list[float]:
    """Squared doubts that a ride is expected to leave, if every read-out is rated."""
    after = {(one.kind, one.readout): one.after for one in (ride.changes if ride else ())}
    return [expected_square(one, after.get((one.wish.kind, one.wish.readout), one.now)) for one in known]


def _tells(known: Sequence[Preference], before: Sequence[float], left: Sequence[float]) -> str:
    """The wish of whose read-out most is told."""
    gained = [one.wish.weight * (old - new) for one, old, new in zip(known, before, left, strict=True)]
    return known[int(np.argmax(gained))].wish.key if known else ""


def expected_square(one: Preference, value: float) -> float:
    """Squared doubt that is left of a read-out after its rating at a value, mean over the ratings that may come."""
    steps = float(felt_steps(one.before.target, value, one.before.facet))
    if not np.isfinite(steps):
        return one.doubt**2
    joint = one.weights * chance(POINTS[:, None, None], steps - OFFSETS)
    given = np.sum(joint, axis=(1, 2))
    ideals = np.sum(joint, axis=1)
    first, second = ideals @ OFFSETS, ideals @ OFFSETS**2
    return float(np.sum(second - first**2 / given))
