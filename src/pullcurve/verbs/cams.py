"""One cam on its lever: shown, checked, read from a file, and what errors of making do to it."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.reading import ReadCam, law_from_file
from pullcurve.mechanics.curve import Curve, FloatArray, evaluate
from pullcurve.mechanics.smoothing import force_deviation
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray, Lever, Rocker
from pullcurve.pull.loop import LeverPull, pull
from pullcurve.pull.mechanism import Cam, Choice, fitted, mechanism
from pullcurve.pull.plate import Metal, law_metal, rocker_of
from pullcurve.pull.solve import load_state
from pullcurve.studies.bearing import material, stress_along
from pullcurve.studies.candidates import Told, silent
from pullcurve.studies.check import Verdict, check_cam
from pullcurve.studies.draw import Drawn
from pullcurve.studies.tolerance import (
    Effects,
    Justified,
    Ranking,
    Scatter,
    justified_tolerance,
    monte_carlo,
    ranking,
    tolerance,
    wear,
)
from pullcurve.verbs.asking import Pulled, cams_named, refitted

KINDS = ("brake", "clutch", "assist")

NEAREST_STATIONS = 64

SEED = 1
"""The same units are made at random every time."""


@dataclass(frozen=True, slots=True)
class CamCase:
    """One cam on its lever: the job pulled with it, its metal, its check, contact pressure (S,) and limit [Pa]."""

    kind: str
    name: str
    pulled: Pulled
    metal: Metal
    verdict: Verdict
    stress: FloatArray
    allowed: float

    @property
    def job(self) -> Job:
        """The job that the cam serves."""
        return self.pulled.job

    @property
    def lever(self) -> Lever:
        """The cam's lever, this cam on it."""
        return self.pulled.mechanism.levers[rocker_of(self.job, self.kind)[0]]

    @property
    def pull(self) -> LeverPull:
        """The pull of the cam's lever."""
        return self.pulled.pull.levers[rocker_of(self.job, self.kind)[0]]

    @property
    def rocker(self) -> Rocker:
        """The rocker that the cam drives, the cam's law in it."""
        known = self.lever.rocker(self.kind)
        assert known is not None
        return known


def kinds_of(job: Job) -> tuple[str, ...]:
    """What the fitted cams of a job drive."""
    return tuple(kind for kind in KINDS if fitted(job).of(kind))


def known_kind(job: Job, kind: str) -> str:
    """The kind, if the job has such a cam; raises BadInput if it has none."""
    if kind not in kinds_of(job):
        raise BadInput(Fault(job.title, "kind", f'is "{kind}"; allowed is {" or ".join(kinds_of(job))}'))
    return kind


def cams_for(job: Job, kind: str, ids: tuple[str, ...]) -> Job:
    """The job with cams of the rack on, by their ids; raises BadInput where they do not go together."""
    known_kind(job, kind)
    return refitted(job, cams_named(job, ids)) if ids else job


def cam_case(job: Job, kind: str) -> CamCase:
    """The fitted cam on its lever."""
    return _case(job, known_kind(job, kind))


def law_case(job: Job, kind: str, name: str, law: Curve, reach: float | None = None) -> CamCase:
    """A cam of any law on the lever, in place of the fitted one, where the lever rests or at another reach [rad]."""
    return _case(job, known_kind(job, kind), name, law, reach)


def drawn_case(job: Job, drawn: Drawn, name: str) -> CamCase:
    """A drawn cam on its lever."""
    return law_case(job, drawn.kind, name, drawn.curve, drawn.reach)


def _case(
    job: Job, kind: str, name: str | None = None, law: Curve | None = None, reach: float | None = None
) -> CamCase:
    """The job as fitted, perhaps with another law on one cam: cut, pulled and checked."""
    row, part = rocker_of(job, kind)
    chosen = fitted(job)
    cams = {known: chosen.of(known)[0] for known in kinds_of(job)}
    whole = mechanism(job, chosen)
    given = cams[kind].id
    if law is not None:
        levers = list(whole.levers)
        lever = levers[row].with_law(kind, law)
        levers[row] = lever if reach is None else lever.at_reach(reach)
        whole = replace(whole, levers=tuple(levers))
        del cams[kind]
    pulled = Pulled(job, cams, whole, pull(whole))
    metal = law_metal(whole.levers[row], kind, part.plate, name or given)
    felt = pulled.pull.levers[row]
    verdict, stress = check_cam(job, metal, felt), stress_along(job, metal, felt)
    return CamCase(kind, metal.name, pulled, metal, verdict, stress, material(metal.material).allowed)


# Read ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Read:
    """A cam read from a file: the case it makes, how well it was read, and the nearest cam of the rack.

    ``roller_deviation`` is the largest standard deviation of the roller's place over the travel [m],
    ``force_deviation`` that of the finger force without friction [N]; ``apart`` how far the law of the nearest cam of
    the rack lies off, at the roller [m].
    """

    case: CamCase
    found: ReadCam
    roller_deviation: float
    force_deviation: float
    nearest: Cam | None
    apart: float


def read_cam(
    job: Job,
    kind: str,
    path: Path | str,
    *,
    dpi: float | None = None,
    scale_mm: float | None = None,
    layer: str | None = None,
) -> Read:
    """Read a cam from a table of points or of its law, a DXF or a picture, and put it on the job's lever."""
    nominal = cam_case(job, kind)
    found = law_from_file(path, nominal.metal, dpi=dpi, scale_mm=scale_mm, layer=layer)
    case = law_case(job, kind, Path(path).stem, found.curve)
    used = (found.theta >= 0.0) & (found.theta <= case.metal.rest_end)
    roller = float(np.max(np.sqrt(found.covariance[used, 0, 0])) * case.metal.arm)
    return Read(case, found, roller, _force_deviation(case, found, used), *nearest_cam(job, kind, case))


def _force_deviation(case: CamCase, found: ReadCam, used: BoolArray) -> float:
    """Largest standard deviation of the finger force over the travel [N]."""
    theta = found.theta[used]
    psi, dpsi = evaluate(found.curve, theta)[:2]
    rocker, nudge = case.rocker, 1e-5
    low, moment, high = (np.asarray(load_state(rocker, psi + way * nudge).moment) for way in (-1.0, 0.0, 1.0))
    slope = (high - low) / (2.0 * nudge)
    radius = float(case.lever.finger_radius)
    return float(np.max(force_deviation(moment, slope, dpsi, radius, found.covariance[used])))


def nearest_cam(job: Job, kind: str, case: CamCase) -> tuple[Cam | None, float]:
    """Cam of the rack whose law comes nearest to a case's, and the largest difference at the roller [m]."""
    rack = job.rack
    cams = () if rack is None else getattr(rack, f"{kind}_cams")
    theta = np.linspace(0.0, case.metal.rest_end, NEAREST_STATIONS)
    psi = evaluate(case.rocker.law, theta)[0]
    if not cams:
        return None, np.inf
    choice = Choice(**{kind: cams})
    others = mechanism(job, choice).levers[rocker_of(job, kind)[0]].rocker(kind)
    assert others is not None
    apart = np.max(np.abs(evaluate(others.law, theta)[0] - psi), axis=-1) * case.metal.arm
    best = int(np.argmin(apart))
    return cams[best], float(np.ravel(apart)[best])


# Tolerance ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Allowed:
    """What errors of making and wear do to a cam's lever, and the tolerance that a finger can justify."""

    name: str
    justified: Justified
    effects: Effects
    worn: Effects
    scatter: tuple[Scatter, ...]
    ranked: tuple[Ranking, ...]


def allow(job: Job, kind: str, told: Told = silent) -> Allowed:
    """Effects of errors on every read-out, one by one and at random, by rank, and of wear."""
    known = fitted(job).of(known_kind(job, kind))[0]
    told(0, 4)
    justified = justified_tolerance(job, kind, known)
    amount = justified.tolerance
    told(1, 4)
    effects, worn = tolerance(job, kind, known), wear(job, kind, known)
    told(2, 4)
    scatter = monte_carlo(job, kind, amount, np.random.default_rng(SEED), cam=known)
    told(3, 4)
    return Allowed(known.id, justified, effects, worn, scatter, ranking(job, kind, amount, SEED, cam=known))


__all__ = [
    "Allowed",
    "CamCase",
    "Read",
    "allow",
    "cam_case",
    "cams_for",
    "drawn_case",
    "kinds_of",
    "known_kind",
    "law_case",
    "nearest_cam",
    "read_cam",
]
