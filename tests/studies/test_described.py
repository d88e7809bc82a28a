"""A free law as a cam that a job can carry: what numbers alone say stays numbers, the rest is a shape."""

import numpy as np
import pytest

from pullcurve.mechanics.curve import Curve, evaluate, hermite
from pullcurve.parts.cams import MOST_SHAPE
from pullcurve.pull.mechanism import fitted
from pullcurve.pull.plate import cam_metal
from pullcurve.studies.described import ALIKE, described
from pullcurve.verbs import cams, jobs

DEMOS = [(name, kind) for name in jobs.demo_names() for kind in cams.kinds_of(jobs.demo_job(name))]


@pytest.mark.parametrize(("name", "kind"), DEMOS)
def test_a_cam_of_numbers_comes_back_as_these_numbers(name: str, kind: str) -> None:
    """Identity: the law of a fitted cam is described by that cam."""
    job = jobs.demo_job(name)
    case, now = cams.cam_case(job, kind), fitted(job).of(kind)[0]
    found = described(job, case.metal, case.rocker.law, now.reach_deg)
    assert found is not None
    assert (found.cam, found.apart) == (now, 0.0)


def bent(kind: str, size: float) -> tuple[cams.CamCase, Curve]:
    """A fitted cam, and its law with a wave on it that no numbers say; through points, as another hand would."""
    case = cams.cam_case(jobs.demo_job(), kind)
    theta = np.linspace(case.metal.theta[0], case.metal.theta[-1], 400)
    value, slope, bend = evaluate(case.rocker.law, theta)
    wave = np.pi / case.metal.rest_end
    return case, hermite(
        theta,
        value + size * np.sin(wave * theta),
        slope + size * wave * np.cos(wave * theta),
        bend - size * wave**2 * np.sin(wave * theta),
    )


@pytest.mark.parametrize("kind", ["brake", "clutch", "assist"])
def test_what_numbers_do_not_say_is_kept_in_the_shape(kind: str) -> None:
    case, law = bent(kind, -0.02)
    job, reach = case.job, fitted(case.job).of(kind)[0].reach_deg
    found = described(job, case.metal, law, reach)
    assert found is not None and len(found.cam.shape_deg) == MOST_SHAPE
    again = cams.cam_case(
        job.model_copy(update={"fitted": job.fitted.model_copy(update={kind: found.cam})}), kind
    )
    theta = np.linspace(0.0, case.metal.rest_end, 777)
    apart = np.abs(evaluate(again.rocker.law, theta)[0] - evaluate(law, theta)[0]) * case.metal.arm
    assert np.max(apart) < 1.5 * ALIKE
    assert found.apart == pytest.approx(float(np.max(apart)), rel=0.05, abs=1e-9)
    # The metal too: two outlines of one law lie on each other as far as a workshop could measure.
    one, other = (cam_metal(job, kind, cam) for cam in (found.cam, fitted(job).of(kind)[0]))
    assert np.max(np.abs(one.flank[: len(other.flank)] - other.flank[: len(one.flank)])) > 1e-4


def test_a_law_that_no_cam_comes_near_is_none() -> None:
    case, law = bent("brake", 3.0)
    assert described(case.job, case.metal, law, 0.0) is None
