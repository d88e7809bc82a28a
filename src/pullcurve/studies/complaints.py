"""What riders complain of, in the trade's words: what to check before any cam, and what a cam could change."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType

from pullcurve.errors import BadInput, Fault
from pullcurve.parts import facts

LEVERS = ("brake", "clutch")


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause that is not a cam, with the check that tells."""

    cause: str
    check: str


@dataclass(frozen=True, slots=True)
class Complaint:
    """One complaint on one lever: causes in the order of checking, read-outs to change (+1 more, -1 less)."""

    name: str
    lever: str
    words: tuple[str, ...]
    causes: tuple[Cause, ...]
    wants: Mapping[str, int]
    cam: str
    source: str
    mark: str


@cache
def complaints() -> tuple[Complaint, ...]:
    """All complaints that the workshop's vocabulary knows."""
    return tuple(_read(entry) for entry in facts.table("complaints")["complaint"])


def _read(entry: dict[str, object]) -> Complaint:
    """One entry of the data file."""
    causes, wants, words = entry["check_first"], entry.get("wants", {}), entry["words"]
    assert isinstance(causes, list) and isinstance(wants, dict) and isinstance(words, list)
    directions = {key: 1 if way == "more" else -1 for key, way in wants.items()}
    return Complaint(
        name=str(entry["name"]),
        lever=str(entry["lever"]),
        words=tuple(words),
        causes=tuple(Cause(**cause) for cause in causes),
        wants=MappingProxyType(directions),
        cam=str(entry["cam"]),
        source=str(entry["source"]),
        mark=str(entry["mark"]),
    )


def named(text: str, levers: tuple[str, ...] = LEVERS) -> tuple[Complaint, ...]:
    """Complaints that a phrase names, one per lever; a leading ``brake`` or ``clutch`` keeps to that lever.

    Raises BadInput with the nearest known phrases when nothing matches.
    """
    phrase = " ".join(text.lower().replace("-", " ").split())
    spoken = tuple(lever for lever in LEVERS if phrase.split(" ")[0] == lever)
    missing = [lever for lever in spoken if lever not in levers]
    if missing:
        raise BadInput(
            Fault("complaint", f'"{text}"', f"is about a {missing[0]} that this unit does not work")
        )
    wanted = spoken or levers
    bare = " ".join(word for word in phrase.split() if word not in LEVERS)
    found = tuple(
        known
        for known in complaints()
        if known.lever in wanted and any(bare == _plain(word) for word in known.words)
    )
    if found:
        return found
    known_words = sorted({word for known in complaints() if known.lever in wanted for word in known.words})
    near = get_close_matches(bare, [_plain(word) for word in known_words], n=3, cutoff=0.5)
    remedy = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(known_words)}"
    raise BadInput(Fault("complaint", f'"{text}"', f"is not known here; {remedy}"))


def _plain(word: str) -> str:
    """A phrase without apostrophes, hyphens and case, as people type it."""
    return " ".join(word.lower().replace("-", " ").split())
