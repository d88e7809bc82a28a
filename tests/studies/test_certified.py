"""Least squares against the certified problems of NIST: values, their deviations and the sum of squares."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.squares import most_probable

DATA = Path(__file__).resolve().parent.parent / "data" / "nonlinear_certified.toml"
PROBLEMS: dict[str, dict[str, Any]] = tomllib.loads(DATA.read_text(encoding="utf-8"))

Model = Callable[..., FloatArray]

MODELS: dict[str, Model] = {
    "Misra1a": lambda x, a, b: a * (1 - np.exp(-b * x)),
    "Misra1b": lambda x, a, b: a * (1 - (1 + b * x / 2) ** -2),
    "Misra1c": lambda x, a, b: a * (1 - (1 + 2 * b * x) ** -0.5),
    "Misra1d": lambda x, a, b: a * b * x / (1 + b * x),
    "DanWood": lambda x, a, b: a * x**b,
    "Chwirut2": lambda x, a, b, c: np.exp(-a * x) / (b + c * x),
    "Rat42": lambda x, a, b, c: a / (1 + np.exp(b - c * x)),
    "Rat43": lambda x, a, b, c, d: a / (1 + np.exp(b - c * x)) ** (1 / d),
    "MGH09": lambda x, a, b, c, d: a * (x**2 + x * b) / (x**2 + x * c + d),
    "MGH10": lambda x, a, b, c: a * np.exp(b / (x + c)),
    "MGH17": lambda x, a, b, c, d, e: a + b * np.exp(-x * d) + c * np.exp(-x * e),
    "Lanczos3": lambda x, a, b, c, d, e, f: a * np.exp(-b * x) + c * np.exp(-d * x) + e * np.exp(-f * x),
    "Eckerle4": lambda x, a, b, c: a / b * np.exp(-0.5 * ((x - c) / b) ** 2),
    "BoxBOD": lambda x, a, b: a * (1 - np.exp(-b * x)),
    "Roszman1": lambda x, a, b, c, d: a - b * x - np.arctan(c / (x - d)) / np.pi,
    "Thurber": lambda x, a, b, c, d, e, f, g: (
        (a + b * x + c * x**2 + d * x**3) / (1 + e * x + f * x**2 + g * x**3)
    ),
}

NO_SAY = 1e4
"""Width of the priors against what the readings tell: they have no say beyond the eighth digit."""


@pytest.mark.parametrize("name", PROBLEMS)
def test_certified_values(name: str) -> None:
    """Six digits of every value, four of its deviation, six of the sum of squares."""
    known = PROBLEMS[name]
    x, y, start = (np.array(known[key]) for key in ("x", "y", "start"))
    certified, deviation = np.array(known["certified"]), np.array(known["deviation"])
    noise = np.sqrt(known["squares"] / (x.size - start.size))
    spread = NO_SAY * deviation

    def off(z: FloatArray) -> FloatArray:
        values = (start + spread * z).T[..., None]
        return np.asarray((MODELS[name](x, *values) - y) / noise)

    wide = np.full(start.shape, np.inf)
    near = np.zeros(start.shape)
    best = most_probable(off, near, (-wide, wide), steps=3000, step=1e-7, close=1e-14, reach=1e-2)
    assert start + spread * best.z == pytest.approx(certified, rel=1e-6)
    assert spread * np.sqrt(np.diag(np.linalg.inv(best.information))) == pytest.approx(deviation, rel=1e-4)
    assert float(best.rest @ best.rest) * noise**2 == pytest.approx(known["squares"], rel=1e-6)
