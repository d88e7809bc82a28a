"""Torque guidance: against charts of the trade, and what it leaves to the screw."""

import pytest

from pullcurve.parts.facts import table
from pullcurve.parts.hardware import Fastener, Head, PropertyClass, Thread
from pullcurve.parts.layout import LAYOUTS, described
from pullcurve.studies.tightening import torque_note, torque_of

THREADS: tuple[Thread, ...] = ("M3", "M4", "M5")
AREAS = {"M3": 5.03, "M4": 8.78, "M5": 14.2, "M6": 20.1}
"""Stress areas as ISO 898-1 prints them [mm2]."""


def screw(thread: Thread, head: Head, strength: PropertyClass, softest: str = "steel") -> Fastener:
    """One screw."""
    return Fastener.model_validate(
        {
            "count": 1,
            "thread": thread,
            "head": head,
            "property_class": strength,
            "length_mm": 10,
            "softest": softest,
        }
    )


def test_guidance_is_that_of_a_chart_at_65_percent_of_proof() -> None:
    # table B, flat screws of 12.9, M3 to M5, a chart of the trade at 65 % of proof load
    found = [torque_of(screw(thread, "countersunk", "12.9")).torque for thread in THREADS]
    assert found == pytest.approx((1.4, 3.4, 6.8), abs=0.05)  # half a unit of the last printed digit


def test_share_of_a_button_head_is_the_one_read_off_two_charts() -> None:
    # tables B and C, button screws of 12.9; one share for all sizes misses M4 by 2.4 %, on the safe side
    found = [torque_of(screw(thread, "button", "12.9")).torque for thread in THREADS]
    assert found == pytest.approx((1.2, 2.8, 5.5), rel=0.025)


def test_flat_screws_come_near_a_more_careful_sheet() -> None:
    # table C, flat 10.9 screws at 420 MPa: 1.2, 2.8, 5.5 N m; ours at 65 % of 0.8 x 830 is 432 MPa, 3 % more, on
    # top of which the sheet rounds K from 0.19 to 0.185 for M5
    found = [torque_of(screw(thread, "countersunk", "10.9")).torque for thread in THREADS]
    assert found == pytest.approx((1.2, 2.8, 5.5), rel=0.06)


def test_flat_and_round_heads_are_set_a_fifth_and_a_third_lower() -> None:
    # published reductions are 30 to 45 % for both (flat/cap 0.61 to 0.70, button/cap 0.55 to 0.64) against cap screws
    # at 75 % of proof and more; against a cap screw at the same share the head alone is left
    for thread in THREADS:
        cap = torque_of(screw(thread, "cap", "10.9")).torque
        assert torque_of(screw(thread, "countersunk", "10.9")).torque / cap == pytest.approx(0.8)
        assert torque_of(screw(thread, "button", "10.9")).torque / cap == pytest.approx(0.65)


@pytest.mark.parametrize("strength", ["8.8", "10.9", "12.9"])
def test_cap_screws_stay_below_every_published_torque(strength: PropertyClass) -> None:
    # table T-b, 90 % of yield, friction 0.14, M3 to M6
    printed = {
        "8.8": (1.28, 2.97, 6.03, 10.25),
        "10.9": (1.80, 4.18, 8.48, 14.41),
        "12.9": (2.16, 5.02, 10.18, 17.29),
    }[strength]
    every: tuple[Thread, ...] = (*THREADS, "M6")
    for thread, most in zip(every, printed, strict=True):
        assert torque_of(screw(thread, "cap", strength)).torque < most


@pytest.mark.parametrize("strength", ["10.9", "12.9"])
def test_on_aluminium_every_screw_is_set_as_the_softest(strength: PropertyClass) -> None:
    for thread in THREADS:
        found = torque_of(screw(thread, "cap", strength, "aluminium"))
        assert found == torque_of(screw(thread, "cap", "8.8"))


@pytest.mark.parametrize("layout", LAYOUTS)
def test_even_a_slippery_thread_leaves_every_screw_of_the_units_whole(layout: str) -> None:
    screws = [piece.fastener for piece in described(layout).pieces if piece.fastener is not None]
    assert len(screws) >= 5
    for one in screws:
        found = torque_of(one)
        diameter, share = (
            float(one.thread[1:]) / 1e3,
            {"cap": 1.0, "countersunk": 0.8, "button": 0.65}[one.head],
        )
        slippery = found.torque / (0.14 * diameter)  # a weak source's factor for wet threadlocker
        assert slippery < share * 580 * AREAS[one.thread]
        assert found.most == pytest.approx(0.14 * diameter * share * 580 * AREAS[one.thread], rel=0.005)
        assert found.torque < found.most


def test_facts_of_screws_are_those_of_the_standards() -> None:
    facts = table("screws")
    proof = [facts["proof_mpa"][strength] for strength in ("8.8", "10.9", "12.9")]
    assert proof == [580, 830, 970]  # ISO 898-1, up to M16
    assert {key: row["pitch_mm"] for key, row in facts["thread"].items() if key in AREAS} == {
        "M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0,
    }  # ISO 261, coarse  # fmt: skip
    assert facts["head"]["countersunk"]["share"] == 0.8  # scope of ISO 14581
    low, high = (facts["tightening"]["nut_factor"][key] for key in ("low", "high"))
    assert low < facts["tightening"]["nut_factor"]["value"] < high


def test_note_says_guidance() -> None:
    assert "guidance" in torque_note() and "65 %" in torque_note() and "K = 0.19" in torque_note()
