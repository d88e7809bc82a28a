"""Sentences of a sheet: what the levers do, what was computed, cautions, next check, where the numbers come from."""

import re
from calendar import monthrange
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from math import isfinite, isnan

import numpy as np

from pullcurve.papers.letters import TIED
from pullcurve.papers.sheet import RiderSheet
from pullcurve.papers.words import CAUTION
from pullcurve.parts.cams import decimals
from pullcurve.parts.facts import table
from pullcurve.parts.origin import PLAIN, Origin
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.findings import Verdict
from pullcurve.studies.limits import Limit
from pullcurve.studies.sentences import SIGNS, shown, summary
from pullcurve.units import from_si

STOP = {
    "brake": "A brake lever that feels soft, sinks or comes near the grip: stop and do not ride on.",
    "clutch": "A clutch that drags, or a lever that does not come back by itself: engine off.",
}
"""What a rider has to know of a lever that works the rear brake, or a clutch, with the hand (common practice)."""

NEW = "Reach and weight of the levers have changed: practise away from others before you rely on them."
SHOWN = 3
"""Entries of a list that the sheet has room for; beyond that they are counted."""

YEAR = 12


def sentences(text: str) -> list[str]:
    """Sentences of a paragraph, one line each."""
    return re.split(r"(?<=\.) ", text)


# What the levers do ---------------------------------------------------------------------------------------------------


def plain_words(sheet: RiderSheet) -> list[str]:
    """What changes, in felt steps; where nothing is proposed, what the levers do."""
    if len(sheet.sets) > 1:
        both = {kind: tuple(one for one in sheet.changes if one.kind == kind) for kind in STOP}
        return [f"{kind.capitalize()}: {_small(summary(known))}" for kind, known in both.items() if known]
    brake, clutch = sheet.last.pull.brake, sheet.last.pull.clutch
    told = [] if brake is None else [_brake_words(brake, sheet.surfaces[0])]
    return told if clutch is None else [*told, _clutch_words(clutch)]


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _brake_words(known: BrakeReadouts, surface: str) -> str:
    """Bite and lock-up."""
    gap, force = (dict(facets(known))[name] for name in ("gap_bite", "force_lock"))
    bite, lock = (float(np.ravel(values)[0]) for values in (known.gap_bite, known.gap_lock))
    if isnan(bite):
        return "Brake: the pads do not touch within the travel."
    told = f"Brake: it bites with the lever {shown(bite, gap)} from the grip"
    if isnan(lock):
        return f"{told}, and does not lock the rear wheel on {surface} within the travel."
    at = shown(float(np.ravel(known.force_lock)[0]), force)
    return f"{told} and locks the rear wheel on {surface} at {at}, {shown(lock, gap)} from the grip."


def _clutch_words(known: ClutchReadouts) -> str:
    """Heaviest point, and where the clutch is free."""
    gap, force = (dict(facets(known))[name] for name in ("gap_free", "force_peak"))
    free = float(np.ravel(known.gap_free)[0])
    told = f"Clutch: it is heaviest at {shown(float(np.ravel(known.force_peak)[0]), force)}"
    if isnan(free):
        return f"{told}, and is not free within the travel."
    return f"{told}, and free with the lever {shown(free, gap)} from the grip."


def wish_words(sheet: RiderSheet) -> str:
    """What the rider asked for, in numbers and in words."""
    parts = []
    for kind in ("brake", "clutch"):
        told = [
            f"{wish.facet.label} {shown(wish.target, wish.facet)}"
            for wish in sheet.wishes
            if wish.kind == kind and wish.source == "given"
        ]
        if told:
            parts.append(f"{kind}: {', '.join(told)}")
    complaints = sheet.job.wishes.complaints if sheet.job.wishes else ()
    said = _some([f"“{words}”" for words in complaints])
    return "; ".join([*parts, f"said: {said}"] if said else parts)


# What was computed ----------------------------------------------------------------------------------------------------


def computed(sheet: RiderSheet) -> Iterator[tuple[bool, str]]:
    """Whether each thing is right, and what is said of it."""
    broken = sheet.broken
    if broken:
        yield from ((False, limit_words(limit)) for limit in broken)
    kept = len(sheet.limits) - len(broken)
    yield (
        not broken,
        f"{kept} of {len(sheet.limits)} limits kept: travel left, return cold and worn, reach, the hand's force, "
        "port and plunger, shape of the cams.",
    )
    yield from _verdicts(sheet.verdicts)
    if sheet.taken is not None:
        yield from _taken_words(sheet)


def limit_words(limit: Limit) -> str:
    """A limit that is not kept: which, and by how much."""
    margin = float(np.min(limit.margin))
    if not isfinite(margin):
        return f"Not kept: {limit.sentence}; it is not reached."
    sign = "°" if limit.unit == "deg" else f" {SIGNS.get(limit.unit, limit.unit)}"
    return f"Not kept: {limit.sentence}; {abs(margin):.1f}{sign} are missing."


def _verdicts(verdicts: Mapping[str, Verdict]) -> Iterator[tuple[bool, str]]:
    """What the check of each cam says: what is wrong by itself, what is right in one line."""
    right = {kind: len(known.findings) for kind, known in verdicts.items() if known.ok}
    for kind, known in verdicts.items():
        wrong = [finding.sentence for finding in known.findings if not finding.ok]
        if wrong:
            more = f" And {len(wrong) - 1} more, see the check of the cam." if len(wrong) > 1 else ""
            yield False, f"{kind} cam fails {len(wrong)} of {len(known.findings)} points. {wrong[0]}{more}"
    if right:
        cams = " and ".join(", ".join(right).rsplit(", ", 1))
        yield (
            True,
            f"{cams} cam: to be cut as it is, follows its roller, bears its load; {sum(right.values())} points.",
        )


def _taken_words(sheet: RiderSheet) -> Iterator[tuple[bool, str]]:
    """A bench pull beside what is computed for the set that was on."""
    taken = sheet.taken
    assert taken is not None
    pulls = "1 pull" if taken.pull.cycles == 1 else f"{taken.pull.cycles} pulls"
    alike = not any(one.sure and abs(one.steps) >= 1.0 for one in taken.compared.readings)
    yield (
        alike,
        f"Measured against computed ({taken.pull.name}, {pulls} of the {taken.lever} lever with what is "
        f"{taken.role}): {_small(taken.compared.sentence)}",
    )


# Cautions -------------------------------------------------------------------------------------------------------------


def cautions(sheet: RiderSheet) -> list[str]:
    """What can hurt, and what to check before it does."""
    kinds = [kind for kind in STOP if getattr(sheet.last.pull, kind) is not None]
    told = [*sentences(CAUTION), *(STOP[kind] for kind in kinds)]
    if sheet.shut_port:
        hot = " and ".join(
            f"{from_si('pressure_bar', pressure):.0f} bar after {heating:.0f} K"
            for heating, pressure in sheet.shut_port
        )
        told.append(f"Play at rest keeps the brake's port open; shut, hot fluid alone would make {hot}.")
    return [*told, NEW] if len(sheet.sets) > 1 else told


# Next check -----------------------------------------------------------------------------------------------------------


def months_later(day: date, months: float) -> date:
    """The same day so many months later, or the last day of that month."""
    count = day.year * YEAR + day.month - 1 + int(months)
    year, month = divmod(count, YEAR)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def service_rows(sheet: RiderSheet) -> list[tuple[str, str, str, str]]:
    """What is looked at again: what, hours on dry ground, what an hour in mud or sand counts, and the last day."""
    return [
        (
            known.item.name,
            f"{known.hours_left:.0f} h",
            f"{decimals(known.item.mud)} / {decimals(known.item.sand)}",
            months_later(sheet.day, known.months_left).isoformat(),
        )
        for known in sheet.service.reminders
    ]


def service_words(sheet: RiderSheet) -> list[str]:
    """Reminders in words, the most pressing first, where the book has notes; the fluid in any case."""
    told = [known.words for known in sheet.service.reminders] if sheet.service.noted else []
    return [*told, *fluid_words(sheet)]


def fluid_words(sheet: RiderSheet) -> list[str]:
    """When the brake fluid is due; without notes, how anybody can tell."""
    if sheet.job.brake_circuit is None:
        return []
    if sheet.service.fluid is not None:
        return [sheet.service.fluid.words]
    rules = table("service")
    points = ", ".join(
        f"{name} {one['wet_celsius']:.0f} °C".replace(" ", TIED) for name, one in rules["fluid"].items()
    )
    months = rules["fluid_rules"]["most_months"]["value"]
    return [
        f"brake fluid: {months:.0f} months after its last change at the latest, or when a tester shows it boiling at "
        f"or below {points}."
    ]


# Where the numbers come from ------------------------------------------------------------------------------------------


def counts(origins: Mapping[str, Origin]) -> dict[str, list[str]]:
    """Paths of the numbers by where they came from."""
    found: dict[str, list[str]] = {"given": [], "measured": [], "prior": []}
    for path, origin in origins.items():
        if origin.note != PLAIN:
            found[origin.source].append(path)
    return found


def count_words(sheet: RiderSheet) -> str:
    """How many numbers were given, measured or priors."""
    return " · ".join(f"{len(paths)} {source}" for source, paths in counts(sheet.origins).items())


def source_lines(sheet: RiderSheet) -> list[str]:
    """Counts, what was measured and when, and which parts of the job stand on priors."""
    known = counts(sheet.origins)
    told = [
        f"{count_words(sheet)}. A prior is a documented usual value that stands in until somebody measures."
    ]
    measured = [f"{path} ({sheet.origins[path].note})" for path in known["measured"]]
    if measured:
        told.append(f"Measured: {_some(measured)}.")
    parts = Counter(path.partition(".")[0].replace("_", " ") for path in known["prior"])
    if parts:
        told.append("Priors in: " + ", ".join(f"{part} {count}" for part, count in parts.items()) + ".")
    return told


def _some(parts: list[str]) -> str:
    more = len(parts) - SHOWN
    return ", ".join(parts[:SHOWN]) + (f" and {more} more" if more > 0 else "")
