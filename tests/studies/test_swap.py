"""Single swaps: exactly one cam, ranked for what was said, never at the cost of a limit."""

from functools import cache

import numpy as np
import pytest

from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.studies.candidates import candidates, single
from pullcurve.studies.complaints import Complaint, named
from pullcurve.studies.find import fitted_at
from pullcurve.studies.sentences import SPOKEN
from pullcurve.studies.swap import GAIN_MOST, SCORE_LEAST, SIDE_WEIGHT, Swap, Swaps, swaps
from tests.studies import shop


@cache
def asked(name: str, complaint: str | None) -> Swaps:
    """Swaps of a demo job for a complaint, once; without one, those that the job itself states are left aside."""
    job = shop.known(name)
    return swaps(job if complaint else shop.changed(job, wishes__complaints=None), complaint)


def all_of(found: Swaps) -> tuple[Swap, ...]:
    """Every swap, whatever becomes of it."""
    return (*found.helping, *found.others, *found.refused)


def change_of(swap: Swap, kind: str, readout: str) -> float:
    """Signed felt steps of one read-out."""
    return next(change.steps for change in swap.changes if (change.kind, change.readout) == (kind, readout))


PHRASES = ("too heavy", "too far", "grabs", "comes to the bar", "bites too late", "locks too easily", "drags")
CASES = [(name, phrase) for name in shop.NAMES for phrase in ("too heavy", "too far", "grabs")]


# Exactly one cam --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", shop.NAMES)
@pytest.mark.parametrize("phrase", [None, "too heavy", "too far"])
def test_a_swap_exchanges_exactly_one_cam_of_its_kind(name: str, phrase: str | None) -> None:
    job = shop.known(name)
    fitted: dict[str, Cam | None] = {
        kind: getattr(job.fitted, kind) for kind in ("brake", "clutch", "assist")
    }
    assert job.rack is not None
    rack = {"brake": job.rack.brake_cams, "clutch": job.rack.clutch_cams, "assist": job.rack.assist_cams}
    found = all_of(asked(name, phrase))
    assert found
    for swap in found:
        assert swap.off == fitted[swap.kind]
        assert swap.on != swap.off
        assert type(swap.on) is type(swap.off)
        assert swap.on in rack[swap.kind]
        on_lever = next(lever for lever in job.unit.levers if lever.name == swap.lever)
        others = {rocker.drives for rocker in on_lever.rockers} - {swap.kind}
        stay = [cam for kind in others if (cam := fitted[kind])]
        assert all(swap.on.reach_deg == cam.reach_deg for cam in stay)
    assert len({(swap.kind, swap.on) for swap in found}) == len(found)


@pytest.mark.parametrize("name", shop.NAMES)
def test_every_cam_that_may_go_on_alone_is_judged(name: str) -> None:
    job = shop.known(name)
    assert job.rack is not None
    count = 0
    for row, lever in enumerate(job.unit.levers):
        now = fitted_at(job, row)
        for kind, rack in (
            ("brake", job.rack.brake_cams),
            ("clutch", job.rack.clutch_cams),
            ("assist", job.rack.assist_cams),
        ):
            if kind not in {rocker.drives for rocker in lever.rockers}:
                continue
            reaches = {cam.reach_deg for known, cam in now.items() if known != kind}
            count += sum(cam != now[kind] and reaches <= {cam.reach_deg} for cam in rack)
    assert len(all_of(asked(name, None))) == count


def test_the_change_is_the_difference_of_two_pulls() -> None:
    job = shop.known()
    for swap in all_of(asked(shop.MAIN, "too heavy"))[::7]:
        row = next(row for row, lever in enumerate(job.unit.levers) if lever.name == swap.lever)
        now = fitted_at(job, row)
        before, after = single(job, row, now), single(job, row, {**now, swap.kind: swap.on})
        for change in swap.changes:
            was, then = (getattr(table.readouts()[change.kind], change.readout) for table in (before, after))
            was, then = float(np.ravel(was)[0]), float(np.ravel(then)[0])
            np.testing.assert_allclose([change.before, change.after], [was, then], rtol=1e-11)
            if change.facet.felt == "force" and not np.isnan(was + then):
                assert change.steps == pytest.approx(np.log(then / was) / np.log(1.07), abs=1e-9)
            if change.facet.felt == "place" and not np.isnan(was + then):
                assert change.steps == pytest.approx((then - was) / 1.5e-3, abs=1e-9)


# Limits -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "phrase"), CASES)
def test_what_breaks_a_limit_is_refused_with_the_reason(name: str, phrase: str) -> None:
    found = asked(name, phrase)
    assert all(swap.broken for swap in found.refused)
    assert not any(swap.broken for swap in (*found.helping, *found.others))


def test_broken_is_what_a_pull_of_the_set_says() -> None:
    job = shop.known()
    for swap in all_of(asked(shop.MAIN, "too heavy")):
        row = next(row for row, lever in enumerate(job.unit.levers) if lever.name == swap.lever)
        table = single(job, row, {**fitted_at(job, row), swap.kind: swap.on})
        assert set(swap.broken) == {limit.sentence for limit in table.limits if limit.margin[0] < 0.0}


def test_a_limit_that_is_broken_already_does_not_forbid_what_eases_it() -> None:
    """A hand too short for the brake lever: the nearer cams help, though some still are beyond it."""
    job = shop.changed(shop.known(), rider__measured_reach_mm=76)
    row = shop.BRAKE
    before = single(job, row, fitted_at(job, row))
    was = {limit.key: float(limit.margin[0]) for limit in before.limits}
    assert was["brake.touch"] < 0 and was["brake.hold"] < 0
    found = [swap for swap in all_of(swaps(job, "brake too far")) if swap.kind == "brake"]
    table = candidates(job, row, {"brake": tuple(swap.on for swap in found)})
    margins = {limit.key: limit.margin for limit in table.limits}
    eased = worsened = 0
    for swap in found:
        (place,) = [at for at in range(table.count) if table.set_at(at)["brake"] == swap.on]
        worse = [limit.sentence for limit in table.limits if limit.margin[place] < min(0.0, was[limit.key])]
        assert list(swap.broken) == worse
        still = margins["brake.touch"][place] < 0
        eased += bool(still and not swap.broken)
        worsened += bool(swap.broken)
    assert eased and worsened
    assert swaps(job, "brake too far").helping


# Ranked for what was said -----------------------------------------------------------------------------------


def answered(swap: Swap, heard: tuple[Complaint, ...]) -> float:
    """Gain by its definition: per complaint the mean of the wanted changes, each held within bounds; then the mean."""
    means = []
    for known in heard:
        steps = [
            float(np.clip(way * change.steps, -GAIN_MOST, GAIN_MOST))
            for readout, way in known.wants.items()
            for change in swap.changes
            if (change.kind, change.readout) == (known.lever, readout)
        ]
        if steps:
            means.append(float(np.mean(steps)))
    return float(np.mean(means)) if means else 0.0


@pytest.mark.parametrize(("name", "phrase"), CASES)
def test_gain_and_side_effects_by_their_definition(name: str, phrase: str) -> None:
    found = asked(name, phrase)
    wanted = {(known.lever, readout) for known in found.complaints for readout in known.wants}
    for swap in all_of(found):
        assert swap.gain == pytest.approx(answered(swap, found.complaints), abs=1e-12)
        side = [
            abs(change.steps)
            for change in swap.changes
            if change.grade and change.readout in SPOKEN and (change.kind, change.readout) not in wanted
        ]
        assert swap.side == pytest.approx(sum(side), abs=1e-12)
        assert swap.score == pytest.approx(swap.gain - SIDE_WEIGHT * swap.side, abs=1e-12)


@pytest.mark.parametrize(("name", "phrase"), CASES)
def test_what_helps_comes_best_first_and_clears_the_threshold(name: str, phrase: str) -> None:
    found = asked(name, phrase)
    scores = [swap.score for swap in found.helping]
    assert scores == sorted(scores, reverse=True)
    assert all(score >= SCORE_LEAST for score in scores)
    assert all(swap.score < SCORE_LEAST for swap in found.others)


@pytest.mark.parametrize("name", shop.NAMES)
def test_too_heavy_is_answered_with_something_lighter(name: str) -> None:
    force = {"brake": "force_lock", "clutch": "force_peak", "assist": "force_peak"}
    for swap in asked(name, "too heavy").helping:
        kind = "brake" if swap.kind == "brake" else "clutch"
        assert change_of(swap, kind, force[swap.kind]) < 0.0


@pytest.mark.parametrize("name", shop.NAMES)
def test_too_far_is_answered_with_a_lever_that_rests_nearer(name: str) -> None:
    found = asked(name, "too far")
    for swap in found.helping:
        assert change_of(swap, "brake" if swap.kind == "brake" else "clutch", "gap_rest") < 0.0
        assert swap.on.reach_deg > swap.off.reach_deg
    if name != shop.SINGLE:  # there all three cams would have to go together
        assert found.helping


@pytest.mark.parametrize("name", shop.NAMES)
def test_grabs_is_answered_with_a_longer_way_or_zone(name: str) -> None:
    for swap in asked(name, "brake grabs").helping:
        assert change_of(swap, "brake", "modulation_travel") > 0.0
    if name != shop.BRAKE_ONLY:
        for swap in asked(name, "clutch grabs").helping:
            assert change_of(swap, "clutch", "friction_zone") > 0.0


def test_too_heavy_has_an_answer_on_both_levers_of_the_main_demo() -> None:
    kinds = {swap.kind for swap in asked(shop.MAIN, "too heavy").helping}
    assert "brake" in kinds
    assert kinds & {"clutch", "assist"}


def test_grabs_has_an_answer_on_the_brake() -> None:
    assert asked(shop.DIAPHRAGM, "brake grabs").helping


def test_a_complaint_about_one_lever_weighs_as_much_alone_as_with_the_other() -> None:
    """What is said of the other lever takes nothing off a cam of this one."""
    alone = {
        swap.on.id: swap.gain for swap in all_of(asked(shop.MAIN, "clutch too heavy")) if swap.kind != "brake"
    }
    both = {swap.on.id: swap.gain for swap in all_of(asked(shop.MAIN, "too heavy")) if swap.kind != "brake"}
    assert alone == both
    assert max(alone.values()) > SCORE_LEAST


def test_a_lever_prefix_leaves_the_other_lever_without_a_gain() -> None:
    found = asked(shop.MAIN, "clutch too heavy")
    assert [known.lever for known in found.complaints] == ["clutch"]
    assert found.helping
    assert {swap.lever for swap in found.helping} == {"clutch lever"}
    assert all(swap.gain == 0.0 for swap in all_of(found) if swap.kind == "brake")


def test_more_than_enough_counts_no_further() -> None:
    assert max(swap.gain for swap in all_of(asked(shop.MAIN, "brake too far"))) <= GAIN_MOST


# No cam ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("phrase", ["drags", "brake pumps up", "clutch slips", "squeals"])
def test_what_no_cam_cures_gets_checks_and_no_swap(phrase: str) -> None:
    found = asked(shop.MAIN, phrase)
    assert found.complaints
    no_cam = all(not known.wants for known in found.complaints)
    if no_cam:
        assert found.helping == ()
        assert "No cam cures this: the checks above do." in found.notes
    assert all(known.causes for known in found.complaints)


def test_at_least_two_of_the_complaints_tried_are_beyond_any_cam() -> None:
    tried = [named(phrase) for phrase in ("brake pumps up", "clutch slips", "squeals")]
    assert all(not known.wants for heard in tried for known in heard)


def test_when_only_forbidden_cams_would_help_the_note_says_which_limit() -> None:
    """Almost no room after lock-up: every lighter cam is longer, and no travel is left for it."""
    job = shop.changed(shop.known(), rack__brake=[{"reach_deg": 0, "take_up_mm": 0, "stroke_mm": [5, 5.5]}])
    found = swaps(job, "brake too heavy")
    assert found.helping == ()
    assert found.notes[1] == (
        "Every single cam that would surely help here breaks a limit: "
        "travel must be left after lock-up on the first surface."
    )


def test_when_nothing_would_help_the_note_says_so() -> None:
    job = shop.changed(shop.known(), rack__brake=[{"reach_deg": 0, "take_up_mm": 0, "stroke_mm": 8.6}])
    found = swaps(job, "brake too heavy")
    assert found.helping == ()
    assert (
        found.notes[1] == "No single cam of the rack would surely help here by as much as a finger can feel."
    )


# Without a word ---------------------------------------------------------------------------------------------


def test_without_a_complaint_the_smallest_change_comes_first() -> None:
    found = asked(shop.MAIN, None)
    assert found.complaints == ()
    assert found.helping == ()
    sides = [swap.side for swap in found.others]
    assert sides == sorted(sides)


def test_a_job_that_states_complaints_is_answered_for_them() -> None:
    job = shop.known()
    assert job.wishes is not None and job.wishes.complaints == ("too heavy",)
    assert swaps(job).complaints == named("too heavy")


def test_a_rack_without_cams_has_no_swaps() -> None:
    found = swaps(shop.changed(shop.known(), rack={}), "too heavy")
    assert all_of(found) == ()
    assert found.complaints


def by_ids(job: Job) -> set[str]:
    """Ids of every cam that a swap puts on."""
    return {swap.on.id for swap in all_of(swaps(job))}


def test_a_swap_never_puts_on_what_is_not_fitted_at_all() -> None:
    job = shop.changed(shop.known(), fitted__assist=None)
    assert not any(name.startswith("assist") for name in by_ids(job))
