"""Makes ``docs/validation.md`` from the cases: ``python -m tests.outside.validation``."""

from itertools import groupby
from pathlib import Path

import numpy as np

from tests.outside.quantities import ours
from tests.outside.reading import Case, FloatArray, every_case

PAGE = Path(__file__).resolve().parents[2] / "docs" / "validation.md"

HEAD = """\
# Validation

Values from outside against this package's own. Made by `python -m tests.outside.validation` from the files in
`tests/outside/cases`, which hold the inputs; a test fails when this page is stale. The tolerance is half a unit of the
last printed digit, or the reason for another one stands below the table.

| mark | meaning |
|---|---|
| read | value and inputs stand in the source |
| read and recomputed | the same, and they follow from the inputs by hand |
| computed | calculated from the formula of the source by a second way, not published |
| from memory | value or formula believed, not looked up |

Where the source is wrong, the expected value is the right one, or the printed one with a tolerance; the erratum below
the table says so.
Three rows for which the package has no formula are left out: friction of a sliding Hertz contact, the stiffness of a
steel pipe (a hose's expansion is an input) and the angle of a sector pad.
"""

SYMBOLS = {
    "newton": "N", "decanewton": "daN", "kilonewton": "kN", "pound": "lbf", "kilopond": "kgf", "pa": "Pa", "mpa": "MPa",
    "gpa": "GPa", "kw": "kW", "mile": "mi", "percent": "%", "deg": "°", "um": "µm",
}  # fmt: skip
"""How a word in the name of a unit is written, where it is written otherwise."""


def unit_shown(unit: str) -> str:
    """A unit as it is written: newton_mm_per_rad is N mm/rad."""
    if unit == "1":
        return ""
    above, _, below = unit.partition("_per_")
    parts = [" ".join(SYMBOLS.get(word, word) for word in part.split("_")) for part in (above, below) if part]
    return " " + "/".join(f"({part})" if " " in part and part != parts[0] else part for part in parts)


def shown(values: FloatArray, case: Case, extra: int) -> str:
    """Numbers with as many digits as the source prints, and some more."""
    texts = []
    for value, printed in zip(np.broadcast_to(values, case.published.shape), case.expected, strict=True):
        mantissa, _, power = printed.lower().partition("e")
        decimals = len(mantissa.partition(".")[2]) + extra
        scaled = round(float(value) / 10.0 ** int(power or 0), decimals) + 0.0  # no minus zero
        texts.append(f"{scaled:.{decimals}f}" + (f"e{power}" if power else ""))
    return " / ".join(texts)


def row(case: Case) -> str:
    """One line of the table."""
    value = ours(case)
    cells = [
        case.name,
        case.mark,
        case.quantity,
        " / ".join(case.expected) + unit_shown(case.unit),
        shown(value, case, 1),
        shown(value - case.published, case, 1),
    ]
    return "| " + " | ".join(cells) + " |"


def notes(cases: list[Case]) -> list[str]:
    """Errata and reasons for a wider tolerance."""
    lines = [f"* {case.name}: *erratum*: {case.erratum}" for case in cases if case.erratum]
    lines += [
        f"* {case.name}: {case.tolerance_percent:g} % allowed: {case.because}"
        for case in cases
        if case.tolerance_percent is not None
    ]
    return ["", *lines] if lines else []


def page() -> str:
    """The whole page."""
    lines = [HEAD]
    for _, group in groupby(every_case(), key=lambda pair: pair[0]):
        cases = [case for _, case in group]
        lines += [f"## {cases[0].source}", ""]
        lines += ["| case | mark | quantity | expected | ours | difference |", "|---|---|---|---|---|---|"]
        lines += [row(case) for case in cases]
        lines += [*notes(cases), ""]
    return "\n".join(lines)


if __name__ == "__main__":
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
