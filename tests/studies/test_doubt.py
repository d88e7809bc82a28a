"""What measured intervals leave open of a difference: laws of scale by hand, and draws of whole jobs."""

import datetime
from functools import cache

import numpy as np
import pytest
from numpy.random import default_rng

from pullcurve.parts.cams import BrakeCam
from pullcurve.parts.job import Job, Measured
from pullcurve.pull.mechanism import Cam
from pullcurve.studies.candidates import single
from pullcurve.studies.doubt import Difference, Doubtful, differences, gains
from pullcurve.studies.find import find, fitted_at
from pullcurve.studies.parameters import with_values
from pullcurve.studies.swap import swaps
from pullcurve.studies.wishes import Wish, felt_steps, first_surface
from tests.studies.bikes import BRAKE

DAY = datetime.date(2026, 5, 14)
RADIUS = "unit.levers.0.finger_radius_mm"
HOSE = "brake_circuit.hose_expansion_mm3_per_m_bar"


def with_interval(path: str, value: float, low: float, high: float) -> Job:
    """The job with one measured number."""
    job = with_values(BRAKE.job, {path: value})
    return job.model_copy(update={"measured": {path: Measured(date=DAY, low=low, high=high)}})


@cache
def told(path: str, value: float, low: float, high: float) -> dict[str, Difference]:
    """Differences from the fitted brake cam to one with a millimetre less of stroke, by read-out."""
    job = with_interval(path, value, low, high)
    now = fitted_at(job, 0)
    cam = now["brake"]
    assert isinstance(cam, BrakeCam)
    other = cam.model_copy(update={"stroke_mm": cam.stroke_mm - 1.0})
    return {one.readout: one for one in differences(job, 0, now, {"brake": other})}


def test_nothing_measured_leaves_nothing_open() -> None:
    now = fitted_at(BRAKE.job, 0)
    assert all(one.change.deviation == 0.0 for one in differences(BRAKE.job, 0, now, now))
    assert all(
        one.change.value == 0.0 or np.isnan(one.change.value) for one in differences(BRAKE.job, 0, now, now)
    )


def test_place_of_the_finger_scales_forces_and_not_their_ratio() -> None:
    """F = M / L (balance of moments): a change of force is as unsure as 1 / L, its felt steps are not unsure at all."""
    force = told(RADIUS, 75.0, 75.0 - 1.96, 75.0 + 1.96)["force_lock"]
    assert force.change.value < -5.0
    assert force.change.deviation / abs(force.change.value) == pytest.approx(1.0 / 75.0, rel=0.05)
    assert abs(force.steps.value) > 1.0
    assert force.steps.deviation < 0.01 * abs(force.steps.value)
    assert force.counts


def test_travel_grows_with_the_place_of_the_finger() -> None:
    """s = L theta: a change of travel is as unsure as L."""
    travel = told(RADIUS, 75.0, 75.0 - 1.96, 75.0 + 1.96)["travel_bite"]
    assert travel.change.deviation / abs(travel.change.value) == pytest.approx(1.0 / 75.0, rel=0.02)


def test_draws_of_whole_jobs_scatter_as_said() -> None:
    """Two hundred machines inside the interval, each pulled with both cams."""
    one = told(HOSE, 1.5, 1.5 - 0.3, 1.5 + 0.3)["travel_lock"]
    job, now = BRAKE.job, fitted_at(BRAKE.job, 0)
    other = now["brake"].model_copy(update={"stroke_mm": now["brake"].stroke_mm - 1.0})  # type: ignore[union-attr]

    def travel(hose: float, cam: BrakeCam) -> float:
        read = single(with_values(job, {HOSE: hose}), 0, {"brake": cam}).brake
        assert read is not None
        return float(read.travel_lock[0, 0] if read.travel_lock.ndim == 2 else read.travel_lock[0])

    hoses = default_rng(3).normal(1.5, 0.3 / 1.96, 200).tolist()
    drawn = [travel(hose, other) - travel(hose, now["brake"]) for hose in hoses]  # type: ignore[arg-type]
    assert one.change.value == pytest.approx(np.mean(drawn), rel=0.02)
    assert one.change.deviation == pytest.approx(np.std(drawn), rel=0.15)  # 200 draws: 5 % of a deviation


def test_wide_interval_makes_a_small_gain_unsure() -> None:
    narrow = told(HOSE, 1.5, 1.45, 1.55)["travel_lock"]
    wide = told(HOSE, 1.5, 0.2, 2.9)["travel_lock"]
    assert narrow.change.sure
    assert wide.change.deviation > 20.0 * narrow.change.deviation
    assert wide.change.value == pytest.approx(narrow.change.value)


def test_difference_that_no_finger_feels_does_not_count() -> None:
    sure = Doubtful(0.8, 0.01)
    facet = told(HOSE, 1.5, 1.45, 1.55)["travel_lock"].facet
    assert sure.sure
    assert not Difference("brake", "travel_lock", facet, sure, sure).counts
    assert not Difference("brake", "travel_lock", facet, sure, Doubtful(2.0, 1.5)).counts
    assert Difference("brake", "travel_lock", facet, sure, Doubtful(2.0, 0.5)).counts


def test_gain_is_that_of_the_search() -> None:
    job = with_interval(HOSE, 1.5, 1.4, 1.6)
    answer = find(job).levers[0]
    (told,) = gains(job, 0, answer.wishes, fitted_at(job, 0), [answer.answers[0].cams])
    assert told.value == pytest.approx(answer.fitted_distance - answer.answers[0].distance)
    assert told.sure


WIDE, TIGHT = (0.5, 2.5), (1.499, 1.501)
"""Intervals of the hose's expansion [mm3/(m bar)]: from a stiff to a soft one; as good as exact."""


@pytest.mark.parametrize("ends", [WIDE, TIGHT])
def test_only_a_sure_and_felt_gain_is_called_better(ends: tuple[float, float]) -> None:
    """Whether it is better is counted out by hand: the gain with both ends of the interval."""
    job = with_interval(HOSE, 1.5, *ends)
    answer = find(job).levers[0]
    now = fitted_at(job, 0)
    assert any(one.cams == now or one.gain is not None for one in answer.answers)
    for one in answer.answers:
        if one.cams == now:
            assert one.gain is None
            continue
        assert one.gain is not None
        jobs = [with_values(job, {HOSE: end}) for end in ends]
        low, high = (
            distance_of(end, answer.wishes, now) - distance_of(end, answer.wishes, one.cams) for end in jobs
        )
        assert one.gain.margin == pytest.approx(abs(high - low) / 2.0, rel=1e-6)
        better = one.gain.value >= 1.0 and one.gain.value > abs(high - low) / 2.0
        assert ("Better: " in one.words[-1]) is better
        assert ("Not called better" in one.words[-1]) is not better


def distance_of(job: Job, wishes: tuple[Wish, ...], cams: dict[str, Cam]) -> float:
    """Root of the weighted mean square over the wishes, written out."""
    read = single(job, 0, cams).brake
    assert read is not None
    total = weight = 0.0
    for wish in wishes:
        value = float(first_surface(getattr(read, wish.readout), wish.facet)[0])
        total += wish.weight * float(felt_steps(wish.target, value, wish.facet)) ** 2
        weight += wish.weight
    return float(np.sqrt(total / weight))


def test_what_is_fitted_stays_where_nothing_is_surely_better() -> None:
    """A finger anywhere between 50 and 100 mm from the pivot may find the fitted cam as good."""
    doubted, exact = with_interval(RADIUS, 75.0, 50.0, 100.0), with_interval(HOSE, 1.5, *TIGHT)
    told = find(exact).levers[0].answers[0].gain
    assert told is not None and told.better
    assert find(exact).route
    answer = find(doubted).levers[0]
    assert not any(one.gain.better for one in answer.answers if one.gain is not None)
    assert answer.best == fitted_at(doubted, 0)
    assert all(one.kind != "brake" for step in find(doubted).route for one in step)
    unmeasured = BRAKE.job.model_copy(update={"measured": {}})
    assert all(one.gain is None for one in find(unmeasured).levers[0].answers)


def test_feel_that_may_not_be_reached_is_not_called_better() -> None:
    """With a hose of 4 mm3/(m bar) the lever of the demo comes to the grip before the wheel locks."""
    job = with_interval(HOSE, 1.5, 0.05, 4.0)
    lock = single(with_values(job, {HOSE: 4.0}), 0, fitted_at(job, 0)).brake
    assert lock is not None and np.isnan(lock.force_lock).any()
    told = find(job).levers[0]
    assert all("leave open whether" in one.words[-1] for one in told.answers if one.gain is not None)
    assert told.best == fitted_at(job, 0)


def test_swap_helps_only_as_far_as_the_measured_numbers_tell() -> None:
    sure = swaps(with_interval(HOSE, 1.5, *TIGHT), "brake too heavy")
    assert sure.helping and all(one.sure for one in sure.helping)
    doubted = swaps(with_interval(HOSE, 1.5, 0.05, 8.0), "brake too heavy")
    left = [one for one in doubted.others if one.sure is False]
    assert left and all("not sure" in one.words for one in left)
    assert any(note.startswith(f"{len(left)} more would help") for note in doubted.notes)
    plain = swaps(BRAKE.job.model_copy(update={"measured": {}}), "brake too heavy")
    assert all(one.sure is None for one in plain.helping)
    assert {one.on.id for one in sure.helping} <= {one.on.id for one in plain.helping}
