"""A pull by the independent road: torque as the slope of the stored energy, friction by plain statics."""

from dataclasses import dataclass
from functools import cache
from math import atan, cos, sin

import numpy as np
from scipy.optimize import root

from tests.road.geometry import Contact, Floats, Metal, Plan, touch, trace
from tests.road.loads import AssistSpring, Load

STILL = 1e-5
"""A rocker that turns less than this per lever angle stands still [-]."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A plain pin: half its diameter and its friction."""

    radius: float = 0.0
    friction: float = 0.0

    @property
    def arm(self) -> float:
        """The moment per force."""
        return self.radius * self.friction


@dataclass(frozen=True, slots=True)
class Slot:
    """One cam on the lever with its roller, rocker and load; psi_rest is where the rocker lies at rest."""

    plan: Plan
    psi_rest: float
    load: Load
    push_arm: float
    guided_by_pin: bool
    bearing: float
    roller_pin: Pin = Pin()
    rocker_pin: Pin = Pin()

    def travel(self, psi: float) -> float:
        """How far the rocker has moved its load: along a pad, along a pin's chord, or its own angle."""
        turn = psi - self.psi_rest
        if isinstance(self.load, AssistSpring) and self.load.torsion:
            return turn
        return self.push_arm * sin(turn) if self.guided_by_pin else self.push_arm * turn

    def leverage(self, psi: float) -> float:
        """Travel per rocker angle."""
        if isinstance(self.load, AssistSpring) and self.load.torsion:
            return 1.0
        return self.push_arm * cos(psi - self.psi_rest) if self.guided_by_pin else self.push_arm

    def energy(self, psi: float) -> float:
        """What the load has taken up."""
        return self.load.energy(self.travel(psi))

    def moment(self, psi: float, way: int) -> float:
        """The moment that the load asks of a rocker going out (+1) or back (-1), or without friction (0)."""
        return self.load.force(self.travel(psi), way) * self.leverage(psi)

    def load_force(self, psi: float, moment: float) -> float:
        """The load's push on the rocker; a torsion spring pushes in no direction."""
        if isinstance(self.load, AssistSpring) and self.load.torsion:
            return 0.0
        return moment / self.leverage(psi)


@dataclass(frozen=True, slots=True)
class Lever:
    """A blade on its pin with the cams that it carries; rest_angle is eta0 less the reach already taken."""

    slots: tuple[Slot, ...]
    pad_radius: float
    rest_angle: float
    spring_torque: float = 0.0
    spring_rate: float = 0.0
    pin: Pin = Pin()


@dataclass(frozen=True, slots=True)
class RoadPull:
    """One station: rocker angles and pressures slot by slot, and the finger's force without friction."""

    psi: Floats
    pressure: Floats
    force: float


@cache
def cut(plan: Plan) -> Metal:
    """The traced cam of a plan, cut once."""
    return trace(plan)


@cache
def met(plan: Plan, theta: float) -> Contact:
    """Where the roller of a plan touches at a lever angle, looked for once."""
    return touch(cut(plan), theta)


def stored(lever: Lever, theta: float) -> float:
    """All energy stored at a lever angle."""
    held = lever.spring_torque * theta + lever.spring_rate * theta**2 / 2
    return held + sum(slot.energy(touch(cut(slot.plan), theta).psi) for slot in lever.slots)


def torque(lever: Lever, theta: float, close: float = 2e-4) -> float:
    """The slope of the stored energy: central differences with Richardson, finer where they disagree."""
    step = 2e-3
    wide = _slope(lever, theta, step)
    while True:
        step /= 2
        narrow = _slope(lever, theta, step)
        if abs(narrow - wide) <= close * abs(narrow) + 1e-6 or step < 3e-5:
            return narrow + (narrow - wide) / 3
        wide = narrow


def _slope(lever: Lever, theta: float, step: float) -> float:
    return (stored(lever, theta + step) - stored(lever, theta - step)) / (2 * step)


def road_pull(lever: Lever, theta: float) -> RoadPull:
    """One station without friction."""
    psi = [touch(cut(slot.plan), theta).psi for slot in lever.slots]
    pressure = [slot.load.pressure(slot.travel(angle)) for slot, angle in zip(lever.slots, psi, strict=True)]
    return RoadPull(np.array(psi), np.array(pressure), torque(lever, theta) / lever.pad_radius)


# With friction ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Standing:
    """One slot at one station of one branch: where it touches and which way everything in it turns."""

    slot: Slot
    contact: Contact
    rocker_sense: int
    """+1 while psi grows, -1 while it falls, 0 while it stands."""
    tilted: Floats
    """Direction of the cam's push on the roller."""
    moment: float
    """What the load asks of the rocker, drag included."""
    rocker_rate: float
    """Growth of psi per unit of lever speed, in the sense of the branch [-]."""
    roller_spin: float
    """Turn of the roller against the rocker per unit of lever speed, counter-clockwise [-]."""


def stand(slot: Slot, theta: float, way: int, step: float = 5e-4) -> Standing:
    plan = slot.plan
    here = met(plan, theta)
    before, after = (met(plan, theta + sign * way * step).psi for sign in (-1, 1))
    psi_rate = (after - before) / (2 * step)
    sense = 0 if abs(psi_rate) < STILL else int(np.sign(psi_rate))
    centre_speed = (plan.centre(after) - plan.centre(before)) / (2 * step)
    cam_speed = plan.sigma * way * np.array([-here.point[1], here.point[0]])
    to_contact = here.point - plan.centre(here.psi)
    tangent = np.array([-to_contact[1], to_contact[0]]) / plan.roller**2
    roller_turn = float((cam_speed - centre_speed) @ tangent)  # it rolls, it does not slip
    rocker_turn = -psi_rate
    # The push at the contact must drive the roller in the sense in which it turns on its pin.
    spin = roller_turn - rocker_turn
    angle = -np.sign(spin) * atan(slot.roller_pin.arm / plan.roller)
    c, s = cos(angle), sin(angle)
    n = here.normal
    tilted = np.array([c * n[0] - s * n[1], s * n[0] + c * n[1]])
    return Standing(slot, here, sense, tilted, slot.moment(here.psi, sense), psi_rate, spin)


def _cross(arm: Floats, force: Floats) -> float:
    return float(arm[0] * force[1] - arm[1] * force[0])


def _in_unit(slot: Slot, vector: Floats) -> Floats:
    mirrored = np.array([vector[0], -slot.plan.sigma * vector[1]])
    c, s = cos(slot.bearing), sin(slot.bearing)
    return np.array([c * mirrored[0] - s * mirrored[1], s * mirrored[0] + c * mirrored[1]])


def rocker_pin_load(standing: Standing, push: float) -> float:
    """What the rocker's pin holds: the cam's push and the load's."""
    psi = standing.contact.psi
    ahead = np.array([sin(psi), cos(psi)])
    load_force = standing.slot.load_force(psi, standing.moment)
    return float(np.hypot(*(push * standing.tilted - load_force * ahead)))


def _rocker_rest(standing: Standing, push: float) -> float:
    """The moment left over on the rocker about its pin, counter-clockwise."""
    slot = standing.slot
    pivot = np.array([slot.plan.distance, 0.0])
    friction = standing.rocker_sense * slot.rocker_pin.arm * rocker_pin_load(standing, push)
    return _cross(standing.contact.point - pivot, push * standing.tilted) + standing.moment + friction


def lever_pin_load(lever: Lever, theta: float, stands: list[Standing], pushes: Floats, force: float) -> float:
    """What the lever's pin holds: the finger's force and the rollers' pushes, in the unit's frame."""
    eta = lever.rest_angle - theta
    held = force * np.array([sin(eta), -cos(eta)])
    for standing, push in zip(stands, pushes, strict=True):
        held = held + _in_unit(standing.slot, -push * standing.tilted)
    return float(np.hypot(*held))


def _lever_rest(lever: Lever, theta: float, stands: list[Standing], pushes: Floats, force: float) -> float:
    """The moment left over on the lever about its pin before that pin's friction, in the sense of the pull."""
    left = force * lever.pad_radius - lever.spring_torque - lever.spring_rate * theta
    for standing, push in zip(stands, pushes, strict=True):
        left += standing.slot.plan.sigma * _cross(standing.contact.point, -push * standing.tilted)
    return left


@dataclass(frozen=True, slots=True)
class Balance:
    """One station of one branch: the finger's force and the force at each contact, slot by slot."""

    force: float
    contact: Floats


def balance(lever: Lever, theta: float, way: int) -> Balance:
    """Rest for every rocker and the lever while it is pulled (+1), let out (-1), or free of friction (0)."""
    stands = [stand(slot, theta, way) for slot in lever.slots]
    guess = np.array([*map(_first_push, stands), 1.0])
    size = np.maximum(np.abs(guess), 1.0)

    def rests(unknown: Floats) -> Floats:
        pushes, force = unknown[:-1] * size[:-1], float(unknown[-1] * size[-1])
        pin = way * lever.pin.arm * lever_pin_load(lever, theta, stands, pushes, force)
        return np.array(
            [
                *map(_rocker_rest, stands, pushes),
                _lever_rest(lever, theta, stands, pushes, force) - pin,
            ]
        )

    found = root(rests, guess / size, tol=1e-12)
    worst = float(np.abs(rests(found.x)).max())
    if worst > 1e-7:
        raise ArithmeticError(f"no equilibrium at {theta:.6f} rad, way {way}: {worst:.3g} N m left")
    return Balance(float(found.x[-1] * size[-1]), found.x[:-1] * size[:-1])


def road_friction(lever: Lever, theta: float, way: int) -> float:
    """The finger's force at one station of the pull (+1) or the release (-1) branch."""
    return balance(lever, theta, way).force


def _first_push(standing: Standing) -> float:
    """The contact force that would hold the load if the rocker's pin had no friction."""
    pivot = np.array([standing.slot.plan.distance, 0.0])
    return -standing.moment / _cross(standing.contact.point - pivot, standing.tilted)
