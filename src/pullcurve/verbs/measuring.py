"""A measured pull: read it, fit it, say what is wrong, compare it, and put what it told into the job."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.bench import read_bench
from pullcurve.intake.benchmemory import Naming, read_remembered
from pullcurve.intake.benchrecord import write_bench
from pullcurve.intake.gauge import Gauge, Sample, SimulatedGauge, capture
from pullcurve.intake.serialgauge import SerialGauge
from pullcurve.parts.job import Job
from pullcurve.pull.loop import pull as pull_mechanism
from pullcurve.pull.mechanism import mechanism
from pullcurve.studies.adopt import adopted
from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import BenchPull, Branches, LeverKind
from pullcurve.studies.compare import Compared, compare, predicted_branches
from pullcurve.studies.diagnose import Diagnosis, diagnose
from pullcurve.studies.fit import Fit, fit
from pullcurve.studies.prediction import Predicted, predict
from pullcurve.studies.readings import row_of_lever
from pullcurve.studies.separating import Mixed, mixed
from pullcurve.verbs.asking import cams_named, refitted
from pullcurve.verbs.jobs import demo_job, demo_names, open_job

SIMULATED = "simulated"
"""How the gauge that plays the pull of the job is asked for."""

PLAYED = "simulated gauge"

NOISE_NEWTON, NOISE_MM = 0.3, 0.05
"""Scatter of the simulated gauge."""

PREDICTED = "predicted"


@dataclass(frozen=True, slots=True)
class Measured:
    """A bench pull with the job and the lever that it is about, and its mean branches."""

    job: Job
    lever: LeverKind
    pull: BenchPull
    branches: Branches


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fitted pull: the fit, what the job as written predicts, what the pull alone cannot tell apart."""

    measured: Measured
    fit: Fit
    written: Predicted
    mixed: tuple[Mixed, ...]


@dataclass(frozen=True, slots=True)
class Diagnosed:
    """A pull with what it says is wrong, if anything."""

    measured: Measured
    diagnosis: Diagnosis
    written: Predicted


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two pulls at equal travel, with what each is called."""

    before: Branches
    after: Branches
    labels: tuple[str, str]
    compared: Compared
    lever: LeverKind | None


# Read ---------------------------------------------------------------------------------------------------------


def read_pull(
    path: Path | str,
    *,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    drop_first: bool = False,
    memory: Path | None = None,
) -> BenchPull:
    """Read a bench pull from any logger's table; raises BadInput where the file cannot be used.

    What is said of its columns is remembered in the folder ``memory``, if one is given, for the next such file.
    """
    said = Naming(dict(columns or {}), dict(units or {}))
    if memory is None:
        return read_bench(path, columns=said.columns, units=said.units, drop_first=drop_first)
    return read_remembered(path, memory, said, drop_first=drop_first)


def on_job(
    pull: BenchPull,
    job: Job | None = None,
    lever: LeverKind | None = None,
    folder: Path | None = None,
) -> Measured:
    """A bench pull on its job: the given one, else the one that the file names, beside it or among the demo jobs.

    Cams that the file names as fitted are put on. Raises BadInput where no job or no lever is told.
    """
    known = job if job is not None else _named_job(pull, folder)
    if pull.fitted:
        known = refitted(known, cams_named(known, pull.fitted))
    about = lever or pull.lever or _only_lever(known, pull.name)
    row_of_lever(known, about)
    return Measured(known, about, pull, branches(pull))


def _named_job(pull: BenchPull, folder: Path | None) -> Job:
    """The job that the file names."""
    if pull.job is None:
        raise BadInput(Fault(pull.name, "", "names no job; give --job, or write `# job: FILE.toml` on top"))
    beside = (folder or Path()) / pull.job
    if not beside.is_file() and Path(pull.job).name in demo_names():
        return demo_job(Path(pull.job).name)
    return open_job(beside)


def _only_lever(job: Job, name: str) -> LeverKind:
    """What a pull is about, where the unit leaves no choice."""
    drives = {rocker.drives for lever in job.unit.levers for rocker in lever.rockers}
    known: list[LeverKind] = [kind for kind in ("brake", "clutch") if kind in drives]
    if len(known) != 1:
        said = "does not say which lever it is about; give --lever brake or --lever clutch"
        raise BadInput(Fault(name, "", said))
    return known[0]


# Fit, diagnose, compare, adopt --------------------------------------------------------------------------------


def fit_pull(measured: Measured) -> Fitted:
    """Fit the numbers of the job to a measured pull; raises BadInput where too little was measured."""
    told = fit(measured.job, measured.branches, measured.lever)
    return Fitted(measured, told, predict(told.readings.bench, {}), mixed(told))


def diagnose_pull(measured: Measured) -> Diagnosed:
    """Say what a measured pull says is wrong, if anything, and whether another cam would be felt."""
    told = diagnose(measured.job, measured.branches, measured.lever)
    return Diagnosed(measured, told, predict(told.first.fit.readings.bench, {}))


def compare_pulls(before: BenchPull, after: BenchPull) -> Comparison:
    """Two measured pulls: before and after, or one machine and another."""
    both = branches(before), branches(after)
    labels = (before.name, after.name) if before.name != after.name else ("before", "after")
    return Comparison(*both, labels, compare(*both), before.lever or after.lever)


def against_predicted(measured: Measured) -> Comparison:
    """A measured pull against what the job predicts at the same places."""
    like = measured.branches
    expected = predicted_branches(measured.job, measured.lever, like)
    labels = (PREDICTED, measured.pull.name)
    return Comparison(expected, like, labels, compare(expected, like), measured.lever)


def adopt(fitted: Fitted, day: date) -> Job:
    """The job with every number that the pull told, marked as measured on a day."""
    return adopted(fitted.measured.job, fitted.fit, day)


# Live ---------------------------------------------------------------------------------------------------------


def gauge_of(
    name: str,
    *,
    baud: int | None = None,
    job: Job | None = None,
    lever: LeverKind | None = None,
    pulls: int = 3,
    wait: Callable[[float], None] | None = None,
) -> Gauge:
    """A gauge by the name of its serial port, or the simulated one, which plays the pull of a job's lever."""
    if name != SIMULATED:
        return SerialGauge(name) if baud is None else SerialGauge(name, baud)
    known = job if job is not None else demo_job()
    kind = lever or _only_lever(known, PLAYED)
    known_pull = pull_mechanism(mechanism(known)).levers[row_of_lever(known, kind)]
    travel, inward, outward = (
        np.asarray(getattr(known_pull.curves, key)).reshape(-1) for key in ("travel", "pull", "release")
    )
    return SimulatedGauge(
        place=np.concatenate([travel, travel[::-1]]),
        force=np.maximum(np.concatenate([inward, outward[::-1]]), 0.0),
        pulls=pulls,
        force_noise=NOISE_NEWTON,
        place_noise=NOISE_MM * 1e-3,
        name=PLAYED,
        wait=wait,
    )


def capture_pull(
    gauge: Gauge,
    seconds: float | None = None,
    *,
    told: Callable[[Sample], None] | None = None,
    drop_first: bool = False,
) -> BenchPull:
    """Take a pull from a gauge, for some seconds or until the gauge has no more."""
    return capture(gauge, seconds, told=told, drop_first=drop_first)


__all__ = [
    "Comparison",
    "Diagnosed",
    "Fitted",
    "Measured",
    "adopt",
    "against_predicted",
    "capture_pull",
    "compare_pulls",
    "diagnose_pull",
    "fit_pull",
    "gauge_of",
    "on_job",
    "read_pull",
    "write_bench",
]
