"""When a unit is due again: wear by hours and ground, and brake fluid by boiling point and age."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any, Literal

from pullcurve.errors import BadInput, Fault
from pullcurve.parts.facts import table

State = Literal["good", "soon", "due"]

GROUNDS = ("dry", "mud", "sand")
"""What was ridden on; one hour of mud or sand wears like several dry ones."""

MONTHS = 12.0
"""Months of a year."""

LOWEST, HIGHEST = 80.0, 400.0
"""Boiling points that a tester can show [degrees Celsius]."""


@dataclass(frozen=True, slots=True)
class Ridden:
    """Riding hours by ground, and months, since something was last looked after."""

    hours: Mapping[str, float]
    months: float = 0.0


@dataclass(frozen=True, slots=True)
class Item:
    """Something that wears: its interval in dry hours and months, what an hour of mud or sand counts, what is done."""

    id: str
    name: str
    hours: float
    months: float
    mud: float
    sand: float
    act: str
    source: str
    mark: str
    task: str | None = None
    only: tuple[str, ...] = ()

    def dry_hours(self, ridden: Ridden) -> float:
        """Dry hours that wear as much as what was ridden."""
        counts = {"dry": 1.0, "mud": self.mud, "sand": self.sand}
        return sum(counts[ground] * hours for ground, hours in ridden.hours.items())


@dataclass(frozen=True, slots=True)
class Reminder:
    """One item: share of its interval used, hours left on the same ground, months left, and what to do in words."""

    item: Item
    used: float
    hours_left: float
    months_left: float
    state: State
    words: str


def items(features: Collection[str]) -> tuple[Item, ...]:
    """What wears on a unit with these features; an item for some features needs one of them."""
    listed = (Item(**{**row, "only": tuple(row.get("only", ()))}) for row in table("service")["items"])
    return tuple(item for item in listed if not item.only or set(item.only) & set(features))


def reminders(features: Collection[str], since: Mapping[str, Ridden]) -> tuple[Reminder, ...]:
    """Every item of a unit, the most pressing first; an item without a note in ``since`` has never been looked after.

    Raises BadInput for hours or months that cannot be, and for grounds that are not known.
    """
    faults = [fault for name, ridden in since.items() for fault in _faults(name, ridden)]
    if faults:
        raise BadInput(*faults)
    found = [remind(item, since.get(item.id)) for item in items(features)]
    return tuple(sorted(found, key=lambda one: -one.used))


def remind(item: Item, ridden: Ridden | None) -> Reminder:
    """One item after what was ridden; None says that nothing is noted, which counts as due."""
    if ridden is None:
        return Reminder(
            item, inf, 0.0, 0.0, "due", f"{item.name}: nothing is noted, so do it now. {item.act}"
        )
    worn, hours = item.dry_hours(ridden), sum(ridden.hours.values())
    used = max(worn / item.hours, ridden.months / item.months)
    mean = worn / hours if hours > 0 else 1.0
    hours_left = max(item.hours - worn, 0.0) / mean
    months_left = max(item.months - ridden.months, 0.0)
    state = _state(used)
    if state == "due":
        words = f"{item.name}: due. {item.act}"
    else:
        soon = "soon due" if state == "soon" else "good"
        words = f"{item.name}: {soon}, {hours_left:.0f} h on such ground or {months_left:.0f} months left."
    return Reminder(item, used, hours_left, months_left, state, words)


def _state(used: float) -> State:
    if used >= 1.0:
        return "due"
    return "soon" if used >= float(table("service")["soon"]["share"]) else "good"


def _faults(name: str, ridden: Ridden) -> list[Fault]:
    """What cannot be in one note."""
    known = [row["id"] for row in table("service")["items"]]
    faults = []
    if name not in known:
        faults.append(Fault("service", f'"{name}"', f"is not known here; allowed is {', '.join(known)}"))
    for ground, hours in ridden.hours.items():
        if ground not in GROUNDS:
            said = f"is not known here; allowed is {', '.join(GROUNDS)}"
            faults.append(Fault(f"service {name}", f'"{ground}"', said))
        elif not (isfinite(hours) and hours >= 0):
            faults.append(
                Fault(f"service {name}", f"hours on {ground}", f"are {hours:g}; allowed is from 0 on")
            )
    if not (isfinite(ridden.months) and ridden.months >= 0):
        faults.append(Fault(f"service {name}", "months", f"are {ridden.months:g}; allowed is from 0 on"))
    return faults


# Brake fluid ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FluidReminder:
    """Brake fluid: water and boiling point (measured, or the least that its class may have), state, and words."""

    kind: str
    years: float
    water_percent: float | None
    boiling_celsius: float
    measured: bool
    state: State
    words: str


def boiling_point(kind: str, water_percent: float) -> float:
    """Least boiling point [degrees Celsius] of a class of fluid that holds some water.

    The two points of the law, dry and at 3.7 % water, joined by a curve that falls fastest at first; it goes on below.
    """
    fluid, rules = _fluid(kind), table("service")["fluid_rules"]
    if not water_percent >= 0:
        raise BadInput(Fault("fluid", "water", f"is {water_percent:g} %; allowed is from 0 on"))
    share = water_percent / rules["wet_water_percent"]["value"]
    fall = fluid["dry_celsius"] - fluid["wet_celsius"]
    return float(fluid["dry_celsius"] - fall * share ** rules["fall_exponent"]["value"])


def water_after(kind: str, years: float, hose_kind: str) -> float:
    """Water [percent by mass] that fluid has taken up after some years behind such a hose."""
    rate = table("service")["fluid_rules"]["water_percent_per_year"][hose_kind]["value"]
    return float(rate * years) if _fluid(kind)["takes_water"] else 0.0


def fluid_reminder(
    kind: str, years: float, hose_kind: str = "rubber", measured_celsius: float | None = None
) -> FluidReminder:
    """Whether brake fluid is due, by its boiling point, measured or from its age, and by its age alone.

    Fluid is due at the least boiling point of wet fluid of its class, or at two years, whichever is sooner.
    """
    fluid, rules = _fluid(kind), table("service")["fluid_rules"]
    _check_fluid(years, measured_celsius)
    water = None if measured_celsius is not None else water_after(kind, years, hose_kind)
    boils = measured_celsius if water is None else boiling_point(kind, water)
    assert boils is not None
    wet, most = float(fluid["wet_celsius"]), rules["most_months"]["value"] / MONTHS
    soon = wet + rules["soon_celsius"]["value"], most * table("service")["soon"]["share"]
    state: State = (
        "due" if boils <= wet or years >= most else "soon" if boils <= soon[0] or years >= soon[1] else "good"
    )
    why = "measured" if water is None else f"the least that {kind} may have with some {water:.1f} % water"
    act = {"due": "change it before the next ride", "soon": "change it soon", "good": "good"}[state]
    words = f"{kind}, {years:.1f} years old, boils at {boils:.0f} °C ({why}); wet limit {wet:.0f} °C: {act}."
    return FluidReminder(kind, years, water, boils, measured_celsius is not None, state, words)


def _fluid(kind: str) -> Mapping[str, Any]:
    known: Mapping[str, Mapping[str, Any]] = table("service")["fluid"]
    if kind not in known:
        raise BadInput(Fault("fluid", f'"{kind}"', f"is not known here; allowed is {', '.join(known)}"))
    return known[kind]


def _check_fluid(years: float, measured_celsius: float | None) -> None:
    if not (isfinite(years) and years >= 0):
        raise BadInput(Fault("fluid", "years", f"are {years:g}; allowed is from 0 on"))
    if measured_celsius is not None and not LOWEST <= measured_celsius <= HIGHEST:
        allowed = f"{LOWEST:g} to {HIGHEST:g} °C"
        raise BadInput(
            Fault("fluid", "measured boiling point", f"is {measured_celsius:g}; allowed is {allowed}")
        )
