"""Tables as text: lines that come apart into columns, the names over them, and their numbers."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pullcurve.intake.files import present, refused
from pullcurve.intake.places import short
from pullcurve.mechanics.curve import FloatArray

LARGEST = 20_000_000
"""Bytes that a table or a drawing may have."""

MOST_ROWS = 100_000
"""Rows that are looked at."""

HEADING = 20
"""Lines above the names of the columns that may say something else."""

NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class Table:
    """A table: the names over its columns in small letters, none if it has none, and its rows with their lines."""

    file: Path
    names: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    def column(self, pattern: str) -> int | None:
        """Where the first column stands whose name begins as the pattern says."""
        return next((place for place, name in enumerate(self.names) if re.match(pattern, name)), None)

    def numbers(self, columns: tuple[int, ...], wanted: str) -> FloatArray:
        """Numbers of some columns (rows, columns), or one line about the first cell that is none."""
        values = [[self._number(row, place, line, wanted) for place in columns] for line, row in self.rows]
        return np.array(values, dtype=np.float64).reshape(-1, len(columns))

    def _number(self, row: tuple[str, ...], place: int, line: int, wanted: str) -> float:
        typed = row[place] if place < len(row) else ""
        if not NUMBER.fullmatch(typed) or not math.isfinite(float(typed)):
            raise refused(self.file, f"has {short(typed)!r} in line {line}; {wanted} is needed")
        return float(typed)

    def rounding(self, columns: tuple[int, ...]) -> float:
        """Standard deviation that comes from how finely the numbers are typed: the last digit over root twelve."""
        typed = [row[place] for _, row in self.rows for place in columns]
        if any("e" in number.lower() for number in typed):
            return 0.0
        finest = max((len(number.partition(".")[2]) for number in typed), default=0)
        return float(10.0**-finest / math.sqrt(12.0))


def read_table(path: Path | str, *kinds: tuple[str, ...]) -> Table:
    """A table from a file of text.

    Between the columns stand commas, semicolons, tabs or blanks; except with commas a decimal comma is understood.
    Lines that begin with # are remarks. The line of names is the first that has every column of one of the ``kinds``,
    each a tuple of patterns, whatever a few lines above it say; else a first line without numbers is.
    """
    file = present(path, LARGEST, "a table of points")
    try:
        text = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise refused(file, f"is no UTF-8 text from byte {error.start} on; a table is text") from None
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), 1)]
    rows = [(number, line) for number, line in lines if line and not line.startswith("#")]
    if not rows:
        raise refused(file, "has no points")
    if len(rows) > MOST_ROWS:
        raise refused(file, f"has {len(rows)} rows; allowed is up to {MOST_ROWS}")
    split = _splitter([line for _, line in rows])
    apart = [(number, tuple(split(line))) for number, line in rows]
    for skipped, (_, cells) in enumerate(apart[:HEADING]):
        names = _names(cells)
        known = Table(file, names, tuple(apart[skipped + 1 :]))
        if any(None not in map(known.column, kind) for kind in kinds):
            return known
    headed = not any(NUMBER.fullmatch(cell) for cell in apart[0][1])
    return Table(file, _names(apart[0][1]) if headed else (), tuple(apart[headed:]))


def _names(cells: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(cell.strip("\"' ").lower() for cell in cells)


def _splitter(lines: list[str]) -> Callable[[str], list[str]]:
    """How the lines of a table come apart; a decimal comma becomes a point where commas do not part the columns."""
    for mark in (";", "\t"):
        if mark in lines[-1]:
            return lambda line: [part.strip().replace(",", ".") for part in line.split(mark)]
    if re.search(r"\S\s+[-+.\d]", lines[-1]) and not re.search(r",\s|\s,", lines[-1]):
        return lambda line: line.replace(",", ".").split()
    return lambda line: [part.strip() for part in line.split(",")]
