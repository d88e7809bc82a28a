"""A fitted pull as plots: what was read, what the fitted job gives, what is left between them, and the pressure."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.benchplot import (
    SURE,
    Pane,
    Row,
    about_zero,
    axes,
    band,
    bars,
    cut,
    extent,
    ghost,
    mark,
    marks,
    name_room,
    name_spots,
    places_axis,
    scale_data,
    stack,
    stack_height,
    widened,
    within,
    words_area,
)
from pullcurve.papers.frame import stations
from pullcurve.papers.key import Entry
from pullcurve.papers.labels import Label, label, name_label, write
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import Box, curve, element, span
from pullcurve.papers.style import Theme
from pullcurve.papers.traces import defined
from pullcurve.studies.fit import Fit
from pullcurve.studies.prediction import Predicted
from pullcurve.units import from_si

FORCE, LEFT, PRESSURE = "force at the finger", "measured less fitted", "line pressure"
"""What the plots show, from top to bottom."""

LEFT_HEIGHT, PRESSURE_HEIGHT = 128.0, 138.0
GHOST_SHARE = 0.15
"""What the job as written predicts may widen the plot by this share of what was read."""

NEWTON_SEEN = 0.5
"""A plot of what is left goes at least so far to both sides of zero, unless forces are smaller [N]."""


@dataclass(frozen=True, slots=True)
class Branch:
    """One branch over the places, (P,) each: read with its deviation, fitted, as written, and what is left of it."""

    name: str
    read: FloatArray
    doubt: FloatArray
    fitted: FloatArray
    written: FloatArray
    left: FloatArray
    left_doubt: FloatArray

    @property
    def back(self) -> bool:
        """Whether the lever is on its way out."""
        return self.name == "release"


@dataclass(frozen=True, slots=True)
class Line:
    """Pressures over the places, (P,) each: read on both branches with the deviation used, fitted, as written."""

    pull: FloatArray
    release: FloatArray
    doubt: FloatArray
    fitted: FloatArray
    written: FloatArray


@dataclass(frozen=True, slots=True)
class Told:
    """A fitted pull in the units of its sheet; the line where its pressure was measured."""

    place: FloatArray
    angular: bool
    branches: tuple[Branch, Branch]
    line: Line | None


def told(fit: Fit, written: Predicted | None) -> Told:
    """What a fit says, ready to be drawn."""
    known, measured = fit.readings, fit.measured
    counts = [int(np.count_nonzero(at)) for at in (known.pull_at, known.release_at)]
    used = (known.deviation[: counts[0]], known.deviation[counts[0] : sum(counts)])
    nothing = np.full(measured.place.shape, np.nan)
    branches = []
    for name, at, doubt in (("pull", known.pull_at, used[0]), ("release", known.release_at, used[1])):
        off = nothing.copy()
        off[at] = doubt
        branches.append(
            Branch(
                name,
                read=getattr(measured, name),
                doubt=getattr(measured, f"{name}_deviation"),
                fitted=getattr(fit.predicted, name)[0],
                written=nothing if written is None else getattr(written, name)[0],
                left=np.where(at, getattr(fit, f"{name}_residual"), np.nan),
                left_doubt=off,
            )
        )
    turned = from_si("place_deg" if measured.angular else "place_mm", 1.0)
    return Told(
        measured.place * turned,
        measured.angular,
        (branches[0], branches[1]),
        _line(fit, written, sum(counts)),
    )


def _line(fit: Fit, written: Predicted | None, before: int) -> Line | None:
    """Pressures in bar; None where none was measured."""
    measured, known = fit.measured, fit.readings
    bar, nothing = from_si("pressure_bar", 1.0), np.full(measured.place.shape, np.nan)
    read = [
        nothing if one is None else one * bar for one in (measured.pull_pressure, measured.release_pressure)
    ]
    if not np.any(np.isfinite(defined(np.concatenate(read)))):
        return None
    off = nothing.copy()
    off[known.pressure_at] = known.deviation[before:] * bar
    fitted, ahead = (
        nothing if one is None or one.pressure is None else one.pressure[0] * bar
        for one in (fit.predicted, written)
    )
    return Line(read[0], read[1], off, fitted, ahead)


# Rows ---------------------------------------------------------------------------------------------------------


def rows_of(known: Told, height: float) -> tuple[Row, ...]:
    """The plots from top to bottom, the first so many px high."""
    rows = [_force_row(known, height), _left_row(known)]
    if known.line:
        one = known.line
        low, high = extent((one.pull, one.release, one.fitted), ((one.pull, one.doubt),))
        rows.append(
            Row(PRESSURE, "bar", "", *widened(low, high, (one.written,), GHOST_SHARE), PRESSURE_HEIGHT)
        )
    return tuple(rows)


def _force_row(known: Told, height: float) -> Row:
    """Force: what was read and what the fitted job gives; what the job as written predicts may leave the plot."""
    values = [values for one in known.branches for values in (one.read, one.fitted)]
    low, high = extent(values, [(one.read, one.doubt) for one in known.branches])
    low, high = widened(low, high, [one.written for one in known.branches], GHOST_SHARE)
    return Row(FORCE, "N", "bars: 95 % interval", low, high, height)


def _left_row(known: Told) -> Row:
    """What is left, as far below zero as above."""
    bands = np.concatenate([SURE * defined(one.left_doubt) for one in known.branches])
    bands = bands[np.isfinite(bands)]
    usual = float(np.quantile(bands, 0.8)) if bands.size else 0.0
    forces = span([values for one in known.branches for values in (one.read, one.fitted)])
    least = max(usual, min(NEWTON_SEEN, 0.1 * max(map(abs, forces))))
    low, high = about_zero([one.left for one in known.branches], least)
    return Row(LEFT, "N", "shaded: 95 % of a good fit", low, high, LEFT_HEIGHT)


def fit_height(known: Told, height: float, room: float) -> float:
    """Height of all plots in a room so many px wide."""
    return stack_height(rows_of(known, height), room)


def fit_key() -> tuple[Entry, ...]:
    """What the marks are; curves are named where they run."""
    return Entry(_rings, "measured, pull"), Entry(_dots, "measured, release")


def _rings(x: float, y: float, theme: Theme) -> str:
    return "".join(mark(x + at, y, 3.2, False, theme, "sample") for at in (7.0, 23.0))


def _dots(x: float, y: float, theme: Theme) -> str:
    return "".join(mark(x + at, y, 3.2, True, theme, "sample") for at in (7.0, 23.0))


# Drawing ------------------------------------------------------------------------------------------------------


def draw_fit(known: Told, body: Box, height: float, theme: Theme) -> str:
    """All plots of a fitted pull, from the back to the front."""
    panes = stack(rows_of(known, height), known.place, body)
    parts = []
    for number, (pane, draw) in enumerate(zip(panes, (_force, _left, _pressure), strict=False)):
        last = number == len(panes) - 1
        inside = *axes(pane, body, theme, last), *draw(known, pane, theme)
        parts.append(element("g", *inside, class_="pane", data_name=pane.row.name, **scale_data(pane)))
    return element("g", *parts, places_axis(panes[-1], known.angular, theme), class_="bench")


def _force(known: Told, pane: Pane, theme: Theme) -> Iterator[str]:
    """Force over the places."""
    for one in known.branches:
        if np.any(np.isfinite(defined(one.written))):
            x, y = within(*pane.px(known.place, one.written), pane.box)
            yield ghost(x, y, theme.ink_2, f"written {one.name}", style.RELEASE_DASH if one.back else None)
    for one in known.branches:
        yield bars(pane, known.place, one.read, one.doubt, (f"doubt {one.name}", theme))
    for one in reversed(known.branches):
        yield curve(*pane.px(known.place, one.fitted), theme.fitted, release=one.back)
    for one in reversed(known.branches):
        yield from marks(pane, known.place, one.read, (f"read {one.name}", one.back, theme))
    yield from _captions(known, pane, theme)


def _left(known: Told, pane: Pane, theme: Theme) -> Iterator[str]:
    """What is left over the places, with what is to be expected of a good fit."""
    for one in known.branches:
        x, high = pane.px(known.place, SURE * one.left_doubt)
        _, low = pane.px(known.place, -SURE * one.left_doubt)
        high, low = cut(high, pane.box), cut(low, pane.box)
        yield band(x, high, low, theme.fitted, f"expected {one.name}")
        dash = style.RELEASE_DASH if one.back else None
        for edge in (high, low):
            yield ghost(x, edge, theme.fitted, f"edge {one.name}", dash)
    for one in reversed(known.branches):
        yield from marks(pane, known.place, one.left, (f"left {one.name}", one.back, theme))


def _pressure(known: Told, pane: Pane, theme: Theme) -> Iterator[str]:
    """Pressure over the places."""
    one = known.line
    assert one is not None
    yield ghost(*within(*pane.px(known.place, one.written), pane.box), theme.ink_2, "written pressure")
    yield bars(pane, known.place, one.pull, one.doubt, ("doubt pressure", theme))
    yield element("g", curve(*pane.px(known.place, one.fitted), theme.fitted), class_="pressure")
    yield from marks(pane, known.place, one.release, ("read pressure-release", True, theme))
    yield from marks(pane, known.place, one.pull, ("read pressure-pull", False, theme))


# Words --------------------------------------------------------------------------------------------------------


def _captions(known: Told, pane: Pane, theme: Theme) -> Iterator[str]:
    """Every curve by name, off the curves and the marks."""
    fitted = [stations(*pane.px(known.place, one.fitted)) for one in known.branches]
    written = [stations(*within(*pane.px(known.place, one.written), pane.box)) for one in known.branches]
    dots = np.concatenate([np.stack(pane.px(known.place, one.read), axis=-1) for one in known.branches])
    dots = dots[np.all(np.isfinite(dots), axis=-1)].repeat(2, axis=0)
    names = [*_written_name(known, pane, (fitted, written), theme)]
    for one, points, other in zip(known.branches, fitted, reversed(fitted), strict=True):
        spots = name_spots(points, (other, *written), pane.box)
        colour = theme.fitted if len(points) else theme.ink_2
        words = _branch_words(one, len(points) > 0)
        names.append(name_label(words, colour, spots, name_room(pane.box), "fitted", 0))
    avoided = np.concatenate([*fitted, *(line[::2] for line in written), dots])
    yield from write(place_labels(names, words_area(pane.box), (), avoided), theme.paper, 4.0)


def _branch_words(one: Branch, drawn: bool) -> str:
    """The name of a fitted branch, and whether it was not measured."""
    if not drawn:
        return f"no {one.name} to show"
    measured = np.any(np.isfinite(defined(one.read)))
    return f"fitted {one.name}" if measured else f"fitted {one.name}, not measured"


def _written_name(
    known: Told, pane: Pane, lines: tuple[list[FloatArray], list[FloatArray]], theme: Theme
) -> Iterator[Label]:
    """What the job as written predicts, and how far it goes beyond the plot."""
    every = np.concatenate([defined(one.written) for one in known.branches])
    if not np.any(np.isfinite(every)):
        return
    fitted, written = lines
    points = np.concatenate(written)
    most = float(np.nanmax(every))
    words = "job as written" if len(points) else "job as written: beyond this plot"
    words = f"{words}, on to {most:.0f} N" if most > pane.row.high else words
    yield label(words, theme.ink_2, name_spots(points, fitted, pane.box), name_room(pane.box))
