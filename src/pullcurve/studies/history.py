"""Lines of a machine's history, as the book keeps them: frozen, nothing of a table left."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

GROUNDS = ("dry", "mud", "sand")
"""What hours are told apart by."""


@dataclass(frozen=True, slots=True)
class Machine:
    """A customer's machine: its number and name, whose it is, when it is due and for what."""

    id: int
    name: str
    owner: str
    words: str
    who: str
    at: str
    due_day: date | None
    due_what: str


@dataclass(frozen=True, slots=True)
class Listed:
    """A machine in the list: with its visits counted, and the last day."""

    machine: Machine
    visits: int
    last: date | None


@dataclass(frozen=True, slots=True)
class Service:
    """Something that was looked after at a visit; fluid with its class, or its measured boiling point."""

    item: str
    kind: str = ""
    celsius: float | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit: what was on the machine afterwards, why, and what had been ridden since the one before.

    ``cams`` are ids by kind, ``readouts`` SI values by kind and name, ``hours`` by ground.
    """

    id: int
    machine: int
    day: date
    title: str
    unit: str
    words: str
    reason: str
    job: int
    readouts: Mapping[str, Mapping[str, float | None]]
    who: str
    at: str
    hours: Mapping[str, float]
    cams: Mapping[str, str]
    services: tuple[Service, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """Anything else that hangs on a visit: pull, fit, ride, proposal, photo; ``told`` is what its kind has."""

    kind: str
    id: int
    visit: int
    day: date
    words: str
    who: str
    at: str
    told: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Finding:
    """A line that a search found."""

    kind: str
    row: int
    machine: int
    name: str
    visit: int | None
    day: date
    words: str


@dataclass(frozen=True, slots=True)
class Stored:
    """A file as it came."""

    sha256: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Signed:
    """Who writes, and when: UTC as ISO text."""

    who: str
    at: str


@dataclass(frozen=True, slots=True)
class NewVisit:
    """A visit to be written; the job's text is the truth, cams and read-outs and wishes are read off it."""

    day: date
    title: str
    unit: str
    unit_name: str
    job: bytes
    cams: Mapping[str, tuple[str, str]]
    wishes: Mapping[str, tuple[float, float]]
    readouts: Mapping[str, Mapping[str, float | None]]
    words: str = ""
    reason: str = ""
    hours: Mapping[str, float] | None = None
    services: tuple[Service, ...] = ()
