"""Strip and build for a task: the shortest safe way in with fewest tool changes, and its checked reverse."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import chain, count
from types import MappingProxyType
from typing import Literal

from pullcurve.errors import BadInput, Fault
from pullcurve.parts.hardware import Check, Hardware, Piece, Task, Tool, Use
from pullcurve.studies.precedence import MOST_PLACES, Order, broken, fewest_changes, least, precedence, waits
from pullcurve.studies.tightening import Torque, torque_of

Act = Literal["prepare", "off", "exchange", "on", "check", "closing"]
Kind = Literal["breaks", "jumps", "falls", "hurts"]

TRAPS: Mapping[Kind, str] = MappingProxyType(
    {
        "breaks": "breaks if forced",
        "jumps": "can jump out",
        "falls": "can fall out",
        "hurts": "can hurt",
    }
)
"""What a trap is called before its words."""

NEAR = 0.8
"""How alike a word and a task must be for the one to be a slip of the pen for the other, 0 to 1."""

TICKED = ("prepare", "check", "closing")
"""Lines that a person ticks instead of doing something with a tool."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One trap: what breaks if forced, what jumps out, what falls out, what hurts."""

    trap: Kind
    words: str


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered line: what is done or ticked, with which tool (None by hand), to which screws, how tight."""

    number: int
    act: Act
    words: str
    piece: str | None = None
    tool: str | None = None
    screws: str | None = None
    torque: Torque | None = None
    uses: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @property
    def ticked(self) -> bool:
        """Whether a person ticks it."""
        return self.act in TICKED


@dataclass(frozen=True, slots=True)
class Steps:
    """Everything from the first look to the first ride, numbered; ``kept`` are the rules that the build was held to."""

    task: str
    name: str
    unit: str
    hardware: str
    note: str
    cautions: tuple[str, ...]
    tools: tuple[str, ...]
    consumables: tuple[str, ...]
    prepare: tuple[Step, ...]
    strip: tuple[Step, ...]
    exchange: Step
    build: tuple[Step, ...]
    closing: tuple[Step, ...]
    pick_ups: int
    exact: bool
    kept: tuple[str, ...]

    @property
    def lines(self) -> tuple[Step, ...]:
        """All lines, in order."""
        return (*self.prepare, *self.strip, self.exchange, *self.build, *self.closing)


def task_of(hardware: Hardware, name: str) -> Task:
    """A task that can be done on this unit, by its id; raises BadInput with those that can."""
    known = [task.id for task in hardware.tasks]
    found = next((task for task in hardware.tasks if task.id == name), None)
    if found is None:
        allowed = f"allowed on this unit is {', '.join(known)}"
        if not name:
            raise BadInput(Fault("task", "", f"is missing; {allowed}"))
        near = get_close_matches(name, known, n=1, cutoff=NEAR)
        said = f"did you mean {near[0]}?" if near else allowed
        raise BadInput(Fault("task", f'"{name}"', f"is not known for this unit; {said}"))
    return found


def steps(hardware: Hardware, task: Task, unit: str, most_places: int = MOST_PLACES) -> Steps:
    """The whole sequence of a task on a unit of that name."""
    order = strip_order(hardware, task, most_places)
    rules = [rule for rule in hardware.rules if {rule.first, rule.then} <= set(order.pieces)]
    _assert_safe(hardware, order, [(rule.first, rule.then) for rule in rules])
    pieces = [hardware.piece(name) for name in order.pieces]
    numbers = count(1)
    prepare = tuple(Step(next(numbers), "prepare", words) for words in hardware.prepare)
    strip = _strip(hardware, pieces, numbers)
    exchange = Step(next(numbers), "exchange", task.exchange)
    build = tuple(chain.from_iterable(_back(hardware, piece, numbers) for piece in reversed(pieces)))
    opened = {piece.opens for piece in pieces}
    last = [one.ask for one in hardware.closing if one.opened is None or one.opened in opened]
    return Steps(
        task=task.id,
        name=task.name,
        unit=unit,
        hardware=hardware.title,
        note=hardware.note,
        cautions=hardware.cautions,
        tools=_tools(hardware, pieces),
        consumables=_consumables(hardware, pieces),
        prepare=prepare,
        strip=strip,
        exchange=exchange,
        build=build,
        closing=tuple(Step(next(numbers), "closing", words) for words in last),
        pick_ups=order.pick_ups,
        exact=order.exact,
        kept=tuple(dict.fromkeys(rule.why for rule in rules)),
    )


def strip_order(hardware: Hardware, task: Task, most_places: int = MOST_PLACES) -> Order:
    """The fewest pieces that a task asks for, in the order that picks up a tool least often."""
    pieces = least(precedence(hardware), task.targets)
    tools = {piece.id: piece.tool for piece in hardware.pieces}
    return fewest_changes(waits(hardware, pieces), tools, most_places)


def _assert_safe(hardware: Hardware, order: Order, rules: Sequence[tuple[str, str]]) -> None:
    """Neither the strip nor its reverse breaks a wait or a rule; anything else is a fault of this package."""
    strip, build = order.pieces, order.pieces[::-1]
    graph = waits(hardware, frozenset(strip))
    assert not broken(graph, strip) and not broken(graph.reverse(), build)
    assert all(build.index(first) < build.index(then) for first, then in rules)


# Lines ----------------------------------------------------------------------------------------------------------------


def _strip(hardware: Hardware, pieces: Sequence[Piece], numbers: Iterator[int]) -> tuple[Step, ...]:
    """Coming off, each with its traps; a trap of an interlock names the line that has to be done before."""
    lines: list[Step] = []
    done: dict[str, int] = {}
    for piece in pieces:
        done[piece.id] = next(numbers)
        breaks = [
            Caution("breaks", f"Not before line {done[lock.first]}: else {lock.breaks}.")
            for lock in piece.interlocks
        ]
        lines.append(
            Step(
                done[piece.id],
                "off",
                piece.off,
                piece.id,
                tool_name(hardware, piece),
                piece.fastener.name if piece.fastener else None,
                cautions=(*breaks, *_traps(piece, "off")),
            )
        )
    return tuple(lines)


def _back(hardware: Hardware, piece: Piece, numbers: Iterator[int]) -> Iterator[Step]:
    """Going back on: what is ticked before, the act, what is ticked after."""
    yield from _checks(piece, "before", numbers)
    yield Step(
        next(numbers),
        "on",
        piece.on,
        piece.id,
        tool_name(hardware, piece),
        piece.fastener.name if piece.fastener else None,
        torque_of(piece.fastener) if piece.fastener else None,
        tuple(_use(hardware, use) for use in piece.uses),
        _traps(piece, "on"),
    )
    yield from _checks(piece, "after", numbers)


def _checks(piece: Piece, when: str, numbers: Iterator[int]) -> Iterator[Step]:
    asked: Iterable[Check] = (check for check in piece.checks if check.when == when)
    return (Step(next(numbers), "check", check.ask, piece.id) for check in asked)


def _traps(piece: Piece, when: str) -> tuple[Caution, ...]:
    return tuple(Caution(one.trap, one.words) for one in piece.traps if one.when in (when, "both"))


def _use(hardware: Hardware, use: Use) -> str:
    """Where a consumable goes and where never."""
    never = f"; never {use.never}" if use.never else ""
    return f"{hardware.consumable(use.what).name}: {use.where}{never}"


# What is needed -------------------------------------------------------------------------------------------------------


def tool_name(hardware: Hardware, piece: Piece) -> str | None:
    """The tool of a piece with its size, None by hand."""
    return None if piece.tool is None else _named(hardware.tool(piece.tool))


def _named(tool: Tool) -> str:
    return tool.name if tool.hex_mm is None else f"{tool.name} {tool.hex_mm:g} mm"


def _tools(hardware: Hardware, pieces: Sequence[Piece]) -> tuple[str, ...]:
    """Tools of a task, in the order of the description."""
    used = {piece.tool for piece in pieces}
    return tuple(_named(tool) for tool in hardware.tools if tool.id in used)


def _consumables(hardware: Hardware, pieces: Sequence[Piece]) -> tuple[str, ...]:
    """Consumables of a task with what to know about each."""
    used = {use.what for piece in pieces for use in piece.uses}
    return tuple(f"{one.name}. {one.note}" for one in hardware.consumables if one.id in used)
