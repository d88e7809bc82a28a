"""The commands. Heavy imports stand inside them, so that help and completion answer at once."""

import sys
from pathlib import Path
from typing import Any

import click

from pullcurve import __version__
from pullcurve.cli.catching import run


def picture_path(_: click.Context, __: click.Parameter, path: Path | None) -> Path | None:
    """Refuse a picture's ending before anything is computed."""
    if path is not None:
        from pullcurve.verbs import drawing

        drawing.picture_path(path)
    return path


JOB = click.argument("job", type=click.Path(path_type=Path), metavar="JOB.toml")
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON and nothing else.")
PLOT = click.option(
    "--plot",
    type=click.Path(path_type=Path),
    callback=picture_path,
    metavar="FILE",
    help="Write the picture: FILE.svg, FILE.png or FILE.pdf.",
)
SHELLS = ("bash", "zsh", "fish")


class Examples(click.Command):
    """A command whose help ends with an example as it is typed."""

    example = ""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The example, as it stands."""
        if self.epilog:
            with formatter.section("Example"):
                formatter.write_text(self.epilog)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, "--version", message="pullcurve %(version)s")
def group() -> None:
    """The right cams for a hand, a motorcycle and its hydraulics.

    Describe one job in a file (`pullcurve init DIR` writes one to start from), see the pull of every lever, find
    the best sets of the rack, see what each single swap would change. Computed guidance: it certifies nothing.
    """


@group.command(cls=Examples, epilog="pullcurve demo")
@click.option("--job", "name", metavar="NAME", help="Another demo job; `--list` names them.")
@click.option("--list", "names", is_flag=True, help="Name the demo jobs and stop.")
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    default=Path("pullcurve-demo"),
    show_default=True,
    help="Folder for the pictures.",
)
@AS_JSON
def demo(name: str | None, names: bool, out: Path, as_json: bool) -> None:
    """Run the whole job on a workshop invented for the purpose: pull, find, swap, pictures."""
    from pullcurve.cli import showing
    from pullcurve.verbs import jobs

    if names:
        click.echo("\n".join(jobs.demo_names()))
        return
    showing.demo(jobs.demo_job(name or jobs.MAIN_DEMO), out, as_json)


@group.command(cls=Examples, epilog="pullcurve init my-first-job")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@AS_JSON
def init(folder: Path, as_json: bool) -> None:
    """Write a commented job to start from into DIR."""
    from pullcurve.cli import showing
    from pullcurve.verbs import jobs

    showing.started(jobs.start(folder), as_json)


@group.command(cls=Examples, epilog="pullcurve pull job.toml --with brake-in2-tu0.3-st7.5 --plot pull.svg")
@JOB
@click.option(
    "--with",
    "wanted",
    multiple=True,
    metavar="CAM",
    help="A cam of the rack, by its id, to compare with what is fitted; may be given for each kind.",
)
@click.option(
    "--foot",
    type=float,
    default=0.0,
    metavar="N",
    help="Force that a foot already gives the pedal, in newton.",
)
@click.option("--stations", type=int, default=128, show_default=True, help="Stations along the pull.")
@AS_JSON
@PLOT
def pull(
    job: Path, wanted: tuple[str, ...], foot: float, stations: int, as_json: bool, plot: Path | None
) -> None:
    """Show the pull that every lever gives: force over travel, both ways, with bite, lock-up, free and clean."""
    from pullcurve.cli import showing
    from pullcurve.verbs import asking, jobs

    known = jobs.open_job(job)
    now = asking.pull_levers(known, stations=stations, foot_newton=foot)
    then = None
    if wanted:
        cams = asking.cams_named(known, wanted)
        then = asking.pull_levers(known, asking.with_cams(known, cams), stations=stations, foot_newton=foot)
    showing.pulled(now, then, as_json, plot)


@group.command(cls=Examples, epilog="pullcurve find job.toml --plot best.png")
@JOB
@click.option(
    "--most", type=click.IntRange(1, 50), default=5, show_default=True, help="Answers to show per lever."
)
@AS_JSON
@PLOT
def find(job: Path, most: int, as_json: bool, plot: Path | None) -> None:
    """Find the best sets of the rack for this rider's wishes, with reasons and with what each wish costs."""
    from pullcurve.cli import showing
    from pullcurve.verbs import asking, jobs

    known = jobs.open_job(job)
    with showing.progress(as_json) as told:
        found = asking.find_sets(known, most=most, told=told)
    showing.found(known, found, as_json, plot)


@group.command(cls=Examples, epilog='pullcurve swap job.toml "clutch too heavy"')
@JOB
@click.argument("complaint", required=False)
@click.option("--most", type=click.IntRange(1, 200), default=5, show_default=True, help="Swaps to show.")
@AS_JSON
@PLOT
def swap(job: Path, complaint: str | None, most: int, as_json: bool, plot: Path | None) -> None:
    """Show what exchanging exactly one cam would change; with a COMPLAINT, ranked for it, after what to check first."""
    from pullcurve.cli import showing
    from pullcurve.verbs import asking, jobs

    known = jobs.open_job(job)
    with showing.progress(as_json) as told:
        answer = asking.swap_cam(known, complaint, told=told)
    showing.swapped(known, answer, most, as_json, plot)


@group.command(cls=Examples, epilog='eval "$(pullcurve completion bash)"')
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> None:
    """Print the lines that teach a shell to complete pullcurve's commands."""
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(group, {}, "pullcurve", "_PULLCURVE_COMPLETE").source())


def main(arguments: list[str] | None = None) -> Any:
    """Entry point: run, and leave with the right exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows ? instead of failing
    sys.exit(run(lambda: group.main(args=arguments, prog_name="pullcurve", standalone_mode=False)))
