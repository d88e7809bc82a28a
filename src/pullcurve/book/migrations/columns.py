"""Columns as the steps write them; like the steps, never changed once they are out."""

from typing import Any

import sqlalchemy as sa
from alembic import op

KINDS: dict[str, Any] = {
    "text": sa.Text(),
    "whole": sa.Integer(),
    "real": sa.Double().with_variant(sa.REAL(), "sqlite"),
    "bytes": sa.LargeBinary(),
}


def column(name: str, kind: str, start: str | None = None, *, nullable: bool = False) -> sa.Column[Any]:
    """A column by the name of its kind."""
    return sa.Column(name, KINDS[kind], nullable=nullable, server_default=start)


def number() -> sa.Column[int]:
    """The number of a line."""
    return sa.Column("id", sa.Integer(), primary_key=True)


def of(table: str, name: str = "", *, key: bool = False, nullable: bool = False) -> sa.Column[int]:
    """A reference to a line of another table."""
    return sa.Column(
        name or f"{table}_id",
        sa.Integer(),
        sa.ForeignKey(f"{table}.id"),
        primary_key=key,
        nullable=nullable and not key,
    )


def key(name: str) -> sa.Column[str]:
    """A word that is part of a line's key."""
    return sa.Column(name, sa.Text(), primary_key=True)


def signed() -> tuple[sa.Column[Any], sa.Column[Any]]:
    """Who wrote a line, and when."""
    return column("who", "text"), column("at", "text")


def table(name: str, *parts: Any) -> None:
    """Make a table that keeps to its types."""
    numbered = any(isinstance(part, sa.Column) and part.name == "id" for part in parts)
    op.create_table(name, *parts, sqlite_strict=True, sqlite_with_rowid=numbered)


def index(name: str, on: str, *columns: str) -> None:
    """Make an index."""
    op.create_index(name, on, list(columns))
