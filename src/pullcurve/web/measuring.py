"""Measured pulls over the wire: read, fitted, diagnosed, compared; the file is gone when the answer is there."""

import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from pullcurve.errors import BadInput, Fault
from pullcurve.papers import measurerecord, record
from pullcurve.studies.benchpull import BenchPull
from pullcurve.verbs import benchdrawing, measuring
from pullcurve.verbs.measuring import Measured
from pullcurve.web.asking import THEMES, runner
from pullcurve.web.bodies import CompareBody, MeasureBody, PullFile
from pullcurve.web.jobs import plain_job
from pullcurve.web.running import Told, answered

FORMS = (".csv", ".txt", ".tsv", ".log")
"""Endings of the files that a pull can be read from."""

T = TypeVar("T")

router = APIRouter(prefix="/api/measure", tags=["measured pulls"])


def _demo() -> dict[str, str]:
    """Measured pulls of the demo workshop, by name."""
    folder = files("pullcurve").joinpath("data/demo")
    return {
        entry.name: entry.read_text(encoding="utf-8")
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".csv")
    }


@router.get("/demo")
def demo_pulls() -> Response:
    """Names of the demo workshop's measured pulls, each with the demo job that it belongs to."""
    heads = {name: text.partition("\n")[0].partition(": ")[2] for name, text in _demo().items()}
    return answered({"pulls": [{"name": name, "job": job.strip()} for name, job in heads.items()]})


@router.get("/demo/{name}", response_class=Response, responses={200: {"content": {"text/csv": {}}}})
def demo_pull(name: str) -> Response:
    """One measured pull of the demo workshop."""
    known = _demo()
    if name not in known:
        raise HTTPException(404)
    return Response(known[name], media_type="text/csv; charset=utf-8")


def pull_of(file: PullFile) -> BenchPull:
    """The pull in a file; its name only says what faults call it."""
    plain = file.name.replace("\\", "/").rpartition("/")[2][-80:] or "file"
    ending = Path(plain).suffix.lower()
    if ending not in FORMS:
        raise BadInput(Fault(plain, "", f'ends in "{ending[:12]}"; allowed is {", ".join(FORMS)}'))

    def read(path: Path) -> BenchPull:
        known = measuring.read_pull(path, columns=file.columns, units=file.units, drop_first=file.drop_first)
        return replace(known, name=plain)

    return _with_file(file.data, ending, plain, read)


def _with_file(data: bytes, ending: str, name: str, use: Callable[[Path], T]) -> T:
    """Use a file that is there for no longer than that; faults call it by the name it came with."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place, f"pull{ending}")
        path.write_bytes(data)
        try:
            return use(path)
        except BadInput as error:
            raise BadInput(
                *(
                    Fault(name if fault.where == path.name else fault.where, fault.key, fault.said)
                    for fault in error.faults
                )
            ) from None


def _measured(body: MeasureBody) -> Measured:
    """The pull on the job that came with it."""
    return measuring.on_job(pull_of(body.file), body.job, body.lever)


def _head(known: Measured) -> record.Record:
    return {**measurerecord.measured_record(known.pull, known.branches), "lever": known.lever}


@router.post("/diagnose")
async def diagnose(request: Request, body: MeasureBody) -> Response:
    """What is wrong, if anything: causes with what to check first, then the cam; and a picture."""

    def work(told: Told) -> record.Record:
        told(0, 2)
        known = _measured(body)
        told(1, 2)
        found = measuring.diagnose_pull(known)
        sheet = benchdrawing.diagnosis_sheet(found, day=_today(), theme=THEMES[body.theme], width=body.width)
        said = measurerecord.diagnosis_record(found.diagnosis)
        return {"measured": _head(known), "diagnosis": said, "sheet": sheet}

    return await runner(request).answer(request, work)


@router.post("/fit")
async def fit(request: Request, body: MeasureBody) -> Response:
    """The job's numbers as the pull tells them, with intervals; a picture; and the job with them in it."""

    def work(told: Told) -> record.Record:
        told(0, 2)
        known = _measured(body)
        told(1, 2)
        found = measuring.fit_pull(known)
        theme, width, day = THEMES[body.theme], body.width, _today()
        return {
            "measured": _head(known),
            "fit": measurerecord.fit_record(found.fit, found.mixed),
            "sheet": benchdrawing.fit_sheet(found, day=day, theme=theme, width=width),
            "intervals": benchdrawing.interval_sheet(found, day=day, theme=theme, width=width),
            "job": plain_job(measuring.adopt(found, date.today())),
        }

    return await runner(request).answer(request, work)


@router.post("/compare")
async def compare(request: Request, body: CompareBody) -> Response:
    """Two pulls in felt steps, or one against what the job predicts; and a picture."""

    def work(told: Told) -> record.Record:
        told(0, 1)
        if body.after is None:
            found = measuring.against_predicted(measuring.on_job(pull_of(body.before), body.job, body.lever))
        else:
            found = measuring.compare_pulls(pull_of(body.before), pull_of(body.after))
        sheet = benchdrawing.comparison_sheet(found, theme=THEMES[body.theme], width=body.width)
        return {**measurerecord.compared_record(found.compared, found.labels), "sheet": sheet}

    return await runner(request).answer(request, work)


def _today() -> str:
    return date.today().isoformat()
