"""The job: one machine, one rider, one control unit, what is fitted and what is wanted."""

from collections.abc import Iterator
from datetime import date
from math import cos, hypot, sin
from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from pullcurve.parts.cams import Fitted, Rack
from pullcurve.parts.facts import table
from pullcurve.parts.fields import Part, Span, Text
from pullcurve.parts.loads import BrakeCircuit, CableClutchCircuit, ClutchCircuit, ClutchPack, Pedal
from pullcurve.parts.machine import Motorcycle, Surface
from pullcurve.parts.origin import origins
from pullcurve.parts.rider import WISH_KEYS, Rider, Wishes
from pullcurve.parts.unit import ControlUnit, Rocker
from pullcurve.units import to_si

CLEAR_OF_PIN = 1.0
"""Metal that must be left between lever pin and roller at rest [mm]."""

Place = tuple[str | int, ...]
Faults = Iterator[tuple[Place, str]]


class Measured(Part):
    """Says that a given value was measured: when, and the interval it lies in."""

    date: date
    low: Annotated[float, Span(-1e9, 1e9)]
    high: Annotated[float, Span(-1e9, 1e9)]


def _usual_surfaces() -> tuple[Surface, ...]:
    return tuple(Surface(name=row["name"], grip=row["grip"]) for row in table("priors")["surface_list"])


class Job(Part):
    """Everything about one job, as typed; what was left out is filled from documented priors."""

    title: Annotated[str, Text(120)]
    notes: Annotated[str, Text(4000, lines=True, empty=True)] = ""
    unit: ControlUnit
    motorcycle: Motorcycle
    brake_circuit: BrakeCircuit | None = None
    pedal: Pedal | None = None
    clutch_circuit: ClutchCircuit | None = None
    clutch: ClutchPack | None = None
    surfaces: Annotated[tuple[Surface, ...], Field(min_length=1, max_length=12)] = Field(
        default_factory=_usual_surfaces, json_schema_extra={"prior": "surface_list"}
    )
    rider: Rider
    fitted: Fitted
    rack: Rack | None = None
    wishes: Wishes | None = None
    measured: dict[str, Measured] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        faults = [*_unit_faults(self), *_load_faults(self), *_cam_faults(self), *_wish_faults(self)]
        if faults:
            raise PydanticCustomError("many", "{first}", {"first": faults[0][1], "faults": faults})
        return self


def rockers(job: Job) -> Iterator[tuple[Place, Rocker]]:
    """Every rocker of the unit with its place in the file."""
    for lever, known in enumerate(job.unit.levers):
        for place, rocker in enumerate(known.rockers):
            yield ("unit", "levers", lever, "rockers", place), rocker


def driven(job: Job) -> set[str]:
    """What the unit's rockers drive."""
    return {rocker.drives for _, rocker in rockers(job)}


def _unit_faults(job: Job) -> Faults:
    seen: dict[str, int] = {}
    names: set[str] = set()
    for row, lever in enumerate(job.unit.levers):
        at = ("unit", "levers", row)
        if lever.name in names:
            yield (*at, "name"), f'is "{lever.name}" a second time; allowed is a name of its own'
        names.add(lever.name)
        if lever.length_mm <= lever.finger_radius_mm:
            yield (*at, "length_mm"), f"is {lever.length_mm:g}; allowed is more than {lever.finger_radius_mm:g}, the finger_radius_mm"
        if lever.length_mm <= 60:
            yield (*at, "length_mm"), f"is {lever.length_mm:g}; allowed is more than 60, so that 50 mm from the tip is still on the lever"
    for at, rocker in rockers(job):
        if rocker.drives in seen:
            yield (*at, "drives"), f'is "{rocker.drives}" a second time; allowed is once in a unit'
        seen[rocker.drives] = int(at[2])
        yield from _rocker_faults(job, at, rocker)
    if "assist" in seen and seen.get("clutch") != seen["assist"]:
        yield ("unit", "levers", seen["assist"], "rockers"), "hold an assist without the clutch; allowed is an assist on the clutch's own lever"


def _rocker_faults(job: Job, at: Place, rocker: Rocker) -> Faults:
    if rocker.roller_pin_radius_mm >= rocker.roller_radius_mm:
        yield (*at, "roller_pin_radius_mm"), f"is {rocker.roller_pin_radius_mm:g}; allowed is less than {rocker.roller_radius_mm:g}, the roller_radius_mm"
    angle = to_si("rest_angle_deg", rocker.rest_angle_deg)[1]
    away = hypot(rocker.centre_distance_mm - rocker.arm_mm * cos(angle), rocker.arm_mm * sin(angle))
    most = away - job.unit.pin_radius_mm - CLEAR_OF_PIN
    if rocker.roller_radius_mm > most:
        yield (*at, "roller_radius_mm"), f"is {rocker.roller_radius_mm:g}; allowed is up to {max(most, 0):.4g}, clear of the lever pin at rest"
    cable = isinstance(job.clutch_circuit, CableClutchCircuit)
    wants_plunger = rocker.drives == "brake" or (rocker.drives == "clutch" and not cable)
    if wants_plunger and rocker.plunger is None:
        yield (*at, "plunger"), "is missing; a rocker with a hydraulic load has one"
    if rocker.plunger is not None and not wants_plunger:
        yield (*at, "plunger"), "stands on a rocker without a hydraulic load; allowed is nothing here"
    if (rocker.spring is not None) != (rocker.drives == "assist"):
        yield (*at, "spring"), "is missing; an assist has one" if rocker.drives == "assist" else "belongs to an assist; allowed is nothing here"
    if rocker.drives == "assist" and rocker.push == "pin":
        yield (*at, "push"), 'is "pin"; allowed is "pad" for an assist'


def _load_faults(job: Job) -> Faults:
    kinds = driven(job)
    for key, part, needed in (
        ("brake_circuit", job.brake_circuit, "brake" in kinds),
        ("clutch_circuit", job.clutch_circuit, "clutch" in kinds),
        ("clutch", job.clutch, "clutch" in kinds),
    ):
        if needed and part is None:
            yield (key,), "is missing; a rocker of the unit drives it"
        if part is not None and not needed:
            yield (key,), "is given, but no rocker of the unit drives it; allowed is nothing here"
    if job.pedal is not None and "brake" not in kinds:
        yield ("pedal",), "is given, but no rocker of the unit drives a brake; allowed is nothing here"
    yield from _gap_faults(job)


def _gap_faults(job: Job) -> Faults:
    """A pad gap that eats the plunger's whole stroke leaves nothing to brake with."""
    line = job.brake_circuit
    for _, rocker in rockers(job):
        plunger = rocker.plunger
        if line is None or rocker.drives != "brake" or plunger is None:
            continue
        both = 2 if line.caliper == "sliding" else 1
        free = plunger.stroke_mm - plunger.port_mm
        most = plunger.bore_mm**2 * free / (line.pistons * both * line.piston_mm**2)
        if line.pad_gap_mm >= most:
            yield ("brake_circuit", "pad_gap_mm"), f"is {line.pad_gap_mm:g} and eats the plunger's whole stroke; allowed is less than {max(most, 0):.3g}"


def _cam_faults(job: Job) -> Faults:
    kinds = driven(job)
    for kind in ("brake", "clutch", "assist"):
        cam = getattr(job.fitted, kind)
        if cam is None and kind in kinds and kind != "assist":
            yield ("fitted", kind), f"is missing; a rocker of the unit drives the {kind}"
        if cam is not None and kind not in kinds:
            yield ("fitted", kind), "is given, but no rocker of the unit carries it; allowed is nothing here"
        if job.rack is not None and getattr(job.rack, kind) and kind not in kinds:
            yield ("rack", kind), "is given, but no rocker of the unit carries it; allowed is nothing here"
    for row, lever in enumerate(job.unit.levers):
        cams = [(rocker.drives, getattr(job.fitted, rocker.drives)) for rocker in lever.rockers]
        known = [(kind, cam) for kind, cam in cams if cam is not None]
        for kind, cam in known[1:]:
            if cam.reach_deg != known[0][1].reach_deg:
                yield ("fitted", kind, "reach_deg"), f"is {cam.reach_deg:g}; allowed is {known[0][1].reach_deg:g}, the reach of the {known[0][0]} cam on the same lever ({lever.name})"
        for kind, cam in known:
            if cam.reach_deg >= lever.travel_stop_deg:
                yield ("fitted", kind, "reach_deg"), f"is {cam.reach_deg:g}; allowed is less than {lever.travel_stop_deg:g}, the lever's own stop"
    yield from _turn_faults(job)


def _turn_faults(job: Job) -> Faults:
    """A rocker cannot turn past its own line."""
    for at, rocker in rockers(job):
        cam = getattr(job.fitted, rocker.drives)
        if cam is None or rocker.drives == "assist":
            continue
        key = "stroke_mm" if rocker.drives == "brake" else "lift_mm"
        travel = getattr(cam, key) + (max(cam.take_up_mm, 0) if rocker.drives == "brake" else 0)
        most = rocker.load_arm_mm * (0.95 if rocker.push == "pin" else to_si("turn_deg", 170 - rocker.rest_angle_deg)[1])
        if travel > most:
            yield ("fitted", rocker.drives, key), f"is {getattr(cam, key):g}; allowed is up to {most:.3g} with this load_arm_mm and rest_angle_deg"


def _wish_faults(job: Job) -> Faults:
    kinds = driven(job)
    if job.wishes is not None:
        for kind in ("brake", "clutch"):
            if getattr(job.wishes, kind) is not None and kind not in kinds:
                yield ("wishes", kind), "is given, but no rocker of the unit drives it; allowed is nothing here"
        for key in job.wishes.importance:
            if key not in WISH_KEYS:
                yield ("wishes", "importance", key), f"is not known here; allowed is {', '.join(WISH_KEYS)}"
    origin = origins(job)
    for key, known in job.measured.items():
        if key not in origin or origin[key].source == "prior":
            yield ("measured", key), "names no number that the file gives; allowed is the path of one, such as brake_circuit.pad_gap_mm"
        elif not known.low <= float(origin[key].value) <= known.high:
            yield ("measured", key), f"is {known.low:g} to {known.high:g}; allowed is an interval around {origin[key].value:g}"
