"""The page that a cam is made from, read by another program: what it says, where it stands, at what scale."""

import math
import re
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

from pullcurve.papers import camsheet, camview
from pullcurve.papers.border import TitleBlock
from pullcurve.papers.inspection import stations
from pullcurve.papers.letters import text_width
from pullcurve.papers.words import CAUTION
from pullcurve.pull.plate import Metal, cam_metal
from pullcurve.studies.check import check_cam
from pullcurve.studies.findings import Verdict
from tests.papers import camcases, readers
from tests.papers.metals import HOLES

MM = 1e3
LEFT, TOP, RIGHT, BOTTOM = 20.0, 10.0, 200.0, 287.0
FOOT = BOTTOM - 35.0
"""The frame on A4 (ISO 5457: 20 mm at the left, 10 mm elsewhere), and where its title block begins, mm."""

BLOCK = TitleBlock(
    job="300 two-stroke enduro, no foot pedal",
    machine="300 two-stroke enduro",
    rider="below-knee prosthesis on the right, medium hands",
    set="brake-in0-tu0.0-st8.5",
    numbers="79 given · 64 prior",
    date="2026-01-02",
)
LONG = TitleBlock(
    **{key: f"{key} " + 12 * "Widerstandsmoment " for key in ("job", "machine", "rider", "set")}
)
NAMES = (
    "brake",
    "clutch",
    "assist",
    "other brake",
    "other assist",
    "strong",
    "fails",
    "fails much",
    "drilled",
    "long",
)


@dataclass(frozen=True, slots=True)
class Page:
    """What a page is made of."""

    metal: Metal
    verdict: Verdict
    block: TitleBlock = BLOCK
    tolerance: float = 2e-5


@cache
def case(name: str) -> Page:
    """Fitted cams of two demo machines, and pages out of the ordinary."""
    brake = camcases.case("enduro-300", "brake").metal
    if name in ("brake", "clutch", "assist"):
        return checked("enduro-300", name)
    if name.startswith("other "):
        return checked("trials-280", name.removeprefix("other "))
    known = checked("enduro-300", "brake")
    findings = known.verdict.findings
    bad = tuple(
        replace(
            one, ok=False, sentence=f"Wrong {row}: " + 3 * "the flank is too steep there, mend it first. "
        )
        for row, one in enumerate(findings)
    )
    match name:
        case "strong":
            job = camcases.job_of("enduro-300")
            assert job.rack is not None
            cam = next(one for one in job.rack.brake_cams if one.id == "brake-in8-tu0.6-st9.0")
            metal = cam_metal(job, "brake", cam)
            return Page(metal, check_cam(job, metal))
        case "fails":
            return replace(known, verdict=Verdict((*findings[:5], bad[5], *findings[6:])))
        case "fails much":
            return replace(known, verdict=Verdict(bad))
        case "drilled":
            return replace(known, metal=replace(brake, holes=HOLES))
        case _:
            metal = replace(brake, name=9 * "read-from-scan-", engraving=9 * "read-from-scan-")
            return replace(known, metal=metal, block=LONG)


def checked(machine: str, kind: str) -> Page:
    """A fitted cam with what its check says."""
    known = camcases.case(machine, kind)
    lever = camcases.lever_of(machine, kind)
    return Page(known.metal, check_cam(camcases.job_of(machine), known.metal, lever))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pages")


def page(folder: Path, name: str) -> Path:
    """The file of a page, made once."""
    file = folder / f"{name.replace(' ', '-')}.pdf"
    if not file.exists():
        known = case(name)
        file.write_bytes(camsheet.cam_page(known.metal, known.verdict, known.block, known.tolerance))
    return file


every = pytest.mark.parametrize("name", NAMES)


# What it says ---------------------------------------------------------------------------------------------------------


@every
def test_page_is_one_sheet_of_a4(folder: Path, name: str) -> None:
    facts = readers.page_facts(page(folder, name))
    assert facts["Pages"] == "1"
    assert "A4" in facts["Page size"]


@every
def test_page_says_verdict_and_cautions_in_full(folder: Path, name: str) -> None:
    known = case(name)
    text = readers.page_text(page(folder, name))
    findings = known.verdict.findings
    wrong = sum(not one.ok for one in findings)
    verdict = f"fails {wrong} of {len(findings)} points" if wrong else f"passes all {len(findings)} points"
    assert f"Check: the cam {verdict}" in text
    for sentence in re.split(r"(?<=\.) ", CAUTION):
        assert sentence in text
    assert camsheet.COMPARE in text and camsheet.TRADE[known.metal.drives] in text
    told = [" ".join(one.sentence.split()) for one in findings]
    shown = [sentence for sentence in told if sentence in text]
    if name == "fails much":
        assert shown and f"and {len(told) - len(shown)} more, see the check" in text
    else:
        assert shown == told


def test_what_is_wrong_stands_first(folder: Path) -> None:
    known = case("fails")
    (bad,) = (one.sentence for one in known.verdict.findings if not one.ok)
    assert camsheet.check_lines(known.verdict)[0] == bad
    text = readers.page_text(page(folder, "fails"))
    assert text.index("Wrong 5:") < text.index(known.verdict.findings[0].sentence)


def test_page_has_the_title_block(folder: Path) -> None:
    text = readers.page_text(page(folder, "brake"))
    said = ("brake-in0-tu0.0-st8.5", "hardened steel", "6 mm", "2:1", "±0.02 mm, to bore A", "mm, degrees")
    for words in (*said, BLOCK.machine, BLOCK.date, BLOCK.numbers):
        assert words in text
    for long in (BLOCK.job, BLOCK.rider):
        assert all(word in text for word in long.split())


@pytest.mark.parametrize("name", ["brake", "clutch", "assist", "other assist"])
def test_flank_is_that_of_the_inspection_table(folder: Path, name: str) -> None:
    """Every row of the page: cam angle, radius, x and y of the point, told by its own numbers and by the table."""
    lines = [line.replace("−", "-") for line in readers.page_lines(page(folder, name))]
    row = re.compile(r" *(-?\d+)" + 4 * r" +(-?\d+\.\d{3})\b")
    rows = [found.groups() for found in map(row.match, lines) if found]
    known = {round(math.remainder(one.angle_deg, 360.0)): one for one in stations(case(name).metal)}
    flank = [angle for angle, one in known.items() if one.part == "flank"]
    assert sorted(int(row[0]) for row in rows) == sorted(flank)
    for angle, radius, x, y, allowed in rows:
        point = float(radius) * complex(
            math.cos(math.radians(int(angle))), math.sin(math.radians(int(angle)))
        )
        assert (float(x), float(y)) == pytest.approx((point.real, point.imag), abs=1.1e-3)
        assert float(radius) == pytest.approx(known[int(angle)].radius_mm, abs=5.1e-4)
        assert float(allowed) >= 0.02


def test_a_long_flank_is_shown_in_coarser_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    metal = case("assist").metal
    assert camsheet.flank_rows(metal)[0] == 1.0
    monkeypatch.setattr(camsheet, "MOST_ROWS", 10)
    step, rows = camsheet.flank_rows(metal)
    assert step == 5.0 and 5 <= len(rows) <= 10
    turns = [math.remainder(one.angle_deg, 360.0) for one in rows]
    assert [round(a - b) for a, b in pairwise(turns)] == [5] * (len(rows) - 1)


def test_holes_are_told_by_size_and_place(folder: Path) -> None:
    """Two holes of 3 and 1.8 mm: 18 mm right and 2 down, 8.8 mm left of the pivot."""
    text = readers.page_text(page(folder, "drilled")).replace("−", "-")
    assert (
        "hole Ø3" in text and f"R{math.hypot(18, 2):.3f} at {math.degrees(math.atan2(-2, 18)):.2f}°" in text
    )
    assert "hole Ø1.8" in text and "R8.800 at 180.00°" in text


@pytest.mark.parametrize(
    ("curvature", "words"),
    [(0.0, "straight"), (250.0, "4.00 mm convex"), (-1e3 / 12.5, "12.50 mm hollow"), (-5e-4, "straight")],
)
def test_radius_is_told_with_its_kind(curvature: float, words: str) -> None:
    assert camsheet.radius_words(curvature) == words


def test_numbers_have_a_true_minus_and_no_minus_zero() -> None:
    assert camsheet.signed(-1.25, 1) == "−1.2"
    assert camsheet.signed(-0.04, 1) == "0.0"


def test_a_cam_that_nobody_checked_says_so() -> None:
    known = case("brake")
    data = camsheet.page_data(known.metal, Verdict(()), BLOCK, 2e-5, 2.0)
    assert data["check_title"] == "Check: not made" and data["verdict"] == []


# How it looks ---------------------------------------------------------------------------------------------------------


@every
def test_words_stand_inside_the_frame_and_clear_of_each_other(folder: Path, name: str) -> None:
    words = readers.page_words(page(folder, name))
    assert len(words) > 150
    for one in words:
        assert one.left > LEFT and one.right < RIGHT and one.top > TOP and one.bottom < BOTTOM, one
    # A turned word has a box that it does not fill.
    level = [one for one in words if one.bottom - one.top < 6.0]
    for one, other in combinations(level, 2):
        across = min(one.right, other.right) - max(one.left, other.left)
        down = min(one.bottom, other.bottom) - max(one.top, other.top)
        # The box of a line of type is higher than its letters.
        assert across < 0.3 or down < 1.0, (one, other)


@every
def test_nothing_runs_into_the_title_block(folder: Path, name: str) -> None:
    words = readers.page_words(page(folder, name))
    last = max((one for one in words if one.text == "road."), key=lambda one: one.top)
    assert last.bottom < FOOT - 0.5
    assert not [one for one in words if one.top < FOOT < one.bottom]


@every
def test_view_is_drawn_at_its_scale(folder: Path, name: str) -> None:
    """The outline on paper, measured in the PDF: whoever prints it can lay the cam on it."""
    known = case(name).metal
    scale = camview.scale_of(camview.measures(known))
    assert scale in (2.0, 1.0)
    wanted = scale * MM * np.ptp(known.outline, axis=0)
    strokes = [stroke for stroke in readers.page_strokes(page(folder, name)) if len(stroke) > 500]
    (outline,) = (stroke for stroke in strokes if np.allclose(np.ptp(stroke, axis=0), wanted, atol=0.02))
    assert (outline.min(axis=0) > [LEFT, TOP]).all()


@every
def test_nothing_is_printed_outside_the_frame(folder: Path, name: str) -> None:
    """A picture of the page: paper round the frame, ink in every quarter of it."""
    grey = readers.page_picture(page(folder, name), 100)
    top, bottom, left, right = (
        round(edge * grey.shape[0] / 297.0) for edge in (TOP - 0.6, BOTTOM + 0.6, LEFT - 0.6, RIGHT + 0.6)
    )
    inside = np.zeros(grey.shape, dtype=bool)
    inside[top:bottom, left:right] = True
    assert grey[~inside].min() == 255
    for rows in (slice(0, grey.shape[0] // 2), slice(grey.shape[0] // 2, None)):
        for columns in (slice(0, grey.shape[1] // 2), slice(grey.shape[1] // 2, None)):
            assert (grey[rows, columns] < 128).mean() > 0.004


def test_page_is_the_same_every_time() -> None:
    known = case("brake")
    first, second = (
        camsheet.cam_page(known.metal, known.verdict, known.block, known.tolerance) for _ in range(2)
    )
    assert first == second


def test_picture_of_the_page_has_its_size() -> None:
    known = case("assist")
    data = camsheet.cam_page_png(known.metal, known.verdict, known.block, known.tolerance, 72.0)
    assert data.startswith(b"\x89PNG")
    assert (int.from_bytes(data[16:20]), int.from_bytes(data[20:24])) == (595, 842)


def test_long_names_are_shortened_to_their_cells() -> None:
    known = case("long")
    data = camsheet.page_data(known.metal, known.verdict, LONG, 2e-5, 2.0)
    assert data["name"].endswith("…")
    assert text_width(data["name"], 12.0, 600) <= 132.4 * 72 / 25.4  # three cells, less their insets
    assert all(data[key].count("\n") == 1 for key in ("job", "machine", "rider", "set"))
