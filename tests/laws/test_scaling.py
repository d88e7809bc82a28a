"""Laws of a pull: what scales, what moves, what stays."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.mechanics.circuit import Circuit
from pullcurve.parts.cams import BrakeCam
from pullcurve.pull.arrays import AssistSpring, BrakeLine, ClutchCable, ClutchLine, Mechanism, Rocker, Wear
from pullcurve.pull.loop import Pull, pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.readouts import Readouts, facets
from pullcurve.pull.solve import solve, travel_end
from tests.pull.example import JOBS, example, without_friction


def without_springs(known: Mechanism) -> Mechanism:
    """No friction, no return springs: only the line and the plates are left."""
    levers = []
    for lever in without_friction(known).levers:
        rockers = []
        for rocker in lever.rockers:
            load = rocker.load
            if isinstance(load, BrakeLine | ClutchLine):
                load = replace(load, plunger=replace(load.plunger, spring=0.0, spring_rate=0.0))
            rockers.append(replace(rocker, load=load))
        levers.append(replace(lever, spring_torque=0.0, spring_rate=0.0, rockers=tuple(rockers)))
    return replace(known, levers=tuple(levers))


def straight(take_up: float = 0.0, stroke: float = 7.5) -> Mechanism:
    """Brake on a cam with a straight law, if no take-up is asked for."""
    choice = Choice(brake=[BrakeCam(reach_deg=0, take_up_mm=take_up, stroke_mm=stroke)])
    return without_springs(mechanism(JOBS["two levers"](), choice))


def with_brake(known: Mechanism, rocker: Rocker) -> Mechanism:
    """The same mechanism with another brake rocker."""
    return replace(known, levers=(replace(known.levers[0], rockers=(rocker,)), *known.levers[1:]))


@settings(max_examples=30)
@given(st.floats(0.5, 3.0))
def test_force_at_equal_pressure_goes_with_the_plunger_area(factor: float) -> None:
    """Twice the area asks for twice the force at the same pressure, and for half the travel past the port."""
    known = straight()
    rocker = known.levers[0].rockers[0]
    load = rocker.load
    assert isinstance(load, BrakeLine)
    bigger = replace(load, plunger=replace(load.plunger, area=load.plunger.area * factor))
    one, other = (pull(each).levers[0] for each in (known, with_brake(known, replace(rocker, load=bigger))))
    reached = ~np.isnan(one.at.force) & ~np.isnan(other.at.force)
    assert reached.sum() >= 2
    np.testing.assert_allclose(other.at.force[reached], factor * one.at.force[reached], rtol=1e-9)
    dead = (load.plunger.port + load.plunger.rest_gap) / 0.0075 * 26 * np.pi / 180 * 0.075
    np.testing.assert_allclose(
        (other.at.travel - dead)[reached] * factor, (one.at.travel - dead)[reached], rtol=1e-9
    )


def softer(line: Circuit, factor: float) -> Circuit:
    """A line of which everything gives that much more."""
    return replace(
        line,
        gap_volume=line.gap_volume * factor,
        seat_volume=line.seat_volume * factor,
        expansion=line.expansion * factor,
        fluid_volume=line.fluid_volume * factor,
        air_volume=line.air_volume * factor,
    )


@settings(max_examples=30)
@given(st.floats(0.3, 1.3))
def test_travel_to_a_pressure_goes_with_the_compliance(factor: float) -> None:
    """Twice every compliance asks for twice the volume; with a straight law for twice the travel past the port."""
    known = straight()
    rocker = known.levers[0].rockers[0]
    load = rocker.load
    assert isinstance(load, BrakeLine)
    soft = replace(rocker, load=replace(load, circuit=softer(load.circuit, factor)))
    one, other = (pull(each).levers[0] for each in (known, with_brake(known, soft)))
    stroke, more = (each.at.rockers[0].load.stroke - 1e-3 for each in (one, other))  # 0.8 mm port, 0.2 mm gap
    reached = ~np.isnan(stroke) & ~np.isnan(more)
    assert reached.sum() >= 2
    np.testing.assert_allclose(more[reached], factor * stroke[reached], rtol=1e-9)
    np.testing.assert_allclose(other.at.force[reached], one.at.force[reached], rtol=1e-9)


@pytest.mark.parametrize("name", JOBS)
def test_more_pressure_needs_more_volume(name: str) -> None:
    for lever in pull(mechanism(JOBS[name]())).levers:
        for along in lever.curves.rockers:
            pressed = along.load.pressure
            if not np.isnan(pressed).all() and name != "diaphragm":
                assert (np.diff(pressed) >= 0).all()
                past = along.load.stroke > 1.0001e-3
                assert (np.diff(pressed[past]) > 0).all()
            lifted = along.load.lift
            if not np.isnan(lifted).all():
                assert (np.diff(lifted) >= 0).all()


@settings(max_examples=30)
@given(st.floats(0.2, 5.0))
def test_twice_the_stiffness_of_everything_is_twice_the_force(factor: float) -> None:
    """Forces scale with forces: springs, plates and friction constants times a factor, areas to match."""
    known = mechanism(JOBS["cable"]())
    lever = known.levers[1]
    clutch, assist = lever.rockers
    cable, spring = clutch.load, assist.load
    assert isinstance(cable, ClutchCable)
    assert isinstance(spring, AssistSpring)
    curve = replace(cable.release, coefficients=cable.release.coefficients * factor)
    load = replace(cable, release=curve, stiffness=cable.stiffness * factor)
    spring = replace(spring, preload=spring.preload * factor, rate=spring.rate * factor)
    harder = replace(
        lever,
        spring_torque=lever.spring_torque * factor,
        spring_rate=lever.spring_rate * factor,
        rockers=(replace(clutch, load=load), replace(assist, load=spring)),
    )
    theta = np.linspace(0.0, 0.4, 41)
    one, other = (solve(each, theta, Wear(2.0, 2.0, 2.0)) for each in (lever, harder))
    for name in ("force", "pull", "release", "release_worn"):
        np.testing.assert_allclose(getattr(other, name), factor * getattr(one, name), rtol=1e-9, atol=1e-12)


@settings(max_examples=30)
@given(st.floats(0.0, 10.0), st.sampled_from([name for name in JOBS if name != "trapped pedal"]))
def test_clocking_moves_the_reach_and_nothing_else(reach_deg: float, name: str) -> None:
    """Force over travel is that of the unclocked cam; the gap is what the other has once it is in that far.

    With friction the finger pushes in another direction on the same pivot pin, which is less than 1 % of the pull.
    """
    reach = np.radians(reach_deg)
    for lever in mechanism(JOBS[name]()).levers:
        clocked = replace(lever, reach=reach)
        theta = np.linspace(0.0, travel_end(clocked).item(), 41)
        there, here = solve(clocked, theta, Wear()), solve(lever, theta, Wear())
        np.testing.assert_allclose(there.force, here.force, rtol=1e-12)
        np.testing.assert_allclose(there.travel, here.travel, rtol=1e-15)
        np.testing.assert_allclose(there.gap, solve(lever, theta + reach, Wear()).gap, rtol=1e-12)
        np.testing.assert_allclose(there.pull, here.pull, rtol=1e-2)
        assert travel_end(clocked) == pytest.approx(travel_end(lever) - reach, abs=1e-15)


def readings(known: Pull) -> dict[str, tuple[float, ...]]:
    """All read-outs of a pull by kind and name."""
    found: dict[str, tuple[float, ...]] = {}
    kinds: list[Readouts | None] = [known.brake, known.clutch]
    for kind in kinds:
        if kind:
            found |= {
                f"{type(kind).__name__}.{name}": tuple(np.ravel(getattr(kind, name)))
                for name, _ in facets(kind)
            }
    return found


def is_fine_enough(known: Mechanism) -> None:
    """128 stations against 512: at most 0.2 %.

    The least return force is a difference that may be nought, at the bottom of a V between two stations where the
    seals of a worn unit just hold the load: 0.2 N, a fifth of the newton that it has to have to spare.
    """
    coarse, fine = readings(pull(known, 128)), readings(pull(known, 512))
    assert coarse.keys() == fine.keys()
    for key, values in coarse.items():
        spare = 0.2 if key.endswith("return_least") else 1e-9
        assert values == pytest.approx(fine[key], rel=2e-3, abs=spare, nan_ok=True), key


@pytest.mark.parametrize("name", JOBS)
def test_finer_stations_change_no_readout(name: str) -> None:
    is_fine_enough(mechanism(JOBS[name]()))


@settings(max_examples=30)
@given(
    st.floats(5.5, 9.0), st.floats(0.0, 0.6), st.floats(7.0, 12.0), st.floats(2.0, 12.0), st.floats(0.1, 0.6)
)
def test_finer_stations_change_no_readout_of_any_set(
    stroke: float, take_up: float, lift: float, onset: float, fall: float
) -> None:
    job = example(
        fitted={
            "brake": {"reach_deg": 0, "take_up_mm": take_up, "stroke_mm": stroke},
            "clutch": {"reach_deg": 0, "lift_mm": lift},
            "assist": {"reach_deg": 0, "onset_deg": onset, "fall": fall},
        }
    )
    is_fine_enough(mechanism(job))
