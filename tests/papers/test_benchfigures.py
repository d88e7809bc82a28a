"""Figures of measured pulls: every word readable, every mark at its place, every interval as wide as it is."""

import itertools
import math
import re
from dataclasses import replace
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import benchplot, benchplotspan
from pullcurve.papers.benchfigures import bench_figure, compare_figure, interval_figure
from pullcurve.papers.plot import Box
from pullcurve.papers.raster import png
from pullcurve.papers.style import DARK, LIGHT, Theme
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.compare import compare
from pullcurve.studies.prediction import Predicted
from tests.papers.benchcases import ODD, REAL, PairCase, fits, pairs
from tests.papers.drawing import SPACE, classes, parse, texts
from tests.papers.samples import BLOCK

WIDTHS = (320.0, 390.0, 560.0, 700.0, 900.0, 1200.0, 1920.0)
FITS, PAIRS = fits(), pairs()
NOTES = "Check before riding: firm lever, wheel free at rest, full release of the clutch, all screws, a slow test."
NORMAL_95 = 1.959963984540054
"""Quantile of the normal distribution, from memory; the figure takes 1.96."""

DRAWN: dict[tuple[str, str, float, Theme], str] = {}
"""Sheets that were drawn already: many tests look at the same ones."""


def bench(name: str, width: float = 900.0, theme: Theme = LIGHT) -> str:
    """A fit with everything around it."""
    return drawn("bench", name, width, theme)


def intervals(name: str, width: float = 900.0, theme: Theme = LIGHT) -> str:
    """What a pull tells of each number."""
    return drawn("intervals", name, width, theme)


def pair(name: str, width: float = 900.0, theme: Theme = LIGHT) -> str:
    """Two pulls with everything around them."""
    return drawn("pair", name, width, theme)


def drawn(kind: str, name: str, width: float, theme: Theme) -> str:
    """A sheet of one kind, drawn once."""
    key = kind, name, width, theme
    if key not in DRAWN:
        around: dict[str, Any] = {
            "title": f"{kind}: {name}",
            "subtitle": "fitted: nine numbers told by the pull",
            "notes": NOTES,
            "block": BLOCK,
            "theme": theme,
            "width": width,
        }
        DRAWN[key] = fresh(kind, name, around)
    return DRAWN[key]


def fresh(kind: str, name: str, around: dict[str, Any]) -> str:
    """A sheet of one kind, drawn anew."""
    if kind == "pair":
        two = PAIRS[name]
        return compare_figure(two.before, two.after, two.compared, labels=two.labels, **around)
    one = FITS[name]
    if kind == "bench":
        return bench_figure(one.fit, one.written, **around)
    return interval_figure(one.fit, **around)


EVERY = (
    *(("bench", name) for name in FITS),
    *(("intervals", name) for name in (*REAL, "pressure")),
    *(("pair", name) for name in PAIRS),
)

# Reading back -------------------------------------------------------------------------------------------------


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Pairs of texts that cover each other."""
    return [(a.content, b.content) for a, b in itertools.combinations(texts(svg), 2) if a.meets(b)]


def outside(svg: str, width: float) -> list[str]:
    """Texts that leave the frame of the sheet."""
    high = float(parse(svg).attrib["height"])
    return [
        known.content
        for known in texts(svg)
        if known.left < 8.0 or known.top < 8.0 or known.right > width - 8.0 or known.bottom > high - 8.0
    ]


def contents(svg: str) -> str:
    """All words of a sheet; lines of one label follow each other."""
    return " ".join(known.content.replace("\u00a0", " ") for known in texts(svg))


def pane(svg: str, name: str) -> Element:
    """The plot of a name."""
    (found,) = [
        node for node in parse(svg).iter() if node.get("class") == "pane" and node.get("data-name") == name
    ]
    return found


def number(words: str) -> float:
    """A number as it is written."""
    return float(words.replace("−", "-"))


def mapping(svg: str, name: str) -> tuple[FloatArray, FloatArray]:
    """Value and slope per px across and up, from the lines of the grid and the numbers beside them alone."""
    (grid,) = [node.attrib["d"] for node in pane(svg, name).findall(f"{SPACE}path") if "stroke" in node.attrib
               and node.get("class") is None and "V" in node.attrib["d"] and "H" in node.attrib["d"]]  # fmt: skip
    x = [float(found) for found in re.findall(r"M(\S+) \S+?V", grid)]
    y = [float(found) for found in re.findall(r"M\S+ (\S+?)H", grid)]
    panes = [node for node in parse(svg).iter() if node.get("class") == "pane"]
    across = [number(words) for words in ticks(panes[-1], "middle")]
    return line_through(x, across), line_through(
        y, [number(words) for words in ticks(pane(svg, name), "end")]
    )


def ticks(node: Element, anchor: str) -> list[str]:
    """Numbers along an axis."""
    return [
        text.text or ""
        for text in node.iter(f"{SPACE}text")
        if text.get("class") == "tick" and text.get("text-anchor") == anchor
    ]


def line_through(px: list[float], values: list[float]) -> FloatArray:
    """Slope and value at 0 px; all ticks lie on the line."""
    assert len(px) == len(values) >= 2
    line = np.polyfit(px, values, 1)
    assert np.polyval(line, px) == pytest.approx(values, abs=1e-2 * abs(values[1] - values[0]))
    return np.asarray(line)


def read_back(svg: str, name: str, points: FloatArray) -> FloatArray:
    """Places and values of points (P, 2) in px."""
    across, up = mapping(svg, name)
    return np.stack([np.polyval(across, points[:, 0]), np.polyval(up, points[:, 1])], axis=-1)


def per_px(svg: str, name: str) -> FloatArray:
    """How much a px is, across and up."""
    across, up = mapping(svg, name)
    return np.abs([across[0], up[0]])


def circles(node: Element, kind: str) -> FloatArray:
    """Centre and radius (P, 3) of all circles of a class."""
    found = [
        [float(one.attrib[key]) for key in ("cx", "cy", "r")]
        for one in node.iter(f"{SPACE}circle")
        if one.get("class") == kind
    ]
    return np.array(found).reshape(-1, 3)


def data_of(node: Element, kind: str) -> list[str]:
    """Path data of a class."""
    return [one.attrib["d"] for one in node.iter(f"{SPACE}path") if one.get("class") == kind]


def points_of(data: str) -> FloatArray:
    """The points of path data of straight lines, (P, 2)."""
    return np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", data), dtype=np.float64).reshape(-1, 2)


def known(*arrays: FloatArray) -> FloatArray:
    """Rows of finite numbers, (P, n)."""
    rows = np.stack(arrays, axis=-1)
    return rows[np.all(np.isfinite(rows), axis=-1)]


def places(measured: Branches) -> FloatArray:
    """Places in the unit of the sheet, by hand."""
    return measured.place * (180.0 / math.pi if measured.angular else 1e3)


# The sheet ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(("kind", "name"), EVERY, ids=" ".join)
def test_no_word_covers_another_or_leaves_the_sheet(kind: str, name: str, width: float) -> None:
    svg = drawn(kind, name, width, LIGHT)
    assert overlaps(svg) == []
    assert outside(svg, width) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(("kind", "name"), EVERY, ids=" ".join)
def test_no_size_is_negative_and_nothing_is_no_number(kind: str, name: str, width: float) -> None:
    svg = drawn(kind, name, width, LIGHT)
    assert "nan" not in svg
    assert "inf" not in svg.replace("info", "")
    for node in parse(svg).iter():
        for key in ("width", "height", "r", "stroke-width", "font-size"):
            assert float(node.get(key, "0")) >= 0.0


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(("kind", "name"), EVERY, ids=" ".join)
def test_everything_lies_on_the_sheet_and_curves_in_their_plots(kind: str, name: str, width: float) -> None:
    root = parse(drawn(kind, name, width, LIGHT))
    high = float(root.attrib["height"])
    shapes = [points_of(node.attrib["d"]) for node in root.iter(f"{SPACE}path")]
    for node in root.iter(f"{SPACE}circle"):
        x, y, r = (float(node.attrib[key]) for key in ("cx", "cy", "r"))
        shapes.append(np.array([(x - r, y - r), (x + r, y + r)]))
    every = np.concatenate(shapes)
    assert every.min() >= 8.0
    assert np.all(every.max(axis=0) <= [width - 8.0, high - 8.0])
    for node in root.iter(f"{SPACE}g"):
        if node.get("class") == "pane":
            top, foot = float(node.attrib["data-y-end"]), float(node.attrib["data-y-start"])
            inside = [node.attrib["d"] for node in node.iter(f"{SPACE}path") if node.get("class") in INSIDE]
            for data in filter(None, inside):
                up = points_of(data)[:, 1]
                assert top - 0.01 <= up.min() <= up.max() <= foot + 0.01


INSIDE = {
    "pull", "release", "written pull", "written release", "written pressure", "expected pull", "expected release",
    "edge pull", "edge release", "doubt pull", "doubt release", "doubt pressure",
}  # fmt: skip


@pytest.mark.parametrize("width", [320.0, 900.0, 1920.0])
@pytest.mark.parametrize(("kind", "name"), [*EVERY[: len(REAL)], EVERY[len(FITS)], EVERY[-9]], ids=" ".join)
def test_themes_differ_in_colours_only(kind: str, name: str, width: float) -> None:
    light, dark = drawn(kind, name, width, LIGHT), drawn(kind, name, width, DARK)
    back = dark
    for token in ("paper", "surface", "ink", "ink_2", "fitted", "proposed", "grid"):
        back = back.replace(getattr(DARK, token), getattr(LIGHT, token))
    assert back == light
    assert dark != light


@pytest.mark.parametrize(("kind", "name"), [EVERY[0], EVERY[len(FITS)], EVERY[-1]], ids=" ".join)
def test_sheet_is_the_same_every_time_self_contained_and_prints(kind: str, name: str) -> None:
    svg = drawn(kind, name, 900.0, LIGHT)
    again = {"subtitle": "fitted: nine numbers told by the pull", "notes": NOTES, "block": BLOCK}
    assert svg == fresh(kind, name, {"title": f"{kind}: {name}", **again})
    root = parse(svg)
    assert not [name for node in root.iter() for name in node.attrib if name.endswith(("href", "src", "id"))]
    assert "url(" not in svg
    assert png(svg, 400).startswith(b"\x89PNG")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", [*REAL, *ODD])
def test_every_plot_of_a_fit_has_its_name_and_unit(name: str, width: float) -> None:
    titles = [
        one.content.replace("\u00a0", " ").split(" ·")[0]
        for one in texts(bench(name, width))
        if one.kind == "axis-title"
    ]
    across = "lever angle from rest (°)" if name == "angles" else "travel at the finger from rest (mm)"
    pressure = ["line pressure (bar)"] if name == "pressure" else []
    assert titles == ["force at the finger (N)", "measured less fitted (N)", *pressure, across]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", [*REAL, *ODD])
def test_every_curve_of_a_fit_is_named(name: str, width: float) -> None:
    content = contents(bench(name, width))
    for words in ("measured, pull", "measured, release", "bars: 95 % interval", "shaded: 95 % of a good fit"):
        assert words in content
    nothing = name == "nothing read"
    for branch in ("pull", "release"):
        assert (f"no {branch} to show" in content) == nothing
        assert (f"fitted {branch}" in content) != nothing
    assert ("not measured" in content) == (name == "no release")
    unwritten = name in ("nothing read", "tiny", "huge", "without written", "one place")
    assert ("job as written" in content) != unwritten


# A fit --------------------------------------------------------------------------------------------------------

FORCE, LEFT, PRESSURE = "force at the finger", "measured less fitted", "line pressure"
READABLE = [name for name in (*REAL, *ODD) if name not in ("nothing read", "tiny", "huge", "one place")]
"""Fits whose axes carry numbers that can be read as they stand."""


@pytest.mark.parametrize("width", [320.0, 900.0, 1920.0])
@pytest.mark.parametrize("name", READABLE)
def test_readings_stand_at_their_places_hollow_and_filled(name: str, width: float) -> None:
    measured, svg = FITS[name].fit.measured, bench(name, width)
    for branch, colour in (("pull", LIGHT.paper), ("release", LIGHT.ink)):
        spots = circles(pane(svg, FORCE), f"read {branch}")
        expected = known(places(measured), getattr(measured, branch))
        assert len(spots) == len(expected)
        off = np.abs(read_back(svg, FORCE, spots) - expected) / per_px(svg, FORCE)
        assert off.max(initial=0.0) < 0.05
        fills = {
            node.attrib["fill"] for node in pane(svg, FORCE).iter() if node.get("class") == f"read {branch}"
        }
        assert fills <= {colour}


@pytest.mark.parametrize("name", ["tiny", "huge"])
def test_forces_of_any_size_fill_the_plot(name: str) -> None:
    """Ticks of such forces are rounded, but the scale is that of the same pull in newtons."""
    svg, plain = bench(name), bench("without written")
    assert circles(pane(svg, FORCE), "read pull")[:, 1] == pytest.approx(
        circles(pane(plain, FORCE), "read pull")[:, 1], abs=0.02
    )


@pytest.mark.parametrize("name", ["stiff brake", "cable", "one lever", "pressure", "angles", "holes"])
def test_bars_are_the_95_per_cent_intervals_of_the_readings(name: str) -> None:
    measured, svg = FITS[name].fit.measured, bench(name)
    for branch in ("pull", "release"):
        (data,) = data_of(pane(svg, FORCE), f"doubt {branch}")
        found = np.array(re.findall(r"M(\S+) (\S+)V([\d.]+)", data), dtype=np.float64)
        value, doubt = getattr(measured, branch), getattr(measured, f"{branch}_deviation")
        low, high = value - NORMAL_95 * doubt, value + NORMAL_95 * doubt
        expected = known(places(measured), low, high)
        ends = [read_back(svg, FORCE, found[:, [0, column]]) for column in (1, 2)]
        top = float(pane(svg, FORCE).attrib["data-y-high"])
        expected = np.clip(expected, None, [np.inf, top, top])
        bottom = float(pane(svg, FORCE).attrib["data-y-low"])
        expected[:, 1:] = np.maximum(expected[:, 1:], bottom)  # nothing is drawn below the axis
        assert ends[0] == pytest.approx(expected[:, :2], abs=0.1 * per_px(svg, FORCE).max())
        assert ends[1] == pytest.approx(expected[:, [0, 2]], abs=0.1 * per_px(svg, FORCE).max())


@pytest.mark.parametrize("name", READABLE)
def test_fitted_curves_read_back_solid_and_dashed(name: str) -> None:
    told, svg = FITS[name].fit, bench(name)
    for branch, dash in (("pull", None), ("release", "6 4")):
        (data,) = data_of(pane(svg, FORCE), branch)
        back = read_back(svg, FORCE, points_of(data))
        expected = np.interp(back[:, 0], places(told.measured), getattr(told.predicted, branch)[0])
        assert back[:, 1] == pytest.approx(expected, abs=0.1 * per_px(svg, FORCE)[1])
        (node,) = [one for one in pane(svg, FORCE).iter(f"{SPACE}path") if one.get("class") == branch]
        assert (node.get("stroke-dasharray"), node.attrib["stroke"]) == (dash, LIGHT.fitted)


@pytest.mark.parametrize("name", [name for name in READABLE if name != "without written"])
def test_job_as_written_is_a_thin_line_that_may_leave_the_plot(name: str) -> None:
    one, svg = FITS[name], bench(name)
    assert one.written is not None
    for branch in ("pull", "release"):
        (data,) = data_of(pane(svg, FORCE), f"written {branch}")
        back = read_back(svg, FORCE, points_of(data))
        expected = np.interp(back[:, 0], places(one.fit.measured), getattr(one.written, branch)[0])
        # Where the line leaves the plot it is steep: what is off across counts, too.
        steep = np.abs(np.gradient(getattr(one.written, branch)[0], places(one.fit.measured))).max()
        assert back[:, 1] == pytest.approx(expected, abs=0.1 * float(per_px(svg, FORCE) @ [steep, 1.0]))
        weights = {
            node.attrib["stroke-width"]
            for node in pane(svg, FORCE).iter()
            if node.get("class") == f"written {branch}"
        }
        assert weights == {"1"}


def test_job_far_above_the_pull_does_not_flatten_it() -> None:
    far, plain = bench("far from written"), bench("without written")
    most = float(np.nanmax(FITS["far from written"].written.pull))  # type: ignore[union-attr]
    assert f"job as written, on to {most:.0f} N" in contents(far)
    tops = [float(pane(svg, FORCE).attrib["data-y-high"]) for svg in (far, plain)]
    assert tops[1] < tops[0] < 1.2 * tops[1]
    above = np.full_like(FITS["brake"].fit.predicted.pull, 1e5)
    beyond = replace(FITS["brake"], written=Predicted(above, above, None))
    svg = bench_figure(beyond.fit, beyond.written, title="far beyond")
    assert "job as written: beyond this plot, on to 100000 N" in contents(svg)
    assert data_of(pane(svg, FORCE), "written pull") == [""]


@pytest.mark.parametrize("width", [320.0, 900.0])
@pytest.mark.parametrize("name", READABLE)
def test_what_is_left_stands_at_its_place_where_the_fit_used_it(name: str, width: float) -> None:
    told, svg = FITS[name].fit, bench(name, width)
    for branch, at in (("pull", told.readings.pull_at), ("release", told.readings.release_at)):
        left = getattr(told.measured, branch) - getattr(told.predicted, branch)[0]
        expected = known(places(told.measured)[at], left[at])
        spots = circles(pane(svg, LEFT), f"left {branch}")
        assert len(spots) == len(expected)
        off = np.abs(read_back(svg, LEFT, spots) - expected) / per_px(svg, LEFT)
        assert off.max(initial=0.0) < 0.05


@pytest.mark.parametrize("name", [*REAL, "pressure", "angles"])
def test_shaded_band_is_what_the_fit_took_for_the_doubt(name: str) -> None:
    """Twice the quantile times the deviation high at every place, cut at the edges of the plot."""
    told, svg = FITS[name].fit, bench(name)
    counts = int(np.count_nonzero(told.readings.pull_at)), int(np.count_nonzero(told.readings.release_at))
    doubts = told.readings.deviation[: counts[0]], told.readings.deviation[counts[0] : sum(counts)]
    at = told.readings.pull_at, told.readings.release_at
    most = float(pane(svg, LEFT).attrib["data-y-high"])
    for branch, doubt, used in zip(("pull", "release"), doubts, at, strict=True):
        upper, lower = data_of(pane(svg, LEFT), f"edge {branch}")
        for data, sign in ((upper, 1.0), (lower, -1.0)):
            expected = sign * np.minimum(NORMAL_95 * doubt, most)
            every = [points_of(piece) for piece in data.split("M") if piece]
            back = read_back(svg, LEFT, np.concatenate(every))
            wanted = np.interp(back[:, 0], places(told.measured)[used], expected)
            assert back[:, 1] == pytest.approx(wanted, abs=0.2 * per_px(svg, LEFT)[1])
        (shade,) = data_of(pane(svg, LEFT), f"expected {branch}")
        assert shade.startswith("M")


def test_zero_of_what_is_left_lies_in_the_middle() -> None:
    for name in READABLE:
        node = pane(bench(name), LEFT)
        assert float(node.attrib["data-y-low"]) == -float(node.attrib["data-y-high"])
        assert "zero" in [one.get("class") for one in node.iter()]


def test_gaps_stay_gaps() -> None:
    measured = FITS["holes"].fit.measured
    rows = np.isfinite(measured.pull).sum(), np.isfinite(measured.release).sum()
    found = [len(circles(pane(bench("holes"), FORCE), f"read {branch}")) for branch in ("pull", "release")]
    assert tuple(found) == rows
    told = FITS["holes"].fit
    holed = np.where(np.arange(told.measured.place.size) == 20, np.nan, told.predicted.pull)
    broken = replace(told, predicted=replace(told.predicted, pull=holed))
    (data,) = data_of(pane(bench_figure(broken, title="broken"), FORCE), "pull")
    assert data.count("M") == 2


@pytest.mark.parametrize("width", [320.0, 900.0])
def test_pressure_stands_at_its_place_in_bar(width: float) -> None:
    told, svg = FITS["pressure"].fit, bench("pressure", width)
    for kind, values in (
        ("read pressure-pull", told.measured.pull_pressure),
        ("read pressure-release", told.measured.release_pressure),
    ):
        assert values is not None
        spots = circles(pane(svg, PRESSURE), kind)
        off = read_back(svg, PRESSURE, spots) - known(places(told.measured), values / 1e5)
        assert np.abs(off / per_px(svg, PRESSURE)).max() < 0.05
    (data,) = data_of(pane(svg, PRESSURE), "pull")
    back = read_back(svg, PRESSURE, points_of(data))
    assert told.predicted.pressure is not None
    expected = np.interp(back[:, 0], places(told.measured), told.predicted.pressure[0] / 1e5)
    assert back[:, 1] == pytest.approx(expected, abs=0.1 * per_px(svg, PRESSURE)[1])


def test_pressure_of_one_branch_is_shown_too() -> None:
    told = FITS["pressure"].fit
    one = replace(told, measured=replace(told.measured, release_pressure=None))
    svg = bench_figure(one, None, title="one branch")
    assert len(circles(pane(svg, PRESSURE), "read pressure-pull")) == told.measured.place.size
    assert len(circles(pane(svg, PRESSURE), "read pressure-release")) == 0


def test_marks_shrink_before_they_hide_each_other() -> None:
    for width in WIDTHS:
        spots = circles(pane(bench("brake", width), FORCE), "read release")
        assert np.all(np.diff(spots[:, 0]) > 1.5 * spots[0, 2])
        assert benchplot.SMALL <= spots[0, 2] <= benchplot.LARGE


def test_curve_is_cut_where_it_leaves_a_box() -> None:
    """A straight line from 10 above the box to 10 below it, with a hole, by hand."""
    box = Box(0.0, 100.0, 50.0, 120.0)
    x, y = benchplot.within(np.array([0.0, 40.0]), np.array([90.0, 130.0]), box)
    assert x == pytest.approx([0.0, 10.0, 30.0, 40.0])
    assert y == pytest.approx([np.nan, 100.0, 120.0, np.nan], nan_ok=True)
    x, y = benchplot.within(np.arange(5.0), np.array([110.0, np.nan, 110.0, 112.0, 90.0]), box)
    assert known(x, y) == pytest.approx(
        np.array([[0.0, 110.0], [2.0, 110.0], [3.0, 112.0], [3.0 + 6 / 11, 100.0]])
    )
    assert np.isnan(y[1])


# Intervals ----------------------------------------------------------------------------------------------------


def rows(svg: str) -> dict[str, Element]:
    """The rows of a table by name."""
    return {node.attrib["data-name"]: node for node in parse(svg).iter() if node.get("class") == "row"}


def ends(node: Element, kind: str) -> FloatArray:
    """Left and right end of a stroke or bar, px."""
    (one,) = [one for one in node.iter() if one.get("class") == kind]
    if one.tag == f"{SPACE}rect":
        left = float(one.attrib["x"])
        return np.array([left, left + float(one.attrib["width"])])
    return np.array([float(found) for found in re.findall(r"[ML](\S+) ", one.attrib["d"])])


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", REAL)
def test_every_number_has_a_row_with_all_its_words(name: str, width: float) -> None:
    told, svg = FITS[name].fit, intervals(name, width)
    found = rows(svg)
    assert len(found) == len(told.unknowns)
    for unknown in told.unknowns:
        node = next(node for label, node in found.items() if own_name(label, unknown.label, unknown.path))
        said = " ".join("".join(text.itertext()) for text in node.iter(f"{SPACE}text")).replace("\u00a0", " ")
        assert unknown.label in said
        assert ("from the prior" in said) == (unknown.path not in told.informed)
        assert f"{unknown.value:.6g}" in said
    content = contents(svg)
    for words in ("95 % before the pull", "95 % after it", "fitted", "job says", "each row to its own scale"):
        assert words in content


def own_name(shown: str, label: str, path: str) -> bool:
    """Whether a row is that of a number: of two with one name, whose each is follows in brackets."""
    side = next((side for side in ("brake", "clutch", "assist") if side in path), "")
    return shown in (label, f"{label} ({side})")


@pytest.mark.parametrize("width", [320.0, 900.0, 1920.0])
@pytest.mark.parametrize("name", REAL)
def test_ranges_lie_where_the_prior_puts_them(name: str, width: float) -> None:
    """In standard deviations of the prior: its own range is ±1.96, all others by its mean and spread."""
    told, svg = FITS[name].fit, intervals(name, width)
    found = rows(svg)
    across = None
    for unknown in told.unknowns:
        node = next(node for label, node in found.items() if own_name(label, unknown.label, unknown.path))
        before = ends(node, "before")
        if (
            unknown.least < unknown.natural(np.array(-1.96))
            and unknown.natural(np.array(1.96)) < unknown.most
        ):
            line = np.polyfit(before, [-1.96, 1.96], 1)
            across = line if across is None else across
            assert line == pytest.approx(across, abs=2e-4 * abs(across[1]))
    assert across is not None
    for unknown, value, low, high in zip(told.unknowns, told.value, told.low, told.high, strict=True):
        node = next(node for label, node in found.items() if own_name(label, unknown.label, unknown.path))
        expected = [deviations(unknown, one) for one in (low, high, value, unknown.value)]
        px = [*ends(node, "after"), circles(node, "value")[0, 0], ends(node, "job")[0]]
        tolerance = 0.02 * abs(across[0]) + 1e-3
        if (high - low) and px[1] - px[0] > 2.01:
            assert np.polyval(across, px[:2]) == pytest.approx(expected[:2], abs=tolerance)
        assert np.polyval(across, px[2:]) == pytest.approx(expected[2:], abs=tolerance)


def deviations(unknown: Any, value: float) -> float:
    """How far a value lies from the middle of its prior, by hand."""
    return ((math.log(value) if unknown.log else value) - unknown.centre) / unknown.spread  # type: ignore[no-any-return]


def test_what_the_pull_told_is_solid_and_first_the_rest_hollow_and_grey() -> None:
    told, svg = FITS["clutch"].fit, intervals("clutch")
    every = [node for row in rows(svg).values() for node in row.iter(f"{SPACE}rect")]
    after = [node for node in every if node.get("class") == "after"]
    count = len(told.informed)
    assert 0 < count < len(after)
    assert {node.attrib["fill"] for node in after[:count]} == {LIGHT.fitted}
    assert {(node.attrib["fill"], node.attrib["stroke"]) for node in after[count:]} == {
        (LIGHT.paper, LIGHT.ink_2)
    }
    names = [node.attrib["fill"] for node in parse(svg).iter(f"{SPACE}text") if node.get("class") == "name"]
    assert set(names[:count]) == {LIGHT.ink}
    assert set(names[-3:]) == {LIGHT.ink_2}
    groups = [one.content for one in texts(svg) if one.kind == "group"]
    assert groups == ["told by this pull", "not told: these stay as they were before"]


def test_numbers_stand_in_columns_where_there_is_room_and_under_the_name_elsewhere() -> None:
    for width, beside in ((320.0, False), (560.0, False), (900.0, True), (1920.0, True)):
        svg = intervals("one lever", width)
        assert ("fitted-value" in classes(svg)) == beside
        heads = [one.content for one in texts(svg) if one.kind == "head"]
        assert heads == [
            "each row to its own scale",
            *(["fitted", "95 % interval", "job says"] if beside else []),
        ]


@pytest.mark.parametrize(
    ("low", "high", "value", "words"),
    [
        (7.228, 8.266, 7.730, "7.7"),  # ± 0.52: one digit of the half width
        (0.0283, 0.0489, 0.0372, "0.037"),  # ± 0.0103: it begins with 1, two digits
        (70.9, 77.8, 74.3, "74"),
        (933.2, 971.0, 951.9, "952"),  # ± 19: whole numbers at least
        (-0.553, 0.345, -0.104, "−0.1"),
        (-0.2, 0.2, -0.0001, "0.00"),
        (math.nan, math.nan, 0.5, "0.50"),
        (1.0, 1.0, 1.0, "1.00"),
        (2.0e6, 4.0e6, 3.1e6, "3.1e+06"),
        (0.0, 1.0, math.inf, "–"),
    ],
)
def test_numbers_have_the_digits_that_their_interval_is_worth(
    low: float, high: float, value: float, words: str
) -> None:
    assert benchplotspan.written(value, benchplotspan.decimals(low, high)) == words


def test_units_are_written_as_the_trade_writes_them() -> None:
    content = contents(intervals("stiff brake"))
    for words in ("N mm/°", "mm³/(m bar)", "mm³/bar", "N/mm", "bar", "%", "°"):
        assert words in content
    assert "_" not in content
    assert re.search(r"clocking of the cam −?[\d.]+°, ", contents(intervals("stiff brake", 390.0)))


def test_twins_are_told_apart() -> None:
    content = contents(intervals("one lever"))
    for words in ("air in the line (brake)", "air in the line (clutch)", "clocking of the cam (brake)"):
        assert words in content
    assert "(brake)" not in contents(intervals("stiff brake"))


def test_numbers_without_an_interval_are_still_drawn() -> None:
    told = FITS["brake"].fit
    away = np.full(len(told.unknowns), np.nan)
    lost = replace(told, low=away, high=away, narrowing=away, value=np.full(len(away), np.inf))
    svg = interval_figure(lost, title="lost", width=390.0)
    assert overlaps(svg) == []
    assert classes(svg).count("after") == 1  # that of the key
    assert contents(svg).count("from the prior") == len(away)
    all_told = interval_figure(replace(told, narrowing=0.0 * told.narrowing), title="all told")
    assert "from the prior" not in contents(all_told)


# Two pulls ----------------------------------------------------------------------------------------------------

DIFFERENCE = "difference"


@pytest.mark.parametrize("width", [320.0, 900.0, 1920.0])
@pytest.mark.parametrize("name", PAIRS)
def test_both_loops_read_back(name: str, width: float) -> None:
    two, svg = PAIRS[name], pair(name, width)
    traces = [node for node in parse(svg).iter() if node.get("class", "").startswith("trace ")]
    assert [node.attrib["class"] for node in traces] == ["trace fitted", "trace proposed"]
    assert [node.attrib["data-label"] for node in traces] == list(two.labels)
    for node, one in zip(traces, (two.before, two.after), strict=True):
        for branch in ("pull", "release"):
            (data,) = data_of(node, branch)
            read = known(places(one), getattr(one, branch))
            if not len(read):
                assert data == ""
                continue
            back = read_back(svg, FORCE, points_of(data))
            assert back[:, 1] == pytest.approx(
                np.interp(back[:, 0], read[:, 0], read[:, 1]), abs=0.15 * float(per_px(svg, FORCE)[1])
            )


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAIRS)
def test_both_pulls_are_named_with_their_marks(name: str, width: float) -> None:
    two, svg = PAIRS[name], pair(name, width)
    content = contents(svg)
    if name != "clutch":  # a long name is broken and cut where the plot is small
        for label in two.labels:
            assert label in content
    assert "pull of the fourteenth" in content or name != "clutch"
    assert ("after: no pull to show" in content) == (name == "nothing read")
    marks = {
        node.attrib["class"]: node.attrib["fill"]
        for node in parse(svg).iter()
        if "mark " in node.get("class", "")
    }
    assert marks == {"mark fitted": LIGHT.paper, "mark proposed": LIGHT.proposed}
    across = "lever angle from rest (°)" if name == "angles" else "travel at the finger from rest (mm)"
    assert across in content
    assert "difference (felt steps)" in content
    assert "is harder" in content


@pytest.mark.parametrize("width", [320.0, 900.0])
@pytest.mark.parametrize("name", PAIRS)
def test_difference_is_drawn_in_felt_steps(name: str, width: float) -> None:
    """ln(after / before) / ln 1.07, by hand from both pulls where a finger pulls with 5 N."""
    two, svg = PAIRS[name], pair(name, width)
    for branch in ("pull", "release"):
        (data,) = data_of(pane(svg, DIFFERENCE), branch)
        steps = by_hand(two, branch)
        assert (data == "") == (len(steps) == 0)
        if len(steps):
            back = read_back(svg, DIFFERENCE, points_of(data))
            expected = np.interp(back[:, 0], steps[:, 0], steps[:, 1])
            assert back[:, 1] == pytest.approx(expected, abs=0.15 * float(per_px(svg, DIFFERENCE)[1]))


def by_hand(two: PairCase, branch: str) -> FloatArray:
    """Places and felt steps (P, 2) of one branch."""
    lines = [known(places(one), getattr(one, branch)) for one in (two.before, two.after)]
    if not all(map(len, lines)):
        return np.empty((0, 2))
    grid = places(two.before)
    before, after = (np.interp(grid, line[:, 0], line[:, 1], left=np.nan, right=np.nan) for line in lines)
    with np.errstate(invalid="ignore", divide="ignore"):
        pulled = (before >= 5.0) & (after >= 5.0)
        steps = np.where(pulled, np.log(after / before) / math.log(1.07), np.nan)
    return known(grid, steps)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAIRS)
def test_what_no_finger_feels_is_hatched_one_step_to_both_sides(name: str, width: float) -> None:
    svg = pair(name, width)
    node = pane(svg, DIFFERENCE)
    y = np.array([points_of(data)[0, 1] for data in data_of(node, "felt")])
    assert np.polyval(mapping(svg, DIFFERENCE)[1], y) == pytest.approx([1.0, -1.0], abs=0.01)
    (strokes,) = data_of(node, "hatch")
    spots = points_of(strokes)
    assert y.min() - 0.02 <= spots[:, 1].min() <= spots[:, 1].max() <= y.max() + 0.02
    content = contents(svg)
    assert content.count("not felt") == 1
    inside = [one for one in texts(svg) if one.content == "not felt"]
    for one in inside:
        assert y.min() <= one.top
        assert one.bottom <= y.max()
    assert len(inside) == ("hatched: not felt" not in content)


@pytest.mark.parametrize("name", [name for name in PAIRS if name not in ("alike", "nothing read", "silent")])
def test_greatest_difference_is_named_at_its_place(name: str) -> None:
    two, svg = PAIRS[name], pair(name)
    node, content = pane(svg, DIFFERENCE), contents(svg)
    expected = []
    for branch in ("pull", "release"):
        steps = by_hand(two, branch)
        if len(steps):
            at, most = steps[np.argmax(np.abs(steps[:, 1]))].tolist()
            expected.append((at, most))
            unit = "°" if name == "angles" else " mm"
            assert f"{branch}: {most:+.1f} at {at:.1f}{unit}".replace("-", "−") in content
    back = read_back(svg, DIFFERENCE, circles(node, "peak"))
    off = np.abs(back - np.array(expected)) / per_px(svg, DIFFERENCE)
    assert off.max() < 0.05


def test_nothing_to_tell_apart_is_said() -> None:
    assert "no difference" in contents(pair("alike"))
    for name in ("nothing read", "silent"):
        assert "no common force to compare" in contents(pair(name))


def test_doubt_of_a_difference_is_counted_from_the_lighter_force() -> None:
    """60 N against 50 N, each ± 1.96 N: ln((50 + 1.96 √2) / 50) / ln 1.07 steps to both sides."""
    place = np.linspace(0.0, 0.03, 16)
    ones = np.ones(place.size)
    before, after = (Branches(place, False, f * ones, f * ones, ones, ones, None, None) for f in (60.0, 50.0))
    told = compare(before, after)
    svg = compare_figure(before, after, told, title="doubt")
    (data,) = data_of(pane(svg, DIFFERENCE), "doubt pull")
    y = np.unique(np.round(read_back(svg, DIFFERENCE, points_of(data))[:, 1], 2))
    half = math.log((50.0 + NORMAL_95 * math.sqrt(2.0)) / 50.0) / math.log(1.07)
    middle = math.log(50.0 / 60.0) / math.log(1.07)
    assert y == pytest.approx([middle - half, middle + half], abs=0.02)


def test_long_name_is_cut_in_the_aside() -> None:
    two = PAIRS["brake"]
    name = "the pull after the new seal, with the old hose still in its place.csv"
    svg = compare_figure(two.before, two.after, two.compared, ("before", name), title="long", width=320.0)
    assert overlaps(svg) == []
    assert outside(svg, 320.0) == []
    assert "above zero: the pull after the ne… is harder; hatched: not felt" in contents(svg)


# What cannot be drawn -----------------------------------------------------------------------------------------


def test_figure_too_narrow_is_refused() -> None:
    one, two = FITS["brake"], PAIRS["brake"]
    for width in (319.0, math.nan):
        with pytest.raises(ValueError, match="give 320 px or more"):
            bench_figure(one.fit, title="narrow", width=width)
        with pytest.raises(ValueError, match="give 320 px or more"):
            interval_figure(one.fit, title="narrow", width=width)
        with pytest.raises(ValueError, match="give 320 px or more"):
            compare_figure(two.before, two.after, two.compared, title="narrow", width=width)


def test_arrays_of_another_pull_are_refused() -> None:
    told = FITS["brake"].fit
    three = np.zeros(3)
    broken: tuple[tuple[Any, Predicted | None, str], ...] = (
        (
            replace(told, pull_residual=three),
            None,
            r"fit: pull_residual of shape \(3,\): one value is needed",
        ),
        (
            replace(told, measured=replace(told.measured, release=three)),
            None,
            r"measured pull: release of shape \(3,\)",
        ),
        (
            replace(told, predicted=Predicted(three[None], three[None], None)),
            None,
            "fitted job: pull of shape",
        ),
        (
            told,
            Predicted(told.predicted.pull, three, None),
            r"job as written: release of shape \(3,\): one row",
        ),
        (
            told,
            Predicted(told.predicted.pull[0], told.predicted.release[0], None),
            "job as written: pull of shape",
        ),
        (
            replace(told, readings=replace(told.readings, deviation=three)),
            None,
            "readings: deviation of shape",
        ),
        (
            replace(told, readings=replace(told.readings, pull_at=three > 0)),
            None,
            "readings: pull_at of shape",
        ),
    )
    for fit, written, said in broken:
        with pytest.raises(ValueError, match=said):
            bench_figure(fit, written, title="broken")


@pytest.mark.parametrize(
    "place", [np.empty(0), np.array([0.0, np.nan]), np.array([0.0, 0.0]), np.zeros((2, 2))]
)
def test_places_that_are_no_places_are_refused(place: FloatArray) -> None:
    away = np.zeros(place.shape)
    none = Branches(place, False, away, away, away, away, None, None)
    told = replace(FITS["brake"].fit, measured=none)
    with pytest.raises(ValueError, match=r"must be \(P,\), finite, and grow"):
        bench_figure(told, title="nowhere")
    with pytest.raises(ValueError, match=r"must be \(P,\), finite, and grow"):
        compare_figure(none, none, PAIRS["brake"].compared, title="nowhere")


def test_two_pulls_that_do_not_belong_together_are_refused() -> None:
    two = PAIRS["brake"]
    with pytest.raises(ValueError, match="one pull has travel and the other lever angles"):
        compare_figure(two.before, replace(two.after, angular=True), two.compared, title="mixed")
    with pytest.raises(ValueError, match="two pulls need two names"):
        compare_figure(two.before, two.after, two.compared, ("before", " "), title="nameless")
    short = replace(two.compared, pull_steps=np.zeros(3))
    with pytest.raises(ValueError, match=r"difference: pull_steps of shape \(3,\)"):
        compare_figure(two.before, two.after, short, title="short")


def test_fit_without_numbers_is_refused() -> None:
    told = FITS["brake"].fit
    with pytest.raises(ValueError, match="a fit without unknowns: there is nothing to show"):
        interval_figure(replace(told, unknowns=()), title="empty")
    with pytest.raises(ValueError, match=r"fit: low of shape \(3,\)"):
        interval_figure(replace(told, low=np.zeros(3)), title="short")
