"""The bench commands: read, fit, diagnose, compare, live."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from pullcurve.cli.commands import AS_JSON, PLOT, Examples, picture_path

if TYPE_CHECKING:
    from pullcurve.studies.benchpull import BenchPull, LeverKind
    from pullcurve.verbs.measuring import Measured

FILE = click.Path(path_type=Path)
F = TypeVar("F", bound=Callable[..., Any])

JOB = click.option(
    "--job", "job", type=FILE, metavar="JOB.toml", help="The job; without it the one that the file names."
)
LEVER = click.option(
    "--lever",
    type=click.Choice(("brake", "clutch")),
    help="What the lever works, where the file does not say.",
)
READING = (
    click.option(
        "--column",
        "columns",
        multiple=True,
        metavar="WHAT=COLUMN",
        help="Column of force, travel, angle, time or pressure, by name or number; remembered.",
    ),
    click.option(
        "--unit",
        "units",
        multiple=True,
        metavar="WHAT=UNIT",
        help="Unit of a column, such as force=kgf or travel=in; remembered.",
    ),
    click.option(
        "--drop-first", is_flag=True, help="Leave the first pull out: seals and cables settle on it."
    ),
)


def reading(command: F) -> F:
    """Options that say how to read a logger's table."""
    for option in reversed(READING):
        command = option(command)
    return command


def _memory() -> Path:
    """Folder of a person's own settings."""
    return Path(click.get_app_dir("pullcurve"))


def said_pairs(pairs: tuple[str, ...], option: str) -> dict[str, str]:
    """What was said of columns or units, by quantity."""
    from pullcurve.errors import BadInput, Fault

    found: dict[str, str] = {}
    for pair in pairs:
        key, mark, word = (part.strip() for part in pair.partition("="))
        if not (mark and key and word):
            raise BadInput(
                Fault("bench", f"{option} {pair}", f"is none; allowed is WHAT={option[2:].upper()}")
            )
        found[key.lower()] = word
    return found


def _pull(file: Path, columns: tuple[str, ...], units: tuple[str, ...], drop_first: bool) -> "BenchPull":
    """The pull that the options name."""
    from pullcurve.verbs import measuring

    return measuring.read_pull(
        file,
        columns=said_pairs(columns, "--column"),
        units=said_pairs(units, "--unit"),
        drop_first=drop_first,
        memory=_memory(),
    )


def _measured(file: Path, job: Path | None, lever: str | None, **told: Any) -> "Measured":
    """The pull on its job."""
    from pullcurve.verbs import jobs, measuring

    known = None if job is None else jobs.open_job(job)
    return measuring.on_job(_pull(file, **told), known, cast("LeverKind | None", lever), file.parent)


@click.group()
def bench() -> None:
    """The bench pull: measure, fit, and say whether it is the cam at all."""


@bench.command(cls=Examples, epilog="pullcurve bench read pull.csv --unit force=kgf")
@click.argument("file", type=FILE, metavar="FILE")
@reading
@click.option("-o", "--out", type=FILE, metavar="FILE", help="Write the sorted pull in our own layout.")
@AS_JSON
def read(file: Path, out: Path | None, as_json: bool, **told: Any) -> None:
    """Read a pull from any logger's table, sort it into pulls and releases, say what was odd about it."""
    from pullcurve.cli import benchshow

    benchshow.read(_pull(file, **told), out, as_json)


@bench.command(cls=Examples, epilog="pullcurve bench fit pull.csv --job job.toml --adopt measured.toml")
@click.argument("file", type=FILE, metavar="FILE")
@JOB
@LEVER
@reading
@click.option(
    "--adopt",
    "target",
    type=FILE,
    metavar="OUT.toml",
    help="Write the job with what the pull told, as measured.",
)
@click.option(
    "--intervals",
    type=FILE,
    callback=picture_path,
    metavar="FILE",
    help="Write a second picture: each number with its interval, before and after.",
)
@AS_JSON
@PLOT
def fit(
    file: Path,
    job: Path | None,
    lever: str | None,
    target: Path | None,
    intervals: Path | None,
    as_json: bool,
    plot: Path | None,
    **told: Any,
) -> None:
    """Fit the job's numbers to a pull: gap, air, hose, friction, springs, plates; how sure, and what stays open."""
    from pullcurve.cli import benchshow, showing
    from pullcurve.verbs import measuring

    measured = _measured(file, job, lever, **told)
    with showing.busy(as_json, "fitting the pull"):
        answer = measuring.fit_pull(measured)
    benchshow.fitted(answer, target, as_json, plot, intervals)


@bench.command(cls=Examples, epilog="pullcurve bench diagnose pull.csv --job job.toml")
@click.argument("file", type=FILE, metavar="FILE")
@JOB
@LEVER
@reading
@AS_JSON
@PLOT
def diagnose(
    file: Path, job: Path | None, lever: str | None, as_json: bool, plot: Path | None, **told: Any
) -> None:
    """Say what is wrong, if anything: what to check first, and then whether another cam would be felt."""
    from pullcurve.cli import benchshow, showing
    from pullcurve.verbs import measuring

    measured = _measured(file, job, lever, **told)
    with showing.busy(as_json, "weighing the causes"):
        answer = measuring.diagnose_pull(measured)
    benchshow.diagnosed(answer, as_json, plot)


@bench.command(cls=Examples, epilog="pullcurve bench compare before.csv after.csv")
@click.argument("before", type=FILE, metavar="FILE")
@click.argument("after", type=FILE, metavar="[OTHER]", required=False)
@JOB
@LEVER
@reading
@AS_JSON
@PLOT
def compare(
    before: Path,
    after: Path | None,
    job: Path | None,
    lever: str | None,
    as_json: bool,
    plot: Path | None,
    **told: Any,
) -> None:
    """Compare two pulls in felt steps, FILE before and OTHER after; one FILE alone against what its job predicts."""
    from pullcurve.cli import benchshow
    from pullcurve.verbs import measuring

    if after is None:
        answer = measuring.against_predicted(_measured(before, job, lever, **told))
    else:
        answer = measuring.compare_pulls(_pull(before, **told), _pull(after, **told))
    benchshow.compared(answer, as_json, plot)


@bench.command(cls=Examples, epilog="pullcurve bench live simulated --lever clutch -o pull.csv")
@click.argument("gauge", metavar="PORT")
@JOB
@LEVER
@click.option("--baud", type=int, metavar="N", help="Speed of the port.")
@click.option(
    "--seconds", type=float, metavar="S", help="How long to take readings; without it, to the end or Ctrl+C."
)
@click.option("-o", "--out", type=FILE, required=True, metavar="FILE", help="File for the pull.")
@AS_JSON
def live(
    gauge: str,
    job: Path | None,
    lever: str | None,
    baud: int | None,
    seconds: float | None,
    out: Path,
    as_json: bool,
) -> None:
    """Take a pull from a gauge on a serial PORT; `simulated` plays the pull of the job."""
    from pullcurve.cli import benchshow
    from pullcurve.verbs import jobs, measuring

    known = None if job is None else jobs.open_job(job)
    source = measuring.gauge_of(gauge, baud=baud, job=known, lever=cast("LeverKind | None", lever))
    with benchshow.counting(as_json) as told:
        pull = measuring.capture_pull(source, seconds, told=told)
    benchshow.taken(pull, out, as_json)
