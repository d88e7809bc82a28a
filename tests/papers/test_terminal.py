"""The pull in plain characters."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.papers.figures import Panel, Trace, text_plot
from tests.papers import samples

BRAILLE = range(0x2800, 0x2900)


@pytest.mark.parametrize("width", [40, 60, 78, 109, 110, 160])
def test_no_line_is_longer_than_the_width(width: int) -> None:
    for panels in (samples.ONE, samples.TWO, samples.SECOND, samples.THREE, samples.BROKEN):
        assert max(map(len, text_plot(panels, width).splitlines())) <= width


def test_plot_says_everything_in_words_and_signs() -> None:
    plot = text_plot(samples.TWO[:1], 100)
    for words in (
        "brake lever",
        "force at the finger (N)",
        "travel at the finger from rest (mm)",
        "▷ fitted: ◇ bite 12.0 mm, 9 N · ■ lock-up 27.0 mm, 44 N · ╱ travel ends 31.2 mm",
        "▶ proposed: ◇ bite 9.8 mm",
        "┄ force limit 75 N",
    ):
        assert words in plot
    rows = plot.splitlines()[2:18]
    assert sum(row.count("◇") for row in rows) == 2
    assert any(ord(letter) in BRAILLE for row in rows for letter in row)


def test_no_line_of_the_legend_begins_with_a_dot() -> None:
    for width in range(40, 120, 3):
        assert not any(line.strip().startswith("·") for line in text_plot(samples.THREE, width).splitlines())


def test_further_trace_of_a_role_has_one_more_sign() -> None:
    assert "▶▶ proposed" in text_plot(samples.THREE[1:])
    assert "┄ force limit 40 N, exceeded" in text_plot(samples.THREE[1:])


def test_straight_line_by_hand() -> None:
    travel = np.array([0.0, 10.0])
    line = Trace("fitted", "fitted", travel, travel, np.full(2, math.nan), (), math.nan)
    rows = text_plot((Panel("lever", (line,)),), 60, 8).splitlines()[2:10]
    columns = [min(i for i, letter in enumerate(row) if ord(letter) in BRAILLE) for row in rows]
    assert columns == sorted(columns, reverse=True)  # it rises to the right
    steps = -np.diff(columns)
    assert steps.max() - steps.min() <= 2  # and evenly


def test_two_levers_side_by_side_where_there_is_room() -> None:
    assert "clutch lever" in text_plot(samples.TWO, 120).splitlines()[0]
    assert "clutch lever" not in text_plot(samples.TWO, 78).splitlines()[0]


def test_nothing_that_a_terminal_would_obey() -> None:
    travel = np.linspace(0.0, 30.0, 10)
    nasty = samples.trace(travel, travel, {"bite": 10.0}, label="a\x1b[31m\x07b")
    plot = text_plot((Panel("c\x1b]0;d\x07", (nasty,)),))
    assert all(letter.isprintable() for line in plot.splitlines() for letter in line)


NUMBERS = st.floats(-1e300, 1e300) | st.sampled_from([0.0, math.nan, math.inf, 34.0])


@given(
    st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS), max_size=6),
    NUMBERS,
    st.integers(1, 160),
    st.integers(1, 30),
)
def test_anything_can_be_plotted(
    stations: list[tuple[float, float, float]], end: float, width: int, height: int
) -> None:
    travel, pull, release = (
        np.array([known[part] for known in stations], dtype=np.float64) for part in range(3)
    )
    plot = text_plot(
        (Panel("lever", (Trace("x", "fitted", travel, pull, release, (), end),), end),), width, height
    )
    assert max(map(len, plot.splitlines())) <= max(40, width)
