"""A plate cam against a roller on a swinging rocker: angles, curvature, outline and contact force.

Frame: lever pivot O is the origin, rocker pivot A stands at (a, 0). psi is the angle OAB, so the roller centre is
B = (a - l cos psi, l sin psi). sigma is +1 if the rocker turns opposite to the cam while the roller is pushed out,
-1 if both turn the same way.
"""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number


def normal_components(
    psi: FloatArray, dpsi: FloatArray, centre_distance: Number, arm: Number, sense: Number
) -> tuple[FloatArray, FloatArray]:
    """Components of the pitch curve's tangent that fix the contact normal.

    T = l (1 + sigma psi') - a cos psi and a sin psi; the pressure angle is atan2 of the two.

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    tuple of FloatArray
        T along the rocker, a sin psi along the roller's motion, each (..., S) [m].

    Source
    ------
    Textbook form tan(alpha) = [l (1 +- psi') - a cos psi] / (a sin psi), read in a public lecture script on
    swinging followers; checked by finite differences in the tests.
    """
    along = arm * (1.0 + sense * dpsi) - centre_distance * np.cos(psi)
    return along, centre_distance * np.sin(psi)


def pressure_angle(
    psi: FloatArray, dpsi: FloatArray, centre_distance: Number, arm: Number, sense: Number
) -> FloatArray:
    """Angle between the contact normal and the roller's motion, signed.

    tan(alpha) = (l (1 + sigma psi') - a cos psi) / (a sin psi).

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    FloatArray
        alpha, shape (..., S), within +-pi/2 for 0 < psi < pi [rad].

    Source
    ------
    As ``normal_components``.
    """
    along, across = normal_components(psi, dpsi, centre_distance, arm, sense)
    return np.arctan2(along, across)


def pitch_curvature(
    psi: FloatArray,
    dpsi: FloatArray,
    d2psi: FloatArray,
    centre_distance: Number,
    arm: Number,
    sense: Number,
) -> FloatArray:
    """Signed curvature of the pitch curve (path of the roller centre in the cam), convex positive.

    1/rho = ( |t|^2 + sigma l (1 + sigma psi') psi' T - a l psi'' sin psi ) / |t|^3,  |t|^2 = T^2 + (a sin psi)^2.

    Parameters
    ----------
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    d2psi : FloatArray
        Its derivative, psi'', shape (..., S) [1/rad].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].

    Returns
    -------
    FloatArray
        Curvature, shape (..., S), through zero at an inflection [1/m].

    Source
    ------
    Differential geometry of the pitch curve; exact on the four-bar equivalent (an eccentric circle), see tests.
    """
    along, across = normal_components(psi, dpsi, centre_distance, arm, sense)
    square = along**2 + across**2
    turn = sense * arm * (1.0 + sense * dpsi) * dpsi * along
    return (square + turn - arm * d2psi * across) / square**1.5


def offset_curvature(curvature: FloatArray, inward: Number) -> FloatArray:
    """Signed curvature of a curve offset inward from a given one.

    kappa' = kappa / (1 - kappa d), that is rho' = rho - d.

    Parameters
    ----------
    curvature : FloatArray
        Curvature of the given curve, kappa, convex positive, shape (..., S) [1/m].
    inward : FloatArray
        Offset toward the cam's inside, d: the roller radius gives the cam outline from the pitch curve [m].

    Returns
    -------
    FloatArray
        Curvature of the offset curve, shape (..., S); negative again past a cusp, where kappa d > 1 [1/m].

    Source
    ------
    Parallel curves, any text on differential geometry (identity).
    """
    return curvature / (1.0 - curvature * inward)


def outline(
    theta: FloatArray,
    psi: FloatArray,
    dpsi: FloatArray,
    centre_distance: Number,
    arm: Number,
    sense: Number,
    inward: Number,
) -> tuple[FloatArray, FloatArray]:
    """Curve in the cam frame at a given distance inside the pitch curve.

    Rot(-sigma theta) (B - d n): d = 0 the pitch curve, d = r the profile, d = r - r_c the path of a cutter r_c.

    Parameters
    ----------
    theta : FloatArray
        Lever angle, theta, shape (..., S) [rad].
    psi : FloatArray
        Rocker angle OAB, psi, shape (..., S) [rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (..., S) [-].
    centre_distance : FloatArray
        Lever pivot to rocker pivot, a, broadcastable [m].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].
    sense : FloatArray
        Turning sense, sigma, +1 opposite, -1 same [-].
    inward : FloatArray
        Distance inside the pitch curve, d, broadcastable [m].

    Returns
    -------
    tuple of FloatArray
        x and y in the cam frame, each (..., S) [m].

    Source
    ------
    Envelope of the roller in the cam frame; n = cos(alpha) u + sin(alpha) e as in ``normal_components``.
    """
    along, across = normal_components(psi, dpsi, centre_distance, arm, sense)
    length = np.hypot(along, across)
    sin_a, cos_a = along / length, across / length
    sin_p, cos_p = np.sin(psi), np.cos(psi)
    x = centre_distance - arm * cos_p - inward * (cos_a * sin_p - sin_a * cos_p)
    y = arm * sin_p - inward * (cos_a * cos_p + sin_a * sin_p)
    turned = sense * theta
    cos_t, sin_t = np.cos(turned), np.sin(turned)
    return cos_t * x + sin_t * y, cos_t * y - sin_t * x


def contact_force(moment: FloatArray, alpha: FloatArray, arm: Number) -> FloatArray:
    """Normal force between cam and roller, without friction.

    N = M / (l cos alpha).

    Parameters
    ----------
    moment : FloatArray
        Torque that the load asks of the rocker, M, shape (..., S) [N m].
    alpha : FloatArray
        Pressure angle, alpha, shape (..., S) [rad].
    arm : FloatArray
        Rocker pivot to roller centre, l, broadcastable [m].

    Returns
    -------
    FloatArray
        N, shape (..., S); grows without bound toward 90 degrees [N].

    Source
    ------
    Statics of the rocker (identity).
    """
    return moment / (arm * np.cos(alpha))
