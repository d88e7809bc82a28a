"""B-splines against scipy's, their straight continuation, and fits by least squares."""

import numpy as np
import pytest
from scipy.interpolate import BSpline, make_lsq_spline

from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.mechanics.spline import Basis, basis, fit_coefficients, spline_curve, straight_on

START, END = -0.035, 0.51
THETA = np.linspace(START, END, 301)
SIZES = [(10, 5), (6, 5), (16, 5), (45, 5), (7, 3), (4, 3), (5, 2), (3, 1)]


def random_laws(known: Basis, rows: int = 4) -> FloatArray:
    """Coefficients by the dice."""
    return np.random.default_rng(known.count).normal(size=(rows, known.count))


@pytest.mark.parametrize(("count", "degree"), SIZES)
def test_value_and_derivatives_are_those_of_scipy(count: int, degree: int) -> None:
    known = basis(START, END, count, degree)
    coefficients = random_laws(known)
    found = evaluate(spline_curve(known, coefficients), THETA)
    for row, one in enumerate(coefficients):
        other = BSpline(known.knots, one, degree)
        for order in range(min(degree, 3)):  # a jump of the last derivative belongs to either side
            expected = other(THETA, nu=order)
            np.testing.assert_allclose(found[order][row], expected, atol=1e-11 * np.max(np.abs(expected)))


@pytest.mark.parametrize(("count", "degree"), SIZES)
def test_functions_of_a_basis_add_up_to_one_and_are_never_negative(count: int, degree: int) -> None:
    """Partition of unity (de Boor, from memory)."""
    known = basis(START, END, count, degree)
    each = evaluate(spline_curve(known, np.eye(count)), THETA)[0]
    np.testing.assert_allclose(np.sum(each, axis=0), 1.0, atol=1e-12)
    assert np.min(each) >= -1e-12
    assert known.count == count
    assert known.breaks[[0, -1]] == pytest.approx([START, END])


def test_clamped_ends_are_the_first_and_the_last_coefficient() -> None:
    known = basis(START, END, 10)
    coefficients = random_laws(known)
    ends = evaluate(spline_curve(known, coefficients), np.array([START, END]))[0]
    np.testing.assert_allclose(ends, coefficients[:, [0, -1]], atol=1e-12)


def test_law_is_smooth_across_its_joints() -> None:
    """Degree five: four derivatives do not jump; the fourth is looked at through the third on both sides."""
    known = basis(START, END, 12)
    curve = spline_curve(known, random_laws(known))
    joints, near = known.breaks[1:-1], 1e-7
    for values in evaluate(curve, np.concatenate([joints - near, joints + near])):
        before, after = np.split(values, 2, axis=-1)
        assert np.max(np.abs(after - before)) < 1e-4 * np.max(np.abs(values))


def test_past_its_end_a_law_goes_straight_on() -> None:
    """By Taylor from scipy's value and slope at the end; within the span nothing changes."""
    known = basis(START, END, 10)
    coefficients = random_laws(known)
    curve = straight_on(spline_curve(known, coefficients))
    inside = evaluate(spline_curve(known, coefficients), THETA)
    for one, other in zip(evaluate(curve, THETA), inside, strict=True):
        np.testing.assert_array_equal(one, other)
    beyond = END + np.array([0.01, 0.3, 2.0])
    value, slope, bend = evaluate(curve, beyond)
    for row, one in enumerate(coefficients):
        same = BSpline(known.knots, one, 5)
        at, rate = float(same(END)), float(same(END, nu=1))
        np.testing.assert_allclose(value[row], at + rate * (beyond - END), rtol=1e-4)
        np.testing.assert_allclose(slope[row], rate, rtol=1e-3)
    assert np.all(bend == 0.0)


def test_straight_on_takes_a_single_law_too() -> None:
    known = basis(START, END, 6)
    curve = straight_on(spline_curve(known, np.arange(6.0)))
    assert curve.breaks.shape == (known.breaks.size + 1,)
    assert evaluate(curve, np.array([END + 1.0]))[2][0] == 0.0


def test_fit_finds_the_coefficients_again() -> None:
    known = basis(START, END, 10)
    coefficients = random_laws(known)
    psi = np.stack([BSpline(known.knots, one, 5)(THETA) for one in coefficients])
    np.testing.assert_allclose(fit_coefficients(known, THETA, psi), coefficients, atol=1e-10)


def test_fit_of_what_is_no_spline_is_scipys() -> None:
    known = basis(START, END, 8)
    psi = np.sin(9.0 * THETA) + 0.05 * np.random.default_rng(2).normal(size=THETA.size)
    expected = make_lsq_spline(THETA, psi, known.knots, k=5).c
    np.testing.assert_allclose(fit_coefficients(known, THETA, psi), expected, atol=1e-9)
