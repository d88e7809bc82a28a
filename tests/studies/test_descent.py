"""Constrained least squares against the conditions of a minimum, and against problems whose answer is written down."""

import numpy as np
import pytest
from scipy.optimize import linprog, lsq_linear

from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.descent import Measured, Place, Values, descend, least_squares_within, placed

NO_PEAKS = np.zeros((0, 1))


def problem(small: object, margins: object = None, peaks: object = None) -> Measured:
    """Functions of one place (n,) as a measure of many rows."""

    def measured(rows: FloatArray) -> Values:
        def stacked(part: object, empty: FloatArray) -> FloatArray:
            return np.stack([np.asarray(part(row) if callable(part) else empty, dtype=float) for row in rows])

        return Values(stacked(small, np.zeros(0)), stacked(peaks, NO_PEAKS), stacked(margins, np.ones(1)))

    return measured


# One step -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_least_squares_within_is_where_nothing_is_to_be_gained(seed: int) -> None:
    """Random problems of 6 unknowns and 60 rows: kept, and the gradient is held by the rows that are used up.

    H. W. Kuhn and A. W. Tucker's conditions (from memory), sufficient for a problem that is convex.
    """
    dice = np.random.default_rng(seed)
    design, target = dice.normal(size=(9, 6)), dice.normal(size=9) * 3
    rows = dice.normal(size=(60, 6))
    bounds = rows @ dice.normal(size=6) - dice.uniform(0.0, 1.0, 60)
    found = least_squares_within(design, target, rows, bounds)
    spare = rows @ found - bounds
    assert np.min(spare) > -1e-7
    used = rows[spare < 1e-7]
    gradient = design.T @ (design @ found - target)
    held = lsq_linear(used.T, gradient, bounds=(0.0, np.inf), tol=1e-13)
    np.testing.assert_allclose(used.T @ held.x, gradient, atol=1e-6)
    assert len(used)


def test_least_squares_within_bounds_that_do_not_bind_is_plain() -> None:
    dice = np.random.default_rng(3)
    design, target = dice.normal(size=(9, 4)), dice.normal(size=9)
    plain = np.linalg.lstsq(design, target, rcond=None)[0]
    found = least_squares_within(design, target, np.eye(4), np.asarray(plain - 1.0, dtype=np.float64))
    np.testing.assert_allclose(found, plain, atol=1e-12)


def test_slopes_of_a_place_are_those_of_calculus() -> None:
    def small(x: FloatArray) -> FloatArray:
        return np.array([x[0] ** 2 + x[1], np.sin(x[1])])

    place = placed(problem(small), np.array([0.7, 0.3]))
    np.testing.assert_allclose(place.slopes.small.T, [[1.4, 1.0], [0.0, np.cos(0.3)]], atol=1e-6)
    ahead = place.ahead(np.array([0.1, -0.2]))
    np.testing.assert_allclose(
        ahead.small, small(place.at) + np.array([0.14 - 0.2, -0.2 * np.cos(0.3)]), atol=1e-6
    )


# Whole searches -------------------------------------------------------------------------------------------------------


def valley(x: FloatArray) -> FloatArray:
    """H. H. Rosenbrock's valley (from memory): least, nought, at (1, 1)."""
    return np.array([10.0 * (x[1] - x[0] ** 2), 1.0 - x[0]])


def test_bottom_of_a_bent_valley() -> None:
    found = descend(problem(valley), np.array([-1.2, 1.0]))
    np.testing.assert_allclose(found.place.at, [1.0, 1.0], atol=5e-3)


@pytest.mark.parametrize("start", [(-1.2, 1.0), (0.0, 0.0), (0.5, -0.5), (5.0, 5.0)])
def test_valley_within_a_circle(start: tuple[float, float]) -> None:
    """Rosenbrock's valley within x^2 + y^2 <= 1: (0.78642, 0.61770), from kept and from broken starts (SLSQP, KKT)."""
    inside = problem(valley, lambda x: np.array([1.0 - x @ x]))
    found = descend(inside, np.array(start))
    np.testing.assert_allclose(found.place.at, [0.78642, 0.61770], atol=3e-3)
    assert np.min(found.place.here.margins) > -1e-4


def test_hard_to_meet_at_once_ends_at_the_nearest() -> None:
    """Two circles that do not meet: the wall is as low as it can be, half way between them."""

    def margins(x: FloatArray) -> FloatArray:
        return np.array([1.0 - np.hypot(x[0] - 2.0, x[1]), 1.0 - np.hypot(x[0] + 2.0, x[1])])

    found = descend(problem(lambda x: 1e-3 * x, margins), np.array([3.0, 2.0]))
    np.testing.assert_allclose(found.place.at, [0.0, 0.0], atol=5e-3)


def chebyshev(count: int) -> tuple[FloatArray, FloatArray]:
    """exp(t) on even places of -1..1, and the powers of t."""
    t = np.linspace(-1.0, 1.0, 201)
    return np.exp(t), np.stack([t**power for power in range(count)])


def test_peak_comes_down_on_all_of_its_stations_together() -> None:
    """Least greatest |exp t - p(t)| over straight lines: 0.2788, by linear programming on the same places."""
    wanted, powers = chebyshev(2)

    def peaks(x: FloatArray) -> FloatArray:
        off = wanted - x @ powers
        return np.concatenate([off, -off])[None, :]

    found = descend(problem(None, None, peaks), np.array([0.0, 0.0]))
    rows = np.concatenate([powers.T, -powers.T])
    known = linprog(
        [0, 0, 1],
        A_ub=np.column_stack([-rows, -np.ones(len(rows))]),
        b_ub=np.concatenate([-wanted, wanted]),
        bounds=[(None, None)] * 3,
    )
    assert float(np.max(found.place.here.peaks)) == pytest.approx(known.fun, abs=1e-3)
    assert known.fun == pytest.approx(0.2788, abs=5e-4)


def test_peak_that_is_too_low_is_lifted() -> None:
    found = descend(
        problem(lambda x: 1e-3 * x, None, lambda x: np.array([[x[0] - 3.0, x[1] - 5.0]])), np.zeros(2)
    )
    assert float(np.max(found.place.here.peaks)) == pytest.approx(0.0, abs=0.01)


def test_cost_never_rises_and_rounds_are_bounded() -> None:
    """A landscape full of holes, looked at from many starts: every search ends, none higher than where it began."""

    def small(x: FloatArray) -> FloatArray:
        return np.concatenate([x - 3.0, 2.0 * np.sin(5.0 * x)])

    measured = problem(small, lambda x: np.array([1.0 + np.sin(3.0 * x[0]), 9.0 - x @ x]))
    for seed in range(20):
        start = np.random.default_rng(seed).normal(size=3) * 4
        begin: Place = placed(measured, start)
        found = descend(measured, start)
        assert found.place.here.cost <= begin.here.cost
        assert found.rounds <= 60
