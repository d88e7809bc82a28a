"""Closed outlines against exact figures: a belt round two circles, tangents by distance, room for the roller."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from pullcurve.mechanics import contact, plate
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import law, rise_curve

RADIANS = np.pi / 180
HUB, ROLLER, CHORD = 0.011, 0.004, 1e-6
A, L, REST = 0.040, 0.020, 35 * RADIANS

ways = st.sampled_from([1.0, -1.0])


def unit(angle: float) -> FloatArray:
    """Direction of an angle."""
    return np.array([np.cos(angle), np.sin(angle)])


def away(point: FloatArray, start: FloatArray, end: FloatArray) -> float:
    """Distance of a point from the straight line through two others."""
    along, offset = end - start, point - start
    return float(abs(along[0] * offset[1] - along[1] * offset[0]) / np.hypot(*along))


# Stations -------------------------------------------------------------------------------------------------------------


@given(st.floats(1e-3, 0.5), st.floats(0.05, 6.0), st.floats(1e-8, 1e-4))
def test_chords_of_an_arc_keep_their_error(radius: float, angle: float, error: float) -> None:
    """Exact sagitta R (1 - cos(half the step)); the formula is its leading term, which is never less."""
    assume(error < radius / 2)
    count = plate.stations_for(radius * angle, 1 / radius, error, 2)
    assert radius * (1 - np.cos(angle / (count - 1) / 2)) <= error
    if count > 3:  # and one step fewer would not do
        assert (radius * angle / (count - 2)) ** 2 / radius / 8 > error


def test_straight_line_needs_the_fewest_stations() -> None:
    assert plate.stations_for(0.1, 0.0, 1e-6, 721) == 721
    assert plate.stations_for(0.1, 100.0, 1e-6, 2) == 355  # 0.1 m in steps of 0.2828 mm


# Tangents -------------------------------------------------------------------------------------------------------------


@given(st.floats(0.0111, 0.1), st.floats(-3.1, 3.1), ways)
def test_tangent_touches_the_circle(distance: float, angle: float, way: float) -> None:
    point = distance * unit(angle)
    foot = HUB * unit(plate.tangent_angle(point, HUB, way))
    assert (point - foot) @ foot == pytest.approx(0.0, abs=1e-12)
    # Counter-clockwise of the point for +1.
    assert way * (point[0] * foot[1] - point[1] * foot[0]) > 0


def test_point_within_the_circle_stands_for_itself() -> None:
    assert plate.tangent_angle(np.array([0.0, 0.005]), HUB, 1.0) == pytest.approx(np.pi / 2)


# Faces ----------------------------------------------------------------------------------------------------------------


def corner(distance: float, lean: float, way: float) -> tuple[FloatArray, FloatArray, float]:
    """A flank's end so far from the pivot, the point before it, and the angle of the plain tangent's foot.

    The flank heads ``lean`` beyond the tangent, toward the hub for a positive one.
    """
    end = distance * unit(0.3)
    foot = plate.tangent_angle(end, HUB, way)
    straight = HUB * unit(foot) - end
    heading = np.arctan2(straight[1], straight[0]) + way * lean
    return end, end - 1e-4 * unit(heading), foot


@given(st.floats(0.015, 0.06), st.floats(-1.5, -1e-6), ways)
def test_face_of_a_sharp_corner_is_the_plain_tangent(distance: float, lean: float, way: float) -> None:
    end, before, foot = corner(distance, lean, way)
    knee, angle = plate.face(end, before, HUB, ROLLER, way)
    assert knee.shape == (0, 2)
    assert angle == foot


@given(st.floats(0.018, 0.06), st.floats(1e-3, 0.6), ways)
def test_face_of_a_hollow_corner_leaves_room_for_the_roller(distance: float, lean: float, way: float) -> None:
    """It goes on along the flank, then touches hub and roller: distances of both from the line of the face."""
    end, before, foot = corner(distance, lean, way)
    (knee,), angle = plate.face(end, before, HUB, ROLLER, way)
    onward = (end - before) / np.hypot(*(end - before))
    assert away(knee, before, end) < 1e-9 and (knee - end) @ onward > 0
    hub = HUB * unit(angle)
    assert away(np.zeros(2), knee, hub) == pytest.approx(HUB, rel=1e-9)
    # The roller that stands at the flank's end, on the side where no metal is.
    sides = [end + ROLLER * side * np.array([onward[1], -onward[0]]) for side in (1.0, -1.0)]
    roller = max(sides, key=lambda centre: way * float(np.cross([*onward, 0.0], [*(end - centre), 0.0])[2]))
    assert away(roller, knee, hub) == pytest.approx(ROLLER, rel=1e-9)
    # On the plain tangent the roller would stand: it cuts that line.
    assert shapely.LineString([end, HUB * unit(foot)]).distance(shapely.Point(roller)) < ROLLER


def test_end_within_the_hub_has_no_face() -> None:
    knee, angle = plate.face(np.array([0.008, 0.0]), np.array([0.009, 0.001]), HUB, ROLLER, 1.0)
    assert len(knee) == 0 and angle == 0.0


@pytest.mark.parametrize("lean", [0.0, 1e-12, -1e-12])
def test_face_that_goes_on_straight_has_no_knee(lean: float) -> None:
    assert len(plate.face(*corner(0.03, lean, 1.0)[:2], HUB, ROLLER, 1.0)[0]) == 0


# Outlines -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_flank_that_is_an_arc_gives_a_belt(way: float) -> None:
    """Belt round two circles: the arc of the small one ends where the outer tangents leave it (identity).

    Length 2 c cos(g) + R (pi + 2 g) + r (pi - 2 g) with sin g = (R - r)/c; area of two trapezoids and two sectors.
    """
    c, small = 0.025, 0.006
    g = float(np.arcsin((HUB - small) / c))
    angle = way * np.linspace(-(np.pi / 2 - g), np.pi / 2 - g, 2001)
    flank = np.array([c, 0.0]) + small * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    points, place = plate.closed_outline(flank, HUB, ROLLER, way, 1e-9)
    ring = shapely.Polygon(points)
    length = 2 * c * np.cos(g) + HUB * (np.pi + 2 * g) + small * (np.pi - 2 * g)
    area = c * np.cos(g) * (HUB + small) + HUB**2 * (np.pi / 2 + g) + small**2 * (np.pi / 2 - g)
    assert ring.length == pytest.approx(length, rel=1e-6)
    assert ring.area == pytest.approx(area, rel=1e-6)
    assert ring.exterior.is_ccw and ring.is_valid
    np.testing.assert_array_equal(points[place][:: int(way)], flank)


def swinging(
    sense: float, rise: float, take_up: float, lead: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Flank, path of the roller's centre and lever angles of a cam of lever size."""
    theta = np.linspace(-lead, 29 * RADIANS, 241)
    state = law(rise_curve(REST, rise, take_up, 26 * RADIANS), theta)
    cut, path = (
        np.stack(contact.outline(theta, state.psi, state.dpsi, A, L, sense, inward), axis=-1)
        for inward in (ROLLER, 0.0)
    )
    return cut, path, theta


def undercut(cut: FloatArray, path: FloatArray) -> bool:
    """Whether the roller takes away what it ran on: some point of the flank lies nearer to its path than its radius."""
    return bool(shapely.distance(shapely.LineString(path), shapely.points(cut)).min() < ROLLER - 1e-6)


laws = given(ways, st.floats(0.25, 0.6), st.floats(0.0, 0.04), st.floats(1 * RADIANS, 4 * RADIANS))


@laws
def test_outline_is_a_plate_round_its_hub(sense: float, rise: float, take_up: float, lead: float) -> None:
    flank, path, _ = swinging(sense, rise, take_up, lead)
    assume(not undercut(flank, path))
    points, place = plate.closed_outline(flank, HUB, ROLLER, -sense, CHORD)
    ring = shapely.Polygon(points)
    assert ring.is_valid and ring.exterior.is_ccw
    assert ring.contains(shapely.Point(0, 0).buffer(HUB - 1.01 * CHORD, quad_segs=64))
    np.testing.assert_array_equal(points[place][:: int(-sense)], flank)
    # What is no flank is hub, within the chord error, or one of two faces of one or two straight pieces.
    outside = np.delete(points, np.arange(place.start, place.stop), axis=0)
    hub = np.abs(np.hypot(*outside.T) - HUB) < 1e-12
    assert np.count_nonzero(~hub) <= 2
    arc = outside[hub]
    middle = np.hypot(*((arc[1:] + arc[:-1]) / 2).T)
    assert np.sum(middle < HUB - 1.0001 * CHORD) == 0


@laws
def test_no_face_lifts_the_roller(sense: float, rise: float, take_up: float, lead: float) -> None:
    """At rest and anywhere in the travel the roller stands on its flank and clear of all else."""
    flank, path, theta = swinging(sense, rise, take_up, lead)
    assume(not undercut(flank, path))
    points, _ = plate.closed_outline(flank, HUB, ROLLER, -sense, CHORD)
    ring = shapely.LinearRing(points)
    used = (theta >= 0.0) & (theta <= 26 * RADIANS)
    room = shapely.distance(ring, shapely.points(path[used]))
    # Where the flank is hollow its chords stand out of it, by no more than their sagitta.
    step = np.hypot(*np.diff(flank, axis=0).T).max()
    assert room.min() >= ROLLER - step**2 / ROLLER / 8


def test_strong_early_law_has_the_room_that_a_plain_tangent_denies() -> None:
    """0.6 mm of take-up and 9 mm of stroke on a load arm of 16 mm: a plain tangent would lift the roller at rest."""
    flank, path, theta = swinging(1.0, 9.0 / 16.0, 0.6 / 16.0, 2 * RADIANS)
    rest = shapely.Point(path[np.argmin(np.abs(theta))])
    plain = shapely.LineString([flank[0], HUB * unit(plate.tangent_angle(flank[0], HUB, 1.0))])
    assert plain.distance(rest) < ROLLER - 2e-6
    points, _ = plate.closed_outline(flank, HUB, ROLLER, -1.0, CHORD)
    assert shapely.LinearRing(points).distance(rest) >= ROLLER - 1e-9


def test_knee_is_counted_on_either_side_of_the_flank() -> None:
    """Mirror images: the flank stands at its place in both, and the outlines are mirror images as well."""
    flank, _, _ = swinging(1.0, 9.0 / 16.0, 0.6 / 16.0, 2 * RADIANS)
    points, place = plate.closed_outline(flank, HUB, ROLLER, -1.0, CHORD)
    mirrored, other = plate.closed_outline(flank * [1.0, -1.0], HUB, ROLLER, 1.0, CHORD)
    np.testing.assert_array_equal(points[place][::-1], flank)
    np.testing.assert_array_equal(mirrored[other], flank * [1.0, -1.0])
    assert len(points) == len(mirrored)
    one, two = shapely.Polygon(points), shapely.Polygon(mirrored * [1.0, -1.0])
    assert shapely.hausdorff_distance(one, two) < 1e-12
