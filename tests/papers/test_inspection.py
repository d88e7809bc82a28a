"""Inspection tables against the polygon: rays, offsets, and rollers on their rockers."""

import csv
import math
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from pullcurve.papers.inspection import Station, _band, flank_table, profile_table, stations
from tests.papers.metals import FINE, NAMES, metal

TOLERANCE = 2e-5
MM = 1e3


def rows_of(text: str) -> list[dict[str, str]]:
    """Rows of a table, its heading left out."""
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


@cache
def profile(name: str) -> list[dict[str, str]]:
    """The table of the outline."""
    return rows_of(profile_table(metal(name), TOLERANCE))


@cache
def polygon(name: str, offset_mm: float = 0.0) -> shapely.Polygon:
    """Outline with chords a thousand times finer than those of the cut files, grown by an offset, mm."""
    whole = shapely.Polygon(MM * metal(name, FINE).outline)
    return whole.buffer(offset_mm, join_style="mitre", quad_segs=64) if offset_mm else whole


def leaves(name: str, degree: float, offset_mm: float = 0.0) -> float:
    """Where a ray leaves the polygon, by intersection of a long line with its area, mm."""
    angle = math.radians(degree)
    ray = shapely.LineString([(0.0, 0.0), (200.0 * math.cos(angle), 200.0 * math.sin(angle))])
    met = shapely.get_coordinates(polygon(name, offset_mm).boundary.intersection(ray))
    return float(np.hypot(met[:, 0], met[:, 1]).max())


# Outline ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_degree_once(name: str) -> None:
    assert [float(row["cam_angle_deg"]) for row in profile(name)] == list(range(360))


@pytest.mark.parametrize("name", NAMES)
def test_radius_is_where_the_ray_leaves_the_polygon(name: str) -> None:
    # Four decimals are printed: half of the last digit, and the polygon's own chord error, stretched on steep faces.
    for row in profile(name):
        assert float(row["radius_mm"]) == pytest.approx(leaves(name, float(row["cam_angle_deg"])), abs=2e-4)


@pytest.mark.parametrize("name", NAMES)
def test_polar_and_cartesian_are_the_same_point(name: str) -> None:
    for row in profile(name):
        point = float(row["x_mm"]) + 1j * float(row["y_mm"])
        angle = math.radians(float(row["cam_angle_deg"]))
        assert point == pytest.approx(
            float(row["radius_mm"]) * complex(math.cos(angle), math.sin(angle)), abs=2e-4
        )


@pytest.mark.parametrize("name", NAMES)
def test_tolerance_of_the_radius_is_that_of_a_grown_outline(name: str) -> None:
    flank = [row for row in profile(name) if row["part"] == "flank"]
    assert len(flank) > 15
    # At the flank's corners the grown outline has a corner of its own: one row at each end is left out.
    for row in flank[1:-1]:
        degree = float(row["cam_angle_deg"])
        assert float(row["profile_tolerance_mm"]) == pytest.approx(MM * TOLERANCE)
        for key, sign in (("radius_most_mm", 1.0), ("radius_least_mm", -1.0)):
            assert float(row[key]) == pytest.approx(leaves(name, degree, sign * MM * TOLERANCE), abs=3e-4)


@pytest.mark.parametrize("name", NAMES)
def test_parts_follow_each_other_once_round(name: str) -> None:
    parts = [row["part"] for row in profile(name)]
    changes = sum(a != b for a, b in pairwise([*parts, parts[0]]))
    assert changes == 4  # flank, face, hub, face
    hub = [row for row in profile(name) if row["part"] == "hub"]
    assert {row["radius_mm"] for row in hub} == {f"{MM * metal(name).hub_radius:.4f}"}
    assert {row["radius_least_mm"] for row in profile(name) if row["part"] != "flank"} == {""}


def test_finer_steps_find_the_same_points() -> None:
    coarse = {one.angle_deg: one for one in stations(metal("brake"), 5.0)}
    fine = {one.angle_deg: one for one in stations(metal("brake"), 0.5)}
    assert len(fine) == 720
    assert all(fine[degree] == one for degree, one in coarse.items())


def test_face_too_steep_for_a_radius_has_no_tolerance_of_it() -> None:
    assert Station(0.0, "flank", 30.0, 0.0, 0.19).radial(0.02) is None
    assert Station(0.0, "flank", 30.0, 0.0, 0.5).radial(0.02) == pytest.approx(0.04)


def test_steep_place_keeps_its_profile_tolerance() -> None:
    assert _band(Station(0.0, "flank", 30.0, 0.0, 0.19), 0.02) == (0.02, None, None, None)


# Flank ------------------------------------------------------------------------------------------------------


@cache
def flank(name: str) -> list[dict[str, float]]:
    """The table of the flank as numbers."""
    return [
        {key: float(value) for key, value in row.items()}
        for row in rows_of(flank_table(metal(name), TOLERANCE))
    ]


@pytest.mark.parametrize("name", NAMES)
def test_roller_touches_the_metal_at_the_contact_alone(name: str) -> None:
    known = metal(name)
    for row in flank(name):
        contact = np.array([row["x_mm"], row["y_mm"]])
        angle = math.radians(row["roller_centre_angle_deg"])
        centre = row["roller_centre_radius_mm"] * np.array([math.cos(angle), math.sin(angle)])
        radius = MM * known.roller_radius
        assert math.dist(contact, centre) == pytest.approx(radius, abs=2e-4)
        assert (centre - contact) / radius == pytest.approx([row["normal_x"], row["normal_y"]], abs=1e-4)
        assert polygon(name).boundary.distance(shapely.Point(contact)) < 2e-4
        if row["lever_angle_deg"] >= 0.0:  # before its rest no roller has to clear the rest face
            assert polygon(name).distance(shapely.Point(centre)) == pytest.approx(radius, abs=2e-4)


@pytest.mark.parametrize("name", NAMES)
def test_roller_stands_on_its_rocker(name: str) -> None:
    """Seen from the cam, the rocker's pivot turns back round the bore; the roller keeps its arm's length from it."""
    known = metal(name)
    for row in flank(name):
        turned = -known.sense * math.radians(row["lever_angle_deg"])
        pivot = MM * known.centre_distance * np.array([math.cos(turned), math.sin(turned)])
        angle = math.radians(row["roller_centre_angle_deg"])
        centre = row["roller_centre_radius_mm"] * np.array([math.cos(angle), math.sin(angle)])
        arm = centre - pivot
        assert math.hypot(*arm) == pytest.approx(MM * known.arm, abs=2e-4)
        psi = math.atan2(np.cross([*-pivot, 0.0], [*arm, 0.0])[2], float(-pivot @ arm))
        assert abs(psi) == pytest.approx(known.rest_angle + math.radians(row["rocker_turn_deg"]), abs=2e-5)


@pytest.mark.parametrize("name", NAMES)
def test_flank_by_whole_degrees_of_the_lever(name: str) -> None:
    degrees = [row["lever_angle_deg"] for row in flank(name)]
    low, high = np.rad2deg(metal(name).theta[[0, -1]])
    assert degrees == list(range(math.ceil(low - 1e-9), math.floor(high + 1e-9) + 1))
    at_rest = next(row for row in flank(name) if row["lever_angle_deg"] == 0.0)
    assert at_rest["rocker_turn_deg"] == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("table", [profile_table, flank_table])
def test_table_says_what_it_is(table: object) -> None:
    assert callable(table)
    text = table(metal("brake"), TOLERANCE)
    heading = [line for line in text.splitlines() if line.startswith("#")]
    assert heading[0].startswith("# brake-in0-tu0.0-st7.5: ")
    assert "mm and degrees" in heading[1]
    assert "+-0.02 mm" in heading[2] and "roller radius 4 mm" in heading[2]
    assert text.isascii() and text.endswith("\n") and "\r" not in text
    assert "-0.0000" not in text
