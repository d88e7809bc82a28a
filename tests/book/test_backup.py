"""Copies are made while others write, the last ones are kept, and a copy brings the book back."""

import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from pullcurve.book import pages
from pullcurve.book.archive import write_archive
from pullcurve.book.backup import back_up, restore
from pullcurve.book.opening import opened, reading, writing
from pullcurve.book.upgrading import TODAY, step_at
from pullcurve.errors import BadInput, BookFault
from tests.book.lines import add_machine, fill

NIGHT = "2026-05-{:02d}T03:15:00Z"


def names(place: str) -> list[str]:
    """Machines of a book."""
    with opened(place) as book, reading(book) as page:
        return [one.machine.name for one in pages.list_machines(page, 99)]


def copy_of(place: str, folder: Path, night: int, keep: int = 14) -> Path:
    """The copy of a night."""
    with opened(place) as book:
        return back_up(book, folder, NIGHT.format(night), keep)[0]


def test_a_copy_brings_the_book_back(place: str, tmp_path: Path) -> None:
    with opened(place, new=True) as book:
        fill(book)
    copy = copy_of(place, tmp_path / "copies", 1)
    with opened(place) as book:
        fill(book, "written after the copy")
    kept = restore(place, copy, tmp_path / "copies", NIGHT.format(2))
    assert names(place) == ["north-12"]
    with opened(place) as book:
        fill(book, "it goes on")  # numbers go on where they were
    assert names(place) == ["it goes on", "north-12"]
    assert kept is not None
    restore(place, kept, tmp_path / "copies", NIGHT.format(3))
    assert names(place) == ["north-12", "written after the copy"]


def test_a_copy_is_made_while_somebody_writes(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        with writing(book) as page:
            add_machine(page, "half written")
            copy = copy_of(place, tmp_path / "copies", 1)
    assert names(str(copy)) == ["north-12"]
    assert names(place) == ["half written", "north-12"]


def test_a_copy_is_one_file_that_only_its_owner_reads(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 5)[0]
    assert [path.name for path in copy.parent.iterdir()] == ["book-2026-05-01-031500.sqlite"]
    assert step_at(copy) == TODAY
    assert (
        stat.S_IMODE(copy.parent.stat().st_mode) == stat.S_IMODE(Path(place).stat().st_mode) | 0o100 == 0o700
    )
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600


def test_the_last_copies_are_kept(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        folder = tmp_path / "copies"
        folder.mkdir()
        (folder / "book-notes.txt").write_text("not a copy", encoding="utf-8")
        for night in range(1, 8):
            copy, gone = back_up(book, folder, NIGHT.format(night), 3)
            assert copy.exists() and not any(path.exists() for path in gone)
            assert len(gone) == (night > 3)
    left = sorted(path.name for path in folder.iterdir())
    assert left == [*(f"book-2026-05-0{night}-031500.sqlite" for night in (5, 6, 7)), "book-notes.txt"]


def test_a_damaged_book_is_not_copied_over_good_copies(tmp_path: Path) -> None:
    place = tmp_path / "book.sqlite"
    with opened(str(place), new=True) as book:
        fill(book)
        back_up(book, tmp_path / "copies", NIGHT.format(1), 1)
    spoil(place)
    with (
        pytest.raises(BookFault, match=r"damaged.*; no copy was made, and the copies of before are safe"),
        opened(str(place)) as book,
    ):
        back_up(book, tmp_path / "copies", NIGHT.format(2), 1)
    assert [path.name for path in (tmp_path / "copies").iterdir()] == ["book-2026-05-01-031500.sqlite"]


def spoil(file: Path) -> None:
    """Overwrite the last pages of a file, behind what opening reads."""
    whole = bytearray(file.read_bytes())
    for at in range(len(whole) - 3 * 4096, len(whole), 4096):
        whole[at : at + 64] = b"\xff" * 64
    file.write_bytes(bytes(whole))


def test_a_damaged_book_is_replaced_and_kept(tmp_path: Path) -> None:
    place = tmp_path / "book.sqlite"
    with opened(str(place), new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
    place.write_bytes(b"x" * 100_000)
    with pytest.raises(
        BookFault, match="it is no job book, or its beginning is damaged; `pullcurve book restore`"
    ):
        names(str(place))
    kept = restore(str(place), copy, tmp_path / "copies", NIGHT.format(2))
    assert names(str(place)) == ["north-12"]
    assert kept is not None and kept.read_bytes() == b"x" * 100_000


def test_a_lost_book_comes_back(tmp_path: Path) -> None:
    place = tmp_path / "book.sqlite"
    with opened(str(place), new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
    for path in tmp_path.glob("book.sqlite*"):
        path.unlink()
    assert restore(str(place), copy, tmp_path / "copies", NIGHT.format(2)) is None
    assert names(str(place)) == ["north-12"]


def test_an_archive_restores_too(place: str, tmp_path: Path) -> None:
    archive = tmp_path / "whole.zip"
    with opened(place, new=True) as book:
        fill(book)
        with reading(book) as page:
            write_archive(page, archive, NIGHT.format(1))
        fill(book, "later")
    restore(place, archive, tmp_path / "copies", NIGHT.format(2))
    assert names(place) == ["north-12"]


# Nothing is changed by what is no copy ------------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"", b"no copy", b"SQLite format 3\x00" + b"x" * 9000])
def test_what_is_no_copy_changes_nothing(content: bytes, place: str, tmp_path: Path) -> None:
    with opened(place, new=True) as book:
        fill(book)
    wrong = tmp_path / "wrong"
    wrong.write_bytes(content)
    with pytest.raises((BadInput, BookFault), match=r"nothing was|which a server can take"):
        restore(place, wrong, tmp_path / "copies", NIGHT.format(1))
    assert names(place) == ["north-12"]
    with pytest.raises(BadInput, match="is not there; nothing was changed"):
        restore(place, tmp_path / "nowhere", tmp_path / "copies", NIGHT.format(1))


@pytest.mark.parametrize("there", [b"x" * 100_000, None])
def test_an_archive_that_is_cut_changes_nothing(there: bytes | None, tmp_path: Path) -> None:
    """Also where the book is damaged already, or gone: nobody finds an empty book in its place."""
    with opened(str(tmp_path / "other.sqlite"), new=True) as book:
        fill(book)
        with reading(book) as page:
            write_archive(page, tmp_path / "whole.zip", NIGHT.format(1))
    half = tmp_path / "half.zip"
    whole = (tmp_path / "whole.zip").read_bytes()
    half.write_bytes(whole[: len(whole) // 2])
    place = tmp_path / "book.sqlite"
    if there is not None:
        place.write_bytes(there)
    with pytest.raises(BadInput, match=r"is no whole archive of a book.*; nothing was taken in"):
        restore(str(place), half, tmp_path / "copies", NIGHT.format(2))
    assert (place.read_bytes() if place.exists() else None) == there
    assert [*(tmp_path / "copies").iterdir()] == []
    restore(str(place), tmp_path / "whole.zip", tmp_path / "copies", NIGHT.format(3))
    assert names(str(place)) == ["north-12"]
    kept = tmp_path / "copies" / "before-restore-2026-05-03-031500.sqlite"
    assert (kept.read_bytes() if kept.exists() else None) == there


def test_a_damaged_copy_changes_nothing(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
    spoil(copy)
    with pytest.raises(
        BookFault, match="is no sound copy of a book; nothing was changed: give an older copy"
    ):
        restore(place, copy, tmp_path / "copies", NIGHT.format(2))
    assert names(place) == ["north-12"]


def test_a_copy_from_the_future_changes_nothing(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
    with closing(sqlite3.connect(copy)) as known, known:
        known.execute("UPDATE alembic_version SET version_num = '0942'")
    with pytest.raises(BookFault, match=r"newer pullcurve \(step 0942\); nothing was changed"):
        restore(place, copy, tmp_path / "copies", NIGHT.format(2))
    assert names(place) == ["north-12"]


def test_a_restore_waits_for_nobody_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcurve.book.backup.PATIENCE", 2)
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
        with writing(book) as page:
            add_machine(page, "somebody writes")
            with pytest.raises(BookFault, match=r"another program has been writing.*the book is as it was"):
                restore(place, copy, tmp_path / "copies", NIGHT.format(2))
    assert names(place) == ["north-12", "somebody writes"]


def test_a_copy_of_an_earlier_step_is_brought_up_to_date(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with opened(place, new=True) as book:
        fill(book)
        copy = back_up(book, tmp_path / "copies", NIGHT.format(1), 1)[0]
    with closing(sqlite3.connect(copy)) as known, known:
        known.executescript(
            "DROP TRIGGER finding_in; DROP TRIGGER finding_out; DROP TABLE finding_index; DROP TABLE finding;"
            "UPDATE alembic_version SET version_num = '0002'"
        )
    restore(place, copy, tmp_path / "copies", NIGHT.format(2))
    with opened(place) as book, reading(book) as page:
        assert page.execute(text("DELETE FROM finding")).rowcount > 5
