"""Cams of the cases: eccentrics, whose rocker is a four-bar linkage, and cams with a textbook motion law."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from pullcurve.mechanics import contact, law

FloatArray = NDArray[np.float64]
Geometry = tuple[FloatArray, FloatArray, FloatArray]


# An eccentric circle is a four-bar linkage: exact, by trigonometry and implicit derivatives ------------------


def eccentric(
    centre_distance: FloatArray,
    arm: FloatArray,
    eccentricity: FloatArray,
    pitch_radius: FloatArray,
    cam_angle: FloatArray,
) -> Geometry:
    """Rocker angle and its first two derivatives; the cam turns against the rocker (sigma = +1)."""
    a, l, e = centre_distance, arm, eccentricity
    x_e, y_e = e * np.cos(cam_angle), e * np.sin(cam_angle)
    d = np.hypot(a - x_e, y_e)
    psi = np.arctan2(y_e, a - x_e) + np.arccos((d**2 + l**2 - pitch_radius**2) / (2 * d * l))
    x, y = a - l * np.cos(psi) - x_e, l * np.sin(psi) - y_e  # from the eccentric's centre to the roller's
    x_p, y_p = l * np.sin(psi), l * np.cos(psi)
    x_t, y_t = y_e, -x_e
    by_psi, by_theta = x * x_p + y * y_p, x * x_t + y * y_t
    ratio = -by_theta / by_psi
    second_theta = x_t**2 + y_t**2 + x * x_e + y * y_e
    second_mixed = x_t * x_p + y_t * y_p
    second_psi = x_p**2 + y_p**2 + x * y_p - y * x_p
    bend = -(second_theta + 2 * second_mixed * ratio + second_psi * ratio**2) / by_psi
    return psi, ratio, bend


def eccentric_angle(**inputs: FloatArray) -> FloatArray:
    return eccentric(**inputs)[0]


def eccentric_ratio(**inputs: FloatArray) -> FloatArray:
    return eccentric(**inputs)[1]


def eccentric_speed(speed: FloatArray, **inputs: FloatArray) -> FloatArray:
    return np.abs(eccentric(**inputs)[1]) * speed


def eccentric_pressure_angle(**inputs: FloatArray) -> FloatArray:
    psi, ratio, _ = eccentric(**inputs)
    return contact.pressure_angle(psi, ratio, inputs["centre_distance"], inputs["arm"], np.array(1.0))


def eccentric_pitch_radius(**inputs: FloatArray) -> FloatArray:
    known = contact.pitch_curvature(
        *eccentric(**inputs), inputs["centre_distance"], inputs["arm"], np.array(1.0)
    )
    return 1.0 / known


# A cam with a motion law ------------------------------------------------------------------------------------


def rest_angle(centre_distance: FloatArray, arm: FloatArray, base_radius: FloatArray) -> FloatArray:
    """Rocker angle at which the roller's centre lies on the base circle of the pitch curve."""
    longer = centre_distance - arm
    # by the half angle, so that a very long rocker loses no digits
    square = (base_radius - longer) * (base_radius + longer) / (4 * centre_distance * arm)
    return 2 * np.arcsin(np.sqrt(square))


def swinging(
    centre_distance: FloatArray,
    arm: FloatArray,
    base_radius: FloatArray,
    rise: FloatArray,
    over: FloatArray,
    cam_angle: FloatArray,
) -> Geometry:
    """Rocker angle and its derivatives of a cycloidal rise."""
    share, speed, bend = law.motion("cycloidal", cam_angle / over)
    start = rest_angle(centre_distance, arm, base_radius)
    return start + rise * share, rise * speed / over, rise * bend / over**2


def swinging_pressure_angle(sense: FloatArray, **inputs: FloatArray) -> FloatArray:
    psi, ratio, _ = swinging(**inputs)
    return contact.pressure_angle(psi, ratio, inputs["centre_distance"], inputs["arm"], sense)


def curvature(sense: FloatArray, **inputs: FloatArray) -> FloatArray:
    return contact.pitch_curvature(*swinging(**inputs), inputs["centre_distance"], inputs["arm"], sense)


def swinging_pitch_radius(**inputs: FloatArray) -> FloatArray:
    return 1.0 / curvature(**inputs)


def highest(function: Callable[[FloatArray], FloatArray], over: FloatArray) -> float:
    """Greatest value of a function of the cam angle: a grid first, then a search about its best place."""
    grid = np.linspace(0.0, float(over), 721)
    best = grid[int(np.argmax(function(grid)))]
    step = grid[1]
    low, high = max(best - step, 0.0), min(best + step, float(over))
    found = minimize_scalar(
        lambda angle: -float(function(np.array(angle))), bounds=(low, high), options={"xatol": 1e-11}
    )
    return -float(found.fun)


def greatest_pressure_angle(**inputs: FloatArray) -> float:
    """Of either sign."""
    return highest(lambda angle: np.abs(swinging_pressure_angle(**inputs, cam_angle=angle)), inputs["over"])


def smallest_convex(**inputs: FloatArray) -> float:
    return 1.0 / highest(lambda angle: curvature(**inputs, cam_angle=angle), inputs["over"])


def smallest_concave(**inputs: FloatArray) -> float:
    return 1.0 / highest(lambda angle: -curvature(**inputs, cam_angle=angle), inputs["over"])


def closed_cam(
    roller_radius: FloatArray, sense: FloatArray, over: FloatArray, **inputs: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Outline with a rise, a dwell of the same angle, the mirrored return, and a dwell, 20,000 points each."""
    angle = np.linspace(0.0, 4 * float(over), 80_001)
    part = np.minimum(angle // over, 3)
    local = angle - part * over
    up = np.where(part == 0, local, np.where(part == 2, over - local, np.where(part == 1, over, 0.0)))
    psi, ratio, _ = swinging(over=over, cam_angle=up, **inputs)
    ratio = np.where(part == 2, -ratio, ratio)
    return contact.outline(angle, psi, ratio, inputs["centre_distance"], inputs["arm"], sense, roller_radius)


def closed_area(**inputs: FloatArray) -> FloatArray:
    x, y = closed_cam(**inputs)
    return np.asarray(np.abs(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) / 2)


def closed_perimeter(**inputs: FloatArray) -> FloatArray:
    x, y = closed_cam(**inputs)
    return np.asarray(np.sum(np.hypot(np.diff(x), np.diff(y))))


def closed_greatest_radius(**inputs: FloatArray) -> FloatArray:
    return np.asarray(np.max(np.hypot(*closed_cam(**inputs))))


# A very long rocker is a translating follower ---------------------------------------------------------------


def translating(
    base_radius: FloatArray,
    rise: FloatArray,
    over: FloatArray,
    cam_angle: FloatArray,
    offset: FloatArray,
    arm: FloatArray,
) -> tuple[Geometry, FloatArray]:
    """Rocker square to the follower's line at the middle of the rise."""
    start = np.sqrt(base_radius**2 - offset**2)
    centre_distance = np.hypot(arm + offset, start + rise / 2)
    share, speed, bend = law.motion("cycloidal", cam_angle / over)
    rest = rest_angle(centre_distance, arm, base_radius)
    geometry = (rest + rise / arm * share, rise / arm * speed / over, rise / arm * bend / over**2)
    return geometry, centre_distance


def translating_pressure_angle(**inputs: FloatArray) -> FloatArray:
    (psi, ratio, _), centre_distance = translating(**inputs)
    return contact.pressure_angle(psi, ratio, centre_distance, inputs["arm"], np.array(1.0))


def translating_pitch_radius(**inputs: FloatArray) -> FloatArray:
    geometry, centre_distance = translating(**inputs)
    return 1.0 / contact.pitch_curvature(*geometry, centre_distance, inputs["arm"], np.array(1.0))


# Peak factors of a motion over the unit interval ------------------------------------------------------------

FINE = np.linspace(0.0, 1.0, 1_000_001)


def peak_factors(motion: str) -> tuple[float, float, float]:
    """Greatest velocity, acceleration, and product of both."""
    _, speed, bend = law.motion(motion, FINE)
    return float(np.max(speed)), float(np.max(np.abs(bend))), float(np.max(speed * bend))


def peak_velocity(motion: str) -> float:
    return peak_factors(motion)[0]


def peak_acceleration(motion: str) -> float:
    return peak_factors(motion)[1]


def peak_power(motion: str) -> float:
    return peak_factors(motion)[2]
