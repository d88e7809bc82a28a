"""Jobs over the wire: the demo jobs, a job checked, a job file in and out."""

from typing import Any

from fastapi import APIRouter, Request, Response

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.jobfile import LARGEST, job_text
from pullcurve.papers.record import Record, cam_record
from pullcurve.parts.facts import data_text
from pullcurve.parts.job import Job
from pullcurve.parts.origin import PLAIN, origins
from pullcurve.pull.checks import check_job
from pullcurve.pull.mechanism import fitted
from pullcurve.verbs import jobs
from pullcurve.verbs.cams import kinds_of
from pullcurve.verbs.drawing import source_words
from pullcurve.web.bodies import JobBody
from pullcurve.web.running import answered

router = APIRouter(prefix="/api/jobs", tags=["jobs"])

UPLOAD: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
"""A body that is a file as it is."""


def plain_job(job: Job) -> Record:
    """A job as the data that was given."""
    found: Record = job.model_dump(mode="json", exclude_unset=True)
    return found


@router.get("/demo")
def demo_jobs() -> Response:
    """Names and titles of the demo jobs."""
    listed = [(name.removesuffix(".toml"), jobs.demo_job(name)) for name in jobs.demo_names()]
    return answered({"jobs": [{"name": name, "title": job.title} for name, job in listed]})


@router.get("/demo/{name}")
def demo_job(name: str) -> Response:
    """One demo job."""
    return answered(plain_job(jobs.demo_job(f"{name.removesuffix('.toml')}.toml")))


@router.get("/template")
def template() -> Response:
    """A job to start from."""
    return answered(plain_job(jobs.parse_job(data_text("template_job.toml"), "template_job.toml")))


@router.post("/check")
def check(body: JobBody) -> Response:
    """A job with every value resolved, where each came from, and what stands in the title block."""
    job = body.job
    known = origins(job)
    listed = {
        path: {"value": origin.value, "source": origin.source, "note": origin.note}
        for path, origin in known.items()
    }
    chosen = fitted(job)
    cams = {kind: chosen.of(kind)[0] for kind in kinds_of(job)}
    return answered(
        {
            "origins": listed,
            "plain": PLAIN,
            "fitted": {kind: {"id": cam.id, "name": cam.name} for kind, cam in cams.items()},
            "block": {
                "job": job.title,
                "machine": job.motorcycle.name,
                "rider": job.rider.need,
                "set": ", ".join(cam.id for cam in cams.values()),
                "numbers": source_words(known),
            },
        }
    )


@router.post("/rack")
def rack(body: JobBody) -> Response:
    """What the workshop has for each kind of cam that this unit carries, beside what is fitted.

    ``fits`` says whether it can take the place of the fitted one alone: it has the reach of the lever's other cams.
    """
    job, known = body.job, fitted(body.job)
    found = {}
    for kind in kinds_of(job):
        now = known.of(kind)[0]
        alone = {"clutch": job.fitted.assist, "assist": job.fitted.clutch}.get(kind) is None
        cams = () if job.rack is None else getattr(job.rack, f"{kind}_cams")
        listed = [{**cam_record(cam), "fits": alone or cam.reach_deg == now.reach_deg} for cam in cams]
        found[kind] = {"fitted": cam_record(now), "cams": listed}
    return answered({"kinds": found})


@router.post("/import", openapi_extra=UPLOAD)
async def import_job(request: Request, name: str = "job.toml") -> Response:
    """A job file as the data of a job; its name is only used in sentences."""
    job = jobs.parse_job(_read(await request.body(), name[:80]), name[:80])
    check_job(job, name[:80])
    return answered(plain_job(job))


def _read(content: bytes, name: str) -> str:
    """Text of an uploaded file, or one line that says why not."""
    if len(content) > LARGEST:
        raise BadInput(Fault(name, "", f"has more than {LARGEST // 1_000_000} MB; a job has a few kB"))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        said = f"is no UTF-8 text from byte {error.start} on; a job is one TOML file"
        raise BadInput(Fault(name, "", said)) from None


@router.post("/export")
def export_job(body: JobBody) -> Response:
    """A job as the text of a job file: only what was given."""
    headers = {"Content-Disposition": 'attachment; filename="job.toml"'}
    return Response(job_text(body.job), media_type="application/toml", headers=headers)
