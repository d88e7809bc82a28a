"""Shortest strip with fewest tool changes: against brute force on every unit, and on random orders."""

import random
from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.parts.hardware import Hardware, Task
from pullcurve.parts.layout import described, hardware_of
from pullcurve.studies.precedence import broken, fewest_changes, least, precedence, waits
from pullcurve.studies.steps import strip_order
from pullcurve.verbs.jobs import demo_job, demo_names
from tests.studies.stripped import fewest_of, invented, is_safe, pick_ups, safe_orders, shortest

UNITS = {name.removesuffix(".toml"): hardware_of(demo_job(name)) for name in demo_names()}
CASES = [(unit, task) for unit, hardware in UNITS.items() for task in hardware.tasks]
NAMES = [f"{unit}, {task.id}" for unit, task in CASES]


# On the units -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_order_is_safe_and_reaches_its_targets(unit: str, task: Task) -> None:
    hardware = UNITS[unit]
    order = strip_order(hardware, task)
    assert is_safe(hardware, order.pieces)
    assert set(task.targets) <= set(order.pieces)
    assert order.exact
    assert order.pick_ups == pick_ups(hardware, order.pieces) == pick_ups(hardware, order.pieces[::-1])


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_no_order_is_shorter(unit: str, task: Task) -> None:
    hardware = UNITS[unit]
    order = strip_order(hardware, task)
    assert (len(order.pieces), order.pick_ups) == shortest(hardware, set(task.targets))


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_no_order_of_these_pieces_changes_tools_less_often(unit: str, task: Task) -> None:
    hardware = UNITS[unit]
    order = strip_order(hardware, task)
    assert order.pick_ups == fewest_of(hardware, frozenset(order.pieces))


@pytest.mark.parametrize(("unit", "task"), CASES, ids=NAMES)
def test_nothing_comes_off_in_vain(unit: str, task: Task) -> None:
    hardware = UNITS[unit]
    pieces = set(strip_order(hardware, task).pieces)
    for name in pieces - set(task.targets):
        assert any(name in hardware.piece(other).first for other in pieces), name


@pytest.mark.parametrize("unit", UNITS)
def test_most_each_time_is_safe_and_as_short(unit: str) -> None:
    hardware = UNITS[unit]
    for task in hardware.tasks:
        best, quick = strip_order(hardware, task), strip_order(hardware, task, most_places=1)
        assert is_safe(hardware, quick.pieces) and not quick.exact
        assert set(quick.pieces) == set(best.pieces)
        assert quick.pick_ups == pick_ups(hardware, quick.pieces) >= best.pick_ups


# On random orders -------------------------------------------------------------------------------------------


@st.composite
def orders(draw: st.DrawFn, most: int) -> tuple[Hardware, Task]:
    """Hardware of a few pieces that wait for each other without a ring, in any order of description."""
    count = draw(st.integers(1, most))
    place = draw(st.permutations(range(count)))
    first: list[list[int]] = [[] for _ in range(count)]
    ahead: list[list[int]] = [[] for _ in range(count)]
    for one, other in combinations(range(count), 2):
        kind = draw(st.sampled_from(("none", "none", "waits", "waits", "ahead")))
        if kind == "waits":
            first[place[other]].append(place[one])
        elif kind == "ahead":
            ahead[place[one]].append(place[other])
    tools = draw(st.lists(st.integers(0, 3), min_size=count, max_size=count))
    targets = draw(st.lists(st.integers(0, count - 1), min_size=1, max_size=3, unique=True))
    return invented(first, ahead, tools, targets)


@settings(max_examples=200)
@given(orders(6))
def test_random_order_is_as_good_as_every_permutation(case: tuple[Hardware, Task]) -> None:
    hardware, task = case
    found = strip_order(hardware, task)
    assert is_safe(hardware, found.pieces)
    assert found.exact
    names = [piece.id for piece in hardware.pieces]
    sets = (
        frozenset(some)
        for size in range(1, len(names) + 1)
        for some in combinations(names, size)
        if set(task.targets) <= set(some)
    )
    for pieces in sets:  # by size: the first that has a safe order at all is the smallest
        changes = [pick_ups(hardware, order) for order in safe_orders(hardware, pieces)]
        if changes:
            assert len(found.pieces) == len(pieces)
            assert found.pick_ups == pick_ups(hardware, found.pieces) == min(changes)
            return
    raise AssertionError("brute force found no safe order")


@settings(max_examples=200)
@given(orders(11))
def test_larger_random_order_is_as_good_as_every_place(case: tuple[Hardware, Task]) -> None:
    hardware, task = case
    found = strip_order(hardware, task)
    assert is_safe(hardware, found.pieces)
    assert (len(found.pieces), found.pick_ups) == shortest(hardware, set(task.targets))


@given(orders(11))
def test_quick_random_order_is_safe(case: tuple[Hardware, Task]) -> None:
    hardware, task = case
    best, quick = strip_order(hardware, task), strip_order(hardware, task, most_places=1)
    assert is_safe(hardware, quick.pieces)
    assert len(quick.pieces) == len(best.pieces)
    assert quick.pick_ups == pick_ups(hardware, quick.pieces) >= best.pick_ups


def test_sixty_pieces_with_many_tools_are_ordered_in_full() -> None:
    chance = random.Random(7)
    first = [[one for one in range(row) if chance.random() < 0.08] for row in range(60)]
    hardware, task = invented(first, [[]] * 60, [chance.randrange(5) for _ in range(60)], range(60))
    found = strip_order(hardware, task)
    assert is_safe(hardware, found.pieces) and len(found.pieces) == 60


# What the functions say -------------------------------------------------------------------------------------


def test_by_hand_the_tool_stays() -> None:
    # a screw, by hand a cover, a screw of the same key beneath it: one key, picked up once
    hardware, task = invented([[], [0], [1]], [[]] * 3, [1, 0, 1], [2])
    assert strip_order(hardware, task).pick_ups == 1


def test_what_the_key_in_hand_reaches_comes_first() -> None:
    # two pairs, each a screw for key 1 that frees one for key 2: 1, 1, 2, 2 and not 1, 2, 1, 2
    hardware, task = invented([[], [0], [], [2]], [[]] * 4, [1, 2, 1, 2], [1, 3])
    order = strip_order(hardware, task)
    assert order.pieces == ("p0", "p2", "p1", "p3") and order.pick_ups == 2


def test_ahead_asks_for_nothing() -> None:
    hardware, task = invented([[], []], [[1], []], [1, 2], [1])
    assert strip_order(hardware, task).pieces == ("p1",)
    assert set(waits(hardware, frozenset({"p0", "p1"})).edges) == {("p0", "p1")}
    assert set(precedence(hardware).edges) == set()


def test_least_is_the_targets_and_all_that_they_wait_for() -> None:
    hardware, _ = invented([[], [0], [1], []], [[]] * 4, [0] * 4, [2])
    assert least(precedence(hardware), ("p2",)) == {"p0", "p1", "p2"}
    assert least(precedence(hardware), ("p3",)) == {"p3"}


def test_broken_pairs_are_found() -> None:
    graph = nx.DiGraph([("a", "b"), ("b", "c")])
    assert broken(graph, ("a", "b", "c")) == ()
    assert broken(graph, ("b", "a", "c")) == (("a", "b"),)
    assert broken(graph, ("a", "c")) == (("a", "b"), ("b", "c"))


def test_a_ring_is_never_ordered() -> None:
    ring = nx.DiGraph([("a", "b"), ("b", "a")])
    with pytest.raises(AssertionError, match="a ring of waits"):
        fewest_changes(ring, {"a": None, "b": None})


def test_both_layouts_are_checked_whole() -> None:
    for name in ("one-lever", "two-levers"):
        hardware = described(name)
        graph = waits(hardware, frozenset(piece.id for piece in hardware.pieces))
        assert nx.is_directed_acyclic_graph(graph)
