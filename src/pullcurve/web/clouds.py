"""Every set that a search pulled, as points for a scatter: plain data, nothing computed."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.record import Record
from pullcurve.pull.readouts import Facet, facets
from pullcurve.studies.candidates import Candidates
from pullcurve.studies.find import LeverAnswer
from pullcurve.studies.wishes import WISH_READOUTS, first_surface
from pullcurve.units import from_si


def cloud(found: LeverAnswer) -> Record:
    """Read-outs of every set that keeps the limits, for each that may be wished for, with distance and rank."""
    table = found.table
    rows = np.flatnonzero(table.allowed & np.isfinite(found.distance))
    wishes = {wish.key: wish for wish in found.wishes}
    axes = []
    for key, facet, values in _columns(table):
        wish = wishes.get(key)
        now = next(values_now for known, _, values_now in _columns(found.fitted) if known == key)
        axes.append(
            {
                "key": key,
                "label": facet.label,
                "unit": facet.unit,
                "decimals": facet.decimals,
                "values": values[rows],
                "fitted": now[0],
                "wish": None if wish is None else from_si(f"value_{facet.unit}", wish.target),
                "source": None if wish is None else wish.source,
            }
        )
    return {
        "lever": found.lever,
        "axes": axes,
        "cams": [{kind: cam.id for kind, cam in table.set_at(row).items()} for row in rows.tolist()],
        "distance_felt_steps": found.distance[rows],
        "undominated": found.front[rows],
    }


def _columns(table: Candidates) -> list[tuple[str, Facet, FloatArray]]:
    """Each read-out that may be wished for, by the wish's key: its facet, and its values in the facet's unit."""
    readouts = table.readouts()
    columns = []
    for key, name in WISH_READOUTS.items():
        kind = key.partition(".")[0]
        if kind in readouts:
            facet = dict(facets(readouts[kind]))[name]
            values = first_surface(getattr(readouts[kind], name), facet)
            columns.append((key, facet, values * from_si(f"value_{facet.unit}", 1.0)))
    return columns
