"""Cam against roller: by differences of the drawn outline, by exact equivalents, by plain statics."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

from pullcurve.mechanics import contact
from pullcurve.mechanics.arms import force_arms
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import Law, law, motion, motion_curve, rise_curve

RADIANS = np.pi / 180
# centre distance and arm [m], rest angle [rad], roller radius [m]
LEVER_SIZE = (0.040, 0.020, 35 * RADIANS, 0.0040)

senses = st.sampled_from([1.0, -1.0])


def lever_law(
    sense: float, rise: float = 0.45, take_up: float = 0.0, stations: int = 201
) -> tuple[FloatArray, Law]:
    """A cam of the size that a control unit has, as stations and law."""
    theta = np.linspace(0.0, 26 * RADIANS, stations)
    return theta, law(rise_curve(LEVER_SIZE[2], rise, take_up, 26 * RADIANS), theta)


def turned(x: FloatArray, y: FloatArray, angle: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points turned anticlockwise about the origin."""
    return np.cos(angle) * x - np.sin(angle) * y, np.sin(angle) * x + np.cos(angle) * y


def numerical_frame(
    theta: float, psi: float, dpsi: float, d2psi: float, a: float, l: float, sense: float
) -> tuple[NDArray[np.float64], float]:
    """Unit tangent and curvature of the roller centre's path in the cam, by differences of the path itself."""
    step = 2e-4

    def centre(away: float) -> NDArray[np.float64]:
        angle = psi + dpsi * away + d2psi * away**2 / 2
        x, y = np.asarray(a - l * np.cos(angle)), np.asarray(l * np.sin(angle))
        return np.array(turned(x, y, np.asarray(-sense * (theta + away))))

    at = [centre(k * step) for k in (-2, -1, 0, 1, 2)]
    first = (at[0] - 8 * at[1] + 8 * at[3] - at[4]) / (12 * step)
    second = (-at[0] + 16 * at[1] - 30 * at[2] + 16 * at[3] - at[4]) / (12 * step**2)
    speed = float(np.hypot(*first))
    # The cam turns by +sigma theta in the frame, so the path runs round it by -sigma theta.
    return first / speed, float(-sense * (first[0] * second[1] - first[1] * second[0]) / speed**3)


@given(
    st.floats(0.025, 0.06),
    st.floats(0.3, 0.8),
    st.floats(0.3, 2.0),
    st.floats(-0.9, 1.5),
    st.floats(-3.0, 3.0),
    senses,
)
def test_normal_and_curvature_are_those_of_the_path(
    a: float, share: float, psi: float, dpsi: float, d2psi: float, sense: float
) -> None:
    l = a * share
    tangent, curvature = numerical_frame(0.2, psi, dpsi, d2psi, a, l, sense)
    at, first, second = map(np.asarray, (psi, dpsi, d2psi))
    got = contact.pitch_curvature(at, first, second, a, l, sense)
    along, across = contact.normal_components(at, first, a, l, sense)
    scale = float(np.hypot(along, across))
    assert got * scale == pytest.approx(curvature * scale, rel=1e-6, abs=1e-5 * (1 + 0.02**2 / scale**2))
    alpha = float(contact.pressure_angle(at, first, a, l, sense))
    normal = np.array(
        [
            np.cos(alpha) * np.sin(psi) - np.sin(alpha) * np.cos(psi),
            np.cos(alpha) * np.cos(psi) + np.sin(alpha) * np.sin(psi),
        ]
    )
    in_cam = np.array(turned(normal[0], normal[1], np.asarray(-sense * 0.2)))
    assert in_cam @ tangent == pytest.approx(0.0, abs=1e-8)
    assert np.hypot(*in_cam) == pytest.approx(1.0, rel=1e-14)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("inward", [0.0, 0.004, -0.003])
def test_curvature_of_the_drawn_outline(sense: float, inward: float) -> None:
    """Circle through three neighbouring points of the outline; the offset curve included."""
    a, l, _, _ = LEVER_SIZE
    theta, state = lever_law(sense, take_up=0.02, stations=2001)
    x, y = contact.outline(theta, state.psi, state.dpsi, a, l, sense, inward)
    x1, x2, x3, y1, y2, y3 = x[:-2], x[1:-1], x[2:], y[:-2], y[1:-1], y[2:]
    twice = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
    sides = np.hypot(x2 - x1, y2 - y1) * np.hypot(x3 - x2, y3 - y2) * np.hypot(x3 - x1, y3 - y1)
    drawn = -sense * 2 * twice / sides
    pitch = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, a, l, sense)
    expected = contact.offset_curvature(pitch, inward)[1:-1]
    np.testing.assert_allclose(drawn, expected, rtol=2e-4, atol=0.05)


@given(senses, st.floats(0.25, 0.6), st.floats(0.0, 0.015))
def test_roller_touches_the_profile_at_its_own_contact_and_nowhere_cuts_it(
    sense: float, rise: float, take_up: float
) -> None:
    a, l, _, r = LEVER_SIZE
    theta, state = lever_law(sense, rise, take_up, 101)
    geometry = (a, l, sense)
    pitch = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    undercut = (pitch * r >= 1).any()
    px, py = contact.outline(theta, state.psi, state.dpsi, *geometry, r)
    cx, cy = contact.outline(theta, state.psi, state.dpsi, *geometry, 0.0)
    away = np.hypot(px[:, None] - cx, py[:, None] - cy)
    np.testing.assert_allclose(np.diag(away), r, rtol=1e-12)
    assert undercut or away.min() >= r * (1 - 1e-12)


def test_undercut_lets_the_roller_cut_the_profile() -> None:
    """The other side: where the convex pitch radius is less than the roller's, some profile point is inside it."""
    a, l, _, _ = LEVER_SIZE
    theta, state = lever_law(1.0, 0.3, 0.09, 401)
    geometry = (a, l, 1.0)
    pitch = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    r = 1.3 / pitch.max()
    assert (contact.offset_curvature(pitch, r) < 0).any()
    px, py = contact.outline(theta, state.psi, state.dpsi, *geometry, r)
    cx, cy = contact.outline(theta, state.psi, state.dpsi, *geometry, 0.0)
    assert np.hypot(px[:, None] - cx, py[:, None] - cy).min() < r * (1 - 1e-4)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_cutter_of_the_rollers_size_follows_the_roller(sense: float) -> None:
    a, l, _, r = LEVER_SIZE
    theta, state = lever_law(sense)
    geometry = (a, l, sense)
    for cutter in (0.003, 0.008):
        px, py = contact.outline(theta, state.psi, state.dpsi, *geometry, r)
        qx, qy = contact.outline(theta, state.psi, state.dpsi, *geometry, r - cutter)
        np.testing.assert_allclose(np.hypot(px - qx, py - qy), cutter, rtol=1e-12)


# Exact equivalents -------------------------------------------------------------------------------------------------


def eccentric(theta: FloatArray, a: float, l: float, eccentricity: float, radius: float) -> Law:
    """Rocker on an eccentric circle: the four-bar linkage O, circle's centre, roller centre, A; by its closure.

    The pitch circle's centre stands at the crank angle phi = theta_0 + theta and the roller centre at the circle's
    radius from it: e^2 + |OB|^2 - 2 e |OB| cos(...) = R^2, solved by another root finder and differentiated twice.
    """

    def closure(psi: float, phi: float) -> float:
        x, y = a - l * np.cos(psi) - eccentricity * np.cos(phi), l * np.sin(psi) - eccentricity * np.sin(phi)
        return float(x**2 + y**2 - radius**2)

    psi = np.array([brentq(closure, 1e-3, np.pi - 1e-3, args=(phi,), xtol=1e-15) for phi in theta])
    x, y = a - l * np.cos(psi) - eccentricity * np.cos(theta), l * np.sin(psi) - eccentricity * np.sin(theta)
    dx_psi, dy_psi = l * np.sin(psi), l * np.cos(psi)
    dx_phi, dy_phi = eccentricity * np.sin(theta), -eccentricity * np.cos(theta)
    g_psi, g_phi = x * dx_psi + y * dy_psi, x * dx_phi + y * dy_phi
    slope = -g_phi / g_psi
    # d/dtheta of g_psi slope + g_phi = 0, with (x, y)' = (dx_psi, dy_psi) slope + (dx_phi, dy_phi)
    vx, vy = dx_psi * slope + dx_phi, dy_psi * slope + dy_phi
    g_psi_dot = vx * dx_psi + vy * dy_psi + x * l * np.cos(psi) * slope - y * l * np.sin(psi) * slope
    g_phi_dot = (
        vx * dx_phi + vy * dy_phi + x * eccentricity * np.cos(theta) + y * eccentricity * np.sin(theta)
    )
    return Law(psi, slope, -(g_psi_dot * slope + g_phi_dot) / g_psi)


def test_eccentric_circle_is_a_four_bar_linkage() -> None:
    """Its pitch curve is a circle: the curvature must be 1/R at every angle, whatever psi' and psi'' are.

    Expected angles: a = 40, l = 30, e = 6, R = 22 mm (computed, closure of the linkage in closed form).
    """
    theta = np.arange(0.0, 181.0, 30.0) * RADIANS
    a, l, e, radius = 0.040, 0.030, 0.006, 0.022
    state = eccentric(theta, a, l, e, radius)
    psi = [39.59326, 43.60270, 44.06548, 40.80086, 35.01103, 28.56779, 23.45236]
    ratio = [0.176471, 0.080437, -0.050370, -0.160131, -0.215215, -0.202869, -0.130435]
    alpha = [9.94643, 7.12354, -0.52088, -11.00584, -21.88391, -30.38629, -33.67941]
    np.testing.assert_allclose(state.psi / RADIANS, psi, atol=6e-6)
    np.testing.assert_allclose(state.dpsi, ratio, atol=6e-7)
    # The crank turns anticlockwise, as the cam does with sigma = +1.
    geometry = (a, l, 1.0)
    angle = contact.pressure_angle(state.psi, state.dpsi, *geometry)
    np.testing.assert_allclose(angle / RADIANS, alpha, atol=6e-6)
    curvature = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    np.testing.assert_allclose(curvature, 1 / radius, rtol=1e-11)
    x, y = contact.outline(theta, state.psi, state.dpsi, *geometry, 0.006)
    np.testing.assert_allclose(np.hypot(x - e, y), radius - 0.006, rtol=1e-12)


@given(st.floats(0.0, 6.283), st.floats(0.05, 0.3), senses)
def test_eccentric_circle_of_any_size_keeps_its_curvature(phase: float, share: float, sense: float) -> None:
    """With sigma = -1 the cam turns the other way: the crank angle is theta_0 - theta."""
    a, l, radius = 0.040, 0.030, 0.022
    state = eccentric(np.array([phase]), a, l, share * radius, radius)
    dpsi = sense * state.dpsi
    geometry = (a, l, sense)
    curvature = contact.pitch_curvature(state.psi, dpsi, state.d2psi, *geometry)
    assert curvature == pytest.approx(1 / radius, rel=1e-9)


def test_norton_four_bar() -> None:
    """Crank 2, coupler 7, rocker 9, ground 6, crank at 30 degrees.

    R. L. Norton, Design of Machinery, position analysis of the four-bar linkage, prints theta_4 = 117.29 (from memory);
    the pressure angle 61.5512 and the ratio -0.399173 are computed from the linkage.
    """
    state = eccentric(np.array([30 * RADIANS]), 6.0, 9.0, 2.0, 7.0)
    assert 180 - state.psi / RADIANS == pytest.approx(117.29, abs=5e-3)
    angle = contact.pressure_angle(state.psi, state.dpsi, 6.0, 9.0, 1.0)
    assert state.dpsi == pytest.approx(0.399173, abs=6e-7)
    assert np.abs(angle / RADIANS) == pytest.approx(61.5512, abs=6e-5)


def test_concentric_circle_moves_nothing() -> None:
    a, l, radius = 0.040, 0.030, 0.022
    psi = np.arccos((a**2 + l**2 - radius**2) / (2 * a * l))
    still = np.zeros(1)
    for sense in (1.0, -1.0):
        geometry = (a, l, sense)
        assert contact.pitch_curvature(psi + still, still, still, *geometry) == pytest.approx(1 / radius)
        alpha = contact.pressure_angle(psi + still, still, *geometry)
        arms = force_arms(psi + still, alpha, 0.0, a, l, 0.006, sense)
        assert arms.lever == pytest.approx(0.0, abs=1e-16)


def test_long_rocker_becomes_a_follower_in_a_straight_guide() -> None:
    """A cycloidal rise of 12 over 90 degrees on a base of 40 mm, half-way up, follower through the pivot's middle.

    tan phi = v/(R + s), rho = ((R+s)^2 + v^2)^1.5 / ((R+s)^2 + 2 v^2 - a (R+s)): textbook, from memory.
    The rocker's foot is at l sin psi = R + s; a = l puts the guide through O. The difference must fall as 1/l.
    """
    base, rise, angle = 40.0, 12.0, np.pi / 2
    y, dy, d2y = motion("cycloidal", np.array([0.5]))
    s, v, acceleration = rise * y, rise / angle * dy, rise / angle**2 * d2y
    along = base + s
    phi = np.arctan2(v, along)
    rho = (along**2 + v**2) ** 1.5 / (along**2 + 2 * v**2 - acceleration * along)
    assert phi / RADIANS == pytest.approx(18.373879, abs=6e-7)
    assert rho == pytest.approx(44.090200, abs=6e-7)
    off = []
    for l in (1e3, 1e4, 1e5):
        psi = np.arcsin(along / l)
        dpsi = v / (l * np.cos(psi))
        d2psi = (acceleration + l * np.sin(psi) * dpsi**2) / (l * np.cos(psi))
        a = l * np.cos(psi)
        geometry = (a, l, 1.0)
        alpha = contact.pressure_angle(psi, dpsi, *geometry)
        curvature = contact.pitch_curvature(psi, dpsi, d2psi, *geometry)
        # alpha is measured from the rocker's normal, which leans by psi from the guide
        off.append((float(abs(alpha[0] - psi[0] - phi[0])), float(abs(1 / curvature[0] - rho[0]))))
    for tenth, hundredth in pairwise(off):
        assert hundredth[1] < 0.15 * tenth[1]
    assert off[-1][1] < 2e-2


# Cycloidal rise of 20 degrees over 90 degrees, a = 80, l = 60, prime circle 40 mm: computed two ways.
CYCLOIDAL_ANGLES = np.arange(0.0, 91.0, 15.0)
CYCLOIDAL = {
    1.0: (
        [-14.47751, -4.26393, 16.43252, 25.93011, 22.52250, 12.74794, 7.05577],
        [40.0, -221.1834, 240.9022, 42.9824, 32.9004, 34.8109, 60.7960],
        (26.1112, 47.562, 32.2454, 65.480),
    ),
    -1.0: (
        [-14.47751, -22.42538, -32.06512, -29.86223, -16.27138, 0.18837, 7.05577],
        [40.0, 818.287, 136.935, 51.4532, 32.4905, 33.7496, 60.7960],
        (32.7904, 34.943, 30.8165, None),
    ),
}


@pytest.mark.parametrize("sense", CYCLOIDAL)
def test_sense_of_rotation_matters(sense: float) -> None:
    """The same rise has another pressure angle and another curvature with the other sense."""
    a, l, base = 80.0, 60.0, 40.0
    start = np.arccos((a**2 + l**2 - base**2) / (2 * a * l))
    assert start / RADIANS == pytest.approx(28.955024, abs=6e-7)
    curve = motion_curve("cycloidal", start, 20 * RADIANS, 90 * RADIANS, pieces=96)
    geometry = (a, l, sense)
    angles, radii, (peak, peak_at, least, least_at) = CYCLOIDAL[sense]
    state = law(curve, CYCLOIDAL_ANGLES * RADIANS)
    alpha = contact.pressure_angle(state.psi, state.dpsi, *geometry) / RADIANS
    np.testing.assert_allclose(alpha, angles, atol=6e-6)
    curvature = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    np.testing.assert_allclose(1 / curvature, radii, rtol=2e-6)
    fine = np.linspace(0.0, 90.0, 90_001)
    state = law(curve, fine * RADIANS)
    alpha = np.abs(contact.pressure_angle(state.psi, state.dpsi, *geometry)) / RADIANS
    curvature = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    assert alpha.max() == pytest.approx(peak, abs=6e-5)
    assert fine[alpha.argmax()] == pytest.approx(peak_at, abs=1.1e-3)
    assert 1 / curvature.max() == pytest.approx(least, abs=6e-5)
    if least_at is not None:
        assert fine[curvature.argmax()] == pytest.approx(least_at, abs=5e-3)
        assert curvature.min() == pytest.approx(-1 / 141.161, rel=5e-6)
        assert fine[curvature.argmin()] == pytest.approx(19.449, abs=5e-3)
    else:
        assert curvature.min() > 0


def test_closed_cam_has_the_area_perimeter_and_radii_of_its_polygon() -> None:
    """Rise 0..90, dwell, return 180..270, dwell; roller 8 mm: 5850.495 mm2, 274.2526 mm, 32..52.79595 mm (computed)."""
    a, l, r = 80.0, 60.0, 8.0
    start = 28.955024 * RADIANS
    count = 4000
    u = np.linspace(0.0, 1.0, count)
    quarter = np.pi / 2
    y, dy, _ = motion("cycloidal", u)
    rise = 20 * RADIANS
    psi = np.concatenate(
        [start + rise * y, np.full(count, start + rise), start + rise * (1 - y), np.full(count, start)]
    )
    dpsi = np.concatenate([rise / quarter * dy, np.zeros(count), -rise / quarter * dy, np.zeros(count)])
    theta = np.concatenate([quarter * (u + k) for k in range(4)])
    x, z = contact.outline(theta, psi, dpsi, a, l, 1.0, r)
    area = abs(float(np.sum(x * np.roll(z, -1) - np.roll(x, -1) * z)) / 2)
    perimeter = float(np.hypot(np.diff(x, append=x[:1]), np.diff(z, append=z[:1])).sum())
    radii = np.hypot(x, z)
    assert area == pytest.approx(5850.495, rel=2e-7)
    assert perimeter == pytest.approx(274.2526, rel=2e-7)
    assert (radii.min(), radii.max()) == pytest.approx((32.0, 52.79595), abs=2e-5)


def test_inflection_keeps_curvature_finite() -> None:
    """rho passes through infinity; curvature passes through zero, and so does that of any offset."""
    _, state = lever_law(1.0)
    kappa = contact.offset_curvature(np.array([-1e-9, 0.0, 1e-9]), 0.004)
    np.testing.assert_allclose(kappa, [-1e-9, 0.0, 1e-9], rtol=1e-9, atol=0)
    assert np.isfinite(contact.pressure_angle(state.psi, state.dpsi, *LEVER_SIZE[:2], 1.0)).all()


@given(st.floats(-300.0, 200.0), st.floats(-0.02, 0.004))
def test_offset_moves_the_radius_by_the_offset(curvature: float, inward: float) -> None:
    got = float(contact.offset_curvature(np.asarray(curvature), inward))
    assert got * (1 - curvature * inward) == pytest.approx(curvature, abs=1e-12)
    if abs(curvature) > 1e-3:
        assert 1 / got == pytest.approx(1 / curvature - inward, abs=1e-12 * (1 + abs(1 / curvature)))


# Forces ------------------------------------------------------------------------------------------------------------


def test_worked_contact_force() -> None:
    """M = 4000 N mm on an arm of 30 mm at 15 degrees: N = 138.037 N (computed)."""
    force = contact.contact_force(np.asarray(4.0), np.asarray(15 * RADIANS), 0.030)
    assert force == pytest.approx(138.037, abs=5e-4)
    assert contact.contact_force(np.asarray(4.0), np.asarray(89.999999 * RADIANS), 0.030) > 1e9


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_pressure_angle_at_rest_is_fixed_by_the_geometry(sense: float) -> None:
    """At rest with psi' = 0 no law matters: alpha is 0 where OB stands square on the rocker (angle OBA = 90)."""
    a, l = 0.040, 0.020
    geometry = (a, l, sense)
    square = np.asarray(np.arccos(l / a))
    assert contact.pressure_angle(square, np.asarray(0.0), *geometry) == pytest.approx(0.0, abs=1e-15)
    best = minimize_scalar(
        lambda psi: abs(float(contact.pressure_angle(np.asarray(psi), np.asarray(0.0), *geometry))),
        bounds=(0.3, 2.0),
        method="bounded",
        options={"xatol": 1e-10},
    )
    assert best.x == pytest.approx(float(square), abs=1e-6)


def test_a_stack_of_sets_is_every_set_by_itself() -> None:
    theta = np.linspace(0.0, 26 * RADIANS, 7)
    rises, senses_ = np.array([0.3, 0.45]), np.array([[1.0], [-1.0]])
    state = law(rise_curve(LEVER_SIZE[2], rises, 0.02, 26 * RADIANS), theta)
    geometry = (0.040, 0.020, senses_)
    stack = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    x, _ = contact.outline(theta, state.psi, state.dpsi, *geometry, 0.004)
    for k in (0, 1):
        alone = (0.040, 0.020, senses_[k])
        np.testing.assert_array_equal(
            stack[k], contact.pitch_curvature(state.psi[k], state.dpsi[k], state.d2psi[k], *alone)
        )
        np.testing.assert_array_equal(
            x[k], contact.outline(theta, state.psi[k], state.dpsi[k], *alone, 0.004)[0]
        )
