"""Which hardware goes with which job."""

from typing import Any

from pullcurve.parts.job import Job
from pullcurve.parts.layout import features, hardware_of, layout
from tests.parts.jobs import CABLE, TORSION, job, tables


def one_lever() -> dict[str, Any]:
    """The example with all three rockers on one lever."""
    known = tables()
    first, second = known["unit"]["levers"]
    known["unit"]["levers"] = [{**first, "rockers": [*first["rockers"], *second["rockers"]]}]
    return known


def test_levers_pick_the_layout() -> None:
    assert layout(job()) == "two-levers"
    assert layout(Job.model_validate(one_lever())) == "one-lever"


def test_order_of_the_levers_does_not_matter() -> None:
    known = tables()
    known["unit"]["levers"].reverse()
    assert layout(Job.model_validate(known)) == "two-levers"


def test_features_are_what_the_job_says() -> None:
    plain = {"brake", "clutch", "assist", "brake needles", "clutch needles", "assist needles"}
    assert features(job()) == plain | {"coil assist"}
    assert features(job(*CABLE, *TORSION)) == plain | {"cable clutch", "torsion assist"}


def test_a_rough_roller_runs_on_a_plain_pin() -> None:
    known = tables()
    known["unit"]["levers"][0]["rockers"][0]["roller_friction"] = 0.12
    found = features(Job.model_validate(known))
    assert "brake plain roller" in found and "brake needles" not in found


def test_a_pedal_brings_the_foot_plunger() -> None:
    known = tables()
    known["pedal"] = {"ratio": 5.5, "bore_mm": 12.7, "slave_bore_mm": 11, "slave_arm_mm": 14}
    hardware = hardware_of(Job.model_validate(known))
    assert "foot-plunger" in {task.id for task in hardware.tasks}


def test_a_rocker_that_pushes_with_a_pin_is_told_as_another_build() -> None:
    known = tables()
    known["unit"]["levers"][0]["rockers"][0]["push"] = "pin"
    told = hardware_of(Job.model_validate(known)).cautions
    assert told[:-1] == hardware_of(job()).cautions
    assert told[-1].startswith("The brake rocker of this job pushes with a pin")
