"""Unknowns, their priors, and guesses side by side against the independent road."""

import datetime
from dataclasses import replace
from math import log

import numpy as np
import pytest
from numpy.random import default_rng

from pullcurve.parts.job import Job, Measured
from pullcurve.parts.origin import origins
from pullcurve.pull.mechanism import fitted, lever_of
from pullcurve.pull.solve import load_state
from pullcurve.studies.parameters import LABELS, LINEAR, unknowns, with_values
from pullcurve.studies.prediction import FINE, INSIDE, Bench, points_of, predict, values_at
from tests.road.jobs import road_lever
from tests.road.road import met, road_friction
from tests.studies.bikes import BIKES, BRAKE, CABLE, CLUTCH, Bike, truth_of
from tests.studies.bikes import job_of as demo

NINE_IN_TEN = 1.645  # standard deviations, any table of the normal distribution


# Which ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BIKES)
def test_every_unknown_stands_in_the_job_or_on_the_bench(name: str) -> None:
    bike = BIKES[name]
    told = origins(bike.job)
    for unknown in bike.unknowns:
        assert unknown.path in told or unknown.behind == "bench"
        assert unknown.least <= unknown.value <= unknown.most


@pytest.mark.parametrize("name", BIKES)
def test_labels_tell_unknowns_apart(name: str) -> None:
    labels = [unknown.label for unknown in BIKES[name].unknowns]
    assert len(set(labels)) == len(labels)


def test_line_of_one_lever_for_both_is_told_by_whose_it_is() -> None:
    labels = {unknown.path: unknown.label for unknown in BIKES["one lever"].unknowns}
    key = "hose_expansion_mm3_per_m_bar"
    assert labels[f"brake_circuit.{key}"] == "hose expansion (brake)"
    assert labels[f"clutch_circuit.{key}"] == "hose expansion (clutch)"
    assert labels["fitted.brake.clocking_deg"] == "clocking of the cam (brake)"
    assert labels["brake_circuit.pad_gap_mm"] == "pad gap"


def test_every_label_is_of_some_unknown() -> None:
    used = {unknown.key for bike in BIKES.values() for unknown in bike.unknowns}
    assert set(LABELS) - used <= {"preload_newton", "preload_newton_mm"}
    assert used <= set(LABELS)
    assert set(LABELS) >= LINEAR


def test_cable_has_no_line_and_a_line_no_cable() -> None:
    assert not any("plunger" in unknown.path or "seal" in unknown.path for unknown in CABLE.unknowns)
    assert not any("cable" in unknown.key for unknown in CLUTCH.unknowns)


def test_diaphragm_has_no_rate() -> None:
    keys = {unknown.path for unknown in unknowns(demo("motocross-450.toml"), 1)}
    assert "clutch.clamp_newton" in keys
    assert "clutch.rate_newton_per_mm" not in keys


# Priors ---------------------------------------------------------------------------------------------------------------


def unknown_of(job: Job, row: int, path: str):  # type: ignore[no-untyped-def]
    return next(unknown for unknown in unknowns(job, row) if unknown.path == path)


def test_prior_spans_its_band_by_ratio() -> None:
    """Pad gap: 0.05 to 0.20 mm in priors.toml, so 0.10 mm in the middle by ratio."""
    gap = unknown_of(BRAKE.job, 0, "brake_circuit.pad_gap_mm")
    assert gap.behind == "prior"
    assert gap.natural(np.zeros(())) == pytest.approx(0.1)
    assert gap.spread == pytest.approx(log(2.0) / NINE_IN_TEN)
    assert gap.scaled(0.2) == pytest.approx(NINE_IN_TEN)


def test_prior_that_starts_at_zero_falls_as_far_as_it_rises() -> None:
    """Air: 0 to 0.25 %, usually 0.1 %: by ratio 2.5 up and 2.5 down."""
    air = unknown_of(BRAKE.job, 0, "brake_circuit.free_air_percent")
    assert air.natural(np.array([-NINE_IN_TEN, NINE_IN_TEN])) == pytest.approx([0.04, 0.25])


def test_given_value_is_narrower_and_in_the_middle() -> None:
    """Stroke to the port: 0.5 to 1.5 mm by the prior, 0.7 mm given in this job; 30 % of the prior's width."""
    port = unknown_of(BRAKE.job, 0, "unit.levers.0.rockers.0.plunger.port_mm")
    assert port.behind == "given"
    assert port.centre == 0.7
    assert port.spread == pytest.approx(0.3 * 0.5 / NINE_IN_TEN)


def test_measured_interval_is_the_prior() -> None:
    path = "unit.levers.0.rockers.0.plunger.port_mm"
    interval = Measured(date=datetime.date(2026, 5, 14), low=0.6, high=0.76)
    job = BRAKE.job.model_copy(update={"measured": {path: interval}})
    port = unknown_of(job, 0, path)
    assert port.behind == "measured"
    assert port.natural(np.array([-1.96, 1.96])) == pytest.approx([0.6, 0.76])


def test_bounds_are_what_the_field_allows() -> None:
    port = unknown_of(BRAKE.job, 0, "unit.levers.0.rockers.0.plunger.port_mm")
    assert (port.least, port.most) == (0.0, 4.0)
    assert port.natural(np.array(port.bounds[0])) == pytest.approx(0.0)


def test_band_of_a_fault_may_lie_beyond_the_field() -> None:
    port = unknown_of(BRAKE.job, 0, "unit.levers.0.rockers.0.plunger.port_mm").banded(-1.0, 0.2)
    assert port.natural(np.array([-NINE_IN_TEN, NINE_IN_TEN])) == pytest.approx([-1.0, 0.2])
    assert port.least == -1.0


# Guesses --------------------------------------------------------------------------------------------------------------


def test_changed_job_is_the_job_with_those_numbers() -> None:
    path = "unit.levers.0.rockers.0.plunger.port_mm"
    changed = with_values(BRAKE.job, {path: 0.9, "brake_circuit.pad_gap_mm": 0.15})
    plunger = changed.unit.levers[0].rockers[0].plunger
    assert plunger is not None and changed.brake_circuit is not None
    assert (plunger.port_mm, changed.brake_circuit.pad_gap_mm) == (0.9, 0.15)
    assert BRAKE.job.unit.levers[0].rockers[0].plunger.port_mm == 0.7  # type: ignore[union-attr]
    assert changed.unit.levers[1] == BRAKE.job.unit.levers[1]


def test_table_of_a_diaphragm_goes_with_its_clamp() -> None:
    job = demo("motocross-450.toml")
    assert job.clutch is not None
    changed = with_values(job, {"clutch.clamp_newton": 0.9 * job.clutch.clamp_newton}).clutch
    assert changed is not None
    assert np.array(changed.table_force_newton) == pytest.approx(
        0.9 * np.array(job.clutch.table_force_newton)
    )


@pytest.mark.parametrize("bike", [*BIKES.values(), Bike("motocross-450.toml", 1, "clutch")], ids=str)
def test_guesses_side_by_side_are_guesses_one_by_one(bike: Bike) -> None:
    bench = Bench(bike.job, bike.row, np.linspace(1e-3, 28e-3, 10), False)
    z = default_rng(7).normal(0.0, 0.7, (4, len(bike.unknowns)))
    low, high = zip(*(unknown.bounds for unknown in bike.unknowns), strict=True)
    z = np.clip(z, low, high)
    together = predict(bench, values_at(bike.unknowns, z))
    for row in range(4):
        alone = predict(bench, values_at(bike.unknowns, z[row : row + 1]))
        assert together.pull[row] == pytest.approx(alone.pull[0], rel=1e-12)
        assert together.release[row] == pytest.approx(alone.release[0], rel=1e-12)


def test_columns_and_numbers_make_the_same_lever() -> None:
    """A job whose numbers are columns of one is the job itself."""
    job, row = CLUTCH.job, CLUTCH.row
    inside = [unknown for unknown in CLUTCH.unknowns if unknown.behind != "bench"]
    columns = with_values(job, {unknown.path: np.array([[unknown.value]]) for unknown in inside})
    plain = lever_of(job, job.unit.levers[row], fitted(job))
    wide = lever_of(columns, columns.unit.levers[row], fitted(job))
    psi = np.linspace(0.62, 1.1, 9)
    for one, other in zip(plain.rockers, wide.rockers, strict=True):
        assert load_state(other, psi).moment.ravel() == pytest.approx(load_state(one, psi).moment)


def test_spring_back_on_a_row_of_the_table_can_vary_like_any_other() -> None:
    job = demo("motocross-450.toml")
    assert job.clutch is not None
    row = job.clutch.table_lift_mm[1]
    values = {"clutch.spring_back_mm": np.array([[row], [1.01 * row], [0.99 * row]])}
    seen = predict(Bench(job, 1, np.linspace(2e-3, 28e-3, 14), False), values)
    assert seen.pull[0] == pytest.approx((seen.pull[1] + seen.pull[2]) / 2.0, rel=2e-3)


# Against the road -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BIKES)
@pytest.mark.parametrize("number", range(2))
def test_predictions_agree_with_the_road(name: str, number: int) -> None:
    """Any machine: a cam ahead of its lever, air, dry pins; forces within a thousandth, pressures too."""
    bike = BIKES[name]
    truth = truth_of(bike.unknowns, default_rng([number, 5]))
    place = np.linspace(2e-3, 27e-3, 6)
    bench = Bench(bike.job, bike.row, place, False)
    seen = predict(bench, {path: np.array([[x]]) for path, x in truth.items()})
    lever = road_lever(bike.job, bike.row, truth)
    theta = (points_of(bench)[0].reshape(-1, INSIDE) / lever.pad_radius).tolist()
    for way, forces in ((1, seen.pull), (-1, seen.release)):
        theirs = [np.mean([max(road_friction(lever, at, way), 0.0) for at in inside]) for inside in theta]
        assert forces[0] == pytest.approx(theirs, rel=1e-3, abs=2e-3)
    slot = lever.slots[0]
    if seen.pressure is not None:
        pressure = [
            np.mean([slot.load.pressure(slot.travel(met(slot.plan, at).psi)) for at in inside])
            for inside in theta
        ]
        assert seen.pressure[0] == pytest.approx(pressure, rel=1e-3, abs=200.0)


def test_zeros_of_the_bench_shift_force_and_place() -> None:
    bench = Bench(BRAKE.job, 0, np.linspace(1e-3, 28e-3, 20), False)
    plain = predict(bench, {})
    raised = predict(bench, {"bench.force_zero_newton": np.array([[1.5]])})
    assert raised.pull[0] == pytest.approx(plain.pull[0] + 1.5)
    moved = predict(replace(bench, place=bench.place + 4e-4), {"bench.place_zero_mm": np.array([[0.4]])})
    assert moved.release[0] == pytest.approx(plain.release[0])


def test_angles_and_travel_tell_the_same() -> None:
    radius = BRAKE.job.unit.levers[0].finger_radius_mm / 1e3
    place = np.linspace(1e-3, 28e-3, 20)
    by_travel = predict(Bench(BRAKE.job, 0, place, False), {})
    by_angle = predict(Bench(BRAKE.job, 0, place / radius, True), {})
    assert by_angle.pull[0] == pytest.approx(by_travel.pull[0])


def test_points_that_stand_for_a_place_share_its_width() -> None:
    """Two points a half apart where nothing happens, sixteen where the force steps; all within half a spacing."""
    bench = Bench(BRAKE.job, 0, np.array([0.0, 1.0, 2.0]), False, stepped=np.array([False, True, False]))
    points, first = points_of(bench)
    assert first.tolist() == [0, INSIDE, INSIDE + FINE]
    assert points[:INSIDE] == pytest.approx([-0.25, 0.25])
    assert np.diff(points[INSIDE : INSIDE + FINE]) == pytest.approx(np.full(FINE - 1, 1.0 / FINE))
    assert np.add.reduceat(points, first) / [INSIDE, FINE, INSIDE] == pytest.approx(bench.place)


def test_more_points_tell_the_same_where_nothing_steps() -> None:
    place = np.linspace(0.014, 0.028, 15)
    plain, fine = (
        predict(Bench(BRAKE.job, 0, place, False, stepped=stepped), {})
        for stepped in (None, np.ones(place.shape, dtype=np.bool_))
    )
    assert fine.pull == pytest.approx(plain.pull, rel=1e-3)
    assert fine.release == pytest.approx(plain.release, rel=1e-3)


def test_bubble_is_nearly_gone_at_ten_bar() -> None:
    """1 - 1.013/(10 + 1.013) = 0.908: nine tenths of the travel that air costs are lost by 10 bar, isothermal."""
    place = np.linspace(0.2e-3, 34e-3, 400)
    air = {"brake_circuit.free_air_percent": np.array([[1e-9], [0.5]])}
    seen = predict(Bench(BRAKE.job, 0, place, False), air)
    assert seen.pressure is not None
    at_ten, at_twenty = (
        [float(np.interp(level, row, place)) for row in seen.pressure] for level in (10e5, 20e5)
    )
    job = BRAKE.job
    assert job.brake_circuit is not None
    plunger = job.unit.levers[0].rockers[0].plunger
    assert plunger is not None
    assert job.fitted.brake is not None
    stroke_per_travel = job.fitted.brake.stroke_mm / (
        np.radians(26.0) * job.unit.levers[0].finger_radius_mm
    )  # a cam without take-up is straight
    bubble = 0.005 * job.brake_circuit.fluid_volume_cm3 * 1e-6 / (np.pi * (plunger.bore_mm / 1e3) ** 2 / 4)
    lost = [(both[1] - both[0]) * stroke_per_travel / bubble for both in (at_ten, at_twenty)]
    assert lost == pytest.approx([10 / 11.01325, 20 / 21.01325], rel=0.01)
