"""Plain words for changes: the right word for more and less, the verdict, and what is not reached."""

import numpy as np
import pytest

from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.bounds import Bound
from pullcurve.studies.find import find
from pullcurve.studies.sentences import (
    GRADES,
    SPOKEN,
    WORDS,
    Change,
    bound_sentence,
    compare,
    shown,
    summary,
)
from tests.studies import shop

FACETS = {"brake": dict(facets(BrakeReadouts)), "clutch": dict(facets(ClutchReadouts))}


def change(kind: str, readout: str, before: float, after: float) -> Change:
    """Change of one read-out from two numbers in SI."""
    facet = FACETS[kind][readout]
    values = (np.array([[value]]) if facet.per_surface else np.array([value]) for value in (before, after))
    return compare(kind, readout, facet, *values)


# More and less, by hand -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "readout", "before", "after", "words", "verdict"),
    [
        # 58/50 = 1.16: above 15 %, felt a day later
        ("brake", "force_lock", 50.0, 58.0, "lock-up is 8 N heavier", "felt a day later"),
        # 50/58 the other way round
        ("brake", "force_lock", 58.0, 50.0, "lock-up is 8 N lighter", "felt a day later"),
        # 55/50 = 1.10: between 7 and 15 %
        ("clutch", "force_peak", 50.0, 55.0, "the heaviest point is 5 N heavier", "felt back to back"),
        # 52/50 = 1.04
        ("clutch", "force_hold", 50.0, 52.0, "holding it in is 2 N heavier", "not felt"),
        # 1.4, 2 and 6 mm against 1.5 and 5 mm
        ("brake", "travel_bite", 0.010, 0.0114, "travel to bite is 1.4 mm longer", "not felt"),
        ("brake", "gap_rest", 0.048, 0.046, "brake lever rests 2.0 mm nearer the grip", "felt back to back"),
        (
            "clutch",
            "gap_free",
            0.020,
            0.026,
            "the clutch is free 6.0 mm farther from the grip",
            "felt a day later",
        ),
        ("clutch", "friction_zone", 0.010, 0.004, "the friction zone is 6.0 mm shorter", "felt a day later"),
    ],
)
def test_words_and_verdict(
    kind: str, readout: str, before: float, after: float, words: str, verdict: str
) -> None:
    found = change(kind, readout, before, after)
    assert found.words == words
    assert found.verdict == verdict
    assert found.told == verdict


def test_there_and_back_are_as_many_steps() -> None:
    there, back = change("brake", "force_lock", 50.0, 60.0), change("brake", "force_lock", 60.0, 50.0)
    assert there.steps == pytest.approx(-back.steps, rel=1e-12)
    assert there.grade == back.grade


@pytest.mark.parametrize(
    ("before", "after", "amount"),
    [(0.010, 0.0125, "+2.5 mm"), (0.0125, 0.010, "-2.5 mm"), (np.nan, 0.01, ""), (0.01, np.nan, "")],
)
def test_amount_carries_its_sign(before: float, after: float, amount: str) -> None:
    assert change("brake", "travel_bite", before, after).amount == amount


def test_what_is_no_longer_reached_is_said_and_felt() -> None:
    lost = change("brake", "travel_lock", 0.02, np.nan)
    assert (lost.words, lost.grade) == ("travel to lock-up is not reached within the travel", 2)
    gained = change("brake", "travel_lock", np.nan, 0.02)
    assert (gained.words, gained.grade) == ("travel to lock-up is now reached, at 20.0 mm", 2)
    never = change("brake", "travel_lock", np.nan, np.nan)
    assert (never.grade, never.steps) == (0, 0.0)


def test_what_no_finger_feels_has_no_verdict_to_tell() -> None:
    found = change("brake", "hysteresis", 0.1, 0.5)
    assert (found.grade, found.steps, found.told) == (0, 0.0, "")


def test_every_read_out_that_a_finger_feels_has_its_words() -> None:
    felt = {
        (kind, name) for kind, known in FACETS.items() for name, facet in known.items() if facet.felt != "no"
    }
    assert set(WORDS) == felt
    assert all(len(set(words)) == 3 for words in WORDS.values())
    assert all((kind, name) in felt for kind, name in WORDS)
    assert {name for _, name in felt} >= set(SPOKEN)


@pytest.mark.parametrize(
    ("value", "readout", "text"),
    [
        (0.0123, "travel_bite", "12.3 mm"),
        (57.4, "force_lock", "57 N"),
        (2.85e6, "pressure_lock", "28 bar"),
        (0.234, "hysteresis", "23 %"),
        (5.123, "deceleration_lock", "5.12 m/s²"),
    ],
)
def test_values_are_shown_in_the_units_of_the_trade(value: float, readout: str, text: str) -> None:
    assert shown(value, FACETS["brake"][readout]) == text


# One sentence -----------------------------------------------------------------------------------------------


def test_nothing_felt_is_said_in_as_many_words() -> None:
    assert summary((change("brake", "force_lock", 50.0, 51.0),)) == "Nothing that you would feel."
    assert summary(()) == "Nothing that you would feel."


def test_the_largest_change_comes_first_and_nothing_else_is_only_said_when_true() -> None:
    nearer, lighter = change("brake", "gap_rest", 0.048, 0.040), change("brake", "force_lock", 60.0, 55.0)
    assert summary((lighter, nearer)) == (
        "Brake lever rests 8.0 mm nearer the grip, felt a day later; lock-up is 5 N lighter, felt back to back; "
        "nothing else you would feel."
    )
    follows = change("brake", "gap_lock", 0.030, 0.022)
    assert summary((lighter, nearer, follows)).endswith("; the rest follows from that.")


def test_what_only_follows_is_said_when_there_is_nothing_else() -> None:
    assert summary((change("brake", "gap_lock", 0.030, 0.022),)) == (
        "Lock-up comes 8.0 mm nearer the grip, felt a day later; nothing else you would feel."
    )


def test_a_wish_out_of_reach_is_told_with_energy_and_travel() -> None:
    # 1.2 J over 20 mm asks for 60 N
    said = bound_sentence(Bound("brake.force_lock_newton", "from bite to lock-up", 1.2, 0.020, 60.0, 45.0))
    assert "45 N cannot be had" in said
    assert "brake, force at lock-up" in said
    assert "1.20 J of work over 20 mm" in said
    assert "60 N or more somewhere" in said


# In an answer -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", shop.NAMES)
def test_words_of_an_answer_agree_with_its_numbers(name: str) -> None:
    for lever in find(shop.known(name)).levers:
        for answer in lever.answers:
            assert answer.words[0] == f"Against what is fitted: {summary(answer.changes)}"
            told = " ".join(answer.words[1:])
            for wish in lever.wishes:
                assert wish.facet.label in told
                near = abs(answer.steps[wish.key]) <= 1.0
                as_wished = next((line for line in answer.words if line.startswith("As wished")), "")
                assert (wish.facet.label in as_wished) == near
            assert not any("nan" in line.lower() or "inf" in line.split() for line in answer.words)
            assert all(found.verdict in GRADES for found in answer.changes)
