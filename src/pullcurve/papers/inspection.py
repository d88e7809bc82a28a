"""Inspection tables of a cam as CSV: nominal radius all round, and the flank by lever angle, each with tolerance."""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.flank import flank_at
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

PartOfCam = Literal["flank", "face", "hub"]

ON_HUB = 1e-9
"""A vertex no further off the hub's circle than this stands on it [m]."""

STEEP = 0.2
"""Cosine between radius and normal below which a radius says nothing about the profile."""

NEWTON_STEPS = 4
NUDGE = 1e-6
"""Lever angle by which the flank is nudged for its direction [rad]."""


@dataclass(frozen=True, slots=True)
class Station:
    """One point of the outline: cam angle in whole degrees, point [mm], cosine between radius and outward normal."""

    angle_deg: float
    part: PartOfCam
    x_mm: float
    y_mm: float
    slant: float

    @property
    def radius_mm(self) -> float:
        """Distance from the pivot."""
        return float(np.hypot(self.x_mm, self.y_mm))

    def radial(self, tolerance_mm: float) -> float | None:
        """What a tolerance at right angles to the profile allows the radius; None on a face too steep for it."""
        return tolerance_mm / self.slant if self.slant >= STEEP else None


# Crossings ---------------------------------------------------------------------------------------------------


def stations(metal: Metal, step_deg: float = 1.0) -> tuple[Station, ...]:
    """Where rays from the pivot leave the metal, at every so many degrees of cam angle from 0 to below 360."""
    degrees = np.arange(0.0, 360.0, step_deg)
    ways = np.stack([np.cos(np.deg2rad(degrees)), np.sin(np.deg2rad(degrees))], axis=-1)
    edges, shares = _outermost(metal.outline, ways)
    start, end = metal.outline[edges], np.roll(metal.outline, -1, axis=0)[edges]
    along = (end - start) / np.hypot(*(end - start).T)[:, None]
    points = start + shares[:, None] * (end - start)
    normals = np.stack([along[:, 1], -along[:, 0]], axis=-1)
    first, last = metal.working
    flank = (edges >= first) & (edges < last)
    hub = ~flank & (_off_hub(metal, start) < ON_HUB) & (_off_hub(metal, end) < ON_HUB)
    points[hub], normals[hub] = metal.hub_radius * ways[hub], ways[hub]
    points[flank], normals[flank] = _on_flank(metal, ways[flank], edges[flank] + shares[flank])
    parts = np.where(flank, "flank", np.where(hub, "hub", "face")).tolist()
    slants = np.sum(normals * ways, axis=-1)
    return tuple(
        Station(degree, part, *_mm(point), slant)
        for degree, part, point, slant in zip(degrees.tolist(), parts, points, slants.tolist(), strict=True)
    )


def _outermost(outline: FloatArray, ways: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    """For every ray the edge that it crosses last, and where along the edge."""
    start, end = outline, np.roll(outline, -1, axis=0)
    left, right = (_cross(ways[:, None], points[None]) for points in (start, end))
    met = (left <= 0) != (right <= 0)
    share = left / np.where(met, left - right, 1.0)
    radius = np.sum((start + share[..., None] * (end - start)) * ways[:, None], axis=-1)
    edge = np.argmax(np.where(met, radius, -np.inf), axis=-1)
    return edge, np.take_along_axis(share, edge[:, None], axis=-1)[:, 0]


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _off_hub(metal: Metal, points: FloatArray) -> FloatArray:
    return np.abs(np.hypot(points[:, 0], points[:, 1]) - metal.hub_radius)


def _on_flank(metal: Metal, ways: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points and normals where rays leave the flank: Newton on the lever angle, from the polygon's answer."""
    first, last = metal.working
    # A flank that turns with the clock stands in the outline from its end to its start.
    along = last - place if metal.sense > 0 else place - first
    theta = np.interp(along, np.arange(len(metal.theta)), metal.theta)
    for _ in range(NEWTON_STEPS):
        low, here, high = (
            _cross(ways, flank_at(metal, theta + nudge).metal) for nudge in (-NUDGE, 0.0, NUDGE)
        )
        theta = np.clip(theta - here * 2 * NUDGE / (high - low), metal.theta[0], metal.theta[-1])
    found = flank_at(metal, theta)
    return found.metal, found.normal


# Tables ------------------------------------------------------------------------------------------------------


def profile_table(metal: Metal, tolerance: float, step_deg: float = 1.0) -> str:
    """The whole outline by cam angle, polar and cartesian, as CSV; the tolerance [m] is that of the flank's profile.

    Hub and faces carry no tolerance of their own: nothing runs on them.
    """
    allowed = from_si("tolerance_mm", tolerance)
    columns = ("cam_angle_deg", "part", "radius_mm", "x_mm", "y_mm", "profile_tolerance_mm",
               "radius_tolerance_mm", "radius_least_mm", "radius_most_mm")  # fmt: skip
    rows = [(*_row(one), *_band(one, allowed)) for one in stations(metal, step_deg)]
    return _csv(_heading(metal, allowed, "outline by cam angle"), columns, rows)


def _row(one: Station) -> tuple[str, str, float, float, float]:
    return f"{one.angle_deg:g}", one.part, one.radius_mm, one.x_mm, one.y_mm


def _band(one: Station, allowed: float) -> tuple[float | None, ...]:
    """Tolerance of profile and of radius, least and largest radius; nothing off the flank."""
    if one.part != "flank":
        return None, None, None, None
    radial = one.radial(allowed)
    if radial is None:
        return allowed, None, None, None
    return allowed, radial, one.radius_mm - radial, one.radius_mm + radial


def flank_table(metal: Metal, tolerance: float) -> str:
    """The flank by whole degrees of lever angle: contact point, its normal, and where the roller's centre stands."""
    allowed = from_si("tolerance_mm", tolerance)
    low, high = (from_si("theta_deg", float(metal.theta[end])) for end in (0, -1))
    degrees = np.arange(np.ceil(low - 1e-9), np.floor(high + 1e-9) + 1)
    found = flank_at(metal, np.deg2rad(degrees))
    columns = ("lever_angle_deg", "rocker_turn_deg", "cam_angle_deg", "radius_mm", "x_mm", "y_mm", "normal_x",
               "normal_y", "roller_centre_angle_deg", "roller_centre_radius_mm", "profile_tolerance_mm")  # fmt: skip
    turn = np.rad2deg(found.psi - metal.rest_angle)
    rows = [
        (f"{degree:g}", turned, *_polar(point), *_mm(point), *normal.tolist(), *_polar(roller), allowed)
        for degree, turned, point, normal, roller in zip(
            degrees.tolist(), turn.tolist(), found.metal, found.normal, found.roller, strict=True
        )
    ]
    return _csv(_heading(metal, allowed, "flank by lever angle"), columns, rows)


def _mm(point: FloatArray) -> tuple[float, float]:
    return from_si("place_mm", float(point[0])), from_si("place_mm", float(point[1]))


def _polar(point: FloatArray) -> tuple[float, float]:
    """Angle [deg] and distance [mm] of a point from the pivot."""
    x, y = _mm(point)
    return float(np.rad2deg(np.arctan2(y, x))), float(np.hypot(x, y))


def _heading(metal: Metal, tolerance_mm: float, what: str) -> tuple[str, ...]:
    """What a table says of itself before its columns."""
    roller = from_si("radius_mm", metal.roller_radius)
    return (
        f"{metal.name}: {what}",
        "mm and degrees; 0 degrees points from the lever pivot to the rocker pivot, lever at rest; counter-clockwise",
        f"profile tolerance +-{tolerance_mm:g} mm at right angles to the flank; roller radius {roller:g} mm",
    )


def _csv(heading: Iterable[str], columns: Sequence[str], rows: Iterable[Sequence[float | str | None]]) -> str:
    """A table with its heading in comment lines."""
    out = StringIO()
    out.writelines(f"# {line}\n" for line in heading)
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: float | str | None) -> str:
    """Four decimals, a tenth of a micrometre."""
    if value is None or isinstance(value, str):
        return value or ""
    return f"{round(value, 4) + 0.0:.4f}"
