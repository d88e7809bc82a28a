"""A plate clutch: what it carries, what it takes to open it, and the cable that opens it.

Lift s is measured at the pressure plate, from the engaged state. The springs press with their force at s; of
that the pack still carries the clamp left, and the release force is what remains.
"""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number


@dataclass(frozen=True, slots=True)
class CablePull:
    """Lever's end of a clutch cable: tension [N] and travel [m], each (..., S)."""

    tension: FloatArray
    travel: FloatArray


def face_pairs(driving_plates: Number, driven_plates: Number) -> FloatArray:
    """Rubbing pairs of faces in a stack of plates that alternate.

    z = n_1 + n_2 - 1; a pack whose end faces press on steel has two pairs for each friction plate.

    Parameters
    ----------
    driving_plates : float or FloatArray
        Plates on the driving shaft, n_1, end plates counted, shape (...) [-].
    driven_plates : float or FloatArray
        Plates on the driven shaft, n_2, end plates counted, shape (...) [-].

    Returns
    -------
    FloatArray
        z, shape (...) [-].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, ch. 10, multi-plate clutch (read in a companion notebook).
    """
    return np.asarray(driving_plates + driven_plates - 1.0)


def torque_capacity(faces: Number, friction: Number, mean_radius: Number, clamp: Number) -> FloatArray:
    """Torque that a clutch carries before it slips.

    T = z mu R_m F.

    Parameters
    ----------
    faces : float or FloatArray
        Rubbing pairs of faces, z, shape (...) [-].
    friction : float or FloatArray
        Friction coefficient, mu, broadcastable [-].
    mean_radius : float or FloatArray
        Mean radius of the friction ring, R_m; ``wheel.ring_radius_even_wear`` is the safe one [m].
    clamp : float or FloatArray
        Force that the pack carries, F, shape (..., S) [N].

    Returns
    -------
    FloatArray
        T, shape (..., S) [N m].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, examples 10.23 to 10.30 (read in a companion notebook).
    """
    return np.asarray(faces * friction * mean_radius * clamp)


def clamp_at_pressure(pressure: Number, outer_radius: Number, inner_radius: Number) -> FloatArray:
    """Clamp that brings a worn-in friction ring to a given pressure at its inner edge.

    W = 2 pi p_max R_i (R_o - R_i).

    Parameters
    ----------
    pressure : float or FloatArray
        Greatest pressure on the lining, p_max, shape (...) [Pa].
    outer_radius : float or FloatArray
        Outer radius of the ring, R_o, broadcastable [m].
    inner_radius : float or FloatArray
        Inner radius of the ring, R_i, broadcastable [m].

    Returns
    -------
    FloatArray
        W, shape (...) [N].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, examples 10.23 and 10.28 (even wear: p r is constant).
    """
    return np.asarray(2.0 * np.pi * pressure * inner_radius * (outer_radius - inner_radius))


def lining_pressure(clamp: Number, outer_radius: Number, inner_radius: Number, radius: Number) -> FloatArray:
    """Pressure on a worn-in friction ring at a radius.

    p = W / (2 pi r (R_o - R_i)), greatest at the inner edge.

    Parameters
    ----------
    clamp : float or FloatArray
        Force that the pack carries, W, shape (..., S) [N].
    outer_radius : float or FloatArray
        Outer radius of the ring, R_o, broadcastable [m].
    inner_radius : float or FloatArray
        Inner radius of the ring, R_i, broadcastable [m].
    radius : float or FloatArray
        Where the pressure is wanted, r, broadcastable [m].

    Returns
    -------
    FloatArray
        p, shape (..., S), NaN off the ring [Pa].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, example 10.22.
    """
    on_ring = (radius >= inner_radius) & (radius <= outer_radius)
    at = np.where(on_ring, radius, np.nan)
    return np.asarray(clamp / (2.0 * np.pi * at * (outer_radius - inner_radius)))


def clamp_left(clamp: Number, spring_back: Number, lift: Number) -> FloatArray:
    """Force that the pack still carries at a plate lift.

    F_left = F (1 - s/s_c) while the pack springs back, 0 from s_c on: there the clutch is free.

    Parameters
    ----------
    clamp : float or FloatArray
        Force on the pack, engaged, F, shape (...) [N].
    spring_back : float or FloatArray
        Lift over which the compressed pack springs back, s_c > 0, broadcastable [m].
    lift : float or FloatArray
        Plate lift, s, shape (..., S) [m].

    Returns
    -------
    FloatArray
        F_left, shape (..., S), between 0 and F [N].

    Source
    ------
    Pack as a linear spring (common practice); statics of the pressure plate.
    """
    share = np.clip(np.asarray(lift, dtype=np.float64) / spring_back, 0.0, 1.0)
    return np.asarray(clamp * (1.0 - share))


def slip_lift(torque: Number, full_capacity: Number, spring_back: Number) -> FloatArray:
    """Plate lift from which a clutch slips under a torque.

    s = s_c (1 - T/T_full), from z mu R_m F_left = T.

    Parameters
    ----------
    torque : float or FloatArray
        Torque that the clutch has to carry, T, shape (...) [N m].
    full_capacity : float or FloatArray
        Torque capacity, engaged, T_full, broadcastable [N m].
    spring_back : float or FloatArray
        Lift over which the compressed pack springs back, s_c, broadcastable [m].

    Returns
    -------
    FloatArray
        s, shape (...), 0 where the torque is beyond the capacity [m].

    Source
    ------
    Inverse of ``clamp_left`` and ``torque_capacity`` (identity).
    """
    share = np.asarray(torque, dtype=np.float64) / full_capacity
    return np.asarray(spring_back * np.maximum(0.0, 1.0 - share))


def clean_lift(faces: Number, lift_per_face: Number) -> FloatArray:
    """Plate lift at which the plates stop dragging.

    s = z g; each pair of faces needs its own gap.

    Parameters
    ----------
    faces : float or FloatArray
        Rubbing pairs of faces, z, shape (...) [-].
    lift_per_face : float or FloatArray
        Gap that one pair needs, g, about 0.1e-3, broadcastable [m].

    Returns
    -------
    FloatArray
        s, shape (...) [m].

    Source
    ------
    Common practice; 1.6 mm over 16 faces (computed).
    """
    return np.asarray(faces * lift_per_face)


def release_curve_coil(
    clamp: Number, rate: Number, spring_back: Number, lift_max: Number
) -> tuple[FloatArray, FloatArray]:
    """Release force of coil springs over plate lift, as pieces of polynomials.

    F_rel(s) = F + k s - F_left(s): the springs at s, less what the pack still carries. So it climbs in a line
    from 0 to F + k s_c at s_c, then follows the springs.

    Parameters
    ----------
    clamp : float or FloatArray
        Force of all springs on the pack, engaged, F, shape (...) [N].
    rate : float or FloatArray
        Rate of all springs together, k, broadcastable [N/m].
    spring_back : float or FloatArray
        Lift over which the compressed pack springs back, 0 < s_c < s_max, broadcastable [m].
    lift_max : float or FloatArray
        Where the last piece ends, s_max, broadcastable [m].

    Returns
    -------
    tuple of FloatArray
        Breaks (..., 3) [m]; coefficients (..., 2, 4), lowest power first, in s minus the break [N, N/m].

    Source
    ------
    Statics of the pressure plate (identity); pack as a linear spring (common practice).
    """
    parts = (np.asarray(part, dtype=np.float64) for part in (clamp, rate, spring_back, lift_max))
    force, k, back, end = np.broadcast_arrays(*parts)
    zero = np.zeros_like(force)
    climbing = np.stack([zero, k + force / back, zero, zero], axis=-1)
    following = np.stack([force + k * back, k, zero, zero], axis=-1)
    return np.stack([zero, back, end], axis=-1), np.stack([climbing, following], axis=-2)


def release_curve_table(
    lift: FloatArray, force: FloatArray, spring_back: float
) -> tuple[FloatArray, FloatArray]:
    """Release force of a diaphragm spring over plate lift, as pieces of polynomials.

    F_rel(s) = F_table(s) - F_left(s) with F = F_table(0). Between the rows runs a cubic that keeps their
    shape: no overshoot, level at every peak and valley of the table. Nothing is said beyond the last row.

    Parameters
    ----------
    lift : FloatArray
        Plate lift, s, increasing from 0 (engaged), shape (K,), K >= 2 [m].
    force : FloatArray
        Force of the spring at the pressure plate at each lift; the first one is the clamp, shape (K,) [N].
    spring_back : float
        Lift over which the compressed pack springs back, 0 < s_c < last lift [m].

    Returns
    -------
    tuple of FloatArray
        Breaks (P + 1,), the rows and s_c [m]; coefficients (P, 4), lowest power first, in s minus the break
        [N, N/m, N/m2, N/m3].

    Source
    ------
    F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (from memory), for the cubic; statics
    of the pressure plate.
    """
    rows = np.asarray(lift, dtype=np.float64)
    cubic = _shape_preserving(rows, np.asarray(force, dtype=np.float64))
    breaks = np.union1d(rows, spring_back)
    home = np.clip(np.searchsorted(rows, breaks[:-1], side="right") - 1, 0, rows.size - 2)
    c0, c1, c2, c3 = cubic[home].T
    d = breaks[:-1] - rows[home]
    shifted = [c0 + d * (c1 + d * (c2 + d * c3)), c1 + d * (2 * c2 + 3 * d * c3), c2 + 3 * d * c3, c3]
    coefficients = np.stack(shifted, axis=-1)
    coefficients[:, 0] -= clamp_left(cubic[0, 0], spring_back, breaks[:-1])
    coefficients[breaks[:-1] < spring_back, 1] += cubic[0, 0] / spring_back
    return breaks, coefficients


def _shape_preserving(x: FloatArray, y: FloatArray) -> FloatArray:
    """Coefficients (K - 1, 4) of the shape-preserving cubics through a table."""
    h, slope = np.diff(x), np.diff(y) / np.diff(x)
    if h.size == 1:
        return np.array([[y[0], slope[0], 0.0, 0.0]])
    before, after = slope[:-1], slope[1:]
    w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    turns = before * after <= 0.0
    harmonic = (w1 + w2) / (w1 / np.where(turns, 1.0, before) + w2 / np.where(turns, 1.0, after))
    first = _end_slope(h[0], h[1], slope[0], slope[1])
    last = _end_slope(h[-1], h[-2], slope[-1], slope[-2])
    d = np.concatenate([[first], np.where(turns, 0.0, harmonic), [last]])
    c2 = (3 * slope - 2 * d[:-1] - d[1:]) / h
    c3 = (d[:-1] + d[1:] - 2 * slope) / h**2
    return np.stack([y[:-1], d[:-1], c2, c3], axis=-1)


def _end_slope(near: float, far: float, slope: float, next_slope: float) -> float:
    """One-sided three-point slope at an end of the table, held back so that the shape stays."""
    steep = ((2 * near + far) * slope - near * next_slope) / (near + far)
    if steep * slope <= 0.0:
        return 0.0
    if slope * next_slope < 0.0 and abs(steep) > 3 * abs(slope):
        return 3 * slope
    return steep


def cable_pull(
    lift: Number,
    release_force: Number,
    lift_ratio: Number,
    stiffness: Number,
    free_play: Number,
    wrap: Number,
) -> CablePull:
    """Tension and travel at the lever's end of a clutch cable.

    T_out = F_rel/i;  T_in = T_out exp(w);  x = x_0 + i s + T_out (exp(w) - 1)/(w c), w = +-mu Theta. The
    stretch is that of the mean tension along bends spread evenly over the cable: T_out/c without friction.

    Parameters
    ----------
    lift : float or FloatArray
        Plate lift, s, shape (..., S) [m].
    release_force : float or FloatArray
        Release force at the pressure plate at that lift, F_rel, shape (..., S) [N].
    lift_ratio : float or FloatArray
        Cable travel per plate lift, i, broadcastable [-].
    stiffness : float or FloatArray
        Cable and casing, c, broadcastable [N/m].
    free_play : float or FloatArray
        Travel until the cable is taut, x_0, broadcastable [m].
    wrap : float or FloatArray
        Friction coefficient times total bend, w: +mu Theta on the pull, -mu Theta on the release, 0 without
        friction, broadcastable [-].

    Returns
    -------
    CablePull
        T_in [N] and x [m], each (..., S).

    Source
    ------
    Rope friction, T_in/T_out = exp(mu Theta), by total bend, not by radius or length (any text on statics).
    """
    w = np.asarray(wrap, dtype=np.float64)
    straight = w == 0.0
    spread = np.where(straight, 1.0, np.expm1(w) / np.where(straight, 1.0, w))
    tension = release_force / np.asarray(lift_ratio, dtype=np.float64)
    travel = free_play + lift_ratio * lift + tension * spread / stiffness
    return CablePull(np.asarray(tension * np.exp(w)), np.asarray(travel))
