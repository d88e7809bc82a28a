"""One job through the whole tool on the command line: wish, find, steps, fit, measure, ride note, next proposal, sheet.

Every command runs once, in the order of a workshop, on files in one folder and with a book of its own there. What the
machine really does is walked on the independent road and read by a poor bench.
"""

import hashlib
import io
import json
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from html import unescape
from importlib import import_module
from math import log, sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.random import default_rng

from pullcurve.cli import main
from pullcurve.intake.jobfile import read_job
from tests.cli.speaking import job_file
from tests.road.bench import Curve, record
from tests.road.jobs import road_lever
from tests.road.road import road_friction
from tests.studies.bikes import BRAKE, curve_of
from tests.studies.test_preference import posterior

NAME = "north-12"
WISHES = {"brake.force_lock_newton": 58.0, "brake.travel_bite_mm": 11.0, "brake.modulation_mm": 13.0}
"""What the rider wishes of the brake, as the job file has it."""

AIR = {"brake_circuit.free_air_percent": 1.1}
"""What is wrong with the machine at first: it was not bled well."""

FIRST, FITTED, RIDDEN, ASKED = "2026-03-01", "2026-04-01", "2026-04-05", "2026-04-06"
HARD = 2
"""Points that the rider gives the force at lock-up: too much."""


@dataclass(slots=True)
class Workshop:
    """A folder with files, and what every command said, by a name of its own."""

    folder: Path
    said: dict[str, Any] = field(default_factory=dict)
    curves: dict[str, Curve] = field(default_factory=dict)

    def file(self, name: str) -> Path:
        """A file of the job."""
        return self.folder / name

    def run(self, name: str, *words: str | Path) -> Any:
        """A command, its answer as JSON, nothing on standard error; kept under a name."""
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as left:
            main([*map(str, words), "--json"])
        assert (left.value.code, err.getvalue()) == (0, ""), words
        self.said[name] = json.loads(out.getvalue())
        return self.said[name]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    """The whole job, done."""
    known = Workshop(tmp_path_factory.mktemp("job"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PULLCURVE_BOOK", str(known.file("book.sqlite")))
        patch.setenv("PULLCURVE_WHO", "Ann")
        patch.setattr("click.get_app_dir", lambda _: str(known.file("own")))
        patch.setattr(import_module("pullcurve.cli.book"), "OWN", known.file("own"))
        wished(known)
        put_on(known)
        measured(known)
        written(known)
        handed_out(known)
        yield known


def wished(shop: Workshop) -> None:
    """Wish, find, steps."""
    job_file(shop.folder)
    shop.run("before", "pull", shop.file("job.toml"))
    cam = shop.run("found", "find", shop.file("job.toml"))["best"]["brake"]
    shop.run("proposed", "pull", shop.file("job.toml"), "--with", cam["id"])
    shop.run("steps", "steps", shop.file("job.toml"), "--task", "brake-cam")


def put_on(shop: Workshop) -> None:
    """The job file as the machine leaves the bench: one cam exchanged, by hand."""
    cam = shop.said["found"]["best"]["brake"]
    text = shop.file("job.toml").read_text(encoding="utf-8")
    old = "brake = { reach_deg = 0, take_up_mm = 0, stroke_mm = 8.5 }"
    new = "brake = {{ reach_deg = {reach_deg}, take_up_mm = {take_up_mm}, stroke_mm = {stroke_mm} }}"
    assert text.count(old) == 1
    shop.file("fitted.toml").write_text(text.replace(old, new.format(**cam)), encoding="utf-8")
    shop.run("after", "pull", shop.file("fitted.toml"))


def measured(shop: Workshop) -> None:
    """Pulls of the machine with air in its line and without; what each of them tells."""
    job = read_job(shop.file("fitted.toml"))
    for name, truth in (("soft", AIR), ("firm", {})):
        shop.curves[name] = curve_of(BRAKE, dict(truth), job)
        known = record(shop.curves[name], default_rng(len(name) + len(truth)))
        table = np.column_stack([known.time, known.travel * 1e3, known.force])
        head = "time_s,travel_mm,force_N"
        np.savetxt(shop.file(f"{name}.csv"), table, "%.2f", ",", header=head, comments="")
        on = ("--job", shop.file("fitted.toml"), "--lever", "brake")
        shop.run(f"{name} read", "bench", "read", shop.file(f"{name}.csv"))
        shop.run(f"{name} diagnosed", "bench", "diagnose", shop.file(f"{name}.csv"), *on)
    adopted = ("--adopt", shop.file("measured.toml"))
    shop.run("fit", "bench", "fit", shop.file("firm.csv"), *on, *adopted)


def written(shop: Workshop) -> None:
    """The book: machine, two visits, pull, ride note, what it teaches, what is tried next."""
    shop.run("added", "book", "add", NAME, "--owner", "below-knee prosthesis", "--date", FIRST)
    serviced = ("--done", "all", "--fluid", "DOT 4")
    shop.run("first", "book", "visit", NAME, shop.file("job.toml"), "--date", FIRST, *serviced)
    ridden = ("--hours", "mud=2", "--words", "lighter brake, bled")
    shop.run("second", "book", "visit", NAME, shop.file("fitted.toml"), "--date", FITTED, *ridden)
    of = ("--lever", "brake", "--fit")
    shop.run("kept", "book", "pull", NAME, shop.file("firm.csv"), "--date", FITTED, *of)
    rated = ("--rate", f"brake.force_lock_newton={HARD}", "--words", "noch zu schwer bergab")
    shop.run("noted", "book", "note", NAME, "--date", RIDDEN, *rated)
    learned = ("--find", "-o", shop.file("learned.toml"))
    shop.run("learned", "book", "learn", NAME, "--date", ASKED, *learned)
    best = shop.run("found again", "find", shop.file("learned.toml"))["best"]["brake"]["id"]
    shop.run("next", "book", "propose", NAME, best, "--date", ASKED, "--words", "before the race")
    shop.run("timeline", "book", "timeline", NAME)


def handed_out(shop: Workshop) -> None:
    """The sheet of what is fitted, with its pull and with what is proposed; as a page, and on paper."""
    job, best = shop.file("fitted.toml"), shop.said["found again"]["best"]["brake"]["id"]
    pull = ("--pull", shop.file("firm.csv"), "--lever", "brake")
    shop.run("sheet", "sheet", job, *pull, "-o", shop.file("sheet.html"))
    shop.run("paper", "sheet", job, *pull, "--with", best, "-o", shop.file("sheet.pdf"))
    shop.run(
        "bench sheet", "sheet", job, "--bench", "brake-cam", "--with", best, "-o", shop.file("bench.pdf")
    )


def brake(pull: Any) -> dict[str, Any]:
    """Read-outs of the brake, those of the first surface where there are several."""
    known = next(one["readouts"]["brake"] for one in pull["levers"] if "brake" in one["readouts"])
    return {key: value[0] if isinstance(value, list) else value for key, value in known.items()}


def steps_between(key: str, value: float, other: float) -> float:
    """Felt steps by hand: 7 % of a force, 1.5 mm of a place."""
    return log(value / other) / log(1.07) if key.endswith("_newton") else (value - other) / 1.5


# Wish and find ------------------------------------------------------------------------------------------------------


def test_what_was_found_comes_nearer_to_the_wishes(shop: Workshop) -> None:
    """Distances by hand: the root of the weighted mean square of felt steps; the gap that was kept counts a quarter."""
    lever = shop.said["found"]["levers"][0]
    best = lever["answers"][0]
    known = brake(shop.said["after"])
    names = {"brake.modulation_mm": "modulation_travel_mm"}
    away = {
        key: steps_between(key, known[names.get(key, key.removeprefix("brake."))], wish)
        for key, wish in WISHES.items()
    }
    for key, steps in away.items():
        assert best["felt_steps_from_wish"][key] == pytest.approx(steps, abs=1e-6)
    weights = {one["key"]: one["weight"] for one in lever["wishes"]}
    square = sum(weights[key] * steps**2 for key, steps in away.items()) / sum(weights.values())
    assert best["distance_felt_steps"] == pytest.approx(sqrt(square), rel=1e-6)
    assert best["distance_felt_steps"] < lever["fitted_distance_felt_steps"] - 0.5


def test_every_command_says_the_same_of_the_new_cam(shop: Workshop) -> None:
    """Found, proposed, fitted, kept in the book, on the sheet: one set of numbers."""
    known = brake(shop.said["after"])
    found = shop.said["found"]["levers"][0]["answers"][0]["readouts"]
    for key, value in known.items():
        # a search looks at fewer stations, which only what is read between two of them can tell
        assert found[f"brake.{key}"] == (value if value is None else pytest.approx(value, rel=1e-6)), key
    assert brake(shop.said["proposed"]["proposed"]) == known
    assert brake(shop.said["proposed"]) == brake(shop.said["before"])
    sheet = shop.said["sheet"]["sets"]["fitted"]["readouts"]["brake"]
    assert sheet == shop.said["after"]["levers"][0]["readouts"]["brake"]
    visit = shop.said["timeline"]["history"][1]
    assert visit["readouts"]["brake"]["force_lock"] == pytest.approx(known["force_lock_newton"], rel=1e-5)
    assert visit["cams"]["brake"] == shop.said["found"]["best"]["brake"]["id"]


def test_the_new_cam_pulls_as_on_the_independent_road(shop: Workshop) -> None:
    """Force at lock-up where it lies, from traced metal and plain statics."""
    event = shop.said["after"]["levers"][0]["events"]["lock-up 0"]
    lever = road_lever(read_job(shop.file("fitted.toml")), 0)
    assert event["pull"] == pytest.approx(road_friction(lever, event["theta"], 1), rel=1e-6)
    assert event["pull"] == pytest.approx(brake(shop.said["after"])["force_lock_newton"], rel=1e-9)


# Steps --------------------------------------------------------------------------------------------------------------


def test_the_build_puts_back_what_the_strip_took_off(shop: Workshop) -> None:
    lines = shop.said["steps"]["lines"]
    pieces = {act: [one["piece"] for one in lines if one["act"] == act] for act in ("off", "on")}
    assert pieces["on"] == pieces["off"][::-1] and "brake-cam" in pieces["off"]
    assert [one["number"] for one in lines] == [*range(1, len(lines) + 1)]
    words = " ".join(one["words"] for one in lines) + " ".join(shop.said["steps"]["cautions"])
    for trap in ("threadlocker", "none on the countersink", "hooked on its post", "can kill"):
        assert trap in words


# Fit and measure ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["soft", "firm"])
def test_the_bench_reads_what_the_road_did(shop: Workshop, name: str) -> None:
    """Within three deviations of what is read off, and of the zero errors that the bench was given."""
    read, curve = shop.said[f"{name} read"], shop.curves[name]
    assert read["pulls"] == 5
    ends = {"travel": (curve.travel[-1], 2.5e-4), "force at the end": (curve.pull[-1], 0.8)}
    for key, (true, zero) in ends.items():
        told = read["read_off"][key]
        assert told["value"] == pytest.approx(true, abs=3 * told["deviation"] + zero), key
    work = float(np.trapezoid(curve.pull, curve.travel))
    assert read["read_off"]["work put in"]["value"] == pytest.approx(work, rel=0.05)


def test_air_is_looked_for_before_any_cam(shop: Workshop) -> None:
    soft, firm = (shop.said[f"{name} diagnosed"]["diagnosis"] for name in ("soft", "firm"))
    assert soft["first"] == "air" or "air" in soft["causes"][0]["cause"]
    assert soft["healthy"] < 0.2 and soft["causes"][0]["check_first"]
    assert firm["first"] == "healthy" and firm["healthy"] > 0.8


def test_the_fit_finds_the_numbers_of_the_road(shop: Workshop) -> None:
    """The road had the numbers of the job; of those that the pull tells, 95 % are to lie in their intervals."""
    numbers = {key: one for key, one in shop.said["fit"]["fit"]["numbers"].items() if one["told_by_the_pull"]}
    inside = [one["low"] <= one["before"] <= one["high"] for one in numbers.values()]
    assert len(inside) >= 4 and sum(inside) >= len(inside) - 1
    adopted = read_job(shop.file("measured.toml")).brake_circuit
    assert adopted is not None
    gap = numbers["brake_circuit.pad_gap_mm"]
    assert adopted.pad_gap_mm == pytest.approx(gap["value"], rel=0.02)
    fit = next(line for line in shop.said["timeline"]["history"] if line["kind"] == "fit")
    kept = fit["numbers"]["brake_circuit.pad_gap_mm"]
    assert (kept["low"], kept["value"], kept["high"]) == pytest.approx(
        (gap["low"], gap["value"], gap["high"])
    )


# The book -----------------------------------------------------------------------------------------------------------


def test_the_timeline_has_all_of_it(shop: Workshop) -> None:
    history = shop.said["timeline"]["history"]
    told = [(line["day"], line["kind"]) for line in history]
    assert told == [
        (FIRST, "visit"),
        (FITTED, "visit"),
        (FITTED, "pull"),
        (FITTED, "fit"),
        (RIDDEN, "ride"),
        (ASKED, "proposal"),
    ]
    first, second, pull, _, ride, proposal = history
    assert {line["who"] for line in history} == {"Ann"}
    assert pull["sha256"] == hashlib.sha256(shop.file("firm.csv").read_bytes()).hexdigest()
    assert pull["told"]["read_off"] == shop.said["firm read"]["read_off"]
    assert ride["points"] == {"brake.force_lock": HARD} and ride["words"] == "noch zu schwer bergab"
    assert {line["visit"] for line in history[2:]} == {second["number"]}
    assert proposal["cams"] == {"brake": shop.said["found again"]["best"]["brake"]["id"]}
    assert first["title"] == shop.said["before"]["title"] and second["hours"]["mud"] == 2.0


def test_one_cam_was_exchanged_and_the_book_says_which(shop: Workshop) -> None:
    off, on = (shop.said["timeline"]["history"][row]["cams"]["brake"] for row in (0, 1))
    assert shop.said["first"]["changes"] == []
    assert shop.said["second"]["changes"] == [[{"of": "brake", "off": off, "on": on}]]
    assert off == shop.said["before"]["cams"]["brake"]["id"]


def test_two_dates_differ_by_what_the_pulls_say(shop: Workshop) -> None:
    then, now = brake(shop.said["before"]), brake(shop.said["after"])
    force = shop.run("compared", "book", "compare", NAME, FIRST, ASKED)["readouts"]["brake.force_lock"]
    assert (force["before"], force["after"]) == pytest.approx(
        (then["force_lock_newton"], now["force_lock_newton"])
    )
    steps = steps_between("force_lock_newton", now["force_lock_newton"], then["force_lock_newton"])
    assert force["felt_steps"] == pytest.approx(steps) and steps < -1.0


def test_the_book_gives_job_and_pull_back_as_they_were(shop: Workshop) -> None:
    shop.run("file", "book", "file", "pull", str(shop.said["kept"]["number"]), "-o", shop.file("back.csv"))
    assert shop.file("back.csv").read_bytes() == shop.file("firm.csv").read_bytes()
    for day, name in ((FIRST, "job.toml"), (ASKED, "fitted.toml")):
        then = shop.file(f"{day}.toml")
        shop.run("shown", "book", "show", NAME, "--date", day, "--job", then)
        assert then.read_bytes() == shop.file(name).read_bytes()


def test_what_was_written_is_found_and_outlives_a_move(shop: Workshop) -> None:
    for words, kind in (("BERGAB", "ride"), ("bled", "visit"), ("firm.csv", "pull"), ("race", "proposal")):
        found = shop.run("search", "book", "search", *words.split(), "--machine", NAME)["found"]
        assert kind in {one["kind"] for one in found}, words
    other = ("--book", shop.file("other.sqlite"))
    shop.run("out", "book", "export", shop.file("whole.zip"))
    shop.run("in", "book", "import", shop.file("whole.zip"), *other)
    assert shop.run("moved", "book", "timeline", NAME, *other) == shop.said["timeline"]


def test_what_is_due_follows_from_the_hours(shop: Workshop) -> None:
    """By hand: pads every 10 dry hours, and an hour of mud counts four."""
    items = {one["item"]: one for one in shop.run("due", "book", "due", NAME, "--date", FITTED)["items"]}
    assert items["pads"]["used"] == pytest.approx(2.0 * 4 / 10) and items["pads"]["state"] != "due"


# Learn, and find again ------------------------------------------------------------------------------------------------


def test_the_note_teaches_what_quadrature_says(shop: Workshop) -> None:
    """One rating, by adaptive quadrature over ideal and gain; the doubt shrinks, and the wish moves the right way."""
    force = shop.said["learned"]["preferences"]["brake.force_lock_newton"]
    ridden, wish = brake(shop.said["after"])["force_lock_newton"], WISHES["brake.force_lock_newton"]
    mean, deviation = posterior([(steps_between("force_lock_newton", ridden, wish), HARD)])
    assert steps_between("force_lock_newton", force["value"], wish) == pytest.approx(mean, abs=0.1)
    assert force["doubt_felt_steps"] == pytest.approx(deviation, rel=0.06)
    assert force["notes"] == 1 and force["fitted"] == pytest.approx(ridden)
    assert force["low"] < force["value"] < force["high"] and force["value"] < ridden
    others = [one for key, one in shop.said["learned"]["preferences"].items() if one is not force]
    assert all(one["notes"] == 0 and one["value"] == one["wished"] for one in others)
    lessons = shop.said["learned"]["next_ride"]
    assert min(one["doubt_felt_steps"] for one in lessons) < shop.said["learned"]["doubt_felt_steps"]


def test_the_next_set_is_lighter_as_was_learned(shop: Workshop) -> None:
    again = shop.said["found again"]
    assert again["best"] == shop.said["learned"]["found"]["best"]
    wishes = {one["key"]: one["target"] for one in again["levers"][0]["wishes"]}
    value = shop.said["learned"]["preferences"]["brake.force_lock_newton"]["value"]
    assert wishes["brake.force_lock_newton"] == pytest.approx(value, abs=0.05)
    best = again["levers"][0]["answers"][0]["readouts"]["brake.force_lock_newton"]
    assert best < brake(shop.said["after"])["force_lock_newton"]
    assert again["best"]["brake"]["id"] != shop.said["found"]["best"]["brake"]["id"]


# Sheet --------------------------------------------------------------------------------------------------------------


def test_the_sheet_names_what_is_fitted(shop: Workshop) -> None:
    told = shop.said["sheet"]
    assert told["sets"]["fitted"]["cams"] == shop.said["after"]["cams"]
    assert told["measured"] == {"file": "firm.csv", "set": "fitted"} and told["fit_to_ride_as_computed"]
    text = unescape(shop.file("sheet.html").read_text(encoding="utf-8"))
    for words in (*(one["id"] for one in told["sets"]["fitted"]["cams"].values()), *told["cautions"]):
        assert words in text
    force = brake(shop.said["after"])["force_lock_newton"]
    assert f"{force:.0f} N" in text
    assert shop.said["before"]["cams"]["brake"]["id"] not in text


def test_the_paper_names_what_comes_next(shop: Workshop) -> None:
    told = shop.said["paper"]
    assert shop.file("sheet.pdf").read_bytes().startswith(b"%PDF-")
    assert told["job_id"] == shop.said["sheet"]["job_id"]
    assert told["sets"]["fitted"] == shop.said["sheet"]["sets"]["fitted"]
    best = shop.said["found again"]["best"]["brake"]
    assert told["sets"]["proposed"]["cams"]["brake"] == best
    after = shop.said["found again"]["levers"][0]["answers"][0]["readouts"]["brake.force_lock_newton"]
    assert told["sets"]["proposed"]["readouts"]["brake"]["force_lock_newton"][0] == pytest.approx(after)
    exchanged = shop.said["bench sheet"]["exchanged"]
    assert exchanged == [{"off": shop.said["after"]["cams"]["brake"]["id"], "on": best["id"]}]
    assert shop.said["bench sheet"]["lines"] == shop.said["steps"]["lines"]
