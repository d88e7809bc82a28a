"""The steps command: strip and build for a task, line by line."""

from pathlib import Path

import click

from pullcurve.cli.commands import AS_JSON, JOB, Examples


@click.command(cls=Examples, epilog="pullcurve steps job.toml --task brake-cam")
@JOB
@click.option(
    "--task",
    default="",
    metavar="TASK",
    help="brake-cam, clutch-cam, assist-cam, reach, foot-plunger or grease; as far as the unit has it.",
)
@AS_JSON
def steps(job: Path, task: str, as_json: bool) -> None:
    """Say how to strip and build the unit for a task: shortest safe order, traps, torques, what to tick."""
    from pullcurve.cli import stepsshow
    from pullcurve.verbs import jobs, stripping

    known = jobs.open_job(job)
    stepsshow.told(known, stripping.steps_for(known, task), as_json)
