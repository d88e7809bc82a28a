"""Loads by brute force: every inverse is a root search, every stored energy a quadrature. SI, gauge pressure.

A load knows two things about a plunger that has gone x: the force it answers with on the way in (+1) or out
(-1), or without friction (0), and the energy that it has taken up until then.
"""

from dataclasses import dataclass
from math import exp
from typing import TypeAlias

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

ATMOSPHERE = 101_325.0
HIGHEST = 1e9
"""No circuit here is ever asked for more pressure than this [Pa]."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a circuit swallows on the way to a pressure: V(p), term by term."""

    gap: float = 0.0
    gap_pressure: float = 1.0
    seat: float = 0.0
    seat_pressure: float = 1.0
    linear: float = 0.0
    """Hose, caliper and seals together [m3/Pa]."""
    fluid: float = 0.0
    bulk_modulus: float = 1.0
    air: float = 0.0
    air_exponent: float = 1.0

    def volume(self, p: float) -> float:
        """The volume at a pressure."""
        free: float = 1 - (ATMOSPHERE / (p + ATMOSPHERE)) ** (1 / self.air_exponent)
        return (
            self.gap * (1 - exp(-p / self.gap_pressure))
            + self.seat * (1 - exp(-p / self.seat_pressure))
            + self.linear * p
            + self.fluid * p / self.bulk_modulus
            + self.air * free
        )

    def pressure(self, volume: float) -> float:
        """The pressure at which the circuit has swallowed the volume."""
        if volume <= 0:
            return 0.0
        top = 1e5
        while self.volume(top) < volume and top < HIGHEST:
            top *= 4
        return float(brentq(lambda p: self.volume(p) - volume, 0, top, xtol=1e-6, rtol=1e-14))

    def energy(self, p: float) -> float:
        """The integral of p dV, by parts: p V less the integral of V dp."""
        if p <= 0:
            return 0.0
        bends = [one for one in (self.gap_pressure, self.seat_pressure, 10 * self.gap_pressure) if one < p]
        under = quad(self.volume, 0, p, points=bends or None, epsabs=1e-12, epsrel=1e-11, limit=200)[0]
        return p * self.volume(p) - float(under)


@dataclass(frozen=True, slots=True)
class Plunger:
    """A cylinder's plunger: how far it is from the rocker at rest, its spring and its seal."""

    area: float
    rest_gap: float
    port: float
    spring_force: float
    spring_rate: float
    drag: float = 0.0
    drag_share: float = 0.0

    def travel(self, x: float) -> float:
        """How far the plunger has gone once the rocker's end has gone x."""
        return max(x - self.rest_gap, 0.0)

    def swept(self, x: float) -> float:
        """The fluid it has sent out."""
        return self.area * max(self.travel(x) - self.port, 0.0)

    def force(self, x: float, pressure: float, way: int, more_drag: float = 0.0) -> float:
        """The push that the rocker feels."""
        if x <= self.rest_gap:
            return 0.0
        drag = self.drag + self.drag_share * pressure * self.area + more_drag
        held = self.spring_force + self.spring_rate * self.travel(x) + pressure * self.area
        return max(held + way * drag, 0.0)

    def energy(self, x: float) -> float:
        """What its spring has taken up."""
        travel = self.travel(x)
        return self.spring_force * travel + self.spring_rate * travel**2 / 2


@dataclass(frozen=True, slots=True)
class Pack:
    """A clutch's plate pack under its springs: the push it takes to lift the pressure plate by s."""

    clamp: float
    rate: float
    spring_back: float
    bend: float = 0.0
    """Past the spring-back the force bends: a diaphragm spring's does, coil springs' does not [N/m2]."""

    def force(self, s: float) -> float:
        """The springs' force less what the pack still carries."""
        carried = self.clamp * max(1 - s / self.spring_back, 0.0)
        late = max(s - self.spring_back, 0.0)
        return self.clamp + self.rate * s + self.bend * late**2 - carried if s > 0 else 0.0

    def energy(self, s: float) -> float:
        """The work of that push."""
        bends = [self.spring_back] if 0 < self.spring_back < s else None
        return float(quad(self.force, 0, s, points=bends, epsabs=1e-12, epsrel=1e-12)[0]) if s > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Brake:
    """A brake cylinder on its circuit."""

    plunger: Plunger
    demand: Demand

    def pressure(self, x: float) -> float:
        """The line's pressure."""
        return self.demand.pressure(self.plunger.swept(x))

    def force(self, x: float, way: int) -> float:
        """The push at the plunger."""
        return self.plunger.force(x, self.pressure(x), way)

    def energy(self, x: float) -> float:
        """Spring and circuit."""
        return self.plunger.energy(x) + self.demand.energy(self.pressure(x))


@dataclass(frozen=True, slots=True)
class HydraulicClutch:
    """A clutch cylinder, a line that gives, and a slave piston that lifts the pack."""

    plunger: Plunger
    demand: Demand
    slave_area: float
    pack: Pack
    slave_drag: float = 0.0
    slave_drag_share: float = 0.0

    def lift(self, x: float) -> float:
        """The slave's travel: what was sent out is in the slave or in the line."""
        sent = self.plunger.swept(x)
        if sent <= 0:
            return 0.0

        def left(s: float) -> float:
            return self.slave_area * s + self.demand.volume(self.pack.force(s) / self.slave_area) - sent

        return float(brentq(left, 0, sent / self.slave_area, xtol=1e-15, rtol=1e-14))

    def pressure(self, x: float) -> float:
        """The line's pressure."""
        return self.pack.force(self.lift(x)) / self.slave_area

    def force(self, x: float, way: int) -> float:
        """The push at the plunger; the slave's seal is felt through the areas."""
        p = self.pressure(x)
        slave = self.slave_drag + self.slave_drag_share * p * self.slave_area
        return self.plunger.force(x, p, way, slave * self.plunger.area / self.slave_area)

    def energy(self, x: float) -> float:
        """Plunger spring, pack and line."""
        return self.plunger.energy(x) + self.pack.energy(self.lift(x)) + self.demand.energy(self.pressure(x))


@dataclass(frozen=True, slots=True)
class CableClutch:
    """A cable that takes up its play, then stretches while it lifts the pack through the clutch's lever."""

    free_play: float
    ratio: float
    """Cable travel per plate lift."""
    stiffness: float
    pack: Pack
    wrap: float = 0.0
    """Friction coefficient times total bend of the cable."""

    def lift(self, x: float) -> float:
        """The plate lift at which play, lift and stretch add up to the cable's travel."""
        if x <= self.free_play:
            return 0.0

        def left(s: float) -> float:
            return self.free_play + self.ratio * s + self.pack.force(s) / self.ratio / self.stiffness - x

        return float(brentq(left, 0, (x - self.free_play) / self.ratio, xtol=1e-15, rtol=1e-14))

    def pressure(self, x: float) -> float:
        """A cable has none."""
        return float("nan") * x

    def tension(self, x: float) -> float:
        """The pull at the clutch's end of the cable."""
        return self.pack.force(self.lift(x)) / self.ratio

    def force(self, x: float, way: int) -> float:
        """The pull at the unit's end."""
        return self.tension(x) * float(np.exp(way * self.wrap))

    def energy(self, x: float) -> float:
        """Pack and cable."""
        return self.pack.energy(self.lift(x)) + self.tension(x) ** 2 / (2 * self.stiffness)


@dataclass(frozen=True, slots=True)
class AssistSpring:
    """A loaded spring that lets itself down: x is negative while the rocker falls.

    A compression spring has its preload in N and its rate in N/m, and x is travel at its arm; a torsion
    spring has them in N m and N m/rad, and x is the rocker's own angle.
    """

    preload: float
    rate: float
    torsion: bool = False

    def pressure(self, x: float) -> float:
        """A spring has none."""
        return float("nan") * x

    def force(self, x: float, way: int) -> float:
        """What is left of the preload; way changes nothing, a spring has no seal."""
        return max(self.preload + self.rate * x, 0.0) + 0.0 * way

    def energy(self, x: float) -> float:
        """What it has taken up since rest: negative, it gives."""
        if x <= 0 and self.rate > 0:
            x = max(x, -self.preload / self.rate)
        return self.preload * x + self.rate * x**2 / 2


@dataclass(frozen=True, slots=True)
class PlainSpring:
    """A spring alone, for cases with a closed form."""

    preload: float
    rate: float

    def pressure(self, x: float) -> float:
        """A spring has none."""
        return float("nan") * x

    def force(self, x: float, way: int) -> float:
        """Preload and rate."""
        return self.preload + self.rate * x + 0.0 * way

    def energy(self, x: float) -> float:
        """The work of that force."""
        return self.preload * x + self.rate * x**2 / 2


Load: TypeAlias = Brake | HydraulicClutch | CableClutch | AssistSpring | PlainSpring
