"""One small SVG plot writer: scales and ticks, axes, curves with gaps, event shapes, hatched limits.

Every function takes numbers in px and returns SVG text. No identifiers, no style sheet and no clip paths are
used, so that any number of figures can stand on one page, and the same text prints.
"""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.letters import TIED, text_width
from pullcurve.papers.style import EventKind, Role, Theme
from pullcurve.papers.traces import defined

TICK, TICK_GAP = 4.0, 4.0
ACROSS_ROOM, UP_ROOM = 60.0, 32.0
"""Least distance of the ticks of an axis, px."""

STRAIGHT = 0.05
"""Nobody sees a curve that much off, px."""

NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Attribute = str | float | None


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, px; y grows downward."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from low to high on px from start to end."""

    low: float
    high: float
    start: float
    end: float


# Elements ---------------------------------------------------------------------------------------------------


def number(value: float) -> str:
    """A coordinate: two decimals at most, no trailing zeros, never minus zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(tag: str, *inside: str, **attributes: Attribute) -> str:
    """An SVG element; underscores in names become hyphens, a trailing one falls off, None is left out."""
    written = "".join(
        f" {name.rstrip('_').replace('_', '-')}="
        f'"{escape(NOT_XML.sub("", value)) if isinstance(value, str) else number(value)}"'
        for name, value in attributes.items()
        if value is not None
    )
    content = "".join(inside)
    return f"<{tag}{written}>{content}</{tag}>" if content else f"<{tag}{written}/>"


def words(text: str) -> str:
    """Text as XML content."""
    return escape(NOT_XML.sub("", text), quote=False)


def text(
    x: float, y: float, content: str, fill: str, size: float = style.NOTE_SIZE, **attributes: Attribute
) -> str:
    """A line of text, y at the base line."""
    return element("text", words(content), x=x, y=y, font_size=size, fill=fill, **attributes)


def halo(paper: str) -> dict[str, Attribute]:
    """Attributes that keep lines behind a text away from it."""
    return {"stroke": paper, "stroke_width": 4.0, "stroke_linejoin": "round", "paint_order": "stroke"}


def line(x1: float, y1: float, x2: float, y2: float, stroke: str, weight: float, **more: Attribute) -> str:
    """A straight line."""
    return element("path", d=f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", stroke=stroke,
                   stroke_width=weight, fill="none", **more)  # fmt: skip


def picture(width: float, height: float, name: str, theme: Theme, parts: Iterable[str]) -> str:
    """The whole drawing, self-contained, on paper."""
    ground = element("rect", width=width, height=height, fill=theme.paper)
    return element(
        "svg", "\n", ground, "\n", "\n".join(parts), "\n",
        xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {number(width)} {number(height)}",
        width=width, height=height, role="img", aria_label=name, font_family=style.FONT_STACK,
    )  # fmt: skip


# Scales -----------------------------------------------------------------------------------------------------


def span(arrays: Iterable[FloatArray], with_zero: bool = True) -> tuple[float, float]:
    """Lowest and highest value that can be drawn, never equal, (0, 1) where there is none."""
    given = [defined(array).ravel() for array in arrays]
    known = np.concatenate([*given, np.zeros(1 if with_zero else 0)])
    known = known[np.isfinite(known)]
    if not known.size:
        return 0.0, 1.0
    low, high = float(known.min()), float(known.max())
    least = 1e-6 * max(abs(low), abs(high)) + 1e-9
    if high - low < least:
        room = max(1.0, 0.1 * abs(high))
        return (low, low + room) if with_zero else (low - room, high + room)
    return low, high


def place(scale: Scale, values: FloatArray) -> FloatArray:
    """Values to px."""
    share = (values - scale.low) / (scale.high - scale.low)
    return np.asarray(scale.start + share * (scale.end - scale.start))


def at(scale: Scale, value: float) -> float:
    """One value to px."""
    return float(place(scale, np.asarray(value)))


def ticks(scale: Scale, room: float) -> tuple[float, ...]:
    """Round values 1, 2 or 5 times a power of ten, about one per room px."""
    extent = scale.high - scale.low
    wanted = extent / max(2.0, abs(scale.end - scale.start) / room)
    power = 10.0 ** math.floor(math.log10(wanted))
    step = next(power * lead for lead in (1.0, 2.0, 5.0, 10.0) if power * lead >= wanted * (1.0 - 1e-9))
    first, last = math.ceil(scale.low / step - 1e-9), math.floor(scale.high / step + 1e-9)
    return tuple(index * step for index in range(first, last + 1))


def tick_words(values: tuple[float, ...]) -> tuple[str, ...]:
    """Ticks in words, with the decimals that their step needs and a true minus sign."""
    step = values[1] - values[0] if len(values) > 1 else abs(values[0]) if values else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9)) if step else 0
    largest = max(map(abs, values), default=0.0)
    plain = decimals <= 4 and largest < 1e6
    return tuple(
        (f"{value + 0.0:.{decimals}f}" if plain else f"{value:.4g}").replace("-", "−") for value in values
    )


# Axes -------------------------------------------------------------------------------------------------------


def grid(box: Box, across: Scale, up: Scale, theme: Theme, up_room: float = UP_ROOM) -> str:
    """Hairlines at the ticks of both scales; zero is heavier where the plot goes below it."""
    known = [
        f"M{number(at(across, value))} {number(box.bottom)}V{number(box.top)}"
        for value in ticks(across, ACROSS_ROOM)
    ]
    known += [
        f"M{number(box.left)} {number(at(up, value))}H{number(box.right)}" for value in ticks(up, up_room)
    ]
    fine = element("path", d="".join(known), stroke=theme.grid, stroke_width=style.HAIRLINE, fill="none")
    if not up.low < 0.0 < up.high:
        return fine
    zero = at(up, 0.0)
    return fine + line(box.left, zero, box.right, zero, theme.ink_2, style.DIMENSION, class_="zero")


def up_axis(x: float, scale: Scale, theme: Theme, room: float = UP_ROOM) -> tuple[str, ...]:
    """Axis on the left: ticks and numbers."""
    values = ticks(scale, room)
    parts = []
    for value, name in zip(values, tick_words(values), strict=True):
        y = at(scale, value)
        parts.append(text(x - TICK - TICK_GAP, y + 4.5, name, theme.ink_2, text_anchor="end", class_="tick"))
        parts.append(line(x - TICK, y, x, y, theme.ink, style.DIMENSION))
    return (*parts, line(x, scale.start, x, scale.end, theme.ink, style.HIDDEN_EDGE))


def up_axis_width(scale: Scale, room: float = UP_ROOM) -> float:
    """What the numbers of an axis on the left need, px."""
    names = tick_words(ticks(scale, room))
    return max((text_width(name, style.NOTE_SIZE) for name in names), default=0.0) + TICK + TICK_GAP


def across_axis(y: float, scale: Scale, theme: Theme, named: bool = True) -> tuple[str, ...]:
    """Axis at the foot: ticks, and numbers where asked."""
    values = ticks(scale, ACROSS_ROOM)
    parts = []
    for value, name in zip(values, tick_words(values), strict=True):
        x = at(scale, value)
        parts.append(line(x, y, x, y + TICK, theme.ink, style.DIMENSION))
        if named:
            middle = min(x, scale.end + 8.0 - text_width(name, style.NOTE_SIZE) / 2.0)
            parts.append(text(middle, y + 18.0, name, theme.ink_2, text_anchor="middle", class_="tick"))
    return (*parts, line(scale.start, y, scale.end, y, theme.ink, style.HIDDEN_EDGE))


def axis_title(
    x: float, y: float, label: str, unit: str, theme: Theme, aside: str = "", anchor: str = "start"
) -> str:
    """What an axis shows, with its unit and an aside in the second ink."""
    second = [part for part in (f"({unit})" if unit else "", aside) if part]
    inside = [element("tspan", words(TIED + part), fill=theme.ink_2) for part in second]
    return element(
        "text", words(label), *inside, x=x, y=y, font_size=style.NOTE_SIZE, fill=theme.ink,
        text_anchor=anchor if anchor != "start" else None, class_="axis-title",
        **halo(theme.paper),
    )  # fmt: skip


# Curves -----------------------------------------------------------------------------------------------------


def runs(*arrays: FloatArray) -> list[slice]:
    """Stretches of stations where all arrays are defined."""
    known = np.isfinite(arrays[0])
    for array in arrays[1:]:
        known = known & np.isfinite(array)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]])))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def bends(x: FloatArray, y: FloatArray) -> list[int]:
    """The stations that a curve needs: from the straight lines between them no other is STRAIGHT px away.

    The furthest station from a chord is kept, and both halves are looked at again (Douglas and Peucker 1973).
    """
    kept = {0, len(x) - 1}
    open_chords = [(0, len(x) - 1)]
    while open_chords:
        first, last = open_chords.pop()
        if last - first < 2:
            continue
        dx, dy = x[first + 1 : last] - x[first], y[first + 1 : last] - y[first]
        chord = np.array([x[last] - x[first], y[last] - y[first]])
        share = np.clip((dx * chord[0] + dy * chord[1]) / max(float(chord @ chord), 1e-12), 0.0, 1.0)
        away = np.hypot(dx - share * chord[0], dy - share * chord[1])
        middle = first + 1 + int(np.argmax(away))
        if away[middle - first - 1] > STRAIGHT:
            kept.add(middle)
            open_chords += [(first, middle), (middle, last)]
    return sorted(kept)


def _points(x: FloatArray, y: FloatArray) -> list[str]:
    """Coordinates as text, those that the curve needs; a point that falls on the one before is left out."""
    kept = bends(x, y)
    known = [f"{number(a)} {number(b)}" for a, b in zip(x[kept].tolist(), y[kept].tolist(), strict=True)]
    return [point for index, point in enumerate(known) if index == 0 or point != known[index - 1]]


def polyline(x: FloatArray, y: FloatArray) -> str:
    """Path data of a curve in px; undefined stations break the line, a lone station stays as a dot."""
    pieces = []
    for run in runs(x, y):
        points = _points(x[run], y[run])
        pieces.append("M" + "L".join(points) + ("" if len(points) > 1 else "h.01"))
    return "".join(pieces)


def curve(x: FloatArray, y: FloatArray, colour: str, release: bool = False, weight: float = 0.0) -> str:
    """A branch: the pull solid and heavy, the release dashed and light, in the same colour."""
    return element(
        "path", d=polyline(x, y), class_="release" if release else "pull", fill="none", stroke=colour,
        stroke_width=weight or (style.RELEASE if release else style.PULL),
        stroke_dasharray=style.RELEASE_DASH if release else None,
        stroke_linejoin="round", stroke_linecap="butt" if release else "round",
    )  # fmt: skip


def between(x: FloatArray, above: FloatArray, below: FloatArray, colour: str) -> str:
    """A faint wash between the branches: the area is the work that friction takes."""
    pieces = []
    for run in runs(x, above, below):
        points = _points(x[run], above[run]) + _points(x[run], below[run])[::-1]
        pieces.append("M" + "L".join(points) + "Z")
    return element("path", d="".join(pieces), fill=colour, fill_opacity=0.09, stroke="none")


def dots(x: FloatArray, y: FloatArray, colour: str, size: float) -> str:
    """A cloud as one path: round caps without length; points on the same px are drawn once."""
    known = np.unique(np.round(np.stack([x, y], axis=-1)[np.isfinite(x + y)]), axis=0)
    data = "".join(f"M{number(a)} {number(b)}h.01" for a, b in known.tolist())
    return element("path", d=data, fill="none", stroke=colour, stroke_width=size, stroke_linecap="round",
                   stroke_opacity=0.5, class_="cloud")  # fmt: skip


# Shapes -----------------------------------------------------------------------------------------------------


def outline(kind: EventKind, x: float, y: float, size: float) -> str:
    """Path data of an event's shape: bite ◇, lock-up ■, first slip △, free and clean ○."""
    if kind == "bite":
        return _polygon((x, y - size), (x + size, y), (x, y + size), (x - size, y))
    if kind == "lock-up":
        side = 0.8 * size
        return _polygon(
            (x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)
        )
    if kind == "first slip":
        return _polygon((x, y - size), (x + 0.95 * size, y + 0.7 * size), (x - 0.95 * size, y + 0.7 * size))
    radius = number(0.85 * size)
    arc = f"a{radius} {radius} 0 1 0 "
    return f"M{number(x - 0.85 * size)} {number(y)}{arc}{number(1.7 * size)} 0{arc}{number(-1.7 * size)} 0Z"


def _polygon(*corners: tuple[float, float]) -> str:
    """Path data of a closed polygon."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in corners) + "Z"


def event(
    kind: EventKind, x: float, y: float, colour: str, paper: str, size: float = 6.0, name: str = ""
) -> str:
    """An event on a curve; lock-up and clean are filled, the others hollow, all with a rim of paper."""
    data = outline(kind, x, y, size)
    tip = (element("title", words(name)),) if name else ()
    fill = colour if kind in ("lock-up", "clean") else paper
    rim = element("path", d=data, fill=paper, stroke=paper, stroke_width=5.0, stroke_linejoin="round")
    shape = element("path", d=data, fill=fill, stroke=colour, stroke_width=1.75, stroke_linejoin="round")
    return element("g", *tip, rim, shape, class_=f"event {kind.replace(' ', '-')}")


def pennant(
    x: float,
    y: float,
    role: Role,
    colour: str,
    paper: str,
    turn: float = 0.0,
    size: float = 5.0,
    rim: float = 0.0,
) -> str:
    """The mark of a role, pointing along the curve: hollow for fitted, filled for proposed."""
    c, s = math.cos(turn), math.sin(turn)
    corners = ((size, 0.0), (-0.8 * size, 0.8 * size), (-0.8 * size, -0.8 * size))
    data = _polygon(*((x + c * a - s * b, y + s * a + c * b) for a, b in corners))
    around = element("path", d=data, fill=paper, stroke=paper, stroke_width=2.0 * rim) if rim else ""
    return around + element("path", d=data, fill=paper if role == "fitted" else colour, stroke=colour,
                            stroke_width=1.5, stroke_linejoin="round", class_=f"mark {role}")  # fmt: skip


def plus(x: float, y: float, colour: str, size: float = 4.5, name: str = "undominated") -> str:
    """A small cross: a set that no other set beats, or a point that is wanted."""
    arms = f"h{number(2 * size)}M{number(x)} {number(y - size)}v{number(2 * size)}"
    data = f"M{number(x - size)} {number(y)}{arms}"
    return element("path", d=data, fill="none", stroke=colour, stroke_width=2.0, class_=name)


def hatch(box: Box, colour: str, spacing: float = 8.0) -> str:
    """Hatching at 45° inside a box, in step with every other hatching of the drawing."""
    if box.width <= 0.0 or box.height <= 0.0:
        return ""
    pieces = []
    for index in range(
        math.ceil((box.left + box.top) / spacing), math.ceil((box.right + box.bottom) / spacing)
    ):
        c = index * spacing
        x1, x2 = max(box.left, c - box.bottom), min(box.right, c - box.top)
        pieces.append(f"M{number(x1)} {number(c - x1)}L{number(x2)} {number(c - x2)}")
    return element("path", d="".join(pieces), stroke=colour, stroke_width=style.HATCHING, fill="none",
                   class_="hatch")  # fmt: skip
