"""What a line takes up: inverse, stored energy, plate lift and bulk modulus by other roads."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from pullcurve.mechanics.circuit import (
    AMBIENT_PRESSURE,
    Circuit,
    closed_port_pressure,
    demand,
    effective_bulk_modulus,
    lift_volume,
    plate_lift,
    pressure,
    stored_energy,
)
from pullcurve.mechanics.clutch import release_curve_coil
from pullcurve.mechanics.curve import Curve, FloatArray, evaluate, subdivide

BAR, CUBIC_MM, CUBIC_CM = 1e5, 1e-9, 1e-6

# Hand-operated rear brake: one 26 mm sliding piston, 2.1 m of braided hose, 22 cm3 of fluid with 0.1 % free air.
PISTON = np.pi * 0.026**2 / 4
REAR_BRAKE = (
    2 * PISTON * 0.1e-3,
    1.2 * BAR,
    16 * CUBIC_MM,
    6 * BAR,
    4.35e-14,
    22 * CUBIC_CM,
    1.7e9,
    22e-9,
    1.0,
)


def line(
    gap_volume: float = 0.0,
    gap_pressure: float = BAR,
    seat_volume: float = 0.0,
    seat_pressure: float = BAR,
    expansion: float = 0.0,
    fluid_volume: float = 0.0,
    bulk_modulus: float = 1.7e9,
    air_volume: float = 0.0,
    air_exponent: float = 1.0,
) -> Circuit:
    """A line from plain numbers."""
    return Circuit(
        gap_volume,
        gap_pressure,
        seat_volume,
        seat_pressure,
        expansion,
        fluid_volume,
        bulk_modulus,
        air_volume,
        air_exponent,
    )


lines = st.builds(
    line,
    gap_volume=st.floats(0.0, 400e-9),
    gap_pressure=st.floats(0.1 * BAR, 5 * BAR),
    seat_volume=st.floats(0.0, 500e-9),
    seat_pressure=st.floats(0.2 * BAR, 50 * BAR),
    expansion=st.floats(1e-15, 3e-12),
    fluid_volume=st.floats(1e-6, 200e-6),
    bulk_modulus=st.floats(0.3e9, 5e9),
    air_volume=st.floats(0.0, 2e-6),
    air_exponent=st.just(1.0) | st.floats(1.0, 1.4),
)
pressures = st.lists(st.floats(0.0, 200 * BAR), min_size=1, max_size=6)


@given(lines, pressures)
def test_pressure_undoes_demand(circuit: Circuit, known: list[float]) -> None:
    p = np.array(known)
    volume, slope = demand(circuit, p)
    assert (slope > 0).all()
    got = pressure(circuit, volume)
    # An error of the last bit in the volume is an error of eps V/V' in the pressure.
    np.testing.assert_allclose(got, p, rtol=1e-12, atol=float(np.max(4e-16 * volume / slope)) + 1e-6)


@given(lines, pressures)
def test_demand_is_the_sum_of_its_terms_and_rises(circuit: Circuit, known: list[float]) -> None:
    """The equation once more, in plain numbers."""
    p = np.sort(np.array(known))
    expected = [
        float(circuit.gap_volume) * (1 - np.exp(-x / float(circuit.gap_pressure)))
        + float(circuit.seat_volume) * (1 - np.exp(-x / float(circuit.seat_pressure)))
        + float(circuit.expansion) * x
        + float(circuit.fluid_volume) * x / float(circuit.bulk_modulus)
        + float(circuit.air_volume) * (1 - (101_325 / (x + 101_325)) ** (1 / float(circuit.air_exponent)))
        for x in p
    ]
    volume, _ = demand(circuit, p)
    np.testing.assert_allclose(volume, expected, rtol=1e-12, atol=1e-20)
    assert (np.diff(volume) >= 0).all()


@given(lines, st.floats(0.01 * BAR, 100 * BAR))
def test_slope_of_demand_is_that_of_differences(circuit: Circuit, p: float) -> None:
    step = 1e-4 * p
    after, before = (float(demand(circuit, np.asarray(p + side * step))[0]) for side in (1, -1))
    slope = float(demand(circuit, np.asarray(p))[1])
    assert (after - before) / (2 * step) == pytest.approx(slope, rel=1e-6)


@given(lines, st.floats(0.0, 100 * BAR))
def test_stored_energy_is_the_integral_of_pressure_over_volume(circuit: Circuit, p: float) -> None:
    def rate(x: float) -> float:
        return x * float(demand(circuit, np.asarray(x))[1])

    knees = [k for k in np.geomspace(0.02 * BAR, 90 * BAR, 12) if k < p]
    expected, _ = quad(rate, 0.0, p, points=knees or None, limit=200, epsrel=1e-11, epsabs=0.0)
    assert float(stored_energy(circuit, np.asarray(p))) == pytest.approx(expected, rel=1e-8, abs=1e-12)


def test_air_at_exponent_one_is_the_limit_of_its_neighbours() -> None:
    near = [
        stored_energy(line(air_volume=1e-6, air_exponent=n), np.asarray(20 * BAR)) for n in (1.0, 1.0 + 1e-4)
    ]
    assert near[0] == pytest.approx(near[1], rel=1e-3)
    # by hand: p0 V (ln(1 + q) - q/(1 + q)), q = p/p0
    q = 20 * BAR / AMBIENT_PRESSURE
    assert near[0] == pytest.approx(AMBIENT_PRESSURE * 1e-6 * (np.log1p(q) - q / (1 + q)), rel=1e-12)


def test_nothing_pushed_in_makes_no_pressure() -> None:
    got = pressure(line(*REAR_BRAKE), np.array([-1e-6, 0.0]))
    assert got.tolist() == [0.0, 0.0]


def test_a_bubble_is_gone_by_ten_bar() -> None:
    """By hand: 10/(10 + 1.01325) = 90.8 % of a bubble is gone at 10 bar; softness beyond 15 bar is not air."""
    bubble = line(air_volume=1e-6)
    share = demand(bubble, np.array([10 * BAR, 15 * BAR]))[0] / 1e-6
    np.testing.assert_allclose(share, [10 / 11.01325, 15 / 16.01325], rtol=1e-12)


def test_liquid_and_air_of_a_small_line() -> None:
    """15 cm3, 1.8 GPa, 0 to 50 bar, 0.5 and 1 % air: 41.4/41.2 mm3 liquid, 73.5/147.0 mm3 air (computed).

    The liquid was computed with an exponential there: p/K = 0.28 % less than linear per half of it.
    """
    for share, liquid, air in ((0.005, 41.4, 73.5), (0.01, 41.2, 147.0)):
        wet = line(fluid_volume=15e-6 * (1 - share), bulk_modulus=1.8e9)
        gas = line(air_volume=15e-6 * share)
        assert float(demand(wet, np.asarray(50 * BAR))[0]) / CUBIC_MM == pytest.approx(liquid, rel=2.7e-3)
        assert float(demand(gas, np.asarray(50 * BAR))[0]) / CUBIC_MM == pytest.approx(air, abs=0.05)


@given(lines, st.floats(0.5 * BAR, 80 * BAR), st.floats(1.05, 3.0))
def test_doubled_compliance_takes_doubled_volume(circuit: Circuit, p: float, factor: float) -> None:
    bigger = replace(
        circuit,
        gap_volume=circuit.gap_volume * factor,
        seat_volume=circuit.seat_volume * factor,
        expansion=circuit.expansion * factor,
        fluid_volume=circuit.fluid_volume * factor,
        air_volume=circuit.air_volume * factor,
    )
    at = np.asarray(p)
    assert demand(bigger, at)[0] == pytest.approx(factor * demand(circuit, at)[0], rel=1e-12)
    assert stored_energy(bigger, at) == pytest.approx(factor * stored_energy(circuit, at), rel=1e-12)


def test_lines_side_by_side_are_the_lines_one_by_one() -> None:
    air = np.array([[0.0], [50e-9]])
    both = replace(line(*REAR_BRAKE), air_volume=air)
    volume = np.linspace(0.0, 400e-9, 5)
    stack = pressure(both, volume)
    for k in (0, 1):
        np.testing.assert_allclose(stack[k], pressure(line(*REAR_BRAKE[:7], air[k, 0]), volume), rtol=1e-12)


# Clutch --------------------------------------------------------------------------------------------------------------

COIL = Curve(*release_curve_coil(1000.0, 65e3, 0.35e-3, 4e-3))
SLAVE = np.float64(np.pi * 0.024**2 / 4)
CLUTCH_LINE = (0.0, BAR, 0.0, BAR, 1.65e-14, 12e-6, 1.7e9, 12e-9, 1.0)


def volume_by_hand(lift: float) -> float:
    """Slave travel plus what the line swallows, in plain numbers."""
    force = 1000.0 + 65e3 * lift - max(0.0, 1000.0 * (1 - lift / 0.35e-3))
    p = force / SLAVE
    return float(SLAVE * lift + (1.65e-14 + 12e-6 / 1.7e9) * p + 12e-9 * p / (p + 101_325))


@given(st.lists(st.floats(1e-9, 2.4e-6), min_size=1, max_size=6))
def test_plate_lift_is_that_of_brentq(pushed: list[float]) -> None:
    got = plate_lift(np.array(pushed), SLAVE, COIL, line(*CLUTCH_LINE), subdivide(COIL, 6))
    expected = [brentq(lambda s, v=v: volume_by_hand(s) - v, 0.0, 8e-3, xtol=1e-16) for v in pushed]
    np.testing.assert_allclose(got, expected, rtol=1e-11, atol=1e-14)


def test_no_volume_no_lift() -> None:
    got = plate_lift(np.array([-1e-6, 0.0]), SLAVE, COIL, line(*CLUTCH_LINE), subdivide(COIL, 6))
    assert got.tolist() == [0.0, 0.0]


def test_plate_lift_ends_with_a_bounded_table() -> None:
    table = Curve(COIL.breaks, COIL.coefficients, bounded=True)
    most = float(lift_volume(np.asarray([4e-3]), SLAVE, table, line(*CLUTCH_LINE))[0][0])
    got = plate_lift(
        np.array([0.999 * most, 1.001 * most]), SLAVE, table, line(*CLUTCH_LINE), subdivide(table, 6)
    )
    assert got[0] == pytest.approx(4e-3, rel=2e-3)
    assert np.isnan(got[1])


@given(st.floats(1e-5, 3.4e-4) | st.floats(3.6e-4, 3.5e-3))
def test_lift_volume_and_its_slope(lift: float) -> None:
    def at(s: float) -> tuple[FloatArray, FloatArray]:
        return lift_volume(np.array([s]), SLAVE, COIL, line(*CLUTCH_LINE))

    assert at(lift)[0] == pytest.approx(volume_by_hand(lift), rel=1e-12)
    step = 1e-9
    assert (at(lift + step)[0] - at(lift - step)[0]) / (2 * step) == pytest.approx(at(lift)[1], rel=1e-5)


def test_stiff_line_moves_the_plates_by_the_ratio_of_areas() -> None:
    """Limit case: nothing swallowed, s = V/A_s."""
    got = plate_lift(np.array([1e-7, 6e-7]), SLAVE, COIL, line(), subdivide(COIL, 6))
    np.testing.assert_allclose(got, np.array([1e-7, 6e-7]) / SLAVE, rtol=1e-12)


# Bulk modulus and heat --------------------------------------------------------------------------------------------


@given(st.floats(0.0, 100 * BAR), st.floats(0.5e9, 3e9), st.floats(0.0, 0.1), st.floats(1.0, 1.4))
def test_bulk_modulus_is_the_slope_of_the_volume_model(
    p: float, modulus: float, share: float, n: float
) -> None:
    """E = (V_liquid + V_gas)/(dV/dp), dV/dp by differences of what the line takes up."""
    fluid = line(fluid_volume=1.0, bulk_modulus=modulus, air_volume=share, air_exponent=n)
    step = 1e-4 * (p + AMBIENT_PRESSURE)
    ends = [float(demand(fluid, np.asarray(p + k * step))[0]) for k in (-2, -1, 1, 2)]
    slope = (ends[0] - 8 * ends[1] + 8 * ends[2] - ends[3]) / (12 * step)
    gas = share * (AMBIENT_PRESSURE / (AMBIENT_PRESSURE + p)) ** (1 / n)
    got = float(effective_bulk_modulus(np.asarray(p), modulus, share, n))
    assert got == pytest.approx((1.0 + gas) / slope, rel=1e-6)
    assert 0 < got <= modulus * (1 + 1e-12)


def test_bulk_modulus_of_worked_values() -> None:
    """1 % of the whole volume is air, 1.8 GPa, n = 1, absolute 0.2/1/2/5/10 MPa (computed).

    There the liquid shrinks on its way, by p/E = 0.56 % at most; that moves the gas term's share by 0.04 %.
    """
    absolute = np.array([0.2e6, 1e6, 2e6, 5e6, 10e6])
    got = effective_bulk_modulus(absolute - AMBIENT_PRESSURE, 1.8e9, 0.01 / 0.99, 1.0)
    np.testing.assert_allclose(got / 1e9, [0.0384, 0.6337, 1.2326, 1.6765, 1.7674], rtol=4e-4, atol=0.5e-4)


def test_bulk_modulus_without_air_is_that_of_the_liquid() -> None:
    got = effective_bulk_modulus(np.array([0.0, 1e7]), 1.7e9, 0.0, 1.4)
    np.testing.assert_allclose(got, 1.7e9, rtol=1e-15)


def heated(rise: float) -> float:
    """Pressure after heating 4 cm3 of fluid that expands by 7.5e-4 per kelvin."""
    return float(closed_port_pressure(line(*REAR_BRAKE), 4e-6, 7.5e-4, np.array([rise]))[0])


def test_closed_port_first_closes_the_gap_then_runs_away() -> None:
    """By hand: 30 mm3 per 10 K; 106 mm3 of gap take 35 K; then 30/(3.15 + 1.2 + 1.294) = 5.3 bar per 10 K."""
    assert heated(0.0) == 0.0
    assert heated(20.0) < 2 * BAR
    per_ten_kelvin = (heated(110.0) - heated(100.0)) / BAR
    assert per_ten_kelvin == pytest.approx(30 / (4.35 + 22e3 / 17e3), rel=0.02)
    assert per_ten_kelvin == pytest.approx(
        5, abs=0.5
    )  # as the trade puts it: about 5 bar per 10 K (computed)


@given(st.floats(1.0, 300.0))
def test_closed_port_balance_is_that_of_brentq(rise: float) -> None:
    def left(p: float) -> float:
        gap, scale, seat, soft, stiff, fluid, modulus, air, _ = REAR_BRAKE
        taken = (
            gap * (1 - np.exp(-p / scale)) + seat * (1 - np.exp(-p / soft)) + (stiff + fluid / modulus) * p
        )
        return float(taken + air * p / (p + 101_325) - 7.5e-4 * 4e-6 * rise)

    assert heated(rise) == pytest.approx(brentq(left, 0.0, 1e9, xtol=1e-6), rel=1e-10)


def test_release_force_under_no_load_swallows_nothing() -> None:
    """A table that falls below zero cannot pull the line empty."""
    slack = Curve(np.array([0.0, 1.0]), np.array([[-5.0, 0.0]]))
    assert evaluate(slack, np.array([0.5]))[0].tolist() == [-5.0]
    volume, slope = lift_volume(np.array([1e-3]), SLAVE, slack, line(*CLUTCH_LINE))
    assert volume == pytest.approx(SLAVE * 1e-3, rel=1e-12)
    assert slope == pytest.approx(SLAVE, rel=1e-12)
