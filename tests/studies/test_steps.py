"""Strip and build line by line, on every demo job and every unit of a layout, held to what a mechanic knows."""

import re

import pytest

from pullcurve.errors import BadInput
from pullcurve.parts.hardware import Feature, Task
from pullcurve.parts.layout import described, fitted, hardware_of
from pullcurve.studies.precedence import least, precedence
from pullcurve.studies.steps import TRAPS, Step, Steps, steps, task_of
from pullcurve.verbs.jobs import demo_job, demo_names
from tests.parts.test_hardware import UNITS
from tests.studies.stripped import fewest_of, is_safe

DEMOS = {name.removesuffix(".toml"): hardware_of(demo_job(name)) for name in demo_names()}
CASES = [(unit, task) for unit, hardware in DEMOS.items() for task in hardware.tasks]
NAMES = [f"{unit}, {task.id}" for unit, task in CASES]

KEYS = {"cap": {"M3": 2.5, "M4": 3, "M5": 4}, "button": {"M3": 2, "M4": 2.5, "M5": 3}}
"""Hexagon keys of ISO 4762 and ISO 7380-1 in mm; ISO 10642 is as ISO 7380-1."""


def made(unit: str, task: Task) -> Steps:
    """The lines of a task on a demo unit."""
    return steps(DEMOS[unit], task, "unit")


def names(lines: tuple[Step, ...], act: str) -> list[str]:
    """Pieces of the lines of one act, in order."""
    return [line.piece or "" for line in lines if line.act == act]


def place(lines: tuple[Step, ...], part: str, act: str | None = None) -> int:
    """Number of the one line that has these words."""
    found = [line.number for line in lines if part in line.words and act in (None, line.act)]
    assert len(found) == 1, (part, found)
    return found[0]


# Every task on every demo job -------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_build_is_the_reverse_of_a_safe_strip(unit: str, task: Task) -> None:
    told, hardware = made(unit, task), DEMOS[unit]
    off, on = names(told.strip, "off"), names(told.build, "on")
    assert on == off[::-1]
    assert is_safe(hardware, off)
    there: set[str] = set()  # what is on again: nothing goes on before all that hangs on it is on
    for name in on:
        waiting = {other for other in on if name in hardware.piece(other).first}
        assert waiting <= there, name
        there.add(name)


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_lines_are_numbered_through(unit: str, task: Task) -> None:
    told = made(unit, task)
    assert [line.number for line in told.lines] == list(range(1, len(told.lines) + 1))
    acts = [line.act for line in told.lines]
    parts = [(told.prepare, {"prepare"}), (told.strip, {"off"}), ((told.exchange,), {"exchange"})]
    parts += [(told.build, {"on", "check"}), (told.closing, {"closing"})]
    assert all({line.act for line in lines} <= of for lines, of in parts)
    assert [line.ticked for line in told.lines] == [act in ("prepare", "check", "closing") for act in acts]


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_every_screw_has_its_key_and_a_torque_when_it_goes_in(unit: str, task: Task) -> None:
    told, hardware = made(unit, task), DEMOS[unit]
    for line in (*told.strip, *told.build):
        screws = hardware.piece(line.piece or "").fastener
        if line.act == "check" or screws is None:
            assert line.torque is None
            continue
        key = KEYS["cap" if screws.head == "cap" else "button"][screws.thread]
        assert line.tool == f"hex key {key:g} mm"
        assert line.screws == screws.name
        assert (line.torque is not None) == (line.act == "on")
    used = {line.tool for line in told.strip if line.tool}
    assert set(told.tools) == used


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_interlocks_name_the_line_that_comes_before(unit: str, task: Task) -> None:
    told, hardware = made(unit, task), DEMOS[unit]
    numbers = {line.piece: line.number for line in told.strip}
    for line in told.strip:
        locks = hardware.piece(line.piece or "").interlocks
        told_of = [caution.words for caution in line.cautions if caution.trap == "breaks"]
        assert len(told_of) == len(locks)
        for lock, words in zip(locks, told_of, strict=True):
            assert words == f"Not before line {numbers[lock.first]}: else {lock.breaks}."
            assert numbers[lock.first] < line.number


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_nothing_that_can_hurt_goes_without_a_caution(unit: str, task: Task) -> None:
    told, hardware = made(unit, task), DEMOS[unit]
    said = " ".join(told.cautions)
    for part in ("licensed workshop", "can kill", "certifies nothing", "No lever is squeezed"):
        assert part in said
    for line in (*told.strip, *told.build):
        if line.act == "check":
            continue
        traps = [trap for trap in hardware.piece(line.piece or "").traps if trap.when in (line.act, "both")]
        shown = [(caution.trap, caution.words) for caution in line.cautions if caution.trap != "breaks"]
        assert shown == [(trap.trap, trap.words) for trap in traps]
    assert {caution.trap for line in told.lines for caution in line.cautions} <= set(TRAPS)


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_before_riding_brake_and_clutch_are_tried(unit: str, task: Task) -> None:
    told, job = made(unit, task), demo_job(f"{unit}.toml")
    last = " ".join(line.words for line in told.closing)
    for part in (
        "Brake lever pulled hard",
        "Rear wheel turns freely",
        "walking pace",
        "port opens",
        "licensed",
    ):
        assert part in last
    assert ("Engine off, in gear" in last) == (job.clutch is not None)
    assert ("assist never holds it in" in last) == (job.fitted.assist is not None)
    assert ("foot alone" in last) == (job.pedal is not None)
    assert ("Free play of the clutch cable" in last) == (unit == "enduro-250")
    assert ("line bled" in last) == (task.id == "foot-plunger")


# What a mechanic knows --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("layout", "has"), UNITS, ids=lambda one: one if isinstance(one, str) else len(one))
def test_every_unit_of_a_layout_is_built_by_the_rules(layout: str, has: frozenset[Feature]) -> None:
    hardware = fitted(described(layout), has)
    for task in hardware.tasks:
        told = steps(hardware, task, "unit")
        on = names(told.build, "on")
        assert told.exact and is_safe(hardware, on[::-1])
        assert told.pick_ups == fewest_of(hardware, frozenset(on))
        for piece in on:
            if piece.endswith("cam"):
                screws = "lower-cam-screws" if f"{piece}-screws" not in on else f"{piece}-screws"
                home = place(told.build, f"{piece.replace('-', ' ').capitalize()} fully home", "check")
                goes_in = next(
                    line.number for line in told.build if line.piece == screws and line.act == "on"
                )
                set_on = next(line.number for line in told.build if line.piece == piece and line.act == "on")
                assert set_on < home < goes_in
        for spring in {"assist-cap", "assist-leg"} & set(on):
            held = {"pin-lock-screw", "pin-foot-screw", "pin-clip", "end-cover-screws"} & set(on)
            assert all(on.index(one) < on.index(spring) for one in held)
        if "pedal-fluid" in on:
            assert on[-1] == "pedal-fluid"


@pytest.mark.parametrize("unit", DEMOS)
def test_grease_seats_needles_and_hooks_rockers_before_the_levers_go_back(unit: str) -> None:
    told = made(unit, task_of(DEMOS[unit], "grease"))
    assert place(
        told.build, "All needles of the brake roller there, seated side by side, in grease."
    ) < place(told.build, "Brake rocker hooked fully on its post and swinging freely.")
    on = names(told.build, "on")
    lever = "brake-lever" if "brake-lever" in on else "lever"
    assert on.index("brake-roller") < on.index("brake-rocker") < on.index(lever) < on.index("end-cover")
    trapped = place(told.build, "it traps the rockers", "check")
    assert trapped > next(
        line.number for line in told.build if line.piece == "end-cover" and line.act == "on"
    )
    assert "the end cover traps the rocker afterwards" in told.kept
    assert "the rocker is hooked on its post before the lever goes back" in told.kept


@pytest.mark.parametrize("unit", ["enduro-300", "motocross-450", "supermoto-450", "trials-280"])
def test_brake_cam_leaves_assist_and_clutch_lever_where_they_are(unit: str) -> None:
    told = made(unit, task_of(DEMOS[unit], "brake-cam"))
    assert set(names(told.strip, "off")) == {
        "end-cover-screws",
        "end-cover",
        "pin-foot-screw",
        "pin-lock-screw",
        "pin-drawn",
        "brake-lever",
        "brake-cam-screws",
        "brake-cam",
    }


@pytest.mark.parametrize("unit", [unit for unit in DEMOS if unit != "electric"])
def test_cams_of_one_lever_are_checked_for_one_reach(unit: str) -> None:
    for name in ("clutch-cam", "assist-cam", "reach"):
        told = made(unit, task_of(DEMOS[unit], name))
        assert any("of the same reach" in line.words for line in told.build if line.act == "check")
    alone = made("electric", task_of(DEMOS["electric"], "reach"))
    assert not any("of the same reach" in line.words for line in alone.build)


@pytest.mark.parametrize("unit", [unit for unit in DEMOS if unit != "electric"])
def test_a_reach_changes_all_cams(unit: str) -> None:
    told = made(unit, task_of(DEMOS[unit], "reach"))
    assert {"brake-cam", "clutch-cam", "assist-cam"} <= set(names(told.strip, "off"))
    assert ("both levers" in told.name) == (unit != "enduro-125")


def test_a_loaded_spring_is_let_down_before_its_lever_comes_out() -> None:
    for unit, spring in (
        ("enduro-300", "assist-cap"),
        ("enduro-250", "assist-leg"),
        ("enduro-125", "assist-cap"),
    ):
        off = names(made(unit, task_of(DEMOS[unit], "clutch-cam")).strip, "off")
        lever = "lever" if "lever" in off else "clutch-lever"
        assert off.index(spring) < off.index(lever)


def test_an_opened_line_is_bled_when_all_is_closed_and_held_under_pressure() -> None:
    told = made("motocross-450", task_of(DEMOS["motocross-450"], "foot-plunger"))
    on = names(told.build, "on")
    assert on.index("foot-plunger") < on.index("pedal-hose") < on.index("pedal-fluid")
    assert on.index("end-cover-screws") < on.index("pedal-fluid")
    place(told.build, "No bubble in the last three strokes", "check")
    place(told.build, "Pedal pressed hard for a minute", "check")
    assert any(line.startswith("fresh brake fluid") for line in told.consumables)
    closed = made("motocross-450", task_of(DEMOS["motocross-450"], "brake-cam"))
    assert not any("brake fluid" in line for line in closed.consumables)


def test_threadlocker_goes_on_the_thread_and_never_on_the_countersink() -> None:
    told = made("enduro-300", task_of(DEMOS["enduro-300"], "reach"))
    for line in told.build:
        if line.act == "on" and (line.piece or "").endswith("cam-screws"):
            (use,) = line.uses
            assert re.match(r"low-strength threadlocker: on the thread only; never on the countersink", use)


# Tasks ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("unit", "name", "said"),
    [
        ("electric", "", "task: is missing; allowed on this unit is brake-cam, reach, grease"),
        ("electric", "clutch-cam", 'task: "clutch-cam" is not known for this unit; allowed on this unit is '
         "brake-cam, reach, grease"),
        ("enduro-300", "brake-can", 'task: "brake-can" is not known for this unit; did you mean brake-cam?'),
        ("enduro-300", "foot-plunger", 'task: "foot-plunger" is not known for this unit; allowed on this unit is '
         "brake-cam, clutch-cam, assist-cam, reach, grease"),
    ],
)  # fmt: skip
def test_another_task_is_refused_with_those_that_can_be_done(unit: str, name: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        task_of(DEMOS[unit], name)
    assert str(refused.value) == said


def test_the_quick_road_is_told_as_such() -> None:
    hardware = DEMOS["motocross-450"]
    for task in hardware.tasks:
        told = steps(hardware, task, "unit", most_places=1)
        assert not told.exact
        assert set(names(told.strip, "off")) == least(precedence(hardware), task.targets)
