"""The tables of the book as they are now; ``migrations`` says how they came to be."""

import json
from datetime import date
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Column,
    Dialect,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)
from sqlalchemy.types import REAL, TypeDecorator, TypeEngine

REAL_NUMBER: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")
"""Eight bytes on both engines: SQLite calls that REAL, PostgreSQL double precision."""

MOST_POINTS = 3
"""A rating goes from minus to plus so many points."""


class Day(TypeDecorator[date]):
    """A day as ISO text, which sorts as days do."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """As it is kept."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        """As it is used."""
        return None if value is None else date.fromisoformat(value)


class Told(TypeDecorator[Any]):
    """Plain data as JSON text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        """As it is kept."""
        return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """As it is used."""
        return None if value is None else json.loads(value)


metadata = MetaData()


def _table(name: str, *parts: Column[Any] | CheckConstraint | Index) -> Table:
    """A table whose lines are numbered, or lie in the order of their keys, and keep to their types."""
    numbered = any(isinstance(part, Column) and part.name == "id" for part in parts)
    return Table(name, metadata, *parts, sqlite_strict=True, sqlite_with_rowid=numbered)


def _number() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _to(table: str, name: str, nullable: bool = False) -> Column[int]:
    """A reference to a line of another table."""
    return Column(name, Integer, ForeignKey(f"{table}.id"), nullable=nullable)


def _of_visit() -> Column[int]:
    return Column("visit_id", Integer, ForeignKey("visit.id"), primary_key=True)


def _signed() -> tuple[Column[str], Column[str]]:
    """Who wrote a line, and when."""
    return Column("who", Text, nullable=False), Column("at", Text, nullable=False)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False, server_default="")


def _day() -> Column[date]:
    return Column("day", Day, nullable=False)


contents = _table(
    "content",
    _number(),
    Column("sha256", Text, nullable=False, unique=True),
    Column("size", Integer, nullable=False),
    Column("bytes", LargeBinary, nullable=False),
)
"""Files as they came, each once: jobs, raw bench pulls, photos."""

machines = _table(
    "machine",
    _number(),
    Column("name", Text, nullable=False, unique=True),
    _text("owner"),
    _text("words"),
    *_signed(),
    Column("due_day", Day),
    _text("due_what"),
    Index("machine_due", "due_day"),
)

units = _table(
    "unit", _number(), Column("mark", Text, nullable=False, unique=True), _text("name"), *_signed()
)

visits = _table(
    "visit",
    _number(),
    _to("machine", "machine_id"),
    _to("unit", "unit_id"),
    _day(),
    Column("title", Text, nullable=False),
    _text("words"),
    _text("reason"),
    _to("content", "job_id"),
    Column("readouts", Told, nullable=False),
    *_signed(),
    Column("hours_dry", REAL_NUMBER, nullable=False, server_default="0"),
    Column("hours_mud", REAL_NUMBER, nullable=False, server_default="0"),
    Column("hours_sand", REAL_NUMBER, nullable=False, server_default="0"),
    Index("visit_of_machine", "machine_id", "day", "id"),
    Index("visit_by_day", "day", "id"),
    Index("visit_of_unit", "unit_id", "day"),
)

fitted = _table(
    "fitted",
    _of_visit(),
    Column("kind", Text, primary_key=True),
    Column("cam", Text, nullable=False),
    Column("name", Text, nullable=False),
)

wishes = _table(
    "wish",
    _of_visit(),
    Column("key", Text, primary_key=True),
    Column("value", REAL_NUMBER, nullable=False),
    Column("weight", REAL_NUMBER, nullable=False),
)

services = _table(
    "service",
    _of_visit(),
    Column("item", Text, primary_key=True),
    _text("kind"),
    Column("celsius", REAL_NUMBER),
)

pulls = _table(
    "pull",
    _number(),
    _to("visit", "visit_id"),
    _day(),
    Column("lever", Text, nullable=False),
    Column("file", Text, nullable=False),
    _to("content", "raw_id"),
    Column("told", Told, nullable=False),
    _text("words"),
    *_signed(),
    Index("pull_of_visit", "visit_id"),
)

fits = _table(
    "fit",
    _number(),
    _to("pull", "pull_id"),
    Column("numbers", Told, nullable=False),
    Column("chi_square", REAL_NUMBER, nullable=False),
    _text("words"),
    *_signed(),
    Index("fit_of_pull", "pull_id"),
)

rides = _table(
    "ride",
    _number(),
    _to("visit", "visit_id"),
    _day(),
    _text("words"),
    *_signed(),
    Index("ride_of_visit", "visit_id"),
)

ratings = _table(
    "rating",
    Column("ride_id", Integer, ForeignKey("ride.id"), primary_key=True),
    Column("readout", Text, primary_key=True),
    Column("points", Integer, nullable=False),
    CheckConstraint(f"points BETWEEN -{MOST_POINTS} AND {MOST_POINTS}", name="rating_points"),
)

proposals = _table(
    "proposal",
    _number(),
    _to("visit", "visit_id"),
    _day(),
    Column("cams", Told, nullable=False),
    Column("source", Text, nullable=False),
    _text("words"),
    *_signed(),
    Index("proposal_of_visit", "visit_id"),
)

photos = _table(
    "photo",
    _number(),
    _to("visit", "visit_id"),
    _day(),
    Column("file", Text, nullable=False),
    Column("kind", Text, nullable=False),
    _to("content", "content_id"),
    _text("words"),
    *_signed(),
    Index("photo_of_visit", "visit_id"),
)

findings = _table(
    "finding",
    _number(),
    _to("machine", "machine_id"),
    _to("visit", "visit_id", nullable=True),
    Column("kind", Text, nullable=False),
    Column("row_id", Integer, nullable=False),
    _day(),
    Column("words", Text, nullable=False),
    Column("folded", Text, nullable=False),
    Index("finding_of", "kind", "row_id"),
)
"""What the search looks through: the words of every line, and the same folded to plain lower-case words."""

BOOK = (
    contents,
    machines,
    units,
    visits,
    fitted,
    wishes,
    services,
    pulls,
    fits,
    rides,
    ratings,
    proposals,
    photos,
)
"""What is kept, in the order in which it can be written; the findings follow from it."""
