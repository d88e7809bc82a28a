"""Write lines of the book: each function adds one line with all that belongs to it, on a page that is open."""

import hashlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import Table, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from pullcurve.book.findings import note
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
    wishes,
)
from pullcurve.studies.history import GROUNDS, NewVisit, Signed


def _added(page: Page, table: Table, values: Mapping[str, Any]) -> int:
    """Number of a new line."""
    return int(page.execute(insert(table).values(**values)).inserted_primary_key[0])  # type: ignore[index]


def _known(page: Page, table: Table, key: str, values: Mapping[str, Any]) -> tuple[int, bool]:
    """Number of the line with a key that stands once, and whether it is new; two writers may come with the same."""
    engine = sqlite if page.dialect.name == "sqlite" else postgresql
    added = page.execute(
        engine.insert(table)
        .values(**values)
        .on_conflict_do_nothing(index_elements=[key])
        .returning(table.c.id)
    ).scalar()
    if added is not None:
        return int(added), True
    return int(page.execute(select(table.c.id).where(table.c[key] == values[key])).scalar_one()), False


def store_content(page: Page, content: bytes) -> int:
    """Number of a file's content, which is kept once."""
    digest = hashlib.sha256(content).hexdigest()
    return _known(page, contents, "sha256", {"sha256": digest, "size": len(content), "bytes": content})[0]


def add_machine(page: Page, name: str, owner: str, words: str, signed: Signed) -> int | None:
    """Number of a new machine; None where the name is taken."""
    values = {"name": name, "owner": owner, "words": words, "who": signed.who, "at": signed.at}
    machine, new = _known(page, machines, "name", values)
    if not new:
        return None
    note(page, "machine", machine)
    return machine


def hold_machine(page: Page, machine: int) -> None:
    """Keep other writers of a machine waiting until this page is done."""
    page.execute(select(machines.c.id).where(machines.c.id == machine).with_for_update())


def add_visit(page: Page, machine: int, new: NewVisit, signed: Signed) -> int:
    """Number of a new visit, with what is fitted and wished and was looked after."""
    by = {"who": signed.who, "at": signed.at}
    unit, _ = _known(page, units, "mark", {"mark": new.unit, "name": new.unit_name, **by})
    hours = new.hours or {}
    visit = _added(
        page,
        visits,
        {
            "machine_id": machine,
            "unit_id": unit,
            "day": new.day,
            "title": new.title,
            "words": new.words,
            "reason": new.reason,
            "job_id": store_content(page, new.job),
            "readouts": new.readouts,
            **{f"hours_{ground}": float(hours.get(ground, 0.0)) for ground in GROUNDS},
            **by,
        },
    )
    cams = [{"kind": kind, "cam": cam, "name": name} for kind, (cam, name) in new.cams.items()]
    wanted = [{"key": key, "value": value, "weight": weight} for key, (value, weight) in new.wishes.items()]
    done = [{"item": one.item, "kind": one.kind, "celsius": one.celsius} for one in new.services]
    for table, lines in ((fitted, cams), (wishes, wanted), (services, done)):
        if lines:
            page.execute(insert(table), [{"visit_id": visit, **line} for line in lines])
    note(page, "visit", visit)
    return visit


def set_due(page: Page, machine: int, day: date | None, what: str) -> None:
    """Note the day from which a machine is due, and for what."""
    page.execute(update(machines).where(machines.c.id == machine).values(due_day=day, due_what=what))


def _line(page: Page, kind: str, table: Table, values: Mapping[str, Any], signed: Signed) -> int:
    """Number of a new line that hangs on a visit, and that the search knows."""
    row = _added(page, table, {**values, "who": signed.who, "at": signed.at})
    note(page, kind, row)
    return row


def add_ride(page: Page, visit: int, day: date, points: Mapping[str, int], words: str, signed: Signed) -> int:
    """Number of a new ride note."""
    ride = _line(page, "ride", rides, {"visit_id": visit, "day": day, "words": words}, signed)
    if points:
        page.execute(
            insert(ratings),
            [{"ride_id": ride, "readout": readout, "points": given} for readout, given in points.items()],
        )
    return ride


def add_pull(
    page: Page,
    visit: int,
    day: date,
    raw: bytes,
    signed: Signed,
    *,
    lever: str,
    file: str,
    told: Mapping[str, Any],
    words: str = "",
) -> int:
    """Number of a new bench pull; the file is kept as it came."""
    values = {"visit_id": visit, "day": day, "lever": lever, "file": file, "told": told, "words": words}
    return _line(page, "pull", pulls, {**values, "raw_id": store_content(page, raw)}, signed)


def add_fit(
    page: Page, pull: int, numbers: Mapping[str, Any], chi_square: float, words: str, signed: Signed
) -> int:
    """Number of a new fit of a bench pull."""
    values = {"pull_id": pull, "numbers": numbers, "chi_square": chi_square, "words": words}
    return _line(page, "fit", fits, values, signed)


def add_proposal(
    page: Page, visit: int, day: date, cams: Mapping[str, str], source: str, words: str, signed: Signed
) -> int:
    """Number of a new proposal: cams by kind, and what it comes from."""
    values = {"visit_id": visit, "day": day, "cams": cams, "source": source, "words": words}
    return _line(page, "proposal", proposals, values, signed)


def add_photo(
    page: Page, visit: int, day: date, content: bytes, file: str, kind: str, words: str, signed: Signed
) -> int:
    """Number of a new photo."""
    values = {"visit_id": visit, "day": day, "file": file, "kind": kind, "words": words}
    return _line(page, "photo", photos, {**values, "content_id": store_content(page, content)}, signed)
