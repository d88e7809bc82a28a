"""Friction circles against plain statics: forces as vectors, roots by another library."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from pullcurve.mechanics.friction import first_order_loss, lever_force, pinned_force, roller_tilt, seal_drag

moments = st.floats(0.01, 30.0)
leans = st.floats(-1.2, 1.2)
drags = st.floats(-1.2e-3, 1.2e-3)


def pinned(arm: float, moment: float, load: float, lean: float, drag: float) -> float:
    """Contact force from plain numbers, the lean of the contact force from the load's line as an angle."""
    return float(pinned_force(*map(np.asarray, (arm, moment, load, np.cos(lean), drag))))


def contact_by_statics(arm: float, moment: float, load: float, lean: float, drag: float) -> float:
    """N h = M + k |N f - P u|, with both forces as vectors."""

    def torque_left(contact: float) -> float:
        pin = contact * np.array([np.cos(lean), np.sin(lean)]) - np.array([load, 0.0])
        return float(contact * arm - moment - drag * np.hypot(*pin))

    return float(brentq(torque_left, 0.0, 1e7, xtol=1e-12, rtol=1e-14))


@given(st.floats(4e-3, 25e-3), moments, st.floats(5e-3, 40e-3), leans, drags)
def test_contact_force_is_the_root_of_plain_statics(
    arm: float, moment: float, load_arm: float, lean: float, drag: float
) -> None:
    known = (arm, moment, moment / load_arm, lean, drag)
    assert pinned(*known) == pytest.approx(contact_by_statics(*known), rel=1e-9)


@given(st.floats(4e-3, 25e-3), moments, st.floats(0.0, 2000.0), leans)
def test_contact_force_without_friction_is_torque_by_arm(
    arm: float, moment: float, load: float, lean: float
) -> None:
    assert pinned(arm, moment, load, lean, 0.0) == pytest.approx(moment / arm, rel=1e-12)


@given(st.floats(4e-3, 25e-3), moments, drags)
def test_torsion_spring_loads_the_pin_with_the_contact_force_alone(
    arm: float, moment: float, drag: float
) -> None:
    """By hand: P = 0, so N h = M + k N."""
    assert pinned(arm, moment, 0.0, 0.3, drag) == pytest.approx(moment / (arm - drag), rel=1e-12)


@given(moments, st.floats(4e-3, 25e-3), drags)
def test_load_in_line_and_on_the_same_arm_leaves_the_pin_free(moment: float, arm: float, drag: float) -> None:
    """Limit case: contact force and load cancel, no reaction, no friction."""
    assert pinned(arm, moment, moment / arm, 0.0, drag) == pytest.approx(moment / arm, rel=1e-6)


@given(st.floats(4e-3, 25e-3), moments, st.floats(5e-3, 40e-3), leans, st.floats(0.0, 1.2e-3))
def test_friction_adds_on_the_pull_and_takes_off_on_the_release(
    arm: float, moment: float, load_arm: float, lean: float, drag: float
) -> None:
    load = moment / load_arm
    least, middle, most = (pinned(arm, moment, load, lean, side * drag) for side in (-1, 0, 1))
    assert least <= middle * (1 + 1e-12)
    assert middle <= most * (1 + 1e-12)


def test_no_load_no_contact_force() -> None:
    assert pinned(0.02, 0.0, 0.0, 0.2, 5e-4) == 0.0
    assert pinned(0.02, 0.0, 0.0, 0.2, -5e-4) == 0.0


def test_a_pin_that_holds_more_than_the_load_asks_leaves_no_contact_force() -> None:
    """On the release friction alone can hold a rocker whose load pulls within the pin's friction circle."""
    assert pinned(0.02, 0.4e-3 * 100.0, 100.0, 0.0, -0.5e-3) == 0.0


@pytest.mark.parametrize("drag", [5e-4, -5e-4])
def test_a_contact_force_within_the_friction_circle_locks_the_rocker(drag: float) -> None:
    """l cos(alpha + phi) <= mu r_pin: no finite push moves the rocker, so the force is undefined."""
    assert np.isnan(pinned(4e-4, 1.0, 50.0, 0.2, drag))
    assert np.isnan(pinned(5e-4, 1.0, 50.0, 0.2, drag))
    assert pinned(6e-4, 1.0, 50.0, 0.2, drag) > 0


torques = st.floats(-2.0, 12.0)
forces = st.floats(-800.0, 800.0)


def pulled(torque: float, radius: float, x: float, y: float, push: float, drag: float) -> float:
    """Finger force from plain numbers: contact forces (x, y), direction of the finger's push as an angle."""
    along = x * np.cos(push) + y * np.sin(push)
    return float(lever_force(*map(np.asarray, (torque, radius, along, x**2 + y**2, drag))))


@given(torques, st.floats(0.05, 0.1), forces, forces, st.floats(-np.pi, np.pi), drags)
def test_finger_force_is_the_root_of_plain_statics(
    torque: float, radius: float, x: float, y: float, push: float, drag: float
) -> None:
    def torque_left(force: float) -> float:
        pin = force * np.array([np.cos(push), np.sin(push)]) - np.array([x, y])
        return float(force * radius - torque - drag * np.hypot(*pin))

    expected = brentq(torque_left, -1e6, 1e6, xtol=1e-10, rtol=1e-14)
    assert pulled(torque, radius, x, y, push, drag) == pytest.approx(expected, rel=1e-8, abs=1e-7)


@given(torques, st.floats(0.05, 0.1), forces, forces, st.floats(-np.pi, np.pi))
def test_finger_force_without_friction_is_torque_by_radius(
    torque: float, radius: float, x: float, y: float, push: float
) -> None:
    assert pulled(torque, radius, x, y, push, 0.0) == pytest.approx(torque / radius, rel=1e-12, abs=1e-15)


@given(torques, st.floats(0.05, 0.1), forces, forces, st.floats(-np.pi, np.pi), st.floats(0.0, 1.2e-3))
def test_release_is_never_above_pull(
    torque: float, radius: float, x: float, y: float, push: float, drag: float
) -> None:
    release, free, pull = (pulled(torque, radius, x, y, push, side * drag) for side in (-1, 0, 1))
    assert release <= free + 1e-9
    assert free <= pull + 1e-9


def test_lever_without_contact_forces_drags_by_the_finger_alone() -> None:
    """By hand: F L = T + k F, so F = T/(L - k)."""
    assert pulled(3.0, 0.075, 0.0, 0.0, 0.4, 5e-4) == pytest.approx(3.0 / (0.075 - 5e-4), rel=1e-13)
    assert pulled(3.0, 0.075, 0.0, 0.0, 0.4, -5e-4) == pytest.approx(3.0 / (0.075 + 5e-4), rel=1e-13)


def test_lever_pin_carries_the_vector_sum_and_not_the_sum() -> None:
    """By hand: F = 40 N across S = 300 N: |R| = 302.65 N, not 340 N."""
    drag, radius = 4.8e-4, 0.075
    torque = 40.0 * radius - drag * np.hypot(40.0, 300.0)
    assert pulled(torque, radius, 300.0, 0.0, np.pi / 2, drag) == pytest.approx(40.0, rel=1e-12)


def test_roller_tilt_of_a_needle_and_of_a_plain_pin() -> None:
    """By hand: atan(0.0025 x 2.5/6) = 0.0597 and atan(0.12 x 2.5/6) = 2.862 degrees."""
    got = np.degrees(roller_tilt(np.array([0.0, 0.0025, 0.12]), np.asarray(2.5e-3), np.asarray(6e-3)))
    np.testing.assert_allclose(got, [0.0, 0.0597, 2.862], atol=6e-4)


def test_roller_tilt_is_the_balance_of_the_roller() -> None:
    """The tangential force at the contact times r is the pin's drag times its radius."""
    tilt = float(roller_tilt(*map(np.asarray, (0.12, 2.5e-3, 6e-3))))
    assert np.tan(tilt) * 6e-3 == pytest.approx(0.12 * 2.5e-3, rel=1e-14)


def test_seal_drag_by_hand() -> None:
    """7 N + 0.04 x 40 bar x 70.88 mm2 = 18.34 N; without pressure the constant part alone."""
    area = np.pi * 0.0095**2 / 4
    got = seal_drag(7.0, 0.04, np.array([0.0, 40e5]), area)
    np.testing.assert_allclose(got, [7.0, 18.341], atol=1e-3)


def test_seal_drag_of_an_o_ring_in_the_makers_form() -> None:
    """F = f_c L + f_h A_p: 0.7 x 3.93 + 20 x 0.44 = 11.55 lbf = 51.4 N (inputs from memory, arithmetic computed).

    Our form has the share of the pressure force; at 750 psi on 0.44 in2 that share is 20/750.
    """
    pound, inch = 4.4482216, 0.0254
    psi = pound / inch**2
    got = float(seal_drag(*map(np.asarray, (0.7 * 3.93 * pound, 20 / 750, 750 * psi, 0.44 * inch**2))))
    assert got == pytest.approx(51.4, abs=0.05)


def test_first_order_loss_of_a_worked_case() -> None:
    """M = 4000 N mm, l = 30 mm, alpha = 15 degrees, psi' = 0.35; bushes 0.12 on 4 and 3 mm, needle 0.0025 on 2.5 mm
    turning twice: loss 85.376 N mm, pull to release 1.12989 (computed)."""
    contact = 4.0 / (0.030 * np.cos(np.radians(15)))
    loss = float(first_order_loss(*map(np.asarray, (contact, -0.35, 0.48e-3, 0.36e-3, 0.00625e-3, 2.0))))
    assert loss * 1e3 == pytest.approx(85.376, abs=6e-4)
    assert (1.4 + loss) / (1.4 - loss) == pytest.approx(1.12989, abs=6e-6)


@given(st.floats(0.5, 20.0), leans, st.floats(0.1, 0.8), st.floats(1e-5, 1e-4))
def test_first_order_loss_is_the_limit_of_little_friction(
    moment: float, lean: float, ratio: float, drag: float
) -> None:
    """With a torsion spring all of the rocker's pin reaction is N: the two agree to first order in k/h."""
    arm = 0.02
    free = moment / arm
    lost = (pinned(arm, moment, 0.0, lean, drag) - free) * arm * ratio
    zero = np.asarray(0.0)
    first = float(first_order_loss(np.asarray(free), np.asarray(ratio), zero, np.asarray(drag), zero, zero))
    assert lost == pytest.approx(first, rel=1.5 * drag / arm)
