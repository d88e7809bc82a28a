"""What a question carries: the whole job in every one, since the server keeps none."""

import json
from datetime import date
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import Base64Bytes, BaseModel, ConfigDict, Field, ValidationError, WrapValidator
from pydantic_core.core_schema import ValidatorFunctionWrapHandler

from pullcurve.errors import BadInput
from pullcurve.intake.sentences import faults
from pullcurve.parts.job import Job
from pullcurve.pull.checks import check_job
from pullcurve.pull.loop import STATIONS
from pullcurve.web.strict import Number, Short

NAME = "job"
"""What faults call a job that came without a file."""


def _dated(value: Any) -> Any:
    """The job with its dates as dates: JSON has none, so they come as texts."""
    measured = value.get("measured") if isinstance(value, dict) else None
    if not isinstance(measured, dict):
        return value
    return {**value, "measured": {path: _with_date(entry) for path, entry in measured.items()}}


def _with_date(entry: Any) -> Any:
    if not isinstance(entry, dict) or not isinstance(entry.get("date"), str):
        return entry
    try:
        return {**entry, "date": date.fromisoformat(entry["date"])}
    except ValueError:
        return entry


def _whole_job(value: Any, parse: ValidatorFunctionWrapHandler) -> Job:
    """The job checked by comparison and by formula; raises BadInput with every fault."""
    try:
        job: Job = parse(_dated(value))
    except ValidationError as error:
        raise BadInput(*faults(error, NAME)) from None
    _checked(job.model_dump_json(exclude_unset=True))
    return job


@lru_cache(maxsize=64)
def _checked(text: str) -> None:
    """Check a job by formula, by its text: a page sends the same job with every step of a cam."""
    check_job(job_of(text), NAME)


def job_of(text: str) -> Job:
    """A job that was taken, from its text."""
    return Job.model_validate(_dated(json.loads(text)))


WireJob = Annotated[Job, WrapValidator(_whole_job)]
Kind = Literal["brake", "clutch", "assist"]
Cams = Annotated[tuple[Short, ...], Field(max_length=3)]
Theme = Literal["light", "dark"]
Width = Annotated[float, Field(ge=280.0, le=2400.0, allow_inf_nan=False)]


class Body(BaseModel):
    """Base of every question: nothing that it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class JobBody(Body):
    """A question about a job."""

    job: WireJob


class Look(Body):
    """How a picture is wanted."""

    theme: Theme = "light"
    width: Width = 900.0


class PullBody(JobBody):
    """Pull what is fitted and, beside it, other cams of the rack by their ids."""

    cams: Cams = ()
    foot_newton: Number = 0.0
    stations: Annotated[int, Field(strict=True)] = STATIONS


class PullFigureBody(PullBody, Look):
    """The same as a picture."""


class BenchBody(JobBody):
    """The bench: what is fitted and, beside it, other cams of the rack by their ids.

    A page that has the poses of what is fitted asks without them, and only for the ``lever`` that it shows.
    """

    cams: Cams = ()
    lever: Annotated[int, Field(ge=0, le=9, strict=True)] | None = None
    fitted: Annotated[bool, Field(strict=True)] = True


class FindBody(JobBody):
    """Search the rack; with a cloud, every set comes with its read-outs."""

    most: Annotated[int, Field(ge=1, le=50, strict=True)] = 5
    cloud: Annotated[bool, Field(strict=True)] = False


class SwapBody(JobBody):
    """Single swaps, for a complaint in the trade's words or for none."""

    complaint: Annotated[str, Field(max_length=80)] | None = None


class Drawing(Body):
    """What a cam is drawn for: wishes by key, points of travel [mm] and force [N], whether the end stays."""

    wishes: Annotated[dict[str, Number], Field(max_length=8)] = Field(default_factory=dict)
    points: Annotated[tuple[tuple[Number, Number], ...], Field(max_length=200)] = ()
    keep_end: Annotated[bool, Field(strict=True)] = False


class CamBody(JobBody):
    """One cam on its lever: the fitted one, or one of the rack by its id."""

    kind: Kind
    cams: Cams = ()


class CamSheetBody(CamBody, Look):
    """The same as a picture."""


class DrawBody(JobBody, Look):
    """Draw a cam for a feel."""

    kind: Kind
    drawing: Drawing


class LadderBody(JobBody):
    """Cams in equal felt steps of one wish between two ends."""

    kind: Kind
    key: Short
    first: Number
    last: Number
    count: Annotated[int, Field(ge=2, le=24, strict=True)] = 6
    wishes: Annotated[dict[str, Number], Field(max_length=8)] = Field(default_factory=dict)
    keep_end: Annotated[bool, Field(strict=True)] | None = None


class ReadBody(JobBody, Look):
    """A cam in a file: its name only says which kind of file it is."""

    kind: Kind
    name: Annotated[str, Field(max_length=200)]
    data: Base64Bytes
    dpi: Number | None = None
    scale_mm: Number | None = None
    layer: Short | None = None


class PullFile(BaseModel):
    """A measured pull in a file, and what is said of its columns."""

    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(max_length=200)]
    data: Base64Bytes
    columns: Annotated[dict[Short, Short], Field(max_length=8)] = Field(default_factory=dict)
    units: Annotated[dict[Short, Short], Field(max_length=8)] = Field(default_factory=dict)
    drop_first: bool = False


class MeasureBody(JobBody, Look):
    """A measured pull on a job's lever; the lever only where the file does not name it."""

    file: PullFile
    lever: Literal["brake", "clutch"] | None = None


class CompareBody(JobBody, Look):
    """Two measured pulls, or one against what the job predicts."""

    before: PullFile
    after: PullFile | None = None
    lever: Literal["brake", "clutch"] | None = None


class ExportBody(JobBody):
    """Files of a cam, of every fitted cam where no kind is given, or of a drawn one; one file by its ending.

    ``numbers`` is a cam as a job holds it, whether the rack has it or not.
    """

    kind: Kind | None = None
    cams: Cams = ()
    numbers: Annotated[dict[Short, Number | tuple[Number, ...]], Field(max_length=8)] | None = None
    drawing: Drawing | None = None
    ending: Annotated[str, Field(max_length=40)] | None = None


class HardwareFile(Body):
    """How a unit is screwed together: the text of a hardware file; its name is only used in sentences."""

    name: Annotated[str, Field(max_length=200)] = "hardware.toml"
    text: Annotated[str, Field(max_length=500_000)]


class UnitBody(JobBody):
    """The job's unit, with the hardware that its workshop describes or that of the demo units."""

    hardware: HardwareFile | None = None


class StepsBody(UnitBody):
    """Strip and build for one task, and the cams of the rack that are to go on."""

    task: Annotated[str, Field(max_length=40)]
    cams: Cams = ()


Paper = Literal["pdf", "html"]


class BenchSheetBody(StepsBody):
    """The same as a sheet for the bench."""

    form: Paper = "pdf"


class HandBody(JobBody):
    """Cams that are considered, by their ids, beside what is fitted."""

    cams: Cams = ()


class SheetBody(UnitBody):
    """The sheet for rider and file; the lever only where the file of the pull does not name it."""

    cams: Cams = ()
    pull: PullFile | None = None
    lever: Literal["brake", "clutch"] | None = None
    form: Paper = "pdf"
