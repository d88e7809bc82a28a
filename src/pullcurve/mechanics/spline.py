"""Laws as B-splines: a row of coefficients becomes a piecewise polynomial, many rows at once."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import Curve, FloatArray, evaluate

BEYOND = 1.0e-6
"""How far past its end a law runs on before it goes straight [rad]: the end itself keeps its own curvature."""


@dataclass(frozen=True, slots=True)
class Basis:
    """B-spline basis on a span: breaks (K + 1,), polynomial pieces of every basis function (n, K, D), knots, degree."""

    breaks: FloatArray
    pieces: FloatArray
    knots: FloatArray
    degree: int

    @property
    def count(self) -> int:
        """How many coefficients a law has."""
        return len(self.pieces)


def basis(start: float, end: float, count: int, degree: int = 5) -> Basis:
    """Clamped uniform B-spline basis with its polynomial pieces.

    psi(theta) = sum_i c_i B_i(theta).

    Parameters
    ----------
    start : float
        Where the span begins [rad].
    end : float
        Where the span ends [rad].
    count : int
        Coefficients, n > degree [-].
    degree : int
        Degree of the pieces, p; the law has p - 1 continuous derivatives [-].

    Returns
    -------
    Basis
        Breaks, pieces, knots and degree [SI, see the class].

    Source
    ------
    C. de Boor, A Practical Guide to Splines; M. G. Cox's recursion (both from memory).
    """
    inner = np.linspace(start, end, count - degree + 1)
    knots = np.concatenate([[start] * degree, inner, [end] * degree])
    # One row per function and piece; of degree nought, only the pieces of some width are anything.
    spans = np.arange(degree, degree + inner.size - 1)
    pieces = np.zeros((knots.size - 1, spans.size, degree + 1))
    pieces[spans, np.arange(spans.size), 0] = 1.0
    for order in range(1, degree + 1):
        wide = knots[order:] - knots[:-order]
        share = 1.0 / np.where(wide > 0.0, wide, np.inf)
        rising = _times(pieces[:-1], inner[:-1] - knots[: -order - 1, None], 1.0) * share[:-1, None, None]
        falling = _times(pieces[1:], knots[order + 1 :, None] - inner[:-1], -1.0) * share[1:, None, None]
        pieces = rising + falling
    return Basis(inner, pieces, knots, degree)


def _times(pieces: FloatArray, constant: FloatArray, slope: float) -> FloatArray:
    """Polynomials times (constant + slope u); the highest power has room."""
    product = pieces * constant[..., None]
    product[..., 1:] += slope * pieces[..., :-1]
    return np.asarray(product)


def spline_curve(known: Basis, coefficients: FloatArray) -> Curve:
    """Laws for rows of B-spline coefficients.

    Parameters
    ----------
    known : Basis
        The basis [SI, see the class].
    coefficients : FloatArray
        Coefficients, shape (..., n) [rad].

    Returns
    -------
    Curve
        Piecewise polynomials with leading axes (...) [rad].

    Source
    ------
    Identity.
    """
    pieces = np.tensordot(np.asarray(coefficients, dtype=np.float64), known.pieces, axes=(-1, 0))
    return Curve(np.broadcast_to(known.breaks, (*pieces.shape[:-2], known.breaks.size)), pieces)


def straight_on(curve: Curve) -> Curve:
    """The same law, going straight on past its end: a polynomial left to itself would soon turn back.

    psi(theta) = psi(e) + psi'(e) (theta - e) for theta > e, e the last break and a hair beyond it.

    Parameters
    ----------
    curve : Curve
        Piecewise polynomials with leading axes (...) [rad].

    Returns
    -------
    Curve
        The same pieces and one more, psi and psi' continuous [rad].

    Source
    ------
    Identity (Taylor, first order).
    """
    end = curve.breaks[..., -1:] + BEYOND
    value, slope, _ = evaluate(curve, end)
    line = np.zeros((*curve.coefficients.shape[:-2], 1, curve.coefficients.shape[-1]))
    line[..., 0, :2] = np.concatenate([value, slope], axis=-1)
    breaks = np.concatenate([curve.breaks[..., :-1], end, 2.0 * end - curve.breaks[..., -2:-1]], axis=-1)
    return Curve(breaks, np.concatenate([curve.coefficients, line], axis=-2))


def fit_coefficients(known: Basis, theta: FloatArray, psi: FloatArray) -> FloatArray:
    """Coefficients of the laws nearest to given angles, by least squares.

    Parameters
    ----------
    known : Basis
        The basis [SI, see the class].
    theta : FloatArray
        Lever angles within the span, theta, shape (S,), S > n [rad].
    psi : FloatArray
        Rocker angles, psi, shape (..., S) [rad].

    Returns
    -------
    FloatArray
        Coefficients, shape (..., n) [rad].

    Source
    ------
    Linear least squares (identity).
    """
    design = evaluate(spline_curve(known, np.eye(known.count)), theta)[0].T
    return np.asarray(psi @ np.linalg.pinv(design).T)
