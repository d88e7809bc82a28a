"""The verbs of the book say the same on both engines, and what one engine kept the other takes over."""

from datetime import date
from pathlib import Path
from typing import Any

from pullcurve.book.opening import Book, opened
from pullcurve.intake.jobfile import job_text
from pullcurve.studies.history import Finding
from pullcurve.verbs import booking, bookkeeping, leafing, reminding
from pullcurve.verbs.booking import Visiting
from pullcurve.verbs.jobs import demo_job
from tests.studies.shop import changed

AT = "2026-06-30T12:00:00Z"
JOB = demo_job()
DAYS = [date(2026, month, 1) for month in (3, 4, 5)]


def write(book: Book) -> None:
    """A machine with three visits and notes on each."""
    told = [
        booking.entry(day, "Ann", AT.replace("00Z", f"0{place}Z"), f"ride no {place}, müde")
        for place, day in enumerate(DAYS)
    ]
    booking.add_machine(book, "north-12", "below-knee prosthesis", told[0])
    for entry, stroke, points in zip(told, (8.5, 8.0, 7.5), (3, 2, 1), strict=True):
        job = job_text(changed(JOB, fitted__brake__stroke_mm=stroke))
        more = Visiting(hours={"mud": 2.0}, done=("pads",), fluid="DOT 4")
        booking.add_visit(book, "north-12", job, "job.toml", entry, more)
        booking.add_ride(book, "north-12", {"brake.force_lock": points, "clutch.force_peak": 1}, entry)


def lines(found: tuple[Finding, ...]) -> list[tuple[Any, ...]]:
    """Lines that were found; of one second, engines may know another order."""
    return sorted((one.kind, one.row, one.machine, one.name, one.visit or 0, one.day) for one in found)


def said(book: Book) -> dict[str, Any]:
    """What every page says of it; preferences without their grids, which have no plain equality."""
    learned = leafing.learned(book, "north-12", DAYS[2])
    return {
        "list": leafing.machines(book),
        "timeline": leafing.timeline(book, "north-12"),
        "job": leafing.job_on(book, "north-12", DAYS[1]),
        "dates": leafing.dates(book, "north-12", DAYS[0], DAYS[2]).between.cams,
        "search": lines(leafing.search(book, "mude ride")),
        "nearly": lines(leafing.search(book, "brake-in0-tu0", "north-12")),
        "due": reminding.due(book, "north-12", DAYS[2]),
        "who": reminding.due_machines(book, date(2030, 1, 1), 9),
        "learned": [(one.wish, one.low, one.high, one.doubt, one.notes) for one in learned.preferences],
        "lessons": [(one.swap and one.swap.on.id, one.doubt, one.tells) for one in learned.lessons],
    }


def test_both_engines_say_the_same(tmp_path: Path, fresh: str) -> None:
    pages = []
    for place in (str(tmp_path / "book.sqlite"), fresh):
        with opened(place, new=True) as book:
            write(book)
            pages.append(said(book))
    first, second = pages
    assert first == second
    assert len(first["search"]) == 7 and len(first["nearly"]) == 3 and len(first["timeline"].lines) == 3
    assert [len(change) for change in first["dates"]] == [1]
    assert next(one for one in first["learned"] if one[0].readout == "force_lock")[4] == 3


def test_a_workshop_moves_from_a_file_to_a_server_and_back(tmp_path: Path, fresh: str) -> None:
    first, last = str(tmp_path / "book.sqlite"), str(tmp_path / "again.sqlite")
    with opened(first, new=True) as book:
        write(book)
        before = said(book)
    for place, to in ((first, fresh), (fresh, last)):
        archive = tmp_path / f"{len(place)}.zip"
        bookkeeping.export_book(place, archive, AT)
        bookkeeping.import_book(to, archive)
        with opened(to) as book:
            assert said(book) == before
