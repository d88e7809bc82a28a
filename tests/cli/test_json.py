"""Answers as JSON: units, sources, every branch of the pull, and nothing that is not JSON."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.units import FACTORS
from pullcurve.verbs.jobs import demo_names
from tests.cli.speaking import Speak, job_file

BRANCHES = ("force_without_friction", "pull", "release", "release_cold_and_worn")


def strict(text: str) -> Any:
    """JSON by the standard: NaN and Infinity are none."""

    def refuse(name: str) -> None:
        raise AssertionError(f"{name} in JSON")

    return json.loads(text, parse_constant=refuse)


@pytest.fixture(params=demo_names())
def job_of_any(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Every demo job as a file."""
    return job_file(tmp_path, request.param)


def walk(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every leaf with its path."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from walk(part, f"{path}.{key}")
    elif isinstance(value, list):
        for row, part in enumerate(value):
            yield from walk(part, f"{path}.{row}")
    else:
        yield path, value


def test_pull_has_units_for_every_array_and_arrays_of_one_length(cli: Speak, job_of_any: Path) -> None:
    said = cli("pull", job_of_any, "--json")
    assert (said.code, said.err) == (0, "")
    answer = strict(said.out)
    units = answer["units"]
    for lever in answer["levers"]:
        assert set(BRANCHES) <= set(lever["arrays"])
        both = [
            *lever["arrays"].items(),
            *(pair for rocker in lever["rockers"].values() for pair in rocker.items()),
        ]
        for name, values in both:
            assert name in units
            assert len(values) == 128
        for name, event in lever["events"].items():
            assert set(event) <= set(units), name


def test_branches_are_told_in_full_and_in_order(cli: Speak, job_of_any: Path) -> None:
    for lever in strict(cli("pull", job_of_any, "--json").out)["levers"]:
        free, pull, release, worn = (np.array(lever["arrays"][name]) for name in BRANCHES)
        assert np.all(pull >= free) and np.all(free >= release) and np.all(release >= worn)
        assert np.all(np.diff(lever["arrays"]["travel"]) > 0)
        travel = np.array(lever["arrays"]["theta"])
        assert lever["arrays"]["travel"] == pytest.approx((travel * 0.075).tolist())  # finger at 75 mm


def test_inputs_are_in_si_with_source_and_as_typed(cli: Speak, job_of_any: Path) -> None:
    inputs = strict(cli("pull", job_of_any, "--json").out)["inputs"]
    assert {entry["source"] for entry in inputs.values()} <= {"given", "measured", "prior"}
    for name, entry in inputs.items():
        assert entry["note"] or entry["source"] == "given", name
        ((key, typed),) = entry["typed"].items()
        unit = max((unit for unit in FACTORS if key.endswith(f"_{unit}")), key=len, default=None)
        if isinstance(typed, float | int) and not isinstance(typed, bool) and unit:
            assert entry["value"] == pytest.approx(typed * FACTORS[unit], rel=1e-15)
            assert not name.endswith(f"_{unit}")
        else:
            assert entry["value"] == typed


def test_bore_and_bulk_modulus_by_hand(cli: Speak, tmp_path: Path) -> None:
    inputs = strict(cli("pull", job_file(tmp_path), "--json").out)["inputs"]
    bore = inputs["unit.levers.0.rockers.0.plunger.bore"]
    assert (bore["value"], bore["source"], bore["typed"]) == (
        pytest.approx(0.0095),
        "given",
        {"bore_mm": 9.5},
    )
    fluid = inputs["brake_circuit.fluid_bulk_modulus"]
    assert (fluid["value"], fluid["source"]) == (pytest.approx(1.7e9), "prior")
    assert "from memory" in fluid["note"]


def test_a_measured_value_says_so(cli: Speak, tmp_path: Path) -> None:
    path = job_file(tmp_path)
    with path.open("a", encoding="utf-8") as file:
        file.write('\n[measured]\n"rider.mass_kg" = { date = 2026-05-14, low = 83, high = 85 }\n')
    entry = strict(cli("pull", path, "--json").out)["inputs"]["rider.mass"]
    assert (entry["value"], entry["source"]) == (84.0, "measured")
    assert "2026-05-14" in entry["note"]


def test_every_read_out_is_there_with_its_unit(cli: Speak, job_of_any: Path) -> None:
    found: dict[str, set[str]] = {}
    for lever in strict(cli("pull", job_of_any, "--json").out)["levers"]:
        for kind, known in lever["readouts"].items():
            found[kind] = set(known)
    for kind, model in (("brake", BrakeReadouts), ("clutch", ClutchReadouts)):
        if kind in found:
            assert found[kind] == {f"{name}_{facet.unit}" for name, facet in facets(model)}
    assert "brake" in found


def test_what_is_not_reached_is_null_and_not_nan(cli: Speak, tmp_path: Path) -> None:
    path = job_file(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("take_up_mm = 0, stroke_mm = 8.5", "take_up_mm = 0, stroke_mm = 3"), encoding="utf-8"
    )
    for command in ("pull", "swap", "find"):
        said = cli(command, path, "--json")
        assert (said.code, said.err) == (0, "")
        strict(said.out)
    read = strict(cli("pull", path, "--json").out)["levers"][0]["readouts"]["brake"]
    assert read["travel_lock_mm"] is None
    assert read["force_lock_newton"][0] is None
    assert "not reached" in cli("pull", path).out
    told = cli("find", path).out
    assert "what is fitted does not reach all that they speak of" in told
    assert " inf " not in told and "nan" not in told


def test_found_and_swapped_are_told_in_full(cli: Speak, job_of_any: Path) -> None:
    found = strict(cli("find", job_of_any, "--json").out)
    assert found["best"]
    for lever in found["levers"]:
        assert lever["searched"] >= lever["keeping_every_limit"] >= lever["undominated"] >= 1
        assert {wish["source"] for wish in lever["wishes"]} <= {"given", "prior", "kept"}
        for answer in lever["answers"]:
            assert set(answer["felt_steps_from_wish"]) == {wish["key"] for wish in lever["wishes"]}
            assert all(cam["id"] and cam["name"] for cam in answer["cams"].values())
            assert answer["words"]
    swapped = strict(cli("swap", job_of_any, "too heavy", "--json").out)
    assert swapped["complaints"]
    assert all(known["check_first"] and known["source"] and known["mark"] for known in swapped["complaints"])
    assert all(not swap["breaks"] for swap in (*swapped["helping"], *swapped["others"]))
    assert all(swap["breaks"] for swap in swapped["refused"])
    for swap in (*swapped["helping"], *swapped["others"], *swapped["refused"]):
        assert swap["off"]["id"] != swap["on"]["id"]


def test_no_number_is_told_as_a_text(cli: Speak, tmp_path: Path) -> None:
    for command in ("pull", "find", "swap"):
        for path, value in walk(strict(cli(command, job_file(tmp_path), "--json").out)):
            if isinstance(value, str):
                assert value.lower() not in ("nan", "inf", "-inf", "none"), path


def test_the_same_job_gives_the_same_words(cli: Speak, tmp_path: Path) -> None:
    path = job_file(tmp_path)
    for command in ("pull", "find", "swap"):
        assert cli(command, path, "--json").out == cli(command, path, "--json").out
