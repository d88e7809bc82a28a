"""What the contact force does to a cam's flank and to its roller, against what their materials bear."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import stress
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.parts.unit import Rocker
from pullcurve.pull.loop import LeverPull
from pullcurve.pull.mechanism import si
from pullcurve.pull.plate import Metal
from pullcurve.studies.findings import ROUNDING, Case, Finding, at, case_of, finding, taken, told
from pullcurve.units import to_si


@dataclass(frozen=True, slots=True)
class Material:
    """What a cam is made of, SI; ``note`` says where the allowed contact pressure comes from."""

    name: str
    elastic_modulus: float
    poisson: float
    allowed: float
    note: str


def material(name: str) -> Material:
    """A material by its name; without an allowable for rolling on it, a share of first yield stands in."""
    known = facts.table("materials")["materials"][name]
    value = {
        key: to_si(key, float(fact["value"]))[1]
        for key, fact in known.items()
        if fact.get("value") is not None
    }
    yielding = float(stress.endurance_pressure_limit(value["yield_gpa"]))
    allowed = value.get("contact_gpa", yielding)
    own = "contact_gpa" in value
    note = "" if own else f" (0.6 of first yield: no allowable for rolling on {name} was found)"
    return Material(name, value["elastic_modulus_gpa"], value["poisson"], allowed, note)


def stress_along(job: Job, metal: Metal, pulled: LeverPull) -> FloatArray:
    """Greatest contact pressure over ``metal.theta`` on the pull branch, NaN beyond the travel, (S,) [Pa]."""
    theta, force = _pushed(metal, pulled)
    along = np.interp(metal.theta, theta, force, left=np.nan, right=np.nan)
    return _pressure_at(case_of(job, metal), metal.theta, along)


def _pushed(metal: Metal, pulled: LeverPull) -> tuple[FloatArray, FloatArray]:
    """Lever angles and contact force of the pull branch, each (S,)."""
    curves = pulled.curves.rocker(metal.drives)
    assert curves is not None
    theta = pulled.curves.theta.reshape(-1)
    return theta, np.broadcast_to(curves.contact_pull, theta.shape)


def _pressure_at(case: Case, theta: FloatArray, force: FloatArray) -> FloatArray:
    """Greatest contact pressure at given lever angles and contact forces, with the metal's signed curvature."""
    metal, made = case.metal, material(case.metal.material)
    bend = np.interp(theta, metal.theta, metal.curvature)
    both = stress.curvature_sum(metal.roller_radius, bend)
    roller = taken("roller.elastic_modulus_gpa"), taken("roller.poisson")
    modulus = stress.contact_modulus(*roller, made.elastic_modulus, made.poisson)
    return stress.contact_pressure(force, both, modulus, _touching(case))


def _touching(case: Case) -> float:
    """Length on which roller and cam touch."""
    width = min(case.metal.thickness, si(case.rocker, "roller_width_mm"))
    return width - 2.0 * taken("cutting.chamfer_mm")


def pressure_finding(case: Case, pulled: LeverPull) -> Finding:
    """Contact pressure of the pull branch, up to the end of the travel."""
    theta, force = _pushed(case.metal, pulled)
    along = _pressure_at(case, theta, force)
    row = int(np.argmax(along))
    value, place, made = float(along[row]), float(theta[row]), material(case.metal.material)
    said = f"{told(value, 'gpa', 3)}{at(place)} under {told(float(force[row]), 'newton', 0)}"
    limit = f"{told(made.allowed, 'gpa', 3)} for {made.name}{made.note}"
    return finding(
        "contact_stress",
        value <= made.allowed,
        value,
        made.allowed,
        "gpa",
        place,
        f"The flank bears the roller: {said}, allowed is {limit}.",
        f"The roller presses too hard on the flank: {said}, allowed is {limit}.",
    )


def roller_finding(case: Case, pulled: LeverPull) -> Finding:
    """Largest contact force against what the roller bears at rest."""
    theta, force = _pushed(case.metal, pulled)
    row, limit = int(np.argmax(force)), roller_rating(case.rocker)
    value, place = float(force[row]), float(theta[row])
    said = f"it carries {told(value, 'newton', 0)}{at(place)}, and bears {told(limit, 'newton', 0)}"
    return finding(
        "roller_load",
        value <= limit,
        value,
        limit,
        "newton",
        place,
        f"The roller is strong enough: {said}.",
        f"The roller is too weak: {said}.",
    )


def roller_rating(rocker: Rocker) -> float:
    """Load that a roller bears at rest: its needles' static rating with a margin, or its plain pin's pressure [N]."""
    pin, width = si(rocker, "roller_pin_radius_mm"), si(rocker, "roller_width_mm")
    if rocker.roller_friction >= taken("roller.plain_friction"):
        return taken("roller.pin_pressure_gpa") * 2.0 * pin * width
    needle = taken("roller.needle_share") * (si(rocker, "roller_radius_mm") - pin)
    circle = 2.0 * pin + needle
    count = np.floor(np.pi / np.arcsin(needle / circle) + ROUNDING)
    length = max(width - taken("roller.needle_ends_mm"), 0.0)
    rating = float(stress.needle_static_rating(count, needle, length, circle))
    return rating / (taken("roller.needle_safety") * taken("roller.needle_rocking"))
