"""Pulls taken live: from the gauge that plays a loop, and from a driver written here."""

import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import pytest

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.gauge import Gauge, Sample, SimulatedGauge, capture
from pullcurve.intake.serialgauge import SerialGauge
from pullcurve.studies.benchpull import PULL, RELEASE
from tests.intake.pulls import FAR, planned

WAY = np.linspace(0.0, FAR, 80)
LOOP_PLACE = np.concatenate([WAY, WAY[::-1]]) * 1e-3
LOOP_FORCE = np.concatenate([5.0 + 2.0 * WAY, (3.0 + 1.6 * WAY)[::-1]]) * (LOOP_PLACE > 0)
PLAN = planned(pulls=2, way_in=60, hold=10, rest=20)


# The gauge that plays ----------------------------------------------------------------------------------------


def simulated(**more: Any) -> SimulatedGauge:
    return SimulatedGauge(LOOP_PLACE, LOOP_FORCE, **more)


def test_what_is_played_is_what_is_taken() -> None:
    pull = capture(simulated(pulls=3))
    assert pull.cycles == 3
    assert pull.name == "simulated gauge"
    assert pull.remarks == ()
    for way, at, force in ((PULL, WAY * 1e-3, 5.0 + 2.0 * WAY), (RELEASE, WAY * 1e-3, 3.0 + 1.6 * WAY)):
        inner = (pull.branch == way) & (pull.place > 1e-3) & (pull.place < 23e-3)
        assert np.count_nonzero(inner) > 3 * 60
        np.testing.assert_allclose(pull.force[inner], np.interp(pull.place[inner], at, force), atol=1e-9)


def test_scatter_is_as_asked_and_the_same_for_the_same_seed() -> None:
    still = SimulatedGauge(
        np.zeros(20_000), np.zeros(20_000), pulls=1, rest=0.0, force_noise=0.5, place_noise=1e-4
    )
    one, other = list(still.samples()), list(still.samples())
    assert one == other
    # a standard deviation from 20,000 readings is known to 0.5 %
    assert np.std([sample.force for sample in one]) == pytest.approx(0.5, rel=0.02)
    assert np.std([sample.place for sample in one]) == pytest.approx(1e-4, rel=0.02)


def test_noise_does_not_change_what_is_found() -> None:
    pull = capture(simulated(pulls=4, force_noise=0.5, place_noise=1e-4, seed=3))
    assert pull.cycles == 4 and pull.remarks == ()


def test_an_angle_and_a_pressure_are_taken_along() -> None:
    pull = capture(
        SimulatedGauge(LOOP_PLACE * 20, LOOP_FORCE, angular=True, pressure=LOOP_FORCE * 1e4, pulls=2)
    )
    assert pull.angular and pull.pressure is not None
    np.testing.assert_allclose(pull.pressure, pull.force * 1e4)


def test_time_goes_at_the_rate_and_waits_as_long() -> None:
    waited: list[float] = []
    gauge = simulated(pulls=1, rate=50.0, rest=0.2, wait=waited.append)
    samples = list(gauge.samples())
    assert len(samples) == LOOP_PLACE.size + 2 * 10
    np.testing.assert_allclose(np.diff([sample.time for sample in samples]), 0.02)
    assert waited == [0.02] * len(samples)


def test_a_capture_ends_after_its_seconds_or_when_a_reading_says_so() -> None:
    shown: list[Sample] = []
    pull = capture(simulated(pulls=5), 4.5, told=shown.append)
    assert pull.time is not None and float(np.ptp(pull.time)) == pytest.approx(4.5)
    assert len(shown) == 451
    at_rest = capture(simulated(pulls=5), until=lambda sample: sample.time > 2.3 and sample.place == 0.0)
    assert at_rest.cycles == 1


def test_the_first_pull_of_a_capture_may_be_left_out() -> None:
    assert capture(simulated(pulls=3), drop_first=True).cycles == 2


# A driver of one's own ----------------------------------------------------------------------------------------


class Played:
    """The least that a driver is: readings from a list, then whatever comes after them."""

    name = "a driver"
    angular = False

    def __init__(self, samples: Sequence[Sample], then: Callable[[], None] = lambda: None) -> None:
        self.taken, self.then, self.closed = samples, then, 0

    def samples(self) -> Iterator[Sample]:
        yield from self.taken
        self.then()

    def close(self) -> None:
        self.closed += 1


ALL = [
    Sample(*row)
    for row in zip(PLAN.time.tolist(), PLAN.force.tolist(), (PLAN.travel * 1e-3).tolist(), strict=True)
]


def fail() -> None:
    raise BadInput(Fault("a driver", "", "fell off the bench"))


def interrupt() -> None:
    raise KeyboardInterrupt


def test_a_driver_is_a_few_lines() -> None:
    driver = Played(ALL)
    as_gauge: Gauge = driver
    pull = capture(as_gauge)
    np.testing.assert_array_equal(pull.force, PLAN.force)
    assert pull.pressure is None and pull.remarks == ()
    assert driver.closed == 1


def test_a_gauge_that_fails_half_way_loses_nothing() -> None:
    driver = Played(ALL, fail)
    pull = capture(driver)
    np.testing.assert_array_equal(pull.force, PLAN.force)
    assert pull.remarks == ("the gauge fell off the bench: the capture ended there",)
    assert driver.closed == 1


def test_a_person_may_end_a_capture() -> None:
    driver = Played(ALL, interrupt)
    np.testing.assert_array_equal(capture(driver).force, PLAN.force)
    assert driver.closed == 1


def test_without_a_reading_there_is_nothing_to_keep() -> None:
    for then, said in ((fail, "fell off the bench"), (lambda: None, "delivered no reading")):
        driver = Played([], then)
        with pytest.raises(BadInput, match=rf"^a driver: {said}"):
            capture(driver)
        assert driver.closed == 1
    with pytest.raises(KeyboardInterrupt):
        capture(Played([], interrupt))


def test_readings_that_are_no_pull_are_told_like_those_of_a_file() -> None:
    with pytest.raises(BadInput, match=r"^a driver: has 0 mm of travel throughout; a pull moves the lever$"):
        capture(Played([Sample(0.01 * row, 5.0, 0.0) for row in range(50)]))
    with pytest.raises(BadInput, match=r"^a driver: has 3 readings; a pull needs 4 at least$"):
        capture(Played(ALL[:3]))


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "serial", None)
    with pytest.raises(BadInput) as refused:
        capture(SerialGauge("COM3"))
    assert str(refused.value) == (
        "COM3: needs a package to read serial ports; pip install 'pullcurve[gauge]' brings it"
    )
