"""Arms of the contact force about both pivots, tilted by friction: the statics of cam, roller and rocker.

Frame and signs as in :mod:`pullcurve.mechanics.contact`.
"""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number


@dataclass(frozen=True, slots=True)
class Arms:
    """Arms of a contact force: how far its line passes from the rocker pivot and from the lever pivot."""

    rocker: FloatArray
    lever: FloatArray


@dataclass(frozen=True, slots=True)
class Heading:
    """Direction of a contact force: sine and cosine against the roller's motion (alpha) and in the frame (psi - alpha).

    The force points along (``across``, ``along``) = (sin(psi - alpha), cos(psi - alpha)) in x and y.
    """

    sin_alpha: FloatArray
    cos_alpha: FloatArray
    across: FloatArray
    along: FloatArray


def heading(psi: FloatArray, alpha: FloatArray) -> Heading:
    """Direction of the contact normal, from cam to roller.

    n = (sin(psi - alpha), cos(psi - alpha)).

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    alpha : FloatArray
        Pressure angle, alpha, shape (..., S) [rad].

    Returns
    -------
    Heading
        Sines and cosines, each (..., S) [-].

    Source
    ------
    n = cos(alpha) u + sin(alpha) e with u and e as in the module's frame (identity).
    """
    return Heading(np.sin(alpha), np.cos(alpha), np.sin(psi - alpha), np.cos(psi - alpha))


def tilted(normal: Heading, sin_tilt: Number, cos_tilt: Number) -> Heading:
    """A direction turned by a friction angle, without another call of a trigonometric function.

    alpha' = alpha + tau by the addition theorems.

    Parameters
    ----------
    normal : Heading
        Direction to turn [-].
    sin_tilt : FloatArray
        Sine of the friction tilt, sin tau, broadcastable [-].
    cos_tilt : FloatArray
        Cosine of the friction tilt, cos tau, broadcastable [-].

    Returns
    -------
    Heading
        Turned direction, each (..., S) [-].

    Source
    ------
    Addition theorems (identity).
    """
    return Heading(
        np.asarray(normal.sin_alpha * cos_tilt + normal.cos_alpha * sin_tilt),
        np.asarray(normal.cos_alpha * cos_tilt - normal.sin_alpha * sin_tilt),
        np.asarray(normal.across * cos_tilt - normal.along * sin_tilt),
        np.asarray(normal.along * cos_tilt + normal.across * sin_tilt),
    )


def arms_of(
    turned: Heading,
    sin_tilt: Number,
    centre_distance: Number,
    arm: Number,
    roller_radius: Number,
    sense: Number,
) -> Arms:
    """Arms of a contact force of known direction about both pivots.

    h_A = l cos(alpha + tau) + r sin(tau),  h_O = sigma (a cos(psi - alpha - tau) - h_A).

    Parameters
    ----------
    turned : Heading
        Direction of the force, already tilted [-].
    sin_tilt : FloatArray
        Sine of the friction tilt, sin tau, broadcastable [-].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    roller_radius : FloatArray
        Roller radius, r, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    Arms
        Arms about the rocker pivot and the lever pivot, each (..., S) [m].

    Source
    ------
    As ``force_arms``.
    """
    rocker = np.asarray(arm * turned.cos_alpha + roller_radius * sin_tilt)
    return Arms(rocker, np.asarray(sense * (centre_distance * turned.along - rocker)))


def slide(
    normal: Heading,
    dpsi: FloatArray,
    centre_distance: Number,
    arm: Number,
    roller_radius: Number,
    sense: Number,
) -> FloatArray:
    """Speed of the cam's surface past the rocker, as ``surface_speed``, from a known direction of the normal.

    The arms of a force along the tangent are the speeds of cam and rocker along it.

    Parameters
    ----------
    normal : Heading
        Direction of the contact normal [-].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    roller_radius : FloatArray
        Roller radius, r, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    FloatArray
        Signed speed along the contact tangent, shape (..., S) [m/rad].

    Source
    ------
    As ``surface_speed``.
    """
    tangent = arms_of(tilted(normal, 1.0, 0.0), 1.0, centre_distance, arm, roller_radius, sense)
    return np.asarray(tangent.lever - dpsi * tangent.rocker)


def surface_speed(
    psi: FloatArray,
    dpsi: FloatArray,
    alpha: FloatArray,
    centre_distance: Number,
    arm: Number,
    roller_radius: Number,
    sense: Number,
) -> FloatArray:
    """Speed of the cam's surface past the rocker at the contact, per unit of lever speed.

    A rolling roller turns on its pin at this speed divided by r.

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    alpha : FloatArray
        Pressure angle, alpha, shape (..., S) [rad].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    roller_radius : FloatArray
        Roller radius, r, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    FloatArray
        Signed speed along the contact tangent, shape (..., S) [m/rad].

    Source
    ------
    Rigid-body kinematics: velocity of the cam at C minus that of the rocker, along t = -sin(alpha) u + cos(alpha) e.
    """
    return slide(heading(psi, alpha), dpsi, centre_distance, arm, roller_radius, sense)


def force_arms(
    psi: FloatArray,
    alpha: FloatArray,
    tilt: Number,
    centre_distance: Number,
    arm: Number,
    roller_radius: Number,
    sense: Number,
) -> Arms:
    """Arms of a contact force that is tilted from the normal by a friction angle.

    The force acts at C = B - r n along f = cos(alpha + tau) u + sin(alpha + tau) e. Its arm about the rocker pivot
    is h_A = l cos(alpha + tau) + r sin(tau); about the lever pivot it is sigma (C x f), which comes out as
    h_O = sigma (a cos(psi - alpha - tau) - h_A), positive where it resists the pull.

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    alpha : FloatArray
        Pressure angle, alpha, shape (..., S) [rad].
    tilt : FloatArray
        Friction tilt, tau, 0 without friction, shape (..., S) or scalar [rad].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    roller_radius : FloatArray
        Roller radius, r, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    Arms
        Arms about the rocker pivot and the lever pivot, each (..., S) [m]. At tau = 0 their ratio is psi'.

    Source
    ------
    Plane statics (identity); without friction both follow from virtual work, see tests.
    """
    turned = tilted(heading(psi, alpha), np.sin(tilt), np.cos(tilt))
    return arms_of(turned, np.sin(tilt), centre_distance, arm, roller_radius, sense)
