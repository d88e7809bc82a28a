"""An invented job for the tests: two levers, hydraulic clutch with an assist, a small rack."""

import tomllib
from typing import Any

from pullcurve.parts.job import Job

EXAMPLE = """\
title = "two-stroke enduro"

[unit]
name = "two-lever unit"
pivot_offset_mm = 30

[[unit.levers]]
name = "brake lever"
finger_radius_mm = 75
length_mm = 125
rest_angle_deg = 27
travel_stop_deg = 28

[[unit.levers.rockers]]
drives = "brake"
centre_distance_mm = 40
arm_mm = 20
roller_radius_mm = 4
rest_angle_deg = 35
load_arm_mm = 16
plunger = { bore_mm = 9.5 }

[[unit.levers]]
name = "clutch lever"
finger_radius_mm = 75
length_mm = 125
rest_angle_deg = 27
travel_stop_deg = 28

[[unit.levers.rockers]]
drives = "clutch"
centre_distance_mm = 40
arm_mm = 20
roller_radius_mm = 4
rest_angle_deg = 35
load_arm_mm = 20
plunger = { bore_mm = 10 }

[[unit.levers.rockers]]
drives = "assist"
centre_distance_mm = 40
arm_mm = 20
roller_radius_mm = 4
rest_angle_deg = 60
load_arm_mm = 16
spring = { kind = "compression", rate_newton_per_mm = 10, preload_newton = 60 }

[motorcycle]
name = "two-stroke enduro"
kind = "enduro"
mass_kg = 112
wheelbase_mm = 1482

[brake_circuit]
caliper = "sliding"
piston_mm = 26
pistons = 1
disc_effective_radius_mm = 96

[clutch_circuit]
kind = "hydraulic"
slave_bore_mm = 24

[clutch]
friction_plates = 8
clamp_newton = 1000

[rider]
need = "below-knee prosthesis, medium hands"
mass_kg = 82
hand_length_mm = 188
brake_fingers = ["index", "middle"]

[fitted]
brake = { reach_deg = 0, take_up_mm = 0, stroke_mm = 7.5 }
clutch = { reach_deg = 0, lift_mm = 11 }
assist = { reach_deg = 0, onset_deg = 6, fall = 0.5 }

[wishes.brake]
force_lock_newton = 55

[measured]
"rider.mass_kg" = { date = 2026-05-14, low = 81, high = 83 }

[[rack.brake]]
reach_deg = [0, 4]
take_up_mm = 0.3
stroke_mm = [7, 7.5, 8]

[[rack.clutch]]
reach_deg = [0, 4]
lift_mm = [10, 11]

[[rack.assist]]
reach_deg = [0, 4]
onset_deg = 6
fall = [0.4, 0.5]
"""

Edit = tuple[str, str]


def edited(*edits: Edit) -> str:
    """The example with each first occurrence of a text exchanged for another."""
    text = EXAMPLE
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def tables(*edits: Edit) -> dict[str, Any]:
    """The example, or an edited one, as tables."""
    return tomllib.loads(edited(*edits))


def job(*edits: Edit) -> Job:
    """The example, or an edited one, as a job."""
    return Job.model_validate(tables(*edits))


CABLE: tuple[Edit, ...] = (
    ("plunger = { bore_mm = 10 }\n", ""),
    ('kind = "hydraulic"\nslave_bore_mm = 24', 'kind = "cable"\nlift_ratio = 10'),
)
"""A cable instead of the clutch's hydraulic line."""

TORSION: tuple[Edit, ...] = (
    ("load_arm_mm = 16\nspring", "spring"),
    (
        'kind = "compression", rate_newton_per_mm = 10, preload_newton = 60',
        'kind = "torsion", rate_newton_mm_per_deg = 50, preload_newton_mm = 1500',
    ),
)
"""A torsion spring as assist."""

DIAPHRAGM: tuple[Edit, ...] = (
    (
        "clamp_newton = 1000",
        'clamp_newton = 1000\nspring = "diaphragm"\ntable_lift_mm = [0, 0.5, 1, 2]\n'
        "table_force_newton = [1000, 1060, 1080, 1040]",
    ),
)
"""A diaphragm spring in the clutch."""
