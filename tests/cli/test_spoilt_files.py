"""Spoilt job files through the whole command line: an exit code and lines, never a crash."""

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import PullcurveError
from pullcurve.parts.facts import data_text
from pullcurve.verbs.asking import pull_levers
from pullcurve.verbs.jobs import demo_names, open_job
from tests.cli.speaking import Said, Speak, job_file
from tests.intake.mutate import mutants

COMMANDS = ("pull", "find", "swap")
NAMES = demo_names()
NUMBER = re.compile(r"(?<![\w.\"-])\d+(?:\.\d+)?(?![\w.\"-])")
FACTORS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.1, 1.3, 1.6, 2.0, 3.0, 6.0)


def nudged(text: str, count: int, seed: int) -> Iterator[bytes]:
    """So many copies of a job with one to three numbers larger or smaller: still a job, but an odd one."""
    draw = random.Random(seed)
    head, rack = text.split("[[rack.brake]]")
    for _ in range(count):
        odd = head
        for _ in range(draw.randint(1, 3)):
            start, end = draw.choice([found.span() for found in NUMBER.finditer(odd)])
            number = float(odd[start:end]) * draw.choice(FACTORS)
            odd = f"{odd[:start]}{int(number) if number == int(number) else round(number, 6)}{odd[end:]}"
        yield f"{odd}[[rack.brake]]{rack}".encode()


def check(said: Said, where: object) -> None:
    """An answer on standard output, or lines on standard error and an exit code that says whose fault it is."""
    assert said.code in (0, 2, 3), (where, said.err)
    assert "Traceback" not in said.out + said.err
    if said.code:
        assert said.out == ""
        assert said.lines
        assert all(line.strip() for line in said.lines)
    else:
        assert said.err == ""
        assert said.out
    if said.code == 3:
        assert len(said.lines) == 1


def through(cli: Speak, folder: Path, texts: Iterator[bytes]) -> dict[int, int]:
    """Every text through the whole command line; how often each exit code came."""
    path = folder / "job.toml"
    codes = {0: 0, 2: 0, 3: 0}
    for row, text in enumerate(texts):
        path.write_bytes(text)
        said = cli(COMMANDS[row % 3], path, *(("--json",) if row % 2 else ()))
        check(said, row)
        codes[said.code] += 1
    assert sorted(file.name for file in folder.iterdir()) == ["job.toml"]
    return codes


def spread(make: Callable[[str, int, int], Iterator[bytes]], count: int, seed: int) -> Iterator[bytes]:
    """So many texts or a few more, from all demo jobs alike."""
    for place, name in enumerate(NAMES):
        yield from make(data_text(f"demo/{name}"), -(-count // len(NAMES)), seed + place)


def test_three_hundred_spoilt_files_through_the_whole_command_line(cli: Speak, tmp_path: Path) -> None:
    codes = through(cli, tmp_path, spread(mutants, 300, 70))
    assert sum(codes.values()) >= 300
    assert codes[2] >= 200


def test_odd_jobs_through_the_whole_command_line(cli: Speak, tmp_path: Path) -> None:
    codes = through(cli, tmp_path, spread(nudged, 105, 80))
    # They are worth something only if many get as far as the numbers, and some find nothing.
    assert codes[0] >= 30
    assert codes[3] >= 1
    assert codes[2] >= 10


def opened(texts: Iterator[bytes], folder: Path) -> tuple[int, int]:
    """Every text opened and pulled, warnings as errors; how many were taken and how many refused."""
    path = folder / "job.toml"
    taken = refused = 0
    for text in texts:
        path.write_bytes(text)
        try:
            job = open_job(path)
            known = pull_levers(job)
        except PullcurveError as error:
            refused += bool(str(error))
        else:
            taken += 1
            # Past the last lift of a spring's table nobody knows the force; elsewhere everybody does.
            table = job.clutch is not None and job.clutch.spring == "diaphragm"
            for lever in known.pull.levers:
                unknown = np.isnan(lever.curves.pull)
                assert not unknown[0] and (table or not np.any(unknown)), text.decode()
                assert not np.any(lever.curves.release_worn > lever.curves.pull), text.decode()
    return taken, refused


def test_two_thousand_spoilt_files_are_taken_or_refused(tmp_path: Path) -> None:
    taken, refused = opened(spread(mutants, 2000, 0), tmp_path)
    assert taken + refused >= 2000
    assert refused >= 1000


def test_odd_jobs_are_taken_or_refused(tmp_path: Path) -> None:
    taken, refused = opened(spread(nudged, 600, 10), tmp_path)
    assert taken >= 240
    assert refused >= 60


@pytest.mark.slow
def test_many_more(tmp_path: Path) -> None:
    opened(spread(mutants, 10_000, 1000), tmp_path)
    opened(spread(nudged, 10_000, 2000), tmp_path)


@pytest.mark.slow
def test_many_more_odd_jobs_through_the_whole_command_line(cli: Speak, tmp_path: Path) -> None:
    through(cli, tmp_path, spread(nudged, 3000, 3000))


@pytest.mark.parametrize("word", ["\udcff", "a\nb", "[/x]", "x" * 300, "\u202e", "😀", "-", "a/" * 3000])
def test_what_is_typed_may_be_as_odd_as_what_is_in_a_file(cli: Speak, word: str) -> None:
    for command in COMMANDS:
        said = cli(command, word)
        assert said.code == 2
        assert len(said.lines) == 1


@pytest.mark.parametrize("word", ["\udcff", "a\nb", "[/x]", "x" * 300, "\u202e", "😀"])
def test_an_odd_complaint_is_one_line(cli: Speak, tmp_path: Path, word: str) -> None:
    said = cli("swap", job_file(tmp_path), word)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
