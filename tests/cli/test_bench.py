"""The bench commands: what is typed and what comes back."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pullcurve.intake.jobfile import read_job
from pullcurve.parts.origin import origins
from tests.cli.speaking import Said, Speak


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is remembered of columns stays in the test."""
    monkeypatch.setattr("click.get_app_dir", lambda _: str(tmp_path / "own"))


@pytest.fixture
def pull(cli: Speak, job: Path, tmp_path: Path) -> Path:
    """A pull of the brake as the job is written, from the simulated gauge."""
    file = tmp_path / "pull.csv"
    said = cli("bench", "live", "simulated", "--job", job, "--lever", "brake", "-o", file)
    assert (said.code, said.err) == (0, "")
    assert "3 pulls" in said.out and str(file) in said.out.replace("\n", "")
    return file


def answer(said: Said) -> dict[str, Any]:
    """JSON by the standard, and nothing on standard error."""
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


def refused(said: Said, part: str, code: int = 2) -> None:
    """One line that says so, and nothing else."""
    assert (said.code, said.out, len(said.lines)) == (code, "", 1)
    assert part in said.lines[0]


def loop_file(path: Path, head: str = "travel_mm;force_newton", factor: float = 1.0) -> Path:
    """A hand that pulls 2 N per mm over 30 mm and lets go along half of it."""
    way = [*range(31), *range(30, -1, -1)]
    force = [2.0 * x if row <= 30 else x for row, x in enumerate(way)]
    lines = [f"{x};{factor * f:.3f}" for x, f in zip(way, force, strict=True)]
    path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return path


# Read ---------------------------------------------------------------------------------------------------------


def test_what_is_read_off_a_loop_is_what_was_put_in(cli: Speak, tmp_path: Path) -> None:
    found = answer(cli("bench", "read", loop_file(tmp_path / "a.csv"), "--json"))
    read_off = {label: one["value"] for label, one in found["read_off"].items()}
    assert found["pulls"] == 1
    end = read_off["travel"]
    assert end == pytest.approx(0.030, rel=1e-6)
    assert read_off["force at the end"] == pytest.approx(2000.0 * end, rel=1e-6)
    assert read_off["pull force at half travel"] == pytest.approx(1000.0 * end, abs=0.3)
    assert read_off["release force at half travel"] == pytest.approx(500.0 * end, abs=0.3)
    # Triangles: 2 N/mm and 1 N/mm over the travel.
    assert read_off["work put in"] == pytest.approx(0.5 * 2000.0 * end**2, rel=0.01)
    assert read_off["work given back"] == pytest.approx(0.5 * 1000.0 * end**2, rel=0.01)


@pytest.mark.parametrize("rows", [range(31), range(30, -1, -1)])
def test_one_branch_alone_is_read_as_far_as_it_goes(cli: Speak, tmp_path: Path, rows: range) -> None:
    """2 N per mm, in or out only: the force at half travel is half of the force at the end, the rest is not read."""
    file = tmp_path / "half.csv"
    file.write_text("\n".join(["travel_mm;force_newton", *(f"{x};{2 * x}" for x in rows)]), encoding="utf-8")
    found = answer(cli("bench", "read", file, "--json"))["read_off"]
    here, other = ("pull", "release") if rows[0] == 0 else ("release", "pull")
    work, none = ("work put in", "work given back") if rows[0] == 0 else ("work given back", "work put in")
    assert found[f"{here} force at half travel"]["value"] == pytest.approx(30.0, abs=0.3)
    assert found[work]["value"] == pytest.approx(0.5 * 60.0 * 0.030, rel=0.01)  # a triangle
    assert found[f"{other} force at half travel"]["value"] is None and found[none]["value"] is None
    table = cli("bench", "read", file).out
    assert work in table and none not in table and "nan" not in table
    whole = loop_file(tmp_path / "whole.csv")
    for pair in ((file, whole), (whole, file)):
        said = cli("bench", "compare", *pair)
        assert (
            "nan" not in said.out and "fault of its own" not in said.err and len(said.err.splitlines()) <= 1
        )


def test_sorted_pull_reads_back_the_same(cli: Speak, tmp_path: Path) -> None:
    first = answer(cli("bench", "read", loop_file(tmp_path / "a.csv"), "-o", tmp_path / "b.csv", "--json"))
    again = answer(cli("bench", "read", tmp_path / "b.csv", "--json"))
    assert first["file"] == str(tmp_path / "b.csv")
    written, read = (np.array(one["branches"]["pull"], dtype=np.float64) for one in (first, again))
    assert np.allclose(read, written, atol=1e-3, equal_nan=True)


def test_units_that_are_said_are_remembered(cli: Speak, tmp_path: Path) -> None:
    file = loop_file(tmp_path / "a.csv", "way;load", 0.1)
    refused(cli("bench", "read", file), "a.csv")
    said = ("--column", "travel=way", "--column", "force=load", "--unit", "travel=mm", "--unit", "force=kgf")
    first = answer(cli("bench", "read", file, *said, "--json"))
    # 0.2 kgf for each mm, by the standard gravity of ISO 80000-3.
    read_off = first["read_off"]
    expected = 200.0 * 9.80665 * read_off["travel"]["value"]
    assert read_off["force at the end"]["value"] == pytest.approx(expected, rel=1e-3)
    again = answer(cli("bench", "read", file, "--json"))
    assert again["read_off"] == first["read_off"]


@pytest.mark.parametrize(
    ("typed", "part"),
    [
        (("--column", "force"), "--column force is none; allowed is WHAT=COLUMN"),
        (("--unit", "force=stone"), "stone"),
        (("--column", "force=9"), "9"),
    ],
)
def test_what_cannot_be_meant_is_one_line(
    cli: Speak, tmp_path: Path, typed: tuple[str, ...], part: str
) -> None:
    refused(cli("bench", "read", loop_file(tmp_path / "a.csv"), *typed), part)


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"", "empty"),
        (bytes(range(256)) * 8, "text"),
        (b"force\n1\n2\n3\n4\n", "column"),
        (b"travel_mm;force_newton\n" + b"nan;nan\n" * 40, "number"),
    ],
)
def test_file_that_is_no_pull_is_one_line(cli: Speak, tmp_path: Path, content: bytes, part: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_bytes(content)
    said = cli("bench", "read", file)
    refused(said, "bad.csv")
    assert part in said.lines[0]


# Fit and diagnose -----------------------------------------------------------------------------------------------


def test_fit_explains_the_pull_and_goes_into_the_job(
    cli: Speak, job: Path, pull: Path, tmp_path: Path
) -> None:
    adopted = tmp_path / "measured.toml"
    pictures = tmp_path / "fit.svg", tmp_path / "spans.png"
    said = cli(
        "bench", "fit", pull, "--job", job, "--lever", "brake",
        "--adopt", adopted, "--plot", pictures[0], "--intervals", pictures[1],
    )  # fmt: skip
    assert (said.code, said.err) == (0, "")
    words = " ".join(said.out.split())
    assert "The fitted job explains the pull" in words and "drag of the seals" in words
    assert all(picture.stat().st_size > 1000 for picture in pictures)
    marked = [path for path, one in origins(read_job(adopted)).items() if one.source == "measured"]
    assert marked
    assert (cli("pull", adopted).code, cli("find", adopted, "--most", "1").code) == (0, 0)


def test_fit_as_json_has_every_number_with_its_interval(cli: Speak, job: Path, pull: Path) -> None:
    found = answer(cli("bench", "fit", pull, "--job", job, "--lever", "brake", "--json"))
    numbers = found["fit"]["numbers"]
    assert all(one["low"] <= one["value"] <= one["high"] for one in numbers.values())
    assert np.shape(found["fit"]["correlation"]) == (len(numbers), len(numbers))


def test_machine_in_order_is_called_so(cli: Speak, job: Path, pull: Path, tmp_path: Path) -> None:
    picture = tmp_path / "why.svg"
    said = cli("bench", "diagnose", pull, "--job", job, "--lever", "brake", "--plot", picture)
    assert (said.code, said.err) == (0, "")
    assert "Nothing wrong that this pull would show" in said.out and "certifies nothing" in said.out
    assert picture.exists()


def test_diagnosis_as_json_adds_up(cli: Speak, job: Path, pull: Path) -> None:
    found = answer(cli("bench", "diagnose", pull, "--job", job, "--lever", "brake", "--json"))["diagnosis"]
    assert sum(one["probability"] for one in found["causes"]) == pytest.approx(1.0)
    assert found["first"] == found["causes"][0]["of"] == "healthy"


def test_pull_without_a_job_is_one_line(cli: Speak, pull: Path) -> None:
    refused(cli("bench", "diagnose", pull), "names no job; give --job")


# Compare and live -------------------------------------------------------------------------------------------------


def test_two_pulls_are_compared_in_felt_steps(cli: Speak, tmp_path: Path) -> None:
    both = loop_file(tmp_path / "a.csv"), loop_file(tmp_path / "b.csv", factor=1.3)
    picture = tmp_path / "both.svg"
    said = cli("bench", "compare", *both, "--plot", picture)
    assert (said.code, said.err) == (0, "")
    assert "A finger can tell them apart, a day later too" in said.out and picture.exists()


def test_pull_alone_is_compared_with_what_the_job_predicts(cli: Speak, job: Path, pull: Path) -> None:
    found = answer(cli("bench", "compare", pull, "--job", job, "--lever", "brake", "--json"))
    assert found["before"] == "predicted"
    assert "No finger can tell" in found["words"]


def test_port_that_is_not_there_is_one_line(cli: Speak, tmp_path: Path) -> None:
    said = cli("bench", "live", str(tmp_path / "ttyNONE"), "-o", tmp_path / "p.csv")
    refused(said, "ttyNONE")
    assert not (tmp_path / "p.csv").exists()
