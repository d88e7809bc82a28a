"""Answers of find and swap as plain data for JSON: every key with its unit."""

from dataclasses import fields

import numpy as np

from pullcurve.papers.record import Record, cam_record
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import facets
from pullcurve.studies.candidates import Candidates
from pullcurve.studies.doubt import Doubtful
from pullcurve.studies.find import Answer, Found, LeverAnswer
from pullcurve.studies.sentences import Change
from pullcurve.studies.swap import Swap, Swaps
from pullcurve.studies.wishes import first_surface
from pullcurve.units import from_si


def change_record(change: Change) -> Record:
    """A change of one read-out."""
    unit = change.facet.unit
    return {
        "of": f"{change.kind}.{change.readout}_{unit}",
        "before": from_si(f"value_{unit}", change.before),
        "after": from_si(f"value_{unit}", change.after),
        "felt_steps": change.steps,
        "felt": change.verdict if change.facet.felt != "no" else None,
    }


def _row_record(table: Candidates, row: int) -> Record:
    """Read-outs of one candidate."""
    found: Record = {}
    for kind, known in table.readouts().items():
        for name, facet in facets(known):
            value = first_surface(getattr(known, name), facet)[row]
            found[f"{kind}.{name}_{facet.unit}"] = from_si(f"value_{facet.unit}", float(value))
    return found


def doubtful_record(told: Doubtful | None) -> Record | None:
    """Felt steps with their 95 % interval, where measured numbers leave something open; null ends where unknown."""
    if told is None:
        return None
    ends = {"low": told.value - told.margin, "high": told.value + told.margin}
    return {"felt_steps": told.value, **ends, "counts": told.counts}


def answer_record(answer: Answer, table: Candidates) -> Record:
    """One ranked set."""
    return {
        "cams": {kind: cam_record(cam) for kind, cam in answer.cams.items()},
        "distance_felt_steps": answer.distance,
        "nearer_than_fitted": doubtful_record(answer.gain),
        "felt_steps_from_wish": answer.steps,
        "readouts": _row_record(table, answer.row),
        "changes": [change_record(change) for change in answer.changes],
        "words": list(answer.words),
    }


def _lever_answer_record(found: LeverAnswer) -> Record:
    return {
        "lever": found.lever,
        "searched": found.table.count,
        "keeping_every_limit": int(np.sum(found.table.allowed)),
        "undominated": int(np.sum(found.front)),
        "fitted_distance_felt_steps": found.fitted_distance,
        "wishes": [
            {
                "key": wish.key,
                "target": from_si(f"value_{wish.facet.unit}", wish.target),
                "weight": wish.weight,
                "source": wish.source,
            }
            for wish in found.wishes
        ],
        "answers": [answer_record(answer, found.table) for answer in found.answers],
        "excluded": [
            {part.name: getattr(entry, part.name) for part in fields(entry)} for entry in found.excluded
        ],
        "bounds": [
            {**{part.name: getattr(entry, part.name) for part in fields(entry)}, "met": entry.met}
            for entry in found.bounds
        ],
        "wish_costs": [
            {
                "wish": cost.wish.key,
                "felt_steps": cost.steps,
                "others_nearer_by_felt_steps": cost.without,
                "with": {kind: cam.id for kind, cam in cost.cams.items()},
            }
            for cost in found.costs
        ],
    }


def find_record(job: Job, found: Found) -> Record:
    """Everything found."""
    return {
        "title": job.title,
        "best": {kind: cam_record(cam) for kind, cam in found.best.items()},
        "route": [
            [{"change": one.kind, "off": one.off.id if one.off else None, "on": one.on.id} for one in step]
            for step in found.route
        ],
        "levers": [_lever_answer_record(lever) for lever in found.levers],
    }


def swap_record(swap: Swap) -> Record:
    """One swap."""
    return {
        "lever": swap.lever,
        "change": swap.kind,
        "off": cam_record(swap.off),
        "on": cam_record(swap.on),
        "gain_felt_steps": swap.gain,
        "side_effects_felt_steps": swap.side,
        "words": swap.words,
        "sure": swap.sure,
        "breaks": list(swap.broken),
        "changes": [change_record(change) for change in swap.changes],
    }


def swaps_record(job: Job, found: Swaps) -> Record:
    """Answer to a complaint."""
    heard = [
        {
            "name": known.name,
            "lever": known.lever,
            "check_first": [{"cause": one.cause, "check": one.check} for one in known.causes],
            "cam": known.cam,
            "source": known.source,
            "mark": known.mark,
        }
        for known in found.complaints
    ]
    return {
        "title": job.title,
        "complaints": heard,
        "helping": [swap_record(swap) for swap in found.helping],
        "others": [swap_record(swap) for swap in found.others],
        "refused": [swap_record(swap) for swap in found.refused],
        "notes": list(found.notes),
    }
