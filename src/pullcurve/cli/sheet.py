"""The sheet command: what is handed to the rider, and what lies on the bench."""

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from pullcurve.cli.commands import AS_JSON, JOB, Examples
from pullcurve.cli.stepsoption import HARDWARE

if TYPE_CHECKING:
    from pullcurve.studies.benchpull import LeverKind


def sheet_path(_: click.Context, __: click.Parameter, path: Path) -> Path:
    """Refuse a sheet's ending before anything is computed."""
    from pullcurve.verbs import sheets

    return sheets.sheet_path(path)[0]


@click.command(cls=Examples, epilog="pullcurve sheet job.toml --with brake-in0-tu0.3-st7.5 -o sheet.pdf")
@JOB
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    callback=sheet_path,
    metavar="FILE",
    help="The sheet: FILE.pdf or FILE.html.",
)
@click.option(
    "--with",
    "wanted",
    multiple=True,
    metavar="CAM",
    help="A cam of the rack, by its id, beside what is fitted; may be given for each kind.",
)
@click.option(
    "--pull",
    "measured",
    type=click.Path(path_type=Path),
    metavar="PULL.csv",
    help="A bench pull of what is fitted or proposed, to stand on the rider's sheet.",
)
@click.option(
    "--lever",
    type=click.Choice(("brake", "clutch")),
    help="What the bench pull is about, where its file does not say.",
)
@click.option(
    "--bench", "task", metavar="TASK", help="Write the sheet for the bench instead: strip and build for TASK."
)
@HARDWARE
@AS_JSON
def sheet(
    job: Path,
    out: Path,
    wanted: tuple[str, ...],
    measured: Path | None,
    lever: str | None,
    task: str | None,
    hardware: Path | None,
    as_json: bool,
) -> None:
    """Write the sheet for rider and file on one A4 page: set, pull, read-outs, checks, cautions, next check."""
    from datetime import date

    from pullcurve.cli import sheetshow
    from pullcurve.errors import BadInput, Fault
    from pullcurve.verbs import sheets

    if task is not None and measured is not None:
        said = "are both given; a bench pull stands on the rider's sheet only"
        raise BadInput(Fault("sheet", "--bench and --pull", said))
    known, name = sheets.open_for_sheet(job)
    own = None if hardware is None else sheets.own_hardware(hardware)
    if task is not None:
        made = sheets.bench_sheet(known, name, date.today(), task, wanted=wanted, own=own)
        sheetshow.written(made, sheets.write_sheet(out, made), as_json)
        return
    told = sheets.rider_sheet(known, name, date.today(), wanted=wanted, own=own)
    if measured is not None:
        memory = Path(click.get_app_dir("pullcurve"))
        told = sheets.with_pull(told, measured, cast("LeverKind | None", lever), memory)
    sheetshow.written(told, sheets.write_sheet(out, told), as_json)
