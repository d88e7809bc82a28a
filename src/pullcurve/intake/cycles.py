"""Pulls found in readings: turning points of the lever, what lies on its way in and out, and where it stood still."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BoolArray
from pullcurve.studies.benchpull import PULL, RELEASE, STILL

OUT, IN = 0.25, 0.5
"""Shares of the span: a pull begins below the one and counts once it is beyond the other."""

NOISES = 3.0
"""Scatters of a place within which the lever may be said to stand."""

UNSURE = 2.0
"""Scatters of a place within which a reading may belong to either side of a turning point."""

NARROWEST = 0.004
"""The same as a share of the span, at least."""

DWELL = 3.0
"""A lever stands where it takes so many times as long as it would take to turn round."""

MANY = 50
"""Readings from which on their scatter can be told from their curve."""

PART = 0.2
"""Share of the span that the first or last part of a branch has at least."""

CREEP = 0.05
SURE = 2.2
"""Share of its usual speed below which a lever is held, and scatters of a way that a held one does not reach."""

ROUNDING = 1e-9
"""Scatter as a share of the span below which it is none: numbers in equal steps leave that much when differenced."""

MAD = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A turning point: its readings from ``first`` to ``last``, during which the lever stood if they differ."""

    first: int
    last: int
    inward: bool
    """Whether this is the far end of a pull."""


@dataclass(frozen=True, slots=True)
class Cycles:
    """Readings sorted: branch and number of the pull (S,), turning points in order, scatter of one place."""

    branch: NDArray[np.int8]
    cycle: NDArray[np.int64]
    turns: tuple[Turn, ...]
    noise: float

    @property
    def pulls(self) -> int:
        """How many pulls there are."""
        return int(np.max(self.cycle, initial=-1)) + 1


def scatter(values: FloatArray) -> float:
    """Standard deviation of white noise on a smooth row of readings, 0 where there are too few of them.

    Readings that stand at the highest or the lowest value of all say nothing: there a gauge ends, and its noise too.
    """
    if values.size < MANY:
        return 0.0
    ends = (values == np.max(values)) | (values == np.min(values))
    bends = np.abs(np.diff(values, 3))  # of white noise, with a variance of 1 + 9 + 9 + 1 times its own
    bends = bends[~(ends[3:] & ends[2:-1] & ends[1:-2] & ends[:-3])]
    found = float(MAD * np.median(bends) / np.sqrt(20.0)) if bends.size else 0.0
    return found if found > ROUNDING * float(np.ptp(values)) else 0.0


def split(place: FloatArray) -> Cycles:
    """Sort readings into pulls and releases, from their places (S,) alone."""
    span = float(np.ptp(place))
    noise = scatter(place)
    steps = np.abs(np.diff(place))
    digit = float(np.min(steps, where=steps > 1e-9 * span, initial=span))
    band = max(NOISES * noise, NARROWEST * span, min(digit, 0.02 * span))
    runs = _runs(place)
    speed = _speed(place, len(runs) - 1)
    level = _smoothed(place, band / speed if speed else 1.0, place.size // (8 * len(runs)))
    turns = [_turn(level, *run, band, speed) for run in runs]
    turns = _with_ends(level, turns, PART * span)
    branch = np.full(place.size, STILL, dtype=np.int8)
    for one, other in pairwise(turns):
        inside = slice(
            one.last + (one.inward and one is not turns[0]),
            other.first + (other.inward or other is turns[-1]),
        )
        way = PULL if other.inward else RELEASE
        branch[inside] = np.where(_onward(level[inside] * way, 2.0 * band), way, STILL)
    for turn in turns[1:-1]:
        branch[_unsure(level, turn, noise, speed)] = STILL
    for turn in turns:
        if turn.last > turn.first:
            branch[turn.first + 1 : turn.last] = STILL
    branch[_held(level, speed, max(2.0 * band, SURE * noise / CREEP))] = STILL
    return Cycles(branch, _numbered(turns, place.size), tuple(turns), noise)


def _runs(place: FloatArray) -> list[tuple[int, int, bool]]:
    """Readings far in and far out by turns: first, beyond the last, whether far in."""
    low = float(np.min(place))
    share = (place - low) / (float(np.max(place)) - low)
    state = np.where(share >= IN, 1, np.where(share <= OUT, -1, 0))
    latest = np.maximum.accumulate(np.where(state != 0, np.arange(state.size), 0))
    state = state[latest]
    if state[0] == 0:
        state[state == 0] = state[np.argmax(state != 0)]
    starts = [0, *(np.flatnonzero(np.diff(state)) + 1).tolist()]
    ends = [*starts[1:], state.size]
    return [(start, end, bool(state[start] > 0)) for start, end in zip(starts, ends, strict=True)]


def _speed(place: FloatArray, passes: int) -> float:
    """Usual way of the lever from one reading to the next, where it moves [unit of place]."""
    low, high = float(np.min(place)), float(np.max(place))
    share = (place - low) / (high - low)
    between = int(np.count_nonzero((share > OUT) & (share < 1.0 - OUT)))
    return (1.0 - 2.0 * OUT) * (high - low) * max(passes, 1) / max(between, 1)


def _smoothed(place: FloatArray, width: float, widest: int) -> FloatArray:
    """Running mean over an odd number of readings; the ends are those of the readings."""
    from scipy.ndimage import uniform_filter1d

    half = int(max(0.0, min(width, widest)) // 2)
    return np.asarray(uniform_filter1d(place, 2 * half + 1, mode="nearest"), dtype=np.float64)


def _turn(level: FloatArray, start: int, end: int, inward: bool, band: float, speed: float) -> Turn:
    """The turning point in a run of readings far in or far out."""
    inside = level[start:end] if inward else -level[start:end]
    near = np.flatnonzero(inside >= np.max(inside) - band)
    first, last = start + int(near[0]), start + int(near[-1])
    passing = band / speed
    if last - first > 2.0 * DWELL * passing + 2.0:
        return Turn(first + int(passing), last - int(passing), inward)
    at = start + int(np.argmax(inside))
    return Turn(at, at, inward)


def _unsure(level: FloatArray, turn: Turn, noise: float, speed: float) -> slice:
    """Readings beside a turning point, which scatter may have put on the other side of it."""
    wide = 8 + int(8.0 * noise / speed) if noise else 0
    before = level[max(turn.first - wide, 0) : turn.first][::-1]
    behind = level[turn.last + 1 : turn.last + 1 + wide]
    first, last = (
        int(np.argmax(np.append(np.abs(side - level[at]) > UNSURE * noise, True)))
        for side, at in ((before, turn.first), (behind, turn.last))
    )
    return slice(turn.first - first, turn.last + 1 + last) if noise else slice(0, 0)


def _with_ends(level: FloatArray, turns: list[Turn], least: float) -> list[Turn]:
    """Turning points with the first and last reading, where a part of a branch lies before or behind them."""
    head, tail = turns[0], turns[-1]
    last = level.size - 1
    if abs(level[0] - level[head.first]) > least:
        turns = [Turn(0, 0, not head.inward), *turns]
    if abs(level[last] - level[tail.last]) > least:
        turns = [*turns, Turn(last, last, not tail.inward)]
    return turns


def _onward(level: FloatArray, slack: float) -> BoolArray:
    """Where a level that should rise is not below what it had reached."""
    return np.asarray(level >= np.maximum.accumulate(level) - slack)


def _held(level: FloatArray, speed: float, wide: float) -> BoolArray:
    """Where the lever crept or stood on its way, for longer than it takes to go so far at its usual speed."""
    held = np.zeros(level.size, dtype=bool)
    half = 4 + int(wide / speed)
    if level.size < max(4 * MANY, 8 * half):
        return held
    way = np.abs(level[2 * half :] - level[: -2 * half])
    held[half:-half] = way < CREEP * speed * 2 * half
    return held


def _numbered(turns: list[Turn], size: int) -> NDArray[np.int64]:
    """Number of the pull that each reading belongs to; one begins in the middle of each rest."""
    begins = [(turn.first + turn.last) // 2 for turn in turns[1:-1] if not turn.inward]
    return np.searchsorted(np.array(begins, dtype=np.int64), np.arange(size), side="right").astype(np.int64)
