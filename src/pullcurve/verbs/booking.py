"""Write in the job book: a machine, a visit with its job, a ride note, a proposal."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from pullcurve.book import pages, store
from pullcurve.book.opening import Book, Page, opened, writing
from pullcurve.errors import BadInput, Fault
from pullcurve.parts.job import Job
from pullcurve.pull.checks import check_job
from pullcurve.studies.exchanged import Exchanged, exchanged
from pullcurve.studies.history import GROUNDS, Machine, NewVisit, Signed, Visit
from pullcurve.studies.wishes import WISH_READOUTS, first_surface
from pullcurve.units import to_si
from pullcurve.verbs.asking import Pulled, cams_named, pull_levers
from pullcurve.verbs.entries import checked_day, job_at, line, machine_at, ratings_of, signed_by, visit_at
from pullcurve.verbs.jobs import parse_job
from pullcurve.verbs.reminding import next_due, services_of

DIGITS = 6
"""Significant digits of a read-out that is kept beside the job it follows from."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What every line in the book has: the day it is about, who writes it and when (UTC), free words."""

    day: date
    signed: Signed
    words: str = ""


@dataclass(frozen=True, slots=True)
class Visiting:
    """What is told at a visit besides the job: unit, reason, hours by ground, what was looked after, fluid."""

    unit: str = ""
    reason: str = ""
    hours: Mapping[str, float] = field(default_factory=dict)
    done: tuple[str, ...] = ()
    fluid: str = ""
    boils_celsius: float | None = None


@dataclass(frozen=True, slots=True)
class Visited:
    """A visit that was written: the machine, its number, what was exchanged since the one before."""

    machine: Machine
    number: int
    changes: tuple[tuple[Exchanged, ...], ...]
    due_day: date | None
    due_what: str


@dataclass(frozen=True, slots=True)
class Written:
    """A line that was written: which kind, on which machine and visit, its number, and what it tells."""

    kind: str
    machine: Machine
    visit: int
    number: int
    told: str = ""


@contextmanager
def book_at(place: str, *, new: bool = False) -> Iterator[Book]:
    """The book at a place, a file or a server; ``new`` starts one where there is none."""
    with opened(place, new=new) as book:
        yield book


def entry(day: date, who: str, at: str, words: str = "") -> Entry:
    """What is told with every line, checked; raises BadInput."""
    return Entry(checked_day(day, at), signed_by(who, at), line("words", words, 4000, lines=True))


# Machines and visits ------------------------------------------------------------------------------------------------


def add_machine(book: Book, name: str, owner: str, told: Entry) -> Machine:
    """Start a machine's history; its name stands once in a book."""
    known = line("machine", name, 60, empty=False)
    if known.startswith("#") or known.isdigit():
        raise BadInput(Fault("machine", f'"{known}"', "is a number; allowed is a name with a letter in it"))
    with writing(book) as page:
        number = store.add_machine(page, known, line("owner", owner, 120), told.words, told.signed)
        if number is None:
            raise BadInput(
                Fault("machine", f'"{known}"', "is in the book already; allowed is a name of its own")
            )
        machine = pages.machine_numbered(page, number)
        assert machine is not None
        return machine


def add_visit(book: Book, name: str, job_text: str, file: str, told: Entry, more: Visiting) -> Visited:
    """Write a visit: the job as it leaves the bench. Raises BadInput where two changes lack a reason."""
    job = parse_job(job_text, file)
    check_job(job, file)
    pulled = pull_levers(job)
    reason = line("reason", more.reason, 1000)
    services = services_of(job, more.done, more.fluid, more.boils_celsius)
    with writing(book) as page:
        machine = machine_at(page, name)
        store.hold_machine(page, machine.id)
        before = pages.visit_on(page, machine.id, told.day)
        changes = _changes(page, before, job)
        if len(changes) > 1 and not reason:
            raise BadInput(Fault(machine.name, "visit", _asks(changes)))
        unit = line("unit", more.unit, 60) or (before.unit if before else machine.name)
        new = NewVisit(
            day=told.day,
            title=job.title,
            unit=unit,
            unit_name=job.unit.name,
            job=job_text.encode("utf-8"),
            cams={kind: (cam.id, cam.name) for kind, cam in pulled.cams.items()},
            wishes=_wishes(job),
            readouts=_readouts(pulled),
            words=told.words,
            reason=reason,
            hours=_hours(more.hours),
            services=services,
        )
        number = store.add_visit(page, machine.id, new, told.signed)
        due = next_due(page, machine.id)
        store.set_due(page, machine.id, *due)
    return Visited(machine, number, changes, *due)


def _changes(page: Page, before: Visit | None, job: Job) -> tuple[tuple[Exchanged, ...], ...]:
    """What was exchanged since the visit before."""
    if before is None:
        return ()
    try:
        then = job_at(page, before)
    except BadInput:  # written long ago, and no longer read: that must not keep anybody from writing on
        return ()
    return exchanged(then.fitted, job.fitted, job.unit)


def _asks(changes: tuple[tuple[Exchanged, ...], ...]) -> str:
    """Why a visit asks for a reason."""
    told = "; ".join(", ".join(one.words for one in change) for change in changes)
    return (
        f"makes {len(changes)} changes at once ({told}), and nobody will know which of them did it; "
        "allowed is one, or a --reason"
    )


def _hours(hours: Mapping[str, float]) -> Mapping[str, float]:
    """Hours ridden since the visit before, by ground."""
    for ground, value in hours.items():
        if ground not in GROUNDS:
            known = ", ".join(GROUNDS)
            raise BadInput(Fault("visit", f'hours on "{ground}"', f"are not known here; known are {known}"))
        if not 0.0 <= value <= 5000.0:
            raise BadInput(Fault("visit", f"hours on {ground}", f"are {value:g}; allowed is 0 to 5000"))
    return hours


def _wishes(job: Job) -> dict[str, tuple[float, float]]:
    """Wishes that the job states, in SI, with what each counts."""
    found = {}
    for key in WISH_READOUTS if job.wishes else ():
        kind, _, name = key.partition(".")
        value = getattr(getattr(job.wishes, kind), name, None)
        if value is not None:
            assert job.wishes is not None
            found[key] = (to_si(name, value)[1], job.wishes.importance.get(key, 1.0))
    return found


def _readouts(pulled: Pulled) -> dict[str, dict[str, float | None]]:
    """What a rider can wish for and rate, as it came out; what is not reached is None."""
    found: dict[str, dict[str, float | None]] = {}
    for kind, known in (("brake", pulled.pull.brake), ("clutch", pulled.pull.clutch)):
        if known is None:
            continue
        names = [name for key, name in WISH_READOUTS.items() if key.startswith(f"{kind}.")]
        labels = {one: type(known).__dataclass_fields__[one].metadata["facet"] for one in names}
        values = {one: float(np.ravel(first_surface(getattr(known, one), labels[one]))[0]) for one in names}
        found[kind] = {
            one: float(f"{value:.{DIGITS}g}") if np.isfinite(value) else None for one, value in values.items()
        }
    return found


# Lines --------------------------------------------------------------------------------------------------------------


def add_ride(book: Book, name: str, points: Mapping[str, int], told: Entry) -> Written:
    """Write what a rider says of what is fitted: points per read-out from -3 (far too little) to +3, free words."""
    if not points and not told.words.strip():
        raise BadInput(Fault("note", "", "says nothing; give --rate READOUT=POINTS or --words"))
    with writing(book) as page:
        machine, visit = visit_at(page, name, told.day)
        known = ratings_of(points, visit)
        number = store.add_ride(page, visit.id, told.day, known, told.words, told.signed)
    return Written("ride", machine, visit.id, number)


def add_proposal(book: Book, name: str, cams: tuple[str, ...], source: str, told: Entry) -> Written:
    """Write which cams of the rack are to be tried next, and what that comes from."""
    if not cams:
        raise BadInput(Fault("proposal", "", "names no cam; give one by its id"))
    with writing(book) as page:
        machine, visit = visit_at(page, name, told.day)
        job = job_at(page, visit)
        known = {kind: cam.id for kind, cam in cams_named(job, cams).items()}
        number = store.add_proposal(page, visit.id, told.day, known, source, told.words, told.signed)
    return Written("proposal", machine, visit.id, number)


__all__ = [
    "Book",
    "Entry",
    "Visited",
    "Visiting",
    "Written",
    "add_machine",
    "add_proposal",
    "add_ride",
    "add_visit",
    "book_at",
    "entry",
]
