"""Spring wire: strength by diameter, stress in the coil, and fatigue."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog

from pullcurve.mechanics import wire

FloatArray = NDArray[np.float64]

KINDS = ("static", "bergstraesser", "wahl")

indexes = st.floats(3.0, 20.0)
stresses = st.floats(1e6, 8e8)


# Strength ---------------------------------------------------------------------------------------------------


# Shigley, table 10-4 in SI: m, A in MPa mm^m (read in a library's data file), least and most mm (from memory
# except for music wire and stainless)
TABLE = {
    "music": [(0.145, 2211, 0.1, 6.5)],
    "oil tempered": [(0.187, 1855, 0.5, 12.7)],
    "hard drawn": [(0.190, 1783, 0.7, 12.7)],
    "chrome vanadium": [(0.168, 2005, 0.8, 11.1)],
    "chrome silicon": [(0.108, 1974, 1.6, 9.5)],
    "stainless": [(0.146, 1867, 0.3, 2.5), (0.263, 2065, 2.5, 5.0), (0.478, 2911, 5.0, 10.0)],
    "phosphor bronze": [(0.0, 1000, 0.1, 0.6), (0.028, 913, 0.6, 2.0), (0.064, 932, 2.0, 7.5)],
}


def test_every_wire_of_the_table_is_there() -> None:
    assert list(wire.WIRES) == list(TABLE)


@pytest.mark.parametrize("kind", TABLE)
def test_strength_in_every_row_of_the_table(kind: str) -> None:
    for power, factor, least, most in TABLE[kind]:
        for size in (least + 1e-6, np.sqrt(least * most), most - 1e-6):
            assert wire.wire_strength(kind, 1e-3 * size) == pytest.approx(
                1e6 * factor / size**power, rel=1e-12
            )


@pytest.mark.parametrize("kind", TABLE)
def test_strength_is_unknown_outside_the_table(kind: str) -> None:
    least, most = TABLE[kind][0][2], TABLE[kind][-1][3]
    sizes = 1e-3 * np.array([least - 1e-6, least + 1e-6, most - 1e-6, most + 1e-6, np.nan])
    assert np.isnan(wire.wire_strength(kind, sizes)).tolist() == [True, False, False, True, True]


def test_strength_by_hand() -> None:
    # music wire of 2 mm: 2^0.145 = 1.10573, 2211/1.10573 = 1999.6 MPa; chrome silicon of 4 mm: 1974/4^0.108
    assert wire.wire_strength("music", 2e-3) == pytest.approx(1999.6e6, rel=1e-4)
    assert wire.wire_strength("chrome silicon", 4e-3) == pytest.approx(1974e6 / 2**0.216, rel=1e-12)


def test_unknown_wire_is_an_error() -> None:
    with pytest.raises(KeyError):
        wire.wire_strength("string", 1e-3)


@pytest.mark.parametrize("kind", wire.WIRES)
def test_rows_of_the_table_join(kind: str) -> None:
    rows = wire.WIRES[kind]
    assert all(row.least < row.most for row in rows)
    assert [row.least for row in rows[1:]] == [row.most for row in rows[:-1]]
    for before, after in pairwise(rows):
        one, other = (row.intercept * (1e-3 / after.least) ** row.exponent for row in (before, after))
        assert one == pytest.approx(other, rel=0.12)  # the table itself jumps that much


@pytest.mark.parametrize("kind", wire.WIRES)
def test_thin_wire_is_drawn_stronger(kind: str) -> None:
    least, most = wire.WIRES[kind][0].least, wire.WIRES[kind][-1].most
    strength = wire.wire_strength(kind, np.geomspace(least * 1.000001, most * 0.999999, 50))
    assert np.isfinite(strength).all()
    assert np.all(np.diff(strength) <= 0.03 * strength[0])  # bronze steps up by little between its rows
    assert strength[-1] <= strength[0]


# Stress -----------------------------------------------------------------------------------------------------


@given(indexes)
def test_factors_keep_their_order(index: float) -> None:
    static, bergstraesser, wahl = (float(wire.shear_factor(index, kind)) for kind in KINDS)
    assert 1.0 < static < bergstraesser
    assert bergstraesser == pytest.approx(wahl, rel=0.02)  # two fits to the same theory
    # as in EN 13906-1: (w + 0.5)/(w - 0.75)
    assert bergstraesser == pytest.approx((index + 0.5) / (index - 0.75), rel=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_factor_of_a_straight_rod_is_one(kind: str) -> None:
    assert wire.shear_factor(1e7, kind) == pytest.approx(1.0, abs=1e-6)


def test_factor_by_default_is_wahls() -> None:
    # C = 6: 23/20 + 0.1025 = 1.2525
    assert wire.shear_factor(6.0) == pytest.approx(1.2525, rel=1e-14)
    with pytest.raises(KeyError):
        wire.shear_factor(6.0, "none")


@given(st.floats(1.0, 500.0), st.floats(0.5e-3, 3e-3), indexes)
def test_static_stress_is_twist_and_direct_shear(force: float, diameter: float, index: float) -> None:
    # a rod under the torque F D/2, r/I_p = 16/(pi d^3), and the force on its section, 4/(pi d^2)
    twist = force * index * diameter / 2 * 16 / (np.pi * diameter**3)
    direct = force * 4 / (np.pi * diameter**2)
    factor = wire.shear_factor(index, "static")
    assert wire.shear_stress(force, diameter, index * diameter, factor) == pytest.approx(
        twist + direct, rel=1e-12
    )


@given(st.floats(0.01, 10.0), st.floats(0.5e-3, 3e-3), indexes)
def test_torsion_stress_is_bending_and_more_at_the_inside(
    moment: float, diameter: float, index: float
) -> None:
    straight = moment * (diameter / 2) / (np.pi * diameter**4 / 64)
    found = float(wire.torsion_stress(moment, diameter, index * diameter))
    assert straight < found < 1.5 * straight
    assert wire.torsion_stress(moment, diameter, 1e6 * diameter) == pytest.approx(straight, rel=1e-5)


def test_torsion_stress_by_curved_beam_theory() -> None:
    # Winkler-Bach for a round section: neutral radius r^2/(2 (R - sqrt(R^2 - r^2))), r = 1, R = C;
    # stress at the inside M (r_n - (R - r))/(A e (R - r)); the spring's factor is a fit to it
    radius = np.array([4.0, 6.0, 8.0, 12.0])
    neutral = 1 / (2 * (radius - np.sqrt(radius**2 - 1)))
    eccentricity = radius - neutral
    inside = (neutral - (radius - 1)) / (np.pi * eccentricity * (radius - 1))
    ours = wire.torsion_stress(1.0, 2.0, 2 * radius)
    assert ours == pytest.approx(inside, rel=0.03)


def test_torsion_stress_by_hand() -> None:
    # C = 4: (64 - 5)/(48) = 1.229167; 32/pi = 10.185916 for a moment and wire of one
    assert wire.torsion_stress(1.0, 1.0, 4.0) == pytest.approx(59 / 48 * 10.185916, rel=1e-7)


# Fatigue ----------------------------------------------------------------------------------------------------


@given(stresses)
def test_pulsating_load_at_the_endurance_strength_is_just_safe(strength: float) -> None:
    half = 0.22 * strength / 2
    assert wire.endurance_safety(half, half, strength) == pytest.approx(1.0, rel=1e-12)


@given(stresses)
def test_steady_load_at_yield_is_just_safe(strength: float) -> None:
    assert wire.endurance_safety(0.45 * strength, 0.0, strength) == pytest.approx(1.0, rel=1e-12)


@given(stresses, stresses, st.floats(0.1, 10.0))
def test_safety_is_the_factor_on_both_stresses(mean: float, amplitude: float, factor: float) -> None:
    safety = wire.endurance_safety(mean, amplitude, 2e9)
    assert wire.endurance_safety(factor * mean, factor * amplitude, 2e9) == pytest.approx(
        safety / factor, rel=1e-12
    )
    assert wire.endurance_safety(safety * mean, safety * amplitude, 2e9) == pytest.approx(1.0, rel=1e-12)


def test_safety_by_linear_programming() -> None:
    # the largest t with t (mean, amplitude) on or below the line from (S_y, 0) through (S_e/2, S_e/2)
    mean, amplitude, strength = 170e6, 96e6, 1500e6
    half, most = 0.11 * strength, 0.45 * strength
    slope = half / (most - half)
    found = linprog([-1.0], A_ub=[[(amplitude + slope * mean) / 1e6]], b_ub=[slope * most / 1e6])
    assert found.x is not None
    assert wire.endurance_safety(mean, amplitude, strength) == pytest.approx(found.x[0], rel=1e-9)


def test_sets_and_stations() -> None:
    force = np.linspace(0.0, 40.0, 5)
    diameter = np.array([[1e-3], [1.2e-3]])
    assert wire.shear_stress(force, diameter, 10e-3, wire.shear_factor(10e-3 / diameter)).shape == (2, 5)
    assert wire.torsion_stress(force, diameter, 10e-3).shape == (2, 5)
