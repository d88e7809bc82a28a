"""Read in the job book: machines, one machine's timeline, two dates beside each other, search, what it teaches."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

from pullcurve.book import findings, pages
from pullcurve.book.opening import Book, Page, reading
from pullcurve.errors import BadInput, BookFault, Fault
from pullcurve.intake.files import refused
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import Readouts, facets
from pullcurve.studies.between import Between, between
from pullcurve.studies.candidates import Told, silent
from pullcurve.studies.find import Found
from pullcurve.studies.history import Finding, Line, Listed, Machine, Stored, Visit
from pullcurve.studies.preference import Lesson, Note, Preference, learn, teach, wishing
from pullcurve.studies.wishes import first_surface
from pullcurve.verbs.asking import find_sets, pull_levers
from pullcurve.verbs.entries import job_at, job_text_at, line, machine_at, visit_at

Values = Mapping[str, Mapping[str, float | None]]
"""Read-outs by kind and name, SI; None where one was not reached."""

MOST = 50
"""Lines of a page, where nothing else is said."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """A machine's history: its visits and everything that hangs on them, each by day."""

    machine: Machine
    visits: tuple[Visit, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Dates:
    """Two dates of one machine beside each other."""

    machine: Machine
    before: Visit
    after: Visit
    between: Between


@dataclass(frozen=True, slots=True)
class Learned:
    """What the ride notes of a machine tell: preferences, rides that would teach most, the job with learned wishes."""

    machine: Machine
    visit: Visit
    rides: int
    preferences: tuple[Preference, ...]
    lessons: tuple[Lesson, ...]
    job: Job


def machines(book: Book, most: int = MOST, after: str = "") -> tuple[Listed, ...]:
    """Machines of the book by name, from the one behind ``after`` on."""
    with reading(book) as page:
        return pages.list_machines(page, most, after)


def machine(book: Book, name: str) -> Machine:
    """One machine; raises BadInput for one that is not in the book."""
    with reading(book) as page:
        return machine_at(page, name)


def timeline(book: Book, name: str) -> Timeline:
    """Everything about one machine."""
    with reading(book) as page:
        known = machine_at(page, name)
        visits = pages.visits_of(page, known.id)
        return Timeline(known, visits, pages.lines_of(page, [visit.id for visit in visits]))


def job_on(book: Book, name: str, day: date) -> tuple[Machine, Visit, str]:
    """What was on a machine on a day: the visit, and the text of its job as it was typed."""
    with reading(book) as page:
        known, visit = visit_at(page, name, day)
        return known, visit, job_text_at(page, visit)


def write_text(text: str, path: Path) -> None:
    """Write the text of a job as it is in the book."""
    try:
        path.write_bytes(text.encode("utf-8"))
    except (OSError, ValueError) as error:
        raise _unwritten(path, error) from None


def write_file(stored: Stored, path: Path) -> None:
    """Write a file as it came; refuses to write over another."""
    try:
        with path.open("xb") as file:
            file.write(stored.content)
    except FileExistsError:
        raise refused(path, "is there already and stays as it is; give another name") from None
    except (OSError, ValueError) as error:
        raise _unwritten(path, error) from None


def _unwritten(path: Path, error: Exception) -> BadInput:
    reason = getattr(error, "strerror", None) or str(error)
    return refused(path, f"cannot be written: {reason.lower()}")


def file_of(book: Book, kind: str, number: int) -> Stored:
    """The file that a pull or a photo came with; raises BadInput where there is none, BookFault where it is spoilt."""
    with reading(book) as page:
        found = pages.content_of(page, kind, number)
    if found is None:
        raise BadInput(Fault("book", f"{kind} {number}", "is not in the book"))
    if sha256(found.content).hexdigest() != found.sha256:
        said = "is no longer as it was kept; `pullcurve book restore` brings a copy of the book back"
        raise BookFault(f"{book.place}: the file of {kind} {number} {said}")
    return found


def search(book: Book, words: str, name: str = "", most: int = MOST) -> tuple[Finding, ...]:
    """Lines that hold all the words, in the whole book or on one machine, what was written last first."""
    asked = line("words", words, 200, empty=False)
    if not findings.folded(asked):
        raise BadInput(Fault("search", f'"{asked}"', "holds no word; give one or more"))
    with reading(book) as page:
        known = machine_at(page, name).id if name else None
        return findings.search(page, asked, known, most)


# Two dates ----------------------------------------------------------------------------------------------------------


def dates(book: Book, name: str, first: date, second: date) -> Dates:
    """What differs between what was on a machine on two days; both jobs are pulled anew."""
    with reading(book) as page:
        known, before = visit_at(page, name, min(first, second))
        _, after = visit_at(page, name, max(first, second))
        jobs = job_at(page, before), job_at(page, after)
    then, now = (pull_levers(job).pull for job in jobs)
    return Dates(known, before, after, between(jobs, (then, now)))


# What it teaches ----------------------------------------------------------------------------------------------------


def learned(book: Book, name: str, day: date, *, told: Told = silent) -> Learned:
    """What the ride notes up to a day say of this rider's own preference, and which ride would teach most next."""
    with reading(book) as page:
        known, visit = visit_at(page, name, day)
        visits = {one.id: one for one in pages.visits_of(page, known.id)}
        rides = [
            ride
            for ride in pages.lines_of(page, [*visits])
            if ride.kind == "ride" and ride.told["points"] and ride.day <= day
        ]
        job = job_at(page, visit)
        ridden = {number: _ridden(page, visits[number]) for number in {ride.visit for ride in rides}}
    preferences = learn(job, _notes(rides, ridden))
    return Learned(
        known, visit, len(rides), preferences, teach(job, preferences, told), wishing(job, preferences)
    )


def _ridden(page: Page, visit: Visit) -> Values:
    """Read-outs of a visit by kind and name: pulled anew, or as they were kept where the job is no longer read."""
    try:
        pull = pull_levers(job_at(page, visit)).pull
    except BadInput:
        return visit.readouts
    known = {kind: getattr(pull, kind) for kind in visit.readouts}
    return {
        kind: _values(known[kind], names) for kind, names in visit.readouts.items() if known[kind] is not None
    }


def _values(known: Readouts, names: Iterable[str]) -> dict[str, float]:
    """Read-outs by name; of several surfaces the first."""
    labels = dict(facets(known))
    return {
        name: float(first_surface(getattr(known, name), labels[name]).reshape(-1)[0])
        for name in names
        if name in labels
    }


def _notes(rides: Iterable[Line], ridden: Mapping[int, Values]) -> list[Note]:
    """Ratings with the values that were ridden; what was not reached is no note."""
    found = []
    for ride in rides:
        for key, points in ride.told["points"].items():
            kind, _, name = key.partition(".")
            value = ridden[ride.visit].get(kind, {}).get(name)
            if value is not None:
                found.append(Note(kind, name, value, points))
    return found


def find_learned(known: Learned, *, most: int = 5, told: Told = silent) -> Found:
    """The sets of the rack that come nearest to what was learned."""
    return find_sets(known.job, most=most, told=told)


def exchanges(known: Learned, best: Found) -> tuple[str, ...]:
    """Ids of the cams that would be exchanged for the best set."""
    return tuple(cam.id for kind, cam in best.best.items() if cam != getattr(known.job.fitted, kind))
