"""Ladders: rungs apart by equal felt steps on another road, at one end point, at every reach that was asked for."""

from functools import cache

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import law_metal, rocker_of
from pullcurve.pull.solve import travel_end
from pullcurve.studies.candidates import silent
from pullcurve.studies.check import check_cam
from pullcurve.studies.draw import CLOSE, Drawn
from pullcurve.studies.ladder import at_reaches, ladder, rungs
from pullcurve.studies.wishes import Wish, felt_steps
from pullcurve.verbs.making import wish_of
from tests.studies import shop
from tests.studies.feeling import felt

DEGREE = np.pi / 180
TRIALS = "trials-280.toml"

LADDERS = [
    (shop.MAIN, "brake", "force_lock_newton", 45.0, 75.0, 8, {}),
    (shop.CABLE, "clutch", "force_peak_newton", 36.0, 55.0, 5, {}),
    (shop.SINGLE, "brake", "force_lock_newton", 60.0, 90.0, 5, {}),
    (TRIALS, "assist", "force_hold_newton", 25.0, 45.0, 5, {}),
    (shop.DIAPHRAGM, "brake", "modulation_mm", 18.0, 10.0, 4, {"force_lock_newton": 70.0}),
]


@cache
def laddered(number: int) -> tuple[Drawn, ...]:
    """One of the ladders, drawn once."""
    name, kind, key, first, last, count, others = LADDERS[number]
    ends = [wish_of(kind, key, value) for value in (first, last)]
    more = tuple(wish_of(kind, *other) for other in others.items())
    return ladder(shop.known(name), kind, ends[0], (ends[0].target, ends[1].target), count, more, silent)


def measured(number: int) -> tuple[Wish, FloatArray]:
    """The wish that varies, and what the independent road reads of every rung."""
    name, kind, *_ = LADDERS[number]
    known = laddered(number)
    wish = known[0].wanted.wishes[0]
    return wish, np.array([felt(shop.known(name), kind, rung.curve).readout(wish.key) for rung in known])


@pytest.mark.parametrize("number", [0, 1, 2, 3])
def test_rungs_are_apart_by_equal_felt_steps(number: int) -> None:
    """Ends as asked, and every step as wide as the next: within a tenth of a felt step."""
    _, _, _, first, last, count, _ = LADDERS[number]
    wish, read = measured(number)
    apart = felt_steps(read[:-1], read[1:], wish.facet)
    assert len(apart) == count - 1
    whole = float(felt_steps(first, last, wish.facet))
    np.testing.assert_allclose(apart, whole / (count - 1), atol=0.1)
    np.testing.assert_allclose(read[[0, -1]], [first, last], rtol=0.005)


def test_rungs_of_a_way_are_apart_by_equal_ways_and_share_the_other_wish() -> None:
    """A clutch on a diaphragm is not on the road; its brake is pulled with eight times the stations."""
    known = laddered(4)
    reads = [rung.pulled.brake for rung in known]
    window = np.array([float(np.ravel(read.modulation_travel)[0]) for read in reads if read])
    force = np.array([float(np.ravel(read.force_lock)[0]) for read in reads if read])
    np.testing.assert_allclose(np.diff(window), np.diff(window)[0], atol=0.1 * 1.5e-3)
    np.testing.assert_allclose(force, 70.0, rtol=0.01)


@pytest.mark.parametrize("number", range(len(LADDERS)))
def test_every_rung_meets_its_wish_and_passes_its_check(number: int) -> None:
    name, kind, *_ = LADDERS[number]
    job = shop.known(name)
    row, part = rocker_of(job, kind)
    lever = mechanism(job).levers[row]
    for rung in laddered(number):
        assert rung.worst <= CLOSE
        metal = law_metal(lever.with_law(kind, rung.curve), kind, part.plate, "rung")
        verdict = check_cam(job, metal, rung.pulled)
        assert verdict.ok, verdict.words


@pytest.mark.parametrize("number", range(len(LADDERS)))
def test_brake_cams_of_a_ladder_end_at_the_stroke_of_the_fitted_one(number: int) -> None:
    name, kind, *_ = LADDERS[number]
    row, _ = rocker_of(shop.known(name), kind)
    lever = mechanism(shop.known(name)).levers[row]
    rocker, end = lever.rocker(kind), travel_end(lever)
    assert rocker is not None
    ends = np.array([float(evaluate(rung.curve, end)[0][0]) for rung in laddered(number)])
    shared = np.abs(ends - float(evaluate(rocker.law, end)[0][0])) < 1e-9
    assert np.all(shared) if kind == "brake" else not np.any(shared)


def test_end_point_is_shared_or_free_as_told() -> None:
    job = shop.known(shop.CABLE)
    wish = wish_of("clutch", "force_peak_newton", 38.0)
    known = ladder(job, "clutch", wish, (38.0, 44.0), 2, (), silent, keep_end=True)
    end = travel_end(mechanism(job).levers[1])
    ends = [float(evaluate(rung.curve, end)[0][0]) for rung in known]
    assert ends[0] == pytest.approx(ends[1], abs=1e-9)


def test_steps_too_small_to_feel_are_one_line() -> None:
    """From 60 to 70 N are 2.3 steps of 7 %: three cams, not six."""
    wish = wish_of("brake", "force_lock_newton", 60.0)
    with pytest.raises(BadInput, match=r"^ladder: steps is 6; allowed is 2 to 3, or a finger"):
        ladder(shop.known(), "brake", wish, (60.0, 70.0), 6, (), silent)


def test_equal_felt_steps_are_equal_ratios_of_force_and_equal_ways() -> None:
    force = rungs(40.0, 80.0, 5, "force")
    np.testing.assert_allclose(force[1:] / force[:-1], 2.0**0.25)
    np.testing.assert_allclose(rungs(0.010, 0.018, 5, "place"), [0.010, 0.012, 0.014, 0.016, 0.018])


def test_progress_is_told_rung_by_rung() -> None:
    heard: list[tuple[int, int]] = []
    wish = wish_of("brake", "force_lock_newton", 60.0)
    ladder(shop.known(), "brake", wish, (60.0, 74.0), 3, (), lambda *at: heard.append(at))
    assert heard == [(1, 3), (2, 3), (3, 3)]


# Reaches --------------------------------------------------------------------------------------------------------------


def test_every_rung_can_be_made_at_every_reach() -> None:
    """The same law from another rest: less travel, the same bite, a force that only pin friction changes."""
    job, reaches = shop.known(), (0.0, 4.0 * DEGREE)
    wish = wish_of("brake", "force_lock_newton", 60.0)
    known = ladder(job, "brake", wish, (60.0, 75.0), 3, (), silent, reaches=reaches)
    rows = at_reaches(job, known, reaches)
    assert [[one.reach for one in row] for row in rows] == [list(reaches)] * 3
    lever = mechanism(job).levers[0]
    for rung, row in zip(known, rows, strict=True):
        here, there = (one.pulled.brake for one in row)
        assert here is not None and there is not None
        assert all(one.worst <= CLOSE for one in row)
        assert row[0].left == rung.left
        left = float(np.ravel(here.travel_left - there.travel_left)[0])
        shorter = float(travel_end(lever.at_reach(0.0))[0] - travel_end(lever.at_reach(reaches[1]))[0])
        assert left == pytest.approx(shorter * 0.075, abs=1e-9)
        np.testing.assert_allclose(here.travel_bite, there.travel_bite, atol=1e-9)
        np.testing.assert_allclose(here.force_lock, there.force_lock, rtol=0.02)
