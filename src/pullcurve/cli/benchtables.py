"""Tables and sentences about measured pulls."""

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from pullcurve.cli.tables import sheet_table
from pullcurve.papers.benchplotspan import UNIT_SIGNS
from pullcurve.studies.benchpull import BenchPull, Branches
from pullcurve.studies.compare import Changed, Reading, readings_of
from pullcurve.studies.diagnose import Diagnosis, Suspect
from pullcurve.studies.parameters import Unknown
from pullcurve.units import from_si, unit_of
from pullcurve.verbs.measuring import Comparison, Fitted, Measured

SIGNS = {**UNIT_SIGNS, "joule": "J"}
DECIMALS = {"newton": 1, "mm": 1, "deg": 1, "percent": 0, "joule": 2}

LEAST_SHOWN = 0.02
"""Probability below which a cause is not named [-]."""

OPEN_SHOWN = 5
"""Pairs that the pull cannot tell apart, at most."""


def _signed(number: str, unit: str) -> str:
    sign = SIGNS.get(unit, unit.replace("_", " "))
    return f"{number}{sign}" if unit == "deg" else f"{number} {sign}".strip()


def head(out: Console, pull: BenchPull, about: Measured | None = None) -> None:
    """Whose pull this is, and what was odd about it."""
    pulls = "1 pull" if pull.cycles == 1 else f"{pull.cycles} pulls"
    out.print(Text(f"{pull.name}: {pulls}, {pull.place.size} readings", style="bold"))
    if about is not None:
        out.print(f"{about.lever} of: {about.job.title}", markup=False)
    for remark in pull.remarks:
        out.print(Padding(Text(remark), (0, 0, 0, 2), expand=False))
    out.print()


def _value(one: Reading) -> str:
    if one.value != one.value:
        return "not reached"
    value = from_si(f"value_{one.unit}", one.value)
    return _signed(f"{value:.{DECIMALS.get(one.unit, 1)}f}", one.unit)


def _doubt(one: Reading, deviation: float) -> str:
    if deviation != deviation:
        return "not known"
    return _signed(
        f"±{1.96 * from_si(f'value_{one.unit}', deviation):.{DECIMALS.get(one.unit, 1)}f}", one.unit
    )


def read_off(out: Console, known: Branches) -> None:
    """What can be read off a pull without knowing what is behind it."""
    table = sheet_table("read off the mean of all pulls", "reading", "value", "95 %")
    for one in readings_of(known):
        if one.value == one.value:  # a branch that was not read tells nothing
            table.add_row(one.label, _value(one), _doubt(one, one.deviation))
    out.print(table)
    out.print()


# Fit ----------------------------------------------------------------------------------------------------------


def _number(unknown: Unknown, value: float) -> str:
    return _signed(f"{value:.3g}", unit_of(unknown.key) or "")


def fit(out: Console, answer: Fitted) -> None:
    """Numbers that the pull told, and what it left open."""
    told = answer.fit
    table = sheet_table("what the pull tells", "number", "job says", "fitted", "95 % interval", "before that")
    left = []
    for row, unknown in enumerate(told.unknowns):
        if unknown.path not in told.informed:
            left.append(unknown.label)
            continue
        low, high = float(told.low[row]), float(told.high[row])
        interval = f"{low:.3g} to {_number(unknown, high)}"
        table.add_row(
            unknown.label,
            _number(unknown, unknown.value),
            _number(unknown, float(told.value[row])),
            interval,
            unknown.behind,
        )
    out.print(table)
    if left:
        out.print(
            Padding(Text("Not told by this pull: " + ", ".join(dict.fromkeys(left)) + "."), (0, 0, 0, 2))
        )
    explained = "explains" if told.reduced < 2.0 else "does not explain"
    out.print(f"The fitted job {explained} the pull: chi square {told.reduced:.1f} per degree of freedom.")
    for one in answer.mixed[:OPEN_SHOWN]:
        out.print(Padding(Text(one.words), (0, 0, 0, 2), expand=False))
    out.print()


# Diagnosis ----------------------------------------------------------------------------------------------------


def diagnosis(out: Console, told: Diagnosis) -> None:
    """Causes, what to check first, and then the cam."""
    out.print(Text(_headline(told), style="bold"))
    out.print(Padding(Text(told.shape), (0, 0, 0, 2), expand=False))
    out.print()
    for place, one in enumerate(told.suspects, 1):
        if place == 1 or one.probability >= LEAST_SHOWN:
            _suspect(out, place, one)
    if told.what_else is not None:
        out.print(
            Text("To tell the first two apart: ", style="bold").append(told.what_else.words, style="not bold")
        )
    out.print(Text("The cam: ", style="bold").append(told.cam.sentence, style="not bold"))
    out.print()


def _headline(told: Diagnosis) -> str:
    if told.strange:
        return "None of the known causes explains this pull: measure again, or look for something else."
    if told.first.name == "healthy":
        return f"Nothing wrong that this pull would show ({told.first.probability:.0%})."
    return f"Check first: {told.first.cause} ({told.first.probability:.0%})."


def _suspect(out: Console, place: int, one: Suspect) -> None:
    out.print(Text(f"{place}. {one.cause}: {one.probability:.0%}", style="bold"))
    lines = [one.shows]
    lines += [f"{unknown.label}: {_number(unknown, value)}" for unknown, value in one.found]
    lines += [f"check: {check.check}" for check in one.checks]
    for line in lines:
        out.print(Padding(Text(line), (0, 0, 0, 3), expand=False))


# Compare ------------------------------------------------------------------------------------------------------


def compared(out: Console, answer: Comparison) -> None:
    """Two pulls, reading by reading."""
    known = answer.compared
    out.print(Text(known.sentence, style="bold"))
    out.print()
    table = sheet_table("", "reading", *answer.labels, "change", "felt?")
    for one in known.readings:
        table.add_row(one.before.label, _value(one.before), _value(one.after), _change(one), _felt(one))
    out.print(table)
    out.print()


def _change(one: Changed) -> str:
    if one.change != one.change:
        return ""
    value = from_si(f"value_{one.before.unit}", one.change)
    shown = _signed(f"{value:+.{DECIMALS.get(one.before.unit, 1)}f}", one.before.unit)
    return f"{shown} ({_doubt(one.before, one.deviation)})"


def _felt(one: Changed) -> str:
    if not one.sure:
        return "not sure"
    if one.steps != one.steps:
        return ""
    return f"{abs(one.steps):.1f} felt steps" if abs(one.steps) >= 1.0 else "not felt"
