"""The demo workshop: plausible machines, hands that differ, cams that can be cut, answers a technician would give."""

import re
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from pullcurve.parts import unit as parts_unit
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam, Fitted
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam, Choice, mechanism
from pullcurve.pull.shape import cam_shape
from pullcurve.pull.solve import travel_end
from pullcurve.studies.candidates import single
from pullcurve.studies.find import Found, find
from pullcurve.studies.swap import swaps
from pullcurve.units import to_si
from pullcurve.verbs.asking import Pulled, pull_levers, with_cams
from pullcurve.verbs.jobs import demo_job, demo_names
from tests.road.geometry import Floats, Metal, Plan, trace

NAMES = demo_names()
WITH_CLUTCH = [name for name in NAMES if name != "electric.toml"]
FINE = 1024


@cache
def job_of(name: str) -> Job:
    """A demo job, read once."""
    return demo_job(name)


@cache
def pulled(name: str) -> Pulled:
    """What is fitted, pulled at many stations."""
    return pull_levers(job_of(name), stations=FINE)


@cache
def answer(name: str) -> Found:
    """What is found, once."""
    return find(job_of(name), most=3)


@cache
def proposed(name: str) -> Pulled:
    """The best set, pulled at many stations."""
    job = job_of(name)
    return pull_levers(job, with_cams(job, answer(name).best), stations=FINE)


# Plausible --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_rear_wheel_locks_on_dry_ground_where_rear_wheels_do(name: str) -> None:
    """28 to 58 bar and 40 to 90 N with two fingers (common practice for a rear brake on a hand lever)."""
    assert job_of(name).rider.brake_fingers == ("index", "middle")
    brake = pulled(name).pull.brake
    assert brake is not None
    assert 28e5 <= float(brake.pressure_lock[0]) <= 58e5
    assert 40.0 <= float(brake.force_lock[0]) <= 90.0
    assert 8e-3 <= float(brake.travel_bite.item()) <= 18e-3


@pytest.mark.parametrize("name", NAMES)
def test_slippery_ground_locks_earlier(name: str) -> None:
    brake = pulled(name).pull.brake
    assert brake is not None
    surfaces = job_of(name).surfaces
    order = np.argsort([surface.grip for surface in surfaces])
    for values in (brake.pressure_lock, brake.force_lock):
        ranked = np.ravel(values)[order]
        assert all(less < more for less, more in pairwise(ranked))


@pytest.mark.parametrize("name", WITH_CLUTCH)
def test_clutch_is_as_heavy_as_clutches_are(name: str) -> None:
    """25 to 98 N: between a light lever and the heavy one of Conrad and Marklin 2014."""
    clutch = pulled(name).pull.clutch
    assert clutch is not None
    assert 25.0 <= clutch.force_peak.item() <= 98.0
    assert 2e-3 <= clutch.friction_zone.item() <= 15e-3
    assert clutch.gap_slip.item() > clutch.gap_free.item() > clutch.gap_clean.item()


@pytest.mark.parametrize("name", NAMES)
def test_what_is_fitted_is_felt_as_a_loop(name: str) -> None:
    for lever in pulled(name).pull.levers:
        assert np.all(lever.curves.release <= lever.curves.force)
        assert np.all(lever.curves.force <= lever.curves.pull)
        assert np.all(lever.curves.release_worn <= lever.curves.release)


def test_seven_machines_five_riders_and_the_range_of_hands() -> None:
    jobs = [job_of(name) for name in NAMES]
    assert len({job.motorcycle.name for job in jobs}) >= 7
    riders = {job.rider.need for job in jobs}
    assert len(riders) >= 5
    lengths = [job.rider.hand_length_mm for job in jobs]
    assert max(lengths) - min(lengths) >= 30.0
    assert {job.rider.sex for job in jobs} >= {"woman", "man"}


def test_riders_are_described_by_need_and_not_by_name() -> None:
    for name in NAMES:
        need = job_of(name).rider.need
        assert need[0].islower() or need[0].isdigit()
        assert len(need.split()) >= 3


def test_both_layouts_and_every_kind_of_clutch_and_spring_are_there() -> None:
    jobs = [job_of(name) for name in NAMES]
    assert any(len(job.unit.levers) == 2 for job in jobs)
    everything = {"brake", "clutch", "assist"}
    assert any({rocker.drives for rocker in job.unit.levers[0].rockers} == everything for job in jobs)
    assert {job.clutch_circuit.kind for job in jobs if job.clutch_circuit} == {"hydraulic", "cable"}
    assert {job.clutch.spring for job in jobs if job.clutch} == {"coil", "diaphragm"}
    springs = [
        rocker.spring.kind
        for job in jobs
        for lever in job.unit.levers
        for rocker in lever.rockers
        if rocker.spring
    ]
    assert set(springs) == {"compression", "torsion"}
    assert any(job.pedal for job in jobs)
    assert {job.brake_circuit.caliper for job in jobs if job.brake_circuit} == {"sliding", "opposed"}


def test_files_say_that_they_are_invented() -> None:
    from pullcurve.parts.facts import data_text

    for name in NAMES:
        assert "nvented for the demo" in data_text(f"demo/{name}").splitlines()[0]


# The rack ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_rack_is_a_workshops_rack(name: str) -> None:
    rack = job_of(name).rack
    assert rack is not None
    assert len(rack.brake_cams) >= 100
    if name in WITH_CLUTCH:
        assert len(rack.clutch_cams) >= 32
        assert len(rack.assist_cams) >= 24


@pytest.mark.parametrize("name", NAMES)
def test_cams_are_named_by_what_they_are_in_numbers(name: str) -> None:
    rack = job_of(name).rack
    assert rack is not None
    cams: tuple[Cam, ...] = (*rack.brake_cams, *rack.clutch_cams, *rack.assist_cams)
    number = r"\d+(?:\.\d+)?"
    patterns = {
        "brake": (
            rf"brake-in{number}-tu{number}-st{number}",
            rf"brake cam · reach {number}° in · take-up {number} mm · stroke {number} mm",
        ),
        "clutch": (rf"clutch-in{number}-li{number}", rf"clutch cam · reach {number}° in · lift {number} mm"),
        "assist": (
            rf"assist-in{number}-on{number}-fa{number}",
            rf"assist cam · reach {number}° in · onset {number}° · strength {number}",
        ),
    }
    for cam in cams:
        short, long = patterns[cam.id.split("-")[0]]
        assert re.fullmatch(short, cam.id)
        assert re.fullmatch(long, cam.name)
    assert len({cam.id for cam in cams}) == len(cams)
    assert len({cam.name for cam in cams}) == len(cams)


def slots(job: Job) -> list[tuple[int, parts_unit.Rocker, tuple[Cam, ...]]]:
    """Every slot of a unit: row of its lever, its rocker, and the cams that differ in shape, each at the most travel.

    Reach turns a cam on its lever and shortens the travel, so that the cams of the smallest reach show every shape.
    """
    assert job.rack is not None
    racks: dict[str, tuple[Cam, ...]] = {
        "brake": job.rack.brake_cams,
        "clutch": job.rack.clutch_cams,
        "assist": job.rack.assist_cams,
    }
    found = []
    for row, lever in enumerate(job.unit.levers):
        for rocker in lever.rockers:
            least = min(cam.reach_deg for cam in racks[rocker.drives])
            found.append((row, rocker, tuple(cam for cam in racks[rocker.drives] if cam.reach_deg == least)))
    return found


def angle_of(cam: Cam, rocker: parts_unit.Rocker, theta: Floats) -> Floats:
    """Rocker angle written out from the cam's own numbers, without the package's laws [rad]."""
    start, load_arm = np.deg2rad(rocker.rest_angle_deg), rocker.load_arm_mm
    flank = np.deg2rad(cam.flank_deg)
    if isinstance(cam, AssistCam):
        onset, blend = np.deg2rad([cam.onset_deg, cam.blend_deg])
        v = np.clip((theta - onset) / blend, 0.0, 1.0)
        # the integral of 3 v^2 - 2 v^3 over v is v^3 - v^4/2; past the blend the fall is steady
        let_down = blend * (v**3 - v**4 / 2) + np.maximum(theta - onset - blend, 0.0)
        return np.asarray(start - cam.fall * let_down)
    assert load_arm is not None
    travel, early = (cam.stroke_mm, cam.take_up_mm) if isinstance(cam, BrakeCam) else (cam.lift_mm, 0.0)
    u = np.minimum(theta / flank, 1.0)
    bump = 1.5 * np.sqrt(3.0) * early  # highest at 1 - 1/sqrt 3, where it is the take-up itself
    beyond = np.maximum(theta / flank - 1.0, 0.0)
    moved = travel * u + bump * u * (1 - u) * (2 - u) + (travel - bump) * beyond
    return np.asarray(start + moved / load_arm)


def cut(job: Job, row: int, rocker: parts_unit.Rocker, cam: Cam) -> Metal:
    """The cam as a fine polyline, traced by carrying the roller along its path."""
    whole = mechanism(job, Choice(**{rocker.drives: (cam,)}))  # type: ignore[arg-type]
    span = float(travel_end(whole.levers[row])[0])
    plan = Plan(
        law=lambda theta: angle_of(cam, rocker, np.asarray(theta)),
        span=span,
        distance=rocker.centre_distance_mm * 1e-3,
        arm=rocker.arm_mm * 1e-3,
        roller=rocker.roller_radius_mm * 1e-3,
        sigma=1 if rocker.turns == "opposite" else -1,
    )
    return trace(plan, points=2000, margin=0.0)


def test_the_laws_written_out_here_are_those_of_the_package() -> None:
    from pullcurve.mechanics.law import law

    for name in NAMES:
        job = job_of(name)
        for row, rocker, cams in slots(job):
            for cam in (cams[0], cams[-1]):
                whole = mechanism(job, Choice(**{rocker.drives: (cam,)}))  # type: ignore[arg-type]
                known = whole.levers[row].rocker(rocker.drives)
                assert known is not None
                theta = np.linspace(0.0, float(travel_end(whole.levers[row])[0]), 50)
                np.testing.assert_allclose(
                    law(known.law, theta).psi, angle_of(cam, rocker, theta), atol=1e-12
                )


@pytest.mark.parametrize("name", NAMES)
def test_every_cam_of_the_rack_can_be_cut_and_rolled_on(name: str) -> None:
    """The outline crosses itself nowhere, and the roller on its path stays clear of all of it, to 1e-5 mm."""
    job = job_of(name)
    for row, rocker, cams in slots(job):
        for cam in cams:
            metal = cut(job, row, rocker, cam)
            along = np.sum(np.diff(metal.pitch, axis=0) * np.diff(metal.profile, axis=0), axis=1)
            assert float(np.min(along)) > 0.0, f"{cam.id} turns back on itself"
            outline = shapely.LineString(metal.profile)
            assert outline.is_simple, cam.id
            gaps = shapely.distance(shapely.points(metal.pitch[::4]), outline)
            assert float(np.min(gaps)) >= metal.plan.roller - 1e-8, cam.id
            assert float(np.max(gaps)) <= metal.plan.roller + 1e-8, cam.id


def test_the_check_itself_finds_a_cam_that_cannot_be_cut() -> None:
    """A fall that sets in at once under a 12 mm roller: the traced outline runs back on itself."""
    job = job_of("enduro-300.toml")
    (slot,) = [known for known in slots(job) if known[1].drives == "assist"]
    rocker = slot[1].model_copy(update={"roller_radius_mm": 12.0})
    metal = cut(job, slot[0], rocker, AssistCam(reach_deg=0, onset_deg=4, fall=0.8, blend_deg=1))
    along = np.sum(np.diff(metal.pitch, axis=0) * np.diff(metal.profile, axis=0), axis=1)
    outline = shapely.LineString(metal.profile)
    gaps = shapely.distance(shapely.points(metal.pitch[::4]), outline)
    assert float(np.min(along)) < 0.0
    assert float(np.min(gaps)) < metal.plan.roller - 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_every_cam_leaves_its_roller_room_and_pushes_straight_enough(name: str) -> None:
    """Convex radius of the roller's path above the roller's own by 0.3 mm, pressure angle up to 45 degrees.

    Measured on the traced metal: circles through three neighbours, and the angle between path and normal.
    """
    job = job_of(name)
    for row, rocker, cams in slots(job):
        for cam in cams:
            metal = cut(job, row, rocker, cam)
            first, middle, last = metal.pitch[:-2:8], metal.pitch[1:-1:8], metal.pitch[2::8]
            size = min(len(first), len(middle), len(last))
            sides = [
                np.hypot(*(two[:size] - one[:size]).T)
                for one, two in ((first, middle), (middle, last), (first, last))
            ]
            a, b = middle[:size] - first[:size], last[:size] - middle[:size]
            cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
            bend = 2 * cross / (sides[0] * sides[1] * sides[2])
            inward = metal.profile[1:-1:8][:size] - middle[:size]
            convex = np.sign(a[:, 0] * inward[:, 1] - a[:, 1] * inward[:, 0]) * bend
            # curvature of three points 3 um apart is good to about 1 %
            spare = 1.0 / max(float(np.max(convex)), 1e-9) - metal.plan.roller
            assert spare > 0.3e-3, cam.id
            whole = mechanism(job, Choice(**{rocker.drives: (cam,)}))  # type: ignore[arg-type]
            lever = whole.levers[row]
            known = lever.rocker(rocker.drives)
            assert known is not None
            shape = cam_shape(known, travel_end(lever))
            if float(np.max(convex)) > 1.0:
                assert float(shape.roller_spare) == pytest.approx(spare, rel=0.05, abs=0.2e-3)
            assert np.rad2deg(steepest(metal)) <= 45.0, cam.id
            assert float(shape.pressure_angle) == pytest.approx(steepest(metal), abs=2e-3)


def steepest(metal: Metal) -> float:
    """Greatest angle between the way of the roller's centre on its rocker and the normal of the outline [rad]."""
    theta = np.linspace(0.0, metal.plan.span, len(metal.pitch))
    psi = metal.plan.law(theta)
    normal = metal.pitch - metal.profile
    # the rocker's way, turned into the frame of the cam
    way, turn = np.stack([np.sin(psi), np.cos(psi)], axis=-1), -metal.plan.sigma * theta
    way = np.stack(
        [
            np.cos(turn) * way[:, 0] - np.sin(turn) * way[:, 1],
            np.sin(turn) * way[:, 0] + np.cos(turn) * way[:, 1],
        ],
        axis=-1,
    )
    straight = np.abs(np.sum(way * normal, axis=1)) / np.hypot(normal[:, 0], normal[:, 1])
    return float(np.max(np.arccos(np.clip(straight, 0.0, 1.0))))


# Pulled, found, swapped -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_fitted_and_found_come_back_by_themselves_cold_and_worn(name: str) -> None:
    for known in (pulled(name), proposed(name)):
        for lever in known.pull.levers:
            assert float(np.min(lever.curves.release_worn)) >= 1.0


@pytest.mark.parametrize("name", NAMES)
def test_what_is_found_keeps_every_limit_at_many_stations_too(name: str) -> None:
    job = job_of(name)
    best = answer(name).best
    for row, lever in enumerate(job.unit.levers):
        cams: dict[str, Cam] = {rocker.drives: best[rocker.drives] for rocker in lever.rockers}
        table = single(job, row, cams, stations=512)
        assert {limit.key for limit in table.limits if limit.margin[0] < 0.0} == set()


@pytest.mark.parametrize("name", NAMES)
def test_what_is_found_is_as_near_to_the_wishes_as_what_is_fitted_or_nearer(name: str) -> None:
    for lever in answer(name).levers:
        fitted_keeps = bool(lever.fitted.allowed[0])
        if fitted_keeps:
            assert lever.answers[0].distance <= lever.fitted_distance + 1e-9
        else:
            assert lever.answers


@pytest.mark.parametrize("name", NAMES)
def test_pull_find_and_swap_take_the_job_as_it_is(name: str) -> None:
    job = job_of(name)
    assert len(pulled(name).pull.levers) == len(job.unit.levers)
    assert [lever.lever for lever in answer(name).levers] == [lever.name for lever in job.unit.levers]
    found = swaps(job)
    assert found.helping or found.others
    assert isinstance(with_cams(job, answer(name).best), Fitted)


# A technician's eye -----------------------------------------------------------------------------------------


def stated(name: str) -> tuple[str, ...]:
    """Complaints that a demo job states."""
    wishes = job_of(name).wishes
    return wishes.complaints if wishes else ()


def rest_gap(known: Pulled, kind: str) -> float:
    """Gap at rest of the lever that works brake or clutch [m]."""
    read = known.pull.brake if kind == "brake" else known.pull.clutch
    assert read is not None
    return read.gap_rest.item()


@pytest.mark.parametrize("name", [name for name in NAMES if "too far" in stated(name)])
def test_too_far_is_answered_with_a_nearer_rest(name: str) -> None:
    job = job_of(name)
    kinds = [kind for kind in ("brake", "clutch") if getattr(job.fitted, kind)]
    before = [rest_gap(pulled(name), kind) for kind in kinds]
    after = [rest_gap(proposed(name), kind) for kind in kinds]
    assert sum(after) < sum(before) - 1.5e-3
    assert any(swap.on.reach_deg > swap.off.reach_deg for swap in swaps(job, "too far").helping)


@pytest.mark.parametrize("name", WITH_CLUTCH)
def test_a_clutch_heavier_than_wished_gets_lighter(name: str) -> None:
    job = job_of(name)
    before, after = pulled(name).pull.clutch, proposed(name).pull.clutch
    assert (
        job.wishes is not None and job.wishes.clutch is not None and before is not None and after is not None
    )
    wished = job.wishes.clutch.force_peak_newton
    if wished is not None and before.force_peak.item() > 1.07 * wished:
        assert after.force_peak.item() < before.force_peak.item()


@pytest.mark.parametrize("name", NAMES)
def test_the_brake_comes_nearer_to_the_wished_force(name: str) -> None:
    job = job_of(name)
    before, after = pulled(name).pull.brake, proposed(name).pull.brake
    assert (
        job.wishes is not None and job.wishes.brake is not None and before is not None and after is not None
    )
    wished = job.wishes.brake.force_lock_newton
    assert wished is not None

    def off(force: float) -> float:
        return abs(float(np.log(force / wished)))

    assert off(float(after.force_lock[0])) <= off(float(before.force_lock[0])) + float(np.log(1.07))


def test_small_hands_get_what_their_reach_allows() -> None:
    """Every set proposed can be touched at rest and held where its work begins."""
    for name in NAMES:
        for read in (proposed(name).pull.brake, proposed(name).pull.clutch):
            if read is not None:
                assert read.touch_margin.item() >= 0.0
                assert read.hold_margin.item() >= 0.0


def test_lighter_is_longer() -> None:
    """Same take-up and reach: less stroke is lighter at lock-up and takes more travel, on every demo machine."""
    for name in NAMES:
        job = job_of(name)
        row = next(row for row, lever in enumerate(job.unit.levers) if lever.rockers[0].drives == "brake")
        others = {
            kind: cam
            for kind in ("clutch", "assist")
            if (cam := getattr(job.fitted, kind)) and len(job.unit.levers) == 1
        }
        reads = []
        for stroke in (7.5, 8.0, 8.5, 9.0):
            cam = BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke)
            table = single(job, row, {"brake": cam, **others})
            assert table.brake is not None
            reads.append((float(table.brake.force_lock[0, 0]), float(table.brake.travel_lock[0])))
        known = [read for read in reads if not np.isnan(read[1])]
        assert len(known) >= 3, name
        for (light, long), (heavy, short) in pairwise(known):
            assert light < heavy and long > short, name


def test_every_clutch_cam_of_more_lift_is_heavier_and_shorter() -> None:
    for name in WITH_CLUTCH:
        if len(job_of(name).unit.levers) == 1:
            continue
        job = job_of(name)
        assert job.fitted.assist is not None
        reads = []
        for lift in (10.0, 11.0, 12.0):
            table = single(
                job, 1, {"clutch": ClutchCam(reach_deg=0, lift_mm=lift), "assist": job.fitted.assist}
            )
            assert table.clutch is not None
            reads.append((float(table.clutch.force_hold[0]), float(table.clutch.travel_free[0])))
        for (light, long), (heavy, short) in pairwise(reads):
            assert light < heavy and long > short, name


def test_units_of_the_traced_metal_are_those_of_the_package() -> None:
    """1e-3 by hand in this file is what the package's own stair does."""
    assert to_si("arm_mm", 20.0)[1] == 20.0 * 1e-3
