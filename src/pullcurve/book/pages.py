"""Read pages of the book: the list of machines, one machine's visits and lines, what is due, a file as it came."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, case, func, select

from pullcurve.book.opening import Page
from pullcurve.book.tables import (
    contents,
    fits,
    fitted,
    machines,
    photos,
    proposals,
    pulls,
    ratings,
    rides,
    services,
    units,
    visits,
)
from pullcurve.studies.history import GROUNDS, Line, Listed, Machine, Service, Stored, Visit

KINDS = ("brake", "clutch", "assist")
"""Cams of a set in their order."""

_MACHINE = tuple(machines.c[key] for key in Machine.__dataclass_fields__)


# Machines -----------------------------------------------------------------------------------------------------------


def machine_named(page: Page, name: str) -> Machine | None:
    """A machine by its name."""
    row = page.execute(select(*_MACHINE).where(machines.c.name == name)).one_or_none()
    return None if row is None else Machine(*row)


def machine_numbered(page: Page, number: int) -> Machine | None:
    """A machine by its number."""
    row = page.execute(select(*_MACHINE).where(machines.c.id == number)).one_or_none()
    return None if row is None else Machine(*row)


def names_like(page: Page, start: str, most: int) -> tuple[str, ...]:
    """Names of machines that begin so, whatever their capitals."""
    begins = func.substr(func.lower(machines.c.name), 1, len(start)) == start.lower()
    return tuple(
        page.execute(select(machines.c.name).where(begins).order_by(machines.c.name).limit(most)).scalars()
    )


def count_machines(page: Page) -> int:
    """How many machines there are."""
    return int(page.execute(select(func.count()).select_from(machines)).scalar_one())


def list_machines(page: Page, most: int, after: str = "") -> tuple[Listed, ...]:
    """Machines by name, from the one behind ``after`` on."""
    chosen = select(machines).where(machines.c.name > after).order_by(machines.c.name).limit(most).subquery()
    return _listed(
        page, select(*(chosen.c[key] for key in Machine.__dataclass_fields__)), chosen.c.id, chosen.c.name
    )


def list_due(page: Page, by: date, most: int) -> tuple[Listed, ...]:
    """Machines that are due on a day, the longest first."""
    chosen = (
        select(machines)
        .where(machines.c.due_day <= by)
        .order_by(machines.c.due_day, machines.c.id)
        .limit(most)
        .subquery()
    )
    return _listed(
        page, select(*(chosen.c[key] for key in Machine.__dataclass_fields__)), chosen.c.id, chosen.c.due_day
    )


def _listed(
    page: Page, chosen: Select[Any], machine: ColumnElement[int], order: ColumnElement[Any]
) -> tuple[Listed, ...]:
    """Machines with their visits counted."""
    of = visits.c.machine_id == machine
    count = select(func.count()).select_from(visits).where(of).scalar_subquery()
    last = select(func.max(visits.c.day)).where(of).scalar_subquery()
    rows = page.execute(chosen.add_columns(count, last).order_by(order, machine))
    return tuple(Listed(Machine(*row[:-2]), row[-2], row[-1]) for row in rows)


# Visits -------------------------------------------------------------------------------------------------------------

_VISIT = select(
    visits.c.id,
    visits.c.machine_id,
    visits.c.day,
    visits.c.title,
    units.c.mark,
    visits.c.words,
    visits.c.reason,
    visits.c.job_id,
    visits.c.readouts,
    visits.c.who,
    visits.c.at,
    *(visits.c[f"hours_{ground}"] for ground in GROUNDS),
).select_from(visits.join(units))


def visits_of(page: Page, machine: int) -> tuple[Visit, ...]:
    """All visits of a machine, the first first."""
    return _visits(page, _VISIT.where(visits.c.machine_id == machine).order_by(visits.c.day, visits.c.id))


def visit_numbered(page: Page, number: int) -> Visit | None:
    """A visit by its number."""
    return next(iter(_visits(page, _VISIT.where(visits.c.id == number))), None)


def visit_on(page: Page, machine: int, day: date) -> Visit | None:
    """The last visit of a machine up to a day: what was on it then."""
    last = _VISIT.where(visits.c.machine_id == machine, visits.c.day <= day)
    return next(iter(_visits(page, last.order_by(visits.c.day.desc(), visits.c.id.desc()).limit(1))), None)


def latest_visits(page: Page, most: int) -> tuple[Visit, ...]:
    """The workshop's last visits, the last first."""
    return _visits(page, _VISIT.order_by(visits.c.day.desc(), visits.c.id.desc()).limit(most))


def _visits(page: Page, chosen: Select[Any]) -> tuple[Visit, ...]:
    """Visits with what hangs on them."""
    rows = page.execute(chosen).all()
    numbers = [row[0] for row in rows]
    cams: dict[int, dict[str, str]] = defaultdict(dict)
    order = case({kind: place for place, kind in enumerate(KINDS)}, value=fitted.c.kind, else_=len(KINDS))
    for visit, kind, cam, _ in _hanging(page, fitted, numbers, fitted.c.kind, fitted.c.cam, order):
        cams[visit][kind] = cam
    done: dict[int, list[Service]] = defaultdict(list)
    wanted = (services.c.kind, services.c.celsius, services.c.item)
    for visit, kind, celsius, item in _hanging(page, services, numbers, *wanted):
        done[visit].append(Service(item, kind, celsius))
    return tuple(_visit(row, cams[row[0]], done[row[0]]) for row in rows)


def _visit(row: Any, cams: Mapping[str, str], done: Iterable[Service]) -> Visit:
    """A visit from its own columns and what hangs on it."""
    own, hours = row[: -len(GROUNDS)], row[-len(GROUNDS) :]
    told: list[Any] = [*own, dict(zip(GROUNDS, hours, strict=True)), cams, tuple(done)]
    return Visit(*told)


def _hanging(page: Page, table: Any, numbers: list[int], *wanted: Any) -> Iterable[Any]:
    """Lines that hang on some visits, in the order of the last of what is wanted."""
    owner = table.c.visit_id
    return page.execute(select(owner, *wanted).where(owner.in_(numbers)).order_by(owner, wanted[-1]))


# Lines --------------------------------------------------------------------------------------------------------------


def lines_of(page: Page, numbers: list[int]) -> tuple[Line, ...]:
    """Everything else that hangs on some visits, by day and as it was written."""
    found = [*_pulls(page, numbers), *_fits(page, numbers), *_rides(page, numbers)]
    found += [*_proposals(page, numbers), *_photos(page, numbers)]
    return tuple(sorted(found, key=lambda line: (line.day, line.at)))


def _lines(page: Page, kind: str, table: Any, numbers: list[int], *told: Any) -> Iterator[Line]:
    """Lines of one kind; ``told`` are the columns that only this kind has."""
    t = table.c
    chosen = select(t.id, t.visit_id, t.day, t.words, t.who, t.at, *told)
    for row in page.execute(chosen.where(t.visit_id.in_(numbers)).order_by(t.id)):
        yield _line(kind, row, dict(zip((one.name for one in told), row[6:], strict=True)))


def _line(kind: str, row: Any, told: Mapping[str, Any]) -> Line:
    """A line from the columns that every kind has, and its own."""
    number, visit, day, words, who, at = row[:6]
    return Line(kind, number, visit, day, words, who, at, told)


def _pulls(page: Page, numbers: list[int]) -> Iterator[Line]:
    raw = select(contents.c.sha256).where(contents.c.id == pulls.c.raw_id).scalar_subquery().label("sha256")
    return _lines(page, "pull", pulls, numbers, pulls.c.lever, pulls.c.file, pulls.c.told, raw)


def _fits(page: Page, numbers: list[int]) -> Iterator[Line]:
    chosen = select(
        fits.c.id,
        pulls.c.visit_id,
        pulls.c.day,
        fits.c.words,
        fits.c.who,
        fits.c.at,
        fits.c.pull_id,
        fits.c.numbers,
        fits.c.chi_square,
    ).select_from(fits.join(pulls))
    for row in page.execute(chosen.where(pulls.c.visit_id.in_(numbers)).order_by(fits.c.id)):
        yield _line("fit", row, {"pull": row[6], "numbers": row[7], "chi_square": row[8]})


def _rides(page: Page, numbers: list[int]) -> Iterator[Line]:
    given: dict[int, dict[str, int]] = defaultdict(dict)
    chosen = select(ratings.c.ride_id, ratings.c.readout, ratings.c.points).select_from(ratings.join(rides))
    for ride, readout, points in page.execute(
        chosen.where(rides.c.visit_id.in_(numbers)).order_by(ratings.c.ride_id, ratings.c.readout)
    ):
        given[ride][readout] = points
    for line in _lines(page, "ride", rides, numbers):
        yield replace(line, told={"points": given[line.id]})


def _proposals(page: Page, numbers: list[int]) -> Iterator[Line]:
    return _lines(page, "proposal", proposals, numbers, proposals.c.cams, proposals.c.source)


def _photos(page: Page, numbers: list[int]) -> Iterator[Line]:
    sha = select(contents.c.sha256).where(contents.c.id == photos.c.content_id).scalar_subquery()
    return _lines(page, "photo", photos, numbers, photos.c.file, photos.c.kind, sha.label("sha256"))


# Files --------------------------------------------------------------------------------------------------------------


def content(page: Page, number: int) -> Stored:
    """A file by its number."""
    return Stored(
        *page.execute(select(contents.c.sha256, contents.c.bytes).where(contents.c.id == number)).one()
    )


def content_of(page: Page, kind: str, number: int) -> Stored | None:
    """The file that a pull or a photo came with."""
    table, key = {"pull": (pulls, pulls.c.raw_id), "photo": (photos, photos.c.content_id)}[kind]
    found = page.execute(select(key).where(table.c.id == number)).scalar()
    return None if found is None else content(page, found)
