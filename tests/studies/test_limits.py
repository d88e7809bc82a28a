"""Every limit, broken by a job or a cam made for it, and kept again a little further back."""

from typing import Any

import numpy as np
import pytest

from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.studies.candidates import Candidates, candidates, single
from pullcurve.studies.find import fitted_at
from pullcurve.studies.limits import Limit
from tests.studies import shop


def judged(job: Job, row: int) -> Candidates:
    """One lever with what is fitted."""
    cams: dict[str, Cam] = fitted_at(job, row)
    return single(job, row, cams)


def limits_of(job: Job, row: int) -> dict[str, Limit]:
    """Limits of one lever with what is fitted, by their keys."""
    return {limit.key: limit for limit in judged(job, row).limits}


def broken(job: Job, row: int) -> set[str]:
    """Keys of the limits that what is fitted breaks."""
    return {key for key, limit in limits_of(job, row).items() if limit.margin[0] < 0}


BRAKE_SLOT, CLUTCH_SLOT, ASSIST_SLOT = (
    f"unit__levers__{lever}__rockers__{place}" for lever, place in ((0, 0), (1, 0), (1, 1))
)

# One change each that breaks a limit, and what else it takes along.
BREAKING: list[tuple[str, int, dict[str, Any], set[str]]] = [
    ("brake.undercut", shop.BRAKE, {f"{BRAKE_SLOT}__rest_angle_deg": 12}, set()),
    ("brake.pressure_angle", shop.BRAKE, {f"{BRAKE_SLOT}__rest_angle_deg": 60}, set()),
    ("brake.travel_left", shop.BRAKE, {"fitted__brake__stroke_mm": 5}, set()),
    (
        "brake.return",
        shop.BRAKE,
        {"unit__levers__0__spring_torque_newton_mm": 0, "unit__levers__0__spring_rate_newton_mm_per_deg": 0},
        set(),
    ),
    ("brake.touch", shop.BRAKE, {"rider__measured_reach_mm": 60}, {"brake.hold"}),
    ("brake.hold", shop.BRAKE, {"rider__measured_reach_mm": 78}, set()),
    ("brake.effort", shop.BRAKE, {"rider__grip_newton": 150}, set()),
    ("brake.gauge", shop.BRAKE, {"unit__levers__0__length_mm": 76, "rider__grip_newton": 1000}, set()),
    (
        "brake.port",
        shop.BRAKE,
        {f"{BRAKE_SLOT}__plunger__port_mm": 0.1, f"{BRAKE_SLOT}__plunger__rest_gap_mm": 0.1},
        set(),
    ),
    ("brake.plunger", shop.BRAKE, {f"{BRAKE_SLOT}__plunger__stroke_mm": 5}, set()),
    ("clutch.undercut", shop.CLUTCH, {f"{CLUTCH_SLOT}__roller_radius_mm": 16}, set()),
    ("clutch.pressure_angle", shop.CLUTCH, {f"{CLUTCH_SLOT}__rest_angle_deg": 70}, set()),
    (
        "assist.undercut",
        shop.CLUTCH,
        {"fitted__assist": {"reach_deg": 0, "onset_deg": 10, "fall": 0.8, "blend_deg": 2}},
        set(),
    ),
    ("assist.pressure_angle", shop.CLUTCH, {f"{ASSIST_SLOT}__rest_angle_deg": 30}, {"clutch.return"}),
    ("clutch.travel_left", shop.CLUTCH, {"fitted__clutch__lift_mm": 8}, set()),
    ("clutch.return", shop.CLUTCH, {f"{ASSIST_SLOT}__spring__preload_newton": 1200}, set()),
    ("clutch.touch", shop.CLUTCH, {"rider__measured_reach_mm": 60}, {"clutch.hold"}),
    ("clutch.hold", shop.CLUTCH, {"rider__measured_reach_mm": 80}, set()),
    ("clutch.effort", shop.CLUTCH, {"rider__grip_newton": 120}, set()),
    ("clutch.gauge", shop.CLUTCH, {"unit__levers__1__length_mm": 76, "rider__grip_newton": 1000}, set()),
    (
        "clutch.port",
        shop.CLUTCH,
        {f"{CLUTCH_SLOT}__plunger__port_mm": 0.1, f"{CLUTCH_SLOT}__plunger__rest_gap_mm": 0.1},
        {"clutch.hold"},
    ),
    ("clutch.plunger", shop.CLUTCH, {f"{CLUTCH_SLOT}__plunger__stroke_mm": 6}, set()),
]


@pytest.mark.parametrize(("key", "row", "values", "along"), BREAKING, ids=[case[0] for case in BREAKING])
def test_limit_is_broken_by_what_is_made_for_it(
    key: str, row: int, values: dict[str, Any], along: set[str]
) -> None:
    job = shop.known()
    assert key not in broken(job, row)
    bad = shop.changed(job, **values)
    found = broken(bad, row)
    assert key in found
    assert found <= {key} | along
    table = judged(bad, row)
    assert table.allowed.tolist() == [False]
    (limit,) = [limit for limit in table.limits if limit.key == key]
    assert limit.sentence and limit.unit


def test_every_limit_has_a_case() -> None:
    job = shop.known()
    assert {case[0] for case in BREAKING} == set(limits_of(job, shop.BRAKE)) | set(
        limits_of(job, shop.CLUTCH)
    )


def test_what_is_fitted_on_the_main_demo_keeps_every_limit() -> None:
    job = shop.known()
    for row in (shop.BRAKE, shop.CLUTCH):
        assert judged(job, row).allowed.tolist() == [True]


# Margins by hand --------------------------------------------------------------------------------------------


def test_margin_of_the_port_by_hand() -> None:
    # 0.7 mm until the port shuts and 0.1 mm of play, of which 0.3 mm must be left: 0.5 mm to spare
    assert facts.fact("limits.port_margin_least_mm") == 0.3
    limit = limits_of(shop.known(), shop.BRAKE)["brake.port"]
    assert (limit.margin[0], limit.unit) == (pytest.approx(0.5, abs=1e-12), "mm")


def test_margin_of_the_gauge_force_by_hand() -> None:
    # 50 mm from the tip of a 120 mm lever is 70 mm from its pivot, the finger at 75 mm: F 75/70 against 200 N
    table = judged(shop.known(), shop.BRAKE)
    assert table.brake is not None
    (limit,) = [limit for limit in table.limits if limit.key == "brake.gauge"]
    assert limit.margin[0] == pytest.approx(200.0 - table.brake.force_lock[0, 0] * 75.0 / 70.0, rel=1e-12)


def test_margin_of_the_effort_is_in_per_cent() -> None:
    table = judged(shop.known(), shop.BRAKE)
    assert table.brake is not None
    (limit,) = [limit for limit in table.limits if limit.key == "brake.effort"]
    assert limit.margin[0] == pytest.approx(70.0 - 100.0 * table.brake.effort[0], rel=1e-12)


@pytest.mark.parametrize("row", [shop.BRAKE, shop.CLUTCH])
def test_travel_left_turns_where_two_millimetres_are_left(row: int) -> None:
    table = judged(shop.known(), row)
    known = table.brake if row == shop.BRAKE else table.clutch
    assert known is not None
    (limit,) = [limit for limit in table.limits if limit.key.endswith("travel_left")]
    assert limit.margin[0] == pytest.approx(1e3 * known.travel_left[0] - 2.0, rel=1e-12)


def test_never_locking_breaks_the_travel_without_bound_and_nothing_at_lock_up() -> None:
    job = shop.changed(shop.known(), fitted__brake__stroke_mm=3)
    table = judged(job, shop.BRAKE)
    assert table.brake is not None and np.isnan(table.brake.travel_lock[0])
    found = {limit.key: float(limit.margin[0]) for limit in table.limits}
    assert found["brake.travel_left"] == -np.inf
    assert found["brake.gauge"] == np.inf  # no force where no lock-up is
    assert not any(np.isnan(value) for value in found.values())


def test_a_cable_has_no_port_and_no_plunger() -> None:
    found = limits_of(shop.known(shop.CABLE), shop.CLUTCH)
    assert "clutch.port" not in found
    assert "clutch.plunger" not in found
    assert "clutch.travel_left" in found


def test_one_lever_is_judged_for_brake_clutch_and_three_cams() -> None:
    found = set(limits_of(shop.known(shop.SINGLE), 0))
    assert {"brake.return", "brake.undercut", "clutch.undercut", "assist.undercut"} <= found
    assert not {"clutch.return", "clutch.touch", "clutch.effort"} & found  # told once for the lever


# What is not known is not safe ------------------------------------------------------------------------------


def test_a_spring_table_that_ends_too_early_leaves_the_return_unknown_and_broken() -> None:
    """Past the table's last lift nobody knows the clutch's force, so nobody may say that the lever comes back."""
    job = shop.changed(
        shop.known(shop.DIAPHRAGM),
        clutch__table_lift_mm=[0, 0.7, 1.4],
        clutch__table_force_newton=[1080, 1080, 1040],
        fitted__clutch__lift_mm=12.5,
    )
    table = judged(job, shop.CLUTCH)
    assert table.clutch is not None
    assert np.isnan(table.clutch.return_least[0])
    found = {limit.key: float(limit.margin[0]) for limit in table.limits}
    assert found["clutch.return"] == -np.inf
    assert table.allowed.tolist() == [False]


def test_a_rocker_that_cannot_turn_that_far_is_ruled_out_and_warns_nobody() -> None:
    """A pin pushed along a line: no turn of the rocker gives more stroke than its arm is long."""
    job = shop.changed(
        shop.known(),
        unit__levers__0__rockers__0__push="pin",
        rack__brake=[{"reach_deg": 0, "take_up_mm": 0, "stroke_mm": [8, 16, 20]}],
    )
    assert job.rack is not None
    table = candidates(job, shop.BRAKE, {"brake": job.rack.brake_cams})
    assert table.allowed.tolist()[1:] == [False, False]
