"""Letters of straight strokes round a bore: the warning that a trial cam carries in its own plastic."""

import math

import numpy as np

from pullcurve.mechanics.curve import FloatArray

Strokes = tuple[tuple[tuple[float, float], ...], ...]

LETTERS: dict[str, Strokes] = {
    "B": (((0, 0), (0, 6), (3, 6), (3.6, 5.4), (3.6, 3.7), (3, 3.1), (0, 3.1)),
          ((3, 3.1), (3.9, 2.4), (3.9, 0.8), (3.2, 0), (0, 0))),
    "C": (((4, 5), (3.1, 6), (0.9, 6), (0, 5), (0, 1), (0.9, 0), (3.1, 0), (4, 1)),),
    "D": (((0, 0), (0, 6), (2.6, 6), (4, 4.6), (4, 1.4), (2.6, 0), (0, 0)),),
    "E": (((4, 6), (0, 6), (0, 0), (4, 0)), ((0, 3.1), (3.2, 3.1))),
    "H": (((0, 0), (0, 6)), ((4, 0), (4, 6)), ((0, 3.1), (4, 3.1))),
    "I": (((0, 0), (0, 6)),),
    "L": (((0, 6), (0, 0), (4, 0)),),
    "N": (((0, 0), (0, 6), (4, 0), (4, 6)),),
    "O": (((0.9, 0), (3.1, 0), (4, 1), (4, 5), (3.1, 6), (0.9, 6), (0, 5), (0, 1), (0.9, 0)),),
    "R": (((0, 0), (0, 6), (3, 6), (4, 5.2), (4, 3.6), (3, 2.8), (0, 2.8)), ((2, 2.8), (4, 0))),
    "V": (((0, 6), (2, 0), (4, 6)),),
    "Y": (((0, 6), (2, 3), (4, 6)), ((2, 3), (2, 0))),
}  # fmt: skip
"""Centre lines of the strokes of every letter that the warning needs, six units high, at most four wide."""

HIGH, BETWEEN, BLANK = 6.0, 2.2, 4.2
"""Height of a letter, room between letters, width of a blank, in units of the letters."""


def advance(letter: str) -> float:
    """How far the next letter stands from the start of this one."""
    if letter == " ":
        return BLANK
    return max(x for stroke in LETTERS[letter] for x, _ in stroke) + BETWEEN


def ring_strokes(text: str, radius: float, height: float, start: float) -> tuple[FloatArray, ...]:
    """Strokes of a text that runs with the clock round the origin, heads outward, its middle line on a circle.

    The first letter begins at the angle ``start`` [rad]; lengths in mm.
    """
    unit = height / HIGH
    strokes, along = [], 0.0
    for letter in text:
        for stroke in LETTERS.get(letter, ()):
            points = np.array(stroke)
            away = radius + (points[:, 1] - HIGH / 2) * unit
            angle = start - (along + points[:, 0]) * unit / radius
            strokes.append(np.stack([away * np.cos(angle), away * np.sin(angle)], axis=-1))
        along += advance(letter)
    return tuple(strokes)


def ring_height(text: str, radius: float, most: float) -> float:
    """Height of letters with which a text just goes round a circle once, at most so high."""
    units = sum(advance(letter) for letter in text)
    return min(most, 2 * math.pi * radius * HIGH / units)
