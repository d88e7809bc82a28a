"""The stair: a described job, in trade units, becomes a mechanism in SI arrays, for one set or ten thousand."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from pullcurve.mechanics import clutch as plates_of
from pullcurve.mechanics import friction, hand, law, wheel
from pullcurve.mechanics.circuit import Circuit
from pullcurve.mechanics.curve import Curve, FloatArray, Number, added, subdivide
from pullcurve.parts import facts
from pullcurve.parts import loads as parts_loads
from pullcurve.parts import unit as parts_unit
from pullcurve.parts.cams import MOST_SHAPE, AssistCam, BrakeCam, ClutchCam
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import (
    AssistSpring,
    BrakeLine,
    ClutchCable,
    ClutchLine,
    Foot,
    Hand,
    Lever,
    Load,
    Mechanism,
    Plates,
    Plunger,
    Rocker,
    Wear,
    Wheel,
)
from pullcurve.units import to_si

LIFT_PARTS = 6
"""Brackets per piece of the release curve."""

NEXT_TO = 1.0e-9
"""Share by which a spring-back is moved off a row of a table [-]."""

Cam = BrakeCam | ClutchCam | AssistCam


@dataclass(frozen=True, slots=True)
class Choice:
    """Cams to be pulled, by what they drive.

    Sequences of equal length are sets side by side; with ``crossed`` every brake cam meets every clutch cam and
    every assist cam on axes of their own. All cams that share a lever must share its reach.
    """

    brake: Sequence[BrakeCam] = ()
    clutch: Sequence[ClutchCam] = ()
    assist: Sequence[AssistCam] = ()
    crossed: bool = False

    def of(self, drives: str) -> Sequence[Cam]:
        """The cams that drive brake, clutch or assist."""
        cams: dict[str, Sequence[Cam]] = {"brake": self.brake, "clutch": self.clutch, "assist": self.assist}
        return cams[drives]


def si(part: object, key: str) -> float:
    """Value of a part's key in SI."""
    return to_si(key, float(getattr(part, key)))[1]


def column(part: object, key: str) -> Number:
    """Value of a part's key in SI, where a study may have put a column of values, one per set, (N, 1)."""
    value = getattr(part, key)
    return value * to_si(key, 1.0)[1] if isinstance(value, np.ndarray) else si(part, key)


def in_si(path: str, kind: str | None = None) -> float:
    """A fact in SI; its last key before the kind carries the unit."""
    return to_si(path, facts.fact(path, kind))[1]


def fitted(job: Job) -> Choice:
    """What is on the machine, as a choice of one."""
    cams = job.fitted
    return Choice(
        brake=(cams.brake,) if cams.brake else (),
        clutch=(cams.clutch,) if cams.clutch else (),
        assist=(cams.assist,) if cams.assist else (),
    )


def mechanism(job: Job, choice: Choice | None = None, foot_force: float = 0.0) -> Mechanism:
    """Turn a job and a choice of cams into arrays.

    One fitted or chosen set gives numbers without set axes; n sets give a leading axis of n; a crossed choice gives
    one axis per kind of cam, in the order brake, clutch, assist.
    """
    chosen = choice or fitted(job)
    levers = tuple(lever_of(job, lever, chosen, foot_force) for lever in job.unit.levers)
    return Mechanism(
        levers=levers,
        hands=tuple(hand_at(job, lever) for lever in job.unit.levers),
        wheel=_wheel(job) if job.brake_circuit else None,
        plates=_plates(job) if job.clutch else None,
        surfaces=tuple(surface.name for surface in job.surfaces),
        worn=Wear(*(facts.fact(f"limits.worn_{part}") for part in ("seals", "pins", "cable"))),
    )


def fingers_at(job: Job, lever: parts_unit.Lever) -> tuple[str, ...]:
    """Fingers that pull a lever: those of everything it drives, in the hand's order."""
    drives = {rocker.drives for rocker in lever.rockers}
    pulling = set(job.rider.brake_fingers if "brake" in drives else ())
    pulling |= set(job.rider.clutch_fingers if drives & {"clutch", "assist"} else ())
    return tuple(finger for finger in ("index", "middle", "ring", "little") if finger in pulling)


def hand_at(job: Job, lever: parts_unit.Lever) -> Hand:
    """What this rider's fingers can reach and pull at one lever."""
    rider = job.rider
    fingers = fingers_at(job, lever)
    size = (si(rider, "hand_length_mm"), si(rider, "hand_breadth_mm"))
    place = (si(job.unit, "grip_diameter_mm"), si(lever, "thickness_mm"))
    glove = in_si("rider.glove_thickness_mm", rider.glove)
    known = None if rider.measured_reach_mm is None else si(rider, "measured_reach_mm")

    def reached(how: str) -> float:
        """The shortest of the pulling fingers decides; a measured reach is theirs together."""
        return min(_reach(how, finger, *size, *place, glove, known) for finger in fingers)

    able = rider.grip_newton * hand.finger_share(fingers) * hand.glove_factor(rider.glove)
    best = float(hand.best_span(rider.sex, size[0]))
    return Hand(able, best, *place, reached("touch"), reached("hold"), rider.duty, rider.hold_share)


@lru_cache(maxsize=256)
def _reach(
    how: str,
    finger: str,
    length: float,
    breadth: float,
    grip: float,
    thickness: float,
    glove: float,
    known: float | None,
) -> float:
    """Reach of one finger; a hand stays the same while cams are exchanged, so some are kept at hand."""
    return float(hand.reach(how, finger, length, breadth, grip, thickness, glove, measured_hold=known))


def lever_of(job: Job, lever: parts_unit.Lever, choice: Choice, foot_force: float = 0.0) -> Lever:
    """One lever with the cams chosen for it."""
    unit, rider = job.unit, job.rider
    rockers = tuple(
        _rocker(job, rocker, choice, foot_force) for rocker in lever.rockers if choice.of(rocker.drives)
    )
    clocked = next((rocker.drives for rocker in lever.rockers if choice.of(rocker.drives)), None)
    reach = _shared(_column(choice, clocked, "reach_deg")) if clocked else np.zeros(())
    on_grip = len(fingers_at(job, lever)) < 4
    floor = max(in_si("limits.grip_gap_keep_mm"), si(rider, "resting_finger_mm") if on_grip else 0.0)
    return Lever(
        name=lever.name,
        finger_radius=column(lever, "finger_radius_mm"),
        gauge_radius=si(lever, "length_mm") - in_si("limits.gauge_from_tip_mm"),
        rest_angle=si(lever, "rest_angle_deg"),
        reach=reach[..., None] if reach.ndim else reach,
        pivot_offset=si(unit, "pivot_offset_mm"),
        grip_radius=si(unit, "grip_diameter_mm") / 2,
        gap_floor=floor,
        stop=si(lever, "travel_stop_deg"),
        pin_drag=unit.pin_friction * si(unit, "pin_radius_mm"),
        spring_torque=column(lever, "spring_torque_newton_mm"),
        spring_rate=column(lever, "spring_rate_newton_mm_per_deg"),
        rockers=rockers,
    )


def _column(choice: Choice, drives: str, key: str) -> FloatArray:
    """One number of every chosen cam, in SI, shaped for its place among the sets."""
    cams = choice.of(drives)
    values = np.array([si(cam, key) for cam in cams])
    if choice.crossed:
        shape = tuple(len(cams) if kind == drives else 1 for kind in ("brake", "clutch", "assist"))
        return values.reshape(shape)
    return values[0] if len(cams) == 1 else values


def _shared(values: FloatArray) -> FloatArray:
    """One number where all sets agree, so that they share one grid of stations."""
    return values if np.ptp(values) else values.reshape(-1)[0]


def _rocker(job: Job, rocker: parts_unit.Rocker, choice: Choice, foot_force: float) -> Rocker:
    """One cam with its rocker and its load."""
    torsion = rocker.spring is not None and rocker.spring.kind == "torsion"
    arm = 0.0 if torsion or rocker.load_arm_mm is None else si(rocker, "load_arm_mm")
    return Rocker(
        drives=rocker.drives,
        centre_distance=si(rocker, "centre_distance_mm"),
        arm=si(rocker, "arm_mm"),
        roller_radius=si(rocker, "roller_radius_mm"),
        rest_angle=si(rocker, "rest_angle_deg"),
        sense=1.0 if rocker.turns == "opposite" else -1.0,
        bearing=si(rocker, "bearing_deg"),
        load_arm=arm,
        pin_push=rocker.push == "pin",
        pivot_drag=rocker.pivot_friction * si(rocker, "pivot_radius_mm"),
        roller_tilt=friction.roller_tilt(
            rocker.roller_friction, si(rocker, "roller_pin_radius_mm"), si(rocker, "roller_radius_mm")
        ),
        law=_law(rocker, choice, arm),
        load=_load(job, rocker, foot_force),
    )


def _law(rocker: parts_unit.Rocker, choice: Choice, arm: float) -> Curve:
    """Law of the chosen cams on this rocker: what their numbers say, and what was drawn on top of it."""
    plain, drives = _plain_law(rocker, choice, arm), rocker.drives
    if not any(cam.shape_deg for cam in choice.of(drives)):
        return plain
    shapes = np.array([cam.shape_deg or (0.0,) * MOST_SHAPE for cam in choice.of(drives)])
    flank = _column(choice, drives, "flank_deg")
    return added(plain, law.shape_curve(to_si("shape_deg", 1.0)[1] * shapes.reshape(*flank.shape, -1), flank))


def _plain_law(rocker: parts_unit.Rocker, choice: Choice, arm: float) -> Curve:
    """Law of the chosen cams by their numbers alone."""
    drives, start = rocker.drives, si(rocker, "rest_angle_deg")
    if drives == "assist":
        parts = (_column(choice, drives, key) for key in ("onset_deg", "blend_deg", "fall"))
        return law.fall_curve(start, *parts)
    flank = _column(choice, drives, "flank_deg")
    travel = _column(choice, drives, "stroke_mm" if drives == "brake" else "lift_mm")
    early = _column(choice, drives, "take_up_mm") if drives == "brake" else np.zeros(())
    turn = _pin_turn(travel / arm) if rocker.push == "pin" else travel / arm
    return law.rise_curve(start, turn, early / arm, flank)


def _pin_turn(share: FloatArray) -> FloatArray:
    """Turn of a rocker whose pin pushes along a line, from travel over arm; NaN for more than the arm can give."""
    return np.arcsin(np.where(np.abs(share) <= 1.0, share, np.nan))


def _plunger(plunger: parts_unit.Plunger) -> Plunger:
    return Plunger(
        area=np.pi * si(plunger, "bore_mm") ** 2 / 4,
        stroke_limit=si(plunger, "stroke_mm"),
        rest_gap=column(plunger, "rest_gap_mm"),
        port=column(plunger, "port_mm"),
        spring=plunger.spring_newton,
        spring_rate=column(plunger, "spring_rate_newton_per_mm"),
        seal=plunger.seal_newton,
        seal_share=plunger.seal_share,
    )


def _load(job: Job, rocker: parts_unit.Rocker, foot_force: float) -> Load:
    """What a rocker works against."""
    if rocker.spring is not None:
        return _assist(rocker.spring)
    if rocker.drives == "brake":
        assert job.brake_circuit is not None and rocker.plunger is not None
        foot = _foot(job.pedal, foot_force) if job.pedal else None
        return BrakeLine(_plunger(rocker.plunger), brake_line(job.brake_circuit), foot)
    assert job.clutch is not None and job.clutch_circuit is not None
    release = release_curve(job.clutch)
    knots = subdivide(release, LIFT_PARTS)
    line = job.clutch_circuit
    if isinstance(line, parts_loads.CableClutchCircuit):
        wrap = line.cable_friction * si(line, "bend_deg")
        return ClutchCable(
            line.lift_ratio,
            column(line, "stiffness_newton_per_mm"),
            wrap,
            column(line, "free_play_mm"),
            release,
            knots,
        )
    assert rocker.plunger is not None
    area = np.pi * si(line, "slave_bore_mm") ** 2 / 4
    return ClutchLine(
        _plunger(rocker.plunger), area, release, knots, clutch_line(line), line.seal_newton, line.seal_share
    )


def _assist(spring: parts_unit.AssistSpring) -> AssistSpring:
    if isinstance(spring, parts_unit.TorsionSpring):
        return AssistSpring(
            column(spring, "preload_newton_mm"), si(spring, "rate_newton_mm_per_deg"), torsion=True
        )
    return AssistSpring(spring.preload_newton, si(spring, "rate_newton_per_mm"), torsion=False)


def _foot(pedal: parts_loads.Pedal, force: float) -> Foot:
    """Pedal branch: rocker torque per pedal force, and the trapped fluid where its port stays shut."""
    area, slave = (np.pi * si(pedal, key) ** 2 / 4 for key in ("bore_mm", "slave_bore_mm"))
    arm = si(pedal, "slave_arm_mm")
    per_force = pedal.ratio * pedal.efficiency / area * slave * arm
    stiff = 0.0 if pedal.idle_port_open else (slave * arm) ** 2 / si(pedal, "line_expansion_mm3_per_bar")
    return Foot(per_force, force, stiff)


def brake_line(line: parts_loads.BrakeCircuit) -> Circuit:
    """Rear brake line: a sliding caliper's pistons travel the gap of both pads, opposed ones their own."""
    pistons = line.pistons * np.pi * si(line, "piston_mm") ** 2 / 4
    gaps = 2.0 if line.caliper == "sliding" else 1.0
    hose = si(line, "hose_length_m") * column(line, "hose_expansion_mm3_per_m_bar")
    fluid = si(line, "fluid_volume_cm3")
    return Circuit(
        gap_volume=pistons * gaps * column(line, "pad_gap_mm"),
        gap_pressure=column(line, "gap_pressure_bar"),
        seat_volume=column(line, "seat_volume_mm3"),
        seat_pressure=si(line, "seat_pressure_bar"),
        expansion=hose + column(line, "caliper_expansion_mm3_per_bar"),
        fluid_volume=fluid,
        bulk_modulus=si(line, "fluid_bulk_modulus_gpa"),
        air_volume=fluid * column(line, "free_air_percent"),
        air_exponent=line.air_exponent,
    )


def clutch_line(line: parts_loads.HydraulicClutchCircuit) -> Circuit:
    """Clutch line without the plates: no pads, so neither gap nor seat."""
    fluid = si(line, "fluid_volume_cm3")
    hose = si(line, "hose_length_m") * column(line, "hose_expansion_mm3_per_m_bar")
    return Circuit(
        gap_volume=0.0,
        gap_pressure=1.0e5,
        seat_volume=0.0,
        seat_pressure=1.0e5,
        expansion=hose + column(line, "housing_expansion_mm3_per_bar"),
        fluid_volume=fluid,
        bulk_modulus=si(line, "fluid_bulk_modulus_gpa"),
        air_volume=fluid * column(line, "free_air_percent"),
        air_exponent=line.air_exponent,
    )


def release_curve(pack: parts_loads.ClutchPack) -> Curve:
    """Release force over plate lift; a column of clamps, rates or spring-backs gives a curve per set."""
    back = _per_set(column(pack, "spring_back_mm"))
    if pack.spring == "coil":
        most = in_si("limits.plate_lift_most_mm")
        clamp, rate = (_per_set(column(pack, key)) for key in ("clamp_newton", "rate_newton_per_mm"))
        return Curve(*plates_of.release_curve_coil(clamp, rate, back, most))
    lift = np.array([to_si("table_lift_mm", value)[1] for value in pack.table_lift_mm])
    force = np.stack(np.broadcast_arrays(*map(_per_set, pack.table_force_newton)), axis=-1)
    if back.ndim == 0 and force.ndim == 1:
        return Curve(*plates_of.release_curve_table(lift, force, float(back)), bounded=True)
    tables, backs = np.broadcast_arrays(force, back[..., None])
    rows = [
        plates_of.release_curve_table(lift, table, beside(float(one[0]), lift))
        for table, one in zip(tables, backs, strict=True)
    ]
    breaks, coefficients = (np.stack(part) for part in zip(*rows, strict=True))
    return Curve(breaks, coefficients, bounded=True)


def _per_set(value: Number) -> FloatArray:
    """A column without its place for the stations, (N,)."""
    array = np.asarray(value, dtype=np.float64)
    return array[..., 0] if array.ndim else array


def beside(value: float, rows: FloatArray) -> float:
    """A value that stands on no row, so that every set has as many pieces as the next."""
    return float(value * (1.0 + NEXT_TO)) if np.any(rows == value) else value


def _plates(job: Job) -> Plates:
    """Lifts at which the clutch begins to slip, is free and is clean."""
    pack = job.clutch
    assert pack is not None
    faces, radius = 2 * pack.friction_plates, si(pack, "mean_radius_mm")
    full = float(plates_of.torque_capacity(faces, pack.friction, radius, pack.clamp_newton))
    back = si(pack, "spring_back_mm")
    slip = float(plates_of.slip_lift(pack.engine_torque_newton_m, full, back))
    clean = float(plates_of.clean_lift(faces, si(pack, "clean_lift_per_face_mm")))
    return Plates(full, slip, back, max(back, clean))


def _wheel(job: Job) -> Wheel:
    """Rear wheel: braking per pressure, and lock-up on every surface."""
    machine, line = job.motorcycle, job.brake_circuit
    assert line is not None
    mass = machine.mass_kg + job.rider.mass_kg
    pistons = line.pistons if line.caliper == "sliding" else line.pistons / 2
    one_side = pistons * np.pi * si(line, "piston_mm") ** 2 / 4
    torque = 2 * line.pad_friction * one_side * si(line, "disc_effective_radius_mm")
    per_pressure = torque / (si(machine, "rear_tyre_radius_mm") * mass)
    grip = np.array([surface.grip for surface in job.surfaces])
    lock = np.asarray(
        wheel.lock_deceleration(
            grip, machine.rear_load_share, si(machine, "cg_height_mm"), si(machine, "wheelbase_mm")
        )
    )
    bite = in_si("limits.bite_pressure_bar")
    return Wheel(per_pressure, lock, lock / per_pressure, bite)
