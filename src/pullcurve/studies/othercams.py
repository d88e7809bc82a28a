"""Is another cam fitted than the job says: every cam of the rack against the measured pull, many at a time."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam, Choice, fitted
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.fit import Fit, fit_unknowns
from pullcurve.studies.parameters import Unknown
from pullcurve.studies.prediction import predict, values_at
from pullcurve.studies.readings import WORST, Readings
from pullcurve.studies.squares import STEP

CLOSEST = 3
"""Cams whose pull is fitted in full, after all were fitted in one step."""


@dataclass(frozen=True, slots=True)
class OtherCam:
    """One cam that may be fitted instead, and the pull fitted with it."""

    drives: str
    cam: Cam
    fit: Fit


def others(job: Job, row: int) -> dict[str, tuple[Cam, ...]]:
    """Cams of the rack with another law, by what they drive; another reach is seen in the gap, not in the pull."""
    found: dict[str, tuple[Cam, ...]] = {}
    for rocker in job.unit.levers[row].rockers:
        now = getattr(job.fitted, rocker.drives)
        if job.rack is None or now is None:
            continue
        rack: tuple[Cam, ...] = getattr(job.rack, f"{rocker.drives}_cams")
        laws = dict.fromkeys(cam.model_copy(update={"reach_deg": now.reach_deg}) for cam in rack)
        found[rocker.drives] = tuple(cam for cam in laws if cam != now)
    return found


def count(job: Job, row: int) -> int:
    """How many other cams there are."""
    return sum(map(len, others(job, row).values()))


def closest(job: Job, measured: Branches, known: Readings, wanted: tuple[Unknown, ...]) -> Iterator[OtherCam]:
    """The cams of the rack whose pull comes closest, fitted in full."""
    rough = [
        (evidence, drives, cam, start)
        for drives, cams in others(job, known.bench.row).items()
        if cams
        for evidence, cam, start in _rough(job, known, wanted, drives, cams)
    ]
    for _, drives, cam, start in sorted(rough, key=lambda one: -one[0])[:CLOSEST]:
        bench = replace(known.bench, choice=with_cams(job, drives, (cam,)))
        told = fit_unknowns(measured, replace(known, bench=bench), wanted, start, looks=1)
        yield OtherCam(drives, cam, told)


def with_cams(job: Job, drives: str, cams: tuple[Cam, ...]) -> Choice:
    """What is fitted, with cams side by side in the place of one."""
    return replace(fitted(job), **{drives: cams})  # type: ignore[arg-type]


def _rough(
    job: Job, known: Readings, wanted: tuple[Unknown, ...], drives: str, cams: tuple[Cam, ...]
) -> Iterator[tuple[float, Cam, FloatArray]]:
    """Evidence of every cam from one step of least squares, all cams pulled side by side for every slope."""
    bench = replace(known.bench, choice=with_cams(job, drives, cams))
    size = len(wanted)
    low, high = (np.array(ends) for ends in zip(*(unknown.bounds for unknown in wanted), strict=True))
    middle = np.clip(np.zeros(size), low, high - STEP)
    guesses = np.concatenate([middle[None, :], middle + STEP * np.eye(size)])
    seen = np.stack([known.row_of(predict(bench, values_at(wanted, guess[None, :]))) for guess in guesses])
    off = (seen - known.value) / known.deviation
    off = np.where(np.isfinite(off), off, WORST)
    for column, cam in enumerate(cams):
        rest, slope = off[0, column], ((off[1:, column] - off[0, column]) / STEP).T
        information = slope.T @ slope + np.eye(size)
        move = -np.linalg.solve(information, slope.T @ rest + middle)
        start = np.clip(middle + move, low, high)
        left = rest + slope @ (start - middle)
        evidence = -0.5 * float(left @ left + start @ start) - 0.5 * float(np.linalg.slogdet(information)[1])
        yield evidence, cam, start
