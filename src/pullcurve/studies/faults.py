"""What may be wrong on a machine: the bands in which a fault puts the numbers of a job, and what to look at first."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pullcurve.parts.facts import table
from pullcurve.parts.job import Job
from pullcurve.parts.loads import CableClutchCircuit
from pullcurve.studies.complaints import Cause, complaints
from pullcurve.studies.parameters import Unknown


@dataclass(frozen=True, slots=True)
class Band:
    """Where a fault puts a number: ending of its path, and ends by kind of hose or for all."""

    key: str
    ends: Mapping[str, tuple[float, float]]
    of_given: bool

    def on(self, unknown: Unknown, hose: str) -> Unknown:
        """The unknown with this band as its prior."""
        low, high = self.ends.get(hose) or self.ends["all"]
        size = unknown.value if self.of_given else 1.0
        return unknown.banded(low * size, high * size)


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: how often it is met against ``healthy_odds``, its ways to show, and its words."""

    name: str
    lever: str
    load: str
    odds: float
    ways: tuple[tuple[Band, ...], ...]
    cause: str
    shows: str
    checks: tuple[Cause, ...]
    checks_of: tuple[str, ...]
    """What each check is about: brake, clutch or any."""

    def checks_on(self, kind: str) -> tuple[Cause, ...]:
        """Checks that are about brake or clutch."""
        pairs = zip(self.checks, self.checks_of, strict=True)
        return tuple(check for check, of in pairs if of in ("any", kind))


@cache
def faults() -> tuple[Fault, ...]:
    """All faults that the data file knows."""
    return tuple(_read(entry) for entry in table("faults")["fault"])


def healthy_odds() -> float:
    """What the odds of faults are counted against."""
    return float(table("faults")["healthy"]["odds"])


def wrong_cam() -> Fault:
    """The fault of another cam than the job says; its ways are the cams of the rack."""
    return _read(
        {
            "name": "wrong cam fitted",
            "lever": "any",
            "load": "any",
            "ways": [],
            **table("faults")["wrong_cam"],
        }
    )


def _read(entry: Mapping[str, Any]) -> Fault:
    """One entry of the data file."""
    told = [
        (lever, Cause(cause.cause, cause.check))
        for lever, complaint, name in entry.get("checks", ())
        for known in complaints()
        if (known.lever, known.name) == (lever, complaint)
        for cause in known.causes
        if cause.cause == name
    ]
    if "check" in entry:
        told.insert(0, ("any", Cause(str(entry["cause"]), str(entry["check"]))))
    return Fault(
        name=str(entry["name"]),
        lever=str(entry["lever"]),
        load=str(entry["load"]),
        odds=float(entry["odds"]),
        ways=tuple(tuple(_band(band) for band in way) for way in entry["ways"]),
        cause=str(entry["cause"]),
        shows=str(entry["shows"]),
        checks=tuple(cause for _, cause in told),
        checks_of=tuple(str(lever) for lever, _ in told),
    )


def _band(entry: Mapping[str, Any]) -> Band:
    ends = {
        kind: (float(entry[kind][0]), float(entry[kind][1]))
        for kind in ("braided", "rubber")
        if kind in entry
    }
    if "low" in entry:
        ends["all"] = (float(entry["low"]), float(entry["high"]))
    return Band(str(entry["key"]), ends, entry.get("of") == "given")


@dataclass(frozen=True, slots=True)
class Way:
    """One way in which a fault can be there: the unknowns with its bands as priors, and which ones those are.

    ``kind`` is the brake or the clutch that has it, ``alone`` whether the lever drives nothing else.
    """

    fault: Fault
    kind: str
    alone: bool
    unknowns: tuple[Unknown, ...]
    paths: tuple[str, ...]


def ways(job: Job, row: int, wanted: tuple[Unknown, ...]) -> tuple[Way, ...]:
    """Every way in which something of a lever or its loads can be wrong."""
    drives = [rocker.drives for rocker in job.unit.levers[row].rockers if rocker.drives != "assist"]
    return tuple(
        _way(job, known, way, wanted, f"rockers.{place}.", kind, len(drives) == 1)
        for known in faults()
        for place, kind in enumerate(drives)
        if known.lever in ("any", kind) and known.load in ("any", _load(job, kind))
        for way in known.ways
    )


def _load(job: Job, kind: str) -> str:
    cable = kind == "clutch" and isinstance(job.clutch_circuit, CableClutchCircuit)
    return "cable" if cable else "hydraulic"


def _way(
    job: Job,
    known: Fault,
    way: tuple[Band, ...],
    wanted: tuple[Unknown, ...],
    rocker: str,
    kind: str,
    alone: bool,
) -> Way:
    """The unknowns with the bands of one way on those that belong to one rocker and its line."""
    line = job.brake_circuit if kind == "brake" else job.clutch_circuit
    hose = str(getattr(line, "hose_kind", "all"))

    def mine(path: str) -> bool:
        if "rockers." in path:
            return rocker in path
        other = "clutch" if kind == "brake" else "brake"
        return not path.startswith((f"{other}", f"fitted.{other}"))

    changed, paths = list(wanted), []
    for place, unknown in enumerate(wanted):
        band = next((band for band in way if unknown.path.endswith(f".{band.key}")), None)
        if band is not None and mine(unknown.path):
            changed[place] = band.on(unknown, hose)
            paths.append(unknown.path)
    return Way(known, kind, alone, tuple(changed), tuple(paths))


def cause_of(way: Way) -> str:
    """What a fault is called when it is found, with the side of a clocked cam, and whose it is where that is open."""
    told = way.fault.cause if way.alone else f"{way.fault.cause} ({way.kind})"
    moved = next((u for u in way.unknowns if u.path in way.paths and u.key == "clocking_deg"), None)
    if moved is None:
        return told
    return f"{told} (the cam sits {'ahead of' if moved.centre > 0 else 'behind'} its place)"
