"""Bounded least squares of residuals and of unknowns that have unit normal priors."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from pullcurve.mechanics.curve import FloatArray

STEP = 0.2
"""Half step of the slopes [standard deviations of the prior]: wide enough to see past the edge of a step."""

MOST_STEPS = 30
CLOSE, ROUGH = 2e-3, 1e-2
"""Relative change of values and of squares at which a search ends, and one that is only to come near [-]."""

INSIDE = 1e-3
"""How far inside its bounds a search begins [standard deviations of the prior]."""

REACH = 2.0
"""How far the first step of a search may go [standard deviations of the prior]."""

ASIDE = (1.0, 3.0)
FAR_ASIDE = (0.5, 1.5)
"""How far from a solution a better one is looked for [standard deviations after and before the readings]."""

BETTER = 0.2
"""What a place aside must gain in the logarithm of the probability to be searched on from [-]."""

MOST_LOOKS = 3
"""How many times a better solution is looked for."""

Bounds = tuple[FloatArray, FloatArray]

Residuals = Callable[[FloatArray], FloatArray]
"""Residuals in standard deviations for rows of guesses: (N, n) to (N, D)."""


@dataclass(frozen=True, slots=True)
class Best:
    """Most probable values in standard deviations of the prior (n,), residuals there (D,) and their slopes (D, n)."""

    z: FloatArray
    rest: FloatArray
    slopes: FloatArray

    @property
    def information(self) -> FloatArray:
        """Inverse of the covariance: what the readings tell and what the priors tell, (n, n)."""
        return np.asarray(self.slopes.T @ self.slopes + np.eye(self.z.size))

    @property
    def cost(self) -> float:
        """What is least at the most probable values: half the squares of residuals and of moves off the priors."""
        return 0.5 * float(self.rest @ self.rest + self.z @ self.z)

    @property
    def evidence(self) -> float:
        """Logarithm of the marginal likelihood by Laplace's method, less the constants of the readings."""
        return -self.cost - 0.5 * float(np.linalg.slogdet(self.information)[1])


def searched(
    off: Residuals, start: FloatArray, bounds: Bounds, looks: int = MOST_LOOKS, near: bool = False
) -> Best:
    """Most probable values, also where a step in the force hides them from the slopes.

    Where a plunger is met the force steps, and a search can come to rest on the wrong side of it. Every unknown is
    moved aside, the others follow as far as the readings tie them to it, and from what is better there the search
    goes on. A start that is ``near`` needs no rough search first.
    """
    best = most_probable(off, start, bounds) if near else _near_then_close(off, start, bounds)
    for _ in range(looks):
        aside = _aside(best, bounds)
        cost = 0.5 * (np.sum(off(aside) ** 2, axis=-1) + np.sum(aside**2, axis=-1))
        row = int(np.argmin(cost))
        if cost[row] > best.cost - BETTER:
            break
        other = most_probable(off, aside[row], bounds)
        if other.cost > best.cost:
            break
        best = other
    return best


def _near_then_close(off: Residuals, start: FloatArray, bounds: Bounds) -> Best:
    """Slopes to one side cost half and bring a search near; slopes to both sides end it and tell how sure it is."""
    near = most_probable(off, start, bounds, close=ROUGH, one_sided=True)
    return most_probable(off, near.z, bounds)


def _aside(best: Best, bounds: Bounds) -> FloatArray:
    """Guesses on both sides of a solution along every unknown, the others following it, (N, n)."""
    covariance = np.linalg.inv(best.information)
    width = np.sqrt(np.diag(covariance))
    ways = covariance / width**2
    moves = np.stack(
        [sign * far * width for far in ASIDE for sign in (1.0, -1.0)]
        + [np.full(width.size, sign * far) for far in FAR_ASIDE for sign in (1.0, -1.0)]
    )
    aside = best.z + (moves[:, None, :] * ways).transpose(0, 2, 1).reshape(-1, width.size)
    return np.asarray(np.clip(aside, *bounds))


def most_probable(
    off: Residuals,
    start: FloatArray,
    bounds: Bounds,
    steps: int = MOST_STEPS,
    step: float = STEP,
    close: float = CLOSE,
    one_sided: bool = False,
    reach: float = REACH,
) -> Best:
    """Least squares from one start; value and slopes come from one pass, all guesses that they need side by side."""
    begin = np.clip(start, bounds[0] + INSIDE, bounds[1] - INSIDE)
    # The first step of the search is as long as its variables are large: they are counted from beside the start.
    zero = begin - reach
    last: list[Best] = []

    def look(z: FloatArray) -> Best:
        if not last or not np.array_equal(last[-1].z, z):
            last.append(_one_side(off, z, bounds, step) if one_sided else _both_sides(off, z, bounds, step))
        return last[-1]

    def residuals(x: FloatArray) -> FloatArray:
        return np.concatenate([look(zero + x).rest, zero + x])

    def jacobian(x: FloatArray) -> FloatArray:
        return np.concatenate([look(zero + x).slopes, np.eye(x.size)])

    found = least_squares(
        residuals,
        begin - zero,
        jac=jacobian,
        bounds=(bounds[0] - zero, bounds[1] - zero),
        xtol=close,
        ftol=close,
        gtol=None,
        max_nfev=steps,
    )
    return look(np.clip(zero + found.x, *bounds))


def _both_sides(off: Residuals, z: FloatArray, bounds: Bounds, step: float) -> Best:
    """Residuals with slopes by central differences."""
    ends = np.clip(z + step * np.stack([-np.eye(z.size), np.eye(z.size)]), *bounds)
    seen = off(np.concatenate([z[None, :], *ends]))
    way = np.diagonal(ends[1] - ends[0])
    return Best(z.copy(), seen[0], (seen[1 + z.size :] - seen[1 : 1 + z.size]).T / way)


def _one_side(off: Residuals, z: FloatArray, bounds: Bounds, step: float) -> Best:
    """Residuals with slopes by differences to one side, the side that is inside the bounds."""
    aside = np.where(z + step > bounds[1], -step, step)
    seen = off(np.concatenate([z[None, :], z + np.diag(aside)]))
    return Best(z.copy(), seen[0], (seen[1:] - seen[0]).T / aside)
