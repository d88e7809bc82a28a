"""A free law described as a cam that a job can carry: the nearest numbers, and a shape for what they leave."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from pydantic import ValidationError
from scipy.optimize import least_squares

from pullcurve.mechanics.curve import Curve, FloatArray, evaluate
from pullcurve.mechanics.law import fall_curve, rise_curve, shape_curve
from pullcurve.parts.cams import (
    BLENDS,
    FALL,
    FLANK,
    FLANKS,
    LIFT,
    MOST_SHAPE,
    ONSET,
    STROKE,
    TAKE_UP,
    AssistCam,
    BrakeCam,
    ClutchCam,
)
from pullcurve.parts.fields import Span
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam, Choice, mechanism, si
from pullcurve.pull.plate import Metal, rocker_of
from pullcurve.units import from_si, to_si

PLACES = 240
"""Lever angles at which a law and its description are compared."""

WAY = 0.01
"""Lever angle over which a bend counts like an angle [rad]."""

ALIKE = 1.0e-6
"""Distance at the roller within which numbers alone say a law [m]."""

SMOOTH = 15.0
"""Lever angle over which the help must at least set in where a shape lies on it: a spline takes no corners [deg]."""

DECIMALS, SHAPE_DECIMALS = 2, 5
"""Decimals of the numbers, and of the shape: the last one is 4 nanometres on an arm of 20 mm."""

CAMS: Mapping[str, type[Cam]] = {"brake": BrakeCam, "clutch": ClutchCam, "assist": AssistCam}


@dataclass(frozen=True, slots=True)
class Described:
    """A law as a cam of the rack, and how far its roller stands from that of the law over the travel, at most [m]."""

    cam: Cam
    apart: float


@dataclass(frozen=True, slots=True)
class _Target:
    """A law at places along the flank, lead-in and run-out too: lever and rocker angles (S,), and what holds them."""

    theta: FloatArray
    psi: FloatArray
    flank_deg: float

    @property
    def flank(self) -> float:
        """The flank's angle [rad]."""
        return to_si("flank_deg", self.flank_deg)[1]


def described(job: Job, metal: Metal, curve: Curve, reach_deg: float) -> Described | None:
    """The law of a cam as numbers and a shape, for a lever that rests at a reach; None where it is too far from any.

    Where numbers alone say it, it has no shape.
    """
    theta = np.linspace(metal.theta[0], metal.theta[-1], PLACES)
    psi, kind = evaluate(curve, theta)[0], metal.drives

    def known(flank_deg: float, shaped: bool) -> Described:
        target = _Target(theta, psi, flank_deg)
        numbers: dict[str, object] = {"reach_deg": reach_deg, **_numbers(job, metal, target, smooth=shaped)}
        if flank_deg != FLANK:
            numbers["flank_deg"] = flank_deg
        cam = CAMS[kind].model_validate(numbers)
        if shaped:
            numbers["shape_deg"] = _shape(target, curve, _law(job, kind, cam))
            cam = CAMS[kind].model_validate(numbers)
        pulled = (theta >= 0.0) & (theta <= metal.rest_end)
        off = evaluate(_law(job, kind, cam), theta[pulled])[0] - psi[pulled]
        return Described(cam, float(np.max(np.abs(off)) * metal.arm))

    try:
        plain = known(FLANK, shaped=False)
        return plain if plain.apart <= ALIKE else known(_holding(metal), shaped=True)
    except ValidationError:
        return None


def _holding(metal: Metal) -> float:
    """A round number of degrees that holds the flank as it is cut."""
    cut = float(np.ceil(2.0 * from_si("flank_deg", float(metal.theta[-1]))) / 2.0)
    return min(max(cut, FLANK), FLANKS.high)


def _law(job: Job, kind: str, cam: Cam) -> Curve:
    """Law of a cam on the job's rocker."""
    rocker = mechanism(job, Choice(**{kind: (cam,)})).levers[rocker_of(job, kind)[0]].rocker(kind)  # type: ignore[arg-type]
    assert rocker is not None
    return rocker.law


def _numbers(job: Job, metal: Metal, target: _Target, smooth: bool) -> dict[str, float]:
    """The numbers whose law lies nearest; ``smooth`` where a shape is to lie on it."""
    if metal.drives == "assist":
        return _fallen(metal, target, smooth)
    part = rocker_of(job, metal.drives)[1]
    arm = si(part, "load_arm_mm")
    ones = [
        evaluate(rise_curve(0.0, *one, target.flank), target.theta)[0] for one in ((1.0, 0.0), (0.0, 1.0))
    ]
    used = ones if metal.drives == "brake" else ones[:1]
    turn, *bump = np.linalg.lstsq(np.stack(used, axis=-1), target.psi - metal.rest_angle)[0].tolist()
    travel = arm * (np.sin(min(turn, np.pi / 2)) if part.push == "pin" else turn)
    if metal.drives == "clutch":
        return {"lift_mm": _within(LIFT, from_si("lift_mm", float(travel)))}
    return {
        "take_up_mm": _within(TAKE_UP, from_si("take_up_mm", arm * bump[0])),
        "stroke_mm": _within(STROKE, from_si("stroke_mm", float(travel))),
    }


def _fallen(metal: Metal, target: _Target, smooth: bool) -> dict[str, float]:
    """Onset, blend and strength of the assist law that lies nearest."""
    blends = Span(SMOOTH, BLENDS.high) if smooth else BLENDS
    spans = {"onset_deg": ONSET, "blend_deg": blends, "fall": FALL}
    low, high = (
        np.array([to_si(key, getattr(span, end))[1] for key, span in spans.items()])
        for end in ("low", "high")
    )

    def off(numbers: FloatArray) -> FloatArray:
        return evaluate(fall_curve(metal.rest_angle, *numbers), target.theta)[0] - target.psi

    begin = np.array([0.3, 0.3, 0.3]) * (high - low) + low
    found = least_squares(off, begin, bounds=(low, high), x_scale=high - low).x
    return {
        key: _within(span, from_si(key, float(value)))
        for (key, span), value in zip(spans.items(), found, strict=True)
    }


def _within(span: Span, value: float) -> float:
    return round(min(max(value, span.low), span.high), DECIMALS)


def _shape(target: _Target, curve: Curve, plain: Curve) -> tuple[float, ...]:
    """Control values for what the numbers leave of the law [deg]: of its angle, and of its bend, which metal shows."""
    rows = _both(shape_curve(np.eye(MOST_SHAPE), target.flank), target.theta)
    left = _both(curve, target.theta) - _both(plain, target.theta)
    found = np.linalg.lstsq(rows.T, left)[0]
    return tuple(round(from_si("shape_deg", float(value)), SHAPE_DECIMALS) + 0.0 for value in found)


def _both(curve: Curve, theta: FloatArray) -> FloatArray:
    """Rocker angles and, over a short way, their second derivatives, (..., 2 S) [rad]."""
    value, _, bend = evaluate(curve, theta)
    return np.concatenate([value, WAY**2 * bend], axis=-1)


__all__ = ["Described", "described"]
