"""Outlines of a control unit seen along its pivot, in mm: grip, lever, fingers, rocker, cylinder, spring, cable.

What the job gives is drawn to scale: radii, lengths, angles, bores, strokes. What it leaves open follows here: the
line of a load stands at right angles to the rocker at rest; walls, rods and blades are as thick as they usually are.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from scipy.interpolate import PchipInterpolator
from shapely import MultiPoint, Point, Polygon, union_all

from pullcurve.mechanics.curve import FloatArray, Number
from pullcurve.papers.poseframe import Seen, along_blade
from pullcurve.parts import unit as parts
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import Lever
from pullcurve.pull.mechanism import fingers_at
from pullcurve.units import from_si

FINGERS = ("index", "middle", "ring", "little")
BAR_RADIUS = 11.0
"""The tube under the grip, 22 mm [mm]."""

PALM, FINGER_GAP = 9.0, 1.5
"""How far the fingers stand out behind the grip, and what is left between two of them [mm]."""

GRIP_OVER, GRIP_INNER = 7.0, 12.0
"""What the grip is longer than the hand is broad, outside and inside [mm]."""

BOSS, ROLLER_BOSS = 2.6, 1.2
"""Metal around the rocker's pin and around the roller's [mm]."""

PAD_CLEAR, PAD_OVER = 2.5, 0.1
"""The pad stands beyond the roller by so much [mm], and is longer than it is used [rad]."""

ROD_CLEAR, WALL, CUP = 4.0, 3.2, 1.6
"""Rod left at full stroke, wall of the cylinder, width of a seal [mm]."""

SPRING_LENGTH, SPRING_RADIUS, SPRING_COILS = 26.0, 6.0, 6
CABLE_LENGTH, CABLE_STOP = 30.0, 20.0
OUTLET = 1.6

Outline = list[list[float]]


def rounded(points: FloatArray, decimals: int = 3) -> Outline:
    """Points as lists, to a thousandth of a millimetre."""
    known: Outline = np.round(points, decimals).tolist()
    return known


def _ring(shape: Polygon, spare: float = 0.02) -> FloatArray:
    """Outline of a shape, without points that no eye would miss."""
    return np.asarray(shape.simplify(spare).exterior.coords)[:-1]


def thinned(outline: FloatArray) -> Outline:
    """A closed outline (P, 2) with as few points as keep it within some thousandths of a millimetre."""
    return rounded(_ring(Polygon(outline), 0.002))


def mm(value: Number) -> float:
    """Millimetres of a length in SI."""
    return from_si("length_mm", float(value))


# Hand and lever ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Finger:
    """One finger: name, whether it pulls, its middle from the lever pivot along the grip [mm]."""

    name: str
    pulls: bool
    along: float


def fingers(job: Job, lever: parts.Lever) -> tuple[Finger, ...]:
    """Four fingers side by side, those that pull with their middle at the finger pad."""
    pulling = fingers_at(job, lever)
    places = [FINGERS.index(name) for name in pulling]
    middle = (places[0] + places[-1]) / 2.0
    return tuple(
        Finger(name, name in pulling, lever.finger_radius_mm + (place - middle) * finger_width(job))
        for place, name in enumerate(FINGERS)
    )


def finger_width(job: Job) -> float:
    """Breadth of one finger: a quarter of the hand's [mm]."""
    return job.rider.hand_breadth_mm / 4.0


def hand_record(job: Job, lever: parts.Lever, moving: Lever) -> dict[str, object]:
    """Fingers from above: those on the lever end in front of it, the others lie over the grip."""
    front = lever.thickness_mm + job.rider.resting_finger_mm
    return {
        "width_mm": round(finger_width(job) - FINGER_GAP, 3),
        "behind_mm": round(-mm(moving.pivot_offset) - mm(moving.grip_radius) - PALM, 3),
        "over_grip_mm": round(
            mm(moving.grip_radius) - mm(moving.pivot_offset) + job.rider.resting_finger_mm, 3
        ),
        "over_lever_mm": round(front, 3),
        "fingers": [
            {"name": finger.name, "pulls": finger.pulls, "along_mm": round(finger.along, 3)}
            for finger in fingers(job, lever)
        ],
    }


def grip_record(job: Job, lever: parts.Lever, moving: Lever) -> dict[str, object]:
    """Grip and bar as upright rectangles: left, low, right, top."""
    along = [finger.along for finger in fingers(job, lever)]
    half, axis, radius = finger_width(job) / 2.0, -mm(moving.pivot_offset), mm(moving.grip_radius)
    outer, inner = -(along[-1] + half + GRIP_OVER), -(along[0] - half - GRIP_INNER)
    return {
        "axis_mm": round(axis, 3),
        "radius_mm": round(radius, 3),
        "bar_radius_mm": BAR_RADIUS,
        "left_mm": round(outer, 3),
        "right_mm": round(inner, 3),
    }


def lever_outline(job: Job, lever: parts.Lever, moving: Lever) -> Outline:
    """A blade at rest: hub, blade as thick as given with its rear face at the finger pad, a ball at its end."""
    size = (job.unit.pin_radius_mm, lever.finger_radius_mm, lever.length_mm, lever.thickness_mm)
    return rounded(along_blade(moving, 0.0, *_blade(*size).T))


@lru_cache(maxsize=32)
def _blade(pin_radius: float, pad: float, length: float, thick: float) -> FloatArray:
    """The same along its own blade, (N, 2) [mm]; cams do not change it, so some are kept at hand."""
    hub, ball = pin_radius + 7.0, 0.5 * thick + 1.5
    end = length - ball
    places = [0.0, 0.25 * pad, 0.55 * pad, pad, max(end, pad + 1.0)]
    along = np.linspace(0.0, places[-1], 60)
    rear = PchipInterpolator(places, [-0.6 * hub, -0.3 * thick, 0.0, 0.0, 2.5])(along)
    front = rear + PchipInterpolator(places, [1.3 * hub, 1.35 * thick, 1.05 * thick, thick, 0.9 * thick])(
        along
    )
    blade = Polygon([*np.stack([along, rear], axis=-1), *np.stack([along, front], axis=-1)[::-1]])
    tip = Point(places[-1], 2.5 + 0.45 * thick).buffer(ball)
    whole = union_all([blade, Point(0.0, 0.0).buffer(hub), tip]).buffer(8.0).buffer(-8.0)
    return _ring(whole)


# Rocker and load --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """The line along which a rocker pushes: where the pad touches at rest, way it goes, place along it [mm]."""

    start: FloatArray
    way: FloatArray

    def at(self, along: float, across: float = 0.0) -> FloatArray:
        """A point by its distance along the line and to its left, (2,)."""
        left = np.array([-self.way[1], self.way[0]])
        return np.asarray(self.start + along * self.way + across * left)

    def box(self, low: float, high: float, half: float) -> FloatArray:
        """A box about the line, (4, 2)."""
        return np.array([self.at(low, half), self.at(high, half), self.at(high, -half), self.at(low, -half)])


def line_of(view: Seen, least: float = 0.0) -> Line:
    """The line of the load at its arm from the rocker's pivot, where the roller and the least turn leave it room."""
    arm, roller = mm(view.rocker.load_arm), mm(view.rocker.roller_radius)
    clear = 0.0 if view.rocker.pin_push else roller + PAD_CLEAR + arm * max(0.0, -least)
    return Line(view.pivot + arm * view.outward + clear * view.forward, view.forward)


def _about(view: Seen, points: FloatArray, turns: FloatArray) -> FloatArray:
    """Points (N, 2) about the rocker's pivot, each turned back by a turn of the rocker (N,) [rad]."""
    angle = float(view.rocker.sense) * turns
    c, s = np.cos(angle), np.sin(angle)
    x, y = (points - view.pivot).T
    return np.asarray(view.pivot + np.stack([c * x - s * y, s * x + c * y], axis=-1))


def _pad(view: Seen, line: Line, turns: FloatArray) -> FloatArray:
    """The pad's face at rest, (N, 2): what stays on the line, at a constant arm, while the rocker turns."""
    arm = mm(view.rocker.load_arm)
    return _about(view, line.start + arm * turns[:, None] * line.way, turns)


def _far_side(view: Seen) -> FloatArray:
    """Where a cable leaves its drum: at the load's arm, on the other side of the rocker's pivot, (2,)."""
    return np.asarray(view.pivot - np.multiply(mm(view.rocker.load_arm), view.outward))


def rocker_outline(view: Seen, part: parts.Rocker, turns: tuple[float, float]) -> Outline:
    """The rocker at rest: around its pin, out to the roller's, and up to the pad, pin or drum that works the load."""
    hub = Point(*view.pivot).buffer(part.pivot_radius_mm + BOSS)
    tip = Point(*view.roller(np.asarray(view.rocker.rest_angle))).buffer(
        part.roller_pin_radius_mm + ROLLER_BOSS
    )
    arm = union_all([hub, tip]).convex_hull
    used = np.linspace(turns[0] - PAD_OVER, turns[1] + PAD_OVER, 24)
    if float(view.rocker.load_arm) == 0.0:
        return rounded(_ring(arm))
    if part.push == "pin":
        return rounded(
            _ring(union_all([arm, hub.union(Point(*line_of(view).start).buffer(3.0)).convex_hull]))
        )
    if part.plunger is None and part.spring is None:
        rim = _about(view, np.broadcast_to(_far_side(view), (24, 2)), used)
        return rounded(_ring(union_all([arm, Polygon([view.pivot, *rim]), hub])))
    face = _pad(view, line_of(view, turns[0]), used)
    return rounded(_ring(union_all([arm, MultiPoint(face)]).convex_hull))


def cylinder_record(view: Seen, part: parts.Rocker, least: float) -> dict[str, object]:
    """A plunger's cylinder in section: both walls, end wall, plunger, seals, port; the plunger moves along ``way``."""
    plunger = part.plunger
    assert plunger is not None
    line, half = line_of(view, least), plunger.bore_mm / 2.0
    back = (3.0 if part.push == "pin" else 0.0) + plunger.rest_gap_mm
    mouth = back + plunger.stroke_mm + ROD_CLEAR
    piston = mouth + 2.0, mouth + 2.0 + 1.1 * plunger.bore_mm
    floor = piston[1] + plunger.stroke_mm + 2.0
    end = floor + WALL
    walls = [
        np.array([line.at(along, side * across) for along, across in _wall(mouth, floor, end, half)])
        for side in (1.0, -1.0)
    ]
    return {
        "way": rounded(line.way, 6),
        "bore_mm": plunger.bore_mm,
        "walls_mm": [rounded(wall) for wall in walls],
        "chamber_mm": [rounded(line.at(piston[1])), rounded(line.at(floor))],
        "outlet_mm": rounded(line.box(floor, end + 5.0, OUTLET)),
        "port_mm": rounded(
            line.box(piston[1] + plunger.port_mm, piston[1] + plunger.port_mm + 0.8, half + WALL)[:2]
        ),
        "plunger_mm": [
            rounded(line.box(back, piston[0], 0.27 * plunger.bore_mm)),
            rounded(line.box(*piston, half - 0.15)),
        ],
        "seals_mm": [
            rounded(line.box(piston[1] - CUP, piston[1], half)),
            rounded(line.box(piston[0] + 0.6, piston[0] + 0.6 + CUP, half)),
        ],
    }


def _wall(mouth: float, floor: float, end: float, half: float) -> list[tuple[float, float]]:
    """One side of a cylinder in section: along and across its line."""
    outer = half + WALL
    return [(mouth, half), (floor, half), (floor, OUTLET), (end, OUTLET), (end, outer), (mouth, outer)]


def spring_record(view: Seen, part: parts.Rocker, least: float) -> dict[str, object]:
    """An assist spring: coils between the pad and a seat, or a spiral around the rocker's pin."""
    if float(view.rocker.load_arm) == 0.0:
        turn = np.linspace(0.0, 2.75 * 2.0 * pi, 120)
        away = part.pivot_radius_mm + BOSS + 1.5 + 1.1 * turn / (2.0 * pi) * 2.0
        spiral = view.pivot + np.stack([away * np.cos(turn), away * np.sin(turn)], axis=-1)
        return {"spiral_mm": rounded(spiral)}
    line = line_of(view, least)
    seat = line.box(SPRING_LENGTH, SPRING_LENGTH + WALL, SPRING_RADIUS + 2.0)
    return {
        "way": rounded(line.way, 6),
        "coils_mm": [rounded(line.at(0.0)), rounded(line.at(SPRING_LENGTH))],
        "radius_mm": SPRING_RADIUS,
        "coils": SPRING_COILS,
        "seat_mm": rounded(seat),
    }


def cable_record(view: Seen) -> dict[str, object]:
    """A cable that leaves the rocker on the far side of its pivot, and where its housing ends."""
    far = Line(_far_side(view), view.forward)
    return {
        "way": rounded(-far.way, 6),
        "cable_mm": [rounded(far.at(0.0)), rounded(far.at(CABLE_LENGTH + CABLE_STOP))],
        "housing_mm": rounded(far.box(CABLE_LENGTH, CABLE_LENGTH + CABLE_STOP, 2.5)),
    }
