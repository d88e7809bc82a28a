"""Trade units and SI: every key carries its unit as a suffix; only this module knows the factors."""

from collections.abc import Mapping
from functools import cache
from math import pi
from types import MappingProxyType

STANDARD_GRAVITY = 9.80665
"""Standard gravity [m/s2], exact (ISO 80000-3)."""

INCH = 0.0254
"""International inch [m], exact (NIST SP 811, appendix B.8)."""

POUND_FORCE = 0.45359237 * STANDARD_GRAVITY
"""Force of one avoirdupois pound under standard gravity [N], exact (NIST SP 811, appendix B.8)."""

FACTORS: Mapping[str, float] = MappingProxyType(
    {
        "mm": 1e-3,
        "m": 1.0,
        "mm3": 1e-9,
        "cm3": 1e-6,
        "deg": pi / 180,
        "cm": 1e-2,
        "in": INCH,
        "rad": 1.0,
        "newton": 1.0,
        "dan": 10.0,
        "kgf": STANDARD_GRAVITY,
        "lbf": POUND_FORCE,
        "newton_mm": 1e-3,
        "newton_m": 1.0,
        "newton_per_mm": 1e3,
        "newton_mm_per_deg": 1e-3 * 180 / pi,
        "bar": 1e5,
        "kpa": 1e3,
        "mpa": 1e6,
        "psi": POUND_FORCE / INCH**2,
        "gpa": 1e9,
        "kg": 1.0,
        "percent": 0.01,
        "mm3_per_m_bar": 1e-14,
        "mm3_per_bar": 1e-14,
        "per_kelvin": 1.0,
        "s": 1.0,
        "ms": 1e-3,
        "joule": 1.0,
        "m_per_s2": 1.0,
        "m_per_s2_per_mm": 1e3,
        "g_per_newton": STANDARD_GRAVITY,
        "g_per_mm": STANDARD_GRAVITY * 1e3,
    }
)
"""SI value of one trade unit, by suffix. A key without such a suffix is already in SI or has no unit."""

_LONGEST_FIRST = sorted(FACTORS, key=len, reverse=True)


@cache
def unit_of(key: str) -> str | None:
    """Unit suffix of a key, the longest that fits; None where it has none."""
    return next((unit for unit in _LONGEST_FIRST if key.endswith(f"_{unit}")), None)


def bare(key: str) -> str:
    """A key without its unit suffix."""
    unit = unit_of(key)
    return key.removesuffix(f"_{unit}") if unit else key


def to_si(key: str, value: float) -> tuple[str, float]:
    """Name without unit and value in SI, for a key such as ``bore_mm``."""
    unit = unit_of(key)
    return bare(key), value * FACTORS[unit] if unit else value


def from_si(key: str, value: float) -> float:
    """Value in the unit that a key ends in, from SI."""
    unit = unit_of(key)
    return value / FACTORS[unit] if unit else value
