"""Contact and springs, put together the way the sources do it."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from pullcurve.mechanics import springs, stress, wire

FloatArray = NDArray[np.float64]


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
    return np.asarray(np.max(stress.stress_below(depth, poisson[..., None])[1], axis=-1))


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
