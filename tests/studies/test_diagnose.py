"""Faults that were put into machines on the independent road must be found by the pull alone."""

from collections import Counter
from functools import cache

import numpy as np
import pytest

from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.diagnose import HEALTHY, Diagnosis, diagnose
from pullcurve.studies.othercams import others
from tests.studies.bikes import (
    BRAKE,
    CABLE,
    CLUTCH,
    Bike,
    bench_of,
    case,
    curve_of,
    faulty_case,
    truth_of,
)

FIRST, ALARM = 0.85, 0.05
BY_KIND = {"brake": BRAKE, "hydraulic clutch": CLUTCH, "cable clutch": CABLE}


@cache
def sick(bike: Bike, number: int) -> tuple[str, Diagnosis]:
    """The fault of one machine by its number, and what is said of it."""
    way = bike.ways[number % len(bike.ways)]
    _, pull = faulty_case(bike, way, number)
    return way.fault.name, diagnose(bike.job, pull, bike.lever)


@cache
def sound(bike: Bike, number: int) -> Diagnosis:
    """What is said of a machine in order."""
    return diagnose(bike.job, case(bike, number)[1], bike.lever)


def share_found(count: int, first: int = 0) -> tuple[float, Counter[str]]:
    """Share of faults that are named first, and those that are not."""
    missed: Counter[str] = Counter()
    for kind, bike in BY_KIND.items():
        for number in range(first, first + count):
            name, said = sick(bike, number)
            if said.first.name != name:
                missed[f"{kind}: {name} taken for {said.first.name}"] += 1
    return 1.0 - missed.total() / (count * len(BY_KIND)), missed


def test_faults_are_named_first() -> None:
    share, missed = share_found(8)
    assert share >= FIRST, missed


def test_machines_in_order_are_left_alone() -> None:
    called = [sound(bike, number).first.name for bike in BY_KIND.values() for number in range(4)]
    assert called.count(HEALTHY) == len(called), called


@pytest.mark.slow
def test_two_hundred_faults_are_named_first() -> None:
    share, missed = share_found(67)
    print(f"named first: {share:.3f} of {3 * 67}; missed {dict(missed)}")
    assert share >= FIRST, missed


@pytest.mark.slow
def test_two_hundred_machines_in_order_are_left_alone() -> None:
    called = Counter(sound(bike, number).first.name for bike in BY_KIND.values() for number in range(67))
    print(f"of machines in order: {dict(called)}")
    assert 1.0 - called[HEALTHY] / called.total() <= ALARM, called


# What is said ---------------------------------------------------------------------------------------------------------


def said_of(bike: Bike, fault: str) -> Diagnosis:
    """The first machine with a fault for which it is named first."""
    for number in range(40):
        if bike.ways[number % len(bike.ways)].fault.name == fault:
            name, said = sick(bike, number)
            if said.first.name == name:
                return said
    raise AssertionError(f"{fault} is never found")


def test_probabilities_add_up_and_fall() -> None:
    said = sick(BRAKE, 0)[1]
    shares = [suspect.probability for suspect in said.suspects]
    assert sum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert len({suspect.name for suspect in said.suspects}) == len(said.suspects)


def test_air_is_said_with_its_amount_and_what_to_check() -> None:
    said = said_of(BRAKE, "air")
    ((unknown, value),) = said.first.found
    assert unknown.path == "brake_circuit.free_air_percent"
    assert value > 0.4
    assert any("overnight" in cause.check for cause in said.first.checks)
    assert "10 bar" in said.first.shows
    assert "later than the job as written" in said.shape
    assert not said.strange


def test_mending_air_is_felt() -> None:
    said = said_of(BRAKE, "air")
    assert said.cam.mended > 1.0
    assert said.cam.sentence.startswith("Mending it changes the travel to bite by")
    assert "Another cam of the rack would be felt: brake cam" in said.cam.sentence


def test_stuck_roller_shows_in_the_width_of_the_loop() -> None:
    assert "apart instead of" in said_of(BRAKE, "stuck roller").shape


def test_close_call_asks_for_one_more_measurement() -> None:
    close = [
        said
        for bike in BY_KIND.values()
        for number in range(8)
        if (said := sick(bike, number)[1]).suspects[1].probability > 0.15
    ]
    assert close
    assert all(said.what_else is not None for said in close)


def test_another_cam_than_the_job_says_is_found() -> None:
    """The machine has the rack's cam with the most stroke; the job says another."""
    job = CLUTCH.job
    cam = max(others(job, CLUTCH.row)["clutch"], key=lambda cam: cam.lift_mm)  # type: ignore[union-attr]
    real = Bike(CLUTCH.name, CLUTCH.row, CLUTCH.lever)
    dice = np.random.default_rng(3)
    truth = truth_of(real.unknowns, dice)
    pull = with_cam(real, truth, cam, dice)
    said = diagnose(job, pull, "clutch")
    assert said.first.name == "wrong cam fitted"
    assert cam.name in said.first.cause
    assert said.cam.sentence.startswith("Mending it changes")


def with_cam(bike: Bike, truth: dict[str, float], cam: object, dice: np.random.Generator) -> Branches:
    """The pull of the machine with another clutch cam."""
    fitted = bike.job.fitted.model_copy(update={"clutch": cam})
    curve = curve_of(bike, truth, bike.job.model_copy(update={"fitted": fitted}))
    return branches(bench_of(curve, dice))


def test_pull_of_another_mechanism_is_called_strange() -> None:
    """A pull that grows lighter all along is nothing that a brake can do."""
    _, pull = case(BRAKE, 1)
    falling = np.where(np.isfinite(pull.pull), np.linspace(90.0, 20.0, pull.pull.size), np.nan)
    odd = Branches(
        pull.place, False, falling, falling / 2, pull.pull_deviation, pull.release_deviation, None, None
    )
    assert diagnose(BRAKE.job, odd, "brake").strange


def test_job_without_a_rack_says_so() -> None:
    job = BRAKE.job.model_copy(update={"rack": None})
    said = diagnose(job, case(BRAKE, 0)[1], "brake")
    assert "wrong cam fitted" not in {suspect.name for suspect in said.suspects}
    assert "no rack" in said.cam.sentence
