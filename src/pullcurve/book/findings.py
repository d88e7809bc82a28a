"""Search: every line's words, folded to plain lower-case ones, under the full-text index of either engine."""

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    FromClause,
    Integer,
    Select,
    Table,
    Text,
    and_,
    cast,
    column,
    delete,
    func,
    insert,
    literal,
    null,
    select,
    table,
    text,
    type_coerce,
    union_all,
)
from sqlalchemy.dialects.postgresql import TSQUERY

from pullcurve.book.tables import (
    findings,
    fits,
    fitted,
    machines,
    photos,
    proposals,
    pulls,
    rides,
    services,
    units,
    visits,
)
from pullcurve.studies.history import Finding

WORD = re.compile(r"[^\W_]+")
LONGEST = 60
"""Letters of a word that count; no engine indexes endless ones."""

BEGINNING, INDEXED_LETTERS = 3, 8
"""Letters from which on a word may be the beginning of one, and up to which the index holds beginnings."""

LATELY = 8_000
"""Lines written last, which are looked through first where the index has no order."""

MOST_WORDS = 6
"""Columns of words that a line may have."""

COLUMNS = ("kind", "id", "machine", "visit", "day", "at", *(f"words_{place}" for place in range(MOST_WORDS)))

CHUNK = 5000
"""Lines that are indexed in one go."""


def folded(words: str) -> str:
    """A text as plain words: no accents, no capitals, no signs between."""
    plain = unicodedata.normalize("NFKD", words)
    bare = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
    kept = "".join(map(_letter, bare))
    return " ".join(word[:LONGEST] for word in WORD.findall(kept))


def _letter(sign: str) -> str:
    """A sign as every engine knows it: of a letter that is newer than the oldest of their tables, its number."""
    if sign.isascii() or not sign.isalnum() or unicodedata.ucd_3_2_0.category(sign)[0] in "LN":
        return sign
    return f"u{ord(sign):x}"


def of_machine(machine: int) -> str:
    """A word that stands in every line of one machine and in no other; folding leaves nobody else a sharp s."""
    return f"ß{machine}"


# What there is to be found --------------------------------------------------------------------------------------


def _joined(values: ColumnElement[str], owner: ColumnElement[int]) -> Any:
    """Words of all lines that hang on a visit, in one."""
    return select(func.aggregate_strings(values, " ")).where(owner == visits.c.id).scalar_subquery()


def _sources() -> Mapping[str, Select[Any]]:
    """All lines that can be found, by kind."""
    v, m, joined = visits.c, machines.c, pulls.join(visits)
    cams = _joined(fitted.c.cam + " " + fitted.c.name, fitted.c.visit_id)
    served = _joined(services.c.item, services.c.visit_id)
    at_visit = (v.title, v.words, v.reason, units.c.mark, cams, served)
    found = {
        "machine": _line(machines, machines, func.substr(m.at, 1, 10), (m.name, m.owner, m.words)),
        "visit": _line(visits, visits.join(units), v.day, at_visit),
        "pull": _line(pulls, joined, pulls.c.day, (pulls.c.lever, pulls.c.file, pulls.c.words)),
        "fit": _line(fits, fits.join(joined), pulls.c.day, (fits.c.words,)),
    }
    for kind, words in ((rides, ()), (proposals, (proposals.c.source,)), (photos, (photos.c.file,))):
        found[kind.name] = _line(kind, kind.join(visits), kind.c.day, (*words, kind.c.words))
    return found


def _line(kind: Table, joined: FromClause, day: Any, words: tuple[Any, ...]) -> Select[Any]:
    """Lines of a kind: which, number, machine, visit, day, when written, and as many words as a line may have."""
    whose = (kind.c.id, cast(null(), Integer)) if kind is machines else (visits.c.machine_id, visits.c.id)
    spare = [cast(null(), Text)] * (MOST_WORDS - len(words))
    known = (literal(kind.name), kind.c.id, *whose, type_coerce(day, Text), kind.c.at, *words, *spare)
    named = zip(COLUMNS, known, strict=True)
    return select(*(value.label(name) for name, value in named)).select_from(joined)


KINDS: Mapping[str, Table] = {
    kind.name: kind for kind in (machines, visits, pulls, fits, rides, proposals, photos)
}
"""Kinds of lines that can be found."""


def note(page: Connection, kind: str, row: int) -> None:
    """Let the search know a line that was just written."""
    line = page.execute(_sources()[kind].where(KINDS[kind].c.id == row)).one()
    page.execute(insert(findings), [_finding(line)])


def rebuild(page: Connection) -> None:
    """Let the search know all that is written, from the beginning, in the order in which it was written."""
    page.execute(delete(findings))
    every = union_all(*_sources().values()).subquery()
    lines = select(every).order_by(every.c.at, every.c.id)
    for some in page.execute(lines, execution_options={"yield_per": CHUNK}).partitions():
        page.execute(insert(findings), [_finding(line) for line in some])


def _finding(line: Any) -> dict[str, Any]:
    """A line as the search keeps it."""
    kind, row, machine, visit, day, _, *words = line
    said = " · ".join(word for word in words if word)
    return {
        "machine_id": machine,
        "visit_id": visit,
        "kind": kind,
        "row_id": row,
        "day": date.fromisoformat(day),
        "words": said,
        "folded": f"{of_machine(machine)} {folded(said)}",
    }


# Search -----------------------------------------------------------------------------------------------------------


def search(page: Connection, words: str, machine: int | None, most: int) -> tuple[Finding, ...]:
    """Lines that hold all the words, or else words that begin so, what was written last first.

    Beginnings are asked for first: where they are few, whole words among them need no question of their own.
    """
    wanted = folded(words).split()
    if not wanted:
        return ()
    hits = _lite if page.dialect.name == "sqlite" else _server
    found = hits(page, wanted, machine, most, True)
    if len(found) < most or all(len(word) < BEGINNING for word in wanted):
        return found
    whole = hits(page, wanted, machine, most, False)
    return whole if len(whole) == most else found


def _lines(
    page: Connection, hits: ColumnElement[bool], most: int, of: FromClause = findings
) -> tuple[Finding, ...]:
    """Lines that meet a condition, the last first."""
    f = of.c
    lines = (
        select(f.kind, f.row_id, f.machine_id, machines.c.name, f.visit_id, f.day, f.words)
        .select_from(of.join(machines, machines.c.id == f.machine_id))
        .where(hits)
        .order_by(f.id.desc())
        .limit(most)
    )
    return tuple(Finding(*line) for line in page.execute(lines))


def _lite(
    page: Connection, wanted: list[str], machine: int | None, most: int, begin: bool
) -> tuple[Finding, ...]:
    """Ask SQLite, whose index hands the last lines out first."""
    asked = [f'"{word}"' + ("*" if begin and len(word) >= BEGINNING else "") for word in wanted]
    if machine is not None:
        asked.append(f'"{of_machine(machine)}"')
    index = table("finding_index", column("rowid", Integer))
    match = text("finding_index MATCH :asked").bindparams(asked=" ".join(asked))
    hits = select(index.c.rowid).where(match).order_by(index.c.rowid.desc()).limit(most)
    return _lines(page, findings.c.id.in_(hits), most)


def _indexed(wanted: list[str], begin: bool) -> ColumnElement[bool]:
    """The question to PostgreSQL's index: a beginning is a word of its own, marked by what folding leaves nobody."""
    asked = [f"'{word}'" for word in wanted if not begin or len(word) < BEGINNING]
    if begin:
        asked += [f"'ßb{word[:INDEXED_LETTERS]}'" for word in wanted if len(word) >= BEGINNING]
        asked += [f"'{word}':*" for word in wanted if len(word) > INDEXED_LETTERS]
    query = cast(literal(" & ".join(asked)), TSQUERY)
    return func.finding_words(findings.c.folded).op("@@", is_comparison=True)(query)


def _held(words: ColumnElement[str], wanted: list[str], begin: bool) -> ColumnElement[bool]:
    """The same question to a few lines, without the index; before every word stands that of its machine."""
    spaced = words + literal(" ")
    ends = ("" if begin and len(word) >= BEGINNING else " " for word in wanted)
    return and_(*(spaced.like(f"% {word}{end}%") for word, end in zip(wanted, ends, strict=True)))


def _server(
    page: Connection, wanted: list[str], machine: int | None, most: int, begin: bool
) -> tuple[Finding, ...]:
    """Ask PostgreSQL, whose index of words knows no order and would sort all that is common: the last lines first.

    What is rare among them is taken to be so rare that all of it can be sorted. A machine has few lines anyway.
    """
    few = select(findings).order_by(findings.c.id.desc())
    lines = few.limit(LATELY) if machine is None else few.where(findings.c.machine_id == machine)
    of = lines.subquery()
    found = _lines(page, _held(of.c.folded, wanted, begin), most, of)
    if machine is not None or len(found) == most:
        return found
    every = select(findings.c.id).where(_indexed(wanted, begin)).cte("every").prefix_with("MATERIALIZED")
    hits = select(every.c.id).order_by(every.c.id.desc()).limit(most)
    return _lines(page, findings.c.id.in_(hits), most)
