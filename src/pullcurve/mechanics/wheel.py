"""From line pressure to the road: clamp, torque, tyre force, lock-up, stopping and holding on a slope.

One rule against counting twice: clamp is that of one side of the disc, and the torque takes both faces.
"""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

GRAVITY = 9.80665
"""Standard gravity [m/s2], exact (ISO 80000-3)."""


def plunger_pressure(
    finger_force: Number, lever_ratio: Number, efficiency: Number, area: Number
) -> FloatArray:
    """Line pressure of a lever or pedal with a fixed ratio.

    p = F i eta / A_m.

    Parameters
    ----------
    finger_force : float or FloatArray
        Force at the finger pad or the pedal, F, shape (..., S) [N].
    lever_ratio : float or FloatArray
        Arm of the finger per arm of the plunger, i, broadcastable [-].
    efficiency : float or FloatArray
        Share that friction leaves, eta, broadcastable [-].
    area : float or FloatArray
        Plunger area, A_m, broadcastable [m2].

    Returns
    -------
    FloatArray
        p, shape (..., S) [Pa].

    Source
    ------
    Law of the lever and Pascal's law (identity).
    """
    return np.asarray(finger_force * lever_ratio * efficiency / area)


def piston_travel(travel: Number, lever_ratio: Number, area: Number, piston_area: Number) -> FloatArray:
    """Travel of the far piston for a travel at the finger, in a line that swallows nothing.

    y = (x/i) A_m/A_p.

    Parameters
    ----------
    travel : float or FloatArray
        At the finger pad or the pedal, x, shape (..., S) [m].
    lever_ratio : float or FloatArray
        Arm of the finger per arm of the plunger, i, broadcastable [-].
    area, piston_area : float or FloatArray
        Areas of the plunger, A_m, and of all pistons at the far end, A_p, broadcastable [m2].

    Returns
    -------
    FloatArray
        y, shape (..., S) [m].

    Source
    ------
    Law of the lever and constant volume (identity).
    """
    return np.asarray(travel / lever_ratio * area / piston_area)


def area_ratio(one_side_area: Number, area: Number) -> FloatArray:
    """Area ratio as charts of the trade count it: all pistons on both sides, a sliding caliper's twice.

    2 A_1/A_m.

    Parameters
    ----------
    one_side_area : float or FloatArray
        Piston area on one side of the disc, A_1, shape (...) [m2].
    area : float or FloatArray
        Plunger area, A_m, broadcastable [m2].

    Returns
    -------
    FloatArray
        Ratio, shape (...) [-].

    Source
    ------
    Common practice (the convention was checked by arithmetic on a printed chart).
    """
    return np.asarray(2.0 * one_side_area / area)


def clamp_one_side(pressure: Number, one_side_area: Number) -> FloatArray:
    """Force that presses one pad on the disc; the other side answers with the same.

    N = p A_1.

    Parameters
    ----------
    pressure : float or FloatArray
        Line pressure, p, shape (..., S) [Pa].
    one_side_area : float or FloatArray
        Piston area on one side, A_1: all pistons of a sliding caliper, half of an opposed one's [m2].

    Returns
    -------
    FloatArray
        N, shape (..., S) [N].

    Source
    ------
    Statics of the caliper (identity).
    """
    return np.asarray(pressure * one_side_area)


def ring_radius_even_pressure(outer_radius: Number, inner_radius: Number) -> FloatArray:
    """Radius at which friction acts on a new ring, pressure even: brake disc or clutch plate.

    r = (2/3) (R_o^3 - R_i^3) / (R_o^2 - R_i^2).

    Parameters
    ----------
    outer_radius, inner_radius : float or FloatArray
        Radii of the ring, R_o > R_i, shape (...) [m].

    Returns
    -------
    FloatArray
        r, shape (...), never below the one for even wear [m].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, ch. 10, pivots and plate clutches (read in a companion notebook).
    """
    outer = np.asarray(outer_radius, dtype=np.float64)
    return np.asarray(2.0 / 3.0 * (outer**3 - inner_radius**3) / (outer**2 - inner_radius**2))


def ring_radius_even_wear(outer_radius: Number, inner_radius: Number) -> FloatArray:
    """Radius at which friction acts on a worn-in ring: brake disc or clutch plate.

    r = (R_o + R_i)/2.

    Parameters
    ----------
    outer_radius, inner_radius : float or FloatArray
        Radii of the ring, R_o > R_i, shape (...) [m].

    Returns
    -------
    FloatArray
        r, shape (...) [m].

    Source
    ------
    Khurmi and Gupta, Theory of Machines, ch. 10, pivots and plate clutches (read in a companion notebook).
    """
    return np.asarray((outer_radius + inner_radius) / 2.0)


def brake_torque(friction: Number, clamp: Number, effective_radius: Number) -> FloatArray:
    """Torque of a disc brake, both faces.

    T = 2 mu N r_e.

    Parameters
    ----------
    friction : float or FloatArray
        Friction coefficient of the pads, mu, broadcastable [-].
    clamp : float or FloatArray
        Force on one side, N, from ``clamp_one_side``, shape (..., S) [N].
    effective_radius : float or FloatArray
        Radius at which the pads act, r_e, broadcastable [m].

    Returns
    -------
    FloatArray
        T, shape (..., S) [N m].

    Source
    ------
    V. B. Bhandari, Design of Machine Elements, example 12.12 (read in a companion script).
    """
    return np.asarray(2.0 * friction * clamp * effective_radius)


def deceleration(torque: Number, tyre_radius: Number, mass: Number) -> FloatArray:
    """Deceleration by one braked wheel that still turns.

    a = T/(R_w m): the tyre pulls with T/R_w. Inertia of wheel and engine is left out.

    Parameters
    ----------
    torque : float or FloatArray
        Brake torque, T, shape (..., S) [N m].
    tyre_radius : float or FloatArray
        Loaded radius of the tyre, R_w, broadcastable [m].
    mass : float or FloatArray
        Motorcycle with rider, m, broadcastable [kg].

    Returns
    -------
    FloatArray
        a, shape (..., S) [m/s2].

    Source
    ------
    Newton's second law (identity).
    """
    return np.asarray(torque / tyre_radius / mass)


def pressure_for_deceleration(
    deceleration: Number,
    mass: Number,
    tyre_radius: Number,
    friction: Number,
    one_side_area: Number,
    effective_radius: Number,
) -> FloatArray:
    """Line pressure for a deceleration; with that of ``lock_deceleration`` it is the pressure at lock-up.

    p = m a R_w / (2 mu A_1 r_e).

    Parameters
    ----------
    deceleration : float or FloatArray
        Wanted deceleration, a; g sin(slope) gives the pressure that holds on a slope, shape (..., S) [m/s2].
    mass : float or FloatArray
        Motorcycle with rider, m, broadcastable [kg].
    tyre_radius : float or FloatArray
        Loaded radius of the tyre, R_w, broadcastable [m].
    friction : float or FloatArray
        Friction coefficient of the pads, mu, broadcastable [-].
    one_side_area : float or FloatArray
        Piston area on one side, A_1, broadcastable [m2].
    effective_radius : float or FloatArray
        Radius at which the pads act, r_e, broadcastable [m].

    Returns
    -------
    FloatArray
        p, shape (..., S) [Pa].

    Source
    ------
    Inverse of ``clamp_one_side``, ``brake_torque`` and ``deceleration`` (identity).
    """
    return np.asarray(mass * deceleration * tyre_radius / (2.0 * friction * one_side_area * effective_radius))


def rear_load(
    mass: Number, rear_load_share: Number, cg_height: Number, wheelbase: Number, deceleration: Number
) -> FloatArray:
    """Load on the rear wheel while braking on the level.

    N_r = m (g lambda - a h/W).

    Parameters
    ----------
    mass : float or FloatArray
        Motorcycle with rider, m, broadcastable [kg].
    rear_load_share : float or FloatArray
        Share of the weight on the rear wheel at rest, lambda, broadcastable [-].
    cg_height, wheelbase : float or FloatArray
        Height of the centre of gravity, h, and distance of the wheels' contacts, W, broadcastable [m].
    deceleration : float or FloatArray
        By whichever wheel, a, shape (..., S) [m/s2].

    Returns
    -------
    FloatArray
        N_r, shape (..., S), negative where the rear wheel would have lifted off [N].

    Source
    ------
    T. Bevan, Theory of Machines, ch. 8, example 6 (read in a companion notebook); same form in R. Limpert,
    Motorcycle Braking Dynamics, 2008.
    """
    return np.asarray(mass * (GRAVITY * rear_load_share - deceleration * cg_height / wheelbase))


def lock_deceleration(
    friction: Number, rear_load_share: Number, cg_height: Number, wheelbase: Number
) -> FloatArray:
    """Deceleration at which the rear wheel stops turning when it brakes alone.

    a = mu g lambda / (1 + mu h/W). With 1 - lambda and -h it is the front wheel alone, for mu h/W < 1.

    Parameters
    ----------
    friction : float or FloatArray
        Grip of tyre and ground, mu, shape (...) [-].
    rear_load_share : float or FloatArray
        Share of the weight on the rear wheel at rest, lambda, broadcastable [-].
    cg_height, wheelbase : float or FloatArray
        Height of the centre of gravity, h, and distance of the wheels' contacts, W, broadcastable [m].

    Returns
    -------
    FloatArray
        a, shape (...) [m/s2].

    Source
    ------
    T. Bevan, Theory of Machines, ch. 8, example 6 (read in a companion notebook).
    """
    return np.asarray(friction * GRAVITY * rear_load_share / (1.0 + friction * cg_height / wheelbase))


def grip_to_hold(slope: Number, rear_load_share: Number, cg_height: Number, wheelbase: Number) -> FloatArray:
    """Grip that the rear wheel needs to hold the motorcycle on a slope by itself.

    mu = |sin beta| / (lambda cos beta + (h/W) sin beta), beta > 0 facing uphill, beta < 0 facing downhill.

    Parameters
    ----------
    slope : float or FloatArray
        Angle of the ground, beta, shape (...) [rad].
    rear_load_share : float or FloatArray
        Share of the weight on the rear wheel on the level, lambda, broadcastable [-].
    cg_height, wheelbase : float or FloatArray
        Height of the centre of gravity, h, and distance of the wheels' contacts, W, broadcastable [m].

    Returns
    -------
    FloatArray
        mu, shape (...); infinite where no load is left on the rear wheel [-].

    Source
    ------
    Statics on a slope (identity).
    """
    beta = np.asarray(slope, dtype=np.float64)
    load = rear_load_share * np.cos(beta) + cg_height / np.asarray(wheelbase) * np.sin(beta)
    return np.where(load > 0.0, np.abs(np.sin(beta)) / np.where(load > 0.0, load, 1.0), np.inf)


def stopping_distance(speed: Number, deceleration: Number) -> FloatArray:
    """Way to a standstill at a steady deceleration, without the time to react.

    S = v^2/(2 a).

    Parameters
    ----------
    speed : float or FloatArray
        When braking begins, v, shape (...) [m/s].
    deceleration : float or FloatArray
        Steady deceleration, a, broadcastable [m/s2].

    Returns
    -------
    FloatArray
        S, shape (...) [m].

    Source
    ------
    Kinematics (identity).
    """
    return np.asarray(speed * speed / (2.0 * deceleration))


def mean_developed_deceleration(
    speed_begin: Number, speed_end: Number, way_begin: Number, way_end: Number
) -> FloatArray:
    """Mean fully developed deceleration between two points of a stop.

    d_m = (v_b^2 - v_e^2) / (2 (S_e - S_b)), v_b = 0.8 v_1, v_e = 0.1 v_1. The law's 25.92 is 2 x 3.6^2.

    Parameters
    ----------
    speed_begin, speed_end : float or FloatArray
        Speeds where the measurement begins, v_b, and ends, v_e, shape (...) [m/s].
    way_begin, way_end : float or FloatArray
        Ways from the start of braking to v_b, S_b, and to v_e, S_e, broadcastable [m].

    Returns
    -------
    FloatArray
        d_m, shape (...) [m/s2].

    Source
    ------
    Council Directive 93/14/EEC as amended by 2006/27/EC, annex, appendix 1, 1.1.2.
    """
    return np.asarray((speed_begin * speed_begin - speed_end * speed_end) / (2.0 * (way_end - way_begin)))
