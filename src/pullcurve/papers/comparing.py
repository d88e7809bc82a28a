"""Read-outs side by side: fitted, proposed, change, felt or not; in the units of the workshop and in inches."""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.record import Record
from pullcurve.pull.loop import Pull
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.studies.sentences import SPOKEN, Change, compare, shown, summary

System = Literal["metric", "inch"]
SYSTEMS: tuple[System, ...] = ("metric", "inch")

INCH: Mapping[str, tuple[str, int]] = MappingProxyType(
    {"mm": ("in", 1), "newton": ("lbf", 1), "bar": ("psi", 0)}
)
"""Units of a workshop that thinks in inches, and how many decimals more they need; any other unit stays."""


MAIN = (*SPOKEN, "force_bite", "gap_lock", "gap_free", "travel_left")
"""Read-outs that stand in the short table; the others follow below it."""


def in_system(facet: Facet, system: System) -> Facet:
    """The facet of a read-out in metric units, or in inches, pounds and psi."""
    if system == "metric" or facet.unit not in INCH:
        return facet
    unit, more = INCH[facet.unit]
    return replace(facet, unit=unit, decimals=facet.decimals + more)


def worth_showing(values: FloatArray, facet: Facet) -> bool:
    """A read-out that this unit does not have (a pedal, a port) is left out; one not reached is shown."""
    return not (facet.optional and np.all(np.isnan(values)))


def value_words(values: FloatArray, facet: Facet) -> str:
    """One value, or one per surface."""
    return " / ".join(
        shown(float(value), facet) if value == value else "not reached" for value in np.ravel(values)
    )


def changes_of(kind: str, before: Readouts, after: Readouts) -> tuple[Change, ...]:
    """Change of every read-out from one single set to another."""
    return tuple(
        compare(kind, name, facet, getattr(before, name), getattr(after, name))
        for name, facet in facets(before)
    )


def rows_record(kind: str, before: Readouts, after: Readouts) -> list[Record]:
    """A table of fitted, proposed, change and felt, in words and in both systems."""
    found = []
    for change in changes_of(kind, before, after):
        was, now = getattr(before, change.readout), getattr(after, change.readout)
        if worth_showing(was, change.facet):
            words: Record = {system: _row_words(change, was, now, system) for system in SYSTEMS}
            found.append(
                {
                    "kind": kind,
                    "readout": change.readout,
                    "label": change.facet.label,
                    "main": change.readout in MAIN,
                    "per_surface": change.facet.per_surface,
                    "grade": change.grade,
                    "felt": change.told,
                    "felt_steps": change.steps,
                    **words,
                }
            )
    return found


def _row_words(change: Change, before: FloatArray, after: FloatArray, system: System) -> Record:
    """One row in one system."""
    facet = in_system(change.facet, system)
    return {
        "fitted": value_words(before, facet),
        "proposed": value_words(after, facet),
        "change": replace(change, facet=facet).amount,
    }


def sentence_record(kinds: tuple[str, ...], before: Pull, after: Pull) -> Record:
    """What a rider would feel of a change, in one sentence, in both systems."""
    changed = [
        change
        for kind in kinds
        if getattr(before, kind) is not None
        for change in changes_of(kind, getattr(before, kind), getattr(after, kind))
    ]
    return {
        system: summary(tuple(replace(change, facet=in_system(change.facet, system)) for change in changed))
        for system in SYSTEMS
    }
