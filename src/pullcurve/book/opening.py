"""Open a book: a file of this machine, or a PostgreSQL server by its URL; read it, write it, or change nothing."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from pullcurve.book.upgrading import is_new, upgrade
from pullcurve.book.wrongs import refused
from pullcurve.errors import BadInput, Fault

WAIT = 10.0
"""Seconds that a writer waits for another one, and for a server to answer [s]."""

PRAGMAS = (
    f"PRAGMA busy_timeout = {WAIT * 1000:.0f}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA cache_size = -32000",
)
"""Readers do not wait for a writer; what was committed outlives a power cut; references lead somewhere."""

SERVERS = ("postgresql", "postgres", "postgresql+psycopg")
ALLOWED = "a file, or postgresql://USER@HOST/NAME"

Page = Connection
"""What is open to be read or written; other floors only hand it on."""


@dataclass(frozen=True, slots=True)
class Book:
    """An open book, and what it is called."""

    engine: Engine
    place: str
    file: Path | None


@contextmanager
def opened(place: str, *, new: bool = False) -> Iterator[Book]:
    """Open a book and bring it up to date; with ``new``, start one where there is none.

    Raises BadInput where there is none or the place cannot be one, BookFault where it cannot be read.
    """
    book = _book(place)
    try:
        if book.file is not None:
            _check_file(book, book.file, new)
        try:
            if not new and is_new(book.engine):
                raise _none(book)
            upgrade(book.engine, book.file)
        except (SQLAlchemyError, sqlite3.Error) as error:
            raise refused(book.place, error, "nothing was changed") from error
        yield book
    finally:
        book.engine.dispose()


def _book(place: str) -> Book:
    """The engine for a place, not yet connected."""
    if "://" not in place:
        file = Path(place).expanduser()
        return Book(_engine(URL.create("sqlite", database=str(file))), str(file), file)
    try:
        url = make_url(place)
    except (ArgumentError, ValueError):
        raise BadInput(Fault("book", "--book", f"is no address; allowed is {ALLOWED}")) from None
    if url.drivername not in SERVERS:
        raise BadInput(Fault("book", f'"{url.drivername}:"', f"is not known here; allowed is {ALLOWED}"))
    if find_spec("psycopg") is None:
        said = 'needs a driver that is not installed; install "pullcurve[postgresql]"'
        raise BadInput(Fault("book", "postgresql", said))
    return Book(_engine(url.set(drivername="postgresql+psycopg")), str(url), None)


def _engine(url: URL) -> Engine:
    if url.drivername != "sqlite":
        return create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": int(WAIT)})
    engine = create_engine(url)
    event.listen(engine, "connect", _settle)
    event.listen(engine, "begin", _begin)
    return engine


def _settle(connection: sqlite3.Connection, _: Any) -> None:
    """Settings of every connection; transactions begin where we say, also around a change of tables."""
    connection.isolation_level = None
    for pragma in PRAGMAS:
        connection.execute(pragma)


def _begin(connection: Connection) -> None:
    """A writer takes its turn at the start, so that two never wait for each other half-way."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _none(book: Book) -> BadInput:
    said = "is no book yet; `pullcurve book add NAME` starts one"
    return BadInput(Fault(book.place, "", said))


def _check_file(book: Book, file: Path, new: bool) -> None:
    """A book is one file in a folder that can be."""
    if file.is_dir():
        raise BadInput(Fault(book.place, "", f"is a folder; allowed is {ALLOWED}"))
    if file.is_file():
        return
    if not new:
        raise _none(book)
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        file.touch(mode=0o600)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise BadInput(Fault(book.place, "", f"cannot be written: {reason}")) from None


@contextmanager
def reading(book: Book) -> Iterator[Page]:
    """A page as it stood at one moment."""
    still = {} if book.file is not None else {"isolation_level": "REPEATABLE READ"}
    try:
        with book.engine.connect().execution_options(**still) as page, page.begin():
            yield page
    except (SQLAlchemyError, sqlite3.Error) as error:
        raise refused(book.place, error, "nothing was changed") from error


@contextmanager
def writing(book: Book) -> Iterator[Page]:
    """A page to write on: all of it is kept, or none."""
    try:
        with book.engine.connect().execution_options(writes=True) as page, page.begin():
            yield page
    except (SQLAlchemyError, sqlite3.Error) as error:
        safe = "nothing of this entry was written, and all that was written before is safe"
        raise refused(book.place, error, safe) from error
