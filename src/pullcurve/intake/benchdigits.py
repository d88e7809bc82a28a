"""Plain decimal numbers of many lines at once: all their first signs, then all second ones, and so on.

Up to 15 digits this is exact to the last bit, since every number and every power of ten on the way is, and one division
rounds once; with more digits the last bits may differ. What is no plain number, such as 1e-5 or an empty cell, is given
to a slower reader one by one.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray

MOST_SIGNS = 24
"""Signs of a number that are still looked at here."""

TENS = 10.0 ** np.arange(MOST_SIGNS + 1)
LINE, BLANK, ZERO = ord("\n"), ord(" "), ord("0")
SIGNS = b"+-"

Bytes = NDArray[np.uint8]
Rows = NDArray[np.int64]
Reader = Callable[[str], float | None]


def decimals(
    lines: list[str], separator: str, width: int, places: list[int], point: str, otherwise: Reader
) -> FloatArray | None:
    """Numbers at some places of every line (lines, places).

    None where a line has more or fewer cells than ``width``, or ``otherwise`` can do nothing with a cell either.
    """
    raw = ("\n".join(lines) + "\n").encode("utf-8")
    text = np.frombuffer(raw, np.uint8)
    ends = np.flatnonzero((text == ord(separator)) | (text == LINE))
    if ends.size != len(lines) * width or np.any(text[ends[width - 1 :: width]] != LINE):
        return None
    begins = np.concatenate([[0], ends[:-1] + 1])
    values = np.empty((len(lines), len(places)))
    for at, place in enumerate(places):
        begin, end = _trimmed(text, begins[place::width], ends[place::width])
        values[:, at], plain = _plain(text, begin, end, ord(point))
        for row in np.flatnonzero(~plain).tolist():
            value = otherwise(raw[begin[row] : end[row]].decode("utf-8").strip())
            if value is None:
                return None
            values[row, at] = value
    return values


def _trimmed(text: Bytes, begin: Rows, end: Rows) -> tuple[Rows, Rows]:
    """Cells without blanks on both sides."""
    while np.any(left := (begin < end) & (text[begin] == BLANK)):
        begin = begin + left
    while np.any(right := (begin < end) & (text[end - 1] == BLANK)):
        end = end - right
    return begin, end


def _plain(text: Bytes, begin: Rows, end: Rows, point: int) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Numbers that stand from ``begin`` up to ``end`` in a text, and which of them are plain; else they say nothing."""
    sign = text[begin]
    begin = begin + ((sign == SIGNS[0]) | (sign == SIGNS[1]))
    plain = end - begin <= MOST_SIGNS
    value = np.zeros(begin.size)
    digits = np.zeros(begin.size, dtype=np.int64)
    behind = np.full(begin.size, -1)
    for row in range(min(int(np.max(end - begin, initial=0)), MOST_SIGNS)):
        inside = begin + row < end
        read = text[np.where(inside, begin + row, 0)]
        digit = (read >= ZERO) & (read < ZERO + 10) & inside
        dot = inside & ~digit
        plain &= ~dot | ((read == point) & (behind < 0))
        behind[dot] = digits[dot]
        value = np.where(digit, 10.0 * value + (read.astype(np.float64) - ZERO), value)
        digits += digit
    value = value / TENS[np.where(behind >= 0, digits - behind, 0)]
    return np.where(sign == ord("-"), -value, value), plain & (digits > 0)
