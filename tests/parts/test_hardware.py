"""Hardware as described: what is refused, keys by the standards, and every unit that a layout can have."""

from itertools import product
from typing import Any

import pytest
from pydantic import ValidationError

from pullcurve.parts.facts import table
from pullcurve.parts.hardware import Fastener, Feature, Hardware
from pullcurve.parts.layout import LAYOUTS, described, fitted

COVER = {"id": "cover", "off": "Lift it off.", "on": "Set it on.", "held_by": ["screws"]}
SCREWS = {
    "id": "screws",
    "off": "Undo them.",
    "on": "Put them in.",
    "tool": "hex-2.5",
    "fastener": {
        "count": 2,
        "thread": "M4",
        "head": "countersunk",
        "property_class": "10.9",
        "length_mm": 10,
        "softest": "steel",
    },
}
TASK = {"id": "open", "name": "open it", "targets": ["cover"], "exchange": "Look."}


def tables(**changes: Any) -> dict[str, Any]:
    """A box with a cover."""
    return {
        "title": "box",
        "note": "invented",
        "tools": [{"id": "hex-2.5", "name": "hex key", "hex_mm": 2.5}, {"id": "hook", "name": "hook"}],
        "consumables": [{"id": "threadlocker", "name": "threadlocker", "note": "One drop."}],
        "pieces": [COVER, SCREWS],
        "tasks": [TASK],
        **changes,
    }


def refused(**changes: Any) -> list[str]:
    """What is said about a changed box, with its place."""
    with pytest.raises(ValidationError) as found:
        Hardware.model_validate(tables(**changes))
    return [
        f"{'.'.join(str(step) for step in place)} {said}"
        for error in found.value.errors()
        for place, said in error["ctx"]["faults"]
    ]


# Keys by the standards --------------------------------------------------------------------------------------

KEYS = {  # ISO 7380-1, ISO 10642 and ISO 4762, M3 to M6, as tabled in a data package of these standards
    "button": (2, 2.5, 3, 4),
    "countersunk": (2, 2.5, 3, 4),
    "cap": (2.5, 3, 4, 5),
}


@pytest.mark.parametrize("head", KEYS)
def test_keys_are_those_of_the_standards(head: str) -> None:
    found = [
        Fastener.model_validate({**SCREWS["fastener"], "thread": thread, "head": head}).key_mm  # type: ignore[dict-item]
        for thread in ("M3", "M4", "M5", "M6")
    ]
    assert tuple(found) == KEYS[head]


def test_flat_and_round_heads_take_one_key_smaller_than_a_cap_screw() -> None:
    keys = table("screws")["key"]
    sizes = sorted({float(size) for head in KEYS for size in keys[head].values()})
    for thread in ("M3", "M4", "M5", "M6"):
        smaller = sizes[sizes.index(keys["cap"][thread]) - 1]
        assert keys["button"][thread] == keys["countersunk"][thread] == smaller


def test_screws_say_what_they_are() -> None:
    assert Hardware.model_validate(tables()).piece("screws").fastener is not None
    screws = Fastener.model_validate(SCREWS["fastener"])
    assert screws.name == "2 × M4 × 10 mm, countersunk head, 10.9"


# What is refused --------------------------------------------------------------------------------------------


def test_a_box_stands() -> None:
    box = Hardware.model_validate(tables())
    assert box.piece("cover").first == ("screws",)
    assert box.tool("hook").hex_mm is None
    assert box.consumable("threadlocker").note == "One drop."


def test_an_id_stands_once() -> None:
    assert refused(pieces=[COVER, SCREWS, COVER]) == [
        'pieces.2.id is "cover" a second time; allowed is an id of its own'
    ]


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"pieces": [{**COVER, "held_by": ["lid"]}, SCREWS]}, "pieces.0.held_by"),
        ({"pieces": [{**COVER, "blocked_by": ["lid"]}, SCREWS]}, "pieces.0.blocked_by"),
        (
            {"pieces": [{**COVER, "interlocks": [{"first": "lid", "breaks": "it bends"}]}, SCREWS]},
            "pieces.0.interlocks",
        ),
        ({"pieces": [{**COVER, "ahead_of": ["lid"]}, SCREWS]}, "pieces.0.ahead_of"),
        ({"pieces": [{**COVER, "tool": "lid"}, SCREWS]}, "pieces.0.tool"),
        ({"pieces": [{**COVER, "uses": [{"what": "lid", "where": "on it"}]}, SCREWS]}, "pieces.0.uses"),
        ({"tasks": [{**TASK, "targets": ["lid"]}]}, "tasks.0.targets"),
        ({"rules": [{"first": "cover", "then": "lid", "why": "so"}]}, "rules.0"),
    ],
)
def test_what_is_named_is_described(changes: dict[str, Any], place: str) -> None:
    (said,) = refused(**changes)
    assert said.startswith(f'{place} name "lid", which is not described here; allowed is one of ')


@pytest.mark.parametrize(("tool", "given"), [("hook", "has no size"), (None, "has no size")])
def test_a_screw_without_its_key(tool: str | None, given: str) -> None:
    wrong = {**SCREWS, "tool": tool}
    assert refused(pieces=[COVER, wrong]) == [
        f"pieces.1.tool {given}; allowed is 2.5 mm for M4 with a countersunk head"
    ]


def test_a_screw_with_the_key_of_another() -> None:
    wrong = {**SCREWS, "fastener": {**SCREWS["fastener"], "head": "cap"}}  # type: ignore[dict-item]
    assert refused(pieces=[COVER, wrong]) == [
        "pieces.1.tool is of 2.5 mm; allowed is 3 mm for M4 with a cap head"
    ]


def test_threadlocker_never_reaches_a_countersink() -> None:
    wrong = {**SCREWS, "uses": [{"what": "threadlocker", "where": "on the thread only"}]}
    (said,) = refused(pieces=[COVER, wrong])
    assert said == "pieces.1.uses.0.never is missing; it is never let onto a countersink"
    right = {
        **SCREWS,
        "uses": [{"what": "threadlocker", "where": "on the thread", "never": "on the countersink"}],
    }
    assert Hardware.model_validate(tables(pieces=[COVER, right])).piece("screws").uses


@pytest.mark.parametrize(
    "screws", [{**SCREWS, "blocked_by": ["cover"]}, {**SCREWS, "held_by": ["screws"]}], ids=["two", "itself"]
)
def test_no_piece_waits_for_itself(screws: dict[str, Any]) -> None:
    (said,) = refused(pieces=[COVER, screws])
    assert said.startswith("pieces wait for each other: ") and "without a ring" in said


def test_no_piece_is_ahead_of_what_it_waits_for() -> None:
    (said,) = refused(pieces=[{**COVER, "ahead_of": ["screws"]}, SCREWS])
    assert said.startswith("pieces wait for each other: ")


def test_a_rule_of_building_has_to_follow_from_the_order() -> None:
    rule = {"first": "cover", "then": "screws", "why": "screws hold the cover"}
    assert Hardware.model_validate(tables(rules=[rule])).rules
    (said,) = refused(rules=[{**rule, "first": "screws", "then": "cover"}])
    assert said.startswith(
        'rules.0 wants "screws" on before "cover", but nothing makes "cover" come off first'
    )
    lock = {"id": "lock", "off": "Open it.", "on": "Shut it.", "ahead_of": ["screws"]}
    last = {"first": "cover", "then": "lock", "why": "shut is shut"}
    assert Hardware.model_validate(tables(pieces=[COVER, SCREWS, lock], rules=[last])).rules
    (said,) = refused(pieces=[COVER, SCREWS, {**lock, "ahead_of": []}], rules=[last])
    assert 'nothing makes "lock" come off first' in said


# Every unit that a layout can have --------------------------------------------------------------------------


LOADS: dict[str, tuple[tuple[Feature, ...], ...]] = {
    "one-lever": (("brake",), ("clutch",), ("brake", "clutch")),
    "two-levers": (("brake", "clutch"),),
}
ASSISTS: tuple[tuple[Feature, ...], ...] = ((), ("assist", "coil assist"), ("assist", "torsion assist"))
NEEDLES: tuple[Feature, ...] = ("brake needles", "clutch needles", "assist needles")
PLAIN: tuple[Feature, ...] = ("brake plain roller", "clutch plain roller", "assist plain roller")


def units() -> list[tuple[str, frozenset[Feature]]]:
    """Both layouts with every choice of load, assist spring, cable, pedal and roller that a job can make."""
    found: dict[tuple[str, frozenset[Feature]], None] = {}
    for layout in LAYOUTS:
        for drives, assist, rollers in product(LOADS[layout], ASSISTS, (NEEDLES, PLAIN)):
            for cable, pedal in product((False, True), repeat=2):
                if ("clutch" not in drives and (assist or cable)) or ("brake" not in drives and pedal):
                    continue
                has: set[Feature] = {*drives, *assist}
                has |= {roller for roller in rollers if roller.split()[0] in has}
                has |= {"cable clutch"} if cable else set()
                has |= {"pedal"} if pedal else set()
                found[layout, frozenset(has)] = None
    return list(found)


UNITS = units()
IDS = [f"{layout}, {', '.join(sorted(has))}" for layout, has in UNITS]


@pytest.mark.parametrize(("layout", "has"), UNITS, ids=IDS)
def test_every_unit_of_a_layout_stands(layout: str, has: frozenset[Feature]) -> None:
    hardware = fitted(described(layout), has)
    pieces = {piece.id for piece in hardware.pieces}
    for kind in ("brake", "clutch", "assist"):
        assert (f"{kind}-cam" in pieces) == (kind in has)
        assert (f"{kind}-roller" in pieces) == (f"{kind} needles" in has)
        assert (f"{kind}-roller-plain" in pieces) == (f"{kind} plain roller" in has)
    assert ("foot-plunger" in pieces) == ("pedal" in has)
    assert ("clutch-cable" in pieces) == ("cable clutch" in has)
    assert {task.id for task in hardware.tasks} >= {"reach", "grease"}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_tool_has_its_use_and_every_screw_its_check_of_threadlocker(layout: str) -> None:
    hardware = described(layout)
    for piece in hardware.pieces:
        if piece.fastener is not None and piece.id.endswith("cam-screws"):
            assert any(
                use.what == "threadlocker" and "countersink" in (use.never or "") for use in piece.uses
            )
            assert any("none on the countersink" in check.ask for check in piece.checks)
    both = {piece.tool for name in LAYOUTS for piece in described(name).pieces}
    assert {tool.id for tool in hardware.tools} <= both
