"""Arms of the contact force: cross products of vectors, virtual work, velocities of both bodies."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from pullcurve.mechanics.arms import arms_of, force_arms, heading, slide, surface_speed, tilted
from pullcurve.mechanics.contact import contact_force, pressure_angle
from pullcurve.mechanics.law import fall_curve, law, rise_curve

RADIANS = np.pi / 180
CENTRES, ARM, REST, ROLLER = 0.040, 0.020, 35 * RADIANS, 0.0040

Vector = NDArray[np.float64]

senses = st.sampled_from([1.0, -1.0])
angles = st.floats(0.4, 1.6)
ratios = st.floats(-0.9, 0.9)
tilts = st.floats(-0.6, 0.6)


def cross(one: Vector, other: Vector) -> float:
    """Component out of the plane."""
    return float(one[0] * other[1] - one[1] * other[0])


def frame(psi: float, dpsi: float, sense: float) -> tuple[float, Vector, Vector, Vector]:
    """Pressure angle, contact point, normal and tangent, written out in x and y."""
    alpha = float(pressure_angle(np.asarray(psi), np.asarray(dpsi), CENTRES, ARM, sense))
    u, e = np.array([np.sin(psi), np.cos(psi)]), np.array([-np.cos(psi), np.sin(psi)])
    normal = np.cos(alpha) * u + np.sin(alpha) * e
    tangent = -np.sin(alpha) * u + np.cos(alpha) * e
    return alpha, np.array([CENTRES, 0.0]) + ARM * e - ROLLER * normal, normal, tangent


@given(senses, st.floats(0.2, 0.7), st.floats(-0.02, 0.05))
def test_arms_without_friction_have_the_ratio_of_the_law(sense: float, rise: float, take_up: float) -> None:
    """Virtual work: N h_O = M psi' and N h_A = M, so h_O/h_A = psi'; and h_A = l cos alpha gives N."""
    theta = np.linspace(0.0, 26 * RADIANS, 201)
    state = law(rise_curve(REST, rise, take_up, 26 * RADIANS), theta)
    alpha = pressure_angle(state.psi, state.dpsi, CENTRES, ARM, sense)
    arms = force_arms(state.psi, alpha, 0.0, CENTRES, ARM, ROLLER, sense)
    np.testing.assert_allclose(arms.lever / arms.rocker, state.dpsi, rtol=1e-11, atol=1e-14)
    moment = np.linspace(1.0, 5.0, alpha.size)
    np.testing.assert_allclose(contact_force(moment, alpha, ARM) * arms.rocker, moment, rtol=1e-12)


@given(senses, angles, ratios, tilts)
def test_arms_are_those_of_vectors(sense: float, psi: float, dpsi: float, tilt: float) -> None:
    """Cross products of the force with the points it is taken about; f is the normal turned by the tilt."""
    alpha, c, n, t = frame(psi, dpsi, sense)
    f = np.cos(tilt) * n + np.sin(tilt) * t
    arms = force_arms(np.asarray(psi), np.asarray(alpha), tilt, CENTRES, ARM, ROLLER, sense)
    # psi grows clockwise about A in this frame. The cam turns by +sigma theta; the reaction -f on it resists where
    # C x f has the sign of sigma.
    assert arms.rocker == pytest.approx(-cross(c - [CENTRES, 0.0], f), abs=1e-15)
    assert arms.lever == pytest.approx(sense * cross(c, f), abs=1e-15)


@given(senses, angles, ratios)
def test_surface_speed_is_the_difference_of_two_velocities(sense: float, psi: float, dpsi: float) -> None:
    """Cam point at C moves with sigma k x C, rocker point with psi' clockwise about A; both along the tangent."""
    alpha, c, n, t = frame(psi, dpsi, sense)
    arm = c - [CENTRES, 0.0]
    slip = sense * np.array([-c[1], c[0]]) + dpsi * np.array([-arm[1], arm[0]])
    got = surface_speed(np.asarray(psi), np.asarray(dpsi), np.asarray(alpha), CENTRES, ARM, ROLLER, sense)
    assert slip @ n == pytest.approx(0.0, abs=1e-15)  # the cam never enters the roller
    assert float(got) == pytest.approx(float(slip @ t), abs=1e-15)
    again = slide(heading(np.asarray(psi), np.asarray(alpha)), np.asarray(dpsi), CENTRES, ARM, ROLLER, sense)
    assert float(again) == float(got)


@given(angles, st.floats(-1.2, 1.2), tilts)
def test_a_tilted_direction_is_that_of_the_sum_of_the_angles(psi: float, alpha: float, tilt: float) -> None:
    turned = tilted(heading(np.asarray(psi), np.asarray(alpha)), np.sin(tilt), np.cos(tilt))
    phi = alpha + tilt
    expected = (np.sin(phi), np.cos(phi), np.sin(psi - phi), np.cos(psi - phi))
    got = (turned.sin_alpha, turned.cos_alpha, turned.across, turned.along)
    assert tuple(map(float, got)) == pytest.approx(expected, abs=1e-15)


@given(angles, st.floats(-1.2, 1.2), senses)
def test_lines_through_a_pivot_have_no_arm(psi: float, alpha: float, sense: float) -> None:
    """A roller of no size pushed along its own arm turns nothing; one pushed along C turns no lever."""
    along_arm = tilted(
        heading(np.asarray(psi), np.asarray(alpha)), np.cos(alpha), np.sin(alpha)
    )  # to 90 degrees
    assert arms_of(along_arm, np.cos(alpha), CENTRES, ARM, 0.0, sense).rocker == pytest.approx(0.0, abs=1e-17)
    b = np.array([CENTRES - ARM * np.cos(psi), ARM * np.sin(psi)])
    through = psi - float(np.arctan2(b[0], b[1]))  # the direction (sin, cos)(psi - alpha) points along OB
    arms = force_arms(np.asarray(psi), np.asarray(through), 0.0, CENTRES, ARM, 0.0, sense)
    assert arms.lever == pytest.approx(0.0, abs=1e-16)


def test_an_assist_cam_pushes_the_lever_on() -> None:
    """Where psi falls, the load's torque helps: the arm about the lever pivot is negative."""
    theta = np.linspace(0.0, 0.4, 41)
    state = law(fall_curve(60 * RADIANS, 0.1, 0.1, 0.5), theta)
    alpha = pressure_angle(state.psi, state.dpsi, CENTRES, ARM, 1.0)
    arms = force_arms(state.psi, alpha, 0.0, CENTRES, ARM, ROLLER, 1.0)
    neutral = theta <= 0.1
    np.testing.assert_allclose(arms.lever[neutral], 0.0, atol=1e-17)
    assert (arms.lever[~neutral] < 0).all()
