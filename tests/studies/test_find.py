"""Find against brute force: ranking, front, what wishes cost, the way there, and when nothing is left."""

from functools import cache

import numpy as np
import pytest

from pullcurve.errors import BadInput, Impossible
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import fitted
from pullcurve.studies.find import TIE, Found, LeverAnswer, find
from pullcurve.studies.wishes import Wish
from tests.studies import shop

MOST = 50


@cache
def found(name: str) -> Found:
    """Everything found for a demo job, once."""
    return find(shop.known(name), most=MOST)


ANSWERS = [(name, row) for name in shop.NAMES for row in range(len(found(name).levers))]


def answer_of(name: str, row: int) -> LeverAnswer:
    """What was found for one lever."""
    return found(name).levers[row]


def by_hand(wishes: tuple[Wish, ...], answer: LeverAnswer, row: int) -> float:
    """Distance of one set from the wishes: one logarithm or quotient per wish, weighted mean of the squares."""
    squares = weights = 0.0
    for wish in wishes:
        values: FloatArray = getattr(answer.table.readouts()[wish.kind], wish.readout)
        value = float(values[row, 0] if values.ndim == 2 else values[row])
        steps = (
            np.log(value / wish.target) / np.log(1.07)
            if wish.facet.felt == "force"
            else (value - wish.target) / 1.5e-3
        )
        squares += wish.weight * steps**2
        weights += wish.weight
    return float(np.sqrt(squares / weights))


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_answers_keep_every_limit_and_stand_undominated(name: str, row: int) -> None:
    known = answer_of(name, row)
    assert known.answers
    for answer in known.answers:
        assert all(limit.margin[answer.row] >= 0.0 for limit in known.table.limits)
        assert known.front[answer.row]
        assert answer.cams == known.table.set_at(answer.row)
    assert len({answer.row for answer in known.answers}) == len(known.answers)


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_front_is_what_no_allowed_set_beats_in_half_felt_steps(name: str, row: int) -> None:
    known = answer_of(name, row)
    coarse = np.round(np.abs(known.steps) * 2)  # half steps
    allowed = known.table.allowed & np.all(np.isfinite(known.steps), axis=0)
    columns = coarse[:, allowed]
    expected = np.zeros(known.table.count, dtype=bool)
    expected[allowed] = [
        not np.any(np.all(columns <= one[:, None], axis=0) & np.any(columns < one[:, None], axis=0))
        for one in columns.T
    ]
    assert known.front.tolist() == expected.tolist()


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_distance_is_what_one_gets_by_hand(name: str, row: int) -> None:
    known = answer_of(name, row)
    for place in np.flatnonzero(known.table.allowed)[:: max(1, known.table.count // 40)]:
        assert known.distance[place] == pytest.approx(by_hand(known.wishes, known, int(place)), rel=1e-12)
    for answer in known.answers:
        assert answer.distance == known.distance[answer.row]


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_best_is_nearest_but_for_what_no_finger_could_tell(name: str, row: int) -> None:
    known = answer_of(name, row)
    nearest = float(np.min(np.where(known.table.allowed, known.distance, np.inf)))
    assert known.answers[0].distance <= nearest + TIE
    ranked = [round(answer.distance / TIE) for answer in known.answers]
    assert ranked == sorted(ranked)


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_what_a_wish_costs_is_the_best_that_the_others_could_have(name: str, row: int) -> None:
    known = answer_of(name, row)
    assert len(known.costs) == (len(known.wishes) if len(known.wishes) > 1 else 0)
    rows = [int(place) for place in np.flatnonzero(known.table.allowed & np.isfinite(known.distance))]
    for cost in known.costs:
        others = tuple(wish for wish in known.wishes if wish.key != cost.wish.key)
        each = {place: by_hand(others, known, place) for place in rows}
        best = min(each.values())
        assert cost.without == pytest.approx(each[known.answers[0].row] - best, abs=1e-9)
        assert cost.without >= 0.0
        (place,) = [place for place in rows if known.table.set_at(place) == cost.cams]
        assert each[place] == pytest.approx(best, rel=1e-12)
        assert cost.steps == known.answers[0].steps[cost.wish.key]


@pytest.mark.parametrize("name", shop.NAMES)
def test_the_way_there_changes_one_cam_at_a_time_and_ends_at_the_best_set(name: str) -> None:
    job = shop.known(name)
    now = {kind: known[0] for kind in ("brake", "clutch", "assist") if (known := fitted(job).of(kind))}
    best = found(name).best
    swapped = []
    for step in found(name).route:
        for one in step:
            assert now[one.kind] == one.off != one.on
            now[one.kind] = one.on
            swapped.append(one.kind)
        # Each stop on the way can be ridden: clutch and assist of one reach, whatever else is still to come.
        assert "assist" not in now or now["clutch"].reach_deg == now["assist"].reach_deg
        assert len(step) == 1 or all(one.off and one.off.reach_deg != one.on.reach_deg for one in step)
    assert {**now, **best} == now
    assert len(set(swapped)) == len(swapped)


@pytest.mark.parametrize(("name", "row"), ANSWERS)
def test_what_is_ruled_out_adds_up(name: str, row: int) -> None:
    known = answer_of(name, row)
    margins = {limit.key: limit.margin for limit in known.table.limits}
    ruled = np.zeros(known.table.count, dtype=bool)
    for entry in known.excluded:
        broken = margins[entry.key] < 0.0
        ruled |= broken
        assert entry.count == int(np.sum(broken))
        assert entry.nearest_miss == pytest.approx(-float(np.max(margins[entry.key][broken])))
    assert np.all(ruled == ~known.table.allowed)


def test_fitted_distance_is_that_of_the_same_set_in_the_rack() -> None:
    known = answer_of(shop.MAIN, shop.BRAKE)
    job = shop.known()
    (place,) = [
        row for row in range(known.table.count) if known.table.set_at(row)["brake"] == job.fitted.brake
    ]
    assert known.fitted_distance == pytest.approx(float(known.distance[place]), rel=1e-12)


def test_most_limits_the_answers_and_nothing_else() -> None:
    few = find(shop.known(), most=1)
    assert [len(lever.answers) for lever in few.levers] == [1, 1]
    assert few.best == found(shop.MAIN).best


# What matters to whom ---------------------------------------------------------------------------------------


def test_what_is_fitted_stays_when_it_already_is_what_one_wishes() -> None:
    """Wishes taken from the fitted set's own pull: the answer is to leave everything as it is."""
    job = shop.known()
    now = found(shop.MAIN).levers
    brake, clutch = now[shop.BRAKE].fitted.brake, now[shop.CLUTCH].fitted.clutch
    assert brake is not None and clutch is not None
    content = shop.changed(
        job,
        wishes__brake={
            "force_lock_newton": float(brake.force_lock[0, 0]),
            "travel_bite_mm": 1e3 * float(brake.travel_bite[0]),
            "modulation_mm": 1e3 * float(brake.modulation_travel[0]),
        },
        wishes__clutch={
            "force_peak_newton": float(clutch.force_peak[0]),
            "gap_rest_mm": 1e3 * float(clutch.gap_rest[0]),
            "gap_free_mm": 1e3 * float(clutch.gap_free[0]),
        },
    )
    answer = find(content)
    assert answer.route == ()
    assert answer.best == {
        "brake": job.fitted.brake,
        "clutch": job.fitted.clutch,
        "assist": job.fitted.assist,
    }
    assert answer.levers[shop.BRAKE].fitted_distance == pytest.approx(0.0, abs=1e-9)


def test_a_wish_that_matters_more_is_met_more_closely() -> None:
    job = shop.known()

    def away(weight: float) -> float:
        asked = shop.changed(job, wishes__importance={"brake.force_lock_newton": weight})
        return abs(find(asked).levers[shop.BRAKE].answers[0].steps["brake.force_lock_newton"])

    assert away(10.0) <= away(1.0) <= away(0.1)
    assert away(10.0) < away(0.1)


def test_the_order_of_the_rack_does_not_matter() -> None:
    job = shop.known()
    turned = shop.changed(
        job,
        rack__brake=[
            {
                "reach_deg": [8, 6, 4, 2, 0],
                "take_up_mm": [0.6, 0.3, 0],
                "stroke_mm": [9, 8.5, 8, 7.5, 7, 6.5, 6, 5.5],
            }
        ],
    )
    assert find(turned).best == found(shop.MAIN).best


# Nothing left -----------------------------------------------------------------------------------------------


def with_brakes(job: Job, **row: object) -> Job:
    """The job with other brake cams in the rack."""
    return shop.changed(job, rack__brake=[row])


def test_when_nothing_is_allowed_one_sentence_says_which_limit_and_by_how_much() -> None:
    # Plungers that reach their end at 3 mm: lock-up needs more, so no cam can do it.
    job = with_brakes(shop.known(), reach_deg=0, take_up_mm=0, stroke_mm=[3, 3.5])
    with pytest.raises(Impossible) as caught:
        find(job)
    said = str(caught.value)
    assert said == (
        "brake lever: none of the 2 sets of the rack keeps every limit; 2 break this one: travel must be left "
        "after lock-up on the first surface"
    )
    assert caught.value.exit_code == 3


def test_the_sentence_names_the_miss_where_there_is_one() -> None:
    job = shop.changed(shop.known(), rider__measured_reach_mm=60)
    with pytest.raises(Impossible) as caught:
        find(job)
    said = str(caught.value)
    assert "\n" not in said
    assert said.startswith("brake lever: none of the 120 sets of the rack keeps every limit; ")
    assert "the nearest misses by " in said and said.endswith(" mm")


def test_without_a_rack_there_is_nothing_to_search() -> None:
    with pytest.raises(BadInput) as caught:
        find(shop.changed(shop.known(), rack=None))
    assert str(caught.value) == (
        "300 two-stroke enduro, no foot pedal: rack is missing; give the cams that the workshop has"
    )


@pytest.mark.parametrize("rack", [{}, {"brake": []}])
def test_an_empty_rack_has_nothing_to_search_either(rack: dict[str, object]) -> None:
    with pytest.raises(BadInput) as caught:
        find(shop.changed(shop.known(), rack=rack))
    assert str(caught.value) == (
        "300 two-stroke enduro, no foot pedal: rack has no cam for this unit; give the cams that the workshop has"
    )


def test_an_assist_where_none_is_fitted_is_a_step_of_the_way() -> None:
    """The unit has the rocker and the spring, but no cam for them yet: the way there puts one on."""
    job = shop.changed(shop.known(), fitted__assist=None)
    answer = find(job)
    (step,) = [one for step in answer.route for one in step if one.kind == "assist"]
    assert (step.off, step.on) == (None, answer.best["assist"])


def test_a_rack_of_clutch_cams_only_keeps_brake_and_assist() -> None:
    job = shop.changed(shop.known(), rack__brake=None, rack__assist=None)
    answer = find(job)
    assert [lever.lever for lever in answer.levers] == ["clutch lever"]
    assert answer.best["assist"] == job.fitted.assist
    assert [one.kind for step in answer.route for one in step] in ([], ["clutch"])
