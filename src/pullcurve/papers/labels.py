"""Words beside what they name: a label, its size, and how it is written with its leader."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.letters import text_width, wrap
from pullcurve.papers.plot import Box, halo, line, pennant, text
from pullcurve.papers.style import Role

LINE_HEIGHT = 16.0
PENNANT_STEP = 9.0
LEADER_FROM = 17.0
"""A label further away than this is tied to its anchor by a leader."""


@dataclass(frozen=True, slots=True)
class Label:
    """Words that belong to one of several anchors (A, 2), px; the name of a trace has pennants before it."""

    lines: tuple[str, ...]
    colour: str
    anchors: FloatArray
    role: Role | None = None
    pennants: int = 0

    @property
    def weight(self) -> int:
        """Names stand out from readings."""
        return style.SEMIBOLD if self.role else style.REGULAR

    @property
    def indent(self) -> float:
        """Room for the pennants, px."""
        return 6.0 + PENNANT_STEP * self.pennants if self.pennants else 0.0

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, px."""
        widest = max(text_width(known, style.NOTE_SIZE, self.weight) for known in self.lines)
        return widest + self.indent, LINE_HEIGHT * len(self.lines)


@dataclass(frozen=True, slots=True)
class Placed:
    """A label with its box and the anchor that it was given."""

    label: Label
    box: Box
    anchor: tuple[float, float]

    @property
    def tied(self) -> bool:
        """Whether the label belongs to one point, with a marker on it, and not to a whole line."""
        return len(self.label.anchors) == 1


def label(words: str, colour: str, anchors: FloatArray, room: float) -> Label:
    """A label, broken into lines that fit the room."""
    lines = wrap(words, room, style.NOTE_SIZE) or ("",)
    return Label(lines, colour, np.reshape(anchors, (-1, 2)))


def name_label(words: str, colour: str, anchors: FloatArray, room: float, role: Role, pennants: int) -> Label:
    """The name of a trace or of a point: heavier, with the pennants of its role before it."""
    lines = wrap(words, room, style.NOTE_SIZE, style.SEMIBOLD) or ("",)
    return Label(lines, colour, np.reshape(anchors, (-1, 2)), role, pennants)


def leader(placed: Placed) -> tuple[tuple[float, float], tuple[float, float]]:
    """From the anchor to the nearest point of the box."""
    x, y = placed.anchor
    box = placed.box
    return (x, y), (min(max(x, box.left), box.right), min(max(y, box.top), box.bottom))


def write(placed: Sequence[Placed], paper: str, keep_off: float) -> Iterator[str]:
    """Labels as SVG, all leaders first, so that one which must cross words passes behind them."""
    for known in placed:
        yield from _leader(known, keep_off if known.tied else 2.0)
    for known in placed:
        yield from _words(known, paper)


def _leader(placed: Placed, keep_off: float) -> Iterator[str]:
    """The line from a label that stands apart to its anchor, short of the marker."""
    (x, y), (to_x, to_y) = leader(placed)
    dx, dy = to_x - x, to_y - y
    gap = math.hypot(dx, dy)
    if gap > LEADER_FROM:
        start, end = keep_off / gap, 1.0 - 2.0 / gap
        ends = (x + start * dx, y + start * dy, x + end * dx, y + end * dy)
        yield line(*ends, placed.label.colour, style.DIMENSION, class_="leader")


def _words(placed: Placed, paper: str) -> Iterator[str]:
    """The lines of a label, with its pennants before the first."""
    label, left, top = placed.label, placed.box.left, placed.box.top
    if label.role:
        for step in range(label.pennants):
            tip = left + 5.0 + PENNANT_STEP * step, top + LINE_HEIGHT / 2.0
            yield pennant(*tip, label.role, label.colour, paper)
    around = halo(paper) | {"font_weight": str(label.weight) if label.role else None, "class_": "label"}
    for index, words in enumerate(label.lines):
        base = top + LINE_HEIGHT * index + 12.5
        yield text(left + label.indent, base, words, label.colour, style.NOTE_SIZE, **around)
