"""Outlines back to laws: published and exact equivalents, the law they were made from, and a second library."""

import numpy as np
import pytest
import shapely

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.reading import (
    clocking,
    counter_clockwise,
    densified,
    face_angle,
    read_outline,
    turned_points,
)
from tests.mechanics.metal import FLANK, HUB, RADIANS, Plate, fall, rise

MM = 1e-3
PLATES = [rise(+1.0), rise(-1.0), rise(+1.0, take_up=0.0), fall(+1.0), fall(-1.0)]
NAMES = ["rise against", "rise with", "no take-up", "fall against", "fall with"]


def eccentric(radius: float, offset: float, points: int = 720) -> FloatArray:
    """A round disc about a point at (offset, 0), in metres."""
    angle = 2 * np.pi * np.arange(points) / points
    return np.stack([offset + radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def roller(plate: Plate, theta: float, psi: float) -> shapely.Point:
    """Roller centre in the cam's frame."""
    a, l = plate.centre_distance, plate.arm
    x, y = turned_points(np.array([a - l * np.cos(psi), l * np.sin(psi)]), -plate.sense * theta)
    return shapely.Point(x, y)


def test_eccentric_disc_is_a_four_bar_of_lever_size() -> None:
    """a 40, l 30, e 6, cam 16, roller 6 mm; psi and alpha from the four-bar of the same sides (computed twice)."""
    theta = np.array([0, 30, 60, 90, 120, 150, 180]) * RADIANS
    psi = [39.59326, 43.60270, 44.06548, 40.80086, 35.01103, 28.56779, 23.45236]
    alpha = [9.94643, 7.12354, -0.52088, -11.00584, -21.88391, -30.38629, -33.67941]
    read = read_outline(eccentric(16 * MM, 6 * MM), 40 * MM, 30 * MM, 6 * MM, 0.7, 1.0, theta)
    np.testing.assert_allclose(read.psi / RADIANS, psi, atol=6e-6)
    np.testing.assert_allclose(read.alpha / RADIANS, alpha, atol=6e-6)
    assert (read.contacts == 1).all()


def test_four_bar_of_norton() -> None:
    """Norton, Design of Machinery, ch. 4, table of problems, row a: 6, 2, 7, 9, 30 degrees: 117.29 (from memory)."""
    read = read_outline(eccentric(6 * MM, 2 * MM), 6 * MM, 9 * MM, 1 * MM, 1.0, 1.0, np.array([30 * RADIANS]))
    assert 180 - read.psi[0] / RADIANS == pytest.approx(117.29, abs=0.005)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_any_eccentric_disc_by_the_law_of_cosines(sense: float) -> None:
    """Triangles of pivot, disc centre and roller centre, solved by hand; 72 points are enough for a true circle."""
    theta = np.linspace(0.0, 2 * np.pi, 50)
    a, l, e, disc, r = 40 * MM, 20 * MM, 3 * MM, 20 * MM, 4 * MM
    away = np.sqrt(a**2 + e**2 - 2 * a * e * np.cos(theta))
    lean = sense * np.arcsin(e * np.sin(theta) / away)
    expected = lean + np.arccos((away**2 + l**2 - (disc + r) ** 2) / (2 * away * l))
    read = read_outline(eccentric(disc, e, 72), a, l, r, 0.6, sense, theta)
    np.testing.assert_allclose(read.psi, expected, atol=1e-12)
    centre = turned_points(np.array([e, 0.0]), np.zeros(50))
    np.testing.assert_allclose(np.hypot(*(read.touch - centre).T), disc, rtol=1e-12)


def test_concentric_disc_never_moves_the_roller() -> None:
    read = read_outline(
        eccentric(20 * MM, 0.0), 40 * MM, 20 * MM, 4 * MM, 0.6, 1.0, np.linspace(0.0, 6.0, 40)
    )
    np.testing.assert_allclose(read.psi, read.psi[0], atol=1e-13)


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_law_to_polygon_to_law(plate: Plate) -> None:
    """1e-5 rad with chords that miss the curve by a micrometre."""
    theta = np.linspace(0.0, FLANK, 201)
    read = read_outline(plate.outline(1e-6), *plate.geometry, theta)
    np.testing.assert_allclose(read.psi, plate.law(theta).psi, atol=1e-5)
    assert (read.contacts == 1).all()
    assert read.missing.size == 0
    assert read.doubtful.size == 0


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_contacts_lie_on_the_flank_with_its_pressure_angle(plate: Plate) -> None:
    theta = np.linspace(0.0, FLANK, 60)
    read = read_outline(plate.outline(1e-7), *plate.geometry, theta)
    state = plate.law(theta)
    a, l, r, sense = plate.rocker
    x, y = contact.outline(theta, state.psi, state.dpsi, a, l, sense, r)
    np.testing.assert_allclose(read.touch, np.stack([x, y], axis=-1), atol=1e-6)
    np.testing.assert_allclose(
        read.alpha, contact.pressure_angle(state.psi, state.dpsi, a, l, sense), atol=2e-4
    )


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_roller_stands_off_the_polygon_by_its_radius(plate: Plate) -> None:
    """Shapely's distance to the whole polygon, which knows neither law nor envelope."""
    outline = plate.outline(1e-6)
    theta = np.linspace(0.0, FLANK, 25)
    read = read_outline(outline, *plate.geometry, theta)
    metal = shapely.Polygon(outline)
    away = [metal.distance(roller(plate, at, angle)) for at, angle in zip(theta, read.psi, strict=True)]
    np.testing.assert_allclose(away, plate.roller_radius, atol=1e-6)


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
def test_second_road_offsets_the_polygon_and_cuts_it_with_the_rockers_circle(plate: Plate) -> None:
    """Shapely's buffer of the polygon against the circle about the turned rocker pivot; it misses by the chords."""
    outline = plate.outline(2e-8)
    pitch = shapely.Polygon(outline).buffer(plate.roller_radius, quad_segs=720).exterior
    theta = np.linspace(0.0, FLANK, 9)
    read = read_outline(outline, *plate.geometry, theta)
    angles = np.linspace(0.05, 2.5, 20001)
    for at, psi in zip(theta, read.psi, strict=True):
        a, l = plate.centre_distance, plate.arm
        path = np.stack([a - l * np.cos(angles), l * np.sin(angles)], axis=-1)
        crossing = pitch.intersection(shapely.LineString(turned_points(path, -plate.sense * at)))
        x, y = turned_points(shapely.get_coordinates(crossing), plate.sense * at).T
        assert np.arctan2(y, a - x).max() == pytest.approx(psi, abs=3e-6)


def test_flat_face_needs_no_points_of_its_own() -> None:
    """A bar 30 mm wide, its top at 4 mm: the roller centre stands at 8 mm, sin psi = 8/20."""
    block = np.array([[-15, -5], [15, -5], [30, -5], [30, 4], [-15, 4]]) * MM
    read = read_outline(block, 40 * MM, 20 * MM, 4 * MM, 0.4, 1.0, np.array([0.0]))
    assert read.psi[0] == pytest.approx(np.arcsin(8 / 20), abs=1e-7)
    assert read.touch[0] == pytest.approx([40 * MM - np.sqrt(20**2 - 8**2) * MM, 4 * MM], abs=1e-7)


def test_corner_is_a_corner() -> None:
    """A square whose corner at (18, 9) mm carries the roller: 18.. from the pivot, by the law of cosines."""
    block = np.array([[-10, -9], [18, -9], [18, 9], [-10, 9]]) * MM
    read = read_outline(block, 40 * MM, 20 * MM, 6 * MM, 0.4, 1.0, np.array([0.0]))
    away = np.hypot(22.0, 9.0)
    expected = np.arctan2(9, 22) + np.arccos((away**2 + 20**2 - 6**2) / (2 * away * 20))
    assert read.psi[0] == pytest.approx(expected, abs=1e-12)
    assert read.touch[0] == pytest.approx([18 * MM, 9 * MM], abs=1e-12)


def test_notch_smaller_than_the_roller_is_bridged() -> None:
    """Two walls of a V hold the roller off its foot: as far as shapely's distance to the whole block says."""
    depth = 3.0
    wide = depth * np.tan(60 * RADIANS)
    top = 6.0
    middle = 22.0
    block = np.array(
        [
            [-10, -8],
            [35, -8],
            [35, top],
            [middle + wide, top],
            [middle, top - depth],
            [middle - wide, top],
            [-10, top],
        ]
    )
    metal = shapely.Polygon(block * MM)
    plate = Plate(rise().curve, 1.0, 0.5)
    theta = np.linspace(-0.05, 0.05, 11)
    read = read_outline(block * MM, *plate.geometry, theta)
    for at, psi in zip(theta, read.psi, strict=True):
        assert metal.distance(roller(plate, at, psi)) == pytest.approx(plate.roller_radius, abs=1e-8)
        assert metal.distance(roller(plate, at, psi + 1e-4)) > plate.roller_radius
        assert metal.distance(roller(plate, at, psi - 1e-4)) < plate.roller_radius


def test_lever_angles_without_metal_are_told() -> None:
    """A small disc about the pivot lies out of the rocker's reach; half a disc is within it half of the way."""
    small = read_outline(eccentric(9 * MM, 0.0), 40 * MM, 20 * MM, 4 * MM, 0.6, 1.0, np.array([0.0, 1.0]))
    assert np.isnan(small.psi).all()
    assert small.missing == pytest.approx([0.0, 1.0])
    outline = eccentric(12 * MM, 10 * MM)
    theta = np.array([0.0, np.pi])
    one_side = read_outline(outline, 40 * MM, 20 * MM, 4 * MM, 0.6, 1.0, theta)
    assert np.isnan(one_side.psi).tolist() == [False, True]
    assert one_side.missing == pytest.approx([np.pi])
    assert np.isnan(one_side.touch[1]).all()


def pocketed() -> FloatArray:
    """A block with an arm over it: the roller can rest on the block, and on the arm."""
    return np.array([[-10, -8], [35, -8], [35, 2], [-4, 2], [-4, 15], [35, 15], [35, 17], [-10, 17]]) * MM


def test_two_places_to_rest_are_told_and_the_rest_angle_picks() -> None:
    """Roller centre at 6 mm or at 21 mm above the pivots, arm 24 mm: sin psi = 6/24 or 21/24."""
    theta = np.array([0.0])
    low, high = np.arcsin(6 / 24), np.arcsin(21 / 24)
    for rest, expected in ((low + 0.1, low), (high + 0.1, high)):
        read = read_outline(pocketed(), 40 * MM, 24 * MM, 4 * MM, rest, 1.0, theta)
        assert read.contacts.tolist() == [2]
        assert read.doubtful == pytest.approx([0.0])
        assert read.psi[0] == pytest.approx(expected, abs=1e-7)


def test_where_two_places_are_possible_the_branch_of_the_rest_angle_is_followed() -> None:
    """On the block's top, turned by theta: l sin(psi + theta) = 6 + a sin(theta), until the arm is out of reach."""
    theta = np.linspace(0.0, 0.4, 21)
    read = read_outline(pocketed(), 40 * MM, 24 * MM, 4 * MM, 0.25, 1.0, theta)
    np.testing.assert_allclose(read.psi, np.arcsin((6 + 40 * np.sin(theta)) / 24) - theta, atol=1e-7)
    assert set(read.contacts.tolist()) == {1, 2}
    assert 0.0 in read.doubtful


def test_order_of_the_points_does_not_matter() -> None:
    plate = rise()
    theta = np.linspace(0.0, FLANK, 20)
    outline = plate.outline()
    read = read_outline(outline, *plate.geometry, theta)
    back = read_outline(np.roll(outline[::-1], 37, axis=0), *plate.geometry, theta)
    np.testing.assert_allclose(back.psi, read.psi, atol=1e-14)
    assert shapely.LinearRing(counter_clockwise(outline)).is_ccw
    assert shapely.LinearRing(counter_clockwise(outline[::-1])).is_ccw


def test_densified_keeps_the_points_and_the_area() -> None:
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    dense = densified(square, 0.5, 0.3)
    assert len(dense) == 16
    assert all((dense == point).all(axis=-1).any() for point in square)
    assert shapely.Polygon(dense).area == pytest.approx(1.0, abs=1e-15)
    np.testing.assert_array_equal(densified(square, 1.0, 0.1), square)


@pytest.mark.parametrize("plate", PLATES, ids=NAMES)
@pytest.mark.parametrize("angle", [0.0, 1.9, -2.8])
def test_clocking_finds_the_turn_back(plate: Plate, angle: float) -> None:
    theta = np.linspace(0.0, FLANK, 27)
    laid = turned_points(plate.outline(1e-7), angle)
    turn, left = clocking(laid, theta, plate.law(theta).psi, *plate.rocker)
    assert turn == pytest.approx(-angle, abs=1e-6)
    assert left < 1e-6


def test_clocking_of_metal_that_is_too_small_finds_nothing() -> None:
    theta = np.linspace(0.0, FLANK, 9)
    plate = rise()
    _, left = clocking(eccentric(9 * MM, 0.0), theta, plate.law(theta).psi, *plate.rocker)
    assert np.isnan(left)


def test_rest_face_and_stop_face_of_a_tangent_plate() -> None:
    """Tangents from (30, 5) and (22, 14) mm to a hub of 11 mm: the normal looks acos(11/d) beside the point."""
    ends = np.array([[30.0, 5.0], [22.0, 14.0]]) * MM
    bearing, away = np.arctan2(ends[:, 1], ends[:, 0]), np.hypot(*ends.T)
    normals = bearing + np.array([-1, 1]) * np.arccos(HUB / away)
    arc = np.linspace(normals[1], normals[0] + 2 * np.pi, 400)
    outline = np.concatenate([ends, HUB * np.stack([np.cos(arc), np.sin(arc)], axis=-1)])
    for turn in (0.0, 2.5, -1.0):
        laid = turned_points(outline, turn)
        for way, normal in ((1.0, normals[0]), (-1.0, normals[1])):
            off = face_angle(laid, way) - normal - turn
            assert (off + np.pi) % (2 * np.pi) - np.pi == pytest.approx(0.0, abs=2e-3)
