"""Where a rocker lies when a control unit is seen along its pivot: from the cam's frame to the drawing.

The drawing is in mm, the lever pivot at its origin, seen from above as the rider sees the left handlebar: x to the
right, toward the steering head, y away from the grip.
"""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number
from pullcurve.pull.arrays import Lever, Rocker
from pullcurve.units import from_si


@dataclass(frozen=True, slots=True)
class Seen:
    """How one rocker is seen: directions (2, 2) of the cam's frame in the drawing."""

    turn: FloatArray
    rocker: Rocker

    def direction(self, x: Number, y: Number) -> FloatArray:
        """Directions of the cam's frame as directions in the drawing, (..., 2)."""
        return np.stack(np.broadcast_arrays(x, y), axis=-1) @ self.turn.T

    def place(self, points: FloatArray) -> FloatArray:
        """Points (..., 2) of the cam's frame [m] in the drawing [mm], the cam at rest."""
        return from_si("x_mm", 1.0) * points @ self.turn.T

    @property
    def pivot(self) -> FloatArray:
        """The rocker's pivot, (2,) [mm]."""
        return self.place(np.array([float(self.rocker.centre_distance), 0.0]))

    def roller(self, psi: FloatArray) -> FloatArray:
        """Roller centre at rocker angles, (..., 2) [mm]."""
        arm = float(self.rocker.arm)
        x = float(self.rocker.centre_distance) - arm * np.cos(psi)
        return self.place(np.stack([x, arm * np.sin(psi)], axis=-1))

    @property
    def outward(self) -> FloatArray:
        """Direction from the rocker's pivot to the roller at rest, (2,)."""
        rest = float(self.rocker.rest_angle)
        return self.direction(-np.cos(rest), np.sin(rest))

    @property
    def forward(self) -> FloatArray:
        """Direction in which the roller starts when the rocker angle grows, (2,)."""
        rest = float(self.rocker.rest_angle)
        return self.direction(np.sin(rest), np.cos(rest))

    def turned(self, psi: FloatArray) -> FloatArray:
        """How far the rocker has turned from rest, counter-clockwise in the drawing [deg]."""
        return from_si("turn_deg", 1.0) * -float(self.rocker.sense) * (psi - float(self.rocker.rest_angle))


def seen(rocker: Rocker) -> Seen:
    """A rocker as it is seen: mirrored where it turns against the cam, turned to its bearing, tip to the left."""
    bearing, sense = float(rocker.bearing), float(rocker.sense)
    c, s = np.cos(bearing), np.sin(bearing)
    from_above = np.array([[-1.0, 0.0], [0.0, 1.0]])
    return Seen(from_above @ np.array([[c, -s], [s, c]]) @ np.array([[1.0, 0.0], [0.0, -sense]]), rocker)


def along_blade(lever: Lever, theta: Number, along: Number, front: Number = 0.0) -> FloatArray:
    """Points of a blade by their distance along it and in front of its rear face, (..., 2) in the drawing [mm]."""
    angle = np.asarray(lever.rest_angle - lever.reach - theta)
    c, s = np.cos(angle), np.sin(angle)
    return np.stack(np.broadcast_arrays(front * s - along * c, along * s + front * c), axis=-1)


def push_of_finger(lever: Lever, theta: FloatArray) -> FloatArray:
    """Direction of the finger's pull, at right angles to the blade and toward the grip, (..., 2)."""
    angle = np.asarray(lever.rest_angle - lever.reach - theta)
    return np.stack([-np.sin(angle), -np.cos(angle)], axis=-1)
