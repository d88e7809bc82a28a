"""Books of both engines: a file, and a PostgreSQL server that runs while these tests do."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from pullcurve.book.opening import Book, opened
from tests.book.servers import Server, server

ENGINES = ("sqlite", "postgresql")


@pytest.fixture(scope="session")
def running() -> Iterator[Server]:
    """A server for this session."""
    with server() as known:
        yield known


@pytest.fixture
def fresh(running: Server) -> str:
    """The address of an empty database."""
    return running.fresh()


@pytest.fixture(params=ENGINES)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a book, on each engine, where there is none yet."""
    if request.param == "sqlite":
        return str(tmp_path / "book.sqlite")
    return str(request.getfixturevalue("fresh"))


@pytest.fixture
def book(place: str) -> Iterator[Book]:
    """A new book, on each engine."""
    with opened(place, new=True) as known:
        yield known
