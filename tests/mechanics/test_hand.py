"""Reach by criterion, force at the lever, and what is felt."""

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq, curve_fit

from pullcurve.mechanics import hand
from pullcurve.mechanics.finger import reach_distance

FloatArray = NDArray[np.float64]

GRIP, LEVER = 0.032, 0.012
FINGERS = ("index", "middle", "ring", "little")

forces = st.floats(1.0, 500.0)


def breadth_for(sex: str, length: float) -> float:
    """Hand breadth from hand length, both in mm, regression on the survey (checked in test_finger)."""
    return 38.67 + 0.2566 * length if sex == "M" else 38.73 + 0.2177 * length


def reach_mm(criterion: str, finger: str, sex: str, length: float, measured: float | None = None) -> float:
    """Reach in mm of a bare hand with the breadth that goes with its length."""
    size = (1e-3 * length, 1e-3 * breadth_for(sex, length))
    known = None if measured is None else 1e-3 * measured
    return float(1e3 * hand.reach(criterion, finger, *size, GRIP, LEVER, 0.0, known))


# Reach ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sex", "length", "finger", "expected"),
    [
        ("F", 160, "index", (63.8, 67.5, 76.4)),
        ("F", 160, "middle", (71.3, 75.5, 85.4)),
        ("F", 180, "index", (70.9, 74.9, 84.9)),
        ("F", 180, "middle", (79.2, 83.8, 94.9)),
        ("M", 210, "index", (80.5, 85.2, 96.8)),
        ("M", 210, "middle", (90.2, 95.6, 108.4)),
    ],
)
def test_criteria(sex: str, length: float, finger: str, expected: tuple[float, float, float]) -> None:
    # rows of a separate calculation; their geometry is checked by a linkage in test_finger
    found = [reach_mm(criterion, finger, sex, length) for criterion in ("comfortable", "hold", "touch")]
    assert found == pytest.approx(expected, abs=0.0501)


@pytest.mark.parametrize("length", [160, 170, 180, 193, 210])
def test_short_forms(length: float) -> None:
    # straight lines through the model's values, good to 1 mm
    sex = "F" if length < 185 else "M"
    for criterion, finger, offset, slope in (
        ("comfortable", "index", 8.5, 0.346),
        ("hold", "index", 8.6, 0.369),
        ("comfortable", "middle", 9.0, 0.390),
        ("hold", "middle", 9.2, 0.415),
    ):
        assert reach_mm(criterion, finger, sex, length) == pytest.approx(offset + slope * length, abs=1.0)


@pytest.mark.parametrize(
    ("criterion", "sex", "length", "rule"), [("touch", "M", 193, 89.0), ("touch", "F", 160, 76.0)]
)
def test_reach_is_like_the_bicycle_rule(criterion: str, sex: str, length: float, rule: float) -> None:
    # 16 CFR 1512.5(b)(3): grip dimension at most 89 mm, small bicycles 76 mm. Sanity, not validation.
    assert reach_mm(criterion, "index", sex, length) == pytest.approx(rule, abs=1.0)


@given(st.sampled_from(FINGERS), st.floats(140, 230), st.floats(40, 130))
def test_measured_reach_comes_back(finger: str, length: float, measured: float) -> None:
    assert reach_mm("hold", finger, "M", length, measured) == pytest.approx(measured, abs=1e-9)
    comfortable, touch = (reach_mm(name, finger, "M", length, measured) for name in ("comfortable", "touch"))
    assert comfortable < measured < touch


def test_measured_reach_turns_the_knuckle_by_a_second_road() -> None:
    place = ("index", 0.180, 0.078, GRIP, LEVER, 0.001)
    measured = 0.080

    def miss(phi: float) -> float:
        return float(reach_distance(*place, np.pi / 9, 0.0, phi)) - measured

    phi = brentq(miss, np.radians(75), np.radians(120), xtol=1e-14)
    for criterion, (bend, pad) in {"comfortable": (45, 0.0), "touch": (0, 0.5)}.items():
        expected = reach_distance(*place, np.radians(bend), pad, phi)
        assert hand.reach(criterion, *place, measured) == pytest.approx(expected, abs=1e-10)


def test_model_value_as_measurement_changes_nothing() -> None:
    own = reach_mm("hold", "middle", "F", 175)
    for criterion in ("comfortable", "hold", "touch"):
        assert reach_mm(criterion, "middle", "F", 175, own) == pytest.approx(
            reach_mm(criterion, "middle", "F", 175), abs=1e-9
        )


def test_reach_far_from_the_model_is_moved_as_a_whole() -> None:
    # beyond the knuckle's limits every further millimetre measured is a millimetre more of everything
    for near in (40.0, 120.0):
        for criterion in ("comfortable", "touch"):
            first, second = (reach_mm(criterion, "index", "F", 170, near + more) for more in (0.0, 1.0))
            assert second - first == pytest.approx(1.0, abs=1e-9)


def test_many_measurements_at_once() -> None:
    measured = np.array([0.05, 0.07, 0.09])
    together = hand.reach("touch", "index", 0.18, 0.078, GRIP, LEVER, 0.0, measured)
    alone = [float(hand.reach("touch", "index", 0.18, 0.078, GRIP, LEVER, 0.0, one)) for one in measured]
    assert together == pytest.approx(alone, rel=1e-14)


# Span -------------------------------------------------------------------------------------------------------

IRWIN_MM = np.array([38.1, 50.8, 63.5, 76.2])  # Irwin and Radwin 2013, abstract: cylinder diameters
IRWIN_NEWTON = np.array([231.0, 236.0, 208.0, 158.0])


def test_span_factor_is_the_fit_to_irwin_2013() -> None:
    def curve(span: FloatArray, most: float, fall: float, best: float, /) -> FloatArray:
        return most * (1.0 - fall * ((span - best) / best) ** 2)

    (most, fall, best), _ = curve_fit(curve, IRWIN_MM, IRWIN_NEWTON, p0=(230.0, 1.0, 50.0))
    assert most == pytest.approx(236.5, abs=0.051)
    assert fall == pytest.approx(hand.SPAN_FALL, abs=0.0051)
    assert best == pytest.approx(45.7, abs=0.051)
    ours = 236.5 * hand.span_factor(1e-3 * IRWIN_MM, 0.0457)
    assert np.sqrt(np.mean((ours - IRWIN_NEWTON) ** 2)) == pytest.approx(1.2, abs=0.051)


def test_span_factor_against_lee_2009() -> None:
    # Lee and others 2009, abstract: 433.6 N at 55 mm, 430.8 N at 50 mm, men
    assert hand.span_factor(0.050, 0.055) == pytest.approx(430.8 / 433.6, abs=0.001)


@pytest.mark.parametrize(
    ("span", "best", "expected"),
    [
        (75, 55, 1 - 0.75 * (20 / 55) ** 2),
        (90, 55, 1 - 0.75 * (35 / 55) ** 2),
        (75, 51, 1 - 0.75 * (24 / 51) ** 2),
        (90, 51, 1 - 0.75 * (39 / 51) ** 2),
        (55, 55, 1.0),
        (35, 55, 1 - 0.75 * (20 / 55) ** 2),
        (200, 55, 0.0),
    ],
)
def test_span_factor_by_hand(span: float, best: float, expected: float) -> None:
    assert hand.span_factor(1e-3 * span, 1e-3 * best) == pytest.approx(expected, abs=1e-12)


def test_span_factor_keeps_what_is_undefined() -> None:
    assert np.isnan(hand.span_factor(np.array([np.nan, 0.05]), 0.055)).tolist() == [True, False]


def test_best_span() -> None:
    # Ruiz-Ruiz 2002: men 55 mm; women a fifth of the open hand's span + 15 mm
    # span 1.09 hand lengths, Pheasant's tables, from memory
    assert hand.best_span("man", 0.150) == pytest.approx(0.055)
    assert hand.best_span("woman", 0.180) == pytest.approx(0.2 * 0.1962 + 0.015)
    assert hand.best_span("unstated", 0.180) == pytest.approx((0.055 + 0.05424) / 2)
    assert hand.best_span("man", np.array([0.17, 0.20])).tolist() == [0.055, 0.055]
    with pytest.raises(KeyError):
        hand.best_span("", 0.18)


# Fingers and gloves -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fingers", "share", "band"),
    [
        (("index",), 0.28, (0.20, 0.32)),
        (("middle",), 0.33, (0.30, 0.375)),
        (("index", "middle"), 0.55, (0.46, 0.65)),
        (("index", "middle", "ring"), 0.82, (0.67, 1.0)),
        (FINGERS, 1.0, (1.0, 1.0)),
        ((), 0.0, (0.0, 0.0)),
    ],
)
def test_finger_share(fingers: tuple[str, ...], share: float, band: tuple[float, float]) -> None:
    # bands: studies named in finger_share
    assert hand.finger_share(fingers) == pytest.approx(share, rel=1e-12)
    assert band[0] <= share <= band[1]


def test_every_finger_helps_and_order_does_not_matter() -> None:
    for count in range(4):
        for group in combinations(FINGERS, count):
            assert {round(hand.finger_share(order), 12) for order in permutations(group)} == {
                round(hand.finger_share(group), 12)
            }
            for another in set(FINGERS) - set(group):
                assert hand.finger_share((*group, another)) > hand.finger_share(group) + 0.05


@pytest.mark.parametrize(
    ("finger", "studies"),
    [
        # share of the full grip: MacDermid 2004, Li 2002, Amis 1987, Lee 2009; alone over four: Yun 2024
        ("index", (0.25, 0.322, 0.30, 0.202, 108.4 / 343.3)),
        ("middle", (0.35, 0.326, 0.30, 0.375, 110.5 / 343.3)),
        ("ring", (0.25, 0.235, 0.22, 0.287, 83.6 / 343.3)),
        ("little", (0.14, 0.117, 0.18, 0.136)),
    ],
)
def test_finger_weights_are_the_mean_of_the_studies(finger: str, studies: tuple[float, ...]) -> None:
    weight = hand.FINGER_WEIGHTS[finger]
    assert weight == pytest.approx(np.mean(studies), abs=0.01)
    away = np.abs(np.array(studies) / weight - 1.0)
    assert np.median(away) <= hand.FINGER_SHARE_SPREAD


def test_glove_factor() -> None:
    factors = [hand.glove_factor(glove) for glove in ("none", "thin", "armoured", "winter")]
    assert factors == [1.0, 0.92, 0.80, 0.70]


# Force ------------------------------------------------------------------------------------------------------


def test_force_available_against_the_clutches_of_conrad_2014() -> None:
    # woman of 30 to 34, left grip 302.5 N (Mathiowetz 1985), four fingers, 80 mm, best span 53 mm;
    # clutches of 98 and 36 N (Conrad and Marklin 2014, span and strength not known): an illustration.
    able = hand.force_available(302.5, 0.080, 0.053)
    assert able == pytest.approx(302.5 * (1 - 0.75 * (27 / 53) ** 2), rel=1e-12)
    assert hand.utilisation(np.array([98.0, 36.0]), able) == pytest.approx([0.40, 0.15], abs=0.005)


def test_force_available_is_a_product() -> None:
    # 400 N, at best span, index finger 0.28, armoured glove 0.80: 89.6 N; half the factor f halves it
    assert hand.force_available(400.0, 0.055, 0.055, 0.28, 0.80) == pytest.approx(89.6)
    half = 0.055 * (1.0 + np.sqrt(0.5 / 0.75))
    assert hand.force_available(400.0, half, 0.055, 0.28, 0.80) == pytest.approx(44.8)


def test_force_available_over_sets_and_stations() -> None:
    found = hand.force_available(np.array([[300.0], [500.0]]), np.linspace(0.04, 0.09, 5), 0.055, 0.5)
    assert found.shape == (2, 5)
    assert found[1] / found[0] == pytest.approx(5 / 3)


def test_utilisation() -> None:
    force = np.array([50.0, 0.0, 10.0, 0.0, -5.0, -20.0, np.nan, np.nan, 5.0])
    able = np.array([100.0, 100.0, 0.0, 0.0, 0.0, 100.0, 100.0, 0.0, np.nan])
    expected = [0.5, 0.0, np.inf, 0.0, 0.0, -0.2, np.nan, np.nan, np.nan]
    assert hand.utilisation(force, able) == pytest.approx(expected, nan_ok=True)
    assert hand.utilisation(30.0, 60.0) == pytest.approx(0.5)
    assert hand.utilisation(0.25, np.array([0.5, 0.0])) == pytest.approx([0.5, np.inf])


# Felt or not ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("after", "steps"), [(107.0, 1.0), (100 / 1.07, -1.0), (100 * 1.07**3, 3.0), (100.0, 0.0)]
)
def test_felt_steps_force(after: float, steps: float) -> None:
    assert hand.felt_steps_force(100.0, after) == pytest.approx(steps, abs=1e-12)


@given(forces, forces, forces)
def test_felt_steps_of_force_add_up(first: float, second: float, third: float) -> None:
    whole = hand.felt_steps_force(first, third)
    parts = hand.felt_steps_force(first, second) + hand.felt_steps_force(second, third)
    assert whole == pytest.approx(parts, abs=1e-9)
    assert hand.felt_steps_force(third, first) == pytest.approx(-whole, abs=1e-9)


def test_force_out_of_nothing_is_infinitely_many_steps() -> None:
    before = np.array([0.0, 20.0, 0.0, -5.0, 20.0, np.nan, 0.0])
    after = np.array([20.0, 0.0, 0.0, 0.0, -3.0, 20.0, np.nan])
    expected = [np.inf, -np.inf, 0.0, 0.0, -np.inf, np.nan, np.nan]
    assert hand.felt_steps_force(before, after) == pytest.approx(expected, nan_ok=True)
    assert hand.felt_grade_force(before, after) == pytest.approx([2, 2, 0, 0, 2, np.nan, np.nan], nan_ok=True)


def test_felt_steps_position() -> None:
    found = hand.felt_steps_position(0.030, np.array([0.030, 0.0315, 0.027, np.nan]))
    assert found == pytest.approx([0.0, 1.0, -2.0, np.nan], nan_ok=True)


@pytest.mark.parametrize(
    ("after", "grade"),
    [(100, 0), (106.9, 0), (107, 1), (110, 1), (115, 1), (115.1, 2), (300, 2)],
)
def test_felt_grade_force(after: float, grade: int) -> None:
    # below 7 % not felt, 7 to 15 % back to back, above 15 % a day later; there and back alike
    assert hand.felt_grade_force(100.0, after) == grade
    assert hand.felt_grade_force(after, 100.0) == grade


@pytest.mark.parametrize(
    ("change", "grade"), [(0.0, 0), (1.49, 0), (1.5, 1), (3.0, 1), (5.0, 1), (5.01, 2), (20.0, 2)]
)
def test_felt_grade_position(change: float, grade: int) -> None:
    # below 1.5 mm no, 1.5 to 5 mm maybe, above 5 mm yes; there and back alike
    for rest in (0.0, 30.0, 61.7):
        assert hand.felt_grade_position(1e-3 * rest, 1e-3 * (rest + change)) == grade
        assert hand.felt_grade_position(1e-3 * (rest + change), 1e-3 * rest) == grade


def test_felt_grade_of_the_undefined_is_undefined() -> None:
    assert np.isnan(hand.felt_grade_position(np.nan, 0.03))
