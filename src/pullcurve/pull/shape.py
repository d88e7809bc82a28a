"""What a cam's shape asks for: the roller it can carry, the steepest push, the roundest and the hollowest place."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import law
from pullcurve.pull.arrays import Rocker

SHAPE_STATIONS = 96


@dataclass(frozen=True, slots=True)
class Shape:
    """Extremes along the used flank, (...): smallest convex pitch radius and hollow radius [m], pressure angle [rad].

    ``roller_spare`` is the smallest convex pitch radius less the roller's; inf where nothing is convex (or hollow).
    """

    convex_radius: FloatArray
    hollow_radius: FloatArray
    roller_spare: FloatArray
    pressure_angle: FloatArray


def cam_shape(rocker: Rocker, end: FloatArray) -> Shape:
    """Extremes of one rocker's cam from rest to the end of the lever's travel ``end`` (..., 1) [rad]."""
    theta = end * np.linspace(0.0, 1.0, SHAPE_STATIONS)
    state = law(rocker.law, theta)
    geometry = (rocker.centre_distance, rocker.arm, rocker.sense)
    alpha = contact.pressure_angle(state.psi, state.dpsi, *geometry)
    bend = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    most, least = np.max(bend, axis=-1), np.min(bend, axis=-1)
    convex = np.where(most > 0, 1.0 / np.where(most > 0, most, 1.0), np.inf)
    hollow = np.where(least < 0, -1.0 / np.where(least < 0, least, -1.0), np.inf)
    return Shape(convex, hollow, convex - rocker.roller_radius, np.max(np.abs(alpha), axis=-1))
