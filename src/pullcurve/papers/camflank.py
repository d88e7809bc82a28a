"""What a roller meets on its way along a cam: three plots over lever angle, one under the other."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.camrows import Flank, Limit, Row, degrees, rows_of
from pullcurve.papers.frame import stations
from pullcurve.papers.labels import Label, Placed, label, write
from pullcurve.papers.letters import shorten, text_width
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import (
    Box,
    Scale,
    across_axis,
    at,
    axis_title,
    curve,
    element,
    event,
    grid,
    halo,
    hatch,
    line,
    place,
    text,
    up_axis,
    up_axis_width,
)
from pullcurve.papers.style import EVENT_KINDS, NOTE_SIZE, EventKind, Role, Theme, role_colour
from pullcurve.units import from_si

__all__ = ["draw_flank", "flank_height"]

PLOT, HEAD, FOOT = 138.0, 36.0, 44.0
"""Least height of one plot, and heights of its title above it and of the axis under the last, px."""

TICK_ROOM = 22.0
STRIP_LINE, STRIP_GAP = 17.0, 12.0
MARKER, PEAK = 5.0, 3.2
LIMIT_STEP, BEYOND_STEP = 6.0, 8.0
LABEL_ROOM, SLIM_LABEL_ROOM, SLIM = 260.0, 160.0, 420.0
"""Widths of names, the second where a plot is narrower than the third, px."""

DOTS = "1 3"
LIMIT_PLACES, EVENT_POINTS = 9, 24


@dataclass(frozen=True, slots=True)
class Strip:
    """Words over the plots, each at a lever angle [degrees], in a row counted from below."""

    words: str
    theta: float
    x: float
    row: int


@dataclass(frozen=True, slots=True)
class Pane:
    """One plot with its place and its scales."""

    row: Row
    box: Box
    across: Scale
    up: Scale


def flank_height(flank: Flank, room: float) -> float:
    """Height that the three plots need in a room so many px wide."""
    body = Box(0.0, 0.0, room, 0.0)
    across = _across(flank, rows_of(flank), body)
    return _strip_height(_strip(flank, across, body)) + 3 * (HEAD + PLOT) + FOOT


def draw_flank(flank: Flank, body: Box, theme: Theme, role: Role) -> str:
    """Everything of the three plots, from the back to the front; they share the height of the box."""
    rows = rows_of(flank)
    across = _across(flank, rows, body)
    strip = _strip(flank, across, body)
    head = _strip_height(strip)
    each = (body.height - head - FOOT) / len(rows)
    panes = []
    for index, row in enumerate(rows):
        top = body.top + head + index * each + HEAD
        box = Box(across.start, top, across.end, top + each - HEAD)
        panes.append(Pane(row, box, across, Scale(row.low, row.high, box.bottom, box.top)))
    colour = role_colour(theme, role)
    parts = []
    for pane in panes:
        parts.append(element("g", *_pane(flank, pane, strip, body, (theme, colour)), class_="pane",
                             data_name=pane.row.name, **_scale_data(pane)))  # fmt: skip
    parts += _strip_words(strip, body.top + head, theme)
    last = panes[-1].box
    parts += across_axis(last.bottom, across, theme)
    parts.append(
        axis_title(last.right, last.bottom + 38.0, "lever angle from rest", "°", theme, anchor="end")
    )
    return element("g", *parts, class_="along", data_name=flank.metal.name)


def _across(flank: Flank, rows: tuple[Row, ...], body: Box) -> Scale:
    """Lever angle [degrees] across all plots, right of the widest of their axes."""
    known = degrees(flank.metal)
    scales = [Scale(row.low, row.high, PLOT, 0.0) for row in rows]
    left = body.left + max(up_axis_width(scale, TICK_ROOM) for scale in scales)
    return Scale(float(known[0]), float(known[-1]), left, body.right)


def _scale_data(pane: Pane) -> dict[str, str]:
    """The scales as data, so that a page can put a cursor on the plot."""
    known = (("x", pane.across), ("y", pane.up))
    return {
        f"data_{name}_{part}": f"{getattr(scale, part):.7g}"
        for name, scale in known
        for part in ("low", "high", "start", "end")
    }


# Events -------------------------------------------------------------------------------------------------------


def _strip(flank: Flank, across: Scale, body: Box) -> tuple[Strip, ...]:
    """Rest, end of the travel and all events on the flank, in as few rows as keep their words apart."""
    end = from_si("end_deg", flank.metal.rest_end)
    known = [("rest", 0.0), (f"travel ends {end:.1f}°", end)]
    known += [(words, from_si("event_deg", theta)) for words, theta in flank.events]
    known = [one for one in known if across.low <= one[1] <= across.high]
    rows, found = list[list[tuple[float, float]]](), list[Strip]()
    for words, theta in known:
        words = shorten(words, body.width, NOTE_SIZE)
        half = text_width(words, NOTE_SIZE) / 2.0
        x = min(max(at(across, theta), body.left + half), body.right - half)
        row = next((index for index, taken in enumerate(rows) if _free(taken, x, half)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append((x, half))
        found.append(Strip(words, theta, x, row))
    return tuple(found)


def _free(taken: list[tuple[float, float]], x: float, half: float) -> bool:
    """Whether words have room in a row."""
    return all(abs(x - other) > half + wide + 8.0 for other, wide in taken)


def _strip_height(strip: tuple[Strip, ...]) -> float:
    """Height of the words over the plots, px."""
    return STRIP_LINE * (1 + max((one.row for one in strip), default=-1)) + STRIP_GAP


def _strip_words(strip: tuple[Strip, ...], foot: float, theme: Theme) -> Iterator[str]:
    """The words of all events."""
    for one in strip:
        yield text(one.x, _base(one, foot), one.words, theme.ink, NOTE_SIZE, text_anchor="middle", class_="event-words",
                   **halo(theme.paper))  # fmt: skip


def _base(one: Strip, foot: float) -> float:
    """Base line of an event's words."""
    return foot - STRIP_GAP + 6.0 - STRIP_LINE * one.row


def _lines(pane: Pane, strip: tuple[Strip, ...], from_words: bool, theme: Theme) -> Iterator[str]:
    """A fine line through the plot for every event; through the first from its words on."""
    for one in strip:
        x = at(pane.across, one.theta)
        top = _base(one, pane.box.top - HEAD) + 5.0 if from_words else pane.box.top
        yield line(x, top, x, pane.box.bottom, theme.ink_2, style.DIMENSION, stroke_dasharray=DOTS,
                   class_="extension")  # fmt: skip


# One plot -----------------------------------------------------------------------------------------------------


def _pane(
    flank: Flank, pane: Pane, strip: tuple[Strip, ...], body: Box, look: tuple[Theme, str]
) -> Iterator[str]:
    """One plot from the back to the front."""
    theme, colour = look
    row, box = pane.row, pane.box
    yield grid(box, pane.across, pane.up, theme, TICK_ROOM)
    yield from _beyond(flank, pane, theme)
    for limit in row.limits:
        yield from _limit(limit, pane, theme)
    yield from _lines(pane, strip, row.sides is not None, theme)
    yield axis_title(body.left, box.top - 10.0, row.name, row.unit, theme, row.aside)
    yield from up_axis(box.left, pane.up, theme, TICK_ROOM)
    yield line(box.left, box.bottom, box.right, box.bottom, theme.ink, style.HIDDEN_EDGE)
    x, y = place(pane.across, degrees(flank.metal)), place(pane.up, row.values)
    yield element("g", curve(x, y, colour), class_="values")
    for kind, words, at_x, at_y in _marks(flank, pane, strip):
        yield event(kind, at_x, at_y, colour, theme.paper, MARKER, words)
    for one in row.peaks:
        spot = at(pane.across, one.theta), at(pane.up, one.value)
        yield element("circle", cx=spot[0], cy=spot[1], r=PEAK, fill=colour, stroke=theme.paper,
                      stroke_width=1.0, class_="peak")  # fmt: skip
    yield from _sides(pane, theme)
    yield from write(_captions(flank, pane, strip, look, stations(x, y)), theme.paper, PEAK + 2.0)


def _beyond(flank: Flank, pane: Pane, theme: Theme) -> Iterator[str]:
    """What is cut but never used within the travel: hatched, at both ends."""
    box, walls = pane.box, _walls(flank, pane)
    yield hatch(Box(box.left, box.top, walls[0], box.bottom), theme.grid, BEYOND_STEP)
    yield hatch(Box(walls[1], box.top, box.right, box.bottom), theme.grid, BEYOND_STEP)


def _walls(flank: Flank, pane: Pane) -> tuple[float, float]:
    """Where the travel begins and ends, px."""
    end = from_si("end_deg", flank.metal.rest_end)
    rest, last = (min(max(theta, pane.across.low), pane.across.high) for theta in (0.0, end))
    return at(pane.across, rest), at(pane.across, last)


def _band(limit: Limit, pane: Pane) -> Box:
    """The far side of a limit, as far as the plot goes."""
    y, box = at(pane.up, limit.value), pane.box
    return replace(box, bottom=y) if limit.way > 0 else replace(box, top=y)


def _limit(limit: Limit, pane: Pane, theme: Theme) -> Iterator[str]:
    """A limit: a heavy line, hatched beyond, in the colour of danger where it is exceeded."""
    colour = theme.danger if limit.exceeded else theme.ink
    y = at(pane.up, limit.value)
    yield hatch(_band(limit, pane), colour, LIMIT_STEP)
    yield line(pane.box.left, y, pane.box.right, y, colour, style.VISIBLE_EDGE, class_="limit")


def _kind(words: str) -> EventKind | None:
    """The kind of an event that words begin with."""
    return next((kind for kind in EVENT_KINDS if words.startswith(kind)), None)


def _marks(
    flank: Flank, pane: Pane, strip: tuple[Strip, ...]
) -> Iterator[tuple[EventKind, str, float, float]]:
    """Events of a known kind on the curve: kind, words and place, px."""
    for one in strip:
        kind = _kind(one.words)
        value = float(np.interp(one.theta, degrees(flank.metal), pane.row.values))
        if kind and np.isfinite(value):
            yield kind, one.words, at(pane.across, one.theta), at(pane.up, value)


def _sides(pane: Pane, theme: Theme) -> Iterator[str]:
    """What lies above zero and below, at the right edge."""
    if not pane.row.sides:
        return
    for words, box in zip(pane.row.sides, _side_boxes(pane), strict=True):
        yield text(box.right, box.bottom - 3.0, words, theme.ink_2, NOTE_SIZE, text_anchor="end", class_="side",
                   **halo(theme.paper))  # fmt: skip


def _side_boxes(pane: Pane) -> tuple[Box, ...]:
    """Where the names of the two sides of zero stand."""
    if not pane.row.sides:
        return ()
    zero, right = at(pane.up, 0.0), pane.box.right - 6.0
    wide = [text_width(words, NOTE_SIZE) for words in pane.row.sides]
    return Box(right - wide[0], zero - 18.0, right, zero - 3.0), Box(
        right - wide[1], zero + 1.0, right, zero + 16.0
    )


# Words --------------------------------------------------------------------------------------------------------


def _captions(
    flank: Flank, pane: Pane, strip: tuple[Strip, ...], look: tuple[Theme, str], curve_px: FloatArray
) -> tuple[Placed, ...]:
    """Peaks and limits by name, near what they name and off the curve."""
    box = pane.box
    names = [*_limit_names(flank, pane, look[0]), *_peak_names(pane, look[1])]
    area = Box(box.left + 5.0, box.top + 1.0, box.right - 5.0, box.bottom - 3.0)
    taken = [*_side_boxes(pane), *(_band(limit, pane) for limit in pane.row.limits)]
    spots = [(at(pane.across, one.theta), at(pane.up, one.value), PEAK) for one in pane.row.peaks]
    spots += [(x, y, MARKER) for _, _, x, y in _marks(flank, pane, strip)]
    taken += [Box(x - size, y - size, x + size, y + size) for x, y, size in spots]
    avoided = [curve_px, np.linspace([box.left, at(pane.up, 0.0)], [box.right, at(pane.up, 0.0)], 120)]
    for one in strip:
        x = at(pane.across, one.theta)
        avoided.append(np.linspace([x, box.top], [x, box.bottom], EVENT_POINTS))
    return place_labels(names, area, taken, np.concatenate(avoided))


def _limit_names(flank: Flank, pane: Pane, theme: Theme) -> Iterator[Label]:
    """Limits by name, anywhere along their lines within the travel."""
    first, last = _walls(flank, pane)
    x = np.linspace(first + 0.05 * (last - first), last - 0.05 * (last - first), LIMIT_PLACES)
    for limit in pane.row.limits:
        if not limit.words:
            continue
        ink = theme.danger if limit.exceeded else theme.ink
        y = np.full(LIMIT_PLACES, at(pane.up, limit.value))
        yield label(limit.words, ink, np.stack([x, y], axis=-1), LABEL_ROOM)


def _peak_names(pane: Pane, colour: str) -> Iterator[Label]:
    """What is named on the curve."""
    room = LABEL_ROOM if pane.box.width >= SLIM else SLIM_LABEL_ROOM
    for one in pane.row.peaks:
        spot = np.array([at(pane.across, one.theta), at(pane.up, one.value)])
        yield label(one.words, colour, spot, room)
