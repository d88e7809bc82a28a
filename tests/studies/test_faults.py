"""The data file of faults: everything it names exists, and no fault looks like a machine in order."""

import pytest

from pullcurve.parts.facts import table
from pullcurve.studies.faults import cause_of, faults, healthy_odds, wrong_cam
from pullcurve.studies.parameters import BAND
from tests.studies.bikes import BIKES, BRAKE, CABLE, CLUTCH, TOGETHER

MARKS = {"read", "common practice", "from memory", "computed", "choice"}


def test_every_check_is_a_known_cause() -> None:
    for entry, known in zip(table("faults")["fault"], faults(), strict=True):
        assert len(known.checks) == len(entry.get("checks", ())) + ("check" in entry)
        assert known.checks
        assert entry["mark"] in MARKS


def test_checks_are_about_the_lever_that_was_measured() -> None:
    air = next(known for known in faults() if known.name == "air")
    assert len(air.checks) == 2
    assert [len(air.checks_on(kind)) for kind in ("brake", "clutch")] == [1, 1]
    assert air.checks_on("brake") != air.checks_on("clutch")
    assert wrong_cam().checks_on("brake") == wrong_cam().checks


def test_fault_of_a_lever_that_does_two_things_says_whose_it_is() -> None:
    causes = {cause_of(way) for way in TOGETHER.ways if way.fault.name == "air"}
    assert causes == {"air in the line (brake)", "air in the line (clutch)"}
    assert {cause_of(way) for way in BRAKE.ways if way.fault.name == "air"} == {"air in the line"}


def test_odds_are_small_against_a_machine_in_order() -> None:
    assert all(0 < known.odds < healthy_odds() for known in (*faults(), wrong_cam()))
    assert wrong_cam().checks


def test_every_fault_can_be_had_by_some_machine() -> None:
    had = {way.fault.name for bike in BIKES.values() for way in bike.ways}
    assert had == {known.name for known in faults()}


@pytest.mark.parametrize("name", BIKES)
def test_fault_lies_outside_the_band_of_its_prior(name: str) -> None:
    """At least one of its numbers, for most of its band."""
    bike = BIKES[name]
    usual = {unknown.path: unknown for unknown in bike.unknowns}
    for way in bike.ways:
        moved = [unknown for unknown in way.unknowns if unknown.path in way.paths]
        assert moved
        middles = [usual[unknown.path].scaled(float(unknown.natural(0.0))) for unknown in moved]  # type: ignore[arg-type]
        assert max(map(abs, middles)) > BAND
        assert [u for u in way.unknowns if u.path not in way.paths] == [
            u for u in bike.unknowns if u.path not in way.paths
        ]


def test_faults_keep_to_their_lever_and_load() -> None:
    names = {bike: {way.fault.name for way in bike.ways} for bike in (BRAKE, CLUTCH, CABLE)}
    assert "pad stand-off" in names[BRAKE] - names[CLUTCH]
    assert "worn plates" in names[CLUTCH] & names[CABLE]
    assert {"dry cable", "slack cable"} <= names[CABLE]
    assert not {"air", "blocked port", "sticky seal"} & names[CABLE]


def test_one_lever_has_the_faults_of_both_lines() -> None:
    paths = {path for way in TOGETHER.ways if way.fault.name == "air" for path in way.paths}
    assert paths == {"brake_circuit.free_air_percent", "clutch_circuit.free_air_percent"}
