"""Sentences and rows of a sheet at their edges: nothing reached, nothing felt, notes of the book, ends of months."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from pullcurve.papers import sheetpage, sheetrows, sheetwords
from pullcurve.papers.sheet import RiderSheet, Service, Shown
from pullcurve.pull.readouts import BrakeReadouts, facets
from pullcurve.studies.findings import Finding, Verdict
from pullcurve.studies.limits import Limit
from pullcurve.studies.service import Ridden
from pullcurve.verbs.stripping import fluid_for, service_for
from tests.papers.sheetcases import DAY, rider


@pytest.fixture
def sheet() -> RiderSheet:
    return rider("enduro-300")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-1 N", "−1 N"),
        ("-0 %", "0 %"),
        ("+0.0 mm", "0.0 mm"),
        ("+2.1 mm", "+2.1 mm"),
        ("-0.04", "−0.04"),
        ("", ""),
    ],
)
def test_numbers_have_a_true_minus_and_no_minus_zero(text: str, shown: str) -> None:
    assert sheetrows.dashed(text) == shown


@pytest.mark.parametrize(
    "day", [date(2026, 11, 28), date(2024, 2, 29), date(2026, 1, 31), date(2026, 12, 31)]
)
@pytest.mark.parametrize("months", [0, 1, 3, 6, 11, 12, 24, 48])
def test_months_later_is_the_same_day_or_the_last_of_the_month(day: date, months: int) -> None:
    """Against NumPy's calendar: month by month, then as many days on as the month has."""
    month = np.datetime64(day, "M") + months
    last = (month + 1).astype("datetime64[D]") - np.timedelta64(1, "D")
    same = month.astype("datetime64[D]") + np.timedelta64(day.day - 1, "D")
    assert np.datetime64(sheetwords.months_later(day, months)) == min(same, last)


# Nothing reached ------------------------------------------------------------------------------------------------------


def nowhere(sheet: RiderSheet, kind: str, *names: str) -> RiderSheet:
    """The sheet with some read-outs not reached."""
    lever = next(one for one in sheet.last.pull.levers if getattr(one, kind) is not None)
    known = getattr(lever, kind)
    gone = replace(known, **{name: np.full_like(getattr(known, name), np.nan) for name in names})
    pull = replace(
        sheet.last.pull,
        levers=tuple(replace(one, **{kind: gone}) if one is lever else one for one in sheet.last.pull.levers),
    )
    return replace(sheet, sets=(Shown("fitted", sheet.last.cams, pull),))


@pytest.mark.parametrize(
    ("kind", "names", "said"),
    [
        ("brake", ("gap_bite",), "Brake: the pads do not touch within the travel."),
        ("brake", ("gap_lock",), "and does not lock the rear wheel on dry hard ground within the travel."),
        ("clutch", ("gap_free",), "and is not free within the travel."),
    ],
)
def test_what_is_not_reached_is_said(sheet: RiderSheet, kind: str, names: tuple[str, ...], said: str) -> None:
    told = nowhere(sheet, kind, *names)
    assert said in " ".join(sheetwords.plain_words(told))
    (table,) = (one for one in sheetrows.tables(told) if one.kind == kind)
    (row,) = (one for one in table.rows if one.readout == names[0])
    assert row.values == ("not reached",)


def test_part_of_the_surfaces_not_reached() -> None:
    facet = dict(facets(BrakeReadouts))["force_lock"]
    assert sheetrows.value_text(np.array([75.4, np.nan, 33.0]), facet) == "75 / not reached / 33 N"
    assert sheetrows.value_text(np.arange(12.0), facet) == "0 / 1 / 2 / 3 N"
    assert sheetrows.surface_words(("a", "b", "c", "d", "e")) == "a / b / c / d, and 1 more in the job"


def test_a_proposal_that_changes_nothing_of_a_lever_says_so() -> None:
    sheet = rider("two cams")
    same = replace(sheet, sets=(sheet.sets[0], replace(sheet.sets[0], role="proposed")), changes=())
    assert all(table.alike for table in sheetrows.tables(same))
    assert all(row.state == "fitted, stays" for row in sheetrows.cam_rows(same.sets))
    titles = [table["title"] for table in sheetpage.rider_words(same)["tables"]]
    assert titles == ["Brake, on dry hard ground; stays as it is", "Clutch; stays as it is"]


# What was computed ----------------------------------------------------------------------------------------------------


def limit(margin: float, unit: str = "mm") -> Limit:
    return Limit("brake.travel_left", "travel must be left after lock-up", unit, np.array([margin]))


@pytest.mark.parametrize(
    ("known", "said"),
    [
        (limit(-1.26), "Not kept: travel must be left after lock-up; 1.3 mm are missing."),
        (limit(-12.0, "newton"), "Not kept: travel must be left after lock-up; 12.0 N are missing."),
        (limit(-3.0, "deg"), "Not kept: travel must be left after lock-up; 3.0° are missing."),
        (limit(-np.inf), "Not kept: travel must be left after lock-up; it is not reached."),
    ],
)
def test_a_broken_limit_stands_first_and_raises_the_alarm(sheet: RiderSheet, known: Limit, said: str) -> None:
    told = replace(sheet, limits=(limit(2.0), known))
    lines = list(sheetwords.computed(told))
    assert lines[0] == (False, said)
    assert lines[1][0] is False and lines[1][1].startswith("1 of 2 limits kept")
    assert sheetpage.rider_words(told)["alarm"]


def test_a_limit_that_nobody_can_compute_is_not_kept(sheet: RiderSheet) -> None:
    assert replace(sheet, limits=(limit(np.nan),)).broken


def test_a_cam_that_fails_its_check_raises_the_alarm(sheet: RiderSheet) -> None:
    right = Finding("a", True, 1.0, 0.0, "", 0.0, "Right.")
    wrong = Finding("b", False, 1.0, 2.0, "", 0.0, "The flank is hollow at 12° of lever.")
    verdicts = {"brake": Verdict((right, wrong, wrong)), "clutch": Verdict((right, right))}
    told = replace(sheet, verdicts=verdicts)
    lines = list(sheetwords.computed(told))[1:]
    assert lines == [
        (
            False,
            "brake cam fails 2 of 3 points. The flank is hollow at 12° of lever. And 1 more, see the check of the cam.",
        ),
        (True, "clutch cam: to be cut as it is, follows its roller, bears its load; 2 points."),
    ]
    assert sheetpage.rider_words(told)["alarm"] and not sheetpage.rider_words(sheet)["alarm"]


# Service --------------------------------------------------------------------------------------------------------------


def test_notes_of_the_book_go_before_whole_intervals(sheet: RiderSheet) -> None:
    known = service_for(sheet.job, {"pads": Ridden({"mud": 3.0}, 1.0)})
    fluid = fluid_for(sheet.job, "DOT 4", 2.5)
    words = sheetpage.rider_words(replace(sheet, service=Service(known, fluid, noted=True)))
    assert words["noted"]
    assert words["service_words"] == [*(one.words for one in known), fluid.words]
    assert words["service_words"][-1].endswith("change it before the next ride.")


def test_without_notes_the_fluid_has_its_two_years_and_its_boiling_points(sheet: RiderSheet) -> None:
    """Least wet boiling points: 49 CFR 571.116, S5.1.2 (140, 155 and 180 °C)."""
    (words,) = sheetwords.fluid_words(sheet)
    plain = words.replace("\u00a0", " ")
    assert plain.startswith("brake fluid: 24 months")
    assert plain.endswith("DOT 3 140 °C, DOT 4 155 °C, DOT 5 180 °C, DOT 5.1 180 °C.")
    without = sheet.job.model_copy(update={"brake_circuit": None})
    assert sheetwords.fluid_words(replace(sheet, job=without)) == []


# Where the numbers come from, and what is too long --------------------------------------------------------------------


def test_sources_are_counted_by_their_part(sheet: RiderSheet) -> None:
    told = " ".join(sheetwords.source_lines(sheet))
    counts = {source: sum(one.source == source and "plain meaning" not in one.note for one in sheet.origins.values())
              for source in ("given", "measured", "prior")}  # fmt: skip
    assert told.startswith(" · ".join(f"{count} {source}" for source, count in counts.items()))
    parts = [
        int(part.rpartition(" ")[2]) for part in told.rpartition("Priors in: ")[2].rstrip(".").split(", ")
    ]
    assert sum(parts) == counts["prior"] and "Measured:" not in told


def test_measured_numbers_are_named_with_their_day(sheet: RiderSheet) -> None:
    path = "motorcycle.mass_kg"
    known = replace(sheet.origins[path], source="measured", note="2026-05-14, 111 to 113")
    told = sheetwords.source_lines(replace(sheet, origins={**sheet.origins, path: known}))
    assert told[1] == "Measured: motorcycle.mass_kg (2026-05-14, 111 to 113)."


def test_long_notes_say_that_they_go_on(sheet: RiderSheet) -> None:
    long = sheet.job.model_copy(update={"notes": "a word and\nanother " * 100})
    told = sheetpage.note_words(long)
    assert told.endswith(" … (goes on in the job's file)") and "\n" not in told
    assert 250 < len(told) < 340
    assert sheetpage.note_words(sheet.job) == sheet.job.notes


def test_long_pieces_may_break_and_numbers_keep_their_unit() -> None:
    piece = 30 * "W"
    assert sheetpage.settable({"a": [piece]}) == {"a": ["\u200b".join(piece)]}
    assert (
        sheetpage.settable("about 2.0 N m at 75 N, 2 bolts")
        == "about 2.0\u00a0N\u00a0m at 75\u00a0N, 2 bolts"
    )
    assert sheetpage.settable(True) is True and sheetpage.settable(3) == 3


def test_wishes_are_told_by_lever_and_in_the_words_that_were_said(sheet: RiderSheet) -> None:
    told = sheetwords.wish_words(sheet)
    assert told.startswith(
        "brake: travel to bite 11.0 mm, force at lock-up 58 N, travel from bite to lock-up 13.0 mm"
    )
    assert told.endswith("clutch: gap at rest 48.0 mm, peak force 52 N; said: “too heavy”")
    nothing = replace(sheet, wishes=(), job=sheet.job.model_copy(update={"wishes": None}))
    assert sheetwords.wish_words(nothing) == ""


def test_day_of_the_sheet_is_given_not_read(sheet: RiderSheet) -> None:
    assert sheet.day == DAY and sheetpage.rider_words(sheet)["block"]["date"] == "2026-11-28"
