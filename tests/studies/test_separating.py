"""What cannot be told apart is said, and the measurement that is said to help does help."""

import datetime
from functools import cache

import numpy as np
import pytest

from pullcurve.parts.job import Job, Measured
from pullcurve.studies.fit import Fit, fit
from pullcurve.studies.parameters import with_values
from pullcurve.studies.prediction import values_at
from pullcurve.studies.separating import Mixed, extras, mixed, telling, virtual, would_read
from tests.studies.bikes import BRAKE, CABLE, CLUTCH, Bike, case, faulty_case


@cache
def fitted(bike: Bike) -> Fit:
    return fit(bike.job, case(bike, 3)[1], bike.lever)


@cache
def pairs(bike: Bike) -> tuple[Mixed, ...]:
    return mixed(fitted(bike))


def pair(bike: Bike, first: str, second: str) -> Mixed:
    """The warning about two unknowns, by the ends of their paths."""
    return next(
        one
        for one in pairs(bike)
        if {first, second} == {path.rpartition(".")[2] for path in one.paths}
        or all(any(path.endswith(end) for path in one.paths) for end in (first, second))
    )


def test_two_springs_in_a_row_cannot_be_told_apart() -> None:
    """Lever spring and plunger spring both push back from the first millimetre: only their sum is felt.

    The plunger's share shows in the tenth of a millimetre before it is met, and there a bench reads poorly.
    """
    one = pair(BRAKE, "spring_torque_newton_mm", "plunger.spring_newton")
    assert one.correlation < -0.8
    assert one.helps[0].extra.name == "lever off"
    assert one.words.startswith(
        "Force and travel alone cannot tell lever spring from plunger spring. Take the lever off"
    )


def test_hose_and_spring_back_of_a_clutch_are_told_by_a_plug() -> None:
    one = pair(CLUTCH, "hose_expansion_mm3_per_m_bar", "spring_back_mm")
    assert one.helps[0].extra.name == "plugged at the slave"
    assert one.helps[0].worth < 0.5


def test_no_measurement_makes_anything_less_sure() -> None:
    for bike in (BRAKE, CLUTCH, CABLE):
        for one in pairs(bike):
            assert all(0.0 < width <= 1.0 + 1e-9 for helped in one.helps for width in helped.widths)
            assert [helped.worth for helped in one.helps] == sorted(helped.worth for helped in one.helps)


def test_bench_is_no_question() -> None:
    assert not any(path.startswith(("bench.", "fitted.")) for one in pairs(BRAKE) for path in one.paths)


def test_expected_width_is_the_width_after_the_measurement() -> None:
    """The job gets the measured interval that the virtual measurement promised; the pull is fitted again."""
    one = pair(CLUTCH, "hose_expansion_mm3_per_m_bar", "spring_back_mm")
    before = fitted(CLUTCH)
    helped = next(known for known in one.helps if known.extra.name == "plugged at the slave")
    row = before.place("clutch_circuit.hose_expansion_mm3_per_m_bar")
    # A direct reading of 15 % and what was known before it, together: precision adds (identity).
    unknown, direct = before.unknowns[row], 0.15
    doubt = 1.0 / np.sqrt(1.0 / direct**2 + 1.0 / unknown.spread**2)
    value = float(before.value[row])
    job = measured_job(CLUTCH.job, unknown.path, value, doubt)
    after = fit(job, case(CLUTCH, 3)[1], "clutch")
    again = after.place(unknown.path)
    shrunk = after.narrowing[again] * after.unknowns[again].spread / (before.narrowing[row] * unknown.spread)
    assert shrunk == pytest.approx(helped.widths[one.paths.index(unknown.path)], rel=0.1)


def measured_job(job: Job, path: str, value: float, doubt: float) -> Job:
    interval = Measured(
        date=datetime.date(2026, 5, 14),
        low=value * float(np.exp(-1.96 * doubt)),
        high=value * float(np.exp(1.96 * doubt)),
    )
    return with_values(job, {path: value}).model_copy(update={"measured": {path: interval}})


def test_measurements_are_those_that_the_lever_allows() -> None:
    by_name = {bike: {extra.name for extra in extras(fitted(bike))} for bike in (BRAKE, CLUTCH, CABLE)}
    assert "pads clamped" in by_name[BRAKE]
    assert "clamp" not in by_name[BRAKE]
    assert "plugged at the slave" in by_name[CLUTCH]
    assert by_name[CABLE] == {"roller by hand", "clamp", "cable unhooked", "cable in a vice"}


def test_gauge_that_was_there_is_not_asked_for_again() -> None:
    from dataclasses import replace

    _, pull = case(BRAKE, 3)
    gauge = np.linspace(0.0, 30e5, pull.place.size)
    told = fit(BRAKE.job, replace(pull, pull_pressure=gauge, release_pressure=gauge), "brake")
    assert "pressure" not in {extra.name for extra in extras(told)}


@pytest.mark.parametrize("name", ["pressure", "pads clamped", "overnight"])
def test_slopes_of_a_measurement_are_those_of_what_it_would_read(name: str) -> None:
    """Along one unknown, a small move reads what the slope says."""
    told = fitted(BRAKE)
    extra = next(one for one in extras(told) if one.name == name)
    row = told.place("brake_circuit.free_air_percent")
    z = np.stack([told.scaled, told.scaled])
    z[1, row] += 0.05
    seen = would_read(told.readings, extra, values_at(told.unknowns, z))
    slope = virtual(told, extra)[:, row]
    assert (seen[1] - seen[0]) / 0.05 == pytest.approx(slope, rel=0.1, abs=0.05 * np.abs(slope).max())


def test_clamped_pads_tell_a_gap_from_air() -> None:
    """Two machines, one with air and one with a gap: with the pads clamped the gap is gone, the air is not."""
    by_fault = {way.fault.name: way for way in BRAKE.ways}
    first, second = (
        fit(BRAKE.job, faulty_case(BRAKE, by_fault[name], 1)[1], "brake") for name in ("air", "pad stand-off")
    )
    known = {extra.name: extra for extra in extras(first)}
    assert telling(first, second, known["overnight"]) > telling(first, second, known["roller by hand"])
