"""Where on the pull bite, lock-up, first slip, free and clean lie."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import circuit, curve
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BrakeLine, ClutchCable, ClutchLine, Lever, Mechanism, Plates, Rocker, Wheel
from pullcurve.pull.solve import psi_at_stroke

LAW_PARTS = 8
"""Brackets per piece of a cam law when an event is located."""

SHARES = (0.2, 0.5, 0.8)
"""Shares of the lock-up pressure: gain is read from the first to the last, friction at the middle one."""


@dataclass(frozen=True, slots=True)
class Events:
    """Names and lever angles of what happens along a pull: ``theta`` is (..., E), NaN where the travel ends before."""

    names: tuple[str, ...]
    theta: FloatArray

    def index(self, name: str) -> int:
        """Place of an event on the last axis."""
        return self.names.index(name)


def theta_at_stroke(rocker: Rocker, stroke: FloatArray) -> FloatArray:
    """Lever angle at which the load's line has travelled a given stroke; NaN where it starts beyond, (..., E)."""
    psi = psi_at_stroke(rocker, stroke)
    knots = curve.subdivide(rocker.law, LAW_PARTS)
    return curve.invert(lambda theta: curve.evaluate(rocker.law, theta)[:2], knots, psi)


def _brake_events(rocker: Rocker, load: BrakeLine, wheel: Wheel) -> tuple[tuple[str, ...], FloatArray]:
    """Bite, lock-up on each surface, and the shares of the first lock-up."""
    lock = wheel.lock_pressure
    levels = np.concatenate([[wheel.bite_pressure], lock, lock[0] * np.array(SHARES)])
    plunger = load.plunger
    stroke = circuit.demand(load.circuit, levels)[0] / plunger.area + plunger.port + plunger.rest_gap
    names = ("bite", *(f"lock-up {k}" for k in range(lock.size)), "gain from", "half lock-up", "gain to")
    return names, theta_at_stroke(rocker, stroke)


def _clutch_events(
    rocker: Rocker, load: ClutchLine | ClutchCable, plates: Plates
) -> tuple[tuple[str, ...], FloatArray]:
    """First slip, free and clean."""
    lifts = np.array([plates.slip_lift, plates.free_lift, plates.clean_lift])
    if isinstance(load, ClutchCable):
        force = curve.evaluate(load.release, lifts)[0]
        stroke = load.free_play + load.lift_ratio * lifts + force / load.lift_ratio / load.stiffness
    else:
        volume = circuit.lift_volume(lifts, load.slave_area, load.release, load.compliance)[0]
        stroke = volume / load.plunger.area + load.plunger.port + load.plunger.rest_gap
    return ("first slip", "free", "clean"), theta_at_stroke(rocker, stroke)


def find_events(lever: Lever, mechanism: Mechanism, end: FloatArray) -> Events:
    """All events of one lever, exact to the last bit of the inversion, not interpolated between stations."""
    names: tuple[str, ...] = ()
    found = [np.zeros((*end.shape[:-1], 0))]
    for rocker in lever.rockers:
        load = rocker.load
        if isinstance(load, BrakeLine) and mechanism.wheel:
            new, theta = _brake_events(rocker, load, mechanism.wheel)
        elif isinstance(load, ClutchLine | ClutchCable) and mechanism.plates:
            new, theta = _clutch_events(rocker, load, mechanism.plates)
        else:
            continue
        names += new
        found.append(theta)
    shape = np.broadcast_shapes(*(part.shape[:-1] for part in found))
    theta = np.concatenate([np.broadcast_to(part, shape + part.shape[-1:]) for part in found], axis=-1)
    return Events(names, np.where(theta > end, np.nan, theta))
