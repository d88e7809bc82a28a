"""A drawn cam on the independent road: what its lever does, read off traced metal, root searches and plain statics."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PPoly
from scipy.optimize import brentq, minimize_scalar

from pullcurve.mechanics.curve import Curve
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import rocker_of
from pullcurve.pull.solve import travel_end
from tests.road.geometry import Floats
from tests.road.jobs import road_lever
from tests.road.loads import Brake, CableClutch, HydraulicClutch
from tests.road.road import Lever, Slot, met, road_friction

PLACES = 41
"""Stations of the road over a whole travel; a peak is looked for between its neighbours."""


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """A law as scipy evaluates it; before it begins it runs straight, for metal that no roller ever meets."""

    known: PPoly

    def __call__(self, theta: Floats | float) -> Floats:
        inside = np.maximum(theta, self.known.x[0])
        before = np.asarray(theta, dtype=float) - inside
        return np.asarray(self.known(inside) + self.known(inside, 1) * before, dtype=float)


def pieces(curve: Curve) -> Pieces:
    """A single law; scipy wants the highest power first."""
    return Pieces(PPoly(curve.coefficients.T[::-1], curve.breaks))


@dataclass(frozen=True, slots=True)
class Felt:
    """A lever of a job on the road; ``slots`` by what they drive, and the levels at which the job's events lie."""

    lever: Lever
    slots: dict[str, Slot]
    end: float
    levels: dict[str, float]

    def force(self, theta: float) -> float:
        """Finger force of the pull [N]."""
        return road_friction(self.lever, theta, 1)

    def theta_of(self, event: str) -> float:
        """Lever angle at which a brake has the pressure of an event, or a clutch its lift."""
        slot = self.slots["brake" if event in ("bite", "lock") else "clutch"]

        def short(theta: float) -> float:
            x, load = slot.travel(met(slot.plan, theta).psi), slot.load
            assert isinstance(load, Brake | HydraulicClutch | CableClutch)
            return (load.pressure(x) if isinstance(load, Brake) else load.lift(x)) - self.levels[event]

        return float(brentq(short, 0.0, self.end, xtol=1e-7))

    @property
    def work_end(self) -> float:
        """Where the work of a pull is done: a lever that brakes is pulled no further than lock-up and clean plates."""
        if "brake" not in self.slots:
            return self.end
        return max(self.theta_of("lock"), self.theta_of("clean"))

    @property
    def peak(self) -> float:
        """Highest force of the pull, until its work is done [N]."""
        until = self.work_end
        places = np.linspace(0.02, 1.0, PLACES) * until
        top = int(np.argmax([self.force(theta) for theta in places]))
        around = places[max(top - 1, 0)], min(places[min(top + 1, PLACES - 1)], until)
        found = minimize_scalar(
            lambda theta: -self.force(theta), bounds=around, method="bounded", options={"xatol": 1e-5}
        )
        return max(-float(found.fun), self.force(places[top]))

    def readout(self, key: str) -> float:
        """A wished read-out by its key, in SI."""
        radius, at = self.lever.pad_radius, self.theta_of
        match key:
            case "brake.force_lock_newton":
                return self.force(at("lock"))
            case "brake.travel_bite_mm":
                return radius * at("bite")
            case "brake.modulation_mm":
                return radius * (at("lock") - at("bite"))
            case "clutch.friction_zone_mm":
                return radius * (at("free") - at("slip"))
            case "clutch.force_hold_newton":
                return self.force(self.work_end)
            case "clutch.force_peak_newton":
                return self.peak
            case _:
                raise AssertionError(key)


def felt(job: Job, kind: str, curve: Curve) -> Felt:
    """A job's lever on the road, with a law of its own on one of its cams."""
    row, _ = rocker_of(job, kind)
    known, whole = road_lever(job, row), mechanism(job)
    end = float(travel_end(whole.levers[row])[0])
    kinds: list[str] = [rocker.drives for rocker in job.unit.levers[row].rockers]
    slots = {
        drives: replace(slot, plan=replace(slot.plan, span=end))
        for drives, slot in zip(kinds, known.slots, strict=True)
    }
    slots[kind] = replace(slots[kind], plan=replace(slots[kind].plan, law=pieces(curve)))
    levels: dict[str, float] = {}
    if whole.wheel:
        levels |= {"bite": whole.wheel.bite_pressure, "lock": float(whole.wheel.lock_pressure[0])}
    if whole.plates:
        plates = whole.plates
        levels |= {"slip": plates.slip_lift, "free": plates.free_lift, "clean": plates.clean_lift}
    return Felt(replace(known, slots=tuple(slots.values())), slots, end, levels)
