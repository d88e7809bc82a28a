"""The verbs of the job book, on a file: visits and their reasons, notes that teach, what is due, two dates."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from pullcurve.book.opening import writing
from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import job_text
from pullcurve.verbs import booking, bookkeeping, entries, filing, leafing, reminding
from pullcurve.verbs.asking import pull_levers
from pullcurve.verbs.booking import Book, Entry, Visited, Visiting
from pullcurve.verbs.jobs import demo_job
from pullcurve.verbs.measuring import capture_pull, gauge_of, write_bench
from tests.intake.photos import NO_PHOTOS, encoded
from tests.studies.shop import changed

AT = "2026-06-30T12:00:00Z"
NAME = "north-12"
JOB = demo_job()
MARCH = date(2026, 3, 1)


def told(day: date = MARCH, words: str = "") -> Entry:
    """What is told with every line."""
    return booking.entry(day, "Ann", AT, words)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A book with one machine."""
    with booking.book_at(str(tmp_path / "book.sqlite"), new=True) as known:
        booking.add_machine(known, NAME, "below-knee prosthesis", told())
        yield known


def visit(book: Book, day: date, job: str = "", **more: Any) -> Visited:
    """A visit with a job as text, or the demo job."""
    return booking.add_visit(book, NAME, job or job_text(JOB), "job.toml", told(day), Visiting(**more))


def text(**values: object) -> str:
    """The demo job with other values."""
    return job_text(changed(JOB, **values))


# Machines and visits ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("", "machine is"),
        ("12", "is a number; allowed is a name with a letter in it"),
        ("#12", "is a number"),
        ("a\nb", "allowed is a text of 1 to 60 characters on one line"),
        ("x" * 61, "has 61 characters"),
        ("a\x00b", "on one line"),
        (NAME, "is in the book already"),
    ],
)
def test_names_of_machines(book: Book, name: str, said: str) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        booking.add_machine(book, name, "", told())
    assert "\n" not in str(refused.value)


def test_a_machine_by_name_and_number(book: Book) -> None:
    assert [leafing.machine(book, name).name for name in (NAME, f" {NAME} ", "1", "#1")] == [NAME] * 4
    with pytest.raises(BadInput, match=r'machine "nord-12" is not in the book; known are north-12'):
        leafing.machine(book, "nord-12")
    with pytest.raises(BadInput, match=r"is not in the book; `pullcurve book show` lists all"):
        leafing.machine(book, "#2")
    with pytest.raises(BadInput, match="is not in the book"):
        leafing.machine(book, "9" * 30)


def test_days(book: Book) -> None:
    assert told(date(2026, 7, 1)).day == date(2026, 7, 1)  # it is July already where the day begins earlier
    for day in (date(2026, 7, 2), date(1949, 12, 31)):
        with pytest.raises(BadInput, match="allowed is 1950-01-01 up to today"):
            told(day)


def test_a_visit_keeps_the_job_as_it_was_typed(book: Book) -> None:
    typed = job_text(JOB) + "# and a remark behind it\n"
    visit(book, MARCH, typed)
    _, known, kept = leafing.job_on(book, NAME, MARCH)
    assert kept == typed
    assert known.title == JOB.title and known.unit == NAME and known.words == ""
    assert known.cams == {
        "brake": "brake-in0-tu0.0-st8.5",
        "clutch": "clutch-in0-li10.50",
        "assist": "assist-in0-on10-fa0.40",
    }
    pulled = pull_levers(JOB).pull
    assert pulled.brake is not None and pulled.clutch is not None
    assert known.readouts["brake"]["force_lock"] == pytest.approx(pulled.brake.force_lock[0], rel=1e-5)
    assert known.readouts["clutch"]["force_peak"] == pytest.approx(float(pulled.clutch.force_peak), rel=1e-5)
    wished = {"gap_rest", "gap_bite", "travel_bite", "force_lock", "modulation_travel"}
    assert set(known.readouts["brake"]) == wished


def test_a_job_that_cannot_be_is_not_written(book: Book) -> None:
    with pytest.raises(BadInput, match=r"job\.toml"):
        visit(book, MARCH, "title = ")
    assert leafing.timeline(book, NAME).visits == ()


def test_two_changes_ask_for_a_reason(book: Book) -> None:
    visit(book, MARCH)
    both = text(fitted__brake__stroke_mm=7.5, fitted__clutch__lift_mm=11.0)
    with pytest.raises(
        BadInput, match=r"makes 2 changes at once .*; allowed is one, or a --reason"
    ) as refused:
        visit(book, date(2026, 4, 1), both)
    assert "brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5" in str(refused.value)
    assert len(leafing.timeline(book, NAME).visits) == 1
    done = visit(book, date(2026, 4, 1), both, reason="race tomorrow")
    assert len(done.changes) == 2
    assert leafing.timeline(book, NAME).visits[1].reason == "race tomorrow"


def test_one_change_needs_none_and_a_change_of_reach_is_one(book: Book) -> None:
    assert visit(book, MARCH).changes == ()
    assert visit(book, date(2026, 4, 1)).changes == ()
    assert len(visit(book, date(2026, 4, 2), text(fitted__brake__stroke_mm=7.5)).changes) == 1
    reach = text(fitted__brake__stroke_mm=7.5, fitted__clutch__reach_deg=4, fitted__assist__reach_deg=4)
    (change,) = visit(book, date(2026, 4, 3), reach).changes
    assert {one.kind for one in change} == {"clutch", "assist"}


def test_a_visit_noted_later_is_compared_with_the_one_before_its_day(book: Book) -> None:
    visit(book, MARCH)
    visit(book, date(2026, 5, 1), text(fitted__brake__stroke_mm=7.5))
    between = text(fitted__clutch__lift_mm=11.0)
    (change,) = visit(book, date(2026, 4, 1), between).changes
    assert [one.kind for one in change] == ["clutch"]


def test_an_old_job_that_is_no_longer_read_stands_in_nobodys_way(book: Book) -> None:
    visit(book, MARCH)
    with writing(book) as page:
        page.exec_driver_sql("UPDATE content SET bytes = x'00ff'")
    assert visit(book, date(2026, 4, 1), text(fitted__brake__stroke_mm=7.5)).changes == ()


def test_a_unit_stays_on_until_another_is_named(book: Book) -> None:
    visit(book, MARCH, unit="unit 7")
    visit(book, date(2026, 4, 1))
    visit(book, date(2026, 4, 2), unit="unit 9")
    assert [one.unit for one in leafing.timeline(book, NAME).visits] == ["unit 7", "unit 7", "unit 9"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"hours": {"snow": 1.0}}, 'hours on "snow" are not known here; known are dry, mud, sand'),
        ({"hours": {"mud": -1.0}}, "hours on mud are -1; allowed is 0 to 5000"),
        ({"hours": {"mud": float("nan")}}, "hours on mud are nan"),
        ({"done": ("polish",)}, 'done "polish" is not known here; allowed is all, screws, pads'),
        ({"done": ("cable",)}, 'done "cable" is not known here'),
        ({"fluid": "DOT 9"}, "is not known here; allowed is DOT 3"),
        ({"boils_celsius": 500.0}, "measured boiling point is 500"),
        ({"unit": "a\nb"}, "unit is"),
    ],
)
def test_what_is_told_at_a_visit(book: Book, more: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        visit(book, MARCH, **more)
    assert leafing.timeline(book, NAME).visits == ()


# Lines --------------------------------------------------------------------------------------------------------------


def test_a_note_hangs_on_what_was_fitted_that_day(book: Book) -> None:
    with pytest.raises(BadInput, match="north-12 has no visit up to 2026-03-01"):
        booking.add_ride(book, NAME, {"brake.force_lock": 1}, told())
    first, second = visit(book, MARCH).number, visit(book, date(2026, 4, 1)).number
    days = {MARCH: first, date(2026, 3, 31): first, date(2026, 4, 1): second, date(2026, 5, 1): second}
    for day, number in days.items():
        assert booking.add_ride(book, NAME, {}, told(day, "fine")).visit == number


@pytest.mark.parametrize("key", ["brake.modulation_travel", "brake.modulation_mm", "brake.modulation"])
def test_a_read_out_may_be_called_as_its_wish(book: Book, key: str) -> None:
    visit(book, MARCH)
    booking.add_ride(book, NAME, {key: -1}, told())
    (ride,) = leafing.timeline(book, NAME).lines
    assert ride.told == {"points": {"brake.modulation_travel": -1}}


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ({}, "says nothing; give --rate READOUT=POINTS or --words"),
        ({"brake.colour": 1}, "brake.colour is not known here; allowed is brake.force_lock, brake.gap_bite"),
        ({"force_lock": 1}, "force_lock is not known here"),
        ({"brake.force_lock": 4}, r"is 4; allowed is -3 \(far too little\) to 3 \(far too much\)"),
        ({"brake.force_lock": 1, "brake.force_lock_newton": 1}, "is rated twice"),
    ],
)
def test_ratings(book: Book, points: dict[str, int], said: str) -> None:
    visit(book, MARCH)
    with pytest.raises(BadInput, match=said):
        booking.add_ride(book, NAME, points, told())


def test_a_pull_is_kept_as_it_came_and_fitted(book: Book, tmp_path: Path) -> None:
    visit(book, MARCH)
    file = tmp_path / "pull.csv"
    write_bench(file, capture_pull(gauge_of("simulated", job=JOB, lever="brake")))
    written = filing.add_pull(book, NAME, file, told(), lever="brake", fitting=True)
    assert leafing.file_of(book, "pull", written.number).content == file.read_bytes()
    pull, fit = leafing.timeline(book, NAME).lines
    assert pull.told["lever"] == "brake" and pull.told["told"]["pulls"] == 3
    assert "branches" not in pull.told["told"] and pull.told["told"]["read_off"]
    assert fit.told["chi_square"] < 2.0 and fit.told["pull"] == written.number
    gap = fit.told["numbers"]["brake_circuit.pad_gap_mm"]
    assert gap["low"] < JOB.brake_circuit.pad_gap_mm < gap["high"]  # type: ignore[union-attr]
    assert re.search(r"pad gap 0\.\d+ mm[,.]", written.told) and "newton" not in written.told


@pytest.mark.parametrize("kind", ["jpeg", "png", "webp"])
def test_photos(book: Book, tmp_path: Path, kind: str) -> None:
    visit(book, MARCH)
    file = tmp_path / "photo"
    file.write_bytes(encoded(kind))
    number = filing.add_photo(book, NAME, file, told()).number
    assert leafing.timeline(book, NAME).lines[-1].told["kind"] == f"image/{kind}"
    assert leafing.file_of(book, "photo", number).content == file.read_bytes()
    with pytest.raises(BadInput, match="photo 99 is not in the book"):
        leafing.file_of(book, "photo", 99)


@pytest.mark.parametrize("name", NO_PHOTOS)
def test_what_is_no_photo_is_not_kept(book: Book, tmp_path: Path, name: str) -> None:
    visit(book, MARCH)
    content, said = NO_PHOTOS[name]
    file = tmp_path / "photo"
    file.write_bytes(content)
    with pytest.raises(BadInput, match=said) as refused:
        filing.add_photo(book, NAME, file, told())
    assert "\n" not in str(refused.value) and leafing.timeline(book, NAME).lines == ()


def test_proposals_name_cams_of_the_rack(book: Book) -> None:
    visit(book, MARCH)
    booking.add_proposal(book, NAME, ("brake-in0-tu0.3-st8.0",), "workshop", told())
    (line,) = leafing.timeline(book, NAME).lines
    assert line.told == {"cams": {"brake": "brake-in0-tu0.3-st8.0"}, "source": "workshop"}
    with pytest.raises(BadInput, match="is no cam of the rack"):
        booking.add_proposal(book, NAME, ("brake-in0-tu0.3-st8.1",), "workshop", told())
    with pytest.raises(BadInput, match="names no cam"):
        booking.add_proposal(book, NAME, (), "workshop", told())


# Read ---------------------------------------------------------------------------------------------------------------


def test_two_dates_in_either_order(book: Book) -> None:
    visit(book, MARCH)
    visit(book, date(2026, 4, 1), text(fitted__brake__stroke_mm=7.5, brake_circuit__pad_friction=0.5))
    for days in ((MARCH, date(2026, 6, 1)), (date(2026, 6, 1), MARCH)):
        known = leafing.dates(book, NAME, *days)
        assert (known.before.day, known.after.day) == (MARCH, date(2026, 4, 1))
        assert [one.words for change in known.between.cams for one in change] == [
            "brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5"
        ]
        assert [one.path for one in known.between.numbers] == ["brake_circuit.pad_friction"]
    with pytest.raises(BadInput, match="has no visit up to 2026-02-28"):
        leafing.dates(book, NAME, date(2026, 2, 28), MARCH)


def test_search(book: Book) -> None:
    visit(book, MARCH)
    booking.add_ride(book, NAME, {}, told(words="Grabs in the wet, müde Hand"))
    assert [found.kind for found in leafing.search(book, "mude grabs", NAME)] == ["ride"]
    for words, said in ((" ", "words is"), ("?!", "holds no word"), ("x" * 201, "has 201 characters")):
        with pytest.raises(BadInput, match=said):
            leafing.search(book, words)


def test_learned_from_notes_on_what_was_fitted_then(book: Book) -> None:
    """Rides of two visits are taken at what each of them had on; the later job carries the learned wishes."""
    visit(book, MARCH)
    booking.add_ride(book, NAME, {"brake.force_lock": 3}, told(date(2026, 3, 5)))
    visit(book, date(2026, 4, 1), text(fitted__brake__stroke_mm=7.5))
    booking.add_ride(book, NAME, {"brake.force_lock": 1}, told(date(2026, 4, 5)))
    booking.add_ride(book, NAME, {}, told(date(2026, 4, 6), "words alone"))
    early = leafing.learned(book, NAME, date(2026, 3, 6))
    both = leafing.learned(book, NAME, date(2026, 6, 1))
    assert (early.rides, both.rides) == (1, 2)
    assert early.visit.day == MARCH and both.visit.day == date(2026, 4, 1)
    forces = [
        next(one for one in known.preferences if one.wish.readout == "force_lock") for known in (early, both)
    ]
    lighter = pull_levers(changed(JOB, fitted__brake__stroke_mm=7.5)).pull.brake
    assert lighter is not None and forces[1].now == pytest.approx(float(lighter.force_lock[0]), rel=1e-3)
    assert forces[1].notes == 2 and forces[1].doubt < forces[0].doubt
    assert forces[1].wish.target < forces[1].now
    assert both.job.wishes is not None and both.job.wishes.brake is not None
    best = leafing.find_learned(both)
    assert set(leafing.exchanges(both, best)) <= {cam.id for cam in best.best.values()}


def test_a_ride_on_a_job_that_is_no_longer_read_still_teaches(book: Book) -> None:
    """What was ridden then is taken from beside the job, where six digits of it are kept."""
    visit(book, MARCH)
    booking.add_ride(book, NAME, {"brake.force_lock": 3, "clutch.force_peak": 1}, told(date(2026, 3, 5)))
    visit(book, date(2026, 4, 1), text(fitted__brake__stroke_mm=7.5))
    whole = leafing.learned(book, NAME, date(2026, 6, 1))
    with writing(book) as page:
        page.exec_driver_sql(
            "UPDATE content SET bytes = x'00ff' WHERE id = (SELECT job_id FROM visit WHERE day = '2026-03-01')"
        )
    spoilt = leafing.learned(book, NAME, date(2026, 6, 1))
    assert [one.notes for one in spoilt.preferences] == [one.notes for one in whole.preferences]
    targets = [[one.wish.target for one in known.preferences] for known in (whole, spoilt)]
    assert targets[1] == pytest.approx(targets[0], rel=1e-5)


# Due ----------------------------------------------------------------------------------------------------------------


def test_due_by_hours_since_each_was_looked_after(book: Book) -> None:
    """By hand: pads are looked at every 10 dry hours, an hour of mud counts four, one of sand three."""
    visit(book, MARCH, done=("all",), fluid="DOT 4")
    visit(book, date(2026, 3, 8), hours={"mud": 1.0, "dry": 2.0})
    pads = {one.item.id: one for one in reminding.due(book, NAME, date(2026, 3, 8)).items}["pads"]
    assert pads.used == pytest.approx((4 * 1 + 2) / 10) and pads.state == "good"
    visit(book, date(2026, 3, 15), hours={"sand": 1.5})
    pads = {one.item.id: one for one in reminding.due(book, NAME, date(2026, 3, 15)).items}["pads"]
    assert pads.used == pytest.approx((4 * 1 + 2 + 3 * 1.5) / 10) and pads.state == "due"
    visit(book, date(2026, 3, 16), hours={"mud": 5.0}, done=("pads",))
    known = {one.item.id: one for one in reminding.due(book, NAME, date(2026, 3, 16)).items}
    assert known["pads"].used == 0.0 and known["screws"].used > 0.8
    past = {one.item.id: one for one in reminding.due(book, NAME, date(2026, 3, 8)).items}["pads"]
    assert past.used == pytest.approx(0.6)  # as it stood then


def test_a_task_looks_after_what_it_does(book: Book) -> None:
    visit(book, MARCH, done=("grease",))
    done = {one.item for one in leafing.timeline(book, NAME).visits[0].services}
    assert {"pin", "needles", "assist-spring"} == done
    states = {one.item.id: one.state for one in reminding.due(book, NAME, MARCH).items}
    assert states["pin"] == "good" and states["screws"] == "due"


def test_fluid_by_age_and_by_tester(book: Book) -> None:
    visit(book, MARCH, done=("all",))
    assert reminding.due(book, NAME, MARCH).unknown and reminding.due(book, NAME, MARCH).fluid is None
    visit(book, date(2026, 3, 2), fluid="DOT 4")
    fresh = reminding.due(book, NAME, date(2026, 3, 2))
    assert not fresh.unknown and fresh.fluid is not None and fresh.fluid.state == "good"
    assert fresh.fluid.boiling_celsius == 230.0  # dry, 49 CFR 571.116, S5.1.1
    old = reminding.due(book, NAME, date(2028, 3, 3)).fluid
    assert old is not None and old.state == "due"
    visit(book, date(2026, 6, 1), boils_celsius=150.0)  # below the wet limit of 155
    for day in (date(2026, 6, 1), date(2027, 1, 1)):
        known = reminding.due(book, NAME, day).fluid
        assert known is not None and known.measured and known.state == "due"
    visit(book, date(2026, 6, 2), fluid="DOT 4")
    again = reminding.due(book, NAME, date(2026, 6, 2)).fluid
    assert again is not None and not again.measured and again.state == "good"


def test_a_good_measurement_counts_for_a_month_only(book: Book) -> None:
    """Fluid a year old that a tester finds dry: good today, but what was measured long ago only bounds it."""
    visit(book, MARCH, fluid="DOT 4")
    visit(book, date(2026, 6, 1), boils_celsius=229.0)
    soon, later = (
        reminding.due(book, NAME, date(2026, 6, 1) + timedelta(days=days)).fluid for days in (20, 60)
    )
    assert soon is not None and soon.measured and soon.boiling_celsius == 229.0
    assert later is not None and not later.measured and later.boiling_celsius < 229.0


def test_the_day_from_which_a_machine_is_due(book: Book) -> None:
    """By hand: screws are looked at every six months, which are 183 days; nothing else is due sooner."""
    done = visit(book, MARCH, done=("all",), fluid="DOT 4")
    assert done.due_day is not None and abs((done.due_day - MARCH).days - 183) <= 1
    assert done.due_what in ("screws of cams, pin and cover", "brake pads and disc")
    assert leafing.machine(book, NAME).due_day == done.due_day
    assert reminding.due_machines(book, done.due_day - timedelta(1), 9) == ()
    assert [one.machine.name for one in reminding.due_machines(book, done.due_day, 9)] == [NAME]
    states = {one.state for one in reminding.due(book, NAME, done.due_day - timedelta(2)).items}
    assert "due" not in states
    assert any(one.state == "due" for one in reminding.due(book, NAME, done.due_day + timedelta(2)).items)
    ridden = visit(book, date(2026, 3, 8), hours={"mud": 10.0})
    assert ridden.due_day == date(2026, 3, 8)


def test_fluid_alone_can_make_a_machine_due() -> None:
    """A rubber hose lets so much water in that fluid of the lowest class is due before two years."""
    from pullcurve.studies.history import Service, Visit

    job = changed(JOB, brake_circuit__hose_kind="rubber")
    hours = dict.fromkeys(("dry", "mud", "sand"), 0.0)
    once = Visit(1, 1, MARCH, "", "", "", "", 1, {}, "", "", hours, {}, (Service("fluid", "DOT 3"),))
    day = reminding._fluid_day(job, (once,), MARCH)
    assert MARCH < day <= date(2028, 3, 2)
    before, on = (reminding._fluid(job, (once,), known) for known in (day - timedelta(31), day))
    assert before is not None and before.state != "due" and on is not None and on.state == "due"


def test_an_electric_machine_has_no_clutch_to_look_after(book: Book) -> None:
    booking.add_visit(
        book, NAME, job_text(demo_job("electric.toml")), "job.toml", told(), Visiting(done=("all",))
    )
    items = {one.item.id for one in reminding.due(book, NAME, MARCH).items}
    assert "assist-spring" not in items and "pads" in items


# The book itself ----------------------------------------------------------------------------------------------------


def test_out_and_in_again(book: Book, tmp_path: Path) -> None:
    visit(book, MARCH)
    archive, other = tmp_path / "whole.zip", str(tmp_path / "other.sqlite")
    moved = bookkeeping.export_book(book.place, archive, AT)
    assert moved.rows["visit"] == 1 and bookkeeping.import_book(other, archive).rows == moved.rows
    with booking.book_at(other) as second:
        assert leafing.timeline(second, NAME) == leafing.timeline(book, NAME)
    with pytest.raises(BadInput, match="is there already and stays as it is"):
        bookkeeping.export_book(book.place, archive, AT)
    with pytest.raises(BadInput, match="holds 1 machines; allowed is a new or empty book"):
        bookkeeping.import_book(other, archive)


def test_copies(book: Book, tmp_path: Path) -> None:
    copied = bookkeeping.back_up_book(book.place, tmp_path / "copies", AT)
    assert copied.path.exists() and copied.gone == ()
    visit(book, MARCH)
    restored = bookkeeping.restore_book(book.place, copied.path, tmp_path / "copies", AT)
    assert restored.kept is not None and leafing.timeline(book, NAME).visits == ()
    for keep in (0, 1001):
        with pytest.raises(BadInput, match=f"keep is {keep}; allowed is 1 to 1000"):
            bookkeeping.back_up_book(book.place, tmp_path / "copies", AT, keep)


def test_read_out_keys() -> None:
    assert entries.readout_key("clutch.friction_zone_mm") == "clutch.friction_zone"
    assert entries.readout_key("nonsense") == "nonsense"
