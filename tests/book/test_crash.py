"""A crash in the middle of a write loses nothing that was committed, and two writers do not lose each other's lines."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from pullcurve.book import findings, pages
from pullcurve.book.opening import opened, reading, writing
from pullcurve.book.upgrading import TODAY, step_of
from tests.book.lines import add_machine
from tests.book.servers import Server
from tests.cli.speaking import ROOT, environment

BLOWS = {"file": 8, "server": 3}
MANY = 200
"""How often the writer is killed, in every run and in the slow one."""

LONGEST = 0.04
"""A blow falls within so many seconds after a line was safe [s]."""


@contextmanager
def writer(place: str, name: str, count: int) -> Iterator["subprocess.Popen[str]"]:
    """A program that writes."""
    command = [sys.executable, "-m", "tests.book.writer", place, name, str(count)]
    paths = os.pathsep.join([str(ROOT / "src"), str(ROOT)])
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment(PYTHONPATH=paths),
    ) as process:
        try:
            yield process
        finally:
            process.kill()


def killed(place: str, chance: random.Random) -> set[int]:
    """Kill a writer at some moment of its second or later entry; returns what it had called safe."""
    with writer(place, "north-12", 1000) as process:
        assert process.stdout is not None and process.stderr is not None
        safe = process.stdout.readline()
        assert safe, process.stderr.read()
        time.sleep(chance.uniform(0.0, LONGEST))
        process.kill()
        lines = [safe, *process.stdout.readlines()]
    return {int(line) for line in lines if line.endswith("\n")}


def whole(place: str) -> set[int]:
    """Visits in the book, each with all that belongs to it."""
    with opened(place) as book, reading(book) as page:
        machine = pages.machine_named(page, "north-12")
        assert machine is not None
        visits = pages.visits_of(page, machine.id)
        rides = pages.lines_of(page, [visit.id for visit in visits])
        found = findings.search(page, "ride", machine.id, 100_000)
        hit = findings.search(page, "tires", machine.id, 100_000)
        for visit in visits:
            assert len(visit.cams) == 3 and len(visit.services) == 3
            assert len(pages.content(page, visit.job).content) > 100_000
    assert [line.visit for line in rides] == sorted(visit.id for visit in visits)
    assert all(line.told == {"points": {"brake.force_lock": 1, "brake.gap_rest": -1}} for line in rides)
    assert {line.visit for line in found} == {line.visit for line in hit} == {visit.id for visit in visits}
    return {visit.id for visit in visits}


def crash(place: str, blows: int) -> None:
    """Kill writers; after each blow everything that was called safe is there, and nothing by half."""
    with opened(place, new=True) as book, writing(book) as page:
        add_machine(page)
    chance = random.Random(blows)
    safe: set[int] = set()
    for blow in range(1, blows + 1):
        safe |= killed(place, chance)
        there = whole(place)
        assert safe <= there
        assert len(there - safe) <= blow  # what was committed when the blow kept it from being said
    assert len(safe) >= blows


def sound(place: str) -> None:
    """The file holds together, the index of the search too."""
    with closing(sqlite3.connect(place)) as known:
        assert known.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert known.execute("PRAGMA foreign_key_check").fetchall() == []
        known.execute("INSERT INTO finding_index(finding_index, rank) VALUES ('integrity-check', 1)")


def test_kill_loses_nothing_committed(place: str) -> None:
    if "://" in place:
        crash(place, BLOWS["server"])
    else:
        crash(place, BLOWS["file"])
        sound(place)


@pytest.mark.slow
def test_kill_many_times_loses_nothing_committed(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    crash(place, MANY)
    sound(place)


def test_a_server_that_is_killed_loses_nothing_committed(fresh: str, running: Server) -> None:
    with opened(fresh, new=True) as book, writing(book) as page:
        add_machine(page)
    with writer(fresh, "north-12", 1000) as process:
        assert process.stdout is not None and process.stderr is not None
        lines = [process.stdout.readline() for _ in range(3)]
        running.end(signal.SIGKILL)
        lines += process.stdout.readlines()
        told = process.stderr.read()
    assert "nothing of this entry was written, and all that was written before is safe" in told
    again(running)
    safe = {int(line) for line in lines if line.endswith("\n")}
    assert len(safe) >= 3 and safe <= whole(fresh)


def again(running: Server) -> None:
    """Start a killed server again, once what it left behind has gone."""
    until = time.monotonic() + 60
    while True:
        try:
            running.start()
        except RuntimeError:
            assert time.monotonic() < until
            time.sleep(0.5)
        else:
            return


def test_two_writers_at_once(place: str) -> None:
    each = 25
    with opened(place, new=True) as book, writing(book) as page:
        add_machine(page)
    with writer(place, "north-12", each) as first, writer(place, "north-12", each) as second:
        said = [process.communicate(timeout=120) for process in (first, second)]
    assert [(first.returncode, second.returncode), said[0][1], said[1][1]] == [(0, 0), "", ""]
    numbers = [{int(line) for line in out.split()} for out, _ in said]
    assert len(numbers[0]) == len(numbers[1]) == each and not numbers[0] & numbers[1]
    assert whole(place) == numbers[0] | numbers[1]


def test_two_that_start_one_book(place: str) -> None:
    """Programs that open a new place at the same moment make one book, without a fault."""
    code = (
        "import sys; from pullcurve.book.opening import opened, writing; from tests.book.lines import add_machine\n"
        "with opened(sys.argv[1], new=True) as book, writing(book) as page: add_machine(page, sys.argv[2])"
    )
    paths = os.pathsep.join([str(ROOT / "src"), str(ROOT)])
    running = [
        subprocess.Popen(
            [sys.executable, "-c", code, place, name],
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=environment(PYTHONPATH=paths),
        )
        for name in ("a", "b", "c")
    ]
    assert [process.communicate(timeout=120)[1] for process in running] == ["", "", ""]
    with opened(place) as book, reading(book) as page:
        assert [one.machine.name for one in pages.list_machines(page, 9)] == ["a", "b", "c"]
        assert step_of(page) == TODAY
