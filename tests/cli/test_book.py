"""The job book on the command line: one job through the whole of it, the same as JSON, one line for what is wrong."""

import hashlib
import json
import re
import shutil
import sqlite3
from contextlib import closing
from math import log
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from pullcurve.cli import main
from pullcurve.cli.commands import group
from tests.cli.speaking import Said, Speak, job_file

NAME = "north-12"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where this test's book lies; nobody's own is touched."""
    place = tmp_path / "book.sqlite"
    monkeypatch.setenv("PULLCURVE_BOOK", str(place))
    monkeypatch.setenv("PULLCURVE_WHO", "Ann")
    return place


def lighter(job: Path) -> Path:
    """The same job with a lighter brake."""
    path = job.with_name("lighter.toml")
    path.write_text(
        job.read_text(encoding="utf-8").replace("stroke_mm = 8.5 }", "stroke_mm = 7.5 }"), "utf-8"
    )
    return path


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book that holds one machine with two visits and a note for each, written on the command line."""
    place = tmp_path_factory.mktemp("written") / "book.sqlite"
    job = job_file(place.parent)
    rated = ("--rate", "brake.force_lock=1", "--rate", "brake.modulation=-1")
    for line in (
        ("add", NAME, "--owner", "below-knee prosthesis"),
        ("visit", NAME, job, "--date", "2026-03-01", "--done", "all", "--fluid", "DOT 4"),
        (
            "note",
            NAME,
            "--date",
            "2026-03-05",
            "--rate",
            "brake.force_lock=2",
            "--words",
            "Zu schwer, müde Hand",
        ),
        ("visit", NAME, lighter(job), "--date", "2026-04-01", "--hours", "mud=6", "--words", "lighter brake"),
        ("note", NAME, "--date", "2026-04-05", *rated),
    ):
        with pytest.raises(SystemExit) as left:
            main(["book", *map(str, line), "--book", str(place), "--who", "Ann"])
        assert left.value.code == 0
    return place


@pytest.fixture
def begun(cli: Speak, place: Path, written: Path) -> Speak:
    """The command line with a book of its own that holds the same."""
    shutil.copyfile(written, place)
    return cli


def flat(said: Said) -> str:
    """Output without its line breaks."""
    assert said.err == ""
    return " ".join(said.out.split())


def data(cli: Speak, *arguments: str | Path) -> Any:
    """An answer as JSON."""
    said = cli("book", *arguments, "--json")
    assert (said.code, said.err) == (0, "")
    return json.loads(said.out)


# One job through the whole book -------------------------------------------------------------------------------------


def test_one_job_goes_through_the_whole_book(begun: Speak, tmp_path: Path) -> None:
    learned = tmp_path / "learned.toml"
    text = flat(begun("book", "learn", NAME, "--keep", "-o", learned))
    assert "2 rated rides" in text and "What one ride would teach most next" in text
    assert "The best set is in the book as a proposal." in text and "certifies nothing" in text
    assert begun("find", learned).code == 0  # the finder looks for what was learned
    proposal = data(begun, "timeline", NAME)["history"][-1]
    assert proposal["kind"] == "proposal" and proposal["source"] == "learned" and proposal["cams"]
    assert begun("steps", learned, "--task", "brake-cam").code == 0
    pull = tmp_path / "pull.csv"
    assert begun("bench", "live", "simulated", "--job", learned, "--lever", "brake", "-o", pull).code == 0
    assert "pull 1 is in the book" in flat(begun("book", "pull", NAME, pull, "--lever", "brake"))


def test_a_visit_says_what_was_exchanged_and_what_is_due(begun: Speak, job: Path) -> None:
    text = flat(begun("book", "visit", NAME, job, "--date", "2026-05-01"))
    assert "visit 3 of north-12 is in the book" in text
    assert "exchanged: brake-in0-tu0.0-st7.5 → brake-in0-tu0.0-st8.5" in text
    assert "next due: 2026-05-01, brake pads and disc" in text


def test_show_and_its_job(begun: Speak, job: Path, tmp_path: Path) -> None:
    then = tmp_path / "then.toml"
    text = flat(begun("book", "show", NAME, "--date", "2026-03-31", "--job", then))
    assert "2026-03-01 visit 1" in text and "brake, force at lock-up 75 N" in text
    assert "looked after:" in text and "fluid DOT 4" in text and "written by Ann" in text
    assert then.read_bytes() == job.read_bytes()
    text = flat(begun("book", "show"))
    assert "#1 north-12 2 2026-04-01" in text
    assert "Nothing is in the book yet" in flat(begun("book", "show", "--after", NAME))


def test_timeline(begun: Speak) -> None:
    out = begun("book", "timeline", NAME).out
    days = re.findall(r"^\d{4}-\d\d-\d\d", out, flags=re.MULTILINE)
    assert days == ["2026-03-01", "2026-03-05", "2026-04-01", "2026-04-05"]
    assert "visit 2: brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5" in out
    assert (
        "ride 2: brake.force_lock +1, brake.modulation_travel -1" in out and "ridden before: 6 h mud" in out
    )


def force_at_lock_up(cli: Speak, job: Path) -> float:
    """What the pull of a job says [N]."""
    levers = json.loads(cli("pull", job, "--json").out)["levers"]
    known = next(one["readouts"]["brake"] for one in levers if "brake" in one["readouts"])
    return float(known["force_lock_newton"][0])


def test_compare(begun: Speak, job: Path) -> None:
    """Felt steps by hand from two pulls: 7 % are one."""
    before, after = (force_at_lock_up(begun, known) for known in (job, lighter(job)))
    text = flat(begun("book", "compare", NAME, "2026-03-01", "2026-04-30"))
    assert "exchanged: brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5" in text
    steps = log(after / before) / log(1.07)
    row = f"brake, force at lock-up {before:.0f} N {after:.0f} N {after - before:+.0f} N felt back to back {steps:+.1f}"
    assert row in text and -2.0 < steps < -1.0
    assert "clutch, " not in text.split("Computed guidance")[0]
    same = flat(begun("book", "compare", NAME, "2026-03-01", "2026-03-02"))
    assert "no cam exchanged" in same and "No read-out differs." in same


def test_search(begun: Speak) -> None:
    assert "2026-03-05 north-12 ride 1 Zu schwer, müde Hand" in flat(
        begun("book", "search", "MUDE", "schwer")
    )
    assert "Nothing in the book holds these words." in flat(begun("book", "search", "nowhere"))
    assert data(begun, "search", "lighter", "--machine", NAME)["found"][0]["kind"] == "visit"


def test_due(begun: Speak) -> None:
    text = flat(begun("book", "due", NAME, "--date", "2026-04-01"))
    assert "brake pads and disc: due. Look at the pads" in text and "brake fluid: DOT 4" in text
    assert "#1 north-12" in flat(begun("book", "due", "--date", "2026-04-02"))
    assert "Nothing is due." in flat(begun("book", "due", "--date", "2026-03-31"))


def test_fluid_that_nobody_noted(begun: Speak, job: Path) -> None:
    begun("book", "add", "other")
    begun("book", "visit", "other", job, "--date", "2026-03-01")
    assert "nothing is noted, so look at it now" in flat(
        begun("book", "due", "other", "--date", "2026-03-01")
    )


def test_photo_and_proposal(begun: Speak, tmp_path: Path) -> None:
    photo = tmp_path / "flank.png"
    Image.new("RGB", (48, 32)).save(photo)
    assert "photo 1 is in the book" in flat(begun("book", "photo", NAME, photo, "--words", "pit"))
    told = data(begun, "propose", NAME, "brake-in0-tu0.3-st8.0")
    assert told == {"machine": NAME, "visit": 2, "kind": "proposal", "number": 1, "words": ""}


def test_a_file_comes_out_as_it_went_in(begun: Speak, tmp_path: Path) -> None:
    photo, back = tmp_path / "flank.png", tmp_path / "back.png"
    Image.effect_noise((48, 32), 60).save(photo)
    begun("book", "photo", NAME, photo)
    digest = hashlib.sha256(photo.read_bytes()).hexdigest()
    assert digest in flat(begun("book", "file", "photo", "1", "-o", back))
    assert back.read_bytes() == photo.read_bytes()
    told = data(begun, "file", "photo", "1", "-o", tmp_path / "again.png")
    assert (told["sha256"], told["size_bytes"]) == (digest, photo.stat().st_size)
    said = begun("book", "file", "photo", "1", "-o", back)
    assert said.code == 2 and "back.png: is there already and stays as it is" in said.lines[0]


def test_a_file_that_was_changed_in_the_book_is_not_handed_out(
    begun: Speak, place: Path, tmp_path: Path
) -> None:
    photo, back = tmp_path / "flank.png", tmp_path / "back.png"
    Image.new("RGB", (48, 32)).save(photo)
    begun("book", "photo", NAME, photo)
    with closing(sqlite3.connect(place)) as book, book:
        book.execute("UPDATE content SET bytes = x'00ff' WHERE id = (SELECT content_id FROM photo)")
    said = begun("book", "file", "photo", "1", "-o", back)
    assert (said.code, len(said.lines)) == (4, 1) and not back.exists()
    assert "the file of photo 1 is no longer as it was kept; `pullcurve book restore`" in said.lines[0]


def test_the_book_itself(begun: Speak, tmp_path: Path, place: Path) -> None:
    archive, other = tmp_path / "whole.zip", tmp_path / "other.sqlite"
    assert "1 machines, 2 visits, 0 bench pulls, 2 ride notes" in flat(begun("book", "export", archive))
    assert data(begun, "import", archive, "--book", other)["rows"]["visit"] == 2
    assert data(begun, "timeline", NAME, "--book", other) == data(begun, "timeline", NAME)
    copy = Path(data(begun, "backup")["copy"])
    assert copy.parent == place.parent / "copies" and copy.exists()
    begun("book", "add", "later")
    told = data(begun, "restore", copy)
    assert Path(told["before"]).exists()
    assert [one["name"] for one in data(begun, "show")["machines"]] == [NAME]
    for how in (("restore", archive), ("backup", "--keep", "1", "--to", tmp_path / "elsewhere")):
        assert begun("book", *how).code == 0


# JSON ---------------------------------------------------------------------------------------------------------------


def test_json_says_the_same(begun: Speak) -> None:
    known = data(begun, "timeline", NAME)
    assert known["machine"]["owner"] == "below-knee prosthesis" and known["machine"]["due"] == "2026-04-01"
    assert [line["kind"] for line in known["history"]] == ["visit", "ride", "visit", "ride"]
    visit, ride = known["history"][0], known["history"][1]
    assert visit["cams"]["brake"] == "brake-in0-tu0.0-st8.5" and visit["who"] == "Ann"
    assert {"item": "fluid", "kind": "DOT 4", "boiling_celsius": None} in visit["looked_after"]
    assert ride["points"] == {"brake.force_lock": 2} and ride["visit"] == visit["number"]
    shown = data(begun, "show", NAME)
    assert shown["job"].startswith("# Invented for the demo") and shown["visit"]["number"] == 2
    compared = data(begun, "compare", NAME, "2026-03-01", "2026-04-01")
    assert compared["cams"] == [
        [{"of": "brake", "off": "brake-in0-tu0.0-st8.5", "on": "brake-in0-tu0.0-st7.5"}]
    ]
    force = compared["readouts"]["brake.force_lock"]
    assert force["felt_steps"] == pytest.approx(log(force["after"] / force["before"]) / log(1.07))
    assert force["verdict"] == "felt back to back" and force["after"] < force["before"]
    assert compared["readouts"]["brake.pressure_lock"]["felt_steps"] is None


def test_json_of_what_was_learned(begun: Speak) -> None:
    told = data(begun, "learn", NAME)
    force = told["preferences"]["brake.force_lock_newton"]
    assert force["notes"] == 2 and force["low"] < force["value"] < force["high"] < force["fitted"] * 1.5
    assert force["wished"] == 58.0 and force["value"] < 75.0
    assert told["rides"] == 2 and told["found"] is None and not told["proposed"]
    assert sum(one["on"] is None for one in told["next_ride"]) == 1
    assert all(one["doubt_felt_steps"] < told["doubt_felt_steps"] for one in told["next_ride"])


def test_json_of_what_is_due(begun: Speak) -> None:
    told = data(begun, "due", NAME, "--date", "2026-04-01")
    items = {one["item"]: one for one in told["items"]}
    assert items["pads"]["used"] == pytest.approx(2.4) and items["pads"]["state"] == "due"
    assert told["fluid"]["kind"] == "DOT 4" and not told["fluid_unknown"]
    assert data(begun, "due", "--date", "2026-04-02")["machines"][0]["name"] == NAME


# What is typed wrong ------------------------------------------------------------------------------------------------


WRONG: list[tuple[tuple[str, ...], str]] = [
    (("show", "nord"), 'book: machine "nord" is not in the book; known are north-12'),
    (("show", NAME, "--date", "yesterday"), 'date is "yesterday"; allowed is a day such as 2026-05-14'),
    (("show", NAME, "--date", "2026-02-31"), 'date is "2026-02-31"'),
    (("show", NAME, "--date", "2020-01-01"), "has no visit up to 2020-01-01"),
    (("timeline", "#7"), 'machine "#7" is not in the book'),
    (("compare", NAME, "then"), 'date is "then"'),
    (("note", NAME, "--rate", "brake.force_lock"), "is none; allowed is READOUT=POINTS, such as"),
    (("note", NAME, "--rate", "brake.force_lock=heavy"), "is none; allowed is READOUT=POINTS"),
    (("note", NAME, "--rate", "brake.force_lock=1.5"), "is 1.5; allowed is a whole number from -3 to 3"),
    (("note", NAME, "--rate", "brake.force_lock=inf"), "is inf; allowed is a whole number"),
    (
        ("note", NAME, "--rate", "brake.colour=1"),
        "brake.colour is not known here; allowed is brake.force_lock",
    ),
    (("note", NAME, "--words", "x", "--date", "2999-01-01"), "allowed is 1950-01-01 up to today"),
    (("note", NAME), "says nothing; give --rate READOUT=POINTS or --words"),
    (("note", NAME, "--words", "x", "--who", " "), "who is"),
    (("visit", NAME, "nowhere.toml"), "nowhere.toml: is not there"),
    (("visit", NAME, "JOB", "--hours", "snow=3"), 'hours on "snow" are not known here'),
    (("visit", NAME, "JOB", "--done", "polish"), 'done "polish" is not known here; allowed is all, '),
    (("add", NAME), "is in the book already"),
    (("add", "7"), "is a number; allowed is a name with a letter in it"),
    (("search", "?"), "holds no word"),
    (("propose", NAME, "brake-in0-tu0.3-st8.1"), "is no cam of the rack; did you mean"),
    (("photo", NAME, "JOB"), "is no photo; allowed is JPEG, PNG or WebP"),
    (("pull", NAME, "nowhere.csv"), "nowhere.csv: is not there"),
    (("file", "photo", "7", "-o", "NEW"), "photo 7 is not in the book"),
    (("import", "JOB"), "holds 1 machines; allowed is a new or empty book"),
    (("import", "JOB", "--book", "NEW"), "is no whole archive of a book"),
    (("restore", "nowhere.sqlite"), "is not there; nothing was changed"),
    (("backup", "--keep", "0"), "keep is 0; allowed is 1 to 1000"),
    (("export", "JOB"), "is there already and stays as it is"),
    (("show", "--book", "mysql://h/d"), '"mysql:" is not known here; allowed is a file, or postgresql://'),
    (("show", "--book", "NEW"), "is no book yet; `pullcurve book add NAME` starts one"),
    (("learn", "other"), 'machine "other" is not in the book'),
]


@pytest.mark.parametrize(("words", "said"), WRONG, ids=[" ".join(words) for words, _ in WRONG])
def test_what_is_typed_wrong_is_one_line(
    begun: Speak, job: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    known = {"JOB": str(job), "NEW": str(tmp_path / "new" / "book.sqlite")}
    told = begun("book", *(known.get(word, word) for word in words))
    assert (told.code, told.out, len(told.lines)) == (2, "", 1)
    assert said in told.lines[0]


def test_two_changes_ask_for_a_reason(begun: Speak, job: Path) -> None:
    whole = job.read_text(encoding="utf-8").replace("stroke_mm = 8.5 }", "stroke_mm = 8 }")
    job.write_text(whole.replace("lift_mm = 10.5 }", "lift_mm = 11 }"), "utf-8")
    said = begun("book", "visit", NAME, job)
    assert said.code == 2 and "makes 2 changes at once" in said.lines[0] and "a --reason" in said.lines[0]
    assert begun("book", "visit", NAME, job, "--reason", "race tomorrow").code == 0


def test_a_book_that_is_none_has_its_own_exit_code(cli: Speak, place: Path) -> None:
    place.write_text("Dear customer,\n" * 100, encoding="utf-8")
    said = cli("book", "show")
    assert (said.code, len(said.lines)) == (4, 1) and "nothing was changed" in said.lines[0]


def test_a_book_of_another_kind_of_job(cli: Speak, place: Path, tmp_path: Path) -> None:
    """One lever with everything, and a machine without a clutch."""
    cli("book", "add", "one")
    for name in ("enduro-125.toml", "electric.toml"):
        assert cli("book", "visit", "one", job_file(tmp_path, name), "--reason", "another machine").code == 0
        assert cli("book", "learn", "one").code == 0


@pytest.mark.parametrize("name", sorted(group.commands["book"].commands))  # type: ignore[attr-defined]
def test_help_has_its_example(cli: Speak, name: str) -> None:
    said = cli("book", name, "--help")
    assert said.code == 0 and f"pullcurve book {name}" in said.out
