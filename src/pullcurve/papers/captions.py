"""What is written into the plot of a lever, and where: events, names of the traces, the force limit."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.frame import (
    STEP,
    Frame,
    branch_px,
    ends_of,
    last_end,
    limit_band,
    mark_px,
    stations,
    wanted_px,
)
from pullcurve.papers.labels import Label, Placed, label, name_label
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import Box, at
from pullcurve.papers.style import Theme, role_colour
from pullcurve.papers.traces import LARGEST, Panel, Trace, defined, exceeded, ranks, reached, words_of

MARKER = 6.0
LABEL_ROOM, LEAST_ROOM, CROWDED_ROOM, LABEL_SHARE = 190.0, 140.0, 100.0, 0.46
NAME_AWAY = 30.0


def place_captions(panel: Panel, where: Frame, theme: Theme, signs: Sequence[Box]) -> tuple[Placed, ...]:
    """All words of a plot at their places, off the signs on its curves; if crowded, in more lines."""
    main, taken, avoided = where.main, [*signs, *_taken(panel, where)], _avoided(panel, where)
    area = Box(main.left + 6.0, main.top + 1.0, last_end(panel, where) - 6.0, main.bottom - 5.0)
    best: tuple[Placed, ...] = ()
    for room in (max(LEAST_ROOM, min(LABEL_ROOM, LABEL_SHARE * main.width)), CROWDED_ROOM):
        labels = list(_labels(panel, where, theme, room))
        placed = place_labels(labels, area, taken, avoided)
        best = max(best, placed, key=len)
        if len(placed) == len(labels):
            break
    return best


def caption_count(panel: Panel) -> int:
    """How many captions a plot has."""
    return sum(1 + len(reached(trace)) for trace in panel.traces) + (panel.force_limit_newton is not None)


def trace_words(trace: Trace) -> str:
    """The name of a trace and what it does not reach."""
    if not np.any(np.isfinite(defined(trace.pull_newton))):
        return f"{trace.label}: no pull to show"
    missed = [mark.kind for mark in trace.events if mark not in reached(trace)]
    return f"{trace.label}, {' and '.join(missed)} not reached" if missed else trace.label


def _labels(panel: Panel, where: Frame, theme: Theme, room: float) -> Iterator[Label]:
    """Every event, the force limit and every trace by name, in lines no wider than the room."""
    for trace in panel.traces:
        for mark in reached(trace):
            anchor = np.array(mark_px(where, mark))
            yield label(words_of(mark), role_colour(theme, trace.role), anchor, room)
    yield from _limit_label(panel, where, theme, room)
    for index in range(len(panel.traces)):
        yield _name(panel, index, where, theme, room)


def _name(panel: Panel, index: int, where: Frame, theme: Theme, room: float) -> Label:
    """A name that may sit anywhere along the pull branch, but not so near an event as to seem its own."""
    trace = panel.traces[index]
    points = stations(*branch_px(where, trace, trace.pull_newton))
    shares = np.linspace(0.15, 1.0, 12) * (len(points) - 1)
    middle = np.array([[where.main.left + where.main.right, where.main.top + where.main.bottom]]) / 2.0
    anchors = points[shares.astype(np.intp)] if len(points) else middle
    marks = _marks(panel, where)
    clear = [all(math.dist(spot, mark) > NAME_AWAY for mark in marks) for spot in anchors.tolist()]
    anchors = anchors[clear] if any(clear) else anchors
    anchors = np.concatenate([anchors, anchors[:1]])  # a name is never tied to one point
    colour = role_colour(theme, trace.role)
    return name_label(trace_words(trace), colour, anchors, room, trace.role, ranks(panel)[index])


def _limit_label(panel: Panel, where: Frame, theme: Theme, room: float) -> Iterator[Label]:
    """The force limit in words, along its line, or at the top where the line lies above the plot."""
    asked = panel.force_limit_newton
    if asked is None or not abs(asked) <= LARGEST:
        return
    x = where.main.left + np.linspace(0.06, 0.9, 8) * (last_end(panel, where) - where.main.left)
    y = where.main.top + 2.0 if where.limit is None else at(where.up, where.limit)
    words, colour = f"force limit {asked:.0f} N", theme.ink
    if exceeded(panel):
        words, colour = f"{words}, exceeded", theme.danger
    elif where.limit is None:
        words, colour = f"{words}: above this plot", theme.ink_2
    yield label(words, colour, np.stack([x, np.full(8, y)], axis=-1), room)


# What words keep off ----------------------------------------------------------------------------------------


def _marks(panel: Panel, where: Frame) -> list[tuple[float, float]]:
    """All events in px."""
    return [mark_px(where, mark) for trace in panel.traces for mark in reached(trace)]


def _taken(panel: Panel, where: Frame) -> Iterator[Box]:
    """Markers, wanted points and limits: no word stands on them."""
    for x, y in [*_marks(panel, where), *wanted_px(where, panel).tolist()]:
        yield Box(x - MARKER, y - MARKER, x + MARKER, y + MARKER)
    if where.limit is not None:
        yield limit_band(where, where.limit, last_end(panel, where))


def _avoided(panel: Panel, where: Frame) -> FloatArray:
    """Points (P, 2) that words had better not cover; the release branch counts half, dotted lines little."""
    points = [
        stations(*branch_px(where, trace, values), step)
        for trace in panel.traces
        for values, step in ((trace.pull_newton, STEP), (trace.release_newton, 2.0 * STEP))
    ]
    for x, y in _marks(panel, where):
        points.append(np.stack([np.full(9, x), np.linspace(y, where.main.bottom, 9)], axis=-1))
    for end in ends_of(panel)[:-1]:
        down = np.arange(where.main.top, where.main.bottom, STEP / 2.0)
        points.append(np.stack([np.full_like(down, at(where.across, end)), down], axis=-1))
    return np.concatenate(points)
