"""How far a candidate is from what the rider wants, counted in steps that a finger can feel."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import felt_steps_force, felt_steps_position
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.units import to_si

WISH_READOUTS = {
    "brake.gap_rest_mm": "gap_rest",
    "brake.gap_bite_mm": "gap_bite",
    "brake.travel_bite_mm": "travel_bite",
    "brake.force_lock_newton": "force_lock",
    "brake.modulation_mm": "modulation_travel",
    "clutch.gap_rest_mm": "gap_rest",
    "clutch.gap_free_mm": "gap_free",
    "clutch.force_peak_newton": "force_peak",
    "clutch.force_hold_newton": "force_hold",
    "clutch.friction_zone_mm": "friction_zone",
}
"""Which read-out each wish speaks of; a wish on a per-surface read-out speaks of the first surface."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One wish: its key, the read-out it speaks of, the wanted value in SI, its weight.

    ``source`` is given, prior, or kept: a lever stays where it rests unless somebody asks for another place.
    """

    key: str
    kind: str
    readout: str
    target: float
    weight: float
    source: str
    facet: Facet


KEPT_WEIGHT = 0.25
"""Weight of leaving the lever where it rests, against wishes that somebody stated."""


def wishes_of(job: Job, kind: str, fitted: Readouts) -> tuple[Wish, ...]:
    """The job's wishes for brake or clutch, the documented priors where it states none; ``fitted`` is one row."""
    stated = getattr(job.wishes, kind, None) if job.wishes else None
    known = dict(facets(fitted))
    weights = job.wishes.importance if job.wishes else {}
    found = []
    for key, readout in WISH_READOUTS.items():
        if not key.startswith(f"{kind}."):
            continue
        name = key.removeprefix(f"{kind}.")
        value = getattr(stated, name) if stated is not None else facts.wish(key)
        if value is not None:
            source = "given" if stated is not None else "prior"
            found.append(
                Wish(key, kind, readout, to_si(name, value)[1], weights.get(key, 1.0), source, known[readout])
            )
        elif readout == "gap_rest":
            found.append(
                Wish(key, kind, readout, float(fitted.gap_rest[0]), KEPT_WEIGHT, "kept", known[readout])
            )
    return tuple(found)


def first_surface(values: FloatArray, facet: Facet) -> FloatArray:
    """A read-out without its surface axis: the first surface is the one that wishes refer to."""
    return values[..., 0] if facet.per_surface else values


def felt_steps(before: FloatArray | float, after: FloatArray | float, facet: Facet) -> FloatArray:
    """Signed change in felt steps; read-outs that no finger feels count nothing."""
    if facet.felt == "force":
        return np.asarray(felt_steps_force(before, after))
    if facet.felt == "place":
        return np.asarray(felt_steps_position(before, after))
    return np.zeros(np.broadcast_shapes(np.shape(before), np.shape(after)))


def distances(wishes: tuple[Wish, ...], readouts: Readouts) -> FloatArray:
    """Signed felt steps from every wish, (wishes, n); inf where the read-out is not reached."""
    steps = [
        felt_steps(wish.target, first_surface(getattr(readouts, wish.readout), wish.facet), wish.facet)
        for wish in wishes
    ]
    count = readouts.gap_rest.shape
    stacked = np.stack(steps) if steps else np.zeros((0, *count))
    return np.where(np.isnan(stacked), np.inf, stacked)


def total(wishes: tuple[Wish, ...], steps: FloatArray) -> FloatArray:
    """Weighted distance over all wishes, root of the mean square, (n,) [felt steps]."""
    weights = np.array([wish.weight for wish in wishes])
    if not wishes:
        return np.zeros(steps.shape[1:])
    return np.asarray(np.sqrt(np.sum(weights[:, None] * steps**2, axis=0) / np.sum(weights)))


def undominated(costs: FloatArray) -> BoolArray:
    """Which columns no other column beats in every row (costs: (wishes, n), lower is better), as a mask (n,).

    The first column left in the order of the rows is always undominated; what it beats is struck off, and so on:
    one round per answer.
    """
    count = costs.shape[1]
    alive = np.all(np.isfinite(costs), axis=0)
    kept = np.zeros(count, dtype=np.bool_)
    order = np.lexsort((np.zeros(count), *costs[::-1]))
    while np.any(alive):
        best = int(order[np.argmax(alive[order])])
        kept[best] = True
        column = costs[:, best, None]
        beaten = np.all(costs >= column, axis=0) & np.any(costs > column, axis=0)
        alive &= ~beaten
        alive[best] = False
    return kept
