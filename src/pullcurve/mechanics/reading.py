"""From a measured outline back to the law: where a roller on its rocker lands on the metal at each lever angle.

Frame and signs as in :mod:`pullcurve.mechanics.contact`. Every point of the outline keeps the roller centre off an
interval of rocker angles; where these intervals end upward, with free room above, the roller can rest. That is the
outline offset outward by the roller radius, met with the rocker's circle, without ever forming the offset curve: a
concave place too tight for the roller is bridged as the real roller bridges it.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray

CORNER = 0.35
"""Turn of the outline at one point above which it is a corner and no part of a curve [rad]."""

FLATTEST = 1e-3
"""Curvature below which three points count as straight [1/m]: 0.03 nm over a chord of 0.5 mm."""

TURNS = 360
"""Turns that the clocking tries before it refines the best."""

STEPS = 8
"""Gauss-Newton steps of the clocking: from half a degree away to the last digits of a smooth law."""

FACE_SPREAD = 0.017
"""Spread of directions over which sides count to one straight face [rad]: one degree."""

Whole = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class ReadLaw:
    """Law read off an outline, each (S,): NaN where the roller finds no metal.

    ``theta`` and ``psi`` [rad]; ``contacts`` counts the rocker angles at which the roller can rest: 0, 1 or more. Of
    several the one nearest to the line through the rest angle and the angles without doubt is given. ``alpha`` is the
    pressure angle of the metal's own normal [rad], ``touch`` (S, 2) the contact in the cam frame [m].
    """

    theta: FloatArray
    psi: FloatArray
    contacts: Whole
    alpha: FloatArray
    touch: FloatArray

    @property
    def missing(self) -> FloatArray:
        """Lever angles without contact [rad]."""
        return np.asarray(self.theta[self.contacts == 0])

    @property
    def doubtful(self) -> FloatArray:
        """Lever angles at which the roller can rest at more than one rocker angle [rad]."""
        return np.asarray(self.theta[self.contacts > 1])


class _Landings(NamedTuple):
    """Rocker angles that the roller can rest at, a row per station: angle, point of the outline, whether it counts."""

    psi: FloatArray
    point: Whole
    holds: NDArray[np.bool_]


def counter_clockwise(points: FloatArray) -> FloatArray:
    """The same closed outline, walked counter-clockwise.

    Twice the area = sum (x_k y_(k+1) - x_(k+1) y_k); reversed where it is negative.

    Parameters
    ----------
    points : FloatArray
        Closed outline without repeated end point, shape (P, 2) [m].

    Returns
    -------
    FloatArray
        Points, shape (P, 2) [m].

    Source
    ------
    Shoelace formula (identity).
    """
    x, y = points.T
    twice = np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)
    return points if twice >= 0 else points[::-1]


def turned_points(points: FloatArray, angle: float | FloatArray) -> FloatArray:
    """Points turned counter-clockwise about the origin.

    (x cos - y sin, x sin + y cos).

    Parameters
    ----------
    points : FloatArray
        Points, shape (..., 2) [m].
    angle : FloatArray
        Turn, shape (...) [rad].

    Returns
    -------
    FloatArray
        Points, shape (..., 2) [m].

    Source
    ------
    Rotation of the plane (identity).
    """
    x, y = points[..., 0], points[..., 1]
    cos, sin = np.cos(angle), np.sin(angle)
    return np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)


def densified(points: FloatArray, longest: float, step: float) -> FloatArray:
    """A closed outline with points added on every side that is longer than allowed: a straight face.

    p_k + (p_(k+1) - p_k) j/n,  n = ceil(length / step).

    Parameters
    ----------
    points : FloatArray
        Closed outline without repeated end point, shape (P, 2) [m].
    longest : float
        Longest side that stays as it is [m].
    step : float
        Longest step on the sides that are divided [m].

    Returns
    -------
    FloatArray
        Points, shape (Q, 2), the given ones among them [m].

    Source
    ------
    Identity (linear interpolation).
    """
    side = np.roll(points, -1, axis=0) - points
    length = np.hypot(*side.T)
    parts = np.where(length > longest, np.ceil(length / step), 1).astype(np.intp)
    start = np.repeat(np.cumsum(parts) - parts, parts)
    share = (np.arange(parts.sum()) - start) / np.repeat(parts, parts)
    return np.asarray(np.repeat(points, parts, axis=0) + np.repeat(side, parts, axis=0) * share[:, None])


def read_outline(
    points: FloatArray,
    centre_distance: float,
    arm: float,
    roller_radius: float,
    rest_angle: float,
    sense: float,
    theta: FloatArray,
) -> ReadLaw:
    """Cam law of a measured outline: the rocker angle at which the roller rests on it.

    psi(theta) = max over the outline of [ psi_p + arccos((l^2 + d^2 - r^2) / (2 l d)) ], with d and psi_p the
    distance and angle of a point p, turned by sigma theta, as seen from the rocker pivot. Between neighbouring
    points the outline is the circle through three of them; at a corner it is the corner.

    Parameters
    ----------
    points : FloatArray
        Closed outline in the cam frame, without repeated end point, shape (P, 2) [m].
    centre_distance : float
        Lever pivot to rocker pivot, a [m].
    arm : float
        Rocker pivot to roller centre, l [m].
    roller_radius : float
        Roller radius, r [m].
    rest_angle : float
        Rocker angle at rest, psi_0: picks the branch where the roller could rest in several places [rad].
    sense : float
        Turning sense, sigma, +1 opposite, -1 same [-].
    theta : FloatArray
        Lever angles, theta, shape (S,) [rad].

    Returns
    -------
    ReadLaw
        psi, pressure angle, contact and count of contacts; NaN and 0 where there is none [rad, m, -].

    Source
    ------
    Two circles through the roller centre (law of cosines); the largest psi is the envelope. Exact on the four-bar
    equivalent (an eccentric circle), see tests.
    """
    dense = densified(counter_clockwise(points), roller_radius / 2, roller_radius / 8)
    landings = _landings(dense, centre_distance, arm, roller_radius, sense, theta)
    contacts = landings.holds.sum(axis=-1)
    away = np.abs(landings.psi - _branch(landings, contacts, rest_angle, theta)[:, None])
    chosen = np.argmin(np.where(landings.holds, away, np.inf), axis=-1)[:, None]
    point = np.take_along_axis(landings.point, chosen, axis=-1)[:, 0]
    rough = np.where(contacts > 0, np.take_along_axis(landings.psi, chosen, axis=-1)[:, 0], np.nan)
    near = turned_points(dense[(point[:, None] + np.array([-1, 0, 1])) % len(dense)], sense * theta[:, None])
    psi, normal = _on_circle(near, rough, centre_distance, arm, roller_radius)
    sin, cos = np.sin(psi), np.cos(psi)
    centre = np.stack([centre_distance - arm * cos, arm * sin], axis=-1)
    touch = centre - roller_radius * normal
    alpha = np.arctan2(normal[:, 1] * sin - normal[:, 0] * cos, normal[:, 0] * sin + normal[:, 1] * cos)
    return ReadLaw(theta, psi, contacts, alpha, turned_points(touch, -sense * theta))


def _landings(points: FloatArray, a: float, l: float, r: float, sense: float, theta: FloatArray) -> _Landings:
    """Upper ends of the merged intervals that the points keep the roller centre off, in rising order (S, P)."""
    seen = turned_points(points, sense * theta[:, None])
    away = np.stack([a - seen[..., 0], seen[..., 1]])
    distance = np.hypot(*away)
    cosine = (l**2 + distance**2 - r**2) / (2 * l * distance)
    reached = np.abs(cosine) <= 1
    half = np.arccos(np.where(reached, cosine, 1.0))
    middle = np.arctan2(away[1], away[0])
    order = np.argsort(np.where(reached, middle - half, np.inf), axis=-1)
    lower, upper, reached = (
        np.take_along_axis(part, order, axis=-1) for part in (middle - half, middle + half, reached)
    )
    top = np.maximum.accumulate(np.where(reached, upper, -np.inf), axis=-1)
    follows = np.where(reached, lower, np.inf)[:, 1:] <= top[:, :-1]
    record = np.maximum.accumulate(np.where(upper >= top, np.arange(len(points)), 0), axis=-1)
    point = np.take_along_axis(order, record, axis=-1)
    ends = reached & ~np.pad(follows, ((0, 0), (0, 1))) & (top > 0) & (top < np.pi)
    station, column = np.nonzero(ends)
    angle, landed = top[station, column], point[station, column]
    centre = np.stack([a - l * np.cos(angle), l * np.sin(angle)], axis=-1)
    ahead = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    outward = turned_points(np.stack([ahead[:, 1], -ahead[:, 0]], axis=-1)[landed], sense * theta[station])
    ends[station, column] = np.sum((centre - seen[station, landed]) * outward, axis=-1) > 0
    return _Landings(top, point, ends)


def _branch(landings: _Landings, contacts: Whole, rest_angle: float, theta: FloatArray) -> FloatArray:
    """Rocker angle (S,) near which the law should be: between the places without doubt and the rest angle at rest."""
    sure = contacts == 1
    angle = np.where(landings.holds, landings.psi, 0.0).sum(axis=-1)
    at, known = theta[sure], angle[sure]
    if not (at == 0.0).any():
        at, known = np.append(at, 0.0), np.append(known, rest_angle)
    order = np.argsort(at)
    return np.asarray(np.interp(theta, at[order], known[order]))


def _on_circle(
    near: FloatArray, rough: FloatArray, a: float, l: float, r: float
) -> tuple[FloatArray, FloatArray]:
    """Rocker angle (S,) and normal (S, 2) of the contact with the circle through three points (S, 3, 2)."""
    before, after = near[:, 1] - near[:, 0], near[:, 2] - near[:, 1]
    short, length = np.hypot(*before.T), np.hypot(*after.T)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    bend = 2 * cross / (short * length * np.hypot(*(before + after).T))
    bend = np.where(np.abs(bend) < FLATTEST, FLATTEST, bend)
    half = np.arcsin(np.clip(bend * short / 2, -1.0, 1.0))
    tangent = turned_points(before / short[:, None], half)
    centre = near[:, 1] - np.stack([tangent[:, 1], -tangent[:, 0]], axis=-1) / bend[:, None]
    away = np.stack([a - centre[:, 0], centre[:, 1]])
    distance, reach = np.hypot(*away), 1 / bend + r
    cosine = (l**2 + distance**2 - reach**2) / (2 * l * distance)
    turn = np.arccos(np.clip(cosine, -1.0, 1.0))
    middle = np.arctan2(away[1], away[0])
    psi = np.where(
        np.abs(middle + turn - rough) < np.abs(middle - turn - rough), middle + turn, middle - turn
    )
    rolled = np.stack([a - l * np.cos(psi), l * np.sin(psi)], axis=-1)
    normal = (rolled - centre) / reach[:, None]
    held = np.stack([a - l * np.cos(rough), l * np.sin(rough)], axis=-1)
    # A corner is itself; without contact the NaN of the rough angle goes through the same branch.
    stays = (np.abs(np.arctan2(cross, np.sum(before * after, axis=-1))) > CORNER) | np.isnan(rough)
    return np.where(stays, rough, psi), np.where(stays[:, None], (held - near[:, 1]) / r, normal)


def clocking(
    points: FloatArray,
    theta: FloatArray,
    psi: FloatArray,
    centre_distance: float,
    arm: float,
    roller_radius: float,
    sense: float,
) -> tuple[float, float]:
    """Turn that brings an outline of unknown clocking nearest to a law.

    Turning the outline by phi reads its law at theta + sigma phi. The law is read once round, the best of 360
    turns is taken, and Gauss-Newton steps on sum (psi_read - psi)^2 finish it.

    Parameters
    ----------
    points : FloatArray
        Closed outline about the lever pivot, clocking unknown, shape (P, 2) [m].
    theta : FloatArray
        Lever angles of the law, theta, increasing, shape (S,) [rad].
    psi : FloatArray
        Rocker angles of the law, psi, shape (S,), not all the same [rad].
    centre_distance : float
        Lever pivot to rocker pivot, a [m].
    arm : float
        Rocker pivot to roller centre, l [m].
    roller_radius : float
        Roller radius, r [m].
    sense : float
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    tuple of float
        Turn, counter-clockwise, -pi to pi, and root mean square of what is left between the two laws, NaN where the
        outline does not reach over the whole law [rad].

    Source
    ------
    Least squares by Gauss and Newton (identity).
    """

    def read(at: FloatArray) -> FloatArray:
        rest = float(np.mean(psi))
        return read_outline(points, centre_distance, arm, roller_radius, rest, sense, at).psi

    round_once = 2 * np.pi * np.arange(TURNS) / TURNS
    coarse = np.nan_to_num(read(round_once), nan=-np.pi)
    shifted = np.interp(theta + round_once[:, None], round_once, coarse, period=2 * np.pi)
    ahead = round_once[np.argmin(np.sum((shifted - psi) ** 2, axis=-1))]
    slope = np.gradient(psi, theta)
    for _ in range(STEPS):
        ahead -= np.nansum((read(theta + ahead) - psi) * slope) / np.sum(slope**2)
    turn = (sense * ahead + np.pi) % (2 * np.pi) - np.pi
    return float(turn), float(np.sqrt(np.mean((read(theta + ahead) - psi) ** 2)))


def face_angle(points: FloatArray, way: float) -> float:
    """Direction that the longest straight face on one side of an outline looks in.

    The sides that lead outward (or inward) are sorted by the direction of their outward normal; the degree of
    directions that gathers most length is the face.

    Parameters
    ----------
    points : FloatArray
        Closed outline about the lever pivot, shape (P, 2) [m].
    way : float
        +1 for a face that leads away from the pivot when walked counter-clockwise, -1 for one that leads back [-].

    Returns
    -------
    float
        Angle of the outward normal, -pi to pi [rad].

    Source
    ------
    Common practice (a rest face clocks the cam).
    """
    walked = counter_clockwise(points)
    ahead = np.roll(walked, -1, axis=0)
    side = ahead - walked
    leads = way * np.sum(side * (ahead + walked), axis=-1) > 0
    length, angle = np.where(leads, np.hypot(*side.T), 0.0), np.arctan2(-side[:, 0], side[:, 1])
    order = np.argsort(angle)
    turns = np.concatenate([angle[order], angle[order] + 2 * np.pi])
    gathered = np.concatenate([[0.0], np.cumsum(np.tile(length[order], 2))])
    last = np.searchsorted(turns, turns[: len(order)] + FACE_SPREAD, side="right")
    first = int(np.argmax(gathered[last] - gathered[: len(order)]))
    members = np.take(order, np.arange(first, last[first]), mode="wrap")
    whole = np.sum(side[members] * leads[members, None], axis=0)
    return float(np.arctan2(-whole[0], whole[1]))
