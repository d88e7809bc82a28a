"""Facts: the numbers with a source that ship with the package, and where each number of a job comes from.

This module alone reads `pullcurve/data`. A prior is named by the path of its key in a job file, without the numbers
of list members: `unit.levers.rockers.plunger.port_mm`.
"""

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Protocol

from pydantic import BaseModel

NOTHING_KNOWN: Mapping[str, Any] = MappingProxyType({})

GROWN_FROM, GROWN_TO = 20, 60
"""Ages over which the norms are averaged for a rider who does not state an age [years]."""


@dataclass(frozen=True, slots=True)
class Prior:
    """A number that stands in for one that was not given, with its band, its source and its mark."""

    value: float
    low: float | None
    high: float | None
    source: str
    mark: str

    @property
    def note(self) -> str:
        """Source and mark on one line."""
        return f"{self.source} ({self.mark})"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a number of a job comes from: `given`, `measured` or `prior`; what is known about it, and its band."""

    value: float
    source: str
    note: str = ""
    low: float | None = None
    high: float | None = None


class Measured(Protocol):
    """What a job says of a value that was measured."""

    @property
    def low(self) -> float: ...
    @property
    def high(self) -> float: ...
    @property
    def note(self) -> str: ...


class Described(Protocol):
    """A job, as far as this module needs to know it."""

    @property
    def measured(self) -> Mapping[str, Measured]: ...


# The data that ship with the package ------------------------------------------------------------------------


def data_text(name: str) -> str:
    """Text of one data file of the package."""
    return resources.files("pullcurve").joinpath("data", name).read_text(encoding="utf-8")


@cache
def table(name: str) -> dict[str, Any]:
    """One TOML data file of the package, without its suffix: `priors`, `complaints`."""
    return tomllib.loads(data_text(f"{name}.toml"))


def entry(key: str) -> Any:
    """What stands under a dotted key of the priors."""
    found: Any = table("priors")
    for name in key.split("."):
        found = found[name]
    return found


@cache
def grip_norms() -> tuple[Mapping[str, str], ...]:
    """Grip of adults by age band, sex and hand, as the table prints it."""
    lines = (line for line in data_text("grip_norms.csv").splitlines() if not line.startswith("#"))
    return tuple(csv.DictReader(lines))


# Priors -----------------------------------------------------------------------------------------------------


def fact(key: str, kind: str | None = None) -> float:
    """One number of the priors: by its key, and by the kind where it depends on one."""
    return _plain(entry(f"{key}.{kind}" if kind else key)).value


def word(key: str) -> str:
    """The word that stands in where none was chosen."""
    return str(entry(key)["value"])


def words(key: str) -> tuple[str, ...]:
    """The words that stand in where none were chosen."""
    return tuple(entry(key)["value"])


def prior(key: str, known: Mapping[str, Any] = NOTHING_KNOWN) -> Prior:
    """The prior of a key, given what is known of its part: its kind, or a value that it follows from."""
    found = entry(key)
    if "norms" in found:
        return _grip(found, known["sex"], known["age_years"])
    if "by" in found:
        found = found[known[found["by"]]]
    if "slope" in found:
        return _line(found, known[found["along"]])
    return _plain(found)


def _plain(found: Mapping[str, Any]) -> Prior:
    """A prior that is one number."""
    return Prior(found["value"], found.get("low"), found.get("high"), found["source"], found["mark"])


def _line(found: Mapping[str, Any], along: float) -> Prior:
    """A prior that follows another value of the same part on a straight line, within its standard error."""
    value = round(found["start"] + found["slope"] * along, 1)
    error = found["error"]
    return Prior(value, round(value - error, 1), round(value + error, 1), found["source"], found["mark"])


def _grip(found: Mapping[str, Any], sex: str, age: float | None) -> Prior:
    """Mean left-hand grip of people of this sex and age, one standard deviation to each side.

    Without an age the bands from 20 to 60 years are averaged; below 20 the youngest band stands in.
    """
    sexes = {"woman": "F", "man": "M"}.get(sex, "FM")
    rows = [row for row in grip_norms() if row["hand"] == found["hand"] and row["sex"] in sexes]
    first = [int(row["age_band"][:2]) for row in rows]
    if age is None:
        chosen = [row for row, start in zip(rows, first, strict=True) if GROWN_FROM <= start < GROWN_TO]
    else:
        band = max((start for start in first if start <= age), default=min(first))
        chosen = [row for row, start in zip(rows, first, strict=True) if start == band]
    mean = sum(float(row["mean_N"]) for row in chosen) / len(chosen)
    low = min(float(row["mean_N"]) - float(row["sd_N"]) for row in chosen)
    high = max(float(row["mean_N"]) + float(row["sd_N"]) for row in chosen)
    return Prior(round(mean, 1), round(low, 1), round(high, 1), found["source"], found["mark"])


def surface_priors() -> tuple[tuple[str, Prior], ...]:
    """The surfaces that stand in where a job names none, by name."""
    return tuple((found["name"], _plain(found)) for found in entry("surfaces"))


# Where a number of a job comes from -------------------------------------------------------------------------


def provenance(job: Described) -> dict[str, Origin]:
    """Origin of every number of a job, by its path: `unit.levers.0.rockers.1.plunger.port_mm`."""
    assert isinstance(job, BaseModel)
    found = dict(_walk(job, ""))
    for path, measured in job.measured.items():
        if path in found:
            found[path] = Origin(found[path].value, "measured", measured.note, measured.low, measured.high)
    return found


def _walk(value: Any, path: str, known: Prior | None = None) -> Iterator[tuple[str, Origin]]:
    """Every number below a value; with a prior, all of them come from it."""
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            below = f"{path}.{name}" if path else name
            stands_in = None if name in value.model_fields_set else _stands_in(value, name)
            yield from _walk(getattr(value, name), below, stands_in or known)
    elif isinstance(value, Mapping):
        for name, member in value.items():
            yield from _walk(member, f"{path}.{name}", known)
    elif isinstance(value, tuple):
        for number, member in enumerate(value):
            yield from _walk(member, f"{path}.{number}", known)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path, Origin(value, "given") if known is None else _from_prior(value, known)
