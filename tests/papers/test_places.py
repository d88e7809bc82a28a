"""Labels: apart from each other, off what is taken, near what they name."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.papers.labels import Placed, label, name_label, write
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import Box

AREA = Box(50.0, 40.0, 430.0, 330.0)
NOTHING = np.empty((0, 2))
POINTS = st.tuples(st.floats(50.0, 430.0), st.floats(40.0, 330.0))


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes cover each other."""
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )


def distance(known: Placed) -> float:
    """From the anchor to the box, px."""
    x, y = known.anchor
    dx = max(known.box.left - x, 0.0, x - known.box.right)
    dy = max(known.box.top - y, 0.0, y - known.box.bottom)
    return math.hypot(dx, dy)


@given(st.lists(POINTS, min_size=1, max_size=9), st.lists(POINTS, max_size=30))
def test_labels_never_overlap(anchors: list[tuple[float, float]], curve: list[tuple[float, float]]) -> None:
    labels = [
        label(f"first slip {x:.1f} mm, {y:.0f} N", "#123456", np.array([x, y]), 190.0) for x, y in anchors
    ]
    marks = [Box(x - 6.0, y - 6.0, x + 6.0, y + 6.0) for x, y in anchors]
    placed = place_labels(labels, AREA, marks, np.array(curve).reshape(-1, 2))
    boxes = [known.box for known in placed]
    assert not any(overlap(a, b) for i, a in enumerate(boxes) for b in boxes[:i])
    assert not any(overlap(box, mark) for box in boxes for mark in marks)
    for box in boxes:
        assert AREA.left <= box.left <= box.right <= AREA.right
        assert AREA.top <= box.top <= box.bottom <= AREA.bottom
    if len(anchors) <= 6:
        assert len(placed) == len(labels)


def test_lone_label_stays_close_and_needs_no_leader() -> None:
    (placed,) = place_labels([label("bite", "#123456", np.array([200.0, 200.0]), 190.0)], AREA, [], NOTHING)
    assert distance(placed) < 12.0
    assert not any("leader" in part for part in write([placed], "#FFFFFF", 9.0))


def test_label_goes_around_a_curve() -> None:
    x = np.arange(60.0, 420.0, 2.0)
    curve = np.stack([x, np.full_like(x, 200.0)], axis=-1)
    (placed,) = place_labels([label("bite", "#123456", np.array([200.0, 200.0]), 190.0)], AREA, [], curve)
    assert placed.box.bottom <= 200.0 or placed.box.top >= 200.0


def test_distant_label_gets_a_leader() -> None:
    wall = [Box(100.0, 60.0, 300.0, 320.0)]
    (placed,) = place_labels([label("bite", "#123456", np.array([200.0, 200.0]), 190.0)], AREA, wall, NOTHING)
    assert any("leader" in part for part in write([placed], "#FFFFFF", 9.0))


def test_label_without_room_is_left_out() -> None:
    small = Box(0.0, 0.0, 20.0, 10.0)
    assert (
        place_labels([label("first slip", "#123456", np.array([5.0, 5.0]), 190.0)], small, [], NOTHING) == ()
    )
    assert place_labels([], AREA, [], NOTHING) == ()


def test_name_may_slide_along_its_curve() -> None:
    anchors = np.stack([np.linspace(60.0, 400.0, 12), np.full(12, 200.0)], axis=-1)
    wall = [Box(50.0, 40.0, 330.0, 330.0)]
    (placed,) = place_labels(
        [name_label("new", "#123456", anchors, 190.0, "proposed", 1)], AREA, wall, NOTHING
    )
    assert distance(placed) < 12.0
    assert any("mark proposed" in part for part in write([placed], "#FFFFFF", 9.0))


def test_leaders_lie_behind_all_words() -> None:
    wall = [Box(100.0, 60.0, 300.0, 320.0)]
    labels = [
        label(words, "#123456", np.array([200.0, y]), 190.0) for words, y in (("a", 150.0), ("b", 250.0))
    ]
    parts = list(write(place_labels(labels, AREA, wall, NOTHING), "#FFFFFF", 9.0))
    assert ['class="leader"' in part for part in parts] == [True, True, False, False]
