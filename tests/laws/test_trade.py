"""What the trade knows of such cams: common practice, each fact with the sum that shows it."""

import numpy as np
import pytest

from pullcurve.mechanics.law import law
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.arrays import Wear
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.solve import solve, stroke
from tests.pull.example import JOBS, lever_with, rocker_with, without_friction

DEGREE, MM = np.pi / 180, 1e-3


def test_reach_cams_step_two_degrees_and_move_only_the_lever() -> None:
    """Common practice. By hand: 30 + 75 sin(27 - reach) - 16 mm of gap at the finger."""
    steps = [0.0, 2.0, 4.0, 6.0, 8.0]
    cams = [BrakeCam(reach_deg=reach, take_up_mm=0.3, stroke_mm=7.5) for reach in steps]
    known = pull(mechanism(JOBS["two levers"](), Choice(brake=cams))).brake
    assert known is not None
    by_hand = [30 + 75 * np.sin((27 - reach) * DEGREE) - 16 for reach in steps]
    np.testing.assert_allclose(known.gap_rest / MM, by_hand, rtol=1e-12)
    assert np.diff(known.gap_rest).max() < -2 * MM  # every step is felt: more than 1.5 mm
    reached = ~np.isnan(known.travel_lock)
    assert reached.tolist() == [
        True,
        True,
        True,
        False,
        False,
    ]  # the last two end on the fingers before lock-up
    for name in ("travel_bite", "travel_lock", "modulation_travel", "gain_travel"):
        value = getattr(known, name)[reached]
        np.testing.assert_allclose(value, value[0], rtol=1e-12)
    for name in ("force_bite", "gain_force"):
        value = getattr(known, name)[reached]
        np.testing.assert_allclose(value, value[0], rtol=1e-2)
    # the travel left shrinks by what the gap at lock-up has lost of its way to the fingers' 17 mm
    end = 75 * MM * (27 * DEGREE - np.arcsin((17 + 16 - 30) / 75))
    left = end - 75 * MM * np.array(steps) * DEGREE - known.travel_lock
    np.testing.assert_allclose(known.travel_left[reached], left[reached], rtol=1e-9)


def test_a_clutch_reach_cam_of_eight_degrees_brings_the_lever_in_by_ten_millimetres() -> None:
    """Common practice: about 10 mm. By hand: 75 (sin 27 - sin 19) = 9.63 mm."""
    cams = [ClutchCam(reach_deg=reach, lift_mm=9.0) for reach in (0.0, 8.0)]
    known = pull(mechanism(JOBS["two levers"](), Choice(clutch=cams))).clutch
    assert known is not None
    brought = float(known.gap_rest[0] - known.gap_rest[1]) / MM
    assert brought == pytest.approx(10.0, abs=0.5)
    assert brought == pytest.approx(75 * (np.sin(27 * DEGREE) - np.sin(19 * DEGREE)), rel=1e-12)


@pytest.mark.parametrize("name", ["two levers", "pin"])
def test_take_up_variants_end_at_the_same_stroke(name: str) -> None:
    """Common practice: the load comes on earlier, the end of the flank is the same."""
    cams = [BrakeCam(reach_deg=0, take_up_mm=early, stroke_mm=7.5) for early in (0.0, 0.3, 0.6)]
    known = mechanism(JOBS[name](), Choice(brake=cams))
    rocker = rocker_with(known, "brake")
    travel, _ = stroke(rocker, law(rocker.law, np.array([0.0, 5.0, 13.0, 26.0]) * DEGREE).psi)
    np.testing.assert_allclose(travel[:, 0], 0.0, atol=1e-15)
    np.testing.assert_allclose(travel[:, -1], 7.5 * MM, rtol=1e-12)
    assert (np.diff(travel[:, 1:-1], axis=0) > 0.1 * MM).all()
    readouts = pull(known).brake
    assert readouts is not None
    assert (np.diff(readouts.travel_bite) < -1 * MM).all()


@pytest.mark.parametrize("name", ["two levers", "torsion", "cable", "diaphragm"])
def test_a_steeper_assist_makes_a_lighter_lever(name: str) -> None:
    """Common practice."""
    cams = [AssistCam(reach_deg=0, onset_deg=6, fall=fall) for fall in (0.3, 0.4, 0.5)]
    clutch = [ClutchCam(reach_deg=0, lift_mm=11.0)]
    readouts = pull(mechanism(JOBS[name](), Choice(clutch=clutch, assist=cams))).clutch
    without = pull(mechanism(JOBS[name](), Choice(clutch=clutch))).clutch
    assert readouts is not None
    assert without is not None
    for peak in (readouts.force_peak, readouts.force_hold):
        assert (np.diff(peak) < 0).all()
    assert (readouts.force_hold < without.force_hold).all()
    assert (readouts.force_peak <= without.force_peak * (1 + 1e-9)).all()


def onset(reach: float, at: float) -> float:
    """Lever angle where the assist begins to help: half a newton metre of slope is found by the integral's foot.

    The help grows with the square of the way past the onset, so its root is a straight line there.
    """
    choice = Choice(
        clutch=[ClutchCam(reach_deg=reach, lift_mm=9.0)],
        assist=[AssistCam(reach_deg=reach, onset_deg=at, fall=0.4)],
    )
    lever = lever_with(without_friction(mechanism(JOBS["two levers"](), choice)), "assist")
    theta = np.linspace(0.0, 20 * DEGREE, 20_001)
    pushed = solve(lever, theta, Wear()).rocker("assist")
    assert pushed is not None
    help_given = np.sqrt(np.maximum(-pushed.load.moment * pushed.law.dpsi, 0.0))
    # two points low on the line
    first, second = (np.searchsorted(help_given, level * help_given.max()) for level in (0.02, 0.04))
    slope = (help_given[second] - help_given[first]) / (theta[second] - theta[first])
    return float((theta[first] - help_given[first] / slope) / DEGREE)


def test_an_onset_two_degrees_later_helps_two_degrees_later() -> None:
    """Common practice: assist cams step their onset by 2 degrees of lever, counted from the lever's own rest."""
    found = [onset(0.0, at) for at in (4.0, 6.0, 8.0, 10.0)]
    np.testing.assert_allclose(found, [4.0, 6.0, 8.0, 10.0], atol=0.02)
    assert onset(8.0, 6.0) == pytest.approx(6.0, abs=0.02)


def test_more_stroke_is_firmer_and_shorter() -> None:
    """Common practice: more stroke is less leverage. Force times travel stays about what the line takes."""
    cams = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke_mm) for stroke_mm in (7.5, 8.0, 8.5, 9.0)]
    readouts = pull(mechanism(JOBS["two levers"](), Choice(brake=cams))).brake
    assert readouts is not None
    assert (np.diff(readouts.force_lock[:, 0]) > 0).all()
    assert (np.diff(readouts.travel_lock) < 0).all()


def test_a_rear_brake_locks_between_twelve_and_forty_five_bar() -> None:
    """The notes of the trade (computed): 30 to 45 bar on dry ground, 12 to 25 on wet grass."""
    readouts = pull(mechanism(JOBS["two levers"]())).brake
    assert readouts is not None
    dry, loose, wet = readouts.pressure_lock / 1e5
    assert 30 < dry < 45
    assert 12 < wet < 25
    assert wet < loose < dry
