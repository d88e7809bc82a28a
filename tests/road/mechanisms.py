"""Plausible mechanisms by the dice: any that could be cut and would work, none copied from anywhere."""

from dataclasses import dataclass
from functools import cache
from math import radians

import numpy as np
from numpy.polynomial import Polynomial
from numpy.random import Generator, default_rng

from tests.road.geometry import Floats, LawOf, Plan, is_cuttable, pressure_angle, touch, trace
from tests.road.loads import AssistSpring, Brake, CableClutch, Demand, HydraulicClutch, Load, Pack, Plunger
from tests.road.road import Lever, Pin, Slot

SPAN = radians(26)
STEEPEST = radians(50)


@dataclass(frozen=True, slots=True)
class Rising:
    """psi = psi0 + sum c_k (theta/span)^k; beyond the ends it keeps slope and curvature."""

    psi0: float
    coefficients: tuple[float, ...]
    span: float

    def __call__(self, theta: Floats | float) -> Floats:
        v = np.asarray(theta, dtype=float) / self.span
        law = Polynomial([self.psi0, *self.coefficients])
        inside = np.clip(v, 0, 1)
        over = v - inside
        return np.asarray(law(inside) + law.deriv()(inside) * over + law.deriv(2)(inside) * over**2 / 2)


@dataclass(frozen=True, slots=True)
class Falling:
    """Neutral up to the onset, then the slope bends over the blend to -fall and stays there."""

    psi0: float
    onset: float
    blend: float
    fall: float

    def __call__(self, theta: Floats | float) -> Floats:
        v = (np.asarray(theta, dtype=float) - self.onset) / self.blend
        bent = np.clip(v, 0, 1)
        down = bent**3 - bent**4 / 2 + np.clip(v - 1, 0, None)
        return np.asarray(self.psi0 - self.fall * self.blend * down)


def _uniform(dice: Generator, low: float, high: float) -> float:
    return float(dice.uniform(low, high))


def _rising(dice: Generator, turn: float) -> Rising:
    """A monotone polynomial law that turns the rocker by `turn` over the span."""
    degree = int(dice.integers(1, 6))
    while True:
        shares = np.array([1.0, *dice.normal(0, 0.5, degree - 1) / np.arange(2, degree + 1) * 1.5])
        shares *= turn / shares.sum()
        law = Rising(_uniform(dice, radians(30), radians(40)), tuple(map(float, shares)), SPAN)
        slope = Polynomial([0.0, *shares]).deriv()(np.linspace(0, 1, 50))
        if slope.min() > 0.3 * turn and slope.max() < 2.2 * turn:
            return law


def _falling(dice: Generator) -> Falling:
    onset, blend = radians(_uniform(dice, 3, 9)), radians(_uniform(dice, 5, 12))
    turn = radians(_uniform(dice, 8, 25))
    return Falling(_uniform(dice, radians(55), radians(75)), onset, blend, turn / (SPAN - onset - blend / 2))


def _plan(dice: Generator, law: LawOf) -> Plan:
    return Plan(
        law,
        SPAN,
        _uniform(dice, 0.037, 0.043),
        _uniform(dice, 0.018, 0.022),
        _uniform(dice, 0.004, 0.005),
        int(dice.choice([-1, 1])),
    )


def _cuttable(plan: Plan) -> bool:
    metal = trace(plan)
    if not is_cuttable(metal):
        return False
    angles = [pressure_angle(plan, touch(metal, theta)) for theta in np.linspace(0, plan.span, 9)]
    return max(angles) < STEEPEST


# Loads ------------------------------------------------------------------------------------------------------


def _plunger(dice: Generator) -> Plunger:
    bore = _uniform(dice, 0.009, 0.011)
    return Plunger(
        area=np.pi * bore**2 / 4,
        rest_gap=_uniform(dice, 0.1e-3, 0.4e-3),
        port=_uniform(dice, 0.5e-3, 1.1e-3),
        spring_force=_uniform(dice, 8, 20),
        spring_rate=_uniform(dice, 500, 1500),
        drag=_uniform(dice, 2, 6),
        drag_share=_uniform(dice, 0.01, 0.05),
    )


def _brake(dice: Generator, stroke: float) -> Brake:
    """A circuit that is somewhere between 15 and 60 bar when the stroke is used up."""
    plunger = _plunger(dice)
    sent, final = plunger.swept(stroke), _uniform(dice, 15e5, 60e5)
    gap, seat = sent * _uniform(dice, 0.15, 0.35), sent * _uniform(dice, 0.05, 0.15)
    fluid, air = 1e-5 * _uniform(dice, 1, 3), sent * _uniform(dice, 0, 0.1)
    return Brake(
        plunger,
        Demand(
            gap=gap,
            gap_pressure=_uniform(dice, 0.2e5, 0.6e5),
            seat=seat,
            seat_pressure=_uniform(dice, 4e5, 12e5),
            linear=max((sent - gap - seat - air) / final - fluid / 1.4e9, 1e-15),
            fluid=fluid,
            bulk_modulus=1.4e9,
            air=air,
            air_exponent=_uniform(dice, 1.0, 1.4),
        ),
    )


def _pack(dice: Generator, lift: float) -> Pack:
    """A pack wholly let go at a quarter to a half of the lift; one in three springs is a diaphragm."""
    clamp, free = _uniform(dice, 1200, 2500), lift * _uniform(dice, 0.25, 0.5)
    if dice.random() < 1 / 3:
        return Pack(
            clamp, clamp * _uniform(dice, -0.3, 0.1) / lift, free, clamp * _uniform(dice, 0, 0.2) / lift**2
        )
    return Pack(clamp, clamp * _uniform(dice, 0.1, 0.4) / lift, free)


def _hydraulic_clutch(dice: Generator, stroke: float) -> HydraulicClutch:
    plunger, lift = _plunger(dice), _uniform(dice, 1.2e-3, 1.8e-3)
    return HydraulicClutch(
        plunger,
        Demand(linear=_uniform(dice, 0.5e-14, 3e-14), fluid=1e-5, bulk_modulus=1.4e9),
        slave_area=plunger.swept(stroke) / lift,
        pack=_pack(dice, lift),
        slave_drag=_uniform(dice, 5, 20),
        slave_drag_share=_uniform(dice, 0.005, 0.03),
    )


def _cable_clutch(dice: Generator, stroke: float) -> CableClutch:
    lift, play = _uniform(dice, 1.2e-3, 1.8e-3), _uniform(dice, 0.3e-3, 1e-3)
    return CableClutch(
        play, (stroke - play) / lift * 0.9, _uniform(dice, 0.8e5, 3e5), _pack(dice, lift), 0.1 * dice.random()
    )


def _assist(dice: Generator, turn: float, arm: float) -> AssistSpring:
    """A spring that gives between 30 % of its preload and, now and then, all of it before the end."""
    spent = _uniform(dice, 0.3, 1.05)
    if dice.random() < 0.5:
        torque = _uniform(dice, 0.5, 1.5)
        return AssistSpring(torque, torque * spent / turn, torsion=True)
    force = _uniform(dice, 30, 80)
    return AssistSpring(force, force * spent / (turn * arm))


def _load(dice: Generator, kind: str, turn: float, arm: float) -> Load:
    """The load for a rocker that turns so far."""
    if kind == "assist":
        return _assist(dice, turn, arm)
    if kind == "brake":
        return _brake(dice, turn * arm)
    return _hydraulic_clutch(dice, turn * arm) if kind == "hydraulic" else _cable_clutch(dice, turn * arm)


# Whole mechanisms -------------------------------------------------------------------------------------------


def _pin(dice: Generator) -> Pin:
    return Pin(_uniform(dice, 0.003, 0.005), _uniform(dice, 0.05, 0.15))


def _slot(dice: Generator, kind: str) -> Slot:
    """Throw until the cam can be cut."""
    arm = _uniform(dice, 0.016, 0.020)
    while True:
        stroke = _uniform(dice, 0.005, 0.010)
        law: Rising | Falling = _falling(dice) if kind == "assist" else _rising(dice, stroke / arm)
        plan = _plan(dice, law)
        if _cuttable(plan):
            break
    load = _load(dice, kind, abs(float(law(SPAN) - law(0.0))), arm)
    # A compression spring stands on a pad whose arm stays what it is.
    by_pin = bool(dice.random() < 0.5) and kind != "assist"
    roller = Pin(0.002, _uniform(dice, 0.005, 0.15))
    return Slot(plan, law.psi0, load, arm, by_pin, _uniform(dice, -2, 2), roller, _pin(dice))


CARRIED = (
    ("brake",),
    ("hydraulic",),
    ("cable",),
    ("hydraulic", "assist"),
    ("cable", "assist"),
    ("brake", "hydraulic", "assist"),
    ("brake", "cable"),
)


@cache
def random_mechanism(number: int, seed: int) -> Lever:
    """One mechanism; what it carries follows from its number."""
    dice = default_rng([seed, number])
    kinds = CARRIED[number % len(CARRIED)]
    return Lever(
        slots=tuple(_slot(dice, kind) for kind in kinds),
        pad_radius=_uniform(dice, 0.070, 0.080),
        rest_angle=radians(_uniform(dice, 85, 125)),
        spring_torque=_uniform(dice, 0.1, 0.3),
        spring_rate=_uniform(dice, 0.1, 0.4),
        pin=_pin(dice),
    )


def random_mechanisms(count: int, seed: int) -> tuple[Lever, ...]:
    """So many mechanisms; the same seed throws the same ones, whatever the count."""
    return tuple(random_mechanism(number, seed) for number in range(count))
