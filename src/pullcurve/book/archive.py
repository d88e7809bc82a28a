"""The whole book in one archive that any book can take in: tables as lines of JSON, files as they came, checksums."""

import hashlib
import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO
from zipfile import ZIP_DEFLATED, ZipFile

from sqlalchemy import Table, select

from pullcurve.book.opening import Page
from pullcurve.book.tables import BOOK, Day, contents
from pullcurve.book.upgrading import step_of
from pullcurve.errors import BadInput, Fault

WHAT, LAYOUT = "a whole pullcurve book", 1
"""How the archive says what it is, and the number of its layout."""

MANIFEST = "manifest.json"
PLACE = re.compile(r"contents/([0-9a-f]{64})")
LINES = {f"tables/{table.name}.jsonl": table for table in BOOK}

OWNER_ONLY = 0o600
"""Rights of a file with customers in it."""

CHUNK = 1000
"""Lines that are read in one go."""


@contextmanager
def whole(path: Path) -> Iterator[IO[bytes]]:
    """A file to write that is there whole or not at all."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.touch(mode=OWNER_ONLY)
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise BadInput(
            Fault(str(path), "", f"cannot be written: {(error.strerror or str(error)).lower()}")
        ) from None
    finally:
        part.unlink(missing_ok=True)


# Out ----------------------------------------------------------------------------------------------------------------


def write_archive(page: Page, path: Path, at: str) -> dict[str, int]:
    """Write all that a page of the book shows; returns how many lines of each table."""
    rows: dict[str, int] = {}
    entries = {}
    with whole(path) as file, ZipFile(file, "w", ZIP_DEFLATED, compresslevel=5) as archive:
        for name, table in LINES.items():
            with archive.open(name, "w", force_zip64=True) as entry:
                rows[table.name], entries[name] = _write_lines(page, table, entry)
        _write_contents(page, archive)
        told = {"what": WHAT, "layout": LAYOUT, "step": step_of(page), "made": at, "entries": entries}
        archive.writestr(MANIFEST, json.dumps({**told, "rows": rows}, indent=1))
    return rows


def _write_lines(page: Page, table: Table, entry: IO[bytes]) -> tuple[int, str]:
    """The lines of a table; how many, and their checksum."""
    columns = [column for column in table.columns if column.name != "bytes"]
    digest, count = hashlib.sha256(), 0
    for row in page.execute(
        select(*columns).order_by(*table.primary_key), execution_options={"yield_per": CHUNK}
    ):
        known = {
            column.name: value.isoformat() if isinstance(column.type, Day) and value is not None else value
            for column, value in zip(columns, row, strict=True)
        }
        line = json.dumps(known, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
        digest.update(line)
        entry.write(line)
        count += 1
    return count, digest.hexdigest()


def _write_contents(page: Page, archive: ZipFile) -> None:
    """Files as they came, each under its checksum."""
    chosen = select(contents.c.sha256, contents.c.bytes).order_by(contents.c.id)
    for digest, content in page.execute(chosen, execution_options={"yield_per": 20}):
        archive.writestr(f"contents/{digest}", content)
