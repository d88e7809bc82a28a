"""Many guesses at a job's unknowns side by side, pulled at measured places in one pass."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray, Lever, Wear
from pullcurve.pull.mechanism import Choice, fitted, lever_of
from pullcurve.pull.solve import LeverCurves, solve
from pullcurve.studies.parameters import Unknown, with_values
from pullcurve.units import to_si

INSIDE, FINE = 2, 16
"""Points of the pull that stand for one measured place, spread over its share of the travel; more where a step lies."""

IndexArray = NDArray[np.intp]

OUTSIDE_JOB = ("bench", "fitted")
"""First keys of paths that no part of the job holds."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What a prediction needs besides the unknowns: job, row of the lever, cams, and the measured places (P,).

    ``stepped`` (P,) marks places near which the force steps, because something is met there.
    """

    job: Job
    row: int
    place: FloatArray
    angular: bool
    choice: Choice | None = None
    stepped: BoolArray | None = None


@dataclass(frozen=True, slots=True)
class Predicted:
    """Both branches at the measured places, (N, P): finger forces [N], pressure [Pa] where there is a line."""

    pull: FloatArray
    release: FloatArray
    pressure: FloatArray | None


Columns = Mapping[str, FloatArray]
"""Guesses at unknowns by path: a column (N, 1) each, in the unit of its key."""


def lever_with(bench: Bench, values: Columns) -> Lever:
    """Arrays of the lever with N guesses at some paths side by side; a cam's clocking shifts its law."""
    inside = {path: value for path, value in values.items() if not path.startswith(OUTSIDE_JOB)}
    job = with_values(bench.job, inside)
    lever = lever_of(job, job.unit.levers[bench.row], bench.choice or fitted(job))
    for path, value in values.items():
        if path.startswith("fitted."):
            drives = path.split(".")[1]
            rocker = lever.rocker(drives)
            assert rocker is not None
            breaks = rocker.law.breaks - in_si(path, value)
            lever = lever.with_law(drives, replace(rocker.law, breaks=breaks))
    return lever


def predict(bench: Bench, values: Columns) -> Predicted:
    """What the bench would read for guesses at unknowns, N of them in one pass."""
    lever = lever_with(bench, values)
    zero, offset = (
        in_si(path, values.get(path, np.zeros((1, 1))))
        for path in ("bench.place_zero_mm", "bench.force_zero_newton")
    )
    travel, first = points_of(bench)
    if not bench.angular:
        theta = (travel - zero) / np.asarray(lever.finger_radius)
    else:
        theta = travel - zero / np.asarray(lever.finger_radius)
    curves = solve(lever, np.maximum(theta, 0.0), Wear())

    count = np.diff(first, append=travel.size)

    def averaged(values: FloatArray) -> FloatArray:
        return np.asarray(np.add.reduceat(values, first, axis=-1) / count)

    pull, release = (averaged(np.maximum(force, 0.0)) + offset for force in (curves.pull, curves.release))
    pressure = pressure_of(curves)
    return Predicted(pull, release, None if pressure is None else averaged(pressure))


def points_of(bench: Bench) -> tuple[FloatArray, IndexArray]:
    """Points that stand for the measured places (Q,), and which of them is the first of every place (P,)."""
    place = bench.place
    spacing = float(np.median(np.diff(place))) if place.size > 1 else 0.0
    stepped = np.zeros(place.shape, dtype=np.bool_) if bench.stepped is None else bench.stepped
    points = [
        at + spacing * ((np.arange(count) + 0.5) / count - 0.5)
        for at, count in zip(place.tolist(), np.where(stepped, FINE, INSIDE).tolist(), strict=True)
    ]
    return np.concatenate(points), np.cumsum([0, *(len(known) for known in points[:-1])])


def pressure_of(curves: LeverCurves) -> FloatArray | None:
    """Pressure of the brake's line, or of the clutch's where the lever brakes nothing."""
    for drives in ("brake", "clutch"):
        rocker = curves.rocker(drives)
        if rocker is not None and not np.all(np.isnan(rocker.load.pressure)):
            shape = np.broadcast_shapes(rocker.load.pressure.shape, curves.pull.shape)
            return np.broadcast_to(rocker.load.pressure, shape)
    return None


def in_si(path: str, value: FloatArray) -> FloatArray:
    """A column in SI, by the unit that its path ends in."""
    return np.asarray(value * to_si(path.rpartition(".")[2], 1.0)[1])


def values_at(unknowns: Sequence[Unknown], scaled: FloatArray) -> dict[str, FloatArray]:
    """Columns by path for rows of standard deviations, (N, n)."""
    return {unknown.path: unknown.natural(scaled[:, place, None]) for place, unknown in enumerate(unknowns)}
