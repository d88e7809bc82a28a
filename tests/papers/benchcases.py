"""Measured pulls for the tests of their figures: machines of the independent road, fitted, and odd ones."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.random import default_rng

from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.compare import Compared, compare, predicted_branches
from pullcurve.studies.fit import Fit, fit
from pullcurve.studies.prediction import Bench, Predicted, predict
from tests.studies.bikes import BRAKE, CABLE, CLUTCH, TOGETHER, Bike, case

REAL: dict[str, tuple[Bike, int]] = {
    "brake": (BRAKE, 3),
    "stiff brake": (BRAKE, 8),
    "clutch": (CLUTCH, 3),
    "cable": (CABLE, 4),
    "one lever": (TOGETHER, 3),
}

ODD = (
    "pressure",
    "angles",
    "holes",
    "no release",
    "nothing read",
    "tiny",
    "huge",
    "far from written",
    "without written",
    "great doubt",
    "endless",
    "one place",
)
"""Fits that are out of the ordinary."""

ODD_PAIRS = ("angles", "alike", "far apart", "no release", "nothing read", "silent", "short", "great doubt")
"""Pairs that are out of the ordinary."""


@dataclass(frozen=True, slots=True)
class FitCase:
    """A fitted pull with what the job as written predicts."""

    fit: Fit
    written: Predicted | None


@dataclass(frozen=True, slots=True)
class PairCase:
    """Two pulls and what is between them."""

    before: Branches
    after: Branches
    compared: Compared
    labels: tuple[str, str] = ("before", "after")


@cache
def fitted(name: str) -> FitCase:
    """A machine in order, pulled on the road and fitted."""
    bike, number = REAL[name]
    told = fit(bike.job, case(bike, number)[1], bike.lever)
    return FitCase(told, predict(told.readings.bench, {}))


@cache
def with_pressure() -> FitCase:
    """A brake with a gauge in its line, as good as one reads it."""
    bike, pull = BRAKE, case(BRAKE, 8)[1]
    seen = predict(Bench(bike.job, bike.row, pull.place, False), {}).pressure
    assert seen is not None
    read = seen[0] + default_rng(1).normal(0.0, 3e4, seen.shape[1])
    told = fit(bike.job, replace(pull, pull_pressure=read, release_pressure=read - 1e4), bike.lever)
    return FitCase(told, predict(told.readings.bench, {}))


@cache
def with_angles() -> FitCase:
    """A brake whose lever angle was read instead of travel."""
    bike, pull = BRAKE, case(BRAKE, 7)[1]
    radius = bike.job.unit.levers[bike.row].finger_radius_mm / 1e3
    told = fit(bike.job, replace(pull, place=pull.place / radius, angular=True), bike.lever)
    return FitCase(told, predict(told.readings.bench, {}))


def changed(known: FitCase, **arrays: FloatArray) -> FitCase:
    """A fit with other readings; what is left of them follows."""
    measured = replace(known.fit.measured, **arrays)  # type: ignore[arg-type]
    return refitted(known, measured, known.fit.predicted)


def refitted(known: FitCase, measured: Branches, predicted: Predicted) -> FitCase:
    """A fit with other readings and predictions."""
    with np.errstate(invalid="ignore"):
        left = measured.pull - predicted.pull[0], measured.release - predicted.release[0]
    told = replace(
        known.fit, measured=measured, predicted=predicted, pull_residual=left[0], release_residual=left[1]
    )
    return replace(known, fit=told)


def scaled(known: FitCase, by: float) -> FitCase:
    """The same pull with all forces so many times as large."""
    old = known.fit.measured
    forces = {key: getattr(old, key) * by for key in FORCES}
    measured = replace(old, **forces)
    predicted = Predicted(by * known.fit.predicted.pull, by * known.fit.predicted.release, None)
    found = refitted(known, measured, predicted)
    readings = replace(known.fit.readings, deviation=by * known.fit.readings.deviation)
    return replace(found, fit=replace(found.fit, readings=readings), written=None)


FORCES = ("pull", "release", "pull_deviation", "release_deviation")


def odd_fit(name: str) -> FitCase:
    """A fit that is out of the ordinary."""
    return with_pressure() if name == "pressure" else with_angles() if name == "angles" else broken(name)


def broken(name: str) -> FitCase:
    """A brake whose readings or predictions are odd."""
    known = fitted("brake")
    old, written = known.fit.measured, known.written
    assert written is not None
    away, rows = np.full(old.place.shape, np.nan), np.arange(old.place.size)
    nothing = Predicted(away[None], away[None], None)
    nowhere = replace(old, pull=away, release=away, pull_deviation=away, release_deviation=away)
    gaps = np.where((rows > 15) & (rows < 20), np.nan, old.pull), np.where(rows % 7 == 0, np.nan, old.release)
    return {
        "holes": changed(known, pull=gaps[0], release=gaps[1]),
        "no release": changed(known, release=away, release_deviation=away),
        "nothing read": replace(refitted(known, nowhere, nothing), written=nothing),
        "tiny": scaled(known, 1e-7),
        "huge": scaled(known, 1e8),
        "far from written": replace(
            known, written=Predicted(12.0 * written.pull, 9.0 * written.release, None)
        ),
        "without written": replace(known, written=None),
        "great doubt": changed(known, pull_deviation=np.full(old.place.shape, 400.0)),
        "endless": changed(known, pull=np.where(old.pull > 60.0, np.inf, old.pull)),
        "one place": one_place(known),
    }[name]


def one_place(known: FitCase) -> FitCase:
    """A fit of which one place is left."""
    old, readings = known.fit.measured, known.fit.readings
    row = int(np.flatnonzero(readings.pull_at & readings.release_at)[10])
    measured = replace(old, place=old.place[[row]], **{key: getattr(old, key)[[row]] for key in FORCES})
    predicted = Predicted(known.fit.predicted.pull[:, [row]], known.fit.predicted.release[:, [row]], None)
    one = np.ones(1, dtype=np.bool_)
    found = refitted(replace(known, written=None), measured, predicted)
    left = replace(readings, deviation=np.array([0.3, 0.3]), pull_at=one, release_at=one, pressure_at=~one)
    return replace(found, fit=replace(found.fit, readings=left))


def fits() -> dict[str, FitCase]:
    """All fits by name."""
    return {name: fitted(name) for name in REAL} | {name: odd_fit(name) for name in ODD}


# Pairs --------------------------------------------------------------------------------------------------------


def pulls(bike: Bike, first: int, second: int) -> tuple[Branches, Branches]:
    """Two machines of one kind."""
    return case(bike, first)[1], case(bike, second)[1]


def paired(before: Branches, after: Branches, labels: tuple[str, str] = ("before", "after")) -> PairCase:
    """Two pulls compared."""
    return PairCase(before, after, compare(before, after), labels)


def odd_pair(name: str) -> PairCase:
    """A pair that is out of the ordinary."""
    before, after = pulls(CLUTCH, 3, 4)
    away = np.full(after.place.shape, np.nan)
    turned = [replace(one, place=one.place / 0.075, angular=True) for one in (before, after)]
    weak = [replace(one, pull=0.04 * one.pull, release=0.03 * one.release) for one in (before, after)]
    names = ("place", *FORCES)
    return {
        "angles": paired(turned[0], turned[1]),
        "alike": paired(before, before),
        "far apart": paired(before, replace(after, pull=5.0 * after.pull, release=0.2 * after.release)),
        "no release": without(paired(before, after), ("release",), away),
        "nothing read": without(paired(before, after), ("pull", "release"), away),
        "silent": paired(weak[0], weak[1]),
        "short": paired(before, replace(after, **{key: getattr(after, key)[:14] for key in names})),
        "great doubt": paired(before, replace(after, pull_deviation=np.full(after.place.shape, 300.0))),
    }[name]


def without(known: PairCase, branches: tuple[str, ...], away: FloatArray) -> PairCase:
    """A pair whose second pull lacks branches."""
    lost = {f"{name}{what}": away for name in branches for what in ("", "_deviation")}
    nothing = np.full(known.compared.place.shape, np.nan)
    unknown = {f"{name}_{what}": nothing for name in branches for what in ("change", "deviation", "steps")}
    return replace(known, after=replace(known.after, **lost), compared=replace(known.compared, **unknown))  # type: ignore[arg-type]


def pairs() -> dict[str, PairCase]:
    """All pairs by name."""
    measured = case(CLUTCH, 5)[1]
    expected = predicted_branches(CLUTCH.job, "clutch", measured)
    found = {
        "brake": paired(*pulls(BRAKE, 3, 8)),
        "clutch": paired(*pulls(CLUTCH, 3, 4), ("pull of the fourteenth of March, before.csv", "after")),
        "cable": paired(*pulls(CABLE, 3, 4)),
        "predicted": paired(expected, measured, ("predicted", "measured")),
    }
    return found | {name: odd_pair(name) for name in ODD_PAIRS}
