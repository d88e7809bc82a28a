"""Closed curves of a drawing (DXF, SVG): polylines, splines, circles, chains of lines and arcs."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pullcurve.intake.files import refused
from pullcurve.intake.outline import MM
from pullcurve.intake.vector import svg_pieces
from pullcurve.mechanics.curve import FloatArray

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.spline import Spline

PROFILE = "profile"
"""Layer on which a profile is looked for first."""

CHORD_MM = 1e-4
"""Largest distance between a drawn curve and the chords that stand in for it."""

BROKEN = (
    OSError,
    ValueError,
    LookupError,
    TypeError,
    AttributeError,
    ArithmeticError,
    RuntimeError,
    StopIteration,
)
"""What the reader of drawings is seen to raise on spoilt files, beside its own errors."""

SPLINE_POINTS = 1440
"""Points along a spline, at least; every span has 16."""

JOIN_MM = 5e-3
"""Largest gap between lines and arcs that follow each other."""

ROUND = 2e-3
"""Largest scatter of a round hole's radius, as a share."""

MOST_PIECES = 20_000
"""Open pieces that are tried to be joined."""

UNITS_MM = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 13: 1e-3, 14: 100.0}
"""Millimetres of the units that a drawing may state ($INSUNITS); none stated counts as millimetres."""


@dataclass(frozen=True, slots=True)
class Loop:
    """One closed curve: its layer and points (P, 2), the end not repeated [m]."""

    layer: str
    points: FloatArray

    @property
    def area(self) -> float:
        """Enclosed area [m2]."""
        x, y = self.points.T
        return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2

    @property
    def circle(self) -> tuple[FloatArray, float] | None:
        """Centre (2,) and radius [m], if the loop is round."""
        middle = self.points.mean(axis=0)
        x, y = (self.points - middle).T
        design = np.stack([2 * x, 2 * y, np.ones_like(x)], axis=-1)
        a, b, rest = np.linalg.lstsq(design, x**2 + y**2, rcond=None)[0]
        away = np.hypot(x - a, y - b)
        radius = float(np.sqrt(rest + a**2 + b**2))
        return (middle + np.array([a, b]), radius) if np.ptp(away) <= ROUND * radius else None


def loops(file: Path) -> list[Loop]:
    """Closed curves of a drawing, in metres."""
    whole: list[tuple[str, FloatArray]] = []
    open_pieces: list[tuple[str, FloatArray]] = []
    pieces = svg_pieces(file, CHORD_MM) if file.suffix.lower() == ".svg" else _read(file)
    for layer, points in pieces:
        closed = len(points) > 3 and np.hypot(*(points[0] - points[-1])) <= JOIN_MM
        (whole if closed else open_pieces).append((layer, points))
    if len(open_pieces) > MOST_PIECES:
        raise refused(file, f"has {len(open_pieces)} open lines and arcs; allowed is up to {MOST_PIECES}")
    for layer in dict.fromkeys(layer for layer, _ in open_pieces):
        whole += [(layer, chain) for chain in _chains([one for at, one in open_pieces if at == layer])]
    return [Loop(layer, points[:-1] * MM) for layer, points in whole if len(points) > 3]


def _read(file: Path) -> list[tuple[str, FloatArray]]:
    """Every curve of a drawing with its layer [mm], or one line that says why not."""
    import ezdxf
    from ezdxf.lldxf.const import DXFError

    try:
        drawing = ezdxf.readfile(file)  # type: ignore[attr-defined]
        unit = UNITS_MM.get(drawing.units)
        pieces = list(_pieces(drawing, unit)) if unit else []
    except (DXFError, *BROKEN) as error:
        reason = str(error).removeprefix("DXFStructureError: ").strip().splitlines() or ["it ends too early"]
        raise refused(file, f"cannot be read as a drawing (DXF): {reason[0][:80].rstrip('.')}") from None
    if unit is None:
        raise refused(file, f"states its unit as $INSUNITS {drawing.units}; millimetres are 4, inches 1")
    return pieces


def _pieces(drawing: "Drawing", unit: float) -> Iterator[tuple[str, FloatArray]]:
    """Every curve of the model, blocks opened: its layer and points (P, 2) [mm]."""
    from ezdxf import disassemble

    for entity in disassemble.recursive_decompose(drawing.modelspace()):
        points = np.array(_flattened(entity, CHORD_MM / unit), dtype=np.float64).reshape(-1, 2) * unit
        if len(points) > 1 and np.isfinite(points).all():
            yield entity.dxf.layer, points


def _flattened(entity: "DXFEntity", chord: float) -> list[tuple[float, float]]:
    """Points along an entity, none if it is no curve in the plane. Arcs are cut as arcs: curves in between are not."""
    from ezdxf.entities.arc import Arc
    from ezdxf.entities.circle import Circle
    from ezdxf.entities.ellipse import Ellipse
    from ezdxf.entities.line import Line
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline
    from ezdxf.entities.spline import Spline

    if isinstance(entity, Line):
        return [(at.x, at.y) for at in (entity.dxf.start, entity.dxf.end)]
    if isinstance(entity, Spline) and len(entity.control_points):
        return _spline(entity)
    if isinstance(entity, Arc | Circle | Ellipse | Spline):
        return [(at.x, at.y) for at in entity.flattening(chord)]
    if isinstance(entity, LWPolyline) or (
        isinstance(entity, Polyline) and not (entity.is_polygon_mesh or entity.is_poly_face_mesh)
    ):
        sides = [_flattened(side, chord) for side in entity.virtual_entities()]
        return _strung(sides)
    return []


def _spline(entity: "Spline") -> list[tuple[float, float]]:
    """Points along a B-spline where its knots define it: those of a closed one need not be clamped."""
    from scipy.interpolate import BSpline

    degree, knots = entity.dxf.degree, np.array(entity.knots, dtype=np.float64)
    weights = np.array(entity.weights) if len(entity.weights) else np.ones(len(entity.control_points))
    spread = np.column_stack([np.array(entity.control_points)[:, :2] * weights[:, None], weights])
    breaks = np.unique(knots[degree : len(knots) - degree])
    per_span = max(16, SPLINE_POINTS // max(1, len(breaks) - 1))
    share = np.arange(per_span) / per_span
    along = np.append((breaks[:-1, None] + np.diff(breaks)[:, None] * share).ravel(), breaks[-1])
    x, y, weight = BSpline(knots, spread, degree)(along).T
    return list(zip(x / weight, y / weight, strict=True))


def _strung(sides: list[list[tuple[float, float]]]) -> list[tuple[float, float]]:
    """Sides of a polyline in a row; an arc that bends clockwise is drawn from its far end and turned round."""
    if not sides:
        return []
    line = list(sides[0])
    if len(sides) > 1 and _apart(line[0], sides[1]) < _apart(line[-1], sides[1]):
        line.reverse()
    for side in sides[1:]:
        line += side[1:] if math.dist(line[-1], side[0]) <= math.dist(line[-1], side[-1]) else side[-2::-1]
    return line


def _apart(end: tuple[float, float], side: list[tuple[float, float]]) -> float:
    """Distance of a point from the nearer end of a side."""
    return min(math.dist(end, side[0]), math.dist(end, side[-1]))


def _chains(pieces: list[FloatArray]) -> Iterator[FloatArray]:
    """Closed chains of open pieces that meet end to end, the end repeated."""
    ends = np.array([(piece[0], piece[-1]) for piece in pieces])
    free = np.ones(len(pieces), dtype=bool)
    for first in range(len(pieces)):
        if not free[first]:
            continue
        free[first] = False
        chain = [pieces[first]]
        while np.hypot(*(chain[-1][-1] - chain[0][0])) > JOIN_MM:
            away = np.hypot(*np.moveaxis(ends - chain[-1][-1], -1, 0))
            away[~free] = np.inf
            piece, end = np.unravel_index(np.argmin(away), away.shape)
            if away[piece, end] > JOIN_MM:
                break
            free[piece] = False
            chain.append(pieces[piece][::-1] if end else pieces[piece])
        else:
            yield np.concatenate([piece[:-1] for piece in chain] + [chain[0][:1]])
