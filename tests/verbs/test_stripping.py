"""Strip, build and service as they are asked for, and as data."""

import json
from pathlib import Path
from random import Random

import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.hardwarefile import hardware_text
from pullcurve.papers.record import plain
from pullcurve.papers.stepsrecord import steps_record
from pullcurve.parts.hardware import Hardware
from pullcurve.studies.service import Ridden
from pullcurve.verbs.jobs import demo_job, demo_names
from pullcurve.verbs.stripping import (
    fluid_for,
    own_text,
    parse_hardware,
    read_hardware,
    service_for,
    start_hardware,
    steps_for,
    tasks_for,
)
from tests.studies.stripped import invented, is_safe, shortest

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


# A workshop's own hardware ------------------------------------------------------------------------------------


def own(*changes: tuple[str, str]) -> Hardware:
    """The demo unit's hardware as its workshop would have changed it."""
    text = own_text(demo_job())
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_hardware(text, "unit.toml")


def test_own_hardware_is_told_with_the_cautions_of_every_unit() -> None:
    job = demo_job()
    known, mine = steps_for(job, "reach"), steps_for(job, "reach", own(("Lift the end cover off.", "Pull.")))
    assert mine.cautions == known.cautions and mine.closing == known.closing and mine.prepare == known.prepare
    changed = [(a.words, b.words) for a, b in zip(known.lines, mine.lines, strict=True) if a != b]
    assert changed == [("Lift the end cover off.", "Pull.")]


def test_own_cautions_and_closing_checks_come_beside_those_of_every_unit() -> None:
    more = 'cautions = ["Hot."]\nprepare = ["Cold."]\nclosing = [{ ask = "Shut." }]\ntitle = '
    mine, known = steps_for(demo_job(), "reach", own(("title = ", more))), steps_for(demo_job(), "reach")
    assert mine.cautions == (*known.cautions, "Hot.")
    assert [line.words for line in mine.prepare] == [*(line.words for line in known.prepare), "Cold."]
    assert [line.words for line in mine.closing] == [*(line.words for line in known.closing), "Shut."]


def test_hardware_of_another_unit_is_a_caution() -> None:
    other = steps_for(demo_job("enduro-125.toml"), "reach", own())
    assert any("was described for" in words and "compare first" in words for words in other.cautions)
    assert not any("was described for" in words for words in steps_for(demo_job(), "reach", own()).cautions)


def test_hardware_that_leaves_nothing_of_this_unit_is_one_line_each() -> None:
    job = demo_job("electric.toml")
    piece = 'id = "p"\noff = "off"\non = "on"\nonly = ["clutch"]'
    text = 'title = "t"\nnote = "n"\ntools = [{ id = "k", name = "key" }]\n[[pieces]]\n' + piece
    text += '\n[[tasks]]\nid = "a"\nname = "a"\ntargets = ["p"]\nexchange = "e"\n'
    with pytest.raises(BadInput) as refused:
        tasks_for(job, parse_hardware(text, "unit.toml"))
    assert all(line.startswith("hardware, as this unit has it: ") for line in str(refused.value).splitlines())


@pytest.mark.parametrize("seed", range(12))
def test_own_order_is_the_shortest_by_brute_force(seed: int) -> None:
    """Small units made at random and written as a file; the fewest pieces and pick-ups by going every safe way."""
    draw = Random(seed)
    count = draw.randint(4, 9)
    waits = [[one for one in range(row) if draw.random() < 0.3] for row in range(count)]
    tools = [draw.randint(0, 3) for _ in range(count)]
    made, task = invented(waits, [[] for _ in range(count)], tools, [count - 1, count // 2])
    mine = parse_hardware(hardware_text(made, "mine"), "unit.toml")
    told = steps_for(demo_job(), task.id, mine)
    length, changes = shortest(made, {f"p{count - 1}", f"p{count // 2}"})
    off = [line.piece for line in told.strip]
    assert (len(off), told.pick_ups) == (length, changes) and told.exact
    assert is_safe(made, [name for name in off if name])


def test_template_is_written_once(tmp_path: Path) -> None:
    file = start_hardware(demo_job(), tmp_path / "unit.toml")
    assert read_hardware(file) == own()
    for path, said in ((file, "is there already"), (tmp_path / "no" / "unit.toml", "cannot be written")):
        with pytest.raises(BadInput, match=said):
            start_hardware(demo_job(), path)


def test_own_hardware_far_larger_than_any_unit_is_still_told_in_a_safe_order() -> None:
    draw = Random(7)
    waits = [[one for one in range(row) if draw.random() < 0.005] for row in range(180)]
    made, task = invented(waits, [[] for _ in waits], [draw.randint(0, 4) for _ in waits], range(180))
    told = steps_for(demo_job(), task.id, parse_hardware(hardware_text(made, "mine"), "unit.toml"))
    off = [line.piece or "" for line in told.strip]
    assert len(off) == 180 and is_safe(made, off) and [line.piece for line in told.build] == off[::-1]
