"""Laws to start a drawing from: the energy solution where a pull is wanted, what is fitted, what the rack has."""

from collections.abc import Callable, Iterator

import numpy as np

from pullcurve.mechanics.curve import Curve, FloatArray, evaluate, hermite, integral
from pullcurve.mechanics.law import law
from pullcurve.mechanics.spline import fit_coefficients
from pullcurve.mechanics.synthesis import ratio_from_force, released_travel, stroke_from_work
from pullcurve.parts.cams import Rack
from pullcurve.pull.arrays import AssistSpring, Lever, Rocker
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.plate import rocker_of
from pullcurve.pull.solve import load_state
from pullcurve.studies.board import ROUGH, Board

FRICTION_SHARE = 0.12
"""Share of the finger's work that friction takes, for the start only."""

BITE_SHARE = 0.1
"""Share of its greatest torque from which on a load takes energy enough to steer by it."""

LEAST_TORQUE = 0.05
"""Share of the mean torque below which the start is not let: a wish may ask for less than friction takes."""

STORE = 0.95
"""Share of an assist spring's energy that the start lets down at most."""

TURN = 1.2
"""Rocker turn over which the energy of a load is tabled [rad]."""

ENTRIES = 400
ROWS = 256
"""Cams of a rack that are pulled in one stack."""


def reference(board: Board) -> FloatArray:
    """Coefficients of the law that a drawn one is to stay near: the wanted pull's own, or the fitted law."""
    return energy_law(board) if board.wanted.travel.size > 1 else board.coefficients(board.rocker.law)


Start = Callable[[], FloatArray]
"""Coefficients, found when they are asked for."""


def starts(board: Board, near: FloatArray, start: Curve | None) -> Iterator[Start]:
    """Laws to start from, likeliest first: a known law, the reference, what is fitted, the rack's nearest."""
    if start is not None:
        yield lambda: board.coefficients(start)
    yield lambda: near
    if board.wanted.travel.size > 1:
        yield lambda: board.coefficients(board.rocker.law)
    rack = board.job.rack
    if rack is not None and getattr(rack, f"{board.kind}_cams"):
        yield lambda: _nearest_of_rack(board, rack)


def _nearest_of_rack(board: Board, rack: Rack) -> FloatArray:
    """The cam of the rack whose pull comes nearest to what is wanted, whatever its reach."""
    fitted = getattr(board.job.fitted, board.kind)
    cams = getattr(rack, f"{board.kind}_cams")
    laws = tuple(dict.fromkeys(cam.model_copy(update={"reach_deg": fitted.reach_deg}) for cam in cams))
    row, _ = rocker_of(board.job, board.kind)
    choice = Choice(**{board.kind: laws})  # type: ignore[arg-type]
    rocker = mechanism(board.job, choice).levers[row].rocker(board.kind)
    assert rocker is not None
    known = np.atleast_2d(board.coefficients(rocker.law))
    misses = [
        board.look(known[first : first + ROWS], ROUGH).missed * board.weights
        for first in range(0, len(known), ROWS)
    ]
    return np.asarray(known[int(np.argmin(np.sum(np.concatenate(misses) ** 2, axis=-1)))])


# The energy solution ----------------------------------------------------------------------------------------------


def energy_law(board: Board) -> FloatArray:
    """Coefficients of the law that would give the wanted points if friction took the same share everywhere."""
    theta = np.linspace(0.0, board.theta[-1], ENTRIES)
    lever, radius = board.levers[0], float(board.levers[0].finger_radius)
    force = np.interp(radius * theta, board.wanted.travel, board.wanted.force)
    torque = force * radius * (1.0 - FRICTION_SHARE) - _others(lever, board.kind, theta)
    load = board.rocker.load
    psi = (
        _let_down(board.rocker, load, theta, -torque)
        if isinstance(load, AssistSpring)
        else _pushed(board, theta, torque)
    )
    return fit_coefficients(board.basis, theta, psi)


def _others(lever: Lever, kind: str, theta: FloatArray) -> FloatArray:
    """Torque that everything on the lever but one cam asks of it, without friction, (S,) [N m]."""
    torque = lever.spring_torque + lever.spring_rate * theta
    for rocker in lever.rockers:
        if rocker.drives != kind:
            state = law(rocker.law, theta)
            torque = torque + np.maximum(load_state(rocker, state.psi).moment, 0.0) * state.dpsi
    return np.asarray(torque)


def _work(theta: FloatArray, torque: FloatArray) -> FloatArray:
    """Work of a torque, (S,) [J]."""
    return np.concatenate([[0.0], np.cumsum((torque[1:] + torque[:-1]) / 2.0 * np.diff(theta))])


def _let_down(rocker: Rocker, load: AssistSpring, theta: FloatArray, given: FloatArray) -> FloatArray:
    """Rocker angles of an assist that gives back a torque."""
    preload, rate = float(np.ravel(load.preload)[0]), float(load.rate)
    store = preload**2 / rate / 2.0
    work = np.minimum(_work(theta, np.maximum(given, 0.0)), STORE * store)
    arm = 1.0 if load.torsion else float(rocker.load_arm)
    return np.asarray(rocker.rest_angle - released_travel(work, preload, rate) / arm)


def _pushed(board: Board, theta: FloatArray, torque: FloatArray) -> FloatArray:
    """Rocker angles of a cam that takes a torque: by ratio up to the bite, by energy from there, force continuous."""
    rocker = board.rocker
    psi = float(rocker.rest_angle) + np.linspace(0.0, TURN, ENTRIES)
    moment = np.maximum(load_state(rocker, psi).moment, 0.0)
    psi, moment = psi[np.isfinite(moment)], moment[np.isfinite(moment)]
    asked = np.interp(evaluate(rocker.law, theta)[0], psi, moment)
    bite = max(int(np.argmax(asked > BITE_SHARE * asked[-1])), 1)
    at = float(evaluate(rocker.law, theta[bite : bite + 1])[0][0])
    table = Curve(psi, np.stack([moment[:-1], np.diff(moment) / np.diff(psi)], axis=-1))
    before = integral(table, np.array([at]))
    useful = np.maximum(torque, LEAST_TORQUE * float(np.mean(np.abs(torque))))

    def energy(turned: FloatArray) -> tuple[FloatArray, FloatArray]:
        return integral(table, turned) - before, evaluate(table, turned)[0]

    knots = np.concatenate([[at], psi[psi > at]])
    late = stroke_from_work(_work(theta[bite:], useful[bite:]), energy, knots)
    ends, straight = theta[[0, bite]], (at - psi[0]) / theta[bite]
    joined = float(ratio_from_force(useful[bite : bite + 1], energy(np.array([at]))[1])[0])
    early = hermite(ends, np.array([psi[0], at]), np.array([straight, joined]), np.zeros(2))
    return np.concatenate([evaluate(early, theta[:bite])[0], late])
