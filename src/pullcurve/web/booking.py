"""The job book over the wire and as a page: a machine, a visit, a ride note, a proposal, a bench pull, a photo."""

from fastapi import APIRouter, Request, Response

from pullcurve.intake.jobfile import job_text
from pullcurve.papers import bookrecord
from pullcurve.papers.record import Record
from pullcurve.papers.sheetwords import NEW, STOP, sentences
from pullcurve.papers.words import CAUTION
from pullcurve.verbs import booking, filing
from pullcurve.verbs.booking import Visiting, Written
from pullcurve.web import bookread, pages
from pullcurve.web.asking import runner
from pullcurve.web.bookbodies import (
    KeptPullBody,
    MachineBody,
    PhotoBody,
    ProposalBody,
    RideBody,
    VisitBody,
)
from pullcurve.web.bookplace import entry, file_of, opened
from pullcurve.web.running import Told, answered

FILE = "job"
"""What faults call the job that is open on a page."""

writing = APIRouter()
sheets = APIRouter(include_in_schema=False)


@sheets.get("/book")
def book(request: Request) -> Response:
    """The job book: machines and their history, lines to write, what is due, what the notes teach."""
    return pages.shown(request, "book", cautions=sentences(CAUTION), stop=STOP, new_levers=NEW)


def _written(answer: Written) -> Record:
    """A line that is in the book now."""
    head = {"machine": answer.machine.name, "visit": answer.visit}
    return {**head, "kind": answer.kind, "number": answer.number, "words": answer.told}


@writing.post("/machine")
def add_machine(request: Request, body: MachineBody) -> Response:
    """Start a machine's history under a name of its own; the first machine starts the book."""
    told = entry(body)
    with opened(request, new=True) as known:
        return answered(
            {"machine": bookrecord.machine_record(booking.add_machine(known, body.name, body.owner, told))}
        )


@writing.post("/visit")
def add_visit(request: Request, body: VisitBody) -> Response:
    """Write a visit: the machine leaves the bench as the job says. Two changes at once ask for a reason."""
    told = entry(body)
    more = Visiting(body.unit, body.reason, body.hours, body.done, body.fluid, body.boils_celsius)
    with opened(request) as known:
        answer = booking.add_visit(known, body.machine, job_text(body.job), FILE, told, more)
    return answered(
        {
            "machine": answer.machine.name,
            "visit": answer.number,
            "changes": bookrecord.changes_record(answer.changes),
            "due": None if answer.due_day is None else answer.due_day.isoformat(),
            "due_for": answer.due_what,
        }
    )


@writing.post("/ride")
def add_ride(request: Request, body: RideBody) -> Response:
    """Write a ride note: what the rider says of what is fitted, in points for each read-out and in free words."""
    told = entry(body)
    with opened(request) as known:
        return answered(_written(booking.add_ride(known, body.machine, body.points, told)))


@writing.post("/proposal")
def add_proposal(request: Request, body: ProposalBody) -> Response:
    """Write which cams of the rack are to be tried next."""
    told = entry(body)
    with opened(request) as known:
        return answered(_written(booking.add_proposal(known, body.machine, body.cams, body.source, told)))


@writing.post("/pull")
async def add_pull(request: Request, body: KeptPullBody) -> Response:
    """Keep a bench pull: the file as it came, and what is read off it; with ``fit``, also the numbers it tells."""
    told, file = entry(body), body.file

    def work(_: Told) -> Record:
        with opened(request) as known, file_of(file.name, file.data) as path:
            answer = filing.add_pull(
                known,
                body.machine,
                path,
                told,
                lever=body.lever,
                columns=file.columns,
                units=file.units,
                drop_first=file.drop_first,
                fitting=body.fit,
            )
        return _written(answer)

    return await runner(request).answer(request, work)


@writing.post("/photo")
def add_photo(request: Request, body: PhotoBody) -> Response:
    """Keep a photo: JPEG, PNG or WebP."""
    told = entry(body)
    with opened(request) as known, file_of(body.name, body.data) as path:
        return answered(_written(filing.add_photo(known, body.machine, path, told)))


api = APIRouter(prefix="/api/book", tags=["job book"])
api.include_router(bookread.router)
api.include_router(writing)
router = APIRouter()
"""The job book: its page, and what programs may ask of it."""
router.include_router(api)
router.include_router(sheets)
