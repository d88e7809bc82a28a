"""Every case from outside, and the page that is made from them."""

import numpy as np
import pytest

from tests.outside.quantities import QUANTITIES, ours
from tests.outside.reading import MARKS, UNITS, Case, every_case, in_si, split_unit
from tests.outside.validation import PAGE, page

CASES = every_case()


@pytest.mark.parametrize("case", [pytest.param(case, id=f"{file}: {case.name}") for file, case in CASES])
def test_case(case: Case) -> None:
    difference = np.abs(ours(case) - case.published)
    assert np.all(difference <= case.tolerance), f"{ours(case)} for {case.expected} {case.unit}"


def test_cases_are_complete() -> None:
    names = [(file, case.name) for file, case in CASES]
    assert len(set(names)) == len(names)
    for name, case in CASES:
        assert case.mark in MARKS, name
        assert case.unit in UNITS, (name, case.unit)
        assert (case.tolerance_percent is None) == (case.because == ""), f"{name}: a tolerance and its reason"


def test_every_quantity_is_asked_for() -> None:
    assert {case.quantity for _, case in CASES} == set(QUANTITIES)


def test_units_are_told_by_the_end_of_a_name() -> None:
    assert split_unit("rate_newton_per_mm") == ("rate", "newton_per_mm")
    assert split_unit("mean_radius_mm") == ("mean_radius", "mm")
    assert split_unit("friction") == ("friction", "1")
    assert split_unit("lift_per_face_mm") == ("lift_per_face", "mm")
    assert in_si({"radius_in": 1.0, "kind": "wahl", "fitted": True}) == {
        "radius": 0.0254,
        "kind": "wahl",
        "fitted": True,
    }
    assert split_unit("force_pound") == ("force", "pound")


def test_bore_is_given_as_area() -> None:
    found = in_si({"bore_mm": 20.0, "piston_bore_mm": 40.0})
    assert found == {"area": pytest.approx(np.pi * 1e-4), "piston_area": pytest.approx(np.pi * 4e-4)}


def test_tolerance_follows_the_printed_digits() -> None:
    case = Case("", "", "read", "", {}, ("0.250", "12", "4.0E-6"), "1", "", None, "")
    assert case.tolerance == pytest.approx([0.0005, 0.5, 0.05e-6], rel=1e-3)
    wide = Case("", "", "read", "", {}, ("0.250", "12"), "1", "", 10.0, "why")
    assert wide.tolerance == pytest.approx([0.025, 1.2], rel=1e-3)


def test_page_is_not_stale() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "make it anew: python -m tests.outside.validation"
