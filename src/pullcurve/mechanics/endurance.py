"""How long a hand lasts: single holds, limits for repeated pulls, and the strength that fatigue takes.

Shares are of the greatest force of the pulling fingers at that place. Read results as a ranking of cams or as
a band, never as minutes to the end of a ride.
"""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

HOLD_SECONDS, HOLD_POWER = 33.55, -1.61
"""Holding time of a grip at full force [s], and its power of the share [-] (see holding_time)."""

HOLD_SPREAD = (0.53, 1.47)
"""Prediction interval of single holding times, as factors [-] (the same, the widest of 29 to 47 %)."""

LEAST_DUTY = 1.0 / 28_800.0
"""Shortest share of a working day, one second in eight hours [-] (Potvin 2012, from memory)."""

MEAN_LIMIT_HOUR = 0.14
"""Mean effort that can be kept up for an hour with pauses [-] (Björkstén and Jonsson 1977, abstract)."""

MEAN_LIMIT_GRIP = 0.17
"""Mean effort that grips with pauses should not exceed [-] (Byström and Fransson-Hall 1994, as quoted)."""

FATIGUE_RATE, RECOVERY_RATE = 0.00980, 0.00064
"""Rates of tiring and of recovery, grip muscles [1/s] (Frey-Law and others 2012 table 1, as quoted)."""

REST_MULTIPLIER = 30.0
"""How much faster it recovers at full rest [-] (Looft, Herkert and Frey-Law 2018, as quoted)."""

BLOOD_FLOW_LIMIT = 0.15
"""Share of greatest force from which a muscle's blood flow no longer keeps up [-] (secondary sources)."""

FATIGUE_VALID = 0.6
"""Highest share for which the fatigue model holds [-] (computed: above it fails too soon)."""


@dataclass(frozen=True, slots=True)
class Screens:
    """Effort per limit, each (...) [-]: at most 1 passes. Two on the pulls' peak, two on the mean effort."""

    peak_potvin: FloatArray
    peak_acgih: FloatArray
    mean_hour: FloatArray
    mean_grip: FloatArray


@dataclass(frozen=True, slots=True)
class Fatigue:
    """What pulling again and again takes, each (...).

    ``tendency`` [-]: loss of strength that the hand tends to, above 1 without a balance. ``time_constant``
    [s]. ``loss`` [-]: strength lost in the long run, or at failure. ``failure_time`` [s]: until the strength
    left is what the effort asks for; infinite where it never comes to that. All NaN outside the model's
    range.
    """

    tendency: FloatArray
    time_constant: FloatArray
    loss: FloatArray
    failure_time: FloatArray


def holding_time(share: Number) -> FloatArray:
    """Time for which a steady grip can be held, median.

    t = 33.55 s f^-1.61.

    Parameters
    ----------
    share : float or FloatArray
        Force per greatest force, f, shape (...) [-].

    Returns
    -------
    FloatArray
        t, shape (...), NaN outside 0.1 <= f <= 1, where it was fitted; single people lie within HOLD_SPREAD
        of it [s].

    Source
    ------
    Frey Law and Avin 2010, table 2, grip, R2 = 0.748, as quoted in two independent copies.
    """
    return HOLD_SECONDS * _within(share, 0.1, 1.0) ** HOLD_POWER


def holding_time_band(share: Number) -> tuple[FloatArray, FloatArray]:
    """Shortest and longest time for which single people may hold a steady grip.

    0.53 t and 1.47 t, t as in ``holding_time``.

    Parameters
    ----------
    share : float or FloatArray
        Force per greatest force, f, shape (...) [-].

    Returns
    -------
    tuple of FloatArray
        Both ends of the band, each (...) [s].

    Source
    ------
    Frey Law and Avin 2010, prediction interval, the widest value, as quoted.
    """
    middle = holding_time(share)
    return HOLD_SPREAD[0] * middle, HOLD_SPREAD[1] * middle


def rohmert_time(share: Number) -> FloatArray:
    """Time for which any steady effort can be held, the older curve.

    t = 60 s (-1.5 + 2.1/f - 0.6/f^2 + 0.1/f^3).

    Parameters
    ----------
    share : float or FloatArray
        Force per greatest force, f, shape (...) [-].

    Returns
    -------
    FloatArray
        t, shape (...), NaN outside 0.15 < f <= 1; the curve calls less endless, which later work denies [s].

    Source
    ------
    Rohmert 1960, from memory.
    """
    f = _within(share, np.nextafter(0.15, 1.0), 1.0)
    return 60.0 * (-1.5 + 2.1 / f - 0.6 / f**2 + 0.1 / f**3)


def potvin_limit(duty: Number) -> FloatArray:
    """Greatest acceptable effort for a duty.

    f = 1 - (DC - 1/28800)^0.24.

    Parameters
    ----------
    duty : float or FloatArray
        Share of the time spent pulling, DC, shape (...) [-].

    Returns
    -------
    FloatArray
        f, shape (...), 1 for one second in a working day, NaN outside 1/28800 <= DC <= 1 [-].

    Source
    ------
    Potvin 2012, from memory; 7 % of greatest force rms against the data (abstract).
    """
    return 1.0 - (_within(duty, LEAST_DUTY, 1.0) - LEAST_DUTY) ** 0.24


def acgih_limit(duty: Number) -> FloatArray:
    """Threshold limit of upper limb effort for a duty, made for two hours a day of cyclic work and more.

    f = 0.066 - 0.143 ln DC.

    Parameters
    ----------
    duty : float or FloatArray
        Share of the time spent pulling, DC, shape (...) [-].

    Returns
    -------
    FloatArray
        f, shape (...), never above 1, NaN outside 0 < DC <= 1 [-].

    Source
    ------
    ACGIH 2016, from memory.
    """
    return np.minimum(0.066 - 0.143 * np.log(_within(duty, np.nextafter(0.0, 1.0), 1.0)), 1.0)


def mean_effort(pull_share: Number, duty: Number, hold_share: Number) -> FloatArray:
    """Mean effort of pulls with a hold on the bar between them.

    a = DC T + (1 - DC) h.

    Parameters
    ----------
    pull_share : float or FloatArray
        Effort while pulling per greatest force, T, shape (...) [-].
    duty : float or FloatArray
        Share of the time spent pulling, DC, broadcastable [-].
    hold_share : float or FloatArray
        Effort on the bar between pulls per greatest force, h, broadcastable [-].

    Returns
    -------
    FloatArray
        a, shape (...) [-].

    Source
    ------
    Definition.
    """
    return np.asarray(duty * np.asarray(pull_share, dtype=np.float64) + (1.0 - duty) * hold_share)


def screens(pull_share: Number, duty: Number, hold_share: Number) -> Screens:
    """Compare pulls with the published limits for efforts with pauses.

    T / f_Potvin(DC), T / f_ACGIH(DC), a / 0.14, a / 0.17.

    Parameters
    ----------
    pull_share : float or FloatArray
        Effort while pulling per greatest force, T, shape (...) [-].
    duty : float or FloatArray
        Share of the time spent pulling, DC, broadcastable [-].
    hold_share : float or FloatArray
        Effort on the bar between pulls per greatest force, h, broadcastable [-].

    Returns
    -------
    Screens
        Effort per limit, each (...), at most 1 passes [-].

    Source
    ------
    Potvin 2012 and ACGIH 2016, from memory; Björkstén and Jonsson 1977 (abstract; elbow flexors, from
    memory); Byström and Fransson-Hall 1994, as quoted.
    """
    pull = np.asarray(pull_share, dtype=np.float64)
    mean = mean_effort(pull, duty, hold_share)
    return Screens(
        peak_potvin=np.asarray(pull / potvin_limit(duty)),
        peak_acgih=np.asarray(pull / acgih_limit(duty)),
        mean_hour=mean / MEAN_LIMIT_HOUR,
        mean_grip=mean / MEAN_LIMIT_GRIP,
    )


def recovery_multiplier(hold_share: Number) -> FloatArray:
    """How much faster tired muscle recovers between pulls than while pulling.

    r(h) = 1 + 29 max(0, 1 - h/0.15).

    Parameters
    ----------
    hold_share : float or FloatArray
        Effort on the bar between pulls per greatest force, h, shape (...) [-].

    Returns
    -------
    FloatArray
        r, shape (...), 30 at full rest, 1 from the blood-flow limit on [-].

    Source
    ------
    30 at full rest: Looft, Herkert and Frey-Law 2018, as quoted. The fall with h is an assumption made here.
    """
    return 1.0 + (REST_MULTIPLIER - 1.0) * np.maximum(
        1.0 - np.asarray(hold_share, dtype=np.float64) / BLOOD_FLOW_LIMIT, 0.0
    )


def fatigue(pull_share: Number, duty: Number, hold_share: Number) -> Fatigue:
    """Strength lost to pulls with a hold on the bar between them: three compartments, averaged over a cycle.

    M' = F a - kappa M,  kappa = R (DC + (1 - DC) r(h)),  M_inf = F a/kappa,  tau = 1/kappa; fails at
    t = -tau ln(1 - (1 - P)/M_inf) if M_inf > 1 - P, P the larger of T and h.

    Parameters
    ----------
    pull_share : float or FloatArray
        Effort while pulling per greatest force, T, shape (...) [-].
    duty : float or FloatArray
        Share of the time spent pulling, DC, broadcastable [-].
    hold_share : float or FloatArray
        Effort on the bar between pulls per greatest force, h, broadcastable [-].

    Returns
    -------
    Fatigue
        M_inf, tau, loss and time to failure, each (...) [-, s, -, s]; NaN unless 0 <= T, h <= 0.6 and
        0 <= DC <= 1.

    Source
    ------
    Frey-Law and others 2012 (rates), Looft and others 2018 (rest), as quoted; r(h) is an assumption. Very
    steep in h: h of 0.09 to 0.10 gives the 40 to 53 % that riders lost in braking trials (Marina 2015,
    Torrado 2015, Marina 2021), a calibration, not a validation. For long cycles against tau and for arm pump
    it says nothing.
    """
    pull, hold, part = (
        _within(given, 0.0, most)
        for given, most in ((pull_share, FATIGUE_VALID), (hold_share, FATIGUE_VALID), (duty, 1.0))
    )
    pull, hold, part = np.broadcast_arrays(pull, hold, part)
    known = np.where(np.isnan(pull), np.nan, 1.0)  # what is unknown in the pulls is so in the recovery too
    rate = known * RECOVERY_RATE * (part + (1.0 - part) * recovery_multiplier(hold))
    tendency = FATIGUE_RATE * mean_effort(pull, part, hold) / rate
    spare = 1.0 - np.maximum(pull, hold)
    left = 1.0 - spare / np.where(tendency > spare, tendency, np.nan)
    failure = np.where(tendency <= spare, np.inf, -np.log(left) / rate)
    return Fatigue(tendency, np.asarray(1.0 / rate), np.minimum(tendency, spare), failure)


def fatigue_loss(state: Fatigue, time: Number) -> FloatArray:
    """Strength lost by a time, fresh at the start.

    M = M_inf (1 - exp(-t/tau)), held at its value at failure.

    Parameters
    ----------
    state : Fatigue
        What the pulls tend to, each (...) [SI, see the class].
    time : float or FloatArray
        Since the start, t, broadcastable [s].

    Returns
    -------
    FloatArray
        M, shape (...) [-].

    Source
    ------
    Solution of the linear equation in ``fatigue`` (identity).
    """
    until = np.minimum(np.asarray(time, dtype=np.float64), state.failure_time)
    return np.asarray(state.tendency * -np.expm1(-until / state.time_constant))


def _within(value: Number, least: float, most: float) -> FloatArray:
    """The values that lie in a range, NaN for the others."""
    known = np.asarray(value, dtype=np.float64)
    return np.where((known >= least) & (known <= most), known, np.nan)
