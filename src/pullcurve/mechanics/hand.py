"""The hand on grip and lever: what it reaches, how hard it can pull there, and which changes it can tell."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number
from pullcurve.mechanics.finger import knuckle_angle, reach_distance

CRITERIA: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"comfortable": (np.pi / 4.0, 0.0), "hold": (np.pi / 9.0, 0.0), "touch": (0.0, 0.5)}
)
"""Bend of the middle joint [rad] and place of the lever on the last segment [-], by what the finger must do.

Comfortable: 45 degrees, end joint on the lever. Hold: 20 degrees, end joint on the lever, the farthest that
can be pulled hard. Touch: straight, lever under the middle of the pad; cannot be pulled hard.
"""

SPAN_FALL = 0.75
"""Loss of grip per squared relative distance from the best span [-] (computed, see span_factor)."""

SPAN_MEN = 0.055
"""Best span of men [m] (Ruiz-Ruiz and others 2002)."""

FINGER_WEIGHTS: Mapping[str, float] = MappingProxyType(
    {"index": 0.28, "middle": 0.33, "ring": 0.24, "little": 0.15}
)
"""Share of the four-finger grip that one finger reaches alone [-]: a choice, see finger_share."""

GROUP_FACTORS = (1.0, 1.0, 0.55 / 0.61, 0.82 / 0.85, 1.0)
"""What a group of 0 to 4 fingers makes of the sum of its fingers' weights [-]: a choice, see finger_share."""

FINGER_SHARE_SPREAD = 0.2
"""Relative half-width of the published finger shares [-] (computed): show a band, not a point."""

GLOVE_FACTORS: Mapping[str, float] = MappingProxyType(
    {"none": 1.0, "thin": 0.92, "armoured": 0.80, "winter": 0.70}
)
"""Grip in a glove per bare grip [-]: a choice, see glove_factor; no study of riding gloves was found."""

FELT_FORCE, FELT_FORCE_LATER = 1.07, 1.15
"""Ratio of forces from which a change is felt back to back, and beyond which a day later [-].

First: just noticeable difference 7 % (Pang, Tan and Durlach 1991, 2.5 to 10 N; Weber's law is extrapolated to
lever forces). Second: a choice.
"""

FELT_POSITION, FELT_POSITION_LATER = 0.0015, 0.005
"""Change of lever position that is felt back to back, and beyond which a day later [m] (a choice).

It lies about the just noticeable difference of finger span, 1 mm at 10 to 20 mm and 2.2 mm at 80 mm (Durlach
and others 1989, from memory).
"""

HAND_SPAN_OVER_LENGTH = 1.09
"""Open hand, tip of thumb to tip of little finger, per hand length [-] (Pheasant's tables, from memory)."""

ROUNDING = 1e-9
"""Steps by which a change may miss a threshold through rounding alone [-]."""


def reach(
    criterion: str,
    finger: str,
    hand_length: Number,
    hand_breadth: Number,
    grip_diameter: Number,
    lever_thickness: Number,
    glove_thickness: Number,
    measured_hold: Number | None = None,
) -> FloatArray:
    """Farthest lever for a named use of the finger, tied to a measured reach where there is one.

    d = d(phi) + (measured - d_hold(phi)),  phi from the measurement; the bracket is zero unless phi met its
    limit.

    Parameters
    ----------
    criterion : str
        What the finger must do: comfortable, hold or touch [-].
    finger : str
        Which finger, also the measured one: index, middle, ring or little [-].
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
    measured_hold : float or FloatArray or None
        Farthest lever that this hand can hold on this grip in this glove, palm side to front; None: not
        measured [m].

    Returns
    -------
    FloatArray
        d, shape (...), palm side of the grip to the front of the lever; hold gives the measured value back
        [m].

    Source
    ------
    Model of reach_distance; criteria are a choice. Without a measurement good for about 10 mm, computed.
    """
    place = (finger, hand_length, hand_breadth, grip_diameter, lever_thickness, glove_thickness)
    if measured_hold is None:
        return reach_distance(*place, *CRITERIA[criterion])
    phi = knuckle_angle(*place, *CRITERIA["hold"], measured_hold)
    rest = measured_hold - reach_distance(*place, *CRITERIA["hold"], phi)
    return reach_distance(*place, *CRITERIA[criterion], phi) + rest


def best_span(sex: str, hand_length: Number) -> FloatArray:
    """Distance at which a hand grips hardest.

    S0 = 55 mm for men; 0.2 times the open hand's span + 15 mm for women, the span being 1.09 HL; else the
    mean of both.

    Parameters
    ----------
    sex : str
        Of the rider: man, woman or unstated [-].
    hand_length : float or FloatArray
        Wrist crease to tip of the middle finger, HL, shape (...) [m].

    Returns
    -------
    FloatArray
        S0, shape (...) [m].

    Source
    ------
    Ruiz-Ruiz and others 2002 (abstract read; that the regression is on the open hand's span is from memory).
    Span per hand length from Pheasant's tables, from memory. The mean for an unstated sex is a choice.
    """
    length = np.asarray(hand_length, dtype=np.float64)
    men = np.full(length.shape, SPAN_MEN)
    women = 0.2 * HAND_SPAN_OVER_LENGTH * length + 0.015
    return np.asarray({"man": men, "woman": women, "unstated": (men + women) / 2.0}[sex])


def span_factor(distance: Number, best_span: Number) -> FloatArray:
    """Share of the greatest grip that a hand has at a distance.

    f = 1 - 0.75 ((S - S0)/S0)^2, not below 0.

    Parameters
    ----------
    distance : float or FloatArray
        Palm side of the grip to the front of the lever, S, shape (..., S) [m].
    best_span : float or FloatArray
        Distance at which this hand grips hardest, S0, broadcastable [m].

    Returns
    -------
    FloatArray
        f, shape (..., S), 1 at S0 [-].

    Source
    ------
    Computed: fit to the four cylinders of Irwin and Radwin 2013 (best 45.7 mm, 236.5 N, 1.2 N rms; four
    points for three numbers, a description and no proof). Below 40 mm it has the least support.
    """
    return np.maximum(
        1.0 - SPAN_FALL * ((np.asarray(distance, dtype=np.float64) - best_span) / best_span) ** 2, 0.0
    )


def finger_share(fingers: Sequence[str]) -> float:
    """Share of the four-finger grip that some fingers pull while the others stay on the grip.

    w = c_n sum(w_i): weights of the fingers alone, and what a group of n makes of their sum.

    Parameters
    ----------
    fingers : sequence of str
        The pulling fingers, each once, in any order: index, middle, ring, little [-].

    Returns
    -------
    float
        w, 0 without fingers, 1 with all four; uncertain by FINGER_SHARE_SPREAD of itself [-].

    Source
    ------
    A choice between studies. Alone: 0.316 index, 0.322 middle, 0.244 ring (Yun 2024); share in a full grip 20
    to 32, 33 to 38, 22 to 29, 12 to 18 % (MacDermid 2004, Li 2002, Amis 1987, Lee 2009). The group factors
    give index with middle 0.55 and all but the little finger 0.82 (little finger left out: 0.67, both outer
    fingers: 0.46, second-hand) and carry these two over to every other pair and triple.
    """
    return GROUP_FACTORS[len(fingers)] * sum(FINGER_WEIGHTS[finger] for finger in fingers)


def glove_factor(glove: str) -> float:
    """Grip left in a glove, per bare grip; to be applied once, to the greatest grip.

    gamma = force in the glove / force of the bare hand.

    Parameters
    ----------
    glove : str
        Kind of glove: none, thin, armoured or winter [-].

    Returns
    -------
    float
        gamma [-].

    Source
    ------
    A choice: work gloves lose up to 22.9 % (Applied Sciences 2021, 11, 8294), gloves against vibration up to
    more than 29 %, a plain one less than 10 % (McDowell and others 2010). Holding time at equal share of the
    greatest force does not change with gloves (abstract, Human Factors Society 1987).
    """
    return GLOVE_FACTORS[glove]


def force_available(
    grip_strength: Number,
    distance: Number,
    best_span: Number,
    finger_share: Number = 1.0,
    glove_factor: Number = 1.0,
) -> FloatArray:
    """Greatest force that the pulling fingers have at a lever.

    F = G f(d) w gamma; optimistic, since G is a power grip and a lever is pulled with the ends of the
    fingers.

    Parameters
    ----------
    grip_strength : float or FloatArray
        Greatest grip of the bare hand at its best span, G, broadcastable [N].
    distance : float or FloatArray
        Palm side of the grip to the front of the lever, d, shape (..., S) [m].
    best_span : float or FloatArray
        Distance at which this hand grips hardest, S0, broadcastable [m].
    finger_share : float or FloatArray
        Share of the grip that the pulling fingers have, w, broadcastable [-].
    glove_factor : float or FloatArray
        Grip left in the glove, gamma, broadcastable [-].

    Returns
    -------
    FloatArray
        F, shape (..., S) [N].

    Source
    ------
    Computed: product of the factors above, with the wrist at its best (20 degrees extended, Li 2002).
    """
    return np.asarray(grip_strength * span_factor(distance, best_span) * finger_share * glove_factor)


def utilisation(force: Number, available: Number) -> FloatArray:
    """Share of the available force that a lever asks for.

    u = F / F_av.

    Parameters
    ----------
    force : float or FloatArray
        Force at the finger, F, shape (..., S) [N].
    available : float or FloatArray
        Greatest force of the pulling fingers there, F_av >= 0, shape (..., S) [N].

    Returns
    -------
    FloatArray
        u, shape (..., S); where nothing is available, infinite for a force and 0 for none [-].

    Source
    ------
    Definition.
    """
    asked, able = np.asarray(force, dtype=np.float64), np.asarray(available, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.asarray(asked / able)
    return np.where(able == 0.0, np.where(asked > 0.0, np.inf, 0.0 * asked), share)


def felt_steps_force(before: Number, after: Number) -> FloatArray:
    """Signed change of a force, counted in changes that can just be felt.

    n = ln(F_2/F_1) / ln 1.07: there and back are equally many steps.

    Parameters
    ----------
    before : float or FloatArray
        Force at the finger before, F_1, shape (...) [N].
    after : float or FloatArray
        Force at the finger after, F_2, broadcastable [N].

    Returns
    -------
    FloatArray
        n, shape (...), positive for heavier. A force of zero or less is none at all: infinitely many steps
        from any other, none from another such [-].

    Source
    ------
    Weber's law with the 7 % of Pang, Tan and Durlach 1991, extrapolated to lever forces.
    """
    first, second = (
        np.maximum(np.asarray(force, dtype=np.float64), 0.0) for force in np.broadcast_arrays(before, after)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        steps = (np.log(second) - np.log(first)) / np.log(FELT_FORCE)
    return np.where((first == 0.0) & (second == 0.0), 0.0, steps)


def felt_steps_position(before: Number, after: Number) -> FloatArray:
    """Signed change of a lever position or travel, counted in changes that can just be felt.

    n = (s_2 - s_1) / 1.5 mm.

    Parameters
    ----------
    before : float or FloatArray
        Position or travel at the finger before, s_1, shape (...) [m].
    after : float or FloatArray
        Position or travel at the finger after, s_2, broadcastable [m].

    Returns
    -------
    FloatArray
        n, shape (...), positive for more [-].

    Source
    ------
    A choice, see FELT_POSITION.
    """
    return np.asarray((np.asarray(after, dtype=np.float64) - before) / FELT_POSITION)


def felt_grade_force(before: Number, after: Number) -> FloatArray:
    """Whether a change of force is felt: 0 not, 1 back to back, 2 a day later.

    q = larger force / smaller force: 0 below 1.07, 1 up to 1.15, 2 above.

    Parameters
    ----------
    before : float or FloatArray
        Force at the finger before, shape (...) [N].
    after : float or FloatArray
        Force at the finger after, broadcastable [N].

    Returns
    -------
    FloatArray
        Grade, shape (...), NaN where a force is [-].

    Source
    ------
    Thresholds of FELT_FORCE: the first from Pang, Tan and Durlach 1991, the second a choice.
    """
    return _grade(np.abs(felt_steps_force(before, after)), np.log(FELT_FORCE_LATER) / np.log(FELT_FORCE))


def felt_grade_position(before: Number, after: Number) -> FloatArray:
    """Whether a change of lever position or travel is felt: 0 not, 1 back to back, 2 a day later.

    0 below 1.5 mm, 1 up to 5 mm, 2 above.

    Parameters
    ----------
    before : float or FloatArray
        Position or travel at the finger before, shape (...) [m].
    after : float or FloatArray
        Position or travel at the finger after, broadcastable [m].

    Returns
    -------
    FloatArray
        Grade, shape (...), NaN where a position is [-].

    Source
    ------
    A choice, see FELT_POSITION.
    """
    return _grade(np.abs(felt_steps_position(before, after)), FELT_POSITION_LATER / FELT_POSITION)


def _grade(steps: FloatArray, later: float) -> FloatArray:
    """Grade of a number of steps; a change that stands on a threshold counts as felt back to back."""
    grade = np.where(steps < 1.0 - ROUNDING, 0.0, np.where(steps <= later + ROUNDING, 1.0, 2.0))
    return np.where(np.isnan(steps), np.nan, grade)
