"""Is it the cam at all: how probable each fault is against a healthy machine, given one measured pull."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.studies.benchpull import Branches, LeverKind
from pullcurve.studies.complaints import Cause
from pullcurve.studies.faults import Fault, Way, cause_of, healthy_odds, ways, wrong_cam
from pullcurve.studies.fit import Fit, bounds_of, fit_roughly, fit_unknowns, said
from pullcurve.studies.othercams import closest, count
from pullcurve.studies.parameters import Unknown, unknowns
from pullcurve.studies.readings import Readings, readings, thinned
from pullcurve.studies.reasons import CamFelt, cam_felt, shape
from pullcurve.studies.separating import Extra, extras, telling

HEALTHY = "healthy"

CLOSE_CALL = 0.15
"""A second cause at least this probable is worth a measurement [-]."""

STEPS = 12
"""Steps of least squares for one fault."""

WORTH = 40.0
"""How much farther from the readings than its end a second search for a fault may start and still be worth it."""

CLOSE_BY = 6.0
"""Logarithm of the evidence by which an explanation may be behind and is still searched for thoroughly."""

ALIKE = 2.0
"""Logarithm of the evidence within which two cams fit alike."""

LUCKY = 0.5
"""A bench that scatters less about the best explanation than it was taken to is a better bench, up to this share of
the squares; one that scatters more is a worse one, by all of them."""

STRANGE = 4.0
"""Chi square per degree of freedom beyond which none of the causes explains the pull."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause with its probability, the fit that it gives, the numbers that it moves, and its words.

    ``name`` is "healthy" where nothing is wrong. ``checks`` are what to look at first.
    """

    name: str
    cause: str
    probability: float
    fit: Fit
    paths: tuple[str, ...]
    shows: str
    checks: tuple[Cause, ...]

    @property
    def found(self) -> tuple[tuple[Unknown, float], ...]:
        """The numbers that the fault moves, with what the fit says of them."""
        return tuple(
            (self.fit.unknowns[row], float(self.fit.value[row])) for row in map(self.fit.place, self.paths)
        )


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All causes, most probable first, and what follows.

    ``shape`` says how the pull differs from the job as written; ``strange`` is set where no cause explains the pull;
    ``what_else`` is the measurement that tells a close call; ``cam`` what mending and what a cam would change.
    """

    suspects: tuple[Suspect, ...]
    shape: str
    strange: bool
    what_else: Extra | None
    cam: CamFelt

    @property
    def first(self) -> Suspect:
        """The most probable cause."""
        return self.suspects[0]

    @property
    def healthy(self) -> float:
        """How probable it is that nothing is wrong."""
        return next(suspect.probability for suspect in self.suspects if suspect.name == HEALTHY)


@dataclass(frozen=True, slots=True)
class _Heard:
    """One explanation of the pull with its weight before and after the pull was seen."""

    name: str
    cause: str
    odds: float
    fit: Fit
    paths: tuple[str, ...]
    fault: Fault | None
    checks: tuple[Cause, ...]


def diagnose(job: Job, measured: Branches, lever: LeverKind) -> Diagnosis:
    """What a measured pull says is wrong, if anything; raises BadInput where too little was measured."""
    measured = thinned(measured)
    known = readings(job, measured, lever)
    wanted = unknowns(job, known.bench.row)
    all_ways = ways(job, known.bench.row, wanted)
    fits = _fit_all(all_ways, measured, known, wanted)
    heard = [
        _Heard(
            HEALTHY, "nothing: all numbers lie where they usually do", healthy_odds(), fits[0], (), None, ()
        )
    ]
    heard += [_heard(way, told) for way, told in zip(all_ways, fits[1:], strict=True)]
    heard += _other_cams(job, measured, known, wanted)
    least = min(one.fit.reduced for one in heard)
    scale = max(least, LUCKY)
    logs = np.array([np.log(one.odds) + one.fit.evidence_at(scale) for one in heard])
    weights = np.exp(logs - np.max(logs))
    suspects = tuple(_suspects(heard, weights / np.sum(weights)))
    first_one = suspects[0]
    return Diagnosis(
        suspects=suspects,
        shape=shape(measured, first_one.fit, first_one.name == HEALTHY),
        strange=least > STRANGE,
        what_else=_what_else(suspects),
        cam=cam_felt(job, first_one.fit, first_one.paths),
    )


def _fit_all(
    all_ways: tuple[Way, ...], measured: Branches, known: Readings, wanted: tuple[Unknown, ...]
) -> list[Fit]:
    """The pull fitted as that of a machine in order, then with every fault.

    Every fault is tried a second time from where the best explanation ended, so that none is passed over because its
    search got stuck; around those that come closest the search is thorough.
    """
    healthy = fit_unknowns(measured, known, wanted)
    moved = [(), *(way.paths for way in all_ways)]

    def first(way: Way) -> Fit:
        start, _ = _nearest(way.unknowns, way.paths, known, (None, healthy))
        return fit_roughly(measured, known, way.unknowns, start, STEPS)

    def second(told: Fit, paths: tuple[str, ...]) -> Fit:
        start, cost = _nearest(told.unknowns, paths, known, (best,))
        if told is best or best is healthy or cost > told.cost + WORTH:
            return told
        return _better(told, fit_roughly(measured, known, told.unknowns, start, STEPS))

    def thorough(told: Fit) -> Fit:
        if told is healthy or told.evidence < most - CLOSE_BY:
            return told
        return _better(told, fit_unknowns(measured, known, told.unknowns, told.scaled, looks=1))

    with ThreadPoolExecutor(max_workers=2) as pool:
        fits = [healthy, *pool.map(first, all_ways)]
        best = max(fits, key=lambda told: told.evidence)
        fits = list(pool.map(second, fits, moved))
        most = max(told.evidence for told in fits)
        return list(pool.map(thorough, fits))


def _better(one: Fit, other: Fit) -> Fit:
    """The one with the lesser cost."""
    return other if other.cost < one.cost else one


def _nearest(
    wanted: tuple[Unknown, ...], paths: tuple[str, ...], known: Readings, starts: Sequence[Fit | None]
) -> tuple[FloatArray, float]:
    """Where the search for a fault begins, and the cost there: the fault in the middle of its bands.

    All else begins where the job says, or where another explanation ended, whichever is nearer to the readings.
    """
    moved = np.array([unknown.path in paths for unknown in wanted])
    others = [said(wanted) if told is None else _moved(wanted, told) for told in starts]
    guesses = np.where(moved, 0.0, np.clip(np.stack(others), *bounds_of(wanted)))
    cost = np.sum(known.off(wanted, guesses) ** 2, axis=-1) + np.sum(guesses**2, axis=-1)
    row = int(np.argmin(cost))
    return guesses[row], 0.5 * float(cost[row])


def _moved(wanted: tuple[Unknown, ...], best: Fit) -> FloatArray:
    """Where another fit ended, in the scale of these unknowns."""
    return np.array([unknown.scaled(float(x)) for unknown, x in zip(wanted, best.value, strict=True)])


def _heard(way: Way, told: Fit) -> _Heard:
    odds = way.fault.odds / len(way.fault.ways)
    checks = way.fault.checks_on(way.kind)
    return _Heard(way.fault.name, cause_of(way), odds, told, way.paths, way.fault, checks)


def _other_cams(
    job: Job, measured: Branches, known: Readings, wanted: tuple[Unknown, ...]
) -> Iterator[_Heard]:
    """The pull fitted with the cams of the rack that come closest; the odds are shared by all of them."""
    fault = wrong_cam()
    near = sorted(closest(job, measured, known, wanted), key=lambda other: -other.fit.evidence)
    alike = [other.cam.name for other in near if other.fit.evidence > near[0].fit.evidence - ALIKE]
    cause = f"{fault.cause}: {' or '.join(alike)}"
    odds = fault.odds / max(count(job, known.bench.row), 1)
    for other in near:
        yield _Heard(fault.name, cause, odds, other.fit, (), fault, fault.checks)


def _suspects(heard: list[_Heard], shares: np.ndarray) -> Iterator[Suspect]:
    """One suspect per fault, its ways added up, the most probable way speaking; most probable first."""
    names = list(dict.fromkeys(one.name for one in heard))
    total = {
        name: sum(float(p) for one, p in zip(heard, shares, strict=True) if one.name == name)
        for name in names
    }
    for name in sorted(names, key=lambda name: -total[name]):
        mine = [
            (float(p), row)
            for row, (one, p) in enumerate(zip(heard, shares, strict=True))
            if one.name == name
        ]
        best = heard[max(mine)[1]]
        shows = (
            best.fault.shows
            if best.fault
            else "Force and travel are what the parts and their usual spread give."
        )
        yield Suspect(name, best.cause, total[name], best.fit, best.paths, shows, best.checks)


def _what_else(suspects: tuple[Suspect, ...]) -> Extra | None:
    """The measurement that would best tell the first cause from the second, if they lie close."""
    if len(suspects) < 2 or suspects[1].probability < CLOSE_CALL:
        return None
    first, second = suspects[0].fit, suspects[1].fit
    return max(extras(first), key=lambda extra: telling(first, second, extra), default=None)
