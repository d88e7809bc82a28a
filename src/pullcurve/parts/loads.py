"""What the cams work against: rear brake circuit, foot pedal, clutch circuit and clutch pack."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from pullcurve.parts.fields import Part, Place, Span, Whole, prior, prior_word, refuse_all

FEWEST_ROWS, MOST_ROWS = 3, 50
"""Rows of a table of force over lift."""

HoseKind = Literal["braided", "rubber"]


class BrakeCircuit(Part):
    """Rear brake from the lever's plunger to the disc."""

    caliper: Literal["sliding", "opposed"]
    piston_mm: Annotated[float, Span(10, 60)]
    pistons: Annotated[int, Whole(1, 8)]
    disc_effective_radius_mm: Annotated[float, Span(30, 200)]
    pad_friction: Annotated[float, Span(0.03, 0.9)] = prior("brake_circuit.pad_friction")
    pad_gap_mm: Annotated[float, Span(0, 1.5)] = prior("brake_circuit.pad_gap_mm")
    gap_pressure_bar: Annotated[float, Span(0.1, 5)] = prior("brake_circuit.gap_pressure_bar")
    hose_length_m: Annotated[float, Span(0.1, 5)] = prior("brake_circuit.hose_length_m")
    hose_kind: HoseKind = prior_word("brake_circuit.hose_kind")
    hose_expansion_mm3_per_m_bar: Annotated[float, Span(0, 60)] = prior(
        "hose_expansion_mm3_per_m_bar", by="hose_kind"
    )
    caliper_expansion_mm3_per_bar: Annotated[float, Span(0, 30)] = prior(
        "brake_circuit.caliper_expansion_mm3_per_bar"
    )
    seat_volume_mm3: Annotated[float, Span(0, 500)] = prior("brake_circuit.seat_volume_mm3")
    seat_pressure_bar: Annotated[float, Span(0.2, 50)] = prior("brake_circuit.seat_pressure_bar")
    fluid_volume_cm3: Annotated[float, Span(1, 200)] = prior("brake_circuit.fluid_volume_cm3")
    fluid_bulk_modulus_gpa: Annotated[float, Span(0.3, 5)] = prior("brake_circuit.fluid_bulk_modulus_gpa")
    free_air_percent: Annotated[float, Span(0, 10)] = prior("brake_circuit.free_air_percent")
    air_exponent: Annotated[float, Span(1, 1.4)] = prior("brake_circuit.air_exponent")
    hot_fluid_cm3: Annotated[float, Span(0, 50)] = prior("brake_circuit.hot_fluid_cm3")
    fluid_expansion_per_kelvin: Annotated[float, Span(0, 3e-3)] = prior(
        "brake_circuit.fluid_expansion_per_kelvin"
    )


class Pedal(Part):
    """Foot pedal that shares the rear brake through a slave plunger on the same rocker."""

    ratio: Annotated[float, Span(1, 12)]
    bore_mm: Annotated[float, Span(4, 30)]
    slave_bore_mm: Annotated[float, Span(4, 30)]
    slave_arm_mm: Annotated[float, Span(3, 80)]
    efficiency: Annotated[float, Span(0.3, 1)] = prior("pedal.efficiency")
    idle_port_open: Annotated[bool, Field(strict=True)] = True
    line_expansion_mm3_per_bar: Annotated[float, Span(0.05, 50)] = prior("pedal.line_expansion_mm3_per_bar")


class HydraulicClutchCircuit(Part):
    """Clutch line from the lever's plunger to a slave at the engine."""

    kind: Literal["hydraulic"]
    slave_bore_mm: Annotated[float, Span(10, 60)]
    hose_length_m: Annotated[float, Span(0.1, 5)] = prior("clutch_circuit.hose_length_m")
    hose_kind: HoseKind = prior_word("clutch_circuit.hose_kind")
    hose_expansion_mm3_per_m_bar: Annotated[float, Span(0, 60)] = prior(
        "hose_expansion_mm3_per_m_bar", by="hose_kind"
    )
    housing_expansion_mm3_per_bar: Annotated[float, Span(0, 30)] = prior(
        "clutch_circuit.housing_expansion_mm3_per_bar"
    )
    fluid_volume_cm3: Annotated[float, Span(1, 200)] = prior("clutch_circuit.fluid_volume_cm3")
    fluid_bulk_modulus_gpa: Annotated[float, Span(0.3, 5)] = prior("clutch_circuit.fluid_bulk_modulus_gpa")
    free_air_percent: Annotated[float, Span(0, 10)] = prior("clutch_circuit.free_air_percent")
    air_exponent: Annotated[float, Span(1, 1.4)] = prior("clutch_circuit.air_exponent")
    seal_newton: Annotated[float, Span(0, 200)] = prior("clutch_circuit.seal_newton")
    seal_share: Annotated[float, Span(0, 0.5)] = prior("clutch_circuit.seal_share")


class CableClutchCircuit(Part):
    """Clutch cable from the lever's rocker to the lifting arm."""

    kind: Literal["cable"]
    lift_ratio: Annotated[float, Span(2, 40)]
    stiffness_newton_per_mm: Annotated[float, Span(5, 5000)] = prior("clutch_circuit.stiffness_newton_per_mm")
    bend_deg: Annotated[float, Span(0, 720)] = prior("clutch_circuit.bend_deg")
    cable_friction: Annotated[float, Span(0, 0.5)] = prior("clutch_circuit.cable_friction")
    free_play_mm: Annotated[float, Span(0, 10)] = prior("clutch_circuit.free_play_mm")


ClutchCircuit = Annotated[HydraulicClutchCircuit | CableClutchCircuit, Field(discriminator="kind")]

Lift = Annotated[float, Span(0, 20)]
Clamp = Annotated[float, Span(1, 10000)]


class ClutchPack(Part):
    """Clutch plates and their springs, coil or diaphragm (then as a table of force over lift)."""

    friction_plates: Annotated[int, Whole(1, 20)]
    clamp_newton: Annotated[float, Span(50, 6000)]
    mean_radius_mm: Annotated[float, Span(20, 120)] = prior("clutch.mean_radius_mm")
    friction: Annotated[float, Span(0.03, 0.5)] = prior("clutch.friction")
    spring: Literal["coil", "diaphragm"] = "coil"
    rate_newton_per_mm: Annotated[float, Span(0, 500)] = prior("clutch.rate_newton_per_mm")
    table_lift_mm: Annotated[tuple[Lift, ...], Field(max_length=MOST_ROWS)] = ()
    table_force_newton: Annotated[tuple[Clamp, ...], Field(max_length=MOST_ROWS)] = ()
    spring_back_mm: Annotated[float, Span(0.01, 1)] = prior("clutch.spring_back_mm")
    engine_torque_newton_m: Annotated[float, Span(1, 500)] = prior("clutch.engine_torque_newton_m")
    clean_lift_per_face_mm: Annotated[float, Span(0.02, 0.5)] = prior("clutch.clean_lift_per_face_mm")

    @model_validator(mode="after")
    def _table_stands(self) -> Self:
        faults = list(self._coil_faults() if self.spring == "coil" else self._table_faults())
        if faults:
            raise refuse_all(faults)
        return self

    def _coil_faults(self) -> Iterator[tuple[Place, str]]:
        for key in ("table_lift_mm", "table_force_newton"):
            if getattr(self, key):
                yield (key,), 'is for spring = "diaphragm" only; allowed is nothing here'

    def _table_faults(self) -> Iterator[tuple[Place, str]]:
        lift, force = self.table_lift_mm, self.table_force_newton
        if "rate_newton_per_mm" in self.model_fields_set:
            yield ("rate_newton_per_mm",), 'is for spring = "coil" only; allowed is nothing here'
        if len(lift) < FEWEST_ROWS or len(lift) != len(force):
            counts = f"has {_entries(len(lift))} and table_force_newton has {_entries(len(force))}"
            yield (
                ("table_lift_mm",),
                f"{counts}; allowed is {FEWEST_ROWS} to {MOST_ROWS} in each, as many in both",
            )
            return
        if lift[0] != 0 or any(after <= before for before, after in pairwise(lift)):
            yield (
                ("table_lift_mm",),
                "does not rise from 0; allowed is 0 first, then each larger than the last",
            )
        elif lift[-1] <= self.spring_back_mm:
            allowed = f"more than {self.spring_back_mm:g}, the spring_back_mm"
            yield ("table_lift_mm",), f"ends at {lift[-1]:g}; allowed is {allowed}"
        if force[0] != self.clamp_newton:
            allowed = f"{self.clamp_newton:g}, the clamp_newton"
            yield ("table_force_newton",), f"starts with {force[0]:g}; allowed is {allowed}"


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"
