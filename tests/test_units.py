"""Trade units and SI: definitions of the units, round trips, the longest suffix."""

from math import floor, isclose, log10, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.units import FACTORS, STANDARD_GRAVITY, bare, from_si, to_si, unit_of

# Each expected value follows from the definition of its unit: 1 bar = 100 kPa, 1 cm3 = 1 ml = 1e-6 m3,
# a full turn = 360 deg = 2 pi rad, standard gravity 9.80665 m/s2 (ISO 80000-3), inch 25.4 mm and pound-force
# 4.448 221 615 260 5 N exactly (NIST SP 811, appendix B.8 with its footnote).
DEFINED = [
    ("bore_mm", 25.4, "bore", 0.0254),
    ("hose_length_m", 2.1, "hose_length", 2.1),
    ("seat_volume_mm3", 1000.0, "seat_volume", 1e-6),
    ("fluid_volume_cm3", 1e6, "fluid_volume", 1.0),
    ("rest_angle_deg", 360.0, "rest_angle", 2 * pi),
    ("clamp_newton", 950.0, "clamp", 950.0),
    ("spring_torque_newton_mm", 1000.0, "spring_torque", 1.0),
    ("engine_torque_newton_m", 60.0, "engine_torque", 60.0),
    ("rate_newton_per_mm", 1.0, "rate", 1000.0),
    ("spring_rate_newton_mm_per_deg", 1000 * pi / 180, "spring_rate", 1.0),
    ("gap_pressure_bar", 1.01325, "gap_pressure", 101325.0),
    ("fluid_bulk_modulus_gpa", 1.7, "fluid_bulk_modulus", 1.7e9),
    ("mass_kg", 112.0, "mass", 112.0),
    ("free_air_percent", 100.0, "free_air", 1.0),
    ("hose_expansion_mm3_per_m_bar", 1e14, "hose_expansion", 1.0),
    ("caliper_expansion_mm3_per_bar", 1.0, "caliper_expansion", 1e-9 / 1e5),
    ("fluid_expansion_per_kelvin", 7.5e-4, "fluid_expansion", 7.5e-4),
    ("held_s", 3.0, "held", 3.0),
    ("work_joule", 3.0, "work", 3.0),
    ("deceleration_m_per_s2", 2.0, "deceleration", 2.0),
    ("steepest_m_per_s2_per_mm", 1.0, "steepest", 1000.0),
    ("gain_g_per_newton", 1.0, "gain", 9.80665),
    ("gain_g_per_mm", 0.001, "gain", 9.80665),
    ("travel_cm", 2.5, "travel", 0.025),
    ("travel_in", 1.0, "travel", 0.0254),
    ("angle_rad", 0.5, "angle", 0.5),
    ("force_dan", 6.0, "force", 60.0),
    ("force_kgf", 1.0, "force", 9.80665),
    ("force_lbf", 1.0, "force", 4.4482216152605),
    ("pressure_kpa", 100.0, "pressure", 1e5),
    ("pressure_mpa", 0.1, "pressure", 1e5),
    ("pressure_psi", 0.0254**2, "pressure", 4.4482216152605),
    ("time_ms", 1500.0, "time", 1.5),
    ("pin_friction", 0.12, "pin_friction", 0.12),
    ("age_years", 41.0, "age_years", 41.0),
]


@pytest.mark.parametrize(("key", "typed", "name", "si"), DEFINED, ids=[row[0] for row in DEFINED])
def test_value_in_si_follows_from_the_unit(key: str, typed: float, name: str, si: float) -> None:
    found_name, found = to_si(key, typed)
    assert found_name == name
    assert isclose(found, si, rel_tol=1e-15)


# As printed in NIST SP 811 (2008), appendix B.8: unit, multiplier to SI, digits of its mantissa after the point.
PRINTED = [
    ("lbf", 4.448222, 6),
    ("kgf", 9.80665, 5),
    ("psi", 6.894757e3, 6),
    ("in", 2.54e-2, 2),
    ("deg", 1.745329e-2, 6),
    ("bar", 1.0e5, 1),
    ("g_per_newton", 9.80665, 5),
]


@pytest.mark.parametrize(("unit", "printed", "digits"), PRINTED, ids=[row[0] for row in PRINTED])
def test_factor_is_the_published_one(unit: str, printed: float, digits: int) -> None:
    half = 0.5 * 10.0 ** (floor(log10(printed)) - digits)
    assert abs(FACTORS[unit] - printed) <= half


def test_every_unit_is_checked() -> None:
    assert {unit_of(key) for key, *_ in DEFINED} - {None} == set(FACTORS)


@given(
    st.sampled_from([key for key, *_ in DEFINED]),
    st.floats(1e-9, 1e12) | st.floats(-1e12, -1e-9) | st.just(0.0),
)
def test_there_and_back(key: str, typed: float) -> None:
    assert isclose(from_si(key, to_si(key, typed)[1]), typed, rel_tol=1e-15)


@pytest.mark.parametrize("unit", FACTORS)
def test_longest_suffix_wins(unit: str) -> None:
    assert unit_of(f"thing_{unit}") == unit
    assert bare(f"thing_{unit}") == "thing"


def test_a_unit_alone_is_no_suffix() -> None:
    assert unit_of("mm") is None
    assert unit_of("comm") is None
    assert bare("pistons") == "pistons"


def test_gravity_is_the_standard_one() -> None:
    assert STANDARD_GRAVITY == 9.80665
