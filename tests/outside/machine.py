"""Brake, wheel, clutch and fluid, put together the way the sources do it."""

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics import circuit, clutch, wheel

FloatArray = NDArray[np.float64]


# Brake, wheel, clutch ---------------------------------------------------------------------------------------


def piston_force(
    finger_force: FloatArray,
    lever_ratio: FloatArray,
    efficiency: FloatArray,
    area: FloatArray,
    piston_area: FloatArray,
) -> FloatArray:
    return wheel.clamp_one_side(
        wheel.plunger_pressure(finger_force, lever_ratio, efficiency, area), piston_area
    )


def disc_torque(
    finger_force: FloatArray,
    lever_ratio: FloatArray,
    efficiency: FloatArray,
    area: FloatArray,
    piston_area: FloatArray,
    friction: FloatArray,
    effective_radius: FloatArray,
) -> FloatArray:
    clamp = piston_force(finger_force, lever_ratio, efficiency, area, piston_area)
    return wheel.brake_torque(friction, clamp, effective_radius)


def bore_ratio(piston_area: FloatArray, area: FloatArray) -> FloatArray:
    return wheel.area_ratio(piston_area, area)


def hand_deceleration(tyre_radius: FloatArray, mass: FloatArray, **inputs: FloatArray) -> FloatArray:
    return wheel.deceleration(disc_torque(**inputs), tyre_radius, mass)


def finger_force_at_pressure(pressure: FloatArray, **inputs: FloatArray) -> FloatArray:
    return pressure / wheel.plunger_pressure(np.array(1.0), **inputs)


def finger_travel(
    travel: FloatArray, lever_ratio: FloatArray, area: FloatArray, piston_area: FloatArray
) -> FloatArray:
    """Travel at the finger for a travel of the far piston."""
    return travel / wheel.piston_travel(np.array(1.0), lever_ratio, area, piston_area)


def pad_force(torque: FloatArray, friction: FloatArray, effective_radius: FloatArray) -> FloatArray:
    return torque / wheel.brake_torque(friction, np.array(1.0), effective_radius)


def lock_deceleration(gravity: FloatArray | float = wheel.GRAVITY, **inputs: FloatArray) -> FloatArray:
    """With the source's own value of gravity."""
    return wheel.lock_deceleration(**inputs) * gravity / wheel.GRAVITY


def lock_rear_load(
    mass: FloatArray, gravity: FloatArray, friction: FloatArray, **inputs: FloatArray
) -> FloatArray:
    slowing = wheel.lock_deceleration(friction, **inputs)
    return wheel.rear_load(mass, deceleration=slowing, **inputs) * gravity / wheel.GRAVITY


def lock_stop(speed: FloatArray, **inputs: FloatArray) -> FloatArray:
    return wheel.stopping_distance(speed, lock_deceleration(**inputs))


def load_ratio(gravity: FloatArray, friction: FloatArray, **inputs: FloatArray) -> FloatArray:
    """Front load per rear load with both wheels at their limit: a = mu g."""
    rear = wheel.rear_load(1.0, deceleration=friction * wheel.GRAVITY, **inputs) / wheel.GRAVITY
    return (1.0 - rear) / rear


def pressure_to_hold(piston_area: FloatArray, **inputs: FloatArray) -> FloatArray:
    return wheel.pressure_for_deceleration(one_side_area=piston_area, **inputs)


def lock_pressure(
    friction: FloatArray,
    pad_friction: FloatArray,
    mass: FloatArray,
    tyre_radius: FloatArray,
    piston_area: FloatArray,
    effective_radius: FloatArray,
    **geometry: FloatArray,
) -> FloatArray:
    slowing = wheel.lock_deceleration(friction, **geometry)
    return wheel.pressure_for_deceleration(
        slowing, mass, tyre_radius, pad_friction, piston_area, effective_radius
    )


def law_divisor(deceleration: FloatArray) -> FloatArray:
    """What the law divides V^2, in km/h, by to get metres."""
    return 1.0 / wheel.stopping_distance(1 / 3.6, deceleration)


def deceleration_from_stop(speed: FloatArray, way: FloatArray) -> FloatArray:
    return wheel.mean_developed_deceleration(speed, 0.0, 0.0, way)


def stop_with_delay(speed: FloatArray, deceleration: FloatArray) -> FloatArray:
    """The law's way to stop: 0.1 V in km/h and m is what passes in 0.36 s at full speed."""
    return 0.36 * speed + wheel.stopping_distance(speed, deceleration)


def clutch_power(speed: FloatArray, **inputs: FloatArray) -> FloatArray:
    return clutch.torque_capacity(**inputs) * speed


def clamp_for_power(
    power: FloatArray, speed: FloatArray, faces: FloatArray, friction: FloatArray, mean_radius: FloatArray
) -> FloatArray:
    return power / speed / clutch.torque_capacity(faces, friction, mean_radius, 1.0)


def clamp_at_even_pressure(
    pressure: FloatArray, outer_radius: FloatArray, inner_radius: FloatArray
) -> FloatArray:
    return pressure * np.pi * (outer_radius**2 - inner_radius**2)


def worn_clamp(
    clamp: FloatArray, rate: FloatArray, springs: FloatArray, surfaces: FloatArray, wear: FloatArray
) -> FloatArray:
    """What coil springs still press after the faces have worn: they stretch by all of it."""
    breaks, pieces = clutch.release_curve_coil(clamp, rate * springs, 1e-9, 1e-3)
    assert breaks[1] == 1e-9
    return np.asarray(pieces[1, 0] - pieces[1, 1] * (breaks[1] + surfaces * wear))


def cable_share(friction: FloatArray, bend: FloatArray) -> FloatArray:
    """Tension that arrives per tension that is pulled with."""
    return 1.0 / clutch.cable_pull(0.0, 1.0, 1.0, 1.0, 0.0, friction * bend).tension


def cable_hysteresis(friction: FloatArray, bend: FloatArray) -> FloatArray:
    pull, release = (clutch.cable_pull(0.0, 1.0, 1.0, 1.0, 0.0, way * friction * bend) for way in (1, -1))
    return 1.0 - release.tension / pull.tension


def friction_torque_of_ring(
    faces: FloatArray,
    friction: FloatArray,
    outer_radius: FloatArray,
    inner_radius: FloatArray,
    clamp: FloatArray,
) -> FloatArray:
    radius = wheel.ring_radius_even_pressure(outer_radius, inner_radius)
    return clutch.torque_capacity(faces, friction, radius, clamp)


# Fluid ------------------------------------------------------------------------------------------------------


def line(
    gap_volume: FloatArray | float = 0.0,
    gap_pressure: FloatArray | float = 1e5,
    expansion: FloatArray | float = 0.0,
    fluid_volume: FloatArray | float = 0.0,
    bulk_modulus: FloatArray | float = 1e9,
    air_volume: FloatArray | float = 0.0,
    air_exponent: FloatArray | float = 1.0,
) -> circuit.Circuit:
    """A line without what the case does not name."""
    parts = (
        gap_volume,
        gap_pressure,
        0.0,
        1e5,
        expansion,
        fluid_volume,
        bulk_modulus,
        air_volume,
        air_exponent,
    )
    return circuit.Circuit(*(np.asarray(part, dtype=np.float64) for part in parts))


def line_volume(pressure: FloatArray, **parts: FloatArray) -> FloatArray:
    return circuit.demand(line(**parts), pressure)[0]


def line_stiffness(pressure: FloatArray, **parts: FloatArray) -> FloatArray:
    return 1.0 / circuit.demand(line(**parts), pressure)[1]


def pressure_per_travel(area: FloatArray, lever_ratio: FloatArray, expansion: FloatArray) -> FloatArray:
    return area / lever_ratio * line_stiffness(np.array(1e6), expansion=expansion)


def hose_expansion(volume: FloatArray, pressure: FloatArray) -> FloatArray:
    return volume / pressure


def compression_share(pressure: FloatArray, bulk_modulus: FloatArray) -> FloatArray:
    return line_volume(pressure, fluid_volume=np.array(1.0), bulk_modulus=bulk_modulus)


def line_modulus(
    pressure: FloatArray,
    bulk_modulus: FloatArray,
    expansion: FloatArray,
    air_share: FloatArray,
    air_exponent: FloatArray,
) -> FloatArray:
    """Effective bulk modulus of a line that holds a share of gas at its (absolute) pressure."""
    at_rest = air_share * (pressure / circuit.AMBIENT_PRESSURE) ** (1 / air_exponent)
    known = line(
        expansion=expansion,
        fluid_volume=1.0,
        bulk_modulus=bulk_modulus,
        air_volume=at_rest,
        air_exponent=air_exponent,
    )
    return 1.0 / circuit.demand(known, pressure - circuit.AMBIENT_PRESSURE)[1]


def modulus_at_absolute(pressure: FloatArray, **inputs: FloatArray) -> FloatArray:
    return circuit.effective_bulk_modulus(pressure - circuit.AMBIENT_PRESSURE, **inputs)


def lever_travel(
    area: FloatArray,
    dead_stroke: FloatArray,
    lever_ratio: FloatArray,
    pressure: FloatArray,
    **parts: FloatArray,
) -> FloatArray:
    return (dead_stroke + line_volume(pressure, **parts) / area) * lever_ratio


def heated_line(
    hot_volume: FloatArray,
    expansion_coefficient: FloatArray,
    temperature_rise: FloatArray,
    gap_volume: FloatArray,
    stiffness: FloatArray,
) -> FloatArray:
    # a small gap pressure: first the gap, then the stiffness, as the source counts
    known = line(gap_volume=gap_volume, gap_pressure=1e3, expansion=1 / stiffness)
    return circuit.closed_port_pressure(known, hot_volume, expansion_coefficient, temperature_rise)
