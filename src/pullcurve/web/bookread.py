"""Read in the job book over the wire: machines, timeline, two dates, search, what is due, what the notes teach."""

import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import StreamingResponse

from pullcurve.papers import bookrecord
from pullcurve.papers.record import Record
from pullcurve.papers.sheetwords import STOP
from pullcurve.parts.facts import table
from pullcurve.parts.layout import features
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.find import Found
from pullcurve.studies.history import GROUNDS
from pullcurve.studies.preference import Lesson
from pullcurve.studies.service import items
from pullcurve.units import from_si
from pullcurve.verbs import bookkeeping, jobs, leafing, reminding
from pullcurve.verbs.filing import PHOTOS
from pullcurve.verbs.leafing import Learned
from pullcurve.web import bookplace
from pullcurve.web.asking import runner
from pullcurve.web.bodies import JobBody
from pullcurve.web.bookbodies import Count, Day, LearnBody, Most, Name, Words
from pullcurve.web.jobs import plain_job
from pullcurve.web.running import Told, answered
from pullcurve.web.strict import Short

LESSONS = 3
"""Rides with a swap that are told, what teaches most first."""

CHUNK = 1 << 20
"""Bytes of an archive that are sent at once."""

ZIP = "application/zip"

router = APIRouter()


# Words that the pages need --------------------------------------------------------------------------------------------


@router.get("/readouts")
def readouts() -> Response:
    """Every read-out by its key: label, unit, decimals, whether it is felt, and the unit's number for one in SI."""
    both = {"brake": BrakeReadouts, "clutch": ClutchReadouts}
    listed = {
        f"{kind}.{name}": {
            "label": one.label,
            "unit": one.unit,
            "decimals": one.decimals,
            "felt": one.felt,
            "per_si": from_si(f"value_{one.unit}", 1.0),
        }
        for kind, known in both.items()
        for name, one in facets(known)
    }
    fluids = list(table("service")["fluid"])
    return answered({"readouts": listed, "grounds": GROUNDS, "fluids": fluids, "stop": STOP})


@router.post("/wearing")
def wearing(body: JobBody) -> Response:
    """What of a job's unit can be looked after."""
    listed = [{"item": one.id, "name": one.name, "task": one.task} for one in items(features(body.job))]
    return answered({"items": listed, "fluid": body.job.brake_circuit is not None})


# Machines -------------------------------------------------------------------------------------------------------------


@router.get("/machines")
def machines(request: Request, after: Short = "", most: Most = leafing.MOST) -> Response:
    """Machines by name, from the one behind ``after`` on; where there is no book yet, none."""
    found = bookplace.read_if_any(request, lambda book: leafing.machines(book, most + 1, after))
    listed = bookrecord.listed_record((found or ())[:most])
    told = {"book": bookplace.shown_place(bookplace.place_of(request)), "begun": found is not None}
    return answered({**told, "machines": listed, "more": len(found or ()) > most})


@router.get("/fitted")
def fitted(request: Request, machine: Name, day: Day | None = None) -> Response:
    """What was on a machine on a day, and its job as it was typed."""
    with bookplace.opened(request) as book:
        known, visit, text = leafing.job_on(book, machine, day or date.today())
    told = {"machine": bookrecord.machine_record(known), "visit": bookrecord.visit_record(visit)}
    return answered({**told, "job": text})


@router.get("/job")
def job(request: Request, machine: Name, day: Day | None = None) -> Response:
    """The job that was on a machine on a day, as data."""
    with bookplace.opened(request) as book:
        _, visit, text = leafing.job_on(book, machine, day or date.today())
    return answered(plain_job(jobs.parse_job(text, f"visit {visit.id}")))


@router.get("/timeline")
def timeline(request: Request, machine: Name) -> Response:
    """Everything that was written about a machine, by day."""
    with bookplace.opened(request) as book:
        known = leafing.timeline(book, machine)
    return answered(bookrecord.timeline_record(known.machine, known.visits, known.lines))


@router.get("/compare")
def compare(request: Request, machine: Name, first: Day, second: Day | None = None) -> Response:
    """A machine on two days, or on one and today: cams, numbers, and every read-out in felt steps."""
    with bookplace.opened(request) as book:
        known = leafing.dates(book, machine, first, second or date.today())
    return answered(bookrecord.between_record(known.machine, known.before, known.after, known.between))


@router.get("/search")
def search(request: Request, words: Words, machine: Name = "", most: Most = leafing.MOST) -> Response:
    """Lines that hold all the words, or words that begin so, what was written last first."""
    found = bookplace.read_if_any(request, lambda book: leafing.search(book, words, machine, most))
    return answered({"found": bookrecord.findings_record(found or ())})


@router.get("/due")
def due(request: Request, machine: Name = "", day: Day | None = None, most: Most = leafing.MOST) -> Response:
    """What of a machine is due on a day; without one, which machines are."""
    by = day or date.today()
    if not machine:
        found = bookplace.read_if_any(request, lambda book: reminding.due_machines(book, by, most))
        return answered({"day": by.isoformat(), "machines": bookrecord.listed_record(found or ())})
    with bookplace.opened(request) as book:
        known = reminding.due(book, machine, by)
    told = bookrecord.due_record(known.machine, by.isoformat(), known.items, known.fluid)
    return answered({**told, "fluid_unknown": known.unknown})


# What the notes teach -------------------------------------------------------------------------------------------------


@router.post("/learn")
async def learn(request: Request, body: LearnBody) -> Response:
    """What the rider would like, how sure that is, and which ride would teach most next; the job with it wished."""

    def work(told: Told) -> Record:
        with bookplace.opened(request) as book:
            known = leafing.learned(book, body.machine, body.day or date.today(), told=told)
        best = leafing.find_learned(known, told=told) if body.find else None
        record = bookrecord.learned_record(known.rides, known.preferences, _lessons(known))
        head = {"machine": known.machine.name, "visit": known.visit.id, **record}
        return {**head, "job": plain_job(known.job), "best": None if best is None else _best(known, best)}

    return await runner(request).answer(request, work)


def _lessons(known: Learned) -> list[Lesson]:
    """The rides that are told: the best swaps, and a ride as it is to compare."""
    swaps = [one for one in known.lessons if one.swap is not None][:LESSONS]
    return [one for one in known.lessons if one in swaps or one.swap is None]


def _best(known: Learned, best: Found) -> Record:
    """The best set: its cams, which of them are exchanged for it, and why in words."""
    return {
        "cams": {kind: cam.id for kind, cam in best.best.items()},
        "exchanges": leafing.exchanges(known, best),
        "levers": [{"lever": one.lever, "words": one.answers[0].words} for one in best.levers],
    }


# Files ----------------------------------------------------------------------------------------------------------------


@router.get("/file", response_class=Response, responses={200: {"content": {"image/*": {}, "text/csv": {}}}})
def file(request: Request, kind: Literal["pull", "photo"], number: Annotated[Count, Query()]) -> Response:
    """The file that a bench pull or a photo came with."""
    with bookplace.opened(request) as book:
        content = leafing.file_of(book, kind, number).content
    if kind == "pull":
        return Response(content, media_type="text/csv", headers={"Content-Disposition": "attachment"})
    return Response(content, media_type=_media(content))


def _media(content: bytes) -> str:
    """Which kind of photo this is, by its own signs: what came under a wrong name is shown all the same."""
    return next(kind for kind, (at, sign) in PHOTOS.items() if content[at : at + len(sign)] == sign)


@router.get("/export", response_class=Response, responses={200: {"content": {ZIP: {}}}})
def export(request: Request) -> Response:
    """The whole book in one archive with checksums."""
    folder = tempfile.TemporaryDirectory()
    path = Path(folder.name, "book.zip")
    at = bookplace.now()
    try:
        with bookplace.opened(request):  # says where there is none, and what is wrong, in the words of a page
            bookkeeping.export_book(bookplace.place_of(request), path, at)
    except BaseException:
        folder.cleanup()
        raise
    headers = {"Content-Disposition": f'attachment; filename="book-{at[:10]}.zip"'}
    return StreamingResponse(_sent(folder, path), media_type=ZIP, headers=headers)


def _sent(folder: Any, path: Path) -> Iterator[bytes]:
    """An archive piece by piece; it is gone when it was sent, or when nobody listens any more."""
    with folder, path.open("rb") as archive:
        while some := archive.read(CHUNK):
            yield some
