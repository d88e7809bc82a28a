"""What a law becomes when metal is not as drawn: against a moved curve that the rocker's circle meets."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.mechanics.contact import outline
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import law
from pullcurve.pull.arrays import Lever, Rocker
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import travel_end
from pullcurve.studies.misfits import Errors, bump_shape, misfit
from tests.studies import shop

DEGREE = np.pi / 180
SMALL = 1.0e-5
"""Error of the tests [m]: second-order terms are then below a thousandth of it."""


def lever_of(kind: str) -> Lever:
    """The lever of the demo job that carries this cam."""
    return next(lever for lever in mechanism(shop.known()).levers if lever.rocker(kind))


def rocker_of(lever: Lever, kind: str) -> Rocker:
    """Its rocker."""
    known = lever.rocker(kind)
    assert known is not None
    return known


def flank(rocker: Rocker, theta: FloatArray, inward: float) -> FloatArray:
    """Curve in the cam's frame inside the pitch curve, (K, 2)."""
    state = law(rocker.law, theta)
    return np.stack(
        outline(theta, state.psi, state.dpsi, rocker.centre_distance, rocker.arm, rocker.sense, inward),
        axis=-1,
    )


def normals(rocker: Rocker, theta: FloatArray) -> FloatArray:
    """Unit vectors from the cam to the roller, in the cam's frame, (K, 2)."""
    return flank(rocker, theta, 0.0) - flank(rocker, theta, 1.0)


def met(points: FloatArray, rocker: Rocker, distance: float, theta: FloatArray) -> FloatArray:
    """Rocker angles at which turned pitch points meet the circle of the roller centre, (S,)."""
    found = []
    for angle in rocker.sense * theta:
        cos, sin = np.cos(angle), np.sin(angle)
        x, y = cos * points[:, 0] - sin * points[:, 1], sin * points[:, 0] + cos * points[:, 1]
        away = np.hypot(x - distance, y) - rocker.arm
        crossing = np.flatnonzero(np.diff(np.sign(away)))
        assert crossing.size == 1
        at = crossing[0]
        share = away[at] / (away[at] - away[at + 1])
        found.append(
            np.arctan2(y[at] + share * (y[at + 1] - y[at]), distance - x[at] - share * (x[at + 1] - x[at]))
        )
    return np.array(found)


CUT = np.linspace(-4.01 * DEGREE, 32 * DEGREE, 20001)
USED = np.linspace(0.5 * DEGREE, 23 * DEGREE, 12)


def bump_at(theta: FloatArray, end: float) -> FloatArray:
    """A bump of 3 degrees half width at 40 % of the travel."""
    return np.maximum(1 - ((theta - 0.4 * end) / (3 * DEGREE)) ** 2, 0) ** 3


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("kind", ["brake", "assist"])
@pytest.mark.parametrize(
    "source",
    [
        "size",
        "slope",
        "bump",
        "roller_diameter",
        "roller_loss",
        "flank_loss",
        "pin_play",
        "centre_distance",
        "clocking",
    ],
)
def test_law_is_that_of_the_changed_metal(source: str, kind: str, sense: float) -> None:
    """Second road: pitch points pushed along their normals, or another pivot, met by the rocker's circle."""
    lever = lever_of(kind)
    rocker = replace(rocker_of(lever, kind), sense=sense)
    lever = replace(lever, rockers=(rocker,))
    end = float(travel_end(lever)[0])
    pushed = {
        "size": np.ones_like(CUT),
        "slope": 2 * CUT / end - 1,
        "bump": bump_at(CUT, end),
        "roller_diameter": np.full_like(CUT, 0.5),
        "roller_loss": np.full_like(CUT, -0.5),
        "pin_play": np.full_like(CUT, -0.5),
        "flank_loss": np.full_like(CUT, -1.0),
    }.get(source, np.zeros_like(CUT))
    points = flank(rocker, CUT, 0.0) + SMALL * pushed[:, None] * normals(rocker, CUT)
    distance = float(rocker.centre_distance) + (SMALL if source == "centre_distance" else 0.0)
    ahead = SMALL / 0.02 if source == "clocking" else 0.0
    expected = met(points, rocker, distance, USED + ahead)
    errors = Errors(**{source: ahead if source == "clocking" else SMALL}, place=0.4)
    changed = misfit(lever, kind, errors)
    found = law(rocker_of(changed, kind).law, USED)
    turned = expected - law(rocker.law, USED).psi
    assert np.max(np.abs(turned)) > 1e-5
    assert found.psi[0] - law(rocker.law, USED).psi == pytest.approx(
        turned, abs=8e-3 * np.max(np.abs(turned))
    )


def test_no_error_changes_nothing() -> None:
    lever = lever_of("brake")
    same = rocker_of(misfit(lever, "brake", Errors()), "brake")
    known = rocker_of(lever, "brake")
    theta = np.linspace(-0.02, 0.5, 301)
    found, expected = law(same.law, theta), law(known.law, theta)
    assert found.psi[0] == pytest.approx(expected.psi, abs=1e-12)
    assert found.dpsi[0] == pytest.approx(expected.dpsi, abs=1e-10)
    assert found.d2psi[0] == pytest.approx(expected.d2psi, abs=1e-7)
    assert np.ravel(same.roller_radius) == known.roller_radius
    assert np.ravel(same.centre_distance) == known.centre_distance


def test_derivatives_of_a_changed_law_are_its_own() -> None:
    lever = lever_of("brake")
    rocker = rocker_of(misfit(lever, "brake", Errors(bump=5e-5, slope=5e-5, size=5e-5)), "brake")
    theta, h = np.linspace(0.01, 0.42, 200), 1e-5
    before, here, after = (law(rocker.law, theta + step) for step in (-h, 0.0, h))
    assert here.dpsi == pytest.approx((after.psi - before.psi) / (2 * h), abs=1e-7)
    assert here.d2psi == pytest.approx((after.dpsi - before.dpsi) / (2 * h), abs=1e-3)


def test_only_the_named_cam_changes_and_the_finger_moves() -> None:
    lever = lever_of("assist")
    changed = misfit(lever, "assist", Errors(size=1e-5, finger_position=np.array([[0.001], [-0.002]])))
    assert changed.rocker("clutch") is lever.rocker("clutch")
    assert np.ravel(changed.finger_radius) == pytest.approx([0.076, 0.073])


def test_wear_follows_the_load() -> None:
    """Nothing is lost where nothing presses, all of it where the load is greatest."""
    lever = lever_of("brake")
    changed = rocker_of(misfit(lever, "brake", Errors(flank_loss=1e-4), np.linspace(0.0, 1.0, 5)), "brake")
    end = travel_end(lever)
    theta = np.concatenate([0 * end, end])
    lost = law(rocker_of(lever, "brake").law, theta).psi - law(changed.law, theta).psi[0]
    whole = rocker_of(misfit(lever, "brake", Errors(flank_loss=1e-4)), "brake")
    most = law(rocker_of(lever, "brake").law, theta).psi - law(whole.law, theta).psi[0]
    assert lost == pytest.approx([0.0, most[1]], rel=5e-3, abs=1e-7)


def test_bump_is_one_in_its_middle_and_gone_at_its_ends() -> None:
    assert bump_shape(np.array([-2.0, -1.0, 0.0, 0.5, 1.0])) == pytest.approx([0, 0, 1, 0.75**3, 0])
