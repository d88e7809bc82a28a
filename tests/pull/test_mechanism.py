"""The stair from trade units to arrays: one number per conversion, by hand from the example's file."""

import numpy as np
import pytest

from pullcurve.mechanics import hand
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.parts.cams import MOST_SHAPE, AssistCam, BrakeCam, ClutchCam
from pullcurve.parts.facts import fact
from pullcurve.pull.arrays import AssistSpring, BrakeLine, ClutchCable, ClutchLine, Mechanism
from pullcurve.pull.mechanism import Choice, fingers_at, fitted, mechanism
from tests.pull.example import (
    DIAPHRAGM,
    JOBS,
    PEDAL,
    cable_job,
    described,
    example,
    one_lever_job,
    rocker_with,
    whole,
)

DEGREE = np.pi / 180


def test_lever_in_si() -> None:
    lever = mechanism(whole()).levers[0]
    assert lever.name == "brake lever"
    assert (lever.finger_radius, lever.pivot_offset, lever.grip_radius) == pytest.approx(
        (0.075, 0.030, 0.016)
    )
    assert lever.gauge_radius == pytest.approx(0.075)  # 125 mm long, read 50 mm from the tip
    assert (lever.rest_angle, lever.stop) == pytest.approx((27 * DEGREE, 28 * DEGREE))
    assert lever.pin_drag == pytest.approx(0.12 * 0.004)
    assert (lever.spring_torque, lever.spring_rate) == pytest.approx((0.12, 2e-3 / DEGREE))
    assert lever.gap_floor == pytest.approx(0.017)  # a finger left on the grip
    assert np.ndim(lever.reach) == 0


def test_four_fingers_leave_the_grip_to_the_lever() -> None:
    """Nothing is in the way then but the 13 mm that a lever has to keep (common practice)."""
    every = ["index", "middle", "ring", "little"]
    known = mechanism(example(rider={"clutch_fingers": every}))
    assert [lever.gap_floor for lever in known.levers] == pytest.approx([0.017, 0.013])


def test_rocker_in_si() -> None:
    rocker = rocker_with(mechanism(whole()), "brake")
    assert (rocker.centre_distance, rocker.arm, rocker.roller_radius) == pytest.approx((0.040, 0.020, 0.004))
    assert (rocker.rest_angle, rocker.load_arm, rocker.sense) == pytest.approx((35 * DEGREE, 0.016, 1.0))
    assert rocker.pivot_drag == pytest.approx(0.12 * 0.003)
    assert rocker.roller_tilt == pytest.approx(np.arctan(0.006 * 2 / 4))
    assert (rocker.bearing, rocker.pin_push) == (0.0, False)
    turning = rocker_with(mechanism(JOBS["same sense"]()), "brake")
    assert (turning.sense, turning.bearing) == pytest.approx((-1.0, 40 * DEGREE))
    assert rocker_with(mechanism(JOBS["pin"]()), "brake").pin_push


def test_plunger_in_si() -> None:
    load = rocker_with(mechanism(whole()), "brake").load
    assert isinstance(load, BrakeLine)
    plunger = load.plunger
    assert plunger.area == pytest.approx(70.882e-6, rel=1e-5)  # pi 9.5^2/4
    assert (plunger.stroke_limit, plunger.rest_gap, plunger.port) == pytest.approx((0.012, 0.0002, 0.0008))
    assert (plunger.spring, plunger.spring_rate) == pytest.approx((10.0, 1200.0))
    assert (plunger.seal, plunger.seal_share) == pytest.approx((7.0, 0.04))
    assert load.foot is None


@pytest.mark.parametrize(("caliper", "gaps"), [("sliding", 2), ("opposed", 1)])
def test_brake_line_in_si(caliper: str, gaps: int) -> None:
    """A sliding caliper's piston travels the gap of both pads, each of two opposed pistons its own."""
    job = example(brake_circuit={"caliper": caliper, "pistons": 2})
    load = rocker_with(mechanism(job), "brake").load
    assert isinstance(load, BrakeLine)
    line = load.circuit
    assert line.gap_volume == pytest.approx(gaps * 2 * np.pi * 26**2 / 4 * 0.1 * 1e-9)
    assert (line.gap_pressure, line.seat_pressure) == pytest.approx((1.2e5, 6e5))
    assert line.seat_volume == pytest.approx(16e-9)
    assert line.expansion == pytest.approx((2.1 * 1.5 + 1.2) * 1e-14)  # mm3 per bar
    assert (line.fluid_volume, line.bulk_modulus) == pytest.approx((22e-6, 1.7e9))
    assert (line.air_volume, line.air_exponent) == pytest.approx((22e-9, 1.0))


def test_clutch_line_in_si() -> None:
    load = rocker_with(mechanism(whole()), "clutch").load
    assert isinstance(load, ClutchLine)
    assert load.slave_area == pytest.approx(np.pi * 0.024**2 / 4)
    assert load.compliance.expansion == pytest.approx((0.9 * 1.5 + 0.3) * 1e-14)
    assert load.compliance.gap_volume == load.compliance.seat_volume == 0.0
    assert (load.compliance.fluid_volume, load.compliance.air_volume) == pytest.approx((12e-6, 12e-9))
    assert (load.seal, load.seal_share) == pytest.approx((8.0, 0.02))
    assert (load.lift_knots[0], load.lift_knots[-1]) == pytest.approx((0.0, 0.004))


def test_coil_springs_release_curve() -> None:
    """By hand: 0 engaged; half-way through the spring-back half the clamp and the springs' 65 N/mm; then those."""
    load = rocker_with(mechanism(whole()), "clutch").load
    assert isinstance(load, ClutchLine)
    force = evaluate(load.release, np.array([0.0, 0.175e-3, 0.35e-3, 1e-3, 5e-3]))[0]
    np.testing.assert_allclose(force, [0.0, 500 + 11.375, 1000 + 22.75, 1065.0, 1325.0], atol=1e-9)


def test_diaphragm_release_curve_is_its_table_and_ends_there() -> None:
    load = rocker_with(mechanism(example(clutch=DIAPHRAGM)), "clutch").load
    assert isinstance(load, ClutchLine)
    force = evaluate(load.release, np.array([0.0, 0.6e-3, 1.5e-3, 2e-3, 2.01e-3]))[0]
    np.testing.assert_allclose(force, [0.0, 1030.0, 900.0, 850.0, np.nan], atol=1e-9)


def test_cable_in_si() -> None:
    load = rocker_with(mechanism(cable_job()), "clutch").load
    assert isinstance(load, ClutchCable)
    assert (load.lift_ratio, load.stiffness, load.free_play) == pytest.approx((9.0, 120e3, 0.001))
    assert load.wrap == pytest.approx(0.1 * np.pi)


def test_assist_springs_in_si() -> None:
    coil = rocker_with(mechanism(whole()), "assist")
    assert coil.load == AssistSpring(60.0, 10e3, torsion=False)
    assert coil.load_arm == pytest.approx(0.016)
    torsion = rocker_with(mechanism(JOBS["torsion"]()), "assist")
    assert isinstance(torsion.load, AssistSpring)
    assert (torsion.load.preload, torsion.load.rate) == pytest.approx((1.0, 8e-3 / DEGREE))
    assert torsion.load.torsion


@pytest.mark.parametrize("open_port", [True, False])
def test_pedal_in_si(open_port: bool) -> None:
    """By hand: 5 x 0.9 x (9.5/12.7)^2 x 16 mm per newton; trapped (70.88 mm2 x 16 mm)^2 per 1.5 mm3/bar."""
    job = example(pedal=PEDAL | {"idle_port_open": open_port})
    load = rocker_with(mechanism(job, foot_force=100.0), "brake").load
    assert isinstance(load, BrakeLine)
    assert load.foot is not None
    assert load.foot.moment_per_force == pytest.approx(5 * 0.9 * (9.5 / 12.7) ** 2 * 0.016)
    assert load.foot.force == 100.0
    stiff = (70.882e-6 * 0.016) ** 2 / 1.5e-14
    assert load.foot.trapped_rate == pytest.approx(0.0 if open_port else stiff, rel=1e-4)


@pytest.mark.parametrize(("caliper", "one_side"), [("sliding", 2), ("opposed", 1)])
def test_wheel_by_hand(caliper: str, one_side: int) -> None:
    """Two pistons: both press one side of a sliding caliper, one each side of an opposed one. 112 + 82 kg."""
    known = mechanism(example(brake_circuit={"caliper": caliper, "pistons": 2})).wheel
    assert known is not None
    torque = 2 * 0.42 * one_side * np.pi * 0.026**2 / 4 * 0.096
    assert known.deceleration_per_pressure == pytest.approx(torque / 0.326 / 194)
    lock = 0.65 * 9.80665 * 0.53 / (1 + 0.65 * 0.8 / 1.482)
    assert known.lock_deceleration[0] == pytest.approx(lock)
    assert known.lock_pressure[0] == pytest.approx(lock * 0.326 * 194 / torque)
    assert known.lock_deceleration.shape == (3,)
    assert known.bite_pressure == pytest.approx(2e5)


def test_plates_by_hand() -> None:
    """16 faces: 16 x 0.13 x 55 mm x 1000 N = 114.4 N m; slip at 0.35 (1 - 75/114.4) mm; clean at 1.6 mm."""
    known = mechanism(whole()).plates
    assert known is not None
    assert known.full_capacity == pytest.approx(114.4)
    lifts = (known.slip_lift, known.free_lift, known.clean_lift)
    assert lifts == pytest.approx((0.35e-3 * (1 - 75 / 114.4), 0.35e-3, 1.6e-3))


def test_plates_are_never_clean_before_they_are_free() -> None:
    known = mechanism(example(clutch={"friction_plates": 1, "spring_back_mm": 0.4})).plates
    assert known is not None
    assert known.clean_lift == known.free_lift == pytest.approx(0.4e-3)


def test_fingers_are_those_of_everything_on_a_lever() -> None:
    job = example(rider={"brake_fingers": ["middle"], "clutch_fingers": ["ring", "index"]})
    assert [fingers_at(job, lever) for lever in job.unit.levers] == [("middle",), ("index", "ring")]
    typed = described()
    typed["rider"] |= {"brake_fingers": ["middle"], "clutch_fingers": ["ring", "index"]}
    brake, clutch = typed["unit"]["levers"]
    clutch["rockers"] = brake["rockers"] + clutch["rockers"]
    typed["unit"]["levers"] = [clutch]
    job = type(job).model_validate(typed)
    assert fingers_at(job, job.unit.levers[0]) == ("index", "middle", "ring")


def test_hand_is_what_the_fingers_can_do() -> None:
    """Strength is a product; the shortest finger decides the reach; a measured reach stands for all of them."""
    hand_at = mechanism(whole()).hands[0]
    able = 420 * hand.finger_share(("index", "middle")) * hand.glove_factor("thin")
    assert hand_at.strength == pytest.approx(able)
    assert (hand_at.grip_diameter, hand_at.lever_thickness) == pytest.approx((0.032, 0.008))
    assert hand_at.best_span == pytest.approx(float(hand.best_span("unstated", 0.188)))
    assert hand_at.hold == pytest.approx(0.082)
    unmeasured = example(rider={"measured_reach_mm": 60})
    assert mechanism(unmeasured).hands[0].hold == pytest.approx(0.060)
    typed = described()
    typed["rider"].pop("measured_reach_mm")
    shortest = mechanism(type(unmeasured).model_validate(typed)).hands[0]
    reaches = [
        float(hand.reach("hold", finger, 0.188, unmeasured.rider.hand_breadth_mm / 1e3, 0.032, 0.008, 0.001))
        for finger in ("index", "middle")
    ]
    assert shortest.hold == pytest.approx(min(reaches))


def test_worn_unit_is_the_limits_factors() -> None:
    worn = mechanism(whole()).worn
    assert (worn.seals, worn.pins, worn.cable) == tuple(
        fact(f"limits.worn_{part}") for part in ("seals", "pins", "cable")
    )


def test_laws_are_those_of_the_cams() -> None:
    """7.5 mm of stroke on a 16 mm arm; assist: neutral to 6 degrees, then 0.5 turned per turn."""
    known = mechanism(whole())
    brake, assist = (rocker_with(known, drives) for drives in ("brake", "assist"))
    turned = evaluate(brake.law, np.array([0.0, 26 * DEGREE]))[0] - 35 * DEGREE
    np.testing.assert_allclose(turned, [0.0, 7.5 / 16], atol=1e-12)
    psi, slope, _ = evaluate(assist.law, np.array([6.0, 14.0, 20.0]) * DEGREE)
    np.testing.assert_allclose(psi[[0]], 60 * DEGREE, rtol=1e-12)
    np.testing.assert_allclose(slope, [0.0, -0.5, -0.5], atol=1e-12)
    pin = rocker_with(mechanism(JOBS["pin"]()), "brake")
    turned = evaluate(pin.law, np.array([26 * DEGREE]))[0] - 35 * DEGREE
    np.testing.assert_allclose(np.sin(turned) * 16, 7.5, rtol=1e-12)


BRAKES = [BrakeCam(reach_deg=reach, take_up_mm=0, stroke_mm=7.5) for reach in (0.0, 2.0)]
CLUTCHES = [ClutchCam(reach_deg=0, lift_mm=lift) for lift in (8.0, 9.0, 10.0)]
ASSISTS = [AssistCam(reach_deg=0, onset_deg=6, fall=fall) for fall in (0.3, 0.5)]


def shapes(known: Mechanism) -> dict[str, tuple[int, ...]]:
    """Set axes of every law."""
    return {rocker.drives: rocker.law.breaks.shape[:-1] for lever in known.levers for rocker in lever.rockers}


def test_one_set_has_no_axis() -> None:
    known = mechanism(whole())
    assert shapes(known) == {"brake": (), "clutch": (), "assist": ()}


def test_sets_side_by_side_have_one_axis() -> None:
    known = mechanism(whole(), Choice(brake=BRAKES, clutch=CLUTCHES[:2], assist=ASSISTS))
    assert shapes(known) == {"brake": (2,), "clutch": (2,), "assist": (2,)}
    assert np.shape(known.levers[0].reach) == (2, 1)
    assert np.shape(known.levers[1].reach) == ()  # all alike: one grid of stations serves them all


def test_crossed_sets_have_an_axis_each() -> None:
    known = mechanism(whole(), Choice(BRAKES, CLUTCHES, ASSISTS, crossed=True))
    assert shapes(known) == {"brake": (2, 1, 1), "clutch": (1, 3, 1), "assist": (1, 1, 2)}
    assert np.shape(known.levers[0].reach) == (2, 1, 1, 1)


def test_cams_not_chosen_leave_their_rockers_out() -> None:
    known = mechanism(whole(), Choice(clutch=CLUTCHES[:1]))
    assert [lever.rocker("brake") for lever in known.levers] == [None, None]
    assert known.levers[1].rocker("assist") is None
    assert known.levers[1].rocker("clutch") is not None
    assert np.ndim(known.levers[0].reach) == 0


def test_fitted_is_what_is_on_the_machine() -> None:
    job = whole()
    choice = fitted(job)
    assert (choice.of("brake"), choice.of("clutch"), choice.of("assist")) == (
        (job.fitted.brake,),
        (job.fitted.clutch,),
        (job.fitted.assist,),
    )
    plain = example(fitted={"assist": None})
    assert fitted(plain).assist == ()
    assert mechanism(plain).levers[1].rocker("assist") is None


def test_a_unit_without_a_clutch_has_no_plates_and_one_without_a_brake_no_wheel() -> None:
    typed = described()
    for key in ("clutch", "clutch_circuit"):
        typed.pop(key)
    typed.pop("rack")
    typed["fitted"] = {"brake": typed["fitted"]["brake"]}
    typed["unit"]["levers"] = typed["unit"]["levers"][:1]
    known = mechanism(type(whole()).model_validate(typed))
    assert known.plates is None
    assert known.wheel is not None
    typed = described()
    typed.pop("brake_circuit")
    typed.pop("rack")
    typed["fitted"].pop("brake")
    typed["unit"]["levers"] = typed["unit"]["levers"][1:]
    known = mechanism(type(whole()).model_validate(typed))
    assert known.wheel is None
    assert known.plates is not None


def test_surfaces_keep_their_order() -> None:
    assert mechanism(one_lever_job()).surfaces == ("dry hard ground", "loose over hard", "wet grass")


@pytest.mark.parametrize("kind", ["brake", "clutch", "assist"])
def test_drawn_cams_stand_among_plain_ones_as_by_themselves(kind: str) -> None:
    job, theta = whole(), np.linspace(-0.03, 0.55, 40)
    now = fitted(job).of(kind)[0]
    shape = tuple(np.random.default_rng(3).normal(0.0, 0.2, MOST_SHAPE).round(4).tolist())
    cams = tuple(now.model_copy(update={"shape_deg": known}) for known in ((), shape))
    side = Choice(**{kind: cams})  # type: ignore[arg-type]
    crossed = Choice(**{kind: cams, "crossed": True})  # type: ignore[arg-type]

    def psi(choice: Choice) -> FloatArray:
        found = next(lever.rocker(kind) for lever in mechanism(job, choice).levers if lever.rocker(kind))
        assert found is not None
        return evaluate(found.law, theta)[0].reshape(-1, theta.size)

    alone = np.concatenate([psi(Choice(**{kind: (cam,)})) for cam in cams])  # type: ignore[arg-type]
    for stack in (side, crossed):
        np.testing.assert_allclose(psi(stack), alone, rtol=0, atol=1e-14)
    assert np.max(np.abs(alone[1] - alone[0])) > 1e-3
