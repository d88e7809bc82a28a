"""Published and computed cases, read from ``cases/*.toml``.

A file holds cases of one source::

    source = "author, title, chapter (where it was read)"

    [[case]]
    id = "example 10.22, greatest pressure"
    mark = "read and recomputed"          # read | read and recomputed | computed | from memory
    quantity = "lining pressure"          # what is asked, see quantities.py
    inputs = { clamp_newton = 4000, outer_radius_mm = 100, inner_radius_mm = 50, radius_mm = 50 }
    expected = "0.2546"                   # as printed: its digits set the tolerance
    unit = "MPa"
    erratum = "..."                       # where the source is wrong, and how
    tolerance_percent = 1.0               # only with a reason:
    because = "..."

Inputs are in the units of the source, told by the end of their name; without one they are numbers. Each may be a list,
and so may ``expected``. A ``bore`` is given to the function as its ``area``, a ``piston_bore`` as its ``piston_area``.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

CASES = Path(__file__).parent / "cases"

MARKS = ("read", "read and recomputed", "computed", "from memory")

INCH, POUND, FOOT, PSI = 0.0254, 4.4482216152605, 0.3048, 4.4482216152605 / 0.0254**2
TURN = 2 * np.pi

UNITS: Mapping[str, float] = MappingProxyType(
    {
        # written here once more, so that an error in the package's own factors cannot hide
        "um": 1e-6,
        "mm": 1e-3,
        "cm": 1e-2,
        "m": 1.0,
        "in": INCH,
        "ft": FOOT,
        "mm2": 1e-6,
        "in2": INCH**2,
        "mm3": 1e-9,
        "cm3": 1e-6,
        "mm3_per_m": 1e-9,
        "cm3_per_m": 1e-6,
        "cm3_per_ft": 1e-6 / FOOT,
        "newton": 1.0,
        "decanewton": 10.0,
        "kilopond": 9.80665,
        "kilonewton": 1e3,
        "pound": POUND,
        "newton_mm": 1e-3,
        "newton_m": 1.0,
        "pound_in": POUND * INCH,
        "newton_per_mm": 1e3,
        "kilonewton_per_m": 1e3,
        "pound_per_in": POUND / INCH,
        "newton_mm_per_rad": 1e-3,
        "newton_mm_per_mm": 1.0,
        "pa": 1.0,
        "mpa": 1e6,
        "gpa": 1e9,
        "bar": 1e5,
        "psi": PSI,
        "ksi": 1e3 * PSI,
        "bar_per_mm3": 1e14,
        "bar_per_mm": 1e8,
        "per_mpa": 1e-6,
        "per_psi": 1.0 / PSI,
        "per_mm": 1e3,
        "mm3_per_m_bar": 1e-14,
        "mm3_per_bar": 1e-14,
        "deg": np.pi / 180,
        "rad": 1.0,
        "turn": TURN,
        "s": 1.0,
        "rad_per_s": 1.0,
        "rpm": TURN / 60,
        "kw": 1e3,
        "m_per_s2": 1.0,
        "cm_per_s2": 1e-2,
        "ft_per_s2": FOOT,
        "g": 9.80665,
        "km_per_h": 1 / 3.6,
        "mile_per_h": 5280 * FOOT / 3600,
        "kg": 1.0,
        "percent": 1e-2,
        "1": 1.0,
    }
)
"""What one unit is in SI, by the end of an input's name."""


@dataclass(frozen=True, slots=True)
class Case:
    """One value from outside."""

    source: str
    name: str
    mark: str
    quantity: str
    inputs: Mapping[str, FloatArray | str | bool]
    expected: tuple[str, ...]
    unit: str
    erratum: str
    tolerance_percent: float | None
    because: str

    @property
    def published(self) -> FloatArray:
        """Expected values in the unit of the source."""
        return np.array([float(text) for text in self.expected])

    @property
    def tolerance(self) -> FloatArray:
        """Half a unit of the last printed digit, or more where the case argues for it."""
        # a hair more, so that a value that ends in 5 may round either way
        units = [Decimal(1).scaleb(int(Decimal(text).as_tuple().exponent)) for text in self.expected]
        digits: FloatArray = 0.5001 * np.array(units, dtype=np.float64)
        return np.asarray(np.maximum(digits, np.abs(self.published) * (self.tolerance_percent or 0.0) / 100))


def split_unit(key: str) -> tuple[str, str]:
    """Name and unit of an input: the longest ending that is a unit."""
    words = key.split("_")
    for count in range(1, len(words)):
        unit = "_".join(words[count:])
        if unit in UNITS and unit != "1":
            return "_".join(words[:count]), unit
    return key, "1"


def in_si(inputs: Mapping[str, object]) -> dict[str, FloatArray | str | bool]:
    """Inputs by their bare names, numbers in SI, bores as areas."""
    found: dict[str, FloatArray | str | bool] = {}
    for key, value in inputs.items():
        if isinstance(value, str | bool):
            found[key] = value
            continue
        name, unit = split_unit(key)
        number = np.asarray(value, dtype=np.float64) * UNITS[unit]
        if name.endswith("bore"):
            name, number = name.replace("bore", "area"), np.pi / 4 * number**2
        found[name] = number
    return found


def read(path: Path) -> Iterator[Case]:
    """The cases of one file."""
    book = tomllib.loads(path.read_text(encoding="utf-8"))
    for row in book.pop("case"):
        expected = row.pop("expected")
        yield Case(
            source=book["source"],
            name=row.pop("id"),
            mark=row.pop("mark"),
            quantity=row.pop("quantity"),
            inputs=in_si(row.pop("inputs")),
            expected=(expected,) if isinstance(expected, str) else tuple(expected),
            unit=row.pop("unit", "1"),
            erratum=row.pop("erratum", ""),
            tolerance_percent=row.pop("tolerance_percent", None),
            because=row.pop("because", ""),
        )
        assert not row, f"{path.name}: {row}"
    assert set(book) == {"source"}, f"{path.name}: {set(book)}"


def every_case() -> list[tuple[str, Case]]:
    """All cases with the name of their file, in a steady order."""
    return [(path.stem, case) for path in sorted(CASES.glob("*.toml")) for case in read(path)]
