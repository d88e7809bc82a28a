"""Books for the tests of the server: filled by the verbs, so that the pages are held against what these wrote."""

import struct
import zlib
from base64 import b64encode
from datetime import date
from importlib.resources import files
from pathlib import Path

from pullcurve.intake.jobfile import job_text
from pullcurve.parts.job import Job
from pullcurve.verbs import booking, filing
from pullcurve.verbs.booking import Visiting
from pullcurve.verbs.jobs import demo_job
from tests.studies.shop import changed

NAME, OWNER = "north-12", "below-knee prosthesis, enduro"
AT = "2026-06-30T12:00:00Z"
JOB = demo_job()
DAYS = (date(2026, 3, 1), date(2026, 4, 10), date(2026, 5, 14))
STROKES = (8.5, 8.0, 7.5)
"""Strokes of the brake cams that were fitted one after the other [mm]."""

PULL = "enduro-300-brake-1.csv"
PULL_BYTES = files("pullcurve").joinpath(f"data/demo/{PULL}").read_bytes()


def job_with(stroke: float) -> Job:
    """The demo job with another brake cam."""
    return changed(JOB, fitted__brake__stroke_mm=stroke)


def two_changes() -> Job:
    """The demo job with another brake cam and other clutch cams."""
    return changed(JOB, fitted__brake__stroke_mm=7.5, fitted__clutch__lift_mm=10.0)


def picture(width: int = 48, height: int = 32) -> bytes:
    """A photo of one colour, written down as the PNG specification says (W3C, second edition, section 5)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\x00" + b"\x7a\x6b\x5c" * width for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def packed(content: bytes, name: str) -> dict[str, str]:
    """A file as a question carries it."""
    return {"name": name, "data": b64encode(content).decode()}


def filled(place: Path) -> Path:
    """A book with one machine, three visits with a ride note each, a pull, a photo and a proposal; and one without."""
    folder = place.parent
    for name, content in (("flank.png", picture()), (PULL, PULL_BYTES)):
        (folder / name).write_bytes(content)
    with booking.book_at(str(place), new=True) as book:
        booking.add_machine(book, NAME, OWNER, booking.entry(DAYS[0], "Ann", AT, "Brake moved to the hand."))
        booking.add_machine(book, "south-01", "small hands, trials", booking.entry(DAYS[0], "Ann", AT))
        for day, stroke, points in zip(DAYS, STROKES, (3, 2, 1), strict=True):
            entry = booking.entry(day, "Ann", AT, f"too heavy downhill, stroke {stroke}")
            more = Visiting(hours={"mud": 6.0}, done=("pads",), fluid="DOT 4")
            booking.add_visit(book, NAME, job_text(job_with(stroke)), "job.toml", entry, more)
            booking.add_ride(book, NAME, {"brake.force_lock": points, "clutch.force_peak": 1}, entry)
        entry = booking.entry(DAYS[2], "Ann", AT, "pit on the flank")
        filing.add_photo(book, NAME, folder / "flank.png", entry)
        filing.add_pull(book, NAME, folder / PULL, entry)
        booking.add_proposal(book, NAME, ("brake-in0-tu0.3-st8.0",), "workshop", entry)
    return place
