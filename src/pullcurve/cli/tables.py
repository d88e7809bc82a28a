"""Tables and sentences for the terminal, made by iterating over read-outs and their facets."""

from math import isfinite

import numpy as np
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.words import CAUTION
from pullcurve.parts.origin import PLAIN
from pullcurve.pull.checks import shut_port as port_heat
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import Facet, Readouts, facets
from pullcurve.studies.find import Found, LeverAnswer
from pullcurve.studies.sentences import bound_sentence, compare, shown
from pullcurve.studies.swap import Swap, Swaps
from pullcurve.units import from_si
from pullcurve.verbs.asking import Pulled

KINDS = ("brake", "clutch")
WORTH_SAYING = 0.5
"""Felt steps below which the cost of a wish is not mentioned."""

NOTED = {"given": "", "prior": " (prior)", "kept": " (as fitted)"}


def sheet_table(title: str, *columns: str) -> Table:
    """A table like one on a drawing: no box, numbers to the right, words to the left."""
    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, padding=(0, 2, 0, 0), pad_edge=False
    )
    for place, column in enumerate(columns):
        table.add_column(
            column, justify="left" if place in (0, len(columns) - 1) and column != "value" else "right"
        )
    return table


def head(out: Console, now: Pulled) -> None:
    """What job this is and what is fitted."""
    job = now.job
    out.print(Text(job.title, style="bold"))
    out.print(f"{job.motorcycle.name} · {job.rider.need} · {job.unit.name}", markup=False)
    for cam in now.cams.values():
        out.print(f"  fitted: {cam.name}", markup=False)
    out.print()


def _value(values: FloatArray, facet: Facet) -> str:
    """One value, or one per surface."""
    return " / ".join(
        shown(float(value), facet) if value == value else "not reached" for value in values.reshape(-1)
    )


def readouts(
    out: Console,
    now: Pulled,
    then: Pulled | None,
    kinds: tuple[str, ...] = KINDS,
    beside: str = "proposed",
) -> None:
    """Read-outs of brake and clutch: fitted, what stands beside it, change, felt or not."""
    for kind in kinds:
        known: Readouts | None = getattr(now.pull, kind)
        if known is None:
            continue
        other: Readouts | None = getattr(then.pull, kind) if then else None
        table = (
            sheet_table(kind, "read-out", "value")
            if other is None
            else sheet_table(kind, "read-out", "fitted", beside, "change", "felt?")
        )
        for name, facet in facets(known):
            before = getattr(known, name)
            if not _worth_showing(before, facet):
                continue
            if other is None:
                table.add_row(facet.label, _value(before, facet))
            else:
                change = compare(kind, name, facet, before, getattr(other, name))
                table.add_row(
                    facet.label,
                    _value(before, facet),
                    _value(getattr(other, name), facet),
                    change.amount,
                    change.told,
                )
        if any(facet.per_surface for _, facet in facets(known)):
            table.caption = "per surface: " + " / ".join(now.mechanism.surfaces)
            table.caption_justify = "left"
        out.print(table)
        out.print()


def _worth_showing(values: FloatArray, facet: Facet) -> bool:
    """A read-out that this unit does not have (a pedal, a port) is left out; one not reached is shown."""
    return not (facet.optional and np.all(np.isnan(values)))


def shut_port(out: Console, now: Pulled) -> None:
    """What a compensating port that never opens would do."""
    told = [
        f"{from_si('pressure_bar', pressure):.0f} bar after {heating:.0f} K"
        for heating, pressure in port_heat(now.job)
    ]
    if told:
        out.print(
            "If the brake's port did not open at rest, hot fluid alone would make "
            f"{' and '.join(told)}: check that play is left at rest.",
            markup=False,
        )
        out.print()


def origins(out: Console, now: Pulled) -> None:
    """How many inputs were given, measured or priors, and which are priors."""
    by_source: dict[str, list[str]] = {"given": [], "measured": [], "prior": []}
    for path, origin in now.origins.items():
        if origin.note != PLAIN:
            by_source[origin.source].append(path)
    counts = " · ".join(f"{len(paths)} {source}" for source, paths in by_source.items())
    out.print(Text("where the numbers come from: ", style="bold").append(counts, style="not bold"))
    if by_source["measured"]:
        out.print("measured: " + ", ".join(by_source["measured"]), markup=False)
    sections: dict[str, list[str]] = {}
    for path in by_source["prior"]:
        section, _, key = path.rpartition(".")
        sections.setdefault(section, []).append(key)
    for section, keys in sections.items():
        told = Text(f"prior in [{section}]: {', '.join(keys)}", style="dim")
        out.print(Padding(told, (0, 0, 0, 2), expand=False))
    out.print()


def caution(out: Console) -> None:
    """The usual cautions."""
    out.print(Text(CAUTION, style="italic"))


def _cams(cams: dict[str, Cam]) -> str:
    return " + ".join(cam.id for cam in cams.values())


def found(out: Console, answer: Found) -> None:
    """Everything found, lever by lever."""
    for lever in answer.levers:
        _found_lever(out, lever)
    if answer.route:
        out.print(
            Text("From what is fitted, one change at a time, riding the same test after each:", style="bold")
        )
        for place, step in enumerate(answer.route, 1):
            told = "; ".join(
                f"{one.off.id} off, {one.on.id} on" if one.off else f"{one.on.id} on" for one in step
            )
            kinds = " and ".join(one.kind for one in step)
            lead = f"{kinds} cam" if len(step) == 1 else f"{kinds} cams together, one change of reach"
            out.print(Padding(Text(f"{place}. {lead}: {told}"), (0, 0, 0, 2), expand=False))
    else:
        out.print(Text("What is fitted is already the best set of the rack for these wishes.", style="bold"))
    out.print()


def _found_lever(out: Console, found: LeverAnswer) -> None:
    table = found.table
    searched = f"{table.count} sets searched, {int(table.allowed.sum())} keep every limit"
    out.print(Text(f"{found.lever}: {searched}, {int(found.front.sum())} undominated", style="bold"))
    stated = [
        f"{wish.facet.label} {shown(wish.target, wish.facet)}{NOTED[wish.source]}" for wish in found.wishes
    ]
    out.print("wishes: " + "; ".join(stated), markup=False)
    if isfinite(found.fitted_distance):
        out.print(f"fitted is {found.fitted_distance:.1f} felt steps from them", markup=False)
    else:
        out.print("what is fitted does not reach all that they speak of", markup=False)
    for place, answer in enumerate(found.answers, 1):
        line = Text(f"  {place}. {_cams(answer.cams)}", style="bold")
        out.print(line.append(f"   {answer.distance:.1f} felt steps from the wishes", style="not bold"))
        for sentence in answer.words:
            out.print(Padding(Text(sentence), (0, 0, 0, 5), expand=False))
    _reasons(out, found)
    out.print()


def _reasons(out: Console, found: LeverAnswer) -> None:
    """What each wish costs, what no cam can give, and what the limits ruled out."""
    for cost in found.costs:
        if cost.without >= WORTH_SAYING:
            out.print(
                f"  Without the wish for {cost.wish.facet.label}, the others come {cost.without:.1f} felt steps "
                f"nearer, with {_cams(cost.cams)}.",
                markup=False,
            )
    for bound in found.bounds:
        if not bound.met:
            out.print(f"  {bound_sentence(bound)}", markup=False)
    for entry in found.excluded:
        out.print(f"  {entry.count} ruled out: {entry.sentence}", markup=False, style="dim")


def swaps(out: Console, answer: Swaps, most: int) -> None:
    """What to check first, then single swaps."""
    for known in answer.complaints:
        out.print(Text(f"{known.lever}, {known.name}: check first, before any cam", style="bold"))
        for step, cause in enumerate(known.causes, 1):
            out.print(Padding(Text(f"{step}. {cause.cause}: {cause.check}"), (0, 0, 0, 2), expand=False))
        out.print(f"  The cam: {known.cam}", markup=False)
        out.print()
    if answer.complaints:
        _swap_list(out, "Single swaps that would help, best first", answer.helping, most)
    else:
        _swap_list(out, "Single swaps, smallest change first", answer.others, most)
    if answer.refused:
        out.print(f"{len(answer.refused)} swaps would break a limit and are not listed.", style="dim")
    for note in answer.notes:
        out.print(note, markup=False)
    out.print()


def _swap_list(out: Console, title: str, listed: tuple[Swap, ...], most: int) -> None:
    out.print(Text(title, style="bold"))
    for place, swap in enumerate(listed[:most], 1):
        gain = f"   gain {swap.gain:.1f}, side effects {swap.side:.1f} felt steps" if swap.gain else ""
        line = Text(f"  {place}. {swap.lever}: {swap.off.id} off, {swap.on.id} on", style="bold")
        out.print(line.append(gain, style="not bold"))
        out.print(Padding(Text(swap.words), (0, 0, 0, 5), expand=False))
    if not listed:
        out.print("  none")
    elif len(listed) > most:
        out.print(f"  … and {len(listed) - most} more (--most)", style="dim")
    out.print()
