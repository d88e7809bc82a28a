"""Cams drawn for a feel: the wish is met on another road, every limit is kept, and nothing better can be reached."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from scipy.optimize import brentq

from pullcurve.errors import BadInput, Impossible
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.mechanics.hand import felt_steps_force
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.parts.job import Job
from pullcurve.pull.loop import LeverPull, pull, pull_lever
from pullcurve.pull.mechanism import fitted, mechanism
from pullcurve.pull.plate import law_metal, rocker_of
from pullcurve.pull.shape import cam_shape
from pullcurve.studies.board import LAST, ROUGH, board_of
from pullcurve.studies.bounds import bounds
from pullcurve.studies.check import check_cam
from pullcurve.studies.draw import CLOSE, Drawn, Wanted, at_reach, draw
from pullcurve.studies.limits import judge
from pullcurve.studies.wishes import Wish, felt_steps
from pullcurve.verbs.making import wish_of
from tests.studies import shop
from tests.studies.feeling import felt

DEGREE = np.pi / 180
NOTHING: FloatArray = np.zeros(0)
TRIALS = "trials-280.toml"

FEELS = [
    (shop.MAIN, "brake", {"force_lock_newton": 58.0, "travel_bite_mm": 11.0}),
    (shop.MAIN, "clutch", {"force_peak_newton": 60.0}),
    (shop.MAIN, "assist", {"force_peak_newton": 62.0, "force_hold_newton": 45.0}),
    (shop.CABLE, "brake", {"force_lock_newton": 48.0, "modulation_mm": 13.0}),
    (shop.CABLE, "clutch", {"force_peak_newton": 48.0, "friction_zone_mm": 7.0}),
    (shop.CABLE, "assist", {"force_hold_newton": 25.0}),
    (shop.SINGLE, "brake", {"force_lock_newton": 70.0, "travel_bite_mm": 12.0}),
    (shop.SINGLE, "clutch", {"force_peak_newton": 80.0}),
    (shop.SINGLE, "assist", {"force_hold_newton": 52.0}),
    (TRIALS, "brake", {"force_lock_newton": 55.0, "travel_bite_mm": 10.0, "modulation_mm": 13.0}),
    (TRIALS, "clutch", {"force_peak_newton": 50.0, "friction_zone_mm": 8.0}),
    (TRIALS, "assist", {"force_hold_newton": 30.0}),
]


def wished(kind: str, wishes: dict[str, float], *, keep_end: bool = False) -> Wanted:
    """Wishes by key alone."""
    return Wanted(NOTHING, NOTHING, tuple(wish_of(kind, *wish) for wish in wishes.items()), keep_end)


@cache
def cam(number: int) -> Drawn:
    """A cam for one of the feels, drawn once."""
    name, kind, wishes = FEELS[number]
    return draw(shop.known(name), kind, wished(kind, wishes))


def pulled(job: Job, drawn: Drawn) -> LeverPull:
    """The lever pulled with a drawn law, apart from everything that drawing did."""
    whole = mechanism(job)
    row, _ = rocker_of(job, drawn.kind)
    return pull_lever(whole.levers[row].with_law(drawn.kind, drawn.curve), whole.hands[row], whole, 400)


def named(number: int) -> str:
    name, kind, wishes = FEELS[number]
    return f"{name.removesuffix('.toml')} {kind} {' '.join(wishes)}"


EVERY = pytest.mark.parametrize("number", range(len(FEELS)), ids=named)


# The wish ---------------------------------------------------------------------------------------------------------


@EVERY
def test_wish_is_met_on_the_independent_road(number: int) -> None:
    """Metal traced from the law, the roller let in by root search, forces by statics: within a quarter of a step."""
    name, kind, _ = FEELS[number]
    drawn = cam(number)
    road = felt(shop.known(name), kind, drawn.curve)
    for wish in drawn.wanted.wishes:
        assert abs(float(felt_steps(wish.target, road.readout(wish.key), wish.facet))) <= CLOSE
    assert [key for key, _ in drawn.left] == [wish.key for wish in drawn.wanted.wishes]
    assert drawn.met and drawn.worst <= CLOSE


@pytest.mark.parametrize("number", [0, 4, 7, 11], ids=named)
def test_force_along_the_pull_is_that_of_the_road(number: int) -> None:
    name, kind, _ = FEELS[number]
    drawn = cam(number)
    road, curves = felt(shop.known(name), kind, drawn.curve), drawn.pulled.curves
    theta = np.linspace(0.12, 0.93, 6) * road.end
    known = np.interp(theta, curves.theta.reshape(-1), curves.pull)
    np.testing.assert_allclose(known, [road.force(one) for one in theta], rtol=3e-3)


@EVERY
def test_drawn_law_starts_at_rest_and_is_what_the_curve_says(number: int) -> None:
    name, kind, _ = FEELS[number]
    drawn = cam(number)
    _, part = rocker_of(shop.known(name), kind)
    assert drawn.psi[0] == pytest.approx(part.rest_angle_deg * DEGREE, abs=1e-9)
    np.testing.assert_allclose(drawn.psi, evaluate(drawn.curve, drawn.theta)[0])


# Limits -----------------------------------------------------------------------------------------------------------


@EVERY
def test_drawn_cam_passes_its_own_check(number: int) -> None:
    """The check looks at the whole closed outline as it would be cut, with other formulas and other stations."""
    name, kind, _ = FEELS[number]
    job, drawn = shop.known(name), cam(number)
    row, part = rocker_of(job, kind)
    lever = mechanism(job).levers[row].with_law(kind, drawn.curve)
    verdict = check_cam(job, law_metal(lever, kind, part.plate, "drawn"), pulled(job, drawn))
    assert verdict.ok, verdict.words


@EVERY
def test_drawn_cam_keeps_the_limits_of_a_search(number: int) -> None:
    """What find would refuse, a drawn cam does not do; where the lever rests is no matter of its law."""
    name, kind, _ = FEELS[number]
    job, drawn = shop.known(name), cam(number)
    row, _ = rocker_of(job, kind)
    found = pulled(job, drawn)
    rocker = mechanism(job).levers[row].with_law(kind, drawn.curve).rocker(kind)
    assert rocker is not None
    shapes = {kind: cam_shape(rocker, found.end)}
    brake, clutch = (found.brake, None) if kind == "brake" else (None, found.clutch)
    broken = [limit.key for limit in judge(job, brake, clutch, shapes) if np.min(limit.margin) < 0.0]
    assert not [key for key in broken if key.split(".")[1] not in ("touch", "hold", "port")]


def test_hold_is_not_made_worse() -> None:
    """A lever that already rests too far out is for its reach to mend, not for its cam."""
    job = shop.known(shop.CABLE)
    before, after = pull(mechanism(job)).clutch, pulled(job, cam(4)).clutch
    assert before is not None and after is not None
    assert float(np.ravel(before.hold_margin)[0]) < 0.0
    assert float(np.ravel(after.hold_margin)[0]) >= float(np.ravel(before.hold_margin)[0])


def test_no_cam_at_all_is_told_with_the_limit() -> None:
    """Brass, two millimetres thick: by Hertz no law can carry this lever's load."""
    plate = {"material": "brass", "thickness_mm": 1.2}
    job = shop.changed(shop.known(), unit__levers__0__rockers__0__plate=plate)
    with pytest.raises(
        Impossible, match=r"no brake cam was found .* the nearest breaks the contact pressure, by"
    ):
        draw(job, "brake", wished("brake", {"force_lock_newton": 58.0}))


# Wishes that cannot be met ------------------------------------------------------------------------------------------

OUT_OF_REACH = [
    (shop.MAIN, "brake", {"force_lock_newton": 30.0, "modulation_mm": 10.0}),
    (shop.MAIN, "clutch", {"force_peak_newton": 46.0}),
    (shop.SINGLE, "assist", {"force_peak_newton": 110.0}),
]


@pytest.mark.parametrize(("name", "kind", "wishes"), OUT_OF_REACH)
def test_nearest_feel_names_its_limit_and_no_random_law_is_nearer(
    name: str, kind: str, wishes: dict[str, float]
) -> None:
    """Six thousand laws at random, near by and far off: of those that keep every limit none comes nearer."""
    job = shop.known(name)
    drawn = draw(job, kind, wished(kind, wishes))
    assert not drawn.met
    assert drawn.binding
    board = board_of(job, kind, drawn.wanted)
    left = float(np.linalg.norm([steps for _, steps in drawn.left]))
    here, dice = board.coefficients(drawn.curve), np.random.default_rng(7)
    # What the law must do is kept by construction: it rises (or falls), and starts where the roller rests.
    best = np.inf
    for size in np.geomspace(1e-4, 0.3, 24):
        rows = here + size * np.cumsum(dice.normal(size=(256, here.size)), axis=1) / np.sqrt(here.size)
        rows += float(board.rocker.rest_angle) - evaluate(board.curve(rows), np.zeros((1, 1)))[0]
        look = board.look(rows, ROUGH)
        kept = np.min(look.margins(), axis=-1) >= 0.0
        best = min(best, float(np.min(np.linalg.norm(look.missed, axis=-1)[kept], initial=np.inf)))
    assert best >= left - 0.05


def test_force_below_what_energy_allows_is_missed_by_as_much() -> None:
    """A force that rises is at its end no less than its mean, and its mean is energy over travel."""
    job = shop.known()
    wanted = wished("brake", {"force_lock_newton": 20.0, "travel_bite_mm": 10.0, "modulation_mm": 12.0})
    drawn = draw(job, "brake", wanted)
    whole = mechanism(job)
    found = [bound for bound in bounds(whole, whole.levers[0], wanted.wishes) if not bound.met]
    assert found
    read = drawn.pulled.brake
    assert read is not None
    lock, until = float(np.ravel(read.force_lock)[0]), float(np.ravel(read.travel_lock)[0])
    least = found[0].energy / until
    assert lock >= least
    assert dict(drawn.left)["brake.force_lock_newton"] == pytest.approx(
        float(felt_steps_force(20.0, lock)), abs=0.02
    )


# The end point ------------------------------------------------------------------------------------------------------


def test_end_point_is_kept_where_asked() -> None:
    job = shop.known()
    drawn = draw(job, "brake", wished("brake", {"force_lock_newton": 60.0}, keep_end=True))
    free = draw(job, "brake", wished("brake", {"force_lock_newton": 60.0}))
    end = drawn.pulled.end
    rocker = mechanism(job).levers[0].rocker("brake")
    assert rocker is not None
    before = evaluate(rocker.law, end)[0]
    assert evaluate(drawn.curve, end)[0] == pytest.approx(before, abs=1e-9)
    assert abs(evaluate(free.curve, end)[0] - before) > 0.01
    assert drawn.worst < CLOSE


def test_what_the_shared_end_stands_in_the_way_of_is_named() -> None:
    """An assist gives back what its spring has: at the same end point the force held in is as heavy or as light."""
    job = shop.known()
    wishes = {"force_peak_newton": 55.0}
    assert draw(job, "assist", wished("assist", wishes)).worst < CLOSE
    drawn = draw(job, "assist", wished("assist", wishes, keep_end=True))
    assert drawn.worst > 1.0
    assert "the end point that the set shares" in drawn.binding


# Points -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "kind", "other"),
    [
        (shop.MAIN, "brake", BrakeCam(reach_deg=0, take_up_mm=0.3, stroke_mm=7)),
        (shop.SINGLE, "clutch", ClutchCam(reach_deg=0, lift_mm=9.75)),
        (shop.CABLE, "assist", AssistCam(reach_deg=0, onset_deg=6, fall=0.5)),
    ],
)
def test_points_of_another_cams_pull_give_its_force(
    name: str, kind: str, other: BrakeCam | ClutchCam | AssistCam
) -> None:
    """Another cam's pull is a feel that some cam has: it is found again, within a step of the finger everywhere."""
    job = shop.known(name)
    row, _ = rocker_of(job, kind)
    choice = replace(fitted(job), **{kind: (other,)})  # type: ignore[arg-type]
    known = pull(mechanism(job, choice)).levers[row]
    travel = np.linspace(0.0, 0.97, 14) * float(known.curves.travel.reshape(-1)[-1])
    force = np.interp(travel, known.curves.travel.reshape(-1), known.curves.pull)
    drawn = draw(job, kind, Wanted(travel, force, ()))
    road = felt(job, kind, drawn.curve)
    for at, wanted in list(zip(travel, force, strict=True))[2::3]:
        assert abs(float(felt_steps_force(wanted, road.force(at / road.lever.pad_radius)))) < 0.5
    assert drawn.met


def test_points_before_the_load_begins_are_no_matter_of_the_cam() -> None:
    """At rest the finger holds the lever's own spring, whatever the law."""
    travel, force = np.array([0.0, 0.010, 0.015, 0.020, 0.025]), np.array([9.0, 11.0, 22.0, 45.0, 62.0])
    drawn = draw(shop.known(), "brake", Wanted(travel, force, ()))
    names = [key for key, _ in drawn.left]
    assert names == [f"force at {at} mm" for at in ("10.0", "15.0", "20.0", "25.0")]
    assert drawn.worst < 0.5


def test_points_beyond_the_travel_are_one_line() -> None:
    wanted = Wanted(np.array([0.0, 0.050]), np.array([10.0, 60.0]), ())
    with pytest.raises(
        BadInput, match=r"^draw: points go to 50\.0 mm of travel; allowed is up to 32\.3 mm, where"
    ):
        draw(shop.known(), "brake", wanted)


def test_wish_for_another_lever_is_one_line() -> None:
    wish = wish_of("clutch", "force_peak_newton", 50.0)
    with pytest.raises(
        BadInput, match=r"clutch\.force_peak_newton is not read on the lever of the brake cam"
    ):
        draw(shop.known(), "brake", Wanted(NOTHING, NOTHING, (wish,)))


def test_a_kind_that_is_not_fitted_has_nothing_to_start_from() -> None:
    job = shop.changed(shop.known(), fitted__assist=None)
    with pytest.raises(Impossible, match="no assist cam is fitted to start from"):
        draw(job, "assist", wished("assist", {"force_peak_newton": 60.0}))


# Starts -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("start", [0, 3, 6])
def test_any_start_leads_to_the_wish(start: int) -> None:
    """Laws that were drawn for other machines, far from the wish."""
    name, kind, wishes = FEELS[0]
    drawn = draw(shop.known(name), kind, wished(kind, wishes), cam(start).curve)
    assert drawn.worst <= CLOSE
    for key, steps in drawn.left:
        assert steps == pytest.approx(dict(cam(0).left)[key], abs=CLOSE)


def test_without_a_rack_there_is_one_start_less() -> None:
    job = shop.known().model_copy(update={"rack": None})
    drawn = draw(job, "clutch", wished("clutch", {"force_peak_newton": 46.0}))
    assert drawn.binding
    assert not drawn.met


# Reaches ------------------------------------------------------------------------------------------------------------

REACHES = (0.0, 4.0 * DEGREE, 8.0 * DEGREE)
HOLE = {"radius_mm": 15.0, "angle_deg": 70.0, "diameter_mm": 3.0}


@cache
def bored() -> Job:
    """The demo, its brake cam screwed to the lever."""
    return shop.changed(shop.known(), unit__levers__0__rockers__0__plate={"holes": [HOLE]})


@cache
def reaching() -> Drawn:
    """A brake cam that keeps its limits at three reaches."""
    return draw(bored(), "brake", wished("brake", {"force_lock_newton": 66.0}), reaches=REACHES)


def turned(points: FloatArray, angle: float) -> FloatArray:
    """Points turned counter-clockwise."""
    both = (points[..., 0] + 1j * points[..., 1]) * np.exp(1j * angle)
    return np.stack([both.real, both.imag], axis=-1)


@pytest.mark.parametrize("reach", REACHES)
def test_roller_lifts_by_the_same_law_from_the_new_rest(reach: float) -> None:
    """The plate as cut for a reach, laid on the lever by its screw hole; shapely lets the roller touch it."""
    job, drawn = bored(), reaching()
    lever = mechanism(job).levers[0]
    _, part = rocker_of(job, "brake")
    metal, straight = (
        law_metal(lever.at_reach(one).with_law("brake", drawn.curve), "brake", part.plate, "drawn")
        for one in (reach, 0.0)
    )
    outline = shapely.LinearRing(metal.outline)
    for theta in (0.0, 0.1, 0.2, metal.rest_end):
        whole = metal.sense * (reach + theta)  # how far the lever stands from its rest at reach 0
        hole = turned(np.array(straight.holes[0][:2]), whole)
        laid = whole - metal.sense * reach
        np.testing.assert_allclose(turned(np.array(metal.holes[0][:2]), laid), hole, atol=1e-12)

        def apart(psi: float, laid: float = laid) -> float:
            x, y = metal.centre_distance - metal.arm * np.cos(psi), metal.arm * np.sin(psi)
            at = turned(np.array([x, y]), -laid)
            return float(outline.distance(shapely.Point(at))) - metal.roller_radius

        law = float(evaluate(drawn.curve, np.array([theta]))[0][0])
        assert brentq(apart, law - 0.03, law + 0.05, xtol=1e-9) == pytest.approx(law, abs=1e-4)


@pytest.mark.parametrize("reach", REACHES)
def test_rung_at_another_reach_is_felt_from_there(reach: float) -> None:
    """The gap by the unit's own sizes; the same bite and nearly the same force: only pin friction knows the blade."""
    drawn = at_reach(bored(), reaching(), reach)
    lever = bored().unit.levers[0]
    blade = lever.rest_angle_deg * DEGREE - reach
    gap = bored().unit.pivot_offset_mm + lever.finger_radius_mm * np.sin(blade) - 16.0
    read, first = drawn.pulled.brake, reaching().pulled.brake
    assert read is not None and first is not None
    assert drawn.reach == pytest.approx(reach)
    assert float(np.ravel(read.gap_rest)[0]) == pytest.approx(gap / 1e3, abs=1e-9)
    assert float(np.ravel(read.travel_bite)[0]) == pytest.approx(
        float(np.ravel(first.travel_bite)[0]), abs=1e-9
    )
    assert abs(dict(drawn.left)["brake.force_lock_newton"]) < CLOSE
    whole = mechanism(bored())
    board = board_of(bored(), "brake", drawn.wanted, (reach,))
    assert np.min(board.look_at(drawn.curve, LAST).margins()) >= 0.0
    assert float(drawn.pulled.end[0]) == pytest.approx(float(whole.levers[0].stop) - reach, abs=0.2)


def test_a_cam_drawn_for_one_reach_may_break_a_limit_at_another() -> None:
    """Eight degrees further in, the wheel of this cam would lock where the travel ends."""
    drawn = draw(bored(), "brake", wished("brake", {"force_lock_newton": 50.0}))
    with pytest.raises(Impossible, match=r"drawn for other reaches breaks, at 8\.0°, travel must be left"):
        at_reach(bored(), drawn, 8.0 * DEGREE)


# What is remembered ---------------------------------------------------------------------------------------------------


def test_weight_of_a_wish_decides_between_two_that_fight() -> None:
    """Lighter and shorter at once cannot be had; what weighs more is missed by less."""
    job = shop.known()

    def missed(weight: float) -> tuple[float, float]:
        force, window = (
            wish_of("brake", key, value)
            for key, value in (("force_lock_newton", 40.0), ("modulation_mm", 9.0))
        )
        both: tuple[Wish, ...] = (replace(force, weight=weight), window)
        left = dict(draw(job, "brake", Wanted(NOTHING, NOTHING, both)).left)
        return abs(left["brake.force_lock_newton"]), abs(left["brake.modulation_mm"])

    light, heavy = missed(0.2), missed(5.0)
    assert heavy[0] < light[0]
    assert heavy[1] > light[1]
