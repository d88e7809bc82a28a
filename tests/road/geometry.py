"""Cam geometry by tracing: the metal as a fine polyline, the contact where the roller touches it.

Slot frame: lever pivot O at the origin, rocker pivot A at (a, 0), roller centre
B = (a - l cos psi, l sin psi).
Nothing here differentiates a law or knows a formula for the contact normal.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import shapely
from numpy.polynomial import Polynomial
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats: TypeAlias = NDArray[np.float64]
LawOf: TypeAlias = Callable[[Floats | float], Floats]
"""The law psi(theta) [rad], defined beyond both ends of the used angle too."""

COARSE = 16
"""Every so many corners one is looked at to find the neighbourhood of the nearest one."""

WINDOW = 64
"""So many segments are looked at on each side of the nearest coarse corner."""


def turned(points: Floats, angle: Floats | float) -> Floats:
    """Points (..., 2) turned counter-clockwise about the origin."""
    c, s = np.cos(angle), np.sin(angle)
    x, y = points[..., 0], points[..., 1]
    return np.stack([c * x - s * y, s * x + c * y], axis=-1)


@dataclass(frozen=True, slots=True)
class Plan:
    """The sizes of one slot in SI: a, l, r, sigma, and the law with the angle that is used of it."""

    law: LawOf
    span: float
    distance: float
    arm: float
    roller: float
    sigma: int

    def centre(self, psi: Floats | float) -> Floats:
        """The roller centre in the slot frame for a rocker angle."""
        return np.stack([self.distance - self.arm * np.cos(psi), self.arm * np.sin(psi)], axis=-1)


@dataclass(frozen=True, slots=True)
class Contact:
    """Where the roller sits: rocker angle, contact point and the direction from it to the roller centre."""

    psi: float
    point: Floats
    normal: Floats


@dataclass(frozen=True, slots=True)
class Metal:
    """The traced profile in the cam frame, the path of the roller centre it came from, and the plan."""

    plan: Plan
    pitch: Floats
    profile: Floats
    lowest: float
    highest: float
    edges: Floats = field(repr=False)
    squares: Floats = field(repr=False)


def offset(line: Floats, distance: float, toward: Floats) -> Floats:
    """The line shifted sideways by the distance, corner by corner, to the side on which `toward` lies.

    Each segment is shifted along its own perpendicular; neighbours meet where the shifted segments cross.
    """
    step = np.diff(line, axis=0)
    side = np.stack([-step[:, 1], step[:, 0]], axis=1) / np.hypot(step[:, 0], step[:, 1])[:, None]
    middle = len(step) // 2
    if side[middle] @ (toward - line[middle]) < 0:
        side = -side
    before, after = np.vstack([side[:1], side]), np.vstack([side, side[-1:]])
    # The crossing of two shifted lines lies on the bisector, 2 d / |n1 + n2| away from the corner.
    both = before + after
    return np.asarray(line + 2 * distance * both / (both**2).sum(axis=1)[:, None])


def trace(plan: Plan, points: int = 4000, margin: float = 0.07) -> Metal:
    """Cut the cam: carry the roller along its path and keep what its rim leaves on the side of the pivot."""
    theta = np.linspace(-margin, plan.span + margin, points + 1)
    psi = plan.law(theta)
    pitch = turned(plan.centre(psi), -plan.sigma * theta)
    profile = offset(pitch, plan.roller, np.zeros(2))
    edges = np.diff(profile, axis=0)
    return Metal(plan, pitch, profile, float(psi.min()), float(psi.max()), edges, (edges**2).sum(axis=1))


def is_cuttable(metal: Metal, slack: float = 1e-6) -> bool:
    """Whether the profile is one clean line and the roller, anywhere on its path, never cuts into it."""
    line = shapely.LineString(metal.profile[::4])
    along = (np.diff(metal.pitch, axis=0) * metal.edges).sum(axis=1)
    if along.min() <= 0 or not line.is_simple:
        return False
    gaps = shapely.distance(shapely.points(metal.pitch[::20]), shapely.LineString(metal.profile))
    return bool(gaps.min() >= metal.plan.roller - slack)


def _nearest(metal: Metal, point: Floats) -> tuple[float, Floats]:
    """Signed distance from the profile to a point in the cam frame (outside: positive), and the foot."""
    far = metal.profile[::COARSE] - point
    middle = COARSE * int(np.argmin(far[:, 0] ** 2 + far[:, 1] ** 2))
    part = slice(max(middle - WINDOW, 0), middle + WINDOW)
    start, edge = metal.profile[:-1][part], metal.edges[part]
    to = point - start
    share = np.clip((to[:, 0] * edge[:, 0] + to[:, 1] * edge[:, 1]) / metal.squares[part], 0, 1)
    feet = start + share[:, None] * edge
    away = point - feet
    square = away[:, 0] ** 2 + away[:, 1] ** 2
    at = int(np.argmin(square))
    outward = metal.pitch[part][at] - start[at]
    sign = 1.0 if away[at] @ outward >= 0 else -1.0
    return sign * float(np.sqrt(square[at])), feet[at]


def _foot(metal: Metal, point: Floats, around: int = 8) -> Floats:
    """Where the profile comes nearest, between the corners: the lowest place of a cubic through the squares.

    The nearest point of one facet would turn the normal by up to half the bend between two facets.
    """
    squares = ((metal.profile - point) ** 2).sum(axis=1)
    middle = int(np.argmin(squares))
    places = np.arange(-around, around + 1)
    valley = Polynomial.fit(places, squares[middle - around : middle + around + 1], 3)
    flat = valley.deriv().roots()
    share = float(flat[np.argmin(np.abs(flat))].real)
    corners = metal.profile[middle + int(np.floor(share)) :][:2]
    return np.asarray(corners[0] + (share - np.floor(share)) * (corners[1] - corners[0]))


def touch(metal: Metal, theta: float, room: float = 0.12) -> Contact:
    """Let the rocker come in until the roller touches the cam, which stands turned by sigma theta."""
    plan = metal.plan
    turn = plan.sigma * theta

    def gap(psi: float) -> float:
        # Turning the roller back is the same as turning the cam on, and cheaper.
        return _nearest(metal, turned(plan.centre(psi), -turn))[0] - plan.roller

    psi = float(brentq(gap, metal.lowest - room, metal.highest + room, xtol=1e-13))
    centre = plan.centre(psi)
    point = turned(_foot(metal, turned(centre, -turn)), turn)
    normal = (centre - point) / np.hypot(*(centre - point))
    return Contact(psi, point, normal)


def pressure_angle(plan: Plan, contact: Contact) -> float:
    """The angle between the contact normal and the way the roller centre goes when psi grows."""
    ahead = np.array([np.sin(contact.psi), np.cos(contact.psi)])
    return float(np.arccos(np.clip(contact.normal @ ahead, -1, 1)))
