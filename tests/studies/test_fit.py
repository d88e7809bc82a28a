"""Least squares with priors against closed forms and certified values; fits against the independent road."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.random import default_rng
from scipy.stats import chi2, multivariate_normal

from pullcurve.errors import BadInput
from pullcurve.intake.bench import bench_pull
from pullcurve.intake.benchlog import Log
from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.fit import INFORMED, Fit, bounds_of, fit
from pullcurve.studies.readings import FEWEST, readings
from pullcurve.studies.squares import Best, most_probable
from tests.studies.bikes import BRAKE, CABLE, CLUTCH, TOGETHER, Bike, bench_of, case, curve_of, truth_of

# The machinery --------------------------------------------------------------------------------------------------------

WIDE = (np.full(3, -np.inf), np.full(3, np.inf))


@pytest.fixture(scope="module")
def linear() -> tuple[FloatArray, FloatArray]:
    """A linear problem with unit noise: slopes (D, n) and readings (D,)."""
    dice = default_rng(1)
    slope = dice.normal(size=(12, 3)) * [2.0, 0.5, 0.05]
    return slope, slope @ np.array([0.4, -1.0, 2.0]) + dice.normal(size=12)


def solved(slope: FloatArray, seen: FloatArray) -> Best:
    return most_probable(lambda z: z @ slope.T - seen, np.zeros(3), WIDE)


def test_linear_problem_has_the_closed_posterior(linear: tuple[FloatArray, FloatArray]) -> None:
    """Unit normal priors: covariance (A'A + 1)^-1, mean that times A'y (identity)."""
    slope, seen = linear
    best = solved(slope, seen)
    covariance = np.linalg.inv(slope.T @ slope + np.eye(3))
    assert np.linalg.inv(best.information) == pytest.approx(covariance)
    assert best.z == pytest.approx(covariance @ slope.T @ seen, abs=1e-9)


def test_linear_problem_has_the_closed_evidence(linear: tuple[FloatArray, FloatArray]) -> None:
    """Readings are normal about zero with covariance A A' + 1 (identity)."""
    slope, seen = linear
    closed = multivariate_normal(np.zeros(12), slope @ slope.T + np.eye(12)).logpdf(seen)
    assert solved(slope, seen).evidence == pytest.approx(closed + 6.0 * np.log(2.0 * np.pi))


def test_bounds_hold() -> None:
    low, high = np.array([-1.0, -1.0]), np.array([0.5, 1.0])
    best = most_probable(lambda z: 10.0 * (z - 2.0), np.zeros(2), (low, high))
    assert best.z == pytest.approx([0.5, 1.0], abs=1e-3)


# Against the road -----------------------------------------------------------------------------------------------------


def covered(bike: Bike, first: int, count: int) -> tuple[int, int, int]:
    """How many true values lie inside their 95 % intervals, of how many; how many whole machines inside theirs.

    Numbers are drawn from the whole of their priors, cases were never fitted before.
    """
    inside = total = whole = 0
    for number in range(first, first + count):
        truth, pull = case(bike, number, within=np.inf)
        told = fit(bike.job, pull, bike.lever)
        pairs = zip(told.unknowns, told.low, told.high, strict=True)
        hits = [low <= truth[unknown.path] <= high for unknown, low, high in pairs if unknown.path in truth]
        inside, total = inside + sum(hits), total + len(hits)
        whole += inside_together(told, truth)
    return inside, total, whole


def inside_together(told: Fit, truth: dict[str, float]) -> bool:
    """Whether all true values at once lie inside the region that holds 95 %: likelihood ratio, Wilks 1938."""
    held = np.array([unknown.path in truth for unknown in told.unknowns])
    z = np.array(
        [unknown.scaled(truth[unknown.path]) if unknown.path in truth else 0.0 for unknown in told.unknowns]
    )

    def off(free: FloatArray) -> FloatArray:
        guesses = np.tile(z, (len(free), 1))
        guesses[:, ~held] = free
        return told.readings.off(told.unknowns, guesses)

    low, high = bounds_of(told.unknowns)
    free = most_probable(off, told.scaled[~held], (low[~held], high[~held]))
    cost = free.cost + 0.5 * float(z[held] @ z[held])
    return bool(2.0 * (cost - told.cost) <= chi2.ppf(0.95, np.count_nonzero(held)))


@pytest.mark.parametrize(("bike", "count"), [(BRAKE, 8), (CLUTCH, 6), (CABLE, 6), (TOGETHER, 1)], ids=str)
def test_truth_lies_inside_the_intervals(bike: Bike, count: int) -> None:
    inside, total, whole = covered(bike, 0, count)
    assert inside >= 0.9 * total
    assert whole >= 0.9 * count


@pytest.mark.slow
def test_truth_lies_inside_the_intervals_in_two_hundred_cases() -> None:
    cases = (BRAKE, 67), (CLUTCH, 67), (CABLE, 66)
    found = {(bike.lever, bike.name): (*covered(bike, 0, count), count) for bike, count in cases}
    print(
        {
            known: f"{inside} of {total}, together {whole} of {n}"
            for known, (inside, total, whole, n) in found.items()
        }
    )
    assert all(inside >= 0.9 * total for inside, total, _, _ in found.values())
    assert sum(whole for *_, whole, _ in found.values()) >= 0.9 * 200


@pytest.mark.slow
def test_no_single_value_is_often_missed_in_a_hundred_cases() -> None:
    """Each number for itself: nine times in ten inside, give or take luck."""
    missed: dict[str, int] = {}
    for number in range(100):
        truth, pull = case(BRAKE, 1000 + number, within=np.inf)
        told = fit(BRAKE.job, pull, "brake")
        for unknown, low, high in zip(told.unknowns, told.low, told.high, strict=True):
            if unknown.path in truth and not low <= truth[unknown.path] <= high:
                missed[unknown.path] = missed.get(unknown.path, 0) + 1
    print(missed)
    assert max(missed.values()) <= 16  # of 100 with a chance of 1 in 10: 97.9 % of the binomial


def test_residuals_look_like_the_scatter() -> None:
    told = fit(CLUTCH.job, case(CLUTCH, 3)[1], "clutch")
    assert 0.05 < told.reduced < 1.3
    assert abs(np.nanmean(told.pull_residual[1:])) < 0.5


def test_pull_tells_seals_and_clamp_and_not_the_roller() -> None:
    brake, clutch = (fit(bike.job, case(bike, 4)[1], bike.lever) for bike in (BRAKE, CLUTCH))
    assert "unit.levers.0.rockers.0.plunger.seal_newton" in brake.informed
    assert "clutch.clamp_newton" in clutch.informed
    assert not any(path.endswith("roller_friction") for path in (*brake.informed, *clutch.informed))
    widths = dict(zip((unknown.path for unknown in brake.unknowns), brake.narrowing, strict=True))
    assert all(widths[path] < INFORMED for path in brake.informed)


def test_correlation_is_one_of_its_own_with_all() -> None:
    told = fit(CABLE.job, case(CABLE, 5)[1], "clutch")
    assert np.diag(told.correlation) == pytest.approx(np.ones(len(told.unknowns)))
    assert np.all(np.abs(told.correlation) <= 1.0 + 1e-12)
    assert told.correlation == pytest.approx(told.correlation.T)


def test_intervals_are_those_of_the_logarithm_where_the_prior_is() -> None:
    told = fit(BRAKE.job, case(BRAKE, 6)[1], "brake")
    row = told.place("brake_circuit.pad_gap_mm")
    assert told.low[row] * told.high[row] == pytest.approx(told.value[row] ** 2)
    assert told.deviation[row] == pytest.approx(
        told.value[row] * np.log(told.high[row] / told.value[row]) / 1.96
    )


def test_angles_fit_as_travel_does() -> None:
    _, pull = case(BRAKE, 7)
    radius = BRAKE.job.unit.levers[0].finger_radius_mm / 1e3
    by_angle = fit(BRAKE.job, replace(pull, place=pull.place / radius, angular=True), "brake")
    by_travel = fit(BRAKE.job, pull, "brake")
    for path in ("brake_circuit.pad_gap_mm", "unit.levers.0.rockers.0.plunger.seal_newton"):
        row = by_travel.place(path)
        assert by_angle.value[row] == pytest.approx(by_travel.value[row], abs=by_travel.deviation[row])


def test_pressure_narrows_what_a_gauge_sees() -> None:
    """Force and travel alone scale with the leverage; a gauge in the line tells it from the hose (common practice)."""
    curve = curve_of(BRAKE, truth_of(BRAKE.unknowns, default_rng(8)))
    with_gauge, without = (
        fit(BRAKE.job, branches(bench_of(curve, default_rng(9), gauge=gauge)), "brake")
        for gauge in (True, False)
    )
    radius = without.place("unit.levers.0.finger_radius_mm")
    assert with_gauge.narrowing[radius] < 0.5 * without.narrowing[radius]
    hose = without.place("brake_circuit.hose_expansion_mm3_per_m_bar")
    assert with_gauge.narrowing[hose] < without.narrowing[hose]


def test_many_places_are_no_more_witnesses_than_forty() -> None:
    """The same pull on four times as many places tells the same, and is no surer."""
    _, pull = case(BRAKE, 9)
    fine = np.linspace(0.0, pull.place[-1], 160)

    def spread(values: FloatArray) -> FloatArray:
        seen = np.isfinite(values)
        return np.interp(fine, pull.place[seen], values[seen])

    force, back, doubt, doubt_back = map(spread, branches_of(pull))
    many = Branches(fine, False, force, back, doubt, doubt_back, None, None)
    few, fine_fit = (fit(BRAKE.job, one, "brake") for one in (pull, many))
    assert fine_fit.measured.place.size == 40
    assert np.median(fine_fit.narrowing / few.narrowing) == pytest.approx(1.0, abs=0.05)
    assert np.all(np.abs(fine_fit.scaled - few.scaled) < 1.0)


@pytest.mark.parametrize("bike", [BRAKE, CLUTCH], ids=str)
def test_ten_typed_points_fit_within_what_an_eye_reads(bike: Bike) -> None:
    """Half a newton and half a millimetre; chi square of some fifteen degrees of freedom lies between these."""
    dice = default_rng(2)
    curve = curve_of(bike, truth_of(bike.unknowns, dice))
    at = np.linspace(0.0, curve.travel[-1], 10)
    force = np.concatenate(
        [np.interp(at, curve.travel, curve.pull), np.interp(at, curve.travel, curve.release)[::-1]]
    )
    place = np.concatenate([at, at[::-1]])
    log = Log(
        Path("typed.csv"),
        np.round(place / 5e-4) * 5e-4,
        False,
        np.round((force + dice.normal(0, 0.5, 20)) / 0.5) * 0.5,
    )
    told = fit(bike.job, branches(bench_pull(log)), bike.lever)
    assert 0.2 < told.reduced < 2.5


def branches_of(pull: Branches) -> tuple[FloatArray, ...]:
    return pull.pull, pull.release, pull.pull_deviation, pull.release_deviation


# What cannot be fitted ------------------------------------------------------------------------------------------------


def test_too_few_places_are_refused() -> None:
    _, pull = case(BRAKE, 0)
    few = replace(pull, release=np.where(np.arange(pull.place.size) < 5, pull.release, np.nan))
    with pytest.raises(BadInput, match=f"a fit needs {FEWEST} on both"):
        readings(BRAKE.job, few, "brake")


def test_lever_that_the_unit_has_not_is_refused() -> None:
    from tests.studies.bikes import job_of

    with pytest.raises(BadInput, match="is about a clutch that this unit does not work; allowed is brake"):
        fit(job_of("electric.toml"), case(BRAKE, 0)[1], "clutch")
