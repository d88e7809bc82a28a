"""The solver against the independent road: the same random mechanisms, two ways to every angle and every force.

The two share the sizes that go in and nothing else: the package knows the contact normal, its slope and the
inverse of every load in closed form or by Newton steps; the road traces the metal, lets the roller touch it,
differentiates stored energy, and balances forces about the pins.
"""

from dataclasses import dataclass
from math import atan

import numpy as np
import pytest
from numpy.polynomial import Polynomial

from pullcurve.mechanics.circuit import Circuit
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.pull import arrays
from pullcurve.pull.solve import LeverCurves, solve
from tests.road import loads, road
from tests.road.mechanisms import SPAN, Falling, Rising, random_mechanisms

SEED = 2024
COUNT, FIRST = 200, 40
STATIONS = 7
REACH = 0.03

ANGLE_CLOSE = 1e-6
"""Allowed difference of a rocker angle [rad]."""

CLOSE, FLOOR = 5e-3, 5e-4
"""Allowed difference of a force, as a share of itself and of the largest force of its pull."""


# The same mechanism in the package's words ------------------------------------------------------------------


def rising(law: Rising) -> Curve:
    """One piece; powers of theta instead of powers of the share."""
    powers = np.array([law.psi0, *law.coefficients]) / law.span ** np.arange(len(law.coefficients) + 1)
    return Curve(np.array([0.0, law.span]), powers[None, :])


def falling(law: Falling) -> Curve:
    """Neutral, blend, straight fall."""
    share = Polynomial([0.0, 0.0, 0.0, 1.0, -0.5])
    blend = -law.fall * law.blend * share.coef / law.blend ** np.arange(5)
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
        drives=DRIVES[type(slot.load)],  # type: ignore[index]
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
class Both:
    """One mechanism at its stations, by the solver and by the road; stations on the last axis."""

    solver: LeverCurves
    psi: FloatArray
    pressure: FloatArray
    force: FloatArray
    pull: FloatArray
    release: FloatArray


def both(number: int) -> Both:
    known = random_mechanisms(COUNT, SEED)[number]
    theta = np.linspace(0.0, SPAN, STATIONS)
    still = [road.road_pull(known, float(angle)) for angle in theta]
    pull, back = (
        np.array([road.road_friction(known, float(angle), way) for angle in theta]) for way in (1, -1)
    )
    return Both(
        solve(lever(known), theta, arrays.Wear()),
        np.stack([one.psi for one in still], axis=-1),
        np.stack([one.pressure for one in still], axis=-1),
        np.array([one.force for one in still]),
        pull,
        back,
    )
