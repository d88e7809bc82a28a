"""Strip and build on a terminal: numbered lines with their traps, boxes to tick."""

from collections.abc import Iterable
from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pullcurve.cli import tables
from pullcurve.cli.showing import as_data, console
from pullcurve.papers.stepsrecord import steps_record
from pullcurve.parts.job import Job
from pullcurve.studies.steps import TRAPS, Step, Steps
from pullcurve.studies.tightening import Torque, torque_note
from pullcurve.units import from_si

BOX = "[ ] "
NUMBER = 4
"""Columns of a line's number with its full stop."""


def started(path: Path, as_json: bool) -> None:
    """A hardware file to go on from was written."""
    if as_json:
        as_data({"hardware": str(path)})
        return
    console().print(f"hardware to go on from: {path}", markup=False, highlight=False)


def told(job: Job, steps: Steps, as_json: bool) -> None:
    """A whole sequence."""
    if as_json:
        as_data({"title": job.title, **steps_record(steps)})
        return
    out = console()
    _head(out, job, steps)
    _lines(out, "Before you start", steps.prepare)
    _lines(out, f"Strip: {len(steps.strip)} things come off, no more than the task needs", steps.strip)
    _lines(out, "On the bench", (steps.exchange,))
    _lines(out, "Build: the same way back, with what is ticked on it", steps.build)
    _lines(out, "Before riding", steps.closing)
    if any(step.torque for step in steps.build):
        out.print(torque_note(), markup=False)
    tables.caution(out)


def _head(out: Console, job: Job, steps: Steps) -> None:
    """What is done to which unit, what it needs, and what everybody must know before."""
    out.print(Text(f"{steps.name}: {job.title}", style="bold"))
    out.print(f"{steps.unit} · {steps.hardware}", markup=False)
    out.print(steps.note, markup=False)
    out.print()
    for words in steps.cautions:
        out.print(_under(Text(f"Caution: {words}", style="bold")))
    out.print()
    fewest = "the fewest possible" if steps.exact else "perhaps not the fewest"
    out.print(_under(Text(f"tools: {', '.join(steps.tools)}; picked up {steps.pick_ups} times, {fewest}")))
    for words in steps.consumables:
        out.print(_under(Text(f"consumable: {words}")))
    out.print()


def _lines(out: Console, heading: str, steps: Iterable[Step]) -> None:
    """A heading and its numbered lines, each with what goes on and what can go wrong beneath it."""
    out.print(Text(heading, style="bold"))
    grid = Table.grid(padding=(0, 1))
    grid.add_column(justify="right", width=NUMBER)
    grid.add_column()
    for step in steps:
        grid.add_row(f"{step.number}.", _words(step))
        for use in step.uses:
            grid.add_row("", _under(Text(use)))
        for caution in step.cautions:
            said = Text(f"{TRAPS[caution.trap]}: ", style="bold")
            grid.add_row("", _under(said.append(caution.words, style="not bold")))
    out.print(grid)
    out.print()


def _words(step: Step) -> Text:
    """What is done with which tool to which screws, or what is ticked."""
    tool = f"{step.tool}: " if step.tool else ""
    screws = f" ({step.screws}{_tight(step.torque)})" if step.screws else ""
    return Text(f"{BOX if step.ticked else ''}{tool}{step.words}{screws}")


def _tight(torque: Torque | None) -> str:
    if torque is None:
        return ""
    about, most = (from_si("torque_newton_m", value) for value in (torque.torque, torque.most))
    return f"; about {about:.1f} N m, never above {most:.1f}"


def _under(text: Text) -> Padding:
    return Padding(text, (0, 0, 0, 2), expand=False)
