"""A control unit as it moves under the hand: geometry to scale, and everything along the pull by lever angle.

The pose table is what a page interpolates while somebody drags the lever; mechanics happen here and nowhere else.
Every name carries its unit. Points are those of the drawing of :mod:`pullcurve.papers.poseframe`.
"""

from typing import Any

import numpy as np

from pullcurve.mechanics import arms as statics
from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import poseshapes as shapes
from pullcurve.papers.poseframe import Seen, along_blade, push_of_finger, seen
from pullcurve.papers.pulls import EVENT_KINDS
from pullcurve.papers.record import Record, plain
from pullcurve.papers.style import EVENT_SIGNS
from pullcurve.parts import unit as parts
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import AssistSpring, ClutchCable, Hand, Lever, Mechanism
from pullcurve.pull.loop import LeverPull
from pullcurve.pull.mechanism import in_si
from pullcurve.pull.plate import law_metal
from pullcurve.pull.readouts import clutch_torque_left, deceleration
from pullcurve.pull.solve import LeverCurves, RockerCurves, solve
from pullcurve.units import from_si

POSES = 161
"""Lever angles of the table, even from rest to the end; the events are added to them."""

CHORD = 5.0e-6
"""Largest distance between a cam's outline and the drawn polygon [m]."""


def poses_record(job: Job, row: int, mechanism: Mechanism, pulled: LeverPull) -> Record:
    """One lever: what it looks like, where it stands at every angle, what the finger and the roller meet there."""
    moving, part, hand = mechanism.levers[row], job.unit.levers[row], mechanism.hands[row]
    theta = _angles(pulled)
    curves = solve(moving, theta, mechanism.worn)
    by_kind: dict[str, parts.Rocker] = {known.drives: known for known in part.rockers}
    return {
        "name": part.name,
        "drives": [rocker.drives for rocker in moving.rockers],
        "pin_radius_mm": job.unit.pin_radius_mm,
        "grip": shapes.grip_record(job, part, moving),
        "hand": shapes.hand_record(job, part, moving),
        "lever": {"outline_mm": shapes.lever_outline(job, part, moving), **_lever_facts(moving, part)},
        "end": _end_record(moving, pulled),
        "reach": _reach_record(hand, curves),
        "events": _events_record(pulled),
        "poses": _lever_poses(moving, curves),
        "rockers": [
            _rocker_record(moving, by_kind[known.drives], known, mechanism) for known in curves.rockers
        ],
    }


def _angles(pulled: LeverPull) -> FloatArray:
    """Even lever angles and those of the shown events, in order, so that an event is exact and not interpolated."""
    shown = [
        pulled.at.theta[pulled.events.index(name)] for name in EVENT_KINDS if name in pulled.events.names
    ]
    known = np.concatenate(
        [np.linspace(0.0, float(pulled.end[0]), POSES), [one for one in shown if one == one]]
    )
    return np.unique(known)


def _listed(values: FloatArray, decimals: int) -> Any:
    """Values as JSON data, rounded; null where there is none."""
    known = np.round(values, decimals)
    return known.tolist() if np.all(np.isfinite(known)) else plain(known)


def _told(unit: str, values: FloatArray | float, decimals: int = 4) -> Any:
    """Values in a unit of the workshop, as JSON data."""
    return _listed(np.asarray(values, dtype=np.float64) * from_si(f"value_{unit}", 1.0), decimals)


# Lever ------------------------------------------------------------------------------------------------------


def _lever_facts(moving: Lever, part: parts.Lever) -> Record:
    return {
        "rest_deg": _told("deg", moving.rest_angle - moving.reach),
        "reach_deg": _told("deg", moving.reach),
        "finger_radius_mm": part.finger_radius_mm,
        "length_mm": part.length_mm,
        "thickness_mm": part.thickness_mm,
    }


def _lever_poses(moving: Lever, curves: LeverCurves) -> Record:
    """The lever at every angle of the table."""
    theta, radius = curves.theta, shapes.mm(float(moving.finger_radius))
    return {
        "theta_deg": _told("deg", theta, 5),
        "travel_mm": _told("mm", curves.travel),
        "gap_mm": _told("mm", curves.gap),
        "pull_newton": _told("newton", curves.pull, 3),
        "release_newton": _told("newton", curves.release, 3),
        "finger_mm": _listed(along_blade(moving, theta, radius), 4),
        "push": _listed(push_of_finger(moving, theta), 5),
    }


def _end_record(moving: Lever, pulled: LeverPull) -> Record:
    """Where the travel ends and what ends it."""
    end = float(pulled.end[0])
    fingers = float(moving.gap_floor) > in_si("limits.grip_gap_keep_mm")
    by = "fingers on the grip" if fingers else "the gap to the grip that must stay"
    if np.isclose(end, float(moving.stop - moving.reach)):
        by = "the lever's own stop"
    return {
        "travel_mm": _told("mm", moving.finger_radius * end),
        "by": by,
        "gap_floor_mm": _told("mm", moving.gap_floor),
    }


def _reach_record(hand: Hand, curves: LeverCurves) -> Record:
    """Gaps up to which the finger touches and holds the lever, and the travel before which it cannot."""
    front = hand.grip_diameter + hand.lever_thickness
    found: Record = {}
    for name, reach in (("touch", hand.touch), ("hold", hand.hold)):
        most = reach - front
        # The gap falls along the pull, and the table is read from its end.
        travel = float(np.interp(most, curves.gap[::-1], curves.travel[::-1]))
        found |= {f"{name}_gap_mm": _told("mm", most), f"{name}_travel_mm": _told("mm", travel)}
    return found


def _events_record(pulled: LeverPull) -> list[Record]:
    """Bite, lock-up, first slip, free and clean: their signs, and where they lie; null where not reached."""
    found = []
    for name, kind in EVENT_KINDS.items():
        if name not in pulled.events.names:
            continue
        place, at = pulled.events.index(name), pulled.at
        found.append(
            {
                "kind": kind,
                "sign": EVENT_SIGNS[kind],
                "theta_deg": _told("deg", at.theta[..., place], 5),
                "travel_mm": _told("mm", at.travel[..., place]),
                "gap_mm": _told("mm", at.gap[..., place]),
                "pull_newton": _told("newton", at.pull[..., place], 3),
                "release_newton": _told("newton", at.release[..., place], 3),
            }
        )
    return found


# Rocker -----------------------------------------------------------------------------------------------------


def _rocker_record(moving: Lever, part: parts.Rocker, curves: RockerCurves, mechanism: Mechanism) -> Record:
    """One cam with its rocker and its load, placed at rest, and where they stand along the pull."""
    rocker = moving.rocker(curves.drives)
    assert rocker is not None
    view = seen(rocker)
    metal = law_metal(moving, rocker.drives, part.plate, rocker.drives, CHORD)
    turns = curves.law.psi - float(rocker.rest_angle)
    outline = view.place(metal.outline)
    load: Record = {}
    if part.plunger is not None:
        load = {"cylinder": shapes.cylinder_record(view, part, float(turns.min()))}
    elif isinstance(rocker.load, AssistSpring):
        load = {"spring": shapes.spring_record(view, part, float(turns.min()))}
    elif isinstance(rocker.load, ClutchCable):
        load = {"cable": shapes.cable_record(view)}
    return {
        "drives": rocker.drives,
        "pivot_mm": shapes.rounded(view.pivot),
        "arm_mm": part.arm_mm,
        "load_arm_mm": part.load_arm_mm,
        "roller_radius_mm": part.roller_radius_mm,
        "roller_pin_radius_mm": part.roller_pin_radius_mm,
        "pivot_radius_mm": part.pivot_radius_mm,
        "push": part.push,
        "body_mm": shapes.rocker_outline(view, part, (float(turns.min()), float(turns.max()))),
        "cam": {
            "outline_mm": shapes.thinned(outline),
            "bore_radius_mm": shapes.mm(metal.bore_radius),
            "holes_mm": [
                [*shapes.rounded(view.place(np.array([x, y]))), shapes.mm(radius)]
                for x, y, radius in metal.holes
            ],
        },
        **load,
        "poses": {**_rocker_poses(view, curves), **_load_poses(part, curves, mechanism)},
    }


def _rocker_poses(view: Seen, curves: RockerCurves) -> Record:
    """Roller, contact and the force on the roller at every angle of the table."""
    rocker, psi = view.rocker, curves.law.psi
    normal = statics.heading(psi, curves.alpha)
    speed = statics.slide(
        normal, curves.law.dpsi, rocker.centre_distance, rocker.arm, rocker.roller_radius, rocker.sense
    )
    roller = view.roller(psi)
    contact = roller - shapes.mm(float(rocker.roller_radius)) * view.direction(normal.across, normal.along)
    sin_tilt = np.sin(rocker.roller_tilt) * np.sign(speed)
    turned = statics.tilted(normal, sin_tilt, np.cos(rocker.roller_tilt))
    force = curves.contact_pull[..., None] * view.direction(turned.across, turned.along)
    return {
        "roller_mm": _listed(roller, 4),
        "contact_mm": _listed(contact, 4),
        "turn_deg": _listed(view.turned(psi), 4),
        "contact_newton": _listed(force, 3),
        "contact_pull_newton": _told("newton", curves.contact_pull, 3),
        "contact_release_newton": _told("newton", curves.contact_release, 3),
    }


def _load_poses(part: parts.Rocker, curves: RockerCurves, mechanism: Mechanism) -> Record:
    """What the rocker works against, and what that does at the wheel or the plates."""
    load, shape = curves.load, curves.law.psi.shape
    gap = part.plunger.rest_gap_mm if part.plunger else 0.0
    stroke = shapes.mm(1.0) * np.broadcast_to(load.stroke, shape)
    found: Record = {
        "stroke_mm": _listed(stroke, 4),
        "plunger_mm": _listed(np.maximum(stroke - gap, 0.0), 4),
    }
    if part.plunger is not None:
        found["pressure_bar"] = _told("bar", np.broadcast_to(load.pressure, shape))
    if curves.drives == "brake" and mechanism.wheel is not None:
        found["deceleration_m_per_s2"] = _told("m_per_s2", deceleration(mechanism.wheel, load.pressure))
    if curves.drives == "clutch" and mechanism.plates is not None:
        found["torque_newton_m"] = _told("newton_m", clutch_torque_left(mechanism.plates, load.lift))
        found["lift_mm"] = _told("mm", load.lift)
    return found


__all__ = ["POSES", "poses_record"]
