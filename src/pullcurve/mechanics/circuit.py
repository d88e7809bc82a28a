"""A hydraulic line: what volume it asks for at a pressure, and what pressure it answers to a volume."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import Curve, FloatArray, Number, evaluate, invert

AMBIENT_PRESSURE = 101_325.0
"""Standard atmosphere [Pa] (ISO 2533)."""

PRESSURE_KNOTS = np.concatenate([[0.0], np.geomspace(1.0e3, 4.0e7, 30)])
"""Brackets for the inversion [Pa]: from a hundredth of a bar to what no hand makes."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """What a line takes up, each broadcastable to (..., S).

    gap_volume [m3] and gap_pressure [Pa]: pads coming in. seat_volume [m3] and seat_pressure [Pa]: soft seating of
    pads and seals. expansion [m3/Pa]: hose, caliper or housing together. fluid_volume [m3], bulk_modulus [Pa].
    air_volume [m3] at ambient pressure, air_exponent [-]: 1 slow, 1.4 fast.
    """

    gap_volume: Number
    gap_pressure: Number
    seat_volume: Number
    seat_pressure: Number
    expansion: Number
    fluid_volume: Number
    bulk_modulus: Number
    air_volume: Number
    air_exponent: Number


def demand(circuit: Circuit, pressure: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Volume that must be pushed in to reach a pressure, and its derivative.

    V(p) = V_gap (1 - exp(-p/p_gap)) + V_seat (1 - exp(-p/p_seat)) + (K + V_fluid/B) p
         + V_air (1 - (p_0/(p + p_0))^(1/n)).

    Parameters
    ----------
    circuit : Circuit
        The line [SI, see the class].
    pressure : FloatArray
        Gauge pressure, p >= 0, shape (..., S) [Pa].

    Returns
    -------
    tuple of FloatArray
        V [m3] and dV/dp [m3/Pa], each (..., S); V strictly increases.

    Source
    ------
    Sum of the usual compliances; air as in the entrained-air model of common hydraulic libraries (polytropic gas);
    gap and seat as saturating exponentials: common practice for a fit, no publication.
    """
    p = np.asarray(pressure, dtype=np.float64)
    gap = np.exp(-p / circuit.gap_pressure)
    seat = np.exp(-p / circuit.seat_pressure)
    air = (AMBIENT_PRESSURE / (p + AMBIENT_PRESSURE)) ** (1.0 / circuit.air_exponent)
    stiff = circuit.expansion + circuit.fluid_volume / circuit.bulk_modulus
    volume = (
        circuit.gap_volume * (1.0 - gap)
        + circuit.seat_volume * (1.0 - seat)
        + circuit.air_volume * (1.0 - air)
        + stiff * p
    )
    slope = (
        circuit.gap_volume / circuit.gap_pressure * gap
        + circuit.seat_volume / circuit.seat_pressure * seat
        + circuit.air_volume * air / (circuit.air_exponent * (p + AMBIENT_PRESSURE))
        + stiff
    )
    return volume, slope


def pressure(circuit: Circuit, volume: FloatArray) -> FloatArray:
    """Pressure that answers a volume pushed in: the inverse of ``demand``.

    Parameters
    ----------
    circuit : Circuit
        The line [SI, see the class].
    volume : FloatArray
        Volume pushed past the closed port, V, shape (..., S) [m3].

    Returns
    -------
    FloatArray
        Gauge pressure p, shape (..., S), 0 for V <= 0 [Pa].

    Source
    ------
    Inversion by guarded Newton steps; p(V(p)) = p is tested as a law.
    """
    pushed = np.maximum(np.asarray(volume, dtype=np.float64), 0.0)
    return invert(lambda p: demand(circuit, p), PRESSURE_KNOTS, pushed)


def stored_energy(circuit: Circuit, pressure: FloatArray) -> FloatArray:
    """Energy that the line holds at a pressure.

    U = int_0^V p dV, term by term in closed form.

    Parameters
    ----------
    circuit : Circuit
        The line [SI, see the class].
    pressure : FloatArray
        Gauge pressure, p, shape (..., S) [Pa].

    Returns
    -------
    FloatArray
        U, shape (..., S) [J].

    Source
    ------
    Integral of p dV/dp (identity); checked against quadrature in the tests.
    """
    p = np.asarray(pressure, dtype=np.float64)
    soft = np.zeros_like(p)
    for volume, scale in (
        (circuit.gap_volume, circuit.gap_pressure),
        (circuit.seat_volume, circuit.seat_pressure),
    ):
        soft = soft + volume * (scale - (p + scale) * np.exp(-p / scale))
    stiff = circuit.expansion + circuit.fluid_volume / circuit.bulk_modulus
    return soft + stiff * p**2 / 2.0 + _air_energy(circuit, p)


def _air_energy(circuit: Circuit, p: FloatArray) -> FloatArray:
    """Gauge-pressure work on the free gas; the isothermal limit n = 1 has a logarithm."""
    n = np.asarray(circuit.air_exponent, dtype=np.float64)
    ratio = (p + AMBIENT_PRESSURE) / AMBIENT_PRESSURE
    share = 1.0 / n
    isothermal = np.isclose(n, 1.0)
    power = np.where(isothermal, 2.0, 1.0 - share)  # any value but zero where the logarithm is taken instead
    absolute = np.where(isothermal, np.log(ratio), share * (ratio ** (1.0 - share) - 1.0) / power)
    swept = 1.0 - ratio ** (-share)
    return circuit.air_volume * AMBIENT_PRESSURE * (absolute - swept)


def plate_lift(
    volume: FloatArray, slave_area: Number, release: Curve, compliance: Circuit, knots: FloatArray
) -> FloatArray:
    """Plate lift of a hydraulic clutch for a volume pushed in by the lever's plunger.

    V = A_s s + V_c(F(s)/A_s): the slave's travel plus what the line swallows at the pressure that the plates ask.

    Parameters
    ----------
    volume : FloatArray
        Volume past the closed port, V, shape (..., S) [m3].
    slave_area : FloatArray
        Slave piston area, A_s, broadcastable [m2].
    release : Curve
        Release force over plate lift, F(s), leading axes (...) [N].
    compliance : Circuit
        The line without the plates [SI, see the class].
    knots : FloatArray
        Lifts that bracket the answer, with every break of the curve among them, shape (..., K) [m].

    Returns
    -------
    FloatArray
        s, shape (..., S), 0 for V <= 0; NaN beyond a bounded release curve [m].

    Source
    ------
    Balance of volumes and of force at the slave (identity).
    """
    pushed = np.maximum(np.asarray(volume, dtype=np.float64), 0.0)
    return invert(lambda s: lift_volume(s, slave_area, release, compliance), knots, pushed)


def lift_volume(
    lift: FloatArray, slave_area: Number, release: Curve, compliance: Circuit
) -> tuple[FloatArray, FloatArray]:
    """Volume that a hydraulic clutch asks for at a plate lift, and its derivative.

    Parameters
    ----------
    lift : FloatArray
        Plate lift, s, shape (..., S) [m].
    slave_area : FloatArray
        Slave piston area, A_s, broadcastable [m2].
    release : Curve
        Release force over plate lift, F(s), leading axes (...) [N].
    compliance : Circuit
        The line without the plates [SI, see the class].

    Returns
    -------
    tuple of FloatArray
        V [m3] and dV/ds [m2], each (..., S).

    Source
    ------
    As ``plate_lift``.
    """
    force, rate, _ = evaluate(release, lift)
    swallowed, per_pressure = demand(compliance, np.maximum(force / slave_area, 0.0))
    return slave_area * lift + swallowed, slave_area + per_pressure * rate / slave_area


def effective_bulk_modulus(
    pressure: FloatArray, bulk_modulus: Number, air_share: Number, air_exponent: Number
) -> FloatArray:
    """Tangent bulk modulus of a liquid with free air in it.

    E = E_l (1 + a x^(1/n)) / (1 + a E_l p_0^(1/n) / (n (p_0 + p)^((n+1)/n))),  x = p_0/(p_0 + p).

    Parameters
    ----------
    pressure : FloatArray
        Gauge pressure, p, shape (..., S) [Pa].
    bulk_modulus : FloatArray
        Of the liquid alone, E_l, broadcastable [Pa].
    air_share : FloatArray
        Free air to liquid volume at ambient pressure, a, broadcastable [-].
    air_exponent : FloatArray
        Polytropic exponent, n, broadcastable [-].

    Returns
    -------
    FloatArray
        E, shape (..., S), between 0 and E_l [Pa].

    Source
    ------
    Hydraulic-fluid and constant-volume-chamber reference pages of a simulation suite (read, formula decoded).
    """
    p = np.asarray(pressure, dtype=np.float64)
    absolute = AMBIENT_PRESSURE + p
    inverse = 1.0 / np.asarray(air_exponent, dtype=np.float64)
    above = 1.0 + air_share * (AMBIENT_PRESSURE / absolute) ** inverse
    below = 1.0 + air_share * bulk_modulus * AMBIENT_PRESSURE**inverse * inverse / absolute ** (1.0 + inverse)
    return bulk_modulus * above / below


def closed_port_pressure(
    circuit: Circuit, hot_volume: Number, expansion_coefficient: Number, temperature_rise: Number
) -> FloatArray:
    """Pressure that hot fluid builds up when the compensating port never opens.

    beta V_hot dT = V(p): first the pad gap closes, then pressure rises.

    Parameters
    ----------
    circuit : Circuit
        The line [SI, see the class].
    hot_volume : FloatArray
        Fluid that is heated with the caliper, V_hot, broadcastable [m3].
    expansion_coefficient : FloatArray
        Volumetric expansion of the fluid, beta, broadcastable [1/K].
    temperature_rise : FloatArray
        Heating, dT, shape (..., S) [K].

    Returns
    -------
    FloatArray
        Gauge pressure, shape (..., S) [Pa].

    Source
    ------
    Volume balance of a closed line (identity); numbers of the worked cases are computed.
    """
    return pressure(
        circuit, expansion_coefficient * hot_volume * np.asarray(temperature_rise, dtype=np.float64)
    )
