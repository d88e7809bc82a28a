"""What a pull tells of each number: its range before and after, what was fitted, and what the job says, row by row."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pullcurve.papers import style
from pullcurve.papers.benchplot import SURE
from pullcurve.papers.key import STROKE, Entry
from pullcurve.papers.letters import TIED, text_width, wrap
from pullcurve.papers.plot import Box, Scale, at, element, line, text, words
from pullcurve.papers.style import NOTE_SIZE, SEMIBOLD, Theme
from pullcurve.papers.traces import LARGEST
from pullcurve.studies.fit import Fit
from pullcurve.studies.parameters import Unknown
from pullcurve.units import unit_of

UNIT_SIGNS = {
    "newton": "N",
    "newton_mm": "N mm",
    "newton_per_mm": "N/mm",
    "newton_mm_per_deg": "N mm/°",
    "mm3_per_m_bar": "mm³/(m bar)",
    "mm3_per_bar": "mm³/bar",
    "mm3": "mm³",
    "deg": "°",
    "percent": "%",
}
"""How units are written that are not written as they are named."""

FROM_PRIOR, UNKNOWN = "from the prior", "–"
TOLD, NOT_TOLD = "told by this pull", "not told: these stay as they were before"
HEADS = ("fitted", "95 % interval", "job says")
OWN_SCALE = "each row to its own scale"

LINE, PAD, GAP, TEXT_BASE = 17.0, 8.0, 16.0, 12.5
HEAD, GROUP = 24.0, 32.0
"""Heights of the heads of the columns and of the name of a group, px."""

LABEL_SHARE, LABEL_ROOM = 0.26, 250.0
LEAST_CHART = 150.0
"""A chart narrower than this gets rows of its own, px."""

CHART_HIGH, CHART_ROOM = 20.0, 0.05
"""Height of a chart in its own row, px; what stays free at its ends, as a share of its width."""

THICK, RING, TICK, END = 8.0, 4.0, 18.0, 6.0
"""Height of the thick bar, radius of the mark of a value, heights of what the job says and of the ends, px."""

LEAST_BAR = 2.0
FEW = 3.0
"""A half width that begins with less is written to one digit more."""


@dataclass(frozen=True, slots=True)
class Span:
    """One number in words, and where it lies in standard deviations of its prior; NaN where it is not known."""

    name: str
    unit: str
    fitted: str
    interval: str
    said: str
    value: float
    low: float
    high: float
    job: float
    ends: tuple[float, float]
    informed: bool


@dataclass(frozen=True, slots=True)
class Table:
    """The rows in two groups, the scale of the charts, and the columns: right edges, None where rows are stacked."""

    groups: tuple[tuple[str, tuple[Span, ...]], ...]
    chart: Scale
    label_room: float
    columns: tuple[float, float, float] | None
    room: float


# Words --------------------------------------------------------------------------------------------------------


def decimals(low: float, high: float) -> int:
    """Decimals that an interval is worth."""
    half = (high - low) / 2.0
    if not 0.0 < half <= LARGEST:
        return 2
    power = math.floor(math.log10(half))
    return int(np.clip((1 if half / 10.0**power < FEW else 0) - power, 0, 6))


def written(value: float, places: int) -> str:
    """A number with a true minus, never minus zero."""
    if not abs(value) <= LARGEST:
        return UNKNOWN
    plain = f"{value:.{places}f}" if abs(value) < 1e6 else f"{value:.3g}"
    return (plain.removeprefix("-") if not float(plain) else plain).replace("-", "−")


def names(unknowns: tuple[Unknown, ...]) -> tuple[str, ...]:
    """What the numbers are called; of two with one name, whose each is."""
    labels = [unknown.label for unknown in unknowns]
    found = []
    for unknown in unknowns:
        side = next((side for side in ("brake", "clutch", "assist") if side in unknown.path), "")
        twin = labels.count(unknown.label) > 1 and side
        found.append(f"{unknown.label} ({side})" if twin else unknown.label)
    return tuple(found)


def spans(fit: Fit) -> tuple[Span, ...]:
    """Every fitted number, in the order of the fit."""
    told = set(fit.informed)
    return tuple(
        _span(unknown, name, float(value), (float(low), float(high)), unknown.path in told)
        for unknown, name, value, low, high in zip(
            fit.unknowns, names(fit.unknowns), fit.value, fit.low, fit.high, strict=True
        )
    )


def _span(unknown: Unknown, name: str, value: float, ends: tuple[float, float], informed: bool) -> Span:
    """One number."""
    places = decimals(*ends)
    unit = unit_of(unknown.key) or ""
    interval = f"{written(ends[0], places)} to {written(ends[1], places)}" if informed else FROM_PRIOR
    least, most = unknown.bounds
    return Span(
        name=name,
        unit=UNIT_SIGNS.get(unit, unit.replace("_", " ")),
        fitted=written(value, places),
        interval=interval,
        said=f"{unknown.value:.6g}".replace("-", "−"),
        value=_scaled(unknown, value),
        low=_scaled(unknown, ends[0]),
        high=_scaled(unknown, ends[1]),
        job=_scaled(unknown, unknown.value),
        ends=(max(-SURE, least), min(SURE, most)),
        informed=informed,
    )


def _scaled(unknown: Unknown, value: float) -> float:
    """A value in standard deviations of its prior; NaN where it has no place there."""
    if not abs(value) <= LARGEST or (unknown.log and value <= 0.0):
        return math.nan
    return unknown.scaled(value)


# Layout -------------------------------------------------------------------------------------------------------


def table(fit: Fit, room: float) -> Table:
    """The rows laid out in a room so many px wide, the charts from its left edge on where they are stacked."""
    known = spans(fit)
    parted = ((TOLD, True), (NOT_TOLD, False))
    groups = tuple((name, tuple(one for one in known if one.informed == told)) for name, told in parted)
    groups = tuple((name, members) for name, members in groups if members)
    fitted, interval, said = (
        max(text_width(words, NOTE_SIZE) for words in (head, *(getattr(one, key) for one in known)))
        for head, key in zip(HEADS, ("fitted", "interval", "said"), strict=True)
    )
    unit = max(text_width(one.unit, NOTE_SIZE) for one in known)
    label = min(LABEL_ROOM, LABEL_SHARE * room, max(text_width(one.name, NOTE_SIZE) for one in known))
    columns = (room - said - GAP - interval - GAP - unit - 4.0, room - said - GAP, room)
    chart = (label + GAP, columns[0] - fitted - GAP)
    if chart[1] - chart[0] < LEAST_CHART:
        return Table(groups, _scale(known, 0.0, room), room, None, room)
    return Table(groups, _scale(known, *chart), label, columns, room)


def _scale(known: tuple[Span, ...], start: float, end: float) -> Scale:
    """One scale for all rows: every prior's 95 % has the same width."""
    places = np.array([(*one.ends, one.value, one.low, one.high, one.job) for one in known])
    places = places[np.isfinite(places)]
    low, high = min(-SURE, float(places.min())), max(SURE, float(places.max()))
    room = CHART_ROOM * (high - low)
    return Scale(low - room, high + room, start, end)


def _label_lines(one: Span, room: float) -> tuple[str, ...]:
    return wrap(one.name, room, NOTE_SIZE, lines=2) or (UNKNOWN,)


def _value_words(one: Span) -> tuple[str, str, str]:
    """What a stacked row says: value and unit, interval, what the job says."""
    return one.fitted + _unit(one), f", {one.interval}", f"job says {one.said}"


def _unit(one: Span) -> str:
    """The unit as it follows a number."""
    return f"{'' if one.unit == '°' else TIED}{one.unit}" if one.unit else ""


def _broken(one: Span, room: float) -> bool:
    """Whether what the job says needs a line of its own."""
    return sum(text_width(part, NOTE_SIZE) for part in _value_words(one)) + GAP > room


def _row_height(one: Span, known: Table) -> float:
    """Height of a row, px."""
    lines = len(_label_lines(one, known.label_room))
    if known.columns:
        return LINE * lines + PAD
    return LINE * (lines + (2 if _broken(one, known.room) else 1)) + CHART_HIGH + PAD


def table_height(known: Table) -> float:
    """Height of the whole table, px."""
    rows = sum(_row_height(one, known) for _, members in known.groups for one in members)
    return HEAD + GROUP * len(known.groups) + rows


def span_key() -> tuple[Entry, ...]:
    """What the strokes and signs of a row are."""
    return (
        Entry(_thin_sample, "95 % before the pull"),
        Entry(_thick_sample, "95 % after it"),
        Entry(_ring_sample, "fitted"),
        Entry(_tick_sample, "job says"),
    )


def _thin_sample(x: float, y: float, theme: Theme) -> str:
    return _thin(x, x + STROKE, y, theme)


def _thick_sample(x: float, y: float, theme: Theme) -> str:
    return _thick(x, x + STROKE, y, True, theme)


def _ring_sample(x: float, y: float, theme: Theme) -> str:
    return _value(x + STROKE / 2.0, y, theme.fitted, theme)


def _tick_sample(x: float, y: float, theme: Theme) -> str:
    return _said(x + STROKE / 2.0, y, theme)


# Drawing ------------------------------------------------------------------------------------------------------


def draw_table(known: Table, body: Box, theme: Theme) -> str:
    """All rows under the heads of their columns."""
    parts = [*_heads(known, body.left, body.top + 16.0, theme)]
    y = body.top + HEAD
    for name, members in known.groups:
        base = y + GROUP - 11.0
        parts.append(
            text(body.left, base, name, theme.ink, NOTE_SIZE, font_weight=str(SEMIBOLD), class_="group")
        )
        y += GROUP
        parts.append(line(body.left, y - 4.0, body.right, y - 4.0, theme.ink, style.DIMENSION))
        for one in members:
            high = _row_height(one, known)
            row = Box(body.left, y, body.right, y + high)
            inside = *_words(one, known, row, theme), *_chart(one, known, row, theme)
            parts.append(element("g", *inside, class_="row", data_name=one.name))
            y += high
            parts.append(line(body.left, y - 3.0, body.right, y - 3.0, theme.grid, style.HAIRLINE))
    return element("g", *parts, class_="intervals", **_scale_data(known, body))


def _scale_data(known: Table, body: Box) -> dict[str, str]:
    """The scale of the charts as data, px on the sheet."""
    chart = known.chart
    ends = (chart.low, chart.high, body.left + chart.start, body.left + chart.end)
    names = ("low", "high", "start", "end")
    return {f"data_x_{name}": f"{value:.7g}" for name, value in zip(names, ends, strict=True)}


def _heads(known: Table, left: float, y: float, theme: Theme) -> Iterator[str]:
    """Names of the columns where there are some, and what the charts have for a scale."""
    yield text(left, y, OWN_SCALE, theme.ink_2, NOTE_SIZE, class_="head")
    for head, edge in zip(HEADS, known.columns or (), strict=False):
        yield text(left + edge, y, head, theme.ink_2, NOTE_SIZE, text_anchor="end", class_="head")


def _words(one: Span, known: Table, row: Box, theme: Theme) -> Iterator[str]:
    """Name and numbers of a row."""
    ink = theme.ink if one.informed else theme.ink_2
    lines = _label_lines(one, known.label_room)
    for index, known_line in enumerate(lines):
        yield text(row.left, row.top + LINE * index + TEXT_BASE, known_line, ink, NOTE_SIZE, class_="name")
    if known.columns is None:
        yield from _stacked_words(one, known, row, theme)
        return
    base = row.top + LINE * (len(lines) - 1) / 2.0 + TEXT_BASE
    at_fitted, at_interval, at_said = (row.left + edge for edge in known.columns)
    yield text(at_fitted, base, one.fitted, ink, NOTE_SIZE, text_anchor="end", class_="fitted-value")
    if one.unit:
        yield text(at_fitted + 4.0, base, one.unit, theme.ink_2, NOTE_SIZE, class_="unit")
    yield text(at_interval, base, one.interval, ink, NOTE_SIZE, text_anchor="end", class_="interval")
    yield text(at_said, base, one.said, ink, NOTE_SIZE, text_anchor="end", class_="said")


def _stacked_words(one: Span, known: Table, row: Box, theme: Theme) -> Iterator[str]:
    """Numbers under the name, what the job says at the right or on its own line."""
    ink = theme.ink if one.informed else theme.ink_2
    base = row.top + LINE * len(_label_lines(one, known.label_room)) + TEXT_BASE
    _, interval, said = _value_words(one)
    unit = element("tspan", words(_unit(one)), fill=theme.ink_2) if one.unit else ""
    yield element("text", words(one.fitted), unit, words(interval), x=row.left, y=base, font_size=NOTE_SIZE,
                  fill=ink, class_="interval")  # fmt: skip
    if _broken(one, known.room):
        yield text(row.left, base + LINE, said, theme.ink_2, NOTE_SIZE, class_="said")
    else:
        yield text(row.right, base, said, theme.ink_2, NOTE_SIZE, text_anchor="end", class_="said")


def _chart(one: Span, known: Table, row: Box, theme: Theme) -> Iterator[str]:
    """The ranges before and after, what the job says, and the value."""
    middle = (
        (row.top + row.bottom - PAD) / 2.0 if known.columns else row.bottom - PAD / 2.0 - CHART_HIGH / 2.0
    )

    def px(value: float) -> float:
        return row.left + at(known.chart, value)

    yield _thin(px(one.ends[0]), px(one.ends[1]), middle, theme)
    if math.isfinite(one.low + one.high):
        yield _thick(px(one.low), px(one.high), middle, one.informed, theme)
    if math.isfinite(one.job):
        yield _said(px(one.job), middle, theme)
    if math.isfinite(one.value):
        yield _value(px(one.value), middle, theme.fitted if one.informed else theme.ink_2, theme)


def _thin(start: float, end: float, y: float, theme: Theme) -> str:
    """The range of the prior, with its ends."""
    half = END / 2.0
    ends = [line(x, y - half, x, y + half, theme.ink_2, style.DIMENSION) for x in (start, end)]
    return line(start, y, end, y, theme.ink_2, style.DIMENSION, class_="before") + "".join(ends)


def _thick(start: float, end: float, y: float, informed: bool, theme: Theme) -> str:
    """The range after the pull: solid where the pull told it, hollow where it did not."""
    wide = max(end - start, LEAST_BAR)
    return element(
        "rect", x=(start + end - wide) / 2.0, y=y - THICK / 2.0, width=wide, height=THICK,
        fill=theme.fitted if informed else theme.paper, stroke=None if informed else theme.ink_2,
        stroke_width=None if informed else style.DIMENSION, class_="after",
    )  # fmt: skip


def _said(x: float, y: float, theme: Theme) -> str:
    """What the job says."""
    return line(x, y - TICK / 2.0, x, y + TICK / 2.0, theme.ink, style.VISIBLE_EDGE, class_="job")


def _value(x: float, y: float, colour: str, theme: Theme) -> str:
    """What was fitted."""
    return element(
        "circle", cx=x, cy=y, r=RING, fill=theme.paper, stroke=colour, stroke_width=2.0, class_="value"
    )
