"""Energy closes: without friction the finger's work is stored, with friction the rest is eaten."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import fall_curve, rise_curve
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import (
    AssistSpring,
    BrakeLine,
    ClutchCable,
    ClutchLine,
    Lever,
    Mechanism,
    Rocker,
    Wear,
)
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import LeverCurves, solve, travel_end
from tests.laws.books import eaten, lever_stored, nodes
from tests.pull.example import JOBS, without_friction

DEGREE = np.pi / 180
SHARES = (0.1, 0.35, 0.7, 1.0)


def ends(lever: Lever) -> list[float]:
    """Some angles up to which a lever is pulled."""
    return [share * travel_end(lever).item() for share in SHARES]


def work(curves: LeverCurves, force: FloatArray, weights: FloatArray, lever: Lever) -> float:
    """Work of the finger over the pull."""
    return float(np.sum(force * weights) * float(lever.finger_radius))


def closes(known: Mechanism) -> None:
    """Work is stored energy at several places of every lever, to 1e-6."""
    for lever in without_friction(known).levers:
        for end in ends(lever):
            theta, weights = nodes(lever, end)
            curves = solve(lever, theta, Wear())
            assert work(curves, curves.force, weights, lever) == pytest.approx(
                lever_stored(lever, end), rel=1e-6, abs=1e-9
            )


@pytest.mark.parametrize("name", JOBS)
def test_energy_closes_without_friction(name: str) -> None:
    closes(mechanism(JOBS[name]()))


def changed(rocker: Rocker, dice: st.DataObject) -> Rocker:
    """The same rocker with another law, another geometry and another load within reason."""
    factor = dice.draw(st.floats(0.5, 2.0))
    load = rocker.load
    match load:
        case BrakeLine():
            load = replace(load, circuit=replace(load.circuit, expansion=load.circuit.expansion * factor))
        case ClutchLine():
            load = replace(load, slave_area=load.slave_area * max(1.0, factor))  # a table has an end
        case ClutchCable():
            load = replace(load, stiffness=load.stiffness * factor)
        case AssistSpring():
            load = replace(load, rate=load.rate * factor)
    start = dice.draw(st.floats(30.0, 60.0)) * DEGREE
    if rocker.drives == "assist":
        onset, blend = dice.draw(st.floats(0.0, 12.0)), dice.draw(st.floats(4.0, 12.0))
        law = fall_curve(start, onset * DEGREE, blend * DEGREE, dice.draw(st.floats(0.1, 0.6)))
    else:
        law = rise_curve(start, dice.draw(st.floats(0.25, 0.5)), dice.draw(st.floats(0.0, 0.03)), 26 * DEGREE)
    return replace(
        rocker,
        load=load,
        law=law,
        rest_angle=start,
        arm=dice.draw(st.floats(0.016, 0.026)),
        sense=dice.draw(st.sampled_from([1.0, -1.0])),
        bearing=dice.draw(st.floats(-3.0, 3.0)),
        load_arm=rocker.load_arm * dice.draw(st.floats(0.8, 1.2)),
    )


def thrown(name: str, dice: st.DataObject) -> Mechanism:
    """A mechanism by the dice."""
    known = mechanism(JOBS[name]())
    return replace(
        known,
        levers=tuple(
            replace(lever, rockers=tuple(changed(rocker, dice) for rocker in lever.rockers))
            for lever in known.levers
        ),
    )


@settings(max_examples=40)
@given(st.sampled_from(sorted(JOBS)), st.data())
def test_energy_closes_for_any_mechanism(name: str, data: st.DataObject) -> None:
    closes(thrown(name, data))


def balanced(lever: Lever, theta: FloatArray) -> None:
    """At every angle pull less free is what friction eats on the pull, and free less release what it eats on the way
    back; where nothing was clamped to zero."""
    curves = solve(lever, theta, Wear())
    loaded = np.ones(theta.size, dtype=bool)
    for along in curves.rockers:
        for way in (1, -1):
            loaded &= along.load.moment + way * along.load.drag >= 0
    radius = float(lever.finger_radius)
    for way, force in ((1, curves.pull), (-1, curves.release)):
        lost = way * (force - curves.force) * radius
        np.testing.assert_allclose(lost[loaded], eaten(lever, curves, way)[loaded], rtol=1e-7, atol=1e-10)
    assert loaded.mean() > 0.8


@pytest.mark.parametrize("name", JOBS)
def test_friction_eats_the_difference(name: str) -> None:
    for lever in mechanism(JOBS[name]()).levers:
        balanced(lever, np.linspace(0.0, travel_end(lever).item(), 301))


@settings(max_examples=40)
@given(st.sampled_from(sorted(JOBS)), st.data())
def test_friction_eats_the_difference_for_any_mechanism(name: str, data: st.DataObject) -> None:
    for lever in thrown(name, data).levers:
        balanced(lever, np.linspace(0.0, travel_end(lever).item(), 61))


@pytest.mark.parametrize("name", JOBS)
def test_area_of_the_loop_is_the_work_of_friction(name: str) -> None:
    for lever in mechanism(JOBS[name]()).levers:
        theta, weights = nodes(lever, travel_end(lever).item())
        curves = solve(lever, theta, Wear())
        loop = work(curves, curves.pull - curves.release, weights, lever)
        lost = sum(float(np.sum(eaten(lever, curves, way) * weights)) for way in (1, -1))
        assert loop == pytest.approx(lost, rel=1e-6)
        assert loop > 0


@pytest.mark.parametrize("name", JOBS)
def test_branches_meet_without_friction(name: str) -> None:
    for lever in without_friction(mechanism(JOBS[name]())).levers:
        curves = solve(lever, np.linspace(0.0, travel_end(lever).item(), 101), Wear())
        for branch in (curves.pull, curves.release, curves.release_worn):
            np.testing.assert_allclose(branch, curves.force, rtol=1e-12, atol=1e-12)


@settings(max_examples=30)
@given(st.sampled_from(sorted(JOBS)), st.data())
def test_release_is_never_above_pull(name: str, data: st.DataObject) -> None:
    for lever in thrown(name, data).levers:
        curves = solve(lever, np.linspace(0.0, travel_end(lever).item(), 101), Wear(2.1, 2.5, 2.0))
        assert (curves.release <= curves.force + 1e-9).all()
        assert (curves.force <= curves.pull + 1e-9).all()
        assert (curves.release_worn <= curves.release + 1e-9).all()


def test_a_heavier_rider_or_lever_stores_nothing_more() -> None:
    """The energy of a lever is its loads' alone: a longer blade trades force for travel."""
    known = without_friction(mechanism(JOBS["two levers"]()))
    lever = known.levers[0]
    longer = replace(lever, finger_radius=lever.finger_radius * 1.3)
    theta = np.linspace(0.0, 0.3, 31)
    short_pull, long_pull = (solve(one, theta, Wear()) for one in (lever, longer))
    np.testing.assert_allclose(long_pull.force * 1.3, short_pull.force, rtol=1e-12)
    np.testing.assert_allclose(long_pull.travel, short_pull.travel * 1.3, rtol=1e-12)


def test_jobs_are_what_they_say() -> None:
    """The variants differ, so that the laws above are tested on different machines."""
    jobs: list[Job] = [make() for make in JOBS.values()]
    assert len({job.model_dump_json() for job in jobs}) == len(jobs)
