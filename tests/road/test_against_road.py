"""The solver against the independent road: the same random mechanisms, two ways to every angle and every force.

The two share the sizes that go in and nothing else: the package knows the contact normal, its slope and the
inverse of every load in closed form or by Newton steps; the road traces the metal, lets the roller touch it,
differentiates stored energy, and balances forces about the pins.
"""

from dataclasses import dataclass, replace
from math import atan

import numpy as np
import pytest

from pullcurve.mechanics.circuit import Circuit
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.pull import arrays
from pullcurve.pull.solve import solve
from tests.road import loads, road
from tests.road.mechanisms import SPAN, Falling, Rising, random_mechanism

SEED = 2024
COUNT, BLOCK = 200, 20
THETA = np.linspace(0.0, SPAN, 7)
REACH = 0.1
WORN = arrays.Wear(seals=1.7, pins=1.4, cable=1.5)

CLOSE = 2e-4
"""Allowed difference of forces and pressures [-], and of rocker angles [mrad].

The road's own error is some 5e-5, where a load's slope steps inside its difference of energies.
"""


# The same mechanism in the package's words ------------------------------------------------------------------


def rising(law: Rising) -> Curve:
    """One piece; powers of theta instead of powers of the share."""
    powers = np.array([law.psi0, *law.coefficients]) / law.span ** np.arange(len(law.coefficients) + 1)
    return Curve(np.array([0.0, law.span]), powers[None, :])


def falling(law: Falling) -> Curve:
    """Neutral, blend, straight fall."""
    blend = -law.fall * law.blend * np.array([0.0, 0.0, 0.0, 1.0, -0.5]) / law.blend ** np.arange(5)
    blend[0] = law.psi0
    end = law.psi0 - law.fall * law.blend / 2
    rows = np.zeros((3, 5))
    rows[0, 0], rows[1], rows[2, :2] = law.psi0, blend, (end, -law.fall)
    return Curve(np.array([0.0, law.onset, law.onset + law.blend, 2 * SPAN]), rows)


def circuit(demand: loads.Demand) -> Circuit:
    return Circuit(
        gap_volume=demand.gap,
        gap_pressure=demand.gap_pressure,
        seat_volume=demand.seat,
        seat_pressure=demand.seat_pressure,
        expansion=demand.linear,
        fluid_volume=demand.fluid,
        bulk_modulus=demand.bulk_modulus,
        air_volume=demand.air,
        air_exponent=demand.air_exponent,
    )


def plunger(known: loads.Plunger) -> arrays.Plunger:
    return arrays.Plunger(
        area=known.area,
        stroke_limit=1.0,
        rest_gap=known.rest_gap,
        port=known.port,
        spring=known.spring_force,
        spring_rate=known.spring_rate,
        seal=known.drag,
        seal_share=known.drag_share,
    )


def release(pack: loads.Pack) -> tuple[Curve, FloatArray]:
    """Climb over the spring-back, then the springs alone."""
    free, clamp, rate = pack.spring_back, pack.clamp, pack.rate
    rows = np.array([[0.0, rate + clamp / free, 0.0], [clamp + rate * free, rate, pack.bend]])
    return Curve(np.array([0.0, free, 6 * free]), rows), np.linspace(0.0, 6 * free, 61)


def load(known: loads.Load) -> arrays.Load:
    match known:
        case loads.Brake():
            return arrays.BrakeLine(plunger(known.plunger), circuit(known.demand))
        case loads.HydraulicClutch():
            return arrays.ClutchLine(
                plunger(known.plunger),
                known.slave_area,
                *release(known.pack),
                circuit(known.demand),
                known.slave_drag,
                known.slave_drag_share,
            )
        case loads.CableClutch():
            return arrays.ClutchCable(
                known.ratio, known.stiffness, known.wrap, known.free_play, *release(known.pack)
            )
        case loads.AssistSpring():
            return arrays.AssistSpring(known.preload, known.rate, known.torsion)
        case _:
            raise AssertionError(known)


DRIVES = {
    loads.Brake: "brake",
    loads.HydraulicClutch: "clutch",
    loads.CableClutch: "clutch",
    loads.AssistSpring: "assist",
}


def rocker(slot: road.Slot) -> arrays.Rocker:
    plan = slot.plan
    assert isinstance(plan.law, Rising | Falling)
    return arrays.Rocker(
        drives=DRIVES[type(slot.load)],
        centre_distance=plan.distance,
        arm=plan.arm,
        roller_radius=plan.roller,
        rest_angle=slot.psi_rest,
        sense=plan.sigma,
        bearing=slot.bearing,
        load_arm=slot.push_arm,
        pin_push=slot.guided_by_pin,
        pivot_drag=slot.rocker_pin.arm,
        roller_tilt=atan(slot.roller_pin.arm / plan.roller),
        law=rising(plan.law) if isinstance(plan.law, Rising) else falling(plan.law),
        load=load(slot.load),
    )


def lever(known: road.Lever) -> arrays.Lever:
    """The road's rest angle is that of the lever as it stands; the package counts the reach from another."""
    return arrays.Lever(
        name="lever",
        finger_radius=known.pad_radius,
        gauge_radius=known.pad_radius,
        rest_angle=known.rest_angle + REACH,
        reach=REACH,
        pivot_offset=0.03,
        grip_radius=0.016,
        gap_floor=0.015,
        stop=1.0,
        pin_drag=known.pin.arm,
        spring_torque=known.spring_torque,
        spring_rate=known.spring_rate,
        rockers=tuple(map(rocker, known.slots)),
    )


# Both ways --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Road:
    """One mechanism along its stations by the road; rockers lead, stations on the last axis."""

    psi: FloatArray
    pressure: FloatArray
    force: FloatArray
    pull: FloatArray
    release: FloatArray
    contact: tuple[FloatArray, FloatArray, FloatArray]


def walk(known: road.Lever) -> Road:
    """Station by station."""
    still = [road.road_pull(known, angle) for angle in THETA.tolist()]
    ways = [[road.balance(known, angle, way) for angle in THETA.tolist()] for way in (0, 1, -1)]
    forces = [np.array([one.force for one in way]) for way in ways]
    contacts = [np.stack([one.contact for one in way], axis=-1) for way in ways]
    return Road(
        np.stack([one.psi for one in still], axis=-1),
        np.stack([one.pressure for one in still], axis=-1),
        np.array([one.force for one in still]),
        forces[1],
        forces[2],
        (contacts[0], contacts[1], contacts[2]),
    )


def apart(ours: FloatArray, theirs: FloatArray) -> float:
    """Greatest difference relative to the value, or to a tenth of the greatest value where it is small."""
    shape = np.broadcast_shapes(ours.shape, theirs.shape)
    size = np.maximum(np.abs(theirs), 0.1 * np.abs(theirs).max(axis=-1, keepdims=True))
    off = np.abs(np.broadcast_to(ours, shape) - theirs)
    return float(np.max(np.divide(off, size, out=off.copy(), where=size > 0)))


def differences(number: int) -> dict[str, float]:
    """What the two ways disagree on, relative."""
    known = random_mechanism(number, SEED)
    ours, theirs = solve(lever(known), THETA, arrays.Wear()), walk(known)
    found = {
        "force": apart(ours.force, theirs.force),
        "pull": apart(ours.pull, theirs.pull),
        "release": apart(ours.release, theirs.release),
    }
    for place, one in enumerate(ours.rockers):
        found[f"angle of rocker {place}"] = float(np.abs(one.law.psi - theirs.psi[place]).max()) * 1e3
        if np.isfinite(theirs.pressure[place]).all():
            found[f"pressure of rocker {place}"] = apart(one.load.pressure, theirs.pressure[place])
        else:
            assert np.isnan(one.load.pressure).all()
        contacts = (one.contact, one.contact_pull, one.contact_release)
        for name, mine, other in zip(("still", "pull", "release"), contacts, theirs.contact, strict=True):
            found[f"contact of rocker {place}, {name}"] = apart(mine, other[place])
    return found


@pytest.mark.parametrize("block", range(0, COUNT, BLOCK))
def test_solver_and_road_agree(block: int) -> None:
    for number in range(block, block + BLOCK):
        too_far = {name: off for name, off in differences(number).items() if off > CLOSE}
        assert not too_far, f"mechanism {number}"


def worn(known: road.Lever) -> road.Lever:
    """The mechanism with more friction in every seal, pin and cable."""
    slots = []
    for slot in known.slots:
        one = slot.load
        if isinstance(one, loads.Brake | loads.HydraulicClutch):
            drag, share = one.plunger.drag * WORN.seals, one.plunger.drag_share * WORN.seals
            one = replace(one, plunger=replace(one.plunger, drag=drag, drag_share=share))
        if isinstance(one, loads.HydraulicClutch):
            drag, share = one.slave_drag * WORN.seals, one.slave_drag_share * WORN.seals
            one = replace(one, slave_drag=drag, slave_drag_share=share)
        if isinstance(one, loads.CableClutch):
            one = replace(one, wrap=one.wrap * WORN.cable)
        pins = worn_pin(slot.roller_pin), worn_pin(slot.rocker_pin)
        slots.append(replace(slot, load=one, roller_pin=pins[0], rocker_pin=pins[1]))
    return replace(known, slots=tuple(slots), pin=worn_pin(known.pin))


def worn_pin(pin: road.Pin) -> road.Pin:
    return replace(pin, friction=pin.friction * WORN.pins)


@pytest.mark.parametrize("number", range(14))
def test_cold_and_worn_release_agrees(number: int) -> None:
    known = random_mechanism(number, SEED)
    theirs = np.array([road.road_friction(worn(known), angle, -1) for angle in THETA.tolist()])
    # The package's factor turns the roller's friction angle, the road's its coefficient: tan(1.4 x) > 1.4 tan x.
    assert apart(solve(lever(known), THETA, WORN).release_worn, theirs) < 2e-3
