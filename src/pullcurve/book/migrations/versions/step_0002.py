"""Hours by ground for each visit, what was serviced, and the day on which a machine is due."""

from alembic import op

from pullcurve.book.migrations.columns import column, index, key, of, table

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add what reminders need; visits before this step have no hours."""
    for ground in ("dry", "mud", "sand"):
        op.add_column("visit", column(f"hours_{ground}", "real", "0"))
    table(
        "service",
        of("visit", key=True),
        key("item"),
        column("kind", "text", ""),
        column("celsius", "real", nullable=True),
    )
    op.add_column("machine", column("due_day", "text", nullable=True))
    op.add_column("machine", column("due_what", "text", ""))
    index("machine_due", "machine", "due_day")
