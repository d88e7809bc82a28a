"""Constrained least squares that cannot run away: Gauss-Newton steps in a box that grows while they do as foretold."""

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np

from pullcurve.mechanics.curve import FloatArray

NUDGE = 1.0e-3
"""Half the step of the central differences, in units of the search."""

WALL = 1.0e3
"""Weight of the worst broken margin against what is to be small: no wish is worth a broken limit."""

FIRST, WIDEST, CLOSEST = 2.0, 16.0, 1.0e-3
"""Half width of the box at first, at most, and where the search stops."""

MOST_ROUNDS = 60

ENOUGH, ENOUGH_ALONE = 1.0e-3, 1.0e-5
"""What a step must promise to mend: a share of the cost, and a cost of its own."""

STILL = 1.0e-6
"""Weight that holds still whatever nothing depends on."""


MOST_TAKES = 20
"""How often more rows are taken in."""

ROUNDING = 1.0e-9
"""What counts as kept."""


@dataclass(frozen=True, slots=True)
class Values:
    """What a place is worth: what is to be small (..., r), and small at its peak (..., p, S); margins (..., m).

    Margins are to stay at or above 0.
    """

    small: FloatArray
    peaks: FloatArray
    margins: FloatArray

    @property
    def cost(self) -> float:
        """What the search makes least at one place: the squares, and a wall in front of the worst margin."""
        high = np.max(self.peaks, axis=-1)
        wall = WALL * max(0.0, -float(np.min(self.margins)))
        return float(self.small @ self.small + high @ high) + wall**2


Measured = Callable[[FloatArray], Values]
"""Rows of places (rows, n) to their values, rows leading."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the search, its values, and their slopes with the n axes leading."""

    at: FloatArray
    here: Values
    slopes: Values

    def ahead(self, step: FloatArray) -> Values:
        """Values after a step, by the slopes."""
        parts = {
            part.name: getattr(self.here, part.name) + np.tensordot(step, getattr(self.slopes, part.name), 1)
            for part in fields(Values)
        }
        return Values(**parts)


@dataclass(frozen=True, slots=True)
class Descended:
    """Where a search ended, and after how many rounds."""

    place: Place
    rounds: int


def placed(measured: Measured, at: FloatArray) -> Place:
    """Measure a place and a step to both sides along every axis, all in one stack."""
    count = at.size
    known = measured(np.concatenate([at[None, :], at + NUDGE * np.eye(count), at - NUDGE * np.eye(count)]))
    parts = {part.name: getattr(known, part.name) for part in fields(Values)}
    slopes = {name: (rows[1 : count + 1] - rows[count + 1 :]) / (2.0 * NUDGE) for name, rows in parts.items()}
    return Place(at, Values(**{name: rows[0] for name, rows in parts.items()}), Values(**slopes))


def descend(measured: Measured, start: FloatArray) -> Descended:
    """Make the squares least while every margin stays at 0 or above; ends where no step would help.

    Each round solves the problem as it looks from here, within a box. The step is taken if it helps at all; the box
    grows where the step did what was foretold and shrinks where it did not. The cost never rises.
    """
    here, box, rounds = placed(measured, start), FIRST, 1
    while rounds < MOST_ROUNDS and box > CLOSEST:
        step, cost = _step(here, box), here.here.cost
        promised, shrunk = cost - here.ahead(step).cost, float(np.max(np.abs(step))) / 4.0
        if 0.0 <= promised <= ENOUGH * cost + ENOUGH_ALONE:
            break
        rounds += 1
        if promised < 0.0:  # rounding has spoilt the step: the closer, the better posed
            box = shrunk
            continue
        there = placed(measured, here.at + step)
        share = (cost - there.here.cost) / promised
        here = there if share > 0.0 else here
        box = min(2.0 * box, WIDEST) if share > 0.75 else box if share > 0.25 else shrunk
    return Descended(here, rounds)


def _step(place: Place, box: float) -> FloatArray:
    """Best step within a box by the slopes of a place.

    Unknown are the step, the height of the wall, and the height of every peak, which lies above all of its stations. A
    peak that is too low is lifted where it is highest.
    """
    count, peaks = place.at.size, place.here.peaks
    total = count + 1 + len(peaks)
    low = np.flatnonzero(np.max(peaks, axis=-1) < 0.0)
    top = np.argmax(peaks[low], axis=-1)
    small = np.concatenate([place.here.small, peaks[low, top]])
    slopes = np.concatenate([place.slopes.small, place.slopes.peaks[:, low, top]], axis=-1).T
    weights = np.diag([STILL] * count + [WALL] + [1.0] * len(peaks))
    design = np.concatenate([np.pad(slopes, ((0, 0), (0, total - count))), weights])
    target = np.concatenate([-small, np.zeros(total)])
    blocks = [_sides(count, total, box), _above(place.here.margins, place.slopes.margins, count, total, box)]
    for row, peak in enumerate(peaks):
        blocks.append(_above(-peak, -place.slopes.peaks[:, row], count + 1 + row, total, box))
    rows, bounds = (np.concatenate(part) for part in zip(*blocks, strict=True))
    return np.clip(least_squares_within(design, target, rows, bounds)[:count], -box, box)


def _sides(count: int, total: int, box: float) -> tuple[FloatArray, FloatArray]:
    """Rows and bounds of the box, and of a wall that has no depth."""
    rows = np.concatenate([np.eye(total)[:count], -np.eye(total)[:count], np.eye(total)[count : count + 1]])
    return rows, np.append(np.full(2 * count, -box), 0.0)


def _above(
    values: FloatArray, rising: FloatArray, column: int, total: int, box: float
) -> tuple[FloatArray, FloatArray]:
    """Rows and bounds that keep values (m,) with slopes (n, m) plus an unknown height at or above 0.

    What nothing within the box can bring to where it counts needs no row.
    """
    count, reach = len(rising), box * np.sum(np.abs(rising), axis=0)
    near = values - reach <= max(0.0, float(np.min(values + reach)))
    rows = np.zeros((int(np.sum(near)), total))
    rows[:, :count], rows[:, column] = rising[:, near].T, 1.0
    return rows, -values[near]


def least_squares_within(
    design: FloatArray, target: FloatArray, rows: FloatArray, bounds: FloatArray
) -> FloatArray:
    """x that makes |design x - target| least with rows x >= bounds.

    Few of the rows matter. They are taken in as they are broken, the most broken first, until none is.
    """
    turned, upper = np.linalg.qr(design)
    middle = turned.T @ target
    facing = np.linalg.solve(upper.T, rows.T)
    needed = bounds - middle @ facing
    taken = np.zeros(needed.size, dtype=np.bool_)
    moved, broken = np.zeros(middle.size), needed
    for _ in range(MOST_TAKES):
        worst = np.argsort(broken)[-len(middle) :]
        new = worst[(broken[worst] > ROUNDING) & ~taken[worst]]
        if not new.size:
            break
        taken[new] = True
        moved = _least_distance(facing[:, taken], needed[taken])
        broken = needed - moved @ facing
    return np.asarray(np.linalg.solve(upper, middle + moved))


def _least_distance(facing: FloatArray, needed: FloatArray) -> FloatArray:
    """Shortest z with z facing >= needed: what non-negative least squares leave over.

    C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, 23.4 (from memory).
    """
    from scipy.optimize import nnls

    size = float(np.max(needed))
    stacked = np.concatenate([facing, needed[None, :] / size])
    aim = np.zeros(len(stacked))
    aim[-1] = 1.0
    rest = stacked @ nnls(stacked, aim, maxiter=30 * needed.size + 100)[0] - aim
    return np.asarray(-size * rest[:-1] / rest[-1])
