"""How far a finger reaches: geometry by a second road, and reference people."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from pullcurve.mechanics.finger import (
    KNUCKLE_ANGLE,
    KNUCKLE_ANGLE_SWING,
    SEGMENT_SHARES,
    THICKNESS_SHARES,
    clear_gap,
    contact_radii,
    finger_chord,
    finger_segments,
    knuckle_angle,
    lever_distance,
    reach_distance,
)

DATA = Path(__file__).resolve().parent.parent / "data"
GRIP, LEVER = 0.032, 0.012
FINGERS = ("index", "middle", "ring", "little")
COLUMNS = {  # bend of the middle joint in degrees, place on the last segment, glove in mm
    "d_dip_pip60": (60, 0.0, 0.0),
    "d_dip_pip45": (45, 0.0, 0.0),
    "d_dip_pip20": (20, 0.0, 0.0),
    "d_dip_straight": (0, 0.0, 0.0),
    "d_pad_straight": (0, 0.5, 0.0),
    "d_dip_pip45_glove1.5": (45, 0.0, 1.5),
    "d_dip_pip20_glove1.5": (20, 0.0, 1.5),
}

hands = st.floats(0.140, 0.230)
breadths = st.floats(0.065, 0.105)
bends = st.floats(0.0, np.pi / 2)
angles = st.floats(KNUCKLE_ANGLE - KNUCKLE_ANGLE_SWING, KNUCKLE_ANGLE + KNUCKLE_ANGLE_SWING)


def table(name: str) -> list[dict[str, str]]:
    """Rows of a reference file."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def breadth_for(sex: str, length: float) -> float:
    """Hand breadth from hand length, both in mm, regression on the survey (checked in test_survey)."""
    return 38.67 + 0.2566 * length if sex == "M" else 38.73 + 0.2177 * length


def reach_by_linkage(
    finger: str,
    length: float,
    breadth: float,
    glove: float,
    bend: float,
    pad: float,
    phi: float = np.radians(100),
) -> float:
    """The same reach in mm from a two-bar linkage, turned about the knuckle until it lies on the lever.

    All sizes in mm. Nothing of the law of cosines: positions of the joints, and a root in the turn.
    """
    proximal, middle, distal = (share * length for share in SEGMENT_SHARES[finger])
    near, far = THICKNESS_SHARES[finger]
    outer = middle + pad * distal
    knuckle = (16.0 + 1.2 * near * breadth / 2 + glove) * np.exp(1j * phi)
    over_lever = (6.0 + far * breadth / 2 + glove) * np.exp(1j * np.pi / 4)

    def end(turn: float) -> complex:
        return complex(knuckle + proximal * np.exp(1j * turn) + outer * np.exp(1j * (turn - bend)))

    def height(turn: float) -> float:
        return float(end(turn).imag - over_lever.imag)

    # Between hanging straight down and lying level the end of the finger only rises.
    chord_tilt = float(np.angle(proximal + outer * np.exp(-1j * bend)))
    turn = brentq(height, -np.pi / 2 - chord_tilt, -chord_tilt, xtol=1e-13)
    return float(end(turn).real - over_lever.real + 16.0 + 6.0)


# Segments and contact ---------------------------------------------------------------------------------------


def test_middle_ray_adds_up_to_the_hand_length() -> None:
    # Buchholz and others 1992, as quoted: knuckle of the middle finger lies 0.446 HL from the wrist
    known = finger_segments("middle", 1.0)
    assert 0.446 + known.proximal + known.middle + known.distal == pytest.approx(1.0, abs=0.0105)


@pytest.mark.parametrize(
    ("finger", "bones", "circulating"),
    [
        ("index", (1.94 + 0.45) / 1.29, 0.265),
        ("middle", (1.62 + 0.37) / 1.22, 0.277),
        ("ring", (1.56 + 0.34) / 1.21, 0.259),
        ("little", (1.78 + 0.49) / 1.29, 0.206),
    ],
)
def test_other_proximal_shares_are_bone_ratios_of_an_1979(
    finger: str, bones: float, circulating: float
) -> None:
    known = finger_segments(finger, 1.0)
    assert bones * known.middle == pytest.approx(circulating, abs=0.0005)
    assert 0.0 < circulating - known.proximal < 0.021


@pytest.mark.parametrize("finger", FINGERS)
def test_chord_of_a_straight_and_of_a_folded_finger(finger: str) -> None:
    known = finger_segments(finger, 0.190)
    assert finger_chord(finger, 0.190, 0.0) == pytest.approx(known.proximal + known.middle)
    assert finger_chord(finger, 0.190, 0.0, 1.0) == pytest.approx(
        known.proximal + known.middle + known.distal
    )
    assert finger_chord(finger, 0.190, np.pi) == pytest.approx(known.proximal - known.middle)
    assert finger_chord(finger, 0.190, np.pi / 2) == pytest.approx(np.hypot(known.proximal, known.middle))


def test_contact_radii_by_hand() -> None:
    # index, breadth 80 mm, glove 2 mm: 16 + 0.6*0.229*80 + 2 = 28.992; 6 + 0.5*0.1755*80 + 2 = 15.02
    knuckle, joint = contact_radii("index", 0.080, GRIP, LEVER, 0.002)
    assert knuckle == pytest.approx(0.028992)
    assert joint == pytest.approx(0.01502)


# Reach by a second road -------------------------------------------------------------------------------------


@given(st.sampled_from(FINGERS), hands, breadths, bends, st.floats(0.0, 1.0), st.floats(0.0, 0.004), angles)
def test_reach_is_that_of_a_linkage(
    finger: str, length: float, breadth: float, bend: float, pad: float, glove: float, phi: float
) -> None:
    ours = reach_distance(finger, length, breadth, GRIP, LEVER, glove, bend, pad, phi)
    other = reach_by_linkage(finger, 1e3 * length, 1e3 * breadth, 1e3 * glove, bend, pad, phi)
    assert ours == pytest.approx(1e-3 * other, abs=1e-9)


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize(
    "row", table("hand_reach.csv"), ids=lambda row: f"{row['sex']}{row['hand_length_mm']}-{row['finger']}"
)
def test_reach_table(row: dict[str, str], column: str) -> None:
    bend, pad, glove = COLUMNS[column]
    length = float(row["hand_length_mm"])
    breadth = breadth_for(row["sex"], length)
    printed = float(row[column])
    other = reach_by_linkage(row["finger"], length, breadth, glove, np.radians(bend), pad)
    assert other == pytest.approx(printed, abs=0.0501)
    ours = reach_distance(
        row["finger"], 1e-3 * length, 1e-3 * breadth, GRIP, LEVER, 1e-3 * glove, np.radians(bend), pad
    )
    assert 1e3 * ours == pytest.approx(printed, abs=0.0501)


def test_reach_of_many_hands_at_once() -> None:
    lengths = np.array([[0.165], [0.193]])
    gloves = np.array([0.0, 0.0015, 0.003])
    together = reach_distance("index", lengths, 0.45 * lengths, GRIP, LEVER, gloves, 0.3)
    assert together.shape == (2, 3)
    for i, length in enumerate(lengths[:, 0]):
        for j, glove in enumerate(gloves):
            alone = 1e-3 * reach_by_linkage("index", 1e3 * length, 450 * length, 1e3 * glove, 0.3, 0.0)
            assert together[i, j] == pytest.approx(alone, abs=1e-12)


def test_finger_that_cannot_come_down_to_the_lever_has_no_reach() -> None:
    # knuckle 100 mm above the axis on a giant grip, finger 30 mm
    assert np.isnan(reach_distance("little", 0.090, 0.08, 0.180, LEVER, 0.0, 0.0))


@pytest.mark.parametrize("finger", ["index", "middle"])
def test_what_moves_the_reach_by_how_much(finger: str) -> None:
    def at(
        grip: float = GRIP, glove: float = 0.0, phi: float = KNUCKLE_ANGLE, length: float = 0.193
    ) -> float:
        return float(
            1e3
            * reach_distance(
                finger, length, 1e-3 * breadth_for("M", 193), grip, LEVER, glove, np.pi / 9, 0.0, phi
            )
        )

    assert at() - at(glove=0.0015) == pytest.approx(1.5, abs=0.15)
    assert at(grip=GRIP + 0.002) - at() == pytest.approx(0.55, abs=0.1)
    assert 4.0 <= at() - at(phi=KNUCKLE_ANGLE + np.pi / 18) <= 5.0
    assert 4.0 <= at(phi=KNUCKLE_ANGLE - np.pi / 18) - at() <= 5.0
    assert 0.34 <= at(length=0.194) - at() <= 0.46


# Calibration ------------------------------------------------------------------------------------------------


@given(st.sampled_from(FINGERS), hands, breadths, bends, st.floats(0.0, 1.0), angles)
def test_knuckle_angle_is_found_back(
    finger: str, length: float, breadth: float, bend: float, pad: float, phi: float
) -> None:
    place = (finger, length, breadth, GRIP, LEVER, 0.001, bend, pad)
    assert knuckle_angle(*place, reach_distance(*place, phi)) == pytest.approx(phi, abs=1e-7)


@given(st.sampled_from(FINGERS), hands, st.floats(0.02, 0.25))
def test_knuckle_angle_stays_within_its_limits(finger: str, length: float, measured: float) -> None:
    phi = knuckle_angle(finger, length, 0.085, GRIP, LEVER, 0.0, np.pi / 9, 0.0, measured)
    assert KNUCKLE_ANGLE - KNUCKLE_ANGLE_SWING <= phi <= KNUCKLE_ANGLE + KNUCKLE_ANGLE_SWING


def test_knuckle_angle_limits_by_hand() -> None:
    place = ("index", 0.190, 0.085, GRIP, LEVER, 0.0, np.pi / 9, 0.0)
    found = knuckle_angle(*place, np.array([0.02, 0.25]))
    assert np.degrees(found) == pytest.approx([130.0, 70.0])


# Gap and distance -------------------------------------------------------------------------------------------


def test_gap_and_distance() -> None:
    # accommodation table, first row: 60 mm on a 32 mm grip with a 12 mm lever is a gap of 16 mm
    assert clear_gap(0.060, GRIP, LEVER) == pytest.approx(0.016)
    assert lever_distance(0.016, GRIP, LEVER) == pytest.approx(0.060)
    gaps = np.linspace(-0.01, 0.09, 7)
    assert clear_gap(lever_distance(gaps, 0.035, 0.008), 0.035, 0.008) == pytest.approx(gaps)


# The survey -------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module", name="survey")
def read_survey() -> dict[str, dict[str, NDArray[np.float64]]]:
    """Measures in mm by sex and name, Gordon and others 2014 (NATICK/TR-15/007), public release."""
    rows = table("ansur2_hand.csv")
    names = [name for name in rows[0] if name != "sex"]
    return {
        sex: {name: np.array([float(row[name]) for row in rows if row["sex"] == sex]) for name in names}
        for sex in "MF"
    }


def test_survey_has_all_its_people(survey: dict[str, dict[str, NDArray[np.float64]]]) -> None:
    assert survey["M"]["handlength_mm"].size == 4082
    assert survey["F"]["handlength_mm"].size == 1986


@pytest.mark.parametrize(
    "row",
    [row for row in table("ansur2_hand_summary.csv") if row["measure"] not in ("thumbtipreach", "stature")],
    ids=lambda row: f"{row['sex']}-{row['measure'].partition('(')[0]}",
)
def test_survey_summary(survey: dict[str, dict[str, NDArray[np.float64]]], row: dict[str, str]) -> None:
    known = survey[row["sex"]]
    measure = row["measure"].partition("(")[0]
    values = (
        known["handlength_mm"] - known["palmlength_mm"]
        if measure == "middlefinger_palmar"
        else known[f"{measure}_mm"]
    )
    assert values.size == int(row["n"])
    assert np.mean(values) == pytest.approx(float(row["mean_mm"]), abs=0.00501)
    assert np.std(values, ddof=1) == pytest.approx(float(row["sd_mm"]), abs=0.00501)
    percents = [column for column in row if column.startswith("p")]
    found = np.percentile(values, [float(column[1:]) for column in percents])
    assert found == pytest.approx([float(row[column]) for column in percents], abs=0.0501)


@pytest.mark.parametrize(("sex", "printed"), [("M", (177, 193, 210)), ("F", (165, 181, 198))])
def test_survey_hand_length_against_print_from_memory(
    survey: dict[str, dict[str, NDArray[np.float64]]], sex: str, printed: tuple[float, float, float]
) -> None:
    # 5th, 50th and 95th percentile as remembered from the printed tables, which were not reachable
    found = np.percentile(survey[sex]["handlength_mm"], [5, 50, 95])
    assert found == pytest.approx(printed, abs=1.0)


@pytest.mark.parametrize(("sex", "error"), [("M", 3.6), ("F", 3.2)])
def test_hand_breadth_regression(
    survey: dict[str, dict[str, NDArray[np.float64]]], sex: str, error: float
) -> None:
    length, breadth = survey[sex]["handlength_mm"], survey[sex]["handbreadth_mm"]
    slope, offset = np.polyfit(length, breadth, 1)
    assert breadth_for(sex, 0.0) == pytest.approx(offset, abs=0.0051)
    assert breadth_for(sex, 1.0) - breadth_for(sex, 0.0) == pytest.approx(slope, abs=0.000051)
    rest = breadth - breadth_for(sex, 0.0) - slope * length
    assert np.sqrt(np.sum(rest**2) / (rest.size - 2)) == pytest.approx(error, abs=0.051)


@pytest.mark.parametrize(
    "row",
    table("hand_accommodation.csv"),
    ids=lambda row: f"{row['d_mm']}-{row['finger']}-{row['criterion']}",
)
def test_accommodation(survey: dict[str, dict[str, NDArray[np.float64]]], row: dict[str, str]) -> None:
    bend, pad, glove = {
        "comfort_pip45": (45, 0.0, 0.0),
        "functional_max_pip20": (20, 0.0, 0.0),
        "functional_max_pip20_glove1.5": (20, 0.0, 0.0015),
        "pad_only": (0, 0.5, 0.0),
    }[row["criterion"]]
    distance = 1e-3 * float(row["d_mm"])
    assert 1e3 * clear_gap(distance, GRIP, LEVER) == pytest.approx(float(row["gap_mm_D32_t12"]))
    for sex, column in (("M", "pct_men"), ("F", "pct_women")):
        length, breadth = (1e-3 * survey[sex][f"hand{name}_mm"] for name in ("length", "breadth"))
        reached = reach_distance(row["finger"], length, breadth, GRIP, LEVER, glove, np.radians(bend), pad)
        assert 100.0 * np.mean(reached >= distance) == pytest.approx(float(row[column]), abs=0.0501)
