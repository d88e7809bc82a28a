"""Strip orders by brute force: nothing here knows of ancestors, of graphs, or of what the package thinks is best."""

from collections import deque
from collections.abc import Iterator, Sequence
from itertools import permutations

from pullcurve.parts.hardware import Hardware, Piece, Task, Tool


def may_come_off(hardware: Hardware, piece: Piece, off: frozenset[str]) -> bool:
    """Whether a piece may come off now: all that it waits for is off, and nothing that it must be ahead of."""
    return set(piece.first) <= off and not set(piece.ahead_of) & off


def is_safe(hardware: Hardware, order: Sequence[str]) -> bool:
    """Whether an order never takes off a piece that may not come off."""
    off: frozenset[str] = frozenset()
    for name in order:
        if name in off or not may_come_off(hardware, hardware.piece(name), off):
            return False
        off |= {name}
    return True


def pick_ups(hardware: Hardware, order: Sequence[str]) -> int:
    """How often another tool is picked up than the one in hand; hands are no tool."""
    held, count = None, 0
    for name in order:
        tool = hardware.piece(name).tool
        if tool is not None and tool != held:
            held, count = tool, count + 1
    return count


def shortest(hardware: Hardware, targets: set[str]) -> tuple[int, int]:
    """Fewest pieces and then fewest tool changes to have the targets off, over every half-stripped place and tool."""
    bit = {piece.id: 1 << row for row, piece in enumerate(hardware.pieces)}
    rows = [
        (bit[p.id], sum(bit[n] for n in set(p.first)), sum(bit[n] for n in set(p.ahead_of)), p.tool)
        for p in hardware.pieces
    ]
    goal = sum(bit[name] for name in targets)
    layer: dict[tuple[int, str | None], int] = {(0, None): 0}
    length = 0
    while layer:
        reached = [changes for (off, _), changes in layer.items() if off & goal == goal]
        if reached:
            return length, min(reached)
        later: dict[tuple[int, str | None], int] = {}
        for (off, held), changes in layer.items():
            for mine, first, ahead, tool in rows:
                if off & mine or first & ~off or ahead & off:
                    continue
                change = tool is not None and tool != held
                key = (off | mine, tool or held)
                later[key] = min(later.get(key, 10**6), changes + change)
        layer, length = later, length + 1
    raise AssertionError("the targets never come off")


def fewest_of(hardware: Hardware, pieces: frozenset[str]) -> int:
    """Fewest tool changes to take exactly these pieces off, over every half-stripped place and tool."""
    start: tuple[frozenset[str], str | None] = (frozenset(), None)
    best = {start: 0}
    waiting = deque([start])
    while (
        waiting
    ):  # a tool that is kept costs nothing and goes in front, so that the first visit is the cheapest
        off, held = waiting.popleft()
        if off == pieces:
            return best[off, held]
        for name in pieces - off:
            piece = hardware.piece(name)
            if not may_come_off(hardware, piece, off):
                continue
            change = int(piece.tool not in (None, held))
            state, cost = (off | {name}, piece.tool or held), best[off, held] + change
            if cost < best.get(state, 10**6):
                best[state] = cost
                (waiting.append if change else waiting.appendleft)(state)
    raise AssertionError("these pieces never all come off")


def safe_orders(hardware: Hardware, pieces: frozenset[str]) -> Iterator[tuple[str, ...]]:
    """Every safe order of some pieces, out of all their permutations."""
    return (order for order in permutations(sorted(pieces)) if is_safe(hardware, order))


def invented(
    waits: Sequence[Sequence[int]],
    ahead: Sequence[Sequence[int]],
    tools: Sequence[int],
    targets: Sequence[int],
) -> tuple[Hardware, Task]:
    """Hardware with nothing but an order: what each piece waits for and is ahead of, its tool (0 is by hand)."""
    pieces = tuple(
        Piece(
            id=f"p{row}",
            off="off",
            on="on",
            tool=f"t{tool}" if tool else None,
            held_by=tuple(f"p{one}" for one in waits[row]),
            ahead_of=tuple(f"p{one}" for one in ahead[row]),
        )
        for row, tool in enumerate(tools)
    )
    task = Task(id="task", name="task", targets=tuple(f"p{one}" for one in targets), exchange="exchange")
    kinds = tuple(Tool(id=f"t{one}", name=f"tool {one}") for one in range(1, 5))
    return Hardware(title="invented", note="none", tools=kinds, pieces=pieces, tasks=(task,)), task
