"""Pulls and releases found in readings, against the plan by which the lever was moved."""

from dataclasses import dataclass

import numpy as np
import pytest

from pullcurve.intake.cycles import scatter, split
from pullcurve.studies.benchpull import PULL, RELEASE, STILL
from tests.intake.pulls import FAR, Floats, planned


@dataclass(frozen=True, slots=True)
class Case:
    """A way to move a lever and to read it."""

    name: str
    pulls: int = 4
    way_in: int = 100
    hold: int = 40
    rest: int = 60
    even: bool = False
    noise: float = 0.1
    digit: float = 0.0


CASES = [
    Case("like a hand"),
    Case("without scatter", noise=0.0),
    Case("coarse digits", digit=0.05),
    Case("very coarse digits", noise=0.0, digit=0.5),
    Case("at an even speed", even=True),
    Case("one pull", pulls=1),
    Case("thirty pulls", pulls=30),
    Case("not held", hold=0),
    Case("no rest", rest=0),
    Case("neither", hold=0, rest=0),
    Case("neither, even, clean", hold=0, rest=0, even=True, noise=0.0),
    Case("few readings", way_in=12, hold=4, rest=6, noise=0.02),
    Case("very few readings", way_in=5, hold=0, rest=1, even=True, noise=0.0),
    Case("many readings", way_in=4000, hold=1500, rest=2500),
    Case("a long rest", rest=3000),
    Case("held for long", hold=3000),
    Case("a poor gauge", noise=0.35),
]


def read(case: Case) -> tuple[Floats, np.ndarray, np.ndarray]:
    """Places as read, and what the plan says of them."""
    plan = planned(case.pulls, case.way_in, case.hold, case.rest, even=case.even)
    place = plan.travel + np.random.default_rng(11).normal(0.0, case.noise, plan.travel.size)
    return np.round(place / case.digit) * case.digit if case.digit else place, plan.way, plan.cycle


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_every_reading_on_its_way_is_found(case: Case) -> None:
    """Away from the ends, where a reading's way is hidden in the scatter, all is as planned."""
    place, way, cycle = read(case)
    found = split(place)
    assert found.pulls == case.pulls
    margin = max(0.08 * FAR, 5.0 * case.noise, 3.0 * case.digit)
    planned_place = planned(case.pulls, case.way_in, case.hold, case.rest, even=case.even).travel
    inner = (way != 0) & (planned_place > margin) & (planned_place < FAR - margin)
    np.testing.assert_array_equal(found.branch[inner], way[inner])
    np.testing.assert_array_equal(found.cycle[inner], cycle[inner])


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_nothing_is_on_the_other_way(case: Case) -> None:
    place, way, _ = read(case)
    wrong = (split(place).branch == -way) & (way != 0)
    # the reading at the turning point itself belongs to either
    assert np.count_nonzero(wrong) <= 2 * case.pulls


@pytest.mark.parametrize(
    "case", [case for case in CASES if case.hold >= 40 and case.rest >= 40], ids=lambda c: c.name
)
def test_what_stands_is_on_no_way(case: Case) -> None:
    place, way, _ = read(case)
    standing = split(place).branch[way == 0]
    assert np.mean(standing == STILL) > 0.9


def test_a_record_may_begin_and_end_anywhere() -> None:
    place, way, _ = read(Case("like a hand"))
    middle = np.flatnonzero((way == RELEASE) & (place < FAR / 2))[0]
    last = np.flatnonzero(way == PULL)[-1] - 45
    found = split(place[middle:last])
    inner = (way[middle:last] != 0) & (place[middle:last] > 2) & (place[middle:last] < FAR - 2)
    np.testing.assert_array_equal(found.branch[inner], way[middle:last][inner])


def test_a_pull_that_is_not_gone_through_is_no_pull() -> None:
    """Touching the lever, a quarter of its way at most, does not begin a pull."""
    plan = planned(pulls=2)
    touch = 0.2 * FAR * np.sin(np.linspace(0, np.pi, 50))
    at = int(np.flatnonzero(plan.cycle == 1)[0]) - 5
    place = np.concatenate([plan.travel[:at], touch, plan.travel[at:]])
    assert split(place).pulls == 2


def test_a_lever_held_half_way_is_still_there() -> None:
    plan = planned(pulls=3, even=True)
    half = int(np.flatnonzero((plan.cycle == 1) & (plan.way == PULL))[50])
    place = np.concatenate([plan.travel[:half], np.full(200, plan.travel[half]), plan.travel[half:]])
    found = split(place + np.random.default_rng(2).normal(0, 0.02, place.size))
    assert found.pulls == 3
    assert np.mean(found.branch[half + 15 : half + 185] == STILL) > 0.95


def test_a_lever_that_slips_back_on_its_way_is_not_on_it() -> None:
    plan = planned(pulls=1, hold=0, rest=10, even=True)
    at = int(np.flatnonzero(plan.way == PULL)[60])
    back = plan.travel[at] - np.concatenate([np.linspace(0, 4, 15), np.linspace(4, 0, 15)])
    place = np.concatenate([plan.travel[:at], back, plan.travel[at:]])
    branch = split(place).branch
    assert set(branch[at + 8 : at + 22].tolist()) == {STILL}
    assert np.all(branch[at - 20 : at - 1] == PULL) and np.all(branch[at + 32 : at + 50] == PULL)


def test_turning_points_stand_where_the_lever_turned() -> None:
    plan = planned(pulls=3)
    turns = split(plan.travel).turns
    assert [turn.inward for turn in turns] == [False, True, False, True, False, True, False]
    for turn in turns:
        ends = plan.travel[turn.first : turn.last + 1]
        np.testing.assert_allclose(ends, FAR if turn.inward else 0.0, atol=0.02 * FAR)


@pytest.mark.parametrize("sigma", [0.01, 0.1, 1.0])
def test_scatter_is_that_of_the_noise(sigma: float) -> None:
    """On 20,000 readings the median of second differences is known to about 1 %; a slow curve does not count."""
    at = np.linspace(0.0, 20.0, 20_000)
    noise = np.random.default_rng(4).normal(0.0, sigma, at.size)
    assert scatter(10.0 * np.sin(at) + noise) == pytest.approx(sigma, rel=0.03)
    assert scatter(np.arange(10.0)) == 0.0
    assert scatter(0.001 * np.arange(100.0)) == 0.0


def test_equal_steps_have_no_scatter_and_keep_their_turn() -> None:
    """Typed millimetres leave nothing but rounding when differenced: 31 readings in, 30 out."""
    way = 0.001 * np.array([*range(31), *range(29, -1, -1)], dtype=np.float64)
    found = split(way)
    assert found.noise == 0.0
    assert np.count_nonzero(found.branch == PULL) == 31
