"""Why a wish is out of reach: the energy that the load takes, over the travel that there is."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.springs import released_energy
from pullcurve.pull.arrays import AssistSpring, BrakeLine, ClutchCable, ClutchLine, Lever, Mechanism
from pullcurve.pull.energy import brake_energy, clutch_energy
from pullcurve.pull.solve import travel_end
from pullcurve.studies.wishes import Wish


@dataclass(frozen=True, slots=True)
class Bound:
    """A wished force against the least that any cam could give: energy [J] over travel [m], forces [N].

    The finger's greatest force on a stretch is at least its mean, and its mean is energy over travel, friction not
    yet counted. ``met`` says whether the wish leaves room for it.
    """

    wish: str
    stretch: str
    energy: float
    travel: float
    least_force: float
    wished_force: float

    @property
    def met(self) -> bool:
        """Whether some cam could, in principle, give the wished force."""
        return self.wished_force >= self.least_force


def _bound(wish: Wish, stretch: str, energy: float, travel: float) -> Bound:
    return Bound(wish.key, stretch, energy, travel, max(energy, 0.0) / travel, wish.target)


def bounds(mechanism: Mechanism, lever: Lever, wishes: tuple[Wish, ...]) -> tuple[Bound, ...]:
    """Energy bounds for every wished force on a lever, over the wished travel or else all there is."""
    wished = {wish.key: wish for wish in wishes}
    # A lever that rests as far out as it can has the most travel, whatever is fitted now.
    available = float(np.max(lever.finger_radius * (travel_end(lever) + lever.reach)))
    helped = _assist_most(lever)
    found: list[Bound] = []
    for rocker in lever.rockers:
        load = rocker.load
        if isinstance(load, BrakeLine):
            found += _brake_bounds(mechanism, load, wished, available, helped)
        elif isinstance(load, ClutchLine | ClutchCable):
            found += _clutch_bounds(mechanism, load, wished, available, helped)
    return tuple(found)


def _brake_bounds(
    mechanism: Mechanism, load: BrakeLine, wished: dict[str, Wish], available: float, helped: float
) -> list[Bound]:
    assert mechanism.wheel is not None
    force = wished.get("brake.force_lock_newton")
    if force is None:
        return []
    bite, lock = brake_energy(
        load, np.array([mechanism.wheel.bite_pressure, mechanism.wheel.lock_pressure[0]])
    ).tolist()
    window, before = wished.get("brake.modulation_mm"), wished.get("brake.travel_bite_mm")
    found = [_bound(force, "from rest to lock-up, all the travel there is", lock - helped, available)]
    if window:
        found.append(_bound(force, "from bite to lock-up", lock - bite - helped, window.target))
    if window and before:
        found.append(_bound(force, "from rest to lock-up", lock - helped, window.target + before.target))
    return found


def _clutch_bounds(
    mechanism: Mechanism,
    load: ClutchLine | ClutchCable,
    wished: dict[str, Wish],
    available: float,
    helped: float,
) -> list[Bound]:
    assert mechanism.plates is not None
    plates = mechanism.plates
    slip, free, clean = clutch_energy(
        load, np.array([plates.slip_lift, plates.free_lift, plates.clean_lift])
    ).tolist()
    force, zone = wished.get("clutch.force_peak_newton"), wished.get("clutch.friction_zone_mm")
    if force is None:
        return []
    found = [_bound(force, "from rest to clean plates, all the travel there is", clean - helped, available)]
    if zone:
        found.append(_bound(force, "through the friction zone", free - slip - helped, zone.target))
    return found


def _assist_most(lever: Lever) -> float:
    """Most energy that the assist spring can give back over the lever's travel, whatever cam lets it down [J]."""
    for rocker in lever.rockers:
        if isinstance(rocker.load, AssistSpring):
            load = rocker.load
            return float(released_energy(load.preload, load.rate, load.preload / load.rate))
    return 0.0
