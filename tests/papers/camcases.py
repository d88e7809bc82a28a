"""Cams of the demo jobs on their levers, and odd ones, for the tests of their figures."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.camfigures import Feel, Moment
from pullcurve.parts.job import Job
from pullcurve.pull.loop import LeverPull, pull
from pullcurve.pull.mechanism import Cam, Choice, fitted, mechanism
from pullcurve.pull.plate import Metal, cam_metal, rocker_of
from pullcurve.studies.bearing import material
from pullcurve.studies.check import stress_along
from pullcurve.verbs.jobs import demo_job
from tests.papers.metals import HOLES

EVENTS = ("bite", "lock-up 0", "first slip", "free", "clean")

CAMS = (
    ("enduro-300", "brake"),
    ("enduro-300", "clutch"),
    ("enduro-300", "assist"),
    ("trials-280", "clutch"),
    ("motocross-450", "assist"),
    ("electric", "brake"),
)

ODD = ("hollow", "never touched", "too much", "drilled", "nothing happens")


@dataclass(frozen=True, slots=True)
class CamCase:
    """A cam with the contact pressure along it (S,), what it bears [Pa], and the events of its lever."""

    metal: Metal
    pressure: FloatArray
    limit: float
    events: tuple[Moment, ...]


@cache
def job_of(machine: str) -> Job:
    """A demo job."""
    return demo_job(f"{machine}.toml")


@cache
def lever_of(machine: str, kind: str, cam: Cam | None = None) -> LeverPull:
    """The pull of the lever that a cam serves, as fitted or with another cam."""
    job = job_of(machine)
    chosen = fitted(job)
    if cam is not None:
        known = {name: chosen.of(name) for name in ("brake", "clutch", "assist")}
        chosen = Choice(**{**known, kind: (cam,)})  # type: ignore[arg-type]
    return pull(mechanism(job, chosen)).levers[rocker_of(job, kind)[0]]


@cache
def case(machine: str, kind: str) -> CamCase:
    """A fitted cam of a demo job."""
    job, lever = job_of(machine), lever_of(machine, kind)
    metal = cam_metal(job, kind)
    events = tuple(
        (name.removesuffix(" 0"), float(lever.at.theta[lever.events.index(name)]))
        for name in EVENTS
        if name in lever.events.names
    )
    return CamCase(metal, stress_along(job, metal, lever), material(metal.material).allowed, events)


def last_of(machine: str, kind: str) -> Cam:
    """A cam of the rack that is not the fitted one."""
    cams: tuple[Cam, ...] = getattr(job_of(machine).rack, f"{kind}_cams")
    return next(cam for cam in reversed(cams) if cam.id != fitted(job_of(machine)).of(kind)[0].id)


@cache
def feels(machine: str, kind: str) -> tuple[Feel, Feel]:
    """What is fitted, and another cam of the rack in its place."""
    new = last_of(machine, kind)
    return (
        Feel("fitted", case(machine, kind).metal, lever_of(machine, kind)),
        Feel("drawn", cam_metal(job_of(machine), kind, new), lever_of(machine, kind, new)),
    )


@cache
def odd(name: str) -> CamCase:
    """A cam that is out of the ordinary."""
    known = case("enduro-300", "brake")
    metal = known.metal
    away = np.full(metal.theta.shape, np.nan)
    match name:
        case "hollow":
            # The curvature only: a hollow just deeper than the cutter, and a cusp further on.
            bend = np.where(metal.theta > 0.3, 1e7, -1.02 / metal.cutter_radius)
            return replace(known, metal=replace(metal, curvature=bend))
        case "never touched":
            return replace(known, pressure=away, limit=np.nan)
        case "too much":
            steep = np.where(metal.theta > 0.2, 0.9, -0.9)
            return replace(known, metal=replace(metal, alpha=steep), limit=0.5e9)
        case "drilled":
            return replace(known, metal=replace(metal, holes=(*HOLES, (0.0, -0.0088, 0.0009))))
        case "nothing happens":
            return replace(known, events=(), limit=100e9)
        case _:
            raise KeyError(name)


def every() -> dict[str, CamCase]:
    """All of them by name."""
    found = {" ".join(one): case(*one) for one in CAMS}
    return found | {name: odd(name) for name in ODD}
