"""What gauges get wrong over many readings: zeros that drift from pull to pull, ends of their range."""

from dataclasses import replace

import numpy as np

from pullcurve.intake.benchlog import Log
from pullcurve.intake.cycles import Cycles
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BoolArray
from pullcurve.studies.benchpull import RELEASE, STILL

FEWEST_PULLS = 3
"""Pulls from which on a drift can be told from chance."""

CERTAIN = 4.0
"""Standard deviations that a drift exceeds."""

PLACE_SHARE = 0.004
FORCE_SHARE = 0.01
"""Shares of span and largest force that a drift exceeds."""

BINS = 20
MIDDLE = (0.15, 0.9)
"""Where along the span pulls are compared."""

FULL = 0.8
"""Share of these places at which a pull has both branches, if it is compared."""

FLAT = 5
"""Equal readings in a row at the end of a gauge's range."""

FLAT_SHARE = 0.03
BEND = 3.0
"""A top is cut off if it is flat over this share of the span, and the slope beside it is so many digits steep."""

OFF_FLOOR = 0.05
"""Share of the largest force above which the least one may be a gauge's lower end: zero is where a lever rests."""

NOISY = 1.0
"""Scatter of a place, in digits of its gauge, from which on equal readings in a row are no chance."""

PRESSED = 0.25
"""Share of the largest force that grows while the lever stands."""


def steadied(log: Log, cycles: Cycles) -> Log:
    """Readings without drift of the zeros of place and force."""
    log = _place_steadied(log, cycles)
    log = _force_steadied(log, cycles)
    return _unloaded_at_zero(log, cycles)


def _clock(log: Log) -> FloatArray:
    """What a drift goes along: time, or else the count of readings."""
    return np.arange(log.place.size, dtype=np.float64) if log.time is None else log.time


def _drift(at: FloatArray, off: FloatArray, least: float) -> float | None:
    """Slope of a straight line through a zero's errors, None where they are too few or it is not sure."""
    if at.size < FEWEST_PULLS or np.ptp(at) == 0:
        return None
    middle = at - np.mean(at)
    slope = float(middle @ off / (middle @ middle))
    left = off - np.mean(off) - slope * middle
    error = float(np.sqrt(left @ left / (at.size - 2) / (middle @ middle)))
    sure = abs(slope) * np.ptp(at) > least and abs(slope) > CERTAIN * error
    return slope if sure else None


def _place_steadied(log: Log, cycles: Cycles) -> Log:
    """The lever comes back to its stop: what changes there is the gauge's zero."""
    rests = [turn for turn in cycles.turns if not turn.inward]
    clock = _clock(log)
    at = np.array([clock[(turn.first + turn.last) // 2] for turn in rests])
    rest = np.array([np.median(log.place[turn.first : turn.last + 1]) for turn in rests])
    least = max(PLACE_SHARE * float(np.ptp(log.place)), cycles.noise)
    slope = _drift(at, rest, least)
    if slope is None:
        return log
    off = slope * (clock - at[0])
    moved = log.shown(slope * float(np.ptp(at)))
    remark = f"zero of the {log.along} drifts by {moved} over {cycles.pulls} pulls; taken out"
    return replace(log, place=log.place - off, remarks=(*log.remarks, remark))


def _force_steadied(log: Log, cycles: Cycles) -> Log:
    """A zero that drifts moves both branches the same way everywhere; friction that changes moves them apart."""
    at, near, far = _offsets(log, cycles)
    least = FORCE_SHARE * float(np.max(log.force))
    slope = _drift(at, (near + far) / 2.0, least)
    if slope is None:
        return log
    moved = slope * float(np.ptp(at))
    if _drift(at, far - near, least) is not None:
        remark = f"force changes by {moved:+.2g} N over {at.size} pulls, and not evenly: no zero drifts; left as it is"
        return replace(log, remarks=(*log.remarks, remark))
    remark = f"zero of the force drifts by {moved:+.2g} N over {at.size} pulls; taken out"
    return replace(log, force=log.force - slope * (_clock(log) - at[0]), remarks=(*log.remarks, remark))


def _offsets(log: Log, cycles: Cycles) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Middle time of every whole pull, and how far its two branches lie above those of all pulls, near and far [N]."""
    low, span = float(np.min(log.place)), float(np.ptp(log.place))
    share = ((log.place - low) / span - MIDDLE[0]) / (MIDDLE[1] - MIDDLE[0])
    used = (cycles.branch != STILL) & (share >= 0) & (share < 1)
    shape = (cycles.pulls, 2, BINS)
    home = np.ravel_multi_index(
        (cycles.cycle[used], (cycles.branch[used] == RELEASE).astype(int), (share[used] * BINS).astype(int)),
        shape,
    )
    size = int(np.prod(shape))
    count = np.bincount(home, minlength=size).reshape(shape)
    total = np.bincount(home, weights=log.force[used], minlength=size).reshape(shape)
    whole = np.mean(np.min(count, axis=1) > 0, axis=-1) >= FULL
    mean = np.where(count > 0, total / np.maximum(count, 1), np.nan)[whole]
    everywhere = np.flatnonzero(np.all(np.isfinite(mean), axis=(0, 1)))
    if np.count_nonzero(whole) < FEWEST_PULLS or everywhere.size < 2:
        return np.empty(0), np.empty(0), np.empty(0)
    off = np.mean((mean - np.mean(mean, axis=0))[..., everywhere], axis=1)
    half = everywhere.size // 2
    times = np.bincount(cycles.cycle, weights=_clock(log), minlength=cycles.pulls) / np.bincount(cycles.cycle)
    return times[whole], np.mean(off[:, :half], axis=1), np.mean(off[:, half:], axis=1)


def _unloaded_at_zero(log: Log, cycles: Cycles) -> Log:
    """Nobody pushes a lever out: a force below zero at rest is the gauge's zero."""
    resting = [
        log.force[turn.first + 1 : turn.last]
        for turn in cycles.turns
        if not turn.inward and turn.last > turn.first + 1
    ]
    if not resting:
        return log
    zero = float(np.median(np.concatenate(resting)))
    if zero > -FORCE_SHARE * float(np.max(log.force)):
        return log
    remark = f"force is {zero:.2g} N at rest; counted from there"
    return replace(log, force=log.force - zero, remarks=(*log.remarks, remark))


def cut_off(log: Log, cycles: Cycles) -> tuple[BoolArray, tuple[str, ...]]:
    """Readings of the force at the end of a gauge's range, and what to say of either gauge."""
    out = np.zeros(log.force.size, dtype=bool)
    remarks = []
    for force, end in ((log.force, float(np.max(log.force))), (-log.force, float(np.min(log.force)))):
        there = _at_end(log, force)
        if np.any(there) and (force is log.force or end > OFF_FLOOR * float(np.max(log.force))):
            share = log.shown(float(np.ptp(log.place[there])))
            remarks.append(
                f"force stays at {end:.4g} N over {share} of {log.along}: "
                f"the gauge was at its end; {np.count_nonzero(there)} readings left out"
            )
            out |= there
    far = log.shown(float(np.max(log.place)))
    pressing = max((_grown(log, turn.first, turn.last) for turn in cycles.turns if turn.inward), default=0.0)
    if pressing > PRESSED * float(np.max(log.force)):
        remarks.append(
            f"{log.along} stays at {far} while the force grows by {pressing:.3g} N: lever or gauge was at its end"
        )
    elif cycles.noise > NOISY * _digit(log.place) and (tops := _flat_tops(log.place)):
        most = max(end - start for start, end in tops)
        remarks.append(
            f"{log.along} stays at {far} in {most} readings without any scatter: the gauge was at its end"
        )
    return out, tuple(remarks)


def _at_end(log: Log, force: FloatArray) -> BoolArray:
    """Which readings belong to a flat top of a force: flat while the lever moves, and with an edge."""
    there = np.zeros(force.size, dtype=bool)
    for start, end in _flat_tops(force):
        moved = float(np.ptp(log.place[start:end]))
        if moved > FLAT_SHARE * float(np.ptp(log.place)) and _bends(log.place, force, start, end, moved):
            there[start:end] = True
    return there


def _flat_tops(values: FloatArray) -> list[tuple[int, int]]:
    """Where the largest value stands several times in a row: first, beyond the last."""
    top = np.concatenate([[False], values == np.max(values), [False]]).astype(np.int8)
    starts, ends = np.flatnonzero(np.diff(top) == 1), np.flatnonzero(np.diff(top) == -1)
    return [(int(a), int(b)) for a, b in zip(starts, ends, strict=True) if b - a >= FLAT]


def _digit(values: FloatArray) -> float:
    """Smallest step between two readings that follow each other, which a gauge's last digit makes."""
    steps = np.abs(np.diff(values))
    return float(np.min(steps, where=steps > 1e-9 * np.ptp(values), initial=np.inf))


def _bends(place: FloatArray, force: FloatArray, start: int, end: int, moved: float) -> bool:
    """Whether the force comes to a flat top, or leaves it, steeply: a hill's own top is round."""
    digit, top = _digit(force), float(force[start])
    for edge, way in ((start, -1), (end - 1, 1)):
        beside = place[edge + way :: way] if edge + way >= 0 else place[:0]
        near = int(np.argmax(np.abs(beside - place[edge]) > moved / 4.0)) if beside.size else 0
        if near and top - float(force[edge + way * (near + 1)]) > BEND * digit:
            return True
    return False


def _grown(log: Log, first: int, last: int) -> float:
    """Growth of the force while the lever stands at its end [N]."""
    if last <= first + 1:
        return 0.0
    return float(np.percentile(log.force[first : last + 1], 99) - log.force[first])
