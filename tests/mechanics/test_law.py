"""Cam laws: textbook factors, exact values, differences, and what the laws of the rack promise."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import BSpline

from pullcurve.mechanics.curve import evaluate
from pullcurve.mechanics.law import (
    MOTIONS,
    TAKE_UP_PEAK,
    fall_curve,
    law,
    motion,
    motion_curve,
    rise_curve,
    shape_curve,
)

# Peak factors of velocity, acceleration and jerk as printed: R. L. Norton, Design of Machinery, table 8-2, read as an
# image. The print has small errors (4.945 for pi^2/2, 5.777 for 10/sqrt(3), 7.526), hence 0.3 %.
NORTON = {
    "parabolic": (2.000, 4.000),
    "harmonic": (1.571, 4.945),
    "modified trapezoid": (2.000, 4.888),
    "modified sine": (1.760, 5.528),
    "polynomial 3-4-5": (1.875, 5.777),
    "cycloidal": (2.000, 6.283),
    "polynomial 4-5-6-7": (2.188, 7.526),
}

# Closed forms: by hand from the defining integrals. The last one is at the root of 1 - 5 u + 5 u^2.
EXACT = {
    "linear": (1.0, 0.0),
    "parabolic": (2.0, 4.0),
    "harmonic": (np.pi / 2, np.pi**2 / 2),
    "modified trapezoid": (2.0, 8 * np.pi / (np.pi + 2)),
    "modified sine": (4 * np.pi / (np.pi + 4), 4 * np.pi**2 / (np.pi + 4)),
    "polynomial 3-4-5": (15 / 8, 10 / np.sqrt(3)),
    "cycloidal": (2.0, 2 * np.pi),
    "polynomial 4-5-6-7": (35 / 16, 84 / (5 * np.sqrt(5))),
}

FINE = np.linspace(0.0, 1.0, 200_001)
names = st.sampled_from(sorted(MOTIONS))


@pytest.mark.parametrize("name", NORTON)
def test_peak_factors_of_norton_table_8_2(name: str) -> None:
    _, slope, bend = motion(name, FINE)
    assert (slope.max(), np.abs(bend).max()) == pytest.approx(NORTON[name], rel=3e-3)


@pytest.mark.parametrize("name", MOTIONS)
def test_peak_factors_are_the_exact_ones(name: str) -> None:
    _, slope, bend = motion(name, FINE)
    assert (slope.max(), np.abs(bend).max()) == pytest.approx(EXACT[name], rel=1e-8)


@pytest.mark.parametrize("name", MOTIONS)
def test_a_motion_goes_from_zero_to_one_and_is_the_same_from_both_ends(name: str) -> None:
    value, slope, bend = motion(name, FINE)
    assert value[[0, -1]] == pytest.approx([0.0, 1.0], abs=1e-12)
    inside = FINE != 0.5  # where the parabolic law's acceleration jumps
    np.testing.assert_allclose(value + value[::-1], 1.0, atol=1e-12)
    np.testing.assert_allclose(slope, slope[::-1], atol=1e-10)
    np.testing.assert_allclose(bend[inside], -bend[::-1][inside], atol=1e-9)


@pytest.mark.parametrize("name", MOTIONS)
def test_derivatives_of_a_motion_are_slopes_of_differences(name: str) -> None:
    u, step = np.linspace(0.013, 0.987, 60), 1e-6  # an even count leaves out 0.5, where one law jumps
    after, before = motion(name, u + step), motion(name, u - step)
    _, slope, bend = motion(name, u)
    np.testing.assert_allclose((after[0] - before[0]) / (2 * step), slope, atol=1e-7)
    np.testing.assert_allclose((after[1] - before[1]) / (2 * step), bend, atol=1e-5)


@pytest.mark.parametrize("name", MOTIONS)
@pytest.mark.parametrize("joint", [0.125, 0.375, 0.5, 0.625, 0.875])
def test_value_and_slope_of_a_motion_have_no_step(name: str, joint: float) -> None:
    before, after = motion(name, np.array([joint - 1e-12])), motion(name, np.array([joint + 1e-12]))
    assert after[0] == pytest.approx(before[0], abs=1e-10)
    assert after[1] == pytest.approx(before[1], abs=1e-10)
    if name != "parabolic":
        assert after[2] == pytest.approx(before[2], abs=1e-9)


@given(names, st.floats(0.1, 2.5), st.floats(0.01, 1.0) | st.floats(-1.0, -0.01), st.floats(0.1, 1.5))
def test_motion_curve_is_the_motion_over_its_angle(
    name: str, start: float, rise: float, angle: float
) -> None:
    curve = motion_curve(name, start, rise, angle)
    u = np.linspace(0.0, 1.0, 87)[1:-1]
    if name == "parabolic":
        u = u[np.abs(u - 0.5) > 1 / 48]  # the piece that rounds the jump of its acceleration
    value, slope, bend = motion(name, u)
    got = law(curve, angle * u)
    np.testing.assert_allclose(got.psi, start + rise * value, rtol=0, atol=3e-9 * abs(rise) + 1e-15)
    np.testing.assert_allclose(got.dpsi * angle, rise * slope, rtol=0, atol=1e-6 * abs(rise) + 1e-13)
    np.testing.assert_allclose(got.d2psi * angle**2, rise * bend, rtol=0, atol=1e-3 * abs(rise) + 1e-12)


def test_motion_curve_rounds_the_jump_of_the_parabolic_law() -> None:
    """By hand: a quintic with one end's second derivative off by 8 is off by at most 8/2 x (w^3 (1-w)^2) h^2."""
    u = np.linspace(0.0, 1.0, 961)
    off = law(motion_curve("parabolic", 0.0, 1.0, 1.0), u).psi - motion("parabolic", u)[0]
    assert 0 < np.abs(off).max() <= 4 * 0.6**3 * 0.4**2 / 48**2 * (1 + 1e-9)
    assert off[np.abs(u - 0.5) > 1 / 48] == pytest.approx(0.0, abs=1e-12)


def test_motion_curve_of_many_sets() -> None:
    start, rise = np.array([0.5, 0.7]), np.array([0.3, -0.2])
    curve = motion_curve("cycloidal", start, rise, 0.45, pieces=8)
    assert curve.breaks.shape == (2, 9)
    ends = law(curve, np.array([0.0, 0.45]))
    np.testing.assert_allclose(ends.psi, np.stack([start, start + rise], axis=-1), rtol=1e-12)


angles = st.floats(0.2, 1.0)
rises = st.floats(0.1, 0.8)
bumps = st.floats(-0.1, 0.2)


@given(st.floats(0.3, 1.5), rises, bumps, angles)
def test_rise_is_a_line_and_a_bump(start: float, rise: float, take_up: float, flank: float) -> None:
    """The equation of the docstring in plain numbers, and a straight line beyond the flank."""
    u = np.linspace(0.0, 1.0, 31)
    curve = rise_curve(start, rise, take_up, flank)
    bump = take_up * 3 * np.sqrt(3) / 2 * u * (1 - u) * (2 - u)
    np.testing.assert_allclose(law(curve, flank * u).psi, start + rise * u + bump, rtol=0, atol=1e-13)
    beyond = law(curve, flank * np.array([1.0, 1.5, 2.5]))
    np.testing.assert_allclose(np.diff(beyond.dpsi), 0.0, atol=1e-12)
    np.testing.assert_allclose(np.diff(beyond.psi), beyond.dpsi[0] * flank * np.array([0.5, 1.0]), atol=1e-12)


@given(st.floats(0.3, 1.5), rises, st.lists(bumps, min_size=2, max_size=5), angles)
def test_take_up_variants_share_both_ends(start: float, rise: float, bump: list[float], flank: float) -> None:
    """Common practice: the extra stroke is gone at the end of the travel."""
    ends = law(rise_curve(start, rise, np.array(bump), flank), np.array([0.0, flank]))
    np.testing.assert_allclose(ends.psi[:, 0], start, rtol=1e-12)
    np.testing.assert_allclose(ends.psi[:, 1], start + rise, rtol=1e-12)


def test_take_up_is_the_height_of_the_bump_at_its_top() -> None:
    """By hand: u (1-u) (2-u) has its top at 1 - 1/sqrt(3) and is 2/(3 sqrt(3)) there."""
    assert pytest.approx(1 - 1 / np.sqrt(3), rel=1e-15) == TAKE_UP_PEAK
    flat, bumpy = (rise_curve(0.6, 0.4, take_up, 0.45) for take_up in (0.0, 0.05))
    theta = 0.45 * np.linspace(0, 1, 10_001)
    extra = law(bumpy, theta).psi - law(flat, theta).psi
    assert extra.max() == pytest.approx(0.05, rel=1e-7)
    assert theta[extra.argmax()] / 0.45 == pytest.approx(TAKE_UP_PEAK, abs=1e-4)
    top = law(bumpy, np.array([0.45 * TAKE_UP_PEAK]))
    assert top.dpsi == pytest.approx(law(flat, np.array([0.0])).dpsi, rel=1e-12)


@given(rises, bumps, angles)
def test_rise_has_no_kink_at_the_end_of_its_flank(rise: float, take_up: float, flank: float) -> None:
    curve = rise_curve(0.5, rise, take_up, flank)
    before, after = (law(curve, np.array([flank * (1 + side * 1e-10)])) for side in (-1, 1))
    assert after.dpsi == pytest.approx(before.dpsi, abs=1e-8)
    assert after.d2psi == pytest.approx(before.d2psi, abs=1e-7)


@given(st.floats(0.3, 1.5), st.floats(0.0, 0.3), st.floats(0.05, 0.3), st.floats(0.1, 1.2))
def test_fall_by_quadrature_of_its_slope(start: float, onset: float, blend: float, fall: float) -> None:
    def slope(theta: float) -> float:
        v = min(max((theta - onset) / blend, 0.0), 1.0)
        return -fall * (3 * v**2 - 2 * v**3)

    curve = fall_curve(start, onset, blend, fall)
    theta = np.array([0.5 * onset, onset + 0.3 * blend, onset + 0.9 * blend, onset + 1.7 * blend])
    got = law(curve, theta)
    for k, place in enumerate(theta):
        turned, _ = quad(slope, 0.0, place, points=(onset, onset + blend) if place > onset > 0 else None)
        assert got.psi[k] == pytest.approx(start + turned, abs=1e-9)
        assert got.dpsi[k] == pytest.approx(slope(place), abs=1e-12)


@given(st.floats(0.02, 0.3), st.floats(0.05, 0.3), st.floats(0.1, 1.2))
def test_fall_has_no_kink(onset: float, blend: float, fall: float) -> None:
    curve = fall_curve(1.0, onset, blend, fall)
    for joint in (onset, onset + blend):
        before, after = (law(curve, np.array([joint + side * 1e-12])) for side in (-1, 1))
        for one, other in zip((before.psi, before.dpsi), (after.psi, after.dpsi), strict=True):
            assert one == pytest.approx(other, abs=1e-9)
        assert before.d2psi == pytest.approx(after.d2psi, abs=1e-6)


def test_fall_that_starts_at_rest_has_no_neutral_part() -> None:
    curve = fall_curve(1.0, 0.0, 0.1, 0.5)
    got = law(curve, np.array([0.0, 0.05, 0.1, 0.3]))
    # by hand: half the slope half-way through the blend, all of it from its end on
    np.testing.assert_allclose(got.dpsi, [0.0, -0.25, -0.5, -0.5], atol=1e-12)
    np.testing.assert_allclose(got.psi[[0, 2, 3]], [1.0, 1.0 - 0.025, 1.0 - 0.125], atol=1e-12)


def test_laws_of_many_sets_are_the_laws_one_by_one() -> None:
    take_up, flank = np.array([[0.0], [0.05]]), np.array([0.4, 0.45, 0.5])
    theta = np.linspace(0.0, 0.6, 9)
    stack = law(rise_curve(0.6, 0.4, take_up, flank), theta)
    assert stack.psi.shape == (2, 3, 9)
    for i, k in np.ndindex(2, 3):
        alone = law(rise_curve(0.6, 0.4, float(take_up[i, 0]), float(flank[k])), theta)
        np.testing.assert_array_equal(stack.psi[i, k], alone.psi)
        np.testing.assert_array_equal(stack.d2psi[i, k], alone.d2psi)
    falls = law(fall_curve(1.0, np.array([0.1, 0.2]), 0.1, 0.5), theta)
    np.testing.assert_array_equal(falls.psi[1], law(fall_curve(1.0, 0.2, 0.1, 0.5), theta).psi)


def test_law_is_the_curve_with_names() -> None:
    curve, theta = rise_curve(0.6, 0.4, 0.02, 0.45), np.linspace(0.0, 0.45, 5)
    got = law(curve, theta)
    for part, named in zip(evaluate(curve, theta), (got.psi, got.dpsi, got.d2psi), strict=True):
        np.testing.assert_array_equal(part, named)


def test_a_drawn_shape_is_the_spline_of_another_library_and_nothing_at_rest() -> None:
    values = np.random.default_rng(4).normal(0.0, 0.02, (2, 12))
    flank = np.array([0.4, 0.5])
    theta = np.linspace(-0.05, 0.4, 91)
    got = law(shape_curve(values, flank), theta)
    inner = np.linspace(-0.125, 1.0, 12 - 5 + 1)  # quintic: as many spans as values less the degree
    knots = np.concatenate([[inner[0]] * 5, inner, [inner[-1]] * 5])
    for row, wide in enumerate(flank):
        spline = BSpline(knots, values[row], 5)
        np.testing.assert_allclose(got.psi[row], spline(theta / wide) - spline(0.0), atol=1e-13)
        np.testing.assert_allclose(got.d2psi[row], spline(theta / wide, 2) / wide**2, atol=1e-8)
    assert np.all(np.abs(law(shape_curve(values, flank), np.zeros(1)).psi) < 1e-15)


def test_a_drawn_shape_goes_straight_on_past_its_flank() -> None:
    values = np.random.default_rng(5).normal(0.0, 0.02, 12)
    got = law(shape_curve(values, 0.4), np.array([0.41, 0.5, 0.6]))
    np.testing.assert_allclose(got.d2psi, 0.0, atol=1e-12)
    np.testing.assert_allclose(np.diff(got.psi), got.dpsi[0] * np.array([0.09, 0.1]), atol=1e-12)
