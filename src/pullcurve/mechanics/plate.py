"""The closed outline of a plate cam: working flank, two straight faces tangent to the hub, hub arc."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray

STRAIGHT = 1e-9
"""Sine of an angle that is rounding alone."""


def stations_for(length: float, curvature: float, chord_error: float, least: int) -> int:
    """How many equal steps keep a curve's chords within an error.

    The sagitta of a step ds is kappa ds^2/8.

    Parameters
    ----------
    length : float
        Length of the curve, s [m].
    curvature : float
        Largest curvature along it, kappa [1/m].
    chord_error : float
        Largest distance between chord and curve, e [m].
    least : int
        Fewest stations wanted [-].

    Returns
    -------
    int
        Stations, both ends counted [-].

    Source
    ------
    Sagitta of a circular arc (identity), second order.
    """
    step = np.sqrt(8.0 * chord_error / max(curvature, 1e-9))
    return max(least, int(np.ceil(length / step)) + 1)


def tangent_angle(point: FloatArray, radius: float, way: float) -> float:
    """Where the tangent from a point touches a circle about the origin, as an angle.

    phi + way acos(R/|P|).

    Parameters
    ----------
    point : FloatArray
        Point outside the circle, P, shape (2,) [m].
    radius : float
        Radius of the circle, R [m].
    way : float
        +1 for the tangent point counter-clockwise of the point, -1 clockwise [-].

    Returns
    -------
    float
        Angle of the tangent point; the point's own angle where it lies within the circle [rad].

    Source
    ------
    Right triangle of centre, point and tangent point (identity).
    """
    away = float(np.hypot(point[0], point[1]))
    return float(np.arctan2(point[1], point[0])) + way * float(np.arccos(min(1.0, radius / away)))


def face(
    end: FloatArray, before: FloatArray, hub_radius: float, roller_radius: float, way: float
) -> tuple[FloatArray, float]:
    """Straight face from an end of the flank to the hub: its knee, where it has one, and where it meets the hub.

    The face is the tangent from the flank's end to the hub. Where that would make a hollow corner, in which a roller
    could stand on the face, the flank's own direction is kept as far as the common tangent of the hub and of a roller
    that stands at the flank's end.

    Parameters
    ----------
    end : FloatArray
        End of the flank, P, shape (2,) [m].
    before : FloatArray
        Point of the flank next to its end, shape (2,) [m].
    hub_radius : float
        Radius of the hub about the lever pivot, R [m].
    roller_radius : float
        Radius of the roller, r [m].
    way : float
        +1 where the face lies counter-clockwise of the flank's end, -1 clockwise [-].

    Returns
    -------
    tuple of FloatArray and float
        Points between flank and hub, shape (0, 2) or (1, 2) [m]; angle at which the face meets the hub [rad].

    Source
    ------
    Plane geometry: common tangent of two circles, crossing of two lines (identity).
    """
    foot = tangent_angle(end, hub_radius, way)
    onward = (end - before) / np.hypot(*(end - before))
    straight = hub_radius * np.array([np.cos(foot), np.sin(foot)]) - end
    hollow = way * (straight[0] * onward[1] - straight[1] * onward[0])
    if hollow <= STRAIGHT * hub_radius or np.hypot(*end) <= hub_radius:
        return np.zeros((0, 2)), foot
    roller = end + roller_radius * way * np.array([onward[1], -onward[0]])
    foot = tangent_angle(roller, hub_radius + roller_radius, way)
    outward = np.array([np.cos(foot), np.sin(foot)])
    knee = end + (hub_radius - end @ outward) / (onward @ outward) * onward
    return knee[None], foot


def closed_outline(
    flank: FloatArray, hub_radius: float, roller_radius: float, way: float, chord_error: float
) -> tuple[FloatArray, slice]:
    """Closed outline of a cam from its flank: straight faces from both ends tangent to the hub, then the hub's arc.

    Parameters
    ----------
    flank : FloatArray
        Points of the flank in the order of the pull, shape (S, 2) [m].
    hub_radius : float
        Radius of the hub about the lever pivot, R [m].
    roller_radius : float
        Radius of the roller that has to clear the faces, r [m].
    way : float
        Sense in which the flank runs about the pivot, +1 counter-clockwise, -1 clockwise [-].
    chord_error : float
        Largest distance between a chord of the hub's arc and the arc, e [m].

    Returns
    -------
    tuple of FloatArray and slice
        Points (P, 2) counter-clockwise without a repeated end point, and the place of the flank in them [m].

    Source
    ------
    Plane geometry (identity).
    """
    stop, start = face(flank[-1], flank[-2], hub_radius, roller_radius, way)
    rest, end = face(flank[0], flank[1], hub_radius, roller_radius, -way)
    sweep = way * ((end - start) * way % (2 * np.pi))
    step = 2.0 * np.arccos(1.0 - min(chord_error / hub_radius, 1.0))
    angles = start + sweep * np.linspace(0.0, 1.0, max(3, int(np.ceil(abs(sweep) / step)) + 1))
    arc = hub_radius * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    points, first = np.concatenate([rest, flank, stop, arc]), len(rest)
    if way < 0:
        points = points[::-1]
        first = len(arc) + len(stop)
    return points, slice(first, first + len(flank))
