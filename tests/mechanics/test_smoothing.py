"""Smoothing and uncertainty: exact cases, and the linear formulas against random draws and moved metal."""

import numpy as np
import pytest
import shapely

from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import law
from pullcurve.mechanics.reading import ReadLaw, read_outline
from pullcurve.mechanics.smoothing import edge_covariance, force_deviation, size_covariance, smooth_law
from pullcurve.mechanics.spline import basis, spline_curve
from tests.mechanics.metal import FLANK, Plate, fall, rise

THETA = np.linspace(0.0, FLANK, 105)
PLATES = [rise(1.0), rise(-1.0), fall(1.0), fall(-1.0)]
NAMES = ["rise against", "rise with", "fall against", "fall with"]


def read_from(plate: Plate, outline: FloatArray | None = None) -> ReadLaw:
    """The law of a plate's metal."""
    return read_outline(plate.outline(1e-7) if outline is None else outline, *plate.geometry, THETA)


def test_a_parabola_needs_no_more_than_three_parameters() -> None:
    """It has no third derivative: kept at any tolerance; its derivatives by hand."""
    u = THETA / FLANK
    smooth = smooth_law(THETA, 0.6 + 0.3 * u - 0.1 * u**2, 1e-3)
    got = law(smooth.curve, THETA)
    assert smooth.freedom == pytest.approx(3.0, abs=1e-6)
    assert smooth.residual < 1e-8
    np.testing.assert_allclose(got.dpsi, (0.3 - 0.2 * u) / FLANK, atol=1e-8)
    np.testing.assert_allclose(got.d2psi, -0.2 / FLANK**2, atol=1e-6)
    assert (smooth.psi_deviation == 0).all()
    assert (smooth.dpsi_deviation == 0).all()


def test_a_quintic_comes_back_at_a_fine_tolerance() -> None:
    """A polynomial of degree five lies in the span; its derivatives by hand."""
    u = THETA / FLANK
    smooth = smooth_law(THETA, 0.6 + 0.3 * u - 0.1 * u**3 + 0.05 * u**5, 1e-11)
    got = law(smooth.curve, THETA)
    np.testing.assert_allclose(got.dpsi, (0.3 - 0.3 * u**2 + 0.25 * u**4) / FLANK, atol=1e-6)
    np.testing.assert_allclose(got.d2psi, (-0.6 * u + u**3) / FLANK**2, atol=1e-3)


def roughness(curve: Curve, aside: Curve | None = None) -> float:
    """Integral of the third derivative squared, by differences of the second on a fine grid."""
    at = np.linspace(0.0, FLANK, 20_001)
    second = law(curve, at).d2psi + (law(aside, at).d2psi if aside else 0.0)
    return float(np.sum(np.diff(second) ** 2 / np.diff(at)))


def test_smoothest_within_the_tolerance() -> None:
    """The tolerance is used up, by its own mean square; splines beside it are rougher or further off."""
    psi = 0.6 + 0.01 * np.sin(4 * np.pi * THETA / FLANK)
    coarse, fine = smooth_law(THETA, psi, 1e-3), smooth_law(THETA, psi, 1e-5)
    assert 3 < coarse.freedom < fine.freedom
    for smooth, tolerance in ((coarse, 1e-3), (fine, 1e-5)):
        left = np.sqrt(np.mean((law(smooth.curve, THETA).psi - psi) ** 2))
        assert left == pytest.approx(smooth.residual, rel=1e-6)
        assert left == pytest.approx(tolerance, rel=2e-2)
    random = np.random.default_rng(2)
    known = basis(0.0, FLANK, 20)
    off = law(coarse.curve, THETA).psi - psi
    for _ in range(20):
        step = random.normal(0.0, 1e-5, known.count)
        step *= -np.sign(off @ law(spline_curve(known, step), THETA).psi)  # the way that comes nearer to psi
        aside = spline_curve(known, step)
        further = np.sqrt(np.mean((off + law(aside, THETA).psi) ** 2)) > coarse.residual
        assert further or roughness(coarse.curve, aside) > roughness(coarse.curve)


def test_a_tolerance_out_of_reach_shows_in_the_residual() -> None:
    psi = 0.6 + np.random.default_rng(1).normal(0.0, 1e-3, THETA.size)
    smooth = smooth_law(THETA, psi, 1e-6)
    assert smooth.residual > 1e-6
    assert smooth.freedom > 30


def test_what_smoothing_hides_at_a_step_is_told() -> None:
    """An assist law, whose third derivative steps at both ends of its blend: no noise, but a coarse tolerance."""
    nominal = fall().law(THETA)
    smooth = smooth_law(THETA, nominal.psi, 2e-5, np.zeros((THETA.size,) * 2))
    off = np.abs(law(smooth.curve, THETA).dpsi - nominal.dpsi)
    assert off.max() > 5e-4
    assert (off < 3 * smooth.dpsi_deviation + off.max() / 3).all()


def test_places_without_contact_are_bridged() -> None:
    psi = 0.6 + 0.5 * THETA - 0.2 * THETA**2
    holed = np.where((THETA > 0.2) & (THETA < 0.25), np.nan, psi)
    np.testing.assert_allclose(law(smooth_law(THETA, holed, 1e-10).curve, THETA).psi, psi, atol=1e-9)


def test_noise_is_smoothed_and_its_deviation_told() -> None:
    """60 draws of white noise, smoothed to their scatter: what is off is what the covariance says, psi and slope."""
    plate = rise()
    nominal = plate.law(THETA)
    spread = 1e-4
    random = np.random.default_rng(7)
    white = spread**2 * np.eye(THETA.size)
    draws = [
        smooth_law(THETA, nominal.psi + random.normal(0.0, spread, THETA.size), spread, white)
        for _ in range(60)
    ]
    states = [law(one.curve, THETA) for one in draws]
    told = np.sqrt(np.mean([one.psi_deviation**2 for one in draws], axis=0))
    told_slope = np.sqrt(np.mean([one.dpsi_deviation**2 for one in draws], axis=0))
    off = np.sqrt(np.mean([(one.psi - nominal.psi) ** 2 for one in states], axis=0)) / told
    off_slope = np.sqrt(np.mean([(one.dpsi - nominal.dpsi) ** 2 for one in states], axis=0)) / told_slope
    for share in (off, off_slope):
        assert share.max() < 2.0
        assert 0.7 < np.sqrt(np.mean(share**2)) < 1.3
    assert told[THETA.size // 2] < spread / 2


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_an_edge_off_by_the_same_everywhere_moves_the_rocker_as_told(plate: Plate) -> None:
    """The polygon grown by two micrometres all round (shapely), read again, against s / (l cos alpha)."""
    read = read_from(plate)
    grown = shapely.Polygon(plate.outline(1e-7)).buffer(2e-6, join_style="mitre").exterior
    moved = read_from(plate, np.asarray(grown.coords)[:-1]).psi - read.psi
    told = edge_covariance(read, plate.arm, 2e-6, np.inf)
    np.testing.assert_allclose(np.sqrt(np.diag(told)), moved, rtol=5e-3, atol=1e-7)
    np.testing.assert_allclose(told, np.outer(moved, moved), rtol=1e-2, atol=1e-11)


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_a_wrong_scale_moves_the_rocker_as_told(plate: Plate) -> None:
    """The metal made 0.01 % larger and read again."""
    read = read_from(plate)
    moved = read_from(plate, plate.outline(1e-7) * (1 + 1e-4)).psi - read.psi
    told = size_covariance(read, plate.sense, plate.arm, 1e-4)
    np.testing.assert_allclose(np.sqrt(np.diag(told)), moved, rtol=5e-3)


def test_edge_errors_far_apart_do_not_hang_together() -> None:
    """Two contacts d apart: exp(-d^2 / 2 c^2), by hand."""
    read = read_from(rise())
    told = edge_covariance(read, 0.020, 1e-6, 0.3e-3)
    apart = np.hypot(*(read.touch[10] - read.touch[3]))
    scale = np.sqrt(told[10, 10] * told[3, 3])
    assert told[10, 3] / scale == pytest.approx(np.exp(-((apart / 0.3e-3) ** 2) / 2), rel=1e-9)
    assert told[0, -1] / told[0, 0] < 1e-6


def test_force_deviation_by_drawing_psi_and_its_slope() -> None:
    """F = M(psi) psi'/L with M = 3 + 8 psi + 5 psi^2; 40,000 draws of psi and psi' that hang together."""
    random = np.random.default_rng(3)
    covariance = np.array([[4e-6, 1.5e-6], [1.5e-6, 9e-6]])
    psi, dpsi, finger = 0.7, 0.9, 0.075
    drawn = random.multivariate_normal([psi, dpsi], covariance, 40_000)
    force = (3 + 8 * drawn[:, 0] + 5 * drawn[:, 0] ** 2) * drawn[:, 1] / finger
    told = force_deviation(
        np.array([3 + 8 * psi + 5 * psi**2]),
        np.array([8 + 10 * psi]),
        np.array([dpsi]),
        finger,
        covariance[None],
    )
    assert told[0] == pytest.approx(force.std(), rel=0.02)


def test_steady_load_on_a_straight_law_passes_slope_errors_on_alone() -> None:
    """M' = 0: s_F = M s / L; 6 N m, 0.01 and 75 mm give 0.8 N."""
    covariance = np.array([[[1e-4, 0.0], [0.0, 1e-4]]])
    told = force_deviation(np.array([6.0]), np.array([0.0]), np.array([0.9]), 0.075, covariance)
    assert told == pytest.approx([0.8])
