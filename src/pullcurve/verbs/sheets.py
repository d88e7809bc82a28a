"""Sheets to hand out: one for rider and file, one for the bench."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from pullcurve.errors import BadInput, Fault
from pullcurve.papers.sheet import BenchSheet, RiderSheet, Service, Sheet, Shown, Taken
from pullcurve.parts.job import Job
from pullcurve.parts.layout import features, hardware_of
from pullcurve.pull.checks import shut_port
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.plate import cam_metal, rocker_of
from pullcurve.pull.readouts import facets
from pullcurve.studies.candidates import Candidates, single
from pullcurve.studies.check import check_cam
from pullcurve.studies.findings import Verdict
from pullcurve.studies.sentences import Change, compare
from pullcurve.studies.service import FluidReminder, Ridden, items, reminders
from pullcurve.studies.wishes import Wish, wishes_of
from pullcurve.verbs.asking import Pulled, cams_named, pull_levers, refitted
from pullcurve.verbs.jobs import open_job

if TYPE_CHECKING:
    from pullcurve.parts.hardware import Hardware
    from pullcurve.studies.benchpull import BenchPull, LeverKind
    from pullcurve.verbs.measuring import Measured

ID_LENGTH = 12
"""Hexadecimal digits of a job's id: among a million jobs, two are alike once in five hundred times."""

FORMS = (".pdf", ".html")

REACHED = {"brake-cam": ("brake",), "clutch-cam": ("clutch",), "assist-cam": ("assist",), "foot-plunger": ()}
"""Cams that a task lays bare; a task that is not listed lays all of them bare."""

Exchanged = tuple[tuple[Cam | None, Cam], ...]
"""Cams that come off, each with the one that goes on."""


def job_id(text: str) -> str:
    """Short id of a job from the text of its file, whatever its line ends."""
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
    return sha256(plain.encode()).hexdigest()[:ID_LENGTH]


def open_for_sheet(path: Path | str) -> tuple[Job, str]:
    """A job and the id of its text; raises BadInput with every fault of the file."""
    job = open_job(path)
    return job, job_id(Path(path).read_text(encoding="utf-8-sig"))


def own_hardware(path: Path | str) -> "Hardware":
    """How a workshop describes its unit's hardware; raises BadInput with every fault of the file."""
    from pullcurve.verbs.stripping import read_hardware

    return read_hardware(path)


# Rider ----------------------------------------------------------------------------------------------------------------


def rider_sheet(
    job: Job,
    id: str,
    day: date,
    *,
    wanted: tuple[str, ...] = (),
    since: Mapping[str, Ridden] | None = None,
    fluid: FluidReminder | None = None,
    own: "Hardware | None" = None,
) -> RiderSheet:
    """The sheet for rider and file; ``wanted`` are cams of the rack, by id, beside what is fitted.

    ``own`` is how the workshop describes the unit's hardware.
    ``since`` says what was ridden since each part was looked after; without it everything counts from the day.
    """
    now = pull_levers(job)
    then = pull_levers(refitted(job, cams_named(job, wanted))) if wanted else None
    last = now if then is None else then
    tables = [_table(last, row) for row in range(len(job.unit.levers))]
    fitted = Shown("fitted", now.cams, now.pull)
    return RiderSheet(
        job=job,
        id=id,
        day=day,
        sets=(fitted,) if then is None else (fitted, Shown("proposed", then.cams, then.pull)),
        surfaces=now.mechanism.surfaces,
        changes=() if then is None else tuple(_changes(now, then)),
        wishes=tuple(wish for table in tables for wish in _wishes(job, table)),
        limits=tuple(limit for table in tables for limit in table.limits),
        verdicts=_verdicts(last),
        closing=tuple(one.ask for one in _hardware(job, own).closing if one.opened is None),
        shut_port=shut_port(job),
        service=_service(job, since, fluid),
        origins=now.origins,
    )


def _hardware(job: Job, own: "Hardware | None") -> "Hardware":
    """The hardware of a job's unit; a sheet without a description of its own must not wait for what reads one."""
    if own is None:
        return hardware_of(job)
    from pullcurve.verbs.stripping import hardware_for

    return hardware_for(job, own)


def _table(known: Pulled, row: int) -> Candidates:
    """One lever with its cams as a table of one row, as a search would judge it."""
    drives = {rocker.drives for rocker in known.job.unit.levers[row].rockers}
    return single(known.job, row, {kind: cam for kind, cam in known.cams.items() if kind in drives})


def _changes(now: Pulled, then: Pulled) -> Iterator[Change]:
    """Change of every read-out."""
    for kind in ("brake", "clutch"):
        before, after = getattr(now.pull, kind), getattr(then.pull, kind)
        for name, facet in facets(before) if before is not None else ():
            yield compare(kind, name, facet, getattr(before, name), getattr(after, name))


def _wishes(job: Job, table: Candidates) -> tuple[Wish, ...]:
    return tuple(wish for kind, known in table.readouts().items() for wish in wishes_of(job, kind, known))


def _verdicts(known: Pulled) -> dict[str, Verdict]:
    """What the check of each cam says, under the pull of its lever."""
    return {
        kind: check_cam(
            known.job, cam_metal(known.job, kind, cam), known.pull.levers[rocker_of(known.job, kind)[0]]
        )
        for kind, cam in known.cams.items()
    }


def _service(job: Job, since: Mapping[str, Ridden] | None, fluid: FluidReminder | None) -> Service:
    """Reminders from notes; without any, whole intervals for what is looked after on the day."""
    has = features(job)
    fresh = {item.id: Ridden({}) for item in items(has)}
    return Service(reminders(has, fresh if since is None else since), fluid, since is not None)


# With a bench pull ----------------------------------------------------------------------------------------------------


def with_pull(
    sheet: RiderSheet, path: Path | str, lever: "LeverKind | None" = None, memory: Path | None = None
) -> RiderSheet:
    """The sheet with a bench pull on it; raises BadInput where it was taken with cams that the sheet lacks.

    The folder ``memory`` knows what is what in the tables of loggers that were read before.
    """
    from pullcurve.verbs.measuring import read_pull

    return with_taken(sheet, read_pull(path, memory=memory), lever)


def with_taken(sheet: RiderSheet, pull: "BenchPull", lever: "LeverKind | None" = None) -> RiderSheet:
    """The sheet with a bench pull that was read before."""
    from pullcurve.verbs.measuring import against_predicted, on_job

    measured = on_job(pull, sheet.job, lever)
    row = rocker_of(sheet.job, measured.lever)[0]
    taken = Taken(
        pull=measured.pull,
        lever=measured.lever,
        row=row,
        role=_whose(sheet, measured, row).role,
        branches=measured.branches,
        compared=against_predicted(measured).compared,
    )
    return replace(sheet, taken=taken)


def _whose(sheet: RiderSheet, measured: "Measured", row: int) -> Shown:
    """The set of the sheet that was on the lever when it was pulled: what is fitted where the file does not say."""
    drives = {rocker.drives for rocker in sheet.job.unit.levers[row].rockers}
    on = {kind: getattr(measured.job.fitted, kind) for kind in drives}
    for one in sheet.sets:
        if all(one.cams.get(kind) == cam for kind, cam in on.items()):
            return one
    names = ", ".join(cam.id for cam in on.values() if cam is not None)
    said = f"was taken with {names}; allowed is a pull of what is fitted or proposed on this sheet"
    raise BadInput(Fault(measured.pull.name, "", said))


# Bench ----------------------------------------------------------------------------------------------------------------


def bench_sheet(
    job: Job,
    id: str,
    day: date,
    task: str,
    *,
    wanted: tuple[str, ...] = (),
    own: "Hardware | None" = None,
) -> BenchSheet:
    """Strip and build of a task for the bench; ``wanted`` are cams of the rack, by id, that go on."""
    from pullcurve.verbs.stripping import steps_for

    steps = steps_for(job, task, own)
    exchanged, left = going_on(job, task, wanted)
    for kind in left:
        said = f"leaves the {kind} cam where it is; allowed is a task that lays it bare, such as {kind}-cam"
        raise BadInput(Fault("task", f'"{task}"', said))
    cams = cams_named(job, wanted)
    if cams:
        refitted(job, cams)
    return BenchSheet(job, id, day, steps, exchanged)


def going_on(job: Job, task: str, wanted: tuple[str, ...]) -> tuple[Exchanged, Mapping[str, Cam]]:
    """Of cams of the rack, by id: what comes off and goes on in a task, and what the task does not lay bare."""
    cams = cams_named(job, wanted)
    reached = REACHED.get(task, tuple(cams))
    on = {kind: cam for kind, cam in cams.items() if kind in reached}
    return tuple(_exchanged(job, on)), {kind: cam for kind, cam in cams.items() if kind not in reached}


def _exchanged(job: Job, cams: Mapping[str, Cam]) -> Iterator[tuple[Cam | None, Cam]]:
    """What comes off and what goes on, without what stays."""
    for kind, cam in cams.items():
        off = getattr(job.fitted, kind)
        if off != cam:
            yield off, cam


# Write ----------------------------------------------------------------------------------------------------------------


def sheet_path(path: Path | str) -> tuple[Path, str]:
    """Where a sheet goes and in which form, by the ending of its name; raises BadInput for any other ending."""
    target = Path(path)
    form = target.suffix.lower()
    if form not in FORMS:
        raise BadInput(Fault(str(target), "", f'ends in "{target.suffix}"; allowed is {" or ".join(FORMS)}'))
    return target, form


def write_sheet(path: Path | str, sheet: Sheet) -> Path:
    """Write a sheet as PDF or as HTML, by the ending of the file's name."""
    target, form = sheet_path(path)
    if form == ".pdf":
        from pullcurve.papers.sheetpdf import sheet_pdf

        content = sheet_pdf(sheet)
    else:
        from pullcurve.papers.sheethtml import sheet_html

        content = sheet_html(sheet).encode()
    try:
        target.write_bytes(content)
    except OSError as error:
        raise BadInput(Fault(str(target), "", f"cannot be written: {error.strerror}")) from None
    return target


__all__ = [
    "bench_sheet",
    "going_on",
    "job_id",
    "open_for_sheet",
    "own_hardware",
    "rider_sheet",
    "sheet_path",
    "with_pull",
    "with_taken",
    "write_sheet",
]
