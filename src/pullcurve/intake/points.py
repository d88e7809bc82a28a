"""Outlines from points: tables of coordinates and drawings."""

import math
from pathlib import Path

import numpy as np

from pullcurve.intake.files import present, refused
from pullcurve.intake.loops import PROFILE, Loop, loops
from pullcurve.intake.outline import MM, Outline, about_origin, checked
from pullcurve.intake.places import short
from pullcurve.intake.tables import LARGEST, Table, read_table
from pullcurve.mechanics.curve import FloatArray

AXES = (r"x\b|x_", r"y\b|y_")
"""How the columns of an outline are called."""

RIDING = 2.0
"""How many scatters of its points an edge may be off: the roller rides on those that stand out (computed)."""


def points_from_csv(path: Path | str, deviation_mm: float = 0.0) -> Outline:
    """Outline from a table of points in mm, in order round the cam, the bore's centre at 0, 0.

    Where a line of names has x and y, those are the columns, else there are two of them. Points are no better than the
    digits that they are typed with.
    """
    return outline_of(read_table(path, AXES), deviation_mm)


def outline_of(table: Table, deviation_mm: float = 0.0) -> Outline:
    """Outline from a table that is open already."""
    file = table.file
    x, y = (table.column(axis) for axis in AXES)
    if x is None or y is None:
        table, x, y = _two_columns(table), 0, 1
    points = about_origin(checked(table.numbers((x, y), "a number in mm") * MM, file), file)
    deviation = max(deviation_mm, table.rounding((x, y))) * MM
    return Outline(points, math.nan, np.zeros(2), RIDING * deviation, file.name, deviation)


def _two_columns(table: Table) -> Table:
    """The table without empty cells, if two are left in every line."""
    rows = []
    for line, row in table.rows:
        known = tuple(cell for cell in row if cell)
        if len(known) != 2:
            said = f"has {len(known)} columns in line {line}; x and y in mm are needed, or a first line that names them"
            raise refused(table.file, said)
        rows.append((line, known))
    return Table(table.file, table.names, tuple(rows))


def points_from_dxf(path: Path | str, layer: str | None = None) -> Outline:
    """Outline from a drawing: the largest closed curve of a layer, about the largest round hole in it.

    Without a layer: the one that is called profile, else all. A drawing without a hole has the bore's centre at 0, 0.
    """
    file = present(path, LARGEST, "a drawing")
    found = loops(file)
    profile = max(_on_layer(found, layer, file), key=lambda loop: loop.area)
    points = checked(profile.points, file)
    bore = _bore(found, points)
    if bore is None:
        return Outline(about_origin(points, file), math.nan, np.zeros(2), 0.0, file.name)
    centre, radius = bore
    return Outline(points - centre, radius, centre, 0.0, file.name)


def _on_layer(found: list[Loop], layer: str | None, file: Path) -> list[Loop]:
    """The closed curves among which the profile is looked for."""
    layers = list(dict.fromkeys(loop.layer for loop in found))
    wanted = PROFILE if layer is None else layer
    chosen = [loop for loop in found if loop.layer.lower() == wanted.lower()]
    if layer is None:
        chosen = chosen or found
    if not chosen:
        where = f"; there are some on {', '.join(map(short, layers[:6]))}" if layers else ""
        on = f" on layer {short(layer)}" if layer is not None else ""
        raise refused(file, f"has no closed outline{on}{where}")
    return chosen


def _bore(found: list[Loop], points: FloatArray) -> tuple[FloatArray, float] | None:
    """Centre and radius of the largest round hole inside an outline."""
    from shapely import Polygon

    profile = Polygon(points)
    circles = [
        loop.circle
        for loop in found
        if loop.area < 0.98 * profile.area and profile.contains(Polygon(loop.points))
    ]
    return max((circle for circle in circles if circle is not None), key=lambda one: one[1], default=None)
