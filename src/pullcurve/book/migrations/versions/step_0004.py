"""A word for each machine that nobody can type, and indexes that know beginnings; the opener fills them anew."""

from alembic import op

revision = "0004"
down_revision = "0003"

LITE = (
    "DROP TRIGGER finding_out",
    "DROP TRIGGER finding_in",
    "DROP TABLE finding_index",
    "DELETE FROM finding",
    "CREATE VIRTUAL TABLE finding_index USING fts5(folded, content='finding', content_rowid='id', "
    "tokenize='unicode61 remove_diacritics 0', detail='none', prefix='3 4 5 6 7 8')",
    "CREATE TRIGGER finding_in AFTER INSERT ON finding BEGIN "
    "INSERT INTO finding_index(rowid, folded) VALUES (new.id, new.folded); END",
    "CREATE TRIGGER finding_out AFTER DELETE ON finding BEGIN "
    "INSERT INTO finding_index(finding_index, rowid, folded) VALUES ('delete', old.id, old.folded); END",
)
SERVER = (
    "TRUNCATE finding",
    "ALTER TABLE finding DROP COLUMN indexed",
    """CREATE FUNCTION finding_words(folded text) RETURNS tsvector IMMUTABLE PARALLEL SAFE LANGUAGE sql AS $$
    SELECT array_to_tsvector(ARRAY(
        SELECT word FROM unnest(string_to_array(folded, ' ')) word WHERE word <> ''
        UNION ALL
        SELECT 'ßb' || left(word, letters)
        FROM unnest(string_to_array(folded, ' ')) word, generate_series(3, 8) letters
        WHERE length(word) >= letters
    )) $$""",
    "CREATE INDEX finding_index ON finding USING gin (finding_words(folded))",
    "CREATE INDEX finding_index_machine ON finding (machine_id, id)",
)


def upgrade() -> None:
    """Empty the findings, whose words are no longer those that are asked for."""
    for statement in LITE if op.get_bind().dialect.name == "sqlite" else SERVER:
        op.execute(statement)
