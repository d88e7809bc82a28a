"""From a wanted force to a stroke by energy, against what can be written down: fusee, constant load, assist."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.springs import released_energy, spring_force
from pullcurve.mechanics.synthesis import ratio_from_force, released_travel, stroke_from_work

TRAVEL = np.linspace(0.0, 0.030, 16)


class Spring:
    """A load of preload P and rate k: U = P x + k x^2 / 2."""

    def __init__(self, preload: float, rate: float) -> None:
        self.preload, self.rate = preload, rate

    def __call__(self, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        return self.preload * x + self.rate * x**2 / 2, self.preload + self.rate * x


KNOTS = np.linspace(0.0, 0.020, 12)


def test_constant_force_against_a_constant_load_is_a_lever() -> None:
    """F s = P x."""
    found = stroke_from_work(20.0 * TRAVEL, Spring(60.0, 0.0), KNOTS)
    np.testing.assert_allclose(found, 20.0 / 60.0 * TRAVEL, atol=1e-12)


@pytest.mark.parametrize(("preload", "rate"), [(0.0, 60e3), (40.0, 60e3), (60.0, -500.0)])
def test_constant_force_against_a_spring_is_a_fusee(preload: float, rate: float) -> None:
    """x = (sqrt(P^2 + 2 k F s) - P) / k: the root of k x^2/2 + P x = F s."""
    work = 45.0 * TRAVEL[1:]  # where a load starts without force, the very start has no ratio
    expected = 2.0 * work / (preload + np.sqrt(preload**2 + 2.0 * rate * work))
    found = stroke_from_work(work, Spring(preload, rate), np.linspace(0.0, 0.030, 40))
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_fusee_of_the_worked_case() -> None:
    """500 N mm on 60 N - 0.5 N/mm, pulled off in one radian: 8.644713 mm (computed, tests/outside/energy_computed)."""
    found = stroke_from_work(np.array([0.5]), Spring(60.0, -500.0), np.linspace(0.0, 0.02, 12))
    assert found[0] == pytest.approx(8.644713e-3, abs=5e-10)


def test_rising_force_against_a_spring_is_what_the_differential_equation_says() -> None:
    """F(s) = 10 + 2000 s against P = 25, k = 9 N/mm: x' = F/F_p integrated by Runge and Kutta from the same start."""
    load, force = Spring(25.0, 9e3), 10.0 + 2000.0 * TRAVEL
    answer = solve_ivp(
        lambda s, x: (10.0 + 2000.0 * s) / load(x)[1],
        (0.0, TRAVEL[-1]),
        [0.0],
        t_eval=TRAVEL,
        rtol=1e-10,
        atol=1e-13,
    )

    def stroke(s: FloatArray) -> FloatArray:
        return stroke_from_work(10.0 * s + 1000.0 * s**2, load, KNOTS)

    found, step = stroke(TRAVEL), 1e-6
    np.testing.assert_allclose(found, answer.y[0], atol=1e-10)
    slope = (stroke(TRAVEL + 2.0 * step) - stroke(TRAVEL)) / (2.0 * step)
    middle = ratio_from_force(force + 2000.0 * step, load(stroke(TRAVEL + step))[1])
    np.testing.assert_allclose(middle, slope, rtol=1e-6)


def test_work_below_the_first_bracket_has_no_stroke() -> None:
    assert np.isnan(stroke_from_work(np.array([-1e-3]), Spring(25.0, 9e3), KNOTS))[0]


def test_ratio_at_the_start_of_a_load_without_force_is_without_bound() -> None:
    found = ratio_from_force(np.array([20.0, 20.0]), np.array([0.0, 60.0]))
    assert found[0] == np.inf
    assert found[1] == pytest.approx(1 / 3)


@pytest.mark.parametrize(("preload", "rate"), [(160.0, 20e3), (240.0, 22e3), (2.6, 5.157)])
def test_constant_assist_lets_its_spring_down_by_the_root_of_what_is_left(
    preload: float, rate: float
) -> None:
    """q0 - q = q0 - sqrt(q0^2 - 2 W/k); the energy of what was let down is the work again."""
    store = preload**2 / rate / 2.0
    work = np.linspace(0.0, 0.98, 9) * store
    found = released_travel(work, preload, rate)
    np.testing.assert_allclose(
        [released_energy(preload, rate, one) for one in found], work, atol=1e-12 * store
    )
    # A constant torque T over theta gives W = T theta: the force left times dq/dtheta is T again.
    torque, theta = 0.5 * store, np.linspace(0.1, 1.5, 8)
    step = 1e-6
    slope = released_travel(torque * (theta + step), preload, rate) - released_travel(
        torque * (theta - step), preload, rate
    )
    left = spring_force(preload, rate, released_travel(torque * theta, preload, rate))
    np.testing.assert_allclose(left * slope / (2 * step), torque, rtol=1e-7)


def test_assist_of_the_worked_case() -> None:
    """20 N/mm loaded by 8 mm gives 1000 N mm over 0.3 rad: 2.169048 mm (computed, tests/outside/energy_computed)."""
    assert released_travel(np.array([0.3]), 160.0, 20e3)[0] == pytest.approx(2.169048e-3, abs=5e-10)


def test_a_spring_gives_no_more_than_it_holds() -> None:
    store = 160.0**2 / 20e3 / 2.0
    found = released_travel(np.array([store, 1.001 * store]), 160.0, 20e3)
    assert found[0] == pytest.approx(8e-3)
    assert np.isnan(found[1])
