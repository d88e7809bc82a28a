"""Cam laws: how far the rocker has turned at each lever angle, with its first two derivatives.

The classic motion laws are given over a unit interval; the cams of a control unit are piecewise polynomials
(:class:`~pullcurve.mechanics.curve.Curve`), so that a whole rack is evaluated at once.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from pullcurve.mechanics.curve import Curve, FloatArray, evaluate, hermite
from pullcurve.mechanics.spline import basis, spline_curve, straight_on


@dataclass(frozen=True, slots=True)
class Law:
    """Rocker angle and its derivatives travel together: psi [rad], dpsi [-], d2psi [1/rad], each (..., S)."""

    psi: FloatArray
    dpsi: FloatArray
    d2psi: FloatArray


Motion = Callable[[FloatArray], tuple[FloatArray, FloatArray, FloatArray]]


def _polynomial(coefficients: tuple[float, ...]) -> Motion:
    """A motion law that is one polynomial in u, lowest power first."""
    curve = Curve(np.array([0.0, 1.0]), np.array([coefficients], dtype=np.float64))
    return lambda u: evaluate(curve, u)


def _parabolic(u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    first = u < 0.5
    v = 1.0 - u
    return (
        np.where(first, 2 * u**2, 1 - 2 * v**2),
        np.where(first, 4 * u, 4 * v),
        np.where(first, 4.0, -4.0),
    )


def _harmonic(u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    angle = np.pi * u
    return (1 - np.cos(angle)) / 2, np.pi / 2 * np.sin(angle), np.pi**2 / 2 * np.cos(angle)


def _cycloidal(u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    angle = 2 * np.pi * u
    return u - np.sin(angle) / (2 * np.pi), 1 - np.cos(angle), 2 * np.pi * np.sin(angle)


def _modified_sine(u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Quarter sine of acceleration over 1/8, a long sine over 3/4, quarter sine over 1/8."""
    peak = 4 * np.pi**2 / (np.pi + 4)
    c = np.pi / (4 + np.pi)
    ends = 4 * np.pi * u
    middle = 4 * np.pi * u / 3 + np.pi / 3
    inner = (u >= 0.125) & (u <= 0.875)
    value = c * (u - np.sin(ends) / (4 * np.pi))
    value = np.where(u > 0.875, c * (4 / np.pi + u - np.sin(ends) / (4 * np.pi)), value)
    value = np.where(inner, c * (2 / np.pi + u - 9 / (4 * np.pi) * np.sin(middle)), value)
    slope = np.where(inner, c * (1 - 3 * np.cos(middle)), c * (1 - np.cos(ends)))
    bend = np.where(inner, peak * np.sin(middle), peak * np.sin(ends))
    return value, slope, bend


def _modified_trapezoid(u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Trapezoid of acceleration with its corners rounded by quarter sines of 1/8; point-symmetric about 1/2."""
    peak = 8 * np.pi / (np.pi + 2)
    first = u <= 0.5
    w = np.where(first, u, 1 - u)
    s = 1 / (4 * np.pi)
    ramp = (w / (4 * np.pi) - s**2 * np.sin(w / s), (1 - np.cos(w / s)) * s, np.sin(w / s))
    y1, v1 = 0.125 * s - s**2, s
    t = w - 0.125
    flat = (y1 + v1 * t + t**2 / 2, v1 + t, np.ones_like(w))
    y2, v2 = y1 + v1 * 0.25 + 0.03125, v1 + 0.25
    t = w - 0.375
    fall = (y2 + v2 * t + s**2 * (1 - np.cos(t / s)), v2 + s * np.sin(t / s), np.cos(t / s))
    pick = [w <= 0.125, w <= 0.375]
    value, slope, bend = (peak * np.select(pick, [a, b], c) for a, b, c in zip(ramp, flat, fall, strict=True))
    return np.where(first, value, 1 - value), slope, np.where(first, bend, -bend)


MOTIONS: Mapping[str, Motion] = MappingProxyType(
    {
        "linear": _polynomial((0, 1)),
        "parabolic": _parabolic,
        "harmonic": _harmonic,
        "modified trapezoid": _modified_trapezoid,
        "modified sine": _modified_sine,
        "cycloidal": _cycloidal,
        "polynomial 3-4-5": _polynomial((0, 0, 0, 10, -15, 6)),
        "polynomial 4-5-6-7": _polynomial((0, 0, 0, 0, 35, -84, 70, -20)),
    }
)
"""Motion laws over 0 <= u <= 1 from 0 to 1, by the names that the textbooks use."""


def motion(name: str, share: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Textbook motion law over the unit interval.

    y(0) = 0, y(1) = 1; velocity and acceleration factors follow by derivative.

    Parameters
    ----------
    name : str
        One of ``MOTIONS`` [-].
    share : FloatArray
        Share of the rise, u, 0 to 1, shape (..., S) [-].

    Returns
    -------
    tuple of FloatArray
        y, dy/du, d2y/du2, each (..., S) [-].

    Source
    ------
    R. L. Norton, Design of Machinery, ch. 8, table 8-2 (peak factors, read as an image of the table).
    """
    return MOTIONS[name](np.asarray(share, dtype=np.float64))


def motion_curve(
    name: str,
    start: FloatArray | float,
    rise: FloatArray | float,
    angle: FloatArray | float,
    pieces: int = 48,
) -> Curve:
    """A textbook motion law as a piecewise quintic over a working angle.

    psi = psi_0 + h y(theta / beta).

    Parameters
    ----------
    name : str
        One of ``MOTIONS`` [-].
    start : FloatArray
        Rocker angle at rest, psi_0, shape (...) [rad].
    rise : FloatArray
        Rocker turn over the flank, h, negative for a fall, shape (...) [rad].
    angle : FloatArray
        Working angle of the flank, beta, shape (...) [rad].
    pieces : int
        Quintic pieces; a multiple of 8 puts the joints of all classic laws on a break [-].

    Returns
    -------
    Curve
        psi(theta) with leading axes (...), good to about 1e-9 of the rise; where the parabolic law's acceleration
        jumps, one piece rounds the jump and is off by up to 0.14/pieces^2 of the rise [rad].

    Source
    ------
    As ``motion``; quintic Hermite interpolation.
    """
    start, rise, angle = np.broadcast_arrays(
        *(np.asarray(part, dtype=np.float64)[..., None] for part in (start, rise, angle))
    )
    share = np.linspace(0.0, 1.0, pieces + 1)
    value, slope, bend = motion(name, share)
    return hermite(angle * share, start + rise * value, rise / angle * slope, rise / angle**2 * bend)


TAKE_UP_PEAK = 1.0 - 1.0 / np.sqrt(3.0)
"""Where along the flank the take-up bump is highest."""


def rise_curve(
    start: FloatArray | float,
    rise: FloatArray | float,
    take_up: FloatArray | float,
    flank: FloatArray | float,
) -> Curve:
    """Law of a brake or clutch cam: a straight rise and a long, smooth take-up bump that is gone at the end.

    psi = psi_0 + h u + t (3 sqrt(3)/2) u (1 - u)(2 - u), u = theta/beta; beyond the flank the slope stays.
    The bump is 1 at its highest, zero at both ends and has no second derivative at the far one, so that all
    take-up variants of a cam end at the same point and the convex side stays as round as it can.

    Parameters
    ----------
    start : FloatArray
        Rocker angle at rest, psi_0, shape (...) [rad].
    rise : FloatArray
        Rocker turn over the flank, h, shape (...) [rad].
    take_up : FloatArray
        Extra rocker turn at the top of the bump, t, shape (...) [rad].
    flank : FloatArray
        Working angle of the cam, beta, shape (...) [rad].

    Returns
    -------
    Curve
        psi(theta), leading axes (...) [rad].

    Source
    ------
    Common practice (variants share their end point); the shape of the bump is this project's own.
    """
    start, rise, take_up, flank = _columns(start, rise, take_up, flank)
    bump = 1.5 * np.sqrt(3.0) * take_up
    zero = np.zeros_like(start)
    working = [start, (rise + 2 * bump) / flank, -3 * bump / flank**2, bump / flank**3]
    beyond = [start + rise, (rise - bump) / flank, zero, zero]
    pieces = np.stack([np.stack(working, axis=-1), np.stack(beyond, axis=-1)], axis=-2)
    return Curve(np.stack([zero, flank, 2 * flank], axis=-1), pieces)


def fall_curve(
    start: FloatArray | float, onset: FloatArray | float, blend: FloatArray | float, fall: FloatArray | float
) -> Curve:
    """Law of an assist cam: neutral part, blend, steady fall.

    psi' = 0 up to the onset, then -m (3 v^2 - 2 v^3) with v = (theta - onset)/blend, then -m.

    Parameters
    ----------
    start : FloatArray
        Rocker angle over the neutral part, psi_0, shape (...) [rad].
    onset : FloatArray
        Lever angle where the fall begins, shape (...) [rad].
    blend : FloatArray
        Lever angle over which the slope builds up, shape (...) [rad].
    fall : FloatArray
        Rocker turn let down per lever turn, m, shape (...) [-].

    Returns
    -------
    Curve
        psi(theta), leading axes (...), with continuous second derivative [rad].

    Source
    ------
    Cubic step (Hermite); common practice for the three parts of a reverse-profile cam.
    """
    start, onset, blend, fall = _columns(start, onset, blend, fall)
    zero = np.zeros_like(start)
    neutral = [start, zero, zero, zero, zero]
    building = [start, zero, zero, -fall / blend**2, fall / (2 * blend**3)]
    steady = [start - fall * blend / 2, -fall, zero, zero, zero]
    pieces = np.stack([np.stack(part, axis=-1) for part in (neutral, building, steady)], axis=-2)
    return Curve(np.stack([zero, onset, onset + blend, onset + 2 * blend], axis=-1), pieces)


SHAPE_LEAD = 0.125
"""Share of the flank by which a drawn shape begins before rest: a cam is cut from a little before it on."""


def shape_curve(coefficients: FloatArray, flank: FloatArray | float) -> Curve:
    """What a drawn law adds to a law in numbers: a quintic B-spline over the flank, nothing at rest.

    psi = sum_i c_i (B_i(u) - B_i(0)), u = theta/beta from -1/8 to 1; beyond the flank it goes straight on.

    Parameters
    ----------
    coefficients : FloatArray
        Control values, c_i, shape (..., n) [rad].
    flank : FloatArray
        Working angle of the cam, beta, shape (...) [rad].

    Returns
    -------
    Curve
        psi(theta), leading axes (...) [rad].

    Source
    ------
    As ``pullcurve.mechanics.spline.basis``.
    """
    width = np.asarray(flank, dtype=np.float64)[..., None]
    known = basis(-SHAPE_LEAD, 1.0, np.shape(coefficients)[-1])
    share = spline_curve(known, coefficients)
    pieces = share.coefficients / width[..., None] ** np.arange(known.degree + 1)
    pieces[..., 0] -= evaluate(share, np.zeros(1))[0]
    return straight_on(Curve(share.breaks * width, pieces))


def _columns(*parts: FloatArray | float) -> tuple[FloatArray, ...]:
    """Broadcast the parts against each other as float arrays."""
    return tuple(np.broadcast_arrays(*(np.asarray(part, dtype=np.float64) for part in parts)))


def law(curve: Curve, theta: FloatArray) -> Law:
    """Rocker angle and its derivatives at given lever angles.

    Parameters
    ----------
    curve : Curve
        psi(theta), leading axes (...) [rad].
    theta : FloatArray
        Lever angle from the lever's rest, theta, shape (..., S) [rad].

    Returns
    -------
    Law
        psi, psi', psi'' [rad, -, 1/rad].

    Source
    ------
    Identity.
    """
    return Law(*evaluate(curve, theta))
