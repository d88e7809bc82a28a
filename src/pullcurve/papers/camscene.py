"""Where everything of a cam's profile stands on the sheet: lever angles to show, scale, metres to px."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.camnames import Name, Other, list_height, names_of, radius_words
from pullcurve.papers.flank import FlankPoints, flank_at
from pullcurve.papers.letters import text_width
from pullcurve.papers.plot import Box
from pullcurve.papers.style import NOTE_SIZE
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si, to_si

STEPS_DEG = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
MOST_STEPS, LEAST_REST = 6.5, 0.45
"""So many steps of lever angle at most; a last one shorter than this share of a step is joined to the one before."""

SIDE, SLIM_SIDE, TOP, FOOT = 84.0, 50.0, 34.0, 62.0
"""Room for words beside, over and under the drawing, px."""

BAR_ROOM = 24.0
HIGHEST = 620.0
LABEL_AWAY = 9.0
TURNS = (0.0, 0.3, -0.3, 0.6, -0.6, 0.9, -0.9)
"""Where the first and last angle may stand, from the normal of the flank [rad]."""

PIVOT = 6.0
"""Half of what the rocker's pivot takes, px."""

RADIUS_ROOM = 34.0
"""What a radius needs besides its words, between hub and flank: the arrow and some air, px."""

Extent = tuple[float, float, float, float]
"""Left, low, right, top [m]."""


@dataclass(frozen=True, slots=True)
class View:
    """What a profile shows: stations (N,) where the roller is drawn, rest first, end last; its scale, px per metre.

    Where the scale is too small for words in the drawing, letters stand in it and the names in a list below.
    """

    stations: FlankPoints
    names: tuple[Name, ...]
    extent: Extent
    scale: float
    lettered: bool

    @property
    def height(self) -> float:
        """Height of what is drawn, px."""
        return (self.extent[3] - self.extent[1]) * self.scale

    @property
    def listed(self) -> tuple[str, ...]:
        """What the list below the drawing says, the two radii first."""
        return (*radius_words(self.stations), *(known.words for known in self.names))

    def list_height(self, room: float) -> float:
        """Height of the list below the drawing, px."""
        return list_height(self.listed, room) if self.lettered else 0.0


@dataclass(frozen=True, slots=True)
class Scene:
    """A cam in px: the lever pivot at ``x``, ``y`` in an area that the drawing fills and the list does not."""

    metal: Metal
    other: Other | None
    view: View
    x: float
    y: float
    area: Box

    @property
    def stations(self) -> FlankPoints:
        """Where the roller is drawn [m]."""
        return self.view.stations

    @property
    def scale(self) -> float:
        """Px per metre."""
        return self.view.scale

    @property
    def roller(self) -> float:
        """Radius of the roller, px."""
        return self.metal.roller_radius * self.scale

    @property
    def pivot(self) -> tuple[float, float]:
        """The rocker's pivot with the lever at rest, px."""
        return self.x + self.metal.centre_distance * self.scale, self.y

    @property
    def words(self) -> Box:
        """Where names may stand: over the scale bar."""
        return replace(self.area, bottom=self.area.bottom - BAR_ROOM)

    def px(self, points: FloatArray) -> FloatArray:
        """Points (..., 2) of the cam's frame [m] in px."""
        return np.stack([self.x + self.scale * points[..., 0], self.y - self.scale * points[..., 1]], axis=-1)


def shown_angles(end: float) -> FloatArray:
    """About six even lever angles from rest on, and the end of the travel, (N,) [rad]."""
    end_deg = from_si("end_deg", end)
    step = next((step for step in STEPS_DEG if end_deg <= MOST_STEPS * step), STEPS_DEG[-1])
    even = step * np.arange(int(end_deg / step) + 1)
    kept = even[even < end_deg - LEAST_REST * step]
    return np.array([to_si("angle_deg", known)[1] for known in kept.tolist()] + [end])


def angle_words(angles: FloatArray) -> tuple[str, ...]:
    """Lever angles as they are written beside the roller, in degrees."""
    known = [from_si("angle_deg", angle) for angle in angles.tolist()]
    words = [f"{value:.1f}".removesuffix(".0") + "°" for value in known]
    return (f"{words[0]} rest", *words[1:-1], f"{words[-1]} end")


# Scale --------------------------------------------------------------------------------------------------------


def view_of(metal: Metal, other: Other | None, room: float) -> View:
    """The view that fills a room so many px wide, but not more height than a screen has."""
    stations = flank_at(metal, shown_angles(metal.rest_end))
    extent = _extent(metal, other, stations)
    wordy, lettered = (_scale(extent, room - 2.0 * side) for side in (SIDE, SLIM_SIDE))
    fits = _radii_fit(metal, stations, wordy)
    names = names_of(metal, other)
    return View(stations, names, extent, wordy if fits else lettered, not fits)


def _extent(metal: Metal, other: Other | None, stations: FlankPoints) -> Extent:
    """What is to be seen."""
    r = metal.roller_radius
    pivot = np.array([[metal.centre_distance + 0.25 * r, 0.0]])
    points = [metal.outline, stations.roller - r, stations.roller + r, metal.pitch, pivot]
    if other:
        points.append(other.metal.outline)
    every = np.concatenate(points)
    (left, low), (right, top) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return left, low, right, top


def _scale(extent: Extent, room: float) -> float:
    """Px per metre that fill a room."""
    left, low, right, top = extent
    return min(room / (right - left), HIGHEST / (top - low))


def _radii_fit(metal: Metal, stations: FlankPoints, scale: float) -> bool:
    """Whether both radii have room for their words between hub and flank."""
    lengths = scale * (np.hypot(*stations.metal[[0, -1]].T) - metal.hub_radius)
    needed = [text_width(words, NOTE_SIZE) + RADIUS_ROOM for words in radius_words(stations)]
    return bool(np.all(lengths >= needed))


def profile_height(metal: Metal, room: float, other: Other | None = None) -> float:
    """Height that a profile needs in a room so many px wide."""
    view = view_of(metal, other, room)
    return TOP + FOOT + view.height + view.list_height(room)


def scene_of(metal: Metal, body: Box, other: Other | None = None) -> Scene:
    """The cam in the middle of a box, as large as it goes."""
    view = view_of(metal, other, body.width)
    area = replace(body, bottom=body.bottom - view.list_height(body.width))
    left, _, right, top = view.extent
    spare = area.height - TOP - FOOT - view.height
    x = (area.left + area.right) / 2.0 - view.scale * (left + right) / 2.0
    return Scene(metal, other, view, x, area.top + TOP + spare / 2.0 + view.scale * top, area)


# Angles -------------------------------------------------------------------------------------------------------


def angle_places(scene: Scene) -> tuple[tuple[str, Box], ...]:
    """Lever angles beside their rollers, on the side away from the metal; rest and end first, then what has room."""
    words, found = angle_words(scene.stations.theta), list[tuple[str, Box]]()
    x, y = scene.pivot
    taken = [Box(x - PIVOT, y - PIVOT, x + PIVOT, y + PIVOT)]
    last = len(words) - 1
    for index in (0, last, *range(1, last)):
        places = _beside(scene, index, words[index], TURNS if index in (0, last) else TURNS[:1])
        free = next((box for box in places if all(_apart(box, other) for other in taken)), None)
        if free:
            found.append((words[index], free))
            taken.append(free)
    return tuple(found)


def _beside(scene: Scene, index: int, words: str, turns: tuple[float, ...]) -> Iterator[Box]:
    """Places for an angle: straight out from the flank, else turned to either side."""
    half = text_width(words, NOTE_SIZE) / 2.0
    for turn in turns:
        c, s = np.cos(turn), np.sin(turn)
        normal = np.array([[c, -s], [s, c]]) @ scene.stations.normal[index] * np.array([1.0, -1.0])
        tip = scene.px(scene.stations.roller[index]) + normal * (scene.roller + LABEL_AWAY)
        # A wide text moves outward until its nearest edge is as far off as that of a narrow one.
        x, y = (tip + normal * np.array([half, 5.0])).tolist()
        yield Box(x - half, y - 8.0, x + half, y + 8.0)


def _apart(one: Box, other: Box, gap: float = 3.0) -> bool:
    """Whether two boxes keep a gap."""
    return (
        one.right + gap < other.left
        or other.right + gap < one.left
        or one.bottom < other.top
        or other.bottom < one.top
    )
