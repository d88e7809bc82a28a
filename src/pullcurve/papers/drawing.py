"""Drawing primitives in mm: lines, arcs, text, dimensions and hatching, y upward, as an engineer draws them.

A drawing is a tuple of shapes. Composite shapes (a dimension, a leader) are functions that return shapes, so that
every renderer needs to know the plain ones only.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal, assert_never

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.letters import text_width
from pullcurve.papers.plot import element, words
from pullcurve.papers.style import LIGHT, Theme

Point = tuple[float, float]
Pen = Literal["edge", "hidden", "centre", "phantom", "thin", "hatching", "cut"]
Anchor = Literal["start", "middle", "end"]
Ink = Literal["ink", "ink_2", "fitted", "proposed"]

MM_PER_PX = 25.4 / 96.0
"""A px is 1/96 inch (CSS Values and Units, absolute lengths)."""

PENS: dict[Pen, tuple[float, str | None]] = {
    "edge": (style.VISIBLE_EDGE * MM_PER_PX, None),
    "hidden": (style.HIDDEN_EDGE * MM_PER_PX, "3 1.2"),
    "centre": (style.CENTRE_LINE * MM_PER_PX, "6 1 1 1"),
    "phantom": (style.CENTRE_LINE * MM_PER_PX, "6 1 1 1 1 1"),
    "thin": (style.DIMENSION * MM_PER_PX, None),
    "hatching": (style.HATCHING * MM_PER_PX, None),
    "cut": (0.1, None),
}
"""Width and dashes of every pen, mm."""

LETTER = 3.0
"""Size of the type of dimensions: its capitals are 2 mm high."""

SMALL = 2.2
"""Size of the type of deviations."""

ARROW_LENGTH, ARROW_WIDTH = 2.4, 0.8
GAP, BEYOND, LIFT = 0.8, 1.6, 0.9
"""Extension lines start off the edge and end beyond the dimension line; text stands above it, mm."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    pen: Pen = "edge"
    ink: Ink = "ink"


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius: float
    pen: Pen = "edge"
    ink: Ink = "ink"


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc, counter-clockwise from one angle to the other [rad]."""

    centre: Point
    radius: float
    start: float
    end: float
    pen: Pen = "edge"
    ink: Ink = "ink"


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight pieces through points (P, 2), closed or open."""

    points: FloatArray
    closed: bool = False
    pen: Pen = "edge"
    ink: Ink = "ink"


@dataclass(frozen=True, slots=True)
class Text:
    """A line of text, turned counter-clockwise about its anchor on the base line [rad]."""

    at: Point
    content: str
    size: float = LETTER
    anchor: Anchor = "middle"
    turn: float = 0.0
    weight: int = style.REGULAR
    ink: Ink = "ink"


@dataclass(frozen=True, slots=True)
class Arrow:
    """A filled arrow head with its tip at a point, pointing along an angle [rad]."""

    tip: Point
    turn: float
    ink: Ink = "ink"


Shape = Line | Circle | Arc | Polyline | Text | Arrow


# Points ------------------------------------------------------------------------------------------------------


def polar(centre: Point, radius: float, angle: float) -> Point:
    """The point at a distance and an angle from a centre."""
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def readable(turn: float) -> float:
    """The angle at which a text along a line can be read from the foot or from the right of the sheet [rad]."""
    half = math.remainder(turn, math.pi)
    return half if half > -math.pi / 2 + 1e-6 else half + math.pi


def moved(shapes: Iterable[Shape], by: Point) -> tuple[Shape, ...]:
    """The same shapes at another place."""

    def there(point: Point) -> Point:
        return point[0] + by[0], point[1] + by[1]

    def put(shape: Shape) -> Shape:
        match shape:
            case Line():
                return replace(shape, start=there(shape.start), end=there(shape.end))
            case Circle() | Arc():
                return replace(shape, centre=there(shape.centre))
            case Polyline():
                return replace(shape, points=shape.points + np.array(by))
            case Text():
                return replace(shape, at=there(shape.at))
            case Arrow():
                return replace(shape, tip=there(shape.tip))
            case _:
                assert_never(shape)

    return tuple(put(shape) for shape in shapes)


# Dimensions --------------------------------------------------------------------------------------------------


def linear(
    start: Point, end: Point, away: float, content: str, deviations: tuple[str, str] = ("", "")
) -> tuple[Shape, ...]:
    """Dimension of the distance between two points, its line so far to the left of the way from one to the other.

    Upper and lower deviation stand small behind the text.
    """
    turn = math.atan2(end[1] - start[1], end[0] - start[0])
    side = turn + math.pi / 2
    sign = math.copysign(1.0, away)
    first, last = polar(start, away, side), polar(end, away, side)
    extensions = tuple(
        Line(polar(foot, sign * GAP, side), polar(head, sign * BEYOND, side), "thin")
        for foot, head in ((start, first), (end, last))
    )
    return (*extensions, *_measured(first, last, content, deviations))


def _measured(first: Point, last: Point, content: str, deviations: tuple[str, str]) -> tuple[Shape, ...]:
    """Dimension line with arrows and text; the arrows come from outside where the text or they lack the room."""
    turn = math.atan2(last[1] - first[1], last[0] - first[0])
    small = max(text_width(one, SMALL) for one in deviations)
    width = text_width(content, LETTER) + (small + 0.8 if small else 0.0)
    inside = math.dist(first, last) >= width + 2 * ARROW_LENGTH
    arrows = (Arrow(first, turn + math.pi), Arrow(last, turn))
    place = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
    if not inside:
        arrows = (Arrow(first, turn), Arrow(last, turn + math.pi))
        place = polar(last, ARROW_LENGTH + 0.6 + width / 2, turn)
        first, last = polar(first, -ARROW_LENGTH - 2.0, turn), polar(last, ARROW_LENGTH + 1.2 + width, turn)
    upright = readable(turn)
    front = polar(polar(place, -width / 2, upright), LIFT, upright + math.pi / 2)
    back = polar(front, width, upright)
    rows = zip(deviations, (1.5, -0.6), strict=True)
    return (
        Line(first, last, "thin"),
        *arrows,
        Text(front, content, LETTER, "start", upright),
        *(
            Text(polar(back, lift, upright + math.pi / 2), one, SMALL, "end", upright)
            for one, lift in rows
            if one
        ),
    )


def leader(
    tip: Point, knee: Point, content: str | tuple[str, ...], inside: bool = False
) -> tuple[Shape, ...]:
    """A line from a point to a shelf on which the text stands; further lines of text hang below the shelf.

    The arrow comes along the line, or from inside, as on a radius.
    """
    lines = (content,) if isinstance(content, str) else content
    width = max(text_width(line, LETTER) for line in lines)
    right = knee[0] >= tip[0]
    shelf = (knee[0] + (width + 1.0 if right else -width - 1.0), knee[1])
    x = knee[0] + (0.8 if right else -0.8)
    anchor: Anchor = "start" if right else "end"
    texts = tuple(
        Text((x, knee[1] + LIFT if row == 0 else knee[1] - 3.2 - 3.8 * (row - 1)), line, LETTER, anchor)
        for row, line in enumerate(lines)
    )
    turn = math.atan2(tip[1] - knee[1], tip[0] - knee[0]) + (math.pi if inside else 0.0)
    return Line(tip, knee, "thin"), Line(knee, shelf, "thin"), Arrow(tip, turn), *texts


def radius_mark(
    centre: Point, radius: float, angle: float, reach: float, content: str, inner: float = 0.0
) -> tuple[Shape, ...]:
    """Radius from its centre to an arc; the text stands on the line beyond the arc, so far out as asked."""
    tip, knee = polar(centre, radius, angle), polar(centre, radius + reach, angle)
    return Line(polar(centre, inner, angle), tip, "thin"), *leader(tip, knee, content, inside=True)


def angular(
    centre: Point, radius: float, start: float, end: float, content: str, text_at: float | None = None
) -> tuple[Shape, ...]:
    """Dimension of an angle, counter-clockwise from one direction to the other [rad], text outside its arc."""
    middle = (start + end) / 2 if text_at is None else text_at
    turn = readable(middle - math.pi / 2)
    below = math.cos(turn - (middle - math.pi / 2)) < 0
    text = Text(polar(centre, radius + LIFT + (0.7 * LETTER if below else 0.0), middle), content, turn=turn)
    room = (end - start) * radius > 2 * ARROW_LENGTH + 1.0
    # On a small arc a straight arrow head leans inward by half the angle that it covers.
    lean = math.pi / 2 - ARROW_LENGTH / radius / 2
    sign = 1.0 if room else -1.0
    arrows = (
        Arrow(polar(centre, radius, start), start - sign * lean),
        Arrow(polar(centre, radius, end), end + sign * lean),
    )
    tail = 0.0 if room else (ARROW_LENGTH + 2.0) / radius
    half = 0.0 if text_at is None else (text_width(content, LETTER) / 2 + 0.5) / radius
    low, high = min(start - tail, middle - half), max(end + tail, middle + half)
    return Arc(centre, radius, low, high, "thin"), *arrows, text


def cross(centre: Point, reach: float) -> tuple[Shape, ...]:
    """Centre lines through a point."""
    x, y = centre
    return Line((x - reach, y), (x + reach, y), "centre"), Line((x, y - reach), (x, y + reach), "centre")


# Hatching ----------------------------------------------------------------------------------------------------


def hatching(
    rings: Iterable[FloatArray], spacing: float = 1.8, turn: float = math.pi / 4
) -> tuple[Shape, ...]:
    """Parallel lines inside closed rings; a ring within a ring is a hole (even-odd rule).

    A scan line at every spacing meets the edges in an even number of points; between odd and even ones lies metal.
    """
    c, s = math.cos(turn), math.sin(turn)
    across = np.array([[c, s], [-s, c]])
    edges = [_edges(ring @ across.T) for ring in rings]
    first, last = (np.concatenate([pair[end] for pair in edges]) for end in (0, 1))
    levels = np.arange(
        math.ceil(first[:, 1].min() / spacing), math.floor(first[:, 1].max() / spacing) + 1
    ) * spacing + 1e-7  # fmt: skip
    lines: list[Shape] = []
    for level in levels.tolist():
        met = (first[:, 1] <= level) != (last[:, 1] <= level)
        rise = last[met] - first[met]
        cuts = np.sort(first[met, 0] + (level - first[met, 1]) / rise[:, 1] * rise[:, 0]).tolist()
        for left, right in zip(cuts[::2], cuts[1::2], strict=True):
            start, end = ((c * u - s * level, s * u + c * level) for u in (left, right))
            lines.append(Line(start, end, "hatching"))
    return tuple(lines)


def _edges(ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Start and end points of the edges of a closed ring."""
    return ring, np.roll(ring, -1, axis=0)


def ring_of(centre: Point, radius: float, points: int = 180) -> FloatArray:
    """A circle as a closed ring of points."""
    angles = np.linspace(0.0, 2 * np.pi, points, endpoint=False)
    return np.stack([centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)], axis=-1)


# SVG ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sheet:
    """The window on a drawing: its lower left corner, width and height, mm."""

    left: float
    low: float
    width: float
    height: float


def millimetres(value: float) -> str:
    """A coordinate to a hundredth of a micrometre, without trailing zeros, never minus zero."""
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def svg(groups: dict[str, tuple[Shape, ...]], sheet: Sheet, title: str, theme: Theme = LIGHT) -> str:
    """A drawing at full size: width and height in mm, one unit of the view box a mm, one group a layer."""
    inside = []
    for name, shapes in groups.items():
        inside.append(element("g", "\n", *(_element(one, sheet, theme) + "\n" for one in shapes), id=name))
    width, height = millimetres(sheet.width), millimetres(sheet.height)
    return element(
        "svg", "\n", element("title", words(title)), "\n", *(part + "\n" for part in inside),
        xmlns="http://www.w3.org/2000/svg", width=f"{width}mm", height=f"{height}mm",
        viewBox=f"0 0 {width} {height}", role="img", aria_label=title, font_family=style.FONT_STACK,
    )  # fmt: skip


def _element(shape: Shape, sheet: Sheet, theme: Theme) -> str:
    """One shape as SVG; y turns over."""
    colour: str = getattr(theme, shape.ink)

    def put(point: Point) -> str:
        return f"{millimetres(point[0] - sheet.left)} {millimetres(sheet.low + sheet.height - point[1])}"

    match shape:
        case Line(start, end, pen):
            return _stroke(f"M{put(start)}L{put(end)}", pen, colour)
        case Circle(centre, radius, pen):
            x, y = put(centre).split()
            return element("circle", cx=x, cy=y, r=millimetres(radius), **_look(pen, colour))
        case Arc(centre, radius, start_angle, end_angle, pen):
            first, last = polar(centre, radius, start_angle), polar(centre, radius, end_angle)
            large = int((end_angle - start_angle) % (2 * math.pi) > math.pi)
            r = millimetres(radius)
            return _stroke(f"M{put(first)}A{r} {r} 0 {large} 0 {put(last)}", pen, colour)
        case Polyline(points, closed, pen):
            data = "M" + "L".join(put((x, y)) for x, y in points.tolist())
            return _stroke(data + ("Z" if closed else ""), pen, colour)
        case Text():
            return _text(shape, put(shape.at), colour)
        case Arrow(tip, turn):
            back = polar(tip, -ARROW_LENGTH, turn)
            left, right = (polar(back, way * ARROW_WIDTH / 2, turn + math.pi / 2) for way in (1.0, -1.0))
            data = f"M{put(tip)}L{put(left)}L{put(right)}Z"
            return element("path", d=data, fill=colour, stroke="none")
        case _:
            assert_never(shape)


def _look(pen: Pen, colour: str) -> dict[str, str | None]:
    """Attributes of a stroke."""
    width, dashes = PENS[pen]
    return {
        "fill": "none", "stroke": colour, "stroke_width": f"{width:.3f}", "stroke_dasharray": dashes,
        "stroke_linejoin": "round", "stroke_linecap": None if dashes else "round",
    }  # fmt: skip


def _stroke(data: str, pen: Pen, colour: str) -> str:
    """A path drawn with a pen."""
    return element("path", d=data, **_look(pen, colour))


def _text(shape: Text, place: str, colour: str) -> str:
    """A line of text; SVG turns clockwise."""
    x, y = place.split()
    turn = f"rotate({millimetres(-math.degrees(shape.turn))} {place})" if shape.turn else None
    return element(
        "text", words(shape.content), x=x, y=y, font_size=millimetres(shape.size), fill=colour,
        text_anchor=None if shape.anchor == "start" else shape.anchor, transform=turn,
        font_weight=str(shape.weight) if shape.weight != style.REGULAR else None,
    )  # fmt: skip
