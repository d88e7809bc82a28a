"""The job as a whole: what fits together; the sentences of what does not are in tests/intake/test_bad_files.py."""

import pytest
from pydantic import ValidationError

from pullcurve.parts.job import Job, driven, rockers
from pullcurve.parts.rider import WISH_KEYS
from tests.parts.jobs import CABLE, DIAPHRAGM, TORSION, Edit, job, tables


def one_lever() -> dict[str, object]:
    """The example with all three rockers on one lever."""
    known = tables()
    first, second = known["unit"]["levers"]
    known["unit"]["levers"] = [{**first, "rockers": [*first["rockers"], *second["rockers"]]}]
    return known


def test_rockers_with_their_places() -> None:
    found = {rocker.drives: place for place, rocker in rockers(job())}
    assert found == {
        "brake": ("unit", "levers", 0, "rockers", 0),
        "clutch": ("unit", "levers", 1, "rockers", 0),
        "assist": ("unit", "levers", 1, "rockers", 1),
    }
    assert driven(job()) == set(found)


@pytest.mark.parametrize("edits", [(), CABLE, TORSION, DIAPHRAGM, (*CABLE, *DIAPHRAGM)])
def test_kinds_of_load_fit_together(edits: tuple[Edit, ...]) -> None:
    assert job(*edits).title == "two-stroke enduro"


def test_one_lever_carries_everything() -> None:
    assert driven(Job.model_validate(one_lever())) == {"brake", "clutch", "assist"}


def test_cams_on_one_lever_share_its_reach() -> None:
    known = one_lever()
    fitted = {"brake": {"reach_deg": 4, "take_up_mm": 0, "stroke_mm": 7.5}}
    known["fitted"] = {**tables()["fitted"], **fitted}
    with pytest.raises(ValidationError) as refused:
        Job.model_validate(known)
    said = "is 0; allowed is 4, the reach of the brake cam on the same lever (brake lever)"
    assert refused.value.errors()[0]["ctx"]["faults"] == (
        (("fitted", "clutch", "reach_deg"), said),
        (("fitted", "assist", "reach_deg"), said),
    )


def test_a_job_without_a_clutch_and_one_without_a_brake() -> None:
    known = tables()
    for key in ("clutch", "clutch_circuit"):
        del known[key]
    for key in ("clutch", "assist"):
        del known["fitted"][key], known["rack"][key]
    known["unit"]["levers"].pop()
    assert driven(Job.model_validate(known)) == {"brake"}

    known = tables()
    del known["brake_circuit"], known["fitted"]["brake"], known["rack"], known["wishes"]
    known["unit"]["levers"].pop(0)
    assert driven(Job.model_validate(known)) == {"clutch", "assist"}

    known["wishes"] = {"brake": {"force_lock_newton": 55}}
    known["pedal"] = {"ratio": 5, "bore_mm": 12, "slave_bore_mm": 10, "slave_arm_mm": 16}
    with pytest.raises(ValidationError) as refused:
        Job.model_validate(known)
    nothing = "is given, but no rocker of the unit drives"
    assert refused.value.errors()[0]["ctx"]["faults"] == (
        (("pedal",), f"{nothing} a brake; allowed is nothing here"),
        (("wishes", "brake"), f"{nothing} the brake; allowed is nothing here"),
    )


def test_an_assist_may_stay_without_a_cam() -> None:
    known = tables()
    del known["fitted"]["assist"]
    assert Job.model_validate(known).fitted.assist is None


def test_an_assist_cam_wants_an_assist() -> None:
    known = tables()
    known["unit"]["levers"][1]["rockers"].pop()
    with pytest.raises(ValidationError) as refused:
        Job.model_validate(known)
    said = "is given, but no rocker of the unit carries an assist cam; allowed is nothing here"
    assert refused.value.errors()[0]["ctx"]["faults"] == (
        (("fitted", "assist"), said),
        (("rack", "assist"), said),
    )


def test_a_pin_turns_less_than_a_quarter() -> None:
    assert job(("load_arm_mm = 20", 'load_arm_mm = 20\npush = "pin"')).fitted.clutch is not None


def test_importance_names_wishes() -> None:
    edit = ("[wishes.brake]", '[wishes.importance]\n"clutch.force_peak_newton" = 2\n[wishes.brake]')
    wishes = job(edit).wishes
    assert wishes is not None
    assert wishes.importance == {"clutch.force_peak_newton": 2}
    assert "brake.force_lock_newton" in WISH_KEYS


def test_a_job_without_wishes_or_measurements() -> None:
    known = tables()
    del known["wishes"], known["measured"]
    assert Job.model_validate(known).measured == {}


def test_a_job_cannot_be_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        job().title = "another"
