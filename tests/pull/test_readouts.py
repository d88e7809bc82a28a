"""Read-outs against the curves that a bench would plot: interpolated, differenced and searched by other means."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.endurance import fatigue, holding_time
from pullcurve.mechanics.hand import force_available
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.arrays import Hand, Mechanism
from pullcurve.pull.loop import Pull, pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.readouts import (
    GRAVITY,
    BrakeReadouts,
    ClutchReadouts,
    clutch_torque_left,
    deceleration,
    facets,
)
from pullcurve.pull.solve import LeverCurves, RockerCurves
from pullcurve.units import FACTORS
from tests.pull.example import JOBS, PEDAL, example

MM, BAR = 1e-3, 1e5
FINE = 20_001


def brake_of(known: Mechanism, stations: int = 128) -> tuple[BrakeReadouts, LeverCurves, RockerCurves]:
    """Read-outs of the brake, and the pull that they were read off."""
    found = pull(known, stations)
    lever = next(each for each in found.levers if each.brake)
    along = lever.curves.rocker("brake")
    assert along is not None
    assert lever.brake is not None
    return lever.brake, lever.curves, along


def clutch_of(known: Mechanism, stations: int = 128) -> tuple[ClutchReadouts, LeverCurves, RockerCurves]:
    """Read-outs of the clutch, and the pull that they were read off."""
    found = pull(known, stations)
    lever = next(each for each in found.levers if each.clutch)
    along = lever.curves.rocker("clutch")
    assert along is not None
    assert lever.clutch is not None
    return lever.clutch, lever.curves, along


def at(levels: FloatArray, wanted: float, values: FloatArray) -> float:
    """Value of a curve where another one reaches a level; the flat part before it is left out."""
    rising = levels > 0
    return float(np.interp(wanted, levels[rising], values[rising]))


@pytest.mark.parametrize("name", ["two levers", "pin", "one lever"])
def test_brake_readouts_are_those_of_the_plotted_pull(name: str) -> None:
    known = mechanism(JOBS[name]())
    got, curves, along = brake_of(known, FINE)
    wheel = known.wheel
    assert wheel is not None
    pressure, lock = along.load.pressure, float(wheel.lock_pressure[0])
    bite = {key: at(pressure, 2 * BAR, getattr(curves, key)) for key in ("travel", "gap", "pull")}
    locked = {key: at(pressure, lock, getattr(curves, key)) for key in ("travel", "gap", "pull", "theta")}
    expected = {
        "gap_rest": 48.049e-3,  # 30 + 75 sin 27 - 16 mm
        "gap_bite": bite["gap"],
        "gap_lock": locked["gap"],
        "travel_bite": bite["travel"],
        "travel_lock": locked["travel"],
        "force_bite": bite["pull"],
        "modulation_travel": locked["travel"] - bite["travel"],
        "modulation_force": locked["pull"] - bite["pull"],
        "travel_left": float(curves.travel[-1]) - locked["travel"],
        "force_gauge": locked["pull"],  # the finger pulls 50 mm from the tip in the example
    }
    for key, value in expected.items():
        assert float(getattr(got, key)) == pytest.approx(value, rel=1e-5), key
    by_surface = [at(pressure, float(level), curves.pull) for level in wheel.lock_pressure]
    assert list(got.force_lock) == pytest.approx(by_surface, rel=1e-5)
    assert list(got.pressure_lock) == pytest.approx(list(wheel.lock_pressure))
    assert list(got.deceleration_lock) == pytest.approx(list(wheel.lock_deceleration))


def test_gain_is_the_chord_from_a_fifth_to_four_fifths_of_lock_up() -> None:
    known = mechanism(JOBS["two levers"]())
    got, curves, along = brake_of(known, FINE)
    wheel = known.wheel
    assert wheel is not None
    braking = wheel.deceleration_per_pressure * along.load.pressure
    low, high = (share * wheel.lock_deceleration[0] for share in (0.2, 0.8))
    force = at(braking, high, curves.pull) - at(braking, low, curves.pull)
    travel = at(braking, high, curves.travel) - at(braking, low, curves.travel)
    assert float(got.gain_force) == pytest.approx((high - low) / force, rel=1e-4)
    assert float(got.gain_travel) == pytest.approx((high - low) / travel, rel=1e-4)


def test_steepest_braking_is_the_largest_slope_of_the_plotted_pull() -> None:
    known = mechanism(JOBS["two levers"](), Choice([BrakeCam(reach_deg=0, take_up_mm=0.6, stroke_mm=7.5)]))
    got, curves, along = brake_of(known, FINE)
    wheel = known.wheel
    assert wheel is not None
    slope = np.gradient(wheel.deceleration_per_pressure * along.load.pressure, curves.travel)
    inside = (along.load.pressure > 2 * BAR) & (along.load.pressure < wheel.lock_pressure[0])
    assert float(got.steepest) == pytest.approx(slope[inside].max(), rel=1e-4)


@pytest.mark.parametrize("name", ["two levers", "cable", "diaphragm", "pin"])
def test_clutch_readouts_are_those_of_the_plotted_pull(name: str) -> None:
    known = mechanism(JOBS[name]())
    got, curves, along = clutch_of(known, FINE)
    plates = known.plates
    assert plates is not None
    lift = along.load.lift
    for event, wanted in (("slip", plates.slip_lift), ("free", plates.free_lift)):
        for key in ("gap", "travel"):
            expected = at(lift, wanted, getattr(curves, key))
            assert float(getattr(got, f"{key}_{event}")) == pytest.approx(expected, rel=1e-4)
    zone = at(lift, plates.free_lift, curves.travel) - at(lift, plates.slip_lift, curves.travel)
    assert float(got.friction_zone) == pytest.approx(zone, rel=1e-4)
    assert float(got.force_peak) == pytest.approx(curves.pull.max(), rel=5e-5)
    assert float(got.force_hold) == pytest.approx(curves.pull[-1], rel=1e-12)
    assert float(got.lift_end) == pytest.approx(lift[-1], rel=1e-12)
    assert np.isnan(got.travel_clean)
    assert np.isnan(got.travel_left)
    pulled, released = (at(lift, plates.free_lift, branch) for branch in (curves.pull, curves.release))
    assert float(got.hysteresis) == pytest.approx((pulled - released) / pulled, rel=1e-3)


def test_a_clutch_that_gets_clean_has_travel_left() -> None:
    """Plates that need less lift: clean at 16 x 0.05 = 0.8 mm."""
    known = mechanism(example(clutch={"clean_lift_per_face_mm": 0.05}))
    got, curves, along = clutch_of(known, FINE)
    clean = at(along.load.lift, 0.8 * MM, curves.travel)
    assert float(got.travel_clean) == pytest.approx(clean, rel=1e-5)
    assert float(got.gap_clean) == pytest.approx(at(along.load.lift, 0.8 * MM, curves.gap), rel=1e-5)
    assert float(got.travel_left) == pytest.approx(float(curves.travel[-1]) - clean, rel=1e-4)


def test_diaphragm_lets_off_and_holds_less_than_its_peak() -> None:
    """The table falls beyond 0.3 mm: let-off, and a peak before the end that no station need hit."""
    got, curves, _ = clutch_of(mechanism(JOBS["diaphragm"]()))
    assert got.force_hold < 0.95 * got.force_peak
    assert got.force_peak >= curves.pull.max()


@pytest.mark.parametrize("kind", ["brake", "clutch"])
def test_hysteresis_is_the_share_that_the_release_lacks(kind: str) -> None:
    """Half the lock-up pressure on the brake (the clutch's is tested with its other read-outs)."""
    known = mechanism(JOBS["two levers"]())
    if kind == "clutch":
        clutch, _, _ = clutch_of(known)
        assert 0.05 < float(clutch.hysteresis) < 0.4
        return
    got, curves, along = brake_of(known, FINE)
    assert known.wheel is not None
    half = float(known.wheel.lock_pressure[0]) / 2
    pulled, released = (at(along.load.pressure, half, branch) for branch in (curves.pull, curves.release))
    assert float(got.hysteresis) == pytest.approx((pulled - released) / pulled, rel=1e-4)


def test_margins_by_hand() -> None:
    """Port 0.8 and rest gap 0.2 mm; 12 mm of plunger less what it went; reach less gap, grip and blade."""
    known = mechanism(JOBS["two levers"]())
    got, curves, along = brake_of(known)
    hand = known.hands[0]
    assert float(got.port_margin) == pytest.approx(1.0 * MM)
    assert float(got.stroke_left) == pytest.approx(12 * MM - (along.load.stroke[-1] - 0.2 * MM))
    assert float(got.touch_margin) == pytest.approx(hand.touch - (curves.gap[0] + 0.040))
    assert float(got.hold_margin) == pytest.approx(0.082 - (float(got.gap_bite) + 0.040))
    assert float(got.return_least) == pytest.approx(curves.release_worn.min())
    pulled, curves, _ = clutch_of(known)
    assert float(pulled.hold_margin) == pytest.approx(0.082 - (float(pulled.gap_slip) + 0.040))


def test_a_cable_has_no_port_and_no_plunger() -> None:
    got, _, _ = clutch_of(mechanism(JOBS["cable"]()))
    assert np.isnan(got.port_margin)
    assert np.isnan(got.stroke_left)


def shares(hand: Hand, curves: LeverCurves) -> FloatArray:
    """Share of the hand's force at every station."""
    able = force_available(hand.strength, curves.gap + 0.040, hand.best_span)
    return np.asarray(curves.pull / able)


def test_effort_counts_to_lock_up_on_a_brake_and_to_the_end_on_a_clutch() -> None:
    known = mechanism(JOBS["two levers"]())
    got, curves, along = brake_of(known, FINE)
    assert known.wheel is not None
    inside = along.load.pressure <= known.wheel.lock_pressure[0]
    assert float(got.effort) == pytest.approx(shares(known.hands[0], curves)[inside].max(), rel=1e-4)
    pulled, curves, _ = clutch_of(known, FINE)
    asked = shares(known.hands[1], curves)
    assert float(pulled.effort) == pytest.approx(asked.max(), rel=1e-4)
    assert float(pulled.holding_time) == pytest.approx(float(holding_time(asked[-1])), rel=1e-9)
    for readouts in (got, pulled):
        lost = fatigue(np.asarray(readouts.effort), known.hands[0].duty, known.hands[0].hold_share).loss
        assert float(readouts.grip_lost) == pytest.approx(float(lost))


def test_effort_of_a_brake_that_never_locks_counts_to_the_end() -> None:
    known = mechanism(JOBS["two levers"](), Choice([BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=4.0)]))
    got, curves, _ = brake_of(known, FINE)
    assert np.isnan(got.travel_lock)
    assert np.isnan(got.steepest)
    assert np.isnan(got.force_lock[0])
    assert float(got.effort) == pytest.approx(shares(known.hands[0], curves).max(), rel=1e-6)


def test_one_lever_is_pulled_to_lock_up_or_to_clean_plates() -> None:
    """Whichever comes later; the clutch's force held in is that at this end."""
    soft = {"clean_lift_per_face_mm": 0.02}
    for clutch, last in (
        ({}, "lock-up 0"),
        (soft, "lock-up 0"),
        ({"clean_lift_per_face_mm": 0.085}, "clean"),
    ):
        job = JOBS["one lever"]()
        typed = job.model_dump(exclude_unset=True)
        typed["clutch"] |= clutch
        known = mechanism(type(job).model_validate(typed))
        lever = pull(known, FINE).levers[0]
        until = lever.events.theta[lever.events.index(last)]
        inside = lever.curves.theta <= until
        assert lever.clutch is not None
        assert lever.brake is not None
        expected = float(np.interp(until, lever.curves.theta, lever.curves.pull))
        assert float(lever.clutch.force_hold) == pytest.approx(expected, rel=1e-4)
        assert float(lever.clutch.force_peak) == pytest.approx(lever.curves.pull[inside].max(), rel=1e-4)
        assert float(lever.clutch.effort) == pytest.approx(float(lever.brake.effort))


def test_one_lever_that_never_locks_is_pulled_to_the_end() -> None:
    brake = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=4.0)]
    clutch, assist = [ClutchCam(reach_deg=0, lift_mm=11.0)], [AssistCam(reach_deg=0, onset_deg=6, fall=0.5)]
    lever = pull(mechanism(JOBS["one lever"](), Choice(brake, clutch, assist))).levers[0]
    assert lever.clutch is not None
    assert float(lever.clutch.force_hold) == float(lever.curves.pull[-1])


def test_hand_without_strength_keeps_shares_finite() -> None:
    known = mechanism(JOBS["two levers"]())
    weak = replace(known, hands=tuple(replace(hand, strength=0.0) for hand in known.hands))
    found = pull(weak)
    assert found.brake is not None
    assert found.clutch is not None
    assert float(found.clutch.effort) == pytest.approx(float(found.clutch.force_peak))  # per newton


def test_what_nature_does_to_wheel_and_plates_by_hand() -> None:
    known = mechanism(JOBS["two levers"]())
    assert known.wheel is not None
    assert known.plates is not None
    lock = float(known.wheel.lock_pressure[0])
    braking = deceleration(known.wheel, np.array([0.0, lock / 2, lock, 2 * lock]))
    a = float(known.wheel.lock_deceleration[0])
    np.testing.assert_allclose(braking, [0.0, a / 2, a, a], rtol=1e-12)
    left = clutch_torque_left(known.plates, np.array([0.0, 0.175e-3, 0.35e-3, 1e-3]))
    np.testing.assert_allclose(left, [114.4, 57.2, 0.0, 0.0], atol=1e-9)


def test_every_readout_has_a_label_and_a_known_unit() -> None:
    for kind in (BrakeReadouts, ClutchReadouts):
        labels = [facet.label for _, facet in facets(kind)]
        assert len(set(labels)) == len(labels)
        for _, facet in facets(kind):
            assert facet.label.strip()
            assert facet.unit in FACTORS
            assert 0 <= facet.decimals <= 4
            assert facet.felt in ("no", "force", "place")
            assert not (facet.felt == "force" and facet.unit != "newton")
            assert not (facet.felt == "place" and facet.unit != "mm")


def test_optional_readouts_are_those_that_a_unit_may_lack() -> None:
    """Whatever is undefined for want of a part must not be shown as never reached."""
    cable, hydraulic = pull(mechanism(JOBS["cable"]())), pull(mechanism(example(pedal=PEDAL)))
    lacking: set[str] = set()
    for one, other in ((cable.brake, hydraulic.brake), (cable.clutch, hydraulic.clutch)):
        assert one is not None
        assert other is not None
        lacking |= {
            name
            for name, _ in facets(one)
            if np.isnan(getattr(one, name)).all() and not np.isnan(getattr(other, name)).all()
        }
        for name, facet in facets(one):
            assert facet.optional or name not in lacking
    assert lacking == {"foot_lock", "port_margin", "stroke_left"}


def test_gravity_is_the_standard_one() -> None:
    assert FACTORS["g_per_newton"] == GRAVITY


def test_a_pull_finds_its_readouts_whichever_lever_has_them() -> None:
    two, one = pull(mechanism(JOBS["two levers"]())), pull(mechanism(JOBS["one lever"]()))
    assert two.brake is two.levers[0].brake
    assert two.clutch is two.levers[1].clutch
    assert one.brake is one.levers[0].brake
    assert one.clutch is one.levers[0].clutch
    assert Pull(()).brake is None
    assert Pull(()).clutch is None


def test_force_is_shown_where_the_type_test_pulls() -> None:
    """By hand: 150 mm lever, finger at 75 mm, gauge at 100 mm: three quarters of the finger's force."""
    job = JOBS["two levers"]()
    typed = job.model_dump(exclude_unset=True)
    for lever in typed["unit"]["levers"]:
        lever["length_mm"] = 150
    found = pull(mechanism(type(job).model_validate(typed)))
    assert found.brake is not None
    assert found.clutch is not None
    assert float(found.brake.force_gauge) == pytest.approx(0.75 * float(found.brake.force_lock[0]))
    assert float(found.clutch.force_gauge) == pytest.approx(0.75 * float(found.clutch.force_peak))
