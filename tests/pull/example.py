"""An invented job and its variants: hydraulic or cable, with or without friction, two levers or one."""

import tomllib
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

from pullcurve.intake.jobfile import parse_job
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import AssistSpring, BrakeLine, ClutchCable, ClutchLine, Lever, Mechanism, Rocker

TEXT = Path(__file__).with_name("example.toml").read_text(encoding="utf-8")
NAMES = {"brake": (0, 0), "clutch": (1, 0), "assist": (1, 1)}

CABLE = {"kind": "cable", "lift_ratio": 9.0, "free_play_mm": 1.0}
DIAPHRAGM = {
    "spring": "diaphragm",
    "table_lift_mm": [0.0, 0.3, 0.6, 1.0, 1.5, 2.0],
    "table_force_newton": [1000.0, 1040.0, 1030.0, 980.0, 900.0, 850.0],
}
TORSION = {"kind": "torsion", "rate_newton_mm_per_deg": 8.0, "preload_newton_mm": 1000.0}
PEDAL = {"ratio": 5.0, "bore_mm": 12.7, "slave_bore_mm": 9.5, "slave_arm_mm": 16.0}


def described() -> dict[str, Any]:
    """The job as typed, to be changed."""
    return deepcopy(tomllib.loads(TEXT))


def rocker_of(typed: dict[str, Any], drives: str) -> dict[str, Any]:
    """The described rocker that drives brake, clutch or assist."""
    lever, place = NAMES[drives]
    rocker: dict[str, Any] = typed["unit"]["levers"][lever]["rockers"][place]
    return rocker


def example(**changes: dict[str, Any] | None) -> Job:
    """The job with some of its tables changed; a table of None is left out."""
    typed = described()
    for name, change in changes.items():
        if change is None:
            typed.pop(name)
        else:
            typed[name] = typed.get(name, {}) | change
    return Job.model_validate(typed)


def whole() -> Job:
    """The job as it stands, read as a job file is read."""
    return parse_job(TEXT, "example.toml")


def cable_job() -> Job:
    """The same machine with its clutch on a cable."""
    typed = described()
    typed["clutch_circuit"] = CABLE
    rocker_of(typed, "clutch").pop("plunger")
    return Job.model_validate(typed)


def torsion_job() -> Job:
    """The same machine with a torsion spring on the assist."""
    typed = described()
    rocker_of(typed, "assist")["spring"] = TORSION
    return Job.model_validate(typed)


def pin_job() -> Job:
    """The same machine with pins instead of pads between rockers and plungers."""
    typed = described()
    for drives in ("brake", "clutch"):
        rocker_of(typed, drives)["push"] = "pin"
    return Job.model_validate(typed)


def turning_job() -> Job:
    """The same machine with rockers that turn with the cams, at other places around the pin."""
    typed = described()
    for drives, bearing in (("brake", 40.0), ("clutch", -70.0), ("assist", 130.0)):
        rocker_of(typed, drives).update(turns="same", bearing_deg=bearing)
    return Job.model_validate(typed)


def one_lever_job() -> Job:
    """One lever that carries brake, clutch and assist together."""
    typed = described()
    brake, clutch = typed["unit"]["levers"]
    clutch["rockers"] = brake["rockers"] + clutch["rockers"]
    clutch["name"] = "lever"
    typed["unit"]["levers"] = [clutch]
    return Job.model_validate(typed)


JOBS: dict[str, Callable[[], Job]] = {
    "two levers": whole,
    "cable": cable_job,
    "diaphragm": lambda: example(clutch=DIAPHRAGM),
    "torsion": torsion_job,
    "pin": pin_job,
    "same sense": turning_job,
    "one lever": one_lever_job,
    "trapped pedal": lambda: example(pedal=PEDAL | {"idle_port_open": False}),
}


def smooth(rocker: Rocker) -> Rocker:
    """A rocker without any friction."""
    load = rocker.load
    match load:
        case BrakeLine():
            load = replace(load, plunger=replace(load.plunger, seal=0.0, seal_share=0.0))
        case ClutchLine():
            load = replace(
                load, plunger=replace(load.plunger, seal=0.0, seal_share=0.0), seal=0.0, seal_share=0.0
            )
        case ClutchCable():
            load = replace(load, wrap=0.0)
        case AssistSpring():
            pass
    return replace(rocker, pivot_drag=0.0, roller_tilt=0.0, load=load)


def without_friction(known: Mechanism) -> Mechanism:
    """A mechanism without any friction."""
    levers = tuple(
        replace(lever, pin_drag=0.0, rockers=tuple(smooth(rocker) for rocker in lever.rockers))
        for lever in known.levers
    )
    return replace(known, levers=levers)


def lever_with(known: Mechanism, drives: str) -> Lever:
    """The lever that drives something."""
    return next(lever for lever in known.levers if lever.rocker(drives))


def rocker_with(known: Mechanism, drives: str) -> Rocker:
    """The rocker that drives something."""
    rocker = lever_with(known, drives).rocker(drives)
    assert rocker is not None
    return rocker
