"""Answers about measured pulls on a terminal, or as JSON."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn

from pullcurve.cli import benchtables, tables
from pullcurve.cli.showing import as_data, console, today
from pullcurve.intake.gauge import Sample
from pullcurve.papers import measurerecord
from pullcurve.papers.record import Record
from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import BenchPull
from pullcurve.units import from_si
from pullcurve.verbs import benchdrawing, jobs, measuring
from pullcurve.verbs.measuring import Comparison, Diagnosed, Fitted, Measured


def _head(known: Measured) -> Record:
    return {"lever": known.lever, **measurerecord.measured_record(known.pull, known.branches)}


def _written(out: Console, words: str, path: Path | None) -> None:
    if path is not None:
        out.print(f"{words}: {path}", markup=False, soft_wrap=True)


def read(pull: BenchPull, target: Path | None, as_json: bool) -> None:
    """A pull as it was read."""
    known = branches(pull)
    written = measuring.write_bench(target, pull) if target else None
    if as_json:
        as_data(
            {**measurerecord.measured_record(pull, known), "file": None if written is None else str(written)}
        )
        return
    out = console()
    benchtables.head(out, pull)
    benchtables.read_off(out, known)
    _written(out, "written", written)


def fitted(
    answer: Fitted, target: Path | None, as_json: bool, plot: Path | None, intervals: Path | None
) -> None:
    """What a fit says; the job with it, if that is wished."""
    drawn = benchdrawing.draw_fit(plot, answer, day=today()) if plot else None
    spans = benchdrawing.draw_intervals(intervals, answer, day=today()) if intervals else None
    if target is not None:
        from datetime import date

        jobs.write_job(measuring.adopt(answer, date.today()), target)
    if as_json:
        told = measurerecord.fit_record(answer.fit, answer.mixed)
        as_data(
            {**_head(answer.measured), "fit": told, "job_written": None if target is None else str(target)}
        )
        return
    out = console()
    benchtables.head(out, answer.measured.pull, answer.measured)
    benchtables.fit(out, answer)
    tables.caution(out)
    _written(out, "job", target)
    _written(out, "picture", drawn)
    _written(out, "picture of the intervals", spans)


def diagnosed(answer: Diagnosed, as_json: bool, plot: Path | None) -> None:
    """What is wrong, if anything."""
    drawn = benchdrawing.draw_diagnosis(plot, answer, day=today()) if plot else None
    if as_json:
        as_data({**_head(answer.measured), "diagnosis": measurerecord.diagnosis_record(answer.diagnosis)})
        return
    out = console()
    benchtables.head(out, answer.measured.pull, answer.measured)
    benchtables.diagnosis(out, answer.diagnosis)
    tables.caution(out)
    _written(out, "picture", drawn)


def compared(answer: Comparison, as_json: bool, plot: Path | None) -> None:
    """Two pulls in felt steps."""
    drawn = benchdrawing.draw_comparison(plot, answer) if plot else None
    if as_json:
        as_data(measurerecord.compared_record(answer.compared, answer.labels))
        return
    out = console()
    benchtables.compared(out, answer)
    _written(out, "picture", drawn)


def taken(pull: BenchPull, target: Path, as_json: bool) -> None:
    """A pull taken live."""
    written = measuring.write_bench(target, pull)
    if as_json:
        as_data({**measurerecord.measured_record(pull, branches(pull)), "file": str(written)})
        return
    out = console()
    benchtables.head(out, pull)
    benchtables.read_off(out, branches(pull))
    _written(out, "written", written)


@contextmanager
def counting(silent: bool) -> Iterator[Callable[[Sample], None]]:
    """The last reading on standard error, shown only on a terminal and gone when done."""
    bar = Progress(
        SpinnerColumn(),
        TextColumn("taking the pull: {task.fields[reading]}"),
        console=Console(stderr=True),
        transient=True,
        disable=silent or not os.isatty(2),
    )

    def told(sample: Sample) -> None:
        place = f"{from_si('place_mm', sample.place):.1f} mm"
        bar.update(task, reading=f"{sample.time:.1f} s, {sample.force:.0f} N, {place}")

    with bar:
        task = bar.add_task("", total=None, reading="waiting")
        yield told
