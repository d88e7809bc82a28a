"""Copies of the book: one a night, the last ones kept, and the way back."""

import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from sqlalchemy.exc import SQLAlchemyError

from pullcurve.book import unpacking
from pullcurve.book.archive import OWNER_ONLY, whole, write_archive
from pullcurve.book.opening import Book, opened, reading, writing
from pullcurve.book.upgrading import step_at, steps
from pullcurve.book.wrongs import refused
from pullcurve.errors import BadInput, BookFault, Fault

PATTERN = "book-*"
LITE = b"SQLite format 3\x00"
"""How a copy of a file begins."""

PATIENCE = 40
"""How often a restore asks for its turn, four times a second, while others work in the book."""


def back_up(book: Book, folder: Path, at: str, keep: int) -> tuple[Path, tuple[Path, ...]]:
    """Copy the book into a folder while others work in it; returns the copy and what made room for it."""
    _make(folder)
    copy = folder / f"book-{_stamp(at)}{'.zip' if book.file is None else '.sqlite'}"
    if book.file is None:
        with reading(book) as page:
            write_archive(page, copy, at)
    else:
        _copy_file(book, book.file, copy)
    return copy, _make_room(folder, copy, keep)


def _make(folder: Path) -> None:
    """A folder that only its owner can look into."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise BadInput(
            Fault(str(folder), "", f"cannot be written: {(error.strerror or '').lower()}")
        ) from None


def _stamp(at: str) -> str:
    """A moment as part of a file's name; copies sort by it."""
    return at.replace(":", "").replace("T", "-").rstrip("Z")


def _copy_file(book: Book, file: Path, copy: Path) -> None:
    """A file's pages as they stood at one moment, proved sound before it counts as a copy."""
    try:
        with whole(copy) as target:
            part = Path(target.name)
            with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(part)) as made:
                source.backup(made)
                made.execute("PRAGMA journal_mode = DELETE")
                _prove(made)
    except sqlite3.Error as error:
        raise refused(book.place, error, "no copy was made, and the copies of before are safe") from error


def _prove(connection: sqlite3.Connection) -> None:
    """Whether every page and every reference is sound; raises sqlite3.DatabaseError where not."""
    said = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    lost = connection.execute("PRAGMA foreign_key_check").fetchone()
    if said != "ok" or lost is not None:
        raise sqlite3.DatabaseError("malformed")


def _make_room(folder: Path, newest: Path, keep: int) -> tuple[Path, ...]:
    """Remove the oldest copies of the same kind beyond those that are kept."""
    copies = sorted(path for path in folder.glob(f"{PATTERN}{newest.suffix}") if path != newest)
    gone = tuple(copies[: max(len(copies) - (keep - 1), 0)])
    for path in gone:
        path.unlink(missing_ok=True)
    return gone


# Back ---------------------------------------------------------------------------------------------------------------


def restore(place: str, copy: Path, folder: Path, at: str) -> Path | None:
    """Put a copy or an archive in the place of the book; returns where the book of before is kept, if there was one.

    What was there is only replaced by what has proved sound, in one go.
    """
    lite = _is_file_copy(copy)
    if lite and "://" in place:
        said = "is a copy of a file; `pullcurve book export` makes an archive of it, which a server can take"
        raise BadInput(Fault(str(copy), "", said))
    _make(folder)
    kept = folder / f"before-restore-{_stamp(at)}"
    if "://" in place:
        return _restore_server(place, copy, kept.with_suffix(".zip"), at)
    file, kept = Path(place).expanduser(), kept.with_suffix(".sqlite")
    if lite:
        _prove_copy(copy)
        return _restore_file(file, copy, kept)
    with TemporaryDirectory(dir=folder) as own:
        unpacked = Path(own) / "book.sqlite"
        with opened(str(unpacked), new=True) as book, writing(book) as page:
            unpacking.read_archive(page, copy)
        return _restore_file(file, unpacked, kept)


def _restore_server(place: str, archive: Path, kept: Path, at: str) -> Path:
    """Put an archive in the place of a server's book, in one transaction; returns the archive of what was there."""
    with opened(place, new=True) as book:
        with reading(book) as page:
            write_archive(page, kept, at)
        with writing(book) as page:
            unpacking.empty(page)
            unpacking.read_archive(page, archive)
    return kept


def _restore_file(file: Path, sound: Path, kept: Path) -> Path | None:
    """Put a sound book in the place of a file, and bring it up to date."""
    there = file.is_file()
    if there:
        _set_aside(file, kept)
    _replace(file, sound)
    with opened(str(file), new=True):
        return kept if there else None


def _is_file_copy(copy: Path) -> bool:
    """Whether a copy is of a file; else it must be an archive."""
    try:
        with copy.open("rb") as file:
            return file.read(len(LITE)) == LITE
    except OSError as error:
        said = "is not there" if isinstance(error, FileNotFoundError) else f"cannot be read: {error.strerror}"
        raise BadInput(Fault(str(copy), "", f"{said}; nothing was changed")) from None


def _prove_copy(copy: Path) -> None:
    """A copy is a sound book of a step that is known."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(copy))}?mode=ro", uri=True)) as known:
            _prove(known)
        step = step_at(copy)
    except (sqlite3.Error, SQLAlchemyError):
        raise BookFault(
            f"{copy}: is no sound copy of a book; nothing was changed: give an older copy"
        ) from None
    if step is not None and step not in steps():
        raise BookFault(
            f"{copy}: was written by a newer pullcurve (step {step}); nothing was changed: install that one"
        )


def _set_aside(file: Path, kept: Path) -> None:
    """Keep the book of before: a copy of a sound one, a damaged one as it is."""
    try:
        kept.touch(mode=OWNER_ONLY)
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(kept)) as made:
            source.backup(made)
    except sqlite3.Error:
        kept.unlink(missing_ok=True)
        for tail in ("", "-wal", "-shm"):
            part = file.with_name(file.name + tail)
            if part.exists():
                part.replace(kept.with_name(kept.name + tail))


def _replace(file: Path, copy: Path) -> None:
    """Write a copy over the book, page by page, in one transaction of the engine's own."""
    waits = 0

    def wait(status: int, remaining: int, total: int) -> None:
        nonlocal waits
        waits += status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
        if waits > PATIENCE:
            raise sqlite3.OperationalError("database is locked")

    try:
        with closing(sqlite3.connect(copy)) as source, closing(sqlite3.connect(file, timeout=0)) as book:
            source.backup(book, progress=wait)
    except sqlite3.Error as error:
        raise refused(str(file), error, "the book is as it was") from error
