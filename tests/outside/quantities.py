"""What a case asks for, by its words, and the function that answers.

A quantity is one function of the package, called with the case's inputs by name, or one of the short functions below
that put several together the way the source does. Everything is in SI here.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from pullcurve.mechanics import (
    circuit,
    clutch,
    contact,
    endurance,
    friction,
    hand,
    springs,
    stress,
    wheel,
    wire,
)
from tests.outside import cams
from tests.outside.reading import UNITS, Case

FloatArray = NDArray[np.float64]
Answer = FloatArray | float


def ours(case: Case) -> FloatArray:
    """Our answer to a case, in the unit of its source, flat."""
    answer = QUANTITIES[case.quantity](**case.inputs)
    return np.atleast_1d(np.asarray(answer, dtype=np.float64)).ravel() / UNITS[case.unit]


def plain(value: FloatArray) -> FloatArray:
    """A number that the source only turns from one unit to another."""
    return value


# Contact ----------------------------------------------------------------------------------------------------


def two_cylinders(
    force: FloatArray,
    length: FloatArray,
    radius: FloatArray,
    other_curvature: FloatArray,
    modulus: FloatArray,
    poisson: FloatArray,
    other_modulus: FloatArray,
    other_poisson: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Force, curvature, elastic modulus and length of a line contact."""
    curvature = stress.curvature_sum(radius, other_curvature)
    return force, curvature, stress.contact_modulus(modulus, poisson, other_modulus, other_poisson), length


def contact_pressure(**inputs: FloatArray) -> FloatArray:
    return stress.contact_pressure(*two_cylinders(**inputs))


def contact_half_width(**inputs: FloatArray) -> FloatArray:
    return stress.contact_half_width(*two_cylinders(**inputs))


def contact_shear(**inputs: FloatArray) -> FloatArray:
    return stress.SHEAR_PEAK * contact_pressure(**inputs)


def needle_pressure(
    needles: FloatArray,
    needle_diameter: FloatArray,
    needle_length: FloatArray,
    pitch_diameter: FloatArray,
    modulus: FloatArray,
    poisson: FloatArray,
) -> FloatArray:
    """Pressure at the inner ring of a needle bearing under its static rating."""
    rating = stress.needle_static_rating(needles, needle_diameter, needle_length, pitch_diameter)
    inner = (pitch_diameter - needle_diameter) / 2
    return contact_pressure(
        force=stress.needle_peak_load(rating, needles),
        length=needle_length,
        radius=needle_diameter / 2,
        other_curvature=1 / inner,
        modulus=modulus,
        poisson=poisson,
        other_modulus=modulus,
        other_poisson=poisson,
    )


def steepest_shear(depth: FloatArray, poisson: FloatArray) -> FloatArray:
    return stress.stress_below(depth, poisson)[0]


def greatest_equivalent(poisson: FloatArray) -> FloatArray:
    depth = np.linspace(0.0, 2.0, 20001)
    return np.max(stress.stress_below(depth, poisson[..., None])[1], axis=-1)


# Springs ----------------------------------------------------------------------------------------------------


def compression_turns(**inputs: FloatArray) -> FloatArray:
    """Active turns for a wanted rate."""
    rate = inputs.pop("rate")
    return springs.compression_rate(**inputs, active_turns=1.0) / rate  # type: ignore[arg-type]


def compression_travel(force: FloatArray, **inputs: FloatArray) -> FloatArray:
    return force / springs.compression_rate(**inputs)  # type: ignore[arg-type]


def coil_stress(
    force: FloatArray, wire_diameter: FloatArray, mean_diameter: FloatArray, kind: str
) -> FloatArray:
    factor = wire.shear_factor(mean_diameter / wire_diameter, kind)
    return wire.shear_stress(force, wire_diameter, mean_diameter, factor)


def force_at_stress(
    stress: FloatArray, wire_diameter: FloatArray, mean_diameter: FloatArray, kind: str
) -> FloatArray:
    """Spring force that brings the coil to a stress (the stress is proportional to the force)."""
    return stress / coil_stress(np.array(1.0), wire_diameter, mean_diameter, kind)


def wire_diameter_for_stress(
    force: FloatArray, stress: FloatArray, index: FloatArray, kind: str
) -> FloatArray:
    """Wire for a stress at a given index."""
    factor = wire.shear_factor(index, kind)
    return np.sqrt(wire.shear_stress(force, 1.0, index, factor) / stress)


def torsion_moment_at_stress(
    stress: FloatArray, wire_diameter: FloatArray, mean_diameter: FloatArray
) -> FloatArray:
    return stress / wire.torsion_stress(1.0, wire_diameter, mean_diameter)


def torsion_turns_for_rate(rate: FloatArray, **inputs: FloatArray) -> FloatArray:
    """Active turns of a torsion spring for a wanted rate."""
    return springs.torsion_rate(**inputs, active_turns=1.0) / rate  # type: ignore[arg-type]


def torsion_angle(moment: FloatArray, **inputs: FloatArray) -> FloatArray:
    return moment / springs.torsion_rate(**inputs)  # type: ignore[arg-type]


def travel_for_energy(preload: FloatArray, rate: FloatArray, energy: FloatArray) -> float:
    """Travel by which a spring gives (rate > 0) or a load takes (rate < 0) an energy."""
    return float(
        brentq(
            lambda x: float(springs.released_energy(preload, rate, x)) - float(energy), 0.0, 1.0, xtol=1e-15
        )
    )


def travel_per_turn(
    torque: FloatArray, preload: FloatArray, rate: FloatArray, released: FloatArray
) -> FloatArray:
    """Travel per turn of the lever at which a spring asks for a steady torque."""
    return torque / springs.spring_force(preload, rate, released)


def equilibrator_torque(rate: FloatArray, post: FloatArray, arm: FloatArray, angle: FloatArray) -> FloatArray:
    """Torque on an arm of a spring without free length that hangs on a post above its pivot."""
    length = np.sqrt(post**2 + arm**2 - 2 * post * arm * np.cos(angle))
    return springs.spring_force(0.0, -rate, length) * post * arm * np.sin(angle) / length


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
    return pieces[1, 0] - pieces[1, 1] * (breaks[1] + surfaces * wear)


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


# Cam motion and friction ------------------------------------------------------------------------------------


def follower_acceleration(motion: str, rise: FloatArray, angle: FloatArray, speed: FloatArray) -> FloatArray:
    return cams.peak_factors(motion)[1] * rise * (speed / angle) ** 2


def pull_torque(
    moment: FloatArray,
    arm: FloatArray,
    alpha: FloatArray,
    ratio: FloatArray,
    lever_pin: FloatArray,
    rocker_pin: FloatArray,
    roller_pin: FloatArray,
    roller_turns: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Torque without friction, and what friction takes."""
    force = contact.contact_force(moment, alpha, arm)
    return moment * ratio, friction.first_order_loss(
        force, ratio, lever_pin, rocker_pin, roller_pin, roller_turns
    )


def friction_loss(**inputs: FloatArray) -> FloatArray:
    return pull_torque(**inputs)[1]


def pull_per_release(**inputs: FloatArray) -> FloatArray:
    ideal, lost = pull_torque(**inputs)
    return (ideal + lost) / (ideal - lost)


# Hand -------------------------------------------------------------------------------------------------------


def force_at_span(greatest: FloatArray, distance: FloatArray, best_span: FloatArray) -> FloatArray:
    return greatest * hand.span_factor(distance, best_span)


QUANTITIES: Mapping[str, Callable[..., Answer]] = MappingProxyType(
    {
        "the same in another unit": plain,
        # contact stress
        "greatest contact pressure": contact_pressure,
        "half width of a line contact": contact_half_width,
        "greatest shear stress of a line contact": contact_shear,
        "shear stress below a line contact, per greatest pressure": steepest_shear,
        "greatest equivalent stress of a line contact, per greatest pressure": greatest_equivalent,
        "contact pressure at first yield": stress.first_yield_pressure,
        "contact pressure a cam bears at rest": stress.static_pressure_limit,
        "static rating of a needle bearing": stress.needle_static_rating,
        "load of the most loaded needle": stress.needle_peak_load,
        "contact pressure behind a needle bearing's rating": needle_pressure,
        # springs
        "wire for a stress": wire_diameter_for_stress,
        "active turns of a compression spring": compression_turns,
        "rate of a compression spring": springs.compression_rate,
        "free length of a compression spring": springs.free_length,
        "length below which a spring cannot buckle": springs.stable_length,
        "factor on the shear stress of a coil": wire.shear_factor,
        "shear stress of a coil": coil_stress,
        "spring force at a stress": force_at_stress,
        "safety of a spring against fatigue": wire.endurance_safety,
        "strength of a wire": wire.wire_strength,
        "travel of a compression spring": compression_travel,
        "active turns of a torsion spring for a rate": torsion_turns_for_rate,
        "active turns of a torsion spring": springs.torsion_turns,
        "rate of a torsion spring": springs.torsion_rate,
        "torque of a torsion spring at a stress": torsion_moment_at_stress,
        "turn of a torsion spring": torsion_angle,
        "mean diameter of a torsion spring, wound up": springs.wound_diameter,
        "travel for an energy": travel_for_energy,
        "energy a spring gives back": springs.released_energy,
        "force of a spring let down": springs.spring_force,
        "travel per turn at a steady torque": travel_per_turn,
        "torque of a spring of zero free length": equilibrator_torque,
        # brake and wheel
        "line pressure": wheel.plunger_pressure,
        "force of the far piston": piston_force,
        "travel of the far piston": wheel.piston_travel,
        "finger force for a line pressure": finger_force_at_pressure,
        "finger travel for a travel of the far piston": finger_travel,
        "area ratio": bore_ratio,
        "brake torque": disc_torque,
        "force on one pad": pad_force,
        "deceleration from finger force": hand_deceleration,
        "mean radius, even pressure": wheel.ring_radius_even_pressure,
        "mean radius, even wear": wheel.ring_radius_even_wear,
        "deceleration at lock-up, one wheel": lock_deceleration,
        "rear load at lock-up": lock_rear_load,
        "stopping distance at lock-up, one wheel": lock_stop,
        "stopping distance": wheel.stopping_distance,
        "stopping distance with the law's delay": stop_with_delay,
        "front load per rear load, both wheels at their limit": load_ratio,
        "line pressure at lock-up": lock_pressure,
        "line pressure for a deceleration": pressure_to_hold,
        "rear load while braking": wheel.rear_load,
        "divisor of the speed squared": law_divisor,
        "mean fully developed deceleration": wheel.mean_developed_deceleration,
        "deceleration from a stopping distance": deceleration_from_stop,
        "grip to hold on a slope": wheel.grip_to_hold,
        # clutch
        "lining pressure": clutch.lining_pressure,
        "clamp at a lining pressure, even wear": clutch.clamp_at_pressure,
        "clamp at a lining pressure, even pressure": clamp_at_even_pressure,
        "clamp for a power": clamp_for_power,
        "clamp left by worn faces": worn_clamp,
        "rubbing pairs of faces": clutch.face_pairs,
        "torque capacity": clutch.torque_capacity,
        "torque capacity, even pressure": friction_torque_of_ring,
        "power of a clutch": clutch_power,
        "clean lift": clutch.clean_lift,
        "share of the tension that comes through a cable": cable_share,
        "hysteresis of a cable": cable_hysteresis,
        # fluid
        "share by which a fluid shrinks": compression_share,
        "effective bulk modulus of a line": line_modulus,
        "bulk modulus of a fluid with air": circuit.effective_bulk_modulus,
        "bulk modulus of a fluid with air, absolute pressure": modulus_at_absolute,
        "volume a line takes": line_volume,
        "lever travel of a line": lever_travel,
        "stiffness of a line": line_stiffness,
        "pressure per lever travel": pressure_per_travel,
        "expansion of a hose per pressure": hose_expansion,
        "pressure of a closed line that is heated": heated_line,
        # cams
        "rocker angle of an eccentric": cams.eccentric_angle,
        "rocker turn per cam turn of an eccentric": cams.eccentric_ratio,
        "rocker speed of an eccentric": cams.eccentric_speed,
        "pressure angle of an eccentric": cams.eccentric_pressure_angle,
        "pitch radius of an eccentric": cams.eccentric_pitch_radius,
        "rocker angle at rest": cams.rest_angle,
        "pressure angle of a cam": cams.swinging_pressure_angle,
        "pitch radius of a cam": cams.swinging_pitch_radius,
        "greatest pressure angle of a cam": cams.greatest_pressure_angle,
        "smallest convex pitch radius of a cam": cams.smallest_convex,
        "smallest concave pitch radius of a cam": cams.smallest_concave,
        "area of a closed cam": cams.closed_area,
        "perimeter of a closed cam": cams.closed_perimeter,
        "greatest radius of a closed cam": cams.closed_greatest_radius,
        "pressure angle of a cam, very long rocker": cams.translating_pressure_angle,
        "pitch radius of a cam, very long rocker": cams.translating_pitch_radius,
        "peak velocity factor of a motion": cams.peak_velocity,
        "peak acceleration factor of a motion": cams.peak_acceleration,
        "peak of velocity times acceleration of a motion": cams.peak_power,
        "peak acceleration of a follower": follower_acceleration,
        # friction
        "force between cam and roller": contact.contact_force,
        "friction torque at the lever, first order": friction_loss,
        "pull per release, first order": pull_per_release,
        "tilt of the contact force": friction.roller_tilt,
        # hand
        "share of the grip at a span": hand.span_factor,
        "force at a span": force_at_span,
        "holding time": endurance.holding_time,
        "holding time after Rohmert": endurance.rohmert_time,
        "greatest effort for a duty, Potvin": endurance.potvin_limit,
        "greatest effort for a duty, ACGIH": endurance.acgih_limit,
        "recovery while holding": endurance.recovery_multiplier,
    }
)
