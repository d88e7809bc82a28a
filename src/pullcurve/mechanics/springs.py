"""Coil springs: the assist spring as its rocker meets it, and compression and torsion springs as wound."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

BUCKLING_STEEL = 2.63
"""Absolute stability of steel coils: L_0 < 2.63 D/alpha [-] (Jindal 8-7, read as 5.26 for alpha = 0.5)."""

TORSION_THEORY, TORSION_FITTED = 64.0 / (2.0 * np.pi), 10.8
"""Factor of the rate per turn: bending alone; with friction of the coils, fitted by test [-] (Shigley)."""


def spring_force(preload: Number, rate: Number, released: Number) -> FloatArray:
    """Force (or torque) of a loaded spring after it was let down.

    F = P - k x, and 0 once the spring has come off its seat.

    Parameters
    ----------
    preload : float or FloatArray
        Force before it is let down, P, shape (...) [N]; of a torsion spring its torque [N m].
    rate : float or FloatArray
        Rate, k, broadcastable [N/m]; of a torsion spring [N m/rad].
    released : float or FloatArray
        Travel that it was let down, x, negative where it was loaded further, shape (..., S) [m]; of a torsion
        spring [rad].

    Returns
    -------
    FloatArray
        F, shape (..., S) [N] or [N m].

    Source
    ------
    Hooke's law; a seat can only be pushed (identity).
    """
    return np.maximum(preload - rate * np.asarray(released, dtype=np.float64), 0.0)


def released_energy(preload: Number, rate: Number, released: Number) -> FloatArray:
    """Energy that a loaded spring has given back after it was let down.

    U = P x - k x^2/2 up to x = P/k, where the spring comes off its seat, and no more from there on.

    Parameters
    ----------
    preload : float or FloatArray
        Force before it is let down, P, shape (...) [N]; of a torsion spring its torque [N m].
    rate : float or FloatArray
        Rate, k, 0 for a steady force, broadcastable [N/m]; of a torsion spring [N m/rad].
    released : float or FloatArray
        Travel that it was let down, x, shape (..., S) [m]; of a torsion spring [rad].

    Returns
    -------
    FloatArray
        U, shape (..., S) [J].

    Source
    ------
    Integral of ``spring_force`` (identity).
    """
    rate = np.asarray(rate, dtype=np.float64)
    slack = np.where(rate > 0.0, preload / np.where(rate > 0.0, rate, 1.0), np.inf)
    seated = np.minimum(released, slack)
    return np.asarray(preload * seated - rate * seated**2 / 2.0)


def compression_rate(
    shear_modulus: Number,
    wire_diameter: Number,
    mean_diameter: Number,
    active_turns: Number,
    direct_shear: bool = False,
) -> FloatArray:
    """Rate of a compression spring of round wire.

    k = G d^4 / (8 D^3 N), with direct shear divided by 1 + 1/(2 C^2), C = D/d: 0.8 % less at C = 8.

    Parameters
    ----------
    shear_modulus : float or FloatArray
        Shear modulus of the wire, G, shape (...) [Pa].
    wire_diameter, mean_diameter : float or FloatArray
        Diameters of the wire, d, and of the coil's middle line, D, broadcastable [m].
    active_turns : float or FloatArray
        Turns that bend, N, broadcastable [-].
    direct_shear : bool
        Whether the direct shear of the wire counts, too [-].

    Returns
    -------
    FloatArray
        k, shape (...) [N/m].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10, by energy; the short form is the usual one.
    """
    index = np.asarray(mean_diameter, dtype=np.float64) / wire_diameter
    short = shear_modulus * wire_diameter / (8.0 * index**3 * active_turns)
    return np.asarray(short / (1.0 + 1.0 / (2.0 * index**2)) if direct_shear else short)


def free_length(wire_diameter: Number, total_turns: Number, travel: Number, clearance: Number) -> FloatArray:
    """Free length of a compression spring with squared and ground ends.

    L_0 = N_t d + travel + clearance; N_t d is the solid length.

    Parameters
    ----------
    wire_diameter : float or FloatArray
        Wire diameter, d, shape (...) [m].
    total_turns : float or FloatArray
        All turns, N_t, two more than the active ones, broadcastable [-].
    travel : float or FloatArray
        Greatest travel from free, broadcastable [m].
    clearance : float or FloatArray
        Gaps left between the turns then, all together, 0 if it may go solid, broadcastable [m].

    Returns
    -------
    FloatArray
        L_0, shape (...) [m].

    Source
    ------
    V. B. Bhandari, Design of Machine Elements, example 10.1 (read in a companion script).
    """
    return np.asarray(wire_diameter * total_turns + travel + clearance)


def stable_length(mean_diameter: Number, end_factor: Number = 0.5) -> FloatArray:
    """Free length up to which a steel compression spring cannot buckle, however far it is pressed.

    L_0 = 2.63 D / alpha.

    Parameters
    ----------
    mean_diameter : float or FloatArray
        Diameter of the coil's middle line, D, shape (...) [m].
    end_factor : float or FloatArray
        alpha: 0.5 between parallel plates, 0.707 one end on a pivot, 1 both, 2 one end free [-].

    Returns
    -------
    FloatArray
        L_0, shape (...) [m].

    Source
    ------
    U. C. Jindal, Machine Design, example 8-7 (read for parallel plates); other ends from memory.
    """
    return np.asarray(BUCKLING_STEEL * mean_diameter / end_factor)


def torsion_rate(
    elastic_modulus: Number,
    wire_diameter: Number,
    mean_diameter: Number,
    active_turns: Number,
    fitted: bool = False,
) -> FloatArray:
    """Rate of a torsion spring of round wire.

    k = E d^4 / (64 D N), or with friction between the coils E d^4 / (2 pi 10.8 D N): 6 % less.

    Parameters
    ----------
    elastic_modulus : float or FloatArray
        Young's modulus of the wire, E, shape (...) [Pa].
    wire_diameter, mean_diameter : float or FloatArray
        Diameters of the wire, d, and of the coil's middle line, D, broadcastable [m].
    active_turns : float or FloatArray
        Turns that bend, N, from ``torsion_turns``, broadcastable [-].
    fitted : bool
        Whether to use the factor fitted by test [-].

    Returns
    -------
    FloatArray
        k, shape (...) [N m/rad].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10, torsion springs.
    """
    per_turn = elastic_modulus * np.asarray(wire_diameter) ** 4 / (mean_diameter * active_turns)
    return np.asarray(per_turn / (2.0 * np.pi * (TORSION_FITTED if fitted else TORSION_THEORY)))


def torsion_turns(body_turns: Number, legs: Number, mean_diameter: Number) -> FloatArray:
    """Active turns of a torsion spring whose straight legs bend, too.

    N = N_b + (l_1 + l_2)/(3 pi D).

    Parameters
    ----------
    body_turns : float or FloatArray
        Turns of the body, N_b, shape (...) [-].
    legs : float or FloatArray
        Length of both legs together, l_1 + l_2, broadcastable [m].
    mean_diameter : float or FloatArray
        Diameter of the coil's middle line, D, broadcastable [m].

    Returns
    -------
    FloatArray
        N, shape (...) [-].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10, torsion springs.
    """
    return np.asarray(body_turns + legs / (3.0 * np.pi * mean_diameter))


def wound_diameter(mean_diameter: Number, body_turns: Number, angle: Number) -> FloatArray:
    """Mean diameter of a torsion spring's body once it is wound up: it must still clear its mandrel.

    D' = N_b D / (N_b + phi/(2 pi)).

    Parameters
    ----------
    mean_diameter : float or FloatArray
        Diameter of the coil's middle line, unloaded, D, shape (...) [m].
    body_turns : float or FloatArray
        Turns of the body, N_b, broadcastable [-].
    angle : float or FloatArray
        Turn of the body from free, legs left out, phi, broadcastable [rad].

    Returns
    -------
    FloatArray
        D', shape (...) [m].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10, torsion springs (the wire's length does not change).
    """
    return np.asarray(mean_diameter * body_turns / (body_turns + angle / (2.0 * np.pi)))
