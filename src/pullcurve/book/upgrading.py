"""Bring a book to the tables of today, in one transaction, with a copy of the file beside it before."""

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import URL, Connection, Engine, column, create_engine, func, inspect, select, table
from sqlalchemy.exc import SQLAlchemyError

from pullcurve.book import findings
from pullcurve.errors import BookFault

STEPS = "pullcurve.book:migrations"
TODAY = "0004"
"""The step whose tables are those of `tables`."""

TURN = 0x70756C6C
"""Number of the lock by which two programs that open a server's book take turns."""

_VERSION = table("alembic_version", column("version_num"))

if TYPE_CHECKING:
    from alembic.config import Config


def _config() -> "Config":
    """Where the steps lie; what runs them is only loaded for a book that needs one."""
    from alembic.config import Config

    known = Config()
    known.set_main_option("script_location", STEPS)
    return known


def steps() -> tuple[str, ...]:
    """Every step, the first first."""
    from alembic.script import ScriptDirectory

    walked = ScriptDirectory.from_config(_config()).walk_revisions()
    return tuple(reversed([step.revision for step in walked]))


def step_of(page: Connection) -> str | None:
    """The step that a book has reached; None where it has no tables yet."""
    if not inspect(page).has_table(_VERSION.name):
        return None
    return page.execute(select(_VERSION.c.version_num)).scalar()


def step_at(file: Path) -> str | None:
    """The step of a book's file that is not open."""
    engine = create_engine(URL.create("sqlite", database=str(file)))
    try:
        with engine.connect() as page:
            return step_of(page)
    finally:
        engine.dispose()


def is_new(engine: Engine) -> bool:
    """Whether there are no tables yet."""
    with engine.connect() as page:
        return step_of(page) is None


def upgrade(engine: Engine, file: Path | None = None, to: str = "") -> None:
    """Bring a book to a step, or to today's; what was written stays. Raises BookFault for a book from the future."""
    goal = to or TODAY
    with engine.connect() as page:
        now = step_of(page)
    if now == goal:
        return
    if now is not None and now not in steps():
        said = f"was written by a newer pullcurve (step {now}); nothing was changed: install that one"
        raise BookFault(f"{_place(engine.url)}: {said}")
    kept = None if file is None or now is None else _copy(file, now)
    try:
        with engine.connect().execution_options(writes=True) as page, page.begin():
            _move(page, goal)
    except SQLAlchemyError as error:
        if kept is None:
            raise
        said = f"could not be brought from step {now} to {goal}; it is as it was, and a copy of it is {kept}"
        raise BookFault(f"{_place(engine.url)}: {said}") from error


def _place(url: URL) -> str:
    """What a book is called: a file by its path, a server by its address without the password."""
    return str(url.database) if url.drivername == "sqlite" else url.render_as_string()


def _move(page: Connection, goal: str) -> None:
    """Take the steps that are left when it is our turn; then let the search know what is written."""
    from alembic import command

    if page.dialect.name == "postgresql":
        page.execute(select(func.pg_advisory_xact_lock(TURN)))
    before = step_of(page)
    if before is None and (others := inspect(page).get_table_names()):
        said = f"holds something else (a table {others[0]}); nothing was changed: give another place"
        raise BookFault(f"{_place(page.engine.url)}: {said}")
    config = _config()
    config.attributes["connection"] = page
    command.upgrade(config, goal)
    if before is not None and before != goal == TODAY:
        findings.rebuild(page)


def _copy(file: Path, step: str) -> Path:
    """The whole book as it was, beside it."""
    target = file.with_name(f"{file.stem}-before-step-{step}{file.suffix}")
    target.touch(mode=0o600)
    source, copy = sqlite3.connect(file), sqlite3.connect(target)
    try:
        source.backup(copy)
    finally:
        source.close()
        copy.close()
    return target
