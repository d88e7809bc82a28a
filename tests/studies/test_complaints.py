"""The workshop's vocabulary: every complaint is complete, and every word that riders use leads somewhere."""

import re
import tomllib
from collections import Counter
from importlib import resources
from typing import Any

import pytest

from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets

DATA = resources.files("pullcurve").joinpath("data")
VOCABULARY = tomllib.loads((DATA / "complaints.toml").read_text(encoding="utf-8"))
ENTRIES: list[dict[str, Any]] = VOCABULARY["complaint"]
FACETS = {"brake": dict(facets(BrakeReadouts)), "clutch": dict(facets(ClutchReadouts))}
MARKS = ("read", "common practice", "from memory", "computed", "choice")

# Riders' words, row by row of the trade's list of complaints, on each lever that the row speaks of.
ROWS = {
    "brake": [
        "spongy", "mushy", "soft",
        "pumps up",
        "sinks",
        "long", "comes to the bar", "hits my knuckles",
        "wooden", "dead", "hard",
        "grabby", "on off", "snatches", "grabs",
        "no feel", "vague",
        "locks too easily",
        "not strong enough", "two hands",
        "heavy", "too heavy",
        "tight then loose", "notchy", "steps",
        "sticky", "slow return",
        "drags", "runs hot", "creeps on by itself",
        "fades", "gets long when hot",
        "pulses", "lever shakes",
        "squeals", "judders",
        "pulls different day to day", "drifts", "bite moves",
        "foot and lever fight", "pedal goes soft",
        "arm pump", "hand cramps", "cannot hold long",
        "too far", "cannot reach", "too near",
        "lever moves before anything happens",
        "won't free", "wont free", "bites too early", "bites too late",
    ],
    "clutch": [
        "heavy", "too heavy",
        "won't find neutral", "creeps in gear", "creeps", "won't free", "wont free", "drags",
        "first gear clunk cold only",
        "slips",
        "bites too early", "too far out",
        "bites too late", "near the bar", "comes to the bar", "hits my knuckles",
        "grabby", "on off", "grabs",
        "judders",
        "fades",
        "arm pump", "hand cramps", "cannot hold long",
        "too far", "cannot reach", "too near",
        "lever moves before anything happens",
        "tight then loose", "notchy", "sticky", "slow return", "spongy", "pumps up", "sinks",
        "no feel", "bite moves",
    ],
}  # fmt: skip

# The order of checking a brake, by the words that stand for each stage.
STAGES = (
    r"\bleak\b|\blevel\b|overfull|over the mark",
    r"\bpads?\b|\bdiscs?\b|\bdrum\b",
    r"\bair\b",
    r"free play|\bport\b|much play|\bplay\b",
    r"\bhose\b",
    r"\bseals?\b|\bpistons?\b|\bplunger\b",
    r"\bpivot\b|\broller\b|\bpin\b",
)


def title(entry: dict[str, Any]) -> str:
    """Name of an entry as a test id."""
    return f"{entry['lever']} {entry['name']}"


def stage(cause: str) -> int | None:
    """Earliest stage of checking that a cause speaks of."""
    return next((number for number, words in enumerate(STAGES) if re.search(words, cause)), None)


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_entry_is_complete(entry: dict[str, Any]) -> None:
    assert set(entry) == {"name", "lever", "words", "check_first", "wants", "cam", "source", "mark"}
    assert entry["lever"] in FACETS
    assert all(entry[key].strip() for key in ("name", "cam", "source"))
    assert entry["mark"] in MARKS
    assert entry["words"]


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_every_complaint_has_two_causes_and_each_has_a_check(entry: dict[str, Any]) -> None:
    assert len(entry["check_first"]) >= 2
    for cause in entry["check_first"]:
        assert set(cause) == {"cause", "check"}
        assert cause["cause"].strip()
        assert re.fullmatch(r"[A-Z][^.]+(?:\.\d[^.]*)*\.", cause["check"]), "one sentence"


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_wants_name_what_a_finger_feels(entry: dict[str, Any]) -> None:
    for readout, way in entry["wants"].items():
        assert way in ("more", "less")
        assert FACETS[entry["lever"]][readout].felt in ("force", "place")


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_a_complaint_that_no_cam_cures_wants_nothing(entry: dict[str, Any]) -> None:
    if entry["cam"].startswith("None:"):
        assert not entry["wants"]
    assert re.fullmatch(r"[A-Z].+\.", entry["cam"])


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_force_and_travel_are_not_both_lowered(entry: dict[str, Any]) -> None:
    """Force times travel is set by the load: no cam makes a pull lighter and shorter."""
    less = {readout for readout, way in entry["wants"].items() if way == "less"}
    force = {readout for readout in less if readout.startswith("force_")}
    travel = {readout for readout in less if readout.startswith(("travel_", "modulation_t", "friction"))}
    assert not (force and travel)


@pytest.mark.parametrize("lever", ["brake", "clutch"])
def test_gaps_and_travels_are_wanted_the_opposite_way(lever: str) -> None:
    """A longer travel to an event ends nearer to the grip, so the same event cannot want both."""
    for entry in ENTRIES:
        if entry["lever"] != lever:
            continue
        for readout, way in entry["wants"].items():
            twin = readout.replace("gap_", "travel_")
            if readout.startswith("gap_") and twin in entry["wants"]:
                assert entry["wants"][twin] != way


@pytest.mark.parametrize("lever", ["brake", "clutch"])
def test_a_phrase_means_one_thing_on_a_lever(lever: str) -> None:
    phrases = Counter(word for entry in ENTRIES if entry["lever"] == lever for word in entry["words"])
    assert {phrase for phrase, times in phrases.items() if times > 1} == set()
    names = Counter(entry["name"] for entry in ENTRIES if entry["lever"] == lever)
    assert max(names.values()) == 1


@pytest.mark.parametrize("entry", ENTRIES, ids=title)
def test_phrases_are_as_people_type_them(entry: dict[str, Any]) -> None:
    for phrase in entry["words"]:
        assert phrase == " ".join(phrase.lower().replace("-", " ").split())
        assert not {"brake", "clutch"} & set(phrase.split()), "taken off before the search"


@pytest.mark.parametrize("lever", ["brake", "clutch"])
def test_every_complaint_can_be_asked_for_by_its_name(lever: str) -> None:
    for entry in ENTRIES:
        if entry["lever"] == lever and entry["name"] not in entry["words"]:
            pytest.fail(f"{entry['name']} is no phrase of its own entry")


@pytest.mark.parametrize(
    ("lever", "phrase"), [(lever, word) for lever, words in ROWS.items() for word in words]
)
def test_every_word_of_the_trade_is_known(lever: str, phrase: str) -> None:
    assert sum(phrase in entry["words"] for entry in ENTRIES if entry["lever"] == lever) == 1


@pytest.mark.parametrize("entry", [entry for entry in ENTRIES if entry["lever"] == "brake"], ids=title)
def test_brake_is_checked_from_the_fluid_to_the_pivot(entry: dict[str, Any]) -> None:
    stages = [known for cause in entry["check_first"] if (known := stage(cause["cause"])) is not None]
    assert stages == sorted(stages)


def test_no_grade_codes_and_no_capitals_that_could_be_a_maker() -> None:
    """Names in running text would be capitals; only the first word of a sentence may have one."""
    for entry in ENTRIES:
        running = [entry["name"], *entry["words"], *(cause["cause"] for cause in entry["check_first"])]
        assert not any(re.search(r"[A-Z]", text) for text in running)
        sentences = [entry["cam"].removeprefix("None: "), *(cause["check"] for cause in entry["check_first"])]
        assert not any(re.search(r"[A-Z]", text[1:]) for text in sentences)


def test_a_clutch_that_bites_near_rest_wants_less_early_lift() -> None:
    """By hand: with a straight law of r mm lift per degree, 2 mm of lift frees the clutch after 2/r degrees.

    At 0.20 mm per degree that is 10 degrees, at 0.25 only 8: more early lift frees the clutch, and on the
    release bites, still nearer to rest. So the entry wants smaller gaps at slip and free: more travel.
    """
    assert 2.0 / 0.25 == 8.0 < 2.0 / 0.20
    early = next(entry for entry in ENTRIES if title(entry) == "clutch bites too early")
    assert early["wants"] == {"gap_slip": "less", "gap_free": "less"}
    late = next(entry for entry in ENTRIES if title(entry) == "clutch bites too late")
    assert late["wants"]["gap_free"] == "more"


# Limits and wishes that stand in ----------------------------------------------------------------------------

LIMITS: dict[str, Any] = tomllib.loads((DATA / "limits.toml").read_text(encoding="utf-8"))
FACTS = {
    **{f"limits.{name}": fact for name, fact in LIMITS["limits"].items()},
    **{f"wishes.brake.{name}": fact for name, fact in LIMITS["wishes"]["brake"].items()},
    **{f"wishes.clutch.{name}": fact for name, fact in LIMITS["wishes"]["clutch"].items()},
}


@pytest.mark.parametrize("key", FACTS)
def test_every_limit_and_wish_has_a_source_and_a_mark(key: str) -> None:
    fact = FACTS[key]
    assert {"source", "mark"} <= set(fact) <= {"value", "source", "mark"}
    assert fact["mark"] in MARKS
    assert fact["source"].strip()
    assert ("value" in fact) or key.startswith("wishes.")
    assert fact.get("value", 1.0) > 0.0


@pytest.mark.parametrize(
    ("name", "worn", "greased"),
    [("worn_seals", 15.0, 7.0), ("worn_pins", 0.30, 0.12), ("worn_cable", 0.20, 0.10)],
)
def test_worn_factor_is_dry_over_greased(name: str, worn: float, greased: float) -> None:
    """Half a unit of the printed digit: 15 N over 7 N, 0.30 over 0.12, 0.20 over 0.10 (from memory)."""
    assert LIMITS["limits"][name]["value"] == pytest.approx(worn / greased, abs=0.05)


def test_published_limit_of_hand_force() -> None:
    """Austria, Kraftfahrgesetz-Durchfuehrungsverordnung 1967, section 3d: 20 daN on a hand lever."""
    assert LIMITS["limits"]["hand_force_most_newton"]["value"] == 20 * 10


def test_lever_keeps_half_an_inch_off_the_grip() -> None:
    assert LIMITS["limits"]["grip_gap_keep_mm"]["value"] == pytest.approx(25.4 / 2, abs=0.5)
