"""Cams invented for the tests of what a workshop is given: brake, clutch and assist, both turning senses, holes."""

from dataclasses import replace
from functools import cache

from pullcurve.pull.plate import Metal, cam_metal
from tests.pull.example import turning_job, whole

KINDS = ("brake", "clutch", "assist")
NAMES = (*KINDS, *(f"{kind}, same sense" for kind in KINDS), "drilled")

HOLES = ((0.018, -0.002, 0.0015), (-0.0088, 0.0, 0.0009))
"""Two holes that lie in the metal of the brake cam: x, y, radius [m]."""

FINE = 2e-9
"""Chord error of an outline that stands for the curve itself [m]."""


@cache
def metal(name: str, chord: float = 1e-6) -> Metal:
    """One of the cams by name."""
    if name == "drilled":
        return replace(metal("brake", chord), holes=HOLES)
    kind, _, same = name.partition(", ")
    return cam_metal(turning_job() if same else whole(), kind, chord=chord)
