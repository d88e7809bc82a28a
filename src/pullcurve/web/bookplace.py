"""Where the job book is: opened for one question and closed again; what its verbs say, in the words of a page."""

import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TypeVar

from fastapi import Request

from pullcurve.errors import BadInput, BookFault, Fault, Impossible
from pullcurve.verbs import booking
from pullcurve.verbs.booking import Book, Entry
from pullcurve.web import faults
from pullcurve.web.bookbodies import Telling

NO_BOOK = "is no book yet"
"""How the verbs begin where there is none."""

NOWHERE = Fault("book", "", f"{NO_BOOK}: this server was started without a place for one")

SAYINGS = (
    ("`pullcurve book add NAME` starts one", "the first machine starts one"),
    ("`pullcurve book show` lists all", "the list shows all"),
    ("`pullcurve book visit` writes the first", "write the first"),
    ("or a --reason", "or a reason"),
    ("give --lever brake or --lever clutch", "choose the lever"),
    ("give --rate READOUT=POINTS or --words", "give a rating or words"),
)
"""What the verbs advise on the command line, and the same on a page."""

LONGEST_NAME = 200
"""Bytes of a file's name that are kept."""

T = TypeVar("T")


def place_of(request: Request) -> str:
    """Where the book of this server is; empty where it has none."""
    return str(request.app.state.settings.book)


def shown_place(place: str) -> str:
    """Where the book is, as anybody may read it: without the password of a server."""
    return re.sub(r"(://[^:/@]*):.*@", r"\1:***@", place)


@contextmanager
def opened(request: Request, *, new: bool = False) -> Iterator[Book]:
    """The book of this server; ``new`` starts one where there is none."""
    place = place_of(request)
    if not place:
        raise BadInput(NOWHERE)
    try:
        with booking.book_at(place, new=new) as book:
            yield book
    except (
        BookFault
    ) as error:  # locked, full or damaged: nothing of the question is wrong, and asking again may do
        faults.LOG.warning("%s", error)
        raise Impossible(str(error)) from error
    except BadInput as error:
        raise BadInput(*(_on_a_page(fault) for fault in error.faults)) from None


def _on_a_page(fault: Fault) -> Fault:
    said = fault.said
    for typed, shown in SAYINGS:
        said = said.replace(typed, shown)
    return Fault(fault.where, fault.key, said)


def read_if_any(request: Request, read: Callable[[Book], T]) -> T | None:
    """What is read in the book; None where there is none yet."""
    try:
        with opened(request) as book:
            return read(book)
    except BadInput as error:
        if any(fault.said.startswith(NO_BOOK) for fault in error.faults):
            return None
        raise


def now() -> str:
    """This moment, as it is kept."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def entry(told: Telling) -> Entry:
    """What is told with every line."""
    return booking.entry(told.day or date.today(), told.who, now(), told.words)


def plain_name(name: str) -> str:
    """The name of a file that came, without folders and without signs that no file can have in its name."""
    last = name.replace("\\", "/").rpartition("/")[2]
    kept = "".join(sign if sign.isprintable() and sign not in '<>:"|?*' else "_" for sign in last).strip(" .")
    return re.sub(r"[\ud800-\udfff]", "_", kept).encode()[-LONGEST_NAME:].decode(errors="ignore") or "file"


@contextmanager
def file_of(name: str, data: bytes) -> Iterator[Path]:
    """A file that came, there for no longer than it is used."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, plain_name(name))
        path.write_bytes(data)
        yield path
