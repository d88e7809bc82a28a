"""Tables and lines of the job book."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from pullcurve.cli.tables import sheet_table
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, Facet, facets
from pullcurve.studies.between import Between
from pullcurve.studies.exchanged import Exchanged
from pullcurve.studies.history import Finding, Line, Listed, Machine, Visit
from pullcurve.studies.preference import Lesson, Preference, doubt
from pullcurve.studies.sentences import shown

COUNTED = {
    "machine": "machines",
    "visit": "visits",
    "pull": "bench pulls",
    "ride": "ride notes",
    "photo": "photos",
}
"""Tables that are counted in words."""

LABELS: Mapping[str, dict[str, Facet]] = {
    "brake": dict(facets(BrakeReadouts)),
    "clutch": dict(facets(ClutchReadouts)),
}
NOTED = {"given": "", "prior": " (prior)", "kept": " (as fitted)"}


def _under(words: str, columns: int = 2) -> Padding:
    return Padding(Text(words), (0, 0, 0, columns), expand=False)


def machines(out: Console, known: tuple[Listed, ...], empty: str = "Nothing is in the book yet.") -> None:
    """Machines in a list."""
    if not known:
        out.print(empty)
        return
    table = sheet_table("", "machine", "visits", "last", "due", "for")
    for one in known:
        table.add_row(
            f"#{one.machine.id} {one.machine.name}",
            str(one.visits),
            str(one.last or ""),
            str(one.machine.due_day or ""),
            one.machine.due_what,
        )
    out.print(table)


def machine(out: Console, known: Machine) -> None:
    """Which machine this is."""
    out.print(Text(f"{known.name} (#{known.id})", style="bold"))
    for words in (known.owner, known.words):
        if words:
            out.print(words, markup=False)
    out.print()


def changes(out: Console, known: Iterable[Iterable[Exchanged]]) -> None:
    """What was exchanged, a line each change."""
    for change in known:
        out.print(_under("exchanged: " + ", ".join(one.words for one in change)))


# Visits and lines ---------------------------------------------------------------------------------------------------


def visit(out: Console, known: Visit) -> None:
    """One visit with its read-outs."""
    out.print(Text(f"{known.day}  visit {known.id}: {known.title}", style="bold"))
    for words in _visit_words(known):
        out.print(_under(words))
    out.print()
    table = sheet_table("", "read-out", "value")
    for kind, values in known.readouts.items():
        for name, value in values.items():
            facet = LABELS[kind][name]
            table.add_row(f"{kind}, {facet.label}", _value(value, facet))
    out.print(table)
    out.print()


def _visit_words(known: Visit) -> list[str]:
    """What a visit tells in words."""
    found = [f"on it: {', '.join(known.cams.values())}", f"unit: {known.unit}"]
    hours = ", ".join(f"{value:g} h {ground}" for ground, value in known.hours.items() if value)
    if hours:
        found.append(f"ridden before: {hours}")
    if known.services:
        done = (
            " ".join([one.item, one.kind, f"{one.celsius:g} °C" if one.celsius is not None else ""]).strip()
            for one in known.services
        )
        found.append(f"looked after: {', '.join(done)}")
    found += [f"reason: {known.reason}"] if known.reason else []
    found += [known.words] if known.words else []
    return [*found, f"written by {known.who}"]


def timeline(out: Console, visits: Sequence[Visit], lines: Sequence[Line]) -> None:
    """Everything, day by day; of a set only what differs from the one before."""
    before: Mapping[str, str] = {}
    both: list[tuple[tuple[str, int, str, int], Visit | Line]] = [
        ((str(one.day), 0, one.at, one.id), one) for one in visits
    ]
    both += [((str(one.day), 1, one.at, one.id), one) for one in lines]
    ordered = sorted(both, key=lambda known: known[0])
    for day, some in groupby(ordered, key=lambda known: known[0][0]):
        out.print(Text(day, style="bold"))
        for _, one in some:
            if isinstance(one, Visit):
                out.print(_under(f"visit {one.id}: {_exchanged(before, one.cams)}"))
                for words in _visit_words(one)[2:]:
                    out.print(_under(words, 4))
                before = one.cams
            else:
                out.print(_under(f"{one.kind} {one.id}: {_line_words(one)}"))
    out.print()


def _exchanged(before: Mapping[str, str], now: Mapping[str, str]) -> str:
    """What differs between two sets, by id."""
    if not before:
        return f"on it: {', '.join(now.values())}"
    kinds = [kind for kind in dict.fromkeys([*before, *now]) if before.get(kind) != now.get(kind)]
    told = [f"{before.get(kind, 'none')} → {now.get(kind, 'none')}" for kind in kinds]
    return ", ".join(told) or "no cam exchanged"


def _line_words(line: Line) -> str:
    """What a line tells, in one sentence."""
    told = line.told
    if line.kind == "ride":
        points = ", ".join(f"{key} {given:+d}" for key, given in told["points"].items())
        words = [points, line.words]
    elif line.kind == "pull":
        words = [told["lever"], told["file"], line.words]
    elif line.kind == "proposal":
        words = [", ".join(told["cams"].values()), f"({told['source']})", line.words]
    elif line.kind == "photo":
        words = [told["file"], line.words]
    else:
        words = [line.words]
    return "  ".join(word for word in [*words, f"[{line.who}]"] if word)


def findings(out: Console, known: tuple[Finding, ...]) -> None:
    """Lines that were found."""
    if not known:
        out.print("Nothing in the book holds these words.")
    for one in known:
        out.print(
            Text(f"{one.day}  {one.name}  ", style="bold").append(f"{one.kind} {one.row}", style="not bold")
        )
        out.print(_under(one.words))


# Two dates ----------------------------------------------------------------------------------------------------------


def between(out: Console, before: Visit, after: Visit, known: Between) -> None:
    """Cams, numbers, read-outs."""
    out.print(f"{before.day} (visit {before.id}) and {after.day} (visit {after.id})", markup=False)
    changes(out, known.cams)
    if not known.cams:
        out.print(_under("no cam exchanged"))
    out.print()
    if known.numbers:
        table = sheet_table("numbers of the job", "number", "before", "after")
        for one in known.numbers:
            table.add_row(
                one.path, *("" if value is None else str(value) for value in (one.before, one.after))
            )
        out.print(table)
        out.print()
    table = sheet_table(
        "read-outs that differ", "read-out", "before", "after", "change", "felt?", "felt steps"
    )
    for change in known.readouts:
        values = [_value(value, change.facet) for value in (change.before, change.after)]
        if values[0] != values[1]:
            steps = f"{change.steps:+.1f}" if change.facet.felt != "no" else ""
            label = f"{change.kind}, {change.facet.label}"
            table.add_row(label, *values, change.amount, change.told, steps)
    if table.row_count:
        out.print(table)
    else:
        out.print("No read-out differs.")
    out.print()


def _value(value: float | None, facet: Facet) -> str:
    return "not reached" if value is None or value != value else shown(value, facet)


# Learned ------------------------------------------------------------------------------------------------------------


def preferences(out: Console, rides: int, known: Sequence[Preference]) -> None:
    """What a rider would like, with how sure that is."""
    out.print(f"{rides} rated ride{'s' if rides != 1 else ''}; doubt now {doubt(known):.2f} felt steps.")
    out.print()
    columns = ("read-out", "wished", "liked best", "95 %", "notes", "fitted")
    table = sheet_table("what this rider would like", *columns)
    for one in known:
        facet = one.wish.facet
        wished = shown(one.before.target, facet) + NOTED[one.before.source]
        interval = f"{shown(one.low, facet)} to {shown(one.high, facet)}"
        best = shown(one.wish.target, facet) if one.learned else "as wished"
        label = f"{one.wish.kind}, {facet.label}"
        table.add_row(label, wished, best, interval, str(one.notes), _value(one.now, facet))
    out.print(table)
    out.print()


def lessons(out: Console, known: Sequence[Preference], told: Sequence[Lesson]) -> None:
    """Which ride would teach most next, and what a ride as it is would."""
    out.print(Text("What one ride would teach most next, if every read-out is rated", style="bold"))
    labels = {one.wish.key: f"{one.wish.kind}, {one.wish.facet.label}" for one in known}
    for one in told:
        how = "as it is" if one.swap is None else f"{one.swap.off.id} → {one.swap.on.id}"
        out.print(
            _under(f"{how}: doubt {one.doubt:.2f} felt steps after it; most of {labels.get(one.tells, '')}")
        )
    out.print()
