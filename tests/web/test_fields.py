"""The form has every key of every part, with the range that the description itself allows."""

import re
from collections.abc import Iterator
from typing import Any, get_args, get_origin

import pytest
from pydantic import BaseModel

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import parse_job
from pullcurve.intake.places import models, opened, words
from pullcurve.parts.job import Job
from pullcurve.units import FACTORS
from pullcurve.verbs import jobs
from pullcurve.web import display, shelf
from pullcurve.web.fields import SIGNS, Child, Entry, Rows, Section, job_form
from tests.parts.walk import sections

BESIDE = {"measured", "wishes.importance"}
"""What the form shows beside the values that it speaks of."""


def entries(children: tuple[Child, ...]) -> Iterator[Entry]:
    """Every value of a form."""
    for child in children:
        if isinstance(child, Entry):
            yield child
        else:
            yield from entries(child.rows if isinstance(child, Rows) else child.children)


def full(part: type[BaseModel], turn: int) -> dict[str, Any]:
    """A part with every part that may stand in it, each list with one row; ``turn`` picks among several kinds."""
    found: dict[str, Any] = {}
    for key, info in part.model_fields.items():
        annotation, _ = opened(info)
        listed = get_origin(annotation) is tuple
        known = models(get_args(annotation)[0]) if listed else models(info)
        if known:
            model = known[turn % len(known)]
            inside = full(model, turn)
            if len(known) > 1:
                inside["kind"] = words(model.model_fields["kind"])[0]
            found[key] = [inside] if listed else inside
    return found


FORMS = [job_form(full(Job, turn)) for turn in (0, 1)]
KNOWN = {entry.path: entry for form in FORMS for entry in entries(form)}


def test_every_key_of_every_part_has_a_field() -> None:
    wanted = {
        f"{path}.{key}".removeprefix(".")
        for path, part in sections(Job)
        for key, info in part.model_fields.items()
        if not models(info) and not (get_args(opened(info)[0]) and models(get_args(opened(info)[0])[0]))
        if not (key == "kind" and len(words(info)) == 1)
    }
    shown = {re.sub(r"\.\d+", "", path) for path in KNOWN}
    assert {path for path in wanted if not path.startswith("measured")} - BESIDE == shown


def test_every_field_says_what_it_means() -> None:
    assert shelf.meanings()
    assert [path for path, entry in KNOWN.items() if not entry.meaning] == []


@pytest.mark.parametrize(
    ("path", "low", "high", "sign"),
    [
        ("rider.mass_kg", 25, 200, "kg"),
        ("unit.levers.0.rockers.0.arm_mm", 5, 80, "mm"),
        ("brake_circuit.free_air_percent", 0, 10, "%"),
        ("rack.brake.0.stroke_mm", 2, 20, "mm"),
        ("rider.age_years", 8, 100, "years"),
    ],
)
def test_a_range_is_the_one_that_a_fault_names(path: str, low: float, high: float, sign: str) -> None:
    entry = KNOWN[path]
    assert (entry.low, entry.high, entry.sign) == (low, high, sign)


def test_what_a_range_leaves_out_is_refused() -> None:
    text = "\n".join(["title = 'x'", "[rider]", "need = 'x'", "mass_kg = 24.9", "hand_length_mm = 180"])
    with pytest.raises(BadInput, match=re.escape("mass_kg is 24.9; allowed is 25 to 200")):
        parse_job(text, "job.toml")
    assert KNOWN["rider.mass_kg"].low == 25


def test_what_was_typed_stands_in_its_field() -> None:
    typed = jobs.demo_job().model_dump(mode="json", exclude_unset=True)
    known = {entry.path: entry for entry in entries(job_form(typed))}
    assert known["unit.levers.1.rockers.1.spring.preload_newton"].typed == 240
    assert known["unit.levers.1.rockers.1.spring.preload_newton"].required
    assert not known["brake_circuit.pad_gap_mm"].given
    assert known["rider.brake_fingers"].options == ("index", "middle", "ring", "little")


@pytest.mark.parametrize(
    "job", [None, [], "job", {}, {"unit": 3}, {"unit": {"levers": [1, {"rockers": "x"}]}}]
)
def test_a_form_stands_for_whatever_the_job_is(job: Any) -> None:
    form = job_form(job)
    assert {child.path for child in form if isinstance(child, Section | Rows)} >= {
        "unit",
        "rider",
        "surfaces",
    }


# Units ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        # NIST SP 811, appendix B.8: exact, or as many digits as are printed there.
        ("mm", 25.4),
        ("m", 0.3048),
        ("newton", 4.448222),
        ("newton_mm", 112.9848),
        ("newton_m", 1.355818),
        ("newton_per_mm", 0.1751268),
        ("bar", 0.06894757),
        ("kg", 0.45359237),
    ],
)
def test_factors_are_the_published_ones(unit: str, factor: float) -> None:
    assert display.table()[unit]["factor"] == pytest.approx(factor, rel=4.5e-7)


def test_every_unit_of_a_field_has_a_sign() -> None:
    assert {entry.unit for entry in KNOWN.values()} - {""} <= set(SIGNS)
    assert set(SIGNS) <= set(FACTORS)
