"""What a gauge and a logger delivered, in SI, before it is sorted into pulls."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from pullcurve.errors import BadInput
from pullcurve.intake.files import refused
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BoolArray
from pullcurve.studies.benchpull import LeverKind
from pullcurve.units import FACTORS


@dataclass(frozen=True, slots=True)
class Log:
    """Readings in the order in which they came, arrays (S,), and what was done to them so far.

    ``place`` [m], or [rad] with ``angular``, ``force`` [N]; ``pressure`` [Pa] and ``time`` [s] where they were taken.
    """

    file: Path
    place: FloatArray
    angular: bool
    force: FloatArray
    pressure: FloatArray | None = None
    time: FloatArray | None = None
    remarks: tuple[str, ...] = ()
    job: str | None = None
    lever: LeverKind | None = None
    fitted: tuple[str, ...] = ()

    @property
    def along(self) -> str:
        """What the place is, in words."""
        return "angle" if self.angular else "travel"

    def shown(self, place: float) -> str:
        """A place with its unit, as it is told to a person."""
        unit = "deg" if self.angular else "mm"
        return f"{round(place / FACTORS[unit], 2) + 0.0:g} {unit}"

    def keeping(self, kept: BoolArray | np.ndarray[tuple[int], np.dtype[np.intp]], *remarks: str) -> "Log":
        """Some of the readings, or all in another order."""
        return replace(
            self,
            place=self.place[kept],
            force=self.force[kept],
            pressure=None if self.pressure is None else self.pressure[kept],
            time=None if self.time is None else self.time[kept],
            remarks=(*self.remarks, *remarks),
        )

    def refused(self, said: str) -> BadInput:
        """One line about these readings."""
        return refused(self.file, said)


def about(told: Mapping[str, str]) -> tuple[str | None, LeverKind | None, tuple[str, ...]]:
    """Job, lever and ids of cams from what a file's remarks tell."""
    lever = told.get("lever", "").strip().lower()
    fitted = tuple(one for one in told.get("fitted", "").replace(",", " ").split() if one)
    return told.get("job"), "brake" if lever == "brake" else "clutch" if lever == "clutch" else None, fitted
