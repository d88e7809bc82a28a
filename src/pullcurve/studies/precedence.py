"""What must come off before what, as a graph: the least that has to come off, and the order with fewest tool changes.

Taking off is safe when no piece comes off before anything that holds it, is in its way, or would break it. The pieces
that a target asks for are its ancestors: no fewer will do, and no other is asked for.

Hands are no tool, and a step by hand puts no tool down. So it never harms to do at once all that the tool in hand can
reach, and by hand what that sets free: an order that waits picks tools up no less often. Only the places where nothing
is left for the tool in hand need to be told apart, and breadth-first over them, one tool picked up each time, finds
the fewest. Where there are too many places (more than ``MOST_PLACES``, far above any unit) the tool that does most is
taken each time; such an order is as safe and as short, but may pick up a tool more often than it must.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import networkx as nx

from pullcurve.parts.hardware import Hardware

MOST_PLACES = 20_000
"""Half-stripped places that are looked at before the tool that does most is taken."""


@dataclass(frozen=True, slots=True)
class Order:
    """Pieces in the order of coming off, how often a tool is picked up, and whether that is known to be the least."""

    pieces: tuple[str, ...]
    pick_ups: int
    exact: bool


def precedence(hardware: Hardware) -> nx.DiGraph:
    """The graph of what a piece asks for: an edge from what comes off first to what comes off after."""
    graph: nx.DiGraph = nx.DiGraph()
    graph.add_nodes_from(piece.id for piece in hardware.pieces)
    graph.add_edges_from((first, piece.id) for piece in hardware.pieces for first in piece.first)
    return graph


def least(graph: nx.DiGraph, targets: Iterable[str]) -> frozenset[str]:
    """The fewest pieces that come off: the targets and everything that they wait for."""
    wanted = frozenset(targets)
    return wanted.union(*(nx.ancestors(graph, one) for one in wanted))


def waits(hardware: Hardware, pieces: frozenset[str]) -> nx.DiGraph:
    """The graph of some pieces with every wait among them, also those that ask for nothing."""
    graph: nx.DiGraph = precedence(hardware).subgraph(pieces).copy()
    graph.add_edges_from(
        (piece.id, later)
        for piece in hardware.pieces
        for later in piece.ahead_of
        if piece.id in pieces and later in pieces
    )
    return graph


def broken(graph: nx.DiGraph, order: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Pairs of a graph that an order has the wrong way round, or has not at all."""
    place = {name: row for row, name in enumerate(order)}
    nowhere = len(place)
    return tuple(
        (first, after) for first, after in graph.edges if not place.get(first, nowhere) < place.get(after, -1)
    )


# The order with fewest tool changes -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Bench:
    """Pieces by row: name, tool, and as a bit set what must be off before."""

    names: tuple[str, ...]
    tools: tuple[str | None, ...]
    before: tuple[int, ...]

    @property
    def all_off(self) -> int:
        """Everything off."""
        return (1 << len(self.names)) - 1

    def free(self, off: int) -> Iterator[int]:
        """Rows of the pieces that may come off now."""
        return (
            row for row, before in enumerate(self.before) if not off >> row & 1 and before & off == before
        )

    def run(self, off: int, tool: str | None) -> tuple[int, list[int]]:
        """Everything that one tool and bare hands take off from here, in the order of the description."""
        done: list[int] = []
        while (
            row := next((one for one in self.free(off) if self.tools[one] in (None, tool)), None)
        ) is not None:
            off |= 1 << row
            done.append(row)
        return off, done

    def within_reach(self, off: int) -> list[str]:
        """Tools for which something is free, in the order of the description."""
        return list(dict.fromkeys(tool for row in self.free(off) if (tool := self.tools[row]) is not None))


def fewest_changes(
    graph: nx.DiGraph, tools: Mapping[str, str | None], most_places: int = MOST_PLACES
) -> Order:
    """The order of a graph's pieces that picks up a tool least often; ties go to the order of ``tools``.

    ``tools`` names the tool of each piece, None by hand, and gives the pieces the order in which they are told.
    """
    assert nx.is_directed_acyclic_graph(graph), "a ring of waits"
    names = tuple(name for name in tools if name in graph)
    row = {name: place for place, name in enumerate(names)}
    before = tuple(sum(1 << row[first] for first in graph.predecessors(name)) for name in names)
    bench = _Bench(names, tuple(tools[name] for name in names), before)
    found = _breadth_first(bench, most_places)
    picked, exact = (found, True) if found is not None else (_most_each_time(bench), False)
    off, rows = bench.run(0, None)
    for tool in picked:
        off, more = bench.run(off, tool)
        rows += more
    return Order(tuple(names[one] for one in rows), len(picked), exact)


def _breadth_first(bench: _Bench, most_places: int) -> tuple[str, ...] | None:
    """The fewest tools to pick up, one after another; None where there are too many places to look at."""
    start, _ = bench.run(0, None)
    seen = {start}
    picked: dict[int, tuple[str, ...]] = {start: ()}
    while bench.all_off not in picked:
        later: dict[int, tuple[str, ...]] = {}
        for off, tools in picked.items():
            for tool in bench.within_reach(off):
                there, _ = bench.run(off, tool)
                if there not in seen:
                    seen.add(there)
                    later[there] = (*tools, tool)
        if len(seen) > most_places:
            return None
        picked = later
    return picked[bench.all_off]


def _most_each_time(bench: _Bench) -> tuple[str, ...]:
    """Tools to pick up when each time that one is taken which does most."""
    off, _ = bench.run(0, None)
    picked: tuple[str, ...] = ()
    while off != bench.all_off:
        tool = max(bench.within_reach(off), key=lambda one: len(bench.run(off, one)[1]))
        off, _ = bench.run(off, tool)
        picked = (*picked, tool)
    return picked
