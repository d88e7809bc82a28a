"""Numbers with a source: priors, limits and tables of the data folder, which only this module reads."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

SEXES = ("woman", "man")

YOUNGEST, USUAL_AGE = 20.0, 32.0
"""Youngest age of the norms, and the age that stands in where none is given [years]."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One number or word with its source and mark, and the band it usually lies in."""

    source: str
    mark: str
    value: float | str | None = None
    low: float | None = None
    high: float | None = None

    @property
    def note(self) -> str:
        """Source and mark on one line."""
        return f"{self.source} ({self.mark})"


def data_text(name: str) -> str:
    """Text of a file in the data folder."""
    return files("pullcurve").joinpath("data").joinpath(name).read_text(encoding="utf-8")


@cache
def table(name: str) -> Mapping[str, Any]:
    """A data file of the package by its name without suffix, read once."""
    return tomllib.loads(data_text(f"{name}.toml"))


@cache
def known(path: str, kind: str | None = None) -> Fact:
    """The fact at a dotted path such as ``brake_circuit.pad_gap_mm``; ``kind`` picks one of several.

    Raises KeyError when the data files have no such fact: a fault of this package, not of a user.
    """
    node: Any = {**table("priors"), **table("limits")}
    for part in (*path.split("."), *((kind,) if kind else ())):
        node = node[part]
    return Fact(**node)


def fact(path: str, kind: str | None = None) -> float:
    """Value of a numeric fact."""
    value = known(path, kind).value
    assert value is not None
    return float(value)


def word(path: str, kind: str | None = None) -> str:
    """Value of a fact that is a word."""
    return str(known(path, kind).value)


def wish(path: str) -> float | None:
    """Value of a wish that stands in where a job states none; None where nothing is asked for."""
    value = known(f"wishes.{path}").value
    return None if value is None else float(value)


def mean_grip(sex: str, age: float | None) -> float:
    """Mean left-hand grip strength [N] of people of this sex and age; of both where the sex is unstated."""
    years = USUAL_AGE if age is None else max(YOUNGEST, age)
    rows = table("grip_norms")["left_hand"]
    found = [
        row["mean_newton"]
        for row in rows
        if row["from_age"] <= years < row["to_age"] + 1 and sex in (row["sex"], "unstated")
    ]
    return float(sum(found) / len(found))


def hand_breadth(sex: str, length_mm: float) -> float:
    """Hand breadth [mm] that goes with a hand length, by the line for a sex; the mean of both if unstated."""
    asked = SEXES if sex == "unstated" else (sex,)
    starts, rises = (
        [fact(f"rider.{key}", one) for one in asked] for key in ("breadth_start_mm", "breadth_rise")
    )
    return (sum(starts) + sum(rises) * length_mm) / len(asked)
