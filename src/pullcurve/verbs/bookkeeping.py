"""Keep the job book itself: the whole of it out into an archive and in again, copies at night, and the way back."""

from dataclasses import dataclass
from pathlib import Path

from pullcurve.book.archive import write_archive
from pullcurve.book.backup import back_up
from pullcurve.book.backup import restore as put_back
from pullcurve.book.opening import opened, reading, writing
from pullcurve.book.pages import count_machines
from pullcurve.book.unpacking import read_archive
from pullcurve.errors import BadInput, Fault

KEPT = 14
"""Copies that are kept, where nothing else is said."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A whole book that went out or came in: the archive, and how many lines of each table."""

    path: Path
    rows: dict[str, int]


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy of the book, and the old ones that made room for it."""

    path: Path
    gone: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Restored:
    """A book that was put back: from which copy, and where the book of before is kept."""

    copy: Path
    kept: Path | None


def export_book(place: str, path: Path, at: str) -> Moved:
    """Write the whole book into one archive; refuses to write over a file."""
    if path.exists():
        raise BadInput(Fault(str(path), "", "is there already and stays as it is; give another name"))
    with opened(place) as book, reading(book) as page:
        return Moved(path, write_archive(page, path, at))


def import_book(place: str, path: Path) -> Moved:
    """Take a whole archive into a book that is new or empty: all of it, or nothing."""
    with opened(place, new=True) as book, writing(book) as page:
        if count := count_machines(page):
            said = f"holds {count} machines; allowed is a new or empty book (see `pullcurve book restore`)"
            raise BadInput(Fault(book.place, "", said))
        return Moved(path, read_archive(page, path))


def back_up_book(place: str, folder: Path, at: str, keep: int = KEPT) -> Copied:
    """Copy the book while others work in it, and keep the last copies."""
    if not 1 <= keep <= 1000:
        raise BadInput(Fault("backup", "keep", f"is {keep}; allowed is 1 to 1000"))
    with opened(place) as book:
        return Copied(*back_up(book, folder, at, keep))


def restore_book(place: str, copy: Path, folder: Path, at: str) -> Restored:
    """Put a copy or an archive in the place of the book; what was there is kept in the folder."""
    return Restored(copy, put_back(place, copy, folder, at))


__all__ = [
    "KEPT",
    "Copied",
    "Moved",
    "Restored",
    "back_up_book",
    "export_book",
    "import_book",
    "restore_book",
]
