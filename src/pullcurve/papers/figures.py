"""The figures of the project: a pull, its thumbnail, and the cloud of sets that a search has looked at."""

import numpy as np

from pullcurve.papers import style
from pullcurve.papers.border import NARROW, Heading, TitleBlock, surround, surround_height
from pullcurve.papers.captions import caption_count
from pullcurve.papers.cloud import Cloud, Quantity, check_cloud, cloud_key, draw_cloud
from pullcurve.papers.frame import ends_of, extent_of, frame, shared
from pullcurve.papers.key import BRANCHES, Entry
from pullcurve.papers.loop import draw_panel
from pullcurve.papers.plot import (
    Box,
    Scale,
    at,
    between,
    curve,
    event,
    hatch,
    line,
    picture,
    place,
    text,
)
from pullcurve.papers.style import DARK, LIGHT, Theme, role_colour
from pullcurve.papers.terminal import text_plot
from pullcurve.papers.traces import LARGEST, Mark, Panel, Second, Trace, defined, drawable, reached, wanted_of

__all__ = [
    "DARK",
    "LIGHT",
    "Cloud",
    "Mark",
    "Panel",
    "Quantity",
    "Second",
    "TitleBlock",
    "Trace",
    "pull_figure",
    "scatter_figure",
    "small_pull",
    "text_plot",
]

WIDTH, HEIGHT = 900.0, 560.0
GUTTER, STACK_GAP = 28.0, 14.0
SLIM = 400.0
LEAST_WIDTH, LEAST_HEIGHT = 220.0, 180.0
SMALL_SIZE = 13.0
WIDE_PANEL, STACKED_PANEL, SLIM_PANEL = 360.0, 330.0, 400.0
SECOND_EXTRA, CAPTION_EXTRA, CALM = 90.0, 18.0, 6


def pull_figure(
    panels: tuple[Panel, ...],
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    height: float | None = None,
) -> str:
    """Force over travel of one or two levers as an SVG sheet; panels stand side by side where there is room.

    The layout follows the width: give the width at which the figure is shown, and its type keeps its size.
    """
    panels = drawable(panels)
    given = Heading(title, subtitle, notes, pull_key(panels))
    wide = width >= NARROW
    if height is None:
        room = surround_height(given, block, width, theme)
        each = max(panel_height(panel, width) for panel in panels)
        height = max(HEIGHT, room + each) if wide else room + each * len(panels)
    around, body = surround(given, block, (width, height), theme)
    boxes = _boxes(body, len(panels), wide)
    _refuse_too_small(boxes[0], width, height)
    extents = shared([extent_of(panel) for panel in panels])
    drawn = [
        draw_panel(panel, frame(panel, extent, box), box, theme)
        for panel, extent, box in zip(panels, extents, boxes, strict=True)
    ]
    return picture(width, height, title, theme, [*around, *drawn])


def pull_key(panels: tuple[Panel, ...]) -> tuple[Entry, ...]:
    """What the strokes of a pull mean, and the crosses where there are some."""
    wanted = any(len(wanted_of(panel)) for panel in panels)
    return (*BRANCHES, Entry("plus", "wanted")) if wanted else BRANCHES


def panel_height(panel: Panel, width: float) -> float:
    """What a panel needs: more with a second quantity, and more where much is written into it."""
    least = WIDE_PANEL if width >= NARROW else STACKED_PANEL if width >= SLIM else SLIM_PANEL
    crowded = max(0, caption_count(panel) - CALM)
    return least + CAPTION_EXTRA * crowded + (SECOND_EXTRA if panel.second else 0.0)


def _boxes(body: Box, count: int, wide: bool) -> tuple[Box, ...]:
    """The body divided among the panels."""
    if wide:
        each = (body.width - GUTTER * (count - 1)) / count
        starts = [body.left + index * (each + GUTTER) for index in range(count)]
        return tuple(Box(x, body.top, x + each, body.bottom) for x in starts)
    each = (body.height - STACK_GAP * (count - 1)) / count
    starts = [body.top + index * (each + STACK_GAP) for index in range(count)]
    return tuple(Box(body.left, y, body.right, y + each) for y in starts)


def scatter_figure(
    cloud: Cloud,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    height: float | None = None,
) -> str:
    """Two read-outs of all sets as an SVG sheet: undominated sets as crosses, fitted and proposed by name."""
    check_cloud(cloud)
    given = Heading(title, subtitle, notes, cloud_key(cloud))
    if height is None:
        needed = surround_height(given, block, width, theme) + WIDE_PANEL
        height = max(HEIGHT, needed) if width >= NARROW else needed
    around, body = surround(given, block, (width, height), theme)
    _refuse_too_small(body, width, height)
    return picture(width, height, title, theme, [*around, draw_cloud(cloud, body, theme)])


def _refuse_too_small(box: Box, width: float, height: float) -> None:
    """A plot too small to be read is not drawn."""
    if box.width < LEAST_WIDTH or box.height < LEAST_HEIGHT:
        left = f"{max(0.0, box.width):.0f} × {max(0.0, box.height):.0f} px"
        raise ValueError(
            f"a figure of {width:.0f} × {height:.0f} px leaves {left} for a plot, and it needs "
            f"{LEAST_WIDTH:.0f} × {LEAST_HEIGHT:.0f} px; give more, or leave the height out"
        )


# Thumbnail --------------------------------------------------------------------------------------------------


def small_pull(panel: Panel, *, theme: Theme = LIGHT, width: float = 168.0, height: float = 104.0) -> str:
    """A pull for a list: both branches, events in their shapes, highest force and travel in numbers."""
    (panel,) = drawable((panel,))
    extent = extent_of(panel)
    box = Box(6.0, 24.0, width - 6.0, height - 20.0)
    up = Scale(*extent.force, box.bottom, box.top)
    across = Scale(*extent.travel, box.left, box.right - 8.0)
    foot = at(up, min(max(0.0, extent.force[0]), extent.force[1]))
    parts = [line(box.left, foot, box.right, foot, theme.ink_2, style.DIMENSION)]
    ends = [at(across, end) for end in ends_of(panel)]
    parts += [line(x, box.top, x, box.bottom, theme.ink_2, style.DIMENSION) for x in ends]
    if ends:
        parts.append(hatch(Box(ends[-1], box.top, box.right, box.bottom), theme.ink_2, 4.0))
    parts += [part for trace in panel.traces for part in _small_trace(trace, across, up, theme)]
    peaks = _from_to([_peak(trace) for trace in panel.traces], 0, "N") or "no pull to show"
    travels = _from_to([trace.end_mm for trace in panel.traces], 1, "mm")
    parts.append(text(box.left, 15.0, peaks, theme.ink, SMALL_SIZE))
    parts.append(text(box.right, height - 5.0, travels, theme.ink_2, SMALL_SIZE, text_anchor="end"))
    return picture(width, height, f"{panel.title}: {peaks}, {travels}", theme, parts)


def _small_trace(trace: Trace, across: Scale, up: Scale, theme: Theme) -> tuple[str, ...]:
    """Both branches and the events of one trace, fine enough for a thumbnail."""
    colour = role_colour(theme, trace.role)
    x = place(across, defined(trace.travel_mm))
    pull, release = (place(up, defined(known)) for known in (trace.pull_newton, trace.release_newton))
    events = [
        event(mark.kind, at(across, mark.travel_mm), at(up, mark.force_newton), colour, theme.paper, 3.5)
        for mark in reached(trace)
    ]
    branches = curve(x, release, colour, release=True, weight=1.0), curve(x, pull, colour, weight=1.75)
    return between(x, pull, release, colour), *branches, *events


def _peak(trace: Trace) -> float:
    """Highest force of a pull, NaN if it has none."""
    known = defined(trace.pull_newton)
    known = known[np.isfinite(known)]
    return float(known.max()) if known.size else float("nan")


def _from_to(values: list[float], decimals: int, unit: str) -> str:
    """Readings of one trace after the other, `68 → 60 N`; alike ones once, undefined ones left out."""
    shown = [f"{value + 0.0:.{decimals}f}".replace("-", "−") for value in values if abs(value) <= LARGEST]
    kept = [one for index, one in enumerate(shown) if index == 0 or one != shown[index - 1]]
    return f"{' → '.join(kept)} {unit}" if kept else ""
