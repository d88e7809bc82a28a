"""A workshop's own hardware as a file: written, read back, and every way in which it can be wrong."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.hardwarefile import LARGEST, hardware_text, parse_hardware, read_hardware
from pullcurve.intake.sentences import MOST_FAULTS
from pullcurve.parts.layout import described, hardware_of
from pullcurve.verbs.jobs import demo_job, demo_names
from pullcurve.verbs.stripping import steps_for, tasks_for
from tests.intake.mutate import mutants
from tests.intake.test_mutations import FOREIGN

COUNT, SEED = 600, 20261128
TEXT = hardware_text(hardware_of(demo_job()), "mine")

BOX = """\
title = "box with a lid"
note = "described by the workshop"
tools = [{ id = "key", name = "hex key", hex_mm = 3 }, { id = "hook", name = "hook" }]

[[pieces]]
id = "screws"
off = "Undo them."
on = "Put them in."
tool = "key"
fastener = { count = 2, thread = "M4", head = "cap", property_class = "8.8", length_mm = 10, softest = "steel" }

[[pieces]]
id = "lid"
off = "Lift it."
on = "Lay it on."
held_by = ["screws"]

[[tasks]]
id = "open"
name = "open the box"
targets = ["lid"]
exchange = "Look in."
"""


def refused(text: str) -> list[str]:
    """What is said about a text."""
    with pytest.raises(BadInput) as found:
        parse_hardware(text, "unit.toml")
    return [str(fault) for fault in found.value.faults]


# Written and read -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", demo_names())
def test_what_is_written_is_read_back(name: str) -> None:
    hardware = hardware_of(demo_job(name))
    found = parse_hardware(hardware_text(hardware, "mine"), "unit.toml")
    assert found.unit == "mine"
    for key in ("title", "note", "tools", "consumables", "pieces", "tasks", "rules"):
        assert getattr(found, key) == getattr(hardware, key), key
    assert not found.cautions and not found.prepare and not found.closing


def test_the_file_holds_what_the_data_hold() -> None:
    """The same pieces as a standard TOML reader finds in the package's own data, key by key."""
    written = {row["id"]: row for row in tomllib.loads(hardware_text(described("one-lever"), "x"))["pieces"]}
    data = Path(__file__).parents[2] / "src" / "pullcurve" / "data"
    rows: list[dict[str, Any]] = []
    for name in ("hardware-one-lever", "hardware-common"):
        rows += tomllib.loads((data / f"{name}.toml").read_text(encoding="utf-8"))["pieces"]
    assert written == {row["id"]: row for row in rows}


def test_a_file_is_read_with_any_line_ends_and_a_mark(tmp_path: Path) -> None:
    file = tmp_path / "unit.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BOX.replace("\n", "\r\n").encode())
    assert read_hardware(file) == parse_hardware(BOX, "unit.toml")


# What is refused --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('["screws"]', '["screw"]', 'name "screw", which is not described here; did you mean "screws"?'),
        ('["screws"]', '["bolt"]', '[pieces.lid]: held_by name "bolt", which is not described here; allowed is one'),
        ('targets = ["lid"]', 'targets = ["id"]', "[tasks.open]: targets name"),
        ('tool = "key"', 'tool = "keys"', '[pieces.screws]: tool name "keys", which is not described here; did you'),
        ('tool = "key"', 'tool = "hook"', "[pieces.screws]: tool has no size; allowed is 3 mm for M4 with a cap head"),
        ("hex_mm = 3", "hex_mm = 4", "[pieces.screws]: tool is of 4 mm; allowed is 3 mm"),
        ("hex_mm = 3", "hex_mm = 300", "[tools.key]: hex_mm is 300; allowed is 1 to 32"),
        ('"M4"', '"M8"', '[pieces.screws.fastener]: thread is "M8"; allowed is "M3", "M4", "M5" or "M6"'),
        ("count = 2", "count = 0", "[pieces.screws.fastener]: count is 0; allowed is a whole number, 1 to 12"),
        ("count = 2, ", "", "[pieces.screws.fastener]: count is missing; allowed is a whole number"),
        ('id = "lid"', 'id = "screws"', 'id is "screws" a second time; allowed is an id of its own'),
        ('off = "Lift it."', 'of = "Lift it."', "[pieces.lid]: of is not known here; did you mean off?"),
        ('off = "Lift it."', "", "[pieces.lid]: off is missing; allowed is a text of 1 to 300 characters"),
        ('off = "Lift it."', 'off = "Lift it."\nstroke_mm = 1', "[pieces.lid]: stroke_mm is not known here; known"),
        ('on = "Put them in."', 'on = "Put them in."\nblocked_by = ["lid"]', "pieces wait for each other: "),
        ('title = "box with a lid"', "title = 1", "title is 1; allowed is a text of 1 to 120 characters"),
        ('title = "box', 'title = "box\n', "is not TOML at line 1"),
        ("[[tasks]]", "[[task]]", "task is not known here; did you mean tasks?"),
    ],
)  # fmt: skip
def test_each_fault_is_one_line_that_names_its_place(old: str, new: str, said: str) -> None:
    assert BOX.count(old) == 1
    lines = refused(BOX.replace(old, new))
    assert any(line.startswith("unit.toml") and said in line for line in lines), lines


def test_a_ring_names_its_pieces() -> None:
    (line,) = refused(BOX.replace('on = "Put them in."', 'on = "Put them in."\nblocked_by = ["lid"]'))
    ring = line.partition("each other: ")[2].partition(";")[0].split(", ")
    assert ring[0] == ring[-1] and set(ring) == {"lid", "screws"}


def test_a_threadlocker_has_to_stay_off_the_countersink() -> None:
    text = TEXT.replace(', never = "on the countersink"}', "}")
    lines = refused(text)
    assert lines and all("never is missing; it is never let onto a countersink" in line for line in lines)
    assert all("[pieces." in line for line in lines)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"\xff\xfe\x00", "is no UTF-8 text from byte 0 on"),
        (b"a = " + b"[" * 4000 + b"]" * 4000, "nests lists or tables too deep"),
        (b"a = " + b"9" * 5000, "holds a number with thousands of digits"),
        (b" " * (LARGEST + 1), "allowed is up to"),
    ],
)
def test_what_is_no_hardware_file_is_one_line(tmp_path: Path, content: bytes, said: str) -> None:
    file = tmp_path / "unit.toml"
    file.write_bytes(content)
    with pytest.raises(BadInput) as found:
        read_hardware(file)
    assert said in str(found.value) and "\n" not in str(found.value)


def test_a_file_that_is_not_there_or_a_folder_is_one_line(tmp_path: Path) -> None:
    for path, said in ((tmp_path / "none.toml", "none.toml: is not there"), (tmp_path, "is a folder")):
        with pytest.raises(BadInput, match=said):
            read_hardware(path)


# Spoilt files -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", [BOX, TEXT], ids=["small", "whole"])
def test_a_spoilt_file_is_used_or_refused_in_plain_lines(tmp_path: Path, text: str) -> None:
    """Nothing but lines of our own comes out; what is taken tells every task without a fault of ours."""
    file, job = tmp_path / "unit.toml", demo_job()
    taken = 0
    for content in mutants(text, COUNT if text is BOX else COUNT // 4, SEED):
        file.write_bytes(content)
        try:
            own = read_hardware(file)
            for task in tasks_for(job, own):
                steps_for(job, task.id, own)
            taken += 1
        except BadInput as error:
            lines = [str(fault) for fault in error.faults]
            assert 0 < len(lines) <= MOST_FAULTS + 1
            for line in lines:
                assert line.startswith(("unit.toml", "hardware")) and line.isprintable(), line
                assert len(line) < 900 and not FOREIGN.search(line), line
    assert taken >= 5
