"""The bench's pose table: geometry by other means than the program's, forces against statics and against the pull."""

import json
from functools import cache
from typing import Any

import numpy as np
import pytest
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.posing import POSES, poses_record
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import mechanism
from pullcurve.verbs.asking import Pulled, pull_levers
from tests.pull.example import JOBS, described, rocker_of, whole

ON_THE_FLANK = 0.01
"""How far a contact point may lie off the drawn outline [mm]."""

ROUNDED = 2.0e-4
"""What two coordinates rounded to a ten-thousandth may be apart [mm]."""

TOUCHING = 0.05
"""What is drawn as touching may be apart or overlap: outlines drop points that no eye would miss [mm]."""

Record = dict[str, Any]


@cache
def pulled(name: str) -> Pulled:
    """One of the example jobs, pulled at the stations of the pose table."""
    return pull_levers(JOBS[name](), stations=POSES)


@cache
def poses(name: str, row: int) -> Record:
    """The pose table of one of its levers."""
    known = pulled(name)
    return poses_record(known.job, row, known.mechanism, known.pull.levers[row])


CASES = [(name, row) for name, job in JOBS.items() for row in range(len(job().unit.levers))]
ROCKERS = [(name, row, place) for name, row in CASES for place in range(len(poses(name, row)["rockers"]))]
each_lever = pytest.mark.parametrize(("name", "row"), CASES)
each_rocker = pytest.mark.parametrize(("name", "row", "place"), ROCKERS)


def some(record: Record) -> list[int]:
    """A few rows of the table, first and last among them."""
    return [int(place) for place in np.linspace(0, len(record["poses"]["theta_deg"]) - 1, 9)]


def apart(one: list[float] | FloatArray, other: list[float] | FloatArray) -> FloatArray:
    """Distances of points (N, 2) [mm]."""
    return np.asarray(np.hypot(*(np.asarray(one) - np.asarray(other)).T))


def cam_at(record: Record, rocker: Record, pose: int) -> Polygon:
    """The cam turned about the lever pivot with the lever."""
    angle = record["poses"]["theta_deg"][pose]
    return rotate(Polygon(rocker["cam"]["outline_mm"]), angle, origin=(0.0, 0.0))


# The table --------------------------------------------------------------------------------------------------


@each_lever
def test_is_plain_data_without_holes_where_there_must_be_none(name: str, row: int) -> None:
    record = poses(name, row)
    told = json.loads(json.dumps(record, allow_nan=False))
    assert told == record
    counts = {len(column) for column in record["poses"].values()}
    counts |= {len(column) for rocker in record["rockers"] for column in rocker["poses"].values()}
    assert len(counts) == 1
    assert POSES <= counts.pop() <= POSES + 5
    assert np.all(np.diff(record["poses"]["theta_deg"]) > 0.0)


@each_lever
def test_forces_are_those_of_the_pull(name: str, row: int) -> None:
    """The pull verb has the same stations; the table has the events besides."""
    record, lever = poses(name, row), pulled(name).pull.levers[row]
    theta = np.asarray(record["poses"]["theta_deg"])
    stations = np.degrees(lever.curves.theta)
    rows = [int(np.argmin(np.abs(theta - one))) for one in stations]
    assert np.allclose(theta[rows], stations, atol=1e-4)
    for key, known in (("pull_newton", lever.curves.pull), ("release_newton", lever.curves.release)):
        assert np.allclose(np.asarray(record["poses"][key])[rows], known, atol=1e-3)
    for rocker in record["rockers"]:
        curves = lever.curves.rocker(rocker["drives"])
        assert curves is not None
        contact = np.asarray(rocker["poses"]["contact_pull_newton"])[rows]
        assert np.allclose(contact, curves.contact_pull, atol=1e-3)
        assert np.allclose(
            np.hypot(*np.transpose(rocker["poses"]["contact_newton"]))[rows], contact, atol=2e-3
        )


@each_lever
def test_events_are_rows_of_the_table(name: str, row: int) -> None:
    """An event is exact, not interpolated: its force stands in the table at its own lever angle."""
    record = poses(name, row)
    for event in record["events"]:
        if event["theta_deg"] is not None:
            place = record["poses"]["theta_deg"].index(event["theta_deg"])
            assert record["poses"]["pull_newton"][place] == pytest.approx(event["pull_newton"], abs=1e-3)
            assert record["poses"]["gap_mm"][place] == pytest.approx(event["gap_mm"], abs=1e-3)


# Lever and hand ---------------------------------------------------------------------------------------------


@each_lever
def test_finger_goes_round_the_pivot_on_the_blade(name: str, row: int) -> None:
    record, unit = poses(name, row), pulled(name).job.unit
    part, table = unit.levers[row], record["poses"]
    finger = np.asarray(table["finger_mm"])
    assert np.allclose(np.hypot(*finger.T), part.finger_radius_mm, atol=ROUNDED)
    # Gap by its definition: from the grip's surface to the finger pad, at right angles to the grip.
    assert np.allclose(
        finger[:, 1] + unit.pivot_offset_mm - unit.grip_diameter_mm / 2.0, table["gap_mm"], atol=ROUNDED
    )
    travel = np.radians(table["theta_deg"]) * part.finger_radius_mm
    assert np.allclose(travel, table["travel_mm"], atol=ROUNDED)
    # The pull is at right angles to the arm of the finger and turns the lever counter-clockwise, toward the grip.
    push = np.asarray(table["push"])
    assert np.allclose(np.sum(push * finger, axis=-1), 0.0, atol=2e-3)
    assert np.all(finger[:, 0] * push[:, 1] - finger[:, 1] * push[:, 0] > 0.0)


@each_lever
def test_blade_carries_the_finger_and_ends_at_its_length(name: str, row: int) -> None:
    record, part = poses(name, row), pulled(name).job.unit.levers[row]
    blade = Polygon(record["lever"]["outline_mm"])
    assert blade.is_valid
    for pose in some(record):
        moved = rotate(blade, record["poses"]["theta_deg"][pose], origin=(0.0, 0.0))
        finger = Point(record["poses"]["finger_mm"][pose])
        assert moved.exterior.distance(finger) < TOUCHING
        push = np.asarray(record["poses"]["push"][pose])
        assert moved.contains(Point(np.asarray(finger.coords[0]) - push))
    far = max(np.hypot(x, y) for x, y in record["lever"]["outline_mm"])
    assert far == pytest.approx(part.length_mm, abs=1.0)


@each_lever
def test_travel_ends_where_the_gap_says(name: str, row: int) -> None:
    record = poses(name, row)
    last = record["poses"]["gap_mm"][-1]
    assert record["end"]["travel_mm"] == pytest.approx(record["poses"]["travel_mm"][-1], abs=ROUNDED)
    if record["end"]["by"] == "the lever's own stop":
        assert last >= record["end"]["gap_floor_mm"] - ROUNDED
    else:
        assert last == pytest.approx(record["end"]["gap_floor_mm"], abs=ROUNDED)


def test_fingers_stand_side_by_side_about_the_pad() -> None:
    """Index and middle pull: the pad is between them, and four fingers are as broad as the hand."""
    known = pulled("two levers")
    job, hand = known.job, poses("two levers", 0)["hand"]
    along = {finger["name"]: finger["along_mm"] for finger in hand["fingers"]}
    pulling = [finger["along_mm"] for finger in hand["fingers"] if finger["pulls"]]
    assert [finger["name"] for finger in hand["fingers"] if finger["pulls"]] == list(job.rider.brake_fingers)
    assert (min(pulling) + max(pulling)) / 2.0 == pytest.approx(job.unit.levers[0].finger_radius_mm, abs=1e-3)
    assert (along["little"] - along["index"]) * 4.0 / 3.0 == pytest.approx(
        job.rider.hand_breadth_mm, abs=2e-3
    )


def test_reach_is_read_off_the_gap() -> None:
    """Where the finger first holds the lever, the gap is the reach that is left; beyond the rest, all of it is."""
    record = poses("two levers", 1)
    table, reach = record["poses"], record["reach"]
    for name in ("touch", "hold"):
        most, travel = reach[f"{name}_gap_mm"], reach[f"{name}_travel_mm"]
        gap = float(np.interp(travel, table["travel_mm"], table["gap_mm"]))
        assert gap == pytest.approx(min(most, table["gap_mm"][0]), abs=0.01)


# Rocker, roller, cam ----------------------------------------------------------------------------------------


@each_rocker
def test_roller_goes_round_the_rocker_pivot(name: str, row: int, place: int) -> None:
    rocker = poses(name, row)["rockers"][place]
    assert np.allclose(apart(rocker["poses"]["roller_mm"], rocker["pivot_mm"]), rocker["arm_mm"], atol=1e-3)
    # The turn that the page gives the rocker brings the roller of the first pose to that of every other.
    first = Point(rocker["poses"]["roller_mm"][0])
    start = rocker["poses"]["turn_deg"][0]
    for pose in some(poses(name, row)):
        turned = rotate(first, rocker["poses"]["turn_deg"][pose] - start, origin=tuple(rocker["pivot_mm"]))
        assert turned.distance(Point(rocker["poses"]["roller_mm"][pose])) < 1e-3


@each_rocker
def test_pivots_are_as_far_apart_as_the_job_says(name: str, row: int, place: int) -> None:
    rocker = poses(name, row)["rockers"][place]
    part = next(one for one in pulled(name).job.unit.levers[row].rockers if one.drives == rocker["drives"])
    x, y = rocker["pivot_mm"]
    assert np.hypot(x, y) == pytest.approx(part.centre_distance_mm, abs=1e-3)
    # From above with the tip to the left, the bearing counts clockwise from the tip.
    assert np.degrees(np.arctan2(y, -x)) == pytest.approx(
        (part.bearing_deg + 180.0) % 360.0 - 180.0, abs=0.01
    )


@each_rocker
def test_contact_lies_on_the_turned_cam_and_the_roller_touches_it(name: str, row: int, place: int) -> None:
    record = poses(name, row)
    rocker = record["rockers"][place]
    for pose in some(record):
        cam = cam_at(record, rocker, pose)
        contact, centre = (Point(rocker["poses"][key][pose]) for key in ("contact_mm", "roller_mm"))
        assert cam.exterior.distance(contact) < ON_THE_FLANK
        assert contact.distance(centre) == pytest.approx(rocker["roller_radius_mm"], abs=1e-3)
        # Tangent: no point of the cam is nearer to the roller's centre than the contact.
        assert cam.distance(centre) == pytest.approx(rocker["roller_radius_mm"], abs=ON_THE_FLANK)


@each_rocker
def test_force_on_the_roller_leaves_the_normal_by_the_friction_of_its_pin(
    name: str, row: int, place: int
) -> None:
    """Friction circle of the roller's pin: tan(angle) = mu r_pin / r (statics, identity)."""
    record = poses(name, row)
    rocker = record["rockers"][place]
    part = next(one for one in pulled(name).job.unit.levers[row].rockers if one.drives == rocker["drives"])
    friction = np.arctan(part.roller_friction * part.roller_pin_radius_mm / part.roller_radius_mm)
    table = rocker["poses"]
    normal = np.asarray(table["roller_mm"]) - np.asarray(table["contact_mm"])
    force = np.asarray(table["contact_newton"])
    pressed = np.hypot(*force.T) > 5.0
    cross = normal[:, 0] * force[:, 1] - normal[:, 1] * force[:, 0]
    angle = np.abs(np.arctan2(cross, np.sum(normal * force, axis=-1)))[pressed]
    # The force is rounded to a thousandth of a newton, the normal to a ten-thousandth of a millimetre.
    assert np.allclose(angle, friction, atol=3e-4)


@pytest.mark.parametrize("turns", ["opposite", "same"])
def test_without_friction_finger_and_cams_hold_the_lever_in_balance(turns: str) -> None:
    """Moments about the lever pivot from the drawing's own points and forces: plane statics, by hand."""
    job = smooth_job(turns)
    known = pull_levers(job)
    for row, lever in enumerate(job.unit.levers):
        record = poses_record(job, row, known.mechanism, known.pull.levers[row])
        table = record["poses"]
        finger = moments(
            table["finger_mm"], np.asarray(table["push"]) * np.asarray(table["pull_newton"])[:, None]
        )
        cams = sum(
            moments(rocker["poses"]["contact_mm"], rocker["poses"]["contact_newton"])
            for rocker in record["rockers"]
        )
        spring = lever.spring_torque_newton_mm + lever.spring_rate_newton_mm_per_deg * np.asarray(
            table["theta_deg"]
        )
        assert np.allclose(finger, cams + spring, rtol=2e-4, atol=1.0)  # N mm; forces are rounded to 0.001 N


def moments(points: Any, forces: Any) -> FloatArray:
    """Moments about the lever pivot [N mm]."""
    (x, y), (fx, fy) = np.asarray(points).T, np.asarray(forces).T
    return np.asarray(x * fy - y * fx)


def smooth_job(turns: str) -> Job:
    """The example without any friction, its rockers turning against the cams or with them."""
    typed = described()
    typed["unit"]["pin_friction"] = 0.0
    typed["clutch_circuit"] |= {"seal_newton": 0.0, "seal_share": 0.0}
    for drives in ("brake", "clutch", "assist"):
        rocker = rocker_of(typed, drives)
        rocker |= {"pivot_friction": 0.0, "roller_friction": 0.0, "turns": turns}
        if "plunger" in rocker:
            rocker["plunger"] |= {"seal_newton": 0.0, "seal_share": 0.0}
    return Job.model_validate(typed)


# Loads ------------------------------------------------------------------------------------------------------


CYLINDERS = [
    (name, row, place) for name, row, place in ROCKERS if "cylinder" in poses(name, row)["rockers"][place]
]


@pytest.mark.parametrize(("name", "row", "place"), [case for case in CYLINDERS if case[0] != "pin"])
def test_pad_touches_the_plunger_that_it_has_pushed(name: str, row: int, place: int) -> None:
    """The pad, turned with the rocker, against the plunger, moved along its bore."""
    record = poses(name, row)
    rocker = record["rockers"][place]
    plunger = Polygon(rocker["cylinder"]["plunger_mm"][0])
    for pose in some(record):
        moved, stroke = (rocker["poses"][key][pose] for key in ("plunger_mm", "stroke_mm"))
        at = translate(plunger, *(moved * step for step in rocker["cylinder"]["way"]))
        turn = rocker["poses"]["turn_deg"][pose]
        body = rotate(Polygon(rocker["body_mm"]), turn, origin=tuple(rocker["pivot_mm"]))
        gap = rest_gap(name, row, rocker) - stroke + moved
        assert body.distance(at) == pytest.approx(gap, abs=TOUCHING)
        assert body.intersection(at).area < TOUCHING * 4.0


@pytest.mark.parametrize(("name", "row", "place"), [case for case in CYLINDERS if case[0] == "pin"])
def test_pin_goes_along_the_bore_as_far_as_the_stroke(name: str, row: int, place: int) -> None:
    """A pin on the rocker moves by b sin(turn) along the plunger's line (plane geometry)."""
    record = poses(name, row)
    rocker = record["rockers"][place]
    corners = np.asarray(rocker["cylinder"]["plunger_mm"][0])
    way = np.asarray(rocker["cylinder"]["way"])
    pin = Point(0.5 * (corners[0] + corners[3]) - way * (3.0 + rest_gap(name, row, rocker)))
    assert pin.distance(Point(rocker["pivot_mm"])) == pytest.approx(rocker["load_arm_mm"], abs=2e-3)
    for pose in some(record):
        turned = rotate(pin, rocker["poses"]["turn_deg"][pose], origin=tuple(rocker["pivot_mm"]))
        along = float(np.dot(np.asarray(turned.coords[0]) - np.asarray(pin.coords[0]), way))
        assert along == pytest.approx(rocker["poses"]["stroke_mm"][pose], abs=2e-3)


def rest_gap(name: str, row: int, rocker: Record) -> float:
    """Clearance between rocker and plunger at rest [mm]."""
    part = next(one for one in pulled(name).job.unit.levers[row].rockers if one.drives == rocker["drives"])
    assert part.plunger is not None
    return part.plunger.rest_gap_mm


def test_bore_and_stroke_are_to_scale() -> None:
    """The piston fills the bore, and has its whole stroke before the end of the cylinder."""
    known = pulled("two levers")
    rocker = poses("two levers", 0)["rockers"][0]
    plunger = known.job.unit.levers[0].rockers[0].plunger
    assert plunger is not None
    cylinder = rocker["cylinder"]
    piston = LineString(cylinder["plunger_mm"][1][:4])
    across = piston.coords[1], piston.coords[2]
    assert apart(*map(np.asarray, across)) == pytest.approx(plunger.bore_mm, abs=0.35)
    start, floor = map(np.asarray, cylinder["chamber_mm"])
    assert plunger.stroke_mm < float(np.hypot(*(floor - start))) < plunger.stroke_mm + 4.0


def test_a_spring_that_helps_lengthens() -> None:
    """The assist lets its spring down: its end moves away from the seat by b times the turn of the rocker."""
    record = poses("two levers", 1)
    rocker = next(one for one in record["rockers"] if one["drives"] == "assist")
    stroke = np.asarray(rocker["poses"]["stroke_mm"])
    turn = np.radians(np.abs(rocker["poses"]["turn_deg"]))
    assert np.all(stroke <= ROUNDED)
    assert np.allclose(-stroke, rocker["load_arm_mm"] * turn, atol=2e-3)


def test_holes_of_a_cam_turn_with_it_and_stay_in_the_metal() -> None:
    typed = described()
    rocker_of(typed, "brake")["plate"] = {"holes": [{"radius_mm": 18, "angle_deg": 8, "diameter_mm": 3}]}
    job = Job.model_validate(typed)
    known = pull_levers(job)
    cam = poses_record(job, 0, known.mechanism, known.pull.levers[0])["rockers"][0]["cam"]
    ((x, y, radius),) = cam["holes_mm"]
    assert np.hypot(x, y) == pytest.approx(18.0, abs=1e-3)
    assert radius == pytest.approx(1.5)
    assert Polygon(cam["outline_mm"]).contains(Point(x, y))


def test_a_lever_rests_further_in_by_its_reach() -> None:
    """Reach 4 degrees: the finger rests where that of reach 0 is after 4 degrees (definition)."""
    job = whole()
    assert job.fitted.brake is not None
    near = job.model_copy(
        update={
            "fitted": job.fitted.model_copy(
                update={"brake": job.fitted.brake.model_copy(update={"reach_deg": 4.0})}
            )
        }
    )
    far = job.model_copy(
        update={
            "fitted": job.fitted.model_copy(
                update={"brake": job.fitted.brake.model_copy(update={"reach_deg": 0.0})}
            )
        }
    )
    records = []
    for known in (near, far):
        there = pull_levers(known)
        records.append(poses_record(known, 0, mechanism(known), there.pull.levers[0])["poses"])
    reached, plain = records
    place = [np.interp(4.0, plain["theta_deg"], np.asarray(plain["finger_mm"])[:, axis]) for axis in (0, 1)]
    assert np.allclose(reached["finger_mm"][0], place, atol=0.002)
