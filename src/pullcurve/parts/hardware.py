"""What a control unit is screwed together from: pieces, screws, what holds and blocks what, traps, tools, checks."""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from graphlib import CycleError, TopologicalSorter
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from pullcurve.parts.facts import table
from pullcurve.parts.fields import Part, Place, Span, Text, Whole, refuse_all

Feature = Literal[
    "brake",
    "clutch",
    "assist",
    "cable clutch",
    "coil assist",
    "torsion assist",
    "pedal",
    "brake needles",
    "clutch needles",
    "assist needles",
    "brake plain roller",
    "clutch plain roller",
    "assist plain roller",
]
"""What a unit may have; a piece, a check or a task that is for some of them only names all that it needs."""

Fluid = Literal["brake", "clutch", "pedal"]
Thread = Literal["M3", "M4", "M5", "M6"]
Head = Literal["cap", "button", "countersunk"]
PropertyClass = Literal["8.8", "10.9", "12.9"]

Id = Annotated[str, Text(40)]
Sentence = Annotated[str, Text(300)]
Ids = tuple[Id, ...]
Features = tuple[Feature, ...]
Faults = Iterator[tuple[Place, str]]

MOST_NAMES = 12
"""Ids that a fault lists."""

NEAR = 0.8
"""How alike two ids must be for the one to be a slip of the pen for the other, 0 to 1."""


class Tool(Part):
    """A tool by what it is; a hex key or a spanner also by its size."""

    id: Id
    name: Annotated[str, Text(60)]
    hex_mm: Annotated[float, Span(1, 32)] | None = None


class Consumable(Part):
    """What is used up, and the one thing to know about it."""

    id: Id
    name: Annotated[str, Text(60)]
    note: Sentence


class Use(Part):
    """Where a consumable goes when a piece is put back, and where it must never go."""

    what: Id
    where: Sentence
    never: Sentence | None = None


class Fastener(Part):
    """Screws of one kind; ``softest`` is the softer of what their heads bear on and what their threads are cut into."""

    count: Annotated[int, Whole(1, 12)]
    thread: Thread
    head: Head
    property_class: PropertyClass
    length_mm: Annotated[float, Span(3, 60)]
    softest: Literal["steel", "aluminium"]

    @property
    def key_mm(self) -> float:
        """Size of the hexagon key, by the standard of the head."""
        return float(table("screws")["key"][self.head][self.thread])

    @property
    def name(self) -> str:
        """What they are in numbers."""
        size = f"{self.thread} × {self.length_mm:g} mm"
        return f"{self.count} × {size}, {self.head} head, {self.property_class}"


class Interlock(Part):
    """What must come off first although nothing is in the way, and what breaks if the piece is forced before."""

    first: Id
    breaks: Sentence


class Trap(Part):
    """What can go wrong while a piece comes off or goes on: it jumps out, falls out, or hurts somebody."""

    trap: Literal["jumps", "falls", "hurts"]
    words: Sentence
    when: Literal["off", "on", "both"]


class Check(Part):
    """What a person looks at and ticks while building: before the piece goes on, or after."""

    ask: Sentence
    when: Literal["before", "after"]
    only: Features = ()


class Piece(Part):
    """One thing that comes off in one act, and goes back on in one.

    ``held_by`` fastens it, ``blocked_by`` is in its way, an interlock says what breaks; it is off before ``ahead_of``
    where both come off at all. ``opens`` names the fluid that it lets out.
    """

    id: Id
    off: Sentence
    on: Sentence
    tool: Id | None = None
    fastener: Fastener | None = None
    held_by: Ids = ()
    blocked_by: Ids = ()
    interlocks: tuple[Interlock, ...] = ()
    ahead_of: Ids = ()
    traps: tuple[Trap, ...] = ()
    opens: Fluid | None = None
    uses: tuple[Use, ...] = ()
    checks: tuple[Check, ...] = ()
    only: Features = ()

    @property
    def first(self) -> Ids:
        """Everything that must come off before it."""
        return (*self.held_by, *self.blocked_by, *(lock.first for lock in self.interlocks))


class Task(Part):
    """Something that a workshop does to a unit: which pieces it is about, and what a unit needs for it."""

    id: Id
    name: Annotated[str, Text(80)]
    targets: Annotated[Ids, Field(min_length=1)]
    exchange: Sentence
    only: Features = ()


class Rule(Part):
    """An order of building that has to come out, whatever the task: one piece is on before another."""

    first: Id
    then: Id
    why: Sentence


class Closing(Part):
    """What is done and ticked at the end, before anybody rides; ``opened`` after a fluid was let out only."""

    ask: Sentence
    opened: Fluid | None = None
    only: Features = ()


class Hardware(Part):
    """Everything that strip and build of one layout needs to know; ``unit`` is whose it is where it is of one only."""

    title: Annotated[str, Text(120)]
    unit: Annotated[str, Text(80)] | None = None
    note: Annotated[str, Text(300)]
    tools: Annotated[tuple[Tool, ...], Field(min_length=1)]
    consumables: tuple[Consumable, ...] = ()
    pieces: Annotated[tuple[Piece, ...], Field(min_length=1, max_length=200)]
    tasks: Annotated[tuple[Task, ...], Field(min_length=1)]
    rules: tuple[Rule, ...] = ()
    cautions: tuple[Sentence, ...] = ()
    prepare: tuple[Sentence, ...] = ()
    closing: tuple[Closing, ...] = ()

    @model_validator(mode="after")
    def _stands(self) -> Self:
        faults = [*_twice(self), *_unknown(self), *_screw_faults(self)] or [*_order_faults(self)]
        if faults:
            raise refuse_all(faults)
        return self

    def piece(self, name: str) -> Piece:
        """A piece by its id."""
        return next(piece for piece in self.pieces if piece.id == name)

    def tool(self, name: str) -> Tool:
        """A tool by its id."""
        return next(tool for tool in self.tools if tool.id == name)

    def consumable(self, name: str) -> Consumable:
        """A consumable by its id."""
        return next(one for one in self.consumables if one.id == name)


def _twice(hardware: Hardware) -> Faults:
    for key in ("tools", "consumables", "pieces", "tasks"):
        names = [one.id for one in getattr(hardware, key)]
        for row, name in enumerate(names):
            if name in names[:row]:
                yield (key, row, "id"), f'is "{name}" a second time; allowed is an id of its own'


def _unknown(hardware: Hardware) -> Faults:
    pieces = {piece.id for piece in hardware.pieces}
    tools = {tool.id for tool in hardware.tools}
    consumables = {one.id for one in hardware.consumables}
    for row, piece in enumerate(hardware.pieces):
        at: Place = ("pieces", row)
        for key in ("held_by", "blocked_by", "ahead_of"):
            yield from _not_in(pieces, getattr(piece, key), (*at, key))
        yield from _not_in(pieces, (lock.first for lock in piece.interlocks), (*at, "interlocks"))
        yield from _not_in(tools, (piece.tool,) if piece.tool else (), (*at, "tool"))
        yield from _not_in(consumables, (use.what for use in piece.uses), (*at, "uses"))
    for row, task in enumerate(hardware.tasks):
        yield from _not_in(pieces, task.targets, ("tasks", row, "targets"))
    for row, rule in enumerate(hardware.rules):
        yield from _not_in(pieces, (rule.first, rule.then), ("rules", row))


def _not_in(known: set[str], names: Iterable[str], at: Place) -> Faults:
    for name in names:
        if name not in known:
            near = get_close_matches(name, known, n=1, cutoff=NEAR)
            meant = f'did you mean "{near[0]}"?' if near else f"allowed is one of {_some(sorted(known))}"
            yield at, f'name "{name}", which is not described here; {meant}'


def _some(names: list[str]) -> str:
    """Names in a row, as many as a line has room for."""
    more = len(names) - MOST_NAMES
    return ", ".join(names) if more <= 0 else f"{', '.join(names[:MOST_NAMES])} and {more} more"


def _screw_faults(hardware: Hardware) -> Faults:
    """Every screw has the key of its standard, and a flat head keeps its seat free of threadlocker."""
    keys = {tool.id: tool.hex_mm for tool in hardware.tools}
    for row, piece in enumerate(hardware.pieces):
        if piece.fastener is None:
            continue
        wanted, given = piece.fastener.key_mm, keys.get(piece.tool or "")
        if given != wanted:
            said = f"is of {given:g} mm" if given else "has no size"
            head = f"{piece.fastener.thread} with a {piece.fastener.head} head"
            yield ("pieces", row, "tool"), f"{said}; allowed is {wanted:g} mm for {head}"
        for place, use in enumerate(piece.uses):
            if piece.fastener.head == "countersunk" and use.what == "threadlocker" and use.never is None:
                yield (
                    ("pieces", row, "uses", place, "never"),
                    "is missing; it is never let onto a countersink",
                )


def _order_faults(hardware: Hardware) -> Faults:
    """No piece waits for itself, and the reverse of every strip keeps the rules of building."""
    before = {piece.id: list(piece.first) for piece in hardware.pieces}
    waits = {name: list(names) for name, names in before.items()}
    for piece in hardware.pieces:
        for later in piece.ahead_of:
            waits[later].append(piece.id)
    try:
        tuple(TopologicalSorter(waits).static_order())
    except CycleError as error:
        ring = _some(error.args[1])
        yield ("pieces",), f"wait for each other: {ring}; allowed is an order without a ring"
        return
    for row, rule in enumerate(hardware.rules):
        there = {rule.first} | _all_before(before, rule.first)
        if rule.then not in there - {rule.first} and not there & set(hardware.piece(rule.then).ahead_of):
            said = f'wants "{rule.first}" on before "{rule.then}", but nothing makes "{rule.then}" come off first'
            yield ("rules", row), f"{said}; allowed is a rule that the order of the pieces bears out"


def _all_before(before: Mapping[str, Iterable[str]], name: str) -> set[str]:
    """Everything that comes off before a piece, however far back."""
    found: set[str] = set()
    waiting = [*before[name]]
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += before[one]
    return found
