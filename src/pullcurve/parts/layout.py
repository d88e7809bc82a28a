"""Which hardware a job's unit has: the layout of its levers picks the description, what it lacks falls out of it."""

from functools import cache
from typing import Any

from pullcurve.parts.facts import table
from pullcurve.parts.hardware import Closing, Feature, Features, Hardware, Ids, Piece
from pullcurve.parts.job import Job, rockers
from pullcurve.parts.loads import CableClutchCircuit
from pullcurve.parts.unit import Rocker, TorsionSpring

LAYOUTS = ("one-lever", "two-levers")
SHARED = ("tools", "consumables", "cautions", "prepare", "closing")
"""What the file ``hardware-common`` holds for every layout, besides pieces."""


def layout(job: Job) -> str:
    """Name of the layout: one lever that carries all, or a brake and a clutch lever on one pin.

    There is no third: a unit drives brake and clutch once each, and an assist only on the clutch's own lever.
    """
    return "one-lever" if len(job.unit.levers) == 1 else "two-levers"


def features(job: Job) -> frozenset[Feature]:
    """What the unit has, in the words of the hardware."""
    found: set[Feature] = {"pedal"} if job.pedal is not None else set()
    if isinstance(job.clutch_circuit, CableClutchCircuit):
        found.add("cable clutch")
    for _, rocker in rockers(job):
        found |= _of_rocker(rocker)
    return frozenset(found)


def _of_rocker(rocker: Rocker) -> set[Feature]:
    """What one rocker brings: what it drives, how its roller runs, its spring."""
    plain = rocker.roller_friction >= float(table("materials")["roller"]["plain_friction"]["value"])
    found: set[Feature] = {rocker.drives}
    found |= {_PLAIN[rocker.drives] if plain else _NEEDLES[rocker.drives]}
    if rocker.spring is not None:
        found.add("torsion assist" if isinstance(rocker.spring, TorsionSpring) else "coil assist")
    return found


_NEEDLES: dict[str, Feature] = {
    "brake": "brake needles",
    "clutch": "clutch needles",
    "assist": "assist needles",
}
_PLAIN: dict[str, Feature] = {
    "brake": "brake plain roller",
    "clutch": "clutch plain roller",
    "assist": "assist plain roller",
}


@cache
def described(name: str) -> Hardware:
    """A whole layout as its file describes it, with everything that any unit of it may have."""
    own: dict[str, Any] = dict(table(f"hardware-{name}"))
    common = table("hardware-common")
    own["pieces"] = [*own["pieces"], *common["pieces"]]
    return Hardware(**own, **{key: common[key] for key in SHARED})


def hardware_of(job: Job, own: Hardware | None = None) -> Hardware:
    """The hardware of a job's unit; ``own`` is how its workshop describes it, in place of the demo units'."""
    if own is not None:
        return fitted(warned(own, job.unit.name), features(job))
    hardware = fitted(described(layout(job)), features(job))
    return hardware.model_copy(update={"cautions": (*hardware.cautions, *_otherwise(job))})


def warned(own: Hardware, unit: str) -> Hardware:
    """A workshop's own description behind the cautions and closing checks that every unit has.

    One more caution stands there where it was written for a unit of another name.
    """
    common = table("hardware-common")
    closing = tuple(Closing(**one) for one in common["closing"])
    return own.model_copy(
        update={
            "cautions": tuple(dict.fromkeys((*common["cautions"], *_of_another(own, unit), *own.cautions))),
            "prepare": tuple(dict.fromkeys((*common["prepare"], *own.prepare))),
            "closing": tuple(dict.fromkeys((*closing, *own.closing))),
        }
    )


def _of_another(own: Hardware, unit: str) -> tuple[str, ...]:
    if own.unit in (None, unit):
        return ()
    return (
        f'This hardware was described for "{own.unit}", not for "{unit}": compare first, stop where it differs.',
    )


def _otherwise(job: Job) -> tuple[str, ...]:
    """Where a job says something else than every description: a rocker that pushes with a pin instead of a pad."""
    return tuple(
        f"The {rocker.drives} rocker of this job pushes with a pin; these steps know a pad only: look for the pin."
        for _, rocker in rockers(job)
        if rocker.push == "pin"
    )


def fitted(hardware: Hardware, has: frozenset[Feature]) -> Hardware:
    """A layout without what a unit does not have; what is left is checked again as a whole."""
    kept = {piece.id for piece in hardware.pieces if _for(piece.only, has)}
    return Hardware(
        title=hardware.title,
        unit=hardware.unit,
        note=hardware.note,
        tools=hardware.tools,
        consumables=hardware.consumables,
        pieces=tuple(_piece(piece, kept, has) for piece in hardware.pieces if piece.id in kept),
        tasks=tuple(
            task.model_copy(update={"targets": targets})
            for task in hardware.tasks
            if _for(task.only, has) and (targets := _kept(task.targets, kept))
        ),
        rules=tuple(rule for rule in hardware.rules if {rule.first, rule.then} <= kept),
        cautions=hardware.cautions,
        prepare=hardware.prepare,
        closing=tuple(one for one in hardware.closing if _for(one.only, has)),
    )


def _piece(piece: Piece, kept: set[str], has: frozenset[Feature]) -> Piece:
    """A piece without reference to what is not there."""
    return piece.model_copy(
        update={
            "held_by": _kept(piece.held_by, kept),
            "blocked_by": _kept(piece.blocked_by, kept),
            "ahead_of": _kept(piece.ahead_of, kept),
            "interlocks": tuple(lock for lock in piece.interlocks if lock.first in kept),
            "checks": tuple(check for check in piece.checks if _for(check.only, has)),
        }
    )


def _for(only: Features, has: frozenset[Feature]) -> bool:
    return set(only) <= has


def _kept(names: Ids, kept: set[str]) -> Ids:
    return tuple(name for name in names if name in kept)
