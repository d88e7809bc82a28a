"""Answers as plain data for JSON: names without a unit are SI, names with one are in it."""

from collections.abc import Mapping
from math import isfinite
from typing import Any

import numpy as np

from pullcurve.parts.job import Job
from pullcurve.parts.origin import PLAIN, Origin
from pullcurve.pull.arrays import Mechanism
from pullcurve.pull.checks import shut_port
from pullcurve.pull.loop import LeverPull, Pull
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import Readouts, clutch_torque_left, deceleration, facets
from pullcurve.pull.solve import RockerCurves
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
    return {"id": cam.id, "name": cam.name, **_numbers(cam)}


def _numbers(cam: Cam) -> Record:
    """Numbers of a cam by key; of a shape only where one was drawn."""
    return cam.model_dump(exclude=set() if cam.shape_deg else {"shape_deg"})


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


def cam_inputs(cams: Mapping[str, Cam]) -> Record:
    """Numbers of the cams pulled, in SI, as inputs."""
    return {
        f"fitted.{kind}.{bare(key)}": {
            "value": _si(key, value),
            "source": "given" if key in cam.model_fields_set else "prior",
            "note": "" if key in cam.model_fields_set else PLAIN,
            "typed": {key: value},
        }
        for kind, cam in cams.items()
        for key, value in _numbers(cam).items()
    }


def _si(key: str, value: float | tuple[float, ...]) -> float | list[float]:
    """A number of a cam in SI, or all of a shape."""
    if isinstance(value, tuple):
        return [to_si(key, one)[1] for one in value]
    return to_si(key, value)[1]


def readouts_record(readouts: Readouts) -> Record:
    """Read-outs of one set in the workshop's units, keys with their unit."""
    return {
        f"{name}_{facet.unit}": from_si(f"value_{facet.unit}", getattr(readouts, name))
        for name, facet in facets(readouts)
    }


def _rocker_record(rocker: RockerCurves, mechanism: Mechanism) -> Record:
    """Curves of one rocker and what they do at the wheel or the plates."""
    found: Record = {
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
        found["deceleration"] = deceleration(mechanism.wheel, rocker.load.pressure)
    if rocker.drives == "clutch" and mechanism.plates is not None:
        found["clutch_torque_left"] = clutch_torque_left(mechanism.plates, rocker.load.lift)
    return found


def _events_record(lever: LeverPull) -> Record:
    """Where each event lies and what the finger meets there."""
    return {
        name: {
            key: getattr(lever.at, key)[..., place] for key in ("theta", "travel", "gap", "pull", "release")
        }
        for place, name in enumerate(lever.events.names)
    }


def lever_record(lever: LeverPull, mechanism: Mechanism) -> Record:
    """Curves, events and read-outs of one lever."""
    curves = lever.curves
    arrays = {
        "theta": curves.theta,
        "travel": curves.travel,
        "gap": curves.gap,
        "force_without_friction": curves.force,
        "pull": curves.pull,
        "release": curves.release,
        "release_cold_and_worn": curves.release_worn,
    }
    both = (("brake", lever.brake), ("clutch", lever.clutch))
    return {
        "name": curves.name,
        "arrays": arrays,
        "rockers": {rocker.drives: _rocker_record(rocker, mechanism) for rocker in curves.rockers},
        "events": _events_record(lever),
        "readouts": {kind: readouts_record(known) for kind, known in both if known},
    }


def pull_record(
    job: Job, pulled: Pull, mechanism: Mechanism, origins: Mapping[str, Origin], cams: Mapping[str, Cam]
) -> Record:
    """A whole pull: inputs, cams, curves, events and read-outs."""
    levers = [lever_record(lever, mechanism) for lever in pulled.levers]
    return {
        "title": job.title,
        "cams": {kind: cam_record(cam) for kind, cam in cams.items()},
        "surfaces": list(mechanism.surfaces),
        "units": ARRAY_UNITS,
        "inputs": {**inputs_record(origins), **cam_inputs(cams)},
        "if_the_port_stays_shut": [
            {"heating_kelvin": heating, "pressure": pressure} for heating, pressure in shut_port(job)
        ],
        "levers": levers,
    }
