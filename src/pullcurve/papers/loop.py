"""One lever drawn: force over travel, both branches, events, ends and limits, each with its words."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.captions import MARKER, place_captions
from pullcurve.papers.frame import (
    SECOND_ROOM,
    Frame,
    branch_px,
    ends_of,
    last_end,
    limit_band,
    mark_px,
    stations,
    wanted_px,
)
from pullcurve.papers.labels import write
from pullcurve.papers.letters import shorten, text_width
from pullcurve.papers.plot import (
    Box,
    across_axis,
    at,
    axis_title,
    between,
    curve,
    element,
    event,
    grid,
    hatch,
    line,
    number,
    pennant,
    place,
    plus,
    text,
    up_axis,
)
from pullcurve.papers.style import Role, Theme, role_colour
from pullcurve.papers.traces import Panel, Trace, defined, exceeded, ranks, reached, words_of

KEEP_OFF, AWAY = 9.0, 18.0
SHARES = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82)
EXTENSION_DASH = "1 3"
LEAST_POINTS = 12
WALL = 6.0
SECOND, SECOND_MARKER = 2.0, 4.5


@dataclass(frozen=True, slots=True)
class Spot:
    """Pennants on a curve, px, and the way that they point, rad."""

    role: Role
    count: int
    x: float
    y: float
    turn: float


# Limits -----------------------------------------------------------------------------------------------------


def _walls(panel: Panel, where: Frame, theme: Theme) -> Iterator[str]:
    """Where the travel ends: a wall for every trace, hatched beyond the last."""
    ends = ends_of(panel)
    if not ends:
        return
    last = last_end(panel, where)
    boxes = [box for box in (where.main, where.second) if box]
    for box in boxes:
        yield hatch(Box(last, box.top, box.right, box.bottom), theme.ink_2)
    for index, end in enumerate(ends):
        colour = _end_colour(panel, end, theme)
        x = at(where.across, end)
        for box in boxes:
            if x < last:
                yield hatch(Box(x, box.top, min(x + WALL, last), box.bottom), colour, 6.0)
            yield line(x, box.top, x, box.bottom, colour, style.VISIBLE_EDGE, class_="end")
        column = last + 17.0 + index * 20.0
        words = f"travel ends {end:.1f} mm"
        if text_width(words, style.NOTE_SIZE) > where.main.height - 12.0:
            words = shorten(f"{end:.1f} mm", where.main.height - 12.0, style.NOTE_SIZE)
        yield _upright(column, where.main, words, colour, theme)


def _end_colour(panel: Panel, end: float, theme: Theme) -> str:
    """Ink where all traces end alike, else the colour of the role that ends here."""
    roles = {trace.role for trace in panel.traces if round(trace.end_mm, 1) == end}
    return role_colour(theme, roles.pop()) if len(ends_of(panel)) > 1 and len(roles) == 1 else theme.ink


def _upright(x: float, box: Box, words: str, colour: str, theme: Theme) -> str:
    """Text that reads upward, with paper under it so that hatching does not cross it."""
    wide = text_width(words, style.NOTE_SIZE) + 10.0
    middle = (box.top + box.bottom) / 2.0
    ground = element("rect", x=x - 13.5, y=middle - wide / 2.0, width=18.0, height=wide, fill=theme.paper)
    turned = f"rotate(-90 {number(x)} {number(middle)})"
    return ground + text(x, middle, words, colour, transform=turned, text_anchor="middle", class_="end-label")


def _limit(panel: Panel, where: Frame, theme: Theme) -> Iterator[str]:
    """The force limit: hatched above, in the colour of danger where a pull goes beyond it."""
    if where.limit is not None:
        colour = theme.danger if exceeded(panel) else theme.ink
        y, right = at(where.up, where.limit), last_end(panel, where)
        yield hatch(limit_band(where, where.limit, right), colour, 6.0)
        yield line(where.main.left, y, right, y, colour, style.VISIBLE_EDGE, class_="limit")


# Traces -----------------------------------------------------------------------------------------------------


def _extensions(trace: Trace, where: Frame, colour: str) -> Iterator[str]:
    """A fine line from every event down to the travel axis."""
    foot = (where.second or where.main).bottom
    for mark in reached(trace):
        x, y = mark_px(where, mark)
        yield line(
            x, y, x, foot, colour, style.DIMENSION, stroke_dasharray=EXTENSION_DASH, class_="extension"
        )


def _branches(trace: Trace, where: Frame, theme: Theme) -> Iterator[str]:
    """Wash, release and pull."""
    colour = role_colour(theme, trace.role)
    x, pull = branch_px(where, trace, trace.pull_newton)
    _, release = branch_px(where, trace, trace.release_newton)
    yield between(x, pull, release, colour)
    yield curve(x, release, colour, release=True)
    yield curve(x, pull, colour)


def _spots(panel: Panel, where: Frame) -> list[Spot]:
    """Where the pennants sit: one on each branch, clear of events, of wanted points and of each other."""
    away = [mark_px(where, mark) for trace in panel.traces for mark in reached(trace)]
    away += [(x, y) for x, y in wanted_px(where, panel).tolist()]
    spots = []
    for trace, count in zip(panel.traces, ranks(panel), strict=True):
        for values, back in ((trace.pull_newton, False), (trace.release_newton, True)):
            points = stations(*branch_px(where, trace, values))
            if len(points) >= LEAST_POINTS:
                x, y, turn = _free_station(points, away, back)
                away.append((x, y))
                spots.append(Spot(trace.role, count, x, y, turn))
    return spots


def _pennants(spot: Spot, theme: Theme) -> Iterator[str]:
    """Which way a branch is gone through, and by the shape whose it is."""
    for step in range(spot.count):
        along = 9.0 * (step - (spot.count - 1) / 2.0)
        tip = spot.x + along * math.cos(spot.turn), spot.y + along * math.sin(spot.turn)
        yield pennant(*tip, spot.role, role_colour(theme, spot.role), theme.paper, spot.turn)


def _free_station(
    points: FloatArray, away: list[tuple[float, float]], back: bool
) -> tuple[float, float, float]:
    """A point on a curve at some distance from others, and the direction, rad, of the way."""
    indices = [int(share * (len(points) - 1)) for share in SHARES]
    others = np.array(away).reshape(-1, 2)
    free = [i for i in indices if not len(others) or np.min(np.hypot(*(others - points[i]).T)) > AWAY]
    index = (free or indices)[0]
    dx, dy = (points[min(index + 3, len(points) - 1)] - points[max(index - 3, 0)]).tolist()
    x, y = points[index].tolist()
    return x, y, math.atan2(dy, dx) + (math.pi if back else 0.0)


def _events(trace: Trace, where: Frame, theme: Theme) -> Iterator[str]:
    """The events in their shapes."""
    for mark in reached(trace):
        tip = f"{trace.label}: {words_of(mark)}"
        yield event(
            mark.kind, *mark_px(where, mark), role_colour(theme, trace.role), theme.paper, MARKER, tip
        )


def _second(panel: Panel, index: int, where: Frame, theme: Theme) -> Iterator[str]:
    """The second quantity of one trace, with the events on it."""
    if not panel.second or not where.second_up:
        return
    trace, values = panel.traces[index], defined(panel.second[2][index])
    travel, colour = defined(trace.travel_mm), role_colour(theme, trace.role)
    yield curve(place(where.across, travel), place(where.second_up, values), colour, weight=SECOND)
    known = np.isfinite(values) & np.isfinite(travel)
    travel, values = travel[known], values[known]
    for mark in reached(trace):
        if travel.size and travel[0] <= mark.travel_mm <= travel[-1]:
            value = float(np.interp(mark.travel_mm, travel, values))
            x, y = at(where.across, mark.travel_mm), at(where.second_up, value)
            yield event(mark.kind, x, y, colour, theme.paper, SECOND_MARKER)


# All --------------------------------------------------------------------------------------------------------


def draw_panel(panel: Panel, where: Frame, box: Box, theme: Theme) -> str:
    """Everything of one lever, from the back to the front."""
    spots = _spots(panel, where)
    signs = [Box(spot.x - 4.0, spot.y - 4.0, spot.x + 4.0, spot.y + 4.0) for spot in spots]
    parts = [
        *_axes(panel, where, box, theme),
        *_limit(panel, where, theme),
        *_walls(panel, where, theme),
    ]
    for trace in panel.traces:
        parts += _extensions(trace, where, role_colour(theme, trace.role))
    for index, trace in enumerate(panel.traces):
        inside = *_branches(trace, where, theme), *_second(panel, index, where, theme)
        parts.append(element("g", *inside, class_=f"trace {trace.role}", data_label=trace.label))
    for spot in spots:
        parts += _pennants(spot, theme)
    for trace in panel.traces:
        parts += _events(trace, where, theme)
    parts += [plus(x, y, theme.ink, name="wanted") for x, y in wanted_px(where, panel).tolist()]
    parts += write(place_captions(panel, where, theme, signs), theme.paper, KEEP_OFF)
    return element("g", *parts, class_="panel", data_title=panel.title, **_scale_data(where))


def _axes(panel: Panel, where: Frame, box: Box, theme: Theme) -> Iterator[str]:
    """Name of the lever, axes with their titles and units."""
    main, second = where.main, where.second
    name = shorten(panel.title, box.width, style.BODY_SIZE, style.SEMIBOLD)
    yield text(
        box.left, box.top + 16.0, name, theme.ink, style.BODY_SIZE, font_weight="600", class_="panel-title"
    )
    yield axis_title(box.left, main.top - 10.0, "force at the finger", "N", theme)
    yield grid(main, where.across, where.up, theme)
    yield from up_axis(main.left, where.up, theme)
    yield from across_axis(main.bottom, where.across, theme, named=second is None)
    if second and where.second_up and panel.second:
        yield axis_title(box.left, second.top - 10.0, *panel.second[:2], theme)
        yield grid(second, where.across, where.second_up, theme, SECOND_ROOM)
        yield from up_axis(second.left, where.second_up, theme, SECOND_ROOM)
        yield from across_axis(second.bottom, where.across, theme)
    foot = (second or main).bottom
    yield axis_title(main.right, foot + 38.0, "travel at the finger from rest", "mm", theme, anchor="end")


def _scale_data(where: Frame) -> dict[str, str]:
    """The scales as data attributes, so that a page can put a cursor on the plot."""
    known = (("x", where.across), ("y", where.up))
    return {
        f"data_{name}_{part}": f"{getattr(scale, part):.7g}"
        for name, scale in known
        for part in ("low", "high", "start", "end")
    }
