"""One step on the bench is one cam of the rack: which numbers of a set can be changed alone, and to what."""

from collections.abc import Mapping

from pullcurve.papers.record import Record
from pullcurve.parts.cams import decimals
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.units import unit_of
from pullcurve.verbs.asking import cams_named

REACH = "reach_deg"
LABELS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "brake": (("take_up_mm", "take-up"), ("stroke_mm", "stroke"), ("flank_deg", "flank")),
    "clutch": (("lift_mm", "lift"), ("flank_deg", "flank")),
    "assist": (("onset_deg", "onset"), ("fall", "strength"), ("flank_deg", "flank"), ("blend_deg", "blend")),
}
"""Numbers of a cam that are stepped one by one; the reach belongs to the lever and all its cams."""

Set = Mapping[str, Cam]
Numbers = tuple[float, ...]
Known = Mapping[str, Mapping[Numbers, Cam]]
"""Cams by kind and by their numbers."""


def on_machine(job: Job) -> Set:
    """The fitted cams by what they drive."""
    cams = {kind: getattr(job.fitted, kind) for kind in LABELS}
    return {kind: cam for kind, cam in cams.items() if cam is not None}


def in_hand(job: Job, wanted: tuple[str, ...] = ()) -> list[Record]:
    """Every lever with the steps of its cams; ``wanted`` are cams of the rack, by id, in place of fitted ones."""
    fitted = on_machine(job)
    now = {**fitted, **cams_named(job, wanted)}
    return [
        {
            "row": row,
            "name": lever.name,
            "kinds": [rocker.drives for rocker in lever.rockers if rocker.drives in fitted],
            "steppers": steppers(job, row, fitted, now),
        }
        for row, lever in enumerate(job.unit.levers)
    ]


def steppers(job: Job, row: int, fitted: Set, now: Set) -> list[Record]:
    """The numbers of one lever's cams that the rack varies, and for each value what would then be on.

    ``cams`` are the ids of all that would differ from what is fitted; null where the rack has no such cam.
    """
    kinds: list[str] = [rocker.drives for rocker in job.unit.levers[row].rockers if rocker.drives in now]
    known = {
        kind: {numbers(cam): cam for cam in (*_rack(job, kind), fitted[kind])}
        for kind in kinds
        if kind in fitted
    }
    found = [_stepper("lever", REACH, "reach", tuple(known), known, fitted, now)]
    for kind in known:
        found += [_stepper(kind, key, label, (kind,), known, fitted, now) for key, label in LABELS[kind]]
    return [one for one in found if len(one["steps"]) > 1]


def numbers(cam: Cam) -> Numbers:
    """What a cam is."""
    return tuple(vars(cam).values())


def _rack(job: Job, kind: str) -> tuple[Cam, ...]:
    """Cams of one kind that the workshop has."""
    cams: tuple[Cam, ...] = () if job.rack is None else getattr(job.rack, f"{kind}_cams")
    return cams


def _stepper(
    of: str,
    key: str,
    label: str,
    kinds: tuple[str, ...],
    known: Known,
    fitted: Set,
    now: Set,
) -> Record:
    """One number with every value that any cam of its kind has."""
    values = sorted({getattr(cam, key) for kind in kinds for cam in known[kind].values()})
    current, before = (getattr(cams[kinds[0]], key) if kinds else None for cams in (now, fitted))
    return {
        "of": of,
        "key": key,
        "label": label,
        "unit": unit_of(key),
        "value": current,
        "steps": [
            {
                "value": value,
                "text": decimals(value),
                "now": value == current,
                "fitted": value == before,
                **_step(key, value, kinds, known, fitted, now),
            }
            for value in values
        ],
    }


def _step(key: str, value: float, kinds: tuple[str, ...], known: Known, fitted: Set, now: Set) -> Record:
    """What would be on with one number changed, if the rack has it."""
    changed = {kind: _with(now[kind], key, value) for kind in kinds}
    if any(numbers(cam) not in known[kind] for kind, cam in changed.items()):
        return {"cams": None, "name": ""}
    return {
        "cams": [cam.id for kind, cam in {**now, **changed}.items() if cam.id != fitted[kind].id],
        "name": " + ".join(cam.name for cam in changed.values()),
    }


def _with(cam: Cam, key: str, value: float) -> Cam:
    """A cam with one number changed."""
    return cam.model_copy(update={key: value})


__all__ = ["in_hand", "on_machine", "steppers"]
