"""Pages of the job book on a terminal, or as JSON."""

from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from pullcurve.cli import booktables, tables
from pullcurve.cli.showing import as_data, console
from pullcurve.papers import answers, bookrecord
from pullcurve.studies.find import Found
from pullcurve.studies.history import Finding, Listed, Machine, Stored, Visit
from pullcurve.studies.preference import Lesson
from pullcurve.verbs import leafing
from pullcurve.verbs.booking import Book, Visited, Written
from pullcurve.verbs.bookkeeping import Copied, Moved, Restored
from pullcurve.verbs.leafing import Dates, Learned, Timeline
from pullcurve.verbs.reminding import Due

LESSONS = 3
"""Rides with a swap that are told, what teaches most first."""


def _said(out: Console, words: str) -> None:
    out.print(Padding(Text(words), (0, 0, 0, 2), expand=False))


# Written ------------------------------------------------------------------------------------------------------------


def added(book: Book, machine: Machine, as_json: bool) -> None:
    """A machine that is in the book now."""
    if as_json:
        as_data({"book": book.place, "machine": bookrecord.machine_record(machine)})
        return
    out = console()
    out.print(f"{machine.name} is machine #{machine.id} of the book.", markup=False)
    out.print(f"book: {book.place}", markup=False, soft_wrap=True)


def visited(answer: Visited, as_json: bool) -> None:
    """A visit that is in the book now."""
    if as_json:
        as_data(
            {
                "machine": answer.machine.name,
                "visit": answer.number,
                "changes": bookrecord.changes_record(answer.changes),
                "due": None if answer.due_day is None else answer.due_day.isoformat(),
                "due_for": answer.due_what,
            }
        )
        return
    out = console()
    out.print(f"visit {answer.number} of {answer.machine.name} is in the book", markup=False)
    booktables.changes(out, answer.changes)
    if answer.due_day is not None:
        _said(out, f"next due: {answer.due_day}, {answer.due_what}")


def written(answer: Written, as_json: bool) -> None:
    """Another line that is in the book now."""
    if as_json:
        as_data(
            {
                "machine": answer.machine.name,
                "visit": answer.visit,
                "kind": answer.kind,
                "number": answer.number,
                "words": answer.told,
            }
        )
        return
    out = console()
    where = f"{answer.machine.name}, as visit {answer.visit} left it"
    out.print(f"{answer.kind} {answer.number} is in the book: {where}", markup=False)
    if answer.told:
        _said(out, answer.told)


# Read ---------------------------------------------------------------------------------------------------------------


def listed(known: tuple[Listed, ...], as_json: bool) -> None:
    """Machines by name."""
    if as_json:
        as_data({"machines": bookrecord.listed_record(known)})
        return
    booktables.machines(console(), known)


def shown(machine: Machine, visit: Visit, job_text: str, target: Path | None, as_json: bool) -> None:
    """What is on a machine on a day; its job as a file, if that is wished."""
    if target is not None:
        leafing.write_text(job_text, target)
    if as_json:
        told = {"machine": bookrecord.machine_record(machine), "visit": bookrecord.visit_record(visit)}
        as_data({**told, "job": job_text, "job_written": None if target is None else str(target)})
        return
    out = console()
    booktables.machine(out, machine)
    booktables.visit(out, visit)
    if target is not None:
        out.print(f"job: {target}", markup=False, soft_wrap=True)


def handed(stored: Stored, target: Path, as_json: bool) -> None:
    """A file of the book that was written as it came."""
    if as_json:
        as_data({"file": str(target), "sha256": stored.sha256, "size_bytes": len(stored.content)})
        return
    console().print(f"file: {target}, sha256 {stored.sha256}", markup=False, soft_wrap=True)


def told(known: Timeline, as_json: bool) -> None:
    """A machine's history."""
    if as_json:
        as_data(bookrecord.timeline_record(known.machine, known.visits, known.lines))
        return
    out = console()
    booktables.machine(out, known.machine)
    booktables.timeline(out, known.visits, known.lines)


def compared(known: Dates, as_json: bool) -> None:
    """Two dates beside each other."""
    if as_json:
        as_data(bookrecord.between_record(known.machine, known.before, known.after, known.between))
        return
    out = console()
    booktables.machine(out, known.machine)
    booktables.between(out, known.before, known.after, known.between)
    tables.caution(out)


def found(known: tuple[Finding, ...], as_json: bool) -> None:
    """Lines that a search found."""
    if as_json:
        as_data({"found": bookrecord.findings_record(known)})
        return
    booktables.findings(console(), known)


# Due ----------------------------------------------------------------------------------------------------------------


def due(known: Due, as_json: bool) -> None:
    """What of one machine is due."""
    if as_json:
        told = bookrecord.due_record(known.machine, known.day.isoformat(), known.items, known.fluid)
        as_data({**told, "fluid_unknown": known.unknown})
        return
    out = console()
    booktables.machine(out, known.machine)
    for one in known.items:
        _said(out, one.words)
    if known.fluid is not None:
        _said(out, f"brake fluid: {known.fluid.words}")
    if known.unknown:
        _said(
            out, 'brake fluid: nothing is noted, so look at it now; note it at a visit with --fluid "DOT 4".'
        )
    out.print()
    tables.caution(out)


def due_list(known: tuple[Listed, ...], as_json: bool) -> None:
    """Machines of which something is due."""
    if as_json:
        as_data({"machines": bookrecord.listed_record(known)})
        return
    booktables.machines(console(), known, "due" if known else "Nothing is due.")


# Learned ------------------------------------------------------------------------------------------------------------


def _lessons(known: Learned) -> list[Lesson]:
    """The rides that are told: the best swaps, and a ride as it is to compare."""
    swaps = [one for one in known.lessons if one.swap is not None][:LESSONS]
    return [one for one in known.lessons if one in swaps or one.swap is None]


def learned(
    known: Learned, best: Found | None, out_file: Path | None, wished: bool, kept: bool, as_json: bool
) -> None:
    """What the ride notes tell; the best sets for it, if that is wished."""
    if as_json:
        told = bookrecord.learned_record(known.rides, known.preferences, _lessons(known))
        as_data(
            {
                "machine": known.machine.name,
                "visit": known.visit.id,
                **told,
                "job_written": None if out_file is None else str(out_file),
                "found": None if best is None else answers.find_record(known.job, best),
                "proposed": kept,
            }
        )
        return
    out = console()
    booktables.machine(out, known.machine)
    booktables.preferences(out, known.rides, known.preferences)
    booktables.lessons(out, known.preferences, _lessons(known))
    if best is not None:
        tables.found(out, best)
    if kept:
        out.print("The best set is in the book as a proposal.")
    elif best is not None and wished:
        out.print("What is fitted is the best set, so there is nothing to propose.")
    if out_file is not None:
        out.print(f"job with the learned wishes: {out_file}", markup=False, soft_wrap=True)
    tables.caution(out)


# The book itself ----------------------------------------------------------------------------------------------------


def moved(how: str, answer: Moved, as_json: bool) -> None:
    """A whole book that went out or came in."""
    if as_json:
        as_data({"archive": str(answer.path), "rows": answer.rows})
        return
    rows = answer.rows
    told = ", ".join(f"{rows.get(key, 0)} {name}" for key, name in booktables.COUNTED.items())
    console().print(f"{how}: {answer.path} ({told})", markup=False, soft_wrap=True)


def copied(answer: Copied, as_json: bool) -> None:
    """A copy of the book."""
    if as_json:
        as_data({"copy": str(answer.path), "removed": [str(path) for path in answer.gone]})
        return
    out = console()
    out.print(f"copy: {answer.path}", markup=False, soft_wrap=True)
    for path in answer.gone:
        out.print(f"removed: {path}", markup=False, soft_wrap=True)


def restored(answer: Restored, as_json: bool) -> None:
    """A book that was put back."""
    if as_json:
        as_data(
            {"copy": str(answer.copy), "before": None if answer.kept is None else str(answer.kept)},
        )
        return
    out = console()
    out.print(f"the book is again as in {answer.copy}", markup=False, soft_wrap=True)
    if answer.kept is not None:
        out.print(f"what was there before: {answer.kept}", markup=False, soft_wrap=True)
