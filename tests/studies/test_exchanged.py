"""One change at a time: what counts as one, by hand on jobs of the demo; what differs between two jobs."""

from typing import Any

import numpy as np
import pytest

from pullcurve.parts.cams import Fitted
from pullcurve.parts.job import Job
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import mechanism
from pullcurve.studies.between import between
from pullcurve.studies.exchanged import exchanged
from tests.studies.shop import BRAKE_ONLY, MAIN, SINGLE, changed, known

BEFORE = {
    "brake": {"reach_deg": 0, "take_up_mm": 0, "stroke_mm": 8.5},
    "clutch": {"reach_deg": 0, "lift_mm": 10.5},
    "assist": {"reach_deg": 0, "onset_deg": 10, "fall": 0.4},
}


def fitted(**cams: dict[str, Any] | None) -> Fitted:
    """What is fitted, with some numbers of some cams changed; None takes a cam off."""
    whole = {
        kind: None if kind in cams and cams[kind] is None else {**numbers, **(cams.get(kind) or {})}
        for kind, numbers in BEFORE.items()
    }
    return Fitted.model_validate(whole)


@pytest.mark.parametrize(
    ("after", "two_levers", "one_lever"),
    [
        ({}, [], []),
        ({"brake": {"stroke_mm": 7.5}}, [{"brake"}], [{"brake"}]),
        (
            {"brake": {"stroke_mm": 7.5}, "clutch": {"lift_mm": 11}},
            [{"brake"}, {"clutch"}],
            [{"brake"}, {"clutch"}],
        ),
        (
            {"clutch": {"lift_mm": 11}, "assist": {"fall": 0.5}},
            [{"clutch"}, {"assist"}],
            [{"clutch"}, {"assist"}],
        ),
        (
            {"clutch": {"reach_deg": 4}, "assist": {"reach_deg": 4}},
            [{"clutch", "assist"}],
            [{"clutch", "assist"}],
        ),
        (
            {"clutch": {"reach_deg": 4}, "assist": {"reach_deg": 4}, "brake": {"reach_deg": 4}},
            [{"brake"}, {"clutch", "assist"}],
            [{"brake", "clutch", "assist"}],
        ),
        ({"assist": None}, [{"assist"}], [{"assist"}]),
    ],
)
def test_what_counts_as_one_change(
    after: dict[str, Any], two_levers: list[set[str]], one_lever: list[set[str]]
) -> None:
    for name, expected in ((MAIN, two_levers), (SINGLE, one_lever)):
        found = exchanged(fitted(), fitted(**after), known(name).unit)
        assert [{one.kind for one in change} for change in found] == expected


def test_words_name_both_cams() -> None:
    ((one,),) = exchanged(fitted(), fitted(brake={"stroke_mm": 7.5}), known().unit)
    assert one.words == "brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5" and not one.reach
    ((gone,),) = exchanged(fitted(), fitted(assist=None), known().unit)
    assert gone.words == "assist-in0-on10-fa0.40 → none" and not gone.reach


# Two jobs -----------------------------------------------------------------------------------------------------------


def both(before: Job, after: Job) -> Any:
    """What differs between two jobs."""
    return between((before, after), (pull(mechanism(before)), pull(mechanism(after))))


def test_numbers_that_differ_are_told_as_typed() -> None:
    job = known()
    later = changed(job, brake_circuit__pad_friction=0.5, wishes__brake__force_lock_newton=50.0)
    told = {one.path: (one.before, one.after) for one in both(job, later).numbers}
    assert told == {"brake_circuit.pad_friction": (0.45, 0.5), "wishes.brake.force_lock_newton": (58.0, 50.0)}
    assert both(job, later).cams == ()


def test_what_is_new_or_gone_is_told() -> None:
    job = known()
    told = {one.path: (one.before, one.after) for one in both(job, changed(job, wishes=None)).numbers}
    assert told["wishes.clutch.gap_rest_mm"] == (48.0, None)


def test_read_outs_in_felt_steps() -> None:
    """Grippier pads: at lock-up the same torque needs less force, by the ratio of both; 7 % are one step."""
    job = known()
    later = changed(job, brake_circuit__pad_friction=0.5)
    change = next(
        one for one in both(job, later).readouts if (one.kind, one.readout) == ("brake", "force_lock")
    )
    assert change.after < change.before
    assert change.steps == pytest.approx(np.log(change.after / change.before) / np.log(1.07))
    same = [one for one in both(job, later).readouts if one.kind == "clutch"]
    assert same and all(one.steps == 0.0 for one in same)


def test_a_unit_without_clutch() -> None:
    job = known(BRAKE_ONLY)
    assert {one.kind for one in both(job, job).readouts} == {"brake"}
