"""Columns of a bench pull: which holds force, travel, angle, time or pressure, and in which unit."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType

from pullcurve.errors import BadInput
from pullcurve.intake.benchtext import Sheet, cells, in_between, is_clock
from pullcurve.intake.files import refused
from pullcurve.intake.places import short
from pullcurve.units import FACTORS

QUANTITIES = ("force", "travel", "angle", "time", "pressure")

UNITS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "force": {"N": "newton", "daN": "dan", "kgf": "kgf", "lbf": "lbf"},
        "travel": {"mm": "mm", "cm": "cm", "m": "m", "in": "in"},
        "angle": {"deg": "deg", "rad": "rad"},
        "time": {"s": "s", "ms": "ms"},
        "pressure": {"bar": "bar", "psi": "psi", "kPa": "kpa", "MPa": "mpa"},
    }
)
"""Units of every quantity as a person types them, with their suffix among the factors."""

ALSO: Mapping[str, str] = MappingProxyType(
    {
        "newton": "N", "newtons": "N", "kp": "kgf", "kg": "kgf", "lb": "lbf", "lbs": "lbf", "inch": "in",
        "inches": "in", "zoll": "in", "millimeter": "mm", "millimetre": "mm", "°": "deg", "degree": "deg",
        "degrees": "deg", "grad": "deg", "sec": "s", "second": "s", "seconds": "s", "sek": "s", "sekunden": "s",
        "msec": "ms", "millis": "ms", "milliseconds": "ms",
    }
)  # fmt: skip
"""Other ways to write a unit; a weight over a column of forces is a force."""

WORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "force": (r"\w*force|\w*kraft", r"load|last|pull|\w*zug|weight|gewicht|f"),
        "travel": (r"\w*travel|\w*weg|stroke|\w*hub|displacement|\w*position", r"pos|distance|dist|x|s"),
        "angle": (r"\w*angle|\w*winkel", r"rotation|drehung|theta|phi|alpha"),
        "time": (r"time\w*|\w*zeit|zeitstempel", r"elapsed|millis|t"),
        "pressure": (r"\w*pressure|\w*druck", r"press|p"),
    }
)
"""How columns are called in English and German: names that are certain, then those that may mean something else."""

IN_BRACKETS = re.compile(r"[\[({]([^\])}]*)[\])}]?")
SQUARE = re.compile(r"\[([^\]]+)\]?")
WORD = re.compile(r"[^\W_]+|°")
HUMP = re.compile(r"(?<=[a-zäöüß]{3})(?=[A-Z])")  # forceN, but neither kN nor daN
SHOWN = 8
"""Names of columns that one line shows."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: where it stands, its name, the factor of its unit."""

    place: int
    name: str
    factor: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """How well a column fits a quantity: 0 is certain; its unit as typed, None if none is named."""

    rank: int
    unit: str | None


@dataclass(frozen=True, slots=True)
class Name:
    """A column's name in its words, with quantity and unit that it names, and what stands where a unit would."""

    words: list[str]
    unit: tuple[str, str] | None
    typed: str | None


def unit_named(text: str) -> tuple[str, str] | None:
    """Quantity and unit of a text such as "N", "lbs" or "°"."""
    bare = text.strip().lower()
    known = ALSO.get(bare, bare)
    for quantity, units in UNITS.items():
        for unit in units:
            if unit.lower() == known.lower():
                return quantity, unit
    return None


def matched(
    sheet: Sheet, columns: Mapping[str, str], units: Mapping[str, str]
) -> tuple[dict[str, Column], tuple[str, ...]]:
    """Columns of a file by quantity, as given and else by their names, and remarks; BadInput for what is not known."""
    for key in (*columns, *units):
        if key not in QUANTITIES:
            raise refused(sheet.file, f"has no quantity {short(key)!r}; known are {', '.join(QUANTITIES)}")
    found = {key: _given(sheet, key, name) for key, name in columns.items()}
    taken = {place for place, _ in found.values()}
    for quantity in QUANTITIES:
        if quantity not in found and (best := _best(sheet, quantity, taken)):
            found[quantity] = best
            taken.add(best[0])
    remarks = (*_one_place(sheet, found, columns), *_time_told(sheet, found, columns, units))
    if "force" not in found or not found.keys() & {"travel", "angle"}:
        raise _lacking(sheet, found)
    places = [place for place, _ in found.values()]
    if len(set(places)) < len(places):
        raise refused(sheet.file, "has one column for two quantities; allowed is one column for each")
    return _with_units(sheet, found, units), remarks


def _one_place(
    sheet: Sheet, found: dict[str, tuple[int, str | None]], columns: Mapping[str, str]
) -> tuple[str, ...]:
    """Leave out the angle if there is a travel too, or the travel if the angle was asked for; what to say of it."""
    if "travel" not in found or "angle" not in found:
        return ()
    unwanted = "travel" if "angle" in columns and "travel" not in columns else "angle"
    return (f"{unwanted} ({short(_name(sheet, found.pop(unwanted)[0]))}) is not used",)


def _time_told(
    sheet: Sheet,
    found: dict[str, tuple[int, str | None]],
    columns: Mapping[str, str],
    units: Mapping[str, str],
) -> tuple[str, ...]:
    """Leave out a time that is a clock's or has no unit: a pull can do without; what to say of it."""
    if "time" not in found:
        return ()
    place, typed = found["time"]
    name = short(_name(sheet, place))
    if is_clock(sheet, place):
        del found["time"]
        return (f"{name} holds times of day and is not used",)
    if typed is None and "time" not in columns and "time" not in units:
        del found["time"]
        return (
            f"{name} has no unit and is not used; --unit time={'|'.join(UNITS['time'])} says which it is",
        )
    return ()


def _given(sheet: Sheet, quantity: str, wanted: str) -> tuple[int, str | None]:
    """The column that was asked for by its name, or by its number from 1."""
    names = [name.casefold() for name in sheet.names]
    asked = wanted.strip().casefold()
    if asked in names:
        place = names.index(asked)
    elif re.fullmatch(r"[1-9]\d{0,3}", asked) and int(asked) <= sheet.width:
        place = int(asked) - 1
    else:
        close = get_close_matches(asked, names, 1)
        near = (
            f"; did you mean {short(sheet.names[names.index(close[0])])}?"
            if close
            else f"; {_columns(sheet)}"
        )
        raise refused(sheet.file, f"has no column {short(wanted)!r} for the {quantity}{near}")
    candidate = _candidate(sheet.names[place], quantity) if sheet.names else None
    return place, candidate.unit if candidate else None


def _name(sheet: Sheet, place: int) -> str:
    return sheet.names[place] if sheet.names else f"column {place + 1}"


def _columns(sheet: Sheet) -> str:
    """The columns that there are."""
    if not sheet.names:
        return f"there are columns 1 to {sheet.width}"
    more = ", …" if len(sheet.names) > SHOWN else ""
    return f"there are {', '.join(map(short, sheet.names[:SHOWN]))}{more}"


def _best(sheet: Sheet, quantity: str, taken: set[int]) -> tuple[int, str | None] | None:
    """The column whose name fits best; BadInput where two fit alike."""
    fitting = [
        (known.rank, place, known.unit)
        for place, name in enumerate(sheet.names)
        if place not in taken and (known := _candidate(name, quantity))
    ]
    if not fitting:
        return None
    best = min(rank for rank, *_ in fitting)
    alike = [(place, unit) for rank, place, unit in fitting if rank == best]
    if len(alike) > 1:
        names = " and ".join(short(sheet.names[place]) for place, _ in alike[:4])
        option = f'--column {quantity}="{short(sheet.names[alike[0][0]])}"'
        raise refused(sheet.file, f"has {names}, each of which may be the {quantity}; {option} says which")
    return alike[0]


def _parsed(name: str) -> Name:
    """Take a name apart: "Kraft_N", "Force [N]", "Weg in mm", "forceN", "N"."""
    words = [word.lower() for word in WORD.findall(HUMP.sub(" ", IN_BRACKETS.sub(" ", name)))]
    for typed in IN_BRACKETS.findall(name):
        if unit := unit_named(typed):
            return Name(words, unit, typed)
    if words and (unit := unit_named(words[-1])):
        *before, typed = words
        return Name(before[:-1] if before[-1:] == ["in"] else before, unit, typed)
    square = SQUARE.search(name)
    return Name(words, None, square[1] if square else None)


def _candidate(name: str, quantity: str) -> Candidate | None:
    """How well a name fits a quantity; where the words leave it open its unit decides."""
    parsed = _parsed(name)
    words, unit, typed = parsed.words, parsed.unit, parsed.typed
    named = _sure(words)
    if unit and unit[0] != quantity:
        clash = quantity in named and unit[0] not in named and {unit[0], quantity} != {"travel", "angle"}
        return Candidate(1, typed) if clash else None
    if quantity in named:
        return Candidate(int(len(words) > 1), typed)
    if _any(WORDS[quantity][1], words) and not named:
        return Candidate(1, typed)
    if unit and (not named or {quantity, *named} == {"travel", "angle"}):
        return Candidate(3 if words else 2, typed)
    return None


def _sure(words: list[str]) -> set[str]:
    """Quantities that some word names for certain."""
    return {quantity for quantity, (sure, _) in WORDS.items() if _any(sure, words)}


def _any(pattern: str, words: list[str]) -> bool:
    return any(re.fullmatch(pattern, word) for word in words)


def _lacking(sheet: Sheet, found: Mapping[str, object]) -> BadInput:
    """What to say of a file in which force or travel was not found."""
    halves = [len(cells(line, ",")) for line in sheet.above] if sheet.separator == "," else []
    if any(half > 1 and 2 * half == sheet.width for half in halves):
        said = "has commas between its columns and in its numbers"
        return refused(
            sheet.file, f"{said}; allowed are semicolons between columns, or numbers with a comma in quotes"
        )
    if not sheet.names and (row := in_between(sheet)) is not None:
        said = f"has {short(sheet.lines[row])!r} in line {row + 1}, between names and readings"
        return refused(sheet.file, f"{said}; {sheet.width} numbers are needed, as in line {sheet.first + 1}")
    if not sheet.names:
        options = "--column travel=1 --column force=2 --unit travel=mm --unit force=N"
        return refused(
            sheet.file, f"has no line of names over its {sheet.width} columns; {options} say what they are"
        )
    wanted = "force" if "force" not in found else "travel"
    said = f"has no column that is known as the {wanted}; {_columns(sheet)}"
    return refused(sheet.file, f'{said}; --column {wanted}="{short(sheet.names[-1])}" says which it is')


def _with_units(
    sheet: Sheet, found: Mapping[str, tuple[int, str | None]], units: Mapping[str, str]
) -> dict[str, Column]:
    """Columns with the factors of their units; one line that asks for all that are not known."""
    known: dict[str, Column] = {}
    asked = []
    for quantity, (place, typed) in found.items():
        name = short(_name(sheet, place))
        wanted = units.get(quantity, typed)
        unit = unit_named(wanted) if wanted is not None else None
        if unit is not None and unit[0] == quantity:
            known[quantity] = Column(place, name, FACTORS[UNITS[quantity][unit[1]]])
            continue
        here = f"{name} is in {short(wanted)!r}, no unit of {quantity}" if wanted else f"{name} has no unit"
        asked.append((here, f"--unit {quantity}={'|'.join(UNITS[quantity])}"))
    if asked:
        said = ", ".join(here for here, _ in asked)
        raise refused(
            sheet.file, f"names too few units: {said}; say {' '.join(option for _, option in asked)}"
        )
    return known
