"""The law of a cam from a file: points, a drawing, a picture, or a table of the law itself.

Clocking. Where the lever rests cannot be seen on a cam. A drawing or a table whose bore is at 0, 0 and whose cam is
turned by less than half a degree is taken as it lies: it is in the cam's own frame. Anything else is first turned to
where the nominal law fits it best, which tells the flank from the rest and the face from the back, but no more: a cam
with another law would be turned until it looks like the nominal one. What clocks it then is what cams for one rocker
share whatever their law. A flank that rises from rest is clocked by the rest angle of the rocker: at lever angle 0 the
roller stands there. An assist cam is round at rest and its rest angle clocks nothing, but its round part ends at the
same place whatever follows: it is clocked by its rest face. (The rest face of a rising flank leans with the law's
first degrees, by 0.2 degrees for a tenth of stroke, computed; that would be 0.08 mm at the roller.)
What cannot be seen this way is a flank cut as a whole at a wrong angle to key or screws; the turn is told.
"""

import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pullcurve.intake.files import refused
from pullcurve.intake.flank import clock_to_rest, flank_law, shown_span
from pullcurve.intake.outline import FINEST, Outline
from pullcurve.intake.points import AXES, outline_of, points_from_dxf
from pullcurve.intake.scan import outline_from_scan
from pullcurve.intake.tables import Table, read_table
from pullcurve.mechanics.curve import Curve, FloatArray, evaluate
from pullcurve.mechanics.smoothing import smooth_law
from pullcurve.pull.plate import Metal
from pullcurve.units import FACTORS, from_si

TABLES, DRAWINGS, PICTURES = (
    (".csv", ".txt", ".tsv"),
    (".dxf", ".svg"),
    (".png", ".tif", ".tiff", ".jpg", ".jpeg"),
)

LEVER, TURN, ANGLE = r"lever[_ ]angle|theta(?![a-z])", r"rocker[_ ]turn", r"rocker[_ ]angle|psi(?![a-z])"
"""How the columns of a law are called; a turn counts from the rest angle, an angle from the line to the lever pivot."""

RADIANS = r"(?<![a-z])rad"
"""What a column in radians has in its name; others are in degrees."""

FEWEST_ROWS = 8
"""Rows of a table of a law."""


@dataclass(frozen=True, slots=True)
class ReadCam:
    """A cam as read from a file.

    ``curve`` is psi(theta) over the nominal cam's span, lead-in and run-out too. At ``theta`` (S,) [rad] stands the
    ``covariance`` (S, 2, 2) of psi [rad2] and psi'. ``residual`` is what smoothing left of psi [rad]; ``shown`` are the
    lever angles between which the source shows the flank, beyond them the curve goes on as a parabola. At
    ``doubtful`` angles the roller could rest in several places. ``outline`` is clocked: ``turn`` is what it was turned
    by [rad], ``mirrored`` whether its back was seen; a table of the law has none. ``clock_residual`` is the root mean
    square between the law and the nominal one over the pull [rad].
    """

    source: str
    curve: Curve
    theta: FloatArray
    covariance: FloatArray
    residual: float
    shown: tuple[float, float]
    doubtful: FloatArray
    outline: Outline | None
    turn: float
    mirrored: bool
    clock_residual: float

    @property
    def deviation(self) -> FloatArray:
        """Standard deviation of psi (S,) [rad]."""
        return np.sqrt(self.covariance[:, 0, 0])

    @property
    def dpsi_deviation(self) -> FloatArray:
        """Standard deviation of psi' (S,) [-]."""
        return np.sqrt(self.covariance[:, 1, 1])


def law_from_file(
    path: Path | str,
    metal: Metal,
    *,
    dpi: float | None = None,
    scale_mm: float | None = None,
    layer: str | None = None,
) -> ReadCam:
    """Law of the cam that a file shows, for the rocker of a nominal cam; see the module on clocking."""
    file = Path(path)
    kind = file.suffix.lower()
    if kind not in TABLES + DRAWINGS + PICTURES:
        allowed = f"points {_some(TABLES)}, a drawing {_some(DRAWINGS)}, a picture {_some(PICTURES)}"
        raise refused(file, f"is no kind of file that a cam is read from; allowed are {allowed}")
    if kind not in PICTURES and (dpi is not None or scale_mm is not None):
        raise refused(
            file, f"is no picture and has its own scale; dpi and scale_mm are for {_some(PICTURES)}"
        )
    if kind not in DRAWINGS and layer is not None:
        raise refused(file, f"is no drawing and has no layers; layer is for {_some(DRAWINGS)}")
    if kind in PICTURES:
        return _from_outline(
            outline_from_scan(file, dpi, scale_mm, from_si("bore_mm", 2 * metal.bore_radius)), metal
        )
    if kind in DRAWINGS:
        return _from_outline(points_from_dxf(file, layer), metal)
    table = read_table(file, (LEVER, TURN), (LEVER, ANGLE), AXES)
    if table.column(LEVER) is not None and (table.column(TURN), table.column(ANGLE)) != (None, None):
        return _from_law(table, metal)
    return _from_outline(outline_of(table), metal)


def _some(suffixes: tuple[str, ...]) -> str:
    return f"({', '.join(suffixes)})"


def _from_outline(outline: Outline, metal: Metal) -> ReadCam:
    """Law of an outline, clocked."""
    clocked = clock_to_rest(outline, metal)
    found = flank_law(clocked.outline, metal)
    smooth = found.smooth
    return ReadCam(
        outline.source,
        smooth.curve,
        found.read.theta,
        smooth.covariance,
        smooth.residual,
        found.shown,
        found.read.doubtful,
        clocked.outline,
        clocked.turn,
        clocked.mirrored,
        _off_nominal(smooth.curve, metal),
    )


def _from_law(table: Table, metal: Metal) -> ReadCam:
    """Law as a table states it, no better than its digits."""
    lever, turn = table.column(LEVER), table.column(TURN)
    rocker = turn if turn is not None else table.column(ANGLE)
    assert lever is not None and rocker is not None
    factors = [1.0 if re.search(RADIANS, table.names[place]) else FACTORS["deg"] for place in (lever, rocker)]
    typed = table.numbers((lever, rocker), "an angle") * factors
    typed = typed[np.argsort(typed[:, 0], kind="stable")]
    at, psi = typed.T
    if turn is not None:
        psi = psi + metal.rest_angle
    _possible(at, psi, table, metal)
    known = (at >= metal.theta[0]) & (at <= metal.theta[-1])
    at, psi = at[known], psi[known]
    shown = shown_span(at, metal, table.file.name)
    theta = np.unique(np.concatenate([metal.theta[[0, -1]], at]))
    read = np.full(theta.size, np.nan)
    read[np.searchsorted(theta, at)] = psi
    scatter = table.rounding((rocker,)) * factors[1]
    smooth = smooth_law(theta, read, max(scatter, FINEST), scatter**2 * np.eye(theta.size))
    off = _off_nominal(smooth.curve, metal)
    return ReadCam(
        table.file.name, smooth.curve, theta, smooth.covariance, smooth.residual, shown,
        np.empty(0), None, 0.0, False, off,
    )  # fmt: skip


def _possible(at: FloatArray, psi: FloatArray, table: Table, metal: Metal) -> None:
    """Refuse a law that is none."""
    if at.size < FEWEST_ROWS:
        raise refused(table.file, f"has {at.size} rows; a table of a law has at least {FEWEST_ROWS}")
    twice = at[1:][np.diff(at) <= 0]
    if twice.size:
        raise refused(table.file, f"has the lever angle {from_si('at_deg', float(twice[0])):g} degrees twice")
    if not (psi.min() > 0 and psi.max() < math.pi):
        worst = float(psi.min() if psi.min() <= 0 else psi.max())
        said = f"turns the rocker to {from_si('psi_deg', worst):.1f} degrees from the line to the lever pivot"
        raise refused(table.file, f"{said}; allowed is 0 to 180")


def _off_nominal(curve: Curve, metal: Metal) -> float:
    """Root mean square between a law and the nominal one over the pull [rad]."""
    pulled = (metal.theta >= 0) & (metal.theta <= metal.rest_end)
    off = evaluate(curve, metal.theta[pulled])[0] - metal.law.psi[pulled]
    return float(np.sqrt(np.mean(off**2)))
