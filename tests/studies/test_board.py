"""The board: what is looked at is what a pull gives, near and beyond the travel; and laws to start from."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.pull.loop import pull, pull_lever
from pullcurve.pull.mechanism import Choice, fitted, mechanism
from pullcurve.pull.plate import rocker_of
from pullcurve.studies.board import LAST, ROUGH, Board, Wanted, board_of
from pullcurve.studies.starts import FRICTION_SHARE, energy_law, reference, starts
from pullcurve.verbs.making import wish_of
from tests.studies import shop

NOTHING: FloatArray = np.zeros(0)
DEGREE = np.pi / 180


def wishing(name: str, kind: str, **wishes: float) -> Board:
    """A board with wishes alone."""
    known = tuple(wish_of(kind, key, value) for key, value in wishes.items())
    return board_of(shop.known(name), kind, Wanted(NOTHING, NOTHING, known))


def pointed(name: str, kind: str, travel: FloatArray, force: FloatArray) -> Board:
    """A board with points alone."""
    return board_of(shop.known(name), kind, Wanted(travel, force, ()))


# Looking --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "key", "value", "unit"),
    [("brake", "travel_bite_mm", 8.0, 1.5e-3), ("clutch", "friction_zone_mm", 9.0, 1.5e-3)],
)
def test_missed_steps_are_the_read_outs_of_the_fitted_pull(
    kind: str, key: str, value: float, unit: float
) -> None:
    """A lever position is felt by 1.5 mm (data of the hand)."""
    board = wishing(shop.MAIN, kind, **{key: value})
    whole = pull(mechanism(shop.known()))
    read = whole.brake if kind == "brake" else whole.clutch
    assert read is not None
    now = float(np.ravel(getattr(read, key.removesuffix("_mm")))[0])
    look = board.look_at(board.rocker.law, LAST)
    assert look.missed == pytest.approx([(now - value * 1e-3) / unit], abs=1e-4)
    assert board.names == (f"{kind}.{key}",)


def test_a_gap_at_rest_is_missed_whatever_the_law() -> None:
    """30 + 75 sin 27 - 16 mm is where the demo's lever rests: only a reach could change that."""
    board = wishing(shop.MAIN, "brake", gap_rest_mm=42.0, force_lock_newton=60.0)
    rows = board.coefficients(board.rocker.law) * np.array([[1.0], [1.001]])
    now = 30.0 + 75.0 * np.sin(27.0 * DEGREE) - 16.0
    np.testing.assert_allclose(board.look(rows, ROUGH).missed[:, 0], (now - 42.0) / 1.5)


def test_rows_are_looked_at_as_if_alone() -> None:
    board = wishing(shop.MAIN, "brake", force_lock_newton=60.0, travel_bite_mm=10.0)
    known = board.coefficients(board.rocker.law)
    rows = known + 0.02 * np.random.default_rng(1).normal(size=(4, known.size))
    rows += known[0] - rows[:, :1]
    together = board.look(rows, ROUGH)
    for row, coefficients in enumerate(rows):
        alone = board.look(coefficients, ROUGH)
        np.testing.assert_allclose(together.missed[row], alone.missed, atol=1e-9)
        np.testing.assert_allclose(together.margins()[row], alone.margins(), atol=1e-9)


def test_beyond_the_travel_a_miss_still_tells_how_far() -> None:
    """A slow law locks the wheel only past the stop: what is missed goes on smoothly, and the travel is what lacks."""
    board = wishing(shop.MAIN, "brake", modulation_mm=13.0)
    known = board.coefficients(board.rocker.law)
    slowed = known[0] + (known - known[0]) * np.linspace(0.9, 0.6, 31)[:, None]
    look = board.look(slowed, ROUGH)
    left = next(kept for kept in look.limits if kept.name.startswith("travel must be left")).values[:, 0]
    short = np.isnan(look.pulled.events.theta[:, look.pulled.events.index("lock-up 0")])
    assert np.any(short) and not np.all(short)
    assert np.all(left[short] < 0.0)
    steps = np.diff(look.missed[:, 0])
    assert np.all(np.diff(left) < 0.0)
    assert np.all(steps > 0.0)
    assert np.max(steps[1:] / steps[:-1]) < 1.05  # no jump where the travel ends


def test_weights_go_by_the_rider_and_by_the_force() -> None:
    wish = replace(wish_of("brake", "force_lock_newton", 60.0), weight=4.0)
    wanted = Wanted(np.array([0.01, 0.02]), np.array([10.0, 40.0]), (wish,))
    board = board_of(shop.known(), "brake", wanted)
    np.testing.assert_allclose(board.weights, [2.0, 0.5, 1.0])
    assert list(board.plain) == [True, True, True]


def test_a_wished_peak_is_counted_station_by_station_until_the_work_is_done() -> None:
    """One lever for all: what the clutch asks after lock-up and clean plates is no peak."""
    board = wishing(shop.SINGLE, "clutch", force_peak_newton=80.0)
    assert list(board.plain) == [False]
    look = board.look_at(board.rocker.law, LAST)
    read = look.pulled.clutch
    assert read is not None
    assert float(np.max(look.climbs)) == pytest.approx(float(look.missed[0]), abs=1e-9)
    assert float(np.max(look.pulled.curves.pull)) > float(np.ravel(read.force_peak)[0]) * 1.05


def test_reaches_set_the_flank_for_the_longest_travel() -> None:
    wanted = Wanted(NOTHING, NOTHING, (wish_of("brake", "force_lock_newton", 60.0),))
    near, far, both = (
        board_of(shop.known(), "brake", wanted, reaches)
        for reaches in ((8.0 * DEGREE,), (0.0,), (8.0 * DEGREE, 0.0))
    )
    assert near.end < far.end == both.end
    law = far.rocker.law
    count = {kept.name for kept in near.look_at(law, ROUGH).limits}
    assert len(both.look_at(law, ROUGH).limits) > len(count)
    assert np.ravel(both.look_at(law, ROUGH).pulled.end)[0] == pytest.approx(near.end)


def test_laws_that_no_lever_could_have_are_looked_at_without_a_warning() -> None:
    """Up and down by half a radian: events fall together, forces vanish, and every miss is still a number."""
    board = wishing(shop.MAIN, "brake", force_lock_newton=30.0, modulation_mm=10.0)
    known, dice = board.coefficients(board.rocker.law), np.random.default_rng(7)
    wild = known + 0.3 * np.cumsum(dice.normal(size=(256, known.size)), axis=1) / np.sqrt(known.size)
    wild += float(board.rocker.rest_angle) - evaluate(board.curve(wild), np.zeros((1, 1)))[0]
    look = board.look(wild, ROUGH)
    assert np.all(np.isfinite(look.missed))
    assert np.all(np.isfinite(look.margins()))
    assert np.all(np.min(look.margins(), axis=-1) < 0.0)


# Starts ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "kind", "travel", "force"),
    [
        (shop.MAIN, "brake", [0, 10, 15, 20, 25, 32], [6, 12, 26, 42, 58, 80]),
        (shop.MAIN, "clutch", [0, 5, 10, 15, 20, 32], [8, 32, 62, 68, 66, 66]),
        (shop.CABLE, "clutch", [0, 5, 10, 15, 20, 34], [8, 18, 38, 40, 38, 38]),
        (shop.SINGLE, "assist", [0, 5, 10, 15, 20, 34], [6, 26, 48, 52, 60, 120]),
    ],
)
def test_energy_law_gives_the_wanted_force_without_friction(
    name: str, kind: str, travel: list[float], force: list[float]
) -> None:
    """Energy against the solver's statics: after the load has begun, F* (1 - share) as far as ten pieces can bend."""
    board = pointed(name, kind, np.array(travel) * 1e-3, np.array(force, dtype=float))
    law = board.curve(energy_law(board))
    found = pull_lever(board.levers[0].with_law(kind, law), board.hand, board.whole)
    along = np.linspace(0.5, 0.95, 8) * float(found.curves.travel.reshape(-1)[-1])
    given = np.interp(along, found.curves.travel.reshape(-1), found.curves.force)
    wanted = np.interp(along, np.array(travel) * 1e-3, force) * (1.0 - FRICTION_SHARE)
    np.testing.assert_allclose(given, wanted, rtol=0.12)


def test_energy_that_a_spring_does_not_hold_is_not_asked_of_it() -> None:
    board = pointed(shop.MAIN, "assist", np.array([0.0, 0.030]), np.array([1.0, 1.0]))
    assert np.all(np.isfinite(energy_law(board)))


def test_points_are_their_own_reference_and_wishes_stay_near_what_is_fitted() -> None:
    board = wishing(shop.MAIN, "brake", force_lock_newton=60.0)
    law = board.curve(reference(board))
    theta = np.linspace(0.0, board.end, 50)
    np.testing.assert_allclose(evaluate(law, theta)[0], evaluate(board.rocker.law, theta)[0], atol=1e-6)
    points = pointed(shop.MAIN, "brake", np.array([0.010, 0.025]), np.array([12.0, 60.0]))
    np.testing.assert_array_equal(reference(points), energy_law(points))


def test_the_rack_is_asked_for_its_nearest_cam() -> None:
    """By pulling every cam of the rack alone."""
    board = wishing(shop.MAIN, "clutch", force_peak_newton=63.0)
    job = shop.known()
    assert job.rack is not None
    row, _ = rocker_of(job, "clutch")

    def miss(cam: object) -> float:
        found = pull(mechanism(job, Choice(clutch=(cam,), assist=fitted(job).assist))).levers[row].clutch  # type: ignore[arg-type]
        assert found is not None
        return abs(float(np.log(np.ravel(found.force_peak)[0] / 63.0)))

    near = min((cam for cam in job.rack.clutch_cams if cam.reach_deg == 0.0), key=miss)
    rocker = mechanism(job, Choice(clutch=(near,))).levers[row].rocker("clutch")
    assert rocker is not None
    *_, last = starts(board, reference(board), None)
    theta = np.linspace(0.0, board.end, 50)
    np.testing.assert_allclose(
        evaluate(board.curve(last()), theta)[0], evaluate(rocker.law, theta)[0], atol=1e-6
    )
