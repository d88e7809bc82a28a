"""A drawn or read cam put on the rack of a job and fitted there."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pullcurve.errors import BadInput, Fault
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam, fitted
from pullcurve.pull.readouts import facets
from pullcurve.studies.described import Described, described
from pullcurve.studies.sentences import Change, compare
from pullcurve.units import from_si
from pullcurve.verbs import jobs
from pullcurve.verbs.asking import refitted
from pullcurve.verbs.cams import CamCase, Read, cam_case

REACH_DECIMALS = 6
"""Decimals of a reach that comes back from radians as it was typed."""


def as_cam(case: CamCase, reach: float | None = None) -> Described | None:
    """A cam of any law as one that a job can carry, by its numbers and its shape; None where it is too far from any.

    Its lever rests where it does now, or at another reach [rad].
    """
    now = fitted(case.job).of(case.kind)[0].reach_deg
    place = now if reach is None else round(from_si("reach_deg", reach), REACH_DECIMALS)
    return described(case.job, case.metal, case.rocker.law, place)


def onto_rack(job: Job, kind: str, cam: Cam) -> Job:
    """The job with a cam on its rack and fitted; raises BadInput where it does not go with the others."""
    typed: dict[str, Any] = job.model_dump(exclude_unset=True)
    rack = dict(typed.get("rack") or {})
    known = () if job.rack is None else getattr(job.rack, f"{kind}_cams")
    if cam not in known:
        rack[kind] = (*rack.get(kind, ()), cam.model_dump(exclude_unset=True))
    return refitted(Job.model_validate({**typed, "rack": rack}), {kind: cam})


def numbered_case(job: Job, kind: str, cam: Cam | Mapping[str, Any]) -> CamCase:
    """A cam in numbers on the lever, whether the rack has it or not; raises BadInput where it does not go there."""
    known: dict[str, Any] = {kind: cam}
    return cam_case(refitted(job, known), kind)


def beside_nearest(read: Read) -> tuple[Change, ...]:
    """What a finger would tell between the nearest cam of the rack and a read one, read-out by read-out."""
    if read.nearest is None:
        return ()
    job, kind = read.case.job, read.case.kind
    reach = fitted(job).of(kind)[0].reach_deg
    known = numbered_case(job, kind, read.nearest.model_copy(update={"reach_deg": reach}))
    pulls = (known.pull, read.case.pull)
    return tuple(
        compare(of, name, facet, *(getattr(getattr(pull, of), name) for pull in pulls))
        for of in ("brake", "clutch")
        if getattr(known.pull, of) is not None
        for name, facet in facets(getattr(known.pull, of))
    )


def write_fitted(case: CamCase, path: Path, reach: float | None = None) -> Described:
    """Write the job of a drawn cam as a file of its own, the cam on its rack and fitted."""
    known = as_cam(case, reach)
    if known is None:
        raise BadInput(Fault(case.name, "", "is too far from any cam in numbers to be put on a rack"))
    jobs.write_job(onto_rack(case.job, case.kind, known.cam), path)
    return known


__all__ = ["Described", "as_cam", "beside_nearest", "numbered_case", "onto_rack", "write_fitted"]
