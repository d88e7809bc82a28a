"""Hard limits: what no set may break, whatever the rider wishes."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts
from pullcurve.pull.shape import Shape
from pullcurve.units import from_si


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: its key, what it protects, unit of its margin, and the margin of every candidate (n,).

    Below 0 breaks it. Where an event is never reached, the limit on travel is broken without bound and the limits
    that would be read at the event stay silent. Any other limit is broken where its value is not known: nothing is
    taken for safe because nobody can compute it.
    """

    key: str
    sentence: str
    unit: str
    margin: FloatArray


ONCE = ("return", "touch", "effort")
"""Limits of the lever itself: told once where one lever drives brake and clutch."""


def judge(
    job: Job, brake: BrakeReadouts | None, clutch: ClutchReadouts | None, shapes: dict[str, Shape]
) -> tuple[Limit, ...]:
    """Margins of every candidate to every limit."""
    found: list[Limit] = []
    for kind, shape in shapes.items():
        found += _cuttable(kind, shape)
    if brake is not None:
        found += _brake(brake)
    if clutch is not None:
        shared = ONCE if brake is not None else ()
        found += [limit for limit in _clutch(clutch) if limit.key.removeprefix("clutch.") not in shared]
    return tuple(found)


def _limit(
    key: str, sentence: str, unit: str, value: FloatArray, bound: float = 0.0, unreached: float = -np.inf
) -> Limit:
    """A limit that a value in SI must not fall below; bound in the trade's unit, margin shown in it."""
    margin = value * from_si(f"value_{unit}", 1.0) - bound
    return Limit(key, sentence, unit, np.where(np.isnan(margin), unreached, margin))


def _cuttable(kind: str, shape: Shape) -> list[Limit]:
    spare, steep = facts.fact("limits.roller_spare_mm"), facts.fact("limits.pressure_angle_most_deg")
    return [
        _limit(
            f"{kind}.undercut",
            f"the {kind} cam must let the roller follow its whole flank",
            "mm",
            shape.roller_spare,
            spare,
        ),
        _limit(
            f"{kind}.pressure_angle",
            f"the {kind} cam must not push the rocker more sideways than along",
            "deg",
            -shape.pressure_angle,
            -steep,
        ),
    ]


def _shared(kind: str, readouts: BrakeReadouts | ClutchReadouts, needed: str) -> list[Limit]:
    """What every lever must leave and give back."""
    fact = facts.fact
    return [
        _limit(
            f"{kind}.travel_left",
            f"travel must be left after {needed}",
            "mm",
            readouts.travel_left,
            fact("limits.travel_left_least_mm"),
        ),
        _limit(
            f"{kind}.return",
            "the lever must come back by itself, cold and worn",
            "newton",
            readouts.return_least,
            fact("limits.return_least_newton"),
        ),
    ]


def _hand(kind: str, readouts: BrakeReadouts | ClutchReadouts) -> list[Limit]:
    """What the hand must reach and may be asked for."""
    fact = facts.fact
    return [
        _limit(f"{kind}.touch", "the finger must touch the lever at rest", "mm", readouts.touch_margin),
        _limit(
            f"{kind}.hold",
            "the finger must hold the lever where its work begins",
            "mm",
            readouts.hold_margin,
            unreached=np.inf,
        ),
        _limit(
            f"{kind}.effort",
            "the pull must stay within the hand's force",
            "percent",
            -readouts.effort,
            -fact("limits.effort_most_percent"),
        ),
        _limit(
            f"{kind}.gauge",
            "the force 50 mm from the tip must stay below the 200 N of type approval",
            "newton",
            -readouts.force_gauge,
            -fact("limits.hand_force_most_newton"),
            unreached=np.inf,
        ),
    ]


def _hydraulic(kind: str, readouts: BrakeReadouts | ClutchReadouts) -> list[Limit]:
    """Port and plunger; a cable has neither."""
    if np.all(np.isnan(readouts.port_margin)):
        return []
    return [
        _limit(
            f"{kind}.port",
            "the compensating port must be open at rest",
            "mm",
            readouts.port_margin,
            facts.fact("limits.port_margin_least_mm"),
        ),
        _limit(f"{kind}.plunger", "the plunger must not reach its end", "mm", readouts.stroke_left),
    ]


def _brake(readouts: BrakeReadouts) -> list[Limit]:
    shared = _shared("brake", readouts, "lock-up on the first surface")
    return shared + _hand("brake", readouts) + _hydraulic("brake", readouts)


def _clutch(readouts: ClutchReadouts) -> list[Limit]:
    shared = _shared("clutch", readouts, "the plates are clean")
    return shared + _hand("clutch", readouts) + _hydraulic("clutch", readouts)
