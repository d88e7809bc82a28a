"""The plate that a cam is cut from: what no plate can be, and what its lever forbids."""

from typing import Any

import pytest
from pydantic import ValidationError

from pullcurve.errors import BadInput
from pullcurve.intake.sentences import faults
from pullcurve.parts.job import Job
from pullcurve.parts.plate import Hole, Plate
from tests.parts.jobs import tables

BORE = 13.0


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"bore_mm": 24}, "hub_radius_mm is 11; allowed is more than 12, half the bore_mm"),
        ({"hub_radius_mm": BORE / 2}, "hub_radius_mm is 6.5; allowed is more than 6.5"),
        (
            {"holes": [{"radius_mm": 8.5, "angle_deg": 0, "diameter_mm": 4}]},
            "radius_mm is 8.5; allowed is more than 8.5, clear of the bore",
        ),
    ],
)
def test_plate_that_is_none_is_one_line(given: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError) as refused:
        Plate.model_validate(given)
    [fault] = faults(refused.value, "plate")
    assert said in str(fault)


def test_hole_that_just_clears_the_bore_is_one() -> None:
    known = Plate(holes=(Hole(radius_mm=8.51, angle_deg=-30, diameter_mm=4),))
    assert known.holes[0].radius_mm > (known.bore_mm + known.holes[0].diameter_mm) / 2


@pytest.mark.parametrize(
    ("plate", "said"),
    [
        ({"bore_mm": 5}, "bore_mm is 5; allowed is from 12, the lever pin, on"),
        ({"hub_radius_mm": 30}, "hub_radius_mm is 30; allowed is less than"),
    ],
)
def test_plate_that_its_lever_forbids_is_one_line(plate: dict[str, Any], said: str) -> None:
    known = tables()
    known["unit"]["pin_radius_mm"] = 6
    known["unit"]["levers"][0]["rockers"][0]["plate"] = plate
    with pytest.raises((ValidationError, BadInput)) as refused:
        Job.model_validate(known)
    assert said in " ".join(str(fault) for fault in faults(refused.value, "job"))  # type: ignore[arg-type]
