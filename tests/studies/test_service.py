"""Reminders: limits of the law for fluid, hours and months by hand, and what cannot be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.errors import BadInput
from pullcurve.parts.facts import table
from pullcurve.parts.layout import features, hardware_of
from pullcurve.studies.service import (
    GROUNDS,
    Item,
    Ridden,
    boiling_point,
    fluid_reminder,
    items,
    remind,
    reminders,
    water_after,
)
from pullcurve.verbs.jobs import demo_job, demo_names

LIMITS = {  # 49 CFR 571.116, S5.1.1 and S5.1.2: least boiling points dry and wet [degrees Celsius]
    "DOT 3": (205, 140),
    "DOT 4": (230, 155),
    "DOT 5": (260, 180),
    "DOT 5.1": (260, 180),
}
WATER = 3.7  # S6.2, water in the wet test [percent]

CHAIN = Item("chain", "chain", 20.0, 6.0, 3.0, 2.0, "Oil it.", "invented for the test", "choice")


# Brake fluid ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", LIMITS)
def test_fluid_meets_the_two_points_of_the_law(kind: str) -> None:
    dry, wet = LIMITS[kind]
    assert boiling_point(kind, 0.0) == pytest.approx(dry)
    assert boiling_point(kind, WATER) == pytest.approx(wet)


def test_classes_are_those_of_the_law_and_no_others() -> None:
    assert set(table("service")["fluid"]) == set(LIMITS)


@given(st.sampled_from(sorted(LIMITS)), st.floats(0, 6), st.floats(0, 6))
def test_more_water_boils_sooner_and_the_first_water_costs_most(kind: str, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert boiling_point(kind, high) <= boiling_point(kind, low)
    assert (
        boiling_point(kind, (low + high) / 2)
        <= (boiling_point(kind, low) + boiling_point(kind, high)) / 2 + 1e-9
    )
    if low <= WATER:  # never more hopeful than a straight line between the points of the law
        dry, wet = LIMITS[kind]
        assert boiling_point(kind, low) <= dry - (dry - wet) * low / WATER + 1e-9


def test_half_of_the_fall_comes_with_the_first_percent() -> None:
    # from memory of curves of glycol fluid: near half of the fall to the wet point within the first percent of water
    dry, wet = LIMITS["DOT 4"]
    assert (dry - boiling_point("DOT 4", 1.0)) / (dry - wet) == pytest.approx(0.5, abs=0.05)


def test_water_comes_with_age_but_not_into_silicone() -> None:
    assert water_after("DOT 4", 1.5, "rubber") == pytest.approx(
        3.0
    )  # common figure: 3 % in a year and a half
    assert water_after("DOT 4", 1.5, "braided") < 3.0
    assert water_after("DOT 5", 10.0, "rubber") == 0.0


@pytest.mark.parametrize(
    ("years", "measured", "state"),
    [
        (0.0, None, "good"),
        (0.2, None, "good"),
        (1.0, 190.0, "good"),
        (1.0, 165.0, "soon"),  # within 15 degrees of the wet limit
        (1.0, 155.0, "due"),  # at it
        (1.0, 120.0, "due"),
        (1.7, 220.0, "soon"),  # more than 0.8 of two years
        (2.0, 220.0, "due"),  # two years, whatever it boils at
        (1.9, None, "due"),  # 3.8 % water behind rubber
    ],
)
def test_fluid_is_due_by_boiling_point_and_by_age(years: float, measured: float | None, state: str) -> None:
    found = fluid_reminder("DOT 4", years, "rubber", measured)
    assert found.state == state
    assert found.measured == (measured is not None)
    assert (found.water_percent is None) == found.measured
    assert "wet limit 155 °C" in found.words
    assert ("change it before the next ride" in found.words) == (state == "due")


def test_words_say_whether_a_boiling_point_was_measured() -> None:
    assert "boils at 190 °C (measured)" in fluid_reminder("DOT 4", 1.0, measured_celsius=190).words
    assert "(the least that DOT 4 may have with some 2.0 % water)" in fluid_reminder("DOT 4", 1.0).words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("DOT 6", 1.0), 'fluid: "DOT 6" is not known here; allowed is DOT 3, DOT 4, DOT 5, DOT 5.1'),
        (("DOT 4", -1.0), "fluid: years are -1; allowed is from 0 on"),
        (("DOT 4", math.nan), "fluid: years are nan; allowed is from 0 on"),
        (("DOT 4", 1.0, "rubber", 20.0), "fluid: measured boiling point is 20; allowed is 80 to 400 °C"),
    ],
)
def test_fluid_that_cannot_be_is_one_line(arguments: tuple[object, ...], said: str) -> None:
    with pytest.raises(BadInput) as refused:
        fluid_reminder(*arguments)  # type: ignore[arg-type]
    assert str(refused.value) == said


def test_water_below_nothing_is_one_line() -> None:
    with pytest.raises(BadInput, match=r"fluid: water is -1 %; allowed is from 0 on"):
        boiling_point("DOT 4", -1.0)


# Wear -------------------------------------------------------------------------------------------------------


def test_mud_and_sand_count_for_more() -> None:
    # 4 dry hours, 2 in mud at 3, 1 in sand at 2: 4 + 6 + 2 = 12 of 20; 8 left at 12/7 each: 4.67 h
    found = remind(CHAIN, Ridden({"dry": 4, "mud": 2, "sand": 1}, months=1))
    assert found.used == pytest.approx(0.6)
    assert found.hours_left == pytest.approx(8 / (12 / 7))
    assert found.months_left == pytest.approx(5)
    assert found.state == "good"
    assert found.words == "chain: good, 5 h on such ground or 5 months left."


@pytest.mark.parametrize(
    ("ridden", "state"),
    [
        (Ridden({"dry": 15.9}), "good"),
        (Ridden({"dry": 16.0}), "soon"),
        (Ridden({"dry": 20.0}), "due"),
        (Ridden({"mud": 7.0}), "due"),
        (Ridden({}, months=4.9), "soon"),
        (Ridden({}, months=6.0), "due"),
        (Ridden({}), "good"),
        (None, "due"),
    ],
)
def test_states_by_hours_and_months(ridden: Ridden | None, state: str) -> None:
    assert remind(CHAIN, ridden).state == state


def test_words_say_what_is_done_when_it_is_due() -> None:
    assert remind(CHAIN, Ridden({"dry": 30})).words == "chain: due. Oil it."
    assert remind(CHAIN, None).words == "chain: nothing is noted, so do it now. Oil it."
    assert remind(CHAIN, Ridden({"dry": 17})).words == "chain: soon due, 3 h on such ground or 6 months left."


def test_a_ride_of_what_is_left_makes_it_due() -> None:
    for ridden in (
        Ridden({"dry": 3, "mud": 1}),
        Ridden({"sand": 2}),
        Ridden({"dry": 1, "mud": 1, "sand": 1}),
    ):
        left, total = remind(CHAIN, ridden).hours_left, sum(ridden.hours.values())
        more = {ground: hours * (1 + left / total) for ground, hours in ridden.hours.items()}
        assert remind(CHAIN, Ridden(more)).used == pytest.approx(1.0)


def test_the_most_pressing_comes_first() -> None:
    has = features(demo_job("enduro-250.toml"))
    since = {item.id: Ridden({"dry": 12}, months=1) for item in items(has)}
    found = reminders(has, since)
    assert [one.used for one in found] == sorted((one.used for one in found), reverse=True)
    assert {one.item.id for one in found if one.state == "due"} == {"screws", "pads"}
    assert [one.used for one in reminders(has, {})] == [math.inf] * len(found)


@pytest.mark.parametrize(
    ("name", "there", "not_there"),
    [
        ("enduro-250.toml", {"cable", "needles", "assist-spring", "pads"}, {"plain-rollers"}),
        ("electric.toml", {"needles", "pads", "pin", "seals"}, {"cable", "assist-spring"}),
    ],
)
def test_items_are_those_that_the_unit_has(name: str, there: set[str], not_there: set[str]) -> None:
    found = {item.id for item in items(features(demo_job(name)))}
    assert there <= found and not not_there & found


def test_either_roller_on_a_plain_pin_is_reason_enough() -> None:
    assert "plain-rollers" in {item.id for item in items({"clutch", "clutch plain roller"})}


def test_every_item_has_a_source_and_a_task_that_exists() -> None:
    tasks = {task.id for name in demo_names() for task in hardware_of(demo_job(name)).tasks}
    for row in table("service")["items"]:
        item = Item(**{**row, "only": tuple(row.get("only", ()))})
        assert item.source and item.mark in ("read", "common practice", "from memory", "computed", "choice")
        assert item.task is None or item.task in tasks
        assert item.hours > 0 and item.months > 0 and item.mud >= 1 and item.sand >= 1
        assert item.dry_hours(Ridden({"dry": 2})) == 2


@pytest.mark.parametrize(
    ("since", "said"),
    [
        ({"wings": Ridden({})}, 'service: "wings" is not known here; allowed is screws, pads,'),
        ({"pin": Ridden({"snow": 1})}, 'service pin: "snow" is not known here; allowed is dry, mud, sand'),
        ({"pin": Ridden({"mud": -1})}, "service pin: hours on mud are -1; allowed is from 0 on"),
        ({"pin": Ridden({"mud": math.inf})}, "service pin: hours on mud are inf; allowed is from 0 on"),
        ({"pin": Ridden({}, months=math.nan)}, "service pin: months are nan; allowed is from 0 on"),
    ],
)
def test_what_cannot_be_is_one_line(since: dict[str, Ridden], said: str) -> None:
    with pytest.raises(BadInput) as refused:
        reminders({"brake"}, since)
    assert str(refused.value).startswith(said) and "\n" not in str(refused.value)


def test_grounds_are_dry_mud_and_sand() -> None:
    assert GROUNDS == ("dry", "mud", "sand")
