"""Errors of making, fitting and wear, brought into the mechanism: what a cam's law becomes when metal is not as drawn.

The flank's metal is what stays; the law follows from it. An error that moves the roller centre by delta along the
contact normal turns the rocker by delta/(l cos alpha), to first order.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
from scipy.interpolate import make_interp_spline

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import Curve, FloatArray, Number, evaluate, hermite
from pullcurve.mechanics.law import law
from pullcurve.pull.arrays import Lever, Rocker
from pullcurve.pull.solve import travel_end
from pullcurve.studies.findings import taken

KNOT_SPACING = 0.0125
"""Spacing of the knots that carry an error along the flank [rad]."""

BEYOND = 1.15
"""How far past the end of the travel the knots reach, as a share of it."""


@dataclass(frozen=True, slots=True)
class Errors:
    """Errors of one cam and its fitting, each a number or (N, 1) for N sets side by side.

    ``size`` lifts the whole flank, ``slope`` tilts it from minus at rest to plus at the end of the travel, ``bump``
    is the height of one bump whose middle stands at ``place`` (share of the travel), all along the normal, metal
    added is positive [m]. ``clocking`` turns the cam ahead of its lever [rad]. Wear: ``flank_loss`` along the
    flank where it is loaded, ``roller_loss`` of the roller's diameter, ``pin_play`` of lever pin and rocker pin
    together, across the diameter; each is a loss and 0 or more [m].
    """

    size: Number = 0.0
    slope: Number = 0.0
    bump: Number = 0.0
    place: Number = 0.5
    centre_distance: Number = 0.0
    roller_diameter: Number = 0.0
    clocking: Number = 0.0
    finger_position: Number = 0.0
    flank_loss: Number = 0.0
    roller_loss: Number = 0.0
    pin_play: Number = 0.0

    @property
    def sets(self) -> int:
        """How many sets stand side by side."""
        return max(np.size(getattr(self, known.name)) for known in fields(self))


def bump_shape(away: FloatArray) -> FloatArray:
    """A bump over -1 to 1, one at its middle, smooth to the second derivative: (1 - v^2)^3."""
    return np.maximum(1.0 - away**2, 0.0) ** 3


def misfit(lever: Lever, kind: str, errors: Errors, worn_by: FloatArray | None = None) -> Lever:
    """The lever with N sets of errors on the cam that drives brake, clutch or assist.

    ``worn_by`` is the share of the flank loss at even steps from rest to the end of the travel, (K,); all of it
    everywhere if not given.
    """
    changed = tuple(
        _misfit_rocker(lever, rocker, errors, worn_by) if rocker.drives == kind else rocker
        for rocker in lever.rockers
    )
    radius = lever.finger_radius + errors.finger_position + np.zeros((errors.sets, 1))
    return replace(lever, finger_radius=radius, rockers=changed)


def _misfit_rocker(lever: Lever, rocker: Rocker, errors: Errors, worn_by: FloatArray | None) -> Rocker:
    """The rocker as it moves with the errors: another law, another centre distance, another roller."""
    end = float(np.max(travel_end(lever)))
    theta = np.linspace(0.0, BEYOND * end, int(np.ceil(BEYOND * end / KNOT_SPACING)) + 1)
    share = theta / end
    state = law(rocker.law, theta)
    alpha = contact.pressure_angle(state.psi, state.dpsi, rocker.centre_distance, rocker.arm, rocker.sense)
    worn = (
        np.ones_like(share) if worn_by is None else np.interp(share, np.linspace(0, 1, worn_by.size), worn_by)
    )
    width = taken("tolerance.bump_half_width_deg")
    outward = (
        errors.size
        + errors.slope * (2.0 * share - 1.0)
        + errors.bump * bump_shape((theta - np.asarray(errors.place) * end) / width)
        + (np.asarray(errors.roller_diameter) - errors.roller_loss - errors.pin_play) / 2.0
        - np.asarray(errors.centre_distance) * np.sin(state.psi - alpha)
        - errors.flank_loss * worn
    )
    turn = np.broadcast_to(outward / (rocker.arm * np.cos(alpha)), (errors.sets, theta.size))
    changed = _added(rocker.law, theta, turn)
    return replace(
        rocker,
        law=replace(changed, breaks=changed.breaks - np.asarray(errors.clocking)),
        centre_distance=rocker.centre_distance + errors.centre_distance,
        roller_radius=rocker.roller_radius + (np.asarray(errors.roller_diameter) - errors.roller_loss) / 2.0,
    )


def _added(curve: Curve, theta: FloatArray, turn: FloatArray) -> Curve:
    """One curve plus N errors given at knots: exact for the curve's own pieces, quintic splines for the errors.

    A law of up to the fifth degree comes back as it was where the error is zero.
    """
    inner = curve.breaks[(curve.breaks > theta[0]) & (curve.breaks < theta[-1])]
    knots = np.unique(np.concatenate([theta, inner]))
    knots = knots[np.concatenate([[True], np.diff(knots) > 1e-9])]
    error = make_interp_spline(theta, turn, k=5, axis=-1)
    value, slope, bend = evaluate(curve, knots)
    off, leaning, bending = (np.asarray(error(knots, nu=order)) for order in range(3))
    return hermite(np.broadcast_to(knots, off.shape), value + off, slope + leaning, bend + bending)
