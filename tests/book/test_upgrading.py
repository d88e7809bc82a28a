"""Books of every earlier step, filled, become today's; what was written stays; a book from the future is left alone."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Engine, MetaData, create_engine, insert, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import OperationalError

from pullcurve.book import findings, pages, upgrading
from pullcurve.book.opening import Book, opened, reading
from pullcurve.book.tables import metadata
from pullcurve.errors import BadInput, BookFault
from tests.book.lines import fill

AT = {"who": "Ann", "at": "2026-01-05T08:00:00Z"}

BASE: dict[str, list[dict[str, Any]]] = {
    "content": [
        {"id": 1, "sha256": "a" * 64, "size": 3, "bytes": b"job"},
        {"id": 2, "sha256": "b" * 64, "size": 3, "bytes": b"raw"},
    ],
    "machine": [{"id": 4, "name": "old one", "owner": "trials rider", "words": "", **AT}],
    "unit": [{"id": 1, "mark": "unit 3", "name": "one lever", **AT}],
    "visit": [
        {
            "id": number,
            "machine_id": 4,
            "unit_id": 1,
            "day": f"2026-01-0{number}",
            "title": "trials",
            "words": "harsh at low speed",
            "reason": "",
            "job_id": 1,
            "readouts": '{"brake":{"force_lock":61.5}}',
            **AT,
        }
        for number in (5, 6)
    ],
    "fitted": [{"visit_id": 5, "kind": "brake", "cam": "brake-in2-tu0.3-st8.0", "name": "brake cam"}],
    "wish": [{"visit_id": 5, "key": "brake.force_lock_newton", "value": 58.0, "weight": 2.0}],
    "pull": [
        {
            "id": 1,
            "visit_id": 5,
            "day": "2026-01-05",
            "lever": "brake",
            "file": "bench.csv",
            "raw_id": 2,
            "told": "{}",
            "words": "",
            **AT,
        }
    ],
    "fit": [{"id": 1, "pull_id": 1, "numbers": "{}", "chi_square": 1.5, "words": "hose is soft", **AT}],
    "ride": [{"id": 1, "visit_id": 5, "day": "2026-01-06", "words": "grabs in the wet", **AT}],
    "rating": [{"ride_id": 1, "readout": "brake.force_lock", "points": -2}],
    "proposal": [
        {
            "id": 1,
            "visit_id": 5,
            "day": "2026-01-06",
            "cams": "{}",
            "source": "swap",
            "words": "longer",
            **AT,
        }
    ],
    "photo": [
        {
            "id": 1,
            "visit_id": 5,
            "day": "2026-01-06",
            "file": "disc.jpg",
            "kind": "image/jpeg",
            "content_id": 2,
            "words": "",
            **AT,
        }
    ],
}
"""A book as the first step can hold it."""

LATER: dict[str, dict[str, list[dict[str, Any]]]] = {
    "0002": {"service": [{"visit_id": 6, "item": "grease", "kind": "", "celsius": None}]},
    "0003": {
        "finding": [
            {
                "id": 1,
                "machine_id": 4,
                "visit_id": None,
                "kind": "machine",
                "row_id": 4,
                "day": "2026-01-05",
                "words": "old one · trials rider",
                "folded": "machine4 old one trials rider",
            }
        ]
    },
}
"""What a later step can hold besides."""

DERIVED = ("finding",)
"""Tables that follow from the others and are made anew."""

EARLIER = ("0001", "0002", "0003")


def engine_of(place: str) -> Engine:
    """An engine of the test's own."""
    url = make_url(place if "://" in place else f"sqlite:///{place}")
    return create_engine(url.set(drivername="postgresql+psycopg") if "://" in place else url)


@pytest.fixture
def engine(place: str) -> Iterator[Engine]:
    """An engine for the place."""
    known = engine_of(place)
    yield known
    known.dispose()


def old_book(engine: Engine, step: str) -> dict[str, list[dict[str, Any]]]:
    """Make a book of an earlier step and fill it; returns what stands in it."""
    upgrading.upgrade(engine, None, step)
    whole = {
        **BASE,
        **{table: rows for at, some in LATER.items() if at <= step for table, rows in some.items()},
    }
    tables = MetaData()
    with engine.begin() as page:
        tables.reflect(page)
        for table, rows in whole.items():
            page.execute(insert(tables.tables[table]), rows)
            if (
                page.dialect.name == "postgresql" and "id" in rows[0]
            ):  # the server counts on from its own numbers
                page.execute(text(f"SELECT setval('{table}_id_seq', {rows[-1]['id']})"))
    return whole


def test_the_steps_are_those_that_are_known() -> None:
    assert upgrading.steps() == (*EARLIER, upgrading.TODAY)


@pytest.mark.parametrize("step", EARLIER)
def test_a_filled_book_of_an_earlier_step_becomes_todays(place: str, engine: Engine, step: str) -> None:
    wrote = old_book(engine, step)
    with opened(place) as book:
        kept = MetaData()
        with reading(book) as page:
            assert upgrading.step_of(page) == upgrading.TODAY
            kept.reflect(page)
            for table in wrote.keys() - DERIVED:
                rows = wrote[table]
                columns = [kept.tables[table].c[key] for key in rows[0]]
                found = [dict(row._mapping) for row in page.execute(select(*columns).order_by(*columns[:2]))]
                assert found == rows
            visits = pages.visits_of(page, 4)
            assert [sum(visit.hours.values()) for visit in visits] == [0.0, 0.0]
            assert visits[0].cams == {"brake": "brake-in2-tu0.3-st8.0"}
            assert visits[0].readouts == {"brake": {"force_lock": 61.5}}
            assert len(visits[1].services) == (step >= "0002")
            asked = (
                "trials rider",
                "harsh",
                "grabs wet",
                "hose soft",
                "bench",
                "swap longer",
                "disc",
                "st8.0",
                "machine4",
            )
            assert [len(findings.search(page, words, 4, 9)) for words in asked] == [1, 2, 1, 1, 1, 1, 1, 1, 0]
        fill(book)  # and it goes on from there
        with reading(book) as page:
            assert pages.count_machines(page) == 2


def test_the_steps_make_the_tables_that_are_read(book: Book) -> None:
    """Alembic's own comparison of what is there with what `tables` says."""

    def ours(thing: Any, name: str | None, kind: str, reflected: bool, compared: Any) -> bool:
        return not (name or "").startswith("finding_index")

    fill(book)
    with reading(book) as page:
        context = MigrationContext.configure(page, opts={"include_object": ours})
        differences = compare_metadata(context, metadata)
    assert differences == []


def test_tables_of_a_file_keep_to_their_types(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
    with (
        closing(sqlite3.connect(place)) as known,
        pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT"),
    ):
        known.execute("UPDATE visit SET hours_mud = 'many'")


# Nothing is lost on the way -------------------------------------------------------------------------------------------


def test_a_file_is_copied_before(tmp_path: Path) -> None:
    place = tmp_path / "book.sqlite"
    engine = engine_of(str(place))
    old_book(engine, "0001")
    engine.dispose()
    with opened(str(place)):
        pass
    copy = tmp_path / "book-before-step-0001.sqlite"
    assert upgrading.step_at(copy) == "0001"
    with closing(sqlite3.connect(copy)) as known:
        assert known.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_step_that_fails_leaves_the_book_as_it_was(
    place: str, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    old_book(engine, "0001")

    def fail(page: Any) -> None:
        raise OperationalError("no more room", None, RuntimeError("database or disk is full"))

    monkeypatch.setattr(findings, "rebuild", fail)
    with pytest.raises(BookFault, match=r"as it was|nothing was changed"), opened(place):
        raise AssertionError("it must not open")
    with engine.connect() as page:
        assert upgrading.step_of(page) == "0001"
        assert page.execute(text("DELETE FROM rating")).rowcount == 1
    monkeypatch.undo()
    with opened(place) as book, reading(book) as page:
        assert upgrading.step_of(page) == upgrading.TODAY
        assert len(pages.visits_of(page, 4)) == 2


def test_a_book_from_the_future_is_left_alone(place: str, engine: Engine) -> None:
    with opened(place, new=True):
        pass
    with engine.begin() as page:
        page.execute(text("UPDATE alembic_version SET version_num = '0942'"))
    with pytest.raises(BookFault, match=r"newer pullcurve \(step 0942\); nothing was changed"), opened(place):
        raise AssertionError("it must not open")


def test_what_is_no_book_is_left_alone(place: str, engine: Engine) -> None:
    with engine.begin() as page:
        page.execute(text("CREATE TABLE invoice (id INTEGER)"))
    with pytest.raises(BookFault, match=r"holds something else \(a table invoice\)"), opened(place, new=True):
        raise AssertionError("it must not open")
    with pytest.raises(BadInput, match="is no book yet"), opened(place):
        raise AssertionError("it must not open")


def test_opening_twice_at_once_makes_one_book(place: str) -> None:
    with opened(place, new=True) as first, opened(place, new=True) as second:
        fill(first)
        with reading(second) as page:
            assert [one.machine.name for one in pages.list_machines(page, 5)] == ["north-12"]
            assert pages.visits_of(page, 1)[0].day == date(2026, 3, 1)
