"""The wire of a coil spring: how strong it is, and how hard force or torque on the coil strain it."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from pullcurve.mechanics.curve import FloatArray, Number

ENDURANCE_SHARE, YIELD_SHARE = 0.22, 0.45
"""Pulsating endurance and shear yield per ultimate strength, patented wire [-] (Bhandari example 10.16)."""


@dataclass(frozen=True, slots=True)
class Wire:
    """One row of the table: S_ut = A (1 mm/d)^m from the least to the most d; A [Pa], m [-], d [m]."""

    intercept: float
    exponent: float
    least: float
    most: float


WIRES: Mapping[str, tuple[Wire, ...]] = MappingProxyType(
    {
        "music": (Wire(2211e6, 0.145, 0.1e-3, 6.5e-3),),
        "oil tempered": (Wire(1855e6, 0.187, 0.5e-3, 12.7e-3),),
        "hard drawn": (Wire(1783e6, 0.190, 0.7e-3, 12.7e-3),),
        "chrome vanadium": (Wire(2005e6, 0.168, 0.8e-3, 11.1e-3),),
        "chrome silicon": (Wire(1974e6, 0.108, 1.6e-3, 9.5e-3),),
        "stainless": (
            Wire(1867e6, 0.146, 0.3e-3, 2.5e-3),
            Wire(2065e6, 0.263, 2.5e-3, 5e-3),
            Wire(2911e6, 0.478, 5e-3, 10e-3),
        ),
        "phosphor bronze": (
            Wire(1000e6, 0.0, 0.1e-3, 0.6e-3),
            Wire(913e6, 0.028, 0.6e-3, 2e-3),
            Wire(932e6, 0.064, 2e-3, 7.5e-3),
        ),
    }
)
"""Spring wires: Shigley, Mechanical Engineering Design, table 10-4 (read in a library's data file)."""


def wire_strength(wire: str, wire_diameter: Number) -> FloatArray:
    """Ultimate tensile strength of a spring wire: thin wire is drawn stronger.

    S_ut = A (1 mm/d)^m.

    Parameters
    ----------
    wire : str
        One of ``WIRES`` [-].
    wire_diameter : float or FloatArray
        Wire diameter, d, shape (...) [m].

    Returns
    -------
    FloatArray
        S_ut, shape (...), NaN outside the diameters of the table [Pa].

    Source
    ------
    Shigley, Mechanical Engineering Design, table 10-4 (read in a library's data file).
    """
    d = np.asarray(wire_diameter, dtype=np.float64)
    strength = np.full(d.shape, np.nan)
    for row in WIRES[wire]:
        inside = (d >= row.least) & (d <= row.most)
        strength = np.where(inside, row.intercept * (1e-3 / d) ** row.exponent, strength)
    return strength


def shear_factor(index: Number, kind: str = "wahl") -> FloatArray:
    """Factor on the shear stress of a coil: direct shear alone, or with the curvature of the wire.

    static 1 + 1/(2 C); wahl (4 C - 1)/(4 C - 4) + 0.615/C; bergstraesser (4 C + 2)/(4 C - 3).

    Parameters
    ----------
    index : float or FloatArray
        Mean diameter per wire diameter, C > 1, shape (...) [-].
    kind : str
        "static" (after setting), "wahl" or "bergstraesser" (as in EN 13906-1) [-].

    Returns
    -------
    FloatArray
        K, shape (...) [-].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10; Bhandari, Design of Machine Elements, ch. 10.
    """
    c = np.asarray(index, dtype=np.float64)
    factors = {
        "static": lambda: 1.0 + 0.5 / c,
        "wahl": lambda: (4.0 * c - 1.0) / (4.0 * c - 4.0) + 0.615 / c,
        "bergstraesser": lambda: (4.0 * c + 2.0) / (4.0 * c - 3.0),
    }
    return np.asarray(factors[kind]())


def shear_stress(force: Number, wire_diameter: Number, mean_diameter: Number, factor: Number) -> FloatArray:
    """Shear stress at the inside of a compression spring's coil.

    tau = K 8 F D / (pi d^3).

    Parameters
    ----------
    force : float or FloatArray
        Spring force, F, shape (..., S) [N].
    wire_diameter, mean_diameter : float or FloatArray
        Diameters of the wire, d, and of the coil's middle line, D, broadcastable [m].
    factor : float or FloatArray
        From ``shear_factor``, K, broadcastable [-].

    Returns
    -------
    FloatArray
        tau, shape (..., S) [Pa].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10.
    """
    return np.asarray(factor * 8.0 * force * mean_diameter / (np.pi * np.asarray(wire_diameter) ** 3))


def torsion_stress(moment: Number, wire_diameter: Number, mean_diameter: Number) -> FloatArray:
    """Bending stress at the inside of a torsion spring's coil.

    sigma = K_i 32 M/(pi d^3), K_i = (4 C^2 - C - 1)/(4 C (C - 1)), C = D/d. Wind it up, never open.

    Parameters
    ----------
    moment : float or FloatArray
        Torque, M, shape (..., S) [N m].
    wire_diameter, mean_diameter : float or FloatArray
        Diameters of the wire, d, and of the coil's middle line, D, broadcastable [m].

    Returns
    -------
    FloatArray
        sigma, shape (..., S) [Pa].

    Source
    ------
    Shigley, Mechanical Engineering Design, ch. 10, torsion springs.
    """
    d = np.asarray(wire_diameter, dtype=np.float64)
    c = mean_diameter / d
    factor = (4.0 * c**2 - c - 1.0) / (4.0 * c * (c - 1.0))
    return np.asarray(factor * 32.0 * moment / (np.pi * d**3))


def endurance_safety(mean_stress: Number, stress_amplitude: Number, strength: Number) -> FloatArray:
    """Safety of a spring against fatigue, for any number of cycles.

    1/f = (tau_m + tau_a (S_y - S_e/2)/(S_e/2)) / S_y, S_e = 0.22 S_ut, S_y = 0.45 S_ut: a line from the
    pulsating endurance strength to shear yield.

    Parameters
    ----------
    mean_stress, stress_amplitude : float or FloatArray
        Mean shear stress with the static factor, tau_m, and amplitude with Wahl's, tau_a, shape (...) [Pa].
    strength : float or FloatArray
        Ultimate tensile strength of the wire, S_ut, broadcastable [Pa].

    Returns
    -------
    FloatArray
        f, shape (...), below 1 it breaks or sets [-].

    Source
    ------
    V. B. Bhandari, Design of Machine Elements, example 10.16 (read in a companion script).
    """
    half, yielding = ENDURANCE_SHARE / 2.0, YIELD_SHARE
    slope = half / (yielding - half)
    return np.asarray(yielding * strength / (mean_stress + stress_amplitude / slope))
