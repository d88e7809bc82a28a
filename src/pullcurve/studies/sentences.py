"""Plain words for a change: what gets lighter, nearer or longer, and whether a rider would feel it."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import felt_grade_force, felt_grade_position
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, Facet, facets
from pullcurve.studies.bounds import Bound
from pullcurve.studies.candidates import Candidates
from pullcurve.studies.wishes import WISH_READOUTS, Wish, felt_steps, first_surface
from pullcurve.units import from_si

SIGNS: Mapping[str, str] = MappingProxyType(
    {
        "newton": "N",
        "percent": "%",
        "m_per_s2": "m/s²",
        "m_per_s2_per_mm": "m/s² per mm",
        "g_per_newton": "g/N",
        "g_per_mm": "g/mm",
    }
)
"""Unit signs as they are printed, where they differ from the suffix."""

GRADES = ("not felt", "felt back to back", "felt a day later")

WORDS: Mapping[tuple[str, str], tuple[str, str, str]] = MappingProxyType(
    {
        ("brake", "gap_rest"): ("brake lever rests", "farther from the grip", "nearer the grip"),
        ("brake", "gap_bite"): ("bite comes", "farther from the grip", "nearer the grip"),
        ("brake", "gap_lock"): ("lock-up comes", "farther from the grip", "nearer the grip"),
        ("brake", "travel_bite"): ("travel to bite is", "longer", "shorter"),
        ("brake", "travel_lock"): ("travel to lock-up is", "longer", "shorter"),
        ("brake", "force_bite"): ("bite is", "heavier", "lighter"),
        ("brake", "force_lock"): ("lock-up is", "heavier", "lighter"),
        ("brake", "modulation_travel"): ("the way from bite to lock-up is", "longer", "shorter"),
        ("brake", "modulation_force"): ("the force between bite and lock-up is", "larger", "smaller"),
        ("brake", "travel_left"): ("travel left after lock-up is", "longer", "shorter"),
        ("clutch", "gap_rest"): ("clutch lever rests", "farther from the grip", "nearer the grip"),
        ("clutch", "gap_slip"): ("slip begins", "farther from the grip", "nearer the grip"),
        ("clutch", "gap_free"): ("the clutch is free", "farther from the grip", "nearer the grip"),
        ("clutch", "gap_clean"): ("the plates are clean", "farther from the grip", "nearer the grip"),
        ("clutch", "travel_slip"): ("travel to first slip is", "longer", "shorter"),
        ("clutch", "travel_free"): ("travel to free is", "longer", "shorter"),
        ("clutch", "travel_clean"): ("travel to clean is", "longer", "shorter"),
        ("clutch", "force_peak"): ("the heaviest point is", "heavier", "lighter"),
        ("clutch", "force_hold"): ("holding it in is", "heavier", "lighter"),
        ("clutch", "friction_zone"): ("the friction zone is", "longer", "shorter"),
        ("clutch", "travel_left"): ("travel left after clean is", "longer", "shorter"),
    }
)
"""Subject, word for more, word for less, of every read-out that a finger can feel."""

SPOKEN = (
    "gap_rest",
    "force_lock",
    "force_peak",
    "force_hold",
    "travel_bite",
    "modulation_travel",
    "friction_zone",
    "travel_clean",
)
"""Read-outs that a sentence speaks of; the others follow from them and stand in the table."""


@dataclass(frozen=True, slots=True)
class Change:
    """Change of one read-out: before and after in SI, signed felt steps, and the grade 0, 1 or 2."""

    kind: str
    readout: str
    facet: Facet
    before: float
    after: float
    steps: float
    grade: int

    @property
    def verdict(self) -> str:
        """The grade in words."""
        return GRADES[self.grade]

    @property
    def amount(self) -> str:
        """Change with its sign; empty where one side is not reached."""
        if np.isnan(self.before) or np.isnan(self.after):
            return ""
        text = shown(self.after - self.before, self.facet)
        return text if text.startswith("-") else f"+{text}"

    @property
    def told(self) -> str:
        """Verdict for a table: empty where no finger could tell."""
        return "" if self.facet.felt == "no" else self.verdict

    @property
    def words(self) -> str:
        """One clause: what is how much more or less."""
        subject, more, less = WORDS.get((self.kind, self.readout), (f"{self.facet.label} is", "more", "less"))
        if np.isnan(self.after):
            return f"{self.facet.label} is not reached within the travel"
        if np.isnan(self.before):
            return f"{self.facet.label} is now reached, at {shown(self.after, self.facet)}"
        amount = shown(abs(self.after - self.before), self.facet)
        return f"{subject} {amount} {more if self.after > self.before else less}"


def shown(value: float, facet: Facet) -> str:
    """A value with its unit, in as many decimals as a finger can feel."""
    number = float(from_si(f"value_{facet.unit}", value))
    return f"{number:.{facet.decimals}f} {SIGNS.get(facet.unit, facet.unit)}"


def _grade(facet: Facet, before: float, after: float) -> int:
    if np.isnan(before) or np.isnan(after):
        return 0 if np.isnan(before) and np.isnan(after) else 2
    if facet.felt == "force":
        return int(felt_grade_force(before, after))
    if facet.felt == "place":
        return int(felt_grade_position(before, after))
    return 0


def compare(kind: str, name: str, facet: Facet, before: FloatArray, after: FloatArray) -> Change:
    """Change of one read-out between two single sets; per surface, of the first surface."""
    was, now = (float(np.ravel(first_surface(values, facet))[0]) for values in (before, after))
    steps = 0.0 if np.isnan(was) or np.isnan(now) else float(felt_steps(was, now, facet))
    return Change(kind, name, facet, was, now, steps, _grade(facet, was, now))


def changes(before: Candidates, after: Candidates, row: int) -> tuple[Change, ...]:
    """Change of every read-out from a table of one row to a row of another table."""
    old = before.readouts()
    return tuple(
        compare(kind, name, facet, getattr(old[kind], name), getattr(known, name)[row : row + 1])
        for kind, known in after.readouts().items()
        for name, facet in facets(known)
    )


def bound_sentence(bound: Bound) -> str:
    """Why a wished force is out of reach of any cam over a stretch."""
    kind, _, _ = bound.wish.partition(".")
    label = dict(facets(BrakeReadouts if kind == "brake" else ClutchReadouts))[
        WISH_READOUTS[bound.wish]
    ].label
    return (
        f"{kind}, {label}: {bound.wished_force:.0f} N cannot be had {bound.stretch}. There the finger must do "
        f"{bound.energy:.2f} J of work over {from_si('travel_mm', bound.travel):.0f} mm, whatever the cam, so it meets "
        f"{bound.least_force:.0f} N or more somewhere; a cam can only move effort along the stroke."
    )


def summary(changed: tuple[Change, ...]) -> str:
    """One sentence: the felt changes, largest first; what follows from them is left to the table."""
    felt = sorted((change for change in changed if change.grade), key=lambda change: -abs(change.steps))
    if not felt:
        return "Nothing that you would feel."
    spoken = [change for change in felt if change.readout in SPOKEN] or felt[:1]
    clauses = [f"{change.words}, {change.verdict}" for change in spoken]
    tail = "nothing else you would feel" if len(spoken) == len(felt) else "the rest follows from that"
    text = "; ".join([*clauses, tail]) + "."
    return text[0].upper() + text[1:]


def explain(
    wishes: tuple[Wish, ...],
    steps: dict[str, float],
    changed: tuple[Change, ...],
    table: Candidates,
    row: int,
) -> tuple[str, ...]:
    """Why this set: how it meets each wish, and what changes against the set on the machine."""
    known = table.readouts()
    met, missed = [], []
    for wish in wishes:
        value = float(first_surface(getattr(known[wish.kind], wish.readout), wish.facet)[row])
        away = abs(steps[wish.key])
        if away <= 1.0:
            met.append(f"{wish.facet.label} {shown(value, wish.facet)}")
        else:
            side = "above" if value > wish.target else "below"
            gap = shown(abs(value - wish.target), wish.facet)
            missed.append(
                f"{wish.facet.label} {shown(value, wish.facet)}, {gap} {side} the wish ({away:.1f} felt steps)"
            )
    sentences = [f"Against what is fitted: {summary(changed)}"]
    if met:
        sentences.append("As wished, as far as a finger can tell: " + ", ".join(met) + ".")
    if missed:
        sentences.append("Not as wished: " + "; ".join(missed) + ".")
    return tuple(sentences)
