"""Plots over the same places, one under the other, and what is drawn into them: measured marks, doubt, curves."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.letters import shorten, text_width, wrap
from pullcurve.papers.plot import (
    Box,
    Scale,
    across_axis,
    axis_title,
    element,
    grid,
    number,
    place,
    polyline,
    runs,
    span,
    text,
    up_axis,
    up_axis_width,
)
from pullcurve.papers.style import NOTE_SIZE, Theme
from pullcurve.papers.traces import defined

SURE = 1.96
"""Standard deviations on each side that hold 95 % of a normal distribution."""

TITLE_LINE, TITLE_ROOM, FOOT = 18.0, 16.0, 46.0
"""Heights of a line of a plot's name, of what stays free about it, and of the axis under the last plot, px."""

HIGH, TICK_ROOM, LOW_TICK_ROOM = 200.0, 32.0, 22.0
"""Ticks stand this far apart in a plot higher than the first, and this far in a lower one, px."""

BESIDE, ABOVE = 9.0, 0.07
"""What stays free beside the first and the last place, px, and above and below, as a share of the height."""

DOUBT_SHARE = 0.3
"""Bars of doubt may widen a plot by this share of what is read; longer ones are cut at its edge."""

LARGE, SMALL, RING = 3.2, 1.6, 1.5
"""Greatest and least radius of a mark, and the line of a hollow one, px."""

EDGE = 1e-6

ROOM, SLIM_ROOM, SLIM = 220.0, 140.0, 420.0
"""Widths of names, the second where a plot is narrower than the third, px."""

NAMES = np.linspace(0.1, 0.97, 24)
"""Where along a curve its name may stand."""

CLEAR = 14.0
"""A name is rather tied to its curve where no other is nearer than this, px."""


@dataclass(frozen=True, slots=True)
class Row:
    """One plot: what it shows in which unit, an aside, values from low to high, and its height, px."""

    name: str
    unit: str
    aside: str
    low: float
    high: float
    height: float


@dataclass(frozen=True, slots=True)
class Pane:
    """A plot with its place and its scales."""

    row: Row
    box: Box
    across: Scale
    up: Scale

    @property
    def tick_room(self) -> float:
        """Least distance of the ticks of the axis on the left, px."""
        return TICK_ROOM if self.box.height > HIGH else LOW_TICK_ROOM

    def px(self, places: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places and values in px."""
        return place(self.across, defined(places)), place(self.up, defined(values))


# Extents ------------------------------------------------------------------------------------------------------


def extent(
    values: Sequence[FloatArray], doubts: Sequence[tuple[FloatArray, FloatArray]] = ()
) -> tuple[float, float]:
    """Lowest and highest value to show, zero included; doubts are values with their standard deviations.

    What is never below zero is not shown below zero on account of its doubt.
    """
    low, high = span(values)
    ends = [defined(value) + sign * SURE * defined(doubt) for value, doubt in doubts for sign in (-1.0, 1.0)]
    bottom, top = widened(low, high, ends, DOUBT_SHARE)
    bottom = bottom if low < 0.0 else 0.0
    room = ABOVE * (top - bottom)
    return (bottom - room if bottom < 0.0 else 0.0), top + room


def widened(low: float, high: float, values: Sequence[FloatArray], share: float) -> tuple[float, float]:
    """Extents that show other values too, as far as these widen them by no more than a share on each side."""
    most = share * (high - low)
    least, greatest = span([*values, np.array([low, high])], with_zero=False)
    return max(least, low - most), min(greatest, high + most)


def about_zero(values: Sequence[FloatArray], least: float) -> tuple[float, float]:
    """As far below zero as above it, at least so far."""
    low, high = span(values)
    most = (1.0 + 2.0 * ABOVE) * max(-low, high, least)
    return (-most, most) if most > 0.0 else (-1.0, 1.0)


# Places -------------------------------------------------------------------------------------------------------


def stack_height(rows: Sequence[Row], room: float) -> float:
    """Height of the plots with their names and the axis under the last, in a room so many px wide."""
    return sum(_head(row, room) + row.height for row in rows) + FOOT


def stack(rows: Sequence[Row], places: FloatArray, body: Box) -> tuple[Pane, ...]:
    """The plots at their places in a box, one scale of places for all."""
    widths = [up_axis_width(Scale(row.low, row.high, row.height, 0.0), LOW_TICK_ROOM) for row in rows]
    left = body.left + max(widths)
    low, high = span([places])
    per_px = (high - low) / max(1.0, body.right - left - 2.0 * BESIDE)
    across = Scale(low - BESIDE * per_px, high + BESIDE * per_px, left, body.right)
    panes, top = [], body.top
    for row in rows:
        top += _head(row, body.width)
        box = Box(left, top, body.right, top + row.height)
        panes.append(Pane(row, box, across, Scale(row.low, row.high, box.bottom, box.top)))
        top = box.bottom
    return tuple(panes)


def _named(row: Row, room: float) -> bool:
    """Whether name, unit and aside have room in one line."""
    words = " ".join(part for part in (row.name, f"({row.unit})" if row.unit else "", _aside(row)) if part)
    return text_width(words, NOTE_SIZE) + 4.0 <= room


def _aside(row: Row) -> str:
    """The aside as it follows the unit."""
    return f"· {row.aside}" if row.aside else ""


def _aside_lines(row: Row, room: float) -> tuple[str, ...]:
    """The aside in lines of its own, where it has no room beside the name."""
    return () if _named(row, room) else wrap(row.aside, room, NOTE_SIZE, lines=2)


def _head(row: Row, room: float) -> float:
    """Height of the name of a plot."""
    return TITLE_ROOM + TITLE_LINE * (1 + len(_aside_lines(row, room)))


def axes(pane: Pane, body: Box, theme: Theme, last: bool) -> tuple[str, ...]:
    """Grid, axes and name of a plot; the last one carries the numbers of the places."""
    box, row = pane.box, pane.row
    parts = [grid(box, pane.across, pane.up, theme, pane.tick_room)]
    parts += up_axis(box.left, pane.up, theme, pane.tick_room)
    parts += across_axis(box.bottom, pane.across, theme, named=last)
    return (*parts, *_titles(row, body, box.top - 10.0, theme))


def _titles(row: Row, body: Box, base: float, theme: Theme) -> Iterator[str]:
    """Name, unit and aside in one line, or the aside under them."""
    if _named(row, body.width):
        yield axis_title(body.left, base, row.name, row.unit, theme, _aside(row))
        return
    lines = _aside_lines(row, body.width)
    unit = text_width(f"({row.unit})", NOTE_SIZE) + 8.0 if row.unit else 0.0
    name = shorten(row.name, body.width - unit, NOTE_SIZE)
    yield axis_title(body.left, base - TITLE_LINE * len(lines), name, row.unit, theme)
    for index, words in enumerate(lines, 1 - len(lines)):
        yield text(body.left, base + TITLE_LINE * index, words, theme.ink_2, NOTE_SIZE, class_="axis-aside")


def places_axis(pane: Pane, angular: bool, theme: Theme) -> str:
    """What the places under the last plot are."""
    known = ("lever angle from rest", "°") if angular else ("travel at the finger from rest", "mm")
    return axis_title(pane.box.right, pane.box.bottom + 38.0, *known, theme, anchor="end")


def scale_data(pane: Pane) -> dict[str, str]:
    """The scales as data, so that a page can put a cursor on the plot."""
    known = (("x", pane.across), ("y", pane.up))
    return {
        f"data_{axis}_{part}": f"{getattr(scale, part):.7g}"
        for axis, scale in known
        for part in ("low", "high", "start", "end")
    }


# What is drawn ------------------------------------------------------------------------------------------------


def within(x: FloatArray, y: FloatArray, box: Box) -> tuple[FloatArray, FloatArray]:
    """A curve in px, cut where it leaves a box upward or downward; what lies beyond is a gap."""
    step = np.arange(x.size, dtype=np.float64)
    spots = [step]
    with np.errstate(divide="ignore", invalid="ignore"):
        for edge in (box.top, box.bottom):
            share = (edge - y[:-1]) / (y[1:] - y[:-1])
            spots.append((step[:-1] + share)[(share > 0.0) & (share < 1.0)])
    along = np.unique(np.concatenate(spots))
    x, y = np.interp(along, step, x), np.interp(along, step, y)
    inside = (y >= box.top - EDGE) & (y <= box.bottom + EDGE)
    return x, np.where(inside, y, np.nan)


def cut(y: FloatArray, box: Box) -> FloatArray:
    """Places up and down, px, moved to the edge of a box where they lie beyond it."""
    return np.clip(y, box.top, box.bottom)


def radius(pane: Pane, count: int) -> float:
    """Of a mark, so that neighbours do not hide each other, px."""
    return float(np.clip(0.32 * pane.box.width / max(count, 1), SMALL, LARGE))


def marks(
    pane: Pane, places: FloatArray, values: FloatArray, look: tuple[str, bool, Theme]
) -> tuple[str, ...]:
    """What was read, one mark each: a name, and whether it is filled or hollow."""
    name, filled, theme = look
    size = radius(pane, places.size)
    x, y = pane.px(places, values)
    spots = np.stack([x, y], axis=-1)[np.isfinite(x + y)].tolist()
    return tuple(mark(at, up, size, filled, theme, name) for at, up in spots)


def mark(x: float, y: float, size: float, filled: bool, theme: Theme, name: str) -> str:
    """One reading."""
    hollow = size - RING / 2.0
    return element(
        "circle", cx=x, cy=y, r=size if filled else hollow, fill=theme.ink if filled else theme.paper,
        stroke=None if filled else theme.ink, stroke_width=None if filled else RING, class_=name,
    )  # fmt: skip


def bars(
    pane: Pane, places: FloatArray, values: FloatArray, doubt: FloatArray, look: tuple[str, Theme]
) -> str:
    """The 95 % intervals of what was read, cut at the edges of the plot."""
    name, theme = look
    x, low = pane.px(places, defined(values) - SURE * defined(doubt))
    _, high = pane.px(places, defined(values) + SURE * defined(doubt))
    ends = np.stack([x, cut(low, pane.box), cut(high, pane.box)], axis=-1)
    known = ends[np.all(np.isfinite(ends), axis=-1)]
    data = "".join(f"M{number(at)} {number(foot)}V{number(head)}" for at, foot, head in known.tolist())
    return element("path", d=data, stroke=theme.ink, stroke_width=style.DIMENSION, fill="none",
                   stroke_opacity=0.7, class_=name)  # fmt: skip


def band(x: FloatArray, high: FloatArray, low: FloatArray, colour: str, name: str) -> str:
    """A shaded band between two curves in px, with gaps where either is not known."""
    pieces = []
    for run in runs(x, high, low):
        if run.stop - run.start > 1:
            there = zip(x[run].tolist(), high[run].tolist(), strict=True)
            back = zip(x[run][::-1].tolist(), low[run][::-1].tolist(), strict=True)
            pieces.append("M" + "L".join(f"{number(a)} {number(b)}" for a, b in (*there, *back)) + "Z")
    return element("path", d="".join(pieces), fill=colour, fill_opacity=0.12, stroke="none", class_=name)


def ghost(x: FloatArray, y: FloatArray, colour: str, name: str, dash: str | None = None) -> str:
    """A thin line that only accompanies the curves, in px."""
    return element("path", d=polyline(x, y), stroke=colour, stroke_width=style.DIMENSION, fill="none",
                   stroke_dasharray=dash, class_=name)  # fmt: skip


# Names --------------------------------------------------------------------------------------------------------


def words_area(box: Box) -> Box:
    """Where words may stand in a plot."""
    return Box(box.left + 5.0, box.top + 1.0, box.right - 5.0, box.bottom - 3.0)


def name_room(box: Box) -> float:
    """Width of a name in a plot."""
    return ROOM if box.width >= SLIM else SLIM_ROOM


def name_spots(points: FloatArray, others: Sequence[FloatArray], box: Box) -> FloatArray:
    """Where a name may be tied to a curve, points in px: off the other curves, if it is so anywhere.

    The middle of the plot where there is no curve.
    """
    if not len(points):
        return np.tile([[(box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0]], (2, 1))
    spots = points[(NAMES * (len(points) - 1)).astype(np.intp)]
    away = np.concatenate([np.empty((0, 2)), *others])
    gaps = np.hypot(*np.moveaxis(spots[:, None] - away[None], -1, 0)).min(axis=-1, initial=np.inf)
    clear = spots[gaps > CLEAR]
    spots = clear if len(clear) else spots
    return np.concatenate([spots, spots[:1]])  # a name is never tied to one point
