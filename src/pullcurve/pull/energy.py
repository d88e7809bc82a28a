"""Energy that a load takes on its way: what no cam can change, because force times travel is set by the load."""

import numpy as np

from pullcurve.mechanics import circuit, curve
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BrakeLine, ClutchCable, ClutchLine, Plunger


def _plunger_energy(plunger: Plunger, moved: FloatArray) -> FloatArray:
    """Energy of a plunger's return spring after a travel [J]."""
    return np.asarray(plunger.spring * moved + plunger.spring_rate * moved**2 / 2)


def brake_energy(load: BrakeLine, pressure: FloatArray) -> FloatArray:
    """Energy stored in the brake line and its plunger spring at a pressure, (...) [J]."""
    pressure = np.asarray(pressure, dtype=np.float64)
    moved = circuit.demand(load.circuit, pressure)[0] / load.plunger.area + load.plunger.port
    return circuit.stored_energy(load.circuit, pressure) + _plunger_energy(load.plunger, moved)


def clutch_energy(load: ClutchLine | ClutchCable, lift: FloatArray) -> FloatArray:
    """Energy stored in clutch springs, line or cable, and plunger spring at a plate lift, (...) [J]."""
    lift = np.asarray(lift, dtype=np.float64)
    force = curve.evaluate(load.release, lift)[0]
    springs = curve.integral(load.release, lift)
    if isinstance(load, ClutchCable):
        tension = force / load.lift_ratio
        return np.asarray(springs + tension**2 / (2 * load.stiffness))
    volume = circuit.lift_volume(lift, load.slave_area, load.release, load.compliance)[0]
    line = circuit.stored_energy(load.compliance, force / load.slave_area)
    return springs + line + _plunger_energy(load.plunger, volume / load.plunger.area + load.plunger.port)
