"""A crossed rack against the same sets pulled one by one."""

from itertools import product
from typing import Any

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import facets
from pullcurve.studies import candidates as pulling
from pullcurve.studies.candidates import COARSE_STATIONS, Candidates, candidates, crossings, single
from pullcurve.studies.find import rack_for
from tests.studies import shop

LEVERS = [(name, row) for name in shop.NAMES for row in range(len(shop.known(name).unit.levers))]


def thinned(rack: dict[str, Any], most: int) -> dict[str, tuple[Cam, ...]]:
    """Every so many cams of each kind, so that all reaches stay in."""
    return {kind: tuple(cams[:: max(1, len(cams) // most)]) for kind, cams in rack.items()}


@pytest.mark.parametrize(("name", "row"), LEVERS)
def test_crossed_is_one_by_one(name: str, row: int) -> None:
    job = shop.known(name)
    table = candidates(job, row, thinned(rack_for(job, row), 5))
    assert table.count > 1
    for place in range(0, table.count, max(1, table.count // 25)):
        cams = table.set_at(place)
        alone = shop.readouts_of(job, cams, COARSE_STATIONS)
        for kind, known in table.readouts().items():
            for readout, _ in facets(known):
                one, other = getattr(known, readout)[place], getattr(alone[kind], readout)
                np.testing.assert_allclose(one, other, rtol=1e-11, atol=1e-14, err_msg=f"{cams} {readout}")
        lone = single(job, row, cams)
        for limit, again in zip(table.limits, lone.limits, strict=True):
            assert limit.key == again.key
            np.testing.assert_allclose(limit.margin[place], again.margin[0], rtol=1e-10, atol=1e-12)


@pytest.mark.parametrize(("name", "row"), LEVERS)
def test_a_set_has_one_reach_and_every_such_set_is_there_once(name: str, row: int) -> None:
    job = shop.known(name)
    rack = rack_for(job, row)
    table = candidates(job, row, rack)
    sets = [tuple(table.set_at(place).values()) for place in range(table.count)]
    expected = {one for one in product(*rack.values()) if len({cam.reach_deg for cam in one}) == 1}
    assert len(sets) == len(expected)
    assert set(sets) == expected


def test_pieces_give_the_same_table_as_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    job = shop.known()
    rack = thinned(rack_for(job, shop.CLUTCH), 6)
    whole = candidates(job, shop.CLUTCH, rack)
    heard: list[tuple[int, int]] = []
    monkeypatch.setattr(pulling, "CHUNK", 5)
    pieces = candidates(job, shop.CLUTCH, rack, told=lambda done, total: heard.append((done, total)))
    assert heard == [(done + 1, len(heard)) for done in range(len(heard))]
    assert len(heard) > 3

    def rows(table: Candidates) -> dict[tuple[str, ...], tuple[float, ...]]:
        assert table.clutch is not None
        read = table.clutch
        return {
            tuple(cam.id for cam in table.set_at(row).values()): (
                float(read.force_peak[row]),
                float(read.gap_free[row]),
                *(float(limit.margin[row]) for limit in table.limits),
            )
            for row in range(table.count)
        }

    one, other = rows(whole), rows(pieces)
    assert one.keys() == other.keys()
    for key, values in one.items():
        assert other[key] == pytest.approx(values, rel=1e-11)


def test_more_stations_change_little() -> None:
    """What is read between stations moves by under 0.1 %; what is read at events does not move at all."""
    job = shop.known()
    rack = thinned(rack_for(job, shop.BRAKE), 6)
    coarse, fine = candidates(job, shop.BRAKE, rack), candidates(job, shop.BRAKE, rack, stations=512)
    assert coarse.brake is not None and fine.brake is not None
    np.testing.assert_allclose(coarse.brake.force_lock, fine.brake.force_lock, rtol=1e-12)
    np.testing.assert_allclose(coarse.brake.travel_bite, fine.brake.travel_bite, rtol=1e-12)
    np.testing.assert_allclose(coarse.brake.effort, fine.brake.effort, rtol=1e-3)
    np.testing.assert_allclose(coarse.brake.steepest, fine.brake.steepest, rtol=2e-2)


def test_crossings_by_hand() -> None:
    brake = tuple(BrakeCam(reach_deg=reach, take_up_mm=0, stroke_mm=8) for reach in (4, 0, 2))
    clutch = tuple(ClutchCam(reach_deg=reach, lift_mm=lift) for reach in (0, 4) for lift in (9, 10))
    found = crossings({"brake": brake, "clutch": clutch})
    assert [(group["brake"][0].reach_deg, len(group["brake"]), len(group["clutch"])) for group in found] == [
        (0.0, 1, 2),
        (4.0, 1, 2),
    ]
    assert crossings({}) == []


def test_cams_that_share_no_reach_are_no_sets() -> None:
    job = shop.known()
    cams: dict[str, tuple[Cam, ...]] = {
        "clutch": (ClutchCam(reach_deg=0, lift_mm=10),),
        "assist": (AssistCam(reach_deg=8, onset_deg=4, fall=0.4),),
    }
    with pytest.raises(BadInput) as caught:
        candidates(job, shop.CLUTCH, cams)
    assert str(caught.value) == (
        "300 two-stroke enduro, no foot pedal: rack has no clutch and assist cams of equal reach for the "
        "clutch lever"
    )
    assert len(caught.value.faults) == 1


def test_the_rack_without_assist_cams_keeps_the_assist_that_is_fitted() -> None:
    """A rack without a kind of cam does not take the fitted one off: the lever is pulled as it will be ridden."""
    job = shop.known()
    short = shop.changed(job, rack__assist=None)
    rack = rack_for(short, shop.CLUTCH)
    assert rack["assist"] == (job.fitted.assist,)
    table = candidates(short, shop.CLUTCH, rack)
    assert {table.set_at(row)["assist"] for row in range(table.count)} == {job.fitted.assist}


def test_a_lever_of_which_the_rack_has_nothing_is_left_alone() -> None:
    short = shop.changed(shop.known(), rack__assist=None, rack__clutch=None)
    assert rack_for(short, shop.CLUTCH) == {}
    assert set(rack_for(short, shop.BRAKE)) == {"brake"}
