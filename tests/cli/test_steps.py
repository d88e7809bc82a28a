"""The steps command: numbered lines on a terminal, the same as JSON, one line for what is typed wrong."""

import json
import re
from pathlib import Path

import pytest

from pullcurve.verbs.jobs import demo_job, demo_names
from pullcurve.verbs.stripping import tasks_for
from tests.cli.speaking import Speak, job_file

CASES = [(name, task.id) for name in demo_names() for task in tasks_for(demo_job(name))]


@pytest.mark.parametrize(("name", "task"), CASES)
def test_every_line_is_numbered(cli: Speak, tmp_path: Path, name: str, task: str) -> None:
    said = cli("steps", job_file(tmp_path, name), "--task", task)
    assert (said.code, said.err) == (0, "")
    numbers = [int(found) for found in re.findall(r"^ *(\d+)\. ", said.out, flags=re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1)) and len(numbers) > 20
    for part in (
        "Before you start",
        "Strip: ",
        "On the bench",
        "Build: ",
        "Before riding",
        "Caution: ",
        "tools: ",
    ):
        assert part in said.out
    flat = " ".join(said.out.split())
    assert "licensed workshop" in flat and "certifies nothing" in flat and "Torques are guidance" in flat
    for heading in ("Before you start", "Before riding"):
        after = said.out.split(heading)[1].splitlines()[1]
        assert re.match(r" *\d+\. \[ \] ", after), "a box to tick"


def test_traps_and_torques_stand_beneath_their_lines(cli: Speak, job: Path) -> None:
    flat = " ".join(cli("steps", job, "--task", "assist-cam").out.split())
    assert "hex key 6 mm: Cover the cap of the assist spring" in flat
    assert "can jump out: The assist spring pushes the cap" in flat
    assert re.search(r"breaks if forced: Not before line \d+: else the loaded assist rocker", flat)
    assert "(2 × M3 × 8 mm, countersunk head, 10.9; about 0.9 N m, never above 1.0)" in flat
    assert "low-strength threadlocker: on the thread only; never on the countersink" in flat


def test_json_says_the_same(cli: Speak, job: Path) -> None:
    said = cli("steps", job, "--task", "reach", "--json")
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out)
    text = " ".join(cli("steps", job, "--task", "reach").out.split())
    assert found["title"] == "300 two-stroke enduro, no foot pedal" and found["title"] in text
    assert all(line["words"] in text for line in found["lines"])


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("--task", "brake-can"), "did you mean brake-cam?"),
        (
            ("--task", "foot-plunger"),
            "allowed on this unit is brake-cam, clutch-cam, assist-cam, reach, grease",
        ),
        ((), "task: is missing; allowed on this unit is"),
        (("--task",), "requires an argument"),
    ],
)
def test_a_wrong_task_is_one_line(cli: Speak, job: Path, arguments: tuple[str, ...], part: str) -> None:
    said = cli("steps", job, *arguments)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert part in said.lines[0]


def test_help_has_its_example(cli: Speak) -> None:
    said = cli("steps", "--help")
    assert said.code == 0 and "pullcurve steps job.toml --task brake-cam" in said.out


def test_own_hardware_is_started_changed_and_used(cli: Speak, job: Path) -> None:
    file = job.with_name("unit.toml")
    assert cli("steps", job, "--template", file).out == f"hardware to go on from: {file}\n"
    file.write_text(
        file.read_text(encoding="utf-8").replace("Lift the end cover off.", "Turn the lid off."),
        encoding="utf-8",
    )
    said = cli("steps", job, "--task", "reach", "--hardware", file)
    assert said.code == 0 and "Turn the lid off." in said.out
    sheet = job.with_name("bench.html")
    assert cli("sheet", job, "--bench", "reach", "--hardware", file, "-o", sheet).code == 0
    assert "Turn the lid off." in sheet.read_text(encoding="utf-8")
    assert cli("sheet", job, "--hardware", file, "-o", sheet).code == 0
    found = json.loads(cli("steps", job, "--template", job.with_name("other.toml"), "--json").out)
    assert found == {"hardware": str(job.with_name("other.toml"))}


def test_wrong_hardware_is_told_line_by_line(cli: Speak, job: Path) -> None:
    file = job.with_name("unit.toml")
    cli("steps", job, "--template", file)
    file.write_text(
        file.read_text(encoding="utf-8").replace('"end-cover-screws"]', '"cover-screws"]'), encoding="utf-8"
    )
    said = cli("steps", job, "--task", "reach", "--hardware", file)
    assert (said.code, said.out) == (2, "")
    assert 'unit.toml [pieces.end-cover]: held_by name "cover-screws"' in said.lines[0]
    again = cli("steps", job, "--template", file)
    assert again.code == 2 and "is there already and stays as it is" in again.lines[0]
