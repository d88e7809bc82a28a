"""Cams and racks: names in numbers, one id for one cam, every combination once."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from pullcurve.parts.cams import MOST_CAMS, MOST_SHAPE, AssistCam, BrakeCam, ClutchCam, Fitted, Rack, decimals


@pytest.mark.parametrize(
    ("value", "least", "text"),
    [
        (2.0, 0, "2"),
        (2.5, 0, "2.5"),
        (10.0, 0, "10"),
        (8.0, 1, "8.0"),
        (9.25, 1, "9.25"),
        (0.5, 2, "0.50"),
        (0.3, 2, "0.30"),
        (-0.5, 1, "-0.5"),
        (-0.0, 1, "0.0"),
        (1e-7, 1, "0.0000001"),
    ],
)
def test_as_many_decimals_as_needed(value: float, least: int, text: str) -> None:
    assert decimals(value, least) == text


@given(st.floats(-100, 100))
def test_decimals_lose_nothing(value: float) -> None:
    assert float(decimals(value, 1)) == value


def test_brake_cam_is_named_by_its_numbers() -> None:
    cam = BrakeCam(reach_deg=2, take_up_mm=0.6, stroke_mm=8)
    assert cam.name == "brake cam · reach 2° in · take-up 0.6 mm · stroke 8.0 mm"
    assert cam.id == "brake-in2-tu0.6-st8.0"


def test_clutch_cam_is_named_by_its_numbers() -> None:
    cam = ClutchCam(reach_deg=8, lift_mm=9.25)
    assert cam.name == "clutch cam · reach 8° in · lift 9.25 mm"
    assert cam.id == "clutch-in8-li9.25"


def test_assist_cam_is_named_by_its_numbers() -> None:
    cam = AssistCam(reach_deg=0, onset_deg=6, fall=0.5)
    assert cam.name == "assist cam · reach 0° in · onset 6° · strength 0.50"
    assert cam.id == "assist-in0-on6-fa0.50"


def test_an_unusual_flank_or_blend_is_named_too() -> None:
    assert BrakeCam(reach_deg=2, take_up_mm=0.6, stroke_mm=8, flank_deg=30).id == "brake-in2-tu0.6-st8.0-fl30"
    assert ClutchCam(reach_deg=8, lift_mm=9, flank_deg=30).name.endswith(" · lift 9.00 mm · flank 30°")
    cam = AssistCam(reach_deg=0, onset_deg=6, fall=0.5, flank_deg=28, blend_deg=10)
    assert cam.id == "assist-in0-on6-fa0.50-fl28-bl10"
    assert cam.name.endswith(" · strength 0.50 · flank 28° · blend 10°")


BRAKES = st.builds(
    BrakeCam,
    reach_deg=st.floats(0, 20),
    take_up_mm=st.floats(-0.5, 2),
    stroke_mm=st.floats(2, 20),
    flank_deg=st.floats(5, 60),
)
ASSISTS = st.builds(
    AssistCam,
    reach_deg=st.floats(0, 20),
    onset_deg=st.floats(0, 30),
    fall=st.floats(0.05, 1.5),
    flank_deg=st.floats(5, 60),
    blend_deg=st.floats(1, 30),
)


@given(BRAKES | ASSISTS, BRAKES | ASSISTS)
def test_one_id_for_one_cam(one: BrakeCam | AssistCam, other: BrakeCam | AssistCam) -> None:
    assert (one.id == other.id) is (one == other)
    assert (one.name == other.name) is (one == other)


def test_clutch_and_assist_share_a_reach() -> None:
    clutch, assist = ClutchCam(reach_deg=4, lift_mm=9), AssistCam(reach_deg=4, onset_deg=6, fall=0.5)
    assert Fitted(clutch=clutch, assist=assist).brake is None
    assert Fitted(clutch=clutch).assist is None
    with pytest.raises(ValidationError):
        Fitted(clutch=clutch, assist=assist.model_copy(update={"reach_deg": 2.0}))


def rack(**rows: object) -> Rack:
    """A rack from plain tables, as a file has them."""
    return Rack.model_validate(rows)


def test_a_row_stands_for_every_combination_in_order() -> None:
    found = rack(brake=[{"reach_deg": [0, 4], "take_up_mm": 0.3, "stroke_mm": [7, 8, 9]}]).brake_cams
    wanted = [BrakeCam(reach_deg=r, take_up_mm=0.3, stroke_mm=s) for r, s in product((0, 4), (7, 8, 9))]
    assert list(found) == wanted


def test_each_cam_stands_in_a_rack_once() -> None:
    rows = [{"reach_deg": [0, 4, 0], "lift_mm": 9}, {"reach_deg": 4, "lift_mm": [9, 10], "flank_deg": 26}]
    found = rack(clutch=rows).clutch_cams
    assert [(cam.reach_deg, cam.lift_mm) for cam in found] == [(0, 9), (4, 9), (4, 10)]


def test_assist_rows_may_vary_everything() -> None:
    row = {
        "reach_deg": 0,
        "onset_deg": [4, 6],
        "fall": [0.4, 0.5],
        "flank_deg": [26, 28],
        "blend_deg": [8, 9],
    }
    found = rack(assist=[row]).assist_cams
    assert len(found) == len({cam.id for cam in found}) == 16


def test_an_empty_rack_holds_nothing() -> None:
    found = rack()
    assert (found.brake_cams, found.clutch_cams, found.assist_cams) == ((), (), ())


def test_as_many_cams_as_allowed_and_no_more() -> None:
    lifts = [2 + row / 100 for row in range(MOST_CAMS)]
    assert len(rack(clutch=[{"reach_deg": 0, "lift_mm": lifts}]).clutch_cams) == MOST_CAMS
    with pytest.raises(ValidationError):
        rack(clutch=[{"reach_deg": 0, "lift_mm": lifts}, {"reach_deg": 1, "lift_mm": 9}])


SHAPE = tuple(row / 100 for row in range(MOST_SHAPE))


def test_a_drawn_shape_is_named_by_what_it_is_at_the_quarters() -> None:
    """32 values from an eighth of the flank before rest: a quarter lies at 31 * 3/9 = 10.3, and so on."""
    cam = BrakeCam(reach_deg=2, take_up_mm=0.6, stroke_mm=8, shape_deg=SHAPE)
    assert cam.id == "brake-in2-tu0.6-st8.0-sh0.10-0.17-0.24"
    assert cam.name.endswith("stroke 8.0 mm · drawn 0.10 / 0.17 / 0.24°")
    assert cam != cam.model_copy(update={"shape_deg": ()})


@pytest.mark.parametrize("count", [1, MOST_SHAPE - 1])
def test_a_shape_has_all_its_values_or_none(count: int) -> None:
    with pytest.raises(ValidationError) as caught:
        ClutchCam(reach_deg=0, lift_mm=9, shape_deg=SHAPE[:count])
    [(place, said)] = caught.value.errors()[0]["ctx"]["faults"]
    assert place == ("shape_deg",)
    assert said == f"has {count} entries; allowed is {MOST_SHAPE} numbers, -20 to 20, or none"


def test_a_row_with_a_shape_has_it_in_every_cam() -> None:
    row = {"reach_deg": [0, 2, 4], "take_up_mm": 0.3, "stroke_mm": 8, "shape_deg": list(SHAPE)}
    plain = {"reach_deg": 0, "take_up_mm": 0.3, "stroke_mm": 8}
    found = rack(brake=[row, plain]).brake_cams
    assert [cam.shape_deg for cam in found] == [SHAPE, SHAPE, SHAPE, ()]
    assert len({cam.id for cam in found}) == 4
