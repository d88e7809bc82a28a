"""Widths against the font files themselves; breaking and cutting against their promises."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.papers.letters import shorten, text_width, widths, wrap
from tests.papers.drawing import glyph_widths

SENTENCES = st.text(st.characters(categories=["L", "N", "P", "Zs"]), max_size=120)


@pytest.mark.parametrize("weight", [400, 600])
def test_widths_are_those_of_the_font_files(weight: int) -> None:
    font = glyph_widths(str(weight))
    assert {letter: width for letter, width in widths(weight).items() if font[letter] * 1000 != width} == {}


def test_digits_are_equally_wide() -> None:
    for weight in (400, 600):
        assert len({widths(weight)[digit] for digit in "0123456789"}) == 1


def test_width_adds_up() -> None:
    assert text_width(
        "27.0 mm", 10.0
    ) == pytest.approx(  # by hand, from the advance widths of the regular face
        10.0 * (0.497 + 0.497 + 0.249 + 0.497 + 0.200 + 0.829 + 0.829)
    )
    assert text_width("", 14.0) == 0.0
    assert text_width("一", 14.0) == 14.0  # a full square
    assert text_width("e\u0301", 14.0) == text_width("e", 14.0)  # an accent that adds nothing


@given(SENTENCES, st.floats(40.0, 400.0), st.integers(1, 4))
def test_no_line_is_wider_than_its_room(text: str, room: float, lines: int) -> None:
    broken = wrap(text, room, 14.0, lines=lines)
    assert len(broken) <= lines
    assert all(text_width(line, 14.0) <= room for line in broken)


@given(SENTENCES)
def test_nothing_is_lost_where_there_is_room(text: str) -> None:
    assert " ".join(wrap(text, 1e6, 14.0)) == " ".join(text.split())


def test_number_stays_with_its_unit() -> None:
    assert wrap("lock-up 27.0 mm, 47 N", text_width("lock-up 27.0 mm, 47", 14.0) + 0.1, 14.0) == (
        "lock-up 27.0 mm,",
        "47 N",
    )


def test_cut_text_says_so() -> None:
    cut = shorten("brake lever of the rear wheel", 60.0, 14.0)
    assert cut.endswith("…")
    assert "brake lever of the rear wheel".startswith(cut[:-1])
    assert shorten("bite", 60.0, 14.0) == "bite"
