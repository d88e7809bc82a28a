"""A ladder: cams in equal felt steps between two ends, drawn one after the other, each perhaps at several reaches."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.studies.draw import Drawn, Wanted, at_reach, draw
from pullcurve.studies.wishes import Wish, felt_steps

Told = Callable[[int, int], None]


def rungs(first: float, last: float, count: int, facet_felt: str) -> FloatArray:
    """Values in equal felt steps: equal ratios of force, equal distances of place, (count,)."""
    if facet_felt == "force":
        return np.geomspace(first, last, count)
    return np.linspace(first, last, count)


def ladder(
    job: Job,
    kind: str,
    wish: Wish,
    ends: tuple[float, float],
    count: int,
    others: tuple[Wish, ...],
    told: Told,
    *,
    reaches: tuple[float, ...] = (),
    keep_end: bool | None = None,
) -> tuple[Drawn, ...]:
    """Draw ``count`` cams that differ in one wish by equal felt steps and share the others and the end point.

    Every cam keeps its limits at all ``reaches`` [rad] and is judged at the first. Brake cams end at the stroke of the
    fitted one unless ``keep_end`` says otherwise; a lighter clutch needs another lift, and an assist gives back energy,
    so theirs is free unless it says so. Raises BadInput when the ends are so near that the steps could not be felt.
    """
    whole = abs(float(felt_steps(ends[0], ends[1], wish.facet)))
    if count > 1 and whole / (count - 1) < 1.0:
        most = int(whole) + 1
        raise BadInput(
            Fault(
                "ladder",
                "steps",
                f"is {count}; allowed is 2 to {max(most, 2)}, or a finger could not tell the rungs apart",
            )
        )
    found: list[Drawn] = []
    kept = kind == "brake" if keep_end is None else keep_end
    for place, target in enumerate(rungs(*ends, count, wish.facet.felt), 1):
        wishes = (replace(wish, target=float(target)), *others)
        wanted = Wanted(np.zeros(0), np.zeros(0), wishes, kept)
        start = found[-1].curve if found and found[-1].met else None
        found.append(draw(job, kind, wanted, start, reaches=reaches))
        told(place, count)
    return tuple(found)


def at_reaches(
    job: Job, known: tuple[Drawn, ...], reaches: tuple[float, ...]
) -> tuple[tuple[Drawn, ...], ...]:
    """Every rung at every reach [rad], rung by rung."""
    return tuple(tuple(at_reach(job, rung, reach) for reach in reaches) for rung in known)
