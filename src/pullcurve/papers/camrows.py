"""The three plots along a cam's flank as plain values: what each shows, its limits, and what it names."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.plot import span
from pullcurve.papers.traces import LARGEST, defined
from pullcurve.parts.facts import fact
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

Moment = tuple[str, float]
"""An event: words and lever angle [rad]."""

MOST_BENT = 8.0
"""Curvature beyond so many times that of the roller is a cusp, and leaves a gap in the curve."""

NEAR, FAR = 1.6, 5.0
"""A hollow's limit further off than the first factor, a pressure's further than the second, is not drawn."""

ROOM = 0.12
"""Share of the height that stays free above and below."""

SIDES = 0.2
"""Share of the height that each side of zero has at least where both are named."""

UNSEEN = 1e-9


@dataclass(frozen=True, slots=True)
class Limit:
    """A value not to go beyond, hatched on its far side: above for way 1, below for -1.

    Without words it is named beside the row's own name.
    """

    value: float
    way: float
    words: str
    exceeded: bool


@dataclass(frozen=True, slots=True)
class Peak:
    """A station that is named: lever angle [degrees], value, words."""

    theta: float
    value: float
    words: str


@dataclass(frozen=True, slots=True)
class Row:
    """One plot: values (S,) in the unit shown, from low to high; sides name what lies above and below zero."""

    name: str
    unit: str
    aside: str
    values: FloatArray
    low: float
    high: float
    limits: tuple[Limit, ...]
    peaks: tuple[Peak, ...]
    sides: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Flank:
    """A cam with the contact pressure (S,) along it, what its metal bears [Pa], and events."""

    metal: Metal
    pressure: FloatArray
    limit: float
    events: tuple[Moment, ...]


def rows_of(flank: Flank) -> tuple[Row, Row, Row]:
    """The three plots from top to bottom."""
    return _curvature(flank.metal), _steepness(flank.metal), _pressure(flank)


def degrees(metal: Metal) -> FloatArray:
    """Lever angles of the flank, (S,) [degrees]."""
    return metal.theta * from_si("angle_deg", 1.0)


def _between(values: FloatArray, *more: float) -> tuple[float, float]:
    """Lowest and highest of what is to be seen, zero included, with room on both sides."""
    low, high = span([values, np.array(more)])
    room = ROOM * (high - low)
    return low - room, high + room


def _both_sides(low: float, high: float) -> tuple[float, float]:
    """Lowest and highest with room for a name above zero and below."""
    share = SIDES / (1.0 - SIDES)
    return min(low, -share * high), max(high, -share * low)


def _peak(
    metal: Metal, values: FloatArray, sign: float, where: NDArray[np.bool_]
) -> tuple[float, float] | None:
    """Lever angle [degrees] and value where a quantity is greatest on one side of zero; None if never there."""
    known = np.where(where & np.isfinite(values) & (sign * values > UNSEEN), sign * values, -np.inf)
    row = int(np.argmax(known))
    return (float(degrees(metal)[row]), float(values[row])) if np.isfinite(known[row]) else None


def _at(theta: float) -> str:
    """Where along the pull."""
    return f"at {theta + 0.0:.1f}°".replace("-", "−")


def _curvature(metal: Metal) -> Row:
    """Signed curvature of the metal, round above zero and hollow below, with the tightest of both."""
    bend = defined(metal.curvature)
    shown = np.where(np.abs(bend) <= MOST_BENT / metal.roller_radius, bend, np.nan)
    everywhere = np.ones(bend.shape, dtype=np.bool_)
    peaks = []
    for sign, side in ((1.0, "round"), (-1.0, "hollow")):
        found = _peak(metal, shown, sign, everywhere)
        if found:
            radius = from_si("radius_mm", abs(1.0 / found[1]))
            peaks.append(Peak(*found, f"tightest {side}: radius {radius:.1f} mm {_at(found[0])}"))
    low, high = _between(shown)
    reach, limits = -1.0 / metal.cutter_radius, list[Limit]()
    if low * NEAR <= reach:
        cutter = from_si("radius_mm", metal.cutter_radius)
        deepest = float(np.nanmin(bend, initial=0.0))
        over = deepest <= reach
        limits.append(
            Limit(reach, -1.0, f"cutter radius {cutter:.1f} mm{', exceeded' if over else ''}", over)
        )
        low, high = _between(shown, reach)
    extent = _both_sides(low, high)
    sides = ("round", "hollow")
    return Row("curvature of the metal", "1/m", "", shown, *extent, tuple(limits), tuple(peaks), sides)


def _steepness(metal: Metal) -> Row:
    """Pressure angle between its limits; what is named lies within the travel."""
    values = defined(metal.alpha) * from_si("angle_deg", 1.0)
    used = (metal.theta >= 0.0) & (metal.theta <= metal.rest_end)
    found = [known for sign in (1.0, -1.0) if (known := _peak(metal, values, sign, used))]
    steepest = max(found, key=lambda known: abs(known[1]), default=None)
    peaks: tuple[Peak, ...] = ()
    if steepest:
        value = f"{steepest[1]:.1f}°".replace("-", "−")
        peaks = (Peak(*steepest, f"steepest: {value} {_at(steepest[0])}"),)
    allowed = fact("limits.pressure_angle_most_deg")
    ways = [way for way in (1.0, -1.0) if np.any(way * values > UNSEEN)] or [1.0]
    beyond = [any(way * value > allowed for _, value in found) for way in ways]
    limits = tuple(
        Limit(way * allowed, way, f"{way * allowed:.0f}°, exceeded".replace("-", "−") if over else "", over)
        for way, over in zip(ways, beyond, strict=True)
    )
    aside = f"limit {'±' if len(ways) > 1 else ''}{ways[0] * allowed:.0f}°".replace("-", "−")
    low, high = _between(values, *(one.value for one in limits))
    return Row("pressure angle", "°", aside, values, low, high, limits, peaks)


def _pressure(flank: Flank) -> Row:
    """Contact pressure and what the metal bears."""
    values = defined(flank.pressure) * from_si("pressure_gpa", 1.0)
    limit = from_si("pressure_gpa", flank.limit)
    found = _peak(flank.metal, values, 1.0, np.ones(values.shape, dtype=np.bool_))
    most = found[1] if found else 0.0
    peaks = (Peak(*found, f"greatest: {most:.2f} GPa {_at(found[0])}"),) if found else ()
    known = 0.0 < limit <= LARGEST
    limits = tuple[Limit, ...]()
    if known and limit <= FAR * max(most, UNSEEN):
        words = f"{limit:.2f} GPa, exceeded" if most > limit else ""
        limits = (Limit(limit, 1.0, words, most > limit),)
    aside = f"limit {limit:.2f} GPa" if known else ""
    if not found:
        aside = "nothing known"
    elif known and not limits:
        aside += " (above)"
    _, high = _between(values, *(one.value for one in limits))
    return Row("contact pressure", "GPa", aside, values, 0.0, high, limits, peaks)
