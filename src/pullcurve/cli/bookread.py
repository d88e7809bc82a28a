"""The book commands that read: show, timeline, file, compare, search, due, learn; and those that keep the book."""

from datetime import date
from pathlib import Path

import click

from pullcurve.cli.book import BOOK, DATE, FILE, MACHINE, OWN, WHO, book, day_of, now
from pullcurve.cli.commands import AS_JSON, Examples

MOST = click.option(
    "--most", type=click.IntRange(1, 500), default=50, show_default=True, help="Lines to show."
)
COPIES = click.option(
    "--to", "folder", type=FILE, metavar="DIR", help="Folder of the copies; without it that beside the book."
)


@book.command(cls=Examples, epilog="pullcurve book show north-12 --date 2026-05-14 --job then.toml")
@click.argument("machine", required=False, metavar="[MACHINE]")
@DATE
@click.option("--job", "target", type=FILE, metavar="OUT.toml", help="Write the job of that day to a file.")
@click.option("--after", default="", metavar="NAME", help="Go on with the list behind this machine.")
@MOST
@BOOK
@AS_JSON
def show(
    machine: str | None, day: date, target: Path | None, after: str, most: int, place: str, as_json: bool
) -> None:
    """Show what is on MACHINE, today or on a day; without one, list the machines."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, leafing

    with booking.book_at(place) as known:
        if machine is None:
            bookshow.listed(leafing.machines(known, most, after), as_json)
        else:
            bookshow.shown(*leafing.job_on(known, machine, day), target, as_json)


@book.command(cls=Examples, epilog="pullcurve book timeline north-12")
@MACHINE
@BOOK
@AS_JSON
def timeline(machine: str, place: str, as_json: bool) -> None:
    """Show everything that was written about MACHINE, day by day."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, leafing

    with booking.book_at(place) as known:
        bookshow.told(leafing.timeline(known, machine), as_json)


@book.command(cls=Examples, epilog="pullcurve book file pull 3 -o pull.csv")
@click.argument("kind", type=click.Choice(("pull", "photo")), metavar="KIND")
@click.argument("number", type=click.IntRange(1, 2**31 - 1), metavar="NUMBER")
@click.option(
    "-o",
    "--out",
    type=FILE,
    required=True,
    metavar="FILE",
    help="Where to write it; nothing there is replaced.",
)
@BOOK
@AS_JSON
def file(kind: str, number: int, out: Path, place: str, as_json: bool) -> None:
    """Write the file of a pull or a photo (KIND) as it came, by its NUMBER in the timeline."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, leafing

    with booking.book_at(place) as known:
        stored = leafing.file_of(known, kind, number)
    leafing.write_file(stored, out)
    bookshow.handed(stored, out, as_json)


@book.command(cls=Examples, epilog="pullcurve book compare north-12 2026-03-01 2026-05-14")
@MACHINE
@click.argument("first", callback=day_of, metavar="DATE")
@click.argument("second", callback=day_of, required=False, metavar="[DATE]")
@BOOK
@AS_JSON
def compare(machine: str, first: date, second: date, place: str, as_json: bool) -> None:
    """Compare MACHINE on two days, or on one and today: cams, numbers, and every read-out in felt steps."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, leafing

    with booking.book_at(place) as known:
        bookshow.compared(leafing.dates(known, machine, first, second), as_json)


@book.command(cls=Examples, epilog="pullcurve book search heavy downhill --machine north-12")
@click.argument("words", nargs=-1, required=True, metavar="WORDS...")
@click.option("--machine", default="", metavar="MACHINE", help="Search on one machine only.")
@MOST
@BOOK
@AS_JSON
def search(words: tuple[str, ...], machine: str, most: int, place: str, as_json: bool) -> None:
    """Find lines that hold all the WORDS, or words that begin so; accents and capitals do not count."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, leafing

    with booking.book_at(place) as known:
        bookshow.found(leafing.search(known, " ".join(words), machine, most), as_json)


@book.command(cls=Examples, epilog="pullcurve book due north-12 --date 2026-09-01")
@click.argument("machine", required=False, metavar="[MACHINE]")
@DATE
@MOST
@BOOK
@AS_JSON
def due(machine: str | None, day: date, most: int, place: str, as_json: bool) -> None:
    """Say what of MACHINE is due by its hours, ground and months; without one, which machines are."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import booking, reminding

    with booking.book_at(place) as known:
        if machine is None:
            bookshow.due_list(reminding.due_machines(known, day, most), as_json)
        else:
            bookshow.due(reminding.due(known, machine, day), as_json)


@book.command(cls=Examples, epilog="pullcurve book learn north-12 --find -o learned.toml")
@MACHINE
@DATE
@WHO
@click.option(
    "--find", "finding", is_flag=True, help="Also find the best sets of the rack for what was learned."
)
@click.option("--keep", is_flag=True, help="Write the best set into the book as a proposal; means --find.")
@click.option("-o", "--out", type=FILE, metavar="OUT.toml", help="Write the job with the learned wishes.")
@BOOK
@AS_JSON
def learn(
    machine: str, day: date, who: str, finding: bool, keep: bool, out: Path | None, place: str, as_json: bool
) -> None:
    """Learn from the ride notes what this rider would like, how sure that is, and which ride teaches most next."""
    from pullcurve.cli import bookshow, showing
    from pullcurve.verbs import booking, jobs, leafing

    with booking.book_at(place) as known:
        with showing.progress(as_json) as told:
            answer = leafing.learned(known, machine, day, told=told)
        if out is not None:
            jobs.write_job(answer.job, out)
        with showing.progress(as_json) as told:
            best = leafing.find_learned(answer, told=told) if finding or keep else None
        ids = leafing.exchanges(answer, best) if keep and best is not None else ()
        if ids:
            entry = booking.entry(day, who, now(), "Best set for what was learned from the ride notes.")
            booking.add_proposal(known, machine, ids, "learned", entry)
    bookshow.learned(answer, best, out, keep, bool(ids), as_json)


# The book itself ----------------------------------------------------------------------------------------------------


@book.command(cls=Examples, epilog="pullcurve book export whole-book.zip")
@click.argument("file", type=FILE, metavar="FILE.zip")
@BOOK
@AS_JSON
def export(file: Path, place: str, as_json: bool) -> None:
    """Write the whole book into one archive with checksums."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import bookkeeping

    bookshow.moved("written", bookkeeping.export_book(place, file, now()), as_json)


@book.command("import", cls=Examples, epilog="pullcurve book import whole-book.zip --book new.sqlite")
@click.argument("file", type=FILE, metavar="FILE.zip")
@BOOK
@AS_JSON
def import_(file: Path, place: str, as_json: bool) -> None:
    """Take a whole archive into a new or empty book; refuses what was changed on the way."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import bookkeeping

    bookshow.moved("taken in", bookkeeping.import_book(place, file), as_json)


@book.command(cls=Examples, epilog="pullcurve book backup --keep 30")
@COPIES
@click.option("--keep", type=int, default=14, show_default=True, help="Copies to keep.")
@BOOK
@AS_JSON
def backup(folder: Path | None, keep: int, place: str, as_json: bool) -> None:
    """Copy the book while others work in it, and keep the last copies; meant to be run every night."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import bookkeeping

    bookshow.copied(bookkeeping.back_up_book(place, _copies(place, folder), now(), keep), as_json)


@book.command(cls=Examples, epilog="pullcurve book restore book-2026-05-14-031500.sqlite")
@click.argument("file", type=FILE, metavar="COPY")
@COPIES
@BOOK
@AS_JSON
def restore(file: Path, folder: Path | None, place: str, as_json: bool) -> None:
    """Put a COPY or an archive in the place of the book; what was there is kept beside the copies."""
    from pullcurve.cli import bookshow
    from pullcurve.verbs import bookkeeping

    bookshow.restored(bookkeeping.restore_book(place, file, _copies(place, folder), now()), as_json)


def _copies(place: str, folder: Path | None) -> Path:
    """Where copies lie: as told, beside a book that is a file, else among this user's own data."""
    if folder is not None:
        return folder
    return (OWN if "://" in place else Path(place).expanduser().absolute().parent) / "copies"


__all__ = ["book"]
