"""Described cams as metal: sizes as typed, holes that stay with the lever, and room for the roller all the way."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.interpolate import make_interp_spline

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.cams import BrakeCam
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Choice, fitted, mechanism
from pullcurve.pull.plate import CHORD, FLANK_STATIONS, Metal, cam_metal, law_metal, rocker_of
from tests.pull.example import described, turning_job, whole
from tests.pull.example import rocker_of as typed_rocker
from tests.studies import shop

DEGREE = np.pi / 180
JOBS = {"opposite": whole, "same": turning_job}
KINDS = ("brake", "clutch", "assist")

both = pytest.mark.parametrize("turns", JOBS)
kinds = pytest.mark.parametrize("kind", KINDS)


@cache
def metal(turns: str, kind: str, chord: float = CHORD) -> Metal:
    """A fitted cam of the example."""
    return cam_metal(JOBS[turns](), kind, chord=chord)


def plated(**plate: Any) -> Job:
    """The example with a plate for its brake cam as typed."""
    typed = described()
    typed_rocker(typed, "brake")["plate"] = plate
    return Job.model_validate(typed)


# As typed -------------------------------------------------------------------------------------------------------------


def test_sizes_are_those_typed() -> None:
    found = cam_metal(
        plated(
            bore_mm=12, bore_fit="H8", hub_radius_mm=12, thickness_mm=5, material="7075", cutter_radius_mm=2,
            lead_in_deg=1, run_out_deg=4, engraving="left hand",
        ),
        "brake",
    )  # fmt: skip
    sizes = (found.bore_radius, found.hub_radius, found.thickness, found.cutter_radius, found.roller_radius)
    assert sizes == pytest.approx((0.006, 0.012, 0.005, 0.002, 0.004))
    assert (found.material, found.bore_fit, found.engraving) == ("7075", "H8", "left hand")
    assert (found.centre_distance, found.arm, found.rest_angle) == pytest.approx((0.040, 0.020, 35 * DEGREE))
    assert found.theta[[0, -1]] == pytest.approx([-1 * DEGREE, found.rest_end + 4 * DEGREE])


@both
@kinds
def test_cam_is_known_by_what_it_is(turns: str, kind: str) -> None:
    found = metal(turns, kind)
    assert found.drives == kind
    assert found.name == fitted(JOBS[turns]()).of(kind)[0].id == found.engraving
    assert found.sense == {"opposite": 1.0, "same": -1.0}[turns]


def test_rocker_is_found_by_what_it_drives() -> None:
    job = whole()
    for kind, row in (("brake", 0), ("clutch", 1), ("assist", 1)):
        found, rocker = rocker_of(job, kind)
        assert (found, rocker.drives) == (row, kind)


def test_another_cam_and_another_law_take_the_place_of_the_fitted_one() -> None:
    job = whole()
    cam = BrakeCam(reach_deg=4, take_up_mm=0.3, stroke_mm=8)
    found = cam_metal(job, "brake", cam)
    assert found.name == cam.id
    lever = mechanism(job, Choice(brake=(cam,))).levers[0]
    same = law_metal(lever, "brake", rocker_of(job, "brake")[1].plate, "drawn")
    np.testing.assert_array_equal(same.outline, found.outline)
    assert same.name == same.engraving == "drawn"
    # A reach takes its angle off the travel: nothing else ends it here.
    assert found.rest_end == pytest.approx(metal("opposite", "brake").rest_end - 4 * DEGREE)


@both
@pytest.mark.parametrize("reach", [0.0, 6.0])
def test_holes_stay_with_the_lever(turns: str, reach: float) -> None:
    """A reach rests the lever further in: with it turn the holes, by as much and the way that the cam turns."""
    typed = described()
    holes = [{"radius_mm": 18, "angle_deg": -20, "diameter_mm": 3}]
    typed_rocker(typed, "brake").update(plate={"holes": holes}, turns=turns)
    job = Job.model_validate(typed)
    found = cam_metal(job, "brake", BrakeCam(reach_deg=reach, take_up_mm=0, stroke_mm=7.5))
    ((x, y, radius),) = found.holes
    turned = -20 + (reach if turns == "opposite" else -reach)
    assert complex(x, y) == pytest.approx(0.018 * np.exp(1j * turned * DEGREE))
    assert radius == pytest.approx(0.0015)


# The flank ------------------------------------------------------------------------------------------------------------


@both
@kinds
def test_curvature_is_that_of_the_points(turns: str, kind: str) -> None:
    """By a spline through the points of the flank, metal at its right or left."""
    found = metal(turns, kind)
    curve = make_interp_spline(found.theta, found.flank, k=5)
    first, second = curve.derivative(1)(found.theta), curve.derivative(2)(found.theta)
    bend = (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / np.hypot(*first.T) ** 3
    inner = slice(20, -20)
    # Where the third derivative of the law jumps the spline rings a little.
    np.testing.assert_allclose(-found.sense * bend[inner], found.curvature[inner], rtol=5e-3, atol=0.5)


@both
@kinds
def test_roller_and_cutter_keep_their_distance_to_the_flank(turns: str, kind: str) -> None:
    """Every point of the flank: exactly r from its own roller, and never less than r from any other."""
    found = metal(turns, kind)
    np.testing.assert_allclose(np.hypot(*(found.pitch - found.flank).T), found.roller_radius, rtol=1e-12)
    np.testing.assert_allclose(np.hypot(*(found.cutter - found.flank).T), found.cutter_radius, rtol=1e-12)
    away = np.hypot(*(found.flank[:, None] - found.pitch[None]).transpose(2, 0, 1))
    assert away.min() >= found.roller_radius * (1 - 1e-12)
    off = np.hypot(*(found.flank[:, None] - found.cutter[None]).transpose(2, 0, 1))
    assert off.min() >= found.cutter_radius * (1 - 1e-12)


@both
@kinds
def test_stations_follow_the_chord_error(turns: str, kind: str) -> None:
    known = metal(turns, kind)
    fine = metal(turns, kind, 1e-9)
    assert known.theta.size >= FLANK_STATIONS and fine.theta.size > 1.2 * FLANK_STATIONS
    for found, chord in ((known, CHORD), (fine, 1e-9)):
        steps = np.diff(found.theta)
        np.testing.assert_allclose(steps, steps[0], rtol=1e-9)
        middle = shapely.points(between(found))
        assert shapely.distance(shapely.LineString(found.flank), middle).max() <= chord


def between(found: Metal) -> FloatArray:
    """Points of the true flank halfway between the stations."""
    curve = make_interp_spline(found.theta, found.flank, k=5)
    points: FloatArray = curve((found.theta[1:] + found.theta[:-1]) / 2)
    return points


def test_a_coarse_chord_error_keeps_the_fewest_stations() -> None:
    assert metal("opposite", "brake", 1e-3).theta.size == FLANK_STATIONS


# The whole part -------------------------------------------------------------------------------------------------------


def clearance(found: Metal) -> FloatArray:
    """How far the whole outline stands from the roller's centre at the angles of the travel, less the radius."""
    used = (found.theta >= -1e-12) & (found.theta <= found.rest_end + 1e-12)
    ring = shapely.LinearRing(found.outline)
    shapely.prepare(ring)
    assert not shapely.contains(shapely.Polygon(found.outline), shapely.points(found.pitch[used])).any()
    away: FloatArray = shapely.distance(ring, shapely.points(found.pitch[used])) - found.roller_radius
    return away


@both
@kinds
def test_outline_is_a_plate_with_bore_hub_and_flank(turns: str, kind: str) -> None:
    found = metal(turns, kind)
    plate = shapely.Polygon(found.outline)
    assert plate.is_valid and plate.exterior.is_ccw
    assert plate.contains(shapely.Point(0, 0).buffer(found.hub_radius - 1.01 * CHORD, quad_segs=64))
    assert plate.contains(shapely.Point(0, 0).buffer(found.bore_radius))
    first, last = found.working
    np.testing.assert_array_equal(found.outline[first : last + 1][:: int(-found.sense)], found.flank)


@both
@kinds
def test_roller_touches_the_outline_and_nothing_lifts_it(turns: str, kind: str) -> None:
    room = clearance(metal(turns, kind))
    # On a hollow chords stand out of the curve, on a round they stand back.
    assert room.min() >= -CHORD and room.max() <= CHORD


RACKS = [
    (name, kind, place)
    for name, kind in (
        ("enduro-300", "brake"), ("enduro-300", "clutch"), ("enduro-300", "assist"), ("trials-280", "brake"),
        ("motocross-450", "brake"), ("electric", "brake"),
    )
    for place in np.random.default_rng(3).choice(16, 8, replace=False).tolist()
]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "place"), RACKS)
def test_no_cam_of_a_rack_lifts_its_roller(name: str, kind: str, place: int) -> None:
    """Cams taken at random, a sixteenth of every rack apart; the last one is the strongest."""
    job = shop.known(f"{name}.toml")
    cams = getattr(job.rack, f"{kind}_cams")
    found = cam_metal(job, kind, cams[(len(cams) - 1) * (place + 1) // 16])
    room = clearance(found)
    assert shapely.Polygon(found.outline).is_valid
    assert room.min() >= -CHORD and room.max() <= CHORD


@pytest.mark.parametrize("reach", [0, 2, 8])
def test_strongest_early_law_stands_on_its_flank_at_rest(reach: int) -> None:
    """Take-up 0.6 mm on a stroke of 9 mm: between plain tangents the rest face would lift the roller by 2 to 6 um."""
    cam = BrakeCam(reach_deg=reach, take_up_mm=0.6, stroke_mm=9)
    found = cam_metal(shop.known("electric.toml"), "brake", cam)
    rest = shapely.Point(found.pitch[np.argmin(np.abs(found.theta))])
    start = found.flank[0]
    # The plain tangent by a search for the foot, with no formula in common.
    angles = np.linspace(0.0, np.pi, 200_001)
    feet = found.hub_radius * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    foot = feet[np.argmin(np.abs(np.sum((start - feet) * feet, axis=-1)))]
    assert shapely.LineString([start, foot]).distance(rest) < found.roller_radius - 2e-6
    assert np.abs(clearance(found)[0]) < 1e-9 or clearance(found)[0] > 0
    assert clearance(found).min() > -1e-9


def test_undercut_cam_takes_the_flank_away() -> None:
    """The other side of the property: a roller too large for its path cuts into what it ran on."""
    known = metal("opposite", "brake")
    path = shapely.LineString(known.pitch)
    normal = (known.pitch - known.flank) / known.roller_radius
    large = 1.2 * (1.0 / (known.curvature / (1.0 + known.curvature * known.roller_radius)).max())
    cut = replace(known, roller_radius=large, flank=known.pitch - large * normal)
    assert shapely.distance(path, shapely.points(cut.flank)).min() < large - 1e-5
