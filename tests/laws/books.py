"""The books of energy and of friction, kept by hand: what loads store and what pins, rollers and seals eat.

Nothing here calls the mechanics: loads in plain formulas of one number, integrals by quadrature.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise
from math import exp

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import PPoly
from scipy.optimize import brentq

from pullcurve.mechanics.circuit import Circuit
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.pull.arrays import AssistSpring, BrakeLine, ClutchCable, ClutchLine, Lever, Plunger, Rocker
from pullcurve.pull.solve import LeverCurves, RockerCurves

AMBIENT = 101_325.0
PANELS, NODES = 60, np.polynomial.legendre.leggauss(8)


def polynomial(curve: Curve) -> PPoly:
    """A single curve in another library."""
    return PPoly(curve.coefficients.T[::-1], curve.breaks)


def swallowed(line: Circuit, p: float) -> float:
    """Volume that a line takes up at a pressure."""
    gap = float(line.gap_volume) * (1 - exp(-p / float(line.gap_pressure)))
    seat = float(line.seat_volume) * (1 - exp(-p / float(line.seat_pressure)))
    air = float(line.air_volume) * (1 - (AMBIENT / (p + AMBIENT)) ** (1 / float(line.air_exponent)))
    stiff = float(line.expansion) + float(line.fluid_volume) / float(line.bulk_modulus)
    return float(gap + seat + air + stiff * p)


def line_energy(line: Circuit, p: float) -> float:
    """int p dV = p V - int V dp: no derivative needed."""
    knees = [k for k in np.geomspace(1e3, 1e7, 20) if k < p]
    area, _ = quad(
        lambda x: swallowed(line, x), 0.0, p, points=knees or None, limit=200, epsabs=0, epsrel=1e-11
    )
    return p * swallowed(line, p) - float(area)


def plunger_energy(plunger: Plunger, travel: float) -> float:
    """Return spring of a plunger."""
    moved = max(0.0, travel - float(plunger.rest_gap))
    return float(plunger.spring) * moved + float(plunger.spring_rate) * moved**2 / 2


def pushed(plunger: Plunger, travel: float) -> float:
    """Volume past the shut port."""
    return float(plunger.area) * max(0.0, travel - float(plunger.rest_gap) - float(plunger.port))


def root(function: Callable[[float], float], most: float) -> float:
    """Where an increasing function passes through zero."""
    return float(brentq(function, 0.0, most, xtol=1e-300, rtol=1e-14))


def brake_stored(load: BrakeLine, travel: float, turned: float) -> float:
    """Line, plunger spring and trapped fluid."""
    volume = pushed(load.plunger, travel)
    p = root(lambda x: swallowed(load.circuit, x) - volume, 1e9)
    trapped = float(load.foot.trapped_rate) * turned**2 / 2 if load.foot else 0.0
    return line_energy(load.circuit, p) + plunger_energy(load.plunger, travel) + trapped


def springs_energy(release: PPoly, lift: float) -> float:
    """Work done on the clutch springs, pack deducted."""
    return float(release.integrate(0.0, lift)) if lift > 0 else 0.0


def clutch_stored(load: ClutchLine, travel: float) -> float:
    """Clutch springs, line and plunger spring."""
    release, area, volume = polynomial(load.release), float(load.slave_area), pushed(load.plunger, travel)

    def left(lift: float) -> float:
        return area * lift + swallowed(load.compliance, float(release(lift)) / area) - volume

    lift = root(left, float(load.release.breaks[-1]))
    line = line_energy(load.compliance, float(release(lift)) / area)
    return springs_energy(release, lift) + line + plunger_energy(load.plunger, travel)


def cable_stored(load: ClutchCable, travel: float) -> float:
    """Clutch springs and the stretched cable."""
    release, ratio, stiff = polynomial(load.release), float(load.lift_ratio), float(load.stiffness)
    way = max(0.0, travel - float(load.free_play))
    lift = root(lambda s: ratio * s + float(release(s)) / ratio / stiff - way, float(load.release.breaks[-1]))
    tension = float(release(lift)) / ratio
    return springs_energy(release, lift) + tension**2 / (2 * stiff)


def spring_stored(load: AssistSpring, let_down: float) -> float:
    """Energy that a spring has given back, negative; it comes off its seat where its force ends."""
    seated = min(let_down, float(load.preload) / float(load.rate))
    return -(float(load.preload) * seated - float(load.rate) * seated**2 / 2)


def stored(rocker: Rocker, psi: float) -> float:
    """Energy that a rocker's load has taken between rest and an angle of the rocker."""
    turned, arm = psi - float(rocker.rest_angle), float(rocker.load_arm)
    travel = arm * float(np.sin(turned)) if rocker.pin_push else arm * turned
    match rocker.load:
        case BrakeLine():
            return brake_stored(rocker.load, travel, turned)
        case ClutchLine():
            return clutch_stored(rocker.load, travel)
        case ClutchCable():
            return cable_stored(rocker.load, travel)
        case AssistSpring():
            return spring_stored(rocker.load, -turned if rocker.load.torsion else -travel)


def lever_stored(lever: Lever, theta: float) -> float:
    """Energy in everything that a lever moves, its own spring included."""
    own = float(lever.spring_torque) * theta + float(lever.spring_rate) * theta**2 / 2
    return own + sum(stored(rocker, float(polynomial(rocker.law)(theta))) for rocker in lever.rockers)


def joints(lever: Lever, end: float) -> FloatArray:
    """Lever angles where a force jumps or has a kink, rest and end: quadrature goes from one to the next."""
    found = {0.0, end}
    for rocker in lever.rockers:
        law, load = polynomial(rocker.law), rocker.load
        found |= {float(place) for place in rocker.law.breaks}
        match load:
            case BrakeLine() | ClutchLine():
                ways = [float(load.plunger.rest_gap), float(load.plunger.rest_gap) + float(load.plunger.port)]
            case ClutchCable():
                ways = [float(load.free_play)]
            case AssistSpring():
                ways = []
        found |= {angle_at(rocker, law, way) for way in ways}
    return np.array(sorted(place for place in found if 0.0 <= place <= end))


def angle_at(rocker: Rocker, law: PPoly, way: float) -> float:
    """Lever angle at which a load's line has gone a way."""
    turned = np.arcsin(way / rocker.load_arm) if rocker.pin_push else way / rocker.load_arm
    return float(brentq(lambda x: float(law(x) - rocker.rest_angle - turned), 0.0, 1.0, xtol=1e-15))


def nodes(lever: Lever, end: float) -> tuple[FloatArray, FloatArray]:
    """Stations and weights of a Gauss-Legendre rule over the whole pull."""
    edges = joints(lever, end)
    fine = np.unique(np.concatenate([np.linspace(a, b, PANELS + 1) for a, b in pairwise(edges)]))
    middle, half = (fine[1:] + fine[:-1]) / 2, np.diff(fine) / 2
    places, weights = NODES
    return (middle[:, None] + half[:, None] * places).ravel(), (half[:, None] * weights).ravel()


# Friction ----------------------------------------------------------------------------------------------------------


def eaten(lever: Lever, curves: LeverCurves, way: int) -> FloatArray:
    """Friction work per lever angle on the pull (+1) or the release (-1), from forces as vectors."""
    finger = curves.pull if way > 0 else curves.release
    blade = float(lever.rest_angle) - float(lever.reach) - curves.theta
    x, y = finger * np.sin(blade), -finger * np.cos(blade)
    lost = np.zeros(curves.theta.size)
    for rocker, along in zip(lever.rockers, curves.rockers, strict=True):
        for part in rocker_losses(rocker, along, way):
            lost += part
        push_x, push_y = roller_push(rocker, along, way)
        x, y = x - push_x, y - push_y
    return np.asarray(lost + float(lever.pin_drag) * np.hypot(x, y))


def slide(rocker: Rocker, along: RockerCurves) -> FloatArray:
    """Speed of the cam past the rocker at the contact, per lever speed, by velocities of both as vectors."""
    c, _, tangent = contact_frame(rocker, along)
    a, sigma = float(rocker.centre_distance), float(rocker.sense)
    cam = sigma * np.stack([-c[1], c[0]])
    arm = along.law.dpsi * np.stack([c[1], a - c[0]])
    return np.asarray(np.sum((cam - arm) * tangent, axis=0))


def contact_frame(rocker: Rocker, along: RockerCurves) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Contact point, normal and tangent in the rocker's own frame, lever pivot at the origin."""
    psi, a, l = along.law.psi, float(rocker.centre_distance), float(rocker.arm)
    lean = psi - along.alpha
    normal = np.stack([np.sin(lean), np.cos(lean)])
    tangent = np.stack([-np.cos(lean), np.sin(lean)])
    centre = np.stack([a - l * np.cos(psi), l * np.sin(psi)])
    return centre - float(rocker.roller_radius) * normal, normal, tangent


def leaning(rocker: Rocker, along: RockerCurves, way: int) -> FloatArray:
    """Contact force as a vector in the rocker's own frame."""
    _, normal, tangent = contact_frame(rocker, along)
    # The cam drags the roller along with it on the pull, and against its own motion on the release.
    tilt = way * float(rocker.roller_tilt) * np.sign(slide(rocker, along))
    force = along.contact_pull if way > 0 else along.contact_release
    return np.asarray(force * (np.cos(tilt) * normal + np.sin(tilt) * tangent))


def rocker_losses(rocker: Rocker, along: RockerCurves, way: int) -> Iterator[FloatArray]:
    """Roller pin, rocker pin, seals and cable, each per lever angle."""
    force, load = leaning(rocker, along, way), along.load
    turn = np.abs(along.law.dpsi)
    size = np.hypot(*force)
    yield size * np.sin(float(rocker.roller_tilt)) * np.abs(slide(rocker, along))
    moment = (load.moment + way * load.drag) * np.exp(way * load.wrap)
    u = np.stack([np.sin(along.law.psi), np.cos(along.law.psi)])
    pin = np.hypot(*(force - moment / load.line_arm * u))
    yield float(rocker.pivot_drag) * pin * turn
    yield np.abs(moment - load.moment) * turn


def roller_push(rocker: Rocker, along: RockerCurves, way: int) -> FloatArray:
    """Contact force on the roller in the unit's frame: x along the grip, y away from it.

    A lever is pulled clockwise there; a cam with sigma = +1 turns anticlockwise in its rocker's own frame, which is
    therefore seen from behind.
    """
    x, y = leaning(rocker, along, way)
    y = -float(rocker.sense) * y
    c, s = np.cos(float(rocker.bearing)), np.sin(float(rocker.bearing))
    return np.stack([c * x - s * y, s * x + c * y])
