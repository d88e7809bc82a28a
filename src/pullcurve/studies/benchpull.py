"""A measured pull: readings in the order in which they were taken, and its two branches on an even grid of places."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray

LeverKind = Literal["brake", "clutch"]

PULL, RELEASE, STILL = 1, -1, 0
"""What a reading belongs to: the lever on its way in, on its way out, or neither."""


@dataclass(frozen=True, slots=True)
class BenchPull:
    """Readings of one lever, arrays (S,).

    ``place`` is finger travel from rest [m], or lever angle [rad] with ``angular``; ``force`` [N] at the finger;
    ``pressure`` [Pa] and ``time`` [s] where they were taken. ``branch`` says what a reading belongs to, ``cycle``
    counts pulls from 0. ``remarks`` tells in words what was found odd in the readings and what was done about it.
    ``job`` and ``lever`` are what the file says of itself, ``fitted`` the ids of the cams that it names.
    """

    name: str
    place: FloatArray
    angular: bool
    force: FloatArray
    pressure: FloatArray | None
    time: FloatArray | None
    branch: NDArray[np.int8]
    cycle: NDArray[np.int64]
    remarks: tuple[str, ...]
    job: str | None = None
    lever: LeverKind | None = None
    fitted: tuple[str, ...] = ()

    @property
    def cycles(self) -> int:
        """How many pulls there are."""
        return int(np.max(self.cycle, initial=-1)) + 1


@dataclass(frozen=True, slots=True)
class Branches:
    """Both branches on an even grid of places (P,), the mean over all pulls, NaN where no reading lies near.

    ``pull_deviation`` and ``release_deviation`` are standard deviations of those means [N], from the scatter of the
    readings about them; pressures [Pa] only where they were taken.
    """

    place: FloatArray
    angular: bool
    pull: FloatArray
    release: FloatArray
    pull_deviation: FloatArray
    release_deviation: FloatArray
    pull_pressure: FloatArray | None
    release_pressure: FloatArray | None
