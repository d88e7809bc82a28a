"""The bench: what is fitted and what is proposed, as they move, as they compare, and what the rack has beside them."""

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.papers.comparing import SYSTEMS, rows_record, sentence_record
from pullcurve.papers.posing import poses_record
from pullcurve.papers.record import Record, cam_record
from pullcurve.papers.words import CAUTION
from pullcurve.parts.job import Job
from pullcurve.pull.shape import cam_shape
from pullcurve.studies.complaints import named
from pullcurve.studies.limits import Limit, judge
from pullcurve.verbs.asking import Pulled, cams_named, pull_levers, with_cams
from pullcurve.verbs.drawing import source_words
from pullcurve.verbs.stepping import steppers

KINDS = ("brake", "clutch")
AS_FITTED = "As fitted."


def bench_view(
    job: Job,
    ids: tuple[str, ...] = (),
    *,
    lever: int | None = None,
    fitted: bool = True,
    pulled: Pulled | None = None,
) -> Record:
    """Everything that the bench shows, as JSON data: every lever with what is fitted and what is proposed.

    ``ids`` are cams of the rack in place of fitted ones; raises BadInput where they do not go together. A page that
    knows the poses of what is fitted leaves them out, and asks for the one ``lever`` that it shows. ``pulled`` is the
    pull of what is fitted, from whoever has it already.
    """
    rows = _rows(job, lever)
    now = pulled or pull_levers(job)
    then = _proposed(now, ids)
    return {
        "title": job.title,
        "machine": job.motorcycle.name,
        "rider": job.rider.need,
        "unit": job.unit.name,
        "numbers": source_words(now.origins),
        "caution": CAUTION,
        "surfaces": list(now.mechanism.surfaces),
        "cams": {
            kind: {
                "fitted": cam_record(now.cams[kind]) if kind in now.cams else None,
                "proposed": cam_record(cam),
                "changed": cam != now.cams.get(kind),
            }
            for kind, cam in then.cams.items()
        },
        "levers": [_lever_view(now, then, row, fitted) for row in rows],
    }


def _rows(job: Job, lever: int | None) -> tuple[int, ...]:
    """The levers to show; raises BadInput for one that the unit does not have."""
    count = len(job.unit.levers)
    if lever is None:
        return tuple(range(count))
    if not 0 <= lever < count:
        raise BadInput(Fault(job.title, "lever", f"is {lever}; allowed is 0 to {count - 1}"))
    return (lever,)


def _proposed(now: Pulled, ids: tuple[str, ...]) -> Pulled:
    """The pull with other cams on; what is fitted itself where the ids change nothing."""
    there = {cam.id for cam in now.cams.values()}
    changed = cams_named(now.job, tuple(name for name in ids if name not in there))
    return pull_levers(now.job, with_cams(now.job, changed), known=now) if changed else now


def _lever_view(now: Pulled, then: Pulled, row: int, with_fitted: bool) -> Record:
    """One lever: both pulls, the table, the sentence, what breaks, what to check first, what the rack has."""
    job = now.job
    on_it = [rocker.drives for rocker in job.unit.levers[row].rockers]
    kinds = tuple(kind for kind in KINDS if kind in on_it)
    changed = any(now.cams.get(kind) != then.cams.get(kind) for kind in on_it)
    return {
        "row": row,
        "name": job.unit.levers[row].name,
        "kinds": list(kinds),
        "changed": changed,
        "fitted": _poses(now, row) if with_fitted else None,
        "proposed": _poses(then, row) if changed else None,
        "sentence": sentence_record(kinds, now.pull, then.pull)
        if changed
        else dict.fromkeys(SYSTEMS, AS_FITTED),
        "broken": _broken(now, then, row),
        "check_first": _check_first(job, kinds),
        "rows": [
            entry
            for kind in kinds
            if (before := getattr(now.pull, kind)) is not None
            for entry in rows_record(kind, before, getattr(then.pull, kind))
        ],
        "steppers": steppers(job, row, now.cams, then.cams),
    }


def _poses(known: Pulled, row: int) -> Record:
    """How one lever moves."""
    return poses_record(known.job, row, known.mechanism, known.pull.levers[row])


def _limits(known: Pulled, row: int) -> tuple[Limit, ...]:
    """Margins of one lever to every limit."""
    lever, pulled = known.mechanism.levers[row], known.pull.levers[row]
    shapes = {rocker.drives: cam_shape(rocker, pulled.end) for rocker in lever.rockers}
    return judge(known.job, pulled.brake, pulled.clutch, shapes)


def _broken(now: Pulled, then: Pulled, row: int) -> list[Record]:
    """Limits that the proposed set breaks, and whether what is fitted does so no less."""
    pairs = zip(_limits(now, row), _limits(then, row), strict=True)
    margins = [(limit.sentence, _margin(was), _margin(limit)) for was, limit in pairs]
    return [
        {"sentence": sentence, "as_fitted": after >= min(0.0, before)}
        for sentence, before, after in margins
        if after < 0.0
    ]


def _margin(limit: Limit) -> float:
    return float(np.ravel(limit.margin)[0])


def _check_first(job: Job, kinds: tuple[str, ...]) -> list[Record]:
    """What to check before any cam, for the complaints that the job states about this lever."""
    phrases = job.wishes.complaints if job.wishes else ()
    heard = [known for phrase in phrases for known in named(phrase, _driven(job)) if known.lever in kinds]
    return [
        {"complaint": f"{known.lever}, {known.name}", "cause": cause.cause, "check": cause.check}
        for place, known in enumerate(heard)
        if known not in heard[:place]
        for cause in known.causes
    ]


def _driven(job: Job) -> tuple[str, ...]:
    """What the unit's levers work."""
    drives = {rocker.drives for lever in job.unit.levers for rocker in lever.rockers}
    return tuple(kind for kind in KINDS if kind in drives)


__all__ = ["bench_view"]
