"""What a check of a cam says: findings with their places, a verdict, and the words they share."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.parts.unit import Rocker
from pullcurve.pull.arrays import BoolArray
from pullcurve.pull.mechanism import si
from pullcurve.pull.plate import Metal, rocker_of
from pullcurve.units import from_si, to_si

ROUNDING = 1.0e-9
"""Lengths and slopes that are rounding alone [m, -]."""

SIGNS = {"gpa": "GPa", "newton": "N", "newton_per_mm": "N/mm", "deg": "°", "percent": "%", "": ""}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing checked: value against limit in SI, the unit to show them in, where on the flank, and a sentence.

    ``where_deg`` is the lever angle at which the place on the flank is in touch; NaN where there is no place.
    """

    key: str
    ok: bool
    value: float
    limit: float
    unit: str
    where_deg: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """Everything that was checked of one cam."""

    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing was found wrong."""
        return all(finding.ok for finding in self.findings)

    @property
    def words(self) -> str:
        """What is wrong, or that nothing is."""
        wrong = [finding.sentence for finding in self.findings if not finding.ok]
        return " ".join(wrong) if wrong else "The cam passes every check."


@dataclass(frozen=True, slots=True)
class Case:
    """A cam with its rocker as described, its finger radius, the used lever angles and its pitch curvature."""

    metal: Metal
    rocker: Rocker
    finger_radius: float
    used: BoolArray
    bend: FloatArray

    def least(self, values: FloatArray, everywhere: bool = False) -> tuple[float, float]:
        """Smallest value along the used flank, or along all that is cut, and its lever angle; NaN wins."""
        known = values if everywhere else np.where(self.used, values, np.inf)
        row = int(np.argmin(known))
        return float(known[row]), float(self.metal.theta[row])


def case_of(job: Job, metal: Metal) -> Case:
    """A cam with what its check needs of the job."""
    row, rocker = rocker_of(job, metal.drives)
    state, geometry = metal.law, (metal.centre_distance, metal.arm, metal.sense)
    bend = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
    used = (metal.theta >= -ROUNDING) & (metal.theta <= metal.rest_end + ROUNDING)
    return Case(metal, rocker, si(job.unit.levers[row], "finger_radius_mm"), used, bend)


def taken(path: str) -> float:
    """A number of the materials table in SI, by its dotted path."""
    node: Any = facts.table("materials")
    for part in path.split("."):
        node = node[part]
    return to_si(path, float(node["value"]))[1]


def told(value: float, unit: str, decimals: int = 2) -> str:
    """A value with its unit sign."""
    if not np.isfinite(value):
        return "not known" if np.isnan(value) else "without bound"
    space = "" if unit in ("deg", "") else " "
    number = round(from_si(f"value_{unit}", value), decimals) + 0.0  # no minus before a zero
    return f"{number:.{decimals}f}{space}{SIGNS.get(unit, unit)}"


def at(theta: float) -> str:
    """Where on the flank."""
    return "" if np.isnan(theta) else f" at {told(theta, 'deg', 1)} of lever"


def finding(
    key: str, ok: bool, value: float, limit: float, unit: str, theta: float, good: str, bad: str
) -> Finding:
    """A finding that speaks one of two sentences."""
    return Finding(key, ok, value, limit, unit, from_si("where_deg", theta), good if ok else bad)
