"""Search through the words of every line; whoever opens the book fills it from what is written."""

from alembic import op

from pullcurve.book.migrations.columns import column, index, number, of, table

revision = "0003"
down_revision = "0002"

LITE = (
    "CREATE VIRTUAL TABLE finding_index USING fts5(folded, content='finding', content_rowid='id', "
    "tokenize='unicode61 remove_diacritics 0', detail='none', prefix='3 4 5')",
    "CREATE TRIGGER finding_in AFTER INSERT ON finding BEGIN "
    "INSERT INTO finding_index(rowid, folded) VALUES (new.id, new.folded); END",
    "CREATE TRIGGER finding_out AFTER DELETE ON finding BEGIN "
    "INSERT INTO finding_index(finding_index, rowid, folded) VALUES ('delete', old.id, old.folded); END",
)
SERVER = (
    "ALTER TABLE finding ADD COLUMN indexed tsvector "
    "GENERATED ALWAYS AS (to_tsvector('simple', folded)) STORED NOT NULL",
    "CREATE INDEX finding_index ON finding USING gin (indexed)",
)


def upgrade() -> None:
    """Make the table of findings with the index of either engine."""
    table(
        "finding",
        number(),
        of("machine"),
        of("visit", nullable=True),
        column("kind", "text"),
        column("row_id", "whole"),
        column("day", "text"),
        column("words", "text"),
        column("folded", "text"),
    )
    index("finding_of", "finding", "kind", "row_id")
    for statement in LITE if op.get_bind().dialect.name == "sqlite" else SERVER:
        op.execute(statement)
