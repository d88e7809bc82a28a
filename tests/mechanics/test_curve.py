"""Piecewise polynomials against another library, and their inverse against another root finder."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import BPoly, PPoly
from scipy.optimize import brentq

from pullcurve.mechanics.curve import (
    Curve,
    FloatArray,
    added,
    bracket,
    evaluate,
    hermite,
    integral,
    invert,
    subdivide,
)

seeds = st.integers(0, 2**32 - 1)


def random_curve(seed: int, sets: tuple[int, ...] = (), pieces: int = 4, powers: int = 5) -> Curve:
    """Some piecewise polynomial that need not even be continuous."""
    random = np.random.default_rng(seed)
    widths = random.uniform(0.3, 2.0, (*sets, pieces))
    start = random.uniform(-2.0, 2.0, (*sets, 1))
    breaks = start + np.concatenate([np.zeros((*sets, 1)), np.cumsum(widths, axis=-1)], axis=-1)
    return Curve(breaks, random.normal(size=(*sets, pieces, powers)))


def same_in_scipy(curve: Curve) -> PPoly:
    """The same curve in another library, which wants the highest power first."""
    return PPoly(curve.coefficients.T[::-1], curve.breaks)


def places(curve: Curve, count: int = 41) -> FloatArray:
    """Places inside, on the breaks, before and beyond a single curve."""
    first, last = curve.breaks[0], curve.breaks[-1]
    return np.concatenate([np.linspace(first - 1.0, last + 1.0, count), curve.breaks])


@given(seeds, st.integers(1, 6), st.integers(1, 6))
def test_value_and_derivatives_are_those_of_scipy(seed: int, pieces: int, powers: int) -> None:
    curve = random_curve(seed, pieces=pieces, powers=powers)
    x = places(curve)
    other = same_in_scipy(curve)
    for order, ours in enumerate(evaluate(curve, x)):
        np.testing.assert_allclose(ours, other(x, nu=order), rtol=1e-9, atol=1e-9)


@given(seeds)
def test_derivatives_are_slopes_of_differences(seed: int) -> None:
    curve = random_curve(seed, pieces=1)
    x, step = np.linspace(-1.0, 2.0, 7), 1e-4
    value, slope, bend = evaluate(curve, x)
    after, before = evaluate(curve, x + step)[0], evaluate(curve, x - step)[0]
    scale = 1.0 + np.abs(value) + np.abs(slope) + np.abs(bend)
    np.testing.assert_allclose((after - before) / (2 * step) / scale, slope / scale, atol=1e-6)
    np.testing.assert_allclose((after - 2 * value + before) / step**2 / scale, bend / scale, atol=1e-5)


def test_a_piece_begins_on_its_break() -> None:
    curve = Curve(np.array([0.0, 1.0, 2.0]), np.array([[3.0], [7.0]]))
    assert evaluate(curve, np.array([-5.0, 0.0, 1.0, 5.0]))[0].tolist() == [3.0, 3.0, 7.0, 7.0]


def test_two_pieces_that_start_on_one_break_leave_the_last_one() -> None:
    """An assist that lets its spring down from the very start has a neutral part of no width."""
    curve = Curve(np.array([0.0, 0.0, 2.0]), np.array([[3.0], [7.0]]))
    assert evaluate(curve, np.array([0.0, 1.0]))[0].tolist() == [7.0, 7.0]


def test_bounded_curve_says_nothing_outside_its_breaks() -> None:
    curve = Curve(np.array([0.0, 1.0]), np.array([[1.0, 2.0]]), bounded=True)
    for part in evaluate(curve, np.array([-0.1, 1.1])):
        assert np.isnan(part).all()
    for part, expected in zip(evaluate(curve, np.array([0.0, 1.0])), ([1, 3], [2, 2], [0, 0]), strict=True):
        assert part.tolist() == expected


@pytest.mark.parametrize("pieces", [1, 3])
@pytest.mark.parametrize(
    ("sets", "stations"),
    [
        ((), (5,)),
        ((3,), (5,)),
        ((3,), (3, 5)),
        ((3,), (1, 5)),
        ((2, 3), (5,)),
        ((2, 1), (3, 5)),
        ((), (2, 3, 5)),
    ],
)
def test_a_stack_of_curves_is_every_curve_by_itself(
    pieces: int, sets: tuple[int, ...], stations: tuple[int, ...]
) -> None:
    curve = random_curve(7, sets, pieces)
    x = np.random.default_rng(8).uniform(-3.0, 8.0, stations)
    shape = np.broadcast_shapes(sets, stations[:-1])
    breaks = np.broadcast_to(curve.breaks, (*shape, pieces + 1))
    coefficients = np.broadcast_to(curve.coefficients, (*shape, *curve.coefficients.shape[-2:]))
    spread = np.broadcast_to(x, (*shape, stations[-1]))
    for place in np.ndindex(shape):
        alone = evaluate(Curve(breaks[place], coefficients[place]), spread[place])
        for part, single in zip(evaluate(curve, x), alone, strict=True):
            np.testing.assert_array_equal(np.broadcast_to(part, (*shape, stations[-1]))[place], single)


def test_bracket_counts_the_knots_that_are_not_above() -> None:
    knots = np.array([0.0, 1.0, 2.0, 4.0])
    target = np.array([-1.0, 0.0, 0.5, 1.0, 3.9, 4.0, 9.0])
    expected = [0, 0, 0, 1, 2, 2, 2]
    assert bracket(knots, target).tolist() == expected
    stack = np.stack([knots, knots + 1.0])
    assert bracket(stack, target).tolist() == [expected, bracket(knots + 1.0, target).tolist()]


def steep(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """An increasing function that is no polynomial."""
    return x + np.expm1(x) + np.tanh(3 * x), 1.0 + np.exp(x) + 3.0 / np.cosh(3 * x) ** 2


@given(st.lists(st.floats(-4.0, 4.0), min_size=1, max_size=9))
def test_inverse_is_that_of_brentq(wanted: list[float]) -> None:
    target = steep(np.array(wanted))[0]
    found = invert(steep, np.linspace(-5.0, 5.0, 41), target)
    expected = [
        brentq(lambda x, y=y: float(steep(np.asarray(x))[0]) - y, -6.0, 6.0, xtol=1e-14) for y in target
    ]
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-11)


@given(st.lists(st.floats(-4.9, 4.9), min_size=1, max_size=9))
def test_inverse_undoes_the_function(wanted: list[float]) -> None:
    found = invert(steep, np.linspace(-5.0, 5.0, 41), steep(np.array(wanted))[0])
    np.testing.assert_allclose(found, wanted, rtol=0, atol=1e-11)


def test_inverse_goes_on_beyond_the_last_knot_but_not_before_the_first() -> None:
    def double(x: FloatArray) -> tuple[FloatArray, FloatArray]:
        return 2 * x, np.full_like(x, 2.0)

    found = invert(double, np.array([0.0, 1.0, 2.0]), np.array([-1e-9, 0.0, 4.0, 10.0, np.nan]))
    np.testing.assert_array_equal(found, [np.nan, 0.0, 2.0, 5.0, np.nan])


def test_inverse_of_a_stack_is_that_of_every_curve_by_itself() -> None:
    curves = Curve(
        np.array([[0.0, 1.0, 2.0], [0.0, 2.0, 3.0]]),
        np.array([[[0.0, 1.0, 1.0], [2.0, 3.0, 0.0]], [[1.0, 2.0, 0.5], [7.0, 4.0, 0.0]]]),
    )
    target = np.array([0.5, 1.5, 3.0, 6.5])
    found = invert(lambda x: evaluate(curves, x)[:2], subdivide(curves, 4), target)
    for place in (0, 1):
        single = Curve(curves.breaks[place], curves.coefficients[place])
        alone = invert(lambda x, single=single: evaluate(single, x)[:2], subdivide(single, 4), target)  # type: ignore[misc]
        np.testing.assert_allclose(found[place], alone, rtol=1e-15)
    assert np.isnan(found[1, 0])


@given(seeds, st.integers(1, 5), st.integers(1, 5))
def test_integral_is_that_of_scipy(seed: int, pieces: int, powers: int) -> None:
    curve = random_curve(seed, pieces=pieces, powers=powers)
    x = places(curve, 11)
    other = same_in_scipy(curve)
    expected = [other.integrate(curve.breaks[0], upper) for upper in x]
    np.testing.assert_allclose(integral(curve, x), np.ravel(expected), rtol=1e-9, atol=1e-9)


def test_integral_of_a_bounded_curve_ends_where_the_curve_ends() -> None:
    line = Curve(np.array([0.0, 1.0, 3.0]), np.array([[0.0, 2.0], [2.0, 2.0]]), bounded=True)
    np.testing.assert_allclose(integral(line, np.array([-1.0, 1.0, 3.0, 3.1])), [np.nan, 1.0, 9.0, np.nan])


def test_subdivided_pieces_are_equal_parts() -> None:
    curve = Curve(np.array([[0.0, 1.0, 4.0], [0.0, 2.0, 3.0]]), np.zeros((2, 2, 1)))
    expected = [[0, 0.5, 1, 2.5, 4], [0, 1, 2, 2.5, 3]]
    assert subdivide(curve, 2).tolist() == expected
    assert subdivide(Curve(curve.breaks[0], curve.coefficients[0]), 1).tolist() == [0.0, 1.0, 4.0]


@given(seeds, st.integers(1, 6))
def test_quintic_pieces_are_those_of_scipy(seed: int, pieces: int) -> None:
    random = np.random.default_rng(seed)
    breaks = np.cumsum(random.uniform(0.2, 2.0, pieces + 1))
    value, slope, bend = random.normal(size=(3, pieces + 1))
    ours = hermite(breaks, value, slope, bend)
    theirs = BPoly.from_derivatives(breaks, np.stack([value, slope, bend], axis=-1))
    x = np.linspace(breaks[0], breaks[-1], 57)
    np.testing.assert_allclose(evaluate(ours, x)[0], theirs(x), rtol=1e-9, atol=1e-9)


@given(st.lists(st.floats(-2.0, 2.0), min_size=6, max_size=6))
def test_quintic_pieces_give_a_quintic_back(powers: list[float]) -> None:
    whole = np.polynomial.Polynomial(powers)
    breaks = np.array([-1.0, 0.3, 1.5])
    ours = hermite(breaks, whole(breaks), whole.deriv()(breaks), whole.deriv(2)(breaks))
    x = np.linspace(-1.0, 1.5, 23)
    for order, part in enumerate(evaluate(ours, x)):
        np.testing.assert_allclose(part, whole.deriv(order)(x) if order else whole(x), rtol=1e-9, atol=1e-9)


@given(seeds)
def test_sets_on_two_axes_are_inverted_and_cut_one_by_one(seed: int) -> None:
    random = np.random.default_rng(seed)
    widths = random.uniform(0.3, 2.0, (2, 3, 4))
    breaks = np.concatenate([np.zeros((2, 3, 1)), np.cumsum(widths, axis=-1)], axis=-1)
    slope, bend = random.uniform(0.5, 2.0, (2, 2, 3, 4))
    start = np.zeros((2, 3, 4))
    start[..., 1:] = np.cumsum(slope * widths + bend * widths**2, axis=-1)[..., :-1]
    curves = Curve(breaks, np.stack([start, slope, bend], axis=-1))
    target = random.uniform(0.0, 20.0, (3, 5))
    knots = subdivide(curves, 3)
    found = invert(lambda x: evaluate(curves, x)[:2], knots, target)
    assert found.shape == (2, 3, 5)
    levels = evaluate(curves, knots)[0]
    back, wanted = evaluate(curves, found)[0], np.broadcast_to(target, (2, 3, 5))
    inside = wanted <= levels[..., -1:]
    np.testing.assert_allclose(back[inside], wanted[inside], rtol=1e-12)
    np.testing.assert_allclose(back, wanted, rtol=1e-5)  # far beyond the last knot five steps go less far
    for i, k in np.ndindex(2, 3):
        alone = Curve(breaks[i, k], curves.coefficients[i, k])
        np.testing.assert_allclose(knots[i, k], subdivide(alone, 3), rtol=1e-12)
        np.testing.assert_array_equal(bracket(levels, target)[i, k], bracket(levels[i, k], target[k]))


@given(seeds, st.integers(1, 4), st.integers(1, 4), st.integers(1, 6), st.integers(1, 6))
def test_a_sum_of_curves_is_the_sum_of_their_values(
    seed: int, pieces: int, more: int, powers: int, others: int
) -> None:
    one, other = random_curve(seed, (2, 1), pieces, powers), random_curve(seed + 1, (3,), more, others)
    x = np.linspace(-4.0, 12.0, 61)
    parts = zip(evaluate(added(one, other), x), evaluate(one, x), evaluate(other, x), strict=True)
    for whole, first, second in parts:
        scale = 1.0 + np.abs(first) + np.abs(second)
        np.testing.assert_allclose(whole / scale, (first + second) / scale, atol=1e-7)


def test_a_sum_runs_on_before_a_first_piece_of_no_width() -> None:
    neutral = Curve(np.array([0.0, 0.0, 2.0]), np.array([[3.0, 0.0], [7.0, 1.0]]))
    slope = Curve(np.array([0.0, 2.0]), np.array([[0.0, 1.0]]))
    # by hand: 3 before the break and 7 + x from it on, x more everywhere
    x = np.array([-1.0, 0.0, 1.0])
    assert evaluate(added(neutral, slope), x)[0].tolist() == [2.0, 7.0, 9.0]
