"""Primitives: every dimension measures what it says, hatching covers what is metal, SVG keeps full size."""

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

from pullcurve.papers import drawing
from pullcurve.papers.drawing import (
    Arc,
    Arrow,
    Circle,
    Line,
    Pen,
    Polyline,
    Shape,
    Sheet,
    Text,
    angular,
    hatching,
    leader,
    linear,
    moved,
    polar,
    radius_mark,
    readable,
    ring_of,
    svg,
)
from pullcurve.papers.style import LIGHT

SHEET = Sheet(-10.0, -20.0, 60.0, 40.0)
NUMBER = r"-?\d+(?:\.\d+)?"


def drawn(*shapes: Shape) -> ElementTree.Element:
    """The elements of one group."""
    root = ElementTree.fromstring(svg({"all": shapes}, SHEET, "test"))
    return root[1]


def numbers(text: str) -> list[float]:
    """The numbers of an attribute."""
    return [float(one) for one in re.findall(NUMBER, text)]


# SVG --------------------------------------------------------------------------------------------------------


def test_drawing_is_full_size() -> None:
    root = ElementTree.fromstring(svg({"a": ()}, SHEET, "cam <1> & co"))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("60mm", "40mm", "0 0 60 40")
    assert root.get("aria-label") == "cam <1> & co" == root[0].text


def test_y_points_upward() -> None:
    circle, path = drawn(Circle((0.0, 0.0), 2.5), Line((-10.0, -20.0), (50.0, 20.0)))
    assert [float(circle.get(key, "")) for key in ("cx", "cy", "r")] == [10.0, 20.0, 2.5]
    assert numbers(path.get("d", "")) == [0.0, 40.0, 60.0, 0.0]


@pytest.mark.parametrize(("start", "end"), [(0.3, 1.2), (-0.4, 0.4), (1.0, 5.0), (5.0, 7.0)])
def test_arc_runs_counter_clockwise(start: float, end: float) -> None:
    path = drawn(Arc((3.0, 1.0), 4.0, start, end))[0]
    x1, y1, r, _, _, large, sweep, x2, y2 = numbers(path.get("d", ""))
    first, last = (np.array([x + SHEET.left, SHEET.low + SHEET.height - y]) for x, y in ((x1, y1), (x2, y2)))
    assert first == pytest.approx([3.0 + 4.0 * math.cos(start), 1.0 + 4.0 * math.sin(start)], abs=1e-4)
    assert last == pytest.approx([3.0 + 4.0 * math.cos(end), 1.0 + 4.0 * math.sin(end)], abs=1e-4)
    # With y upward a counter-clockwise arc turns against the sense that SVG calls positive.
    assert (r, large, sweep) == (4.0, float(end - start > math.pi), 0.0)


def test_polyline_keeps_a_tenth_of_a_micrometre() -> None:
    points = np.array([[0.12345, 0.0], [1.00004, 2.0], [3.0, -4.99995]])
    path = drawn(Polyline(points, closed=True, pen="cut"))[0]
    data = path.get("d", "")
    assert data.endswith("Z")
    found = np.array(numbers(data)).reshape(-1, 2)
    assert found[:, 0] + SHEET.left == pytest.approx(points[:, 0], abs=1e-5)
    assert SHEET.low + SHEET.height - found[:, 1] == pytest.approx(points[:, 1], abs=1e-5)


def test_text_is_data_and_turns_counter_clockwise() -> None:
    element = drawn(Text((1.0, 2.0), "<b>&\x00", 3.0, "end", math.pi / 6, 600))[0]
    assert element.text == "<b>&"
    assert element.get("text-anchor") == "end" and element.get("font-weight") == "600"
    assert numbers(element.get("transform", "")) == [-30.0, 11.0, 18.0]


def test_arrow_has_its_tip_where_it_points() -> None:
    path = drawn(Arrow((0.0, 0.0), math.pi / 2))[0]
    corners = np.array(numbers(path.get("d", ""))).reshape(-1, 2)
    assert corners[0] == pytest.approx([10.0, 20.0])
    assert corners[1:, 1] == pytest.approx([20.0 + drawing.ARROW_LENGTH] * 2)  # behind the tip, further down
    assert path.get("fill") == LIGHT.ink


@pytest.mark.parametrize("pen", ["edge", "hidden", "centre", "phantom", "thin", "hatching", "cut"])
def test_pens_differ_by_weight_and_dashes(pen: Pen) -> None:
    path = drawn(Line((0.0, 0.0), (1.0, 0.0), pen))[0]
    dashed = pen in ("hidden", "centre", "phantom")
    assert (path.get("stroke-dasharray") is not None) == dashed
    assert float(path.get("stroke-width", "")) <= drawing.PENS["edge"][0] + 1e-3


def test_moved_shapes_are_the_same_elsewhere() -> None:
    shapes: tuple[Shape, ...] = (
        Line((0.0, 0.0), (1.0, 1.0)),
        Circle((1.0, 0.0), 2.0),
        Arc((0.0, 1.0), 2.0, 0.1, 1.0),
        Polyline(np.array([[0.0, 0.0], [1.0, 2.0]])),
        Text((2.0, 2.0), "a", turn=0.5),
        Arrow((3.0, 1.0), 0.2),
    )
    by = (4.0, -3.0)
    here = svg({"a": moved(shapes, by)}, Sheet(-10.0 + 4.0, -20.0 - 3.0, 60.0, 40.0), "t")
    assert here == svg({"a": shapes}, SHEET, "t")


# Dimensions -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", [(40.0, 0.0), (0.0, 40.0), (-30.0, 20.0), (3.0, 0.0), (0.0, -2.0)])
@pytest.mark.parametrize("away", [6.0, -6.0])
def test_linear_dimension_measures_the_distance(end: tuple[float, float], away: float) -> None:
    shapes = linear((0.0, 0.0), end, away, "40", ("+0.018", "0"))
    first, last = (arrow for arrow in shapes if isinstance(arrow, Arrow))
    length = math.hypot(*end)
    assert math.dist(first.tip, last.tip) == pytest.approx(length)
    # The side is left of the way for a positive offset: the cross product says so.
    left = (end[0] * first.tip[1] - end[1] * first.tip[0]) / length
    assert left == pytest.approx(away)
    inward = math.cos(first.turn - math.atan2(end[1], end[0]))
    assert inward == pytest.approx(
        -1.0 if length > 10.0 else 1.0
    )  # arrows come from outside where it is short
    assert [text.content for text in shapes if isinstance(text, Text)] == ["40", "+0.018", "0"]


def test_extension_lines_leave_the_edge_free() -> None:
    lines = [line for line in linear((0.0, 0.0), (40.0, 0.0), 8.0, "40") if isinstance(line, Line)]
    assert [line.start for line in lines[:2]] == [pytest.approx((0.0, 0.8)), pytest.approx((40.0, 0.8))]
    assert [line.end[1] for line in lines[:2]] == pytest.approx([9.6, 9.6])


@pytest.mark.parametrize("turn", np.linspace(-7.0, 7.0, 29).tolist())
def test_text_is_read_from_the_foot_or_from_the_right(turn: float) -> None:
    found = readable(turn)
    assert -math.pi / 2 < found <= math.pi / 2 + 1e-9
    assert abs(math.sin(found - turn)) < 1e-9  # along the same line


@pytest.mark.parametrize(("start", "end"), [(0.0, 0.6), (-0.02, 0.0), (0.2, 1.9), (2.0, 3.0)])
def test_angle_has_its_arrows_on_its_ends(start: float, end: float) -> None:
    shapes = angular((1.0, 2.0), 30.0, start, end, "angle")
    first, last = (arrow for arrow in shapes if isinstance(arrow, Arrow))
    assert first.tip == pytest.approx(polar((1.0, 2.0), 30.0, start))
    assert last.tip == pytest.approx(polar((1.0, 2.0), 30.0, end))
    arc = next(shape for shape in shapes if isinstance(shape, Arc))
    assert arc.start <= start and arc.end >= end
    tangent = np.array([-math.sin(end), math.cos(end)])
    heading = np.array([math.cos(last.turn), math.sin(last.turn)])
    assert abs(tangent @ heading) > 0.99
    assert (tangent @ heading > 0) == ((end - start) * 30.0 > 6.0)


def test_leader_and_radius_point_at_the_edge() -> None:
    shapes = leader((5.0, 5.0), (12.0, 9.0), ("two", "lines"))
    arrow = next(shape for shape in shapes if isinstance(shape, Arrow))
    assert arrow.tip == (5.0, 5.0)
    assert math.tan(arrow.turn) == pytest.approx(4.0 / 7.0) and math.cos(arrow.turn) < 0
    assert [text.content for text in shapes if isinstance(text, Text)] == ["two", "lines"]
    radius = radius_mark((0.0, 0.0), 10.0, math.pi / 4, 5.0, "R10")
    arrow = next(shape for shape in radius if isinstance(shape, Arrow))
    assert math.hypot(*arrow.tip) == pytest.approx(10.0)
    assert arrow.turn == pytest.approx(math.pi / 4)  # from inside outward


# Hatching ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [math.pi / 4, 0.3, -1.0])
def test_hatching_covers_the_metal_and_nothing_else(turn: float) -> None:
    """Lines of one spacing cover the area that their lengths times the spacing say (Cavalieri)."""
    square = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], [0.0, 20.0]])
    hole = ring_of((12.0, 9.0), 5.0)
    metal = shapely.Polygon(square, [hole])
    lines = [line for line in hatching((square, hole), 0.5, turn) if isinstance(line, Line)]
    assert sum(math.dist(line.start, line.end) for line in lines) * 0.5 == pytest.approx(metal.area, rel=0.01)
    assert all(metal.buffer(1e-6).covers(shapely.LineString([line.start, line.end])) for line in lines)
    assert {line.pen for line in lines} == {"hatching"}
    levels = sorted(
        {round(-math.sin(turn) * x + math.cos(turn) * y, 6) for x, y in (line.start for line in lines)}
    )
    assert {round(b - a, 5) for a, b in pairwise(levels)} == {0.5}


def test_ring_is_a_circle() -> None:
    ring = ring_of((1.0, -2.0), 3.0, 720)
    assert np.hypot(ring[:, 0] - 1.0, ring[:, 1] + 2.0) == pytest.approx(np.full(720, 3.0))
    assert shapely.Polygon(ring).exterior.is_ccw
