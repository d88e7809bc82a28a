"""The job: one machine, one rider, one control unit, what is fitted and what is wanted."""

from collections.abc import Iterable, Iterator
from datetime import date
from difflib import get_close_matches
from math import cos, hypot, sin
from typing import Annotated, Self

from pydantic import Field, model_validator

from pullcurve.parts.cams import BrakeCam, ClutchCam, Fitted, Rack
from pullcurve.parts.facts import fact, table
from pullcurve.parts.fields import Day, Part, Place, Span, Text, refuse_all
from pullcurve.parts.loads import BrakeCircuit, CableClutchCircuit, ClutchCircuit, ClutchPack, Pedal
from pullcurve.parts.machine import Motorcycle, Surface
from pullcurve.parts.origin import origins
from pullcurve.parts.rider import WISH_KEYS, Rider, Wishes
from pullcurve.parts.unit import LOAD_ARM, ControlUnit, Lever, Rocker, TorsionSpring
from pullcurve.units import to_si

CLEAR_OF_PIN = 1.0
"""Metal that must be left between lever pin and roller at rest [mm]."""

MOST_OF_ARM = 0.95
"""Share of its load arm that a rocker with a pin can travel; all of it would be a quarter turn."""

WIDEST = 170.0
"""Angle between rocker and centre line that a rocker can turn to [deg]."""

KINDS = ("brake", "clutch", "assist")

Faults = Iterator[tuple[Place, str]]


class Measured(Part):
    """Says that a given value was measured: when, and the interval it lies in."""

    date: Annotated[date, Day()]
    low: Annotated[float, Span(-1e9, 1e9)]
    high: Annotated[float, Span(-1e9, 1e9)]


def _usual_surfaces() -> tuple[Surface, ...]:
    return tuple(
        Surface(name=name, grip=fact("surface_list", name)) for name in table("priors")["surface_list"]
    )


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
        default_factory=_usual_surfaces, json_schema_extra={"prior": "surface_list", "by": "name"}
    )
    rider: Rider
    fitted: Fitted
    rack: Rack | None = None
    wishes: Wishes | None = None
    measured: dict[str, Measured] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        faults = [
            *_unit_faults(self),
            *_load_faults(self),
            *_gap_faults(self),
            *_cam_faults(self),
            *_reach_faults(self),
            *_turn_faults(self),
            *_wish_faults(self),
            *_measured_faults(self),
        ]
        if faults:
            raise refuse_all(faults)
        return self


def rockers(job: Job) -> Iterator[tuple[Place, Rocker]]:
    """Every rocker of the unit with its place in the file."""
    for row, lever in enumerate(job.unit.levers):
        for place, rocker in enumerate(lever.rockers):
            yield ("unit", "levers", row, "rockers", place), rocker


def driven(job: Job) -> set[str]:
    """What the unit's rockers drive."""
    return {rocker.drives for _, rocker in rockers(job)}


def _twice(name: str) -> str:
    return f'is "{name}" a second time; allowed is a name of its own'


def _unit_faults(job: Job) -> Faults:
    names = [lever.name for lever in job.unit.levers]
    for row, lever in enumerate(job.unit.levers):
        at: Place = ("unit", "levers", row)
        if lever.name in names[:row]:
            yield (*at, "name"), _twice(lever.name)
        if lever.length_mm <= lever.finger_radius_mm:
            allowed = f"more than {lever.finger_radius_mm:g}, the finger_radius_mm"
            yield (*at, "length_mm"), f"is {lever.length_mm:g}; allowed is {allowed}"
    seen: dict[str, int | str] = {}
    for place, rocker in rockers(job):
        if rocker.drives in seen:
            yield (*place, "drives"), f'is "{rocker.drives}" a second time; allowed is once in a unit'
        seen.setdefault(rocker.drives, place[2])
        yield from _size_faults(job, place, rocker)
        yield from _load_kind_faults(job, place, rocker)
    if "assist" in seen and seen.get("clutch") != seen["assist"]:
        at = ("unit", "levers", seen["assist"])
        yield (
            (*at, "rockers"),
            "hold an assist without the clutch; allowed is an assist on the clutch's own lever",
        )


def _size_faults(job: Job, at: Place, rocker: Rocker) -> Faults:
    """The roller turns on its pin and clears the lever's."""
    pin, roller = rocker.roller_pin_radius_mm, rocker.roller_radius_mm
    if pin >= roller:
        allowed = f"less than {roller:g}, the roller_radius_mm"
        yield (*at, "roller_pin_radius_mm"), f"is {pin:g}; allowed is {allowed}"
    angle = to_si("rest_angle_deg", rocker.rest_angle_deg)[1]
    away = hypot(rocker.centre_distance_mm - rocker.arm_mm * cos(angle), rocker.arm_mm * sin(angle))
    most = away - job.unit.pin_radius_mm - CLEAR_OF_PIN
    if roller > most:
        allowed = (
            f"up to {most:.4g}, clear of the lever pin at rest" if most > 0 else "nothing: no room at rest"
        )
        yield (*at, "roller_radius_mm"), f"is {roller:g}; allowed is {allowed}"
    yield from _plate_faults(job, (*at, "plate"), rocker, away - roller)


def _plate_faults(job: Job, at: Place, rocker: Rocker, room: float) -> Faults:
    """A given bore takes the lever's pin, and a given hub stays clear of the roller at rest."""
    plate, pin = rocker.plate, 2 * job.unit.pin_radius_mm
    if "bore_mm" in plate.model_fields_set and plate.bore_mm < pin:
        yield (*at, "bore_mm"), f"is {plate.bore_mm:g}; allowed is from {pin:g}, the lever pin, on"
    if "hub_radius_mm" in plate.model_fields_set and plate.hub_radius_mm >= room > 0:
        allowed = f"less than {room:.4g}, clear of the roller at rest"
        yield (*at, "hub_radius_mm"), f"is {plate.hub_radius_mm:g}; allowed is {allowed}"


def _load_kind_faults(job: Job, at: Place, rocker: Rocker) -> Faults:
    """Each rocker has what its load needs and nothing else."""
    drives = rocker.drives
    cable = drives == "clutch" and isinstance(job.clutch_circuit, CableClutchCircuit)
    wants_plunger = drives != "assist" and not cable
    if wants_plunger and rocker.plunger is None:
        yield (*at, "plunger"), "is missing; a rocker with a hydraulic load has one"
    if rocker.plunger is not None and not wants_plunger:
        yield (*at, "plunger"), "is given on a rocker without a hydraulic load; allowed is nothing here"
    if drives == "assist" and rocker.spring is None:
        yield (*at, "spring"), "is missing; an assist has one"
    if drives != "assist" and rocker.spring is not None:
        yield (*at, "spring"), "is given, but only an assist has one; allowed is nothing here"
    if drives == "assist" and rocker.push == "pin":
        yield (*at, "push"), 'is "pin"; allowed is "pad" for an assist'
    if rocker.load_arm_mm is None and not isinstance(rocker.spring, TorsionSpring):
        yield (*at, "load_arm_mm"), f"is missing; allowed is {LOAD_ARM.allowed}"
    if rocker.plunger is not None and rocker.plunger.port_mm >= rocker.plunger.stroke_mm:
        allowed = f"less than {rocker.plunger.stroke_mm:g}, the stroke_mm"
        yield (*at, "plunger", "port_mm"), f"is {rocker.plunger.port_mm:g}; allowed is {allowed}"


def _load_faults(job: Job) -> Faults:
    kinds = driven(job)
    for key, kind in (("brake_circuit", "brake"), ("clutch_circuit", "clutch"), ("clutch", "clutch")):
        if kind in kinds and getattr(job, key) is None:
            yield (key,), f"is missing; a rocker of the unit drives the {kind}"
        if kind not in kinds and getattr(job, key) is not None:
            yield (key,), _nothing_drives(f"the {kind}")
    if job.pedal is not None and "brake" not in kinds:
        yield ("pedal",), _nothing_drives("a brake")
    names = [surface.name for surface in job.surfaces]
    for row, name in enumerate(names):
        if name in names[:row]:
            yield ("surfaces", row, "name"), _twice(name)


def _nothing_drives(kind: str) -> str:
    return f"is given, but no rocker of the unit drives {kind}; allowed is nothing here"


def _gap_faults(job: Job) -> Faults:
    """A pad gap that eats the plunger's whole stroke leaves nothing to brake with."""
    line = job.brake_circuit
    for _, rocker in rockers(job):
        plunger = rocker.plunger
        if line is None or rocker.drives != "brake" or plunger is None:
            continue
        gaps = 2 if line.caliper == "sliding" else 1
        free = plunger.stroke_mm - plunger.port_mm
        most = plunger.bore_mm**2 * free / (line.pistons * gaps * line.piston_mm**2)
        if line.pad_gap_mm >= most > 0:
            said = (
                f"is {line.pad_gap_mm:g} and eats the plunger's whole stroke; allowed is less than {most:.3g}"
            )
            yield ("brake_circuit", "pad_gap_mm"), said


def _cam_faults(job: Job) -> Faults:
    kinds = driven(job)
    for kind in KINDS:
        cam = getattr(job.fitted, kind)
        if cam is None and kind in kinds and kind != "assist":
            yield ("fitted", kind), f"is missing; a rocker of the unit drives the {kind}"
        if kind in kinds:
            continue
        carried = f"is given, but no rocker of the unit carries an {kind} cam; allowed is nothing here"
        said = carried if kind == "assist" else carried.replace(" an ", " a ")
        if cam is not None:
            yield ("fitted", kind), said
        if job.rack is not None and getattr(job.rack, kind):
            yield ("rack", kind), said


def _reach_faults(job: Job) -> Faults:
    """Cams on one lever share its reach, and leave it some travel."""
    for lever in job.unit.levers:
        known = [kind for kind in _drives(lever) if getattr(job.fitted, kind) is not None]
        for kind in known:
            reach, first = (getattr(job.fitted, one).reach_deg for one in (kind, known[0]))
            place = ("fitted", kind, "reach_deg")
            if reach != first:
                allowed = f"{first:g}, the reach of the {known[0]} cam on the same lever ({lever.name})"
                yield place, f"is {reach:g}; allowed is {allowed}"
            if reach >= lever.travel_stop_deg:
                allowed = f"less than {lever.travel_stop_deg:g}, the lever's own stop"
                yield place, f"is {reach:g}; allowed is {allowed}"


def _drives(lever: Lever) -> list[str]:
    return list(dict.fromkeys(rocker.drives for rocker in lever.rockers))


def _turn_faults(job: Job) -> Faults:
    """A rocker cannot turn past its own line."""
    for _, rocker in rockers(job):
        cam, arm = getattr(job.fitted, rocker.drives), rocker.load_arm_mm
        if not isinstance(cam, BrakeCam | ClutchCam) or arm is None:
            continue
        turn = to_si("turn_deg", WIDEST - rocker.rest_angle_deg)[1]
        most = arm * (MOST_OF_ARM if rocker.push == "pin" else turn)
        key = "stroke_mm" if isinstance(cam, BrakeCam) else "lift_mm"
        early = max(cam.take_up_mm, 0.0) if isinstance(cam, BrakeCam) else 0.0
        early += arm * to_si("shape_deg", max(0.0, *cam.shape_deg))[1] if cam.shape_deg else 0.0
        given: float = getattr(cam, key)
        if given + early > most:
            allowed = f"up to {max(most - early, 0.0):.3g} with this load_arm_mm and rest_angle_deg"
            yield ("fitted", rocker.drives, key), f"is {given:g}; allowed is {allowed}"


def _wish_faults(job: Job) -> Faults:
    if job.wishes is None:
        return
    kinds = driven(job)
    for kind in ("brake", "clutch"):
        if getattr(job.wishes, kind) is not None and kind not in kinds:
            yield ("wishes", kind), _nothing_drives(f"the {kind}")
    for key in job.wishes.importance:
        if key not in WISH_KEYS:
            yield (
                ("wishes", "importance", key),
                _unknown_path(key, WISH_KEYS, "one of " + ", ".join(WISH_KEYS)),
            )


def _measured_faults(job: Job) -> Faults:
    if not job.measured:
        return
    known = origins(job)
    numbers = {
        path: float(origin.value)
        for path, origin in known.items()
        if origin.source != "prior"
        and isinstance(origin.value, int | float)
        and not isinstance(origin.value, bool)
    }
    for path, measured in job.measured.items():
        at = ("measured", path)
        if path not in numbers:
            allowed = "the path of a number that this file gives, such as motorcycle.mass_kg"
            yield at, _unknown_path(path, numbers, allowed)
        elif not measured.low <= numbers[path] <= measured.high:
            interval = f"{measured.low:g} to {measured.high:g}"
            yield at, f"is {interval}; allowed is an interval around {numbers[path]:g}, the value given"


def _unknown_path(path: str, known: Iterable[str], allowed: str) -> str:
    near = get_close_matches(path, known, n=1, cutoff=0.8)
    return f"is not known here; {f'did you mean {near[0]}?' if near else f'allowed is {allowed}'}"
