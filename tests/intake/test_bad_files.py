"""Bad job files and the exact lines that they are told; each line was written before it was seen."""

from dataclasses import dataclass

import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import parse_job
from tests.parts.jobs import CABLE, DIAPHRAGM, TORSION, Edit, edited

BRAKE_KEYS = (
    "caliper, piston_mm, pistons, disc_effective_radius_mm, pad_friction, pad_gap_mm, gap_pressure_bar, "
    "hose_length_m, hose_kind, hose_expansion_mm3_per_m_bar, caliper_expansion_mm3_per_bar, seat_volume_mm3, "
    "seat_pressure_bar, fluid_volume_cm3, fluid_bulk_modulus_gpa, free_air_percent, air_exponent, hot_fluid_cm3, "
    "fluid_expansion_per_kelvin"
)
FINGERS = '"index", "middle", "ring" or "little"'
SPRING = 'spring = { kind = "compression", rate_newton_per_mm = 10, preload_newton = 60 }'
BRAKE_ROCKER = "job.toml [unit.levers.0.rockers.0]"
CLUTCH_ROCKER = "job.toml [unit.levers.1.rockers.0]"
ASSIST_ROCKER = "job.toml [unit.levers.1.rockers.1]"
MEASURED = '"rider.mass_kg" = { date = 2026-05-14, low = 81, high = 83 }'
ONE_LINE = "characters on one line"


@dataclass(frozen=True, slots=True)
class Bad:
    """One bad file: what is wrong, the edits that make it so, the lines."""

    name: str
    edits: tuple[Edit, ...]
    lines: tuple[str, ...]


def bad(name: str, old: str, new: str, *lines: str) -> Bad:
    """A file with one edit."""
    return Bad(name, ((old, new),), lines)


KEYS = [
    bad("slip of the pen", "pistons = 1", "pistons = 1\nhose_lenght_m = 2",
        "job.toml [brake_circuit]: hose_lenght_m is not known here; did you mean hose_length_m?"),
    bad("without its unit", "pistons = 1", "pistons = 1\npad_gap = 0.1",
        "job.toml [brake_circuit]: pad_gap is not known here; did you mean pad_gap_mm?"),
    bad("capitals", "bore_mm = 9.5", "BORE_MM = 9.5",
        "job.toml [unit.levers.0.rockers.0.plunger]: bore_mm is missing; allowed is 4 to 30",
        "job.toml [unit.levers.0.rockers.0.plunger]: BORE_MM is not known here; did you mean bore_mm?"),
    bad("hyphens", "mass_kg = 112", "mass-kg = 112",
        "job.toml [motorcycle]: mass_kg is missing; allowed is 30 to 400",
        "job.toml [motorcycle]: mass-kg is not known here; did you mean mass_kg?"),
    bad("in the wrong section", "pistons = 1", "pistons = 1\nhand_length_mm = 188",
        "job.toml [brake_circuit]: hand_length_mm is not known here; it belongs in [rider]"),
    bad("at home in two sections", "pistons = 1", "pistons = 1\nseal_newton = 8",
        "job.toml [brake_circuit]: seal_newton is not known here; "
        "it belongs in [unit.levers.rockers.plunger] or [clutch_circuit]"),
    bad("like nothing", "pistons = 1", "pistons = 1\nx = 8",
        f"job.toml [brake_circuit]: x is not known here; known are {BRAKE_KEYS}"),
    bad("at the top", 'title = "two-stroke enduro"', 'titel = "two-stroke enduro"',
        f"job.toml: title is missing; allowed is a text of 1 to 120 {ONE_LINE}",
        "job.toml: titel is not known here; did you mean title?"),
    bad("of the other kind", "slave_bore_mm = 24", "slave_bore_mm = 24\nlift_ratio = 10",
        "job.toml [clutch_circuit]: lift_ratio belongs to another kind; known are kind, slave_bore_mm, hose_length_m, "
        "hose_kind, hose_expansion_mm3_per_m_bar, housing_expansion_mm3_per_bar, fluid_volume_cm3, "
        "fluid_bulk_modulus_gpa, free_air_percent, air_exponent, seal_newton, seal_share"),
    bad("with a line break in it", "pistons = 1", 'pistons = 1\n"pis\\ntons" = 1',
        'job.toml [brake_circuit]: "pis\\ntons" is not known here; did you mean pistons?'),
    bad("very long", "pistons = 1", f"pistons = 1\n{'k' * 500} = 1",
        f"job.toml [brake_circuit]: {'k' * 59}… is not known here; known are {BRAKE_KEYS}"),
    bad("dotted", "pistons = 1", "pistons = 1\na.b.c = 1",
        f"job.toml [brake_circuit]: a is not known here; known are {BRAKE_KEYS}"),
]  # fmt: skip

MISSING = [
    bad("a number", "mass_kg = 112\n", "", "job.toml [motorcycle]: mass_kg is missing; allowed is 30 to 400"),
    bad("a whole number", "pistons = 1\n", "",
        "job.toml [brake_circuit]: pistons is missing; allowed is a whole number, 1 to 8"),
    bad("a word", 'caliper = "sliding"\n', "",
        'job.toml [brake_circuit]: caliper is missing; allowed is "sliding" or "opposed"'),
    bad("a text", 'need = "below-knee prosthesis, medium hands"\n', "",
        f"job.toml [rider]: need is missing; allowed is a text of 1 to 200 {ONE_LINE}"),
    bad("a table",
        '[motorcycle]\nname = "two-stroke enduro"\nkind = "enduro"\nmass_kg = 112\nwheelbase_mm = 1482\n', "",
        "job.toml: motorcycle is missing; allowed is a table, [motorcycle]"),
    bad("a kind", 'kind = "hydraulic"\n', "",
        'job.toml [clutch_circuit]: kind is missing; allowed is "hydraulic" or "cable"'),
    bad("a spring's kind", 'kind = "compression", ', "",
        'job.toml [unit.levers.1.rockers.1.spring]: kind is missing; allowed is "compression" or "torsion"'),
    bad("the rack's key", "take_up_mm = 0.3\n", "",
        "job.toml [rack.brake.0]: take_up_mm is missing; allowed is a number or a list of numbers, -0.5 to 2"),
    bad("a load arm", "load_arm_mm = 16\nplunger", "plunger",
        f"{BRAKE_ROCKER}: load_arm_mm is missing; allowed is 3 to 80"),
    bad("a plunger", "plunger = { bore_mm = 9.5 }\n", "",
        f"{BRAKE_ROCKER}: plunger is missing; a rocker with a hydraulic load has one"),
    bad("an assist's spring", SPRING, "", f"{ASSIST_ROCKER}: spring is missing; an assist has one"),
    bad("the clutch", "[clutch]\nfriction_plates = 8\nclamp_newton = 1000\n", "",
        "job.toml: clutch is missing; a rocker of the unit drives the clutch"),
    bad("a fitted cam", "brake = { reach_deg = 0, take_up_mm = 0, stroke_mm = 7.5 }\n", "",
        "job.toml [fitted]: brake is missing; a rocker of the unit drives the brake"),
    bad("a measurement's day", "date = 2026-05-14, ", "",
        'job.toml [measured."rider.mass_kg"]: date is missing; allowed is a date such as 2026-05-14'),
]  # fmt: skip

NUMBERS = [
    bad("too small", "bore_mm = 9.5", "bore_mm = -9.5",
        "job.toml [unit.levers.0.rockers.0.plunger]: bore_mm is -9.5; allowed is 4 to 30"),
    bad("too large by a hair", "mass_kg = 112", "mass_kg = 400.00000000000006",
        "job.toml [motorcycle]: mass_kg is 400.00000000000006; allowed is 30 to 400"),
    bad("a text", "piston_mm = 26", 'piston_mm = "26"',
        'job.toml [brake_circuit]: piston_mm is "26"; allowed is a number, 10 to 60'),
    bad("true", "piston_mm = 26", "piston_mm = true",
        "job.toml [brake_circuit]: piston_mm is true; allowed is a number, 10 to 60"),
    bad("a date", "piston_mm = 26", "piston_mm = 2026-05-14",
        "job.toml [brake_circuit]: piston_mm is a date; allowed is a number, 10 to 60"),
    bad("a date with time", "piston_mm = 26", "piston_mm = 2026-05-14T10:00:00Z",
        "job.toml [brake_circuit]: piston_mm is a date with a time; allowed is a number, 10 to 60"),
    bad("a time", "piston_mm = 26", "piston_mm = 10:30:00",
        "job.toml [brake_circuit]: piston_mm is a time of day; allowed is a number, 10 to 60"),
    bad("a list", "piston_mm = 26", "piston_mm = [26]",
        "job.toml [brake_circuit]: piston_mm is a list; allowed is a number, 10 to 60"),
    bad("a table", "piston_mm = 26", "piston_mm = { value = 26 }",
        "job.toml [brake_circuit]: piston_mm is a table; allowed is a number, 10 to 60"),
    bad("nan", "piston_mm = 26", "piston_mm = nan",
        "job.toml [brake_circuit]: piston_mm is nan; allowed is 10 to 60"),
    bad("infinite", "piston_mm = 26", "piston_mm = -inf",
        "job.toml [brake_circuit]: piston_mm is -inf; allowed is 10 to 60"),
    bad("beyond a float", "piston_mm = 26", "piston_mm = 1e999",
        "job.toml [brake_circuit]: piston_mm is inf; allowed is 10 to 60"),
    bad("400 digits", "piston_mm = 26", f"piston_mm = {'9' * 400}",
        "job.toml [brake_circuit]: piston_mm is a number of some 400 digits; allowed is 10 to 60"),
    bad("9,000 binary digits", "piston_mm = 26", f"piston_mm = 0x{'f' * 9000}",
        "job.toml [brake_circuit]: piston_mm is a number of some 10837 digits; allowed is 10 to 60"),
    bad("whole with a point", "pistons = 1", "pistons = 1.0",
        "job.toml [brake_circuit]: pistons is 1.0; allowed is a whole number, 1 to 8"),
    bad("whole and too many", "pistons = 1", "pistons = 9",
        "job.toml [brake_circuit]: pistons is 9; allowed is a whole number, 1 to 8"),
]  # fmt: skip

WORDS = [
    bad("another word", 'caliper = "sliding"', 'caliper = "slidng"',
        'job.toml [brake_circuit]: caliper is "slidng"; allowed is "sliding" or "opposed"'),
    bad("a number", 'caliper = "sliding"', "caliper = 2",
        'job.toml [brake_circuit]: caliper is 2; allowed is "sliding" or "opposed"'),
    bad("a long text", 'caliper = "sliding"', f'caliper = "{"x" * 41}"',
        'job.toml [brake_circuit]: caliper is a text; allowed is "sliding" or "opposed"'),
    bad("another kind", 'kind = "hydraulic"', 'kind = "wire"',
        'job.toml [clutch_circuit]: kind is "wire"; allowed is "hydraulic" or "cable"'),
    bad("a list as kind", 'kind = "compression"', 'kind = ["compression"]',
        'job.toml [unit.levers.1.rockers.1.spring]: kind is a list; allowed is "compression" or "torsion"'),
    bad("six to choose from", 'kind = "enduro"', 'kind = "road"',
        'job.toml [motorcycle]: kind is "road"; '
        'allowed is "enduro", "motocross", "trials", "supermoto", "electric" or "other"'),
    bad("not even a text", 'title = "two-stroke enduro"', "title = 300",
        f"job.toml: title is 300; allowed is a text of 1 to 120 {ONE_LINE}"),
    bad("an empty text", 'title = "two-stroke enduro"', 'title = "  "',
        f'job.toml: title is "  "; allowed is a text of 1 to 120 {ONE_LINE}'),
    bad("two lines", 'title = "two-stroke enduro"', 'title = "a\\nb"',
        f'job.toml: title is "a\\nb"; allowed is a text of 1 to 120 {ONE_LINE}'),
    bad("too long a text", 'title = "two-stroke enduro"', f'title = "{"x" * 121}"',
        f"job.toml: title has 121 characters; allowed is a text of 1 to 120 {ONE_LINE}"),
    bad("a switch that is no switch", "[clutch_circuit]",
        "[pedal]\nratio = 5\nbore_mm = 12\nslave_bore_mm = 10\nslave_arm_mm = 16\nidle_port_open = 1\n[clutch_circuit]",
        "job.toml [pedal]: idle_port_open is 1; allowed is true or false"),
]  # fmt: skip

SHAPES = [
    bad("a section twice bracketed", "[motorcycle]", "[[motorcycle]]",
        "job.toml: motorcycle is a list; allowed is a table, [motorcycle]"),
    bad("a rack row bracketed once", "[[rack.assist]]", "[rack.assist]",
        "job.toml [rack]: assist is a table; allowed is a list of tables, [[rack.assist]]"),
    bad("a spring that is a number", SPRING, "spring = 3",
        f"{ASSIST_ROCKER}: spring is 3; allowed is a table, [unit.levers.rockers.spring]"),
    bad("a plunger that is a text", "plunger = { bore_mm = 9.5 }", 'plunger = "9.5 mm"',
        f'{BRAKE_ROCKER}: plunger is "9.5 mm"; allowed is a table, [unit.levers.rockers.plunger]'),
    bad("fingers as a text", '["index", "middle"]', '"index"',
        f'job.toml [rider]: brake_fingers is "index"; allowed is a list of 1 to 4 entries, each {FINGERS}'),
    bad("no fingers", '["index", "middle"]', "[]",
        "job.toml [rider]: brake_fingers has no entries; allowed is 1 to 4"),
    bad("no such finger", '["index", "middle"]', '["thumb"]',
        f'job.toml [rider]: brake_fingers.0 is "thumb"; allowed is {FINGERS}'),
    bad("a finger twice", '["index", "middle"]', '["index", "index"]',
        'job.toml [rider]: brake_fingers names "index" twice; allowed is each finger once'),
    bad("five fingers", '["index", "middle"]', '["index", "middle", "ring", "little", "index"]',
        "job.toml [rider]: brake_fingers has 5 entries; allowed is 1 to 4"),
    bad("complaints with a number", "[wishes.brake]", '[wishes]\ncomplaints = ["too heavy", 3]\n[wishes.brake]',
        f"job.toml [wishes]: complaints.1 is 3; allowed is a text of 1 to 80 {ONE_LINE}"),
    bad("a measurement that is a number", MEASURED, '"rider.mass_kg" = 82',
        'job.toml [measured]: "rider.mass_kg" is 82; allowed is a table, [measured."rider.mass_kg"]'),
    bad("importance of nothing known", "[wishes.brake]",
        '[wishes.importance]\n"brake.force_lok_newton" = 2\n[wishes.brake]',
        'job.toml [wishes.importance]: "brake.force_lok_newton" is not known here; '
        "did you mean brake.force_lock_newton?"),
    bad("importance out of range", "[wishes.brake]",
        '[wishes.importance]\n"brake.force_lock_newton" = 20\n[wishes.brake]',
        'job.toml [wishes.importance]: "brake.force_lock_newton" is 20; allowed is 0.1 to 10'),
]  # fmt: skip

RACKS = [
    bad("one value of a list", "stroke_mm = [7, 7.5, 8]", "stroke_mm = [7, 75, 8]",
        "job.toml [rack.brake.0]: stroke_mm.1 is 75; allowed is 2 to 20"),
    bad("several values of a list", "stroke_mm = [7, 7.5, 8]", 'stroke_mm = ["7", nan, true, 8, [9]]',
        'job.toml [rack.brake.0]: stroke_mm.0 is "7"; allowed is a number, 2 to 20',
        "job.toml [rack.brake.0]: stroke_mm.1 is nan; allowed is 2 to 20",
        "job.toml [rack.brake.0]: stroke_mm.2 is true; allowed is a number, 2 to 20",
        "job.toml [rack.brake.0]: stroke_mm.4 is a list; allowed is a number, 2 to 20"),
    bad("a single value", "take_up_mm = 0.3", "take_up_mm = 3",
        "job.toml [rack.brake.0]: take_up_mm is 3; allowed is -0.5 to 2"),
    bad("a text", "take_up_mm = 0.3", 'take_up_mm = "0.3"',
        'job.toml [rack.brake.0]: take_up_mm is "0.3"; allowed is a number or a list of numbers, -0.5 to 2'),
    bad("an empty list", "stroke_mm = [7, 7.5, 8]", "stroke_mm = []",
        "job.toml [rack.brake.0]: stroke_mm has no entries; allowed is a number or a list of numbers, 2 to 20"),
    bad("a key of another cam", "take_up_mm = 0.3", "take_up_mm = 0.3\nlift_mm = 9",
        "job.toml [rack.brake.0]: lift_mm is not known here; it belongs in [fitted.clutch] or [rack.clutch]"),
    bad("a slip of the pen", "onset_deg = 6\nfall", "onset_dg = 6\nfall",
        "job.toml [rack.assist.0]: onset_deg is missing; allowed is a number or a list of numbers, 0 to 30",
        "job.toml [rack.assist.0]: onset_dg is not known here; did you mean onset_deg?"),
    bad("more cams than anyone has", "lift_mm = [10, 11]", f"lift_mm = {[10 + row / 1000 for row in range(1001)]}",
        "job.toml [rack]: clutch stands for 2002 cams; allowed is up to 2000"),
    bad("a kind of cam that there is not", "[[rack.clutch]]", "[[rack.cluch]]",
        "job.toml [rack]: cluch is not known here; did you mean clutch?"),
]  # fmt: skip

TOGETHER = [
    bad("a lever's name twice", 'name = "clutch lever"', 'name = "brake lever"',
        'job.toml [unit.levers.1]: name is "brake lever" a second time; allowed is a name of its own'),
    bad("a finger past the tip", "length_mm = 125", "length_mm = 75",
        "job.toml [unit.levers.0]: length_mm is 75; allowed is more than 75, the finger_radius_mm"),
    bad("two brakes", 'drives = "clutch"', 'drives = "brake"',
        f'{CLUTCH_ROCKER}: drives is "brake" a second time; allowed is once in a unit',
        "job.toml [unit.levers.1]: rockers hold an assist without the clutch; "
        "allowed is an assist on the clutch's own lever",
        "job.toml: clutch_circuit is given, but no rocker of the unit drives the clutch; allowed is nothing here",
        "job.toml: clutch is given, but no rocker of the unit drives the clutch; allowed is nothing here",
        "job.toml [fitted]: clutch is given, but no rocker of the unit carries a clutch cam; allowed is nothing here",
        "job.toml [rack]: clutch is given, but no rocker of the unit carries a clutch cam; allowed is nothing here"),
    bad("a pin as large as its roller", "load_arm_mm = 16\nplunger",
        "load_arm_mm = 16\nroller_pin_radius_mm = 4\nplunger",
        f"{BRAKE_ROCKER}: roller_pin_radius_mm is 4; allowed is less than 4, the roller_radius_mm"),
    # a = 40, l = 20, psi = 5 deg: the roller's centre is sqrt(20.076^2 + 1.743^2) = 20.151 mm from the lever's
    # pivot; less the 4 mm pin and 1 mm of metal 15.15 mm are left
    bad("a roller into the pin", "roller_radius_mm = 4\nrest_angle_deg = 35",
        "roller_radius_mm = 16\nrest_angle_deg = 5",
        f"{BRAKE_ROCKER}: roller_radius_mm is 16; allowed is up to 15.15, clear of the lever pin at rest"),
    # a = l = 20, psi = 5 deg: 2 20 sin(2.5 deg) = 1.74 mm, less than the pin
    bad("no room at all", "centre_distance_mm = 40\narm_mm = 20\nroller_radius_mm = 4\nrest_angle_deg = 35",
        "centre_distance_mm = 20\narm_mm = 20\nroller_radius_mm = 4\nrest_angle_deg = 5",
        f"{BRAKE_ROCKER}: roller_radius_mm is 4; allowed is nothing: no room at rest"),
    bad("a spring on the brake", "plunger = { bore_mm = 9.5 }", f"plunger = {{ bore_mm = 9.5 }}\n{SPRING}",
        f"{BRAKE_ROCKER}: spring is given, but only an assist has one; allowed is nothing here"),
    bad("an assist with a pin", SPRING, f'push = "pin"\n{SPRING}',
        f'{ASSIST_ROCKER}: push is "pin"; allowed is "pad" for an assist'),
    bad("an assist with a plunger", SPRING, f"plunger = {{ bore_mm = 9 }}\n{SPRING}",
        f"{ASSIST_ROCKER}: plunger is given on a rocker without a hydraulic load; allowed is nothing here"),
    bad("a port as long as the stroke", "bore_mm = 9.5", "bore_mm = 9.5, stroke_mm = 4, port_mm = 4",
        "job.toml [unit.levers.0.rockers.0.plunger]: port_mm is 4; allowed is less than 4, the stroke_mm"),
    # 9.5^2 (12 - 0.8) / (2 26^2) = 0.748 mm of gap a pad take the whole stroke
    bad("a gap that eats the stroke", "pistons = 1", "pistons = 1\npad_gap_mm = 0.8",
        "job.toml [brake_circuit]: pad_gap_mm is 0.8 and eats the plunger's whole stroke; allowed is less than 0.748"),
    bad("reaches that differ", "assist = { reach_deg = 0", "assist = { reach_deg = 4",
        "job.toml [fitted.assist]: reach_deg is 4; allowed is 0, the reach_deg of the clutch cam"),
    Bad("a reach beyond the stop",
        (("travel_stop_deg = 28", "travel_stop_deg = 8"), ("brake = { reach_deg = 0", "brake = { reach_deg = 8")),
        ("job.toml [fitted.brake]: reach_deg is 8; allowed is less than 8, the lever's own stop",)),
    # pad: b (170 deg - 35 deg) = 3 2.3562 = 7.07 mm
    bad("a stroke past the rocker's line", "load_arm_mm = 16\nplunger", "load_arm_mm = 3\nplunger",
        "job.toml [fitted.brake]: stroke_mm is 7.5; allowed is up to 7.07 with this load_arm_mm and rest_angle_deg"),
    # pad: 3.5 2.3562 = 8.25 mm, less what a drawn shape takes, 3.5 (20 deg) = 1.22 mm
    Bad("a drawn shape past the rocker's line",
        (("load_arm_mm = 16\nplunger", "load_arm_mm = 3.5\nplunger"),
         ("stroke_mm = 7.5 }", f"stroke_mm = 7.5, shape_deg = {[20] * 32} }}")),
        ("job.toml [fitted.brake]: stroke_mm is 7.5; allowed is up to 7.02 with this load_arm_mm and rest_angle_deg",)),
    bad("half a shape", "stroke_mm = 7.5 }", "stroke_mm = 7.5, shape_deg = [0.1, 0.2] }",
        "job.toml [fitted.brake]: shape_deg has 2 entries; allowed is 32 numbers, -20 to 20, or none"),
    bad("a shape too large", "stroke_mm = 7.5 }", f"stroke_mm = 7.5, shape_deg = {[0] * 31 + [21]} }}",
        "job.toml [fitted.brake]: shape_deg.31 is 21; allowed is -20 to 20"),
    # pin: 0.95 b = 0.95 10 = 9.5 mm
    bad("a lift past the pin's quarter turn", "load_arm_mm = 20", 'load_arm_mm = 10\npush = "pin"',
        "job.toml [fitted.clutch]: lift_mm is 11; allowed is up to 9.5 with this load_arm_mm and rest_angle_deg"),
    bad("a surface twice", "[rider]",
        '[[surfaces]]\nname = "clay"\ngrip = 0.3\n[[surfaces]]\nname = "clay"\ngrip = 0.2\n[rider]',
        'job.toml [surfaces.1]: name is "clay" a second time; allowed is a name of its own'),
    bad("measured and not given", MEASURED, '"rider.duty" = { date = 2026-05-14, low = 0.1, high = 0.3 }',
        'job.toml [measured]: "rider.duty" is not known here; '
        "allowed is the path of a number that this file gives, such as motorcycle.mass_kg"),
    bad("measured and misspelt", MEASURED, '"rider.mas_kg" = { date = 2026-05-14, low = 81, high = 83 }',
        'job.toml [measured]: "rider.mas_kg" is not known here; did you mean rider.mass_kg?'),
    bad("a measured word", MEASURED, '"motorcycle.kind" = { date = 2026-05-14, low = 81, high = 83 }',
        'job.toml [measured]: "motorcycle.kind" is not known here; '
        "allowed is the path of a number that this file gives, such as motorcycle.mass_kg"),
    bad("measured elsewhere", "low = 81, high = 83", "low = 83, high = 85",
        'job.toml [measured]: "rider.mass_kg" is 83 to 85; allowed is an interval around 82, the value given'),
    bad("a day with a time", "date = 2026-05-14", "date = 2026-05-14T10:00:00",
        'job.toml [measured."rider.mass_kg"]: date is a date with a time; allowed is a date such as 2026-05-14'),
    bad("a day as a text", "date = 2026-05-14", 'date = "2026-05-14"',
        'job.toml [measured."rider.mass_kg"]: date is "2026-05-14"; allowed is a date such as 2026-05-14'),
    Bad("a cable and a plunger", CABLE[1:],
        (f"{CLUTCH_ROCKER}: plunger is given on a rocker without a hydraulic load; allowed is nothing here",)),
    Bad("a hydraulic line without a plunger", CABLE[:1],
        (f"{CLUTCH_ROCKER}: plunger is missing; a rocker with a hydraulic load has one",)),
    Bad("a compression spring without an arm", TORSION[:1],
        (f"{ASSIST_ROCKER}: load_arm_mm is missing; allowed is 3 to 80",)),
    bad("a table for coil springs", "clamp_newton = 1000", "clamp_newton = 1000\ntable_lift_mm = [0, 1, 2]",
        'job.toml [clutch]: table_lift_mm is for spring = "diaphragm" only; allowed is nothing here'),
    Bad("a rate for a diaphragm", (*DIAPHRAGM, ("friction_plates = 8", "friction_plates = 8\nrate_newton_per_mm = 65")),
        ('job.toml [clutch]: rate_newton_per_mm is for spring = "coil" only; allowed is nothing here',)),
    Bad("a table of two rows", (*DIAPHRAGM, ("[0, 0.5, 1, 2]", "[0, 2]"), ("[1000, 1060, 1080, 1040]", "[1000]")),
        ("job.toml [clutch]: table_lift_mm has 2 entries and table_force_newton has 1 entry; "
         "allowed is 3 to 50 in each, as many in both",)),
    Bad("a table that turns back", (*DIAPHRAGM, ("[0, 0.5, 1, 2]", "[0, 1, 1, 2]"), ("[1000, 1060", "[900, 1060")),
        ("job.toml [clutch]: table_lift_mm does not rise from 0; allowed is 0 first, then each larger than the last",
         "job.toml [clutch]: table_force_newton starts with 900; allowed is 1000, the clamp_newton")),
    Bad("a table that ends too soon", (*DIAPHRAGM, ("[0, 0.5, 1, 2]", "[0, 0.05, 0.1, 0.15]")),
        ("job.toml [clutch]: table_lift_mm ends at 0.15; allowed is more than 0.15, the spring_back_mm",)),
    Bad("a table of fifty-one rows", (*DIAPHRAGM, ("[0, 0.5, 1, 2]", f"{[row / 10 for row in range(51)]}")),
        ("job.toml [clutch]: table_lift_mm has 51 entries; allowed is up to 50",)),
    bad("wishes for a brake that is not there", "[wishes.brake]", "[wishes.brakes]",
        "job.toml [wishes]: brakes is not known here; did you mean brake?"),
]  # fmt: skip

SEVERAL = [
    Bad("all at once",
        (("bore_mm = 9.5", "bore_mm = 95"), ("mass_kg = 112", 'mass_kg = "heavy"'), ("fall = 0.5", "fal = 0.5"),
         ("stroke_mm = [7, 7.5, 8]", "stroke_mm = [70, 7.5, 8]"), ('kind = "hydraulic"', "kind = 1")),
        ("job.toml [unit.levers.0.rockers.0.plunger]: bore_mm is 95; allowed is 4 to 30",
         'job.toml [motorcycle]: mass_kg is "heavy"; allowed is a number, 30 to 400',
         'job.toml [clutch_circuit]: kind is 1; allowed is "hydraulic" or "cable"',
         "job.toml [fitted.assist]: fall is missing; allowed is 0.05 to 1.5",
         "job.toml [fitted.assist]: fal is not known here; did you mean fall?",
         "job.toml [rack.brake.0]: stroke_mm.0 is 70; allowed is 2 to 20")),
]  # fmt: skip

GROUPS = {
    "key": KEYS, "missing": MISSING, "number": NUMBERS, "word": WORDS, "shape": SHAPES, "rack": RACKS,
    "together": TOGETHER, "several": SEVERAL,
}  # fmt: skip
FILES = [(f"{group}: {file.name}", file) for group, files in GROUPS.items() for file in files]


@pytest.mark.parametrize("file", [file for _, file in FILES], ids=[name for name, _ in FILES])
def test_bad_file_is_told_exactly(file: Bad) -> None:
    with pytest.raises(BadInput) as refused:
        parse_job(edited(*file.edits), "job.toml")
    assert str(refused.value).split("\n") == list(file.lines)


def test_there_are_many() -> None:
    assert len(FILES) >= 60
    assert len({name for name, _ in FILES}) == len(FILES)
