"""Take an archive in: nothing that was changed on the way, nothing that leads out of it, all of it or none."""

import hashlib
import json
import struct
import zlib
from collections.abc import Iterator, Mapping
from datetime import date
from itertools import islice
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile

from sqlalchemy import Column, Integer, Table, delete, func, insert, select
from sqlalchemy.exc import DataError, IntegrityError

from pullcurve.book import findings
from pullcurve.book.archive import CHUNK, LAYOUT, LINES, MANIFEST, PLACE, WHAT
from pullcurve.book.opening import Page
from pullcurve.book.tables import BOOK, REAL_NUMBER, Day, Told, contents
from pullcurve.book.tables import findings as found
from pullcurve.book.upgrading import steps
from pullcurve.errors import BadInput, Fault

LARGEST = 256_000_000
"""Bytes that a file in an archive, or a line of a table, may have."""

MOST = 2**31 - 1
"""Largest whole number that either engine keeps."""

SPOILT = (BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError, struct.error, zlib.error)
"""What an archive that was cut or changed makes its reader say."""


def _refused(path: Path, said: str) -> BadInput:
    return BadInput(Fault(path.name or str(path), "", f"{said}; nothing was taken in"))


def read_archive(page: Page, path: Path) -> dict[str, int]:
    """Take an archive into a book that is empty; returns how many lines of each table. Raises BadInput."""
    try:
        with ZipFile(path) as archive:
            return _read(page, path, archive)
    except FileNotFoundError:
        raise _refused(path, "is not there") from None
    except SPOILT as error:
        raise _refused(path, f"is no whole archive of a book: {error}") from None
    except OSError as error:
        raise _refused(path, f"cannot be read: {(error.strerror or str(error)).lower()}") from None


def _read(page: Page, path: Path, archive: ZipFile) -> dict[str, int]:
    names = [entry.filename for entry in archive.infolist()]
    if any(entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED) for entry in archive.infolist()):
        raise _refused(path, "is packed in a way that no book is")
    for name in names:
        if name != MANIFEST and name not in LINES and not PLACE.fullmatch(name):
            raise _refused(path, f"holds {name[:80]!r}, which no book has")
    if len(set(names)) != len(names):
        raise _refused(path, "holds an entry twice")
    told = _manifest(path, archive)
    rows: dict[str, int] = {}
    try:
        for name, table in LINES.items():
            if name in told["entries"]:
                rows[table.name] = _take(page, path, archive, name, table, told["entries"][name])
    except (IntegrityError, DataError) as error:
        raise _refused(path, f"holds lines that do not fit together: {error.orig}") from None
    if rows != told["rows"]:
        raise _refused(path, "has more or fewer lines than its manifest says")
    _settle(page)
    return rows


def _manifest(path: Path, archive: ZipFile) -> dict[str, Any]:
    """What the archive says of itself."""
    try:
        told = json.loads(_bounded(path, archive, MANIFEST))
        known = told["what"], told["layout"], told["step"], dict(told["entries"]), dict(told["rows"])
    except (KeyError, ValueError, TypeError, RecursionError):
        raise _refused(path, "is no archive of a book: its manifest is missing or spoilt") from None
    if known[0] != WHAT:
        raise _refused(path, "is no archive of a book")
    if known[1] != LAYOUT or known[2] not in steps():
        raise _refused(path, f"was written by a newer pullcurve (step {known[2]})")
    names = set(archive.namelist())
    if set(known[3]) != {name for name in names if name in LINES}:
        raise _refused(path, "lacks tables that its manifest names, or has others")
    return {"entries": known[3], "rows": known[4]}


def _bounded(path: Path, archive: ZipFile, name: str) -> bytes:
    """One entry, if it is not too large."""
    size = archive.getinfo(name).file_size
    if size > LARGEST:
        raise _refused(path, f"holds {name} of {size / 1e6:.0f} MB; allowed is up to {LARGEST / 1e6:.0f} MB")
    return archive.read(name)


# Lines --------------------------------------------------------------------------------------------------------------


def _take(page: Page, path: Path, archive: ZipFile, name: str, table: Table, wanted: str) -> int:
    """Lines of one table, written as they are read; the checksum is compared at the end."""
    digest, count = hashlib.sha256(), 0
    with archive.open(name) as entry:
        lines = _parsed(path, name, table, entry, digest)
        while some := list(islice(lines, CHUNK)):
            if table is contents:
                for line in some:
                    page.execute(insert(table), [{**line, "bytes": _content(path, archive, line)}])
            else:
                page.execute(insert(table), some)
            count += len(some)
    if digest.hexdigest() != wanted:
        raise _refused(path, f"was changed after it was written: {name} has another checksum")
    if table is contents and count != sum(1 for one in archive.namelist() if PLACE.fullmatch(one)):
        raise _refused(path, "holds files that no line of it names")
    return count


def _parsed(path: Path, name: str, table: Table, entry: IO[bytes], digest: Any) -> Iterator[dict[str, Any]]:
    """Lines of a table as plain data of the right kinds, all with the same keys."""
    columns = {column.name: column for column in table.columns if column.name != "bytes"}
    keys: list[str] = []
    for number, line in enumerate(iter(lambda: entry.readline(LARGEST), b""), 1):
        digest.update(line)
        try:
            told = json.loads(line)
            values = {key: _value(columns[key], value) for key, value in told.items()}
            keys = keys or [*values]
            if [*values] != keys:
                raise ValueError
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            raise _refused(path, f"was changed after it was written: {name}, line {number}") from None
        yield values


def _value(column: Column[Any], value: Any) -> Any:
    """A value of the kind of its column; anything else was not written here."""
    if value is None and column.nullable:
        return None
    if isinstance(column.type, Told):
        return value
    if isinstance(column.type, Day):
        return date.fromisoformat(value)
    kinds: Mapping[Any, Any] = {Integer: int, type(REAL_NUMBER): (int, float)}
    wanted = next((kind for sort, kind in kinds.items() if isinstance(column.type, sort)), str)
    if not isinstance(value, wanted) or isinstance(value, bool) or (wanted is str and "\x00" in value):
        raise ValueError
    if isinstance(value, int) and abs(value) > MOST:
        raise ValueError
    return value


def _content(path: Path, archive: ZipFile, line: Mapping[str, Any]) -> bytes:
    """A file whose name is its checksum."""
    name = f"contents/{line['sha256']}"
    if not PLACE.fullmatch(name) or name not in archive.NameToInfo:
        raise _refused(path, f"lacks the file {name}")
    content = _bounded(path, archive, name)
    if hashlib.sha256(content).hexdigest() != line["sha256"] or len(content) != line["size"]:
        raise _refused(path, f"was changed after it was written: {name} has another checksum")
    return content


# Around it ----------------------------------------------------------------------------------------------------------


def empty(page: Page) -> None:
    """Take everything out of a book."""
    for table in (found, *reversed(BOOK)):
        page.execute(delete(table))


def _settle(page: Page) -> None:
    """Let the engine count on from the last number, and the search know what came."""
    if page.dialect.name == "postgresql":
        for table in BOOK:
            if "id" in table.columns:
                last = select(func.coalesce(func.max(table.c.id), 1)).scalar_subquery()
                used = select(func.count() > 0).select_from(table).scalar_subquery()
                page.execute(select(func.setval(func.pg_get_serial_sequence(table.name, "id"), last, used)))
    findings.rebuild(page)
