"""A trial cam for a printer, STL and 3MF: never without its warning, in plastic, name, header and metadata."""

import struct
import zipfile
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.drawing import ring_of
from pullcurve.papers.lettering import holes_mm, in_mm
from pullcurve.papers.strokes import ring_height, ring_strokes
from pullcurve.pull.plate import Metal
from pullcurve.units import from_si

if TYPE_CHECKING:
    from shapely import Polygon

WARNING = "bench only, never ride"
CUT_IN = "BENCH ONLY NEVER RIDE "
"""What stands in the plastic, once round the bore."""

DEPTH, STROKE = 0.6, 0.15
"""Depth of the letters, mm, and width of their strokes over their height."""

RING_SHARE, LEAST_HEIGHT, SKIN = 0.62, 1.0, 0.3
"""Share of the hub's ring that letters take; below this height, mm, no printer shows them; metal left beside them."""

SHARES = (1.0, 0.85, 0.7, 0.55)
STEP_DEG = 10
"""Letters smaller than the ring leave a gap for a hole; where it has to lie is tried all round."""

CORNERS = 240
"""Corners of a round hole: 0.001 mm off at a radius of 13 mm."""

DATE = (1980, 1, 1, 0, 0, 0)
"""The first date that the container knows: the file is the same every time."""

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


@dataclass(frozen=True, slots=True)
class Solid:
    """A closed body of triangles, mm: corners (V, 3), faces (F, 3) counter-clockwise from outside."""

    name: str
    corners: FloatArray
    faces: NDArray[np.int64]


def trial_name(metal: Metal) -> str:
    """Name of the body and of its file, warning included: blanks and commas become hyphens."""
    return f"{metal.name}-{WARNING.replace(', ', '-').replace(' ', '-')}"


# Body --------------------------------------------------------------------------------------------------------


def plan(metal: Metal) -> "Polygon":
    """The plate seen from above, bore and holes left open, mm."""
    import shapely

    whole = shapely.Polygon(in_mm(metal.outline))
    rounds = ((0.0, 0.0, from_si("radius_mm", metal.bore_radius)), *holes_mm(metal))
    for x, y, radius in rounds:
        whole = whole.difference(shapely.Polygon(ring_of((x, y), radius, CORNERS)))
    assert isinstance(whole, shapely.Polygon)
    return shapely.orient_polygons(whole)


def letters(metal: Metal, plate: "Polygon") -> "tuple[Polygon, ...]":
    """The warning round the bore, as large as the plate has room for all of it; empty where it has not."""
    import shapely
    from shapely import affinity

    bore, hub = (from_si("radius_mm", radius) for radius in (metal.bore_radius, metal.hub_radius))
    radius = (bore + hub) / 2
    most = ring_height(CUT_IN, radius, RING_SHARE * (hub - bore))
    room = plate.buffer(-SKIN)
    shapely.prepare(room)
    for share in SHARES:
        height = share * most
        if height < LEAST_HEIGHT:
            return ()
        lines = [shapely.LineString(line) for line in ring_strokes(CUT_IN, radius, height, np.pi / 2)]
        cut = shapely.union_all([line.buffer(STROKE * height / 2, quad_segs=3) for line in lines])
        for turn in range(0, 360, STEP_DEG):
            turned = affinity.rotate(cut, -turn, origin=(0.0, 0.0))
            if room.contains(turned):
                return tuple(shapely.orient_polygons(part) for part in shapely.get_parts(turned))
    return ()


def trial_solid(metal: Metal) -> Solid:
    """The plate with its warning sunk into the upper face, closed: caps, floors of the letters, walls."""
    import shapely

    plate = plan(metal)
    sunk = letters(metal, plate)
    top = from_si("thickness_mm", metal.thickness)
    floor = top - min(DEPTH, top / 2)
    upper = plate
    for letter in sunk:
        upper = upper.difference(letter)
    # A letter such as O leaves an island of the upper face inside it.
    islands = [part for part in shapely.get_parts(upper) if isinstance(part, shapely.Polygon)]
    pieces = [_cap(plate, 0.0, up=False), _walls(plate, 0.0, top)]
    pieces += [_cap(shapely.orient_polygons(part), top, up=True) for part in islands]
    pieces += [_cap(letter, floor, up=True) for letter in sunk]
    pieces += [_walls(letter, floor, top, sunk=True) for letter in sunk]
    return _joined(trial_name(metal), pieces)


Piece = tuple[FloatArray, NDArray[np.int64]]


def _cap(shape: "Polygon", height: float, up: bool) -> Piece:
    """A flat face, seen from above or from below; its triangles have no corner that the rings have not."""
    import shapely

    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    flat = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    first, second, third = flat[:, 0], flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    left = second[:, 0] * third[:, 1] - second[:, 1] * third[:, 0] > 0
    turned = np.where((left == up)[:, None, None], flat, np.stack([first, flat[:, 2], flat[:, 1]], axis=1))
    corners = np.column_stack([turned.reshape(-1, 2), np.full(3 * len(flat), height)])
    return corners, np.arange(3 * len(flat), dtype=np.int64).reshape(-1, 3)


def _walls(shape: "Polygon", low: float, high: float, sunk: bool = False) -> Piece:
    """Upright walls along every ring: metal stands left of an oriented ring, or right of it where sunk."""
    corners, faces, start = [], [], 0
    for ring in (shape.exterior, *shape.interiors):
        flat = np.asarray(ring.coords)[:-1, :2]
        count = len(flat)
        corners += [np.column_stack([flat, np.full(count, level)]) for level in (low, high)]
        here = np.arange(count)
        there = (here + 1) % count
        quads = np.stack([here, there, there + count, here, there + count, here + count], axis=-1) + start
        faces.append(quads.reshape(-1, 3)[:, ::-1] if sunk else quads.reshape(-1, 3))
        start += 2 * count
    return np.concatenate(corners), np.concatenate(faces)


def _joined(name: str, pieces: list[Piece]) -> Solid:
    """One body; corners at the same place become one."""
    starts = np.cumsum([0, *(len(corners) for corners, _ in pieces)])
    corners = np.concatenate([piece[0] for piece in pieces])
    faces = np.concatenate([piece[1] + start for piece, start in zip(pieces, starts[:-1], strict=True)])
    kept, place = np.unique(np.round(corners, 7), axis=0, return_inverse=True)
    return Solid(name, kept, place.reshape(-1)[faces].astype(np.int64))


# Files -------------------------------------------------------------------------------------------------------


def trial_stl(metal: Metal) -> bytes:
    """The trial cam as binary STL in mm; its header begins with the warning."""
    solid = trial_solid(metal)
    triangles = solid.corners[solid.faces].astype("<f4")
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    lengths = np.linalg.norm(normals, axis=-1, keepdims=True)
    rows = np.zeros(len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
    rows["normal"], rows["corners"] = normals / np.where(lengths > 0, lengths, 1.0), triangles
    header = f"{WARNING}: {metal.name}, mm".encode("ascii", "replace")[:80].ljust(80)
    return header + struct.pack("<I", len(triangles)) + rows.tobytes()


def trial_3mf(metal: Metal) -> bytes:
    """The trial cam as 3MF in mm, the warning in title, description and the name of the body."""
    solid = trial_solid(metal)
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as box:
        for name, content in (
            ("[Content_Types].xml", CONTENT_TYPES),
            ("_rels/.rels", RELATIONS),
            ("3D/3dmodel.model", _model(metal, solid)),
        ):
            box.writestr(zipfile.ZipInfo(name, DATE), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _model(metal: Metal, solid: Solid) -> str:
    """The model part of a 3MF file."""
    said = {
        "Title": f"{metal.name}: {WARNING}",
        "Description": f"Trial cam for the bench. {WARNING.capitalize()}: printed plastic does not carry the load.",
    }
    metadata = "".join(f'<metadata name="{key}">{escape(value)}</metadata>\n' for key, value in said.items())
    corners = "".join(f'<vertex x="{x:.7g}" y="{y:.7g}" z="{z:.7g}"/>' for x, y, z in solid.corners.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in solid.faces.tolist())
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en" xmlns="{CORE}">\n{metadata}'
        f'<resources><object id="1" type="model" name={quoteattr(solid.name)}><mesh>\n'
        f"<vertices>{corners}</vertices>\n<triangles>{faces}</triangles>\n"
        '</mesh></object></resources>\n<build><item objectid="1"/></build></model>\n'
    )
