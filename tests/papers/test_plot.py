"""The plot writer: coordinates, scales, ticks, curves with gaps, shapes, hatching."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, hausdorff_distance

from pullcurve.papers.plot import (
    STRAIGHT,
    Box,
    Scale,
    at,
    bends,
    between,
    dots,
    element,
    hatch,
    number,
    outline,
    polyline,
    runs,
    span,
    text,
    tick_words,
    ticks,
)
from pullcurve.papers.style import EVENT_KINDS
from pullcurve.papers.traces import defined
from tests.papers.drawing import parse

VALUES = st.floats(-1e13, 1e13) | st.just(math.nan) | st.just(math.inf)


def numbers(data: str) -> list[float]:
    """All numbers of a path."""
    return [float(known) for known in re.findall(r"-?[\d.]+", data)]


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.0, "0"), (-0.0, "0"), (-0.001, "0"), (1.0, "1"), (2.50, "2.5"), (3.14159, "3.14"), (100.0, "100")],
)
def test_coordinates_are_short(value: float, expected: str) -> None:
    assert number(value) == expected


def test_attributes_and_text_are_escaped() -> None:
    svg = element("g", text(1.0, 2.0, 'a < b & "c"\x00', "#000"), data_label='5" & <x>\x07')
    node = parse(svg)
    assert node.attrib["data-label"] == '5" & <x>'
    assert "".join(node.itertext()) == 'a < b & "c"'


# Scales -----------------------------------------------------------------------------------------------------


def test_scale_by_hand() -> None:
    scale = Scale(0.0, 40.0, 100.0, 300.0)
    assert [at(scale, value) for value in (0.0, 10.0, 40.0)] == [100.0, 150.0, 300.0]


def test_ticks_by_hand() -> None:
    assert ticks(Scale(0.0, 80.0, 320.0, 0.0), 40.0) == (0, 10, 20, 30, 40, 50, 60, 70, 80)
    assert ticks(Scale(0.0, 34.0, 0.0, 300.0), 60.0) == (0, 10, 20, 30)
    assert tick_words((-0.5, 0.0, 0.5)) == ("−0.5", "0.0", "0.5")
    assert tick_words((0.0, 2e6)) == ("0", "2e+06")


@given(st.floats(-1e9, 1e9), st.floats(1e-6, 1e9), st.floats(20.0, 2000.0))
def test_ticks_are_round_and_inside(low: float, extent: float, px: float) -> None:
    high = low + extent
    if high - low < 1e-7 * max(abs(low), abs(high)):
        return
    scale = Scale(low, high, 0.0, px)
    values = ticks(scale, 40.0)
    assert len(values) <= max(2.0, px / 40.0) * (1.0 + 1e-6) + 1
    slack = 1e-6 * (high - low)
    assert all(low - slack <= value <= high + slack for value in values)
    if len(values) > 1:
        lead = (values[1] - values[0]) / 10.0 ** math.floor(math.log10((values[1] - values[0]) * 1.0001))
        assert min(abs(lead - known) for known in (1.0, 2.0, 5.0, 10.0)) < 1e-3
    assert len(tick_words(values)) == len(values)


@given(st.lists(VALUES, max_size=6))
def test_span_holds_all_that_can_be_drawn(values: list[float]) -> None:
    low, high = span([np.array(values)])
    assert low < high
    assert low <= 0.0 <= high
    known = defined(np.array(values))
    assert not np.any((known < low) | (known > high))


def test_span_of_nothing_and_of_one_value() -> None:
    assert span([np.array([np.nan, np.inf])]) == (0.0, 1.0)
    assert span([np.zeros(5)]) == (0.0, 1.0)
    low, high = span([np.full(3, 50.0)], with_zero=False)
    assert low < 50.0 < high


# Curves -----------------------------------------------------------------------------------------------------


def test_gap_breaks_the_line_and_a_lone_point_stays() -> None:
    x, y = np.arange(6.0), np.array([1.0, 2.0, np.nan, 4.0, np.nan, 6.0])
    assert polyline(x, y) == "M0 1L1 2M3 4h.01M5 6h.01"
    assert [(run.start, run.stop) for run in runs(x, y)] == [(0, 2), (3, 4), (5, 6)]
    assert polyline(x, np.full(6, np.nan)) == ""


def test_straight_line_needs_its_ends_only() -> None:
    x = np.linspace(0.0, 300.0, 128)
    assert bends(x, 0.5 * x) == [0, 127]
    assert bends(x, np.abs(x - x[40])) == [0, 40, 127]
    assert bends(np.array([5.0]), np.array([5.0])) == [0]
    assert bends(np.full(4, 5.0), np.array([0.0, 9.0, 1.0, 0.0])) == [0, 1, 3]  # there and back


PX = st.integers(0, 9000).map(lambda tenths: tenths / 10.0)


@given(st.lists(st.tuples(PX, PX), min_size=2, max_size=40))
def test_thinned_curve_covers_the_whole_one(points: list[tuple[float, float]]) -> None:
    x, y = np.array(points).T
    kept = bends(x, y)
    assert (kept[0], kept[-1]) == (0, len(x) - 1)
    away = hausdorff_distance(LineString(points), LineString([points[index] for index in kept]))
    assert away <= STRAIGHT + 1e-9  # second library: GEOS


def test_wash_is_closed_and_goes_there_and_back() -> None:
    node = parse(between(np.array([0.0, 1.0]), np.array([5.0, 6.0]), np.array([8.0, 9.0]), "#123456"))
    assert node.attrib["d"] == "M0 5L1 6L1 9L0 8Z"


def test_cloud_draws_a_place_once() -> None:
    x, y = np.array([1.1, 0.9, 4.0, np.nan]), np.array([2.0, 2.2, 4.0, 1.0])
    assert parse(dots(x, y, "#123456", 3.0)).attrib["d"] == "M1 2h.01M4 4h.01"


# Shapes -----------------------------------------------------------------------------------------------------


def test_shapes_by_their_corners() -> None:
    corners = {kind: len(re.findall(r"[ML]", outline(kind, 50.0, 50.0, 6.0))) for kind in EVENT_KINDS}
    assert corners == {"bite": 4, "lock-up": 4, "first slip": 3, "free": 1, "clean": 1}
    assert numbers(outline("bite", 50.0, 50.0, 6.0)) == [50, 44, 56, 50, 50, 56, 44, 50]  # on its point
    square = numbers(outline("lock-up", 50.0, 50.0, 5.0))
    assert (set(square[::2]), set(square[1::2])) == ({46.0, 54.0}, {46.0, 54.0})  # on its side
    assert outline("free", 1.0, 2.0, 6.0) == outline("clean", 1.0, 2.0, 6.0)  # told apart by filling


@given(
    st.floats(0.0, 500.0),
    st.floats(0.0, 500.0),
    st.floats(0.5, 300.0),
    st.floats(0.5, 300.0),
    st.floats(3.0, 12.0),
)
def test_hatching_is_at_45_degrees_and_inside(
    left: float, top: float, width: float, height: float, spacing: float
) -> None:
    svg = hatch(Box(left, top, left + width, top + height), "#123456", spacing)
    known = numbers(parse(svg).attrib.get("d", ""))
    for x1, y1, x2, y2 in zip(*(known[part::4] for part in range(4)), strict=True):
        assert left - 0.01 <= min(x1, x2) <= max(x1, x2) <= left + width + 0.01
        assert top - 0.01 <= min(y1, y2) <= max(y1, y2) <= top + height + 0.01
        assert x2 - x1 == pytest.approx(y1 - y2, abs=0.03)


def test_no_box_no_hatching() -> None:
    assert hatch(Box(10.0, 10.0, 10.0, 50.0), "#123456") == ""
