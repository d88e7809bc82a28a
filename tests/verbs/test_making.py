"""Cams drawn and made: wishes as typed, points from a table, the files of a cam."""

from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput, Impossible
from pullcurve.parts.job import Job
from pullcurve.verbs import cams, jobs, making
from tests.pull.example import described, rocker_of

ENDINGS = {
    ".dxf", "-r12.dxf", ".svg", "-outline.csv", "-flank.csv", "-drawing.pdf",
    "-trial-bench-only.stl", "-trial-bench-only.3mf",
}  # fmt: skip


@pytest.fixture(scope="module")
def job() -> Job:
    return jobs.demo_job()


# Wishes -----------------------------------------------------------------------------------------------------------


def test_an_assist_cam_serves_the_wishes_for_the_clutch() -> None:
    assert making.wish_keys("assist") == making.wish_keys("clutch")
    wish = making.wish_of("assist", "force_peak_newton", 45.0)
    assert (wish.key, wish.kind, wish.target) == ("clutch.force_peak_newton", "clutch", 45.0)


def test_a_wish_is_in_si_inside() -> None:
    assert making.wish_of("brake", "travel_bite_mm", 11.0).target == pytest.approx(0.011)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("force_peak_newton", 45.0, "is not known here; allowed is gap_rest_mm"),
        ("force_lock_newton", 0.0, "is 0; allowed is more than 0 and less than 1000"),
        ("force_lock_newton", float("nan"), "is nan; allowed is more than 0"),
        ("force_lock_newton", 1000.0, "is 1000; allowed is more than 0"),
    ],
)
def test_a_wish_that_is_none_is_one_line(key: str, value: float, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        making.wish_of("brake", key, value)


def test_nothing_wished_is_nothing_to_draw(job: Job) -> None:
    with pytest.raises(BadInput, match="wish is missing; give one of gap_rest_mm"):
        making.wanted_feel(job, "brake", {})


def test_name_of_a_drawn_cam_says_what_it_was_drawn_for() -> None:
    assert (
        making.drawn_name("brake", {"force_lock_newton": 58.0, "travel_bite_mm": 11}) == "brake-force-lock-58"
    )
    assert making.drawn_name("clutch", {}) == "clutch-drawn"


# Points -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "travel_mm,force_newton\n0,5\n10,20\n20,60.5\n",
        "Note\nforce N;travel mm\n5;0\n20;10\n60,5;20\n",
        "# wanted\ntravel\tforce\n0\t5\n10\t20\n20\t60.5\n",
    ],
)
def test_points_come_from_named_columns(tmp_path: Path, text: str) -> None:
    path = tmp_path / "wanted.csv"
    path.write_text(text, encoding="utf-8")
    travel, force = making.wanted_points(path)
    assert np.allclose(travel, [0.0, 0.010, 0.020])
    assert np.allclose(force, [5.0, 20.0, 60.5])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x,y\n0,5\n10,20\n", "has no columns called travel"),
        ("travel,force\n0,5\n", "needs two or more lines"),
        ("travel,force\n10,5\n0,20\n", "rising"),
        ("travel,force\n0,5\n10,0\n", "force in N above 0"),
        ("travel,force\n-1,5\n10,3\n", "from 0 up"),
        ("travel,force\n0,many\n10,3\n", "'many' in line 2"),
    ],
)
def test_points_that_are_none_are_one_line(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "wanted.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=said) as told:
        making.wanted_points(path)
    assert len(told.value.faults) == 1


# Files ------------------------------------------------------------------------------------------------------------


def test_export_writes_every_fitted_cam(job: Job, tmp_path: Path) -> None:
    made = making.export_cams(job, tmp_path / "new" / "cut", day="2026-01-02")
    assert [one.case.kind for one in made] == ["brake", "clutch", "assist"]
    written = {path.name for path in (tmp_path / "new" / "cut").iterdir()}
    assert written == {f"{one.case.name}{ending}" for one in made for ending in ENDINGS}
    for one in made:
        assert {path.name for path in one.files} == {f"{one.case.name}{ending}" for ending in ENDINGS}
        assert all(path.stat().st_size > 1000 for path in one.files)
        assert 5e-6 < one.tolerance < 5e-4


def test_export_into_a_file_is_one_line(job: Job, tmp_path: Path) -> None:
    place = tmp_path / "taken"
    place.write_text("kept", encoding="utf-8")
    with pytest.raises(BadInput, match="is a file; give a folder"):
        making.export_cam(cams.cam_case(job, "brake"), place)
    assert place.read_text(encoding="utf-8") == "kept"


def test_export_over_a_folder_of_the_same_name_is_one_line(job: Job, tmp_path: Path) -> None:
    case = cams.cam_case(job, "brake")
    (tmp_path / f"{case.name}.dxf").mkdir()
    with pytest.raises(BadInput, match="cannot be written"):
        making.export_cam(case, tmp_path)


def test_an_outline_that_crosses_itself_is_one_line_and_no_file(tmp_path: Path) -> None:
    """A roller that the path of its centre is far too round for: the flank runs back through itself."""
    typed = described()
    rocker_of(typed, "assist").update(roller_radius_mm=12, rest_angle_deg=60)
    case = cams.cam_case(Job.model_validate(typed), "assist")
    with pytest.raises(Impossible, match=r"crosses itself.*it cannot be cut; nothing was written$") as told:
        making.export_cam(case, tmp_path)
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == []
