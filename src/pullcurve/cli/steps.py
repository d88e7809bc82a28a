"""The steps command: strip and build for a task, line by line."""

from pathlib import Path

import click

from pullcurve.cli.commands import AS_JSON, JOB, Examples
from pullcurve.cli.stepsoption import HARDWARE


@click.command(cls=Examples, epilog="pullcurve steps job.toml --task brake-cam")
@JOB
@click.option(
    "--task",
    default="",
    metavar="TASK",
    help="brake-cam, clutch-cam, assist-cam, reach, foot-plunger or grease; as far as the unit has it.",
)
@HARDWARE
@click.option(
    "--template",
    type=click.Path(path_type=Path),
    metavar="FILE.toml",
    help="Write the hardware as a file to go on from, and stop.",
)
@AS_JSON
def steps(job: Path, task: str, hardware: Path | None, template: Path | None, as_json: bool) -> None:
    """Say how to strip and build the unit for a task: shortest safe order, traps, torques, what to tick.

    Without --hardware it has the invented hardware of the demo units: compare before you turn a screw.
    """
    from pullcurve.cli import stepsshow
    from pullcurve.verbs import jobs, stripping

    known = jobs.open_job(job)
    own = None if hardware is None else stripping.read_hardware(hardware)
    if template is not None:
        stepsshow.started(stripping.start_hardware(known, template, own), as_json)
        return
    stepsshow.told(known, stripping.steps_for(known, task, own), as_json)
