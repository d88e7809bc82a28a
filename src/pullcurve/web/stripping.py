"""Steps and sheets over the wire: how a unit is stripped and built, and the pages that are handed out."""

import re
import unicodedata
from datetime import date

from fastapi import APIRouter, Request, Response

from pullcurve.intake.jobfile import job_text
from pullcurve.papers.record import Record, cam_record
from pullcurve.papers.sheet import RiderSheet, Sheet
from pullcurve.papers.sheethtml import sheet_html
from pullcurve.papers.sheetpdf import sheet_pdf
from pullcurve.papers.stepsrecord import steps_record
from pullcurve.parts.hardware import Hardware
from pullcurve.parts.job import Job
from pullcurve.verbs import sheets, stepping, stripping
from pullcurve.web import measuring, pages
from pullcurve.web.bodies import BenchSheetBody, Cams, HandBody, Paper, SheetBody, StepsBody, UnitBody
from pullcurve.web.running import answered

MEDIA = {"pdf": "application/pdf", "html": "text/html; charset=utf-8"}

LONGEST_NAME = 60
"""Signs of a file's name before its ending."""

router = APIRouter(prefix="/api/steps", tags=["steps and sheets"])
sheet_router = APIRouter(prefix="/api/sheet", tags=["steps and sheets"])
page_router = APIRouter(include_in_schema=False)


@page_router.get("/steps")
def steps_page(request: Request) -> Response:
    """Steps: strip and build for a task, with what a person ticks."""
    return pages.shown(request, "steps")


@page_router.get("/sheet")
def sheet_page(request: Request) -> Response:
    """Sheet: what is handed to the rider."""
    return pages.shown(request, "sheet")


# Steps ----------------------------------------------------------------------------------------------------------------


def _own(body: UnitBody) -> Hardware | None:
    """The hardware that came with a question; raises BadInput with every fault of it."""
    if body.hardware is None:
        return None
    name = body.hardware.name.replace("\\", "/").rpartition("/")[2] or "hardware"
    return stripping.parse_hardware(body.hardware.text, name)


@router.post("/tasks")
def tasks(body: UnitBody) -> Response:
    """What can be done on the job's unit, and whose hardware the steps know."""
    known = stripping.hardware_for(body.job, _own(body))
    return answered(
        {
            "hardware": known.title,
            "note": known.note,
            "tasks": [{"id": task.id, "name": task.name} for task in known.tasks],
        }
    )


@router.post("")
def steps(body: StepsBody) -> Response:
    """Strip and build for one task, and which of the named cams go on while it is done."""
    found = steps_record(stripping.steps_for(body.job, body.task, _own(body)))
    exchanged, left = sheets.going_on(body.job, body.task, _others(body.job, body.cams))
    told: Record = {
        **found,
        "exchanged": [{"off": off and cam_record(off), "on": cam_record(on)} for off, on in exchanged],
        "left": [cam_record(cam) for cam in left.values()],
    }
    return answered(told)


@router.post("/hardware", response_class=Response, responses={200: {"content": {"application/toml": {}}}})
def hardware(body: UnitBody) -> Response:
    """The hardware of the job's unit as a file to go on from."""
    text = stripping.own_text(body.job, _own(body))
    return _download(text.encode(), file_name("hardware", body.job.unit.name), "toml", "application/toml")


# Sheets ---------------------------------------------------------------------------------------------------------------


def _papers() -> dict[int | str, Record]:
    return {200: {"content": {media.partition(";")[0]: {} for media in MEDIA.values()}}}


@router.post("/sheet", response_class=Response, responses=_papers())
def bench_sheet(body: BenchSheetBody) -> Response:
    """The sheet for the bench: strip and build for one task."""
    job, task = body.job, body.task
    sheet = sheets.bench_sheet(
        job, _id(job), date.today(), task, wanted=_others(job, body.cams), own=_own(body)
    )
    return _written(sheet, file_name("bench", task, job.title), body.form)


@sheet_router.post("", response_class=Response, responses=_papers())
def rider_sheet(body: SheetBody) -> Response:
    """The sheet for rider and file: what is fitted, beside it the named cams and a measured pull."""
    sheet = _rider(body)
    return _written(sheet, file_name("sheet", body.job.title), body.form)


def _rider(body: SheetBody) -> RiderSheet:
    job = body.job
    sheet = sheets.rider_sheet(job, _id(job), date.today(), wanted=_others(job, body.cams), own=_own(body))
    if body.pull is None:
        return sheet
    return sheets.with_taken(sheet, measuring.pull_of(body.pull), body.lever)


@sheet_router.post("/cams")
def cams(body: HandBody) -> Response:
    """Every number of the cams that the rack varies, lever by lever: what one step up or down would put on."""
    return answered({"levers": stepping.in_hand(body.job, _others(body.job, body.cams))})


def _others(job: Job, cams: Cams) -> Cams:
    """Cams that are not on the machine already: one that was tried may have been fitted since."""
    there = {cam.id for cam in stepping.on_machine(job).values()}
    return tuple(name for name in cams if name not in there)


def _id(job: Job) -> str:
    """The id that a job has when it is saved as a file."""
    return sheets.job_id(job_text(job))


def _written(sheet: Sheet, name: str, form: Paper) -> Response:
    content = sheet_pdf(sheet) if form == "pdf" else sheet_html(sheet).encode()
    return _download(content, name, form, MEDIA[form])


def _download(content: bytes, name: str, ending: str, media: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}.{ending}"'}
    return Response(content, media_type=media, headers=headers)


def file_name(*words: str) -> str:
    """A name that every file system takes: small letters, digits and dashes of some words."""
    plain = unicodedata.normalize("NFKD", " ".join(words)).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_NAME].strip("-")
