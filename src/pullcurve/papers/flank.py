"""Exact points of a cam's flank at any lever angle: metal, normal and roller centre, from the law."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import FloatArray, evaluate, hermite
from pullcurve.pull.plate import Metal


@dataclass(frozen=True, slots=True)
class FlankPoints:
    """What stands at some lever angles, each (N,) or (N, 2): angles [rad], points [m], normal out of the metal."""

    theta: FloatArray
    psi: FloatArray
    metal: FloatArray
    normal: FloatArray
    roller: FloatArray


def flank_at(metal: Metal, theta: FloatArray) -> FlankPoints:
    """Points of the flank at lever angles within its own; the law between stations is a quintic."""
    state = metal.law
    curve = hermite(metal.theta, state.psi, state.dpsi, state.d2psi)
    psi, dpsi, _ = evaluate(curve, theta)
    geometry = (metal.centre_distance, metal.arm, metal.sense)
    roller, cut = (
        np.stack(contact.outline(theta, psi, dpsi, *geometry, inward), axis=-1)
        for inward in (0.0, metal.roller_radius)
    )
    return FlankPoints(theta, psi, cut, (roller - cut) / metal.roller_radius, roller)


def cutter_path(metal: Metal, chord: float) -> FloatArray:
    """Centres of the cutter along the flank, close enough that no chord is further off than asked, (N, 2) [m]."""
    points = metal.cutter
    middle = (metal.theta[1:] + metal.theta[:-1]) / 2
    off = float(np.max(away(_cutter(metal, middle), points[:-1], points[1:])))
    if off <= chord:
        return points
    pieces = (len(points) - 1) * int(np.ceil(1.05 * np.sqrt(off / chord)))
    return _cutter(metal, np.linspace(metal.theta[0], metal.theta[-1], pieces + 1))


def _cutter(metal: Metal, theta: FloatArray) -> FloatArray:
    """Centre of the cutter that just touches the flank at some lever angles."""
    found = flank_at(metal, theta)
    return found.metal + metal.cutter_radius * found.normal


def away(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distance of every point from the straight line through its own pair of points."""
    along = end - start
    offset = points - start
    cross = along[:, 0] * offset[:, 1] - along[:, 1] * offset[:, 0]
    return np.abs(cross) / np.hypot(along[:, 0], along[:, 1])
