"""Plate clutch and cable: capacity, release force, lift, and rope friction."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from pullcurve.mechanics import clutch
from pullcurve.mechanics.curve import Curve, evaluate
from pullcurve.mechanics.wheel import ring_radius_even_wear

FloatArray = NDArray[np.float64]

clamps = st.floats(300.0, 3000.0)
rates = st.floats(1e3, 3e5)
backs = st.floats(5e-5, 5e-4)
shares = st.floats(0.0, 1.0)

LIFT_MM = (0.0, 0.4, 0.8, 1.2, 1.6, 2.0)
DIAPHRAGM = (1200.0, 1320.0, 1350.0, 1290.0, 1180.0, 1150.0)  # N, invented: it rises, falls and levels out


def force_at(breaks: FloatArray, pieces: FloatArray, lift: FloatArray) -> FloatArray:
    """Release force at a lift."""
    return evaluate(Curve(breaks, pieces), lift)[0]


# Capacity ---------------------------------------------------------------------------------------------------


def test_faces_of_a_stack() -> None:
    # two plates have one pair; 8 friction plates between 9 steel ones have 16
    assert clutch.face_pairs(1.0, 1.0) == 1.0
    assert clutch.face_pairs(8.0, 9.0) == 16.0
    assert clutch.face_pairs(np.array([3, 5]), np.array([2, 4])).tolist() == [4.0, 8.0]


@given(clamps, st.floats(0.03, 0.08), st.floats(0.4, 0.95))
def test_clamp_and_torque_by_integration_of_the_pressure(clamp: float, outer: float, share: float) -> None:
    inner, friction = share * outer, 0.13

    def pressure(r: float) -> float:
        return float(clutch.lining_pressure(clamp, outer, inner, r))

    force, _ = quad(lambda r: 2 * np.pi * r * pressure(r), inner, outer)
    torque, _ = quad(lambda r: 2 * np.pi * r * r * friction * pressure(r), inner, outer)
    assert force == pytest.approx(clamp, rel=1e-9)
    assert torque == pytest.approx(
        float(clutch.torque_capacity(1.0, friction, ring_radius_even_wear(outer, inner), clamp)), rel=1e-9
    )
    assert clutch.clamp_at_pressure(pressure(inner), outer, inner) == pytest.approx(clamp, rel=1e-12)


def test_worn_pressure_times_radius_is_constant() -> None:
    radius = np.linspace(0.04, 0.06, 5)
    pressure = clutch.lining_pressure(1200.0, 0.06, 0.04, radius)
    assert pressure * radius == pytest.approx(pressure[0] * 0.04, rel=1e-12)


def test_no_pressure_off_the_ring() -> None:
    found = clutch.lining_pressure(1200.0, 0.06, 0.04, np.array([0.039, 0.04, 0.06, 0.061, np.nan]))
    assert np.isnan(found).tolist() == [True, False, False, True, True]


def test_capacity_by_hand() -> None:
    # 16 x 0.13 x 0.055 m x 1500 N = 171.6 N m
    assert clutch.torque_capacity(16, 0.13, 0.055, 1500.0) == pytest.approx(171.6, rel=1e-12)


# The pack ---------------------------------------------------------------------------------------------------


@given(clamps, backs, st.floats(-1e-3, 5e-3))
def test_pack_springs_back(clamp: float, back: float, lift: float) -> None:
    left = float(clutch.clamp_left(clamp, back, lift))
    assert 0.0 <= left <= clamp
    if lift <= 0.0:
        assert left == clamp
    elif lift >= back:
        assert left == 0.0
    else:
        assert left == pytest.approx(clamp - clamp / back * lift, rel=1e-9, abs=1e-9)


@given(shares, backs)
def test_slip_lift_carries_the_torque_still(share: float, back: float) -> None:
    full = 120.0
    lift = clutch.slip_lift(share * full, full, back)
    assert clutch.clamp_left(1.0, back, lift) == pytest.approx(share, abs=1e-9)


def test_slip_lift_beyond_the_capacity() -> None:
    found = clutch.slip_lift(np.array([0.0, 60.0, 120.0, 200.0]), 120.0, 2e-4)
    assert found == pytest.approx([2e-4, 1e-4, 0.0, 0.0], abs=1e-18)


def test_clean_lift_by_hand() -> None:
    assert clutch.clean_lift(16, 0.1e-3) == pytest.approx(1.6e-3, rel=1e-14)


# Release with coil springs ----------------------------------------------------------------------------------


@given(clamps, rates, backs)
def test_release_force_by_statics(clamp: float, rate: float, back: float) -> None:
    lift = np.array([0.0, 0.3, 0.999, 1.0, 1.5, 4.0]) * back
    breaks, pieces = clutch.release_curve_coil(clamp, rate, back, 5 * back)
    # the springs press with F + k s, the pack carries F_left of it, the slave the rest
    expected = clamp + rate * lift - clutch.clamp_left(clamp, back, lift)
    assert force_at(breaks, pieces, lift) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(clamps, rates, backs)
def test_work_of_release_is_what_springs_and_pack_hold(clamp: float, rate: float, back: float) -> None:
    # springs take in F s + k s^2/2, the pack gives back its own F s_c/2
    end = 4 * back
    breaks, pieces = clutch.release_curve_coil(clamp, rate, back, end)
    parts = [(0.0, back), (back, end)]
    work = sum(quad(lambda s: float(force_at(breaks, pieces, np.array([s]))[0]), *part)[0] for part in parts)
    assert work == pytest.approx(clamp * end + rate * end**2 / 2 - clamp * back / 2, rel=1e-9)


def test_release_of_many_clutches_at_once() -> None:
    clamp, rate = np.array([900.0, 1200.0]), np.array([[5e4], [6e4], [7e4]])
    breaks, pieces = clutch.release_curve_coil(clamp, rate, 2e-4, 2e-3)
    assert breaks.shape == (3, 2, 3)
    assert pieces.shape == (3, 2, 2, 4)
    single_breaks, single = clutch.release_curve_coil(900.0, 7e4, 2e-4, 2e-3)
    assert breaks[2, 0].tolist() == single_breaks.tolist()
    assert pieces[2, 0].tolist() == single.tolist()


# Release with a diaphragm spring ----------------------------------------------------------------------------


@pytest.mark.parametrize("back_mm", [0.05, 0.15, 0.4, 0.7])
def test_table_is_the_pchip_of_scipy_less_the_pack(back_mm: float) -> None:
    rows, force = 1e-3 * np.array(LIFT_MM), np.array(DIAPHRAGM)
    breaks, pieces = clutch.release_curve_table(rows, force, 1e-3 * back_mm)
    lift = np.linspace(0.0, rows[-1], 401)
    expected = PchipInterpolator(rows, force)(lift) - clutch.clamp_left(force[0], 1e-3 * back_mm, lift)
    assert force_at(breaks, pieces, lift) == pytest.approx(expected, rel=1e-10, abs=1e-8)
    assert breaks.size == len(set(LIFT_MM) | {back_mm})


@given(
    st.lists(st.floats(100.0, 3000.0), min_size=2, max_size=7),
    st.lists(st.floats(0.1, 1.0), min_size=6, max_size=6),
)
def test_any_table_is_the_pchip_of_scipy(forces: list[float], steps: list[float]) -> None:
    force = np.array(forces)
    rows = 1e-3 * np.concatenate([[0.0], np.cumsum(steps[: force.size - 1])])
    back = 0.05e-3
    breaks, pieces = clutch.release_curve_table(rows, force, back)
    lift = np.linspace(0.0, rows[-1], 101)
    expected = PchipInterpolator(rows, force)(lift) - clutch.clamp_left(force[0], back, lift)
    assert force_at(breaks, pieces, lift) == pytest.approx(expected, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    "force",
    [
        (
            1000.0,
            1010.0,
            1500.0,
        ),  # a gentle end before a steep one: the end slope would turn, and is held level
        (1000.0, 1500.0, 1490.0),  # ends that would swing too far, and are held at three times the chord
        (1000.0, 1010.0, 100.0),
        (1000.0, 1100.0, 1200.0),
        (1000.0, 1000.0, 1000.0),
    ],
)
def test_table_never_overshoots(force: tuple[float, ...]) -> None:
    rows = 1e-3 * np.array([0.0, 1.0, 2.0])
    breaks, pieces = clutch.release_curve_table(rows, np.array(force), 1e-6)
    for left, right, low, high in zip(rows, rows[1:], force, force[1:], strict=False):
        values = force_at(breaks, pieces, np.linspace(max(left, 1e-6), right, 201))
        assert min(low, high) - 1e-6 <= values.min()
        assert values.max() <= max(low, high) + 1e-6


def test_table_of_a_coil_spring_is_the_coil_spring() -> None:
    clamp, rate, back = 1150.0, 66e3, 0.15e-3
    rows = 1e-3 * np.array([0.0, 0.7, 2.0])
    table = clutch.release_curve_table(rows, clamp + rate * rows, back)
    coil = clutch.release_curve_coil(clamp, rate, back, 2e-3)
    lift = np.linspace(0.0, 2e-3, 81)
    assert force_at(*table, lift) == pytest.approx(force_at(*coil, lift), rel=1e-10, abs=1e-8)


def test_table_of_two_rows_is_a_line() -> None:
    breaks, pieces = clutch.release_curve_table(np.array([0.0, 2e-3]), np.array([1000.0, 1200.0]), 0.5e-3)
    # at 1 mm 1100 N, the pack long free; at 0.25 mm 1025 N less half of 1000 N
    found = force_at(breaks, pieces, np.array([0.0, 0.25e-3, 1e-3, 2e-3]))
    assert found == pytest.approx([0.0, 525.0, 1100.0, 1200.0], rel=1e-12, abs=1e-9)


def test_spring_back_on_a_row_adds_no_break() -> None:
    breaks, _ = clutch.release_curve_table(1e-3 * np.array(LIFT_MM), np.array(DIAPHRAGM), 0.4e-3)
    assert breaks == pytest.approx(1e-3 * np.array(LIFT_MM))


# Cable ------------------------------------------------------------------------------------------------------


def test_cable_without_friction_by_hand() -> None:
    # 900 N at 3 to 1: 300 N; 2 mm of play, 3 x 1.5 mm, 300 N / 200 N/mm = 1.5 mm
    pull = clutch.cable_pull(1.5e-3, 900.0, 3.0, 200e3, 2e-3, 0.0)
    assert pull.tension == pytest.approx(300.0, rel=1e-14)
    assert pull.travel == pytest.approx(8e-3, rel=1e-14)


@given(st.floats(-1.5, 1.5), st.floats(10.0, 600.0), st.floats(5e4, 1e6))
def test_cable_by_integration_along_its_bends(wrap: float, tension: float, stiffness: float) -> None:
    # over the share u of its bends the tension grows by dT = w T du, and each length stretches by T du/c
    run = solve_ivp(
        lambda _, y: [wrap * y[0], y[0] / stiffness], (0.0, 1.0), [tension, 0.0], rtol=1e-10, atol=1e-14
    )
    pull = clutch.cable_pull(0.0, 2.0 * tension, 2.0, stiffness, 0.0, wrap)
    assert pull.tension == pytest.approx(run.y[0, -1], rel=1e-7)
    assert pull.travel == pytest.approx(run.y[1, -1], rel=1e-7)


@given(st.floats(0.0, 1.5))
def test_pull_and_release_mirror_each_other(wrap: float) -> None:
    pull = clutch.cable_pull(1e-3, 900.0, 3.0, 2e5, 0.0, wrap)
    release = clutch.cable_pull(1e-3, 900.0, 3.0, 2e5, 0.0, -wrap)
    assert pull.tension * release.tension == pytest.approx(300.0**2, rel=1e-12)
    assert release.tension <= pull.tension
    assert release.travel <= pull.travel


@given(st.floats(1e-12, 1e-4))
def test_little_friction_is_nearly_none(wrap: float) -> None:
    some, none = (clutch.cable_pull(1e-3, 900.0, 3.0, 2e5, 1e-3, w) for w in (wrap, 0.0))
    assert some.travel == pytest.approx(none.travel, rel=wrap)
    assert some.tension == pytest.approx(none.tension, rel=2 * wrap)


def test_cable_over_a_clutch_keeps_its_energy() -> None:
    # without friction the lever's work is that of the plates and of the stretched cable
    clamp, rate, back, ratio, stiffness = 1150.0, 66e3, 0.15e-3, 2.5, 2e5
    curve = clutch.release_curve_coil(clamp, rate, back, 2e-3)
    lift = np.linspace(0.0, 1.5e-3, 20_001)
    force = force_at(*curve, lift)
    pull = clutch.cable_pull(lift, force, ratio, stiffness, 3e-3, 0.0)
    work = np.trapezoid(pull.tension, pull.travel)
    plates = clamp * 1.5e-3 + rate * 1.5e-3**2 / 2 - clamp * back / 2
    assert work == pytest.approx(plates + pull.tension[-1] ** 2 / (2 * stiffness), rel=1e-6)


def test_cable_over_sets_and_stations() -> None:
    lift = np.linspace(0.0, 2e-3, 5)
    wrap = np.array([[0.0], [0.19], [-0.19]])
    pull = clutch.cable_pull(lift, 500.0 + 1e5 * lift, 2.0, 2e5, 1e-3, wrap)
    assert pull.tension.shape == pull.travel.shape == (3, 5)
    assert np.isfinite(pull.travel).all()


def test_lift_of_a_wanted_cable_travel_by_root() -> None:
    # where a lever that moves the cable by 8 mm leaves the plates
    def spare(lift: float) -> float:
        return float(clutch.cable_pull(lift, 600.0 + 66e3 * lift, 3.0, 2e5, 2e-3, 0.2).travel) - 8e-3

    lift = brentq(spare, 0.0, 3e-3, xtol=1e-15)
    tension = (600.0 + 66e3 * lift) / 3.0
    assert 2e-3 + 3.0 * lift + tension * (np.exp(0.2) - 1) / 0.2 / 2e5 == pytest.approx(8e-3, rel=1e-10)
