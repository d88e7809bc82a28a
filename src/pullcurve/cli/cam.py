"""The cam commands: show, check, read, draw, ladder, tolerance, export."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pullcurve.cli.commands import AS_JSON, JOB, PLOT, Examples

if TYPE_CHECKING:
    from pullcurve.verbs.cams import CamCase

FILE = click.Path(path_type=Path)
KIND = click.option(
    "--kind", type=click.Choice(("brake", "clutch", "assist")), required=True, help="What the cam drives."
)
CAM = click.option(
    "--cam",
    "ids",
    multiple=True,
    metavar="CAM",
    help="A cam of the rack by its id, in place of the fitted one; may be given for each kind.",
)
SOURCE = click.option(
    "--from",
    "source",
    type=FILE,
    metavar="FILE",
    help="A cam read from FILE (points, law table, DXF, picture), in place of the fitted one.",
)
DPI = click.option("--dpi", type=float, metavar="DPI", help="Resolution of a picture, dots per inch.")
SCALE = click.option("--scale-mm", type=float, metavar="MM", help="Length of the scale in a picture.")
LAYER = click.option("--layer", metavar="NAME", help="Layer of a DXF that holds the outline.")
WISH = click.option(
    "--wish",
    "wishes",
    multiple=True,
    metavar="KEY=VALUE",
    help="A wish, such as force_lock_newton=58; may be repeated.",
)
REACHES = click.option(
    "--reach",
    "reaches",
    multiple=True,
    type=float,
    metavar="DEG",
    help="Where the lever is to rest, degrees further in; repeated: one law, a cam for each, felt at the first.",
)
INTO = click.option(
    "--into",
    type=FILE,
    metavar="OUT.toml",
    help="Write the job with this cam on its rack and fitted.",
)
OUT = click.option("-o", "--out", type=FILE, metavar="DIR", help="Folder for the files to cut and to try.")


def _pairs(wishes: tuple[str, ...]) -> dict[str, float]:
    """Wishes as typed, by key."""
    from pullcurve.errors import BadInput, Fault

    found: dict[str, float] = {}
    for wish in wishes:
        key, mark, text = (part.strip() for part in wish.partition("="))
        try:
            value = float(text)
        except ValueError:
            said = "is no number" if mark else "lacks its value"
            raise BadInput(
                Fault("wish", wish, f"{said}; allowed is KEY=VALUE, such as force_lock_newton=58")
            ) from None
        if key in found:
            raise BadInput(Fault("wish", key, "is given twice; allowed is once"))
        found[key] = value
    return found


def _case(
    job: Path, kind: str, ids: tuple[str, ...], source: Path | None, reading: dict[str, Any]
) -> "CamCase":
    """The cam that the options name, on the job's lever."""
    from pullcurve.errors import BadInput, Fault
    from pullcurve.verbs import cams, jobs

    if ids and source:
        raise BadInput(Fault("cam", "--cam and --from", "are both given; allowed is one of them"))
    if source is None and any(value is not None for value in reading.values()):
        raise BadInput(Fault("cam", "--dpi, --scale-mm, --layer", "say how to read a file; give --from too"))
    known = cams.cams_for(jobs.open_job(job), kind, ids)
    return (
        cams.cam_case(known, kind) if source is None else cams.read_cam(known, kind, source, **reading).case
    )


@click.group()
def cam() -> None:
    """Cams: show, check, read, draw and make them."""


@cam.command(cls=Examples, epilog="pullcurve cam show job.toml --kind brake --plot cam.svg")
@JOB
@KIND
@CAM
@SOURCE
@DPI
@SCALE
@LAYER
@AS_JSON
@PLOT
def show(
    job: Path,
    kind: str,
    ids: tuple[str, ...],
    source: Path | None,
    as_json: bool,
    plot: Path | None,
    **reading: Any,
) -> None:
    """Show one cam: its numbers, its flank, its roller at several angles, its curvature and stress."""
    from pullcurve.cli import camshow

    camshow.shown(_case(job, kind, ids, source, reading), as_json, plot)


@cam.command(cls=Examples, epilog="pullcurve cam check job.toml --kind assist")
@JOB
@KIND
@CAM
@SOURCE
@DPI
@SCALE
@LAYER
@AS_JSON
def check(
    job: Path, kind: str, ids: tuple[str, ...], source: Path | None, as_json: bool, **reading: Any
) -> int:
    """Check one cam: can it be cut, does its roller follow, does it bear the load; with the place on the flank.

    Exit code 1 when it fails.
    """
    from pullcurve.cli import camshow

    return camshow.checked(_case(job, kind, ids, source, reading), as_json)


@cam.command(cls=Examples, epilog="pullcurve cam read scan.png --job job.toml --kind brake --dpi 1200")
@click.argument("file", type=FILE, metavar="FILE")
@click.option(
    "--job", "job", type=FILE, required=True, metavar="JOB.toml", help="The job whose lever carries the cam."
)
@KIND
@DPI
@SCALE
@LAYER
@AS_JSON
@PLOT
def read(file: Path, job: Path, kind: str, as_json: bool, plot: Path | None, **reading: Any) -> None:
    """Read a cam from FILE: points or a law (CSV), a DXF, a picture; say how well, which it is, how it would pull."""
    from pullcurve.cli import camshow, showing
    from pullcurve.verbs import cams, jobs

    known = jobs.open_job(job)
    with showing.busy(as_json, "reading the cam"):
        found = cams.read_cam(known, kind, file, **reading)
    camshow.read(known, found, as_json, plot)


@cam.command(
    cls=Examples, epilog="pullcurve cam draw job.toml --kind brake --wish force_lock_newton=58 -o cut"
)
@JOB
@KIND
@WISH
@click.option(
    "--points", type=FILE, metavar="FILE", help="CSV with the wanted force (N) over finger travel (mm)."
)
@click.option("--keep-end", is_flag=True, help="End at the same stroke as the fitted cam.")
@REACHES
@OUT
@INTO
@AS_JSON
@PLOT
def draw(
    job: Path,
    kind: str,
    wishes: tuple[str, ...],
    points: Path | None,
    keep_end: bool,
    reaches: tuple[float, ...],
    out: Path | None,
    into: Path | None,
    as_json: bool,
    plot: Path | None,
) -> None:
    """Draw a new cam for a wanted feel, within every limit; say what stands in the way where it cannot be met."""
    from pullcurve.cli import camshow, showing
    from pullcurve.verbs import jobs, making

    known, wanted_values = jobs.open_job(job), _pairs(wishes)
    wanted = making.wanted_feel(known, kind, wanted_values, points, keep_end=keep_end)
    with showing.busy(as_json, "drawing the cam"):
        drawn = making.draw_cam(known, kind, wanted, reaches)
    camshow.drawn(known, drawn, wanted_values, camshow.Places(out, into, plot), as_json)


@cam.command(
    cls=Examples, epilog="pullcurve cam ladder job.toml --kind brake --vary force_lock_newton 45 75 --count 6"
)
@JOB
@KIND
@click.option(
    "--vary",
    nargs=3,
    type=(str, float, float),
    required=True,
    metavar="KEY FIRST LAST",
    help="The wish that changes, and its two ends.",
)
@click.option("--count", type=int, default=6, show_default=True, help="Cams of the ladder.")
@WISH
@click.option(
    "--keep-end/--free-end",
    default=None,
    help="Whether all end at the stroke of the fitted cam; brake cams do unless told otherwise.",
)
@REACHES
@OUT
@AS_JSON
def ladder(
    job: Path,
    kind: str,
    vary: tuple[str, float, float],
    count: int,
    wishes: tuple[str, ...],
    keep_end: bool | None,
    reaches: tuple[float, ...],
    out: Path | None,
    as_json: bool,
) -> None:
    """Draw a ladder: cams in equal felt steps between two ends of one wish."""
    from pullcurve.cli import camshow, showing
    from pullcurve.verbs import jobs, making

    known = jobs.open_job(job)
    key, first, last = vary
    with showing.progress(as_json, "drawing", "cams") as told:
        found = making.draw_ladder(
            known,
            kind,
            key,
            (first, last),
            count,
            _pairs(wishes),
            told,
            reaches_deg=reaches,
            keep_end=keep_end,
        )
    camshow.laddered(known, found, out, as_json)


@cam.command(cls=Examples, epilog="pullcurve cam tolerance job.toml --kind clutch")
@JOB
@KIND
@CAM
@AS_JSON
def tolerance(job: Path, kind: str, ids: tuple[str, ...], as_json: bool) -> None:
    """Tell what errors of making and wear do to each read-out, and which tolerance the finger justifies."""
    from pullcurve.cli import camshow
    from pullcurve.verbs import cams, jobs

    camshow.tolerated(cams.cams_for(jobs.open_job(job), kind, ids), kind, as_json)


@cam.command(cls=Examples, epilog="pullcurve cam export job.toml -o cut")
@JOB
@click.option("-o", "--out", type=FILE, required=True, metavar="DIR", help="Folder for the files.")
@AS_JSON
def export(job: Path, out: Path, as_json: bool) -> None:
    """Write every fitted cam: DXF, SVG at full size, inspection tables, drawing, trial cams for the bench only."""
    from pullcurve.cli import camshow
    from pullcurve.verbs import jobs

    camshow.exported(jobs.open_job(job), out, as_json)
