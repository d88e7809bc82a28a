"""Mean branches of a bench pull: all its pulls on one even grid of places, and how sure their mean is."""

import numpy as np
from numpy.typing import NDArray

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BoolArray
from pullcurve.studies.benchpull import PULL, RELEASE, STILL, BenchPull, Branches

FEWEST_POINTS = 4
"""Places of a grid."""


def branches(pull: BenchPull, points: int = 40, drop_first: bool = False) -> Branches:
    """Mean of every branch over all pulls, without the first if that is wished, at even places from rest to the end.

    A place takes the readings nearest to it, moved to it along the branch's own slope. The deviation of a mean has two
    parts: readings scatter about the mean of their pull, and pulls about each other.
    """
    if points < FEWEST_POINTS:
        said = f"has {points} points on its grid; allowed are {FEWEST_POINTS} at least"
        raise BadInput(Fault(pull.name, "", said))
    used = (pull.branch != STILL) & (pull.cycle >= int(drop_first))
    if not np.any(used):
        raise BadInput(Fault(pull.name, "", "holds no reading on a branch; a mean needs some"))
    grid = np.linspace(0.0, float(np.max(pull.place[used])), points)
    pulled, released = used & (pull.branch == PULL), used & (pull.branch == RELEASE)
    (into, into_deviation), (out, out_deviation) = (
        _mean(pull, at, pull.force, grid) for at in (pulled, released)
    )
    pressure = pull.pressure
    return Branches(
        place=grid,
        angular=pull.angular,
        pull=into,
        release=out,
        pull_deviation=into_deviation,
        release_deviation=out_deviation,
        pull_pressure=None if pressure is None else _mean(pull, pulled, pressure, grid)[0],
        release_pressure=None if pressure is None else _mean(pull, released, pressure, grid)[0],
    )


def _mean(
    pull: BenchPull, at: BoolArray, values: FloatArray, grid: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean of the values at some readings, at each place of the grid, and its standard deviation, (P,) each."""
    home = np.round(pull.place[at] / grid[1]).astype(np.int64)
    inside = (home >= 0) & (home < grid.size)
    home, value = home[inside], values[at][inside]
    aside = pull.place[at][inside] - grid[home]
    count = np.bincount(home, minlength=grid.size)
    mean, middle = (_by(home, row, count) for row in (value, aside))
    slope = _slope(grid + middle, mean)
    level = value - slope[home] * aside
    mean = _by(home, level, count)
    return mean, _deviation(pull.cycle[at][inside], home, level - mean[home], count)


def _by(home: NDArray[np.int64], values: FloatArray, count: NDArray[np.int64]) -> FloatArray:
    """Means of values by the place that they belong to, NaN where there are none."""
    total = np.bincount(home, weights=values, minlength=count.size)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _slope(place: FloatArray, mean: FloatArray) -> FloatArray:
    """Slope of a branch at its means, 0 where it is not known."""
    slope = np.zeros_like(mean)
    known = np.isfinite(mean)
    if np.count_nonzero(known) > 1:
        slope[known] = np.gradient(mean[known], place[known])
    return slope


def _deviation(
    cycle: NDArray[np.int64], home: NDArray[np.int64], off: FloatArray, count: NDArray[np.int64]
) -> FloatArray:
    """Standard deviation of every mean from the residuals of its readings; NaN where no reading has a second one."""
    pulls = int(np.max(cycle, initial=0)) + 1
    cell = home * pulls + cycle
    number = np.bincount(cell, minlength=count.size * pulls)
    inner = _by(cell, off, number)
    spare = np.bincount(home, minlength=count.size) - np.count_nonzero(number.reshape(-1, pulls), axis=1)
    square = np.bincount(home, weights=(off - inner[cell]) ** 2, minlength=count.size)
    if not np.any(spare):
        return np.full(count.size, np.nan)
    usual = float(np.sum(square) / np.sum(spare))
    within = np.where(spare > 1, square / np.maximum(spare, 1), usual)
    between = _between(inner.reshape(-1, pulls), number.reshape(-1, pulls), usual)
    here = np.count_nonzero(number.reshape(-1, pulls), axis=1)
    variance = within / np.maximum(count, 1) + between / np.maximum(here, 1)
    return np.where(count > 0, np.sqrt(variance), np.nan)


def _between(inner: FloatArray, number: NDArray[np.int64], usual: float) -> float:
    """Variance of whole pulls about each other, beyond what the scatter of their readings explains."""
    known = np.any(number > 0, axis=0)
    if np.count_nonzero(known) < 2:
        return 0.0
    inner, number = inner[:, known], number[:, known]
    offset = np.nansum(inner * number, axis=0) / np.sum(number, axis=0)
    chance = float(np.mean(usual / np.sum(number, axis=0)))
    return max(0.0, float(np.var(offset, ddof=1)) - chance)
