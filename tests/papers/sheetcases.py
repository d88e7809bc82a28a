"""Sheets for the tests: of demo jobs, of a job whose every text is as long as it may be, and of one full of markup."""

from datetime import date
from functools import cache

import tomlkit

from pullcurve.intake.jobfile import parse_job
from pullcurve.papers.sheet import BenchSheet, RiderSheet
from pullcurve.parts.facts import data_text
from pullcurve.parts.job import Job
from pullcurve.verbs.jobs import demo_job
from pullcurve.verbs.sheets import bench_sheet, rider_sheet

DAY = date(2026, 11, 28)
ID = "0123456789ab"

TWO_CAMS = ("brake-in0-tu0.3-st7.5", "assist-in0-on4-fa0.60")
LONG_CAMS = (
    "brake-in0-tu0.3125-st7.5625-fl28.125",
    "clutch-in0-li10.0625-fl27.875",
    "assist-in0-on10.125-fa0.4375-fl30.5-bl7.25",
)

MARKUP = (
    '#panic("out") $x^2$ *bold* _it_ <b>bold</b> <script>alert(1)</script> '
    "{{ 7 * 7 }} {% raw %} \\ @ref `c` // &amp;"
)
"""What the typesetter, a browser or the templates would take for an order if it were not text."""

RIDERS = (
    "enduro-300",
    "two cams",
    "enduro-125",
    "motocross-450",
    "electric",
    "long words",
    "longest words",
    "markup",
)
BENCHES = ("brake-cam", "grease", "long reach", "foot-plunger")


def filled(word: str, length: int) -> str:
    """A text of a length, made of one word."""
    return ((word + " ") * length)[:length].rstrip()


@cache
def long_job(word: str) -> Job:
    """A demo job with every text as long as it may be, most surfaces, and cams of long names on the rack."""
    job = tomlkit.parse(data_text("demo/enduro-300.toml")).unwrap()
    job["title"], job["notes"] = filled(word, 120), filled(word, 4000)
    job["unit"]["name"], job["motorcycle"]["name"] = filled(word, 80), filled(word, 80)
    job["rider"]["need"] = filled(word, 200)
    for row, lever in enumerate(job["unit"]["levers"]):
        lever["name"] = filled(f"{row}{word}", 80)
    job["surfaces"] = [{"name": filled(f"{row}{word}", 60), "grip": 0.9 - 0.05 * row} for row in range(12)]
    job["wishes"]["complaints"] = [filled(word, 80)] * 12
    job["rack"]["brake"].append(
        {"reach_deg": 0, "take_up_mm": 0.3125, "stroke_mm": 7.5625, "flank_deg": 28.125}
    )
    job["rack"]["clutch"].append({"reach_deg": 0, "lift_mm": 10.0625, "flank_deg": 27.875})
    job["rack"]["assist"].append(
        {"reach_deg": 0, "onset_deg": 10.125, "fall": 0.4375, "flank_deg": 30.5, "blend_deg": 7.25}
    )
    return parse_job(tomlkit.dumps(job), "job.toml")


@cache
def markup_job() -> Job:
    """A demo job whose texts look like orders."""
    job = tomlkit.parse(data_text("demo/enduro-300.toml")).unwrap()
    job["title"], job["notes"], job["rider"]["need"] = MARKUP, f"notes {MARKUP}", f"need {MARKUP}"
    job["unit"]["name"], job["motorcycle"]["name"] = MARKUP[:70], f"machine {MARKUP[:60]}"
    job["unit"]["levers"][0]["name"] = MARKUP[20:80]
    job["surfaces"] = [{"name": MARKUP[:50], "grip": 0.7}, {"name": MARKUP[40:90], "grip": 0.5}]
    job["wishes"]["complaints"] = [MARKUP[:75]]
    return parse_job(tomlkit.dumps(job), "job.toml")


@cache
def rider(name: str) -> RiderSheet:
    """A sheet for rider and file."""
    match name:
        case "two cams":
            return rider_sheet(demo_job("enduro-300.toml"), ID, DAY, wanted=TWO_CAMS)
        case "long words":
            return rider_sheet(long_job("Widerstandsmoment"), ID, DAY, wanted=LONG_CAMS)
        case "longest words":
            return rider_sheet(long_job(40 * "W"), ID, DAY, wanted=LONG_CAMS)
        case "markup":
            return rider_sheet(markup_job(), ID, DAY)
        case _:
            return rider_sheet(demo_job(f"{name}.toml"), ID, DAY)


@cache
def bench(name: str) -> BenchSheet:
    """A sheet for the bench."""
    match name:
        case "brake-cam":
            return bench_sheet(demo_job(), ID, DAY, "brake-cam", wanted=TWO_CAMS[:1])
        case "long reach":
            return bench_sheet(long_job(40 * "W"), ID, DAY, "reach", wanted=LONG_CAMS)
        case "foot-plunger":
            return bench_sheet(demo_job("motocross-450.toml"), ID, DAY, "foot-plunger")
        case _:
            return bench_sheet(demo_job(), ID, DAY, name)
