"""What force and travel alone cannot tell apart, and which one more measurement would tell it."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.facts import table
from pullcurve.pull.arrays import ClutchCable
from pullcurve.studies.fit import Fit
from pullcurve.studies.parameters import taken
from pullcurve.studies.prediction import Columns, Predicted, lever_with, predict, values_at
from pullcurve.studies.readings import Readings
from pullcurve.studies.squares import STEP
from pullcurve.units import to_si

KNOWN_TOGETHER, UNKNOWN_APART = 0.5, 1.2
"""Two values are mixed when the pull fixes one mixture of them and leaves another to the priors.

Widths of the best and of the worst mixture that the readings alone allow [standard deviations of the prior].
"""

BOTH = 0.3
"""A mixture holds a value when its share is at least this [-]."""

AS_GOOD_AS_ZERO = 1e-6
"""What a part that is out of the way is set to, in the unit of its key."""


@dataclass(frozen=True, slots=True)
class Extra:
    """One more measurement that could be made, in words, and how it sees the unknowns."""

    name: str
    words: str
    sees: str
    without: tuple[str, ...]
    key: str
    percent: float


@dataclass(frozen=True, slots=True)
class Helped:
    """What one more measurement would leave of the width of two mixed values, each a share of what it is now."""

    extra: Extra
    widths: tuple[float, float]

    @property
    def worth(self) -> float:
        """Product of the shares that are left: the smaller, the better."""
        return self.widths[0] * self.widths[1]


@dataclass(frozen=True, slots=True)
class Mixed:
    """Two unknowns that the pull alone cannot separate, how they mix, and what would help, best first."""

    paths: tuple[str, str]
    labels: tuple[str, str]
    correlation: float
    helps: tuple[Helped, ...]

    @property
    def words(self) -> str:
        """One warning in plain words."""
        told = f"Force and travel alone cannot tell {self.labels[0]} from {self.labels[1]}"
        return f"{told}. {self.helps[0].extra.words}" if self.helps else f"{told}."


def extras(fitted: Fit) -> tuple[Extra, ...]:
    """Measurements that this lever allows and that have not been made."""
    bench = fitted.readings.bench
    lever = lever_with(bench, {})
    drives = {rocker.drives for rocker in lever.rockers}
    cable = any(isinstance(rocker.load, ClutchCable) for rocker in lever.rockers)
    loads = {
        "any",
        *(("cable",) if cable else ()),
        *(("hydraulic",) if "brake" in drives or not cable else ()),
    }
    keys = {unknown.key for unknown in fitted.unknowns}
    found = []
    for entry in table("fitting")["measurement"]:
        fits = entry["lever"] in drives | {"any"} and entry["load"] in loads
        done = entry["sees"] == "pressure" and bool(np.any(fitted.readings.pressure_at))
        if fits and not done and entry.get("key", next(iter(keys))) in keys:
            found.append(_extra(entry))
    return tuple(found)


def _extra(entry: Mapping[str, Any]) -> Extra:
    return Extra(
        name=str(entry["name"]),
        words=str(entry["words"]),
        sees=str(entry["sees"]),
        without=tuple(entry.get("without", ())),
        key=str(entry.get("key", "")),
        percent=float(entry.get("percent", 0.0)),
    )


def mixed(fitted: Fit) -> tuple[Mixed, ...]:
    """Pairs of unknowns that the pull alone cannot separate, worst first, with the measurement that would."""
    pairs = []
    for first, second in combinations(range(len(fitted.unknowns)), 2):
        told = _mixture(fitted, first, second)
        if told is not None:
            pairs.append((told, first, second))
    rows = {extra: virtual(fitted, extra) for extra in extras(fitted)} if pairs else {}
    return tuple(
        Mixed(
            paths=(fitted.unknowns[first].path, fitted.unknowns[second].path),
            labels=(fitted.unknowns[first].label, fitted.unknowns[second].label),
            correlation=correlation,
            helps=_helps(fitted, rows, (first, second)),
        )
        for correlation, first, second in sorted(pairs, key=lambda pair: -abs(pair[0]))
    )


def _mixture(fitted: Fit, first: int, second: int) -> float | None:
    """Correlation of two unknowns by the readings alone, if they fix one mixture and leave another open.

    All other unknowns keep their priors; the zeros of the bench are no question that anybody asks.
    """
    pair = [first, second]
    if any(fitted.unknowns[row].behind == "bench" for row in pair):
        return None
    information = fitted.slopes.T @ fitted.slopes + np.eye(len(fitted.unknowns))
    information[pair, pair] -= 1.0
    rest = [row for row in range(len(fitted.unknowns)) if row not in pair]
    inner = information[np.ix_(rest, rest)]
    cross = information[np.ix_(pair, rest)]
    alone = information[np.ix_(pair, pair)] - cross @ np.linalg.solve(inner, cross.T)
    weight, mixture = np.linalg.eigh(alone)
    worst, best = 1.0 / np.sqrt(np.maximum(weight, 1e-12))
    if best > KNOWN_TOGETHER or worst < UNKNOWN_APART or np.min(np.abs(mixture[:, 1])) < BOTH:
        return None
    covariance = (mixture / np.maximum(weight, 1e-12)) @ mixture.T
    return float(covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1]))


def _helps(fitted: Fit, rows: Mapping[Extra, FloatArray], pair: tuple[int, int]) -> tuple[Helped, ...]:
    """Expected widths of two unknowns with each measurement added, best first."""
    information = fitted.slopes.T @ fitted.slopes + np.eye(len(fitted.unknowns))
    found = []
    for extra, seen in rows.items():
        covariance = np.linalg.inv(information + seen.T @ seen)
        first, second = (float(np.sqrt(covariance[row, row]) / fitted.narrowing[row]) for row in pair)
        found.append(Helped(extra, (first, second)))
    return tuple(sorted(found, key=lambda helped: helped.worth))


def virtual(fitted: Fit, extra: Extra) -> FloatArray:
    """Change of what a measurement would read per standard deviation of every prior, in its own deviations (V, n)."""
    if extra.sees == "direct":
        return np.array(
            [
                (unknown.spread if unknown.log else unknown.spread / max(abs(x), unknown.spread))
                / (extra.percent / 100.0)
                * (np.arange(len(fitted.unknowns)) == row)
                for row, (unknown, x) in enumerate(zip(fitted.unknowns, fitted.value, strict=True))
                if unknown.key == extra.key
            ]
        )
    scaled = np.concatenate([fitted.scaled[None, :], fitted.scaled + STEP * np.eye(fitted.scaled.size)])
    seen = would_read(fitted.readings, extra, values_at(fitted.unknowns, scaled))
    return np.asarray((seen[1:] - seen[0]).T / STEP)


def would_read(known: Readings, extra: Extra, values: Columns) -> FloatArray:
    """What a measurement would read for guesses at the unknowns, in its own standard deviations, (N, V)."""
    if extra.sees == "direct":
        seen = [column for path, column in values.items() if path.endswith(f".{extra.key}")]
        return np.log(np.maximum(np.concatenate(seen, axis=-1), AS_GOOD_AS_ZERO)) / (extra.percent / 100.0)
    changed = {
        path: np.full_like(column, AS_GOOD_AS_ZERO) if path.endswith(extra.without) else column
        for path, column in values.items()
    }
    return _in_deviations(known, extra, predict(known.bench, changed if extra.without else values))


def _in_deviations(known: Readings, extra: Extra, seen: Predicted) -> FloatArray:
    """A virtual reading divided by how well it would be read."""
    if extra.sees == "pressure":
        assert seen.pressure is not None
        pressure = seen.pressure[:, known.pull_at]
        gauge = to_si("gauge_bar", taken("noise", "pressure_bar"))[1]
        return np.asarray(pressure / np.hypot(gauge, taken("noise", "floor_percent") / 100.0 * pressure[0]))
    forces = np.concatenate([seen.pull[:, known.pull_at], seen.release[:, known.release_at]], axis=-1)
    return np.asarray(forces / known.deviation[: forces.shape[-1]])


def telling(first: Fit, second: Fit, extra: Extra) -> float:
    """How far two explanations of a pull lie apart in what a measurement would read, in its standard deviations.

    What each of them leaves open counts as uncertainty of the reading.
    """
    seen, open_ones = [], []
    for fitted in (first, second):
        reading = would_read(fitted.readings, extra, values_at(fitted.unknowns, fitted.scaled[None, :]))[0]
        slope = virtual(fitted, extra)
        seen.append(reading)
        open_ones.append(slope @ fitted.covariance @ slope.T)
    apart = seen[0] - seen[1]
    spread = np.eye(apart.size) + open_ones[0] + open_ones[1]
    return float(np.sqrt(apart @ np.linalg.solve(spread, apart)))
