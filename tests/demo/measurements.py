"""The measurements of the demo workshop: twelve machines on the independent road, read by poor benches.

`python -m tests.demo.measurements` writes them beside the demo jobs. What each holds stands here and nowhere else.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.random import Generator, default_rng

from pullcurve.parts.cams import ClutchCam
from pullcurve.parts.job import Job
from pullcurve.studies.benchpull import LeverKind
from tests.road.bench import Habits, Logged, record
from tests.road.geometry import Floats
from tests.studies.bikes import Bike, curve_of, truth_of

FOLDER = Path(__file__).resolve().parents[2] / "src" / "pullcurve" / "data" / "demo"

USUAL_SPREAD = 1.0
"""Standard deviations of the priors within which the rest of every machine lies."""

SLOW = Habits(rate=20.0)
"""A logger that writes twenty readings in a second."""

Table = dict[str, tuple[Floats, int]]
"""Columns by what stands over them, each with its decimals."""


@dataclass(frozen=True, slots=True)
class Measurement:
    """One file: whose pull it is, what is wrong with the machine, how the bench wrote it down."""

    file: str
    job: str
    row: int
    lever: LeverKind
    holds: str
    note: str
    columns: Callable[[Logged, float], Table]
    wrong: Mapping[str, float] = field(default_factory=dict)
    cam: ClutchCam | None = None
    separator: str = ","
    comma: bool = False
    habits: Habits = SLOW
    upset: bool = False

    @property
    def bike(self) -> Bike:
        """The lever of the job."""
        return Bike(self.job, self.row, self.lever)

    @property
    def real_job(self) -> Job:
        """The job with what is really fitted."""
        job = self.bike.job
        if self.cam is None:
            return job
        return job.model_copy(update={"fitted": job.fitted.model_copy(update={"clutch": self.cam})})

    @property
    def truth(self) -> dict[str, float]:
        """What the machine really is."""
        return truth_of(self.bike.unknowns, default_rng(self.seed), USUAL_SPREAD) | dict(self.wrong)

    @property
    def seed(self) -> list[int]:
        """What the dice start from: the letters of the file's name."""
        return list(self.file.encode())


# How benches write ----------------------------------------------------------------------------------------------------


def plain(known: Logged, radius: float) -> Table:
    """Time, travel and force."""
    return {"time_s": (known.time, 2), "travel_mm": (known.travel * 1e3, 2), "force_N": (known.force, 1)}


def german(known: Logged, radius: float) -> Table:
    """The same with German names."""
    return {"Zeit [s]": (known.time, 2), "Weg [mm]": (known.travel * 1e3, 2), "Kraft [N]": (known.force, 1)}


def with_pressure(known: Logged, radius: float) -> Table:
    """A gauge in the line as well."""
    return plain(known, radius) | {"pressure_bar": (known.pressure / 1e5, 1)}


def by_angle(known: Logged, radius: float) -> Table:
    """An angle gauge on the pin instead of a ruler at the finger."""
    return {"angle [deg]": (np.degrees(known.travel / radius), 2), "force [N]": (known.force, 1)}


def in_inches(known: Logged, radius: float) -> Table:
    """Inches and pounds."""
    return {"Travel (in)": (known.travel / 0.0254, 3), "Force (lbf)": (known.force / 4.4482216, 2)}


def in_kilograms(known: Logged, radius: float) -> Table:
    """A spring balance with a pointer in kilograms."""
    return {
        "time (s)": (known.time, 2),
        "travel (mm)": (known.travel * 1e3, 2),
        "load (kgf)": (known.force / 9.80665, 2),
    }


# What is measured -----------------------------------------------------------------------------------------------------

PLUNGER = "unit.levers.{}.rockers.0.plunger."

MEASUREMENTS = (
    Measurement(
        "enduro-300-brake-1.csv", "enduro-300.toml", 0, "brake", "air",
        "new hose put on yesterday", plain, {"brake_circuit.free_air_percent": 1.1},
    ),
    Measurement(
        "enduro-300-brake-2.csv", "enduro-300.toml", 0, "brake", "healthy",
        "after the service", with_pressure,
    ),
    Measurement(
        "enduro-300-clutch-1.csv", "enduro-300.toml", 1, "clutch", "wrong cam fitted",
        "cams were cleaned and put back", german,
        cam=ClutchCam(reach_deg=0, lift_mm=12.0), separator=";", comma=True,
    ),
    Measurement(
        "enduro-250-clutch-1.csv", "enduro-250.toml", 1, "clutch", "worn plates",
        "two seasons on this clutch", plain, {"clutch.clamp_newton": 0.68},
    ),
    Measurement(
        "enduro-250-brake-1.csv", "enduro-250.toml", 0, "brake", "stuck roller",
        "unit came back from the wash", in_kilograms,
        {"unit.levers.0.rockers.0.roller_friction": 0.42},
    ),
    Measurement(
        "enduro-125-brake-1.csv", "enduro-125.toml", 0, "brake", "healthy",
        "one lever, straight from the box", by_angle, separator="\t",
    ),
    Measurement(
        "supermoto-450-brake-1.csv", "supermoto-450.toml", 0, "brake", "swollen hose",
        "hose of unknown age", plain, {"brake_circuit.hose_expansion_mm3_per_m_bar": 8.5},
    ),
    Measurement(
        "supermoto-450-clutch-1.csv", "supermoto-450.toml", 1, "clutch", "sticky seal",
        "topped up at the roadside", german,
        {PLUNGER.format(1) + "seal_newton": 38.0, PLUNGER.format(1) + "seal_share": 0.11}, separator=";", comma=True,
    ),
    Measurement(
        "trials-280-brake-1.csv", "trials-280.toml", 0, "brake", "pad stand-off",
        "wheel bearing has play", plain, {"brake_circuit.pad_gap_mm": 0.55},
    ),
    Measurement(
        "trials-280-clutch-1.csv", "trials-280.toml", 1, "clutch", "clocked wrongly",
        "lever taken apart for a new pin", in_inches, {"fitted.clutch.clocking_deg": -3.6},
    ),
    Measurement(
        "electric-brake-1.csv", "electric.toml", 0, "brake", "blocked port",
        "measured hot, straight after a run", with_pressure, {PLUNGER.format(0) + "port_mm": -1.2},
    ),
    Measurement(
        "enduro-300-brake-3.csv", "enduro-300.toml", 0, "brake", "sticky seal",
        "gauge fell off twice", german,
        {PLUNGER.format(0) + "seal_newton": 45.0, PLUNGER.format(0) + "seal_share": 0.1}, separator=";", comma=True,
        habits=replace(SLOW, pulls=7), upset=True,
    ),
)  # fmt: skip


# Writing --------------------------------------------------------------------------------------------------------------


def text_of(known: Measurement) -> str:
    """The file as it is written."""
    dice = default_rng([*known.seed, 1])
    truth = _in_numbers(known)
    curve = curve_of(known.bike, truth, known.real_job)
    logged = record(curve, dice, known.habits)
    radius = known.bike.job.unit.levers[known.row].finger_radius_mm / 1e3
    columns = known.columns(_upset(logged, dice) if known.upset else logged, radius)
    rows = [
        known.separator.join(
            _shown(float(values[row]), decimals, known.comma) for values, decimals in columns.values()
        )
        for row in range(logged.time.size)
    ]
    head = [f"# job: {known.job}", f"# lever: {known.lever}", f"# note: {known.note}"]
    return "\n".join([*head, known.separator.join(columns), *rows, ""])


def _in_numbers(known: Measurement) -> dict[str, float]:
    """The truth with shares of what the job says made numbers."""
    truth = known.truth
    if "clutch.clamp_newton" in known.wrong:
        given = known.bike.job.clutch
        assert given is not None
        truth["clutch.clamp_newton"] *= given.clamp_newton
    return truth


def _upset(known: Logged, dice: Generator) -> Logged:
    """Spikes, holes, a gauge whose zero creeps up by 4 N, and a ruler that does not start at zero."""
    force = np.round(known.force + 4.0 * known.time / known.time[-1], 1)
    places = dice.choice(force.size, 9, replace=False)
    force[places[:6]] += dice.choice([-60.0, 60.0], 6)
    force[places[6:]] = np.nan
    return replace(known, force=force, travel=known.travel + 0.0123)


def _shown(value: float, decimals: int, comma: bool) -> str:
    if np.isnan(value):
        return ""
    text = f"{value:.{decimals}f}"
    return text.replace(".", ",") if comma else text


def write(folder: Path) -> None:
    """Write every measurement into a folder."""
    for known in MEASUREMENTS:
        (folder / known.file).write_text(text_of(known), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(FOLDER)
