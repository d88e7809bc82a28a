"""Sheets on paper, read by other programs: pages, words and their places, the code, what must never be missing."""

import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pullcurve.papers.sheetpdf import sheet_pdf
from pullcurve.papers.words import CAUTION
from tests.debian import program
from tests.papers import readers
from tests.papers.sheetcases import BENCHES, DAY, ID, LONG_CAMS, MARKUP, RIDERS, TWO_CAMS, bench, rider

LEFT, TOP, RIGHT, BOTTOM = 20.0, 10.0, 200.0, 287.0
FOOT = BOTTOM - 33.0
"""The frame on A4 (ISO 5457: 20 mm at the left, 10 mm elsewhere), and where its title block begins, mm."""

LEAST_TYPE = 5.0
"""Points; below about 6 nobody reads on (common practice), and only texts as long as they may be come near."""

Words = Callable[[str], list[list[readers.Word]]]

every = pytest.mark.parametrize("name", [*RIDERS, *BENCHES])
for_riders = pytest.mark.parametrize("name", RIDERS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sheets")


def page(folder: Path, name: str) -> Path:
    """The file of a sheet, made once."""
    file = folder / f"{name.replace(' ', '-')}.pdf"
    if not file.exists():
        file.write_bytes(sheet_pdf(bench(name) if name in BENCHES else rider(name)))
    return file


@pytest.fixture(scope="module")
def words_of(folder: Path) -> Words:
    """Words of every page of a sheet with their places, read once."""

    @cache
    def read(name: str) -> list[list[readers.Word]]:
        file = page(folder, name)
        count = int(readers.page_facts(file)["Pages"])
        if count == 1:
            return [readers.page_words(file)]
        separate = Path(program("poppler-utils")).with_name("pdfseparate")
        readers.asked([str(separate), file.name, f"{file.stem}-%d.pdf"], folder)
        return [readers.page_words(folder / f"{file.stem}-{number}.pdf") for number in range(1, count + 1)]

    return read


def bare(text: str) -> str:
    """A text without blanks and marks for breaking: how a line is broken is no matter of words."""
    return re.sub(r"[\s\u200b\u00a0]+", "", text)


# Pages ----------------------------------------------------------------------------------------------------------------


@every
def test_pages_are_a4_and_as_few_as_asked(folder: Path, words_of: Words, name: str) -> None:
    facts = readers.page_facts(page(folder, name))
    assert "A4" in facts["Page size"]
    pages = int(facts["Pages"])
    assert pages == (2 if name in ("grease", "long reach") else 1)
    for number, words in enumerate(words_of(name), 1):
        foot = " ".join(word.text for word in words if word.top > FOOT)
        assert f"{number} of {pages}" in foot
        assert ID in foot and DAY.isoformat() in foot


@every
def test_words_stand_inside_the_frame_and_clear_of_each_other(words_of: Words, name: str) -> None:
    for words in words_of(name):
        assert len(words) > 100
        for one in words:
            assert one.left > LEFT and one.right < RIGHT and one.top > TOP and one.bottom < BOTTOM, one
        # A turned word has a box that it does not fill, and the box of a line of type is higher than its letters.
        level = [one for one in words if one.bottom - one.top < 7.5]
        left, top, right, bottom = np.array([(one.left, one.top, one.right, one.bottom) for one in level]).T
        across = np.minimum(right[:, None], right) - np.maximum(left[:, None], left)
        down = np.minimum(bottom[:, None], bottom) - np.maximum(top[:, None], top)
        over = np.argwhere(np.triu((across >= 0.3) & (down >= 1.2), 1))
        assert not [(level[a], level[b]) for a, b in over]
        assert not [one for one in words if one.top < FOOT - 0.5 and one.bottom > FOOT + 0.5]


@every
def test_nothing_is_printed_outside_the_frame(folder: Path, name: str) -> None:
    grey = readers.page_picture(page(folder, name), 60)
    edges = (TOP - 0.8, BOTTOM + 0.8, LEFT - 0.8, RIGHT + 0.8)
    top, bottom, left, right = (round(edge * grey.shape[0] / 297.0) for edge in edges)
    inside = np.zeros(grey.shape, dtype=bool)
    inside[top:bottom, left:right] = True
    assert grey[~inside].min() == 255


@every
def test_type_can_be_read(words_of: Words, name: str) -> None:
    """Sizes of type from another program's reading of the page; demo jobs stay above what long texts are set in."""
    heights = [one.bottom - one.top for words in words_of(name) for one in words if len(one.text) > 3]
    least = float(np.quantile(heights, 0.02)) / readers.MM_PER_POINT
    assert least > (LEAST_TYPE if "long" in name else 5.9)


# Words ----------------------------------------------------------------------------------------------------------------


@every
def test_cautions_are_there_in_full(folder: Path, name: str) -> None:
    text = bare(readers.page_text(page(folder, name)))
    for sentence in re.split(r"(?<=\.) ", CAUTION):
        assert bare(sentence) in text
    if name in BENCHES:
        for caution in bench(name).steps.cautions:
            assert bare(caution) in text


@for_riders
def test_what_is_ticked_and_looked_at_again_is_there(folder: Path, name: str) -> None:
    sheet, text = rider(name), bare(readers.page_text(page(folder, name)))
    assert sheet.closing
    for asked in sheet.closing:
        assert bare(asked) in text
    for known in sheet.service.reminders:
        assert all(word in text for word in known.item.name.split())
        assert f"{known.item.hours:.0f}h" in text
    assert "brakefluid:24months" in text


@for_riders
def test_cams_stand_with_their_names(folder: Path, name: str) -> None:
    text = bare(readers.page_text(page(folder, name)))
    for one in rider(name).sets:
        for cam in one.cams.values():
            assert cam.id in text
    if "long" in name:
        assert all(cam in text for cam in LONG_CAMS)


@pytest.mark.parametrize("name", ["enduro-300", "two cams", "motocross-450"])
def test_read_outs_stand_beside_their_names(folder: Path, name: str) -> None:
    """Some read-outs of each kind, converted here; the whole table is checked on the page for the screen."""
    lines = "\n".join(readers.page_lines(page(folder, name)))
    for one in rider(name).sets:
        brake, clutch = one.pull.brake, one.pull.clutch
        assert brake is not None and clutch is not None
        for label, value, unit, scale, decimals in (
            ("gap at bite", brake.gap_bite, "mm", 1e3, 1),
            ("force at lock-up", brake.force_lock[..., 0], "N", 1.0, 0),
            ("peak force", clutch.force_peak, "N", 1.0, 0),
            ("travel to clean", clutch.travel_clean, "mm", 1e3, 1),
        ):
            shown = f"{scale * float(np.ravel(value)[0]):.{decimals}f}"
            assert re.search(rf"{label}\s.*\b{re.escape(shown)}[\s\u00a0]{unit}\b", lines), (label, shown)


def test_felt_changes_are_told_in_words(folder: Path) -> None:
    """75 to 62 N is a step of 21 %: above the 15 % that are felt a day later; 39.1 to 39.0 mm is below 1.5 mm."""
    lines = "\n".join(readers.page_lines(page(folder, "two cams")))
    assert re.search(
        r"force at lock-up\s+75[\s\u00a0]N\s+62[\s\u00a0]N\s+−14[\s\u00a0]N\s+a day later", lines
    )
    assert re.search(
        r"gap at bite\s+39\.1[\s\u00a0]mm\s+39\.0[\s\u00a0]mm\s+−0\.1[\s\u00a0]mm\s+not felt", lines
    )
    text = readers.page_text(page(folder, "two cams"))
    assert "fitted, stays" in text and all(cam in text for cam in TWO_CAMS)


def test_a_set_that_breaks_a_limit_is_not_handed_out_unmarked(folder: Path) -> None:
    sheet, text = rider("electric"), readers.page_text(page(folder, "electric"))
    brake = sheet.last.pull.brake
    assert brake is not None
    short = -1e3 * float(brake.touch_margin)
    assert short > 0.0
    assert "Not fit to ride as it is" in text
    assert f"the finger must touch the lever at rest; {short:.1f} mm are missing." in text
    assert "Not fit to ride" not in readers.page_text(page(folder, "enduro-300"))


@pytest.mark.parametrize("name", BENCHES)
def test_every_line_of_the_bench_is_there_in_order(folder: Path, words_of: Words, name: str) -> None:
    text, last = bare(readers.page_text(page(folder, name))), 0
    for step in bench(name).steps.lines:
        said = bare(f"{step.tool}: {step.words}" if step.tool else step.words)
        last = text.index(said, last)
        for caution in step.cautions:
            assert bare(caution.words) in text[last:]
        for use in step.uses:
            assert bare(use) in text[last:]
        if step.torque is not None:
            about, most = step.torque.torque, step.torque.most
            assert f"about{about:.1f}Nm,neverabove{most:.1f}" in text[last:]
    numbers = [
        int(one.text) for words in words_of(name) for one in words if re.fullmatch(r"\d{1,2}", one.text)
    ]
    for step in bench(name).steps.lines:
        assert step.number in numbers


def test_bench_says_which_cams_are_exchanged(folder: Path) -> None:
    text = readers.page_text(page(folder, "brake-cam"))
    assert "brake-in0-tu0.0-st8.5 off, brake-in0-tu0.3-st7.5 on" in text


# Data is never markup -------------------------------------------------------------------------------------------------


def test_markup_of_a_job_stays_text(folder: Path) -> None:
    text = bare(readers.page_text(page(folder, "markup")))
    for part in (MARKUP, f"notes {MARKUP}", f"need {MARKUP}", f"machine {MARKUP[:60]}", f"“{MARKUP[:75]}”"):
        assert bare(part) in text


# The code -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["enduro-300", "longest words", "brake-cam"])
def test_code_is_read_from_the_printed_page(folder: Path, name: str) -> None:
    """Another program (zbar) finds the code on a picture of the page, as a camera would."""
    reader, file = program("zbar-tools"), page(folder, name)
    readers.page_picture(file, 120)
    command = [reader, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", "page.png"]
    done = subprocess.run(command, cwd=folder, capture_output=True, check=True, timeout=60)
    assert done.stdout.decode().strip() == f"pullcurve job {ID} {DAY.isoformat()}"


# The same every time --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", [rider("two cams"), bench("brake-cam")], ids=["rider", "bench"])
def test_same_day_same_bytes(sheet: object) -> None:
    first = sheet_pdf(sheet)  # type: ignore[arg-type]
    assert first == sheet_pdf(sheet)  # type: ignore[arg-type]
    other = replace(sheet, day=date(2026, 11, 29))  # type: ignore[type-var]
    assert first != sheet_pdf(other)  # type: ignore[arg-type]
