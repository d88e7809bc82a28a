"""From a wanted feel to a law: without friction the finger's work is the energy that the load takes."""

from collections.abc import Callable

import numpy as np

from pullcurve.mechanics.curve import FloatArray, invert


def stroke_from_work(
    work: FloatArray, energy: Callable[[FloatArray], tuple[FloatArray, FloatArray]], strokes: FloatArray
) -> FloatArray:
    """Stroke that a load has made when the finger has done a given work.

    x(s) = U^-1(E(s)),  E(s) = int_0^s F ds,  U(x) = int_0^x F_p dx.

    Parameters
    ----------
    work : FloatArray
        Work done by the finger, E, shape (S,) [J].
    energy : callable
        Energy stored by the load and its derivative (the force) at a stroke: U(x) and dU/dx [J, N].
    strokes : FloatArray
        Strokes that bracket the answer, increasing, shape (K,) [m].

    Returns
    -------
    FloatArray
        Stroke x, shape (S,) [m]; NaN for work below the energy of the first bracket.

    Source
    ------
    Conservation of energy; worked cases of the fusee and the preloaded spring (computed).
    """
    return invert(energy, strokes, np.asarray(work, dtype=np.float64))


def ratio_from_force(force: FloatArray, load: FloatArray) -> FloatArray:
    """Stroke per finger travel that gives a finger force against a load.

    x' = F/F_p, from F ds = F_p dx.

    Parameters
    ----------
    force : FloatArray
        Wanted finger force, F, shape (S,) [N].
    load : FloatArray
        Force of the load at the stroke reached, F_p, shape (S,) [N].

    Returns
    -------
    FloatArray
        x', shape (S,) [-]; inf where the load asks for nothing, so the start must be prescribed as a ratio.

    Source
    ------
    Virtual work (identity).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(load > 0.0, force / load, np.inf))


def released_travel(work: FloatArray, preload: float, rate: float) -> FloatArray:
    """Travel by which a loaded spring must be let down to give back a given work.

    q_0 - q = q_0 - sqrt(q_0^2 - 2 W/k), q_0 = P/k.

    Parameters
    ----------
    work : FloatArray
        Work given back, W, shape (S,) [J].
    preload : float
        Force before it is let down, P [N].
    rate : float
        Rate, k [N/m].

    Returns
    -------
    FloatArray
        Travel let down, shape (S,) [m]; NaN for more work than the spring holds.

    Source
    ------
    Energy of a linear spring (identity); worked case with a constant assist torque (computed).
    """
    loaded = preload / rate
    under = loaded**2 - 2.0 * np.asarray(work, dtype=np.float64) / rate
    return np.asarray(loaded - np.sqrt(np.where(under >= 0.0, under, np.nan)))
