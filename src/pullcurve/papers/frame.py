"""How much of the world a panel shows, and where on the sheet: extents, boxes and scales."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.plot import Box, Scale, at, place, runs, span, up_axis_width
from pullcurve.papers.traces import LARGEST, Mark, Panel, Trace, defined, wanted_of

HEAD, FOOT = 46.0, 44.0
SECOND_GAP, SECOND_SHARE, SECOND_ROOM = 34.0, 0.27, 22.0
TOP_ROOM, LOW_ROOM = 28.0, 10.0
STEP, MOST_POINTS = 3.0, 3000
LIMIT_BAND = 9.0
END_COLUMN, END_ROOM, OPEN_ROOM = 20.0, 8.0, 14.0
ALIKE = 2.5
"""Panels side by side share a scale as long as their extents do not differ by more than this factor."""

LIMIT_NEAR = 1.6
"""A force limit more than this factor above the peak is named, not drawn: it would flatten the curves."""


@dataclass(frozen=True, slots=True)
class Extent:
    """What a panel has to show: travel and force from low to high, how many ends to name, force limit."""

    travel: tuple[float, float]
    force: tuple[float, float]
    columns: int
    limit: float | None


@dataclass(frozen=True, slots=True)
class Frame:
    """Boxes and scales of a panel, and the force limit if drawn; the second plot is under the main one."""

    main: Box
    second: Box | None
    across: Scale
    up: Scale
    second_up: Scale | None
    limit: float | None


def ends_of(panel: Panel) -> tuple[float, ...]:
    """The different places where travel ends, as far as one can read, in order."""
    known = {round(trace.end_mm, 1) for trace in panel.traces if abs(trace.end_mm) <= LARGEST}
    return tuple(sorted(known))


def _travel_with_force(trace: Trace) -> FloatArray:
    """The travel, NaN where neither branch is defined: nothing is to be seen there."""
    known = np.isfinite(defined(trace.pull_newton)) | np.isfinite(defined(trace.release_newton))
    return np.where(known, trace.travel_mm, np.nan)


def extent_of(panel: Panel) -> Extent:
    """What a panel has to show."""
    ends = ends_of(panel)
    marks = [mark for trace in panel.traces for mark in trace.events]
    travels = [_travel_with_force(trace) for trace in panel.traces] + [np.array(ends)]
    forces = [array for trace in panel.traces for array in (trace.pull_newton, trace.release_newton)]
    wanted = wanted_of(panel)
    travel = span([*travels, np.array([mark.travel_mm for mark in marks]), wanted[:, 0]])
    force = span([*forces, np.array([mark.force_newton for mark in marks]), wanted[:, 1]])
    limit = panel.force_limit_newton
    if limit is not None and not 0.0 < limit <= LIMIT_NEAR * force[1]:
        limit = None
    return Extent(travel, (force[0], max(force[1], limit or force[1])), len(ends), limit)


def shared(extents: Sequence[Extent]) -> tuple[Extent, ...]:
    """The extents, made one where they are alike: then the eye may compare the panels."""
    columns = max(extent.columns for extent in extents)
    joined = []
    for name in ("travel", "force"):
        lows, highs = zip(*(getattr(extent, name) for extent in extents), strict=True)
        heights = [high - low for low, high in zip(lows, highs, strict=True)]
        alike = max(heights) <= ALIKE * min(heights)
        joined.append(
            [(min(lows), max(highs))] * len(extents) if alike else list(zip(lows, highs, strict=True))
        )
    return tuple(
        replace(extent, travel=travel, force=force, columns=columns)
        for extent, travel, force in zip(extents, *joined, strict=True)
    )


def _up(box: Box, values: tuple[float, float], top_room: float, low_room: float) -> Scale:
    """A scale that keeps the highest value some px below the top, and a negative one above the foot."""
    low, high = values
    foot = low_room if low < 0.0 else 0.0
    per_px = (high - low) / max(1.0, box.height - min(top_room, box.height / 3.0) - foot)
    low -= foot * per_px
    return Scale(low, low + per_px * box.height, box.bottom, box.top)


def _across(box: Box, extent: Extent) -> Scale:
    """A scale that leaves room for the ends of the travel, hatched and named."""
    low, high = extent.travel
    room = END_COLUMN * extent.columns + END_ROOM if extent.columns else OPEN_ROOM
    per_px = (high - low) / max(1.0, box.width - room)
    return Scale(low, low + per_px * box.width, box.left, box.right)


def frame(panel: Panel, extent: Extent, box: Box) -> Frame:
    """Divide a box between heading, main plot, second plot and axis."""
    top, bottom = box.top + HEAD, box.bottom - FOOT
    second_values = span(panel.second[2]) if panel.second else None
    split = bottom
    if second_values:
        split = bottom - SECOND_SHARE * (bottom - top - SECOND_GAP) - SECOND_GAP
    main = Box(box.left, top, box.right, split)
    second = Box(box.left, split + SECOND_GAP, box.right, bottom) if second_values else None
    up = _up(main, extent.force, TOP_ROOM, LOW_ROOM)
    second_up = _up(second, second_values, 8.0, 4.0) if second and second_values else None
    left = box.left + max(up_axis_width(up), up_axis_width(second_up, SECOND_ROOM) if second_up else 0.0)
    main = replace(main, left=left)
    second = replace(second, left=left) if second else None
    return Frame(main, second, _across(main, extent), up, second_up, extent.limit)


def last_end(panel: Panel, where: Frame) -> float:
    """Where the last travel ends, px; the right edge if none does."""
    ends = ends_of(panel)
    return at(where.across, ends[-1]) if ends else where.main.right


# Px ---------------------------------------------------------------------------------------------------------


def branch_px(where: Frame, trace: Trace, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A branch in px."""
    return place(where.across, defined(trace.travel_mm)), place(where.up, defined(values))


def wanted_px(where: Frame, panel: Panel) -> FloatArray:
    """Wanted points in px, (P, 2)."""
    points = wanted_of(panel)
    return np.stack([place(where.across, points[:, 0]), place(where.up, points[:, 1])], axis=-1)


def mark_px(where: Frame, mark: Mark) -> tuple[float, float]:
    """An event in px."""
    return at(where.across, mark.travel_mm), at(where.up, mark.force_newton)


def stations(x: FloatArray, y: FloatArray, step: float = STEP) -> FloatArray:
    """Points (P, 2) along a curve in px, evenly spaced: labels avoid them, pennants sit on them."""
    pieces = [np.empty((0, 2))]
    for run in runs(x, y):
        length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x[run]), np.diff(y[run])))])
        count = min(MOST_POINTS, int(length[-1] / step) + 1)
        along = np.linspace(0.0, length[-1], count)
        pieces.append(np.stack([np.interp(along, length, x[run]), np.interp(along, length, y[run])], axis=-1))
    return np.concatenate(pieces)


def limit_band(where: Frame, limit: float, right: float) -> Box:
    """The hatched strip on the far side of the force limit."""
    y = at(where.up, limit)
    return Box(where.main.left, max(where.main.top, y - LIMIT_BAND), right, y)
