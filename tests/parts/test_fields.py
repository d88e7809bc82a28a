"""Kinds of field: what each takes, what it refuses, and in which words."""

from collections.abc import Callable
from datetime import date, datetime, time
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from pullcurve.parts.fields import Day, Kind, Place, Several, Span, Text, Whole, shown


def refusal(check: Callable[[object], object], value: object) -> list[tuple[Place, str]]:
    """What a kind of field says about a value that it refuses."""
    with pytest.raises(PydanticCustomError) as refused:
        check(value)
    return list((refused.value.context or {})["faults"])


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (True, "true"),
        (False, "false"),
        ("short", '"short"'),
        ("x" * 40, f'"{"x" * 40}"'),
        ("x" * 41, "a text"),
        (10**19, "1" + "0" * 19),
        (10**21, "a number of some 21 digits"),
        (-(10**30), "a number of some 30 digits"),
        (2, "2"),
        (2.0, "2.0"),
        (0.1 + 0.2, "0.30000000000000004"),
        (nan, "nan"),
        ([], "a list"),
        ((), "a list"),
        ({}, "a table"),
        (date(2026, 5, 14), "a date"),
        (datetime(2026, 5, 14, 10), "a date with a time"),
        (time(10), "a time of day"),
        (None, "of another kind"),
    ],
)
def test_value_as_an_error_names_it(value: object, name: str) -> None:
    assert shown(value) == name


@given(st.floats(-5, 5))
def test_span_takes_what_lies_in_it(value: float) -> None:
    assert Span(-5, 5).check(value) == value


@given(st.floats(5, exclude_min=True) | st.floats(max_value=-5, exclude_max=True))
def test_span_refuses_what_lies_outside(value: float) -> None:
    assert refusal(Span(-5, 5).check, value) == [((), f"is {value!r}; allowed is -5 to 5")]


def test_span_keeps_a_whole_number_as_a_float() -> None:
    kept = Span(0, 5).check(3)
    assert kept == 3
    assert type(kept) is float


def test_span_keeps_zero_without_a_sign() -> None:
    assert str(Span(-1, 1).check(-0.0)) == "0.0"


@pytest.mark.parametrize("value", [True, "3", None, [3], 3j])
def test_span_refuses_what_is_no_number(value: object) -> None:
    assert refusal(Span(0, 5).check, value) == [((), f"is {shown(value)}; allowed is a number, 0 to 5")]


@pytest.mark.parametrize("value", [nan, inf, -inf, 10**400, -(10**400)])
def test_span_refuses_what_no_number_may_be(value: float) -> None:
    assert refusal(Span(0, 5).check, value) == [((), f"is {shown(value)}; allowed is 0 to 5")]


def test_span_says_its_limits_in_full() -> None:
    assert Span(-1e9, 3e-3).allowed == "-1000000000 to 0.003"


def test_several_takes_one_or_a_list() -> None:
    kind = Several(Span(0, 5))
    assert kind.check(3) == 3
    assert kind.check([1, 2.5]) == (1, 2.5)
    assert kind.check((1,)) == (1,)


@pytest.mark.parametrize(
    ("value", "faults"),
    [
        (7, [((), "is 7; allowed is 0 to 5")]),
        (True, [((), "is true; allowed is a number or a list of numbers, 0 to 5")]),
        ([], [((), "has no entries; allowed is a number or a list of numbers, 0 to 5")]),
        (
            [7, 1, "x"],
            [((0,), "is 7; allowed is 0 to 5"), ((2,), 'is "x"; allowed is a number, 0 to 5')],
        ),
    ],
)
def test_several_names_each_that_it_refuses(value: object, faults: list[tuple[Place, str]]) -> None:
    assert refusal(Several(Span(0, 5)).check, value) == faults


@pytest.mark.parametrize("value", [0, 9, 2.0, True, "2", None])
def test_whole_takes_whole_numbers_in_its_range_only(value: object) -> None:
    assert Whole(1, 8).check(3) == 3
    assert refusal(Whole(1, 8).check, value) == [
        ((), f"is {shown(value)}; allowed is a whole number, 1 to 8")
    ]


@pytest.mark.parametrize("value", ["", " ", "a\nb", "a\tb", "\x1b[1m", "a\u2028b", "\ud800", "\x85", 3, None])
def test_text_stands_on_one_line(value: object) -> None:
    said = f"is {shown(value)}; allowed is a text of 1 to 5 characters on one line"
    assert refusal(Text(5).check, value) == [((), said)]


@pytest.mark.parametrize("value", ["abcde", "30 \u00b0", "\u00a0x", "\U0001f3cd"])
def test_text_takes_every_letter(value: str) -> None:
    assert Text(5).check(value) == value


def test_text_may_be_long_empty_and_of_several_lines_where_that_is_meant() -> None:
    notes = Text(10, lines=True, empty=True)
    assert notes.check("") == ""
    assert notes.check("a\n\tb\n") == "a\n\tb\n"
    assert refusal(notes.check, "a\x00") == [((), 'is "a\x00"; allowed is a text of 0 to 10 characters')]
    said = "has 11 characters; allowed is a text of 0 to 10 characters"
    assert refusal(notes.check, "x" * 11) == [((), said)]


@pytest.mark.parametrize("value", ["2026-05-14", 20260514, datetime(2026, 5, 14), time(10), None])
def test_day_is_a_date_and_nothing_else(value: object) -> None:
    assert Day().check(date(2026, 5, 14)) == date(2026, 5, 14)
    assert refusal(Day().check, value) == [((), f"is {shown(value)}; allowed is a date such as 2026-05-14")]


def test_a_kind_has_to_say_how_it_checks() -> None:
    with pytest.raises(NotImplementedError):
        Kind().check(1)
