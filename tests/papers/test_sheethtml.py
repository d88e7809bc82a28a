"""Sheets for the screen, read by another parser: every number against the pull it came from, text that stays text."""

import math
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pytest
from lxml import html

from pullcurve.papers.sheet import RiderSheet
from pullcurve.papers.sheethtml import sheet_html
from pullcurve.papers.words import CAUTION
from tests.papers.sheetcases import BENCHES, MARKUP, RIDERS, bench, rider

every = pytest.mark.parametrize("name", [*RIDERS, *BENCHES])
for_riders = pytest.mark.parametrize("name", RIDERS)

SCALE = {
    "N": 1.0,
    "mm": 1e3,
    "bar": 1e-5,
    "%": 100.0,
    "s": 1.0,
    "m/s²": 1.0,
    "m/s² per mm": 1e-3,
    "g/N": 1.0 / 9.80665,
    "g/mm": 1e-3 / 9.80665,
}
"""What one SI unit is in a unit of the sheet (standard gravity: ISO 80000-3)."""

NUMBER = r"−?\d+(?:\.\d+)?|not reached"


@cache
def source(name: str) -> str:
    return sheet_html(bench(name) if name in BENCHES else rider(name))


@cache
def page(name: str) -> Any:
    return html.document_fromstring(source(name))


def text_of(element: Any) -> str:
    """Words of an element, every run of blanks as one."""
    return " ".join(str(element.text_content()).split())


# Numbers --------------------------------------------------------------------------------------------------------------


def close(shown: str, value: float, scale: float) -> None:
    """A printed number is the value, rounded to its digits."""
    if shown == "not reached":
        assert math.isnan(value)
        return
    decimals = len(shown.partition(".")[2])
    assert float(shown.replace("−", "-")) == pytest.approx(scale * value, abs=0.5001 * 10.0**-decimals)


def readouts(sheet: RiderSheet, of: str) -> list[np.ndarray[Any, Any]]:
    """A read-out of every set, first surfaces first."""
    kind, _, name = of.partition(".")
    return [np.ravel(getattr(getattr(one.pull, kind), name)) for one in sheet.sets]


def cells(cell: str) -> tuple[list[list[str]], str]:
    """Numbers of a cell, before and after, by surface; and their unit."""
    unit = next(sign for sign in sorted(SCALE, key=len, reverse=True) if cell.endswith(f" {sign}"))
    sides = cell.removesuffix(f" {unit}").split(" → ")
    return [re.findall(NUMBER, side) for side in sides], unit


@for_riders
def test_every_read_out_is_that_of_the_pull(name: str) -> None:
    sheet, seen = rider(name), set()
    for row in page(name).iterfind(".//tr[@data-of]"):
        of, values = row.get("data-of"), readouts(sheet, row.get("data-of"))
        seen.add(of)
        texts = [text_of(cell) for cell in row.iterfind("td[@class]") if "number" in cell.get("class")]
        if texts[0] == "not reached":
            assert all(np.isnan(one).all() for one in values)
            continue
        known = [cells(text) for text in texts if text]
        if len(known) == 3:  # fitted, proposed, change
            change, unit = known.pop()
            close(change[0][0], float(values[1][0] - values[0][0]), SCALE[unit])
        sides = [side for numbers, _ in known for side in numbers]
        unit = known[0][1]
        for side, value in zip(sides, values if len(sides) > 1 else values[:1], strict=True):
            for shown, one in zip(side, value, strict=False):
                close(shown, float(one), SCALE[unit])
    for kind in ("brake", "clutch"):
        for part in getattr(sheet.last.pull, kind).__slots__ if getattr(sheet.last.pull, kind) else ():
            undefined = all(np.isnan(one).all() for one in readouts(sheet, f"{kind}.{part}"))
            assert f"{kind}.{part}" in seen or undefined


def felt(unit: str, before: float, after: float) -> str:
    """The rule of the house, written down again: 7 and 15 % of a force, 1.5 and 5 mm of a place."""
    if unit == "N":
        ratio = max(before, after) / min(before, after)
        return "not felt" if ratio < 1.07 else "back to back" if ratio <= 1.15 else "a day later"
    away = 1e3 * abs(after - before)
    return "not felt" if away < 1.5 else "back to back" if away <= 5.0 else "a day later"


@pytest.mark.parametrize("name", ["two cams", "long words"])
def test_felt_or_not_follows_the_rule(name: str) -> None:
    sheet, told = rider(name), 0
    for row in page(name).iterfind(".//tr[@data-of]"):
        found = [text_of(cell) for cell in row.iterfind("td")]
        if len(found) == 4:
            unit, values = found[0].rpartition(" ")[2], readouts(sheet, row.get("data-of"))
            assert found[3] == felt(unit, float(values[0][0]), float(values[1][0])), row.get("data-of")
            told += 1
    assert told >= 11


def test_cams_stand_with_their_numbers_and_what_changed_is_marked() -> None:
    (table,) = (one for one in page("two cams").iterfind(".//table") if text_of(one[0]) == "Cams")
    heads = [text_of(cell) for cell in table.iterfind("thead/tr/th")]
    rows = [[text_of(cell) for cell in row] for row in table.iterfind("tbody/tr")]
    told = [dict(zip(heads, row, strict=True)) for row in rows]
    assert [(one["cam"], one["state"]) for one in told] == [
        ("brake", "▷ fitted"),
        ("brake", "▶ proposed"),
        ("clutch", "▷ fitted, stays"),
        ("assist", "▷ fitted"),
        ("assist", "▶ proposed"),
    ]
    brake, on = told[0], told[1]
    assert (brake["reach in, °"], brake["take-up, mm"], brake["stroke, mm"]) == ("0", "0.0", "8.5")
    assert (on["reach in, °"], on["take-up, mm"], on["stroke, mm"]) == ("0", "0.3", "7.5")
    assert (told[4]["onset, °"], told[4]["strength"], told[4]["lift, mm"]) == ("4", "0.60", "–")
    assert [text_of(one) for one in table.iterfind(".//strong")] == ["0.3", "7.5", "4", "0.60"]


@for_riders
def test_days_of_the_next_check_are_whole_months_away(name: str) -> None:
    """Months by NumPy's calendar; the 28th is in every month."""
    sheet = rider(name)
    rows = [row for row in page(name).iterfind(".//tr") if row.find("th/label") is not None]
    assert len(rows) == len(sheet.service.reminders)
    for row, known in zip(rows, sheet.service.reminders, strict=True):
        item, found = known.item, [text_of(cell) for cell in row]
        month = np.datetime64("2026-11") + np.timedelta64(int(item.months), "M")
        assert found == [item.name, f"{item.hours:.0f} h", f"{item.mud:g} / {item.sand:g}", f"{month}-28"]


# Words ----------------------------------------------------------------------------------------------------------------


@every
def test_cautions_are_there(name: str) -> None:
    text = text_of(page(name))
    for sentence in re.split(r"(?<=\.) ", CAUTION):
        assert sentence in text


@pytest.mark.parametrize("name", BENCHES)
def test_every_line_of_the_bench_can_be_ticked(name: str) -> None:
    lines = page(name).xpath("//ol[@class='steps']/li")
    assert len(lines) == len(bench(name).steps.lines)
    for line, step in zip(lines, bench(name).steps.lines, strict=True):
        text = text_of(line)
        assert text.startswith(f"{step.number}") and step.words in text
        assert line.xpath(".//label//input[@type='checkbox']")
        assert all(use in text for use in step.uses)
        assert all(caution.words in text for caution in step.cautions)


# Data is never markup; nothing is asked for --------------------------------------------------------------------------


def elements(name: str) -> Iterator[str]:
    return (one.tag for one in page(name).iter() if isinstance(one.tag, str))


def test_markup_of_a_job_stays_text() -> None:
    known, clean = page("markup"), page("enduro-300")
    assert text_of(known.find(".//h1")) == MARKUP
    assert text_of(known.find(".//title")) == f"{MARKUP}, set-up sheet"
    text = text_of(known)
    assert f"notes {MARKUP}" in text and f"need {MARKUP}" in text and f"“{MARKUP[:75]}”" in text
    for tag in ("script", "b", "img", "a"):
        assert list(elements("markup")).count(tag) == list(elements("enduro-300")).count(tag) == 0
    assert clean.find(".//h1") is not None


@every
def test_page_stands_alone(name: str) -> None:
    """No address but the name of the SVG language, no script, and a rule that forbids both."""
    known = page(name)
    assert set(re.findall(r"https?://[^\s\"'<]+", source(name))) == {"http://www.w3.org/2000/svg"}
    assert "url(" not in source(name) and "@import" not in source(name)
    for element in known.iter():
        assert not {"src", "href", "srcset", "action", "style"} & set(element.attrib)
        assert not [key for key in element.attrib if key.startswith("on")]
    (rule,) = known.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    assert rule.startswith("default-src 'none'")
    assert len(source(name)) < 100_000


# For everybody --------------------------------------------------------------------------------------------------------


@every
def test_page_can_be_heard(name: str) -> None:
    """What a reader of the screen needs: language, one title, heads of columns, names of fields and pictures."""
    known = page(name)
    assert known.get("lang") == "en" and len(known.findall(".//h1")) == 1
    for table in known.iterfind(".//table"):
        assert text_of(table.find("caption"))
        assert all(cell.get("scope") for cell in table.iterfind(".//th"))
        widths = {len(row) for row in table.iterfind(".//tr")}
        assert len(widths) == 1
    for field in known.iterfind(".//input"):
        assert field.get("aria-label") or any(one.tag == "label" for one in field.iterancestors())
    for picture in known.iterfind(".//svg"):
        assert picture.get("role") == "img" and picture.get("aria-label")
    assert [one.get("aria-label") for one in known.xpath("//footer//*[local-name()='svg']")]
