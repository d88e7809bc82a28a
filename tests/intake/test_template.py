"""The commented job that a new folder gets: it is a job, and it explains every key with unit and range."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, get_args

import pytest
from pydantic.fields import FieldInfo

from pullcurve.intake.jobfile import parse_job
from pullcurve.parts.facts import data_text
from pullcurve.parts.fields import Span, Text, Whole
from pullcurve.parts.job import Job
from pullcurve.parts.origin import origins
from tests.parts.walk import sections

TEMPLATE = data_text("template_job.toml")

HEADER = re.compile(r"^(?P<off>#:? )?(?P<open>\[\[?)(?P<path>[\w.]+)\]\]?")
LINE = re.compile(r'^(?P<off>#:? )?(?P<key>[a-z_0-9]+|"[a-z_.]+") = (?P<value>.*?)(?:  +# (?P<said>.*))?$')

UNITS = {
    "mm": "mm", "m": "m", "mm3": "mm3", "cm3": "cm3", "deg": "deg", "newton": "N", "newton_mm": "N mm",
    "newton_m": "N m", "newton_per_mm": "N/mm", "newton_mm_per_deg": "N mm/deg", "bar": "bar", "gpa": "GPa",
    "kg": "kg", "percent": "%", "mm3_per_m_bar": "mm3/(m bar)", "mm3_per_bar": "mm3/bar", "per_kelvin": "1/K",
    "years": "years",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One key of the template: its section, whether it is switched off, what is said about it."""

    section: str
    key: str
    off: str
    value: str
    said: str


def rows() -> list[Row]:
    """Every key of the template, in order."""
    section, found = "", []
    for line in TEMPLATE.splitlines():
        if header := HEADER.match(line):
            section = header["path"]
        elif known := LINE.match(line):
            found.append(Row(section, known["key"], known["off"] or "", known["value"], known["said"] or ""))
    return found


ROWS = rows()
EXPLAINED = list({(row.section, row.key): row for row in reversed(ROWS)}.values())
FREE = ("measured", "wishes.importance")
"""Sections whose keys are paths."""

SECTIONS = {section for section, _ in sections(Job) if section and not section.startswith("measured")}

KNOWN: dict[tuple[str, str], list[FieldInfo]] = {}
for section, part in sections(Job):
    for key, info in part.model_fields.items():
        KNOWN.setdefault((section, key), []).append(info)


def switched_on(mark: str) -> str:
    """The template with the lines behind a mark switched on."""
    on = re.sub(rf'^{mark} (?=\[|(?:\w+|"[\w.]+") = )', "", TEMPLATE, flags=re.MULTILINE)
    assert on != TEMPLATE
    return on


def test_it_is_a_job() -> None:
    job = parse_job(TEMPLATE, "job.toml")
    assert [lever.name for lever in job.unit.levers] == ["brake lever", "clutch lever"]
    assert job.pedal is None
    assert job.rack is not None
    assert len(job.rack.brake_cams) == 120


def test_what_is_switched_off_is_what_stands_in() -> None:
    job, on = parse_job(TEMPLATE, "job.toml"), parse_job(switched_on("#"), "job.toml")
    assert on.model_dump(exclude={"wishes"}) == job.model_dump(exclude={"wishes"})
    assert not [
        path for path, origin in origins(on).items() if origin.source == "prior" and "levers.1" not in path
    ]


def test_alternatives_are_told_with_all_their_keys() -> None:
    told = {(row.section, row.key) for row in ROWS}
    asked = {place for place in KNOWN if not place[0].startswith("measured") and path(*place) not in SECTIONS}
    assert asked - told - {("", "measured"), ("wishes", "importance")} == set()
    assert {section for section in SECTIONS if f"[{section}" not in TEMPLATE} == set()


def path(section: str, key: str) -> str:
    """Path of a key."""
    return f"{section}.{key}" if section else key


def test_alternatives_are_values_that_a_job_takes() -> None:
    for row in ROWS:
        if row.off == "#: " and row.section not in FREE:
            value = tomllib.loads(f"{row.key} = {row.value}")[row.key]
            for inner in value if isinstance(value, list) else [value]:
                for kind in kinds(row):
                    assert kind.check(inner) == inner
    measured = TEMPLATE.replace("#: [measured]", "[measured]").replace('#: "rider', '"rider')
    assert parse_job(measured, "job.toml").measured["rider.grip_newton"].low == 400


@pytest.mark.parametrize("row", EXPLAINED, ids=lambda row: f"{row.section}.{row.key}")
def test_unit_and_range_are_said(row: Row) -> None:
    if row.section in FREE or path(row.section, row.key) in SECTIONS:
        return
    assert (row.section, row.key) in KNOWN
    if row.section.startswith("rack"):
        return
    found = kinds(row)
    assert row.said or words(row), "nothing is said"
    for kind in found:
        assert kind.allowed.removeprefix("a text of ") in row.said
    if any(isinstance(kind, Span) for kind in found):
        unit = max((unit for unit in UNITS if row.key.endswith(f"_{unit}")), key=len, default="")
        assert f"[{UNITS.get(unit, '-')}]: " in row.said
    for word in words(row):
        assert f'"{word}"' in row.said


def kinds(row: Row) -> list[Span | Whole | Text]:
    """Kinds of field that the parts give for a row's key, also inside a list."""
    found = [kind for info in KNOWN[row.section, row.key] for kind in said_of(info)]
    return list(dict.fromkeys(kind for kind in found if isinstance(kind, Span | Whole | Text)))


def said_of(field: Any) -> Iterator[Any]:
    """What is said about a field and about what it holds."""
    if isinstance(field, FieldInfo):
        yield from field.metadata
        yield from said_of(field.annotation)
    else:
        yield from getattr(field, "__metadata__", ())
        for inner in get_args(field):
            yield from said_of(inner)


def words(row: Row) -> list[str]:
    """Words to choose from."""
    return [word for info in KNOWN[row.section, row.key] for word in literals(info.annotation)]


def literals(annotation: Any) -> Iterator[str]:
    """Words of a choice, also inside a list."""
    for inner in get_args(annotation):
        if isinstance(inner, str):
            yield inner
        else:
            yield from literals(inner)
