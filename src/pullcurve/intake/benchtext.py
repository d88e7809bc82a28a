"""Text of any logger: how it is encoded, where its names and numbers begin, and how its lines come apart."""

import codecs
import csv
import math
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from pullcurve.intake.files import present, refused
from pullcurve.intake.places import short

LARGEST = 200_000_000
"""Bytes that a file of readings may have."""

PREAMBLE = 400
"""Lines above the first reading that may say something else."""

LOOKED_AT = 3
"""Lines of readings by which it is judged how they come apart."""

PROBED = 50
"""Readings among which a clock is looked for that stands in place of a number."""

HEAD = 100_000
"""Bytes that hold everything that stands above the readings."""

NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?")
MISSING = frozenset(
    ("", "nan", "-", "--", "---", "n/a", "na", "null", "none", "nv", "ol", "overflow",
     "inf", "+inf", "-inf", "infinity", "+infinity", "-infinity")
)  # fmt: skip
"""What loggers write where they read nothing, or more than they can, in small letters."""

SEPARATORS = (";", "\t", ",", None)
"""What may stand between columns, None for blanks; the first that fits is taken."""

REMARK = ("#", "%", "//")
SAID = re.compile(r"(?:#|%|//)\s*(\w[\w ]*?)\s*:\s*(.*\S)")
NOT_TEXT = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")
TWO_NUMBERS = re.compile(rf"{NUMBER.pattern}\s+{NUMBER.pattern}")
UNIT_AFTER = re.compile(r"\s+(?=[\[({]|in\s)|(?<=\sin)\s+")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file of readings before any number was read.

    ``lines`` holds every line of the file, ``first`` is the row of the first reading in it, ``end`` the one beyond the
    last, ``names`` stand over the columns, none if none do. ``separator`` is None for blanks; with ``comma`` decimals
    are written with one. ``above`` holds the lines over the readings, which a logger that starts anew writes again;
    ``said`` is what remarks of the form "# key: value" tell.
    """

    file: Path
    lines: list[str]
    first: int
    end: int
    separator: str | None
    comma: bool
    names: tuple[str, ...]
    width: int
    above: frozenset[str]
    said: tuple[tuple[str, str], ...]

    @property
    def told(self) -> Mapping[str, str]:
        """What remarks tell, the last word of each."""
        return dict(self.said)


def read_sheet(path: Path | str, head: bool = False) -> Sheet:
    """Open a file of readings and find out how it is laid out; with ``head`` only its beginning is read."""
    file = present(path, LARGEST, "a table of readings")
    lines = _text(file, HEAD if head else -1).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    known = [row for row, line in enumerate(lines[: PREAMBLE + LOOKED_AT]) if not is_remark(line)]
    if not known:
        raise refused(file, "holds no readings; at least two columns of numbers are needed, travel and force")
    separator, first, width = _laid_out(file, lines, known)
    found = [said.groups() for line in lines[: first + 1] if (said := SAID.match(line))]
    return Sheet(
        file=file,
        lines=lines,
        first=first,
        end=next(row for row in reversed(range(len(lines))) if lines[row].strip()) + 1,
        separator=separator,
        comma=_comma(lines, first, separator),
        names=_names(lines, first, separator, width) or _names_of_ended(lines, first, separator, width),
        width=width,
        above=frozenset(lines[:first]),
        said=tuple((key, text) for key, text in found),
    )


def _comma(lines: list[str], first: int, separator: str | None) -> bool:
    """Whether decimals have a comma, by the first number that has either sign; between commas it stands in quotes."""
    for line in islice(lines, first, None):
        if '"' not in line if separator == "," else "," not in line and "." not in line:
            continue
        typed = [cell for cell in cells(line, separator) if NUMBER.fullmatch(cell)]
        if any("," in cell for cell in typed):
            return True
        if any("." in cell for cell in typed):
            return False
    return False


def _text(file: Path, most: int) -> str:
    """Text of a file in UTF-8 or UTF-16, with or without a mark of its order, else in Latin-1; up to so many bytes."""
    with file.open("rb") as stream:
        raw = stream.read(most)
    encoding = "utf-8-sig"
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif raw[1:2000:2].count(0) > len(raw[1:2000:2]) / 2:
        encoding = "utf-16-le"
    elif raw[:2000:2].count(0) > len(raw[:2000:2]) / 2:
        encoding = "utf-16-be"
    try:  # a sign that was cut through at the end of a part is no fault
        text = codecs.getincrementaldecoder(encoding)().decode(raw, final=most < 0)
    except UnicodeDecodeError as error:
        if encoding != "utf-8-sig":
            raise refused(file, f"is no UTF-16 text from byte {error.start} on; readings are text") from None
        text = raw.decode("latin-1")
    if NOT_TEXT.search(text, 0, 100_000) or "\0" in text:
        raise refused(file, "is no text; readings are a table as text, such as a CSV file")
    return text


def is_remark(line: str) -> bool:
    """Whether a line holds neither names nor numbers."""
    return not line or line.isspace() or line.startswith(REMARK)


def cells(line: str, separator: str | None) -> list[str]:
    """A line in its cells, without quotes and blanks round them."""
    if separator is None:
        return line.split()
    apart = line.split(separator)
    if '"' in line:
        with suppress(csv.Error):  # a quote that never ends, before more than a cell may hold
            apart = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    return [cell.strip() for cell in apart]


def value_of(typed: str, point: str) -> float | None:
    """What a cell without blanks round it says, NaN where nothing was read; None where it is no number."""
    if typed.lower() in MISSING:
        return math.nan
    if NUMBER.fullmatch(typed) and (point == "," or "," not in typed) and (point == "." or "." not in typed):
        return float(typed.replace(",", "."))
    return None


def _laid_out(file: Path, lines: list[str], known: list[int]) -> tuple[str | None, int, int]:
    """Separator, row of the first reading and number of columns."""
    for separator in SEPARATORS:
        for place, row in enumerate(known):
            if separator is not None and separator not in lines[row]:
                continue
            width = len(cells(lines[row], separator))
            some = [cells(lines[at], separator) for at in known[place : place + LOOKED_AT]]
            if _readings(some, separator, width):
                _unbroken(file, lines, known[:place], separator)
                return separator, row, width
    if any(NUMBER.fullmatch(lines[row].strip().strip('"')) for row in known):
        raise refused(file, "has one column of numbers; at least two are needed, travel and force")
    raise refused(file, "holds no readings; at least two columns of numbers are needed, travel and force")


def _unbroken(file: Path, lines: list[str], above: list[int], separator: str | None) -> None:
    """Refuse a word among the first readings, which would make the line above the next one their names."""
    if len(above) < LOOKED_AT - 1:
        return
    *_, before, last = [cells(lines[row], separator) for row in above]
    odd = [cell for cell in last if not (NUMBER.fullmatch(cell) or cell.lower() in MISSING)]
    if _numbers(before) == len(before) == len(last) > 1 and odd and any(sign.isdigit() for sign in odd[0]):
        raise refused(file, f"has {short(odd[0])!r} in line {above[-1] + 1}; a number is needed")


def _readings(rows: list[list[str]], separator: str | None, width: int) -> bool:
    """Whether lines look like readings: two columns of numbers at least, in which few are missing."""
    if any(len(row) != width for row in rows):
        return False
    if separator == "," and any(TWO_NUMBERS.fullmatch(cell) for row in rows for cell in row):
        return False
    known = [sum(bool(NUMBER.fullmatch(cell)) for cell in column) for column in zip(*rows, strict=True)]
    holes = [sum(cell.lower() in MISSING for cell in column) for column in zip(*rows, strict=True)]
    most = len(rows) // LOOKED_AT
    return sum(hole <= most and read + hole == len(rows) for read, hole in zip(known, holes, strict=True)) > 1


def _numbers(row: list[str]) -> int:
    return sum(bool(NUMBER.fullmatch(cell)) for cell in row)


def _names(lines: list[str], first: int, separator: str | None, width: int) -> tuple[str, ...]:
    """Names over the columns: the line above the readings, with units from a line of their own, else a remark."""
    above = [line for line in lines[:first] if line and not line.isspace()]
    plain = [line for line in above if not line.startswith(REMARK)]
    if plain:
        names = _apart(plain[-1], separator, width)
        over = _apart(plain[-2], separator, width) if len(plain) > 1 else ()
        if over and names and all(_is_unit(name) for name in names) and not all(map(_is_unit, over)):
            units = [f" [{bare}]" if (bare := unit.strip("[](){}")) else "" for unit in names]
            return tuple(name + unit for name, unit in zip(over, units, strict=True))
        return names
    return _apart(above[-1].lstrip("#%/ \t"), separator, width) if above else ()


def _names_of_ended(lines: list[str], first: int, separator: str | None, width: int) -> tuple[str, ...]:
    """Names over columns where each reading, but not the line of names, ends with a separator."""
    ended = cells(lines[first], separator)[-1] == ""
    names = _names(lines, first, separator, width - 1) if ended else ()
    return (*names, "") if names else ()


def _is_unit(name: str) -> bool:
    """Whether a cell holds a unit at most: empty, in brackets, or up to three letters without a digit."""
    return bool(re.fullmatch(r"|[\[({].*[\])}]|[^\W\d_]{1,3}|°|newton", name, re.IGNORECASE))


def _apart(line: str, separator: str | None, width: int) -> tuple[str, ...]:
    """A line of names in as many cells as there are columns, none if it does not come apart so."""
    tries = [cells(line, mark) for mark in dict.fromkeys((separator, *SEPARATORS)) if mark is not None]
    if separator is None or separator not in line:
        bare = line.strip()
        tries += [re.split(r"\s{2,}|\t+", bare), UNIT_AFTER.sub("\0", bare).split(), bare.split()]
    for apart in tries:
        names = tuple(name.replace("\0", " ").strip("\"' ") for name in apart)
        if len(names) == width + 1 and not names[-1]:  # a separator too many at the end of the names
            names = names[:-1]
        if len(names) == width and not any(NUMBER.fullmatch(name) for name in names):
            return names
    return ()


def is_clock(sheet: Sheet, place: int) -> bool:
    """Whether a column holds no numbers but times of day or dates."""
    some = [cells(line, sheet.separator) for line in sheet.lines[sheet.first : sheet.first + PROBED]]
    typed = [row[place] for row in some if place < len(row)]
    return any(":" in cell for cell in typed) and not any(NUMBER.fullmatch(cell) for cell in typed)


def in_between(sheet: Sheet) -> int | None:
    """The line that stands between names and readings and is neither, where names were not found because of it."""
    above = [row for row in range(sheet.first) if not is_remark(sheet.lines[row])]
    for place, row in enumerate(above[:-1]):
        names = _apart(sheet.lines[row], sheet.separator, sheet.width)
        if len(set(names)) == len(names) > 1 and any(len(name) > 1 for name in names):
            return above[place + 1]
    return None
