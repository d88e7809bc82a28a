"""Where bite, lock-up, slip, free and clean lie: the state at each event is the one that names it."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from pullcurve.parts.cams import BrakeCam
from pullcurve.pull.arrays import BrakeLine
from pullcurve.pull.events import SHARES, find_events, theta_at_stroke
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.solve import travel_end
from tests.laws.books import polynomial
from tests.pull.example import JOBS, lever_with, rocker_with

MM = 1e-3


@pytest.mark.parametrize("name", ["two levers", "pin", "same sense", "one lever"])
def test_pressure_at_a_brakes_events_is_the_one_that_names_them(name: str) -> None:
    known = mechanism(JOBS[name]())
    lever = next(each for each in pull(known).levers if each.brake)
    along = lever.at.rocker("brake")
    assert along is not None
    wheel = known.wheel
    assert wheel is not None
    names = [f"lock-up {k}" for k in range(3)]
    for event, level in [
        ("bite", wheel.bite_pressure),
        *zip(names, wheel.lock_pressure, strict=True),
        *zip(
            ("gain from", "half lock-up", "gain to"), np.array(SHARES) * wheel.lock_pressure[0], strict=True
        ),
    ]:
        assert along.load.pressure[lever.events.index(event)] == pytest.approx(level, rel=1e-9)


@pytest.mark.parametrize("name", ["two levers", "cable", "diaphragm", "pin", "one lever"])
def test_lift_at_a_clutchs_events_is_the_one_that_names_them(name: str) -> None:
    known = mechanism(JOBS[name]())
    lever = next(each for each in pull(known).levers if each.clutch)
    along = lever.at.rocker("clutch")
    plates = known.plates
    assert along is not None
    assert plates is not None
    for event, lift in (("first slip", plates.slip_lift), ("free", plates.free_lift)):
        assert along.load.lift[lever.events.index(event)] == pytest.approx(lift, rel=1e-9)
    # the example's plates are not clean before the fingers end the pull
    assert np.isnan(lever.events.theta[lever.events.index("clean")])


def test_angle_at_a_stroke_is_that_of_another_root_finder() -> None:
    rocker = rocker_with(mechanism(JOBS["two levers"]()), "brake")
    law = polynomial(rocker.law)
    found = theta_at_stroke(rocker, np.array([0.0, 1 * MM, 5 * MM, 8 * MM]))
    for theta, way in zip(found, (0.0, 1 * MM, 5 * MM, 8 * MM), strict=True):
        psi = rocker.rest_angle + way / rocker.load_arm
        assert theta == pytest.approx(brentq(lambda x, p=psi: float(law(x) - p), 0.0, 1.0), abs=1e-11)


def test_events_beyond_the_travel_are_undefined() -> None:
    known = mechanism(JOBS["two levers"]())
    lever = known.levers[0]
    every = find_events(lever, known, np.array([1.0]))
    assert not np.isnan(every.theta).any()
    half = every.theta[every.index("half lock-up")]
    fewer = find_events(lever, known, np.array([half]))
    np.testing.assert_array_equal(np.isnan(fewer.theta), every.theta > half)


def test_a_pressure_for_which_the_pin_has_no_stroke_is_never_reached() -> None:
    """A pin on a 16 mm arm never goes 17 mm, however far the lever would turn."""
    known = mechanism(JOBS["pin"]())
    rocker = rocker_with(known, "brake")
    load = rocker.load
    assert isinstance(load, BrakeLine)
    soft = replace(load, circuit=replace(load.circuit, expansion=load.circuit.expansion * 6))
    lever = replace(known.levers[0], rockers=(replace(rocker, load=soft),))
    events = find_events(lever, known, travel_end(lever))
    assert np.isfinite(events.theta[events.index("bite")])
    assert np.isnan(events.theta[events.index("lock-up 0")])


def test_events_of_one_lever_are_those_of_everything_on_it() -> None:
    known = mechanism(JOBS["one lever"]())
    events = find_events(known.levers[0], known, np.array([1.0]))
    assert events.names[:2] == ("bite", "lock-up 0")
    assert events.names[-3:] == ("first slip", "free", "clean")
    assert events.theta.shape == (len(events.names),)


def test_a_lever_without_wheel_or_plates_has_no_events() -> None:
    known = replace(mechanism(JOBS["one lever"]()), wheel=None, plates=None)
    lever = lever_with(known, "brake")
    events = find_events(lever, known, travel_end(lever))
    assert events.names == ()
    assert events.theta.shape == (0,)
    alone = pull(known)
    assert alone.brake is None
    assert alone.clutch is None
    assert np.isfinite(alone.levers[0].curves.pull).all()


def test_events_of_many_sets_stand_side_by_side() -> None:
    cams = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke) for stroke in (6.0, 7.0, 8.0)]
    known = mechanism(JOBS["one lever"](), Choice(brake=cams))
    events = find_events(known.levers[0], known, travel_end(known.levers[0]))
    assert events.theta.shape == (3, len(events.names))
    assert (np.diff(events.theta[:, events.index("bite")]) < 0).all()
