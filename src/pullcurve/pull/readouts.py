"""What is read off a pull: where bite, lock-up, slip, free and clean lie, and what a hand meets there.

A read-out is one field of :class:`BrakeReadouts` or :class:`ClutchReadouts`. Its metadata say how it is shown and
judged, so that JSON, tables, pages and sheets need no list of their own.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, fields

import numpy as np

from pullcurve.mechanics import circuit
from pullcurve.mechanics.clutch import clamp_left
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.endurance import fatigue, holding_time
from pullcurve.mechanics.hand import force_available
from pullcurve.pull.arrays import BrakeLine, ClutchLine, Hand, Lever, Plates, Plunger, Rocker, Wheel
from pullcurve.pull.events import SHARES, Events
from pullcurve.pull.solve import LeverCurves, RockerCurves, gap, psi_at_stroke, stroke

GRAVITY = 9.80665
"""Standard gravity [m/s2], exact (ISO 80000-3)."""


@dataclass(frozen=True, slots=True)
class Facet:
    """How a read-out is shown and judged: plain label, unit suffix, decimals, whether force or place is felt.

    An ``optional`` one is not shown where the unit does not have it.
    """

    label: str
    unit: str
    decimals: int
    felt: str = "no"
    per_surface: bool = False
    optional: bool = False


def _shown(
    label: str, unit: str, decimals: int, felt: str = "no", per_surface: bool = False, optional: bool = False
) -> FloatArray:
    """A read-out field with its facet."""
    facet = Facet(label, unit, decimals, felt, per_surface, optional)
    value: FloatArray = field(metadata={"facet": facet})
    return value


@dataclass(frozen=True, slots=True)
class BrakeReadouts:
    """Read-outs of a brake lever, SI, shape (...); per-surface ones (..., surfaces). NaN: not reached in the travel."""

    gap_rest: FloatArray = _shown("gap at rest", "mm", 1, "place")
    gap_bite: FloatArray = _shown("gap at bite", "mm", 1, "place")
    gap_lock: FloatArray = _shown("gap at lock-up", "mm", 1, "place")
    travel_bite: FloatArray = _shown("travel to bite", "mm", 1, "place")
    travel_lock: FloatArray = _shown("travel to lock-up", "mm", 1, "place")
    force_bite: FloatArray = _shown("force at bite", "newton", 0, "force")
    force_lock: FloatArray = _shown("force at lock-up", "newton", 0, "force", per_surface=True)
    pressure_lock: FloatArray = _shown("pressure at lock-up", "bar", 0, per_surface=True)
    deceleration_lock: FloatArray = _shown("deceleration at lock-up", "m_per_s2", 2, per_surface=True)
    gain_force: FloatArray = _shown("braking per force", "g_per_newton", 4)
    gain_travel: FloatArray = _shown("braking per travel", "g_per_mm", 3)
    modulation_travel: FloatArray = _shown("travel from bite to lock-up", "mm", 1, "place")
    modulation_force: FloatArray = _shown("force from bite to lock-up", "newton", 0, "force")
    steepest: FloatArray = _shown("steepest braking", "m_per_s2_per_mm", 2)
    travel_left: FloatArray = _shown("travel left after lock-up", "mm", 1, "place")
    hysteresis: FloatArray = _shown("friction between pull and release", "percent", 0)
    return_least: FloatArray = _shown("least return force, cold and worn", "newton", 1)
    force_gauge: FloatArray = _shown("force at lock-up, 50 mm from the tip", "newton", 0)
    effort: FloatArray = _shown("share of the hand's force up to lock-up", "percent", 0)
    grip_lost: FloatArray = _shown(
        "grip lost in long riding, to compare sets only", "percent", 0, optional=True
    )
    touch_margin: FloatArray = _shown("reach left when touching the lever", "mm", 1)
    hold_margin: FloatArray = _shown("reach left where the work begins", "mm", 1)
    port_margin: FloatArray = _shown("stroke before the port shuts", "mm", 1, optional=True)
    stroke_left: FloatArray = _shown("plunger stroke left", "mm", 1, optional=True)
    foot_lock: FloatArray = _shown("force at the pedal for lock-up, foot alone", "newton", 0, optional=True)


@dataclass(frozen=True, slots=True)
class ClutchReadouts:
    """Read-outs of a clutch lever, SI, shape (...). NaN: not reached in the travel."""

    gap_rest: FloatArray = _shown("gap at rest", "mm", 1, "place")
    gap_slip: FloatArray = _shown("gap at first slip", "mm", 1, "place")
    gap_free: FloatArray = _shown("gap where the clutch is free", "mm", 1, "place")
    gap_clean: FloatArray = _shown("gap where the plates are clean", "mm", 1, "place")
    travel_slip: FloatArray = _shown("travel to first slip", "mm", 1, "place")
    travel_free: FloatArray = _shown("travel to free", "mm", 1, "place")
    travel_clean: FloatArray = _shown("travel to clean", "mm", 1, "place")
    force_peak: FloatArray = _shown("peak force", "newton", 0, "force")
    force_hold: FloatArray = _shown("force held in at the end", "newton", 0, "force")
    friction_zone: FloatArray = _shown("friction zone, first slip to free", "mm", 1, "place")
    travel_left: FloatArray = _shown("travel left after clean", "mm", 1, "place")
    lift_end: FloatArray = _shown("plate lift at the end", "mm", 2)
    hysteresis: FloatArray = _shown("friction between pull and release", "percent", 0)
    return_least: FloatArray = _shown("least return force, cold and worn", "newton", 1)
    force_gauge: FloatArray = _shown("peak force, 50 mm from the tip", "newton", 0)
    effort: FloatArray = _shown("share of the hand's force", "percent", 0)
    grip_lost: FloatArray = _shown(
        "grip lost in long riding, to compare sets only", "percent", 0, optional=True
    )
    holding_time: FloatArray = _shown("time the lever can be held in", "s", 0, optional=True)
    touch_margin: FloatArray = _shown("reach left when touching the lever", "mm", 1)
    hold_margin: FloatArray = _shown("reach left where the work begins", "mm", 1)
    port_margin: FloatArray = _shown("stroke before the port shuts", "mm", 1, optional=True)
    stroke_left: FloatArray = _shown("plunger stroke left", "mm", 1, optional=True)


Readouts = BrakeReadouts | ClutchReadouts


def facets(kind: type[Readouts] | Readouts) -> Iterator[tuple[str, Facet]]:
    """Name and facet of every read-out, in the order of the drawing's table."""
    for known in fields(kind):
        yield known.name, known.metadata["facet"]


@dataclass(frozen=True, slots=True)
class View:
    """One lever as the readers see it: curves over the stations, curves at the events, angle where the travel ends."""

    lever: Lever
    hand: Hand
    curves: LeverCurves
    at: LeverCurves
    events: Events
    end: FloatArray

    def event(self, name: str, values: FloatArray) -> FloatArray:
        """Value of a curve at an event, (...)."""
        column = self.events.index(name)
        if values.shape == self.at.pull.shape:
            return np.asarray(values[..., column])
        return np.asarray(np.broadcast_to(values, self.at.pull.shape)[..., column])


def _work_end(view: View) -> tuple[FloatArray, FloatArray]:
    """Lever angle where the work of a pull is done and the pull force there, each (...).

    A lever that brakes is pulled no further than lock-up (or clean plates, if those come later); a clutch lever
    to the end of its travel.
    """
    end, force = _flat(view.end, view.curves.gap[..., 0]), view.curves.pull[..., -1]
    if view.lever.rocker("brake") is None:
        return end, force
    last = np.full(force.shape, -np.inf)
    for name in ("lock-up 0", "clean"):
        if name in view.events.names:
            theta = view.event(name, view.at.theta)
            later = theta > last
            last, force = np.where(later, theta, last), np.where(later, view.event(name, view.at.pull), force)
    missing = np.isinf(last) | np.isnan(view.event("lock-up 0", view.at.theta))
    return np.where(missing, end, last), np.where(missing, view.curves.pull[..., -1], force)


def _able(hand: Hand, gap: FloatArray) -> FloatArray:
    """Greatest force of the pulling fingers at a gap, (...) [N]; at least 1 N, so that shares stay finite."""
    distance = gap + hand.grip_diameter + hand.lever_thickness
    return np.maximum(force_available(hand.strength, distance, hand.best_span), 1.0)


def _effort(view: View, until: FloatArray) -> FloatArray:
    """Largest share of the hand's force that the pull asks for, up to a lever angle (...)."""
    share = []
    for curves in (view.curves, view.at):
        share_of = curves.pull / _able(view.hand, curves.gap)
        asked = np.where(curves.theta <= until[..., None], share_of, -np.inf)
        share.append(np.max(np.where(np.isnan(asked), -np.inf, asked), axis=-1, initial=-np.inf))
    return np.asarray(np.maximum(*share))


def _peak(view: View, until: FloatArray) -> FloatArray:
    """Highest finger force up to a lever angle, stations and events together, (...)."""
    best = []
    for curves in (view.curves, view.at):
        inside = np.where(curves.theta <= until[..., None], curves.pull, -np.inf)
        best.append(np.max(inside, axis=-1, initial=-np.inf))
    return np.asarray(np.maximum(*best))


def _flat(values: FloatArray | float, like: FloatArray) -> FloatArray:
    """A constant or (..., 1) array without its station axis, in the shape of the sets."""
    array = np.asarray(values, dtype=np.float64)
    return np.array(np.broadcast_to(array[..., 0] if array.ndim else array, like.shape))


def _limits(view: View, rocker: RockerCurves, begin: FloatArray) -> dict[str, FloatArray]:
    """Read-outs that brake and clutch share: return, reach, dead and spare stroke."""
    rest = view.curves.gap[..., 0]
    front = view.hand.grip_diameter + view.hand.lever_thickness
    known = next(known for known in view.lever.rockers if known.drives == rocker.drives)
    load, last = known.load, rocker.load.stroke[..., -1]
    nothing = np.full(last.shape, np.nan)
    margin, left = nothing, nothing
    if isinstance(load, BrakeLine | ClutchLine):
        margin = _flat(load.plunger.port, last) + _flat(load.plunger.rest_gap, last)
        left = _flat(load.plunger.stroke_limit, last) + _flat(load.plunger.rest_gap, last) - last
    return {
        "gap_rest": rest,
        "return_least": np.min(view.curves.release_worn, axis=-1),
        "touch_margin": view.hand.touch - (rest + front),
        "hold_margin": view.hand.hold - (begin + front),
        "port_margin": margin,
        "stroke_left": left,
    }


def _hysteresis(view: View, event: str) -> FloatArray:
    """Share of the pull force that the release lacks, at an event (...)."""
    pulled = view.event(event, view.at.pull)
    return (pulled - view.event(event, view.at.release)) / pulled


def _per(gained: float, step: FloatArray) -> FloatArray:
    """What is gained per step, (...); NaN where there is no step to tell it by."""
    return np.asarray(gained / np.where(step == 0.0, np.nan, step))


def _steepest(
    view: View, rocker: Rocker, wheel: Wheel, plunger: Plunger, line: circuit.Circuit
) -> FloatArray:
    """Steepest rise of deceleration per finger travel between bite and lock-up, (...)."""
    bite, lock = (view.event(name, view.at.theta)[..., None] for name in ("bite", "lock-up 0"))
    best = []
    for curves in (view.curves, view.at):
        along = curves.rocker("brake")
        assert along is not None
        per_volume = 1.0 / circuit.demand(line, along.load.pressure)[1]
        slope = plunger.area * along.load.line_arm * along.law.dpsi * per_volume
        rise = wheel.deceleration_per_pressure * slope / view.lever.finger_radius
        inside = (curves.theta >= bite) & (curves.theta <= lock)
        best.append(np.max(np.where(inside, rise, -np.inf), axis=-1, initial=-np.inf))
    steepest = np.maximum(*best)
    return np.where(np.isfinite(steepest), steepest, np.nan)


def read_brake(view: View, wheel: Wheel) -> BrakeReadouts:
    """Read-outs of the brake from its curves and events."""
    curves = view.curves.rocker("brake")
    known = view.lever.rocker("brake")
    assert curves is not None and known is not None and isinstance(known.load, BrakeLine)
    at, event = view.at, view.event
    locks = [f"lock-up {k}" for k in range(wheel.lock_pressure.size)]
    force_lock = np.stack([event(name, at.pull) for name in locks], axis=-1)
    lock_theta, bite_gap = event("lock-up 0", at.theta), event("bite", at.gap)
    effort = _effort(view, _work_end(view)[0])
    gained = (SHARES[2] - SHARES[0]) * wheel.lock_deceleration[0]
    per_force = _per(gained, event("gain to", at.pull) - event("gain from", at.pull))
    per_travel = _per(gained, event("gain to", at.travel) - event("gain from", at.travel))
    leverage = _flat(view.lever.finger_radius, lock_theta) / _flat(view.lever.gauge_radius, lock_theta)
    per_surface = (*lock_theta.shape, wheel.lock_pressure.size)
    return BrakeReadouts(
        **_limits(view, curves, bite_gap),
        gap_bite=bite_gap,
        gap_lock=event("lock-up 0", at.gap),
        travel_bite=event("bite", at.travel),
        travel_lock=event("lock-up 0", at.travel),
        force_bite=event("bite", at.pull),
        force_lock=force_lock,
        pressure_lock=np.array(np.broadcast_to(wheel.lock_pressure, per_surface)),
        deceleration_lock=np.array(np.broadcast_to(wheel.lock_deceleration, per_surface)),
        gain_force=per_force,
        gain_travel=per_travel,
        modulation_travel=event("lock-up 0", at.travel) - event("bite", at.travel),
        modulation_force=force_lock[..., 0] - event("bite", at.pull),
        steepest=_steepest(view, known, wheel, known.load.plunger, known.load.circuit),
        travel_left=_flat(view.lever.finger_radius, lock_theta) * (_flat(view.end, lock_theta) - lock_theta),
        hysteresis=_hysteresis(view, "half lock-up"),
        force_gauge=force_lock[..., 0] * leverage,
        effort=effort,
        grip_lost=fatigue(effort, view.hand.duty, view.hand.hold_share).loss,
        foot_lock=_foot_lock(known, known.load, wheel, lock_theta),
    )


def read_clutch(view: View) -> ClutchReadouts:
    """Read-outs of the clutch from its curves and events."""
    curves = view.curves.rocker("clutch")
    assert curves is not None
    at, event = view.at, view.event
    until, held = _work_end(view)
    effort = _effort(view, until)
    event_gap = gap(view.lever, until[..., None])[..., 0]
    end, peak, clean = view.end, _peak(view, until), event("clean", at.theta)
    return ClutchReadouts(
        **_limits(view, curves, event("first slip", at.gap)),
        gap_slip=event("first slip", at.gap),
        gap_free=event("free", at.gap),
        gap_clean=event("clean", at.gap),
        travel_slip=event("first slip", at.travel),
        travel_free=event("free", at.travel),
        travel_clean=event("clean", at.travel),
        force_peak=peak,
        force_hold=held,
        friction_zone=event("free", at.travel) - event("first slip", at.travel),
        travel_left=_flat(view.lever.finger_radius, clean) * (_flat(end, clean) - clean),
        lift_end=curves.load.lift[..., -1],
        hysteresis=_hysteresis(view, "free"),
        force_gauge=peak * _flat(view.lever.finger_radius, peak) / _flat(view.lever.gauge_radius, peak),
        effort=effort,
        grip_lost=fatigue(effort, view.hand.duty, view.hand.hold_share).loss,
        holding_time=holding_time(held / _able(view.hand, event_gap)),
    )


def deceleration(wheel: Wheel, pressure: FloatArray) -> FloatArray:
    """Deceleration at a pressure on the first surface: proportional until the wheel locks, (...) [m/s2]."""
    return np.asarray(np.minimum(wheel.deceleration_per_pressure * pressure, wheel.lock_deceleration[0]))


def clutch_torque_left(plates: Plates, lift: FloatArray) -> FloatArray:
    """Torque that the plates still carry at a lift, (...) [N m]."""
    return np.asarray(plates.full_capacity * clamp_left(1.0, plates.free_lift, lift))


def _foot_lock(rocker: Rocker, load: BrakeLine, wheel: Wheel, like: FloatArray) -> FloatArray:
    """Force at the pedal that locks the wheel without the hand; NaN without a pedal."""
    if load.foot is None:
        return np.full(like.shape, np.nan)
    plunger = load.plunger
    moved = circuit.demand(load.circuit, wheel.lock_pressure[:1])[0] / plunger.area + plunger.port
    force = plunger.spring + plunger.spring_rate * moved + wheel.lock_pressure[0] * plunger.area
    _, line_arm = stroke(rocker, psi_at_stroke(rocker, moved + plunger.rest_gap))
    return _flat(force * line_arm / load.foot.moment_per_force, like)
