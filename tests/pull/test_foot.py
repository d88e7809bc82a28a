"""Hand and foot on one rear brake: what each does alone, and what they do together."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.parts.cams import BrakeCam
from pullcurve.pull.arrays import BrakeLine, Mechanism
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import Choice, mechanism
from tests.laws.books import root, swallowed
from tests.pull.example import PEDAL, example, pin_job, rocker_with, without_friction

PER_FORCE = 5 * 0.9 * (9.5 / 12.7) ** 2 * 0.016
"""Rocker torque per newton at the pedal [m]: ratio, efficiency, slave on master, arm; by hand."""

AREA = np.pi * 0.0095**2 / 4


def with_pedal(force: float = 0.0, open_port: bool = True) -> Mechanism:
    """The example with a pedal on its rear brake."""
    return mechanism(example(pedal=PEDAL | {"idle_port_open": open_port}), foot_force=force)


def locking(known: Mechanism) -> tuple[float, float]:
    """Pressure and stroke at which the wheel locks on the first surface, by another root finder where it needs one."""
    load, wheel = rocker_with(known, "brake").load, known.wheel
    assert isinstance(load, BrakeLine)
    assert wheel is not None
    pressure = float(wheel.lock_pressure[0])
    return pressure, swallowed(load.circuit, pressure) / AREA + 1.0e-3


@settings(max_examples=20)
@given(st.floats(0.0, 60.0))
def test_the_foot_takes_its_share_of_the_hands_force(force: float) -> None:
    """Without friction: hand force falls by m F psi'/L at equal pressure, as long as the hand still pushes."""
    known = without_friction(with_pedal(force))
    helped, alone = pull(known).levers[0], pull(without_friction(with_pedal())).levers[0]
    lock = alone.events.index("lock-up 0")
    along = alone.at.rocker("brake")
    assert along is not None
    expected = alone.at.force[lock] - PER_FORCE * force * along.law.dpsi[lock] / 0.075
    assert helped.at.force[lock] == pytest.approx(expected, rel=1e-9)
    assert (helped.curves.force <= alone.curves.force + 1e-12).all()


def test_the_foot_moves_no_event() -> None:
    """Whoever pushes, the pressure depends on where the rocker stands."""
    helped, alone = (pull(with_pedal(force)).levers[0] for force in (40.0, 0.0))
    np.testing.assert_array_equal(helped.events.theta, alone.events.theta)
    np.testing.assert_allclose(
        helped.at.rockers[0].load.pressure, alone.at.rockers[0].load.pressure, rtol=1e-12
    )


def test_foot_alone_locks_at_the_pedal_force_that_is_read_off() -> None:
    """By hand: lock pressure times plunger area plus its spring, on 16 mm, over the pedal's torque per newton."""
    known = with_pedal()
    pressure, travel = locking(known)
    plunger = pressure * AREA + 10 + 1200 * (travel - 0.2e-3)
    by_hand = plunger * 0.016 / PER_FORCE
    readouts = pull(known).brake
    assert readouts is not None
    assert readouts.foot_lock == pytest.approx(by_hand, rel=1e-9)
    with_foot = pull(without_friction(with_pedal(by_hand))).levers[0]
    lock = with_foot.events.index("lock-up 0")
    # the rocker asks for nothing more: the finger holds the lever's own spring
    theta = with_foot.events.theta[lock]
    assert with_foot.at.force[lock] * 0.075 == pytest.approx(0.12 + 2e-3 * np.degrees(theta), rel=1e-6)
    pushed = with_foot.at.rocker("brake")
    assert pushed is not None
    assert pushed.contact[lock] == pytest.approx(0.0, abs=1e-6)


def test_foot_alone_on_a_pin_takes_the_shorter_arm() -> None:
    job = pin_job()
    typed = job.model_dump(exclude_unset=True) | {"pedal": PEDAL}
    known = mechanism(type(job).model_validate(typed))
    pressure, travel = locking(known)
    arm = 0.016 * np.cos(np.arcsin(travel / 0.016))
    by_hand = (pressure * AREA + 10 + 1200 * (travel - 0.2e-3)) * arm / PER_FORCE
    readouts = pull(known).brake
    assert readouts is not None
    assert readouts.foot_lock == pytest.approx(by_hand, rel=1e-9)


def test_without_a_pedal_there_is_no_foot() -> None:
    readouts = pull(mechanism(example())).brake
    assert readouts is not None
    assert np.isnan(readouts.foot_lock)


def test_a_hand_that_the_foot_has_outrun_feels_the_levers_spring_alone() -> None:
    """Up to the stroke that the foot has made the cam does not touch: only springs and the pin are left."""
    far = pull(without_friction(with_pedal(1000.0))).levers[0].curves
    own = (0.12 + 2e-3 * np.degrees(far.theta)) / 0.075
    np.testing.assert_allclose(far.force, own, rtol=1e-12)
    np.testing.assert_allclose(far.rockers[0].contact, 0.0, atol=1e-12)


def test_hand_takes_over_where_the_foot_stands() -> None:
    """The foot alone holds a pressure; the hand feels its cam from the stroke of that pressure on."""
    force = 50.0
    known = without_friction(with_pedal(force))
    load = rocker_with(known, "brake").load
    assert isinstance(load, BrakeLine)

    def left(pressure: float) -> float:
        travel = swallowed(load.circuit, pressure) / AREA + 1.0e-3
        return (pressure * AREA + 10 + 1200 * (travel - 0.2e-3)) * 0.016 - PER_FORCE * force

    held = swallowed(load.circuit, root(left, 1e8)) / AREA + 1.0e-3
    curves = pull(known, 4000).levers[0].curves
    along = curves.rockers[0]
    touched = along.contact > 1e-9
    assert along.load.stroke[touched].min() == pytest.approx(held, rel=1e-3)
    assert along.load.stroke[~touched].max() == pytest.approx(held, rel=1e-3)


def test_a_trapped_idle_branch_makes_the_lever_heavier() -> None:
    """An idle branch with a shut port is a closed spring: (A b)^2/K per radian of rocker, by hand."""
    free, trapped = (pull(without_friction(with_pedal(open_port=known))).levers[0] for known in (True, False))
    rate = (AREA * 0.016) ** 2 / 1.5e-14
    along = free.curves.rockers[0]
    extra = rate * (along.law.psi - np.radians(35)) * along.law.dpsi / 0.075
    np.testing.assert_allclose(trapped.curves.force - free.curves.force, extra, rtol=1e-9, atol=1e-12)
    one, other = (pull(with_pedal(open_port=known)).brake for known in (True, False))
    assert one is not None
    assert other is not None
    assert other.force_lock[0] > 2 * one.force_lock[0]
    assert other.travel_lock == pytest.approx(one.travel_lock, rel=1e-12)


def test_foot_and_many_cams() -> None:
    """What locks with the foot does not depend on the cam."""
    cams = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke) for stroke in (7.0, 7.5, 8.0)]
    job = example(pedal=PEDAL)
    readouts = pull(mechanism(job, Choice(brake=cams), foot_force=30.0)).brake
    assert readouts is not None
    assert readouts.foot_lock.shape == (3,)
    np.testing.assert_allclose(readouts.foot_lock, readouts.foot_lock[0], rtol=1e-12)


def test_more_foot_is_never_a_heavier_hand() -> None:
    """With friction, too."""
    forces = [pull(with_pedal(force)).levers[0].curves.pull for force in (0.0, 20.0, 40.0, 80.0)]
    assert (np.diff(np.stack(forces), axis=0) <= 1e-9).all()


def test_pedal_leaves_the_clutch_alone() -> None:
    one, other = (pull(known).clutch for known in (with_pedal(50.0), with_pedal()))
    assert one is not None
    assert other is not None
    assert one.force_peak == other.force_peak
    assert replace(one, force_peak=other.force_peak).travel_free == other.travel_free
