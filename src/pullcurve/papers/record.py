"""Answers as plain data for JSON: names without a unit are SI, names with one are in it."""

from collections.abc import Mapping
from dataclasses import fields
from math import isfinite
from typing import Any

import numpy as np

from pullcurve.mechanics.clutch import clamp_left
from pullcurve.parts.job import Job
from pullcurve.parts.origin import Origin
from pullcurve.pull.arrays import Mechanism
from pullcurve.pull.loop import LeverPull, Pull
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import Readouts, facets
from pullcurve.studies.candidates import Candidates
from pullcurve.studies.find import Answer, Found, LeverAnswer
from pullcurve.studies.sentences import Change
from pullcurve.studies.swap import Swap, Swaps
from pullcurve.studies.wishes import first_surface
from pullcurve.units import bare, from_si, to_si

Record = dict[str, Any]

ARRAY_UNITS = {
    "theta": "rad",
    "travel": "m",
    "gap": "m",
    "force_without_friction": "N",
    "pull": "N",
    "release": "N",
    "release_cold_and_worn": "N",
    "rocker_angle": "rad",
    "rocker_ratio": "1",
    "stroke": "m",
    "pressure": "Pa",
    "plate_lift": "m",
    "contact_force": "N",
    "contact_force_pull": "N",
    "contact_force_release": "N",
    "pressure_angle": "rad",
    "deceleration": "m/s2",
    "clutch_torque_left": "N m",
}


def plain(value: Any) -> Any:
    """Anything computed as JSON data: arrays as lists, what is not reached as null."""
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    return None if isinstance(value, float) and not isfinite(value) else value


def cam_record(cam: Cam) -> Record:
    """A cam by id, name and numbers."""
    return {"id": cam.id, "name": cam.name, **cam.model_dump()}


def inputs_record(origins: Mapping[str, Origin]) -> Record:
    """Every resolved input in SI with where it came from."""
    found: Record = {}
    for path, origin in origins.items():
        steps, _, key = path.rpartition(".")
        value = to_si(key, origin.value)[1] if isinstance(origin.value, float | int) else origin.value
        name = f"{steps}.{bare(key)}" if steps else bare(key)
        found[name] = {
            "value": value,
            "source": origin.source,
            "note": origin.note,
            "typed": {key: origin.value},
        }
    return found


def readouts_record(readouts: Readouts) -> Record:
    """Read-outs of one set in the workshop's units, keys with their unit."""
    return {
        f"{name}_{facet.unit}": from_si(f"value_{facet.unit}", getattr(readouts, name))
        for name, facet in facets(readouts)
    }


def lever_record(lever: LeverPull, mechanism: Mechanism, job: Job) -> Record:
    """Curves, events and read-outs of one lever."""
    curves = lever.curves
    arrays: Record = {
        "theta": curves.theta,
        "travel": curves.travel,
        "gap": curves.gap,
        "force_without_friction": curves.force,
        "pull": curves.pull,
        "release": curves.release,
        "release_cold_and_worn": curves.release_worn,
    }
    rockers = {}
    for rocker in curves.rockers:
        rockers[rocker.drives] = {
            "rocker_angle": rocker.law.psi,
            "rocker_ratio": rocker.law.dpsi,
            "stroke": rocker.load.stroke,
            "pressure": rocker.load.pressure,
            "plate_lift": rocker.load.lift,
            "contact_force": rocker.contact,
            "contact_force_pull": rocker.contact_pull,
            "contact_force_release": rocker.contact_release,
            "pressure_angle": rocker.alpha,
        }
        if rocker.drives == "brake" and mechanism.wheel is not None:
            free = mechanism.wheel.deceleration_per_pressure * rocker.load.pressure
            rockers["brake"]["deceleration"] = np.minimum(free, mechanism.wheel.lock_deceleration[0])
        if rocker.drives == "clutch" and job.clutch is not None and mechanism.plates is not None:
            left = clamp_left(1.0, mechanism.plates.free_lift, rocker.load.lift)
            rockers["clutch"]["clutch_torque_left"] = mechanism.plates.full_capacity * left
    events = {
        name: {
            "theta": lever.at.theta[..., k],
            "travel": lever.at.travel[..., k],
            "gap": lever.at.gap[..., k],
            "pull": lever.at.pull[..., k],
            "release": lever.at.release[..., k],
        }
        for k, name in enumerate(lever.events.names)
    }
    readouts = {
        kind: readouts_record(known)
        for kind, known in (("brake", lever.brake), ("clutch", lever.clutch))
        if known
    }
    return {"name": curves.name, "arrays": arrays, "rockers": rockers, "events": events, "readouts": readouts}


def pull_record(
    job: Job, pulled: Pull, mechanism: Mechanism, origins: Mapping[str, Origin], cams: Mapping[str, Cam]
) -> Record:
    """A whole pull: inputs, cams, curves, events and read-outs."""
    levers = [lever_record(lever, mechanism, job) for lever in pulled.levers]
    return {
        "title": job.title,
        "cams": {kind: cam_record(cam) for kind, cam in cams.items()},
        "surfaces": list(mechanism.surfaces),
        "units": ARRAY_UNITS,
        "inputs": inputs_record(origins),
        "levers": levers,
    }


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


def answer_record(answer: Answer, table: Candidates) -> Record:
    """One ranked set."""
    return {
        "cams": {kind: cam_record(cam) for kind, cam in answer.cams.items()},
        "distance_felt_steps": answer.distance,
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
        "route": [{"change": kind, "off": off.id, "on": on.id} for kind, off, on in found.route],
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
