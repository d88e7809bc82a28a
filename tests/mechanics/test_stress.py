"""Line contact: pressure, width, what lies below, and what metals and needles bear."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from pullcurve.mechanics import stress

FloatArray = NDArray[np.float64]

forces = st.floats(1.0, 3000.0)
curvatures = st.floats(1.0, 500.0)
moduli = st.floats(20e9, 150e9)
lengths = st.floats(3e-3, 20e-3)
depths = st.floats(1e-3, 20.0)

STEEL, ALUMINIUM = (207e9, 0.3), (71.7e9, 0.33)


# Pressure and width -----------------------------------------------------------------------------------------


def test_curvatures_add_with_their_signs() -> None:
    # roller of 5 mm: 200/m; convex 20 mm, flat, concave 20 mm, concave 5 mm
    found = stress.curvature_sum(5e-3, np.array([50.0, 0.0, -50.0, -200.0]))
    assert found == pytest.approx([250.0, 200.0, 150.0, 0.0], abs=1e-12)


def test_contact_modulus_of_two_like_metals_and_of_a_rigid_one() -> None:
    # (1 - 0.09)/207 twice; a rigid partner leaves E/(1 - nu^2)
    assert stress.contact_modulus(*STEEL, *STEEL) == pytest.approx(207e9 / (2 * 0.91), rel=1e-14)
    assert stress.contact_modulus(*ALUMINIUM, 1e30, 0.3) == pytest.approx(71.7e9 / (1 - 0.33**2), rel=1e-12)
    assert stress.contact_modulus(*STEEL, *ALUMINIUM) == stress.contact_modulus(*ALUMINIUM, *STEEL)


@given(forces, curvatures, moduli, lengths)
def test_pressure_over_the_strip_carries_the_force(
    force: float, curvature: float, modulus: float, length: float
) -> None:
    # half an ellipse of pressure: F = pi/2 p0 b L
    most = stress.contact_pressure(force, curvature, modulus, length)
    half = stress.contact_half_width(force, curvature, modulus, length)
    assert np.pi / 2 * most * half * length == pytest.approx(force, rel=1e-12)


@given(forces, curvatures, moduli, lengths)
def test_half_width_by_its_own_formula(force: float, curvature: float, modulus: float, length: float) -> None:
    half = stress.contact_half_width(force, curvature, modulus, length)
    assert half == pytest.approx(np.sqrt(4 * force / (np.pi * length * modulus * curvature)), rel=1e-12)
    most = stress.contact_pressure(force, curvature, modulus, length)
    assert half == pytest.approx(2 * most / curvature / modulus, rel=1e-12)


@given(forces, curvatures, moduli, lengths)
def test_force_comes_back(force: float, curvature: float, modulus: float, length: float) -> None:
    most = stress.contact_pressure(force, curvature, modulus, length)
    assert stress.force_at_pressure(most, curvature, modulus, length) == pytest.approx(force, rel=1e-12)


def test_pressed_surfaces_fit_into_each_other() -> None:
    # the half space under half an ellipse of pressure bends so that it follows the curvature: the slope of its
    # surface is -2/(pi E*) pv int p(s)/(x - s) ds = -x/R; here by quadrature, which wants s - x below
    force, curvature, modulus, length = 1500.0, 216.6, 113.7e9, 8e-3
    most = float(stress.contact_pressure(force, curvature, modulus, length))
    half = float(stress.contact_half_width(force, curvature, modulus, length))

    def pressure(s: float) -> float:
        return most * float(np.sqrt(max(1 - (s / half) ** 2, 0.0)))

    for share in (0.2, 0.5, 0.8):
        x = share * half
        singular, _ = quad(pressure, -half, half, weight="cauchy", wvar=x, epsrel=1e-10)
        assert 2 / (np.pi * modulus) * singular == pytest.approx(-x * curvature, rel=1e-6)


def test_pressure_grows_with_the_root_of_the_force() -> None:
    found = stress.contact_pressure(np.array([0.0, 100.0, 400.0]), 200.0, 1e11, 6e-3)
    assert found[0] == 0.0
    assert found[2] == pytest.approx(2 * found[1], rel=1e-14)


def test_conforming_flank_has_no_line_contact() -> None:
    curvature = np.array([-1.0, 0.0, 1.0])
    assert np.isnan(stress.contact_pressure(100.0, curvature, 1e11, 6e-3)).tolist() == [True, False, False]
    assert stress.contact_pressure(100.0, 0.0, 1e11, 6e-3) == 0.0
    assert np.isnan(stress.contact_half_width(100.0, curvature, 1e11, 6e-3)).tolist() == [True, True, False]


def test_hollow_flank_is_better_than_a_round_one() -> None:
    round_, flat, hollow = stress.curvature_sum(6e-3, np.array([50.0, 0.0, -50.0]))
    pressures = stress.contact_pressure(1500.0, np.array([round_, flat, hollow]), 113.7e9, 8e-3)
    assert np.all(np.diff(pressures) < 0.0)


# Below the surface ------------------------------------------------------------------------------------------


def summed(depth: float) -> tuple[float, float]:
    """Stresses along and across at a depth under the middle, from line loads on a half space (Flamant)."""

    def along(s: float) -> float:
        return -2 / np.pi * float(np.sqrt(1 - s * s)) * depth * s * s / (s * s + depth**2) ** 2

    def across(s: float) -> float:
        return -2 / np.pi * float(np.sqrt(1 - s * s)) * depth**3 / (s * s + depth**2) ** 2

    return tuple(2 * quad(part, 0.0, 1.0, epsabs=1e-12, limit=200)[0] for part in (along, across))  # type: ignore[return-value]


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.78615, 1.5, 4.0])
@pytest.mark.parametrize("poisson", [0.0, 0.3, 0.5])
def test_stress_below_is_that_of_line_loads_summed_up(depth: float, poisson: float) -> None:
    x, down = summed(depth)
    y = poisson * (x + down)
    shear, equivalent = stress.stress_below(depth, poisson)
    assert shear == pytest.approx(abs(x - down) / 2, rel=1e-8)
    tensor = np.diag([x, y, down])
    deviator = tensor - np.trace(tensor) / 3 * np.eye(3)
    assert equivalent == pytest.approx(np.sqrt(1.5 * np.sum(deviator**2)), rel=1e-8)


def test_constants_of_the_steepest_shear() -> None:
    found = minimize_scalar(
        lambda z: -float(stress.stress_below(z, 0.3)[0]), bounds=(0.1, 3.0), options={"xatol": 1e-9}
    )
    assert found.x == pytest.approx(stress.SHEAR_DEPTH, abs=5e-6)
    assert -found.fun == pytest.approx(stress.SHEAR_PEAK, abs=5e-7)


def test_surface_by_hand() -> None:
    # at the surface all of the pressure acts along and down alike: no shear; equivalent (1 - 2 nu) p0
    shear, equivalent = stress.stress_below(0.0, 0.3)
    assert shear == 0.0
    assert equivalent == pytest.approx(0.4, rel=1e-12)


def test_far_below_a_line_load() -> None:
    # F/L = pi/2 p0 b, Flamant: sigma_z = -2 (F/L)/(pi z) = -1/z, sigma_x -> 0
    shear, _ = stress.stress_below(1e3, 0.3)
    assert shear == pytest.approx(0.5e-3, rel=1e-4)


@given(depths, st.floats(0.0, 0.5))
def test_equivalent_stress_lies_between_its_bounds(depth: float, poisson: float) -> None:
    # von Mises is at most 2 tau_max over all planes and at least sqrt(3) times it; the plane of rolling holds
    # the steepest shear unless sigma_y leaves the other two
    shear, equivalent = stress.stress_below(depth, poisson)
    assert 0.0 <= np.sqrt(3) * shear <= equivalent * (1 + 1e-9)


def test_depths_and_metals_at_once() -> None:
    shear, equivalent = stress.stress_below(np.linspace(0.0, 2.0, 5), np.array([[0.29], [0.33]]))
    assert shear.shape == (5,)
    assert equivalent.shape == (2, 5)


# What a metal bears -----------------------------------------------------------------------------------------


@given(st.floats(1e8, 2e9))
def test_first_yield_is_half_the_strength_in_shear(strength: float) -> None:
    pressure = stress.first_yield_pressure(strength)
    shear, _ = stress.stress_below(stress.SHEAR_DEPTH, 0.3)
    assert 2 * shear * pressure == pytest.approx(strength, rel=1e-5)


def test_first_yield_after_von_mises_comes_later() -> None:
    # steel: 1/0.5575 = 1.79 instead of 1.67
    depth = np.linspace(0.0, 2.0, 20_001)
    worst = np.max(stress.stress_below(depth, 0.3)[1])
    assert 1 / worst == pytest.approx(1.79, abs=0.005)
    assert stress.first_yield_pressure(1.0) < 1 / worst


def test_limits_by_hand() -> None:
    assert stress.static_pressure_limit(500e6) == pytest.approx(800e6, rel=1e-14)
    # 0.6 / 0.600566 = 0.99906
    assert stress.endurance_pressure_limit(500e6) == pytest.approx(0.99906 * 500e6, rel=1e-5)
    # 2.76 x 300 - 70 = 758 MPa
    assert stress.steel_endurance_pressure(300.0) == pytest.approx(758e6, rel=1e-14)
    assert stress.steel_endurance_pressure(np.array([200, 300])) == pytest.approx([482e6, 758e6])


@given(st.floats(1e8, 2e9))
def test_limits_keep_their_order(strength: float) -> None:
    for_ever, rest, first = (
        stress.endurance_pressure_limit(strength),
        stress.static_pressure_limit(strength),
        stress.first_yield_pressure(strength),
    )
    assert for_ever < rest < first


# Needles ----------------------------------------------------------------------------------------------------


def test_needle_rating_by_hand() -> None:
    # 44 (1 - 2/12) 14 x 7.8 x 2 = 8008 N
    assert stress.needle_static_rating(14, 2e-3, 7.8e-3, 12e-3) == pytest.approx(8008.0, rel=1e-12)


def test_most_loaded_needle_without_clearance() -> None:
    # Stribeck: with all needles in contact by cos^(10/9) of the angle the factor on F/Z is 4.08; 5 allows for a gap
    angle = np.arange(-90, 91) * np.pi / 180
    share = np.cos(angle) ** (10 / 9)
    factor = angle.size * 2 / np.sum(share * np.cos(angle))
    assert factor == pytest.approx(4.08, abs=0.05)
    assert stress.needle_peak_load(1400.0, 14) == pytest.approx(500.0, rel=1e-14)
    assert factor < 5.0


@pytest.mark.parametrize(
    ("needles", "size", "long", "pitch"), [(14, 2.0, 7.8, 12.0), (20, 1.5, 6.0, 12.0), (12, 4.0, 10.0, 30.0)]
)
def test_needle_rating_is_reached_at_4000_mpa(needles: int, size: float, long: float, pitch: float) -> None:
    rating = stress.needle_static_rating(needles, 1e-3 * size, 1e-3 * long, 1e-3 * pitch)
    peak = stress.needle_peak_load(rating, needles)
    inner = 2e3 / (pitch - size)  # curvature of the inner ring
    curvature = stress.curvature_sum(size / 2e3, inner)
    pressure = stress.contact_pressure(peak, curvature, stress.contact_modulus(*STEEL, *STEEL), 1e-3 * long)
    assert pressure == pytest.approx(stress.ROLLER_BEARING_STATIC, rel=0.005)
