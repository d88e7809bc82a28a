"""The control unit: housing, levers on one pivot pin, rockers, plungers and assist springs."""

from typing import Annotated, Literal

from pydantic import Field

from pullcurve.parts.fields import Part, Span, Text, prior
from pullcurve.parts.plate import Plate

Drives = Literal["brake", "clutch", "assist"]


class Plunger(Part):
    """Lever-side hydraulic plunger with its bore, port, return spring and seals."""

    bore_mm: Annotated[float, Span(4, 30)]
    stroke_mm: Annotated[float, Span(2, 40)] = prior("plunger.stroke_mm")
    port_mm: Annotated[float, Span(0, 4)] = prior("plunger.port_mm")
    rest_gap_mm: Annotated[float, Span(0, 2)] = prior("plunger.rest_gap_mm")
    spring_newton: Annotated[float, Span(0, 200)] = prior("plunger.spring_newton")
    spring_rate_newton_per_mm: Annotated[float, Span(0, 50)] = prior("plunger.spring_rate_newton_per_mm")
    seal_newton: Annotated[float, Span(0, 100)] = prior("plunger.seal_newton")
    seal_share: Annotated[float, Span(0, 0.5)] = prior("plunger.seal_share")


class CompressionSpring(Part):
    """Assist spring that pushes along a line; the force is that at the lever's rest."""

    kind: Literal["compression"]
    rate_newton_per_mm: Annotated[float, Span(0.1, 200)]
    preload_newton: Annotated[float, Span(0, 2000)]


class TorsionSpring(Part):
    """Assist spring that turns the rocker; the torque is that at the lever's rest."""

    kind: Literal["torsion"]
    rate_newton_mm_per_deg: Annotated[float, Span(0.1, 500)]
    preload_newton_mm: Annotated[float, Span(0, 20000)]


AssistSpring = CompressionSpring | TorsionSpring
LOAD_ARM = Span(3, 80)


class Rocker(Part):
    """Swinging arm between a cam and its load, with its roller and the cam's plate; torsion springs need no arm."""

    drives: Drives
    centre_distance_mm: Annotated[float, Span(10, 100)]
    arm_mm: Annotated[float, Span(5, 80)]
    roller_radius_mm: Annotated[float, Span(1.5, 20)]
    rest_angle_deg: Annotated[float, Span(5, 150)]
    load_arm_mm: Annotated[float, LOAD_ARM] | None = None
    turns: Literal["opposite", "same"] = "opposite"
    push: Literal["pad", "pin"] = "pad"
    bearing_deg: Annotated[float, Span(-360, 360)] = 0.0
    pivot_radius_mm: Annotated[float, Span(1, 12)] = prior("rocker.pivot_radius_mm")
    pivot_friction: Annotated[float, Span(0, 0.6)] = prior("rocker.pivot_friction")
    roller_pin_radius_mm: Annotated[float, Span(0.5, 10)] = prior("rocker.roller_pin_radius_mm")
    roller_friction: Annotated[float, Span(0, 0.5)] = prior("rocker.roller_friction")
    roller_width_mm: Annotated[float, Span(1, 30)] = prior("rocker.roller_width_mm")
    plate: Plate = Plate()
    plunger: Plunger | None = None
    spring: Annotated[AssistSpring, Field(discriminator="kind")] | None = None


class Lever(Part):
    """One lever: where the finger pulls, where it rests and stops, and the rockers that its cams move."""

    name: Annotated[str, Text(80)]
    finger_radius_mm: Annotated[float, Span(30, 150)]
    length_mm: Annotated[float, Span(60, 220)]
    rest_angle_deg: Annotated[float, Span(-10, 80)]
    travel_stop_deg: Annotated[float, Span(5, 60)]
    thickness_mm: Annotated[float, Span(3, 20)] = prior("lever.thickness_mm")
    spring_torque_newton_mm: Annotated[float, Span(0, 3000)] = prior("lever.spring_torque_newton_mm")
    spring_rate_newton_mm_per_deg: Annotated[float, Span(0, 200)] = prior(
        "lever.spring_rate_newton_mm_per_deg"
    )
    rockers: Annotated[tuple[Rocker, ...], Field(min_length=1, max_length=3)]


class ControlUnit(Part):
    """The housing on the handlebar with everything in it."""

    name: Annotated[str, Text(80)]
    pivot_offset_mm: Annotated[float, Span(5, 80)]
    grip_diameter_mm: Annotated[float, Span(20, 45)] = prior("unit.grip_diameter_mm")
    pin_radius_mm: Annotated[float, Span(1, 12)] = prior("unit.pin_radius_mm")
    pin_friction: Annotated[float, Span(0, 0.6)] = prior("unit.pin_friction")
    levers: Annotated[tuple[Lever, ...], Field(min_length=1, max_length=3)]
