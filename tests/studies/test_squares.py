"""The search for the most probable values where slopes alone mislead it."""

import numpy as np
import pytest
from scipy.optimize import brute

from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.squares import most_probable, searched

WIDE = (np.full(2, -12.0), np.full(2, 12.0))
PLACES = np.linspace(0.0, 1.0, 21)


def stepped(z: FloatArray) -> FloatArray:
    """A line with a step of 3 whose place and slope are unknown, read without noise to a tenth; truth (0.9, -0.4)."""

    def row(at: FloatArray, slope: FloatArray) -> FloatArray:
        return np.asarray((1.0 + 0.2 * slope) * PLACES + 3.0 * (0.5 + 0.1 * at < PLACES))

    truth = row(np.array([0.9]), np.array([-0.4]))
    return (row(z[:, :1], z[:, 1:]) - truth) / 0.1


def cost(z: FloatArray) -> float:
    return float(0.5 * np.sum(stepped(z[None, :]) ** 2) + 0.5 * z @ z)


def test_step_is_found_on_the_right_side() -> None:
    """A plain search stays where the slope of a step is zero; brute force knows where the least is."""
    best = searched(stepped, np.zeros(2), WIDE)
    least = brute(cost, ((-2, 2), (-2, 2)), Ns=161, finish=None, full_output=True)[1]
    assert best.cost == pytest.approx(least, abs=0.3)
    assert most_probable(stepped, np.array([-1.5, 0.0]), WIDE, step=1e-4).cost > 100.0


def test_central_slopes_are_exact_for_a_parabola_and_one_sided_ones_are_off_by_the_step() -> None:
    """d(z^2)/dz at the end of the search: 2 z by central differences, 2 z + h one-sided (identity)."""
    wide = (np.full(1, -12.0), np.full(1, 12.0))

    def off(z: FloatArray) -> FloatArray:
        return 3.0 * (z**2 - 4.0)

    start = np.array([1.0])
    both = most_probable(off, start, wide, step=0.2)
    one = most_probable(off, start, wide, step=0.2, one_sided=True)
    assert both.slopes[0, 0] == pytest.approx(6.0 * both.z[0])
    assert one.slopes[0, 0] == pytest.approx(3.0 * (2.0 * one.z[0] + 0.2))


def test_slopes_at_a_bound_stay_inside_it() -> None:
    seen: list[FloatArray] = []

    def off(z: FloatArray) -> FloatArray:
        seen.append(z)
        return 10.0 * (z - 2.0)

    bounds = (np.full(1, -1.0), np.full(1, 0.5))
    for one_sided in (False, True):
        best = most_probable(off, np.zeros(1), bounds, one_sided=one_sided)
        assert best.z == pytest.approx([0.5], abs=1e-2)
        assert best.slopes[0, 0] == pytest.approx(10.0)
    assert max(float(z.max()) for z in seen) <= 0.5
