"""A read law made smooth, and what the uncertainty of the measured edge does to it and to the finger force."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline
from scipy.optimize import brentq

from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.reading import ReadLaw
from pullcurve.mechanics.spline import Basis, basis, spline_curve

DEGREE = 5
"""Degree of the smoothing spline: curvature of the profile needs a smooth second derivative."""

MOST_PIECES = 40
"""Pieces of the smoothing spline at most; its stiffness does the smoothing."""

HIDDEN = 2.0
"""What smoothing hides, over what smoothing again hides; about two where psi''' steps (computed, on assist laws)."""

STIFFNESS = (-9.0, 2.0)
"""Softest and stiffest spline: powers of ten of the square root of lambda over a span of one."""


@dataclass(frozen=True, slots=True)
class SmoothLaw:
    """Smoothed law: ``curve`` psi(theta), ``residual`` against what was read [rad], ``freedom`` left to the spline.

    ``freedom`` counts parameters, 3 for a parabola. ``covariance`` (S, 2, 2) of psi [rad2] and psi' stands at the
    angles that were read; zero when nothing was said about the edge.
    """

    curve: Curve
    residual: float
    freedom: float
    covariance: FloatArray

    @property
    def psi_deviation(self) -> FloatArray:
        """Standard deviation of psi (S,) [rad]."""
        return np.sqrt(self.covariance[:, 0, 0])

    @property
    def dpsi_deviation(self) -> FloatArray:
        """Standard deviation of psi' (S,) [-]."""
        return np.sqrt(self.covariance[:, 1, 1])


def edge_covariance(read: ReadLaw, arm: float, edge_deviation: float, correlation: float) -> FloatArray:
    """Covariance of a read law from the standard deviation of the measured edge.

    An edge that is off by e along its normal moves the rocker by e / (l cos alpha);
    C_ij = s^2 exp(-d_ij^2 / (2 c^2)) / (l^2 cos alpha_i cos alpha_j), d the distance of two contacts.

    Parameters
    ----------
    read : ReadLaw
        Law as read, with pressure angles and contacts [SI, see the class].
    arm : float
        Rocker pivot to roller centre, l [m].
    edge_deviation : float
        Standard deviation of the edge along its normal, s [m].
    correlation : float
        Distance along the edge over which its errors hang together, c; infinite for an edge that is off by the same
        everywhere [m].

    Returns
    -------
    FloatArray
        C, shape (S, S) [rad2].

    Source
    ------
    Virtual displacement of the contact (identity); propagation of covariance as in JCGM 100, 5.2 (from memory).
    """
    gain = edge_deviation / (arm * np.cos(read.alpha))
    apart = np.hypot(*np.moveaxis(read.touch[:, None] - read.touch, -1, 0)) / correlation
    return np.asarray(gain[:, None] * gain * np.exp(-(apart**2) / 2))


def size_covariance(read: ReadLaw, sense: float, arm: float, size_deviation: float) -> FloatArray:
    """Covariance of a read law from the standard deviation of the picture's scale.

    A scale that is off by q moves the edge by q (p . n) everywhere at once, n = (sin(psi - alpha), cos(psi - alpha))
    turned into the cam frame.

    Parameters
    ----------
    read : ReadLaw
        Law as read, with pressure angles and contacts [SI, see the class].
    sense : float
        Turning sense, sigma, +1 opposite, -1 same [-].
    arm : float
        Rocker pivot to roller centre, l [m].
    size_deviation : float
        Standard deviation of the scale as a share, q [-].

    Returns
    -------
    FloatArray
        C, shape (S, S) [rad2].

    Source
    ------
    As ``edge_covariance``.
    """
    heading = read.psi - read.alpha + sense * read.theta
    along = read.touch[:, 0] * np.sin(heading) + read.touch[:, 1] * np.cos(heading)
    moved = size_deviation * along / (arm * np.cos(read.alpha))
    return np.asarray(moved[:, None] * moved)


def smooth_law(
    theta: FloatArray, psi: FloatArray, tolerance: float, covariance: FloatArray | None = None
) -> SmoothLaw:
    """Smoothing spline through a read law: the smoothest that stays within a stated tolerance.

    Quintic pieces that make int psi'''^2 least while the root mean square of psi_read - psi is at most the
    tolerance t: (B^T B + n lambda P) c = B^T psi_read, lambda as large as allowed. The covariance of what was read
    goes through the same linear map c = H psi_read; what smoothing itself may hide is added, twice what it does to its
    own result, 2 (c - H B c).

    Parameters
    ----------
    theta : FloatArray
        Lever angles, theta, increasing, shape (S,) [rad].
    psi : FloatArray
        Rocker angles as read, psi, shape (S,); NaN is left out, six must be left [rad].
    tolerance : float
        Root mean square that the spline may leave, t [rad].
    covariance : FloatArray
        Covariance of psi as read, shape (S, S); none counts as zero, and nothing is said then [rad2].

    Returns
    -------
    SmoothLaw
        Curve, residual, freedom and covariance; the residual is above the tolerance where the spline's pieces do
        not reach it, below it where a parabola does [rad, -].

    Source
    ------
    C. H. Reinsch, Smoothing by spline functions, Numer. Math. 10 (1967); J. W. Tukey's twicing for what it hides (both
    from memory).
    """
    seen = np.isfinite(psi)
    at, read = theta[seen], psi[seen]
    known = basis(float(theta[0]), float(theta[-1]), DEGREE + max(1, min(MOST_PIECES, len(at) // 3)))
    design = _rows(known, at, 0)
    bend = _roughness(known) * np.sqrt(len(at))

    def mapped(stiffness: float) -> FloatArray:
        return np.asarray(np.linalg.pinv(np.concatenate([design, 10**stiffness * bend]))[:, : len(at)])

    def left(stiffness: float) -> float:
        return float(np.sqrt(np.mean((design @ (mapped(stiffness) @ read) - read) ** 2)))

    softest, stiffest = STIFFNESS
    if left(stiffest) <= tolerance:
        stiffness = stiffest
    elif left(softest) >= tolerance:
        stiffness = softest
    else:
        stiffness = brentq(lambda one: left(one) - tolerance, softest, stiffest, xtol=1e-3)
    solving = mapped(stiffness)
    coefficients = solving @ read
    inner = np.zeros((known.count,) * 2)
    if covariance is not None:
        hidden = HIDDEN * (coefficients - solving @ (design @ coefficients))
        inner = solving @ covariance[np.ix_(seen, seen)] @ solving.T + np.outer(hidden, hidden)
    rows = np.stack([_rows(known, theta, order) for order in (0, 1)], axis=1)
    freedom = float(np.trace(design @ solving))
    return SmoothLaw(
        spline_curve(known, coefficients), left(stiffness), freedom, rows @ inner @ np.swapaxes(rows, 1, 2)
    )


def _rows(known: Basis, theta: FloatArray, order: int) -> FloatArray:
    """Value or derivative of every basis function at the given angles (S, n)."""
    every = BSpline(known.knots, np.eye(known.count), known.degree)
    return np.asarray(every(theta, nu=order), dtype=np.float64)


def _roughness(known: Basis) -> FloatArray:
    """Third derivatives whose squares sum to the integral of psi'''^2, for a span of one (R, n)."""
    places, weights = np.polynomial.legendre.leggauss(3)  # exact for what is of fourth order in each piece
    width = np.diff(known.breaks)
    at = known.breaks[:-1, None] + width[:, None] * (places + 1) / 2
    share = np.sqrt(width[:, None] * weights / 2).ravel()
    span = known.breaks[-1] - known.breaks[0]
    return np.asarray(_rows(known, at.ravel(), 3) * share[:, None] * span**2.5)


def force_deviation(
    moment: FloatArray,
    moment_slope: FloatArray,
    dpsi: FloatArray,
    finger_radius: float,
    covariance: FloatArray,
) -> FloatArray:
    """Standard deviation of the finger force that an uncertain law gives, by the linearised formula.

    F = M psi' / L;  dF = (M' psi' dpsi + M dpsi') / L, so that
    s^2 = [ (M' psi')^2 C_00 + 2 M' psi' M C_01 + M^2 C_11 ] / L^2.

    Parameters
    ----------
    moment : FloatArray
        Torque that the load asks of the rocker, M, shape (S,) [N m].
    moment_slope : FloatArray
        Its change with the rocker angle, M', shape (S,) [N m/rad].
    dpsi : FloatArray
        Rocker turn per lever turn, psi', shape (S,) [-].
    finger_radius : float
        Lever pivot to finger pad, L [m].
    covariance : FloatArray
        Covariance of psi and psi', C, shape (S, 2, 2) [rad2].

    Returns
    -------
    FloatArray
        Standard deviation of the finger force without friction, shape (S,) [N].

    Source
    ------
    Virtual work and JCGM 100, 5.2.2 (from memory).
    """
    gain = np.stack([moment_slope * dpsi, moment + 0.0 * dpsi], axis=-1) / finger_radius
    return np.asarray(np.sqrt(np.einsum("si,sij,sj->s", gain, covariance, gain)))
