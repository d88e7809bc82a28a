"""Pull, find, swap: the three questions of the bench."""

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

from pydantic import ValidationError

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.sentences import faults
from pullcurve.parts.cams import Fitted
from pullcurve.parts.job import Job
from pullcurve.parts.origin import Origin, origins
from pullcurve.pull.arrays import Mechanism
from pullcurve.pull.checks import check_job
from pullcurve.pull.loop import STATIONS, Pull, pull_lever
from pullcurve.pull.loop import pull as pull_mechanism
from pullcurve.pull.mechanism import Cam, fitted, mechanism
from pullcurve.studies import find as finding
from pullcurve.studies import swap as swapping
from pullcurve.studies.candidates import Told, silent


@dataclass(frozen=True)
class Pulled:
    """A job pulled with one set: the set, the mechanism in SI and the pull."""

    job: Job
    cams: dict[str, Cam]
    mechanism: Mechanism
    pull: Pull

    @cached_property
    def origins(self) -> dict[str, Origin]:
        """Where every input came from."""
        return origins(self.job)


def pull_levers(
    job: Job,
    cams: Fitted | None = None,
    *,
    stations: int = STATIONS,
    foot_newton: float = 0.0,
    known: Pulled | None = None,
) -> Pulled:
    """Pull every lever with the fitted cams, or with others; ``foot_newton`` is what a foot already gives the pedal.

    ``known`` is the same job pulled in the same way with what is fitted: levers that keep their cams are taken from it.
    Raises BadInput when a cam cannot carry its roller or a plunger would not move.
    """
    if not 8 <= stations <= 4096:
        raise BadInput(Fault("pull", "stations", f"is {stations}; allowed is 8 to 4096"))
    if foot_newton and job.pedal is None:
        raise BadInput(
            Fault(job.title, "foot force", f"is {foot_newton:g}; allowed is 0 for a job without a pedal")
        )
    if not 0.0 <= foot_newton <= 1000.0:
        raise BadInput(Fault(job.title, "foot force", f"is {foot_newton:g}; allowed is 0 to 1000"))
    if cams is not None:
        job = _refitted(job, cams)
    chosen = fitted(job)
    built = mechanism(job, chosen, foot_newton)
    if cams is not None:
        check_job(job, job.title, built)
    kinds = {kind: chosen.of(kind)[0] for kind in ("brake", "clutch", "assist") if chosen.of(kind)}
    pulled = pull_mechanism(built, stations) if known is None else _pulled_anew(known, kinds, built, stations)
    return Pulled(job, kinds, built, pulled)


def _pulled_anew(known: Pulled, kinds: dict[str, Cam], built: Mechanism, stations: int) -> Pull:
    """The pull of every lever whose cams are others than they were, and what is known of the rest."""
    return Pull(
        tuple(
            pull_lever(lever, hand, built, stations)
            if any(kinds.get(rocker.drives) != known.cams.get(rocker.drives) for rocker in part.rockers)
            else was
            for lever, hand, part, was in zip(
                built.levers, built.hands, known.job.unit.levers, known.pull.levers, strict=True
            )
        )
    )


def find_sets(job: Job, *, most: int = 5, told: Told = silent) -> finding.Found:
    """Best sets of the rack for a job's wishes; raises Impossible when no set keeps every limit."""
    return finding.find(job, most, told)


def swap_cam(job: Job, complaint: str | None = None, *, told: Told = silent) -> swapping.Swaps:
    """Every single-cam change from what is fitted, ranked for a complaint in the trade's words."""
    return swapping.swaps(job, complaint, told)


def cams_named(job: Job, ids: tuple[str, ...]) -> dict[str, Cam]:
    """Cams of the rack by their ids; raises BadInput for one that the rack lacks, or for two of a kind."""
    rack = job.rack
    cams: list[Cam] = [] if rack is None else [*rack.brake_cams, *rack.clutch_cams, *rack.assist_cams]
    known = {cam.id: cam for cam in cams}
    found: dict[str, Cam] = {}
    for name in ids:
        if name not in known:
            near = get_close_matches(name, list(known), n=1)
            raise BadInput(
                Fault(job.title, name, f"is no cam of the rack{f'; did you mean {near[0]}?' if near else ''}")
            )
        kind = name.split("-")[0]
        if kind in found:
            raise BadInput(Fault(job.title, name, f"is a second {kind} cam; allowed is one of a kind"))
        found[kind] = known[name]
    return found


def with_cams(job: Job, cams: dict[str, Cam]) -> Fitted:
    """What would be fitted after some cams were exchanged; raises BadInput where they do not go together."""
    return refitted(job, cams).fitted


def refitted(job: Job, cams: dict[str, Cam]) -> Job:
    """The job after some cams were exchanged; raises BadInput where they do not go together."""
    now = {kind: getattr(job.fitted, kind) for kind in ("brake", "clutch", "assist")}
    return _refitted(job, {**now, **cams})


def _refitted(job: Job, cams: Fitted | dict[str, Cam | None]) -> Job:
    """The job with other cams on, checked by comparison as its file was."""
    given = {key: getattr(job, key) for key in job.model_fields_set}
    try:
        return Job.model_validate({**given, "fitted": cams})
    except ValidationError as error:
        raise BadInput(*faults(error, job.title)) from None


__all__ = ["Pulled", "cams_named", "find_sets", "pull_levers", "refitted", "swap_cam", "with_cams"]
