"""The sheet command: what is typed and what comes back."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.speaking import Said, Speak

ON = ("--with", "brake-in0-tu0.3-st7.5", "--with", "assist-in0-on4-fa0.60")


def answer(said: Said) -> dict[str, Any]:
    """JSON by the standard, and nothing on standard error."""
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize(("ending", "begins"), [("pdf", b"%PDF-"), ("html", b"<!DOCTYPE html>")])
def test_sheet_is_written_and_its_id_told(cli: Speak, job: Path, ending: str, begins: bytes) -> None:
    target = job.with_name(f"sheet.{ending}")
    said = cli("sheet", job, "-o", target)
    assert (said.code, said.err) == (0, "")
    where, whose = said.out.splitlines()
    assert where == f"sheet: {target}" and whose.endswith(": 300 two-stroke enduro, no foot pedal")
    assert target.read_bytes().startswith(begins)


def test_json_has_the_numbers_of_pull(cli: Speak, job: Path) -> None:
    found = answer(cli("sheet", job, *ON, "-o", job.with_name("s.html"), "--json"))
    pulled = answer(cli("pull", job, *ON, "--json"))
    for role, known in (("fitted", pulled), ("proposed", pulled["proposed"])):
        for lever in known["levers"]:
            for kind, readouts in lever["readouts"].items():
                assert found["sets"][role]["readouts"][kind] == readouts
        assert found["sets"][role]["cams"] == known["cams"]
    assert found["code"] == f"pullcurve job {found['job_id']} {found['date']}"
    assert found["fit_to_ride_as_computed"] is True and all(limit["kept"] for limit in found["limits"])
    assert found["changes"] and found["cautions"] and found["to_tick"] and found["next_check"]


def test_json_of_the_bench_has_the_lines_of_steps(cli: Speak, job: Path) -> None:
    found = answer(cli("sheet", job, "--bench", "reach", *ON, "-o", job.with_name("s.html"), "--json"))
    known = answer(cli("steps", job, "--task", "reach", "--json"))
    assert found["lines"] == known["lines"]
    assert found["exchanged"][0] == {"off": "brake-in0-tu0.0-st8.5", "on": "brake-in0-tu0.3-st7.5"}


def test_what_is_wrong_is_told_first(cli: Speak, tmp_path: Path) -> None:
    from tests.cli.speaking import job_file

    job = job_file(tmp_path, "electric.toml")
    said = cli("sheet", job, "-o", tmp_path / "s.html")
    assert said.code == 0
    assert said.out.splitlines()[0].startswith("! Not kept: the finger must touch the lever at rest")
    assert answer(cli("sheet", job, "-o", tmp_path / "s.html", "--json"))["fit_to_ride_as_computed"] is False


def test_a_bench_pull_stands_on_the_sheet(cli: Speak, job: Path) -> None:
    table, target = job.with_name("p.csv"), job.with_name("s.html")
    rows = [f"{place};{2 * place}" for place in range(31)] + [
        f"{place};{place}" for place in range(30, -1, -1)
    ]
    table.write_text("\n".join(["travel_mm;force_newton", *rows]) + "\n", encoding="utf-8")
    found = answer(cli("sheet", job, "--pull", table, "--lever", "brake", "-o", target, "--json"))
    assert found["measured"] == {"file": "p.csv", "set": "fitted"}
    assert ">measured<" in target.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("-o", "s.txt"), 'ends in ".txt"; allowed is .pdf or .html'),
        ((), "Missing option '-o'"),
        (("-o", "s.pdf", "--with", "brake-in0-tu0.3-st7.6"), "did you mean brake-in0-tu0.3-st7.5?"),
        (("-o", "s.pdf", "--bench", "brake-can"), "did you mean brake-cam?"),
        (
            ("-o", "s.pdf", "--bench", "grease", "--pull", "p.csv"),
            "a bench pull stands on the rider's sheet only",
        ),
        (("-o", "s.pdf", "--pull", "none.csv"), "none.csv: is not there"),
        (("-o", "no/such/folder/s.html"), "cannot be written"),
    ],
)
def test_what_is_typed_wrong_is_one_line(
    cli: Speak, job: Path, arguments: tuple[str, ...], part: str
) -> None:
    said = cli("sheet", job, *arguments)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert part in said.lines[0]
    assert sorted(path.name for path in job.parent.iterdir()) == ["job.toml"]


def test_help_has_its_example(cli: Speak) -> None:
    said = cli("sheet", "--help")
    assert said.code == 0 and "pullcurve sheet job.toml --with brake-in0-tu0.3-st7.5 -o sheet.pdf" in said.out
