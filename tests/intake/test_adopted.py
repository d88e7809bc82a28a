"""A fitted job goes into a file and comes back: measured numbers with their intervals, the rest as it was."""

import datetime
from functools import cache

import numpy as np
import pytest

from pullcurve.intake.jobfile import job_text, parse_job
from pullcurve.parts.origin import origins
from pullcurve.studies.adopt import adopted
from pullcurve.studies.fit import Fit, fit
from pullcurve.studies.parameters import unknowns
from tests.studies.bikes import BIKES, BRAKE, CABLE, CLUTCH, Bike, case, job_of

DAY = datetime.date(2026, 5, 14)


@cache
def fitted(bike: Bike) -> Fit:
    return fit(bike.job, case(bike, 2)[1], bike.lever)


@pytest.mark.parametrize("bike", [BRAKE, CLUTCH, CABLE, BIKES["one lever"]], ids=str)
def test_adopted_job_comes_back_from_its_file(bike: Bike) -> None:
    job = adopted(bike.job, fitted(bike), DAY)
    assert job.measured
    assert parse_job(job_text(job), "adopted.toml") == job


def test_only_what_the_data_told_is_adopted() -> None:
    told = fitted(BRAKE)
    job = adopted(BRAKE.job, told, DAY)
    assert set(job.measured) == {path for path in told.informed if not path.startswith(("bench", "fitted"))}
    sources = {path: origin.source for path, origin in origins(job).items()}
    assert all(sources[path] == "measured" for path in job.measured)
    before = {path: origin.source for path, origin in origins(BRAKE.job).items()}
    untouched = set(sources) - set(job.measured)
    assert {path: sources[path] for path in untouched} == {path: before[path] for path in untouched}


def test_adopted_numbers_are_the_fitted_ones() -> None:
    told = fitted(CLUTCH)
    job = adopted(CLUTCH.job, told, DAY)
    row = told.place("clutch.clamp_newton")
    assert job.clutch is not None
    assert job.clutch.clamp_newton == pytest.approx(told.value[row], rel=1e-4)
    interval = job.measured["clutch.clamp_newton"]
    assert (interval.low, interval.high) == pytest.approx((told.low[row], told.high[row]), rel=1e-4)
    assert interval.date == DAY


def test_next_fit_starts_from_the_measured_interval() -> None:
    told = fitted(CLUTCH)
    job = adopted(CLUTCH.job, told, DAY)
    again = next(u for u in unknowns(job, CLUTCH.row) if u.path == "clutch.clamp_newton")
    row = told.place("clutch.clamp_newton")
    assert again.behind == "measured"
    width = told.unknowns[row].spread * told.narrowing[row]
    assert again.spread == pytest.approx(width, rel=0.01)


def test_job_is_left_alone_by_a_pull_that_tells_nothing() -> None:
    from dataclasses import replace

    told = fitted(CABLE)
    silent = replace(told, narrowing=np.ones_like(told.narrowing))
    assert adopted(CABLE.job, silent, DAY) == CABLE.job


def test_table_of_a_diaphragm_goes_with_the_adopted_clamp() -> None:
    from dataclasses import replace

    from pullcurve.studies.compare import predicted_branches
    from pullcurve.studies.parameters import with_values

    job = job_of("motocross-450.toml")
    assert job.clutch is not None
    like = case(CLUTCH, 2)[1]
    like = replace(like, place=np.linspace(0.0, 0.028, 40))
    weak = with_values(job, {"clutch.clamp_newton": 0.93 * job.clutch.clamp_newton})
    pull = predicted_branches(weak, "clutch", like)
    doubt = np.full(pull.place.shape, 0.1)
    told = fit(job, replace(pull, pull_deviation=doubt, release_deviation=doubt), "clutch")
    found = adopted(job, told, DAY)
    assert found.clutch is not None
    assert found.clutch.table_force_newton[0] == found.clutch.clamp_newton
    share = found.clutch.clamp_newton / job.clutch.clamp_newton
    assert share == pytest.approx(0.93, abs=0.03)
    assert found.clutch.table_force_newton[-1] == pytest.approx(
        share * job.clutch.table_force_newton[-1], rel=1e-4
    )
    assert parse_job(job_text(found), "adopted.toml") == found
