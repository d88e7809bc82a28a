"""What a cam's profile names, in words, and the list under a small drawing that has room for letters only."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pullcurve.papers import style
from pullcurve.papers.flank import FlankPoints
from pullcurve.papers.letters import wrap
from pullcurve.papers.plot import text
from pullcurve.papers.style import Theme
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

LETTERS = "abcdefghijklmnopqrstuvwxyz"
LIST_LINE, LIST_GAP, INDENT = 18.0, 8.0, 18.0
TWO_COLUMNS, COLUMN_GAP = 520.0, 20.0
MOST_LINES = 3

Thing = Literal["roller", "path", "rocker pivot", "bore", "hole", "turn", "other"]


@dataclass(frozen=True, slots=True)
class Other:
    """A second cam, of which the outline alone is drawn, and what it is called."""

    metal: Metal
    words: str


@dataclass(frozen=True, slots=True)
class Name:
    """A thing in the drawing and its name; one name stands for all holes of a radius [m]."""

    thing: Thing
    words: str
    radius: float = 0.0


def radius_words(stations: FlankPoints) -> tuple[str, str]:
    """Radii of the contact point with the lever at rest and at the end of its travel."""
    rest, end = (from_si("radius_mm", float(np.hypot(*stations.metal[row]))) for row in (0, -1))
    return f"R {rest:.1f} mm at rest", f"R {end:.1f} mm at the end"


def names_of(metal: Metal, other: Other | None) -> tuple[Name, ...]:
    """Everything that a profile names beside its angles and its two radii."""
    away = from_si("centre_mm", metal.centre_distance)
    roller, bore = (from_si("radius_mm", 2.0 * radius) for radius in (metal.roller_radius, metal.bore_radius))
    known = [
        Name("roller", f"roller {roller:.1f} mm, at rest"),
        Name("rocker pivot", f"rocker pivot at rest, {away:.1f} mm from the lever pivot"),
        Name("path", "path of the roller centre"),
        Name("bore", f"lever pivot, bore {bore:.1f} mm {metal.bore_fit}"),
        *_holes(metal),
        Name("turn", "turns this way as the lever comes in"),
    ]
    return (*known, Name("other", other.words)) if other else tuple(known)


def _holes(metal: Metal) -> Iterator[Name]:
    """Holes of one size have one name."""
    radii = [radius for _, _, radius in metal.holes]
    for radius in sorted(set(radii)):
        count, size = radii.count(radius), from_si("radius_mm", 2.0 * radius)
        yield Name("hole", f"{count} holes {size:.1f} mm" if count > 1 else f"hole {size:.1f} mm", radius)


# List ---------------------------------------------------------------------------------------------------------


def _columns(words: tuple[str, ...], room: float) -> tuple[tuple[tuple[str, tuple[str, ...]], ...], ...]:
    """Letters with their lines, in as many columns as the room allows."""
    count = 2 if room >= TWO_COLUMNS else 1
    each = (room - COLUMN_GAP * (count - 1)) / count - INDENT
    entries = tuple(
        (letter, wrap(known, each, style.NOTE_SIZE, lines=MOST_LINES))
        for letter, known in zip(LETTERS, words, strict=False)
    )
    long = -(-len(entries) // count)
    return tuple(entries[start : start + long] for start in range(0, len(entries), long))


def list_height(words: tuple[str, ...], room: float) -> float:
    """Height of the list, px."""
    columns = _columns(words, room)
    return LIST_GAP + LIST_LINE * max(sum(len(lines) for _, lines in column) for column in columns)


def write_list(words: tuple[str, ...], x: float, y: float, room: float, theme: Theme) -> Iterator[str]:
    """The list from its upper left corner on."""
    columns = _columns(words, room)
    for index, column in enumerate(columns):
        left = x + index * (room + COLUMN_GAP) / len(columns)
        base = y + LIST_GAP
        for letter, lines in column:
            yield text(left, base + LIST_LINE - 4.0, letter, theme.ink, font_weight="600", class_="letter")
            for known in lines:
                base += LIST_LINE
                yield text(left + INDENT, base - 4.0, known, theme.ink, class_="entry")
