"""A control unit as numbers: what the solver works on, in SI, for one set of cams or ten thousand.

Every number is a float or an array that broadcasts against (..., S): sets on the leading axes, width one where the
stations stand. Cam laws and spring tables are :class:`~pullcurve.mechanics.curve.Curve` with the sets leading.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.circuit import Circuit
from pullcurve.mechanics.curve import Curve, FloatArray, Number


@dataclass(frozen=True, slots=True)
class Plunger:
    """Lever-side hydraulic plunger: area [m2], dead strokes [m], return spring [N, N/m], seal drag [N, -]."""

    area: Number
    stroke_limit: Number
    rest_gap: Number
    port: Number
    spring: Number
    spring_rate: Number
    seal: Number
    seal_share: Number


@dataclass(frozen=True, slots=True)
class Foot:
    """Pedal branch that pushes the same brake rocker through a slave plunger.

    ``moment_per_force`` is the rocker torque per force at the pedal [m]; ``force`` what the foot presses with [N];
    ``trapped_rate`` the rate of fluid trapped behind a port that stays shut [N m/rad], 0 when it opens.
    """

    moment_per_force: Number
    force: Number
    trapped_rate: Number


@dataclass(frozen=True, slots=True)
class BrakeLine:
    """Rear brake behind a plunger, with the foot's branch where a pedal shares it."""

    plunger: Plunger
    circuit: Circuit
    foot: "Foot | None" = None


@dataclass(frozen=True, slots=True)
class ClutchLine:
    """Hydraulic clutch behind a plunger: slave area [m2], release force over lift, the line, slave seal drag."""

    plunger: Plunger
    slave_area: Number
    release: Curve
    lift_knots: FloatArray
    compliance: Circuit
    seal: Number
    seal_share: Number


@dataclass(frozen=True, slots=True)
class ClutchCable:
    """Clutch on a cable: cable travel per plate lift [-], stiffness [N/m], friction exponent mu*Theta [-]."""

    lift_ratio: Number
    stiffness: Number
    wrap: Number
    free_play: Number
    release: Curve
    lift_knots: FloatArray


@dataclass(frozen=True, slots=True)
class AssistSpring:
    """Loaded spring that the assist cam lets down: force [N] and rate [N/m], or torque [N m] and rate [N m/rad]."""

    preload: Number
    rate: Number
    torsion: bool


Load = BrakeLine | ClutchLine | ClutchCable | AssistSpring


@dataclass(frozen=True, slots=True)
class Rocker:
    """One cam, its roller and rocker, and what the rocker works against."""

    drives: str
    centre_distance: Number
    arm: Number
    roller_radius: Number
    rest_angle: Number
    sense: Number
    bearing: Number
    load_arm: Number
    pin_push: bool
    pivot_drag: Number
    roller_tilt: Number
    law: Curve
    load: Load


@dataclass(frozen=True, slots=True)
class Lever:
    """One lever with the rockers that its cams move.

    ``reach`` is how far the lever rests further in [rad]; ``gap_floor`` is the gap at which grip or fingers end the
    pull [m]; ``stop`` is the lever's own stop from the reach-0 rest [rad].
    """

    name: str
    finger_radius: Number
    gauge_radius: Number
    rest_angle: Number
    reach: Number
    pivot_offset: Number
    grip_radius: Number
    gap_floor: Number
    stop: Number
    pin_drag: Number
    spring_torque: Number
    spring_rate: Number
    rockers: tuple[Rocker, ...]

    def rocker(self, drives: str) -> Rocker | None:
        """The rocker that drives brake, clutch or assist, if this lever has one."""
        return next((rocker for rocker in self.rockers if rocker.drives == drives), None)

    def with_law(self, drives: str, law: Curve) -> "Lever":
        """The lever with another law on one of its cams."""
        rockers = tuple(
            replace(rocker, law=law) if rocker.drives == drives else rocker for rocker in self.rockers
        )
        return replace(self, rockers=rockers)

    def at_reach(self, reach: Number) -> "Lever":
        """The lever clocked to rest so far further in than at reach 0 [rad]; its cams keep their laws, from there."""
        return replace(self, reach=reach)


@dataclass(frozen=True, slots=True)
class Wheel:
    """Rear wheel: braking per pressure and what each surface lets it do.

    ``deceleration_per_pressure`` [m/s2 per Pa]; ``lock_deceleration`` and ``lock_pressure`` have one entry per
    surface on the last axis [m/s2, Pa]; ``bite_pressure`` [Pa].
    """

    deceleration_per_pressure: Number
    lock_deceleration: FloatArray
    lock_pressure: FloatArray
    bite_pressure: float


@dataclass(frozen=True, slots=True)
class Plates:
    """Clutch plates: torque they must carry and carry at most [N m], and the lifts that matter [m]."""

    full_capacity: float
    slip_lift: float
    free_lift: float
    clean_lift: float


@dataclass(frozen=True, slots=True)
class Hand:
    """What the rider's fingers can do at a lever.

    Pulling fingers' greatest force without the span's influence [N], distances from palm side to lever front [m],
    share of the time spent pulling and share of the grip held on the bar between pulls [-].
    """

    strength: float
    best_span: float
    grip_diameter: float
    lever_thickness: float
    touch: float
    hold: float
    duty: float
    hold_share: float


@dataclass(frozen=True, slots=True)
class Wear:
    """Factors on friction: a cold or worn unit drags more than the one on paper [-]."""

    seals: float = 1.0
    pins: float = 1.0
    cable: float = 1.0


@dataclass(frozen=True, slots=True)
class Mechanism:
    """A whole control unit with its machine and rider, ready to be pulled."""

    levers: tuple[Lever, ...]
    hands: tuple[Hand, ...]
    wheel: Wheel | None
    plates: Plates | None
    surfaces: tuple[str, ...]
    worn: Wear


BoolArray = NDArray[np.bool_]
