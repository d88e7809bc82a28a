"""What is written into a cam's profile, and where: radii along their lines, and names or letters with leaders."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.camnames import LETTERS, Name, Thing, radius_words
from pullcurve.papers.camscene import Scene, angle_places
from pullcurve.papers.frame import stations
from pullcurve.papers.labels import Label, Placed, label
from pullcurve.papers.letters import text_width
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import Box
from pullcurve.papers.style import NOTE_SIZE, Role, Theme, role_colour

ROOM = 190.0
ROOMS: dict[Thing, float] = {"rocker pivot": 150.0, "turn": 120.0}
"""Widths of names, px."""

DOT = 5.0
LINE_AWAY, OFF_HUB, OFF_FLANK, OFF_HOLE = 5.0, 10.0, 16.0, 20.0
STEP = 4.0
"""Words keep off lines and off what is written already, filled with points so far apart, px."""

FILL = 9.0
"""The same for metal, px."""


@dataclass(frozen=True, slots=True)
class RadiusLine:
    """A radius from the lever pivot to a contact point, px; its words stand at ``x``, ``y``, turned [degrees]."""

    words: str
    start: tuple[float, float]
    end: tuple[float, float]
    x: float
    y: float
    turn: float

    @property
    def box(self) -> Box:
        """An upright box round the turned words."""
        half = text_width(self.words, NOTE_SIZE) / 2.0
        wide = abs(half * math.cos(math.radians(self.turn))) + 8.0
        high = abs(half * math.sin(math.radians(self.turn))) + 10.0
        return Box(self.x - wide, self.y - high, self.x + wide, self.y + high)


def radius_lines(scene: Scene) -> tuple[RadiusLine, RadiusLine]:
    """Radii of the contact point with the lever at rest and at the end of its travel, in words or by letter.

    Each has its words on the side that the other line is not.
    """
    points = scene.stations.metal[[0, -1]]
    bearing = np.arctan2(points[:, 1], points[:, 0])
    apart = (bearing[0] - bearing[1] + math.pi) % (2 * math.pi) - math.pi
    sides = (1.0, -1.0) if apart >= 0 else (-1.0, 1.0)
    rest, end = tuple(LETTERS[:2]) if scene.view.lettered else radius_words(scene.stations)
    return _radius_line(scene, points[0], rest, sides[0]), _radius_line(scene, points[1], end, sides[1])


def _radius_line(scene: Scene, point: FloatArray, words: str, side: float) -> RadiusLine:
    """One radius; the words stand counter-clockwise of it for side 1, clockwise for -1."""
    bearing = math.atan2(point[1], point[0])
    middle = _middle(scene, point, words)
    x, y = middle * math.cos(bearing), middle * math.sin(bearing)
    turn = -math.degrees(bearing)
    upside_down = abs(turn) > 90.0
    # The base line lies at the foot of the letters: words below their line stand lower by their height.
    off = LINE_AWAY if (side > 0) != upside_down else LINE_AWAY + 10.0
    x, y = x - side * off * math.sin(bearing), y + side * off * math.cos(bearing)
    turn = turn - math.copysign(180.0, turn) if upside_down else turn
    end = scene.px(point)
    place = scene.x + x, scene.y - y
    return RadiusLine(words, (scene.x, scene.y), (float(end[0]), float(end[1])), *place, turn)


def _middle(scene: Scene, point: FloatArray, words: str) -> float:
    """Distance of the middle of a radius's words from the lever pivot, px: near the hub, but off holes.

    Near the hub there is more metal beside the line than near the flank.
    """
    hub, away = scene.metal.hub_radius * scene.scale, float(np.hypot(*point)) * scene.scale
    half = text_width(words, NOTE_SIZE) / 2.0
    first = max(hub + OFF_HUB + half, hub + 0.4 * (away - hub))
    places = np.linspace(first, max(first, away - half - OFF_FLANK), 12)
    circles = np.reshape(scene.metal.holes, (-1, 3)) * scene.scale
    along, across = point / np.hypot(*point), np.array([-point[1], point[0]]) / np.hypot(*point)
    beside = np.abs(circles[:, :2] @ across) < circles[:, 2] + OFF_HOLE
    apart = np.abs(places[:, None] - circles[:, :2] @ along) - half - circles[:, 2]
    free = np.all(~beside | (apart > LINE_AWAY), axis=-1)
    return float(places[int(np.argmax(free))])


# Names --------------------------------------------------------------------------------------------------------


def captions(
    scene: Scene, radii: tuple[RadiusLine, ...], turn: FloatArray, look: tuple[Theme, Role]
) -> tuple[Placed, ...]:
    """All names, or their letters, at their places, off the angles, the radii and the curves."""
    taken = [*(box for _, box in angle_places(scene)), *(one.box for one in radii)]
    avoided = [_avoided(scene, radii, turn), *(_grid(box) for box in taken)]
    dots = [scene.pivot, *(one.end for one in radii)]
    taken += [Box(x - DOT, y - DOT, x + DOT, y + DOT) for x, y in dots]
    names = list(_labels(scene, turn, look))
    return place_labels(names, scene.words, taken, np.concatenate(avoided))


def _labels(scene: Scene, turn: FloatArray, look: tuple[Theme, Role]) -> Iterator[Label]:
    """Every name with what it belongs to."""
    theme, role = look
    for letter, known in zip(LETTERS[2:], scene.view.names, strict=False):
        anchors = _anchors(known, scene, turn)
        colour = theme.ink if known.thing == "roller" else theme.ink_2
        colour = role_colour(theme, other_role(role)) if known.thing == "other" else colour
        words = letter if scene.view.lettered else known.words
        yield label(words, colour, anchors, ROOMS.get(known.thing, ROOM))


def other_role(role: Role) -> Role:
    """Fitted for proposed, and the other way round."""
    return "fitted" if role == "proposed" else "proposed"


def _anchors(known: Name, scene: Scene, turn: FloatArray) -> FloatArray:
    """Points (A, 2) that a name may be tied to, px."""
    match known.thing:
        case "roller":
            x, y = scene.stations.roller[0].tolist()
            return _ring(scene, (x, y), scene.metal.roller_radius)
        case "path":
            return scene.px(scene.metal.pitch[[0, 0, -1, -1]])
        case "rocker pivot":
            return np.array([scene.pivot, scene.pivot])  # as if a line: such names are placed first
        case "bore":
            return _ring(scene, (0.0, 0.0), scene.metal.bore_radius)
        case "hole":
            rings = [_ring(scene, (x, y), r) for x, y, r in scene.metal.holes if r == known.radius]
            return np.concatenate(rings)
        case "turn":
            return turn[8:17]
        case "other":
            return _thinned(_other(scene), 60)


def _other(scene: Scene) -> FloatArray:
    """The outline of the other cam, px, as far as one can tell it from that of the cam itself."""
    assert scene.other is not None
    points, own = scene.px(scene.other.metal.outline), scene.px(scene.metal.outline)
    away = np.hypot(*np.moveaxis(points[:, None] - own[None], -1, 0)).min(axis=-1)
    clear = points[away > 0.5 * away.max()]
    return clear if away.max() > 1.0 else points


# What names keep off ------------------------------------------------------------------------------------------


def _ring(scene: Scene, centre: tuple[float, float], radius: float, count: int = 24) -> FloatArray:
    """Points (A, 2) round a circle, px: a name may be tied to any of them."""
    turn = np.linspace(0.0, 2.0 * np.pi, count + 1)[:-1]
    return scene.px(np.array(centre) + radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1))


def _avoided(scene: Scene, radii: tuple[RadiusLine, ...], turn: FloatArray) -> FloatArray:
    """Points (P, 2) that names had better not cover: metal, rollers, curves and lines."""
    rings = [_ring(scene, (x, y), scene.metal.roller_radius, 90) for x, y in scene.stations.roller.tolist()]
    circles = ((0.0, 0.0, scene.metal.bore_radius), *scene.metal.holes)
    rings += [_ring(scene, (x, y), radius, 90) for x, y, radius in circles]
    ends = [(one.start, one.end) for one in radii]
    rocker = scene.px(scene.stations.roller[0])
    lines = [_line(np.array(start), np.array(end)) for start, end in ends] + [
        _line(np.array(scene.pivot), rocker)
    ]
    curves = [scene.metal.pitch, _closed(scene.metal.outline)]
    curves += [_closed(scene.other.metal.outline)] if scene.other else []
    even = [stations(px[:, 0], px[:, 1], STEP) for px in map(scene.px, curves)]
    return np.concatenate([_filled(scene.px(scene.metal.outline)), *rings, *lines, *even, turn])


def _closed(points: FloatArray) -> FloatArray:
    """A polygon with its first point repeated."""
    return np.concatenate([points, points[:1]])


def _line(start: FloatArray, end: FloatArray) -> FloatArray:
    """Points along a straight line."""
    count = max(2, int(np.hypot(*(end - start)) / STEP))
    return np.linspace(start, end, count)


def _grid(box: Box) -> FloatArray:
    """Points all over a box."""
    axes = (np.arange(box.left, box.right, STEP), np.arange(box.top, box.bottom, STEP))
    return np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)


def _thinned(points: FloatArray, count: int) -> FloatArray:
    """About so many of the points of a curve."""
    return points[:: max(1, len(points) // count)]


def _filled(outline: FloatArray) -> FloatArray:
    """A grid of points (P, 2) inside a closed polygon (by the crossings to the left of each), px."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    axes = (np.arange(low[0], high[0], FILL), np.arange(low[1], high[1], FILL))
    points = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    start, end = outline, np.roll(outline, -1, axis=0)
    y = points[:, 1, None]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        across = start[:, 0] + (y - start[:, 1]) / (end[:, 1] - start[:, 1]) * (end[:, 0] - start[:, 0])
    inside = np.sum(spans & (across < points[:, :1]), axis=-1) % 2 == 1
    return np.asarray(points[inside])
