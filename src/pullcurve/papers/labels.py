"""Words beside what they name: a label, its size, and how it is written with its leader."""

import math
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


def write(placed: Placed, paper: str, keep_off: float = 8.0) -> tuple[str, ...]:
    """A label as SVG, with a leader where it stands apart; the leader ends short of the marker."""
    parts = []
    label = placed.label
    (x, y), (to_x, to_y) = leader(placed)
    dx, dy = to_x - x, to_y - y
    gap = math.hypot(dx, dy)
    if gap > LEADER_FROM:
        start, end = keep_off / gap, 1.0 - 2.0 / gap
        ends = (x + start * dx, y + start * dy, x + end * dx, y + end * dy)
        parts.append(line(*ends, label.colour, style.DIMENSION, class_="leader"))
    for step in range(label.pennants if label.role else 0):
        tip = placed.box.left + 5.0 + PENNANT_STEP * step, placed.box.top + LINE_HEIGHT / 2.0
        parts.append(pennant(*tip, label.role or "fitted", label.colour, paper))
    heavy = str(label.weight) if label.weight != style.REGULAR else None
    for index, words in enumerate(label.lines):
        base = placed.box.top + LINE_HEIGHT * index + 12.5
        left = placed.box.left + label.indent
        parts.append(
            text(
                left,
                base,
                words,
                label.colour,
                style.NOTE_SIZE,
                class_="label",
                font_weight=heavy,
                **halo(paper),
            )
        )
    return tuple(parts)
