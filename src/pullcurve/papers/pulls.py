"""From a computed pull to its figure: the arrays in workshop units, the events by name."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.style import EventKind, Role
from pullcurve.papers.traces import Mark, Panel, Trace
from pullcurve.pull.loop import LeverPull, Pull
from pullcurve.units import from_si

EVENT_KINDS: dict[str, EventKind] = {
    "bite": "bite",
    "lock-up 0": "lock-up",
    "first slip": "first slip",
    "free": "free",
    "clean": "clean",
}


def trace_of(lever: LeverPull, label: str, role: Role) -> Trace:
    """One lever's loop with its events."""
    curves, at = lever.curves, lever.at
    marks = []
    for name, kind in EVENT_KINDS.items():
        if name in lever.events.names:
            column = lever.events.index(name)
            place = from_si("travel_mm", float(at.travel[..., column]))
            marks.append(Mark(kind, place, float(at.pull[..., column])))
    travel = np.asarray(curves.travel) / from_si_unit("mm")
    return Trace(label, role, travel, curves.pull, curves.release, tuple(marks), float(travel[-1]))


def from_si_unit(unit: str) -> float:
    """SI value of one unit."""
    return 1.0 / from_si(f"value_{unit}", 1.0)


def _second(levers: tuple[LeverPull, ...]) -> tuple[str, str, tuple[FloatArray, ...]] | None:
    """Pressure of the brake, or plate lift of the clutch, under the force."""
    found = []
    for lever in levers:
        brake, clutch = lever.curves.rocker("brake"), lever.curves.rocker("clutch")
        if brake is not None:
            found.append(("pressure", "bar", brake.load.pressure / from_si_unit("bar")))
        elif clutch is not None:
            found.append(("plate lift", "mm", clutch.load.lift / from_si_unit("mm")))
        else:
            return None
    return (
        found[0][0],
        found[0][1],
        tuple(
            np.broadcast_to(one[2], lever.curves.pull.shape) for one, lever in zip(found, levers, strict=True)
        ),
    )


def panel_of(members: tuple[tuple[str, Role, LeverPull], ...]) -> Panel:
    """One lever, one loop per pull."""
    levers = tuple(lever for _, _, lever in members)
    traces = tuple(trace_of(lever, label, role) for label, role, lever in members)
    return Panel(levers[0].curves.name, traces, None, _second(levers))


def panels_of(
    pulls: tuple[tuple[str, Role, Pull], ...], levers: tuple[int, ...] | None = None
) -> tuple[Panel, ...]:
    """One panel per lever, one loop per pull: fitted and proposed side by side."""
    shown = levers if levers is not None else tuple(range(len(pulls[0][2].levers)))
    return tuple(
        panel_of(tuple((label, role, pull.levers[number]) for label, role, pull in pulls))
        for number in shown[:2]
    )
