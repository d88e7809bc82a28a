"""One finger between grip and lever: how far away a lever may be for it to lie on.

The model is good for differences; its absolute value is good for about 10 mm until it is tied to one measured
reach.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

SEGMENT_SHARES: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "index": (0.245, 0.143, 0.097),
        "middle": (0.266, 0.170, 0.108),
        "ring": (0.244, 0.165, 0.107),
        "little": (0.204, 0.117, 0.093),
    }
)
"""Proximal, middle, distal segment per hand length [-] (Buchholz and others 1992, as quoted)."""

THICKNESS_SHARES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"index": (0.229, 0.1755), "middle": (0.216, 0.1795), "ring": (0.203, 0.1675), "little": (0.183, 0.149)}
)
"""Thickness of proximal and distal segment per hand breadth [-], means of both ends of the segment.

Measured by the authors of an openly published hand model for a grasp simulator, who call them estimates; read
there.
"""

KNUCKLE_OVER_SEGMENT = 1.2
"""Thickness at the knuckle per thickness of the proximal segment [-] (the same hand model)."""

KNUCKLE_ANGLE = 5.0 * np.pi / 9.0
"""Where the knuckle sits around the grip, 100 degrees from the lever, just behind the top [rad] (choice)."""

KNUCKLE_ANGLE_SWING = np.pi / 6.0
"""How far calibration may turn the knuckle either way, 30 degrees, some 13 mm of reach [rad] (a choice)."""

CONTACT_ANGLE = np.pi / 4.0
"""Direction from the lever's middle to the finger joint that lies over it [rad] (a choice)."""


@dataclass(frozen=True, slots=True)
class Segments:
    """Lengths of a finger from knuckle to tip: proximal, middle and distal segment, each (...) [m]."""

    proximal: FloatArray
    middle: FloatArray
    distal: FloatArray


def finger_segments(finger: str, hand_length: Number) -> Segments:
    """Lengths of a finger's segments between joint centres, the last one to the tip.

    PP, MP, DP = shares of the finger times HL.

    Parameters
    ----------
    finger : str
        Which finger: index, middle, ring or little [-].
    hand_length : float or FloatArray
        Wrist crease to tip of the middle finger, HL, shape (...) [m].

    Returns
    -------
    Segments
        PP, MP, DP, each (...) [m].

    Source
    ------
    Buchholz, Armstrong and Goldstein 1992, quoted alike in two public codes; the paper itself was not opened.
    The proximal shares 0.265, 0.277, 0.259, 0.206 that also circulate under this name, 2 to 4 mm more, are
    its middle segments times bone ratios of An and others 1979. X-ray bone lengths (Buryanov and Kotiuk 2010,
    as quoted) are shorter, by 6 to 8 mm at the end joint of the index finger: these are an upper bound.
    """
    length = np.asarray(hand_length, dtype=np.float64)
    return Segments(*(np.asarray(share * length) for share in SEGMENT_SHARES[finger]))


def finger_chord(finger: str, hand_length: Number, curl: Number, pad: Number = 0.0) -> FloatArray:
    """Straight distance from the knuckle to where the finger lies on the lever.

    L^2 = PP^2 + q^2 + 2 PP q cos(curl),  q = MP + pad DP: the end joint is straight.

    Parameters
    ----------
    finger : str
        Which finger: index, middle, ring or little [-].
    hand_length : float or FloatArray
        Wrist crease to tip of the middle finger, HL, shape (...) [m].
    curl : float or FloatArray
        Bend of the middle joint, 0 straight, broadcastable [rad].
    pad : float or FloatArray
        Where the lever lies on the distal segment, 0 at the end joint, 1 at the tip, broadcastable [-].

    Returns
    -------
    FloatArray
        L, shape (...), PP + MP + pad DP for a straight finger [m].

    Source
    ------
    Law of cosines (identity).
    """
    known = finger_segments(finger, hand_length)
    outer = known.middle + pad * known.distal
    return np.sqrt(known.proximal**2 + outer**2 + 2.0 * known.proximal * outer * np.cos(curl))


def contact_radii(
    finger: str, hand_breadth: Number, grip_diameter: Number, lever_thickness: Number, glove_thickness: Number
) -> tuple[FloatArray, FloatArray]:
    """Distances of the knuckle from the grip's axis and of the finger's end joint from the lever's middle.

    r_m = D/2 + 1.2 t_PP/2 + glove,  o = t/2 + t_DP/2 + glove.

    Parameters
    ----------
    finger : str
        Which finger: index, middle, ring or little [-].
    hand_breadth : float or FloatArray
        Breadth across the knuckles, HB, shape (...) [m].
    grip_diameter : float or FloatArray
        Outer diameter of the grip, D, broadcastable [m].
    lever_thickness : float or FloatArray
        Thickness of the lever from back to front where the finger lies, t, broadcastable [m].
    glove_thickness : float or FloatArray
        Thickness of one layer of glove, 0 for a bare hand, broadcastable [m].

    Returns
    -------
    tuple of FloatArray
        r_m and o, each (...) [m].

    Source
    ------
    Geometry; thickness per hand breadth: see THICKNESS_SHARES.
    """
    breadth = np.asarray(hand_breadth, dtype=np.float64)
    near, far = THICKNESS_SHARES[finger]
    knuckle = grip_diameter / 2.0 + KNUCKLE_OVER_SEGMENT * near * breadth / 2.0 + glove_thickness
    joint = lever_thickness / 2.0 + far * breadth / 2.0 + glove_thickness
    return knuckle, joint


def reach_distance(
    finger: str,
    hand_length: Number,
    hand_breadth: Number,
    grip_diameter: Number,
    lever_thickness: Number,
    glove_thickness: Number,
    curl: Number,
    pad: Number = 0.0,
    knuckle_angle: Number = KNUCKLE_ANGLE,
) -> FloatArray:
    """Distance from the palm side of the grip to the front of the lever that a finger so bent just reaches.

    d = r_m cos(phi) + sqrt(L^2 - (r_m sin(phi) - o sin(45 deg))^2) - o cos(45 deg) + D/2 + t/2.

    Parameters
    ----------
    finger : str
        Which finger: index, middle, ring or little [-].
    hand_length : float or FloatArray
        Wrist crease to tip of the middle finger, HL, shape (...) [m].
    hand_breadth : float or FloatArray
        Breadth across the knuckles, HB, shape (...) [m].
    grip_diameter : float or FloatArray
        Outer diameter of the grip, D, broadcastable [m].
    lever_thickness : float or FloatArray
        Thickness of the lever from back to front where the finger lies, t, broadcastable [m].
    glove_thickness : float or FloatArray
        Thickness of one layer of glove, 0 for a bare hand, broadcastable [m].
    curl : float or FloatArray
        Bend of the middle joint, 0 straight, broadcastable [rad].
    pad : float or FloatArray
        Where the lever lies on the distal segment, 0 at the end joint, 1 at the tip, broadcastable [-].
    knuckle_angle : float or FloatArray
        Where the knuckle sits around the grip, phi, from the lever's side upward, broadcastable [rad].

    Returns
    -------
    FloatArray
        d, shape (...), NaN where the finger is too short to come down to the lever [m].

    Source
    ------
    Plane geometry of knuckle, finger and lever, computed; phi and the 45 degrees are choices. 10 degrees of
    phi move d by 4 to 5 mm the other way, which is as much as 13 mm of hand length.
    """
    r_m, o = contact_radii(finger, hand_breadth, grip_diameter, lever_thickness, glove_thickness)
    chord = finger_chord(finger, hand_length, curl, pad)
    under = chord**2 - (r_m * np.sin(knuckle_angle) - o * np.sin(CONTACT_ANGLE)) ** 2
    along = np.sqrt(np.where(under >= 0.0, under, np.nan))
    middle = r_m * np.cos(knuckle_angle) + along - o * np.cos(CONTACT_ANGLE)
    return np.asarray(middle + grip_diameter / 2.0 + lever_thickness / 2.0)


def knuckle_angle(
    finger: str,
    hand_length: Number,
    hand_breadth: Number,
    grip_diameter: Number,
    lever_thickness: Number,
    glove_thickness: Number,
    curl: Number,
    pad: Number,
    measured: Number,
) -> FloatArray:
    """Where the knuckle must sit for the model to meet a measured reach; solved in closed form.

    phi = atan2(y, x) + acos((r_m^2 + x^2 + y^2 - L^2) / (2 r_m sqrt(x^2 + y^2))), kept within 30 degrees of
    100, (x, y) = (d - D/2 - t/2 + o cos(45 deg), o sin(45 deg)): the end joint seen from the grip's axis.

    Parameters
    ----------
    finger : str
        The finger that was measured: index, middle, ring or little [-].
    hand_length : float or FloatArray
        Wrist crease to tip of the middle finger, HL, shape (...) [m].
    hand_breadth : float or FloatArray
        Breadth across the knuckles, HB, shape (...) [m].
    grip_diameter : float or FloatArray
        Outer diameter of the grip at the measurement, D, broadcastable [m].
    lever_thickness : float or FloatArray
        Thickness of the lever at the measurement, t, broadcastable [m].
    glove_thickness : float or FloatArray
        Thickness of one layer of the glove worn at the measurement, broadcastable [m].
    curl : float or FloatArray
        Bend of the middle joint at the measurement, 0 straight, broadcastable [rad].
    pad : float or FloatArray
        Where the lever lay on the distal segment, 0 at the end joint, 1 at the tip, broadcastable [-].
    measured : float or FloatArray
        Farthest lever that was reached so, palm side of grip to front of lever, d, broadcastable [m].

    Returns
    -------
    FloatArray
        phi, shape (...), the nearest allowed angle where no allowed one meets the measurement [rad].

    Source
    ------
    Law of cosines in the triangle grip axis, knuckle, end joint (identity); the limits are a choice.
    """
    r_m, o = contact_radii(finger, hand_breadth, grip_diameter, lever_thickness, glove_thickness)
    chord = finger_chord(finger, hand_length, curl, pad)
    x = measured - grip_diameter / 2.0 - lever_thickness / 2.0 + o * np.cos(CONTACT_ANGLE)
    y = o * np.sin(CONTACT_ANGLE)
    cosine = (r_m**2 + x**2 + y**2 - chord**2) / (2.0 * r_m * np.hypot(x, y))
    phi = np.arctan2(y, x) + np.arccos(np.clip(cosine, -1.0, 1.0))
    return np.asarray(np.clip(phi, KNUCKLE_ANGLE - KNUCKLE_ANGLE_SWING, KNUCKLE_ANGLE + KNUCKLE_ANGLE_SWING))


def lever_distance(gap: Number, grip_diameter: Number, lever_thickness: Number) -> FloatArray:
    """Distance from the palm side of the grip to the front of the lever, from the clear gap between the two.

    d = g + D + t: measured like the span of a hand dynamometer.

    Parameters
    ----------
    gap : float or FloatArray
        Clear gap between grip and back of the lever, g, shape (..., S) [m].
    grip_diameter : float or FloatArray
        Outer diameter of the grip, D, broadcastable [m].
    lever_thickness : float or FloatArray
        Thickness of the lever from back to front, t, broadcastable [m].

    Returns
    -------
    FloatArray
        d, shape (..., S) [m].

    Source
    ------
    Definition, the sense of "grip dimension" in 16 CFR 1512.5(b)(3).
    """
    return np.asarray(gap + grip_diameter + lever_thickness, dtype=np.float64)


def clear_gap(distance: Number, grip_diameter: Number, lever_thickness: Number) -> FloatArray:
    """Clear gap between grip and lever, from the distance that a hand spans.

    g = d - D - t.

    Parameters
    ----------
    distance : float or FloatArray
        Palm side of the grip to the front of the lever, d, shape (..., S) [m].
    grip_diameter : float or FloatArray
        Outer diameter of the grip, D, broadcastable [m].
    lever_thickness : float or FloatArray
        Thickness of the lever from back to front, t, broadcastable [m].

    Returns
    -------
    FloatArray
        g, shape (..., S), negative where no lever fits in between [m].

    Source
    ------
    Definition, the sense of "grip dimension" in 16 CFR 1512.5(b)(3).
    """
    return np.asarray(distance - grip_diameter - lever_thickness, dtype=np.float64)
