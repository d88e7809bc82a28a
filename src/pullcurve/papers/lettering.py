"""Where a line of text can stand on a cam: inside the outline, clear of bore, holes and flank."""

import math
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

HEIGHTS = (3.0, 2.5, 2.0, 1.6, 1.3, 1.0)
"""Heights of capitals that are tried, largest first, mm: below a millimetre nobody reads an engraving."""

WIDTH = 0.95
"""Width of a character over the height of capitals in the plain fonts of drawing programs: generous."""

CLEAR = 0.6
"""What stays free of letters along every edge, mm."""

TURNS, PLACES = 12, 30
"""Directions and places across the part that are tried."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text with its middle, the angle it stands at [rad] and the height of its capitals, mm."""

    content: str
    middle: tuple[float, float]
    turn: float
    height: float


def in_mm(points: FloatArray) -> FloatArray:
    """Points in mm."""
    return np.asarray(points * from_si("one_mm", 1.0))


def holes_mm(metal: Metal) -> tuple[tuple[float, float, float], ...]:
    """Holes as x, y and radius, mm."""
    return tuple((x, y, radius) for x, y, radius in in_mm(np.array(metal.holes).reshape(-1, 3)).tolist())


def engraved(metal: Metal) -> Lettering | None:
    """Place of the engraving, as large as it fits; None where there is none or it finds no room."""
    content = " ".join(metal.engraving.split())
    if not content:
        return None
    import shapely

    room = shapely.Polygon(in_mm(metal.outline)).buffer(-CLEAR)
    bore = from_si("radius_mm", metal.bore_radius)
    for x, y, radius in ((0.0, 0.0, bore), *holes_mm(metal)):
        room = room.difference(shapely.Point(x, y).buffer(radius + CLEAR))
    shapely.prepare(room)
    middles, turns = _places(room.bounds)
    for height in HEIGHTS:
        boxes = _boxes(middles, turns, WIDTH * height * len(content), height)
        fitting = np.flatnonzero(shapely.contains(room, shapely.polygons(boxes)))
        if fitting.size:
            # The one furthest from every edge, then the one that reads best.
            spare = shapely.distance(room.boundary, shapely.polygons(boxes[fitting]))
            best = fitting[np.argmax(np.round(spare, 1) - 0.01 * np.abs(turns[fitting]))]
            x, y = middles[best].tolist()
            return Lettering(content, (x, y), float(turns[best]), height)
    return None


def _places(bounds: tuple[float, float, float, float]) -> tuple[FloatArray, FloatArray]:
    """Every middle on a grid with every direction that can be read, (N, 2) and (N,)."""
    left, low, right, high = bounds
    turns = np.pi * (np.arange(TURNS) / TURNS - 0.5) + np.pi / TURNS
    grid = np.meshgrid(np.linspace(left, right, PLACES), np.linspace(low, high, PLACES), turns)
    x, y, turn = (axis.ravel() for axis in grid)
    return np.stack([x, y], axis=-1), turn


def _boxes(middles: FloatArray, turns: FloatArray, width: float, height: float) -> FloatArray:
    """Corners of the box round a text at every place, (N, 4, 2)."""
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * [width / 2, height / 2]
    c, s = np.cos(turns)[:, None], np.sin(turns)[:, None]
    x = c * corners[:, 0] - s * corners[:, 1]
    y = s * corners[:, 0] + c * corners[:, 1]
    return np.asarray(middles[:, None] + np.stack([x, y], axis=-1))


def base_line(text: Lettering) -> tuple[float, float]:
    """Point on the base line under the middle of a text, mm."""
    x, y = text.middle
    return x + math.sin(text.turn) * text.height / 2, y - math.cos(text.turn) * text.height / 2


def clear_of(
    text: Lettering | None, scale: float, start: tuple[float, float], end: tuple[float, float]
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The pieces of a straight line of a drawing at some scale that do not run through a text."""
    import shapely

    line = shapely.LineString([start, end])
    if text:
        size = WIDTH * text.height * len(text.content) + CLEAR, text.height + CLEAR
        box = _boxes(np.array([text.middle]), np.array([text.turn]), *size)[0]
        line = line.difference(shapely.Polygon(box * scale))
    ends = [shapely.get_coordinates(piece).tolist() for piece in shapely.get_parts(line)]
    return [((first[0], first[1]), (last[0], last[1])) for first, last in ends]
