"""Distances from wishes by hand, and undominated sets against the definition."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, Readouts, facets
from pullcurve.studies.candidates import single
from pullcurve.studies.find import fitted_at
from pullcurve.studies.wishes import (
    KEPT_WEIGHT,
    WISH_READOUTS,
    Wish,
    distances,
    felt_steps,
    first_surface,
    total,
    undominated,
    wishes_of,
)
from tests.studies import shop

BRAKE_FACETS, CLUTCH_FACETS = dict(facets(BrakeReadouts)), dict(facets(ClutchReadouts))


def fitted(job: Job, kind: str) -> Readouts:
    """Read-outs of what is fitted, as a table of one row."""
    lever = next(
        row
        for row, lever in enumerate(job.unit.levers)
        if any(rocker.drives == kind for rocker in lever.rockers)
    )
    return single(job, lever, fitted_at(job, lever)).readouts()[kind]


def wish(readout: str, target: float, weight: float = 1.0) -> Wish:
    """A wish for a read-out of the brake."""
    return Wish(f"brake.{readout}", "brake", readout, target, weight, "given", BRAKE_FACETS[readout])


# Felt steps by hand -----------------------------------------------------------------------------------------


def test_two_steps_of_seven_per_cent_and_two_of_a_millimetre_and_a_half() -> None:
    # 50 N x 1.07 x 1.07 = 57.245 N; 11 mm + 2 x 1.5 mm = 14 mm (the thresholds of words and mechanics: 7 %, 1.5 mm)
    assert felt_steps(50.0, 57.245, BRAKE_FACETS["force_lock"]) == pytest.approx(2.0, abs=1e-12)
    assert felt_steps(0.011, 0.014, BRAKE_FACETS["travel_bite"]) == pytest.approx(2.0, abs=1e-12)
    assert felt_steps(0.014, 0.011, BRAKE_FACETS["travel_bite"]) == pytest.approx(-2.0, abs=1e-12)
    assert felt_steps(1.0, 9.0, BRAKE_FACETS["hysteresis"]) == 0.0


def test_distance_is_signed_and_speaks_of_the_first_surface() -> None:
    known = fitted(shop.known(), "brake")
    assert isinstance(known, BrakeReadouts)
    row = replace(
        known,
        force_lock=np.array([[57.245, 5.0, 1.0]]),
        travel_bite=np.array([0.0095]),
        modulation_travel=np.array([np.nan]),
    )
    asked = (wish("force_lock", 50.0), wish("travel_bite", 0.011), wish("modulation_travel", 0.012))
    steps = distances(asked, row)
    assert steps.shape == (3, 1)
    assert steps[0, 0] == pytest.approx(2.0, abs=1e-12)  # heavier by 1.07 twice
    assert steps[1, 0] == pytest.approx(-1.0, abs=1e-12)  # 9.5 mm is one step short of 11 mm
    assert steps[2, 0] == np.inf  # lock-up is not reached


def test_total_is_the_weighted_root_mean_square() -> None:
    asked = (wish("force_lock", 50.0, 3.0), wish("travel_bite", 0.011, 1.0))
    steps = np.array([[2.0, 0.0], [-4.0, 0.0]])
    # (3 x 2^2 + 1 x 4^2) / (3 + 1) = 28 / 4 = 7
    assert total(asked, steps) == pytest.approx([np.sqrt(7.0), 0.0], abs=1e-15)


def test_without_wishes_nothing_is_away_from_them() -> None:
    assert total((), np.zeros((0, 3))).tolist() == [0.0, 0.0, 0.0]
    assert distances((), fitted(shop.known(), "brake")).shape == (0, 1)


def test_weights_as_a_whole_do_not_matter() -> None:
    steps = np.array([[2.0, 0.5], [-4.0, 1.0]])
    light = (wish("force_lock", 50.0, 0.3), wish("travel_bite", 0.011, 0.1))
    heavy = (wish("force_lock", 50.0, 9.0), wish("travel_bite", 0.011, 3.0))
    assert total(light, steps) == pytest.approx(total(heavy, steps), rel=1e-14)


def test_first_surface_keeps_the_other_axes() -> None:
    values = np.arange(6.0).reshape(2, 3)
    assert first_surface(values, BRAKE_FACETS["force_lock"]).tolist() == [0.0, 3.0]
    assert first_surface(values, BRAKE_FACETS["force_bite"]) is values


# Where wishes come from -------------------------------------------------------------------------------------


def test_every_wish_key_of_a_job_speaks_of_a_read_out() -> None:
    from pullcurve.parts.rider import WISH_KEYS

    assert set(WISH_READOUTS) == set(WISH_KEYS)
    for key, readout in WISH_READOUTS.items():
        assert readout in (BRAKE_FACETS if key.startswith("brake.") else CLUTCH_FACETS)


def test_stated_wishes_are_taken_as_they_stand_and_the_lever_stays_where_it_rests() -> None:
    job = shop.known()
    read = fitted(job, "brake")
    found = {wish.key: wish for wish in wishes_of(job, "brake", read)}
    assert set(found) == {
        "brake.force_lock_newton",
        "brake.travel_bite_mm",
        "brake.modulation_mm",
        "brake.gap_rest_mm",
    }
    assert found["brake.travel_bite_mm"].target == pytest.approx(0.011, rel=1e-15)  # 11 mm in the file
    assert found["brake.travel_bite_mm"].source == "given"
    kept = found["brake.gap_rest_mm"]
    assert (kept.source, kept.weight) == ("kept", KEPT_WEIGHT)
    assert kept.target == read.gap_rest[0]


def test_without_a_word_about_it_the_documented_priors_stand_in() -> None:
    job = shop.changed(shop.known(), wishes=None)
    found = {wish.key: wish for wish in wishes_of(job, "brake", fitted(job, "brake"))}
    assert found["brake.force_lock_newton"].target == facts.wish("brake.force_lock_newton")
    assert found["brake.force_lock_newton"].source == "prior"
    assert "brake.gap_bite_mm" not in found  # its prior has no value


def test_importance_is_the_weight() -> None:
    job = shop.changed(shop.known(), wishes__importance={"brake.force_lock_newton": 4.0})
    found = {wish.key: wish.weight for wish in wishes_of(job, "brake", fitted(job, "brake"))}
    assert found["brake.force_lock_newton"] == 4.0
    assert found["brake.travel_bite_mm"] == 1.0


def test_a_stated_rest_gap_is_a_wish_and_not_kept() -> None:
    job = shop.known(shop.CABLE)
    found = {wish.key: wish for wish in wishes_of(job, "brake", fitted(job, "brake"))}
    assert found["brake.gap_rest_mm"].source == "given"
    assert found["brake.gap_rest_mm"].weight == 1.0


# Undominated against the definition -------------------------------------------------------------------------


def by_definition(costs: NDArray[np.float64]) -> list[bool]:
    """A column stands when it is finite and no other finite one is as good everywhere and better somewhere."""
    finite = [bool(np.all(np.isfinite(column))) for column in costs.T]
    return [
        finite[one]
        and not any(
            finite[other]
            and np.all(costs[:, other] <= costs[:, one])
            and np.any(costs[:, other] < costs[:, one])
            for other in range(costs.shape[1])
        )
        for one in range(costs.shape[1])
    ]


@given(
    st.tuples(st.integers(1, 4), st.integers(1, 40)).flatmap(
        lambda shape: arrays(
            np.float64,
            shape,
            # few values, so that ties are the rule; now and then one that is not reached
            elements=st.sampled_from([0.0, 0.5, 1.0, 1.0, 2.0, 3.0, np.inf]),
        )
    )
)
def test_undominated_with_ties(costs: NDArray[np.float64]) -> None:
    assert undominated(costs).tolist() == by_definition(costs)


@given(
    st.tuples(st.integers(1, 5), st.integers(1, 30)).flatmap(
        lambda shape: arrays(np.float64, shape, elements=st.floats(0, 1e6))
    )
)
def test_undominated_with_any_numbers(costs: NDArray[np.float64]) -> None:
    assert undominated(costs).tolist() == by_definition(costs)


def test_equal_columns_stand_together_and_none_is_lost() -> None:
    assert undominated(np.ones((3, 5))).tolist() == [True] * 5


def test_nothing_reached_leaves_nothing() -> None:
    assert undominated(np.full((2, 3), np.inf)).tolist() == [False] * 3


def test_absorbed_sums_do_not_hide_a_dominated_column() -> None:
    # 1e16 + 1 = 1e16 in float64: the sums of both columns are equal, yet the second beats the first.
    costs = np.array([[1e16, 1e16], [1.0, 0.0]])
    assert undominated(costs).tolist() == [False, True]
