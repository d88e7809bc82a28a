"""Screws: stress area, what a head and a thread bear, and the torque that tightens them."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

PITCH_FLANK, MINOR_FLANK = 0.6495, 1.22687
"""What pitch and minor diameter lie below the nominal one, per pitch, 60 degree thread [-] (ISO 68-1, ISO 724)."""

HALF_FLANK = np.sqrt(3.0) / 2.0
"""Cosine of half the flank angle, 30 degrees [-]."""


def pitch_diameter(diameter: Number, pitch: Number) -> FloatArray:
    """Diameter at which thread and gap are equally wide.

    d_2 = d - 0.6495 P.

    Parameters
    ----------
    diameter : float or FloatArray
        Nominal diameter of the thread, d, shape (...) [m].
    pitch : float or FloatArray
        Pitch, P, broadcastable [m].

    Returns
    -------
    FloatArray
        d_2, shape (...) [m].

    Source
    ------
    ISO 724, as read in a table of the metric thread.
    """
    return np.asarray(diameter - PITCH_FLANK * np.asarray(pitch, dtype=np.float64))


def stress_diameter(diameter: Number, pitch: Number) -> FloatArray:
    """Diameter of the round bar that is as strong as the thread.

    d_0 = (d_2 + d_3)/2 with d_3 = d - 1.22687 P.

    Parameters
    ----------
    diameter : float or FloatArray
        Nominal diameter of the thread, d, shape (...) [m].
    pitch : float or FloatArray
        Pitch, P, broadcastable [m].

    Returns
    -------
    FloatArray
        d_0, shape (...) [m].

    Source
    ------
    ISO 898-1, stress area, as read in a calculation sheet for bolts.
    """
    minor = diameter - MINOR_FLANK * np.asarray(pitch, dtype=np.float64)
    return np.asarray((pitch_diameter(diameter, pitch) + minor) / 2.0)


def stress_area(diameter: Number, pitch: Number) -> FloatArray:
    """Area that carries the pull of a threaded rod.

    A_s = pi d_0^2/4.

    Parameters
    ----------
    diameter : float or FloatArray
        Nominal diameter of the thread, d, shape (...) [m].
    pitch : float or FloatArray
        Pitch, P, broadcastable [m].

    Returns
    -------
    FloatArray
        A_s, shape (...) [m2].

    Source
    ------
    ISO 898-1; printed areas of M3 to M6 agree to 0.5 %.
    """
    return np.asarray(np.pi * stress_diameter(diameter, pitch) ** 2 / 4.0)


def head_load(proof_stress: Number, area: Number, head_share: Number) -> FloatArray:
    """Largest pull that a screw bears without staying longer, thread and head together.

    F_p = c S_p A_s, c = 1 for a full head, less where the socket leaves little metal in a flat or round one.

    Parameters
    ----------
    proof_stress : float or FloatArray
        Proof stress of the property class, S_p, shape (...) [Pa].
    area : float or FloatArray
        Stress area of the thread, A_s, broadcastable [m2].
    head_share : float or FloatArray
        What the head bears per what the thread bears, c, broadcastable [-].

    Returns
    -------
    FloatArray
        F_p, shape (...) [N].

    Source
    ------
    ISO 898-1 (proof load); reduced loadability of heads: scope of ISO 14581 (read in a quotation).
    """
    return np.asarray(head_share * np.asarray(proof_stress, dtype=np.float64) * area)


def short_torque(nut_factor: Number, preload: Number, diameter: Number) -> FloatArray:
    """Tightening torque by the short form, with all friction in one factor.

    T = K F d.

    Parameters
    ----------
    nut_factor : float or FloatArray
        Factor of all friction, K, shape (...) [-].
    preload : float or FloatArray
        Pull in the screw, F, broadcastable [N].
    diameter : float or FloatArray
        Nominal diameter of the thread, d, broadcastable [m].

    Returns
    -------
    FloatArray
        T, shape (...) [N m].

    Source
    ------
    Short form of the trade, as read in three tables for fitters.
    """
    return np.asarray(np.asarray(nut_factor, dtype=np.float64) * preload * diameter)


def long_torque(
    preload: Number,
    diameter: Number,
    pitch: Number,
    thread_friction: Number,
    head_friction: Number,
    head_diameter: Number,
) -> FloatArray:
    """Tightening torque with slope, friction in the thread and friction under the head told apart.

    T = F (P/(2 pi) + mu_t d_2/(2 cos 30) + mu_b D/2). Without friction what is left is the wedge F P/(2 pi).

    Parameters
    ----------
    preload : float or FloatArray
        Pull in the screw, F, shape (...) [N].
    diameter : float or FloatArray
        Nominal diameter of the thread, d, broadcastable [m].
    pitch : float or FloatArray
        Pitch, P, broadcastable [m].
    thread_friction : float or FloatArray
        Friction coefficient in the thread, mu_t, broadcastable [-].
    head_friction : float or FloatArray
        Friction coefficient under the head, mu_b, broadcastable [-].
    head_diameter : float or FloatArray
        Mean diameter of the ring that the head rubs on, D, broadcastable [m].

    Returns
    -------
    FloatArray
        T, shape (...) [N m].

    Source
    ------
    Kellermann and Klein, as in VDI 2230: 0.16 P + 0.58 d_2 mu_t + D mu_b/2 (read in a calculation sheet for bolts).
    """
    slope = np.asarray(pitch, dtype=np.float64) / (2.0 * np.pi)
    thread = thread_friction * pitch_diameter(diameter, pitch) / (2.0 * HALF_FLANK)
    return np.asarray(preload * (slope + thread + head_friction * np.asarray(head_diameter) / 2.0))


def yield_preload(
    yield_stress: Number,
    diameter: Number,
    pitch: Number,
    thread_friction: Number,
    yield_share: Number = 0.9,
    torsion_factor: Number = 2.0,
) -> FloatArray:
    """Pull that a screw has when pull and twist of tightening together use a share of its yield strength.

    F = nu R A_s / sqrt(1 + 3 (k (d_2/d_0) (P/(pi d_2) + 1.155 mu_t))^2). Without twist it is nu R A_s.

    Parameters
    ----------
    yield_stress : float or FloatArray
        Yield strength of the property class, R, shape (...) [Pa].
    diameter : float or FloatArray
        Nominal diameter of the thread, d, broadcastable [m].
    pitch : float or FloatArray
        Pitch, P, broadcastable [m].
    thread_friction : float or FloatArray
        Friction coefficient in the thread, mu_t, broadcastable [-].
    yield_share : float or FloatArray
        Share of the yield strength that is used, nu, broadcastable [-].
    torsion_factor : float or FloatArray
        Twist per torque and section modulus, k: 2 where it first yields at the surface, 1.5 where the whole section
        may, broadcastable [-].

    Returns
    -------
    FloatArray
        F, shape (...) [N].

    Source
    ------
    VDI 2230, older editions k = 2, from 2003 on k = 1.5 (read in a maker's note on the change).
    """
    middle, bar = pitch_diameter(diameter, pitch), stress_diameter(diameter, pitch)
    twist = torsion_factor * (middle / bar) * (pitch / (np.pi * middle) + thread_friction / HALF_FLANK)
    area = stress_area(diameter, pitch)
    return np.asarray(yield_share * np.asarray(yield_stress) * area / np.sqrt(1.0 + 3.0 * twist**2))
