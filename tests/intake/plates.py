"""The metal of a cam from its law alone, by another road: complex numbers and shapely instead of normals and faces."""

import numpy as np
import shapely

from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.plate import Metal

MM = 1e-3


def metal_mm(metal: Metal) -> FloatArray:
    """Closed outline in mm: the roller centre's path moved in by the roller, its ends tied to the hub by tangents.

    Shapely offsets the path; hull, union and hub are its own too. Of the cam only law and sizes are used.
    """
    theta, psi = metal.theta, metal.law.psi
    centre = (metal.centre_distance - metal.arm * np.exp(-1j * psi)) * np.exp(-1j * metal.sense * theta) / MM
    path = shapely.LineString(np.stack([centre.real, centre.imag], axis=-1))
    hub = shapely.Point(0.0, 0.0).buffer(metal.hub_radius / MM, quad_segs=720)
    sides = [path.offset_curve(side * metal.roller_radius / MM, quad_segs=360) for side in (-1, 1)]
    flank = min(sides, key=lambda side: side.distance(hub))
    fan = shapely.Polygon([(0.0, 0.0), *flank.coords])
    ends = [shapely.Point(flank.coords[end]).union(hub).convex_hull for end in (0, -1)]
    body = shapely.union_all([hub, fan, *ends])
    return np.asarray(body.exterior.coords)[:-1]
