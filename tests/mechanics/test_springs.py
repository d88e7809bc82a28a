"""Coil springs: what they give back, and how stiff, how long and how wide they are."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import trapezoid
from scipy.optimize import brentq

from pullcurve.mechanics import springs

FloatArray = NDArray[np.float64]

preloads = st.floats(0.0, 500.0)
rates = st.floats(100.0, 1e5)
travels = st.floats(-0.02, 0.05)

STEEL_SHEAR, STEEL = 80e9, 206e9


# The assist spring, let down --------------------------------------------------------------------------------


def test_force_by_hand() -> None:
    # 160 N on 20 N/mm: off its seat after 8 mm; loaded 1 mm further it is 180 N
    let_down = 1e-3 * np.array([-1.0, 0.0, 2.0, 8.0, 9.0])
    assert springs.spring_force(160.0, 20e3, let_down) == pytest.approx([180.0, 160.0, 120.0, 0.0, 0.0])


def test_energy_by_hand() -> None:
    # 160 N x 2 mm - 20 N/mm x 4 mm2 / 2 = 280 N mm; all of it is 160^2/(2 x 20) = 640 N mm
    let_down = 1e-3 * np.array([0.0, 2.0, 8.0, 9.0, 100.0])
    expected = 1e-3 * np.array([0.0, 280.0, 640.0, 640.0, 640.0])
    assert springs.released_energy(160.0, 20e3, let_down) == pytest.approx(expected, rel=1e-12)


def test_steady_force_gives_force_times_travel() -> None:
    assert springs.spring_force(40.0, 0.0, 0.3) == 40.0
    assert springs.released_energy(40.0, 0.0, np.array([-0.1, 0.3])) == pytest.approx([-4.0, 12.0])


def test_load_that_stiffens_takes_energy_for_ever() -> None:
    # a negative rate is a load: 10 N that grows by 2 N/mm, over 5 mm, takes 50 + 25 N mm
    assert springs.spring_force(10.0, -2e3, 5e-3) == pytest.approx(20.0)
    assert springs.released_energy(10.0, -2e3, 5e-3) == pytest.approx(75e-3)


@given(preloads, rates, travels)
def test_energy_is_the_integral_of_the_force(preload: float, rate: float, released: float) -> None:
    slack = min(released, preload / rate)  # beyond it the force is zero, and so is the integral
    way = np.linspace(0.0, slack, 9)  # the force falls in a line, so the trapezoids are exact
    area = trapezoid(springs.spring_force(preload, rate, way), way)
    assert springs.released_energy(preload, rate, released) == pytest.approx(area, rel=1e-9, abs=1e-12)


@given(preloads, rates, travels, st.floats(0.0, 0.02))
def test_spring_never_pulls_and_never_takes_back(
    preload: float, rate: float, released: float, more: float
) -> None:
    force = springs.spring_force(preload, rate, np.array([released, released + more]))
    energy = springs.released_energy(preload, rate, np.array([released, released + more]))
    assert np.all(force >= 0.0)
    assert force[1] <= force[0]
    assert energy[1] >= energy[0] - 1e-12


@given(preloads, rates)
def test_whole_store_is_that_of_a_spring_from_free(preload: float, rate: float) -> None:
    # 1/2 k q0^2 with q0 = P/k
    whole = springs.released_energy(preload, rate, preload / rate)
    assert whole == pytest.approx(rate * (preload / rate) ** 2 / 2, rel=1e-9, abs=1e-12)


def test_undefined_stays_undefined() -> None:
    assert np.isnan(springs.spring_force(np.nan, 1e3, np.zeros(2))).all()
    assert np.isnan(springs.released_energy(10.0, 1e3, np.array([np.nan]))).all()


def test_sets_and_stations() -> None:
    preload, rate = np.array([[100.0], [50.0]]), np.array([[1e4], [2e3]])
    let_down = np.linspace(0.0, 0.03, 4)
    force, energy = (
        springs.spring_force(preload, rate, let_down),
        springs.released_energy(preload, rate, let_down),
    )
    assert force.shape == energy.shape == (2, 4)
    for row in range(2):
        single = springs.released_energy(preload[row, 0], rate[row, 0], let_down)
        assert energy[row] == pytest.approx(single, rel=1e-15)


# Compression springs ----------------------------------------------------------------------------------------


def wire_shape(mean: float, turns: float) -> tuple[float, float]:
    """Length of the wire and arm of the axial force about it, pitch neglected."""
    return np.pi * mean * turns, mean / 2


@given(st.floats(0.5e-3, 3e-3), st.floats(4.0, 16.0), st.floats(1.0, 20.0))
def test_compression_rate_is_that_of_a_twisted_rod(wire: float, index: float, turns: float) -> None:
    # Castigliano: the wire is a rod of length l under the torque F D/2, I_p = pi d^4/32, and the force goes round
    # with it: travel = (D/2) x torque x l/(G I_p) / F
    length, arm = wire_shape(index * wire, turns)
    twist = arm * length / (STEEL_SHEAR * np.pi * wire**4 / 32)
    assert springs.compression_rate(STEEL_SHEAR, wire, index * wire, turns) == pytest.approx(
        1 / (arm * twist), rel=1e-12
    )


@given(st.floats(0.5e-3, 3e-3), st.floats(4.0, 16.0), st.floats(1.0, 20.0))
def test_direct_shear_adds_its_own_travel(wire: float, index: float, turns: float) -> None:
    # the same rod sheared by F on its section: F l/(G A), in series
    length, _ = wire_shape(index * wire, turns)
    sheared = length / (STEEL_SHEAR * np.pi * wire**2 / 4)
    short = springs.compression_rate(STEEL_SHEAR, wire, index * wire, turns)
    both = springs.compression_rate(STEEL_SHEAR, wire, index * wire, turns, direct_shear=True)
    assert 1 / both == pytest.approx(1 / short + sheared, rel=1e-12)


def test_direct_shear_at_the_usual_index() -> None:
    long, short = (
        springs.compression_rate(STEEL_SHEAR, 1e-3, 8e-3, 10.0, direct_shear=way) for way in (True, False)
    )
    assert long / short == pytest.approx(1 / (1 + 1 / 128), rel=1e-14)
    assert 1 - long / short == pytest.approx(0.0078, abs=5e-5)


@given(st.floats(1.0, 10.0), st.floats(1.0, 10.0))
def test_springs_in_series_are_one_spring_with_all_turns(first: float, second: float) -> None:
    rate = springs.compression_rate(STEEL_SHEAR, 1e-3, 8e-3, np.array([first, second, first + second]), True)
    assert 1 / rate[2] == pytest.approx(1 / rate[0] + 1 / rate[1], rel=1e-12)


def test_free_length_by_hand() -> None:
    # 10 turns of 2 mm, 15 mm of travel, nine gaps of 0.5 mm left
    assert springs.free_length(2e-3, 10.0, 15e-3, 9 * 0.5e-3) == pytest.approx(39.5e-3, rel=1e-14)
    assert springs.free_length(2e-3, 10.0, 0.0, 0.0) == pytest.approx(20e-3, rel=1e-14)


def test_stable_length_of_steel_from_its_moduli() -> None:
    # Shigley (from memory): L0 = pi D/alpha sqrt(2 (E - G)/(2 G + E)); spring steel, 30 and 11.5 Mpsi
    bound = np.pi * np.sqrt(2 * (30.0 - 11.5) / (2 * 11.5 + 30.0))
    assert springs.stable_length(1.0, 1.0) == pytest.approx(bound, abs=0.0051)


def test_stable_length_by_its_ends() -> None:
    ends = np.array([0.5, 1.0, 2.0])
    assert springs.stable_length(10e-3, ends) == pytest.approx([52.6e-3, 26.3e-3, 13.15e-3], rel=1e-12)
    assert springs.stable_length(10e-3) == springs.stable_length(10e-3, 0.5)


# Torsion springs --------------------------------------------------------------------------------------------


@given(st.floats(0.5e-3, 3e-3), st.floats(4.0, 16.0), st.floats(1.0, 20.0))
def test_torsion_rate_is_that_of_a_bent_rod(wire: float, index: float, turns: float) -> None:
    # a rod of length l under a steady bending moment, I = pi d^4/64: angle = M l/(E I)
    mean = index * wire
    angle = np.pi * mean * turns / (STEEL * np.pi * wire**4 / 64)
    assert springs.torsion_rate(STEEL, wire, mean, turns) == pytest.approx(1 / angle, rel=1e-12)


def test_friction_between_coils_costs_six_per_cent() -> None:
    plain, fitted = (springs.torsion_rate(STEEL, 1e-3, 1e-2, 5.0, fitted=way) for way in (False, True))
    assert plain / fitted == pytest.approx(10.8 / 10.186, rel=1e-4)
    assert 1 - fitted / plain == pytest.approx(0.057, abs=5e-4)


def test_legs_by_cantilevers() -> None:
    # a straight leg of length l, clamped at the body and loaded at its end with F = M/l, bends by F l^3/(3 E I);
    # seen from the pivot that is M l/(3 E I), as much as l/3 of wound wire
    body, legs, mean, wire = 4.0, 0.04, 0.012, 1.2e-3
    bending = STEEL * np.pi * wire**4 / 64
    angle = np.pi * mean * body / bending + legs / 3 / bending
    turns = springs.torsion_turns(body, legs, mean)
    assert springs.torsion_rate(STEEL, wire, mean, turns) == pytest.approx(1 / angle, rel=1e-12)
    assert springs.torsion_turns(body, 0.0, mean) == body


@given(st.floats(5e-3, 30e-3), st.floats(2.0, 12.0), st.floats(0.0, 2 * np.pi))
def test_wound_wire_keeps_its_length(mean: float, turns: float, angle: float) -> None:
    tight = springs.wound_diameter(mean, turns, angle)
    assert np.pi * tight * (turns + angle / (2 * np.pi)) == pytest.approx(np.pi * mean * turns, rel=1e-12)
    assert tight <= mean * (1 + 1e-12)


def test_unwinding_goes_back() -> None:
    tight = float(springs.wound_diameter(12e-3, 4.0, np.pi))
    assert tight == pytest.approx(12e-3 * 4.0 / 4.5, rel=1e-14)
    assert springs.wound_diameter(tight, 4.5, -np.pi) == pytest.approx(12e-3, rel=1e-14)


@given(st.floats(0.1, 5.0), st.floats(10.0, 1000.0), st.floats(0.01, 0.9))
def test_torsion_assist_is_let_down_like_any_spring(torque: float, rate: float, share: float) -> None:
    # what energy it takes to let a torsion spring down by an angle is found back by a root of the energy
    whole = torque**2 / (2 * rate)
    assume(whole > 1e-9)

    def miss(angle: float) -> float:
        return float(springs.released_energy(torque, rate, angle) / whole) - share

    angle = brentq(miss, 0.0, torque / rate, xtol=1e-14)
    assert angle == pytest.approx(torque / rate * (1 - np.sqrt(1 - share)), rel=1e-6)
