"""A described job on the independent road: the sizes of a job file, turned into the road's own mechanism by hand.

``truth`` holds what differs from the file: what the machine really is, against what somebody wrote down. Paths are
those of the file; ``fitted.brake.clocking_deg`` is how far that cam stands turned ahead of its lever.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import reduce
from math import asin, pi, radians, sqrt

import numpy as np

from pullcurve.parts import unit as parts_unit
from pullcurve.parts.job import Job
from pullcurve.parts.loads import CableClutchCircuit
from tests.road.geometry import Floats, LawOf, Plan
from tests.road.loads import AssistSpring, Brake, CableClutch, Demand, HydraulicClutch, Load, Pack, Plunger
from tests.road.mechanisms import Falling, Rising
from tests.road.road import Lever, Pin, Slot

Truth = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Ahead:
    """A law that is further on than the lever, by an angle."""

    law: Rising | Falling
    angle: float

    def __call__(self, theta: Floats | float) -> Floats:
        return self.law(np.asarray(theta, dtype=float) + self.angle)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A job and what is true instead."""

    job: Job
    truth: Truth

    def __call__(self, path: str) -> float:
        """The true number at a path."""
        if path in self.truth:
            return self.truth[path]
        return float(reduce(_step, path.split("."), self.job))  # type: ignore[arg-type]


def _step(part: object, key: str) -> object:
    return part[int(key)] if isinstance(part, tuple) else getattr(part, key)


def road_lever(job: Job, row: int, truth: Truth | None = None) -> Lever:
    """One lever of a job with everything it moves."""
    told = Sheet(job, truth or {})
    at, lever = f"unit.levers.{row}", job.unit.levers[row]
    reach = next(
        cam.reach_deg for rocker in lever.rockers if (cam := getattr(job.fitted, rocker.drives)) is not None
    )
    slots = tuple(
        _slot(told, f"{at}.rockers.{place}", rocker)
        for place, rocker in enumerate(lever.rockers)
        if getattr(job.fitted, rocker.drives) is not None
    )
    return Lever(
        slots=slots,
        pad_radius=told(f"{at}.finger_radius_mm") / 1e3,
        rest_angle=radians(told(f"{at}.rest_angle_deg") - reach),
        spring_torque=told(f"{at}.spring_torque_newton_mm") / 1e3,
        spring_rate=told(f"{at}.spring_rate_newton_mm_per_deg") / 1e3 * 180 / pi,
        pin=Pin(told("unit.pin_radius_mm") / 1e3, told("unit.pin_friction")),
    )


def _slot(told: Sheet, at: str, rocker: parts_unit.Rocker) -> Slot:
    arm = 0.0 if rocker.load_arm_mm is None else rocker.load_arm_mm / 1e3
    plan = Plan(
        law=_law(told, at, rocker),
        span=radians(26),
        distance=rocker.centre_distance_mm / 1e3,
        arm=rocker.arm_mm / 1e3,
        roller=rocker.roller_radius_mm / 1e3,
        sigma=1 if rocker.turns == "opposite" else -1,
    )
    return Slot(
        plan=plan,
        psi_rest=radians(rocker.rest_angle_deg),
        load=_load(told, at, rocker),
        push_arm=arm,
        guided_by_pin=rocker.push == "pin",
        bearing=radians(rocker.bearing_deg),
        roller_pin=Pin(rocker.roller_pin_radius_mm / 1e3, told(f"{at}.roller_friction")),
        rocker_pin=Pin(rocker.pivot_radius_mm / 1e3, told(f"{at}.pivot_friction")),
    )


def _law(told: Sheet, at: str, rocker: parts_unit.Rocker) -> LawOf:
    """The cam's law; a brake cam's take-up is a cubic bump that is highest at 1 - 1/sqrt 3 of the flank."""
    start, fitted = radians(rocker.rest_angle_deg), told.job.fitted
    ahead = radians(told.truth.get(f"fitted.{rocker.drives}.clocking_deg", 0.0))
    law: Rising | Falling
    if rocker.drives == "assist":
        cam = fitted.assist
        assert cam is not None
        law = Falling(start, radians(cam.onset_deg), radians(cam.blend_deg), cam.fall)
    else:
        assert rocker.load_arm_mm is not None
        share, early, flank = _rise(told, rocker)
        bump = 1.5 * sqrt(3) * early / rocker.load_arm_mm
        turn = asin(share) if rocker.push == "pin" else share
        law = Rising(start, (turn + 2 * bump, -3 * bump, bump), radians(flank))
    return Ahead(law, ahead) if ahead else law


def _rise(told: Sheet, rocker: parts_unit.Rocker) -> tuple[float, float, float]:
    """Stroke per arm, take-up and flank of the brake or clutch cam."""
    arm, fitted = rocker.load_arm_mm, told.job.fitted
    assert arm is not None
    if rocker.drives == "brake":
        assert fitted.brake is not None
        return fitted.brake.stroke_mm / arm, fitted.brake.take_up_mm, fitted.brake.flank_deg
    assert fitted.clutch is not None
    return fitted.clutch.lift_mm / arm, 0.0, fitted.clutch.flank_deg


def _plunger(told: Sheet, at: str) -> Plunger:
    return Plunger(
        area=pi * (told(f"{at}.bore_mm") / 1e3) ** 2 / 4,
        rest_gap=told(f"{at}.rest_gap_mm") / 1e3,
        port=told(f"{at}.port_mm") / 1e3,
        spring_force=told(f"{at}.spring_newton"),
        spring_rate=told(f"{at}.spring_rate_newton_per_mm") * 1e3,
        drag=told(f"{at}.seal_newton"),
        drag_share=told(f"{at}.seal_share"),
    )


def _load(told: Sheet, at: str, rocker: parts_unit.Rocker) -> Load:
    if rocker.drives == "assist":
        assert rocker.spring is not None
        if rocker.spring.kind == "torsion":
            rate = told(f"{at}.spring.rate_newton_mm_per_deg") / 1e3 * 180 / pi
            return AssistSpring(told(f"{at}.spring.preload_newton_mm") / 1e3, rate, torsion=True)
        return AssistSpring(
            told(f"{at}.spring.preload_newton"), told(f"{at}.spring.rate_newton_per_mm") * 1e3
        )
    if rocker.drives == "brake":
        return Brake(_plunger(told, f"{at}.plunger"), _brake_line(told))
    if isinstance(told.job.clutch_circuit, CableClutchCircuit):
        return CableClutch(
            free_play=told("clutch_circuit.free_play_mm") / 1e3,
            ratio=told("clutch_circuit.lift_ratio"),
            stiffness=told("clutch_circuit.stiffness_newton_per_mm") * 1e3,
            pack=_pack(told),
            wrap=told("clutch_circuit.cable_friction") * radians(told("clutch_circuit.bend_deg")),
        )
    return HydraulicClutch(
        plunger=_plunger(told, f"{at}.plunger"),
        demand=_clutch_line(told),
        slave_area=pi * (told("clutch_circuit.slave_bore_mm") / 1e3) ** 2 / 4,
        pack=_pack(told),
        slave_drag=told("clutch_circuit.seal_newton"),
        slave_drag_share=told("clutch_circuit.seal_share"),
    )


def _pack(told: Sheet) -> Pack:
    assert told.job.clutch is not None
    assert told.job.clutch.spring == "coil"
    return Pack(
        told("clutch.clamp_newton"),
        told("clutch.rate_newton_per_mm") * 1e3,
        told("clutch.spring_back_mm") / 1e3,
    )


MM3_PER_BAR = 1e-9 / 1e5


def _brake_line(told: Sheet) -> Demand:
    line = told.job.brake_circuit
    assert line is not None
    pistons = line.pistons * pi * (line.piston_mm / 1e3) ** 2 / 4
    gaps = 2 if line.caliper == "sliding" else 1  # one piston brings both pads in
    at = "brake_circuit"
    hose = told(f"{at}.hose_length_m") * told(f"{at}.hose_expansion_mm3_per_m_bar")
    return Demand(
        gap=pistons * gaps * told(f"{at}.pad_gap_mm") / 1e3,
        gap_pressure=told(f"{at}.gap_pressure_bar") * 1e5,
        seat=told(f"{at}.seat_volume_mm3") * 1e-9,
        seat_pressure=told(f"{at}.seat_pressure_bar") * 1e5,
        linear=(hose + told(f"{at}.caliper_expansion_mm3_per_bar")) * MM3_PER_BAR,
        fluid=told(f"{at}.fluid_volume_cm3") * 1e-6,
        bulk_modulus=told(f"{at}.fluid_bulk_modulus_gpa") * 1e9,
        air=told(f"{at}.fluid_volume_cm3") * 1e-6 * told(f"{at}.free_air_percent") / 100,
        air_exponent=told(f"{at}.air_exponent"),
    )


def _clutch_line(told: Sheet) -> Demand:
    at = "clutch_circuit"
    hose = told(f"{at}.hose_length_m") * told(f"{at}.hose_expansion_mm3_per_m_bar")
    return Demand(
        linear=(hose + told(f"{at}.housing_expansion_mm3_per_bar")) * MM3_PER_BAR,
        fluid=told(f"{at}.fluid_volume_cm3") * 1e-6,
        bulk_modulus=told(f"{at}.fluid_bulk_modulus_gpa") * 1e9,
        air=told(f"{at}.fluid_volume_cm3") * 1e-6 * told(f"{at}.free_air_percent") / 100,
        air_exponent=told(f"{at}.air_exponent"),
    )
