"""One cam on its lever: shown, read from a file, and told how exact it must be."""

from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.mechanics.curve import evaluate
from pullcurve.papers.cutfiles import cut_dxf
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.plate import cam_metal
from pullcurve.studies.misfits import Errors
from pullcurve.studies.tolerance import HALF_STEP, facets_of, steps_from, subject
from pullcurve.verbs import asking, cams, jobs

KINDS = ("brake", "clutch", "assist")


@pytest.fixture(scope="module")
def job() -> Job:
    return jobs.demo_job()


def test_kinds_are_what_the_fitted_cams_drive(job: Job) -> None:
    assert cams.kinds_of(job) == KINDS
    assert cams.kinds_of(jobs.demo_job("electric.toml")) == ("brake",)


def test_a_kind_that_the_job_lacks_is_one_line() -> None:
    with pytest.raises(BadInput, match=r'kind is "clutch"; allowed is brake$'):
        cams.cam_case(jobs.demo_job("electric.toml"), "clutch")


@pytest.mark.parametrize("kind", KINDS)
def test_fitted_cam_is_the_one_that_is_pulled_by_itself(job: Job, kind: str) -> None:
    case, alone = cams.cam_case(job, kind), asking.pull_levers(job)
    assert case.name == alone.cams[kind].id
    assert case.verdict.ok
    lever = next(known for known in alone.pull.levers if known.curves.rocker(kind) is not None)
    assert np.array_equal(case.pull.curves.pull, lever.curves.pull)
    assert case.metal.rest_end == pytest.approx(float(lever.end[0]))


@pytest.mark.parametrize("kind", KINDS)
def test_fitted_law_as_any_law_gives_the_same_pull(job: Job, kind: str) -> None:
    fitted = cams.cam_case(job, kind)
    same = cams.law_case(job, kind, "same", fitted.rocker.law)
    assert same.name == "same"
    assert np.array_equal(same.pull.curves.pull, fitted.pull.curves.pull)
    assert np.array_equal(same.metal.outline, fitted.metal.outline)
    assert np.array_equal(same.stress, fitted.stress, equal_nan=True)


def test_cams_of_the_rack_take_the_place_of_the_fitted_ones(job: Job) -> None:
    other = cams.cams_for(job, "brake", ("brake-in0-tu0.3-st7.5",))
    assert cams.cam_case(other, "brake").name == "brake-in0-tu0.3-st7.5"
    assert cams.cam_case(other, "clutch").name == cams.cam_case(job, "clutch").name
    assert cams.cams_for(job, "brake", ()) is job


def test_cams_that_do_not_go_together_are_refused(job: Job) -> None:
    with pytest.raises(BadInput, match="the reach_deg of the clutch cam"):
        cams.cams_for(job, "clutch", ("clutch-in8-li9.00",))


def test_greatest_stress_is_within_what_the_material_bears(job: Job) -> None:
    for kind in KINDS:
        case = cams.cam_case(job, kind)
        assert 0 < np.nanmax(case.stress) < case.allowed == 1.5e9  # hardened steel, data/materials.toml


# Nearest cam of the rack --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("brake", "brake-in0-tu0.6-st6.5"),
        ("clutch", "clutch-in0-li11.75"),
        ("assist", "assist-in0-on8-fa0.50"),
    ],
)
def test_a_cam_of_the_rack_is_known_again_by_its_law(job: Job, kind: str, name: str) -> None:
    known = asking.cams_named(job, (name,))[kind]
    choice = Choice(**{kind: (known,)})  # type: ignore[arg-type]
    row = 0 if kind == "brake" else 1
    rocker = mechanism(job, choice).levers[row].rocker(kind)
    assert rocker is not None
    nearest, apart = cams.nearest_cam(job, kind, cams.law_case(job, kind, "unknown", rocker.law))
    assert nearest is not None
    assert nearest.id.split("-")[2:] == name.split("-")[2:]  # a reach turns a law, it does not change it
    assert apart == pytest.approx(0.0, abs=1e-12)


def test_without_a_rack_there_is_no_nearest_cam(job: Job) -> None:
    bare = job.model_copy(update={"rack": None})
    assert cams.nearest_cam(bare, "brake", cams.cam_case(bare, "brake")) == (None, np.inf)


# Reading --------------------------------------------------------------------------------------------------------


def test_a_cam_read_from_its_own_drawing_pulls_as_it_was_drawn(job: Job, tmp_path: Path) -> None:
    path = tmp_path / "found.dxf"
    path.write_text(cut_dxf(cam_metal(job, "clutch")), encoding="ascii")
    read, fitted = cams.read_cam(job, "clutch", path), cams.cam_case(job, "clutch")
    assert read.case.name == "found"
    assert read.nearest is not None
    assert read.nearest.id == fitted.name
    assert read.apart < 2e-6  # the drawing's chords and the spline through them
    assert read.roller_deviation < 1e-6
    assert np.allclose(read.case.pull.curves.pull, fitted.pull.curves.pull, rtol=2e-3)


def test_force_deviation_is_the_spread_of_pulls_with_laws_at_random(job: Job, tmp_path: Path) -> None:
    """A table of the law with coarse digits; independent road: the same digits rounded many times elsewhere."""
    case = cams.cam_case(job, "brake")
    theta = np.deg2rad(np.arange(-2.0, 27.6, 0.5))
    turn = np.rad2deg(evaluate(case.rocker.law, theta)[0] - case.metal.rest_angle)
    deep = (theta > 0.1) & (theta < case.metal.rest_end - 0.05)
    forces, told = [], 0.0
    dice = np.random.default_rng(5)
    for row in range(24):
        path = tmp_path / f"law{row}.csv"
        shift = dice.uniform(-0.005, 0.005, turn.shape)
        lines = [f"{np.rad2deg(at):.1f},{value:.2f}" for at, value in zip(theta, turn + shift, strict=True)]
        path.write_text("theta_deg,rocker_turn_deg\n" + "\n".join(lines), encoding="ascii")
        read = cams.read_cam(job, "brake", path)
        told = read.force_deviation
        rocker = read.case.pull.curves.rocker("brake")
        assert rocker is not None
        forces.append(
            np.interp(theta[deep], read.case.pull.curves.theta.ravel(), read.case.pull.curves.force)
        )
    spread = float(np.max(np.std(forces, axis=0, ddof=1)))
    assert 0.2 * told < spread < 2.5 * told


# Tolerance ------------------------------------------------------------------------------------------------------


def test_what_the_finger_allows_is_half_a_felt_step_of_a_pull_with_that_error(job: Job) -> None:
    allowed = cams.allow(job, "brake")
    assert allowed.name == cams.cam_case(job, "brake").name
    assert allowed.justified.binding is not None
    known = subject(job, "brake")
    binding, facet = allowed.justified.binding, facets_of(known)[allowed.justified.binding]
    nominal = float(known.pulled(Errors())[binding][0])
    places = (np.arange(12)[:, None] + 0.5) / 12

    def worst(amount: float) -> float:
        both = [
            known.pulled(Errors(bump=np.full((12, 1), way * amount), place=places)) for way in (1.0, -1.0)
        ]
        return max(float(np.max(np.abs(steps_from(nominal, found[binding], facet)))) for found in both)

    assert allowed.justified.shape == "bump"
    assert worst(allowed.justified.tolerance) <= HALF_STEP < worst(1.1 * allowed.justified.tolerance)
    assert {one.of for one in allowed.scatter} == {"brake"}
    assert len(allowed.ranked) == len(allowed.scatter)


def test_a_drawn_law_has_a_tolerance_of_its_own(job: Job) -> None:
    from pullcurve.studies.tolerance import justified_tolerance

    case = cams.cam_case(job, "brake")
    assert justified_tolerance(job, "brake", curve=case.rocker.law) == justified_tolerance(job, "brake")
    other = cams.cams_for(job, "brake", ("brake-in0-tu0.6-st6.5",))
    law = cams.cam_case(other, "brake").rocker.law
    by_law = justified_tolerance(job, "brake", curve=law)
    assert by_law.tolerance == pytest.approx(justified_tolerance(other, "brake").tolerance)
