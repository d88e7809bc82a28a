"""A drawn cam on the rack of a job and fitted: the same feel, through the job file too."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.papers.answers import find_record
from pullcurve.papers.cutfiles import cut_dxf
from pullcurve.parts.cams import AssistCam
from pullcurve.parts.job import Job
from pullcurve.studies.draw import CLOSE
from pullcurve.studies.find import find
from pullcurve.studies.wishes import distances
from pullcurve.verbs import cams, jobs, making, racking
from tests.studies import shop

FORCE, AT_REST = 2e-3, 0.01
"""What a cam in a job must keep of the drawn one's finger force; the last in newton."""

CAMS = [
    (shop.MAIN, "brake", {"force_lock_newton": 58.0, "travel_bite_mm": 11.0}),
    (shop.MAIN, "clutch", {"force_peak_newton": 62.0}),
    (shop.MAIN, "assist", {"force_hold_newton": 50.0}),
    (shop.CABLE, "clutch", {"force_peak_newton": 45.0}),
    (shop.SINGLE, "brake", {"force_lock_newton": 66.0}),
    (shop.SINGLE, "assist", {"force_hold_newton": 52.0}),
]


@cache
def racked(number: int) -> tuple[cams.CamCase, Job, racking.Described]:
    """A drawn cam, the job with it fitted, and what it is there."""
    name, kind, wishes = CAMS[number]
    job = shop.known(name)
    [drawn] = making.draw_cam(job, kind, making.wanted_feel(job, kind, wishes))
    case = cams.drawn_case(job, drawn, f"{kind}-drawn")
    known = racking.as_cam(case)
    assert known is not None
    return case, racking.onto_rack(job, kind, known.cam), known


@pytest.mark.parametrize("number", range(len(CAMS)))
def test_a_drawn_cam_in_a_job_gives_the_feel_that_it_was_drawn_for(number: int) -> None:
    _, kind, wishes = CAMS[number]
    before, job, known = racked(number)
    after = cams.cam_case(job, kind)
    assert after.name == known.cam.id and after.verdict.ok
    for branch in ("pull", "release"):
        one, other = (getattr(case.pull.curves, branch) for case in (before, after))
        np.testing.assert_allclose(other, one, rtol=FORCE, atol=AT_REST)
    # Against the wish itself, not against the drawing.
    for key, value in wishes.items():
        wish = making.wish_of(kind, key, value)
        read = after.pull.brake if wish.kind == "brake" else after.pull.clutch
        assert read is not None
        assert abs(float(distances((wish,), read).ravel()[0])) <= CLOSE


@pytest.mark.parametrize("number", [0, 2])
def test_a_job_with_a_drawn_cam_is_the_same_after_its_file(number: int, tmp_path: Path) -> None:
    _, job, _ = racked(number)
    jobs.write_job(job, tmp_path / "job.toml")
    assert jobs.open_job(tmp_path / "job.toml") == job


def test_a_drawn_cam_is_read_back_from_its_own_cut_file(tmp_path: Path) -> None:
    _, job, known = racked(0)
    path = tmp_path / "cam.dxf"
    path.write_text(cut_dxf(cams.cam_case(job, "brake").metal), encoding="ascii")
    read = cams.read_cam(job, "brake", path)
    assert read.nearest == known.cam
    # The cut file keeps its chords within 1 micrometre of the flank.
    assert read.apart < 3e-6
    steps = [abs(change.steps) for change in racking.beside_nearest(read)]
    assert max(steps) < 0.1


def test_the_rack_has_it_once_and_a_search_finds_it() -> None:
    _, job, known = racked(0)
    again = racking.onto_rack(job, "brake", known.cam)
    assert job.rack is not None and again.rack is not None
    assert again.rack.brake_cams == job.rack.brake_cams
    before = shop.known(shop.MAIN)
    assert before.rack is not None
    assert [cam for cam in job.rack.brake_cams if cam not in before.rack.brake_cams] == [known.cam]
    searched = [find_record(one, find(one))["levers"][0]["searched"] for one in (before, job)]
    assert searched == [len(before.rack.brake_cams), len(before.rack.brake_cams) + 1]


def test_a_job_without_a_rack_gets_one() -> None:
    case, _, known = racked(0)
    bare = case.job.model_copy(update={"rack": None})
    assert racking.onto_rack(bare, "brake", known.cam).rack is not None


def test_a_cam_of_another_reach_than_its_fellow_is_one_line() -> None:
    job = shop.known(shop.MAIN)
    cam = AssistCam(reach_deg=4, onset_deg=6, fall=0.5)
    with pytest.raises(BadInput, match="reach_deg is 4; allowed is 0, the reach_deg of the clutch cam"):
        racking.onto_rack(job, "assist", cam)
