"""Strip, build and service as they are asked for, and as data."""

import json

import pytest

from pullcurve.errors import BadInput
from pullcurve.papers.record import plain
from pullcurve.papers.stepsrecord import steps_record
from pullcurve.studies.service import Ridden
from pullcurve.verbs.jobs import demo_job, demo_names
from pullcurve.verbs.stripping import fluid_for, service_for, steps_for, tasks_for

TASKS = {"brake-cam", "clutch-cam", "assist-cam", "reach", "foot-plunger", "grease"}


@pytest.mark.parametrize("name", demo_names())
def test_every_task_is_told_or_refused_in_one_line(name: str) -> None:
    job = demo_job(name)
    known = {task.id for task in tasks_for(job)}
    assert known <= TASKS
    assert ("foot-plunger" in known) == (job.pedal is not None)
    assert ("assist-cam" in known) == (job.fitted.assist is not None)
    for task in TASKS:
        if task in known:
            told = steps_for(job, task)
            assert told.task == task and told.unit == job.unit.name and told.strip and told.build
        else:
            with pytest.raises(BadInput) as refused:
                steps_for(job, task)
            assert "\n" not in str(refused.value)


def test_record_is_json_with_every_line() -> None:
    told = steps_for(demo_job("motocross-450.toml"), "foot-plunger")
    found = json.loads(json.dumps(plain(steps_record(told)), allow_nan=False))
    assert found["task"] == "foot-plunger"
    assert [line["number"] for line in found["lines"]] == list(range(1, len(told.lines) + 1))
    assert [line["words"] for line in found["lines"]] == [line.words for line in told.lines]
    assert {line["act"] for line in found["lines"]} == {
        "prepare",
        "off",
        "exchange",
        "on",
        "check",
        "closing",
    }
    body = next(
        line for line in found["lines"] if line["piece"] == "foot-body-screws" and line["act"] == "on"
    )
    assert body["tool"] == "hex key 4 mm"
    # by hand: 0.19 x 5 mm x 65 % of 580 MPa x 14.2 mm2 = 5.09 N m
    assert body["torque"] == pytest.approx(5.09, abs=0.02)
    assert body["torque"] < body["torque_most"]
    assert body["consumables"] == ["low-strength threadlocker: on the thread only"]
    assert found["units"] == {"torque": "N m", "torque_most": "N m"}
    traps = {caution["trap"] for line in found["lines"] for caution in line["cautions"]}
    assert traps == {"breaks", "jumps", "falls", "hurts"}
    assert found["fewest_pick_ups"] is True and found["tool_pick_ups"] == told.pick_ups
    assert "a line is bled when it is closed" in found["build_rules"]


def test_service_knows_the_unit() -> None:
    job = demo_job("enduro-250.toml")
    found = {one.item.id: one.state for one in service_for(job, {"cable": Ridden({"mud": 1})})}
    assert found["cable"] == "good" and found["pin"] == "due"
    assert "cable" not in {one.item.id for one in service_for(demo_job(), {})}


def test_fluid_knows_the_hose() -> None:
    job = demo_job()
    assert job.brake_circuit is not None and job.brake_circuit.hose_kind == "braided"
    braided = fluid_for(job, "DOT 4", 1.0)
    without = job.model_copy(update={"brake_circuit": None})
    rubber = fluid_for(without, "DOT 4", 1.0)
    assert braided.boiling_celsius > rubber.boiling_celsius
    assert fluid_for(job, "DOT 4", 1.0, 150.0).state == "due"
