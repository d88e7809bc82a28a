"""Draw a cam for a feel: from a wanted force over travel, or from the trade's own numbers, to a law that can be cut."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from pullcurve.errors import Impossible
from pullcurve.mechanics.curve import Curve, FloatArray, evaluate
from pullcurve.mechanics.law import law
from pullcurve.mechanics.spline import spline_curve
from pullcurve.parts.job import Job
from pullcurve.pull.loop import LeverPull
from pullcurve.studies.board import FINE, FINEST, LAST, ROUGH, Board, Grain, Look, Wanted, board_of
from pullcurve.studies.descent import Values, descend
from pullcurve.studies.findings import told
from pullcurve.studies.starts import reference, starts

__all__ = ["Drawn", "Wanted", "at_reach", "draw"]

SCALE = 0.01
"""What one unit of the search is in rocker angle [rad]."""

UNEVEN, APART = 0.02, 0.005
"""Weights of third differences of the coefficients and of their distance from the reference, against felt steps."""

LOOSER = 0.1
"""Share of these weights where points say what the law is to be."""

SPARE = 2.0e-3
"""Margin that the search keeps from every limit, for what lies between the stations."""

USED_UP = 1.0e-2
"""Margin below which a limit is called binding."""

EXACT, CLOSE = 0.05, 0.25
"""Felt steps within which a wish is met so well that room is left where it is, and that no other start is tried."""

AGREED = 1.05
"""Ratio of what two starts leave of the wish within which they are taken to have found the same."""

SHARED_END = "the end point that the set shares"


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawn law: its curve, what is left between feel and wish [felt steps], and the limits that bind.

    ``theta`` and ``psi`` (S,) are the law at even lever angles from rest [rad]; ``left`` names every wish and point.
    """

    kind: str
    reach: float
    curve: Curve
    theta: FloatArray
    psi: FloatArray
    left: tuple[tuple[str, float], ...]
    binding: tuple[str, ...]
    pulled: LeverPull
    rounds: int
    wanted: Wanted

    @property
    def worst(self) -> float:
        """Largest distance from what was wanted [felt steps]."""
        return max((abs(steps) for _, steps in self.left), default=0.0)

    @property
    def met(self) -> bool:
        """Whether nothing is missed by as much as a finger can feel."""
        return self.worst <= 1.0


@dataclass(frozen=True, slots=True)
class _Try:
    """What one start led to."""

    coefficients: FloatArray
    look: Look
    rounds: int

    @property
    def broken(self) -> float:
        """By how much the worst limit is broken, 0 where all are kept."""
        return max(0.0, -min(kept.least for kept in self.look.limits))

    def within(self, steps: float) -> bool:
        """Whether every limit is kept, and every wish within so many felt steps."""
        return self.broken == 0.0 and float(np.max(np.abs(self.look.missed), initial=0.0)) <= steps


def draw(
    job: Job, kind: str, wanted: Wanted, start: Curve | None = None, *, reaches: tuple[float, ...] = ()
) -> Drawn:
    """Draw the cam that drives brake, clutch or assist for a wanted feel, with friction on and every limit kept.

    ``reaches`` [rad] is where the lever is to rest, the one that the feel is judged at first; limits are kept at all of
    them. Where the wish cannot be met, the answer is the nearest feel that can, with the limits that bind. Raises
    Impossible when not even a law that keeps every limit is found.
    """
    board = board_of(job, kind, wanted, reaches)
    best = _best(board, start)
    if best.broken:
        lacking = min(best.look.limits, key=lambda kept: kept.least).lacking
        raise Impossible(f"no {kind} cam was found that keeps every limit; the nearest breaks {lacking}")
    return _drawn(board, board.curve(best.coefficients), best.look, best.rounds)


def at_reach(job: Job, drawn: Drawn, reach: float) -> Drawn:
    """The same cam clocked for a lever that rests elsewhere [rad]: its law, felt and judged from there.

    Raises Impossible where it breaks a limit there: one that is drawn for a reach keeps them.
    """
    board = board_of(job, drawn.kind, drawn.wanted, (reach,))
    look = board.look_at(drawn.curve, LAST)
    worst = min(look.limits, key=lambda kept: kept.least)
    if worst.least < 0.0:
        at = told(reach, "deg", 1)
        raise Impossible(f"the {drawn.kind} cam drawn for other reaches breaks, at {at}, {worst.lacking}")
    return _drawn(board, drawn.curve, look, drawn.rounds)


def _best(board: Board, start: Curve | None) -> _Try:
    """The first start that leads to the wish, or else the best; two that lead to the same feel are believed.

    The likeliest start is first tried with room to every limit.
    """
    near, weights = reference(board), board.weights
    first, *others = starts(board, near, start)
    roomy = _searched(board, first(), near, roomy=True)
    tries = [roomy]

    def rank(known: _Try) -> tuple[float, float]:
        return known.broken, float(np.sum((known.look.missed * weights) ** 2))

    if not roomy.within(EXACT):
        for begin in (lambda: roomy.coefficients, *others):
            tries.append(_searched(board, begin(), near))
            best, *worse = sorted(tries[1:], key=rank)
            agreed = bool(worse) and not worse[0].broken and rank(worse[0])[1] <= AGREED * rank(best)[1]
            if best.within(CLOSE) or agreed:
                break
    return replace(min(tries, key=rank), rounds=sum(known.rounds for known in tries))


def _searched(board: Board, start: FloatArray, near: FloatArray, roomy: bool = False) -> _Try:
    """Least squares over what the fixed points leave free; finely where a rough look has missed a limit."""
    rows, fixed = _fixed(board)
    begin = start + np.linalg.pinv(rows) @ (fixed - rows @ start)
    ways = np.linalg.svd(rows)[2][len(rows) :]
    weights, plain = board.weights[board.plain], board.plain
    firm = LOOSER if board.wanted.travel.size else 1.0

    def measured(moved: FloatArray, grain: Grain) -> Values:
        coefficients = begin + SCALE * moved @ ways
        look, apart = board.look(coefficients, grain), firm * (coefficients - near) / SCALE
        small = [look.missed[..., plain] * weights, UNEVEN * np.diff(apart, n=3, axis=-1), APART * apart]
        return Values(np.concatenate(small, axis=-1), look.climbs, look.margins(roomy) - SPARE)

    at, rounds = np.zeros(len(ways)), 0
    for grain in (ROUGH,) if roomy else (ROUGH, FINE, FINEST):
        found = descend(partial(measured, grain=grain), at)
        at, rounds = found.place.at, rounds + found.rounds
        coefficients = begin + SCALE * at @ ways
        done = _Try(coefficients, board.look(coefficients, LAST), rounds)
        if not done.broken:
            break
    return done


def _fixed(board: Board) -> tuple[FloatArray, FloatArray]:
    """Rows of the basis and rocker angles where the law stands fast: at rest, at the end that a set shares."""
    at = [0.0, board.end] if board.wanted.keep_end else [0.0]
    angles = [float(board.rocker.rest_angle), float(evaluate(board.rocker.law, np.array([board.end]))[0][0])]
    basis = evaluate(spline_curve(board.basis, np.eye(board.basis.count)), np.array(at))[0].T
    return basis, np.array(angles[: len(at)])


def _drawn(board: Board, curve: Curve, look: Look, rounds: int) -> Drawn:
    """The answer, with what is left and what binds."""
    theta = np.linspace(0.0, board.theta[-1], 121)
    left = tuple(zip(board.names, (float(step) for step in look.missed), strict=True))
    binding = [kept.name for kept in look.limits if kept.least <= USED_UP]
    if board.wanted.keep_end and np.max(np.abs(look.missed), initial=0.0) > CLOSE:
        binding.append(SHARED_END)
    return Drawn(
        kind=board.kind,
        reach=float(np.ravel(board.levers[0].reach)[0]),
        curve=curve,
        theta=theta,
        psi=law(curve, theta).psi,
        left=left,
        binding=tuple(dict.fromkeys(binding)),
        pulled=look.pulled,
        rounds=rounds,
        wanted=board.wanted,
    )
