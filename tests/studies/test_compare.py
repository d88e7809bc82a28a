"""Two pulls against each other, by hand calculation."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.pull.loop import pull as pull_of
from pullcurve.pull.mechanism import mechanism
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.compare import compare, predicted_branches, readings_of
from tests.studies.bikes import BRAKE, case

PLACE = np.linspace(0.0, 0.03, 31)


def straight(slope: float, share: float = 0.8, start: float = 0.0, deviation: float = 0.1) -> Branches:
    """A pull that rises in a line [N/m], with a release that is a share of it."""
    force = start + slope * PLACE
    doubt = np.full(PLACE.shape, deviation)
    return Branches(PLACE, False, force, share * force, doubt, doubt, None, None)


def test_a_tenth_more_force_is_felt_back_to_back() -> None:
    """ln 1.1 / ln 1.07 = 1.41 steps, wherever a finger pulls; below 5 N it only holds."""
    told = compare(straight(2000.0), straight(2200.0))
    assert told.pull_steps[10:] == pytest.approx(np.full(21, np.log(1.1) / np.log(1.07)))
    assert np.isnan(told.pull_steps[:3]).all()
    assert told.pull_change[-1] == pytest.approx(6.0)
    assert told.pull_deviation[5] == pytest.approx(0.1 * np.sqrt(2.0))
    assert told.sentence == (
        "A finger can tell them apart, back to back only: the pull is harder by up to 1.4 felt steps."
    )


def test_three_per_cent_are_not_felt() -> None:
    assert compare(straight(2000.0), straight(2060.0)).sentence.startswith("No finger can tell")


def test_change_that_is_not_sure_is_not_spoken_of() -> None:
    """A tenth more is 6 N at the end; 1.96 x 2.5 x root 2 is 6.9 N."""
    told = compare(straight(2000.0, deviation=2.5), straight(2200.0, deviation=2.5))
    assert told.pull_steps[-1] > 1.0
    assert told.sentence.startswith("No finger can tell")


def test_lighter_release_is_named() -> None:
    told = compare(straight(2000.0, 0.8), straight(2000.0, 0.5))
    assert "the release is lighter" in told.sentence
    assert "a day later too" in told.sentence


def test_two_silent_pulls_are_not_told_apart() -> None:
    told = compare(straight(50.0), straight(60.0))
    assert np.isnan(told.pull_steps).all()
    assert told.sentence.startswith("No finger can tell")


def test_only_common_travel_is_compared() -> None:
    short = straight(2000.0)
    short = replace(short, **{name: getattr(short, name)[:20] for name in NAMES})
    told = compare(straight(2000.0), short)
    assert told.place[-1] == PLACE[19]


NAMES = ("place", "pull", "release", "pull_deviation", "release_deviation")


def test_readings_of_a_straight_pull() -> None:
    """2 N/mm from 4 N: 10 N at 3 mm, 34 N at 15 mm, 64 N at the end, 1.02 J in, 80 % of it back."""
    by_label = {reading.label: reading for reading in readings_of(straight(2000.0, start=4.0))}
    assert by_label["travel"].value == pytest.approx(0.03)
    assert by_label["travel to 10 N"].value == pytest.approx(0.003)
    assert by_label["travel to 10 N"].deviation == pytest.approx(0.1 / 2000.0)
    assert by_label["pull force at half travel"].value == pytest.approx(34.0)
    assert by_label["release force at half travel"].value == pytest.approx(27.2)
    assert by_label["force at the end"].value == pytest.approx(64.0)
    assert by_label["least force on the way out"].value == pytest.approx(3.2)
    assert by_label["friction between pull and release"].value == pytest.approx(0.2)
    assert by_label["work put in"].value == pytest.approx(1.02)
    assert by_label["work given back"].value == pytest.approx(0.816)
    # Thirty readings of 0.1 N over 1 mm each, the two at the ends over half a spacing more or less.
    assert by_label["work put in"].deviation == pytest.approx(0.1 * 0.001 * np.sqrt(31.0), rel=0.02)


def test_changes_are_counted_by_what_a_finger_feels() -> None:
    told = {
        one.before.label: one
        for one in compare(straight(2000.0, start=4.0), straight(2000.0, start=8.0)).readings
    }
    assert told["pull force at half travel"].steps == pytest.approx(np.log(38 / 34) / np.log(1.07))
    assert told["travel to 10 N"].steps == pytest.approx(-0.002 / 0.0015)
    assert np.isnan(told["work put in"].steps)
    assert told["force at the end"].change == pytest.approx(4.0)
    assert told["force at the end"].sure
    assert not told["travel"].sure


def test_force_that_is_never_reached_is_unknown() -> None:
    by_label = {reading.label: reading for reading in readings_of(straight(100.0))}
    assert np.isnan(by_label["travel to 10 N"].value)


def test_holes_in_a_branch_stay_holes() -> None:
    holed = straight(2000.0)
    holed.pull[25:] = np.nan
    told = compare(straight(2000.0), holed)
    assert np.isnan(told.pull_change[25:]).all()
    assert told.pull_change[10] == pytest.approx(0.0)
    assert readings_of(holed)[0].value == pytest.approx(0.024)
    empty = replace(straight(2000.0), release_deviation=np.full(PLACE.shape, np.nan))
    assert np.isnan(compare(straight(2000.0), empty).release_deviation).all()


def test_travel_and_angles_do_not_mix() -> None:
    with pytest.raises(BadInput, match="travel on one side and angles on the other"):
        compare(straight(2000.0), replace(straight(2000.0), angular=True))


def test_angles_are_not_felt_as_travel() -> None:
    told = compare(*(replace(straight(2000.0), angular=True) for _ in range(2)))
    assert np.isnan(told.readings[0].steps)
    assert told.readings[0].before.unit == "deg"


def test_predicted_pull_is_that_of_the_package() -> None:
    """Away from steps, the mean over a place's share of the travel is the curve itself."""
    _, pull = case(BRAKE, 0)
    like = replace(pull, place=np.linspace(0.0, 0.03, 61))
    seen = predicted_branches(BRAKE.job, "brake", like)
    curves = pull_of(mechanism(BRAKE.job)).levers[0].curves
    late = like.place > 0.004
    expected = np.interp(like.place, curves.travel, curves.pull)
    assert seen.pull[late] == pytest.approx(expected[late], rel=2e-3)
    assert seen.pull_pressure is not None
