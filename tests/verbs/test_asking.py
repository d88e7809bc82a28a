"""The three questions of the bench, asked from Python."""

from pathlib import Path

import numpy as np
import pytest

from pullcurve import BrakeCam, ClutchCam, Fitted, find_sets, pull_levers, swap_cam
from pullcurve.errors import BadInput
from pullcurve.pull.mechanism import Cam
from pullcurve.studies import find, swap
from pullcurve.verbs.asking import Pulled, cams_named, with_cams
from pullcurve.verbs.drawing import draw_pull, picture_path, terminal_figure
from pullcurve.verbs.jobs import demo_job

JOB = demo_job()
OTHER = BrakeCam(reach_deg=0, take_up_mm=0.3, stroke_mm=7.5)


def test_pull_of_what_is_fitted() -> None:
    known = pull_levers(JOB)
    assert known.cams == {"brake": JOB.fitted.brake, "clutch": JOB.fitted.clutch, "assist": JOB.fitted.assist}
    assert known.pull.brake is not None and known.pull.clutch is not None
    assert {origin.source for origin in known.origins.values()} == {"given", "prior"}


def test_pull_of_other_cams_leaves_everything_else_as_it_was() -> None:
    before, after = pull_levers(JOB), pull_levers(JOB, with_cams(JOB, {"brake": OTHER}))
    assert after.cams == {**before.cams, "brake": OTHER}
    assert after.origins == before.origins
    one, other = (known.pull.levers[1].curves.pull for known in (before, after))
    np.testing.assert_array_equal(one, other)
    one, other = (known.pull.levers[0].curves.pull for known in (before, after))
    assert not np.allclose(one, other)


def test_without_the_assist_the_clutch_is_heavier() -> None:
    bare = pull_levers(JOB, Fitted(brake=JOB.fitted.brake, clutch=JOB.fitted.clutch))
    helped = pull_levers(JOB)
    assert bare.pull.clutch is not None and helped.pull.clutch is not None
    assert bare.pull.clutch.force_hold > helped.pull.clutch.force_hold


def test_cams_that_do_not_go_together_are_refused_by_name_of_the_job() -> None:
    with pytest.raises(BadInput) as caught:
        with_cams(JOB, {"clutch": ClutchCam(reach_deg=8, lift_mm=9)})
    assert str(caught.value) == (
        "300 two-stroke enduro, no foot pedal [fitted.assist]: reach_deg is 0; allowed is 8, the reach_deg of the "
        "clutch cam"
    )


def test_a_lever_takes_no_cams_of_two_reaches() -> None:
    single = demo_job("enduro-125.toml")
    turned = Fitted(
        brake=BrakeCam(reach_deg=2, take_up_mm=0, stroke_mm=7),
        clutch=single.fitted.clutch,
        assist=single.fitted.assist,
    )
    with pytest.raises(BadInput) as caught:
        pull_levers(single, turned)
    assert len(caught.value.faults) == 2


def test_a_cam_for_which_the_unit_has_no_place() -> None:
    with pytest.raises(BadInput, match="no rocker of the unit carries a clutch cam"):
        pull_levers(demo_job("electric.toml"), Fitted(brake=OTHER, clutch=ClutchCam(reach_deg=0, lift_mm=9)))


def test_a_cam_that_a_formula_refuses() -> None:
    undercut = BrakeCam(reach_deg=0, take_up_mm=2, stroke_mm=3, flank_deg=5)
    with pytest.raises(BadInput):
        pull_levers(JOB, with_cams(JOB, {"brake": undercut}))


@pytest.mark.parametrize("stations", [7, 0, 4097])
def test_stations_out_of_range(stations: int) -> None:
    with pytest.raises(BadInput, match="allowed is 8 to 4096"):
        pull_levers(JOB, stations=stations)


@pytest.mark.parametrize("stations", [8, 4096])
def test_stations_at_the_ends_of_the_range_read_the_same_events(stations: int) -> None:
    one, other = pull_levers(JOB, stations=stations).pull.brake, pull_levers(JOB).pull.brake
    assert one is not None and other is not None
    assert one.force_lock == pytest.approx(other.force_lock, rel=1e-12)


@pytest.mark.parametrize("force", [-1.0, 1000.5, float("nan"), float("inf")])
def test_a_foot_that_no_leg_has(force: float) -> None:
    with pytest.raises(BadInput):
        pull_levers(demo_job("motocross-450.toml"), foot_newton=force)


def test_cams_by_their_ids() -> None:
    assert JOB.rack is not None
    found = cams_named(JOB, ("assist-in0-on4-fa0.50", "brake-in0-tu0.3-st7.5"))
    assert found == {
        "assist": next(cam for cam in JOB.rack.assist_cams if cam.id == "assist-in0-on4-fa0.50"),
        "brake": OTHER,
    }
    assert cams_named(JOB, ()) == {}
    cams: tuple[Cam, ...] = (*JOB.rack.brake_cams, *JOB.rack.clutch_cams, *JOB.rack.assist_cams)
    for cam in cams:
        assert list(cams_named(JOB, (cam.id,)).values()) == [cam]


def test_ids_that_are_none() -> None:
    with pytest.raises(BadInput, match=r"is no cam of the rack; did you mean brake-in0-tu0.3-st7.5\?"):
        cams_named(JOB, ("brake-in0-tu0.3-st7.5 ",))
    with pytest.raises(BadInput, match="allowed is one of a kind"):
        cams_named(JOB, ("brake-in0-tu0.3-st7.5", "brake-in0-tu0.3-st8.0"))
    with pytest.raises(BadInput, match="is no cam of the rack"):
        cams_named(JOB.model_copy(update={"rack": None}), ("brake-in0-tu0.3-st7.5",))


def test_find_and_swap_are_the_studies() -> None:
    assert find_sets(JOB, most=1).best == find.find(JOB, 1).best
    one, other = swap_cam(JOB, "too heavy"), swap.swaps(JOB, "too heavy")
    assert [known.on for known in one.helping] == [known.on for known in other.helping]


# Pictures ---------------------------------------------------------------------------------------------------


def test_the_picture_of_two_pulls_names_both(tmp_path: Path) -> None:
    before, after = pull_levers(JOB), pull_levers(JOB, with_cams(JOB, {"brake": OTHER}))
    written = draw_pull(tmp_path / "both.svg", before, after, day="2026-05-14")
    text = written.read_text(encoding="utf-8")
    for part in (
        "fitted",
        "proposed",
        "2026-05-14",
        JOB.motorcycle.name,
        "brake-in0-tu0.3-st7.5",
        "certifies nothing",
    ):
        assert part in text
    alone = draw_pull(tmp_path / "one.svg", before).read_text(encoding="utf-8")
    assert "proposed" not in alone


def test_the_same_pull_gives_the_same_picture(tmp_path: Path) -> None:
    known = pull_levers(JOB)
    one, other = (
        draw_pull(tmp_path / name, known, day="2026-05-14").read_bytes() for name in ("a.svg", "b.svg")
    )
    assert one == other


def test_names_of_pictures() -> None:
    assert picture_path("a.PNG") == (Path("a.PNG"), ".png")
    for name in ("a.gif", "a", ""):
        with pytest.raises(BadInput, match=r"allowed is \.svg, \.png, \.pdf"):
            picture_path(name)


def test_the_terminal_gets_lines_of_its_own_width() -> None:
    known: Pulled = pull_levers(JOB)
    for width in (60, 78, 100):
        assert all(len(line) <= width for line in terminal_figure(known, known, width).splitlines())
