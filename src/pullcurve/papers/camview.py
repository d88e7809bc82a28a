"""Views of a cam as an engineer draws them: front view with the roller at rest, section through the hub."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.drawing import (
    LETTER,
    Arrow,
    Circle,
    Line,
    Point,
    Polyline,
    Shape,
    Sheet,
    Text,
    angular,
    cross,
    hatching,
    linear,
    moved,
    polar,
    radius_mark,
    svg,
)
from pullcurve.papers.flank import flank_at
from pullcurve.papers.lettering import base_line, clear_of, engraved, holes_mm, in_mm
from pullcurve.papers.letters import text_width
from pullcurve.papers.style import SEMIBOLD
from pullcurve.parts.fit import zone_of
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

SCALES = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2)
"""Scales of technical drawings, paper over part (ISO 5455), largest first."""

WIDTH, HEIGHT = 180.0, 101.0
ROUND_LEFT, ROUND_RIGHT, ROUND_LOW, ROUND_TOP = 5.5, 30.0, 14.0, 8.0
"""Room on paper round the part for dimensions, mm."""

SECTION_LEFT, SECTION_RIGHT = 2.0, 14.0
ALIKE_MM = 1e-6
"""Radii that differ by less are the same radius, mm."""

ARC_AWAY, ARC_STEP = 5.0, 7.0
"""First arc of an angle off the part, and the next off the first, on paper, mm."""

SMALL_ARC = 14.0
"""An arc shorter than this has its text beside it, on paper, mm."""

BESIDE, OFF_ROCKER = 9.0, 5.0
"""How far beside a small arc its text stands, and how far off the rocker it has to stay, on paper, mm."""

ORIGIN = (0.0, 0.0)
BELOW = -2.1
"""Direction of the hub's radius: down and left, where no flank is [rad]."""

LABEL_STEP, LABEL_AWAY = 9.0, 5.0
CAPITALS = 0.66


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the flank that the drawing names: polar angle [rad], distance from the pivot, mm."""

    angle: float
    radius: float


@dataclass(frozen=True, slots=True)
class Measures:
    """What the drawing dimensions, mm and rad."""

    outline: FloatArray
    bore: float
    hub: float
    thickness: float
    roller: Point
    roller_radius: float
    pivot: float
    start: Place
    end: Place
    largest: Place
    smallest: Place
    arc: float


def measures(metal: Metal) -> Measures:
    """Dimensions of a cam in mm; the flank's ends and extremes are those of the metal, lead-in and run-out included."""
    flank = in_mm(metal.flank)
    angles = np.unwrap(np.arctan2(flank[:, 1], flank[:, 0]))
    radii = np.hypot(flank[:, 0], flank[:, 1])

    def place(index: int) -> Place:
        return Place(float(angles[index]), float(radii[index]))

    def extreme(radius: float) -> Place:
        """An end of the flank where it has this radius, else the first point that has."""
        there = np.flatnonzero(np.abs(radii - radius) < ALIKE_MM)
        return place(-1 if there[-1] == len(radii) - 1 and there[0] != 0 else int(there[0]))

    roller = in_mm(flank_at(metal, np.zeros(1)).roller)[0].tolist()
    radius = from_si("radius_mm", metal.roller_radius)
    largest = float(radii.max())
    reach, bearing = math.hypot(*roller), math.atan2(roller[1], roller[0])
    beside = angles.min() - radius / reach < bearing < angles.max() + radius / reach
    clear = reach + radius if beside and reach + radius > largest else largest
    return Measures(
        outline=in_mm(metal.outline),
        bore=from_si("radius_mm", metal.bore_radius),
        hub=from_si("radius_mm", metal.hub_radius),
        thickness=from_si("thickness_mm", metal.thickness),
        roller=(roller[0], roller[1]),
        roller_radius=radius,
        pivot=from_si("centre_mm", metal.centre_distance),
        start=place(0),
        end=place(-1),
        largest=extreme(largest),
        smallest=extreme(float(radii.min())),
        arc=clear,
    )


# Scale -------------------------------------------------------------------------------------------------------


def _extent(known: Measures) -> tuple[float, float, float, float]:
    """What the front view shows: left, low, right, top, mm on the part."""
    x, y = known.roller
    r = known.roller_radius
    (left, low), (right, top) = known.outline.min(axis=0).tolist(), known.outline.max(axis=0).tolist()
    return min(left, x - r), min(low, y - r), max(right, x + r, known.pivot), max(top, y + r)


def _paper(known: Measures, scale: float) -> tuple[float, float, float, float]:
    """What part, roller, rocker and angles take on paper: left, low, right, top, mm."""
    left, low, right, top = (edge * scale for edge in _extent(known))
    rays = [_ray_end(known, place, scale) for place in (known.start, known.end)]
    return (
        min(left, *(x for x, _ in rays)),
        min(low, *(y for _, y in rays)),
        max(right, _arc(known, scale, int(_alike(known))), *(x for x, _ in rays)),
        max(top, *(y for _, y in rays)),
    )


def scale_of(known: Measures) -> float:
    """Largest scale at which front view and section fit beside each other."""
    for scale in SCALES[:-1]:
        left, low, right, top = _paper(known, scale)
        section = known.thickness * scale + SECTION_LEFT + SECTION_RIGHT
        across = right - left + ROUND_LEFT + ROUND_RIGHT + section
        if across <= WIDTH and top - low + ROUND_LOW + ROUND_TOP <= HEIGHT:
            return scale
    return SCALES[-1]


def scale_words(scale: float) -> str:
    """A scale as it is written on a drawing."""
    return f"{scale:g} : 1" if scale >= 1.0 else f"1 : {1.0 / scale:g}"


# Front view --------------------------------------------------------------------------------------------------


def _scaled(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _front(metal: Metal, known: Measures, scale: float) -> Iterator[Shape]:
    """Outline, bore, holes, engraving, hub radius and centre lines; the pivot stands at the origin."""
    yield Polyline(known.outline * scale, closed=True)
    yield Circle(ORIGIN, known.bore * scale)
    for x, y, radius in holes_mm(metal):
        yield Circle(_scaled((x, y), scale), radius * scale)
        yield from cross(_scaled((x, y), scale), radius * scale + 1.5)
    text = engraved(metal)
    if text:
        size = text.height * scale / CAPITALS
        yield Text(_scaled(base_line(text), scale), text.content, size, turn=text.turn, ink="ink_2")
    reach = known.hub * scale + 4.0
    low, high = (cut * scale for cut in _cuts(known.outline))
    for start, end in (
        ((-reach, 0.0), (known.pivot * scale + 4.0, 0.0)),
        ((0.0, low - 4.0), (0.0, high + 4.0)),
    ):
        yield from (Line(*piece, "centre") for piece in clear_of(text, scale, start, end))
    yield from radius_mark(ORIGIN, known.hub * scale, BELOW, 6.0, f"R{known.hub:g}", known.bore * scale)


def _unit(known: Measures, scale: float) -> Iterator[Shape]:
    """The roller at rest and its rocker, thin and dashed: they belong to the unit, not to the part."""
    centre, pivot = _scaled(known.roller, scale), (known.pivot * scale, 0.0)
    yield Circle(centre, known.roller_radius * scale, "phantom", "ink_2")
    yield from cross(centre, 2.0)
    yield Line(centre, pivot, "phantom", "ink_2")
    yield Circle(pivot, 1.2, "thin", "ink_2")
    yield Line((pivot[0], -3.0), (pivot[0], 3.0), "centre")


def _angles(known: Measures, scale: float) -> Iterator[Shape]:
    """Rays to both ends of the flank with their angles from the axis; the wider one outside if both lie alike."""
    places = sorted((known.start, known.end), key=lambda place: abs(place.angle))
    alike = _alike(known)
    for row, place in enumerate(places):
        radius = _arc(known, scale, row if alike else 0)
        yield Line(
            polar(ORIGIN, place.radius * scale + 0.8, place.angle), _ray_end(known, place, scale), "thin"
        )
        low, high = sorted((0.0, place.angle))
        text_at = _text_angle(places, row if alike else 0, place, radius)
        if abs(place.angle) * radius < SMALL_ARC:
            text_at = _beside(known, scale, place.angle, radius)
        yield from angular(ORIGIN, radius, low, high, degrees(place.angle), text_at)


def _alike(known: Measures) -> bool:
    """Whether both ends of the flank lie on one side of the axis."""
    return known.start.angle * known.end.angle > 0


def _arc(known: Measures, scale: float, row: int) -> float:
    """Radius on paper of an angle's arc."""
    return known.arc * scale + ARC_AWAY + ARC_STEP * row


def _text_angle(places: list[Place], row: int, place: Place, radius: float) -> float | None:
    """Where the text of an angle stands: in the middle, or off the ray that crosses a wider one."""
    inner = places[0].angle
    if row == 0:
        return None
    return (inner + place.angle) / 2 if abs(place.angle - inner) * radius > SMALL_ARC else inner / 2


def _beside(known: Measures, scale: float, angle: float, radius: float) -> float:
    """Where the text of a small arc stands: beyond its ray, or beyond the axis where the rocker runs through it."""
    away = math.copysign(BESIDE / radius, angle)
    x, y = polar(ORIGIN, radius + LETTER / 2, angle + away)
    start, end = np.array(known.roller) * scale, np.array([known.pivot * scale, 0.0])
    along = (end - start) / np.hypot(*(end - start))
    off = abs(along[0] * (y - start[1]) - along[1] * (x - start[0]))
    return angle + away if off > OFF_ROCKER else -away


def _ray_end(known: Measures, place: Place, scale: float) -> Point:
    """Where the ray to an end of the flank ends, beyond the outermost arc."""
    return polar(ORIGIN, known.arc * scale + ARC_AWAY + ARC_STEP + 1.5, place.angle)


def degrees(angle: float) -> str:
    """An angle in degrees as the drawing writes it."""
    return f"{math.degrees(angle):.2f}°".replace("-", "−")


@dataclass(frozen=True, slots=True)
class Label:
    """Words in the column beside the front view and the point that they are about; an arrow only where it is bare."""

    tip: Point
    lines: tuple[str, ...]
    arrow: bool


def _labels(known: Measures, scale: float) -> Iterator[Label]:
    """Roller, rocker pivot, ends of the flank, and its extremes where they lie elsewhere."""
    centre = _scaled(known.roller, scale)
    yield Label(
        polar(centre, known.roller_radius * scale, 0.8),
        (f"roller Ø{2 * known.roller_radius:g}", "lever at rest"),
        True,
    )
    yield Label((known.pivot * scale + 1.2, 0.0), ("0°: rocker pivot", f"{known.pivot:g} from bore"), True)
    for name, place in (("start", known.start), ("end", known.end)):
        extreme = ", largest" if place == known.largest else ", smallest" if place == known.smallest else ""
        yield Label(_ray_end(known, place, scale), (f"flank {name}", f"R{place.radius:.3f}{extreme}"), False)
    for name, place in (("largest", known.largest), ("smallest", known.smallest)):
        if place not in (known.start, known.end):
            at = polar(ORIGIN, place.radius * scale, place.angle)
            yield Label(at, (f"{name} radius", f"R{place.radius:.3f} at {degrees(place.angle)}"), True)


def _column(labels: Iterator[Label], x: float, sheet: Sheet) -> Iterator[Shape]:
    """Labels one under the other at the right, in the order of their points, so that no leader crosses another."""
    sorted_ones = sorted(labels, key=lambda label: -label.tip[1])
    heights: list[float] = []
    for label in sorted_ones:
        heights.append(min(label.tip[1], heights[-1] - LABEL_STEP) if heights else label.tip[1])
    lift = sum(label.tip[1] - y for label, y in zip(sorted_ones, heights, strict=True)) / len(heights)
    most = sheet.low + sheet.height - LABEL_STEP / 2 - heights[0]
    lift = max(min(lift, most), sheet.low + LABEL_STEP / 2 - heights[-1])
    for label, y in zip(sorted_ones, heights, strict=True):
        knee = (x, y + lift)
        width = max(text_width(line, LETTER) for line in label.lines)
        yield Line(label.tip, knee, "thin")
        yield Line(knee, (x + width + 1.2, knee[1]), "thin")
        if label.arrow:
            yield Arrow(label.tip, math.atan2(label.tip[1] - knee[1], label.tip[0] - knee[0]))
        yield Text((x + 0.8, knee[1] + 0.9), label.lines[0], anchor="start")
        yield Text((x + 0.8, knee[1] - 3.0), label.lines[1], anchor="start")


# Section -----------------------------------------------------------------------------------------------------


def _cuts(outline: FloatArray) -> tuple[float, float]:
    """Lowest and highest point of an outline on the line through the pivot that stands upright."""
    ends = np.roll(outline, -1, axis=0)
    met = (outline[:, 0] <= 0) != (ends[:, 0] <= 0)
    start, along = outline[met], ends[met] - outline[met]
    y = start[:, 1] - start[:, 0] / along[:, 0] * along[:, 1]
    return float(y.min()), float(y.max())


def _section(metal: Metal, known: Measures, scale: float) -> Iterator[Shape]:
    """The plate cut through the pivot, its middle at the origin: hatched metal, bore with fit, thickness."""
    low, high = (cut * scale for cut in _cuts(known.outline))
    half, bore = known.thickness * scale / 2, known.bore * scale
    for bottom, top in ((bore, high), (low, -bore)):
        ring = np.array([[-half, bottom], [half, bottom], [half, top], [-half, top]])
        yield from hatching((ring,))
        yield Polyline(ring, closed=True)
    for x in (-half, half):
        yield Line((x, -bore), (x, bore))
    yield Line((-half - 3.0, 0.0), (half + 3.0, 0.0), "centre")
    yield Text((0.0, high + 13.0), "A – A", weight=SEMIBOLD)
    # From right to left: a text without room inside then stands at the left, away from the bore's.
    yield from linear((half, high), (-half, high), -5.0, f"{known.thickness:g}")
    zone = zone_of(metal.bore_fit, round(2 * known.bore, 6))
    deviations = deviation_words(zone.upper_mm), deviation_words(zone.lower_mm)
    yield from linear((half, -bore), (half, bore), -8.5, f"Ø{zone.diameter_mm:g} {zone.name}", deviations)
    yield from _datum((half + 8.5, -bore), "A")


def deviation_words(deviation_mm: float) -> str:
    """A deviation with its sign, zero without."""
    return "0" if round(deviation_mm, 6) == 0 else f"{deviation_mm:+.3f}".replace("-", "−")


def _datum(foot: Point, letter: str) -> Iterator[Shape]:
    """The flag of a datum, hanging from a dimension line."""
    x, y = foot
    yield Line((x, y), (x, y - 7.0), "thin")
    yield Arrow((x, y), math.pi / 2)
    box = np.array([[x - 2.2, y - 7.0], [x + 2.2, y - 7.0], [x + 2.2, y - 11.4], [x - 2.2, y - 11.4]])
    yield Polyline(box, closed=True, pen="thin")
    yield Text((x, y - 10.2), letter)


def _plane(known: Measures, scale: float) -> Iterator[Shape]:
    """Where the section is taken and which way it is seen."""
    low, high = (cut * scale for cut in _cuts(known.outline))
    for y, lift in ((high + 5.0, 1.0), (low - 5.0, -1.0)):
        yield Line((0.0, y - lift * 1.5), (0.0, y + lift * 2.0))
        yield Line((0.0, y + lift * 2.0), (-5.0, y + lift * 2.0), "thin")
        yield Arrow((0.0, y + lift * 2.0), 0.0)
        yield Text((-7.0, y + lift * 2.0 - 1.0), "A", weight=SEMIBOLD)


# Both --------------------------------------------------------------------------------------------------------


def cam_view(metal: Metal) -> tuple[str, float]:
    """Front view and section as SVG of the sheet's width, and their scale."""
    groups, sheet, scale = view_groups(metal)
    return svg(groups, sheet, f"{metal.name}: front view and section, {scale_words(scale)}"), scale


def view_groups(metal: Metal) -> tuple[dict[str, tuple[Shape, ...]], Sheet, float]:
    """The shapes of both views by what they belong to, their window and their scale."""
    known = measures(metal)
    scale = scale_of(known)
    left, low, right, top = _paper(known, scale)
    spare = HEIGHT - (top - low) - ROUND_LOW - ROUND_TOP
    sheet = Sheet(left - ROUND_LEFT, low - ROUND_LOW - spare / 2, WIDTH, HEIGHT)
    middle = sheet.left + WIDTH - SECTION_RIGHT - known.thickness * scale / 2
    groups = {
        "unit": tuple(_unit(known, scale)),
        "front": tuple(_front(metal, known, scale)),
        "dimensions": (*_angles(known, scale), *_plane(known, scale)),
        "labels": tuple(_column(_labels(known, scale), right + LABEL_AWAY, sheet)),
        "section": moved(_section(metal, known, scale), (middle, 0.0)),
    }
    return groups, sheet, scale
