"""How tight a screw is set, as guidance: what thread and head bear, a share of it, and the friction of the trade."""

from dataclasses import dataclass

from pullcurve.mechanics import fasteners
from pullcurve.parts.facts import table
from pullcurve.parts.hardware import Fastener
from pullcurve.units import to_si


@dataclass(frozen=True, slots=True)
class Torque:
    """Torque to tighten to, and the one that a slippery thread would already make too much of [N m]."""

    torque: float
    most: float


def torque_of(screw: Fastener) -> Torque:
    """Guidance for one screw of a kind."""
    facts, thread = table("screws"), table("screws")["thread"][screw.thread]
    rules = facts["tightening"]
    strength = rules["soft_class"]["value"] if screw.softest == "aluminium" else screw.property_class
    diameter, pitch = (to_si(key, float(thread[key]))[1] for key in ("diameter_mm", "pitch_mm"))
    proof = to_si("proof_mpa", float(facts["proof_mpa"][strength]))[1]
    area = fasteners.stress_area(diameter, pitch)
    bears = fasteners.head_load(proof, area, facts["head"][screw.head]["share"])
    wanted = rules["proof_share"]["value"] * bears
    return Torque(
        float(fasteners.short_torque(rules["nut_factor"]["value"], wanted, diameter)),
        float(fasteners.short_torque(rules["nut_factor"]["low"], bears, diameter)),
    )


def torque_note() -> str:
    """Where a torque comes from and what it is worth, in one line."""
    rules = table("screws")["tightening"]
    share, factor = rules["proof_share"]["value"], rules["nut_factor"]["value"]
    return (
        f"Torques are guidance: {100 * share:.0f} % of what thread (ISO 898-1) and head bear, on aluminium as "
        f"{rules['soft_class']['value']}, T = K F d with K = {factor:g}. A figure from the maker of unit or screw goes "
        "before them."
    )
