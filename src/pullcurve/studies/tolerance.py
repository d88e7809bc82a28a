"""What errors of making, fitting and wear do to what a finger feels, and the tolerance that a finger can justify."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import law
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import Hand, Lever, Mechanism
from pullcurve.pull.loop import STATIONS, LeverPull, pull_lever
from pullcurve.pull.mechanism import Cam, fitted, mechanism
from pullcurve.pull.plate import rocker_of
from pullcurve.pull.readouts import Facet, facets
from pullcurve.studies.candidates import COARSE_STATIONS
from pullcurve.studies.findings import taken
from pullcurve.studies.misfits import Errors, misfit
from pullcurve.studies.wishes import felt_steps, first_surface

AMOUNTS = (1.0e-5, 2.0e-5, 5.0e-5)
"""Errors that are looked at [m]."""

LOSSES = (5.0e-5, 1.0e-4, 2.0e-4)
"""Wear that is looked at [m]."""

HALF_STEP = 0.5
"""Change that a tolerance may use up [felt steps]."""

PLACES = (np.arange(12) + 0.5) / 12.0
"""Where along the travel a bump is put, one at a time."""

PROFILE = ("size", "slope", "bump")
"""Shapes of a profile error."""

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "size": "profile, whole flank",
        "slope": "profile, slowly from rest to end",
        "bump": "profile, one bump",
        "centre_distance": "centre distance",
        "roller_diameter": "roller diameter",
        "clocking": "clocking, at the flank",
        "finger_position": "finger position",
    }
)
"""Errors of making and fitting, in words."""

WEAR: Mapping[str, str] = MappingProxyType(
    {"flank_loss": "flank worn", "roller_loss": "roller diameter worn", "pin_play": "play of both pins"}
)
"""Kinds of wear, in words."""

VARIES = 1e-9
"""Share of a value by which it must vary to be more than rounding [-]."""

Name = tuple[str, str]
Values = dict[Name, FloatArray]


@dataclass(frozen=True, slots=True)
class Effect:
    """What happens to one read-out: nominal value, change (A, Q) over amounts and sources, both SI, felt steps.

    ``change`` is half the difference between plus and minus (of wear: the difference to new); ``steps`` the larger
    of the two felt steps from the nominal value, 0 where no finger feels the read-out.
    """

    of: str
    readout: str
    facet: Facet
    nominal: float
    change: FloatArray
    steps: FloatArray


@dataclass(frozen=True, slots=True)
class Effects:
    """Effects on all read-outs of a lever; ``spread`` (A, Q) is by how much each source was varied [m, rad]."""

    kind: str
    sources: tuple[str, ...]
    amounts: FloatArray
    spread: FloatArray
    effects: tuple[Effect, ...]

    def effect(self, of: str, readout: str) -> Effect:
        """The effect on one read-out."""
        return next(known for known in self.effects if (known.of, known.readout) == (of, readout))


@dataclass(frozen=True, slots=True)
class Scatter:
    """One read-out over many units made at random: mean, standard deviation, 5th and 95th percentile, SI.

    ``felt`` is the share of units that differ from the nominal one by more than half a felt step.
    """

    of: str
    readout: str
    facet: Facet
    nominal: float
    mean: float
    deviation: float
    low: float
    high: float
    felt: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """Shares of a read-out's variance by source, after Sobol: alone, and with what it does together with others."""

    of: str
    readout: str
    sources: tuple[str, ...]
    alone: FloatArray
    total: FloatArray


@dataclass(frozen=True, slots=True)
class Justified:
    """Widest profile tolerance (plus and minus [m]) that no finger can tell; what binds it, at how many felt steps.

    ``binding`` is the read-out and ``shape`` the profile error that would be felt first; both are empty where even
    the widest tolerance that is looked at would not be felt.
    """

    tolerance: float
    binding: Name | None
    facet: Facet | None
    shape: str


@dataclass(frozen=True, slots=True)
class Subject:
    """One lever with its cams, ready to be pulled with errors on the cam that drives ``kind``."""

    kind: str
    lever: Lever
    hand: Hand
    whole: Mechanism
    worn_by: FloatArray
    flank_radius: float

    def pulled(self, errors: Errors, stations: int = STATIONS) -> Values:
        """Read-outs with N sets of errors, each (N,)."""
        lever = misfit(self.lever, self.kind, errors, self.worn_by)
        return values_of(pull_lever(lever, self.hand, self.whole, stations), errors.sets)


def subject(job: Job, kind: str, cam: Cam | None = None, curve: Curve | None = None) -> Subject:
    """The lever of brake, clutch or assist with what is fitted, or with another cam or another law in its place."""
    row, _ = rocker_of(job, kind)
    choice = fitted(job) if cam is None else replace(fitted(job), **{kind: (cam,)})  # type: ignore[arg-type]
    whole = mechanism(job, choice)
    lever, hand = whole.levers[row], whole.hands[row]
    if curve is not None:
        lever = lever.with_law(kind, curve)
    pulled = pull_lever(lever, hand, whole)
    curves, rocker = pulled.curves.rocker(kind), lever.rocker(kind)
    assert curves is not None and rocker is not None
    theta = pulled.curves.theta
    force = np.broadcast_to(curves.contact_pull, theta.shape)
    state = law(rocker.law, theta)
    geometry = (rocker.centre_distance, rocker.arm, rocker.sense, rocker.roller_radius)
    x, y = contact.outline(theta, state.psi, state.dpsi, *geometry)
    return Subject(kind, lever, hand, whole, force / np.max(force), float(np.mean(np.hypot(x, y))))


def values_of(pulled: LeverPull, sets: int) -> Values:
    """Every read-out of a lever by what it belongs to and its name, (N,); per surface, of the first one."""
    both = {"brake": pulled.brake, "clutch": pulled.clutch}
    return {
        (of, name): np.array(np.broadcast_to(first_surface(getattr(known, name), facet), (sets,)))
        for of, known in both.items()
        if known is not None
        for name, facet in facets(known)
    }


def facets_of(known: Subject) -> dict[Name, Facet]:
    """Facets of a lever's read-outs."""
    pulled = pull_lever(known.lever, known.hand, known.whole, COARSE_STATIONS)
    both = {"brake": pulled.brake, "clutch": pulled.clutch}
    return {
        (of, name): facet for of, read in both.items() if read is not None for name, facet in facets(read)
    }


def spread_of(known: Subject, source: str, amount: float) -> float:
    """By how much a source is varied: a finger keeps its place as well as it can, whatever the workshop does."""
    if source == "clocking":
        return amount / known.flank_radius
    return taken("tolerance.finger_position_mm") if source == "finger_position" else amount


# One at a time --------------------------------------------------------------------------------------------------------


def _runs(sources: Sequence[str]) -> list[tuple[str, float]]:
    """Source and place of every run: a bump goes through all its places."""
    return [
        (source, float(place)) for source in sources for place in (PLACES if source == "bump" else PLACES[:1])
    ]


def _one_by_one(runs: Sequence[tuple[str, float]], heights: FloatArray) -> Errors:
    """Errors with a single source each: heights (..., runs) flattened to (N, 1)."""
    names = {source for source, _ in runs}
    sized = {
        name: np.where([source == name for source, _ in runs], heights, 0.0).reshape(-1, 1) for name in names
    }
    place = np.broadcast_to([place for _, place in runs], heights.shape).reshape(-1, 1)
    return Errors(**sized, place=place)


def tolerance(
    job: Job, kind: str, cam: Cam | None = None, amounts: Sequence[float] = AMOUNTS, worn: bool = False
) -> Effects:
    """What each source of error does to each read-out, one source at a time, through the real pull."""
    known = subject(job, kind, cam)
    sources = tuple(WEAR if worn else SOURCES)
    runs = _runs(sources)
    spread = np.array([[spread_of(known, source, amount) for source in sources] for amount in amounts])
    height = np.array([[spread_of(known, source, amount) for source, _ in runs] for amount in amounts])
    ways = np.array([1.0, 0.0 if worn else -1.0])
    found = known.pulled(_one_by_one(runs, ways[:, None, None] * height))
    nominal = known.pulled(Errors())
    owner = np.array([sources.index(source) for source, _ in runs])
    effects = tuple(
        _effect(name, facet, float(nominal[name][0]), found[name].reshape(2, *height.shape), owner, worn)
        for name, facet in facets_of(known).items()
    )
    return Effects(kind, sources, np.asarray(amounts), spread, effects)


def wear(job: Job, kind: str, cam: Cam | None = None, losses: Sequence[float] = LOSSES) -> Effects:
    """What a worn flank, a worn roller and play of the pins do to each read-out."""
    return tolerance(job, kind, cam, losses, worn=True)


def _effect(
    name: Name, facet: Facet, nominal: float, found: FloatArray, owner: NDArray[np.intp], worn: bool
) -> Effect:
    """Effect on one read-out from its values (2, A, runs); among the places of a bump the worst one counts."""
    change = (found[0] - found[1]) / (1.0 if worn else 2.0)
    steps = np.max(np.abs(steps_from(nominal, found, facet)), axis=0)

    def worst(values: FloatArray) -> FloatArray:
        columns = []
        for column in range(int(np.max(owner)) + 1):
            part = values[:, owner == column]
            size = np.where(np.isnan(part), np.inf, np.abs(part))
            columns.append(np.take_along_axis(part, np.argmax(size, axis=-1)[:, None], axis=-1)[:, 0])
        return np.stack(columns, axis=-1)

    return Effect(*name, facet, nominal, worst(change), worst(steps))


def steps_from(nominal: float, found: FloatArray, facet: Facet) -> FloatArray:
    """Felt steps from the nominal value; what is no longer reached, or reached at last, is felt without bound."""
    if facet.felt == "no":
        return np.zeros_like(found)
    gone = np.isnan(found) != np.isnan(nominal)
    both = np.isnan(found) & np.isnan(nominal)
    return np.where(gone, np.inf, np.where(both, 0.0, felt_steps(nominal, found, facet)))


# Many at random -------------------------------------------------------------------------------------------------------


def random_errors(known: Subject, amount: float, sources: Sequence[str], draws: FloatArray) -> Errors:
    """Errors from draws (N, sources + 1) between -1 and 1: every source over its spread, and where the bump is."""
    sized = {
        source: spread_of(known, source, amount) * draws[:, row, None] for row, source in enumerate(sources)
    }
    return Errors(**sized, place=(draws[:, -1, None] + 1.0) / 2.0)


def monte_carlo(
    job: Job,
    kind: str,
    amount: float,
    generator: np.random.Generator,
    samples: int = 1000,
    sources: Sequence[str] = tuple(SOURCES),
    cam: Cam | None = None,
) -> tuple[Scatter, ...]:
    """All sources at once, each evenly spread between plus and minus its tolerance."""
    known = subject(job, kind, cam)
    draws = generator.uniform(-1.0, 1.0, (samples, len(sources) + 1))
    found = known.pulled(random_errors(known, amount, sources, draws), COARSE_STATIONS)
    nominal = known.pulled(Errors(), COARSE_STATIONS)
    return tuple(
        _scatter(name, facet, float(nominal[name][0]), found[name])
        for name, facet in facets_of(known).items()
    )


def _scatter(name: Name, facet: Facet, nominal: float, found: FloatArray) -> Scatter:
    """Statistics of one read-out over the units that reach it."""
    felt = float(np.mean(np.abs(steps_from(nominal, found, facet)) > HALF_STEP))
    reached = found[np.isfinite(found)]
    if reached.size < 2:
        return Scatter(*name, facet, nominal, np.nan, np.nan, np.nan, np.nan, felt)
    low, high = np.percentile(reached, (5.0, 95.0))
    mean, deviation = float(np.mean(reached)), float(np.std(reached, ddof=1))
    return Scatter(*name, facet, nominal, mean, deviation, float(low), float(high), felt)


def ranking(
    job: Job,
    kind: str,
    amount: float,
    seed: int,
    samples: int = 128,
    sources: Sequence[str] = tuple(SOURCES),
    cam: Cam | None = None,
) -> tuple[Ranking, ...]:
    """Which source matters most to each read-out; ``samples`` is a power of two."""
    from SALib.analyze import sobol as analysis  # type: ignore[import-untyped]
    from SALib.sample import sobol as sampling  # type: ignore[import-untyped]

    known = subject(job, kind, cam)
    problem: dict[str, Any] = {
        "num_vars": len(sources) + 1,
        "names": [*sources, "place"],
        # Where a bump is belongs to the bump; without one it is a source that does nothing.
        "groups": [*sources, "bump" if "bump" in sources else "place"],
        "bounds": [[-1.0, 1.0]] * (len(sources) + 1),
    }
    draws = sampling.sample(problem, samples, calc_second_order=False, seed=seed)
    found = known.pulled(random_errors(known, amount, sources, draws), COARSE_STATIONS)
    ranked = []
    for name, values in found.items():
        alone = total = np.full(len(sources), np.nan)
        if np.all(np.isfinite(values)) and np.ptp(values) > VARIES * np.max(np.abs(values)):
            shares = analysis.analyze(problem, values, calc_second_order=False, seed=seed)
            alone, total = (np.asarray(shares[key])[: len(sources)] for key in ("S1", "ST"))
        ranked.append(Ranking(*name, tuple(sources), alone, total))
    return tuple(ranked)


# What a finger can justify --------------------------------------------------------------------------------------------


def justified_tolerance(job: Job, kind: str, cam: Cam | None = None, curve: Curve | None = None) -> Justified:
    """The widest profile tolerance for which no read-out changes by more than half a felt step."""
    known = subject(job, kind, cam, curve)
    nominal, told, runs = known.pulled(Errors()), facets_of(known), _runs(PROFILE)
    felt = [name for name, facet in told.items() if facet.felt != "no"]

    def steps(amounts: FloatArray) -> FloatArray:
        """Felt steps of every read-out at every amount and shape, (R, A, runs)."""
        height = np.array([1.0, -1.0])[:, None, None] * amounts[:, None] * np.ones(len(runs))
        found = known.pulled(_one_by_one(runs, height))
        shaped = [
            steps_from(float(nominal[name][0]), found[name].reshape(height.shape), told[name])
            for name in felt
        ]
        return np.asarray(np.max(np.abs(np.stack(shaped)), axis=1))

    low, high = 0.0, taken("tolerance.tolerance_most_mm")
    for _ in range(3):
        amounts = np.linspace(low, high, 11)[1:]
        reached = steps(amounts)
        over = np.max(reached, axis=(0, 2)) > HALF_STEP
        if not np.any(over):
            return Justified(high, None, None, "")
        first = int(np.argmax(over))
        low, high = (low if first == 0 else float(amounts[first - 1])), float(amounts[first])
        row, run = np.unravel_index(int(np.argmax(reached[:, first])), reached[:, first].shape)
    return Justified(low, felt[int(row)], told[felt[int(row)]], runs[int(run)][0])
