"""The whole pull of a control unit: the force-travel loop of every lever, its events and its read-outs."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import Hand, Lever, Mechanism
from pullcurve.pull.events import Events, find_events
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, View, read_brake, read_clutch
from pullcurve.pull.solve import LeverCurves, part_of, solve, travel_end

STATIONS = 128


@dataclass(frozen=True, slots=True)
class LeverPull:
    """One lever pulled: curves over the stations, curves at the events, read-outs of what it drives."""

    curves: LeverCurves
    at: LeverCurves
    events: Events
    end: FloatArray
    brake: BrakeReadouts | None
    clutch: ClutchReadouts | None


@dataclass(frozen=True, slots=True)
class Pull:
    """All levers of a control unit, pulled."""

    levers: tuple[LeverPull, ...]

    @property
    def brake(self) -> BrakeReadouts | None:
        """Read-outs of the brake, whichever lever works it."""
        return next((lever.brake for lever in self.levers if lever.brake), None)

    @property
    def clutch(self) -> ClutchReadouts | None:
        """Read-outs of the clutch, whichever lever works it."""
        return next((lever.clutch for lever in self.levers if lever.clutch), None)


def pull_lever(lever: Lever, hand: Hand, mechanism: Mechanism, stations: int = STATIONS) -> LeverPull:
    """Pull one lever; events are extra stations of the same pass, so that they are exact and not interpolated."""
    end = travel_end(lever)
    events = find_events(lever, mechanism, end)
    curves, at = _solve_both(lever, end * np.linspace(0.0, 1.0, stations), events.theta, mechanism)
    view = View(lever, hand, curves, at, events, end)
    brake = read_brake(view, mechanism.wheel) if mechanism.wheel and lever.rocker("brake") else None
    clutch = read_clutch(view) if mechanism.plates and lever.rocker("clutch") else None
    return LeverPull(curves, at, events, end, brake, clutch)


def _solve_both(
    lever: Lever, grid: FloatArray, at: FloatArray, mechanism: Mechanism
) -> tuple[LeverCurves, LeverCurves]:
    """Curves over the stations and at the events: one pass where both have the same sets, else two.

    Sets that share their stations keep narrow arrays: a rack's laws are then evaluated once per cam, not per set.
    """
    if grid.shape[:-1] != at.shape[:-1]:
        return solve(lever, grid, mechanism.worn), solve(lever, at, mechanism.worn)
    both = solve(lever, np.concatenate([grid, at], axis=-1), mechanism.worn)
    stations = grid.shape[-1]
    return part_of(both, slice(0, stations)), part_of(both, slice(stations, None))


def pull(mechanism: Mechanism, stations: int = STATIONS) -> Pull:
    """Pull every lever of a mechanism; sets stand on the leading axes of its arrays."""
    pairs = zip(mechanism.levers, mechanism.hands, strict=True)
    return Pull(tuple(pull_lever(lever, hand, mechanism, stations) for lever, hand in pairs))
