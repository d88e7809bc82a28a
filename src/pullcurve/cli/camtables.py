"""Tables and sentences about cams for the terminal."""

from collections.abc import Callable, Sequence
from math import isfinite, isnan

import numpy as np
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from pullcurve.cli.tables import sheet_table
from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.camsheet import cam_data
from pullcurve.pull.readouts import Facet
from pullcurve.studies.draw import Drawn
from pullcurve.studies.findings import Verdict, told
from pullcurve.studies.sentences import shown
from pullcurve.studies.tolerance import HALF_STEP, SOURCES, Effect, Effects, Scatter
from pullcurve.verbs.cams import Allowed, CamCase, Read
from pullcurve.verbs.making import Made

SHAPES = {
    "size": "the whole flank off by so much",
    "slope": "a flank that leans by so much",
    "bump": "one bump of that height",
}
HEADINGS = {
    "size": "whole flank",
    "slope": "slope",
    "bump": "one bump",
    "centre_distance": "centre distance",
    "roller_diameter": "roller",
    "clocking": "clocking",
    "finger_position": "finger",
    "flank_loss": "flank",
    "roller_loss": "roller diameter",
    "pin_play": "play of both pins",
}
"""Sources of error and wear, short enough for the head of a column."""

NOT_FELT = 0.005
"""Felt steps that a table shows as nothing."""


def head(out: Console, case: CamCase) -> None:
    """Which cam on which lever."""
    job = case.job
    out.print(Text(f"{case.name} in {job.title}", style="bold"), soft_wrap=True)
    out.print(f"{job.motorcycle.name} · {job.rider.need} · {job.unit.name}", markup=False)
    out.print()


def numbers(out: Console, case: CamCase) -> None:
    """The cam in numbers."""
    metal = case.metal
    table = sheet_table("cam", "number", "value")
    table.add_row("material", metal.material)
    table.add_row("thickness", told(metal.thickness, "mm"))
    table.add_row("bore", f"{told(2 * metal.bore_radius, 'mm')} {metal.bore_fit}")
    for name, value in cam_data(metal):
        table.add_row(name, value)
    if np.any(np.isfinite(case.stress)):
        table.add_row(
            "greatest contact pressure",
            f"{told(float(np.nanmax(case.stress)), 'gpa')}, {metal.material} bears {told(case.allowed, 'gpa')}",
        )
    out.print(table)
    out.print()


def verdict(out: Console, known: Verdict) -> None:
    """Everything that was checked, what is wrong first."""
    wrong = sum(not finding.ok for finding in known.findings)
    said = "passes every check" if known.ok else f"fails {wrong} of {len(known.findings)} checks"
    out.print(Text(f"check: {said}", style="bold"))
    for finding in sorted(known.findings, key=lambda one: one.ok):
        mark = Text("  ok    " if finding.ok else "  WRONG ", style="" if finding.ok else "bold")
        line = sheet_table("", "mark", "sentence")
        line.show_header = False
        line.add_row(mark, finding.sentence)
        out.print(line)
    out.print()


def verdict_line(out: Console, known: Verdict) -> None:
    """The check in one sentence, or what is wrong."""
    out.print(Text("check: ", style="bold").append(known.words, style="not bold"))
    out.print()


# Read -----------------------------------------------------------------------------------------------------------------


def reading(out: Console, read: Read) -> None:
    """What was read from a file and how well."""
    found = read.found
    out.print(Text(f"read from {found.source}", style="bold"))
    first, last = (told(angle, "deg", 1) for angle in found.shown)
    lines = [f"The file shows the flank from {first} to {last} of lever."]
    if found.outline is not None:
        back = ", seen from its back" if found.mirrored else ""
        lines.append(f"The cam lay turned by {told(found.turn, 'deg', 2)}{back}.")
    lines.append(
        f"One standard deviation over the travel: {told(read.roller_deviation, 'mm', 4)} at the roller, "
        f"{told(read.force_deviation, 'newton', 2)} of finger force; smoothing left "
        f"{told(found.residual, 'deg', 4)} of rocker angle."
    )
    if found.doubtful.size:
        places = (
            f"{told(float(found.doubtful.min()), 'deg', 1)} to {told(float(found.doubtful.max()), 'deg', 1)}"
        )
        lines.append(f"At {places} of lever the roller could rest in more than one place.")
    if read.nearest is not None:
        lines.append(
            f"Nearest cam of the rack: {read.nearest.id}, off by {told(read.apart, 'mm', 3)} at most at the roller."
        )
    for line in lines:
        out.print(Padding(Text(line), (0, 0, 0, 2), expand=False))
    out.print()


# Drawn ----------------------------------------------------------------------------------------------------------------


def outcome(out: Console, drawn: Drawn) -> None:
    """How near a drawn cam comes to what was wanted, and what stands in the way."""
    worst = f"largest miss {drawn.worst:.2f} felt steps"
    said = (
        f"meets the wish as far as a finger can tell ({worst})"
        if drawn.met
        else f"does not meet it all: {worst}"
    )
    out.print(Text("the drawn cam ", style="bold").append(said))
    for name, steps in drawn.left:
        if abs(steps) >= NOT_FELT:
            out.print(f"  {name}: {steps:+.2f} felt steps from the wish", markup=False)
    if drawn.binding:
        bound = "these limits are used up" if drawn.met else "what stands in the way"
        out.print(f"  {bound}: {', '.join(drawn.binding)}", markup=False)
    out.print()


def reaches(out: Console, answers: Sequence[Drawn], cases: Sequence[CamCase]) -> None:
    """The same law at further reaches, one a line."""
    if len(answers) < 2:
        return
    table = sheet_table("one law, several reaches", "cam", "reach", "largest miss", "check", "limits used up")
    for one, case in zip(answers, cases, strict=True):
        table.add_row(case.name, told(one.reach, "deg", 1), *_judged(one, case))
    out.print(table)
    out.print()


def rungs(out: Console, key: str, rows: Sequence[tuple[float, Drawn, CamCase]]) -> None:
    """A ladder, one cam a line."""
    table = sheet_table("ladder", "cam", key, "largest miss", "check", "limits used up")
    for value, rung, case in rows:
        table.add_row(case.name, f"{value:g}", *_judged(rung, case))
    out.print(table)
    out.print()


def _judged(drawn: Drawn, case: CamCase) -> tuple[str, str, str]:
    """How near a drawn cam comes, whether it passes, what is used up."""
    check = "passes" if case.verdict.ok else "fails"
    return f"{drawn.worst:.2f} felt steps", check, ", ".join(drawn.binding) or "none"


# Tolerance ------------------------------------------------------------------------------------------------------------


def allowed(out: Console, known: Allowed) -> None:
    """What the finger justifies, what each error does, what many units do, what wear does."""
    _justified(out, known)
    _effects(out, "felt steps by each error of making alone", known.effects)
    _scatter(out, known)
    _effects(out, "felt steps by wear", known.worn)


def _justified(out: Console, known: Allowed) -> None:
    justified = known.justified
    amount = told(justified.tolerance, "mm", 3)
    if justified.binding is None:
        out.print(f"No finger feels a profile error of ±{amount}, the widest that is looked at.")
    else:
        assert justified.facet is not None
        of, _ = justified.binding
        out.print(Text(f"The finger justifies a profile tolerance of ±{amount}.", style="bold"))
        out.print(
            f"Beyond it {SHAPES[justified.shape]} would change {of} {justified.facet.label} by more than half a "
            "felt step.",
            markup=False,
        )
    out.print()


def _effects(out: Console, title: str, known: Effects) -> None:
    """Felt steps by source at the largest amount, for read-outs that feel any of it."""
    largest = len(known.amounts) - 1
    amount = told(float(known.amounts[largest]), "mm")
    table = sheet_table(f"{title}, {amount}", "read-out", *(HEADINGS[source] for source in known.sources))
    name = _names(known.effects)
    for effect in known.effects:
        steps = effect.steps[largest]
        if effect.facet.felt != "no" and np.nanmax(steps) >= NOT_FELT:
            table.add_row(name(effect), *(_steps(float(step)) for step in steps))
    fingers = "; a finger as a rider places it" if "finger_position" in known.sources else ""
    table.caption, table.caption_justify = f"* half a felt step or more{fingers}", "left"
    out.print(table)
    out.print()


def _names(listed: Sequence[Effect] | Sequence[Scatter]) -> Callable[[Effect | Scatter], str]:
    """Names of read-outs, with what they belong to only where the lever works more than one thing."""
    alone = len({one.of for one in listed}) == 1
    return lambda one: one.facet.label if alone else f"{one.of}: {one.facet.label}"


def _steps(value: float) -> str:
    """Felt steps; what half a step or more changes stands out."""
    if isnan(value):
        return "–"
    said = f"{value:.2f}" if isfinite(value) else "lost"
    return f"{said} *" if value >= HALF_STEP else f"{said}  "


def _scatter(out: Console, known: Allowed) -> None:
    """Many units at random within the tolerance, and what matters most."""
    first = {(one.of, one.readout): _most(one.sources, one.total) for one in known.ranked}
    table = sheet_table(
        f"a thousand units made within ±{told(known.justified.tolerance, 'mm', 3)}",
        "read-out", "nominal", "5 of 100 below", "5 of 100 above", "felt in", "what matters most",
    )  # fmt: skip
    name = _names(known.scatter)
    for one in known.scatter:
        if one.facet.felt != "no" and isfinite(one.deviation):
            values = (_shown(value, one.facet) for value in (one.nominal, one.low, one.high))
            most = first.get((one.of, one.readout), "–")
            table.add_row(name(one), *values, f"{one.felt:.0%}", most)
    out.print(table)
    out.print()


def _shown(value: float, facet: Facet) -> str:
    return shown(value, facet) if isfinite(value) else "not reached"


def _most(sources: Sequence[str], total: FloatArray) -> str:
    """The source with the largest share of a variance."""
    if not np.any(np.isfinite(total)):
        return "–"
    place = int(np.nanargmax(total))
    return f"{SOURCES[sources[place]]}, {float(total[place]):.0%}"


# Files ----------------------------------------------------------------------------------------------------------------


def made(out: Console, known: Sequence[Made]) -> None:
    """What was written."""
    for one in known:
        check = "passes" if one.case.verdict.ok else "FAILS"
        said = f"{one.case.name}, profile ±{told(one.tolerance, 'mm', 3)}, {check} its check"
        out.print(Text(said, style="bold"))
        for path in one.files:
            out.print(f"  {path}", markup=False, soft_wrap=True)
    out.print()
