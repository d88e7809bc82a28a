"""Words for a measured pull: what was changed by hand is what is said, and what mending and cams are said to do."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from pullcurve.pull.loop import pull as pull_of
from pullcurve.pull.mechanism import mechanism
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.fit import Fit, fit
from pullcurve.studies.parameters import with_values
from pullcurve.studies.prediction import Bench, predict
from pullcurve.studies.reasons import CamFelt, cam_felt, shape
from tests.studies.bikes import BRAKE, CLUTCH, TOGETHER, case

NAN = float("nan")
PLACE = np.linspace(0.0, 0.03, 40)


def written(place: np.ndarray = PLACE) -> Branches:
    """The pull of the job as it is written."""
    seen = predict(Bench(BRAKE.job, 0, place, False), {})
    doubt = np.full(PLACE.shape, 0.1)
    return Branches(PLACE, False, seen.pull[0], seen.release[0], doubt, doubt, None, None)


@cache
def told() -> Fit:
    """A fit whose bench has the places of the hand-made pulls."""
    return fit(BRAKE.job, written(), "brake")


# How it differs -------------------------------------------------------------------------------------------------------


def test_pull_as_written_is_said_to_be_so() -> None:
    assert shape(written(), told(), True) == (
        "The pull looks as the job is written: start, stiffness and friction agree."
    )


def test_later_start_is_said_in_millimetres() -> None:
    late = written(PLACE - 0.003)
    assert shape(late, told(), False).startswith("It starts 3.0 mm later than the job as written.")
    early = written(PLACE + 0.002)
    assert shape(early, told(), False).startswith("It starts 2.0 mm earlier")


def test_pull_that_hardly_begins_is_said_to_reach_little() -> None:
    late = written(PLACE - 0.012)
    top = float(written().pull.max())
    said = shape(late, told(), False)
    assert said.startswith(
        f"It reaches {late.pull.max():.0f} N where the job as written reaches {top:.0f} N."
    )
    assert "stiffer" not in said and "softer" not in said


def test_wider_loop_is_said() -> None:
    plain = written()
    wide = replace(plain, release=plain.pull * 0.4)
    assert "Pull and release lie 60% apart instead of" in shape(wide, told(), False)


def test_softer_end_is_said() -> None:
    """Along a stretched travel the force rises a fifth less per millimetre."""
    soft = written(PLACE / 1.25)
    assert "softer" in shape(soft, told(), False)


def test_healthy_pull_is_said_to_be_within_the_usual() -> None:
    late = written(PLACE - 0.003)
    assert shape(late, told(), True).endswith("All of that lies within the usual spread of the parts.")
    assert "usual spread" not in shape(late, told(), False)


# What mending and cams would do ---------------------------------------------------------------------------------------


def test_mending_counts_from_the_fitted_machine_to_the_job() -> None:
    """A fit with more air: mending brings the bite back by what the package's pull says, in steps of 1.5 mm."""
    row = told().place("brake_circuit.free_air_percent")
    value = told().value.copy()
    value[row] = 1.2
    airy = replace(told(), value=value)
    said = cam_felt(BRAKE.job, airy, ("brake_circuit.free_air_percent",))
    numbers = {path: x for path, x in airy.values().items() if not path.startswith(("bench", "fitted"))}
    with_air = pull_of(mechanism(with_values(BRAKE.job, numbers))).brake
    usual = {**numbers, "brake_circuit.free_air_percent": 0.1}
    without = pull_of(mechanism(with_values(BRAKE.job, usual))).brake
    assert with_air is not None and without is not None
    assert said.mended_readout == "the travel to bite"
    assert said.mended == pytest.approx(float(with_air.travel_bite - without.travel_bite) / 1.5e-3, rel=0.02)
    assert said.sentence.startswith("Mending it changes the travel to bite by")


def test_sound_machine_has_nothing_to_mend() -> None:
    said = cam_felt(BRAKE.job, told(), ())
    assert np.isnan(said.mended)
    assert said.sentence.startswith(
        "Nothing is to be mended. Another cam of the rack would be felt: brake cam"
    )


def test_levers_that_do_two_things_say_of_which_they_speak() -> None:
    fitted = fit(TOGETHER.job, case(TOGETHER, 1)[1], "brake")
    said = cam_felt(TOGETHER.job, fitted, ())
    assert said.exchanged_readout.startswith(("the brake's ", "the clutch's "))


def test_job_without_a_rack_has_no_other_cam() -> None:
    job = CLUTCH.job.model_copy(update={"rack": None})
    fitted = fit(job, case(CLUTCH, 1)[1], "clutch")
    assert cam_felt(job, fitted, ()).sentence.endswith("The job has no rack to compare with.")


def test_sentences() -> None:
    small = CamFelt(0.4, "the force at bite", "", 0.3, "the force at bite", "brake cam A")
    assert small.sentence == (
        "Mending it changes the force at bite by 0.4 felt steps, which no finger tells. "
        "No cam of the rack would be felt: brake cam A changes the force at bite by 0.3 felt steps."
    )
    back = CamFelt(5.0, "the travel to bite", "the force at lock-up", NAN, "", "")
    assert back.sentence == (
        "Mending it changes the travel to bite by 5.0 felt steps and brings the force at lock-up within the travel "
        "again. The job has no rack to compare with."
    )
