"""Pages of the job book as plain data for JSON: names without a unit are SI, names with one are in it."""

from collections.abc import Iterable, Sequence
from math import isfinite

from pullcurve.papers.record import Record
from pullcurve.studies.between import Between
from pullcurve.studies.exchanged import Exchanged
from pullcurve.studies.history import Finding, Line, Listed, Machine, Visit
from pullcurve.studies.preference import Lesson, Preference, doubt
from pullcurve.studies.sentences import Change
from pullcurve.studies.service import FluidReminder, Reminder


def machine_record(machine: Machine) -> Record:
    """A machine."""
    return {
        "number": machine.id,
        "name": machine.name,
        "owner": machine.owner,
        "words": machine.words,
        "who": machine.who,
        "at": machine.at,
        "due": None if machine.due_day is None else machine.due_day.isoformat(),
        "due_for": machine.due_what,
    }


def listed_record(known: Iterable[Listed]) -> list[Record]:
    """Machines in a list."""
    return [
        {
            **machine_record(one.machine),
            "visits": one.visits,
            "last_visit": None if one.last is None else one.last.isoformat(),
        }
        for one in known
    ]


def visit_record(visit: Visit) -> Record:
    """A visit: what was on the machine afterwards."""
    return {
        "kind": "visit",
        "number": visit.id,
        "day": visit.day.isoformat(),
        "title": visit.title,
        "unit": visit.unit,
        "cams": dict(visit.cams),
        "words": visit.words,
        "reason": visit.reason,
        "hours": dict(visit.hours),
        "looked_after": [
            {"item": one.item, "kind": one.kind, "boiling_celsius": one.celsius} for one in visit.services
        ],
        "readouts": {kind: dict(known) for kind, known in visit.readouts.items()},
        "who": visit.who,
        "at": visit.at,
    }


def line_record(line: Line) -> Record:
    """A pull, fit, ride, proposal or photo; what a photo's file is stands under ``media``."""
    told = {"media" if key == "kind" else key: value for key, value in line.told.items()}
    return {
        "kind": line.kind,
        "number": line.id,
        "visit": line.visit,
        "day": line.day.isoformat(),
        "words": line.words,
        "who": line.who,
        "at": line.at,
        **told,
    }


def timeline_record(machine: Machine, visits: Iterable[Visit], lines: Iterable[Line]) -> Record:
    """A machine's whole history, by day."""
    both = [(visit.day, 0, visit_record(visit)) for visit in visits]
    both += [(line.day, 1, line_record(line)) for line in lines]
    return {
        "machine": machine_record(machine),
        "history": [told for _, _, told in sorted(both, key=lambda one: one[:2])],
    }


def findings_record(known: Iterable[Finding]) -> list[Record]:
    """What a search found."""
    return [
        {
            "kind": one.kind,
            "number": one.row,
            "machine": one.name,
            "visit": one.visit,
            "day": one.day.isoformat(),
            "words": one.words,
        }
        for one in known
    ]


def changes_record(changes: Iterable[Iterable[Exchanged]]) -> list[list[Record]]:
    """Cams that were exchanged, one change each."""
    return [
        [
            {"of": one.kind, "off": one.off.id if one.off else None, "on": one.on.id if one.on else None}
            for one in change
        ]
        for change in changes
    ]


def between_record(machine: Machine, before: Visit, after: Visit, known: Between) -> Record:
    """Two dates beside each other."""
    return {
        "machine": machine.name,
        "before": {"visit": before.id, "day": before.day.isoformat()},
        "after": {"visit": after.id, "day": after.day.isoformat()},
        "cams": changes_record(known.cams),
        "numbers": {one.path: {"before": one.before, "after": one.after} for one in known.numbers},
        "readouts": {f"{one.kind}.{one.readout}": _change(one) for one in known.readouts},
    }


def _change(one: Change) -> Record:
    return {
        "before": one.before,
        "after": one.after,
        "felt_steps": one.steps if one.facet.felt != "no" and isfinite(one.steps) else None,
        "verdict": one.told,
    }


# What it teaches ------------------------------------------------------------------------------------------------------


def learned_record(rides: int, known: Sequence[Preference], lessons: Sequence[Lesson]) -> Record:
    """What ride notes tell, and which rides would teach most."""
    return {
        "rides": rides,
        "doubt_felt_steps": doubt(known),
        "preferences": {one.wish.key: _preference(one) for one in known},
        "next_ride": [
            {
                "off": one.swap.off.id if one.swap else None,
                "on": one.swap.on.id if one.swap else None,
                "doubt_felt_steps": one.doubt,
                "tells_most_of": one.tells,
            }
            for one in lessons
        ],
    }


def _preference(one: Preference) -> Record:
    return {
        "readout": f"{one.wish.kind}.{one.wish.readout}",
        "wished": one.before.target,
        "source": one.before.source,
        "notes": one.notes,
        "value": one.wish.target,
        "low": one.low,
        "high": one.high,
        "doubt_felt_steps": one.doubt,
        "fitted": one.now,
    }


# What is due ----------------------------------------------------------------------------------------------------------


def due_record(machine: Machine, day: str, known: Iterable[Reminder], fluid: FluidReminder | None) -> Record:
    """What of a machine is due."""
    return {
        "machine": machine.name,
        "day": day,
        "items": [
            {
                "item": one.item.id,
                "name": one.item.name,
                "state": one.state,
                "used": one.used,
                "hours_left": one.hours_left,
                "months_left": one.months_left,
                "task": one.item.task,
                "words": one.words,
            }
            for one in known
        ],
        "fluid": None if fluid is None else _fluid(fluid),
    }


def _fluid(fluid: FluidReminder) -> Record:
    return {
        "kind": fluid.kind,
        "years": fluid.years,
        "boiling_celsius": fluid.boiling_celsius,
        "measured": fluid.measured,
        "state": fluid.state,
        "words": fluid.words,
    }
