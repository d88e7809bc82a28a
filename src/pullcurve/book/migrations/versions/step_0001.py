"""Machines, units, visits with what was fitted and wished, pulls and fits, rides, proposals, photos."""

import sqlalchemy as sa

from pullcurve.book.migrations.columns import column, index, key, number, of, signed, table

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    _kept()
    _visited()
    _measured()
    _told()


def _kept() -> None:
    """Files, machines and units."""
    table(
        "content",
        number(),
        sa.Column("sha256", sa.Text(), nullable=False, unique=True),
        column("size", "whole"),
        column("bytes", "bytes"),
    )
    table(
        "machine",
        number(),
        sa.Column("name", sa.Text(), nullable=False, unique=True),
        column("owner", "text", ""),
        column("words", "text", ""),
        *signed(),
    )
    table(
        "unit",
        number(),
        sa.Column("mark", sa.Text(), nullable=False, unique=True),
        column("name", "text", ""),
        *signed(),
    )


def _visited() -> None:
    """Visits, what was on the machine afterwards, and what was wished."""
    table(
        "visit",
        number(),
        of("machine"),
        of("unit"),
        column("day", "text"),
        column("title", "text"),
        column("words", "text", ""),
        column("reason", "text", ""),
        of("content", "job_id"),
        column("readouts", "text"),
        *signed(),
    )
    index("visit_of_machine", "visit", "machine_id", "day", "id")
    index("visit_by_day", "visit", "day", "id")
    index("visit_of_unit", "visit", "unit_id", "day")
    table("fitted", of("visit", key=True), key("kind"), column("cam", "text"), column("name", "text"))
    table("wish", of("visit", key=True), key("key"), column("value", "real"), column("weight", "real"))


def _measured() -> None:
    """Bench pulls and their fits."""
    table(
        "pull",
        number(),
        of("visit"),
        column("day", "text"),
        column("lever", "text"),
        column("file", "text"),
        of("content", "raw_id"),
        column("told", "text"),
        column("words", "text", ""),
        *signed(),
    )
    index("pull_of_visit", "pull", "visit_id")
    table(
        "fit",
        number(),
        of("pull"),
        column("numbers", "text"),
        column("chi_square", "real"),
        column("words", "text", ""),
        *signed(),
    )
    index("fit_of_pull", "fit", "pull_id")


def _told() -> None:
    """Ride notes, proposals, photos."""
    table("ride", number(), of("visit"), column("day", "text"), column("words", "text", ""), *signed())
    index("ride_of_visit", "ride", "visit_id")
    within = sa.CheckConstraint("points BETWEEN -3 AND 3", name="rating_points")
    table("rating", of("ride", key=True), key("readout"), column("points", "whole"), within)
    table(
        "proposal",
        number(),
        of("visit"),
        column("day", "text"),
        column("cams", "text"),
        column("source", "text"),
        column("words", "text", ""),
        *signed(),
    )
    index("proposal_of_visit", "proposal", "visit_id")
    table(
        "photo",
        number(),
        of("visit"),
        column("day", "text"),
        column("file", "text"),
        column("kind", "text"),
        of("content"),
        column("words", "text", ""),
        *signed(),
    )
    index("photo_of_visit", "photo", "visit_id")
