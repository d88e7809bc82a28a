"""What a cam's shape asks for, against the outline itself."""

from dataclasses import replace

import numpy as np
import pytest

from pullcurve.mechanics.contact import outline
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import law, rise_curve
from pullcurve.pull.arrays import Rocker
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.shape import cam_shape
from tests.pull.example import JOBS, rocker_with

DEGREE = np.pi / 180
END = np.array([26 * DEGREE])


def rocker_of(take_up: float) -> Rocker:
    """The example's brake rocker with a cam of 7.5 mm stroke and some take-up."""
    rocker = rocker_with(mechanism(JOBS["two levers"]()), "brake")
    return replace(rocker, law=rise_curve(35 * DEGREE, 7.5 / 16, take_up, 26 * DEGREE))


def bends(rocker: Rocker) -> FloatArray:
    """Curvature of the roller centre's path by circles through three points, convex positive."""
    theta = np.linspace(0.0, 26 * DEGREE, 4001)
    state = law(rocker.law, theta)
    x, y = outline(theta, state.psi, state.dpsi, rocker.centre_distance, rocker.arm, rocker.sense, 0.0)
    x1, x2, x3, y1, y2, y3 = x[:-2], x[1:-1], x[2:], y[:-2], y[1:-1], y[2:]
    twice = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
    sides = np.hypot(x2 - x1, y2 - y1) * np.hypot(x3 - x2, y3 - y2) * np.hypot(x3 - x1, y3 - y1)
    return np.asarray(-rocker.sense * 2 * twice / sides)


@pytest.mark.parametrize("take_up", [0.0, 0.02, 0.06])
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_radii_are_those_of_the_outline(take_up: float, sense: float) -> None:
    rocker = replace(rocker_of(take_up), sense=sense)
    shape, bend = cam_shape(rocker, END), bends(rocker)
    assert shape.convex_radius == pytest.approx(1 / bend.max(), rel=2e-3)
    assert shape.roller_spare == pytest.approx(1 / bend.max() - 0.004, abs=2e-5)
    hollow = -1 / bend.min() if bend.min() < 0 else np.inf
    assert shape.hollow_radius == pytest.approx(hollow, rel=2e-3)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_steepest_push_is_the_largest_angle_between_normal_and_motion(sense: float) -> None:
    """From the outline: the normal is from profile to roller centre; the roller moves square to its arm."""
    rocker = replace(rocker_of(0.03), sense=sense)
    theta = np.linspace(0.0, 26 * DEGREE, 1001)
    state = law(rocker.law, theta)
    geometry = (rocker.centre_distance, rocker.arm, rocker.sense)
    bx, by = outline(theta, state.psi, state.dpsi, *geometry, 0.0)
    cx, cy = outline(theta, state.psi, state.dpsi, *geometry, 0.004)
    turn = sense * theta
    nx = (np.cos(turn) * (bx - cx) - np.sin(turn) * (by - cy)) / 0.004
    ny = (np.sin(turn) * (bx - cx) + np.cos(turn) * (by - cy)) / 0.004
    cosine = nx * np.sin(state.psi) + ny * np.cos(state.psi)
    assert cam_shape(rocker, END).pressure_angle == pytest.approx(np.arccos(cosine).max(), abs=2e-4)


def test_nothing_convex_has_no_least_radius() -> None:
    """A roller pushed out ever faster rolls up a hollow: no roller cuts itself off there."""
    parabola = Curve(np.array([0.0, 0.1]), np.array([[0.6, 0.0, 3.0]]))
    shape = cam_shape(replace(rocker_of(0.0), law=parabola), np.array([0.1]))
    assert shape.convex_radius == shape.roller_spare == np.inf
    assert 0 < shape.hollow_radius < np.inf


def test_shapes_of_many_sets_are_the_shapes_one_by_one() -> None:
    take_up = np.array([0.0, 0.02, 0.06])
    rocker = replace(rocker_of(0.0), law=rise_curve(35 * DEGREE, 7.5 / 16, take_up, 26 * DEGREE))
    stack = cam_shape(rocker, END)
    for k in range(3):
        alone = cam_shape(rocker_of(float(take_up[k])), END)
        assert stack.convex_radius[k] == pytest.approx(alone.convex_radius, rel=1e-12)
        assert stack.pressure_angle[k] == pytest.approx(alone.pressure_angle, rel=1e-12)
