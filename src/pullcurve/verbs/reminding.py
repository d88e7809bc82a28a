"""When a machine of the book is due: hours and ground of its visits, what was looked after, brake fluid."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from pullcurve.book import pages
from pullcurve.book.opening import Book, Page, reading
from pullcurve.errors import BadInput, Fault
from pullcurve.parts.job import Job
from pullcurve.parts.layout import features
from pullcurve.studies.history import GROUNDS, Listed, Machine, Service, Visit
from pullcurve.studies.service import MONTHS, items
from pullcurve.verbs.entries import job_at, machine_at
from pullcurve.verbs.stripping import FluidReminder, Reminder, Ridden, fluid_for, service_for

FLUID, BOILING = "fluid", "boiling point"
"""How fresh fluid and a measured boiling point are kept among what was looked after."""

EVERYTHING = "all"
"""How everything that wears is named in one word."""

MONTH, YEAR = 365.25 / 12, 365.25
"""Days of a mean month and a mean year."""

FRESH = 31
"""Days for which a measured boiling point counts as that of today; later it is only the most it can be; a choice."""


@dataclass(frozen=True, slots=True)
class Due:
    """What of a machine is due on a day: every item, the most pressing first, and the fluid of its brake.

    ``unknown`` says that the brake has fluid of which no visit tells.
    """

    machine: Machine
    day: date
    items: tuple[Reminder, ...]
    fluid: FluidReminder | None
    unknown: bool


def services_of(job: Job, done: Iterable[str], fluid: str, boils: float | None) -> tuple[Service, ...]:
    """What was looked after, by item, by task of the steps, or all of it; raises BadInput for what is not known."""
    known = items(features(job))
    found: dict[str, Service] = {}
    for word in done:
        meant = [one.id for one in known if word in (one.id, one.task, EVERYTHING)]
        if not meant:
            tasks = {one.task for one in known if one.task}
            allowed = ", ".join([EVERYTHING, *(one.id for one in known), *sorted(tasks)])
            raise BadInput(Fault("visit", f'done "{word}"', f"is not known here; allowed is {allowed}"))
        found |= {one: Service(one) for one in meant}
    if (fluid or boils is not None) and job.brake_circuit is None:
        raise BadInput(Fault("visit", "fluid", "is given, but nothing of this job brakes"))
    if fluid:
        fluid_for(job, fluid, 0.0)
        found[FLUID] = Service(FLUID, kind=fluid)
    if boils is not None:
        fluid_for(job, fluid or "DOT 4", 0.0, boils)
        found[BOILING] = Service(BOILING, celsius=boils)
    return tuple(found.values())


# What is due --------------------------------------------------------------------------------------------------------


def due(book: Book, name: str, day: date) -> Due:
    """What of one machine is due on a day; raises BadInput for a machine without a visit."""
    with reading(book) as page:
        machine = machine_at(page, name)
        visits = tuple(visit for visit in pages.visits_of(page, machine.id) if visit.day <= day)
        if not visits:
            said = f"has no visit up to {day}; `pullcurve book visit` writes the first"
            raise BadInput(Fault("book", machine.name, said))
        job = job_at(page, visits[-1])
    known, fluid = _reminders(job, visits, day)
    return Due(machine, day, known, fluid, fluid is None and job.brake_circuit is not None)


def due_machines(book: Book, by: date, most: int) -> tuple[Listed, ...]:
    """Machines of the whole book of which something is due by a day, the longest first."""
    with reading(book) as page:
        return pages.list_due(page, by, most)


def next_due(page: Page, machine: int) -> tuple[date | None, str]:
    """The first day on which something of a machine is due if it is not ridden before, and what that is."""
    visits = pages.visits_of(page, machine)
    if not visits:
        return None, ""
    job, last = job_at(page, visits[-1]), visits[-1].day
    reminders, fluid = _reminders(job, visits, last)
    days = [
        (last if one.state == "due" else _later(last, one.months_left), one.item.name) for one in reminders
    ]
    if job.brake_circuit is not None:
        days.append((last if fluid is None else _fluid_day(job, visits, last), FLUID))
    return min(days, key=lambda known: known[0], default=(None, ""))


def _later(day: date, months: float) -> date:
    return day + timedelta(days=min(months, 12.0 * 50) * MONTH)


def _reminders(
    job: Job, visits: tuple[Visit, ...], day: date
) -> tuple[tuple[Reminder, ...], FluidReminder | None]:
    """What wears, and the fluid."""
    known = {one.id for one in items(features(job))}
    since = {item: ridden for item, ridden in _since(visits, day).items() if item in known}
    return service_for(job, since), _fluid(job, visits, day)


def _since(visits: tuple[Visit, ...], day: date) -> dict[str, Ridden]:
    """What was ridden since each thing was last looked after."""
    found: dict[str, tuple[date, dict[str, float]]] = {}
    for visit in visits:
        for _, hours in found.values():
            for ground in GROUNDS:
                hours[ground] += visit.hours[ground]
        for one in visit.services:
            found[one.item] = (visit.day, dict.fromkeys(GROUNDS, 0.0))
    return {item: Ridden(hours, (day - done).days / MONTH) for item, (done, hours) in found.items()}


# Fluid --------------------------------------------------------------------------------------------------------------


def _fluid(job: Job, visits: tuple[Visit, ...], day: date) -> FluidReminder | None:
    """The fluid by its age, and by what was measured of it; what presses more."""
    changed = _last(visits, FLUID)
    if job.brake_circuit is None or changed is None:
        return None
    kind, since = changed[1].kind, changed[0]
    years = (day - since).days / YEAR
    by_age = fluid_for(job, kind, years)
    measured = _last(visits, BOILING)
    if measured is None or measured[0] < since or measured[1].celsius is None:
        return by_age
    by_tester = fluid_for(job, kind, years, measured[1].celsius)
    fresh = (day - measured[0]).days <= FRESH
    return by_tester if fresh or by_tester.boiling_celsius < by_age.boiling_celsius else by_age


def _last(visits: tuple[Visit, ...], item: str) -> tuple[date, Service] | None:
    """When something was last noted, and what."""
    return next(
        ((visit.day, one) for visit in reversed(visits) for one in visit.services if one.item == item),
        None,
    )


def _fluid_day(job: Job, visits: tuple[Visit, ...], last: date) -> date:
    """The first day, month by month, on which the fluid is due."""
    for month in range(int(4 * MONTHS)):
        day = _later(last, month)
        known = _fluid(job, visits, day)
        if known is None or known.state == "due":
            return day
    return day
