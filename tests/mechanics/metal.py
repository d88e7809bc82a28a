"""Whole cams for tests: a flank from a known law, closed by straight lines and a hub arc of the test's own."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import Law, fall_curve, law, rise_curve

RADIANS = np.pi / 180
FLANK = 26 * RADIANS
HUB = 0.011


@dataclass(frozen=True)
class Plate:
    """A cam with a known law, and its rocker."""

    curve: Curve
    sense: float
    rest_angle: float
    centre_distance: float = 0.040
    arm: float = 0.020
    roller_radius: float = 0.004

    @property
    def geometry(self) -> tuple[float, float, float, float, float]:
        """What reading an outline asks for before the lever angles."""
        return self.centre_distance, self.arm, self.roller_radius, self.rest_angle, self.sense

    @property
    def rocker(self) -> tuple[float, float, float, float]:
        """The same without the rest angle."""
        return self.centre_distance, self.arm, self.roller_radius, self.sense

    def law(self, theta: FloatArray) -> Law:
        """The law that the metal was made from."""
        return law(self.curve, theta)

    def flank(self, chord: float) -> FloatArray:
        """Points of the flank in the order of the pull, three degrees more at both ends [m]."""
        theta = np.linspace(-3 * RADIANS, FLANK + 3 * RADIANS, round(64 * np.sqrt(1e-6 / chord)))
        state = self.law(theta)
        x, y = contact.outline(
            theta, state.psi, state.dpsi, self.centre_distance, self.arm, self.sense, self.roller_radius
        )
        return np.stack([x, y], axis=-1)

    def outline(self, chord: float = 1e-6) -> FloatArray:
        """The whole closed outline; the distance of curve and chord stays below ``chord`` [m]."""
        flank = self.flank(chord)
        first, last = np.arctan2(flank[[0, -1], 1], flank[[0, -1], 0])
        way = -self.sense  # the flank runs clockwise for +1
        start, end = last + way * 1.1, first - way * 1.1
        sweep = way * ((end - start) * way % (2 * np.pi))
        count = int(abs(sweep) / np.sqrt(8 * chord / HUB)) + 2
        angle = start + sweep * np.linspace(0.0, 1.0, count)
        return np.concatenate([flank, HUB * np.stack([np.cos(angle), np.sin(angle)], axis=-1)])


def rise(sense: float = 1.0, turn: float = 0.45, take_up: float = 0.02) -> Plate:
    """A brake or clutch cam."""
    rest = 35 * RADIANS
    return Plate(rise_curve(rest, turn, take_up, FLANK), sense, rest)


def fall(sense: float = 1.0) -> Plate:
    """An assist cam: neutral, blend, fall."""
    rest = 65 * RADIANS
    return Plate(fall_curve(rest, 8 * RADIANS, 6 * RADIANS, 0.4), sense, rest)
