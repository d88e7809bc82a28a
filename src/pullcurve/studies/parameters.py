"""What a measured pull is to tell: the unknowns of a job by their path in its file, each with its prior."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeVar

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.facts import Fact, known, table
from pullcurve.parts.fields import Part, Span
from pullcurve.parts.job import Job
from pullcurve.parts.loads import CableClutchCircuit, ClutchPack
from pullcurve.parts.origin import origins
from pullcurve.parts.unit import Rocker

Behind = Literal["given", "measured", "prior", "bench"]

BAND = 1.645
"""Standard deviations from the middle of a prior's band to its ends: nine values in ten lie inside."""

INTERVAL = 1.96
"""Standard deviations from a value to the ends of its 95 % interval."""

FARTHEST = 12.0
"""Standard deviations of the prior beyond which no value is looked for."""

LABELS: Mapping[str, str] = {
    "pad_gap_mm": "pad gap",
    "gap_pressure_bar": "pressure at which the pads come in",
    "free_air_percent": "air in the line",
    "hose_expansion_mm3_per_m_bar": "hose expansion",
    "caliper_expansion_mm3_per_bar": "give of caliper and pads",
    "seat_volume_mm3": "seating of pads and seals",
    "housing_expansion_mm3_per_bar": "give of the slave",
    "stiffness_newton_per_mm": "cable stiffness",
    "cable_friction": "cable friction",
    "free_play_mm": "cable play",
    "clamp_newton": "clutch clamp",
    "rate_newton_per_mm": "clutch spring rate",
    "spring_back_mm": "spring-back of the plates",
    "port_mm": "stroke to the port",
    "rest_gap_mm": "gap at the plunger",
    "spring_newton": "plunger spring",
    "spring_rate_newton_per_mm": "rate of the plunger spring",
    "seal_newton": "drag of the seals",
    "seal_share": "drag of the seals with pressure",
    "pin_friction": "friction of the lever pin",
    "pivot_friction": "friction of the rocker pin",
    "roller_friction": "friction of the roller",
    "finger_radius_mm": "distance of the finger from the pin",
    "spring_torque_newton_mm": "lever spring",
    "spring_rate_newton_mm_per_deg": "rate of the lever spring",
    "preload_newton": "assist spring",
    "preload_newton_mm": "assist spring",
    "force_zero_newton": "zero of the force gauge",
    "place_zero_mm": "zero of the travel",
    "clocking_deg": "clocking of the cam",
}
"""What an unknown is called, by the last key of its path."""

LINEAR = frozenset(
    {
        "port_mm",
        "free_play_mm",
        "finger_radius_mm",
        "spring_torque_newton_mm",
        "spring_rate_newton_mm_per_deg",
        "preload_newton",
        "preload_newton_mm",
        "force_zero_newton",
        "place_zero_mm",
        "clocking_deg",
    }
)
"""Keys whose prior is normal; all others are positive, spread over ratios, and have a log-normal one."""

LEVER_KEYS = ("finger_radius_mm", "spring_torque_newton_mm", "spring_rate_newton_mm_per_deg")
PLUNGER_KEYS = (
    "port_mm",
    "rest_gap_mm",
    "spring_newton",
    "spring_rate_newton_per_mm",
    "seal_newton",
    "seal_share",
)
ROCKER_KEYS = ("pivot_friction", "roller_friction")
BRAKE_KEYS = (
    "pad_gap_mm",
    "gap_pressure_bar",
    "free_air_percent",
    "hose_expansion_mm3_per_m_bar",
    "caliper_expansion_mm3_per_bar",
    "seat_volume_mm3",
)
LINE_KEYS = (
    "free_air_percent",
    "hose_expansion_mm3_per_m_bar",
    "housing_expansion_mm3_per_bar",
    "seal_newton",
    "seal_share",
)
CABLE_KEYS = ("stiffness_newton_per_mm", "cable_friction", "free_play_mm")
PACK_KEYS = ("clamp_newton", "rate_newton_per_mm", "spring_back_mm")


@dataclass(frozen=True, slots=True)
class Unknown:
    """One number that the pull is to tell, in the unit of its key.

    The prior is normal with ``centre`` and ``spread``, of the value itself or, with ``log``, of its logarithm.
    ``value`` is what the job says now; ``least`` and ``most`` are what the field allows.
    """

    path: str
    label: str
    value: float
    centre: float
    spread: float
    least: float
    most: float
    log: bool
    behind: Behind

    @property
    def key(self) -> str:
        """Last key of the path, which carries the unit."""
        return self.path.rpartition(".")[2]

    def scaled(self, value: float) -> float:
        """How many standard deviations of the prior a value lies from its middle."""
        return ((float(np.log(value)) if self.log else value) - self.centre) / self.spread

    def natural(self, scaled: FloatArray) -> FloatArray:
        """Values for so many standard deviations of the prior."""
        moved = self.centre + self.spread * np.asarray(scaled)
        return np.exp(moved) if self.log else moved

    @property
    def bounds(self) -> tuple[float, float]:
        """Bounds in standard deviations of the prior."""
        low = -FARTHEST if self.log and self.least <= 0 else max(self.scaled(self.least), -FARTHEST)
        return low, min(self.scaled(self.most), FARTHEST)

    def banded(self, low: float, high: float) -> "Unknown":
        """The same unknown with another band as its prior; the band is allowed even where the field is not."""
        ends = (float(np.log(low)), float(np.log(high))) if self.log else (low, high)
        centre, spread = _middle(*ends, BAND)
        least, most = min(self.least, low), max(self.most, high)
        return replace(self, centre=centre, spread=spread, least=least, most=most)


def unknowns(job: Job, row: int) -> tuple[Unknown, ...]:
    """Everything about one lever and its loads that a pull may tell, and the zeros of the bench."""
    known_origins = origins(job)
    found = []
    for path, part, key in _places(job, row):
        value = float(getattr(part, key))
        behind = known_origins[path].source
        measured = job.measured.get(path)
        ends = (measured.low, measured.high) if measured else None
        found.append(_unknown(path, _label(job, path), part, value, behind, ends))
    clocked = tuple(
        f"fitted.{rocker.drives}.clocking_deg"
        for rocker in job.unit.levers[row].rockers
        if rocker.drives != "assist" and getattr(job.fitted, rocker.drives) is not None
    )
    bench = map(_of_bench, ("bench.force_zero_newton", "bench.place_zero_mm", *clocked))
    return _told_apart((*found, *bench))


def _places(job: Job, row: int) -> Iterator[tuple[str, Part, str]]:
    """Path, part and key of every unknown that stands in the job."""
    lever = job.unit.levers[row]
    at = f"unit.levers.{row}"
    yield "unit.pin_friction", job.unit, "pin_friction"
    yield from _keys(at, lever, LEVER_KEYS)
    for place, rocker in enumerate(lever.rockers):
        yield from _of_rocker(f"{at}.rockers.{place}", rocker)
    drives = {rocker.drives for rocker in lever.rockers}
    if "brake" in drives and job.brake_circuit is not None:
        yield from _keys("brake_circuit", job.brake_circuit, BRAKE_KEYS)
    if "clutch" in drives and job.clutch_circuit is not None and job.clutch is not None:
        cable = isinstance(job.clutch_circuit, CableClutchCircuit)
        yield from _keys("clutch_circuit", job.clutch_circuit, CABLE_KEYS if cable else LINE_KEYS)
        coil = job.clutch.spring == "coil"
        yield from _keys("clutch", job.clutch, PACK_KEYS if coil else (PACK_KEYS[0], PACK_KEYS[2]))


def _of_rocker(at: str, rocker: Rocker) -> Iterator[tuple[str, Part, str]]:
    yield from _keys(at, rocker, ROCKER_KEYS)
    if rocker.plunger is not None:
        yield from _keys(f"{at}.plunger", rocker.plunger, PLUNGER_KEYS)
    if rocker.spring is not None:
        key = "preload_newton" if rocker.spring.kind == "compression" else "preload_newton_mm"
        yield from _keys(f"{at}.spring", rocker.spring, (key,))


def _keys(at: str, part: Part, keys: tuple[str, ...]) -> Iterator[tuple[str, Part, str]]:
    for key in keys:
        yield f"{at}.{key}", part, key


def _label(job: Job, path: str) -> str:
    """What an unknown is called; where a lever has several rockers, whose it is."""
    steps = path.split(".")
    name = LABELS[steps[-1]]
    if steps[0] == "clutch_circuit" and steps[-1].startswith("seal"):
        return name.replace("the seals", "the slave's seal")
    if "rockers" not in steps:
        return name
    beside = job.unit.levers[int(steps[2])].rockers
    return name if len(beside) == 1 else f"{name} ({beside[int(steps[4])].drives})"


def _told_apart(unknowns: tuple[Unknown, ...]) -> tuple[Unknown, ...]:
    """Unknowns with labels of their own: what brake and clutch of one lever both have is told by whose it is."""
    count = Counter(one.label for one in unknowns)
    return tuple(
        replace(one, label=f"{one.label} ({_whose(one.path)})") if count[one.label] > 1 else one
        for one in unknowns
    )


def _whose(path: str) -> str:
    """Brake or clutch, by a path in its circuit or of its cam."""
    first, second, *_ = path.split(".")
    return second if first == "fitted" else first.partition("_")[0]


def _unknown(
    path: str, label: str, part: Part, value: float, behind: Behind, ends: tuple[float, float] | None
) -> Unknown:
    """An unknown with the prior that its origin asks for."""
    key = path.rpartition(".")[2]
    span = next(one for one in type(part).model_fields[key].metadata if isinstance(one, Span))
    log = key not in LINEAR and value > 0
    fact = _fact(part, key)

    def scale(number: float) -> float:
        return float(np.log(number)) if log else number

    if fact is None:
        share = value * taken("given", key) / 100.0
        centre, spread = _middle(scale(value - share), scale(value + share), BAND)
    else:
        low, high = band(fact, log)
        centre, spread = _middle(scale(low), scale(high), BAND)
        if behind == "given":
            centre, spread = scale(value), spread * taken("given", "share_percent") / 100.0
    if ends is not None and (ends[0] > 0 or not log):
        centre, spread = _middle(scale(ends[0]), scale(ends[1]), INTERVAL)
    return Unknown(path, label, value, centre, max(spread, 1e-9), span.low, span.high, log, behind)


def band(fact: Fact, log: bool) -> tuple[float, float]:
    """Band of a prior; one that starts at zero starts as far below the usual value as it ends above, by ratio."""
    low, high, value = fact.low, fact.high, fact.value
    assert low is not None and high is not None and not isinstance(value, str) and value is not None
    return (value**2 / high if log and low == 0 else low), high


def _fact(part: Part, key: str) -> Fact | None:
    """The documented prior behind a field, if it has one."""
    extra = type(part).model_fields[key].json_schema_extra
    if not isinstance(extra, dict) or "prior" not in extra:
        return None
    by = extra.get("by")
    return known(str(extra["prior"]), str(getattr(part, str(by))) if by else None)


def _of_bench(path: str) -> Unknown:
    """An unknown of the bench or of the cam's place, which no job file holds."""
    key = path.rpartition(".")[2]
    entry = table("fitting")["bench"][key]
    centre, spread = _middle(entry["low"], entry["high"], BAND)
    far = FARTHEST * spread
    return Unknown(path, LABELS[key], centre, centre, spread, -far, far, log=False, behind="bench")


def _middle(low: float, high: float, ends: float) -> tuple[float, float]:
    """Mean and standard deviation of a normal whose ends lie so many standard deviations off."""
    return (low + high) / 2.0, (high - low) / (2.0 * ends)


def taken(group: str, key: str) -> float:
    """A number of the data file of fits."""
    return float(table("fitting")[group][key]["value"])


def with_values(job: Job, values: Mapping[str, Any]) -> Job:
    """The job with other numbers, or columns of them (N, 1), at some of its paths; a fit may try anything."""
    tree: dict[str, Any] = {}
    for path, value in values.items():
        *inner, key = path.split(".")
        node = tree
        for step in inner:
            node = node.setdefault(step, {})
        node[key] = value
    return _changed(job, tree)


AnyPart = TypeVar("AnyPart", bound=Part)


def _changed(part: AnyPart, tree: Mapping[str, Any]) -> AnyPart:
    """A part with some of its leaves changed; a diaphragm's table goes with its clamp."""
    update: dict[str, Any] = {}
    for key, inner in tree.items():
        old = getattr(part, key)
        if isinstance(old, tuple):
            update[key] = tuple(
                _changed(member, inner[str(row)]) if str(row) in inner else member
                for row, member in enumerate(old)
            )
        else:
            update[key] = _changed(old, inner) if isinstance(inner, dict) else inner
    if isinstance(part, ClutchPack) and part.table_force_newton and "clamp_newton" in update:
        share = update["clamp_newton"] / part.clamp_newton
        update["table_force_newton"] = (
            update["clamp_newton"],
            *(share * force for force in part.table_force_newton[1:]),
        )
    return part.model_copy(update=update)
