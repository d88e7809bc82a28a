"""The motorcycle and the ground under it."""

from typing import Annotated, Literal

from pullcurve.parts.fields import Part, Span, Text, prior

MachineKind = Literal["enduro", "motocross", "trials", "supermoto", "electric", "other"]


class Motorcycle(Part):
    """Machine ready to ride; height and share of load are those with the rider aboard."""

    name: Annotated[str, Text(80)]
    kind: MachineKind
    mass_kg: Annotated[float, Span(30, 400)]
    wheelbase_mm: Annotated[float, Span(800, 2000)]
    cg_height_mm: Annotated[float, Span(300, 1400)] = prior("motorcycle.cg_height_mm", by="kind")
    rear_load_share: Annotated[float, Span(0.2, 0.8)] = prior("motorcycle.rear_load_share", by="kind")
    rear_tyre_radius_mm: Annotated[float, Span(150, 400)] = prior("motorcycle.rear_tyre_radius_mm", by="kind")


class Surface(Part):
    """Ground, by its tyre friction."""

    name: Annotated[str, Text(60)]
    grip: Annotated[float, Span(0.03, 1.5)]
