"""From line pressure to the road, checked by statics, by integration and by hand."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import dblquad, solve_ivp
from scipy.optimize import brentq

from pullcurve.mechanics import wheel

FloatArray = NDArray[np.float64]

G = 9.80665  # m/s2, written here once more

pressures = st.floats(1e4, 1e7)
radii = st.floats(0.02, 0.2)
shares = st.floats(0.3, 0.7)
heights = st.floats(0.4, 1.0)
bases = st.floats(1.2, 1.6)
grips = st.floats(0.05, 1.2)


def area(bore_mm: float) -> float:
    """Area of a bore in m2."""
    return float(np.pi / 4 * (1e-3 * bore_mm) ** 2)


# Lever and line ---------------------------------------------------------------------------------------------


def test_gravity_is_the_standard() -> None:
    assert wheel.GRAVITY == G


def test_pressure_by_hand() -> None:
    # 50 N at 5 to 1, 0.9 kept, on 100 mm2: 225 N / 100 mm2 = 2.25 MPa
    assert wheel.plunger_pressure(50.0, 5.0, 0.9, 100e-6) == pytest.approx(2.25e6, rel=1e-14)


@given(st.floats(1.0, 200.0), st.floats(1.0, 10.0), st.floats(9.0, 14.0), st.floats(20.0, 34.0))
def test_work_at_the_finger_is_work_at_the_piston(
    force: float, ratio: float, bore: float, piston: float
) -> None:
    travel = 0.02
    pressure = wheel.plunger_pressure(force, ratio, 1.0, area(bore))
    moved = wheel.piston_travel(travel, ratio, area(bore), area(piston))
    assert wheel.clamp_one_side(pressure, area(piston)) * moved == pytest.approx(force * travel, rel=1e-12)


def test_area_ratio_counts_both_sides() -> None:
    # one sliding piston of 26 mm on 13 mm is (26/13)^2 x 2 = 8; two opposed ones of 26 mm have the same one side
    assert wheel.area_ratio(area(26), area(13)) == pytest.approx(8.0, rel=1e-14)


# Disc -------------------------------------------------------------------------------------------------------


@given(radii, st.floats(0.05, 0.95))
def test_ring_radii_by_integration(outer: float, share: float) -> None:
    inner = share * outer

    def moment(power: float) -> float:
        """Friction moment over force for a pressure that goes with r^power."""
        above, _ = dblquad(lambda _, r: r * r * r**power, inner, outer, 0.0, 1.0)
        below, _ = dblquad(lambda _, r: r * r**power, inner, outer, 0.0, 1.0)
        return float(above / below)

    assert wheel.ring_radius_even_pressure(outer, inner) == pytest.approx(moment(0.0), rel=1e-9)
    assert wheel.ring_radius_even_wear(outer, inner) == pytest.approx(moment(-1.0), rel=1e-9)


@given(radii, st.floats(0.0, 0.999))
def test_worn_ring_acts_at_the_smaller_radius(outer: float, share: float) -> None:
    worn = wheel.ring_radius_even_wear(outer, share * outer)
    fresh = wheel.ring_radius_even_pressure(outer, share * outer)
    assert worn <= fresh * (1 + 1e-12)
    assert share * outer <= worn <= outer


def test_full_disc_and_thin_ring() -> None:
    assert wheel.ring_radius_even_pressure(0.09, 0.0) == pytest.approx(0.06, rel=1e-14)
    assert wheel.ring_radius_even_pressure(0.1, 0.0999) == pytest.approx(0.09995, rel=1e-6)


def test_torque_takes_both_faces_once() -> None:
    # 0.4 x 1000 N x 0.1 m on each of two faces
    assert wheel.brake_torque(0.4, 1000.0, 0.1) == pytest.approx(80.0, rel=1e-14)


# Road -------------------------------------------------------------------------------------------------------


def test_deceleration_by_hand() -> None:
    # 150 N m on 0.3 m is 500 N; on 200 kg 2.5 m/s2
    assert wheel.deceleration(150.0, 0.3, 200.0) == pytest.approx(2.5, rel=1e-14)


@given(st.floats(0.1, 8.0), st.floats(80.0, 300.0), st.floats(0.25, 0.35), st.floats(0.1, 0.6), radii)
def test_pressure_for_deceleration_gives_it(
    slowing: float, mass: float, tyre: float, friction: float, effective: float
) -> None:
    pressure = wheel.pressure_for_deceleration(slowing, mass, tyre, friction, area(26), effective)
    clamp = wheel.clamp_one_side(pressure, area(26))
    found = wheel.deceleration(wheel.brake_torque(friction, clamp, effective), tyre, mass)
    assert found == pytest.approx(slowing, rel=1e-12)


@given(shares, heights, bases, st.floats(0.0, 12.0))
def test_loads_balance_about_the_centre_of_gravity(
    share: float, height: float, base: float, slowing: float
) -> None:
    # moments about the centre of gravity: front load x its arm - rear load x its arm = force on the ground x height
    mass = 200.0
    rear = float(wheel.rear_load(mass, share, height, base, slowing))
    front = mass * G - rear
    assert front * share * base - rear * (1 - share) * base == pytest.approx(
        mass * slowing * height, abs=1e-8
    )


@given(grips, shares, heights, bases)
def test_locked_wheel_pulls_with_its_whole_grip(
    grip: float, share: float, height: float, base: float
) -> None:
    slowing = float(wheel.lock_deceleration(grip, share, height, base))
    load = float(wheel.rear_load(200.0, share, height, base, slowing))
    assert load > 0.0
    assert grip * load == pytest.approx(200.0 * slowing, rel=1e-12)


@given(grips, shares, heights, bases)
def test_lock_by_root(grip: float, share: float, height: float, base: float) -> None:
    def spare(slowing: float) -> float:
        return float(grip * wheel.rear_load(1.0, share, height, base, slowing)) - slowing

    root = brentq(spare, 0.0, grip * G * share + 1.0, xtol=1e-13)
    assert wheel.lock_deceleration(grip, share, height, base) == pytest.approx(root, rel=1e-9)


@given(grips, shares, heights, bases)
def test_front_alone_is_the_same_formula_mirrored(
    grip: float, share: float, height: float, base: float
) -> None:
    assume(grip * height / base < 0.95)  # beyond 1 the front wheel never locks: the motorcycle goes over it
    slowing = float(wheel.lock_deceleration(grip, 1.0 - share, -height, base))
    front = G - float(wheel.rear_load(1.0, share, height, base, slowing))
    assert grip * front == pytest.approx(slowing, rel=1e-10)


def test_lock_limits() -> None:
    # no grip, no slowing; endless grip: g lambda W/h; low centre of gravity: mu lambda g
    assert wheel.lock_deceleration(0.0, 0.5, 0.7, 1.4) == 0.0
    assert wheel.lock_deceleration(1e12, 0.5, 0.7, 1.4) == pytest.approx(G * 0.5 * 2, rel=1e-9)
    assert wheel.lock_deceleration(0.6, 0.5, 0.0, 1.4) == pytest.approx(0.3 * G, rel=1e-14)


@given(grips, grips, shares, heights, bases)
def test_more_grip_locks_later(one: float, other: float, share: float, height: float, base: float) -> None:
    low, high = sorted((one, other))
    assert wheel.lock_deceleration(low, share, height, base) <= wheel.lock_deceleration(
        high, share, height, base
    )


# Slope ------------------------------------------------------------------------------------------------------


@given(st.floats(-0.4, 0.6), shares, heights, bases)
def test_hold_on_a_slope_by_statics(slope: float, share: float, height: float, base: float) -> None:
    # moments about the front contact: weight m g = 1 at (share base) behind it, h above the ground
    rear = share * np.cos(slope) + height / base * np.sin(slope)
    grip = float(wheel.grip_to_hold(slope, share, height, base))
    if rear <= 0.0:
        assert grip == np.inf
    else:
        assert grip * rear == pytest.approx(abs(np.sin(slope)), rel=1e-12)


def test_hold_limits() -> None:
    assert wheel.grip_to_hold(0.0, 0.5, 0.7, 1.4) == 0.0
    # 45 degrees uphill: 1/(0.5 + 0.5) = 1; 45 degrees downhill nothing is left on the rear wheel
    found = wheel.grip_to_hold(np.array([np.pi / 4, -0.3, -np.pi / 4 - 0.01]), 0.5, 0.7, 1.4)
    assert found[0] == pytest.approx(1.0, rel=1e-12)
    assert np.isfinite(found[1])
    assert found[2] == np.inf
    # no load at all, and hardly any: 0.001 of the weight pulls on 0.005 of it
    assert wheel.grip_to_hold(0.3, 0.0, 0.0, 1.4) == np.inf
    assert wheel.grip_to_hold(1e-3, 5e-3, 0.0, 1.4) == pytest.approx(0.2, rel=1e-6)


@given(st.floats(0.01, 0.4), shares, heights, bases)
def test_facing_downhill_wants_more_grip(slope: float, share: float, height: float, base: float) -> None:
    up, down = wheel.grip_to_hold(np.array([slope, -slope]), share, height, base)
    assert down > up


# Stopping ---------------------------------------------------------------------------------------------------


def test_stop_by_integration() -> None:
    def standstill(_: float, state: FloatArray) -> float:
        return float(state[1])

    standstill.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(lambda _, y: [y[1], -2.9], (0.0, 60.0), [0.0, 60 / 3.6], events=standstill, rtol=1e-10)
    assert run.y[0, -1] == pytest.approx(float(wheel.stopping_distance(60 / 3.6, 2.9)), rel=1e-9)


def test_stop_by_hand() -> None:
    # 20 m/s at 4 m/s2: 5 s at 10 m/s on average
    assert wheel.stopping_distance(20.0, 4.0) == pytest.approx(50.0, rel=1e-14)


@given(st.floats(5.0, 40.0), st.floats(0.5, 9.0), st.floats(0.0, 1.0))
def test_mean_developed_deceleration_of_a_steady_stop(speed: float, slowing: float, delay: float) -> None:
    # whatever passes before v_b shifts both ways alike
    begin, end = 0.8 * speed, 0.1 * speed
    ways = [delay * speed + (speed**2 - v**2) / (2 * slowing) for v in (begin, end)]
    found = wheel.mean_developed_deceleration(begin, end, ways[0], ways[1])
    assert found == pytest.approx(slowing, rel=1e-9)


def test_constant_of_the_law() -> None:
    # with km/h the law divides by 25.92
    found = wheel.mean_developed_deceleration(48 / 3.6, 6 / 3.6, 17.0, 47.0)
    assert found == pytest.approx((48**2 - 6**2) / (25.92 * 30.0), rel=1e-12)


def test_sets_and_stations() -> None:
    pressure = np.linspace(0.0, 4e6, 5)
    friction = np.array([[0.3], [0.4], [0.5]])
    torque = wheel.brake_torque(friction, wheel.clamp_one_side(pressure, area(26)), 0.096)
    assert wheel.deceleration(torque, 0.328, 197.0).shape == (3, 5)
    assert np.isnan(wheel.deceleration(np.nan, 0.3, 200.0))
