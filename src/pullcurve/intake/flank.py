"""The flank of an outline of which a nominal cam is known: where its law begins, and as far as it is shown."""

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pullcurve.intake.edges import even
from pullcurve.intake.files import refused
from pullcurve.intake.outline import Clocked, Outline, clock, law_spread, scatter_angle, turned
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.plate import tangent_angle
from pullcurve.mechanics.reading import ReadLaw, face_angle, read_outline, turned_points
from pullcurve.mechanics.smoothing import SmoothLaw, smooth_law
from pullcurve.pull.plate import Metal
from pullcurve.units import FACTORS, from_si

DEGREE = FACTORS["deg"]

STEP, EXTRA, WINDOW = 0.25 * DEGREE, 3.0 * DEGREE, 1.0 * DEGREE
"""Lever angles between stations, beyond both ends of the span, and over which a corner is looked for [rad]."""

CORNERED = 0.2
"""Way of the contact over way of the roller centre below which the roller turns about a corner."""

LEAP, ENDS = 2.0, 0.1
"""The same above which the contact leaps over a hollow, and the share of the pull at both ends where that may be."""

AT_ORIGIN = 5e-6
"""Distance from 0, 0 within which a bore is at the origin [m]."""

AS_IT_LIES = 0.5 * DEGREE
"""Turn below which an outline about its own origin is in the cam's frame [rad]."""

NEAR = 20.0 * DEGREE
"""How far the nominal law may be off in where a law begins [rad]."""

RISES = 0.3
"""Slope at rest, rocker over lever, from which the rest angle clocks a law: below, its errors would be magnified."""

FACE_STEP = 4e-4
"""Distance of the points that the direction of a face is taken from [m]."""

SHOWN = 0.75
"""Share of the pull that must be shown."""


@dataclass(frozen=True, slots=True)
class FlankLaw:
    """Law of a flank: as read at the stations, as smoothed, and the lever angles between which it was shown [rad]."""

    read: ReadLaw
    smooth: SmoothLaw
    shown: tuple[float, float]


def rocker_of(metal: Metal) -> tuple[float, float, float, float]:
    """Centre distance, arm, roller radius and turning sense of the rocker that a cam is for."""
    return metal.centre_distance, metal.arm, metal.roller_radius, metal.sense


def read_at(outline: Outline, metal: Metal, theta: FloatArray) -> ReadLaw:
    """Where the roller of a cam's rocker rests on an outline."""
    a, l, r, sense = rocker_of(metal)
    return read_outline(outline.points, a, l, r, metal.rest_angle, sense, theta)


# Clocking -----------------------------------------------------------------------------------------------------------


def clock_to_rest(outline: Outline, metal: Metal) -> Clocked:
    """Turn an outline to where its law begins: as it lies, or by the nominal law and then by how the lever rests."""
    if np.hypot(*outline.bore_centre) <= AT_ORIGIN:
        turn = _rest_turn(outline, metal)
        if turn is not None and abs(turn) <= AS_IT_LIES:
            return Clocked(outline, 0.0, False, math.nan)
    pulled = (metal.theta >= 0) & (metal.theta <= metal.rest_end)
    every = slice(None, None, max(1, pulled.sum() // 50))
    fitted = clock(outline, metal.theta[pulled][every], metal.law.psi[pulled][every], *rocker_of(metal))
    turn = _rest_turn(fitted.outline, metal) or 0.0
    return replace(
        fitted, outline=turned(fitted.outline, turn), turn=_wrapped(fitted.turn + turn), residual=math.nan
    )


def _rest_turn(outline: Outline, metal: Metal) -> float | None:
    """What is left to turn an outline that is nearly clocked; None where nothing near tells."""
    if np.interp(0.0, metal.theta, metal.law.dpsi) >= RISES:
        return _to_rest_angle(outline, metal)
    nominal = tangent_angle(metal.flank[0], metal.hub_radius, metal.sense)
    turn = _wrapped(nominal - face_angle(even(outline.points, FACE_STEP), -metal.sense))
    return turn if abs(turn) <= NEAR else None


def _to_rest_angle(outline: Outline, metal: Metal) -> float | None:
    """Turn that lets the roller stand at the rest angle at lever angle 0, the law rising there."""
    at, reach = 0.0, NEAR
    for _ in range(3):  # the third grid is 0.001 degrees fine, less than any edge is known
        theta = at + np.linspace(-reach, reach, 161)
        off = read_at(outline, metal, theta).psi - metal.rest_angle
        rising = np.nonzero((off[:-1] < 0) & (off[1:] >= 0))[0]
        if not rising.size:
            return None
        left = rising[np.argmin(np.abs(theta[rising] - at))]
        at = theta[left] - off[left] * (theta[left + 1] - theta[left]) / (off[left + 1] - off[left])
        reach = theta[1] - theta[0]
    return metal.sense * float(at)


def _wrapped(angle: float) -> float:
    """The same direction between -pi and pi."""
    return (angle + math.pi) % (2 * math.pi) - math.pi


# Reading ------------------------------------------------------------------------------------------------------------


def flank_law(outline: Outline, metal: Metal) -> FlankLaw:
    """Law of a clocked outline over a cam's whole span, where it shows no flank as the parabola that goes on."""
    first, last = float(metal.theta[0]), float(metal.theta[-1])
    stations = round((last - first) / STEP) + 1
    step = (last - first) / (stations - 1)
    more = round(EXTRA / step)
    theta = np.asarray(first + step * np.arange(-more, stations + more), dtype=np.float64)
    whole = read_at(outline, metal, theta)
    inside = slice(more, more + stations)
    on = _on_flank(whole, metal, _margin(outline))[inside] & np.isfinite(whole.psi[inside])
    read = ReadLaw(
        theta[inside], whole.psi[inside], whole.contacts[inside], whole.alpha[inside], whole.touch[inside]
    )
    shown = shown_span(read.theta[on], metal, outline.source)
    spread = law_spread(outline, read, metal.arm, metal.sense)
    smooth = smooth_law(read.theta, np.where(on, read.psi, np.nan), scatter_angle(outline, metal.arm), spread)
    return FlankLaw(read, smooth, shown)


def shown_span(theta: FloatArray, metal: Metal, source: str) -> tuple[float, float]:
    """First and last lever angle at which a flank is shown, or one line if that is too little of the pull."""
    pull = f"{from_si('theta_deg', metal.rest_end):.1f} degrees"
    advice = "look at roller, rocker and lever travel"
    if not theta.size:
        raise refused(Path(source), f"shows no flank within the pull of {pull}: {advice}")
    first, last = float(theta[0]), float(theta[-1])
    if min(last, metal.rest_end) - max(first, 0.0) < SHOWN * metal.rest_end:
        between = f"from {from_si('theta_deg', first):.1f} to {from_si('theta_deg', last):.1f} degrees"
        raise refused(Path(source), f"shows a flank {between} of lever angle; the pull is {pull}: {advice}")
    return first, last


def _margin(outline: Outline) -> float:
    """Way along the edge from a corner within which an outline says little about its flank [m]."""
    side = np.hypot(*(np.roll(outline.points, -1, axis=0) - outline.points).T)
    return 2.0 * outline.correlation + float(np.median(side))


def _on_flank(read: ReadLaw, metal: Metal, margin: float) -> NDArray[np.bool_]:
    """Which stations (S,) lie on the flank: between the corners next to the middle of the pull, within its kinks."""
    l, psi = metal.arm, read.psi
    centre = np.stack([metal.centre_distance - l * np.cos(psi), l * np.sin(psi)], axis=-1)
    centre = turned_points(centre, -metal.sense * read.theta)
    wide = round(WINDOW / (read.theta[1] - read.theta[0]))
    corners = np.nonzero(_way(read.touch, wide) < CORNERED * _way(centre, wide))[0]
    middle = int(np.searchsorted(read.theta, metal.rest_end / 2))
    before, after = corners[corners + wide <= middle] + wide, corners[corners >= middle]
    along = np.cumsum(np.nan_to_num(np.hypot(*np.diff(read.touch, axis=0, prepend=read.touch[:1]).T)))
    low = along[before[-1]] + margin if before.size else -np.inf
    high = along[after[0]] - margin if after.size else np.inf
    # Where faces meet the flank in a hollow the roller stands on both, and leaps from one to the other.
    leaps = np.nonzero(_way(read.touch, 1) > LEAP * _way(centre, 1))[0]
    edges = read.theta[leaps]
    left, right = leaps[edges <= ENDS * metal.rest_end], leaps[edges >= (1 - ENDS) * metal.rest_end]
    place = np.arange(read.theta.size)
    within = (place > left.max(initial=-1)) & (place <= right.min(initial=read.theta.size))
    return np.asarray((along >= low) & (along <= high) & within)


def _way(points: FloatArray, steps: int) -> FloatArray:
    """Distance of every point of a path (S, 2) from the one so many steps on."""
    return np.asarray(np.hypot(*(points[steps:] - points[:-steps]).T))
