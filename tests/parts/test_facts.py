"""Facts of the data folder: sources and marks, norms against their tables, priors inside their bands."""

import csv
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import numpy as np
import pytest
from pydantic.fields import FieldInfo

from pullcurve.parts import facts
from pullcurve.parts.fields import Span
from pullcurve.parts.job import Job
from pullcurve.parts.machine import Motorcycle
from pullcurve.parts.rider import Rider
from pullcurve.parts.unit import Plunger
from tests.parts.jobs import CABLE, DIAPHRAGM, job, tables
from tests.parts.walk import models

MARKS = {"read", "common practice", "from memory", "computed", "choice", "published"}

NEWTON_PER_POUND_FORCE = 0.45359237 * 9.80665
"""Exact by the definitions of the pound and of standard gravity."""


def entries(node: dict[str, Any], path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every fact of a data file with its path."""
    for key, inner in node.items():
        here = f"{path}.{key}" if path else key
        if "source" in inner:
            yield here, inner
        else:
            yield from entries(inner, here)


FACTS = [
    pytest.param(entry, id=f"{name}: {path}")
    for name in ("priors", "limits")
    for path, entry in entries(tomllib.loads(facts.data_text(f"{name}.toml")))
]


@pytest.mark.parametrize("entry", FACTS)
def test_fact_has_source_mark_and_a_value_inside_its_band(entry: dict[str, Any]) -> None:
    fact = facts.Fact(**entry)
    assert fact.source.strip()
    assert fact.mark in MARKS
    assert fact.note == f"{fact.source} ({fact.mark})"
    if fact.low is not None:
        assert fact.high is not None
        assert isinstance(fact.value, float)
        assert fact.low <= fact.value <= fact.high


def test_there_are_facts() -> None:
    assert len(FACTS) > 100


# Priors of the fields -----------------------------------------------------------------------------------------


def priors() -> Iterator[tuple[str, FieldInfo, str, str | None]]:
    """Every field that falls back to a prior: name, field, path of the prior, word that picks it."""
    for model in models(Job):
        for key, info in model.model_fields.items():
            extra = info.json_schema_extra
            if not isinstance(extra, dict) or extra["prior"] == "surface_list":
                continue
            by = extra.get("by")
            for word in get_args(model.model_fields[str(by)].annotation) if by else [None]:
                yield f"{model.__name__}.{key} {word or ''}".strip(), info, str(extra["prior"]), word


PRIORS = [pytest.param(info, path, by, id=name) for name, info, path, by in priors()]


@pytest.mark.parametrize(("info", "path", "by"), PRIORS)
def test_prior_is_a_value_that_its_field_allows(info: FieldInfo, path: str, by: str | None) -> None:
    known = facts.known(path, by)
    spans = [said for said in info.metadata if isinstance(said, Span)]
    if spans:
        value = facts.fact(path, by)
        assert spans[0].check(value) == value
        for end in (known.low, known.high):
            assert end is None or spans[0].check(end) == end
    else:
        words = str(known.value).split(" ")
        choices = info.annotation if get_origin(info.annotation) is Literal else get_args(info.annotation)[0]
        assert set(words) <= set(get_args(choices))


def test_every_prior_is_used() -> None:
    used = {f"{path}.{by}" if by else path for _, _, path, by in priors()}
    asked = {
        path
        for path, _ in entries(tomllib.loads(facts.data_text("priors.toml")))
        if not path.startswith(("surface_list.", "rider.breadth_", "rider.glove_thickness_mm."))
    }
    assert asked == used


def test_what_stands_in_is_the_prior() -> None:
    line = job().brake_circuit
    assert line is not None
    assert line.pad_gap_mm == facts.fact("brake_circuit.pad_gap_mm")
    assert line.hose_kind == facts.word("brake_circuit.hose_kind")
    assert line.hose_expansion_mm3_per_m_bar == facts.fact("hose_expansion_mm3_per_m_bar", "braided")
    rubber = job(("pistons = 1", 'pistons = 1\nhose_kind = "rubber"')).brake_circuit
    assert rubber is not None
    assert rubber.hose_expansion_mm3_per_m_bar == facts.fact("hose_expansion_mm3_per_m_bar", "rubber")


def test_nothing_stands_in_beside_a_sibling_that_was_refused() -> None:
    height = Motorcycle.model_fields["cg_height_mm"]
    assert height.get_default(call_default_factory=True, validated_data={"name": "x"}) is None
    whole = {"name": "x", "kind": "other"}
    assert height.get_default(call_default_factory=True, validated_data=whole) == 800


def test_surfaces_that_stand_in() -> None:
    found = [(surface.name, surface.grip) for surface in job().surfaces]
    assert found == [("dry hard ground", 0.65), ("loose over hard", 0.45), ("wet grass", 0.2)]


def test_machine_priors_follow_its_kind() -> None:
    trials = job(('kind = "enduro"', 'kind = "trials"')).motorcycle
    assert trials.cg_height_mm == facts.fact("motorcycle.cg_height_mm", "trials")
    assert trials.rear_tyre_radius_mm == facts.fact("motorcycle.rear_tyre_radius_mm", "trials")


def test_priors_of_all_kinds_of_job_resolve() -> None:
    for edits in (CABLE, DIAPHRAGM):
        assert job(*edits).clutch is not None
    assert Plunger(bore_mm=9.5).stroke_mm == 12


# The hand -----------------------------------------------------------------------------------------------------


def grip_rows() -> list[dict[str, str]]:
    """Rows of the published norms for the left hand."""
    text = Path(__file__).with_name("grip_norms.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return [row for row in rows if row["hand"] == "L"]


def ages(row: dict[str, str]) -> tuple[float, float]:
    """First and last year of a row."""
    first, _, last = row["age_band"].partition("-")
    return (75.0, 120.0) if first == "75+" else (float(first), float(last))


@pytest.mark.parametrize("row", grip_rows(), ids=lambda row: f"{row['sex']} {row['age_band']}")
def test_mean_grip_is_that_of_the_norms(row: dict[str, str]) -> None:
    sex = {"M": "man", "F": "woman"}[row["sex"]]
    first, last = ages(row)
    mean = float(row["mean_N"])
    assert mean == pytest.approx(float(row["mean_lbf"]) * NEWTON_PER_POUND_FORCE, abs=0.051)
    for age in (first, (first + last) / 2, last, last + 0.99):
        assert facts.mean_grip(sex, age) == mean


def test_norms_hold_nothing_else() -> None:
    held = {
        (float(row["from_age"]), float(row["to_age"]), row["sex"], row["mean_newton"], row["sd_newton"])
        for row in facts.table("grip_norms")["left_hand"]
    }
    published = {
        (*ages(row), {"M": "man", "F": "woman"}[row["sex"]], float(row["mean_N"]), float(row["sd_N"]))
        for row in grip_rows()
    }
    assert held == published


def test_grip_of_a_rider_who_says_little() -> None:
    assert facts.mean_grip("unstated", None) == pytest.approx((491.1 + 302.5) / 2)
    assert facts.mean_grip("woman", 12) == 271.3
    assert facts.mean_grip("man", None) == 491.1
    assert job().rider.grip_newton == facts.fact("rider.grip_newton") == 397


@pytest.mark.parametrize(("sex", "mark"), [("woman", "F"), ("man", "M")])
def test_breadth_lines_are_those_of_the_survey(sex: str, mark: str) -> None:
    data = Path(__file__).parent.parent / "data" / "ansur2_hand.csv"
    with data.open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["sex"] == mark]
    lengths, breadths = (
        np.array([float(row[key]) for row in rows]) for key in ("handlength_mm", "handbreadth_mm")
    )
    rise, start = np.polyfit(lengths, breadths, 1)
    assert facts.fact("rider.breadth_start_mm", sex) == pytest.approx(start, abs=0.005)
    assert facts.fact("rider.breadth_rise", sex) == pytest.approx(rise, abs=0.00005)
    assert facts.hand_breadth(sex, lengths.mean()) == pytest.approx(breadths.mean(), abs=0.02)


def test_breadth_of_a_rider_who_says_little() -> None:
    # (38.73 + 38.67) / 2 + 187 (0.2177 + 0.2566) / 2 = 83.05
    assert facts.hand_breadth("unstated", 187) == pytest.approx(83.05, abs=0.005)
    rider = tables()["rider"]
    assert Rider(**{**rider, "hand_length_mm": 187}).hand_breadth_mm == facts.fact("rider.hand_breadth_mm")
    assert Rider(**{**rider, "sex": "woman", "hand_length_mm": 180}).hand_breadth_mm == 77.9


# Looking up ---------------------------------------------------------------------------------------------------


def test_a_fact_that_is_not_there_is_a_bug() -> None:
    with pytest.raises(KeyError):
        facts.known("brake_circuit.no_such_thing")


def test_wishes_that_stand_in_may_ask_for_nothing() -> None:
    assert facts.wish("brake.gap_rest_mm") is None
    assert facts.wish("brake.force_lock_newton") == 55
