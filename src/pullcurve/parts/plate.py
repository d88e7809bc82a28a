"""The plate that a cam is cut from: bore, hub, thickness, material, holes, engraving."""

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from pullcurve.parts.fields import Part, Place, Span, Text, refuse_all

Material = Literal["steel", "hardened steel", "7075", "brass", "titanium"]
BoreFit = Literal["H7", "H8"]

MOST_HOLES = 8


class Hole(Part):
    """Screw or key hole by its place on the lever at reach 0: from the pivot, and from the line to the rocker pivot."""

    radius_mm: Annotated[float, Span(2, 60)]
    angle_deg: Annotated[float, Span(-360, 360)]
    diameter_mm: Annotated[float, Span(1, 20)]


class Plate(Part):
    """Everything of a cam but its working flank."""

    bore_mm: Annotated[float, Span(4, 30)] = 13.0
    bore_fit: BoreFit = "H7"
    hub_radius_mm: Annotated[float, Span(4, 40)] = 11.0
    thickness_mm: Annotated[float, Span(1, 20)] = 6.0
    material: Material = "hardened steel"
    cutter_radius_mm: Annotated[float, Span(0.05, 20)] = 3.0
    lead_in_deg: Annotated[float, Span(0, 15)] = 2.0
    run_out_deg: Annotated[float, Span(0, 20)] = 3.0
    holes: Annotated[tuple[Hole, ...], Field(max_length=MOST_HOLES)] = ()
    engraving: Annotated[str, Text(40)] | None = None

    @model_validator(mode="after")
    def _is_metal(self) -> Self:
        faults = [*_hub_faults(self), *_hole_faults(self)]
        if faults:
            raise refuse_all(faults)
        return self


def _hub_faults(plate: Plate) -> Iterator[tuple[Place, str]]:
    """The hub stands around the bore."""
    bore = plate.bore_mm / 2
    if plate.hub_radius_mm <= bore:
        allowed = f"more than {bore:g}, half the bore_mm"
        yield ("hub_radius_mm",), f"is {plate.hub_radius_mm:g}; allowed is {allowed}"


def _hole_faults(plate: Plate) -> Iterator[tuple[Place, str]]:
    """No hole breaks into the bore."""
    for row, hole in enumerate(plate.holes):
        least = (plate.bore_mm + hole.diameter_mm) / 2
        if hole.radius_mm <= least:
            allowed = f"more than {least:g}, clear of the bore"
            yield ("holes", row, "radius_mm"), f"is {hole.radius_mm:g}; allowed is {allowed}"
