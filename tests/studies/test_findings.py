"""Words and numbers that the findings of a check share."""

import numpy as np
import pytest

from pullcurve.pull.plate import cam_metal
from pullcurve.studies.findings import at, case_of, finding, taken, told
from tests.studies import shop

DEGREE = np.pi / 180


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "said"),
    [
        (0.0123, "mm", 2, "12.30 mm"),
        (1.5e9, "gpa", 3, "1.500 GPa"),
        (0.7854, "deg", 1, "45.0°"),
        (0.125, "percent", 0, "12 %"),
        (2500.0, "newton_per_mm", 1, "2.5 N/mm"),
        (0.3, "", 2, "0.30"),
        (-1e-9, "mm", 2, "0.00 mm"),
        (np.nan, "mm", 2, "not known"),
        (np.inf, "mm", 2, "without bound"),
    ],
)
def test_a_value_is_told_in_its_unit(value: float, unit: str, decimals: int, said: str) -> None:
    assert told(value, unit, decimals) == said


def test_a_place_is_told_by_the_lever_or_not_at_all() -> None:
    assert at(10.04 * DEGREE) == " at 10.0° of lever"
    assert at(np.nan) == ""


def test_a_finding_speaks_the_sentence_that_is_true() -> None:
    good, bad = (finding("key", ok, 1.0, 2.0, "mm", 5.0 * DEGREE, "Right.", "Wrong.") for ok in (True, False))
    assert (good.sentence, bad.sentence) == ("Right.", "Wrong.")
    assert good.where_deg == pytest.approx(5.0)


def test_materials_are_taken_in_si() -> None:
    """Bearing steel 207 GPa, a broken edge of 0.3 mm (data/materials)."""
    assert taken("roller.elastic_modulus_gpa") == pytest.approx(207e9)
    assert taken("cutting.chamfer_mm") == pytest.approx(0.3e-3)


def test_least_value_of_a_case_looks_where_the_roller_comes_unless_told() -> None:
    """A valley in the run-out is no matter of the pull; what is not known wins."""
    metal = cam_metal(shop.known(), "brake")
    case = case_of(shop.known(), metal)
    values = np.where(metal.theta > metal.rest_end + 1e-6, -1.0, 1.0 + metal.theta)
    value, theta = case.least(values)
    assert value == pytest.approx(1.0, abs=1e-3)
    assert theta == pytest.approx(0.0, abs=1e-3)
    assert case.least(values, everywhere=True)[0] == -1.0
    assert case.finger_radius == pytest.approx(0.075)
    values[np.argmin(np.abs(metal.theta - 0.2))] = np.nan
    value, theta = case.least(values)
    assert np.isnan(value)
    assert theta == pytest.approx(0.2, abs=1e-3)
