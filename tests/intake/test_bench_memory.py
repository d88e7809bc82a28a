"""What was said of a logger's columns, remembered: for the same header line only, and harmless if it is spoilt."""

import random
import tomllib
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake import benchmemory
from pullcurve.intake.benchmemory import (
    FILE,
    Naming,
    header_key,
    known_columns,
    read_remembered,
    remember_columns,
)
from tests.intake.pulls import planned, table

PLAN = planned(pulls=2)
ODD = (("A0", PLAN.travel / 25.4), ("A1", PLAN.force / 9.80665), ("A2", PLAN.travel))
SAID = Naming({"travel": "A0", "force": "2"}, {"travel": "in", "force": "kgf"})
NOTHING = Naming()


def test_what_was_said_once_holds_for_the_next_file(tmp_path: Path) -> None:
    first = table(tmp_path / "monday.csv", ODD)
    second = table(tmp_path / "tuesday.csv", ODD, above=["# written on another day", "# job: a.toml"])
    folder = tmp_path / "settings" / "deeper"
    with pytest.raises(BadInput):
        read_remembered(second, folder, NOTHING)
    read_remembered(first, folder, SAID)
    pull = read_remembered(second, folder, NOTHING)
    np.testing.assert_allclose(pull.force, PLAN.force, atol=1e-5)
    np.testing.assert_allclose(pull.place, PLAN.travel * 1e-3, atol=1e-7)
    assert [path.name for path in folder.iterdir()] == [FILE]


def test_another_header_is_another_logger(tmp_path: Path) -> None:
    read_remembered(table(tmp_path / "a.csv", ODD), tmp_path, SAID)
    with pytest.raises(BadInput):
        read_remembered(
            table(tmp_path / "b.csv", [("A0", PLAN.travel), ("A1", PLAN.force)]), tmp_path, NOTHING
        )


def test_files_without_names_go_by_their_width(tmp_path: Path) -> None:
    rows = "\n".join(f"{place:.4f};{force:.4f}" for place, force in zip(PLAN.travel, PLAN.force, strict=True))
    file = tmp_path / "a.csv"
    file.write_text(rows, encoding="utf-8")
    read_remembered(file, tmp_path, Naming({"travel": "1", "force": "2"}, {"travel": "mm", "force": "N"}))
    np.testing.assert_allclose(read_remembered(file, tmp_path, NOTHING).force, PLAN.force, atol=1e-4)


def test_what_is_said_now_goes_over_what_was_said_before(tmp_path: Path) -> None:
    file = table(tmp_path / "a.csv", ODD)
    read_remembered(file, tmp_path, SAID)
    pull = read_remembered(file, tmp_path, Naming({"angle": "A2"}, {"angle": "deg"}))
    assert pull.angular
    np.testing.assert_allclose(pull.place, PLAN.travel * np.pi / 180, atol=1e-6)
    np.testing.assert_allclose(pull.force, PLAN.force, atol=1e-5)  # as remembered
    pull = read_remembered(file, tmp_path, NOTHING)
    assert pull.angular
    assert not read_remembered(file, tmp_path, Naming({"travel": "A2"}, {"travel": "mm"})).angular


def test_what_did_not_work_is_not_remembered(tmp_path: Path) -> None:
    file = table(tmp_path / "a.csv", ODD)
    with pytest.raises(BadInput):
        read_remembered(
            file, tmp_path, Naming({"travel": "A0", "force": "A1"}, {"travel": "m", "force": "kgf"})
        )
    assert known_columns(tmp_path) == {}


def test_a_refusal_tells_that_something_was_remembered(tmp_path: Path) -> None:
    file = table(tmp_path / "a.csv", ODD)
    remember_columns(
        tmp_path, header_key(file), Naming({"travel": "A1", "force": "A2"}, {"travel": "m", "force": "N"})
    )
    with pytest.raises(BadInput, match=rf"a\.csv: has .*; some columns are as remembered in {FILE}$"):
        read_remembered(file, tmp_path, NOTHING)


def test_written_and_read_back(tmp_path: Path) -> None:
    odd = Naming({"force": 'a "quoted" [name] = \\ ü\t'}, {"force": "°"})
    assert remember_columns(tmp_path, "abc", odd)
    assert known_columns(tmp_path) == {"abc": odd}
    assert tomllib.loads((tmp_path / FILE).read_text(encoding="utf-8"))["abc"]["units"] == {"force": "°"}


def test_the_oldest_is_forgotten_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(benchmemory, "MOST", 4)
    for number in range(6):
        remember_columns(tmp_path, f"key{number}", SAID)
    assert list(known_columns(tmp_path)) == ["key2", "key3", "key4", "key5"]
    remember_columns(tmp_path, "key3", Naming())
    assert list(known_columns(tmp_path)) == ["key2", "key4", "key5", "key3"]


def test_a_folder_that_cannot_be_written_breaks_nothing(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "settings").write_text("a file", encoding="utf-8")
    file = table(tmp_path / "a.csv", ODD)
    for folder in (tmp_path / "settings", tmp_path / "settings" / "more"):
        assert not remember_columns(folder, "abc", SAID)
        assert known_columns(folder) == {}
        np.testing.assert_allclose(read_remembered(file, folder, SAID).force, PLAN.force, atol=1e-5)
    assert not remember_columns(tmp_path, "abc", Naming({"force": "\ud800"}))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "settings"]


@pytest.mark.parametrize(
    "content",
    [
        b"", b"\xff\xfe\x00", b"not toml at all", b"abc = 3\n", b"[abc]\ncolumns = 3\nunits = []\n",
        b"[abc.columns]\nforce = 3\nweight = 'x'\n", b"[abc.columns.force]\na = 1\n", b"[" * 5000,
        b"a = " + b"[" * 5000,
    ],
)  # fmt: skip
def test_a_memory_that_is_not_legible_counts_as_none(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE).write_bytes(content)
    assert all(naming == NOTHING for naming in known_columns(tmp_path).values())
    file = table(tmp_path / "a.csv", ODD)
    np.testing.assert_allclose(read_remembered(file, tmp_path, SAID).force, PLAN.force, atol=1e-5)
    np.testing.assert_allclose(read_remembered(file, tmp_path, NOTHING).force, PLAN.force, atol=1e-5)


def test_what_a_file_cannot_follow_is_left_aside(tmp_path: Path) -> None:
    """A memory that another hand has written to does not keep a good file from being read."""
    file = table(tmp_path / "a.csv", [("travel mm", PLAN.travel), ("force N", PLAN.force)])
    odd = Naming({"force": "gone", "travel": "17", "time": "0"}, {"force": "mm", "travel": "?"})
    remember_columns(tmp_path, header_key(file), odd)
    np.testing.assert_allclose(read_remembered(file, tmp_path, NOTHING).force, PLAN.force, atol=1e-5)


def test_a_spoilt_memory_never_gives_more_than_one_plain_line(tmp_path: Path) -> None:
    file = table(tmp_path / "a.csv", [("travel mm", PLAN.travel), ("force N", PLAN.force)], digits=2)
    remember_columns(
        tmp_path, header_key(file), Naming({"travel": "1", "force": "2"}, {"force": "N", "travel": "mm"})
    )
    good = (tmp_path / FILE).read_bytes()
    draw = random.Random(20260514)
    for _ in range(300):
        spoilt = bytearray(good)
        for _ in range(draw.randint(1, 4)):
            spoilt[draw.randrange(len(spoilt))] = draw.choice(b'"=[]\n\\\x00\xff0123aN')
        (tmp_path / FILE).write_bytes(bytes(spoilt))
        said = ""
        try:
            read_remembered(file, tmp_path, NOTHING)
        except BadInput as refused:
            said = str(refused)
        assert said.isprintable() and "\n" not in said
