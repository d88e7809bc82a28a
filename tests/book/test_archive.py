"""The whole book goes out and comes in again, from either engine to either; what was changed on the way does not."""

import hashlib
import json
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from pullcurve.book import findings, pages
from pullcurve.book.archive import write_archive
from pullcurve.book.opening import Book, Page, opened, reading, writing
from pullcurve.book.tables import BOOK
from pullcurve.book.unpacking import empty, read_archive
from pullcurve.errors import BadInput
from tests.book.lines import PNG, RAW, fill

AT = "2026-05-14T03:15:00Z"

Entries = dict[str, bytes]


def everything(book: Book) -> dict[str, list[Any]]:
    """Every line of every table."""
    with reading(book) as page:
        return lines_of(page)


def lines_of(page: Page) -> dict[str, list[Any]]:
    """Every line of every table on a page."""
    return {
        table.name: [tuple(row) for row in page.execute(select(table).order_by(*table.primary_key))]
        for table in BOOK
    }


def packed(book: Book, path: Path) -> Path:
    """The whole book in an archive."""
    with reading(book) as page:
        write_archive(page, path, AT)
    return path


def take(book: Book, path: Path) -> dict[str, int]:
    """Take an archive in."""
    with writing(book) as page:
        return read_archive(page, path)


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The archive of a book with two machines."""
    folder = tmp_path_factory.mktemp("archive")
    with opened(str(folder / "book.sqlite"), new=True) as book:
        fill(book)
        fill(book, "another")
        return packed(book, folder / "whole.zip")


@pytest.fixture
def other(tmp_path: Path) -> str:
    """A place for another book."""
    return str(tmp_path / "other.sqlite")


def test_there_and_back_is_the_same(book: Book, other: str, tmp_path: Path) -> None:
    fill(book)
    fill(book, "another")
    wrote = everything(book)
    archive = packed(book, tmp_path / "whole.zip")
    with opened(other, new=True) as second:
        rows = take(second, archive)
        assert everything(second) == wrote
        assert rows == {name: len(lines) for name, lines in wrote.items()}
        with reading(second) as page:
            assert len(findings.search(page, "flank", None, 9)) == 2
            assert pages.content_of(page, "photo", 1) == pages.content_of(page, "photo", 2)
        again = packed(second, tmp_path / "again.zip")
    assert contents(again) == contents(archive)


def test_a_server_takes_a_files_archive_and_counts_on(book: Book, archive: Path) -> None:
    take(book, archive)
    fill(book, "a third")
    with reading(book) as page:
        assert [one.machine.name for one in pages.list_machines(page, 9)] == [
            "a third",
            "another",
            "north-12",
        ]
        assert len(pages.visits_of(page, 3)) == 2


def test_the_archive_can_be_read_without_us(archive: Path) -> None:
    """Lines of JSON, files as they came, and checksums that another tool confirms."""
    with zipfile.ZipFile(archive) as known:
        assert known.testzip() is None
        told = json.loads(known.read("manifest.json"))
        for name, digest in told["entries"].items():
            assert hashlib.sha256(known.read(name)).hexdigest() == digest
        machines = [json.loads(line) for line in known.read("tables/machine.jsonl").splitlines()]
        files = {name: known.read(name) for name in known.namelist() if name.startswith("contents/")}
    assert [one["name"] for one in machines] == ["north-12", "another"]
    assert {RAW, PNG} < set(files.values())
    assert all(name == f"contents/{hashlib.sha256(file).hexdigest()}" for name, file in files.items())
    assert told["rows"]["visit"] == 4 and told["made"] == AT


def contents(path: Path) -> Entries:
    """Entries of an archive by name."""
    with zipfile.ZipFile(path) as known:
        return {name: known.read(name) for name in known.namelist()}


def test_an_archive_of_an_earlier_step_is_taken_in(book: Book, archive: Path, tmp_path: Path) -> None:
    """Lines without what later steps added, and no table that they made."""
    entries = contents(archive)
    told = json.loads(entries["manifest.json"])
    told["step"] = "0001"
    del entries["tables/service.jsonl"], told["entries"]["tables/service.jsonl"], told["rows"]["service"]
    later = {"visit": ("hours_dry", "hours_mud", "hours_sand"), "machine": ("due_day", "due_what")}
    for table, keys in later.items():
        lines = [json.loads(line) for line in entries[f"tables/{table}.jsonl"].splitlines()]
        old = [{key: value for key, value in line.items() if key not in keys} for line in lines]
        entries[f"tables/{table}.jsonl"] = signed(told, f"tables/{table}.jsonl", old)
    entries["manifest.json"] = json.dumps(told).encode()
    take(book, zipped(tmp_path / "old.zip", entries))
    with reading(book) as page:
        visits = pages.visits_of(page, 1)
        assert len(visits) == 2 and sum(visits[1].hours.values()) == 0.0 and visits[0].services == ()
        assert len(findings.search(page, "tires", None, 9)) == 2


# Changed on the way -------------------------------------------------------------------------------------------------


def signed(told: dict[str, Any], name: str, lines: list[Any]) -> bytes:
    """Lines of a table, with their checksum in the manifest."""
    text = b"".join(json.dumps(line, ensure_ascii=False).encode() + b"\n" for line in lines)
    told["entries"][name] = hashlib.sha256(text).hexdigest()
    return text


def zipped(path: Path, entries: Entries) -> Path:
    """An archive of these entries."""
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return path


def other_byte(entries: Entries) -> None:
    name = "tables/visit.jsonl"
    entries[name] = entries[name].replace(b"Clutch tires", b"Clutch tyres")


def other_photo(entries: Entries) -> None:
    name = f"contents/{hashlib.sha256(PNG).hexdigest()}"
    entries[name] = PNG[:-1] + b"x"


def no_photo(entries: Entries) -> None:
    del entries[f"contents/{hashlib.sha256(PNG).hexdigest()}"]


def more_files(entries: Entries) -> None:
    entries["contents/" + hashlib.sha256(b"more").hexdigest()] = b"more"


def no_table(entries: Entries) -> None:
    del entries["tables/ride.jsonl"]


def no_manifest(entries: Entries) -> None:
    del entries["manifest.json"]


def spoilt_manifest(entries: Entries) -> None:
    entries["manifest.json"] = b'{"what": ['


def nested_manifest(entries: Entries) -> None:
    entries["manifest.json"] = b"[" * 100_000


def escapes(name: str) -> Callable[[Entries], None]:
    def change(entries: Entries) -> None:
        entries[name] = b"gotcha"

    return change


def manifest(**values: Any) -> Callable[[Entries], None]:
    def change(entries: Entries) -> None:
        entries["manifest.json"] = json.dumps({**json.loads(entries["manifest.json"]), **values}).encode()

    return change


def lines(table: str, change: Callable[[list[Any]], None]) -> Callable[[Entries], None]:
    """Lines of a table changed, with a manifest that goes with them."""

    def changed(entries: Entries) -> None:
        told = json.loads(entries["manifest.json"])
        name = f"tables/{table}.jsonl"
        known = [json.loads(line) for line in entries[name].splitlines()]
        change(known)
        entries[name] = signed(told, name, known)
        told["rows"][table] = len(known)
        entries["manifest.json"] = json.dumps(told).encode()

    return changed


def value(key: str, given: Any) -> Callable[[list[Any]], None]:
    return lambda known: known[0].update({key: given})


SPOILT: dict[str, tuple[Callable[[Entries], None], str]] = {
    "another byte in a table": (other_byte, "tables/visit.jsonl has another checksum"),
    "another byte in a photo": (other_photo, "has another checksum"),
    "a photo is gone": (no_photo, "lacks the file contents/"),
    "a file that no line names": (more_files, "holds files that no line of it names"),
    "a table is gone": (no_table, "lacks tables that its manifest names"),
    "no manifest": (no_manifest, "its manifest is missing or spoilt"),
    "half a manifest": (spoilt_manifest, "its manifest is missing or spoilt"),
    "a manifest without an end": (nested_manifest, "its manifest is missing or spoilt"),
    "up and out": (escapes("../../evil.sh"), "holds '../../evil.sh', which no book has"),
    "an absolute path": (escapes("/etc/cron.d/evil"), "which no book has"),
    "out of the contents": (escapes("contents/../../evil"), "which no book has"),
    "a path of another system": (escapes("contents\\..\\evil"), "which no book has"),
    "another table": (escapes("tables/alembic_version.jsonl"), "which no book has"),
    "another archive": (manifest(what="holiday pictures"), "is no archive of a book"),
    "another layout": (manifest(layout=9), "newer pullcurve"),
    "a later step": (manifest(step="0942"), r"newer pullcurve \(step 0942\)"),
    "too many lines told": (manifest(rows={"visit": 99}), "more or fewer lines"),
    "a visit of no machine": (lines("visit", value("machine_id", 77)), "do not fit together"),
    "a number twice": (
        lines("ride", lambda known: known[1].update(id=known[0]["id"])),
        "do not fit together",
    ),
    "points beyond the scale": (lines("rating", value("points", 9)), "do not fit together"),
    "a text for a number": (lines("visit", value("hours_mud", "many")), "visit.jsonl, line 1"),
    "a number for a text": (lines("visit", value("title", 5)), "visit.jsonl, line 1"),
    "nothing for a text": (lines("visit", value("title", None)), "visit.jsonl, line 1"),
    "no such day": (lines("visit", value("day", "2026-02-31")), "visit.jsonl, line 1"),
    "an endless number": (lines("visit", value("id", 10**30)), "visit.jsonl, line 1"),
    "a sign that no text has": (lines("machine", value("words", "a\x00b")), "machine.jsonl, line 1"),
    "a column that no table has": (lines("visit", value("evil", 1)), "visit.jsonl, line 1"),
    "lines of two kinds": (lines("visit", lambda known: known[1].pop("words")), "visit.jsonl, line 2"),
    "a line that is a list": (lines("visit", lambda known: known.append([1])), "visit.jsonl, line 5"),
    "a file without its size": (
        lines("content", value("sha256", "../evil")),
        "lacks the file contents/../evil",
    ),
}


@pytest.mark.parametrize("name", SPOILT)
def test_what_was_changed_on_the_way_is_refused(name: str, archive: Path, tmp_path: Path) -> None:
    change, said = SPOILT[name]
    entries = contents(archive)
    change(entries)
    spoilt = zipped(tmp_path / "spoilt.zip", entries)
    with opened(str(tmp_path / "book.sqlite"), new=True) as book:
        with pytest.raises(BadInput, match=said) as refused:
            take(book, spoilt)
        assert "\n" not in str(refused.value) and "nothing was taken in" in str(refused.value)
        assert not any(everything(book).values())
    assert not list(tmp_path.glob("**/evil*"))


def test_a_server_refuses_the_same(book: Book, archive: Path, tmp_path: Path) -> None:
    for name in ("a visit of no machine", "points beyond the scale", "another byte in a photo"):
        entries = contents(archive)
        SPOILT[name][0](entries)
        with pytest.raises(BadInput, match="nothing was taken in"):
            take(book, zipped(tmp_path / "spoilt.zip", entries))
        assert not any(everything(book).values())


def test_an_entry_twice_is_refused(archive: Path, tmp_path: Path) -> None:
    twice = tmp_path / "twice.zip"
    twice.write_bytes(archive.read_bytes())
    with (
        zipfile.ZipFile(twice, "a") as known,
        pytest.warns(UserWarning, match="Duplicate name"),
    ):
        known.writestr("tables/ride.jsonl", "")
    with (
        opened(str(tmp_path / "book.sqlite"), new=True) as book,
        pytest.raises(BadInput, match="entry twice"),
    ):
        take(book, twice)


@pytest.mark.parametrize("cut", [0.0, 0.3, 0.9, 0.999])
def test_half_an_archive_is_refused(cut: float, archive: Path, tmp_path: Path) -> None:
    whole = archive.read_bytes()
    half = tmp_path / "half.zip"
    half.write_bytes(whole[: int(len(whole) * cut)])
    with opened(str(tmp_path / "book.sqlite"), new=True) as book:
        with pytest.raises(BadInput, match="is no whole archive of a book"):
            take(book, half)
        assert not any(everything(book).values())


def test_every_byte_counts(archive: Path, tmp_path: Path) -> None:
    """A byte changed anywhere in the archive: either the book is the same, or nothing is taken in."""
    whole = archive.read_bytes()
    with opened(str(tmp_path / "first.sqlite"), new=True) as book:
        take(book, archive)
        right = everything(book)
    with opened(str(tmp_path / "book.sqlite"), new=True) as book:
        for at in range(7, len(whole), len(whole) // 150):
            spoilt = tmp_path / "spoilt.zip"
            spoilt.write_bytes(whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :])
            found = None
            with suppress(BadInput), writing(book) as page:
                read_archive(page, spoilt)
                found = lines_of(page)
                empty(page)
            assert found in (None, right)


def test_what_is_not_there_and_what_is_a_folder(tmp_path: Path) -> None:
    with opened(str(tmp_path / "book.sqlite"), new=True) as book:
        with pytest.raises(BadInput, match="is not there"):
            take(book, tmp_path / "nowhere.zip")
        with pytest.raises(BadInput, match="cannot be read: is a directory"):
            take(book, tmp_path)


def test_an_archive_is_whole_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with opened(str(tmp_path / "book.sqlite"), new=True) as book:
        fill(book)
        monkeypatch.setattr(json, "dumps", lambda *_, **__: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            packed(book, tmp_path / "whole.zip")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book.sqlite"]
