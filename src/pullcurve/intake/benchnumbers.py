"""Numbers of a bench pull's columns: a million lines in a second, and the first cell that is none."""

import csv
from collections.abc import Sequence
from functools import partial

import numpy as np

from pullcurve.errors import BadInput
from pullcurve.intake.benchcolumns import Column
from pullcurve.intake.benchdigits import decimals
from pullcurve.intake.benchtext import NUMBER, Sheet, cells, is_remark, value_of
from pullcurve.intake.files import refused
from pullcurve.intake.places import short
from pullcurve.mechanics.curve import FloatArray

MOST_ROWS = 5_000_000
"""Readings that one file may hold."""

LARGEST = 1e18
"""No gauge reads more, and no clock counts further: what stands there is no number."""

BLOCK = 20_000
"""Lines that are read at once: few enough to stay in a processor's memory, and an odd one slows down only these."""

APART = "\0"
"""A sign that no text holds, between cells that stood in quotes or among blanks."""


def numbers(sheet: Sheet, columns: Sequence[Column]) -> tuple[FloatArray, tuple[str, ...]]:
    """Values of some columns in SI (rows, columns), NaN where a cell is empty, and remarks; BadInput for other text."""
    end = sheet.end
    if end - sheet.first > MOST_ROWS:
        raise refused(sheet.file, f"has {end - sheet.first} lines of readings; allowed is up to {MOST_ROWS}")
    blocks: list[FloatArray] = []
    remarks: tuple[str, ...] = ()
    for start in range(sheet.first, end, BLOCK):
        lines = sheet.lines[start : min(start + BLOCK, end)]
        values = _at_once(sheet, columns, lines)
        if values is None:
            values, remarks = _one_by_one(sheet, columns, start, lines)
        blocks.append(values)
    read = np.concatenate(blocks)
    read[np.abs(read) > LARGEST] = np.nan
    return read * np.array([column.factor for column in columns]), remarks


def _at_once(sheet: Sheet, columns: Sequence[Column], lines: list[str]) -> FloatArray | None:
    """Numbers of many lines; None where some line is not as all others are."""
    parted = _parted(lines, sheet.separator)
    places, point = [column.place for column in columns], "," if sheet.comma else "."
    values = decimals(*parted, sheet.width, places, point, partial(value_of, point=point)) if parted else None
    if values is None:
        plain = [line for line in lines if not _is_aside(sheet, line)]
        return _at_once(sheet, columns, plain) if len(plain) < len(lines) else None
    return values


def _parted(lines: list[str], separator: str | None) -> tuple[list[str], str] | None:
    """Lines with one sign between their cells and no quotes; None where quotes do not end on their own line."""
    if separator is None:
        return [APART.join(line.split()) for line in lines], APART
    if not any('"' in line for line in lines):
        return lines, separator
    try:
        bare = list(map(APART.join, csv.reader(lines, delimiter=separator, skipinitialspace=True)))
    except csv.Error:
        return None
    return (bare, APART) if len(bare) == len(lines) else None


def _is_aside(sheet: Sheet, line: str) -> bool:
    """Whether a line among the readings is a remark, or says once more what stands above them."""
    return is_remark(line) or line in sheet.above


def _one_by_one(
    sheet: Sheet, columns: Sequence[Column], start: int, lines: list[str]
) -> tuple[FloatArray, tuple[str, ...]]:
    """The same line by line; a last line that breaks off is left out."""
    values: list[list[float]] = []
    remarks: tuple[str, ...] = ()
    for number, line in enumerate(lines, start + 1):
        if _is_aside(sheet, line):
            continue
        try:
            values.append(_reading(sheet, columns, number, cells(line, sheet.separator)))
        except BadInput:
            if number < sheet.end or number == sheet.first + 1:
                raise
            remarks = (f"line {number} breaks off and was left out",)
    return np.array(values, dtype=np.float64).reshape(-1, len(columns)), remarks


def _reading(sheet: Sheet, columns: Sequence[Column], number: int, row: list[str]) -> list[float]:
    """Numbers of one line."""
    while len(row) > sheet.width and not row[-1]:
        row.pop()
    if len(row) > sheet.width or len(row) <= max(column.place for column in columns):
        said = f"has {len(row)} columns in line {number}; the lines above have {sheet.width}"
        raise refused(sheet.file, said)
    return [_number(sheet, column, number, row[column.place]) for column in columns]


def _number(sheet: Sheet, column: Column, line: int, typed: str) -> float:
    """Value of a cell; NaN where nothing was read."""
    point = "," if sheet.comma else "."
    if (value := value_of(typed, point)) is not None:
        return value
    said = f"has {short(typed)!r} in line {line}, {short(column.name)}"
    if NUMBER.fullmatch(typed):
        usual = "comma" if sheet.comma else "point"
        said = f"{said}; decimals above have a {usual}, allowed is one of them throughout"
        raise refused(sheet.file, said)
    raise refused(sheet.file, f"{said}; a number is needed")
