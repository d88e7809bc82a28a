"""A pull in plain characters, so that the command line can show it without opening a file.

Curves are drawn in braille dots, two by four to a character; events and roles are the signs of the figures,
and the numbers stand in words below the plot.
"""

import textwrap
from dataclasses import dataclass
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from pullcurve.papers.captions import trace_words
from pullcurve.papers.frame import Extent, ends_of, extent_of, shared, stations
from pullcurve.papers.letters import TIED
from pullcurve.papers.plot import Scale, at, place, tick_words, ticks
from pullcurve.papers.style import ROLE_SIGNS
from pullcurve.papers.traces import (
    LARGEST,
    Panel,
    Trace,
    defined,
    drawable,
    exceeded,
    ranks,
    reached,
    sign_of,
    words_of,
)

WIDE, GAP, NARROWEST, LOWEST = 110, 4, 40, 6
DOTS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]])
BLANK = 0x2800
"""Braille patterns: the dots of one character add their bits to U+2800 (Unicode Standard, chapter 21.1)."""

HATCH, LIMIT = "╱", "┄"
END_COLUMNS = 3
PENNANT_AT = {"fitted": 0.45, "proposed": 0.58}


@dataclass(frozen=True, slots=True)
class Raster:
    """A plot of characters (rows, columns) with its scales in dots."""

    across: Scale
    up: Scale
    cells: NDArray[np.str_]


def text_plot(panels: tuple[Panel, ...], width: int = 78, height: int = 16) -> str:
    """Force over travel in plain characters, no line longer than the width; if wide, side by side."""
    panels = drawable(panels)
    width, height = max(NARROWEST, width), max(LOWEST, height)
    extents = shared([extent_of(panel) for panel in panels])
    beside = len(panels) > 1 and width >= WIDE
    each = (width - GAP * (len(panels) - 1)) // len(panels) if beside else width
    blocks = [_block(panel, extent, each, height) for panel, extent in zip(panels, extents, strict=True)]
    if not beside:
        return "\n\n".join("\n".join(block) for block in blocks)
    rows = zip_longest(*blocks, fillvalue="")
    return "\n".join((" " * GAP).join(f"{part:{each}}" for part in row).rstrip() for row in rows)


def _clean(words: str) -> str:
    """Words without anything that a terminal would obey."""
    return "".join(letter for letter in words if letter.isprintable())


def _block(panel: Panel, extent: Extent, width: int, height: int) -> list[str]:
    """One lever: name, plot, axis, and its events in words."""
    up = Scale(extent.force[0], extent.force[1], 4.0 * height - 1.0, 0.0)
    names = dict(
        zip((round(at(up, v)) // 4 for v in ticks(up, 12.0)), tick_words(ticks(up, 12.0)), strict=True)
    )
    margin = max(map(len, names.values()), default=0) + 2
    columns = width - margin
    across = _across(extent, columns)
    raster = Raster(across, up, np.full((height, columns), " "))
    _draw(panel, extent, raster)
    lines = [_clean(panel.title)[:width], "force at the finger (N)"]
    for row, cells in enumerate(raster.cells):
        edge = "┤" if row in names else "│"
        lines.append(f"{names.get(row, ''):>{margin - 2}} {edge}{''.join(cells)}".rstrip())
    lines += _foot(across, columns, margin)
    lines += _limit_words(panel, extent, width)
    for index, trace in enumerate(panel.traces):
        lines += _legend(trace, ranks(panel)[index], width)
    return lines


def _across(extent: Extent, columns: int) -> Scale:
    """The travel in dots, with room for the hatching where it ends."""
    low, high = extent.travel
    dots = 2.0 * columns - 1.0
    room = 2.0 * END_COLUMNS if extent.columns else 2.0
    return Scale(low, low + (high - low) * dots / (dots - room), 0.0, dots)


def _foot(across: Scale, columns: int, margin: int) -> list[str]:
    """The axis of the travel with its numbers."""
    values = ticks(across, 20.0)
    rule, numbers = ["─"] * columns, [" "] * (columns + 4)
    for value, name in zip(values, tick_words(values), strict=True):
        column = round(at(across, value)) // 2
        rule[column] = "┬"
        start = max(0, column - (len(name) - 1) // 2)
        if (
            start + len(name) <= columns
            and not "".join(numbers[max(0, start - 1) : start + len(name)]).strip()
        ):
            numbers[start : start + len(name)] = name
    title = "travel at the finger from rest (mm)"
    left = " " * margin
    return [
        f"{left[:-1]}└{''.join(rule)}",
        f"{left}{''.join(numbers)}".rstrip(),
        f"{title:>{margin + columns}}",
    ]


# Cells ------------------------------------------------------------------------------------------------------


def _draw(panel: Panel, extent: Extent, raster: Raster) -> None:
    """Limits first, then curves, then signs, each over the one before."""
    ends = ends_of(panel)
    if ends:
        raster.cells[:, round(at(raster.across, ends[-1])) // 2 + 1 :] = HATCH
    if extent.limit is not None:
        row = raster.cells[round(at(raster.up, extent.limit)) // 4]
        row[row == " "] = LIMIT
    dots = np.zeros((4 * raster.cells.shape[0], 2 * raster.cells.shape[1]), dtype=bool)
    for trace in panel.traces:
        _plot(trace, raster, dots, release=False)
        if len(panel.traces) == 1:
            _plot(trace, raster, dots, release=True)
    grouped = dots.reshape(raster.cells.shape[0], 4, raster.cells.shape[1], 2)
    codes = BLANK + np.einsum("rick,ik->rc", grouped, DOTS)
    drawn = codes > BLANK
    raster.cells[drawn] = np.vectorize(chr, otypes=[np.str_])(codes[drawn]) if drawn.any() else ""
    for index, trace in enumerate(panel.traces):
        _sign(trace, ranks(panel)[index], raster)


def _limit_words(panel: Panel, extent: Extent, width: int) -> list[str]:
    """The force limit in words."""
    asked = panel.force_limit_newton
    if asked is None or not abs(asked) <= LARGEST:
        return []
    where = ", exceeded" if exceeded(panel) else "" if extent.limit is not None else ", above this plot"
    return [f"{LIMIT} force limit {asked:.0f} N{where}"[:width]]


def _curve(trace: Trace, raster: Raster, release: bool) -> NDArray[np.intp]:
    """Dots (P, 2) along a branch."""
    forces = trace.release_newton if release else trace.pull_newton
    x, y = place(raster.across, defined(trace.travel_mm)), place(raster.up, defined(forces))
    return np.rint(stations(x, y, 0.5)).astype(np.intp)


def _plot(trace: Trace, raster: Raster, dots: NDArray[np.bool_], release: bool) -> None:
    """Set the dots of a branch; the release branch is thinned."""
    points = _curve(trace, raster, release)
    if release:
        points = points[points[:, 0] % 4 == 0]
    dots[points[:, 1], points[:, 0]] = True


def _sign(trace: Trace, count: int, raster: Raster) -> None:
    """The role on the curve, once more for each further trace of that role, and the events."""
    points = _curve(trace, raster, release=False)
    if len(points):
        x, y = points[int(PENNANT_AT[trace.role] * (len(points) - 1))].tolist()
        raster.cells[y // 4, x // 2 : x // 2 + count] = ROLE_SIGNS[trace.role]
    for mark in reached(trace):
        x, y = round(at(raster.across, mark.travel_mm)), round(at(raster.up, mark.force_newton))
        raster.cells[y // 4, x // 2] = sign_of(mark)


def _legend(trace: Trace, count: int, width: int) -> list[str]:
    """Name, events and end of one trace in words; a number keeps its unit on the same line."""
    parts = [f"{sign_of(mark)} {words_of(mark)}" for mark in reached(trace)]
    if abs(trace.end_mm) <= LARGEST:
        parts.append(f"{HATCH} travel ends {trace.end_mm:.1f} mm")
    name = f"{ROLE_SIGNS[trace.role] * count} {trace_words(trace)}"
    known = [_clean(part).replace(" ", TIED) for part in parts]
    words = _clean(name) + (": " if parts else "") + f"{TIED}· ".join(known)
    return [
        line.replace(TIED, " ")
        for line in textwrap.wrap(words, width, subsequent_indent="    ", break_on_hyphens=False)
    ]
