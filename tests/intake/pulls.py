"""Pulls that are known because they are made here: a lever goes in and out by plan, and a gauge reads it."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FAR = 24.0
"""Where a pull ends [mm]."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Readings (S,): time [s], travel [mm], force [N], pressure [bar]; way 1 in, -1 out, 0 none; number of the pull."""

    time: Floats
    travel: Floats
    force: Floats
    pressure: Floats
    way: NDArray[np.int64]
    cycle: NDArray[np.int64]


def force_at(travel: Floats, way: NDArray[np.int64]) -> Floats:
    """Force of the invented lever [N]: a straight line with a step, a fifth of friction, nothing at rest."""
    bare = 6.0 + 1.2 * travel + 16.0 / (1.0 + np.exp(-(travel - 10.0) / 0.8))
    return np.asarray(np.where(way < 0, 0.85, 1.1) * bare * (travel > 0.0))


def planned(
    pulls: int = 4, way_in: int = 100, hold: int = 40, rest: int = 60, rate: float = 100.0, even: bool = False
) -> Plan:
    """Pulls of so many readings each way, held at both ends; at an even speed, or slow near the ends like a hand."""
    share = (np.arange(way_in) + 1) / (way_in + 1)
    way_of = share if even else (1.0 - np.cos(np.pi * share)) / 2.0
    travel, way, cycle = [np.zeros(rest)], [np.zeros(rest, int)], [np.zeros(rest, int)]
    for pull in range(pulls):
        parts = ((FAR * way_of, 1), (np.full(hold, FAR), 0), (FAR * way_of[::-1], -1), (np.zeros(rest), 0))
        for part, kind in parts:
            travel.append(part)
            way.append(np.full(part.size, kind))
            cycle.append(np.full(part.size, pull))
    at, ways = np.concatenate(travel), np.concatenate(way)
    force = force_at(at, ways)
    time = np.arange(at.size) / rate
    return Plan(time, at, force, np.maximum(0.0, force - 20.0) / 2.0, ways, np.concatenate(cycle))


def noisy(plan: Plan, seed: int = 1, force: float = 0.5, travel: float = 0.1) -> Plan:
    """What a gauge reads of a plan, with scatter [N, mm]."""
    dice = np.random.default_rng(seed)
    return Plan(
        plan.time,
        plan.travel + dice.normal(0.0, travel, plan.travel.size),
        plan.force + dice.normal(0.0, force, plan.force.size),
        plan.pressure,
        plan.way,
        plan.cycle,
    )


def table(
    file: Path,
    columns: Sequence[tuple[str, Floats]],
    *,
    separator: str = ",",
    comma: bool = False,
    quoted: bool = False,
    above: Sequence[str] = (),
    digits: int = 6,
    encoding: str = "utf-8",
) -> Path:
    """Write columns with the names over them as a logger does, through the standard library."""
    with file.open("w", encoding=encoding, newline="") as stream:
        stream.writelines(f"{line}\n" for line in above)
        writer = csv.writer(
            stream,
            delimiter=separator,
            quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL,
            lineterminator="\n",
        )
        writer.writerow([name for name, _ in columns])
        for row in zip(*(values.tolist() for _, values in columns), strict=True):
            cells = [f"{value:.{digits}f}" for value in row]
            writer.writerow([cell.replace(".", ",") for cell in cells] if comma else cells)
    return file
