"""What a roller does to a cam: Hertz line contact, what lies under the surface, and what a metal bears.

Curvatures carry signs: the roller's is positive, a concave flank's negative, and their sum decides.
"""

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

SHEAR_PEAK, SHEAR_DEPTH = 0.300283, 0.78615
"""Greatest shear stress below the surface per p_0, and its depth per half width [-] (computed, see tests)."""

STATIC_SHARE = 1.6
"""Greatest contact pressure per yield strength, ductile metals at rest [-] (common practice)."""

ENDURANCE_SHARE = 0.6
"""Share of the pressure at first yield for endurance where nothing is known of the metal [-] (own choice)."""

ROLLER_BEARING_STATIC = 4.0e9
"""Contact pressure behind the static rating of roller bearings [Pa] (read in two bearing handbooks)."""


def curvature_sum(roller_radius: Number, cam_curvature: Number) -> FloatArray:
    """Sum of the curvatures of roller and cam, with signs.

    1/R = 1/r + kappa.

    Parameters
    ----------
    roller_radius : float or FloatArray
        Roller radius, r, shape (...) [m].
    cam_curvature : float or FloatArray
        Curvature of the profile, kappa, convex positive, concave negative, shape (..., S) [1/m].

    Returns
    -------
    FloatArray
        1/R, shape (..., S); positive as long as the roller touches on one line only [1/m].

    Source
    ------
    Hertz line contact (a public lecture page on contact stress).
    """
    return np.asarray(1.0 / np.asarray(roller_radius) + cam_curvature)


def contact_modulus(
    elastic_modulus: Number, poisson: Number, other_modulus: Number, other_poisson: Number
) -> FloatArray:
    """Elastic modulus of a contact of two metals.

    1/E* = (1 - nu_1^2)/E_1 + (1 - nu_2^2)/E_2.

    Parameters
    ----------
    elastic_modulus : float or FloatArray
        Young's modulus of one, E_1, shape (...) [Pa].
    poisson : float or FloatArray
        Its Poisson's ratio, nu_1, broadcastable [-].
    other_modulus : float or FloatArray
        Young's modulus of the other, E_2, broadcastable [Pa].
    other_poisson : float or FloatArray
        Its Poisson's ratio, nu_2, broadcastable [-].

    Returns
    -------
    FloatArray
        E*, shape (...) [Pa].

    Source
    ------
    Hertz line contact (a public lecture page on contact stress).
    """
    first = (1.0 - np.asarray(poisson) ** 2) / elastic_modulus
    return np.asarray(1.0 / (first + (1.0 - np.asarray(other_poisson) ** 2) / other_modulus))


def contact_pressure(force: Number, curvature: Number, modulus: Number, length: Number) -> FloatArray:
    """Greatest pressure of a line contact.

    p_0 = sqrt(F E* / (pi L R)).

    Parameters
    ----------
    force : float or FloatArray
        Contact force, F >= 0, shape (..., S) [N].
    curvature : float or FloatArray
        From ``curvature_sum``, 1/R, shape (..., S) [1/m].
    modulus : float or FloatArray
        From ``contact_modulus``, E*, broadcastable [Pa].
    length : float or FloatArray
        Length of the line, L: the narrower part less its chamfers, broadcastable [m].

    Returns
    -------
    FloatArray
        p_0, shape (..., S), NaN where the flank is hollower than the roller [Pa]. Edges and a crooked rocker
        raise it by 1.2 to 2 unless the roller is crowned.

    Source
    ------
    Hertz line contact; Boresi and Schmidt, Advanced Mechanics of Materials, examples 17.2 and 17.3.
    """
    under = np.asarray(force * curvature * modulus / (np.pi * np.asarray(length)))
    return np.sqrt(np.where(under >= 0.0, under, np.nan))


def contact_half_width(force: Number, curvature: Number, modulus: Number, length: Number) -> FloatArray:
    """Half width of the strip on which a roller rests.

    b = sqrt(4 F R / (pi L E*)) = 2 p_0 R/E*.

    Parameters
    ----------
    force : float or FloatArray
        Contact force, F >= 0, shape (..., S) [N].
    curvature : float or FloatArray
        From ``curvature_sum``, 1/R > 0, shape (..., S) [1/m].
    modulus : float or FloatArray
        From ``contact_modulus``, E*, broadcastable [Pa].
    length : float or FloatArray
        Length of the line, L, broadcastable [m].

    Returns
    -------
    FloatArray
        b, shape (..., S), NaN where the flank is hollower than the roller [m].

    Source
    ------
    Hertz line contact; Boresi and Schmidt, Advanced Mechanics of Materials, examples 17.2 and 17.3.
    """
    outside = np.where(np.asarray(curvature) > 0.0, curvature, np.nan)
    return np.asarray(2.0 * contact_pressure(force, outside, modulus, length) / (outside * modulus))


def force_at_pressure(pressure: Number, curvature: Number, modulus: Number, length: Number) -> FloatArray:
    """Contact force that brings a line contact to a given pressure.

    F = pi L R p^2 / E*.

    Parameters
    ----------
    pressure : float or FloatArray
        Allowed pressure, p, shape (...) [Pa].
    curvature : float or FloatArray
        From ``curvature_sum``, 1/R > 0, shape (..., S) [1/m].
    modulus : float or FloatArray
        From ``contact_modulus``, E*, broadcastable [Pa].
    length : float or FloatArray
        Length of the line, L, broadcastable [m].

    Returns
    -------
    FloatArray
        F, shape (..., S) [N].

    Source
    ------
    Inverse of ``contact_pressure`` (identity).
    """
    return np.asarray(np.pi * length * np.asarray(pressure) ** 2 / (curvature * modulus))


def stress_below(depth: Number, poisson: Number) -> tuple[FloatArray, FloatArray]:
    """Shear and equivalent stress below the middle of a line contact, per p_0.

    With z in half widths and w = sqrt(1 + z^2): sigma_x = 2 z - (1 + 2 z^2)/w, sigma_z = -1/w,
    sigma_y = nu (sigma_x + sigma_z); tau = z - z^2/w.

    Parameters
    ----------
    depth : float or FloatArray
        Depth per half width, z, shape (..., S) [-].
    poisson : float or FloatArray
        Poisson's ratio, nu, broadcastable [-].

    Returns
    -------
    tuple of FloatArray
        Greatest shear stress in the plane of rolling; equivalent stress after von Mises; each (..., S) [-].

    Source
    ------
    K. L. Johnson, Contact Mechanics, 4.2 (from memory); the tests check it against line loads summed up.
    """
    z = np.asarray(depth, dtype=np.float64)
    w = np.sqrt(1.0 + z**2)
    x, y, down = 2.0 * z - (1.0 + 2.0 * z**2) / w, -2.0 * poisson * (w - z), -1.0 / w
    equivalent = np.sqrt(((x - y) ** 2 + (y - down) ** 2 + (down - x) ** 2) / 2.0)
    return np.abs(x - down) / 2.0, np.asarray(equivalent)


def first_yield_pressure(yield_strength: Number) -> FloatArray:
    """Contact pressure at which a metal begins to yield under the surface.

    p = R_p / (2 x 0.3003) = 1.67 R_p.

    Parameters
    ----------
    yield_strength : float or FloatArray
        Yield strength, R_p, shape (...) [Pa].

    Returns
    -------
    FloatArray
        p, shape (...) [Pa].

    Source
    ------
    Yield after Tresca under the greatest shear stress of a line contact (computed).
    """
    return np.asarray(yield_strength / (2.0 * SHEAR_PEAK))


def static_pressure_limit(yield_strength: Number) -> FloatArray:
    """Contact pressure that a ductile cam bears without a dent.

    p = 1.6 R_p, a little below first yield.

    Parameters
    ----------
    yield_strength : float or FloatArray
        Yield strength, R_p, shape (...) [Pa].

    Returns
    -------
    FloatArray
        p, shape (...) [Pa].

    Source
    ------
    Common practice; compare ``first_yield_pressure``.
    """
    return np.asarray(STATIC_SHARE * yield_strength)


def endurance_pressure_limit(yield_strength: Number) -> FloatArray:
    """Contact pressure for rolling again and again, where nothing better is known of the metal.

    p = 0.6 p_yield, which is the yield strength itself within a thousandth.

    Parameters
    ----------
    yield_strength : float or FloatArray
        Yield strength, R_p, shape (...) [Pa].

    Returns
    -------
    FloatArray
        p, shape (...) [Pa].

    Source
    ------
    Own choice: no published value for aluminium or brass was found. The metal's own value goes before it.
    """
    return np.asarray(ENDURANCE_SHARE * first_yield_pressure(yield_strength))


def steel_endurance_pressure(brinell: Number) -> FloatArray:
    """Contact pressure that steel bears for 1e8 rollings.

    S_C = 2.76 HB - 70, in MPa.

    Parameters
    ----------
    brinell : float or FloatArray
        Brinell hardness, HB, shape (...) [-].

    Returns
    -------
    FloatArray
        S_C, shape (...) [Pa].

    Source
    ------
    Shigley, Mechanical Engineering Design, surface fatigue strength (from memory).
    """
    return np.asarray(1.0e6 * (2.76 * np.asarray(brinell, dtype=np.float64) - 70.0))


def needle_static_rating(
    needles: Number, needle_diameter: Number, needle_length: Number, pitch_diameter: Number
) -> FloatArray:
    """Static radial rating of one row of needles or cylindrical rollers.

    C_0 = 44 MPa (1 - D_w/D_pw) Z L_w D_w, needles square to the axis.

    Parameters
    ----------
    needles : float or FloatArray
        Needles in the row, Z, shape (...) [-].
    needle_diameter, needle_length : float or FloatArray
        Diameter, D_w, and bearing length, L_w, of a needle, broadcastable [m].
    pitch_diameter : float or FloatArray
        Diameter of the circle through the needles' middles, D_pw, broadcastable [m].

    Returns
    -------
    FloatArray
        C_0, shape (...) [N].

    Source
    ------
    ISO 76, radial roller bearings (from memory); its pressure of 4000 MPa was read and is met, see the tests.
    """
    size = np.asarray(needle_diameter, dtype=np.float64)
    return np.asarray(44.0e6 * (1.0 - size / pitch_diameter) * needles * needle_length * size)


def needle_peak_load(radial_load: Number, needles: Number) -> FloatArray:
    """Load of the most heavily loaded needle.

    Q = 5 F / Z: 4.08 F/Z without clearance, rounded up for a usual one.

    Parameters
    ----------
    radial_load : float or FloatArray
        Load on the bearing, F, shape (..., S) [N].
    needles : float or FloatArray
        Needles in the row, Z, broadcastable [-].

    Returns
    -------
    FloatArray
        Q, shape (..., S) [N].

    Source
    ------
    Stribeck's number for roller bearings (from memory).
    """
    return np.asarray(5.0 * radial_load / needles)
