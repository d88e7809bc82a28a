"""What is typed into the book, checked: words on a line, days, names of machines, ratings."""

from collections.abc import Mapping
from datetime import date, timedelta

from pydantic_core import PydanticCustomError

from pullcurve.book import pages
from pullcurve.book.opening import Page
from pullcurve.errors import BadInput, Fault
from pullcurve.parts.fields import Text
from pullcurve.parts.job import Job
from pullcurve.studies.history import Machine, Signed, Visit
from pullcurve.studies.preference import MOST_POINTS
from pullcurve.studies.wishes import WISH_READOUTS
from pullcurve.units import bare
from pullcurve.verbs.jobs import parse_job

EARLIEST = date(1950, 1, 1)

MOST_NEAR = 5
"""Names that are told where one is not known."""


def line(key: str, text: str, longest: int, *, lines: bool = False, empty: bool = True) -> str:
    """A text of limited length; raises BadInput for one with signs that spoil a line."""
    try:
        return str(Text(longest, lines=lines, empty=empty).check(text)).strip()
    except PydanticCustomError as refusal:
        raise BadInput(*(Fault("book", key, said) for _, said in (refusal.context or {})["faults"])) from None


def signed_by(who: str, at: str) -> Signed:
    """Who writes, and when."""
    return Signed(line("who", who, 60, empty=False), at)


def checked_day(day: date, at: str) -> date:
    """A day that has been; where it is later already, the next day too."""
    last = date.fromisoformat(at[:10]) + timedelta(days=1)
    if not EARLIEST <= day <= last:
        raise BadInput(Fault("book", "date", f"is {day}; allowed is {EARLIEST} up to today"))
    return day


def machine_at(page: Page, name: str) -> Machine:
    """A machine by its name, or by its number as #12; raises BadInput with names that are near."""
    number = name.removeprefix("#")
    if number.isdecimal() and number.isascii() and len(number) < 10:
        found = pages.machine_numbered(page, int(number))
    else:
        found = pages.machine_named(page, name.strip())
    if found is None:
        near = pages.names_like(page, name.strip()[:3], MOST_NEAR)
        told = f"; known are {', '.join(near)}" if near else "; `pullcurve book show` lists all"
        raise BadInput(Fault("book", f'machine "{name[:60]}"', f"is not in the book{told}"))
    return found


def visit_at(page: Page, name: str, day: date) -> tuple[Machine, Visit]:
    """A machine, and what was on it on a day."""
    machine = machine_at(page, name)
    visit = pages.visit_on(page, machine.id, day)
    if visit is None:
        said = f"has no visit up to {day}; `pullcurve book visit` writes the first"
        raise BadInput(Fault("book", machine.name, said))
    return machine, visit


def job_text_at(page: Page, visit: Visit) -> str:
    """The job of a visit as it was typed."""
    return pages.content(page, visit.job).content.decode("utf-8", errors="replace")


def job_at(page: Page, visit: Visit) -> Job:
    """The job of a visit; raises BadInput for one that was written long ago and is no longer read."""
    return parse_job(job_text_at(page, visit), f"visit {visit.id}")


def ratings_of(points: Mapping[str, int], visit: Visit) -> dict[str, int]:
    """Ratings by kind and read-out, as brake.force_lock; a wish's own key will do too."""
    allowed = {f"{kind}.{name}" for kind, names in visit.readouts.items() for name in names}
    found: dict[str, int] = {}
    for typed, given in points.items():
        key = readout_key(typed)
        if key not in allowed:
            raise BadInput(
                Fault("note", typed, f"is not known here; allowed is {', '.join(sorted(allowed))}")
            )
        if not -MOST_POINTS <= given <= MOST_POINTS:
            said = f"is {given}; allowed is -{MOST_POINTS} (far too little) to {MOST_POINTS} (far too much)"
            raise BadInput(Fault("note", typed, said))
        if key in found:
            raise BadInput(Fault("note", key, "is rated twice; allowed is once a ride"))
        found[key] = given
    return found


def readout_key(typed: str) -> str:
    """A read-out by its own key, or by that of the wish that speaks of it, with its unit or without."""
    kind = typed.partition(".")[0]
    known = {key: f"{key.partition('.')[0]}.{name}" for key, name in WISH_READOUTS.items()}
    known |= {bare(key): value for key, value in known.items()}
    return known.get(typed, typed) if kind else typed
