"""Tables of a sheet as words: cams by their numbers, read-outs before and after, what is measured by hand."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isnan

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.border import NONE
from pullcurve.papers.sheet import RiderSheet, Shown
from pullcurve.papers.style import Role
from pullcurve.parts.cams import BLEND, FLANK, decimals
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.studies.sentences import Change, shown
from pullcurve.studies.wishes import first_surface

NOT_REACHED = "not reached"
MOST_SURFACES = 4
"""Surfaces that the sheet names; beyond that they are counted."""

HAND = {"gap_rest": "gap at rest", "force_gauge": "greatest force, 50 mm from the tip"}
"""Read-outs that anybody can measure with a rule and a spring balance, as they are called for brake and clutch."""


def dashed(text: str) -> str:
    """A number's text with a true minus sign, never minus zero."""
    if text[:1] in "+-" and not any(sign in "123456789" for sign in text):
        return text[1:]
    return text.replace("-", "−", 1) if text.startswith("-") else text


# Cams -----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Column:
    """A number of a cam: key, heading with unit, least decimals, and the value that needs no column."""

    key: str
    heading: str
    least: int = 0
    usual: float | None = None


COLUMNS = (
    Column("reach_deg", "reach in, °"),
    Column("take_up_mm", "take-up, mm", 1),
    Column("stroke_mm", "stroke, mm", 1),
    Column("lift_mm", "lift, mm", 2),
    Column("onset_deg", "onset, °"),
    Column("fall", "strength", 2),
    Column("flank_deg", "flank, °", 0, FLANK),
    Column("blend_deg", "blend, °", 0, BLEND),
)


@dataclass(frozen=True, slots=True)
class CamRow:
    """One cam: what it drives, whose it is, what is said of that, its numbers, which of them changed, its name."""

    kind: str
    role: Role
    state: str
    numbers: tuple[str, ...]
    changed: tuple[bool, ...]
    name: str


def cam_columns(sets: Iterable[Shown]) -> tuple[Column, ...]:
    """The numbers that these cams have; those that are usual in all of them are left out."""
    cams = [cam for one in sets for cam in one.cams.values()]

    def told(column: Column) -> bool:
        values = [getattr(cam, column.key) for cam in cams if hasattr(cam, column.key)]
        return any(value != column.usual for value in values)

    return tuple(column for column in COLUMNS if told(column))


def cam_rows(sets: tuple[Shown, ...]) -> tuple[CamRow, ...]:
    """Every fitted cam, and under it the one that is proposed in its place."""
    columns, fitted = cam_columns(sets), sets[0]
    proposed: Mapping[str, Cam] = sets[-1].cams if len(sets) > 1 else {}
    rows = []
    for kind in dict.fromkeys([*fitted.cams, *proposed]):
        off, on = fitted.cams.get(kind), proposed.get(kind)
        if off is not None:
            state = "fitted, stays" if on == off else "fitted"
            rows.append(_cam_row(kind, "fitted", state, off, off, columns))
        if on is not None and on != off:
            rows.append(_cam_row(kind, "proposed", "proposed", on, off, columns))
    return tuple(rows)


def _cam_row(
    kind: str, role: Role, state: str, cam: Cam, before: Cam | None, columns: tuple[Column, ...]
) -> CamRow:
    numbers, changed = [], []
    for column in columns:
        value = getattr(cam, column.key, None)
        numbers.append(NONE if value is None else dashed(decimals(value, column.least)))
        changed.append(value is not None and value != getattr(before, column.key, None))
    return CamRow(kind, role, state, tuple(numbers), tuple(changed), cam.id)


# Read-outs ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """One read-out: a value of every set, the change, whether it is felt, and whether a finger could feel it at all."""

    readout: str
    label: str
    unit: str
    values: tuple[str, ...]
    change: str
    felt: str
    grade: int
    feels: bool


@dataclass(frozen=True, slots=True)
class Table:
    """Read-outs of brake or clutch; ``alike`` where what is proposed changes none of them."""

    kind: str
    rows: tuple[Row, ...]
    alike: bool
    surfaces: tuple[str, ...]


def tables(sheet: RiderSheet) -> tuple[Table, ...]:
    """Brake, clutch, or both."""
    changes = {(change.kind, change.readout): change for change in sheet.changes}
    found = []
    for kind in ("brake", "clutch"):
        readouts: list[Readouts] = [
            known for one in sheet.sets if (known := getattr(one.pull, kind)) is not None
        ]
        if readouts:
            rows = tuple(_rows(kind, readouts, changes))
            alike = len(readouts) > 1 and all(len(set(row.values)) == 1 for row in rows)
            surfaces = sheet.surfaces if kind == "brake" else ()
            found.append(Table(kind, rows, alike, surfaces))
    return tuple(found)


def _rows(kind: str, readouts: list[Readouts], changes: Mapping[tuple[str, str], Change]) -> Iterator[Row]:
    """Every read-out that the unit has; one of several surfaces once for the first and once for all."""
    for name, facet in facets(readouts[0]):
        values = [np.asarray(getattr(known, name)) for known in readouts]
        if facet.optional and all(bool(np.isnan(one).all()) for one in values):
            continue
        change, unit = changes.get((kind, name)), unit_sign(facet)
        amount, felt, grade = (dashed(change.amount), change.told, change.grade) if change else ("", "", 0)
        if facet.per_surface and facet.felt != "no":
            first = [np.ravel(first_surface(one, facet)) for one in values]
            yield Row(name, facet.label, unit, _texts(first, facet), amount, felt, grade, True)
            if values[0].size > 1:
                label = f"{facet.label}, by surface"
                yield Row(name, label, unit, _texts(values, facet), "", "", 0, False)
        else:
            feels = facet.felt != "no"
            yield Row(name, facet.label, unit, _texts(values, facet), amount, felt, grade, feels)


def _texts(values: list[FloatArray], facet: Facet) -> tuple[str, ...]:
    return tuple(value_text(one, facet) for one in values)


def value_text(values: FloatArray, facet: Facet) -> str:
    """One value with its unit, or the values of the first surfaces with one unit."""
    known = [float(value) for value in np.ravel(values)[:MOST_SURFACES]]
    if all(isnan(value) for value in known):
        return NOT_REACHED
    texts = [NOT_REACHED if isnan(value) else dashed(shown(value, facet)) for value in known]
    unit = unit_sign(facet)
    return f"{' / '.join(text.removesuffix(f' {unit}') for text in texts)} {unit}"


def unit_sign(facet: Facet) -> str:
    """The unit of a read-out as it is printed."""
    return shown(0.0, facet).partition(" ")[2]


def surface_words(surfaces: tuple[str, ...]) -> str:
    """Which surfaces stand in which order."""
    names = " / ".join(surfaces[:MOST_SURFACES])
    more = len(surfaces) - MOST_SURFACES
    return f"{names}, and {more} more in the job" if more > 0 else names


# By hand --------------------------------------------------------------------------------------------------------------


def hand_rows(sheet: RiderSheet) -> list[dict[str, object]]:
    """What is measured when the unit is handed over, and what is computed for it, of brake and clutch."""
    both = [known for kind in ("brake", "clutch") if (known := getattr(sheet.last.pull, kind)) is not None]
    return [
        {
            "what": what,
            "computed": [
                value_text(np.asarray(getattr(known, name)), dict(facets(known))[name]) for known in both
            ],
        }
        for name, what in HAND.items()
    ]
