"""Answers about cams on a terminal, or as JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console

from pullcurve.cli import camtables, tables
from pullcurve.cli.showing import as_data, busy, console, today
from pullcurve.papers import camrecord, record
from pullcurve.parts.job import Job
from pullcurve.studies.draw import Drawn
from pullcurve.verbs import camdrawing, cams, making, racking
from pullcurve.verbs.cams import CamCase, Read
from pullcurve.verbs.making import Ladder, Made

FAILED = 1
"""Exit code of a check that found something wrong."""


def _record(case: CamCase) -> record.Record:
    """A cam on its lever."""
    pulled = case.pulled
    pull = record.pull_record(case.job, pulled.pull, pulled.mechanism, pulled.origins, pulled.cams)
    return {
        "cam": camrecord.metal_record(case.metal),
        "stress": camrecord.stress_record(case.stress, case.allowed),
        "check": camrecord.verdict_record(case.verdict),
        "pull": pull,
    }


def _kinds(case: CamCase) -> tuple[str, ...]:
    """Whose read-outs the cam's lever has."""
    both = (("brake", case.pull.brake), ("clutch", case.pull.clutch))
    return tuple(kind for kind, known in both if known is not None)


def _picture(out: Console | None, written: Path | None) -> None:
    if out is not None and written is not None:
        out.print(f"picture: {written}", markup=False, soft_wrap=True)


def shown(case: CamCase, as_json: bool, plot: Path | None) -> None:
    """One cam: numbers, check, pull of its lever."""
    written = camdrawing.draw_cam_sheet(plot, case, day=today()) if plot else None
    if as_json:
        as_data(_record(case))
        return
    out = console()
    camtables.head(out, case)
    camtables.numbers(out, case)
    camtables.verdict_line(out, case.verdict)
    tables.readouts(out, case.pulled, None, _kinds(case))
    tables.caution(out)
    _picture(out, written)


def checked(case: CamCase, as_json: bool) -> int:
    """What a check found; the exit code says whether the cam passes."""
    if as_json:
        as_data({"name": case.name, **camrecord.verdict_record(case.verdict)})
    else:
        out = console()
        camtables.head(out, case)
        camtables.verdict(out, case.verdict)
        tables.caution(out)
    return 0 if case.verdict.ok else FAILED


def read(job: Job, found: Read, as_json: bool, plot: Path | None) -> None:
    """A cam read from a file, against the fitted one."""
    case = found.case
    now = cams.cam_case(job, case.kind)
    written = camdrawing.draw_feel(plot, now, case, "read", day=today()) if plot else None
    if as_json:
        as_data(
            {
                "read": {
                    "source": found.found.source,
                    "shown": list(found.found.shown),
                    "turn": found.found.turn,
                    "mirrored": found.found.mirrored,
                    "residual": found.found.residual,
                    "doubtful": found.found.doubtful,
                    "theta": found.found.theta,
                    "rocker_angle_deviation": found.found.deviation,
                    "rocker_ratio_deviation": found.found.dpsi_deviation,
                    "roller_deviation": found.roller_deviation,
                    "force_deviation": found.force_deviation,
                    "nearest": None if found.nearest is None else record.cam_record(found.nearest),
                    "nearest_apart": found.apart,
                },
                **_record(case),
            }
        )
        return
    out = console()
    camtables.head(out, case)
    camtables.reading(out, found)
    camtables.verdict_line(out, case.verdict)
    tables.readouts(out, now.pulled, case.pulled, _kinds(case), "read")
    tables.caution(out)
    _picture(out, written)


@dataclass(frozen=True, slots=True)
class Places:
    """Where an answer goes besides the terminal: folder for the files, job with the cam in it, picture."""

    folder: Path | None
    job: Path | None
    plot: Path | None


def drawn(
    job: Job, answers: Sequence[Drawn], wishes: Mapping[str, float], places: Places, as_json: bool
) -> None:
    """A drawn cam, against the fitted one; further reaches are told after it."""
    cases = _cases(job, answers, wishes)
    answer, case = answers[0], cases[0]
    now = cams.cam_case(job, answer.kind)
    plot, into = places.plot, places.job
    written = (
        camdrawing.draw_feel(plot, now, case, "drawn", wanted=answer.wanted, day=today()) if plot else None
    )
    racked = racking.write_fitted(case, into, answer.reach) if into else None
    files = _files(cases, places.folder, as_json)
    if as_json:
        told = {"drawn": camrecord.drawn_record(answer), **_record(case), "files": _paths(files)}
        told["job_written"] = None if racked is None else {"job": str(into), "fitted": racked.cam.id}
        as_data({**told, "reaches": [_rung(*both) for both in zip(answers, cases, strict=True)]})
        return
    out = console()
    camtables.head(out, case)
    camtables.outcome(out, answer)
    camtables.verdict_line(out, case.verdict)
    tables.readouts(out, now.pulled, case.pulled, _kinds(case), "drawn")
    camtables.reaches(out, answers, cases)
    camtables.made(out, files)
    tables.caution(out)
    _picture(out, written)
    if racked is not None:
        out.print(f"job: {into}, with {racked.cam.id} fitted", markup=False, soft_wrap=True)


def _cases(job: Job, answers: Sequence[Drawn], wishes: Mapping[str, float]) -> tuple[CamCase, ...]:
    """Cams of one law, one a reach, named by it where there are several."""
    several = len(answers) > 1
    return tuple(
        cams.drawn_case(job, one, making.drawn_name(one.kind, wishes, one.reach if several else None))
        for one in answers
    )


def _rung(answer: Drawn, case: CamCase) -> record.Record:
    """One drawn cam with its plate and its check."""
    return {
        "reach": answer.reach,
        "drawn": camrecord.drawn_record(answer),
        "cam": camrecord.metal_record(case.metal),
        "check": camrecord.verdict_record(case.verdict),
    }


def laddered(job: Job, ladder: Ladder, out_folder: Path | None, as_json: bool) -> None:
    """A ladder of drawn cams."""
    rows = [
        (value, rung, case)
        for value, rungs in zip(ladder.values, ladder.rungs, strict=True)
        for rung, case in zip(rungs, _cases(job, rungs, {ladder.key: value}), strict=True)
    ]
    files = _files([case for _, _, case in rows], out_folder, as_json)
    if as_json:
        listed = [{ladder.key: value, **_rung(rung, case)} for value, rung, case in rows]
        as_data({"varies": ladder.key, "rungs": listed, "files": _paths(files)})
        return
    out = console()
    camtables.rungs(out, ladder.key, rows)
    camtables.made(out, files)
    tables.caution(out)


def tolerated(job: Job, kind: str, as_json: bool) -> None:
    """What errors and wear do, and the tolerance that a finger justifies."""
    with busy(as_json, "pulling with errors"):
        known = cams.allow(job, kind)
    if as_json:
        as_data(
            {
                "cam": known.name,
                "justified": camrecord.justified_record(known.justified),
                "making": camrecord.effects_record(known.effects),
                "wear": camrecord.effects_record(known.worn),
                "scatter": camrecord.scatter_record(known.scatter),
                "ranking": camrecord.ranking_record(known.ranked),
            }
        )
        return
    out = console()
    camtables.head(out, cams.cam_case(job, kind))
    camtables.allowed(out, known)
    tables.caution(out)


def exported(job: Job, folder: Path, as_json: bool) -> None:
    """Files of every fitted cam."""
    with busy(as_json, "making the files"):
        made = making.export_cams(job, folder, day=today())
    if as_json:
        as_data({"files": _paths(made)})
        return
    out = console()
    camtables.made(out, made)
    tables.caution(out)


def _files(cases: Sequence[CamCase], folder: Path | None, quiet: bool) -> tuple[Made, ...]:
    """Files of some cams, if a folder is given."""
    if folder is None:
        return ()
    with busy(quiet, "making the files"):
        return tuple(making.export_cam(case, folder, day=today()) for case in cases)


def _paths(made: Sequence[Made]) -> dict[str, list[str]]:
    return {one.case.name: [str(path) for path in one.files] for one in made}
