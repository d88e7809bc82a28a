"""A plate cam against a roller on a swinging rocker: angles, curvature, outline and arms of force.

Frame: lever pivot O is the origin, rocker pivot A stands at (a, 0). psi is the angle OAB, so the roller centre is
B = (a - l cos psi, l sin psi). sigma is +1 if the rocker turns opposite to the cam while the roller is pushed out,
-1 if both turn the same way.
"""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number


@dataclass(frozen=True, slots=True)
class Arms:
    """Arms of a contact force: how far its line passes from the rocker pivot and from the lever pivot."""

    rocker: FloatArray
    lever: FloatArray


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
