"""The book commands that write: add, visit, note, pull, photo, propose; and the options that all of them share."""

import getpass
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

from pullcurve.cli.bench import LEVER, reading, said_pairs
from pullcurve.cli.commands import AS_JSON, JOB, Examples

if TYPE_CHECKING:
    from pullcurve.studies.benchpull import LeverKind
    from pullcurve.verbs.booking import Entry

FILE = click.Path(path_type=Path)
F = TypeVar("F", bound=Callable[..., Any])

OWN = Path(click.get_app_dir("pullcurve"))
"""Folder of this user's own data."""


def day_of(_: click.Context, __: click.Parameter, typed: str | None) -> date:
    """A day as it is typed; today where none is."""
    from pullcurve.errors import BadInput, Fault

    if typed is None:
        return date.today()
    try:
        return datetime.strptime(typed, "%Y-%m-%d").date()
    except ValueError:
        raise BadInput(Fault("book", "date", f'is "{typed}"; allowed is a day such as 2026-05-14')) from None


def _user(_: click.Context, __: click.Parameter, typed: str | None) -> str:
    """Who writes: as told, else who is logged in."""
    if typed is not None:
        return typed
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


MACHINE = click.argument("machine", metavar="MACHINE")
BOOK = click.option(
    "--book",
    "place",
    envvar="PULLCURVE_BOOK",
    default=str(OWN / "book.sqlite"),
    metavar="BOOK",
    help="The book: a file, or postgresql://USER@HOST/NAME; without it that of this user.",
)
WORDS = click.option("--words", default="", metavar="WORDS", help="Free words.")
DATE = click.option(
    "--date", "day", callback=day_of, metavar="DATE", help="The day, such as 2026-05-14; else today."
)
WHO = click.option(
    "--who", envvar="PULLCURVE_WHO", callback=_user, metavar="NAME", help="Who writes; else who is logged in."
)


def writes(command: F) -> F:
    """Options of every command that writes."""
    for option in (AS_JSON, BOOK, WHO, DATE, WORDS):
        command = option(command)
    return command


def now() -> str:
    """This moment, as it is kept."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _entry(told: Mapping[str, Any]) -> "Entry":
    """What is told with every line."""
    from pullcurve.verbs import booking

    return booking.entry(told["day"], told["who"], now(), told["words"])


def _numbers(pairs: tuple[str, ...], option: str, wanted: str) -> dict[str, float]:
    """Numbers by name, as typed after an option."""
    from pullcurve.errors import BadInput, Fault

    found: dict[str, float] = {}
    for pair in pairs:
        key, mark, word = (part.strip() for part in pair.partition("="))
        try:
            found[key] = float(word)
        except ValueError:
            mark = ""
        if not (mark and key):
            raise BadInput(Fault("book", f"{option} {pair}", f"is none; allowed is {wanted}"))
    return found


@click.group()
def book() -> None:
    """The job book: what was fitted, why, and what came of it. MACHINE is its name in the book, or #NUMBER."""


@book.command(cls=Examples, epilog='pullcurve book add north-12 --owner "below-knee prosthesis, enduro"')
@click.argument("name", metavar="NAME")
@click.option("--owner", default="", metavar="WORDS", help="Whose machine it is.")
@writes
def add(name: str, owner: str, place: str, as_json: bool, **told: Any) -> None:
    """Start a machine's history under a NAME of its own; the first machine starts the book."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking

    entry = _entry(told)
    with booking.book_at(place, new=True) as known:
        bookshow.added(known, booking.add_machine(known, name, owner, entry), as_json)


@book.command(
    cls=Examples, epilog="pullcurve book visit north-12 job.toml --hours mud=6 --done grease --words lighter"
)
@MACHINE
@JOB
@click.option("--reason", default="", metavar="WORDS", help="Why more than one change was made at once.")
@click.option("--unit", default="", metavar="MARK", help="Mark of the control unit, where it was exchanged.")
@click.option(
    "--hours",
    multiple=True,
    metavar="GROUND=HOURS",
    help="Hours ridden since the visit before, on dry, mud or sand; may be repeated.",
)
@click.option(
    "--done",
    multiple=True,
    metavar="ITEM",
    help="What was looked after: an item of `book due`, a task of `steps`, or all; may be repeated.",
)
@click.option("--fluid", default="", metavar="CLASS", help='Fresh brake fluid, such as "DOT 4".')
@click.option("--boils", type=float, metavar="CELSIUS", help="Boiling point of the brake fluid, as measured.")
@writes
def visit(
    machine: str,
    job: Path,
    hours: tuple[str, ...],
    boils: float | None,
    place: str,
    as_json: bool,
    **told: Any,
) -> None:
    """Write a visit: MACHINE leaves the bench as JOB.toml says. Two changes at once ask for a reason."""
    from pullcurve.cli import bookshow
    from pullcurve.intake.jobfile import text_of
    from pullcurve.verbs import booking

    more = booking.Visiting(
        unit=told["unit"],
        reason=told["reason"],
        hours=_numbers(hours, "--hours", "GROUND=HOURS, such as mud=6"),
        done=told["done"],
        fluid=told["fluid"],
        boils_celsius=boils,
    )
    entry, text = _entry(told), text_of(job)
    with booking.book_at(place) as known:
        bookshow.visited(booking.add_visit(known, machine, text, job.name, entry, more), as_json)


@book.command(
    cls=Examples, epilog='pullcurve book note north-12 --rate brake.force_lock=2 --words "too heavy downhill"'
)
@MACHINE
@click.option(
    "--rate",
    multiple=True,
    metavar="READOUT=POINTS",
    help="From -3, far too little, through 0, just right, to 3, far too much; may be repeated.",
)
@writes
def note(machine: str, rate: tuple[str, ...], place: str, as_json: bool, **told: Any) -> None:
    """Write a ride note: what the rider says of what is fitted, in points for each read-out and in free words."""
    from pullcurve.cli import bookshow
    from pullcurve.errors import BadInput, Fault
    from pullcurve.verbs import booking

    points = _numbers(rate, "--rate", "READOUT=POINTS, such as brake.force_lock=2")
    for key, given in points.items():
        if not given.is_integer():
            raise BadInput(Fault("note", key, f"is {given:g}; allowed is a whole number from -3 to 3"))
    entry = _entry(told)
    with booking.book_at(place) as known:
        whole = {key: int(given) for key, given in points.items()}
        bookshow.written(booking.add_ride(known, machine, whole, entry), as_json)


@book.command(cls=Examples, epilog="pullcurve book pull north-12 pull.csv --lever clutch --fit")
@MACHINE
@click.argument("file", type=FILE, metavar="FILE")
@LEVER
@click.option("--fit", "fitting", is_flag=True, help="Also fit the job's numbers to it.")
@reading
@writes
def pull(
    machine: str,
    file: Path,
    lever: str | None,
    fitting: bool,
    columns: tuple[str, ...],
    units: tuple[str, ...],
    drop_first: bool,
    place: str,
    as_json: bool,
    **told: Any,
) -> None:
    """Keep a bench pull: the file as it came, and what is read off it."""
    from pullcurve.cli import bookshow, showing
    from pullcurve.verbs import booking, filing

    entry = _entry(told)
    with booking.book_at(place) as known, showing.busy(as_json, "reading the pull"):
        answer = filing.add_pull(
            known,
            machine,
            file,
            entry,
            lever=cast("LeverKind | None", lever),
            columns=said_pairs(columns, "--column"),
            units=said_pairs(units, "--unit"),
            drop_first=drop_first,
            fitting=fitting,
            memory=OWN,
        )
    bookshow.written(answer, as_json)


@book.command(cls=Examples, epilog='pullcurve book photo north-12 flank.jpg --words "pit on the brake flank"')
@MACHINE
@click.argument("file", type=FILE, metavar="FILE")
@writes
def photo(machine: str, file: Path, place: str, as_json: bool, **told: Any) -> None:
    """Keep a photo: JPEG, PNG or WebP."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, filing

    entry = _entry(told)
    with booking.book_at(place) as known:
        bookshow.written(filing.add_photo(known, machine, file, entry), as_json)


@book.command(cls=Examples, epilog="pullcurve book propose north-12 brake-in0-tu0.3-st8.0 --words lighter")
@MACHINE
@click.argument("cams", nargs=-1, required=True, metavar="CAM...")
@writes
def propose(machine: str, cams: tuple[str, ...], place: str, as_json: bool, **told: Any) -> None:
    """Write which cams of the rack are to be tried next."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking

    entry = _entry(told)
    with booking.book_at(place) as known:
        bookshow.written(booking.add_proposal(known, machine, cams, "workshop", entry), as_json)
