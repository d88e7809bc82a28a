"""Friction at the roller, the pins and the seals: why a pull and its release are two curves."""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number


def roller_tilt(friction: Number, pin_radius: Number, roller_radius: Number) -> FloatArray:
    """Angle by which the roller's pin friction turns the contact force from the normal.

    phi = atan(mu r_pin / r).

    Parameters
    ----------
    friction : FloatArray
        Friction coefficient at the roller's pin, mu, broadcastable [-].
    pin_radius : FloatArray
        Radius of that pin (bore radius of a needle roller), r_pin, broadcastable [m].
    roller_radius : FloatArray
        Roller radius, r, broadcastable [m].

    Returns
    -------
    FloatArray
        phi >= 0 [rad].

    Source
    ------
    Friction circle of the roller's pin; needle start-up coefficient 0.005 common practice.
    """
    return np.asarray(np.arctan(friction * pin_radius / roller_radius))


def pinned_force(
    arm: FloatArray, moment: FloatArray, load: Number, cosine: Number, drag: Number
) -> FloatArray:
    """Contact force on a rocker whose own pin drags.

    N h = M + k |R|,  |R|^2 = N^2 - 2 N P cos + P^2: a quadratic in N, solved for the root that belongs to the sign
    of k; the k^2 of its discriminant is taken out of the root, so that little friction loses no digits.

    Parameters
    ----------
    arm : FloatArray
        Arm of the contact force about the rocker pivot, h, shape (..., S) [m].
    moment : FloatArray
        Torque that the load asks of the rocker, M, shape (..., S) [N m].
    load : FloatArray
        Force of the load on the rocker, P, 0 for a torsion spring, shape (..., S) [N].
    cosine : FloatArray
        Cosine of the angle between contact force and the line of the load, shape (..., S) [-].
    drag : FloatArray
        Signed friction radius of the pin, k = +-mu r_pin: positive where friction adds to the load, (..., S) [m].

    Returns
    -------
    FloatArray
        N >= 0, shape (..., S); NaN where it passes within the pin's friction circle and locks the rocker [N].

    Source
    ------
    Friction circle of a journal, vector sum of the forces (statics, identity).
    """
    square = drag * drag
    middle = arm * moment - square * load * cosine
    lead = np.where(arm > np.abs(drag), arm * arm - square, np.nan)
    along, straight = arm * load, load * cosine
    under = (
        moment * (moment - 2.0 * arm * straight)
        + along * along
        - square * (load * load - straight * straight)
    )
    return np.asarray(np.maximum((middle + drag * np.sqrt(np.maximum(under, 0.0))) / lead, 0.0))


def lever_force(
    torque: FloatArray, finger_radius: Number, along: FloatArray, square: FloatArray, drag: Number
) -> FloatArray:
    """Finger force on a lever whose pivot pin drags.

    F L = T + k |F d - S|: the pin carries the vector sum of the finger force and all contact forces S.

    Parameters
    ----------
    torque : FloatArray
        Torque asked of the lever by cams and return spring, T, shape (..., S) [N m].
    finger_radius : FloatArray
        Lever pivot to finger pad, L, broadcastable [m].
    along : FloatArray
        Component of the summed contact forces on the rollers along the finger's push, d . S, shape (..., S) [N].
    square : FloatArray
        Square of that sum, |S|^2, shape (..., S) [N2].
    drag : FloatArray
        Signed friction radius, k = +-mu r_pin, positive on the pull, broadcastable [m].

    Returns
    -------
    FloatArray
        Finger force, shape (..., S), negative where the lever would not come back by itself [N].

    Source
    ------
    Friction circle of a journal, vector sum of the forces (statics, identity).
    """
    middle = finger_radius * torque - drag**2 * along
    lead = finger_radius**2 - drag**2
    across = drag**2 * (square - along**2)
    under = torque**2 - 2.0 * finger_radius * torque * along + finger_radius**2 * square - across
    return np.asarray((middle + drag * np.sqrt(np.maximum(under, 0.0))) / lead)


def seal_drag(constant: Number, share: Number, pressure: FloatArray, area: Number) -> FloatArray:
    """Drag of a plunger's seals.

    F = F_0 + k p A.

    Parameters
    ----------
    constant : FloatArray
        Drag without pressure, F_0, broadcastable [N].
    share : FloatArray
        Share of the pressure force, k, broadcastable [-].
    pressure : FloatArray
        Gauge pressure, p, shape (..., S) [Pa].
    area : FloatArray
        Plunger area, A, broadcastable [m2].

    Returns
    -------
    FloatArray
        Drag, against the motion, shape (..., S) [N].

    Source
    ------
    Form of the seal makers' handbooks (F = f_c L + f_h A p), from memory; coefficients are fitted on the bench.
    """
    return np.asarray(constant + share * pressure * area)


def first_order_loss(
    contact: FloatArray,
    ratio: FloatArray,
    lever_pin: Number,
    rocker_pin: Number,
    roller_pin: Number,
    roller_turn: FloatArray,
) -> FloatArray:
    """Friction torque at the lever to first order, taking every pin reaction as the contact force.

    T_f = N (mu_O r_O + mu_A r_A |psi'| + mu_b r_b |w|).

    Parameters
    ----------
    contact : FloatArray
        Contact force, N, shape (..., S) [N].
    ratio : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    lever_pin : FloatArray
        Friction radius of the lever pivot, mu_O r_O, broadcastable [m].
    rocker_pin : FloatArray
        Friction radius of the rocker pivot, mu_A r_A, broadcastable [m].
    roller_pin : FloatArray
        Friction radius of the roller's pin, mu_b r_b, broadcastable [m].
    roller_turn : FloatArray
        Roller turn on its pin per lever turn, w, shape (..., S) [-].

    Returns
    -------
    FloatArray
        Torque, added on the pull and taken off on the release, shape (..., S) [N m].

    Source
    ------
    First-order hysteresis of a cam chain by virtual power (computed case with all reactions equal to N).
    """
    return np.asarray(contact * (lever_pin + rocker_pin * np.abs(ratio) + roller_pin * np.abs(roller_turn)))
