"""Machines that are not quite what their job says, pulled on the independent road and read by a poor bench."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.random import Generator, default_rng

from pullcurve.intake.bench import bench_pull
from pullcurve.intake.benchlog import Log
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import travel_end
from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import BenchPull, Branches, LeverKind
from pullcurve.studies.faults import Way, ways
from pullcurve.studies.parameters import BAND, Unknown, unknowns
from pullcurve.verbs.jobs import demo_job
from tests.road.bench import USUAL, Curve, Habits, record, walk
from tests.road.jobs import road_lever


@dataclass(frozen=True, slots=True)
class Bike:
    """One lever of one demo job."""

    name: str
    row: int
    lever: LeverKind

    @property
    def job(self) -> Job:
        """What its file says."""
        return job_of(self.name)

    @property
    def unknowns(self) -> tuple[Unknown, ...]:
        """What a pull is to tell of it."""
        return unknowns(self.job, self.row)

    @property
    def ways(self) -> tuple[Way, ...]:
        """What may be wrong with it."""
        return ways(self.job, self.row, self.unknowns)


BRAKE = Bike("enduro-300.toml", 0, "brake")
CLUTCH = Bike("enduro-300.toml", 1, "clutch")
CABLE = Bike("enduro-250.toml", 1, "clutch")
TOGETHER = Bike("enduro-125.toml", 0, "brake")
BIKES = {
    "brake": BRAKE,
    "hydraulic clutch, assist": CLUTCH,
    "cable clutch, assist": CABLE,
    "one lever": TOGETHER,
}


@cache
def job_of(name: str) -> Job:
    return demo_job(name)


@cache
def end_of(bike: Bike) -> float:
    """Lever angle where the travel ends."""
    return float(travel_end(mechanism(bike.job).levers[bike.row])[0])


def truth_of(wanted: Sequence[Unknown], dice: Generator, within: float = BAND) -> dict[str, float]:
    """One machine by the dice: every number by its prior, inside its band and inside what its field allows."""
    drawn = {}
    for unknown in wanted:
        low, high = unknown.bounds
        z = float(np.clip(np.clip(dice.normal(), -within, within), low, high))
        if unknown.behind != "bench" or unknown.key == "clocking_deg":
            drawn[unknown.path] = float(unknown.natural(np.array(z)))
    return drawn


def faulty(way: Way, wanted: Sequence[Unknown], dice: Generator) -> dict[str, float]:
    """A machine with one fault, anywhere inside the bands of the fault."""
    drawn = truth_of(wanted, dice)
    for unknown in way.unknowns:
        if unknown.path in way.paths:
            drawn[unknown.path] = float(unknown.natural(dice.uniform(-BAND, BAND, ())))
    return drawn


def curve_of(bike: Bike, truth: dict[str, float], job: Job | None = None) -> Curve:
    """What a perfect bench would read of a machine, with other cams where another job is given."""
    return walk(road_lever(job or bike.job, bike.row, truth), end_of(bike))


def bench_of(curve: Curve, dice: Generator, habits: Habits = USUAL, gauge: bool = False) -> BenchPull:
    """What the package makes of a poor bench's readings, with a gauge in the line if wished; no two are alike."""
    known = record(curve, dice, habits)
    pressure = known.pressure if gauge else None
    return bench_pull(
        Log(Path("bench.csv"), known.travel, False, known.force, pressure=pressure, time=known.time)
    )


def measured(bike: Bike, truth: dict[str, float], dice: Generator, habits: Habits = USUAL) -> Branches:
    """The mean pull of a machine on a poor bench."""
    return branches(bench_of(curve_of(bike, truth), dice, habits))


def case(bike: Bike, number: int, within: float = BAND) -> tuple[dict[str, float], Branches]:
    """One machine in order, and its pull."""
    dice = default_rng([number, bike.row])
    truth = truth_of(bike.unknowns, dice, within)
    return truth, measured(bike, truth, dice)


def faulty_case(bike: Bike, way: Way, number: int) -> tuple[dict[str, float], Branches]:
    """One machine with a fault, and its pull."""
    dice = default_rng([number, bike.row, len(way.paths)])
    truth = faulty(way, bike.unknowns, dice)
    return truth, measured(bike, truth, dice)
