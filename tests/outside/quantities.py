"""What a case asks for, by its words, and the function that answers.

A quantity is one function of the package, called with the case's inputs by name, or one of the short functions below
that put several together the way the source does. Everything is in SI here.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

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
from pullcurve.parts import fit
from tests.outside import bodies, cams, machine
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


# Fits -------------------------------------------------------------------------------------------------------


def millimetres(diameter: FloatArray) -> list[float]:
    """Diameters as a table of fits has them: 18 mm belong to another band than a rounding error more."""
    return [round(float(one) * 1e3, 6) for one in np.atleast_1d(diameter)]


def upper_deviation(zone: str, diameter: FloatArray) -> FloatArray:
    return np.array([fit.zone_of(zone, one).upper_mm for one in millimetres(diameter)]) * 1e-3


def lower_deviation(zone: str, diameter: FloatArray) -> FloatArray:
    return np.array([fit.zone_of(zone, one).lower_mm for one in millimetres(diameter)]) * 1e-3


def play(hole: str, shaft: str, diameter: FloatArray) -> FloatArray:
    """Least play at every diameter, then the largest."""
    known = [fit.play_mm(fit.zone_of(hole, one), fit.zone_of(shaft, one)) for one in millimetres(diameter)]
    return np.array(known).T * 1e-3


# Hand -------------------------------------------------------------------------------------------------------


def force_at_span(greatest: FloatArray, distance: FloatArray, best_span: FloatArray) -> FloatArray:
    return greatest * hand.span_factor(distance, best_span)


QUANTITIES: Mapping[str, Callable[..., Answer]] = MappingProxyType(
    {
        "the same in another unit": plain,
        # contact stress
        "greatest contact pressure": bodies.contact_pressure,
        "half width of a line contact": bodies.contact_half_width,
        "greatest shear stress of a line contact": bodies.contact_shear,
        "shear stress below a line contact, per greatest pressure": bodies.steepest_shear,
        "greatest equivalent stress of a line contact, per greatest pressure": bodies.greatest_equivalent,
        "contact pressure at first yield": stress.first_yield_pressure,
        "contact pressure a cam bears at rest": stress.static_pressure_limit,
        "static rating of a needle bearing": stress.needle_static_rating,
        "load of the most loaded needle": stress.needle_peak_load,
        "contact pressure behind a needle bearing's rating": bodies.needle_pressure,
        # fits
        "upper deviation of a fit": upper_deviation,
        "lower deviation of a fit": lower_deviation,
        "play of a shaft in a hole": play,
        # springs
        "wire for a stress": bodies.wire_diameter_for_stress,
        "active turns of a compression spring": bodies.compression_turns,
        "rate of a compression spring": springs.compression_rate,
        "free length of a compression spring": springs.free_length,
        "length below which a spring cannot buckle": springs.stable_length,
        "factor on the shear stress of a coil": wire.shear_factor,
        "shear stress of a coil": bodies.coil_stress,
        "spring force at a stress": bodies.force_at_stress,
        "safety of a spring against fatigue": wire.endurance_safety,
        "strength of a wire": wire.wire_strength,
        "travel of a compression spring": bodies.compression_travel,
        "active turns of a torsion spring for a rate": bodies.torsion_turns_for_rate,
        "active turns of a torsion spring": springs.torsion_turns,
        "rate of a torsion spring": springs.torsion_rate,
        "torque of a torsion spring at a stress": bodies.torsion_moment_at_stress,
        "turn of a torsion spring": bodies.torsion_angle,
        "mean diameter of a torsion spring, wound up": springs.wound_diameter,
        "travel for an energy": bodies.travel_for_energy,
        "energy a spring gives back": springs.released_energy,
        "force of a spring let down": springs.spring_force,
        "travel per turn at a steady torque": bodies.travel_per_turn,
        "torque of a spring of zero free length": bodies.equilibrator_torque,
        # brake and wheel
        "line pressure": wheel.plunger_pressure,
        "force of the far piston": machine.piston_force,
        "travel of the far piston": wheel.piston_travel,
        "finger force for a line pressure": machine.finger_force_at_pressure,
        "finger travel for a travel of the far piston": machine.finger_travel,
        "area ratio": machine.bore_ratio,
        "brake torque": machine.disc_torque,
        "force on one pad": machine.pad_force,
        "deceleration from finger force": machine.hand_deceleration,
        "mean radius, even pressure": wheel.ring_radius_even_pressure,
        "mean radius, even wear": wheel.ring_radius_even_wear,
        "deceleration at lock-up, one wheel": machine.lock_deceleration,
        "rear load at lock-up": machine.lock_rear_load,
        "stopping distance at lock-up, one wheel": machine.lock_stop,
        "stopping distance": wheel.stopping_distance,
        "stopping distance with the law's delay": machine.stop_with_delay,
        "front load per rear load, both wheels at their limit": machine.load_ratio,
        "line pressure at lock-up": machine.lock_pressure,
        "line pressure for a deceleration": machine.pressure_to_hold,
        "rear load while braking": wheel.rear_load,
        "divisor of the speed squared": machine.law_divisor,
        "mean fully developed deceleration": wheel.mean_developed_deceleration,
        "deceleration from a stopping distance": machine.deceleration_from_stop,
        "grip to hold on a slope": wheel.grip_to_hold,
        # clutch
        "lining pressure": clutch.lining_pressure,
        "clamp at a lining pressure, even wear": clutch.clamp_at_pressure,
        "clamp at a lining pressure, even pressure": machine.clamp_at_even_pressure,
        "clamp for a power": machine.clamp_for_power,
        "clamp left by worn faces": machine.worn_clamp,
        "rubbing pairs of faces": clutch.face_pairs,
        "torque capacity": clutch.torque_capacity,
        "torque capacity, even pressure": machine.friction_torque_of_ring,
        "power of a clutch": machine.clutch_power,
        "clean lift": clutch.clean_lift,
        "share of the tension that comes through a cable": machine.cable_share,
        "hysteresis of a cable": machine.cable_hysteresis,
        # fluid
        "share by which a fluid shrinks": machine.compression_share,
        "effective bulk modulus of a line": machine.line_modulus,
        "bulk modulus of a fluid with air": circuit.effective_bulk_modulus,
        "bulk modulus of a fluid with air, absolute pressure": machine.modulus_at_absolute,
        "volume a line takes": machine.line_volume,
        "lever travel of a line": machine.lever_travel,
        "stiffness of a line": machine.line_stiffness,
        "pressure per lever travel": machine.pressure_per_travel,
        "expansion of a hose per pressure": machine.hose_expansion,
        "pressure of a closed line that is heated": machine.heated_line,
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
