"""Whole figures: well formed, the same every time, every word readable and apart from every other."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.papers.figures import (
    DARK,
    LIGHT,
    Cloud,
    Mark,
    Panel,
    Quantity,
    TitleBlock,
    Trace,
    pull_figure,
    scatter_figure,
    small_pull,
)
from pullcurve.papers.style import EVENT_KINDS, Role, Theme
from tests.papers import samples
from tests.papers.drawing import SPACE, classes, parse, paths, texts

NAN = math.nan
LONG = "a heading that is longer than the sheet is wide because somebody wanted to say it all at once"

FIGURES = {
    "one": samples.ONE,
    "two": samples.TWO,
    "second": samples.SECOND,
    "three": samples.THREE,
    "short": samples.SHORT,
    "close": samples.CLOSE,
    "broken": samples.BROKEN,
}


def figure(
    panels: tuple[Panel, ...], width: float = 900.0, theme: Theme = LIGHT, height: float | None = None
) -> str:
    """A figure with everything around it."""
    return pull_figure(
        panels,
        title=LONG,
        subtitle="8 N lighter at the end of the pull, felt at once; bite 2 mm nearer the grip",
        notes="Finger 60 mm from the pivot. Friction as measured on the release branch. " * 3,
        block=samples.BLOCK,
        theme=theme,
        width=width,
        height=height,
    )


def words_that_meet(svg: str) -> list[tuple[str, str]]:
    """Pairs of texts that cover each other."""
    known = texts(svg)
    return [(a.content, b.content) for a, b in itertools.combinations(known, 2) if a.meets(b)]


# The sheet --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [900.0, 700.0, 450.0, 360.0])
@pytest.mark.parametrize("name", FIGURES)
def test_no_word_covers_another_or_leaves_the_sheet(name: str, width: float) -> None:
    svg = figure(FIGURES[name], width)
    assert words_that_meet(svg) == []
    root = parse(svg)
    high = float(root.attrib["height"])
    assert root.attrib["viewBox"].split()[2:] == [root.attrib["width"], root.attrib["height"]]
    outside = [
        known.content
        for known in texts(svg)
        if not (
            known.left >= 8.0
            and known.right <= width - 8.0
            and known.top >= 8.0
            and known.bottom <= high - 8.0
        )
    ]
    assert outside == []


@pytest.mark.parametrize("width", [900.0, 700.0, 450.0, 360.0])
@pytest.mark.parametrize("name", FIGURES)
def test_every_event_trace_and_limit_is_named(name: str, width: float) -> None:
    svg = figure(FIGURES[name], width)
    content = " ".join(known.content for known in texts(svg))
    drawn = sum(known.split()[:1] == ["event"] for known in classes(svg))
    marks = [
        mark
        for panel in FIGURES[name]
        for trace in panel.traces
        for mark in trace.events
        if mark.travel_mm >= 0.0
    ]
    assert drawn >= len(marks)
    for mark in marks:
        assert f"{mark.kind} {mark.travel_mm:.1f} mm, {mark.force_newton:.0f} N" in content
    for panel in FIGURES[name]:
        assert panel.title in content
        for trace in panel.traces:
            assert trace.label in content
            assert math.isnan(trace.end_mm) or f"travel ends {trace.end_mm:.1f} mm" in content
        assert panel.force_limit_newton is None or f"force limit {panel.force_limit_newton:.0f} N" in content


def test_crowded_figure_is_higher() -> None:
    calm, crowded = (parse(figure(panels, 450.0)).attrib["height"] for panels in (samples.ONE, samples.THREE))
    assert float(crowded) > float(calm) + 100.0


@pytest.mark.parametrize("subtitle", ["", "8 N lighter"])
def test_key_stands_beside_the_last_line_of_the_heading(subtitle: str) -> None:
    svg = pull_figure(samples.ONE, title="pull", subtitle=subtitle)
    foot = {
        kind: [node.attrib["y"] for node in parse(svg).iter(f"{SPACE}text") if node.get("class") == kind]
        for kind in ("title", "subtitle", "key")
    }
    assert foot["key"] == 2 * (foot["subtitle"] or foot["title"])


def test_second_plot_has_numbers_to_read_off() -> None:
    svg = figure(samples.SHORT)
    top = next(known.top for known in texts(svg) if "plate lift" in known.content)
    ticks = [known.content for known in texts(svg) if known.kind == "tick" and known.top > top]
    assert [known for known in ticks if "." in known] == ["0.0", "0.5", "1.0", "1.5"]


def test_axes_carry_their_units() -> None:
    titles = {
        known.content.replace("\u00a0", " ")
        for known in texts(figure(samples.SECOND))
        if known.kind == "axis-title"
    }
    assert titles == {"force at the finger (N)", "travel at the finger from rest (mm)", "pressure (bar)"}


def test_figure_is_the_same_every_time_and_self_contained() -> None:
    svg = figure(samples.TWO)
    assert svg == figure(samples.TWO)
    root = parse(svg)
    assert not [name for node in root.iter() for name in node.attrib if name.endswith(("href", "src", "id"))]
    assert "url(" not in svg
    assert {node.tag.removeprefix(SPACE) for node in root.iter()} <= {
        "svg",
        "g",
        "path",
        "rect",
        "text",
        "tspan",
        "title",
    }


def test_themes_differ_in_colours_only() -> None:
    light, dark = figure(samples.TWO), figure(samples.TWO, theme=DARK)
    for token in ("paper", "surface", "ink", "ink_2", "fitted", "proposed", "grid"):
        dark = dark.replace(getattr(DARK, token), getattr(LIGHT, token))
    assert dark == light


def test_wide_figure_stands_side_by_side_and_narrow_one_stacks() -> None:
    def places(width: float) -> list[tuple[float, float]]:
        return [
            (known.left, known.top)
            for known in texts(figure(samples.TWO, width))
            if known.kind == "panel-title"
        ]

    (left, top), (right, beside) = places(900.0)
    assert top == beside
    assert right - left > 400.0
    (left, top), (right, below) = places(450.0)
    assert left == right
    assert below - top > 250.0


def test_title_block_says_what_it_is_given() -> None:
    cells = " ".join(known.content for known in texts(figure(samples.TWO)) if known.kind == "cell")
    for value in (
        "winter set-up for tight woods",
        "hydraulic clutch",
        "below-knee",
        "stroke 8.0 mm",
        "2025-03-14",
    ):
        assert value in cells
    captions = [known.content for known in texts(figure(samples.TWO)) if known.kind == "caption"]
    assert captions == ["job", "machine", "rider", "set", "origin of numbers", "date"]


def test_long_cell_is_cut_but_kept_whole_in_its_title() -> None:
    job = "a very long job " * 20
    svg = pull_figure(samples.ONE, title="pull", block=TitleBlock(job=job))
    assert any(known.content.endswith("…") for known in texts(svg) if known.kind == "cell")
    assert job.strip() in [(node.text or "").strip() for node in parse(svg).iter(f"{SPACE}title")]
    assert "–" in [known.content for known in texts(svg) if known.kind == "cell"]


# The curves -------------------------------------------------------------------------------------------------


def test_pull_is_solid_and_heavy_release_dashed_and_light_in_one_colour() -> None:
    branches = [
        node for node in parse(figure(samples.ONE)).iter() if node.get("class") in ("pull", "release")
    ]
    assert {
        (
            node.attrib["class"],
            node.attrib["stroke"],
            node.attrib["stroke-width"],
            node.get("stroke-dasharray", ""),
        )
        for node in branches
    } == {("pull", LIGHT.fitted, "2.5", ""), ("release", LIGHT.fitted, "1.5", "6 4")}


def test_every_kind_of_event_is_drawn_in_its_shape() -> None:
    travel = np.linspace(0.0, 30.0, 50)
    pull = samples.trace(travel, travel + 5.0, {kind: 5.0 * (i + 1) for i, kind in enumerate(EVENT_KINDS)})
    svg = pull_figure((Panel("lever", (pull,)),), title="all events")
    shapes = {}
    for node in parse(svg).iter(f"{SPACE}g"):
        if node.get("class", "").startswith("event "):
            shape = node.findall(f"{SPACE}path")[-1]
            edges = shape.attrib["d"].count("L") + 1 if "a" not in shape.attrib["d"] else 0
            shapes[node.attrib["class"].removeprefix("event ")] = (
                edges,
                shape.attrib["fill"] == LIGHT.fitted,
            )
    assert shapes == {
        "bite": (4, False),
        "lock-up": (4, True),
        "first-slip": (3, False),
        "free": (0, False),
        "clean": (0, True),
    }


def test_fitted_and_proposed_differ_by_more_than_colour() -> None:
    marks = [node for node in parse(figure(samples.TWO)).iter() if node.get("class", "").startswith("mark ")]
    fills = {(node.attrib["class"], node.attrib["fill"]) for node in marks}
    assert fills == {("mark fitted", LIGHT.paper), ("mark proposed", LIGHT.proposed)}


def test_lever_that_does_not_change_is_drawn_once_with_both_names() -> None:
    same = replace(samples.clutch(), role="proposed", label="proposed")
    svg = figure((samples.TWO[0], Panel("clutch lever", (samples.clutch(), same))))
    assert len(paths(svg, "pull")) == 3
    assert "fitted and proposed" in [known.content for known in texts(svg)]
    other = replace(same, pull_newton=same.pull_newton + 0.2)
    assert len(paths(figure((Panel("clutch lever", (samples.clutch(), other)),)), "pull")) == 2
    pair = samples.TWO[0].traces
    second = ("pressure", "bar", (pair[0].pull_newton, pair[0].pull_newton, pair[1].pull_newton))
    three = Panel(
        "lever", (pair[0], replace(pair[0], role="proposed", label="asked"), pair[1]), second=second
    )
    svg = figure((three,))
    assert len(paths(svg, "pull")) == 4  # two loops, and their pressures below
    assert "fitted and asked" in [known.content for known in texts(svg)]
    firmer = (second[2][0], 1.1 * second[2][0], second[2][2])  # alike at the finger, not at the caliper
    assert len(paths(figure((replace(three, second=("pressure", "bar", firmer)),)), "pull")) == 6


def test_undefined_stations_break_the_line() -> None:
    travel = np.linspace(0.0, 30.0, 31)
    pull = np.where(np.abs(travel - 15.0) < 2.5, np.nan, travel)
    known = Trace("fitted", "fitted", travel, pull, np.full(31, np.nan), (), NAN)
    svg = pull_figure((Panel("lever", (known,)),), title="gap")
    assert [data.count("M") for data in paths(svg, "pull")] == [2]
    assert paths(svg, "release") == [""]


def test_what_is_not_reached_is_said() -> None:
    content = " ".join(known.content for known in texts(figure(samples.BROKEN)))
    assert "fitted, lock-up not reached" in content
    beyond = samples.trace(
        np.linspace(0.0, 34.0, 80), np.linspace(1.0, 50.0, 80), {"bite": 10.0, "lock-up": 33.0}, 30.0
    )
    content = " ".join(known.content for known in texts(figure((Panel("lever", (beyond,)),))))
    assert "fitted, lock-up not reached" in content


@pytest.mark.parametrize(("travel", "force"), [(NAN, 5.0), (5.0, NAN), (5.0, math.inf), (1e300, 5.0)])
def test_event_without_a_place_is_not_drawn(travel: float, force: float) -> None:
    pull = replace(samples.brake(), events=(Mark("free", travel, force),))
    svg = figure((Panel("lever", (pull,)),))
    assert not any(known.startswith("event") for known in classes(svg))
    assert "fitted, free not reached" in [known.content for known in texts(svg)]


def test_curves_stop_at_the_end_of_the_travel() -> None:
    travel, force = np.array([0.0, 10.0, 20.0, 30.0]), np.array([0.0, 10.0, 20.0, 30.0])
    whole = Trace("fitted", "fitted", travel, force, force, (), 25.0)
    svg = pull_figure((Panel("lever", (whole,), second=("pressure", "bar", (2.0 * force,))),), title="end")
    ends = [float(data.split("M")[1].split()[0]) for data in paths(svg, "end")]
    for data in (*paths(svg, "pull"), *paths(svg, "release")):
        assert float(data.rsplit("L", 1)[1].split()[0]) == pytest.approx(ends[0], abs=0.01)


def test_wanted_points_have_their_cross_and_their_place_in_the_key() -> None:
    points = np.array([[5.0, 20.0], [28.0, 90.0], [NAN, 3.0]])
    for width in (360.0, 900.0):
        svg = figure((replace(samples.ONE[0], wanted=points),), width)
        assert len(paths(svg, "wanted")) == 2
        assert [known.content for known in texts(svg) if known.kind == "key"] == ["pull", "release", "wanted"]
        assert words_that_meet(svg) == []


def test_scales_for_a_cursor_lead_back_to_the_stations() -> None:
    svg = pull_figure(samples.ONE[:1], title="cursor")
    panel = next(node for node in parse(svg).iter() if node.get("class") == "panel")
    low, high, start, end = (
        float(panel.attrib[f"data-x-{part}"]) for part in ("low", "high", "start", "end")
    )
    first, *_, last = paths(svg, "pull")[0].removeprefix("M").split("L")
    px = [float(point.split()[0]) for point in (first, last)]
    travel = [low + (x - start) / (end - start) * (high - low) for x in px]
    assert travel == pytest.approx([0.0, 31.2], abs=0.01)


# Limits -----------------------------------------------------------------------------------------------------


def test_force_limit_is_hatched_and_named_and_danger_only_when_exceeded() -> None:
    kept, broken = (
        pull_figure((Panel("lever", (samples.brake(),), limit),), title="limit") for limit in (75.0, 50.0)
    )
    for svg, colour in ((kept, LIGHT.ink), (broken, LIGHT.danger)):
        lines = [node for node in parse(svg).iter() if node.get("class") == "limit"]
        assert [node.attrib["stroke"] for node in lines] == [colour]
    assert LIGHT.danger not in kept
    assert "force limit 50 N, exceeded" in [known.content for known in texts(broken)]


def test_distant_force_limit_is_named_but_does_not_flatten_the_curves() -> None:
    svg = pull_figure((Panel("lever", (samples.brake(),), 500.0),), title="limit")
    assert "force limit 500 N: above this plot" in [known.content for known in texts(svg)]
    assert paths(svg, "limit") == []


def test_panels_share_scales_only_when_alike() -> None:
    def scales(panels: tuple[Panel, ...]) -> list[str]:
        svg = pull_figure(panels, title="scales")
        return [node.attrib["data-y-high"] for node in parse(svg).iter() if node.get("class") == "panel"]

    assert len(set(scales(samples.TWO))) == 1
    assert len(set(scales((samples.ONE[0], Panel("light", (samples.clutch(0.1),)))))) == 2


# Refusals ---------------------------------------------------------------------------------------------------


def test_what_cannot_be_drawn_is_refused() -> None:
    lever = samples.ONE[0]
    with pytest.raises(ValueError, match="1 to 2 levers, and was given 0"):
        pull_figure((), title="none")
    with pytest.raises(ValueError, match="brake lever: 4 pulls"):
        pull_figure((Panel("brake lever", lever.traces * 4),), title="many")
    bent = Panel("lever", (Trace("fitted", "fitted", np.zeros(3), np.zeros(4), np.zeros(3), (), NAN),))
    with pytest.raises(ValueError, match=r"lever, fitted: travel and forces must be \(S,\)"):
        pull_figure((bent,), title="bent")
    with pytest.raises(ValueError, match="lever, pressure: one array is needed for each pull"):
        pull_figure((Panel("lever", lever.traces, second=("pressure", "bar", ())),), title="second")
    with pytest.raises(ValueError, match=r"lever: wanted points must be \(P, 2\)"):
        pull_figure((Panel("lever", lever.traces, wanted=np.zeros(4)),), title="wanted")
    with pytest.raises(ValueError, match="900 × 200 px leaves"):
        figure(samples.TWO, height=200.0)


# Anything ---------------------------------------------------------------------------------------------------

EXTREMES = {
    "nothing": (np.array([]), np.array([])),
    "one point": (np.array([12.0]), np.array([30.0])),
    "zeros": (np.zeros(40), np.zeros(40)),
    "no travel": (np.zeros(40), np.linspace(0.0, 60.0, 40)),
    "no force": (np.linspace(0.0, 30.0, 40), np.zeros(40)),
    "undefined": (np.linspace(0.0, 30.0, 40), np.full(40, NAN)),
    "tiny": (np.linspace(0.0, 1e-9, 40), np.linspace(0.0, 1e-9, 40)),
    "huge": (np.linspace(0.0, 1e11, 40), np.linspace(-1e11, 1e11, 40)),
    "backward": (np.linspace(30.0, 0.0, 40), np.linspace(0.0, 60.0, 40)),
}


@pytest.mark.parametrize("width", [900.0, 450.0])
@pytest.mark.parametrize("name", EXTREMES)
def test_extreme_pull_stays_inside_its_plot(name: str, width: float) -> None:
    travel, force = EXTREMES[name]
    svg = figure((Panel("lever", (Trace("fitted", "fitted", travel, force, 0.5 * force, (), NAN),)),), width)
    assert words_that_meet(svg) == []
    panel = next(node for node in parse(svg).iter() if node.get("class") == "panel")
    left, right, bottom, top = (
        float(panel.attrib[f"data-{part}"]) for part in ("x-start", "x-end", "y-start", "y-end")
    )
    for data in (*paths(svg, "pull"), *paths(svg, "release")):
        for point in data.replace("h.01", "").replace("M", "L").split("L")[1:]:
            x, y = map(float, point.split())
            assert left - 0.01 <= x <= right + 0.01
            assert top - 0.01 <= y <= bottom + 0.01


ROLES: tuple[Role, ...] = ("fitted", "proposed")
NUMBERS = st.floats(-1e300, 1e300) | st.sampled_from([0.0, NAN, math.inf, -math.inf, 1e-300, 34.0])
WORDS = st.text(max_size=60)


@st.composite
def traces(draw: st.DrawFn) -> Trace:
    """A pull of anything."""
    count = draw(st.integers(0, 6))
    travel, pull, release = (np.array([draw(NUMBERS) for _ in range(count)]) for _ in range(3))
    if draw(st.booleans()):
        travel = np.sort(travel)
    marks = draw(st.lists(st.builds(Mark, st.sampled_from(EVENT_KINDS), NUMBERS, NUMBERS, WORDS), max_size=3))
    role = draw(st.sampled_from(ROLES))
    return Trace(draw(WORDS), role, travel, pull, release, tuple(marks), draw(NUMBERS))


@settings(max_examples=60)
@given(st.lists(traces(), min_size=1, max_size=3), st.none() | NUMBERS, WORDS, st.booleans(), st.data())
def test_anything_makes_a_well_formed_figure(
    known: list[Trace], limit: float | None, words: str, with_second: bool, data: st.DataObject
) -> None:
    arrays = tuple(trace.pull_newton[::-1].copy() for trace in known)
    second = (words, words, arrays) if with_second else None
    panel = Panel(words, tuple(known), limit, second)
    width = data.draw(st.sampled_from([320.0, 450.0, 900.0]))
    svg = pull_figure(
        (panel,), title=words, subtitle=words, notes=words, block=TitleBlock(job=words), width=width
    )
    parse(svg)
    parse(small_pull(panel))
    drawn = "".join(node.get("d", "") for node in parse(svg).iter(f"{SPACE}path"))
    assert "nan" not in drawn
    assert "inf" not in drawn
    labels = [word for word in texts(svg) if word.kind == "label"]
    assert not any(
        a.meets(b)
        for a, b in itertools.combinations(labels, 2)
        if a.content.isascii() and b.content.isascii()
    )


# Thumbnail and cloud ----------------------------------------------------------------------------------------


def test_thumbnail_is_small_and_says_two_numbers() -> None:
    svg = small_pull(samples.TWO[0])
    # by hand: 6 + 0.25 * 31.2 + 0.14 * 19.2**2 = 65.4; 0.85 * (6 + 0.25 * 29.4 + 0.14 * 19.6**2) = 57.1
    assert [known.content for known in texts(svg)] == ["65 → 57 N", "31.2 → 29.4 mm"]
    assert parse(svg).attrib["aria-label"] == "brake lever: 65 → 57 N, 31.2 → 29.4 mm"
    assert len(svg) < 12_000
    assert [known.content for known in texts(small_pull(samples.ONE[1]))] == ["56 N", "32.5 mm"]
    nothing = Trace("fitted", "fitted", np.zeros(2), np.full(2, NAN), np.full(2, NAN), (), NAN)
    assert texts(small_pull(Panel("lever", (nothing,))))[0].content == "no pull to show"


def cloud(count: int = 400) -> Cloud:
    """A cloud with a front, seeded."""
    random = np.random.default_rng(7)
    force = random.normal(55.0, 9.0, count)
    zone = 1000.0 / force + random.gamma(2.0, 1.5, count)
    order = np.argsort(force)
    best = np.zeros(count, dtype=bool)
    best[order] = zone[order] <= np.minimum.accumulate(zone[order])
    return Cloud(
        Quantity("peak force", "N", force, 0, "less"),
        Quantity("friction zone", "mm", zone, 1, "more"),
        best,
        int(order[300]),
        int(order[10]),
    )


@pytest.mark.parametrize("width", [900.0, 450.0])
def test_cloud_shows_all_sets_and_names_the_two(width: float) -> None:
    known = cloud()
    svg = scatter_figure(known, title="all sets", subtitle="clutch lever", block=samples.BLOCK, width=width)
    assert words_that_meet(svg) == []
    assert paths(svg, "cloud")[0].count("M") > 350  # a few fall on the same px
    best = int(np.count_nonzero(known.undominated))
    assert len(paths(svg, "undominated")) == best + 1  # one more in the key
    content = [word.content.replace("\u00a0", " ") for word in texts(svg)]
    assert "400 sets" in content
    assert f"undominated: {best}" in content
    assert "peak force (N) ← less is better" in content
    assert "friction zone (mm) ↑ more is better" in content
    for role, index in (("fitted", known.fitted), ("proposed", known.proposed)):
        assert index is not None
        reading = f"{known.across.values[index]:.0f} N, {known.up.values[index]:.1f} mm"
        assert f"{role}: {reading}" in content


def test_set_without_a_readout_is_not_drawn() -> None:
    values = np.array([1.0, NAN, 3.0])
    flags = np.array([True, True, False])
    svg = scatter_figure(
        Cloud(Quantity("a", "N", values), Quantity("b", "mm", values), flags, 1, 2), title="gaps"
    )
    content = [word.content for word in texts(svg)]
    assert "2 sets" in content
    assert "undominated: 1" in content
    assert not any(word.startswith("fitted") for word in content)
    assert "proposed: 3.0 N, 3.0 mm" in content


@given(st.lists(st.tuples(NUMBERS, NUMBERS, st.booleans()), max_size=8))
def test_any_cloud_is_well_formed(sets: list[tuple[float, float, bool]]) -> None:
    across, up = (np.array([known[part] for known in sets], dtype=np.float64) for part in (0, 1))
    flags = np.array([known[2] for known in sets], dtype=bool)
    chosen = 0 if sets else None
    parse(
        scatter_figure(
            Cloud(Quantity("a", "N", across), Quantity("b", "", up), flags, chosen, chosen), title="any"
        )
    )


def test_cloud_of_unlike_arrays_is_refused() -> None:
    three, flags = np.zeros(3), np.zeros(3, dtype=bool)
    with pytest.raises(ValueError, match=r"a and b must be \(N,\)"):
        scatter_figure(
            Cloud(Quantity("a", "N", three), Quantity("b", "N", np.zeros(2)), flags), title="unlike"
        )
    with pytest.raises(ValueError, match="proposed: set 3 is not among the 3 sets"):
        scatter_figure(Cloud(Quantity("a", "N", three), Quantity("b", "N", three), flags, 0, 3), title="none")
