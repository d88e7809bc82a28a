"""Pages of a large job book, each beside its target: by default 10,000 machines with 100 visits each.

Run with ``python3 -m benchmarks.book``; it writes some gigabytes into a temporary folder, or into ``--book``, and takes
some minutes. ``--machines`` and ``--visits`` make it smaller.
"""

import argparse
import hashlib
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from sqlalchemy import Table, func, insert, select

from benchmarks.timing import line
from pullcurve.book import findings
from pullcurve.book.opening import Book, Page, opened, writing
from pullcurve.book.tables import contents, fitted, machines, ratings, rides, services, units, visits, wishes
from pullcurve.intake.jobfile import job_text
from pullcurve.studies.wishes import WISH_READOUTS
from pullcurve.verbs import booking, leafing, reminding
from pullcurve.verbs.jobs import demo_job

BY = {"who": "bench", "at": "2026-01-01T00:00:00Z"}
FIRST = date(2006, 1, 1)
BATCH = 50
"""Machines that are written in one go."""

WORDS = (
    "lock-up too heavy",
    "grabs in the wet",
    "clutch tires the hand",
    "bites late",
    "free play gone",
    "grease in the needles",
    "lever nearer the grip",
    "harsh at low speed",
    "smooth and light",
    "race on Sunday",
)
TARGET = 0.1
"""A page takes less [s]."""

ASKED = 60
"""How often each page is asked for, for machines picked at random."""


# A large book -------------------------------------------------------------------------------------------------------


def lines_of(numbers: range, count: int, text: str, random: Random) -> dict[Table, list[dict[str, Any]]]:
    """Lines of some machines with all their visits."""
    found: dict[Table, list[dict[str, Any]]] = {
        table: [] for table in (machines, units, contents, visits, fitted, wishes, services, rides, ratings)
    }
    for machine in numbers:
        due = FIRST + timedelta(days=random.randrange(9000))
        name = f"machine {machine:05d}"
        found[machines].append({"id": machine, "name": name, "due_day": due, "due_what": "pads", **BY})
        found[units].append({"id": machine, "mark": f"unit {machine}", **BY})
        for place in range(count):
            add_visit(found, machine, (machine - 1) * count + place + 1, place, text, random)
    return found


def add_visit(
    found: dict[Table, list[dict[str, Any]]], machine: int, visit: int, place: int, text: str, random: Random
) -> None:
    """Lines of one visit, with a ride note."""
    day = FIRST + timedelta(days=70 * place + random.randrange(60))
    job = f"{text}\n# {machine} {visit}\n".encode()
    digest = hashlib.sha256(job).hexdigest()
    found[contents].append({"id": visit, "sha256": digest, "size": len(job), "bytes": job})
    readouts: dict[str, dict[str, float]] = {"brake": {}, "clutch": {}}
    for key, name in WISH_READOUTS.items():
        readouts[key.partition(".")[0]][name] = random.randrange(10_000, 90_000) / 1e6
    found[visits].append(
        {
            "id": visit,
            "machine_id": machine,
            "unit_id": machine,
            "day": day,
            "title": f"job {visit}",
            "words": f"{random.choice(WORDS)}, {random.choice(WORDS)}",
            "job_id": visit,
            "readouts": readouts,
            "hours_dry": float(random.randrange(12)),
            **BY,
        }
    )
    for kind, numbers in (("brake", "tu0.3-st"), ("clutch", "li"), ("assist", "on10-fa")):
        cam = f"{kind}-in0-{numbers}{random.randrange(40, 90) / 10}"
        found[fitted].append({"visit_id": visit, "kind": kind, "cam": cam, "name": f"{kind} cam"})
    for key in ("brake.force_lock_newton", "clutch.force_peak_newton"):
        found[wishes].append({"visit_id": visit, "key": key, "value": 58.0, "weight": 1.0})
    found[services].append({"visit_id": visit, "item": random.choice(("pads", "pin", "screws"))})
    ride = {"id": visit, "visit_id": visit, "day": day, "words": f"{random.choice(WORDS)} ride{visit}", **BY}
    found[rides].append(ride)
    for name in ("brake.force_lock", "clutch.force_peak"):
        found[ratings].append({"ride_id": visit, "readout": name, "points": random.randrange(-3, 4)})


def fill(book: Book, count: int, each: int) -> None:
    """Write so many machines with so many visits each, then the index of the search."""
    random, text = Random(1), job_text(demo_job())
    for start in range(1, count + 1, BATCH):
        with writing(book) as page:
            for table, lines in lines_of(
                range(start, min(start + BATCH, count + 1)), each, text, random
            ).items():
                page.execute(insert(table), lines)
    with writing(book) as page:
        findings.rebuild(page)
        settle(page)


def settle(page: Page) -> None:
    """Let the engine know how much there is, and count on from there."""
    page.exec_driver_sql("ANALYZE")
    if page.dialect.name == "postgresql":
        for table in (machines, units, contents, visits, rides):
            last = select(func.max(table.c.id)).scalar_subquery()
            page.execute(select(func.setval(func.pg_get_serial_sequence(table.name, "id"), last)))


# Its pages ----------------------------------------------------------------------------------------------------------


def pages(book: Book, count: int, each: int) -> Iterator[tuple[str, Callable[[Random], object]]]:
    """What is asked for, by name."""

    def name(random: Random) -> str:
        return f"machine {random.randrange(1, count + 1):05d}"

    def day(random: Random) -> date:
        return FIRST + timedelta(days=random.randrange(61, 70 * each))

    def noted(random: Random) -> object:
        entry = booking.entry(date(2026, 1, 1), "bench", BY["at"], "heavy again")
        return booking.add_ride(book, name(random), {"brake.force_lock": 1}, entry)

    yield "list of machines", lambda random: leafing.machines(book, 50, name(random))
    yield "machines that are due", lambda random: reminding.due_machines(book, day(random), 50)
    yield (
        f"timeline of a machine, {each} visits and rides",
        lambda random: leafing.timeline(book, name(random)),
    )
    yield (
        "what was on it on a day, with its job",
        lambda random: leafing.job_on(book, name(random), day(random)),
    )
    yield "two dates, both pulled", lambda random: leafing.dates(book, name(random), day(random), day(random))
    yield "what of a machine is due", lambda random: reminding.due(book, name(random), date(2026, 1, 1))
    rare = count * each
    yield (
        "search, a word of one line",
        lambda random: leafing.search(book, f"ride{random.randrange(1, rare)}"),
    )
    yield "search, a word of a third of all lines", lambda _: leafing.search(book, "heavy")
    yield "search, two such words", lambda _: leafing.search(book, "heavy grabs")
    yield "search, words that no line has together", lambda _: leafing.search(book, "heavy unheard")
    yield "search, three words that are never together", lambda _: leafing.search(book, "heavy wet sunday")
    yield "search, beginnings that are never together", lambda _: leafing.search(book, "heav wet sund nee")
    yield "search, beginnings of two such words", lambda _: leafing.search(book, "heav grab")
    yield "search, a long beginning of such a word", lambda _: leafing.search(book, "needle")
    yield (
        "search, the beginning of ten thousand words",
        lambda random: leafing.search(book, f"ride{random.randrange(10, 100)}"),
    )
    yield (
        "search, the beginning of a hundred thousand words",
        lambda random: leafing.search(book, f"ride{random.randrange(1, 10)}"),
    )
    yield "search, on one machine", lambda random: leafing.search(book, "heavy", name(random))
    yield (
        "search, a cam",
        lambda random: leafing.search(book, f"brake-in0-tu0.3-st{random.randrange(40, 90) / 10}"),
    )
    yield "a ride note written", noted


def measure(book: Book, count: int, each: int) -> None:
    """Ask for every page, and report the median, what 95 of 100 stay below, and the slowest."""
    for name, page in pages(book, count, each):
        random, found = Random(7), []
        for _ in range(ASKED):
            began = time.perf_counter()
            page(random)
            found.append(time.perf_counter() - began)
        middle, most = np.percentile(found, (50, 95)) * 1e3
        told = f"{middle:.1f} ms, 95 % {most:.1f}, slowest {max(found) * 1e3:.0f}"
        line(name, told, f"target {TARGET * 1e3:.0f} ms")


def main() -> None:
    """Make the book unless it is there, and measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--machines", type=int, default=10_000)
    parser.add_argument("--visits", type=int, default=100)
    parser.add_argument(
        "--book", default="", help="a file or a server; what is in it already is measured as it is"
    )
    told = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = told.book or str(Path(folder) / "book.sqlite")
        with opened(place, new=True) as book:
            began = time.perf_counter()
            if not leafing.machines(book, 1):
                fill(book, told.machines, told.visits)
                many = told.machines * told.visits
                line(f"{many:,} visits and ride notes written", f"{time.perf_counter() - began:.0f} s", "")
            if book.file is not None:
                line("size of the file", f"{book.file.stat().st_size / 1e9:.2f} GB", "")
            measure(book, told.machines, told.visits)


if __name__ == "__main__":
    main()
