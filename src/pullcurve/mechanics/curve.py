"""Piecewise polynomials, many at a time: the form in which every cam law and spring table is held."""

from collections.abc import Callable
from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Number = float | FloatArray
ValueAndSlope = Callable[[FloatArray], tuple[FloatArray, FloatArray]]

NEWTON_STEPS = 5
"""Quadratic convergence from a bracket a few per cent wide reaches the last bit in four; one to spare."""


@dataclass(frozen=True, slots=True)
class Curve:
    """One piecewise polynomial per set.

    ``breaks`` has shape (..., K + 1), strictly increasing; ``coefficients`` has shape (..., K, D), lowest power
    first, in the local variable x - breaks[k]. The last piece runs on beyond the last break and the first one
    before the first break, unless ``bounded`` is set: then the curve is NaN outside its breaks.
    """

    breaks: FloatArray
    coefficients: FloatArray
    bounded: bool = False


def evaluate(curve: Curve, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Value and first two derivatives of a piecewise polynomial, analytic.

    y = sum_d c_d (x - x_k)^d on x_k <= x < x_(k+1).

    Parameters
    ----------
    curve : Curve
        Piecewise polynomial, leading axes (...) [any].
    x : FloatArray
        Where to evaluate, x, shape (..., S) [unit of the breaks].

    Returns
    -------
    tuple of FloatArray
        y, dy/dx, d2y/dx2, each of shape (..., S) [unit of y and its derivatives]. NaN outside a bounded curve.

    Source
    ------
    Identity (Horner's scheme and its derivatives).
    """
    x = np.asarray(x, dtype=np.float64)
    local, terms = _locate(curve, x)
    value, slope, bend = terms[-1] + np.zeros_like(local), np.zeros_like(local), np.zeros_like(local)
    for term in reversed(terms[:-1]):
        bend = bend * local + slope
        slope = slope * local + value
        value = value * local + term
    bend = 2.0 * bend
    if curve.bounded:
        outside = (x < curve.breaks[..., :1]) | (x > curve.breaks[..., -1:])
        value, slope, bend = (np.where(outside, np.nan, part) for part in (value, slope, bend))
    return value, slope, bend


def _locate(curve: Curve, x: FloatArray) -> tuple[FloatArray, list[FloatArray]]:
    """Local variable and the coefficients of the piece that each x falls in, one array per power."""
    breaks, coefficients = curve.breaks, curve.coefficients
    pieces, powers = coefficients.shape[-2:]
    if pieces == 1:
        return x - breaks[..., :1], [coefficients[..., 0, d, None] for d in range(powers)]
    shape = np.broadcast_shapes(x.shape[:-1], breaks.shape[:-1]) + x.shape[-1:]
    index = np.zeros(shape, dtype=np.intp)
    for k in range(1, pieces):
        index += x >= breaks[..., k, None]
    if breaks.ndim == 1:
        return x - breaks[index], [coefficients[index, d] for d in range(powers)]
    # Widths of one on the sets broadcast, so a single curve serves all sets and many curves serve one grid.
    start = np.take_along_axis(_lift(breaks, len(shape)), index, axis=-1)
    terms = [
        np.take_along_axis(_lift(coefficients[..., d], len(shape)), index, axis=-1) for d in range(powers)
    ]
    return x - start, terms


def _lift(array: FloatArray, dimensions: int) -> FloatArray:
    """Prepend axes of width one until the array has as many dimensions as asked."""
    return array.reshape((1,) * (dimensions - array.ndim) + array.shape)


def bracket(knots: FloatArray, target: FloatArray) -> NDArray[np.intp]:
    """Index of the last knot that is not above the target (0 when all are).

    Parameters
    ----------
    knots : FloatArray
        Increasing values, shape (..., K) [any].
    target : FloatArray
        Values to place, shape (..., S) [unit of the knots].

    Returns
    -------
    NDArray of int
        Index, shape (..., S) [-].

    Source
    ------
    Identity (counting comparisons).
    """
    if knots.ndim == 1:
        return np.clip(np.searchsorted(knots, target, side="right") - 1, 0, knots.size - 2)
    shape = np.broadcast_shapes(knots.shape[:-1], target.shape[:-1]) + target.shape[-1:]
    index = np.zeros(shape, dtype=np.intp)
    for k in range(1, knots.shape[-1] - 1):
        index += target >= knots[..., k, None]
    return index


def invert(function: ValueAndSlope, knots: FloatArray, target: FloatArray) -> FloatArray:
    """Solve y(x) = target for an increasing function, by bracket and a fixed count of guarded Newton steps.

    Within the bracketing pair of knots the chord gives the start; every Newton step is kept inside the pair.
    The last bracket is open upward, so that a target beyond the last knot is still found.

    Parameters
    ----------
    function : callable
        Returns y(x) and dy/dx for x of shape (..., S) [any]; y increases with x.
    knots : FloatArray
        Increasing x that bracket the answer, x_k, shape (K,) or (..., K) [unit of x].
    target : FloatArray
        Wanted values, y, shape (..., S) [unit of y].

    Returns
    -------
    FloatArray
        x, shape (..., S) [unit of x]; NaN where the target lies below y(first knot) or is NaN.

    Source
    ------
    Newton's method with bracketing, e.g. Press et al., Numerical Recipes 3rd ed., 9.4 (from memory).
    """
    target = np.asarray(target, dtype=np.float64)
    levels = function(knots)[0]
    last = knots.shape[-1] - 2
    if knots.ndim == 1 and levels.ndim == 1:
        index = bracket(levels, target)
        low, high, below, above = knots[index], knots[index + 1], levels[index], levels[index + 1]
    else:
        index, low, high, below, above = _brackets(knots, levels, target)
    x = low + (high - low) * (target - below) / (above - below)
    ceiling = np.where(index == last, np.inf, high)
    for _ in range(NEWTON_STEPS):
        value, slope = function(x)
        x = np.clip(x - (value - target) / slope, low, ceiling)
    return np.where(target < levels[..., :1], np.nan, x)


def _brackets(
    knots: FloatArray, levels: FloatArray, target: FloatArray
) -> tuple[NDArray[np.intp], FloatArray, FloatArray, FloatArray, FloatArray]:
    """Bracket of every target where each set has levels of its own: index, ends in x and in y."""
    dimensions = max(levels.ndim, knots.ndim, target.ndim)
    levels, places, target = _lift(levels, dimensions), _lift(knots, dimensions), _lift(target, dimensions)
    index = bracket(levels, target)
    shape = np.broadcast_shapes(places.shape[:-1], index.shape[:-1])
    places = np.broadcast_to(places, shape + places.shape[-1:])
    levels = np.broadcast_to(levels, shape + levels.shape[-1:])
    index = np.broadcast_to(index, shape + index.shape[-1:])
    low, high = (np.take_along_axis(places, index + step, axis=-1) for step in (0, 1))
    below, above = (np.take_along_axis(levels, index + step, axis=-1) for step in (0, 1))
    return index, low, high, below, above


def integral(curve: Curve, x: FloatArray) -> FloatArray:
    """Integral of a single piecewise polynomial from its first break.

    Y(x) = int_(x_0)^x y dx, piece by piece in closed form.

    Parameters
    ----------
    curve : Curve
        One piecewise polynomial, no set axes [any].
    x : FloatArray
        Upper limit, x, shape (..., S) [unit of the breaks].

    Returns
    -------
    FloatArray
        Y, shape (..., S) [unit of y times unit of x]; NaN outside a bounded curve.

    Source
    ------
    Identity (power rule).
    """
    widths = np.diff(curve.breaks)
    powers = np.arange(1, curve.coefficients.shape[-1] + 1)
    raised = curve.coefficients / powers
    areas = np.sum(raised * widths[:, None] ** powers, axis=-1)
    start = np.concatenate([[0.0], np.cumsum(areas)[:-1]])
    whole = Curve(curve.breaks, np.concatenate([start[:, None], raised], axis=-1), curve.bounded)
    return evaluate(whole, x)[0]


def subdivide(curve: Curve, parts: int) -> FloatArray:
    """Knots that cut every piece of a curve into equal parts, for bracketing.

    Parameters
    ----------
    curve : Curve
        Piecewise polynomial with breaks of shape (..., K + 1) [any].
    parts : int
        Parts per piece [-].

    Returns
    -------
    FloatArray
        Knots, shape (..., K * parts + 1) [unit of the breaks].

    Source
    ------
    Identity.
    """
    breaks = curve.breaks
    share = np.arange(parts) / parts
    inner = breaks[..., :-1, None] + np.diff(breaks, axis=-1)[..., None] * share
    return np.concatenate([inner.reshape(*breaks.shape[:-1], -1), breaks[..., -1:]], axis=-1)


def hermite(breaks: FloatArray, value: FloatArray, slope: FloatArray, bend: FloatArray) -> Curve:
    """Quintic pieces through given values, slopes and second derivatives at the breaks.

    Parameters
    ----------
    breaks : FloatArray
        Where the values stand, x_k, shape (..., K + 1) [any].
    value : FloatArray
        y at the breaks, shape (..., K + 1) [any].
    slope : FloatArray
        dy/dx at the breaks, shape (..., K + 1) [any].
    bend : FloatArray
        d2y/dx2 at the breaks, shape (..., K + 1) [any].

    Returns
    -------
    Curve
        Piecewise quintic with continuous second derivative [unit of y].

    Source
    ------
    Identity (quintic Hermite interpolation: six conditions, six coefficients a piece).
    """
    h = np.diff(breaks, axis=-1)
    y0, y1 = value[..., :-1], value[..., 1:]
    v0, v1 = slope[..., :-1] * h, slope[..., 1:] * h
    a0, a1 = bend[..., :-1] * h**2, bend[..., 1:] * h**2
    rise = y1 - y0
    c3 = 10 * rise - 6 * v0 - 4 * v1 - 1.5 * a0 + 0.5 * a1
    c4 = -15 * rise + 8 * v0 + 7 * v1 + 1.5 * a0 - a1
    c5 = 6 * rise - 3 * v0 - 3 * v1 - 0.5 * a0 + 0.5 * a1
    stack = [y0, v0 / h, a0 / (2 * h**2), c3 / h**3, c4 / h**4, c5 / h**5]
    return Curve(breaks, np.stack(stack, axis=-1))


def added(curve: Curve, more: Curve) -> Curve:
    """Sum of two piecewise polynomials, many at a time.

    On every piece that neither breaks, sum_d (a_d + b_d) (x - x_k)^d with both written about the same x_k.

    Parameters
    ----------
    curve : Curve
        One term, leading axes (...) [any].
    more : Curve
        The other term [unit of the curve].

    Returns
    -------
    Curve
        The sum; where both break at one place, one of its pieces has no width [unit of the curve].

    Source
    ------
    Identity (Taylor's theorem).
    """
    shape = np.broadcast_shapes(curve.breaks.shape[:-1], more.breaks.shape[:-1])
    powers = max(known.coefficients.shape[-1] for known in (curve, more))
    inner = [
        np.broadcast_to(one.breaks[..., :-1], (*shape, one.breaks.shape[-1] - 1)) for one in (curve, more)
    ]
    starts = np.sort(np.concatenate(inner, axis=-1), axis=-1)
    last = np.maximum(curve.breaks[..., -1:], more.breaks[..., -1:])
    breaks = np.concatenate([starts, np.broadcast_to(last, (*shape, 1))], axis=-1)
    return Curve(breaks, _about(curve, starts, powers) + _about(more, starts, powers))


def _about(curve: Curve, places: FloatArray, powers: int) -> FloatArray:
    """Coefficients of the pieces in which places (..., K) lie, about these places, (..., K, powers).

    The first place lies in the first piece even where that has no width: it runs on before its break.
    """
    away, terms = _locate(curve, places)
    known = np.stack(np.broadcast_arrays(*terms), axis=-1)
    away[..., 0], known[..., 0, :] = places[..., 0] - curve.breaks[..., 0], curve.coefficients[..., 0, :]
    found = np.zeros((*away.shape, powers))
    for power in range(known.shape[-1]):
        for above in range(power, known.shape[-1]):
            found[..., power] += comb(above, power) * known[..., above] * away ** (above - power)
    return found
