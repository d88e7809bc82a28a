"""Loads at given angles by hand, the room to move, and the sum over a lever's cams."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from pullcurve.mechanics.clutch import cable_pull
from pullcurve.mechanics.curve import evaluate
from pullcurve.mechanics.friction import first_order_loss
from pullcurve.pull.arrays import BrakeLine, ClutchCable, Lever, Wear
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import (
    Branch,
    LoadState,
    branch_moment,
    cable_lift,
    gap,
    load_state,
    part_of,
    psi_at_stroke,
    solve,
    stroke,
    travel_end,
)
from tests.laws.books import polynomial, pushed, root, slide, swallowed
from tests.pull.example import JOBS, example, lever_with, rocker_with, without_friction

DEGREE, MM = np.pi / 180, 1e-3
NEW = Branch(0.0, Wear())


# Room to move ------------------------------------------------------------------------------------------------------


def example_lever() -> Lever:
    """Brake lever of the example."""
    return mechanism(JOBS["two levers"]()).levers[0]


def test_gap_by_hand() -> None:
    """30 + 75 sin(27 - theta) - 16 mm, and with a reach of 4 degrees that much further in."""
    theta = np.array([0.0, 10.0, 20.0]) * DEGREE
    by_hand = 30 + 75 * np.sin([27 * DEGREE, 17 * DEGREE, 7 * DEGREE]) - 16
    np.testing.assert_allclose(gap(example_lever(), theta) / MM, by_hand, rtol=1e-12)
    closer = replace(example_lever(), reach=4 * DEGREE)
    np.testing.assert_allclose(gap(closer, theta[:1]) / MM, 30 + 75 * np.sin(23 * DEGREE) - 16, rtol=1e-12)


def test_fingers_end_the_pull() -> None:
    """The gap is the finger's 17 mm there."""
    end = travel_end(example_lever())
    assert gap(example_lever(), end) == pytest.approx(0.017, rel=1e-12)
    assert end < 28 * DEGREE


@pytest.mark.parametrize("reach", [0.0, 5.0])
def test_stop_ends_the_pull(reach: float) -> None:
    """The stop is in the housing: a lever that rests further in comes to it sooner."""
    lever = replace(example_lever(), stop=15 * DEGREE, reach=reach * DEGREE)
    assert travel_end(lever) == pytest.approx((15 - reach) * DEGREE)


def test_a_lever_that_never_comes_near_the_grip_ends_at_its_stop() -> None:
    """The pivot stands so far out that no angle brings the blade to the fingers."""
    lever = replace(example_lever(), pivot_offset=0.2)
    assert travel_end(lever) == pytest.approx(28 * DEGREE)


@given(st.floats(0.0, 0.009), st.booleans())
def test_rocker_angle_undoes_stroke(travel: float, pin: bool) -> None:
    rocker = replace(rocker_with(mechanism(JOBS["two levers"]()), "brake"), pin_push=pin)
    psi = psi_at_stroke(rocker, np.array([travel]))
    back, arm = stroke(rocker, psi)
    np.testing.assert_allclose(back, travel, atol=1e-15)
    step = 1e-6
    slope = (stroke(rocker, psi + step)[0] - stroke(rocker, psi - step)[0]) / (2 * step)
    np.testing.assert_allclose(arm, slope, rtol=1e-8)


# Loads ---------------------------------------------------------------------------------------------------------------


def test_brake_load_by_hand() -> None:
    """Before the plunger is touched nothing; then spring and seals; past the port the line, by another root finder."""
    rocker = rocker_with(mechanism(JOBS["two levers"]()), "brake")
    load = rocker.load
    assert isinstance(load, BrakeLine)
    travel = np.array([0.1, 0.6, 4.0]) * MM
    state = load_state(rocker, psi_at_stroke(rocker, travel))
    pressure = root(lambda p: swallowed(load.circuit, p) - pushed(load.plunger, 4 * MM), 1e9)
    area = np.pi * 0.0095**2 / 4
    force = np.array([0.0, 10 + 1.2 * 0.4, 10 + 1.2 * 3.8 + pressure * area])
    np.testing.assert_allclose(state.moment, force * 0.016, rtol=1e-10)
    np.testing.assert_allclose(
        state.drag, np.array([0.0, 7.0, 7 + 0.04 * pressure * area]) * 0.016, rtol=1e-10
    )
    np.testing.assert_allclose(state.pressure, [0.0, 0.0, pressure], rtol=1e-10, atol=1e-6)
    np.testing.assert_allclose(state.stroke, travel, rtol=1e-12)
    assert np.isnan(state.lift).all()


def test_clutch_load_by_hand() -> None:
    """Lift by another root finder; the slave's drag acts at the plunger by the ratio of areas."""
    rocker = rocker_with(mechanism(JOBS["two levers"]()), "clutch")
    travel = np.array([4.0, 8.0]) * MM
    state = load_state(rocker, psi_at_stroke(rocker, travel))
    slave, area = np.pi * 0.024**2 / 4, np.pi * 0.010**2 / 4
    for k, way in enumerate(travel):

        def left(lift: float, way: float = way) -> float:
            force = 1000 + 65e3 * lift - max(0.0, 1000 * (1 - lift / 0.35e-3))
            p = force / slave
            line = (1.65e-14 + 12e-6 / 1.7e9) * p + 12e-9 * p / (p + 101_325)
            return float(slave * lift + line - area * (way - 1e-3))

        lift = brentq(left, 0.0, 4e-3, xtol=1e-16)
        released = 1000 + 65e3 * lift - max(0.0, 1000 * (1 - lift / 0.35e-3))
        pressure = released / slave
        force = 10 + 1200 * (way - 0.2e-3) + pressure * area
        drag = 7 + 0.04 * pressure * area + (8 + 0.02 * released) * area / slave
        assert state.lift[k] == pytest.approx(lift, rel=1e-9)
        assert state.pressure[k] == pytest.approx(pressure, rel=1e-9)
        assert state.moment[k] == pytest.approx(force * 0.020, rel=1e-9)
        assert state.drag[k] == pytest.approx(drag * 0.020, rel=1e-9)


@given(st.floats(0.0, 11.0))
def test_cable_lift_is_that_of_the_clutchs_end(travel_mm: float) -> None:
    """The plates' end of the cable gives the same travel back, by the formula that starts from the lift."""
    load = rocker_with(mechanism(JOBS["cable"]()), "clutch").load
    assert isinstance(load, ClutchCable)
    way = np.array([travel_mm * MM])
    lift = cable_lift(load, way)
    back = cable_pull(lift, evaluate(load.release, lift)[0], 9.0, 120e3, load.free_play, 0.0)
    np.testing.assert_allclose(np.maximum(way, 1 * MM), back.travel, rtol=1e-9)


def test_cable_load_by_hand() -> None:
    """1 mm of free play, 9:1; at 0.5 mm of lift 1032.5 N at the plates, 114.72 N in the cable, 0.956 mm of stretch."""
    rocker = rocker_with(mechanism(JOBS["cable"]()), "clutch")
    travel = (1.0 + 9 * 0.5) * MM + 1032.5 / 9 / 120e3
    state = load_state(rocker, psi_at_stroke(rocker, np.array([0.5 * MM, travel])))
    np.testing.assert_allclose(state.moment, [0.0, 1032.5 / 9 * 0.020], rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(state.lift, [0.0, 0.5 * MM], rtol=1e-9, atol=1e-15)
    assert float(state.wrap) == pytest.approx(0.1 * np.pi)
    assert float(state.drag) == 0.0
    assert np.isnan(state.pressure).all()


def test_assist_loads_by_hand() -> None:
    """60 N less 10 N/mm on 16 mm; 1 N m less 8 N mm per degree; nothing once the spring has come off its seat."""
    let_down = np.array([0.0, 0.1, 0.5])
    coil = rocker_with(mechanism(JOBS["two levers"]()), "assist")
    state = load_state(coil, coil.rest_angle - let_down)
    np.testing.assert_allclose(state.moment, [60 * 0.016, 44 * 0.016, 0.0], rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(state.stroke, -let_down * 0.016, rtol=1e-12)
    twist = rocker_with(mechanism(JOBS["torsion"]()), "assist")
    let_down = np.array([0.0, 10.0, 130.0]) * DEGREE
    state = load_state(twist, twist.rest_angle - let_down)
    np.testing.assert_allclose(state.moment, [1.0, 0.92, 0.0], rtol=1e-12, atol=1e-12)
    assert np.isinf(
        state.line_arm
    ).all()  # a torque has no line of force: nothing but the contact loads the pin


def test_branches_of_a_load_by_hand() -> None:
    """Seals add and take off, a roller can only be pushed, a cable multiplies and divides."""
    zero = np.zeros(())
    state = LoadState(np.array([1.0, 0.1]), np.array([0.2, 0.2]), np.asarray(0.3), zero, zero, zero, zero)
    worn = Wear(seals=2.0, pins=9.0, cable=3.0)
    np.testing.assert_allclose(branch_moment(state, NEW), [1.0, 0.1])
    np.testing.assert_allclose(branch_moment(state, Branch(1.0, Wear())), np.array([1.2, 0.3]) * np.exp(0.3))
    np.testing.assert_allclose(
        branch_moment(state, Branch(-1.0, Wear())), np.array([0.8, 0.0]) * np.exp(-0.3)
    )
    np.testing.assert_allclose(branch_moment(state, Branch(-1.0, worn)), np.array([0.6, 0.0]) * np.exp(-0.9))


def test_cable_friction_is_the_ropes() -> None:
    """Smooth pins: pull to free as exp(mu Theta), free to release the same (rope friction, any text on statics)."""
    lever = lever_with(mechanism(JOBS["cable"]()), "clutch")
    clutch = replace(lever.rockers[0], pivot_drag=0.0, roller_tilt=0.0)
    lever = replace(lever, rockers=(clutch,), pin_drag=0.0, spring_torque=0.0, spring_rate=0.0)
    curves = solve(lever, np.linspace(0.1, 0.35, 9), Wear(cable=2.0))
    np.testing.assert_allclose(curves.pull / curves.force, np.exp(0.1 * np.pi), rtol=1e-12)
    np.testing.assert_allclose(curves.force / curves.release, np.exp(0.1 * np.pi), rtol=1e-12)
    np.testing.assert_allclose(curves.force / curves.release_worn, np.exp(0.2 * np.pi), rtol=1e-12)


# Levers -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["one lever", "two levers", "torsion", "same sense"])
def test_torque_on_a_lever_is_the_sum_over_its_cams(name: str) -> None:
    """Without friction, each cam alone on the lever and the lever's own spring."""
    for lever in without_friction(mechanism(JOBS[name]())).levers:
        theta = np.linspace(0.0, travel_end(lever).item(), 21)
        own = (float(lever.spring_torque) + float(lever.spring_rate) * theta) / 0.075
        bare = replace(lever, spring_torque=0.0, spring_rate=0.0)
        parts = [solve(replace(bare, rockers=(rocker,)), theta, Wear()).force for rocker in lever.rockers]
        np.testing.assert_allclose(
            solve(lever, theta, Wear()).force, own + sum(parts), rtol=1e-11, atol=1e-12
        )


@pytest.mark.parametrize("name", JOBS)
def test_torque_of_a_cam_is_load_times_ratio(name: str) -> None:
    """Virtual work: F L = sum of M psi' + spring, needs no geometry."""
    for lever in without_friction(mechanism(JOBS[name]())).levers:
        theta = np.linspace(0.0, travel_end(lever).item(), 21)
        curves = solve(lever, theta, Wear())
        torque = float(lever.spring_torque) + float(lever.spring_rate) * theta
        for rocker, along in zip(lever.rockers, curves.rockers, strict=True):
            law = polynomial(rocker.law)
            torque = torque + load_state(rocker, law(theta)).moment * law(theta, nu=1)
            assert along.drives == rocker.drives
        np.testing.assert_allclose(curves.force * 0.075, torque, rtol=1e-10, atol=1e-12)


def test_loop_of_light_friction_is_the_first_order_loss() -> None:
    """One torsion spring on a lever so long that the finger's force is nothing: every reaction is the contact force."""
    lever = lever_with(mechanism(JOBS["torsion"]()), "assist")
    rocker = replace(rocker_with(mechanism(JOBS["torsion"]()), "assist"), pivot_drag=1e-6, roller_tilt=1e-6)
    bare = replace(lever, rockers=(rocker,), spring_torque=0.0, spring_rate=0.0)
    far = replace(bare, finger_radius=1e3, pin_drag=1e-6)
    curves = solve(far, np.linspace(12.0, 20.0, 5) * DEGREE, Wear())
    along = curves.rockers[0]
    lost = (curves.pull - curves.release) * 1e3 / 2
    # the roller's pin drags with r tan(tilt) and turns at the cam's slide over r
    turn = slide(rocker, along) / 0.004
    first = first_order_loss(along.contact, along.law.dpsi, 1e-6, 1e-6, 1e-6 * 0.004, turn)
    np.testing.assert_allclose(lost, first, rtol=1e-4)


def test_a_lever_without_cams_has_its_spring_alone() -> None:
    lever = replace(example_lever(), rockers=(), pin_drag=0.0)
    curves = solve(lever, np.array([0.0, 10 * DEGREE]), Wear())
    np.testing.assert_allclose(curves.force, np.array([0.12, 0.14]) / 0.075, rtol=1e-12)
    np.testing.assert_allclose(curves.pull, curves.release, rtol=1e-12)
    assert curves.rocker("brake") is None


def test_rocker_is_found_by_what_it_drives() -> None:
    lever = lever_with(mechanism(JOBS["one lever"]()), "assist")
    curves = solve(lever, np.array([0.1]), Wear())
    for drives in ("brake", "clutch", "assist"):
        found = curves.rocker(drives)
        assert found is not None
        assert found.drives == drives


@pytest.mark.parametrize("name", JOBS)
def test_part_of_the_stations_is_the_pull_at_those_stations(name: str) -> None:
    for lever in mechanism(JOBS[name]()).levers:
        theta = np.linspace(0.0, 0.4, 11)
        part = part_of(solve(lever, theta, Wear()), slice(3, 7))
        short = solve(lever, theta[3:7], Wear())
        for known in ("theta", "travel", "gap", "force", "pull", "release", "release_worn"):
            np.testing.assert_allclose(getattr(part, known), getattr(short, known), rtol=1e-12, atol=1e-14)
        for one, other in zip(part.rockers, short.rockers, strict=True):
            np.testing.assert_allclose(one.law.psi, other.law.psi)
            np.testing.assert_allclose(one.contact_worn, other.contact_worn, atol=1e-12)
            np.testing.assert_allclose(one.load.moment, other.load.moment, atol=1e-14)
            np.testing.assert_allclose(one.load.wrap, other.load.wrap)


def test_worn_pins_and_seals_count_on_the_way_out_only() -> None:
    lever = example_lever()
    theta = np.linspace(0.05, 0.4, 9)
    new, worn = (solve(lever, theta, wear) for wear in (Wear(), Wear(2.0, 2.0, 2.0)))
    np.testing.assert_array_equal(new.pull, worn.pull)
    np.testing.assert_array_equal(new.release, worn.release)
    np.testing.assert_allclose(new.release_worn, new.release, rtol=1e-12)
    assert (worn.release_worn < new.release).all()


def test_a_locked_rocker_says_so() -> None:
    """A contact within the rocker pin's friction circle: no force can be told."""
    lever = example_lever()
    stuck = replace(lever, rockers=(replace(lever.rockers[0], pivot_drag=0.021),))
    curves = solve(stuck, np.array([0.2]), Wear())
    assert np.isnan(curves.pull).all()
    assert np.isfinite(curves.force).all()


def test_longer_jobs_keep_their_lever_names() -> None:
    names = [solve(lever, np.zeros(1), Wear()).name for lever in mechanism(example()).levers]
    assert names == ["brake lever", "clutch lever"]
