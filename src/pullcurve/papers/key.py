"""The key of a figure: what its strokes and signs mean, in one row."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, assert_never

from pullcurve.papers import style
from pullcurve.papers.letters import text_width
from pullcurve.papers.plot import line, plus, text
from pullcurve.papers.style import Theme

Own = Callable[[float, float, Theme], str]
"""A sample that a figure draws itself, from x on and about y, as wide as a stroke."""

Sample = Literal["pull", "release", "dot", "plus"] | Own

STROKE, SIGN = 30.0, 12.0
SAMPLE_GAP, ENTRY_GAP = 6.0, 20.0
DOT = 4.0


@dataclass(frozen=True, slots=True)
class Entry:
    """One sample and what it stands for."""

    sample: Sample
    words: str


BRANCHES = (Entry("pull", "pull"), Entry("release", "release"))


def _sample_width(entry: Entry) -> float:
    """Width of the sample, px."""
    return SIGN if entry.sample in ("dot", "plus") else STROKE


def _entry_width(entry: Entry) -> float:
    """Width of an entry, px."""
    return _sample_width(entry) + SAMPLE_GAP + text_width(entry.words, style.NOTE_SIZE)


def key_width(entries: tuple[Entry, ...]) -> float:
    """Width of the key in one row, px."""
    return sum(map(_entry_width, entries)) + ENTRY_GAP * max(0, len(entries) - 1)


def key_rows(entries: tuple[Entry, ...], room: float) -> tuple[tuple[Entry, ...], ...]:
    """The entries in as many rows as the room asks."""
    rows: list[tuple[Entry, ...]] = []
    for entry in entries:
        if rows and key_width((*rows[-1], entry)) <= room:
            rows[-1] = (*rows[-1], entry)
        else:
            rows.append((entry,))
    return tuple(rows)


def write_key(entries: tuple[Entry, ...], x: float, y: float, theme: Theme) -> tuple[str, ...]:
    """One row of the key from x on, its base line at y."""
    parts = []
    for entry in entries:
        parts.append(_sample(entry.sample, x, y - 4.5, theme))
        parts.append(text(x + _sample_width(entry) + SAMPLE_GAP, y, entry.words, theme.ink, class_="key"))
        x += _entry_width(entry) + ENTRY_GAP
    return tuple(parts)


def _sample(sample: Sample, x: float, y: float, theme: Theme) -> str:
    """The stroke or sign itself."""
    if callable(sample):
        return sample(x, y, theme)
    match sample:
        case "pull":
            return line(x, y, x + STROKE, y, theme.ink, style.PULL)
        case "release":
            return line(x, y, x + STROKE, y, theme.ink, style.RELEASE, stroke_dasharray=style.RELEASE_DASH)
        case "dot":
            return line(x + 6.0, y, x + 6.01, y, theme.ink_2, DOT, stroke_linecap="round")
        case "plus":
            return plus(x + 6.0, y, theme.ink)
        case _:
            assert_never(sample)
