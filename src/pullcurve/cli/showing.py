"""Answers on a terminal: tables like those of a drawing, plain words before numbers."""

import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from pullcurve.cli import tables
from pullcurve.papers import answers, record
from pullcurve.parts.job import Job
from pullcurve.studies.find import Found
from pullcurve.studies.swap import Swaps
from pullcurve.verbs import asking, drawing, jobs
from pullcurve.verbs.asking import Pulled

Told = Callable[[int, int], None]


def console() -> Console:
    """A console on standard output that honours NO_COLOR and pipes."""
    return Console(highlight=False, soft_wrap=False, width=None if os.isatty(1) else 110)


@contextmanager
def progress(silent: bool, doing: str = "searching the rack", parts: str = "groups") -> Iterator[Told]:
    """A bar on standard error, shown only on a terminal and gone when done."""
    bar = Progress(
        TextColumn(doing),
        BarColumn(),
        TextColumn("{task.completed} of {task.total} " + parts),
        console=Console(stderr=True),
        transient=True,
        disable=silent or not os.isatty(2),
    )
    with bar:
        task = bar.add_task(doing, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


@contextmanager
def busy(silent: bool, doing: str) -> Iterator[None]:
    """A sign of life on standard error for work whose length is not known, gone when done."""
    columns = (SpinnerColumn(), TextColumn(doing), TimeElapsedColumn())
    shown = Progress(
        *columns, console=Console(stderr=True), transient=True, disable=silent or not os.isatty(2)
    )
    with shown:
        shown.add_task(doing, total=None)
        yield


def as_data(data: record.Record) -> None:
    """Print an answer as JSON and nothing else."""
    click.echo(json.dumps(record.plain(data), ensure_ascii=False, indent=1, allow_nan=False))


def today() -> str:
    """The day, for the foot of a sheet."""
    return date.today().isoformat()


def _picture(plot: Path | None, now: Pulled, then: Pulled | None, quiet: bool) -> None:
    if plot is None:
        return
    written = drawing.draw_pull(plot, now, then, day=today())
    if not quiet:
        console().print(f"picture: {written}", markup=False)


def started(path: Path, as_json: bool) -> None:
    """Where the new job lies."""
    if as_json:
        as_data({"job": str(path)})
    else:
        click.echo(f"{path}\nEdit it, then: pullcurve pull {path}")


def pulled(now: Pulled, then: Pulled | None, as_json: bool, plot: Path | None) -> None:
    """One pull, or two side by side."""
    if as_json:
        answer = record.pull_record(now.job, now.pull, now.mechanism, now.origins, now.cams)
        if then is not None:
            answer["proposed"] = record.pull_record(
                then.job, then.pull, then.mechanism, then.origins, then.cams
            )
        as_data(answer)
        _picture(plot, now, then, quiet=True)
        return
    out = console()
    tables.head(out, now)
    out.print(drawing.terminal_figure(now, then, min(out.width, 100)), markup=False)
    tables.readouts(out, now, then)
    tables.shut_port(out, now)
    tables.origins(out, now)
    tables.caution(out)
    _picture(plot, now, then, quiet=False)


def found(job: Job, answer: Found, as_json: bool, plot: Path | None) -> None:
    """Best sets, with words."""
    now = asking.pull_levers(job)
    then = asking.pull_levers(job, asking.with_cams(job, answer.best)) if plot else None
    if as_json:
        as_data(answers.find_record(job, answer))
        _picture(plot, now, then, quiet=True)
        return
    out = console()
    tables.head(out, now)
    tables.found(out, answer)
    tables.origins(out, now)
    tables.caution(out)
    _picture(plot, now, then, quiet=False)


def swapped(job: Job, answer: Swaps, most: int, as_json: bool, plot: Path | None) -> None:
    """Single swaps."""
    now = asking.pull_levers(job)
    ranked = answer.helping or answer.others
    best = ranked[0] if ranked else None
    then = asking.pull_levers(job, asking.with_cams(job, {best.kind: best.on})) if plot and best else None
    if as_json:
        as_data(answers.swaps_record(job, answer))
        _picture(plot, now, then, quiet=True)
        return
    out = console()
    tables.head(out, now)
    tables.swaps(out, answer, most)
    tables.caution(out)
    _picture(plot, now, then, quiet=False)


def demo(job: Job, folder: Path, as_json: bool) -> None:
    """The main job on a demo job, with its pictures."""
    jobs.make_folder(folder)
    answer = asking.find_sets(job, most=3)
    now = asking.pull_levers(job)
    then = asking.pull_levers(job, asking.with_cams(job, answer.best))
    pictures = [
        drawing.draw_pull(folder / "fitted.png", now, day=today()),
        drawing.draw_pull(folder / "fitted-and-proposed.png", now, then, day=today()),
        drawing.draw_pull(folder / "fitted-and-proposed.svg", now, then, day=today()),
    ]
    if as_json:
        as_data({**answers.find_record(job, answer), "pictures": [str(path) for path in pictures]})
        return
    out = console()
    tables.head(out, now)
    out.print(drawing.terminal_figure(now, then, min(out.width, 100)), markup=False)
    tables.readouts(out, now, then)
    tables.found(out, answer)
    tables.origins(out, now)
    tables.caution(out)
    out.print("pictures: " + ", ".join(str(path) for path in pictures), markup=False)
