"""Limits of a bore or a shaft by its fit: ISO 286 zones such as H7 and g6."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pullcurve.errors import BadInput, Fault
from pullcurve.parts.facts import table

MICROMETRES = 1e-3
"""A micrometre in mm: the deviations of the table are typed as the standard prints them."""

ENDS = ("over_mm", "to_mm")


@dataclass(frozen=True, slots=True)
class Zone:
    """One diameter in one zone: nominal diameter, upper and lower deviation [mm]."""

    name: str
    diameter_mm: float
    upper_mm: float
    lower_mm: float

    @property
    def largest_mm(self) -> float:
        """Largest diameter allowed."""
        return self.diameter_mm + self.upper_mm

    @property
    def smallest_mm(self) -> float:
        """Smallest diameter allowed."""
        return self.diameter_mm + self.lower_mm


def zone_of(name: str, diameter_mm: float, where: str = "plate", key: str = "bore_fit") -> Zone:
    """Deviations of a diameter in a zone; BadInput where the table has no such band or zone."""
    rows = _band(diameter_mm)
    if rows is None:
        said = f"is for {diameter_mm:g} mm; the limits here end at {_largest():g} mm"
        raise BadInput(Fault(where, key, said))
    if name not in zones(diameter_mm):
        allowed = ", ".join(zones(diameter_mm))
        raise BadInput(Fault(where, key, f"is {name}; allowed at {diameter_mm:g} mm is {allowed}"))
    upper, lower = rows[name]
    return Zone(name, diameter_mm, upper * MICROMETRES, lower * MICROMETRES)


def zones(diameter_mm: float) -> tuple[str, ...]:
    """Zones known for a diameter, as the standard names them; empty where the table has no band."""
    return tuple(key for key in _band(diameter_mm) or {} if key not in ENDS)


def play_mm(hole: Zone, shaft: Zone) -> tuple[float, float]:
    """Least and largest clearance of a shaft in a hole; below zero it is interference."""
    return hole.smallest_mm - shaft.largest_mm, hole.largest_mm - shaft.smallest_mm


def _band(diameter_mm: float) -> Mapping[str, Any] | None:
    """The row of the table that a diameter falls in."""
    bands: list[dict[str, Any]] = table("iso286")["bands"]
    return next((band for band in bands if band["over_mm"] < diameter_mm <= band["to_mm"]), None)


def _largest() -> float:
    return float(max(band["to_mm"] for band in table("iso286")["bands"]))
