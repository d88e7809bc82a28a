"""Can this cam be cut, does its roller follow it, and does its flank bear the load: a verdict in words, with places."""

import re
from collections.abc import Iterator

import numpy as np

from pullcurve.mechanics import arms, friction
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import FELT_POSITION
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.loop import LeverPull
from pullcurve.pull.mechanism import in_si, si
from pullcurve.pull.plate import Metal
from pullcurve.studies.bearing import pressure_finding, roller_finding, stress_along
from pullcurve.studies.findings import ROUNDING, Case, Finding, Verdict, at, case_of, finding, taken, told

__all__ = ["Finding", "Verdict", "check_cam", "stress_along"]

ROLLER_MAY_CUT = 1.0e-6
"""Depth to which a roller may dip into a drawn outline: the chord error of the drawing [m]."""

ON_FLANK = 5.0e-5
"""How near a point must be to a flank to be named by the flank's lever angle [m]."""


def check_cam(job: Job, metal: Metal, pulled: LeverPull | None = None) -> Verdict:
    """Check a cam as it would be cut; with the pull of its lever also what the contact force does to it."""
    case = case_of(job, metal)
    found = [
        _monotone(case),
        _step(case),
        _kink(case),
        _undercut(case),
        _cutter(case),
        _steepness(case),
        _locking(case),
        *_outline(case),
        *_walls(case),
    ]
    if pulled is not None:
        found += [pressure_finding(case, pulled), roller_finding(case, pulled)]
    return Verdict(tuple(found))


# The law --------------------------------------------------------------------------------------------------------------


def _monotone(case: Case) -> Finding:
    """A brake or clutch cam only pushes, an assist cam only lets down."""
    way = -1.0 if case.metal.drives == "assist" else 1.0
    value, theta = case.least(way * case.metal.law.dpsi)
    does = "lets its rocker down" if way < 0 else "pushes its rocker"
    return finding(
        "monotone",
        value >= -ROUNDING,
        value,
        0.0,
        "",
        theta if value < -ROUNDING else np.nan,
        f"The cam {does} all the way.",
        f"The cam turns its rocker back{at(theta)}; a cam of this kind {does} all the way.",
    )


def _jumps(theta: FloatArray, values: FloatArray, slopes: FloatArray) -> FloatArray:
    """What every interval jumps by, beyond the mean of the slopes on its two sides, (S - 1,)."""
    return np.asarray(np.abs(np.diff(values) - np.diff(theta) * (slopes[1:] + slopes[:-1]) / 2.0))


def _step(case: Case) -> Finding:
    """Steps of psi', as a share of its greatest value: that is a step of the finger force."""
    theta, law = case.metal.theta, case.metal.law
    jump = _jumps(theta, law.dpsi, law.d2psi) / np.max(np.abs(law.dpsi))
    row, limit = int(np.argmax(jump)), taken("smoothness.step_most_percent")
    value, place = float(jump[row]), float(theta[row])
    return finding(
        "step",
        value <= limit,
        value,
        limit,
        "percent",
        place if value > limit else np.nan,
        "The finger force has no step.",
        f"The finger force steps by {told(value, 'percent', 1)}{at(place)}: two pieces of the law do not meet.",
    )


def _kink(case: Case) -> Finding:
    """Jumps of psi'', as what they change of the finger force over the smallest travel that is felt."""
    theta, law = case.metal.theta, case.metal.law
    rise = np.diff(law.d2psi) / np.diff(theta)
    before, after = np.concatenate([rise[1:2], rise[:-1]]), np.concatenate([rise[1:], rise[-2:-1]])
    jump = np.abs(rise - (before + after) / 2.0) * np.diff(theta)
    felt = jump * FELT_POSITION / case.finger_radius / np.max(np.abs(law.dpsi))
    row, limit = int(np.argmax(felt)), taken("smoothness.kink_most_percent")
    value, place = float(felt[row]), float(theta[row])
    return finding(
        "kink",
        value <= limit,
        value,
        limit,
        "percent",
        place if value > limit else np.nan,
        "The finger force has no kink that could be felt.",
        f"The finger force has a kink{at(place)}: within {told(FELT_POSITION, 'mm', 1)} of finger travel it is "
        f"off by {told(value, 'percent', 0)}, and the contact stress jumps there.",
    )


# The flank ------------------------------------------------------------------------------------------------------------


def _undercut(case: Case) -> Finding:
    """Smallest convex radius of the roller centre's path against the roller."""
    least, theta = case.least(-case.bend, everywhere=True)
    value = -1.0 / least if least < 0.0 else np.inf
    roller, spare = case.metal.roller_radius, in_si("limits.roller_spare_mm")
    round_here = f"the roller centre's path has a radius of {told(value, 'mm')}{at(theta)}"
    return finding(
        "undercut",
        value >= roller + spare,
        value,
        roller + spare,
        "mm",
        theta if np.isfinite(value) else np.nan,
        "The flank is nowhere too round for its roller: "
        + (f"{round_here}." if np.isfinite(value) else "it is nowhere round."),
        f"Undercut: {round_here}, and a roller of {told(roller, 'mm')} needs {told(roller + spare, 'mm')} "
        f"or more. A smaller roller or a slower rise there mends it.",
    )


def _cutter(case: Case) -> Finding:
    """Smallest hollow radius of the metal against the cutter."""
    least, theta = case.least(case.bend, everywhere=True)
    value = case.metal.roller_radius - 1.0 / least if least < 0.0 else np.inf
    cutter = case.metal.cutter_radius
    hollow = f"the flank has a hollow radius of {told(value, 'mm')}{at(theta)}"
    return finding(
        "cutter",
        value > cutter,
        value,
        cutter,
        "mm",
        theta if np.isfinite(value) else np.nan,
        f"The cutter reaches everywhere: {hollow}." if np.isfinite(value) else "The flank is nowhere hollow.",
        f"A cutter of radius {told(cutter, 'mm')} leaves metal standing: {hollow}. Take a smaller cutter.",
    )


def _steepness(case: Case) -> Finding:
    """Largest pressure angle in use."""
    least, theta = case.least(-np.abs(case.metal.alpha))
    value, limit = -least, in_si("limits.pressure_angle_most_deg")
    said = f"the pressure angle is {told(value, 'deg', 1)}{at(theta)}"
    return finding(
        "pressure_angle",
        value <= limit,
        value,
        limit,
        "deg",
        theta,
        f"At its largest {said}.",
        f"The cam pushes the rocker too much sideways: {said}, allowed is {told(limit, 'deg', 0)}.",
    )


def _locking(case: Case) -> Finding:
    """Smallest arm of the contact force about the rocker's pin against the pin's friction radius, cold and worn."""
    rocker, metal, worn = case.rocker, case.metal, facts.fact("limits.worn_pins")
    radii = si(rocker, "roller_pin_radius_mm"), si(rocker, "roller_radius_mm")
    tilt = float(friction.roller_tilt(worn * rocker.roller_friction, *radii))
    geometry = (metal.centre_distance, metal.arm, metal.roller_radius, metal.sense)
    both = [arms.force_arms(metal.law.psi, metal.alpha, way * tilt, *geometry).rocker for way in (1.0, -1.0)]
    value, theta = case.least(np.minimum(*both))
    limit = worn * rocker.pivot_friction * si(rocker, "pivot_radius_mm")
    said = f"the contact force passes {told(value, 'mm')} from the rocker's pin{at(theta)}"
    return finding(
        "locking",
        value > limit,
        value,
        limit,
        "mm",
        theta,
        f"The rocker does not lock: {said}, cold and worn friction reaches {told(limit, 'mm')} far.",
        f"The rocker can lock when cold and worn: {said}, within the {told(limit, 'mm')} of its friction.",
    )


# The whole part -------------------------------------------------------------------------------------------------------


def _place(metal: Metal, x: float, y: float) -> float:
    """Lever angle of the flank's point nearest to a place; NaN where it is not on the flank."""
    away = np.hypot(metal.flank[:, 0] - x, metal.flank[:, 1] - y)
    row = int(np.argmin(away))
    step = float(np.max(np.hypot(*np.diff(metal.flank, axis=0).T)))
    return float(metal.theta[row]) if away[row] <= max(ON_FLANK, step) else np.nan


def _outline(case: Case) -> Iterator[Finding]:
    """The outline does not cross itself, and the roller clears all of it."""
    import shapely

    metal = case.metal
    shape = shapely.Polygon(metal.outline)
    reason = str(shapely.is_valid_reason(shape))
    spot = re.search(r"\[(\S+) (\S+)\]", reason)
    theta = _place(metal, float(spot[1]), float(spot[2])) if spot else np.nan
    yield finding(
        "crossing",
        spot is None and bool(shape.is_valid),
        float(spot is not None),
        0.0,
        "",
        theta,
        "The outline does not cross itself.",
        f"The outline crosses itself{at(theta) or ' off the flank'}: it cannot be cut.",
    )
    x, y = metal.pitch.T
    inside = np.where(shapely.contains_xy(shape, x, y), -1.0, 1.0)
    clear = inside * shapely.distance(shape.exterior, shapely.points(x, y))
    value, theta = case.least(clear)
    limit = metal.roller_radius - ROLLER_MAY_CUT
    yield finding(
        "roller_room",
        value >= limit - ROUNDING,
        value,
        limit,
        "mm",
        theta if value < limit - ROUNDING else np.nan,
        "The roller touches the cam at its own place only.",
        f"The roller{at(theta)} would stand {told(metal.roller_radius - value, 'mm', 3)} deep in another part "
        "of the cam.",
    )


def _walls(case: Case) -> Iterator[Finding]:
    """Metal around bore and holes."""
    metal = case.metal
    yield _wall("hub_wall", metal.hub_radius - metal.bore_radius, np.nan, "between bore and hub")
    import shapely

    shape = shapely.Polygon(metal.outline)

    def depth(x: float, y: float) -> tuple[float, float]:
        """How deep a point lies inside the outline, and the lever angle of the nearest place."""
        near = shape.exterior.interpolate(shape.exterior.project(shapely.Point(x, y)))
        away = float(np.hypot(near.x - x, near.y - y))
        return (away if shapely.contains_xy(shape, x, y) else -away), _place(metal, near.x, near.y)

    deep, theta = depth(0.0, 0.0)
    yield _wall("bore_wall", deep - metal.bore_radius, theta, "between bore and outline")
    walls = []
    for row, (x, y, radius) in enumerate(metal.holes):
        deep, theta = depth(x, y)
        others = [(0.0, 0.0, metal.bore_radius), *metal.holes[:row]]
        walls.append((deep - radius, theta))
        walls += [(float(np.hypot(x - ox, y - oy)) - radius - other, np.nan) for ox, oy, other in others]
    if walls:
        yield _wall("hole_wall", *min(walls, key=lambda wall: wall[0]), "beside a hole")


def _wall(key: str, value: float, theta: float, what: str) -> Finding:
    """One wall against the least."""
    limit = taken("cutting.wall_least_mm")
    said = f"{told(value, 'mm')} of metal {what}{at(theta)}"
    bad = f"Too thin: {said}, allowed is {told(limit, 'mm', 1)} or more."
    return finding(key, value >= limit - ROUNDING, value, limit, "mm", theta, f"There is {said}.", bad)
