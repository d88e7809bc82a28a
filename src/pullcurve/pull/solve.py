"""Arrays in, both branches out: the pull of one lever at any lever angles."""

from dataclasses import dataclass, fields, replace
from typing import assert_never

import numpy as np

from pullcurve.mechanics import arms as statics
from pullcurve.mechanics import circuit, contact, curve, friction
from pullcurve.mechanics.arms import Heading
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import Law, law
from pullcurve.mechanics.springs import spring_force
from pullcurve.pull.arrays import (
    AssistSpring,
    BrakeLine,
    ClutchCable,
    ClutchLine,
    Lever,
    Plunger,
    Rocker,
    Wear,
)


@dataclass(frozen=True, slots=True)
class LoadState:
    """What a load asks of its rocker, each (..., S).

    ``moment`` is the torque without friction [N m], ``drag`` the torque of the seals [N m], ``wrap`` the friction
    exponent of a cable [-]. ``line_arm`` is the arm of plunger, cable or spring and ``stroke`` its travel [m];
    ``pressure`` [Pa] and ``lift`` [m] are NaN where they do not exist.
    """

    moment: FloatArray
    drag: FloatArray
    wrap: FloatArray
    line_arm: FloatArray
    stroke: FloatArray
    pressure: FloatArray
    lift: FloatArray


@dataclass(frozen=True, slots=True)
class Branch:
    """One way through the pull: which way friction works, and on how much of it."""

    way: float
    wear: Wear


@dataclass(frozen=True, slots=True)
class RockerCurves:
    """One rocker along the pull, each (..., S): law, pressure angle [rad], contact forces [N] and its load."""

    drives: str
    law: Law
    alpha: FloatArray
    contact: FloatArray
    contact_pull: FloatArray
    contact_release: FloatArray
    contact_worn: FloatArray
    load: LoadState


@dataclass(frozen=True, slots=True)
class LeverCurves:
    """One lever along the pull, each (..., S): angle [rad], finger travel and gap [m], finger forces [N]."""

    name: str
    theta: FloatArray
    travel: FloatArray
    gap: FloatArray
    force: FloatArray
    pull: FloatArray
    release: FloatArray
    release_worn: FloatArray
    rockers: tuple[RockerCurves, ...]

    def rocker(self, drives: str) -> RockerCurves | None:
        """Curves of the rocker that drives brake, clutch or assist, if this lever has one."""
        return next((rocker for rocker in self.rockers if rocker.drives == drives), None)


def gap(lever: Lever, theta: FloatArray) -> FloatArray:
    """Clear gap between lever and grip at the finger, (..., S) [m]."""
    blade = lever.rest_angle - lever.reach - theta
    return np.asarray(lever.pivot_offset + lever.finger_radius * np.sin(blade) - lever.grip_radius)


def travel_end(lever: Lever) -> FloatArray:
    """Lever angle where stop, grip or the fingers left on the grip end the pull, (..., 1) [rad]."""
    height = (lever.gap_floor + lever.grip_radius - lever.pivot_offset) / lever.finger_radius
    at_floor = lever.rest_angle - lever.reach - np.arcsin(np.clip(height, -1.0, 1.0))
    return np.atleast_1d(np.minimum(lever.stop - lever.reach, at_floor))


def stroke(rocker: Rocker, psi: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Travel of the load's line and its arm about the rocker pivot, (..., S) [m]."""
    turned = psi - rocker.rest_angle
    if rocker.pin_push:
        return rocker.load_arm * np.sin(turned), rocker.load_arm * np.cos(turned)
    return rocker.load_arm * turned, np.broadcast_to(rocker.load_arm, turned.shape)


def psi_at_stroke(rocker: Rocker, travel: FloatArray) -> FloatArray:
    """Rocker angle that gives a travel of the load's line, the inverse of ``stroke`` (..., S) [rad]."""
    share = travel / rocker.load_arm
    return np.asarray(
        rocker.rest_angle + (np.arcsin(np.clip(share, -1.0, 1.0)) if rocker.pin_push else share)
    )


def _plunger_forces(
    plunger: Plunger, travel: FloatArray, pressure: FloatArray, line_drag: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Force of a plunger on its rocker without friction, and the drag of the seals."""
    moved = np.maximum(travel - plunger.rest_gap, 0.0)
    touched = travel >= plunger.rest_gap
    force = plunger.spring + plunger.spring_rate * moved + pressure * plunger.area
    drag = friction.seal_drag(plunger.seal, plunger.seal_share, pressure, plunger.area) + line_drag
    return np.where(touched, force, 0.0), np.where(touched, drag, 0.0)


def _pushed_volume(plunger: Plunger, travel: FloatArray) -> FloatArray:
    """Volume that a plunger has moved since its port shut."""
    return np.asarray(plunger.area * np.maximum(travel - plunger.rest_gap - plunger.port, 0.0))


def _brake_state(load: BrakeLine, rocker: Rocker, psi: FloatArray) -> LoadState:
    travel, line_arm = stroke(rocker, psi)
    pressure = circuit.pressure(load.circuit, _pushed_volume(load.plunger, travel))
    force, drag = _plunger_forces(load.plunger, travel, pressure, np.zeros(()))
    moment = force * line_arm
    if load.foot is not None:
        trapped = load.foot.trapped_rate * (psi - rocker.rest_angle)
        moment = moment + trapped - load.foot.moment_per_force * load.foot.force
    return LoadState(
        moment, drag * line_arm, np.zeros(()), line_arm, travel, pressure, np.full(travel.shape, np.nan)
    )


def _clutch_state(load: ClutchLine, rocker: Rocker, psi: FloatArray) -> LoadState:
    travel, line_arm = stroke(rocker, psi)
    volume = _pushed_volume(load.plunger, travel)
    lift = circuit.plate_lift(volume, load.slave_area, load.release, load.compliance, load.lift_knots)
    pressure = curve.evaluate(load.release, lift)[0] / load.slave_area
    at_slave = friction.seal_drag(load.seal, load.seal_share, pressure, load.slave_area)
    force, drag = _plunger_forces(
        load.plunger, travel, pressure, at_slave * load.plunger.area / load.slave_area
    )
    return LoadState(force * line_arm, drag * line_arm, np.zeros(()), line_arm, travel, pressure, lift)


def cable_lift(load: ClutchCable, travel: FloatArray) -> FloatArray:
    """Plate lift for a travel of the lever's end of the cable, (..., S) [m]."""

    def along(lift: FloatArray) -> tuple[FloatArray, FloatArray]:
        force, rate, _ = curve.evaluate(load.release, lift)
        return (
            load.lift_ratio * lift + force / load.lift_ratio / load.stiffness,
            load.lift_ratio + rate / load.lift_ratio / load.stiffness,
        )

    return curve.invert(along, load.lift_knots, np.maximum(travel - load.free_play, 0.0))


def _cable_state(load: ClutchCable, rocker: Rocker, psi: FloatArray) -> LoadState:
    travel, line_arm = stroke(rocker, psi)
    lift = cable_lift(load, travel)
    tension = curve.evaluate(load.release, lift)[0] / load.lift_ratio
    none = np.full(travel.shape, np.nan)
    return LoadState(tension * line_arm, np.zeros(()), np.asarray(load.wrap), line_arm, travel, none, lift)


def _assist_state(load: AssistSpring, rocker: Rocker, psi: FloatArray) -> LoadState:
    let_down = rocker.rest_angle - psi
    none, zero = np.full(psi.shape, np.nan), np.zeros(())
    if load.torsion:
        moment = spring_force(load.preload, load.rate, let_down)
        return LoadState(moment, zero, zero, np.full(psi.shape, np.inf), none, none, none)
    line_arm = np.broadcast_to(np.asarray(rocker.load_arm, dtype=np.float64), psi.shape)
    moment = spring_force(load.preload, load.rate, line_arm * let_down) * line_arm
    return LoadState(moment, zero, zero, line_arm, -line_arm * let_down, none, none)


def load_state(rocker: Rocker, psi: FloatArray) -> LoadState:
    """What the rocker's load asks at given rocker angles."""
    load = rocker.load
    match load:
        case BrakeLine():
            return _brake_state(load, rocker, psi)
        case ClutchLine():
            return _clutch_state(load, rocker, psi)
        case ClutchCable():
            return _cable_state(load, rocker, psi)
        case AssistSpring():
            return _assist_state(load, rocker, psi)
        case _:
            assert_never(load)


def branch_moment(load: LoadState, branch: Branch) -> FloatArray:
    """Torque that a load asks of its rocker on one branch, never below zero: a roller can only be pushed, (..., S)."""
    dragged = load.moment + branch.way * branch.wear.seals * load.drag
    return np.maximum(dragged, 0.0) * np.exp(branch.way * branch.wear.cable * load.wrap)


@dataclass(frozen=True, slots=True)
class _Push:
    """Contact force on a roller, its torque on the lever and its components in the unit's frame."""

    contact: FloatArray
    torque: FloatArray
    along_grip: FloatArray
    from_grip: FloatArray


def _push(
    rocker: Rocker, state: Law, normal: Heading, speed: FloatArray, load: LoadState, branch: Branch
) -> _Push:
    """Statics of one rocker on one branch."""
    way = branch.way * branch.wear.pins
    tilt = np.arctan(way * np.tan(rocker.roller_tilt))
    sin_tilt = np.sin(tilt) * np.sign(speed)
    turned = statics.tilted(normal, sin_tilt, np.cos(tilt))
    arms = statics.arms_of(
        turned, sin_tilt, rocker.centre_distance, rocker.arm, rocker.roller_radius, rocker.sense
    )
    moment = branch_moment(load, branch)
    drag = way * rocker.pivot_drag * np.sign(state.dpsi)
    force = friction.pinned_force(arms.rocker, moment, moment / load.line_arm, turned.cos_alpha, drag)
    x, y = force * turned.across, force * (-rocker.sense * turned.along)
    cos_b, sin_b = np.cos(rocker.bearing), np.sin(rocker.bearing)
    return _Push(force, force * arms.lever, cos_b * x - sin_b * y, sin_b * x + cos_b * y)


def _finger_force(
    lever: Lever,
    spring: FloatArray,
    blade: tuple[FloatArray, FloatArray],
    pushes: list[_Push],
    branch: Branch,
) -> FloatArray:
    """Finger force of one branch from the return spring, sine and cosine of the blade and the pushes of all rockers."""
    torque = spring + sum(push.torque for push in pushes)
    x = np.asarray(sum(push.along_grip for push in pushes))
    y = np.asarray(sum(push.from_grip for push in pushes))
    along = x * blade[0] - y * blade[1]
    drag = np.asarray(branch.way * branch.wear.pins * lever.pin_drag)
    return friction.lever_force(torque, np.asarray(lever.finger_radius), along, x**2 + y**2, drag)


def solve(lever: Lever, theta: FloatArray, worn: Wear) -> LeverCurves:
    """Finger force at given lever angles: without friction, pull, release, and release when cold and worn; (..., S)."""
    branches = (Branch(0.0, Wear()), Branch(1.0, Wear()), Branch(-1.0, Wear()), Branch(-1.0, worn))
    curves: list[RockerCurves] = []
    by_branch: list[list[_Push]] = [[] for _ in branches]
    for rocker in lever.rockers:
        state = law(rocker.law, theta)
        alpha = contact.pressure_angle(
            state.psi, state.dpsi, rocker.centre_distance, rocker.arm, rocker.sense
        )
        load = load_state(rocker, state.psi)
        normal = statics.heading(state.psi, alpha)
        speed = statics.slide(
            normal, state.dpsi, rocker.centre_distance, rocker.arm, rocker.roller_radius, rocker.sense
        )
        pushes = [_push(rocker, state, normal, speed, load, branch) for branch in branches]
        for known, push in zip(by_branch, pushes, strict=True):
            known.append(push)
        free, pulled, released, worn_release = (push.contact for push in pushes)
        curves.append(RockerCurves(rocker.drives, state, alpha, free, pulled, released, worn_release, load))
    angle = np.asarray(lever.rest_angle - lever.reach - theta)
    blade = np.sin(angle), np.cos(angle)
    spring = np.asarray(lever.spring_torque + lever.spring_rate * theta)
    free, pulled, released, worn_release = (
        _finger_force(lever, spring, blade, pushes, branch)
        for branch, pushes in zip(branches, by_branch, strict=True)
    )
    travel = np.asarray(lever.finger_radius * theta)
    return LeverCurves(
        lever.name, theta, travel, gap(lever, theta), free, pulled, released, worn_release, tuple(curves)
    )


def part_of(curves: LeverCurves, columns: slice) -> LeverCurves:
    """The same curves at some of their stations only."""
    total = curves.theta.shape[-1]

    def cut(array: FloatArray) -> FloatArray:
        return array[..., columns] if array.ndim and array.shape[-1] == total else array

    def cut_rocker(known: RockerCurves) -> RockerCurves:
        law_part, load = known.law, known.load
        return replace(
            known,
            law=Law(cut(law_part.psi), cut(law_part.dpsi), cut(law_part.d2psi)),
            load=LoadState(*(cut(getattr(load, part.name)) for part in fields(load))),
            alpha=cut(known.alpha),
            contact=cut(known.contact),
            contact_pull=cut(known.contact_pull),
            contact_release=cut(known.contact_release),
            contact_worn=cut(known.contact_worn),
        )

    return LeverCurves(
        name=curves.name,
        theta=cut(curves.theta),
        travel=cut(curves.travel),
        gap=cut(curves.gap),
        force=cut(curves.force),
        pull=cut(curves.pull),
        release=cut(curves.release),
        release_worn=cut(curves.release_worn),
        rockers=tuple(cut_rocker(known) for known in curves.rockers),
    )
