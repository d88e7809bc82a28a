"""A pull taken live: what a gauge must deliver, a gauge that plays a given loop, and the capture of either."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

import numpy as np

from pullcurve.errors import BadInput
from pullcurve.intake.bench import bench_pull
from pullcurve.intake.benchlog import Log
from pullcurve.intake.files import refused
from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.benchpull import BenchPull

MOST_READINGS = 5_000_000
"""Readings after which a capture ends by itself."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading: time since the gauge began [s], force [N], place [m] or [rad], pressure [Pa] where it is taken."""

    time: float
    force: float
    place: float
    pressure: float | None = None


class Gauge(Protocol):
    """What a driver of a gauge must do; whatever fails on the way it tells as BadInput, in one line.

    ``samples`` delivers readings in the order of their times as they are taken, and ends where there are no more of
    them; ``close`` sets the gauge free and may be called twice. ``angular`` is asked after the first reading: whether
    places are lever angles [rad] rather than travel of the finger [m].
    """

    @property
    def name(self) -> str:
        """How the gauge is called where its readings are shown."""
        ...

    @property
    def angular(self) -> bool:
        """Whether places are angles."""
        ...

    def samples(self) -> Iterator[Sample]:
        """Readings as they are taken."""
        ...

    def close(self) -> None:
        """Set the gauge free."""
        ...


@dataclass(frozen=True, slots=True)
class SimulatedGauge:
    """A gauge that plays a given loop: places (S,) and forces (S,) once round, at an even rate [1/s].

    Before, between and after the pulls it stays at the loop's first place for ``rest`` seconds. Noise is white, with
    standard deviations ``force_noise`` [N] and ``place_noise`` [m] or [rad], the same for the same ``seed``.
    ``wait`` is called with the seconds between two readings, and plays in real time if it sleeps.
    """

    place: FloatArray
    force: FloatArray
    angular: bool = False
    pressure: FloatArray | None = None
    pulls: int = 3
    rate: float = 100.0
    rest: float = 0.5
    force_noise: float = 0.0
    place_noise: float = 0.0
    seed: int = 0
    name: str = "simulated gauge"
    wait: Callable[[float], None] | None = None

    def samples(self) -> Iterator[Sample]:
        """Readings of all pulls."""
        dice = np.random.default_rng(self.seed)
        for row, at in enumerate(self._order()):
            if self.wait is not None:
                self.wait(1.0 / self.rate)
            force, place = dice.normal(0.0, 1.0, 2).tolist()
            yield Sample(
                time=row / self.rate,
                force=float(self.force[at]) + self.force_noise * force,
                place=float(self.place[at]) + self.place_noise * place,
                pressure=None if self.pressure is None else float(self.pressure[at]),
            )

    def _order(self) -> list[int]:
        """Rows of the loop in the order in which they are read."""
        resting = [0] * round(self.rest * self.rate)
        return resting + self.pulls * [*range(self.place.size), *resting]

    def close(self) -> None:
        """Nothing is held."""


def capture(
    gauge: Gauge,
    seconds: float | None = None,
    *,
    until: Callable[[Sample], bool] | None = None,
    told: Callable[[Sample], None] | None = None,
    drop_first: bool = False,
) -> BenchPull:
    """Take a pull from a gauge for some seconds of the gauge's own clock, until a reading ends it, or to its end.

    ``told`` is called with every reading as it comes, for a picture that grows. A gauge that falls silent, and a person
    who presses Ctrl-C, end the capture and lose nothing of it.
    """
    taken: list[Sample] = []
    remarks: tuple[str, ...] = ()
    try:
        for sample in gauge.samples():
            taken.append(sample)
            if told is not None:
                told(sample)
            if seconds is not None and sample.time - taken[0].time >= seconds:
                break
            if (until is not None and until(sample)) or len(taken) >= MOST_READINGS:
                break
    except BadInput as refusal:
        if not taken:
            raise
        remarks = tuple(f"the gauge {fault.said}: the capture ended there" for fault in refusal.faults)
    except KeyboardInterrupt:
        if not taken:
            raise
    finally:
        gauge.close()
    return bench_pull(replace(_log(gauge, taken), remarks=remarks), drop_first)


def _log(gauge: Gauge, taken: Sequence[Sample]) -> Log:
    """Samples as arrays."""
    file = Path(gauge.name)
    if not taken:
        raise refused(file, "delivered no reading; a pull needs some")
    time, force, place = (
        np.array([getattr(sample, key) for sample in taken], dtype=np.float64)
        for key in ("time", "force", "place")
    )
    known = [sample.pressure for sample in taken]
    pressure = None if None in known else np.array(known, dtype=np.float64)
    return Log(file, place, gauge.angular, force, pressure, time)
