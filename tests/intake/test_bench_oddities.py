"""What gauges get wrong, put into readings here and found again: spikes, drift, ends of a range, clocks, zeros."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.bench import bench_pull
from pullcurve.intake.benchclean import spikes
from pullcurve.intake.benchlog import Log
from pullcurve.studies.benchpull import PULL, RELEASE, STILL, BenchPull
from tests.intake.pulls import FAR, Floats, Plan, noisy, planned

TRUE = planned(pulls=6)
READ = noisy(TRUE)
SEEDS = range(20)


def read(plan: Plan, clock: bool = True) -> BenchPull:
    """A plan as it goes through the cleaning."""
    log = Log(Path("p.csv"), plan.travel * 1e-3, False, plan.force, None, plan.time if clock else None)
    return bench_pull(log)


def numbers(pattern: str, remarks: tuple[str, ...]) -> list[float]:
    """The numbers of the one remark that a pattern finds."""
    found = [match for remark in remarks if (match := re.fullmatch(pattern, remark))]
    assert len(found) == 1, remarks
    return [float(one) for one in found[0].groups()]


@pytest.mark.parametrize("lost", [1, -1])
def test_loops_that_lost_a_branch_are_not_turned_round(lost: int) -> None:
    """A curve that is hollow, as a brake's is, seems to give work back where its releases are lost."""
    share = np.linspace(0.0, 1.0, 60)
    travel, force = [], []
    for number in range(4):
        for way in (1, -1):
            if way == lost and number != 3:
                continue
            at = share if way > 0 else share[::-1]
            travel.append(24.0 * at)
            force.append((100.0 if way > 0 else 80.0) * at**4 + 2.0)
    log = Log(Path("p.csv"), np.concatenate(travel) * 1e-3, False, np.concatenate(force), None, None)
    pull = bench_pull(log)
    assert not any("turned round" in remark for remark in pull.remarks)
    assert pull.place[int(np.argmax(pull.force))] == pytest.approx(0.024, abs=1e-4)


def test_good_readings_are_left_alone() -> None:
    """Only scatter, on many seeds: nothing is told, nothing is changed."""
    for seed in SEEDS:
        plan = noisy(TRUE, seed)
        for clock in (True, False):
            pull = read(plan, clock)
            assert pull.remarks == ()
            np.testing.assert_array_equal(pull.force, plan.force)
            np.testing.assert_array_equal(pull.place, plan.travel * 1e-3)


# Spikes -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("height", [12.0, 40.0, -25.0, 600.0])
@pytest.mark.parametrize("width", [1, 2])
def test_spikes_of_the_force_are_left_out_and_counted(height: float, width: int) -> None:
    at = np.random.default_rng(9).choice(np.arange(30, READ.force.size - 30, 20), 15, replace=False)
    hit = np.unique(np.concatenate([at + row for row in range(width)]))
    force = READ.force.copy()
    force[hit] += height
    # a lever at rest has no force, and a reading that falls there is no spike
    pull = read(replace(READ, force=force))
    kept = np.setdiff1d(np.arange(force.size), hit)
    np.testing.assert_array_equal(pull.force, READ.force[kept])
    assert pull.remarks == (f"{hit.size} spikes left out",)


def test_spikes_of_the_place_are_left_out_and_counted() -> None:
    travel = READ.travel.copy()
    hit = np.array([100, 333, 700])
    travel[hit] = (0.0, 40.0, -30.0)
    pull = read(replace(READ, travel=travel))
    np.testing.assert_array_equal(pull.place, np.delete(READ.travel, hit) * 1e-3)
    assert pull.remarks == ("3 spikes left out",)


def test_steps_and_edges_are_no_spikes() -> None:
    at = np.arange(200)
    for values in (np.where(at > 100, 50.0, 0.0), np.abs(at - 100.0), np.where(at % 50 < 25, 0.0, 30.0)):
        assert not np.any(spikes(values))


def test_the_last_digit_of_a_coarse_gauge_is_no_spike() -> None:
    """Steps of half a millimetre, to and fro by chance."""
    travel = np.round(READ.travel / 0.5) * 0.5
    assert not np.any(spikes(travel))


# Drift --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("clock", [True, False])
@pytest.mark.parametrize("drift", [1.5, 4.0, -2.5])
def test_a_zero_of_the_force_that_drifts_is_taken_out_and_told(drift: float, clock: bool) -> None:
    share = TRUE.time / TRUE.time[-1]
    pull = read(replace(READ, force=READ.force + drift * share), clock)
    (told,) = numbers(r"zero of the force drifts by ([-+.\d]+) N over 6 pulls; taken out", pull.remarks[:1])
    # from the middle of the first pull to that of the last, 5 of 6 periods
    assert told == pytest.approx(drift * 5 / 6, abs=0.2)
    off = pull.force - READ.force
    assert np.ptp(off) < 0.25
    assert abs(float(np.mean(off))) < 0.5 * abs(drift) / 6 + 0.15


@pytest.mark.parametrize("drift", [0.4, 1.5, -1.0])
def test_a_zero_of_the_travel_that_drifts_is_taken_out_and_told(drift: float) -> None:
    share = TRUE.time / TRUE.time[-1]
    pull = read(replace(READ, travel=READ.travel + drift * share))
    (told,) = numbers(r"zero of the travel drifts by ([-.\d]+) mm over 6 pulls; taken out", pull.remarks)
    # from the rest before the first pull to the one after the last
    assert told == pytest.approx(drift, abs=0.1)
    np.testing.assert_allclose(pull.place * 1e3, READ.travel, atol=0.05 + 0.05 * abs(drift))


def test_chance_is_no_drift() -> None:
    """Pulls of a person differ: zeros that come and go by 0.3 N and 0.2 mm without a direction."""
    told = 0
    for seed in SEEDS:
        dice = np.random.default_rng(seed)
        force, travel = dice.normal(0, 0.3, 6)[TRUE.cycle], dice.normal(0, 0.2, 6)[TRUE.cycle]
        pull = read(replace(READ, force=READ.force + force, travel=READ.travel + travel))
        told += any("drift" in remark for remark in pull.remarks)
    assert told <= 1


def test_friction_that_changes_is_no_drift_of_the_gauge() -> None:
    """A seal that frees itself brings the branches nearer to each other; the gauge has no part in it."""
    share = TRUE.time / TRUE.time[-1]
    force = READ.force - 3.0 * share * TRUE.way
    pull = read(replace(READ, force=force))
    assert pull.remarks == ()
    np.testing.assert_array_equal(pull.force, force)


def test_a_gain_that_changes_is_told_and_left() -> None:
    share = TRUE.time / TRUE.time[-1]
    force = READ.force * (1.0 + 0.1 * share)
    pull = read(replace(READ, force=force))
    assert len(pull.remarks) == 1
    assert re.fullmatch(
        r"force changes by \+[.\d]+ N over 6 pulls, and not evenly: no zero drifts; left as it is",
        pull.remarks[0],
    )
    np.testing.assert_array_equal(pull.force, force)


def test_two_pulls_tell_no_drift() -> None:
    plan = noisy(planned(pulls=2))
    assert read(replace(plan, force=plan.force + 2.0 * plan.time / plan.time[-1])).remarks == ()


# Ends of a range ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", [30.0, 40.0, 50.0])
def test_a_force_gauge_at_its_end_is_told_and_its_readings_left_out(end: float) -> None:
    pull = read(replace(READ, force=np.minimum(READ.force, end)))
    told, along, count = numbers(
        r"force stays at ([.\d]+) N over ([.\d]+) mm of travel: the gauge was at its end; (\d+) readings left out",
        pull.remarks,
    )
    assert told == end
    # where the true force is beyond the end: on the release that is further in, so the pull says how much
    beyond = FAR - TRUE.travel[(TRUE.way == PULL) & (TRUE.force > end)][0]
    assert along == pytest.approx(beyond, abs=1.0)
    surely = TRUE.force > end + 2.5
    assert not np.any(pull.branch[surely & (TRUE.way != 0)] != STILL)
    assert count >= np.count_nonzero(surely)
    assert np.mean(pull.branch[(TRUE.force < end - 2.5) & (TRUE.way != 0)] != STILL) > 0.85


def test_a_force_gauge_at_its_end_that_also_drifts() -> None:
    drifting = READ.force + 3.0 * TRUE.time / TRUE.time[-1]
    pull = read(replace(READ, force=np.minimum(drifting, 50.0)))
    assert pull.remarks[0].startswith("force stays at 50 N")
    assert pull.remarks[1].startswith("zero of the force drifts by +2.")
    on_branch = (pull.branch != STILL) & (TRUE.way != 0)
    np.testing.assert_allclose(pull.force[on_branch], READ.force[on_branch], atol=0.8)


def test_a_force_gauge_that_reads_nothing_below_some_force() -> None:
    pull = read(replace(READ, force=np.maximum(READ.force, 12.0)))
    assert pull.remarks[0].startswith("force stays at 12 N over ")
    assert set(pull.branch[(TRUE.force < 9.0) & (TRUE.way != 0)].tolist()) == {STILL}


def test_a_travel_gauge_at_its_end_is_told() -> None:
    pull = read(replace(READ, travel=np.minimum(READ.travel, 20.0)))
    (count,) = numbers(
        r"travel stays at 20 mm in (\d+) readings without any scatter: the gauge was at its end", pull.remarks
    )
    held = np.count_nonzero((TRUE.travel > 20.3) & (TRUE.cycle == 0))
    assert count >= held
    assert set(pull.branch[(TRUE.travel > 21.0)].tolist()) == {STILL}


def test_a_hill_is_round_and_not_cut_off() -> None:
    """A clutch that gets lighter far in, in whole newtons: its top is flat for some readings."""
    hill = 40.0 * np.sin(np.pi * TRUE.travel / 30.0) * np.where(TRUE.way < 0, 0.8, 1.0)
    assert read(replace(READ, force=np.round(hill))).remarks == ()


def test_a_lever_pressed_against_its_stop_is_told() -> None:
    pressing = np.where(TRUE.travel >= FAR, 40.0 * np.sin(TRUE.time * 7) ** 2, 0.0)
    pull = read(replace(READ, force=READ.force + pressing))
    far, grown = numbers(
        r"travel stays at ([.\d]+) mm while the force grows by ([.\d]+) N: lever or gauge was at its end",
        pull.remarks,
    )
    assert far == pytest.approx(FAR, abs=0.5)
    assert 20.0 < grown < 45.0
    assert set(pull.branch[TRUE.travel >= FAR].tolist()) == {STILL}


# Zeros --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("zero", [-1.5, -6.0])
def test_a_force_below_zero_at_rest_is_the_gauges_zero(zero: float) -> None:
    pull = read(replace(READ, force=READ.force + zero))
    (told,) = numbers(r"force is ([-.\d]+) N at rest; counted from there", pull.remarks)
    # printed to 0.1 N; the median of some 400 readings with a scatter of 0.5 N is sure to 0.03 N
    assert told == pytest.approx(zero, abs=0.05 + 3 * 0.03)
    np.testing.assert_allclose(pull.force, READ.force, atol=3 * 0.03)


@pytest.mark.parametrize("rest", [8.0, -5.0, 100.0])
@pytest.mark.parametrize("scatter", [0.0, 0.1, 0.4])
def test_travel_is_counted_from_rest(rest: float, scatter: float) -> None:
    plan = noisy(TRUE, travel=scatter)
    pull = read(replace(plan, travel=plan.travel + rest))
    (told,) = numbers(r"travel is ([-.\d]+) mm at rest; counted from there", pull.remarks)
    assert told == pytest.approx(rest, abs=0.1 + 0.5 * scatter)
    np.testing.assert_allclose(pull.place * 1e3, plan.travel, atol=0.1 + 0.5 * scatter)


# Clocks -------------------------------------------------------------------------------------------------------


def moved(plan: Plan, order: np.ndarray) -> Plan:
    """The same readings in another order."""
    return Plan(
        *(getattr(plan, key)[order] for key in ("time", "travel", "force", "pressure", "way", "cycle"))
    )


def test_readings_out_of_order_are_put_in_order() -> None:
    order = np.arange(READ.time.size)
    order[[200, 201, 600, 601, 602]] = order[[201, 200, 602, 600, 601]]
    pull = read(moved(READ, order))
    np.testing.assert_array_equal(pull.force, READ.force)
    assert pull.remarks == ("2 readings put in order of time",)


def test_a_clock_that_starts_anew_runs_on() -> None:
    half = READ.time.size // 2
    time = np.where(np.arange(READ.time.size) < half, READ.time, READ.time - READ.time[half])
    pull = read(replace(READ, time=time))
    assert pull.time is not None
    np.testing.assert_allclose(pull.time, READ.time, atol=1e-9)
    np.testing.assert_array_equal(pull.force, READ.force)
    assert pull.remarks == ("time starts anew 1 time; it was run on",)


def test_readings_that_were_written_twice_count_once() -> None:
    order = np.sort(np.concatenate([np.arange(READ.time.size), [50, 50, 400]]))
    pull = read(moved(READ, order))
    np.testing.assert_array_equal(pull.force, READ.force)
    assert pull.remarks == ("3 readings written twice left out",)


def test_a_clock_that_stands_is_no_clock_to_go_by() -> None:
    pull = read(replace(READ, time=np.zeros_like(READ.time)))
    np.testing.assert_array_equal(pull.force, READ.force)


def test_mixed_readings_are_refused() -> None:
    order = np.random.default_rng(1).permutation(READ.time.size)
    with pytest.raises(BadInput, match=r"earlier than the one before; allowed is time that grows"):
        read(moved(READ, order))


# Everything at once -------------------------------------------------------------------------------------------


def test_a_mess_is_told_in_full_and_still_read() -> None:
    dice = np.random.default_rng(8)
    force = READ.force + 3.0 * TRUE.time / TRUE.time[-1]
    hit = np.arange(70, force.size - 70, 173)
    force[hit] += 80.0
    force[dice.choice(np.setdiff1d(np.arange(force.size), hit), 20, replace=False)] = np.nan
    pull = read(replace(READ, force=-force, travel=60.0 - READ.travel))
    told = " | ".join(pull.remarks)
    for part in ("20 readings with an empty cell left out", f"{hit.size} spikes left out", "forces are negative",
                 "travel falls on the pull", "zero of the force drifts by"):  # fmt: skip
        assert part in told
    (rest,) = numbers(r"travel is ([.\d]+) mm at rest; counted from there", pull.remarks)
    assert rest == pytest.approx(60.0, abs=0.1)
    assert pull.cycles == 6
    for way in (PULL, RELEASE):
        found = pull.branch == way
        inner = (TRUE.way == way) & (TRUE.travel > 2) & (TRUE.travel < FAR - 2)
        order = np.argsort(TRUE.travel[inner])
        expected: Floats = np.interp(
            pull.place[found] * 1e3, TRUE.travel[inner][order], TRUE.force[inner][order]
        )
        middle = (pull.place[found] > 3e-3) & (pull.place[found] < 21e-3)
        assert np.mean(np.abs(pull.force[found] - expected)[middle]) < 0.8
