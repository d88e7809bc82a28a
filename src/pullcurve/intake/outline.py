"""Outlines of cams as they come in: checked, about their bore, turned to where their law begins."""

import math
import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pullcurve.intake.files import refused
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.reading import (
    ReadLaw,
    clocking,
    counter_clockwise,
    turned_points,
)
from pullcurve.mechanics.smoothing import edge_covariance, size_covariance
from pullcurve.units import FACTORS

MM = FACTORS["mm"]

FEWEST, MOST = 24, 20_000
"""Points of an outline: fewer are no curve, more bring nothing and take long."""

SMALLEST_MM, WIDEST_MM = 10.0, 300.0
"""Size of a cam across."""

FINEST = 2e-6
"""Root mean square that smoothing leaves of a law from an edge without scatter [rad]."""

SAME = 1e-9
"""Distance below which two neighbouring points are one [m]."""


@dataclass(frozen=True, slots=True)
class Outline:
    """Outline of a cam, walked counter-clockwise about its bore, SI.

    ``points`` (P, 2): closed, the end not repeated, the bore at the origin [m]. ``bore_radius`` is NaN where the source
    shows none; ``bore_centre`` (2,) is in the source's own frame [m]. ``edge_deviation`` is the standard deviation of
    the edge along its normal [m]; ``edge_scatter`` is the part of it that changes from place to place [m], over
    ``correlation`` along the edge [m], the rest is the same all round. ``size_deviation`` is the standard deviation of
    the scale as a share.
    """

    points: FloatArray
    bore_radius: float
    bore_centre: FloatArray
    edge_deviation: float
    source: str
    edge_scatter: float = 0.0
    correlation: float = 1e-5
    size_deviation: float = 0.0


@dataclass(frozen=True, slots=True)
class Clocked:
    """An outline turned to where its law begins: the turn [rad], whether its back was seen, what is left [rad]."""

    outline: Outline
    turn: float
    mirrored: bool
    residual: float


def checked(points: FloatArray, file: Path) -> FloatArray:
    """Points [m] without repeats, walked counter-clockwise, or one line that says why they are no outline."""
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    known = counter_clockwise(points[step > SAME])
    if not FEWEST <= len(known) <= MOST:
        said = f"has {len(known)} points on the profile; allowed is {FEWEST} to {MOST}"
        raise refused(file, said)
    across = float(np.ptp(known, axis=0).max()) / MM
    if not SMALLEST_MM <= across <= WIDEST_MM:
        said = f"shows a profile {across:.4g} mm across; allowed is {SMALLEST_MM:g} to {WIDEST_MM:g}"
        raise refused(file, f"{said}: look at the unit of length")
    crossing = _crossing(known)
    if crossing is not None:
        raise refused(file, f"shows a profile that crosses itself{crossing}")
    return known


def _crossing(points: FloatArray) -> str | None:
    """Where an outline crosses or touches itself, in words; None where it does not."""
    from shapely import LinearRing, Polygon
    from shapely.validation import explain_validity

    if LinearRing(points).is_simple:
        return None
    found = re.search(r"\[(\S+) (\S+)\]", explain_validity(Polygon(points)))
    return f" at x {float(found[1]) / MM:.2f}, y {float(found[2]) / MM:.2f} mm" if found else ""


def about_origin(points: FloatArray, file: Path) -> FloatArray:
    """The points, if they lie round the origin; a source without a bore must have it there."""
    from shapely import Point, Polygon

    if not Polygon(points).contains(Point(0.0, 0.0)):
        raise refused(
            file, "shows no bore, and 0, 0 is not inside the profile; the bore's centre must be there"
        )
    return points


def seen_from_behind(outline: Outline) -> Outline:
    """The same plate turned over."""
    return replace(outline, points=counter_clockwise(outline.points * np.array([-1.0, 1.0])))


def clock(
    outline: Outline,
    theta: FloatArray,
    psi: FloatArray,
    centre_distance: float,
    arm: float,
    roller_radius: float,
    sense: float,
    mirrored: bool | None = None,
) -> Clocked:
    """Turn an outline to where it fits a nominal law best; both faces are tried unless one is named."""
    tried = []
    for behind in (False, True) if mirrored is None else (mirrored,):
        face = seen_from_behind(outline) if behind else outline
        turn, residual = clocking(face.points, theta, psi, centre_distance, arm, roller_radius, sense)
        tried.append(Clocked(turned(face, turn), turn, behind, residual))
    fitting = [one for one in tried if math.isfinite(one.residual)]
    if not fitting:
        raise refused(
            Path(outline.source),
            "has no flank that carries the whole law; look at roller, rocker and lever travel",
        )
    return min(fitting, key=lambda one: one.residual)


def law_spread(outline: Outline, read: ReadLaw, arm: float, sense: float) -> FloatArray:
    """Covariance (S, S) of a law as read: scatter from place to place, an edge off all round, the size [rad2]."""
    shift = math.sqrt(max(outline.edge_deviation**2 - outline.edge_scatter**2, 0.0))
    return (
        edge_covariance(read, arm, outline.edge_scatter, outline.correlation)
        + edge_covariance(read, arm, shift, math.inf)
        + size_covariance(read, sense, arm, outline.size_deviation)
    )


def scatter_angle(outline: Outline, arm: float) -> float:
    """What the edge's scatter does to the rocker angle [rad]."""
    return max(outline.edge_scatter / arm, FINEST)


def turned(outline: Outline, angle: float) -> Outline:
    """The same plate turned counter-clockwise."""
    return replace(outline, points=turned_points(outline.points, angle))
