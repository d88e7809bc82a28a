"""The pull on a sheet: every lever in a low plot, events by name, a bench pull as dots; and the code of a job."""

from dataclasses import dataclass, replace

import numpy as np
import segno

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.frame import HEAD, Frame, extent_of, frame, shared
from pullcurve.papers.key import BRANCHES, Entry, key_width, write_key
from pullcurve.papers.loop import draw_panel
from pullcurve.papers.plot import Box, dots, element, number, picture, place
from pullcurve.papers.style import LIGHT, Theme
from pullcurve.papers.traces import Panel, defined, drawable
from pullcurve.units import from_si

PAPER = replace(LIGHT, paper="#FFFFFF")
"""What is printed lies on white."""

WIDTH, GUTTER = 900.0, 30.0
UNDER_TITLE = 10.0
DOT = 3.5
QUIET = 4
"""Modules of white that a reader of the code needs around it (ISO/IEC 18004)."""


@dataclass(frozen=True, slots=True)
class Dots:
    """Both branches (P,) [N] of a bench pull over finger travel (P,) [m], and the panel that it belongs to."""

    panel: int
    travel: FloatArray
    pull: FloatArray
    release: FloatArray


def sheet_figure(
    panels: tuple[Panel, ...], height: float, name: str, measured: Dots | None = None, theme: Theme = PAPER
) -> str:
    """Force over travel of one or two levers side by side, low: the numbers stand in the tables of the sheet."""
    known = drawable(tuple(_short(panel) for panel in panels))
    each = (WIDTH - GUTTER * (len(known) - 1)) / len(known)
    boxes = [Box(x, 0.0, x + each, height) for x in (index * (each + GUTTER) for index in range(len(known)))]
    extents = shared([extent_of(panel) for panel in known])
    frames = [frame(panel, extent, box) for panel, extent, box in zip(known, extents, boxes, strict=True)]
    drawn = [draw_panel(*all_of, theme) for all_of in zip(known, frames, boxes, strict=True)]
    if measured is not None:
        drawn.append(_dots(measured, frames[measured.panel], theme))
    key = (*BRANCHES, Entry("dot", "measured")) if measured else BRANCHES
    drawn += write_key(key, WIDTH - key_width(key), HEAD - UNDER_TITLE, theme)
    return picture(WIDTH, height, name, theme, drawn)


def _short(panel: Panel) -> Panel:
    """A panel whose events are named and no more, without its second quantity."""
    traces = tuple(
        replace(trace, events=tuple(replace(mark, label=mark.kind) for mark in trace.events))
        for trace in panel.traces
    )
    return replace(panel, traces=traces, second=None)


def _dots(measured: Dots, where: Frame, theme: Theme) -> str:
    """Both branches of a bench pull, as far as the plot goes."""
    travel = from_si("travel_mm", 1.0) * measured.travel
    x = place(where.across, defined(np.tile(travel, 2)))
    y = place(where.up, defined(np.concatenate([measured.pull, measured.release])))
    main = where.main
    inside = (x >= main.left) & (x <= main.right) & (y >= main.top) & (y <= main.bottom)
    return dots(x[inside], y[inside], theme.ink, DOT)


def code_figure(words: str, theme: Theme = PAPER) -> str:
    """Words as a QR code, with the white that it needs around it."""
    rows = [[bool(cell) for cell in row] for row in segno.make_qr(words, error="m").matrix]
    size = len(rows) + 2 * QUIET
    cells = "".join(
        f"M{number(QUIET + column)} {number(QUIET + line)}h1v1h-1z"
        for line, row in enumerate(rows)
        for column, dark in enumerate(row)
        if dark
    )
    dark = element("path", d=cells, fill="#000000", shape_rendering="crispEdges")
    return picture(size, size, words, theme, [dark])
