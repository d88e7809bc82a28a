"""Job files in and out: whatever lies there is read or refused in one line; what is written reads back the same."""

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import LARGEST, job_text, parse_job, read_job, write_job
from pullcurve.parts.facts import known
from pullcurve.parts.job import Job
from pullcurve.parts.origin import origins
from pullcurve.parts.rider import BrakeWishes, ClutchWishes
from tests.parts.jobs import CABLE, DIAPHRAGM, EXAMPLE, TORSION, Edit, job, tables
from tests.parts.walk import inside

# What lies at a path ------------------------------------------------------------------------------------------


def told(path: Path | str) -> str:
    """What reading a file is told."""
    with pytest.raises(BadInput) as refused:
        read_job(path)
    return str(refused.value)


def lay(folder: Path, content: bytes) -> Path:
    """A file with this content."""
    file = folder / "job.toml"
    file.write_bytes(content)
    return file


def test_example_is_read_from_a_path_and_from_its_name(tmp_path: Path) -> None:
    file = lay(tmp_path, EXAMPLE.encode())
    assert read_job(file) == read_job(str(file)) == job()


def test_missing_file(tmp_path: Path) -> None:
    said = "is not there; `pullcurve init DIR` writes a job to start from"
    assert told(tmp_path / "nothing" / "job.toml") == f"job.toml: {said}"


def test_folder(tmp_path: Path) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    assert told(folder) == "jobs: is a folder; a job is one TOML file"


def test_empty_file(tmp_path: Path) -> None:
    lines = told(lay(tmp_path, b"")).split("\n")
    assert lines[0] == "job.toml: title is missing; allowed is a text of 1 to 120 characters on one line"
    assert lines[1:] == [
        f"job.toml: {key} is missing; allowed is a table, [{key}]"
        for key in ("unit", "motorcycle", "rider", "fitted")
    ]


@pytest.mark.parametrize(
    ("content", "byte"),
    [(b"\x89PNG\r\n\x1a\n", 0), (b'title = "\xe4"', 9), (EXAMPLE.encode("utf-16"), 0), (b"a = 1\n\xc3", 6)],
    ids=["picture", "Latin-1", "UTF-16", "cut"],
)
def test_other_than_utf_8(tmp_path: Path, content: bytes, byte: int) -> None:
    said = f"is no UTF-8 text from byte {byte} on; a job is one TOML file"
    assert told(lay(tmp_path, content)) == f"job.toml: {said}"


@pytest.mark.parametrize(
    "content", [b"\xef\xbb\xbf" + EXAMPLE.encode(), EXAMPLE.replace("\n", "\r\n").encode()]
)
def test_marks_and_line_ends_of_other_systems_are_read(tmp_path: Path, content: bytes) -> None:
    assert read_job(lay(tmp_path, content)) == job()


def test_huge_file(tmp_path: Path) -> None:
    file = lay(tmp_path, b"# x\n" * (LARGEST // 4 + 1))
    assert told(file) == "job.toml: has more than 1 MB; a job has a few kB"


def test_endless_device() -> None:
    zero = Path("/dev/zero")
    if not zero.exists():
        pytest.skip("there is no such device here")
    assert told(zero) == "zero: has more than 1 MB; a job has a few kB"


def test_largest_file_of_longest_lines_is_refused(tmp_path: Path) -> None:
    file = lay(tmp_path, (b"a." * 9_990 + b"a=1\n") * 40)
    assert told(file).startswith("job.toml: is not TOML at line 2")


def test_name_that_no_file_can_have() -> None:
    assert re.fullmatch(r"x…?.*: cannot be read: .+", told("x" * 5000))
    assert told("a\0b") == r"a\x00b: cannot be read: embedded null byte"


def test_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    file = lay(tmp_path, EXAMPLE.encode())
    monkeypatch.setattr(Path, "open", refuse)
    assert told(file) == "job.toml: cannot be read: permission denied"


# What is no TOML ----------------------------------------------------------------------------------------------

SYNTAX = [
    ("x", "at its end: a key wants = and a value after it"),
    ("a = 1\nb 2", "at line 2, column 3: a key wants = and a value after it"),
    ("a = 1\na = 2", "at its end: this key stands here a second time"),
    ("[a]\n[a]\n", "at line 2, column 3: this section stands here a second time, or was closed further up"),
    ("a = 1,5", "at line 1, column 6: nothing may follow a value on its line"),
    (
        "a = five",
        "at line 1, column 5: no value looks like this; a text stands in quotes, a decimal point is a dot",
    ),
    ("a = 'x", "at its end: a text is not closed"),
    ('a = "x', "at its end: a text is not closed"),
    ('a = "x\n"', "at line 1, column 7: a character stands here that no text or comment may contain"),
    ("a = [1, 2", "at its end: a list is not closed, or misses a comma"),
    ("a = [1 2]", "at line 1, column 8: a list is not closed, or misses a comma"),
    ("a = { b = 1", "at its end: a table in braces is not closed on its line, or misses a comma"),
    ("a = { b = 1, b = 2 }", "at line 1, column 19: this key stands here a second time"),
    ("[a\n", "at line 1, column 3: a section's name is not closed with ]"),
    ("[[a]\n", "at line 1, column 4: a section's name is not closed with ]"),
    ("[]\n", "at line 1, column 2: no key begins like this"),
    ("= 1", "at line 1, column 1: no key, section or comment begins like this"),
    ('a = "\\q"', "at line 1, column 8: a backslash in a text stands twice, or the text in single quotes"),
    ('a = "\\u12"', "at line 1, column 8: an escape in a text has too few digits"),
    ('a = "\\ud800"', "at line 1, column 12: an escape in a text names no character"),
    ("a = 2026-02-30", "at line 1, column 5: there is no such date or time"),
    ("a = 1\n[a.b]\n", "at line 2, column 5: this key stands here a second time"),
    (
        "a = { b = 1 }\n[a.c]\n",
        "at line 2, column 5: this section stands here a second time, or was closed further up",
    ),
    ("[a.b]\n[a]\nb.c = 1\n", "at line 3, column 8: this table was closed further up"),
    ("# \x00\n", "at line 1, column 3: a character stands here that no file of text may contain"),
]


@pytest.mark.parametrize(("text", "said"), SYNTAX, ids=[repr(text) for text, _ in SYNTAX])
def test_line_and_reason_of_what_is_no_toml(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_job(text, "job.toml")
    assert str(refused.value) == f"job.toml: is not TOML {said}"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 9000, "nests lists or tables too deep; a job has at most six levels"),
        ("a = " + "{a=" * 6000, "nests lists or tables too deep; a job has at most six levels"),
        ("a = " + "9" * 5000, "holds a number with thousands of digits"),
        ("a = 1\nb = " + "[1," * 9000, "has 27004 characters in line 2; allowed is up to 20000"),
    ],
    ids=["lists", "tables", "digits", "line"],
)
def test_too_much_of_it(text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        parse_job(text, "job.toml")
    assert str(refused.value) == f"job.toml: {said}"


def test_more_faults_than_anyone_reads() -> None:
    with pytest.raises(BadInput) as refused:
        parse_job("\n".join(f"k{row} = 1" for row in range(1000)), "job.toml")
    assert len(refused.value.faults) == 101
    assert str(refused.value.faults[-1]) == "job.toml: has more faults than these 100"


# Out and in again ---------------------------------------------------------------------------------------------

TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=40).filter(
    str.strip
)
NOTES = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")) | st.sampled_from("\n\t"), max_size=200
)
VARIANTS: tuple[tuple[Edit, ...], ...] = ((), CABLE, TORSION, DIAPHRAGM, (*CABLE, *TORSION, *DIAPHRAGM))


def optional_numbers(part: type[BaseModel]) -> dict[str, st.SearchStrategy[float]]:
    """Optional numbers of a part, each in its prior's band."""
    found = {}
    for key, info in part.model_fields.items():
        extra = info.json_schema_extra
        if not isinstance(extra, dict) or extra["prior"] == "surface_list":
            continue
        fact = known(
            str(extra["prior"]), {"hose_kind": "braided", "kind": "enduro"}.get(str(extra.get("by")))
        )
        if fact.low is not None and fact.high is not None and key != "rate_newton_per_mm":
            found[key] = st.floats(fact.low, fact.high)
    return found


def filled(part: type[BaseModel], typed: dict[str, Any], draw: st.DrawFn) -> dict[str, Any]:
    """A table with some of the optional numbers that it may hold, and so on downwards."""
    some = draw(st.fixed_dictionaries({}, optional=optional_numbers(part)))
    whole = {**some, **typed}
    for key, value in typed.items():
        inner = [
            model
            for model in inside(part.model_fields[key].annotation)
            if set(value_keys(value)) <= set(model.model_fields)
        ]
        if inner and isinstance(value, dict):
            whole[key] = filled(inner[0], value, draw)
        elif inner and isinstance(value, list):
            whole[key] = [filled(inner[0], row, draw) for row in value]
    return whole


def value_keys(value: object) -> list[str]:
    """Keys of a table, or of all tables of a list."""
    if isinstance(value, dict):
        return list(value)
    return [key for row in value if isinstance(row, dict) for key in row] if isinstance(value, list) else []


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Jobs of every kind of load, with any optional numbers, texts, surfaces, wishes and racks."""
    typed = tables(*draw(st.sampled_from(VARIANTS)))
    kept = {key: typed.pop(key) for key in ("rack", "measured", "wishes", "fitted")}
    whole: dict[str, Any] = {**filled(Job, typed, draw), **kept}
    whole["title"] = draw(TEXTS)
    whole["notes"] = draw(NOTES)
    whole["rider"]["need"] = draw(TEXTS)
    whole["rider"]["age_years"] = draw(st.floats(8, 100) | st.integers(8, 100))
    names = draw(st.lists(TEXTS, max_size=12, unique=True))
    if names:
        whole["surfaces"] = [{"name": name, "grip": draw(st.floats(0.03, 1.5))} for name in names]
    whole["rack"]["clutch"] = [
        {
            "reach_deg": draw(st.floats(0, 20) | st.lists(st.floats(0, 20), min_size=1, max_size=5)),
            "lift_mm": 9,
        }
        for _ in range(draw(st.integers(0, 3)))
    ]
    whole["wishes"] = {
        "complaints": draw(st.lists(TEXTS, max_size=3)),
        **{
            kind: draw(st.fixed_dictionaries({}, optional=dict.fromkeys(part.model_fields, st.floats(1, 80))))
            for kind, part in (("brake", BrakeWishes), ("clutch", ClutchWishes))
        },
        "importance": draw(st.dictionaries(st.just("brake.force_lock_newton"), st.floats(0.1, 10))),
    }
    days = st.dates(date(1000, 1, 1))
    whole["measured"]["motorcycle.mass_kg"] = {
        "date": draw(days),
        "low": draw(st.floats(-1e9, 112)),
        "high": 112,
    }
    try:
        return Job.model_validate(whole)
    except ValidationError:
        assume(False)
        raise


@given(jobs())
@settings(max_examples=60)
def test_what_is_written_reads_back_the_same(written: Job) -> None:
    text = job_text(written)
    back = parse_job(text, "job.toml")
    assert back == written
    assert origins(back) == origins(written)
    assert job_text(back) == text


@pytest.mark.parametrize("edits", VARIANTS)
def test_only_what_was_given_is_written(edits: tuple[Edit, ...], tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    write_job(job(*edits), file)
    assert b"\r" not in file.read_bytes()
    assert read_job(file) == job(*edits)
    text = file.read_text(encoding="utf-8")
    assert "pad_gap_mm" not in text
    assert "mass_kg = 112\n" in text
    assert "bore_mm = 9.5\n" in text


def test_what_was_set_to_nothing_is_not_written() -> None:
    none = job().model_copy(update={"pedal": None, "rack": None})
    assert parse_job(job_text(none), "job.toml") == none


def test_writing_where_nothing_can_be_written(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as refused:
        write_job(job(), tmp_path / "nothing" / "job.toml")
    assert str(refused.value) == "job.toml: cannot be written: no such file or directory"
