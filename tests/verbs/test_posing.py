"""The bench as one answer: its numbers are those of pull and swap, its steps are the cams of the rack and no others."""

import json
import re
from typing import Any

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.pull.readouts import facets
from pullcurve.verbs import asking, jobs
from pullcurve.verbs.posing import bench_view
from tests.pull.example import one_lever_job, whole

INCH = {"in": ("mm", 25.4), "lbf": ("N", 4.4482216152605), "psi": ("bar", 0.0689475729)}
"""Inch, pound-force and psi (NIST SP 811, appendix B.8)."""

SI = {"mm": 1e-3, "N": 1.0, "bar": 1e5, "m/s²": 1.0, "%": 0.01, "g/N": 9.80665, "s": 1.0}
SI |= {"g/mm": 9.80665e3, "m/s² per mm": 1e3}
"""What a sign on the page stands for; standard gravity from ISO 80000-3."""

DEMO = jobs.demo_job()
LIGHTER = "brake-in0-tu0.0-st7.5"
Record = dict[str, Any]


def lever(view: Record, kind: str) -> Record:
    """The lever that works brake or clutch."""
    found: Record = next(one for one in view["levers"] if kind in one["kinds"])
    return found


def numbers(words: str) -> list[tuple[float, str, float]]:
    """Values of a cell with their units, and half a unit of the last printed digit."""
    found = []
    for part in words.split(" / "):
        number, unit = part.split(" ", 1)
        decimals = len(number.partition(".")[2])
        found.append((float(number), unit, 0.5 * 10.0**-decimals))
    return found


# Numbers ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["brake", "clutch"])
@pytest.mark.parametrize("side", ["fitted", "proposed"])
def test_table_has_the_readouts_of_the_pull(kind: str, side: str) -> None:
    ids = (LIGHTER, "clutch-in0-li9.50")
    known = asking.pull_levers(DEMO)
    if side == "proposed":
        known = asking.pull_levers(DEMO, asking.with_cams(DEMO, asking.cams_named(DEMO, ids)))
    readouts = getattr(known.pull, kind)
    rows = {row["readout"]: row for row in lever(bench_view(DEMO, ids), kind)["rows"]}
    for name, facet in facets(readouts):
        values = np.ravel(getattr(readouts, name))
        if facet.optional and np.all(np.isnan(values)):
            assert name not in rows
            continue
        for value, (told, unit, half) in zip(values, numbers(rows[name]["metric"][side]), strict=True):
            assert value / SI[unit] == pytest.approx(told, abs=1.01 * half)


def test_sentence_and_changes_are_those_of_swap() -> None:
    """Swap is another road: it searches the rack; the bench pulls the one set."""
    swaps = asking.swap_cam(DEMO)
    swap = next(one for one in (*swaps.helping, *swaps.others) if one.on.id == LIGHTER)
    shown = lever(bench_view(DEMO, (LIGHTER,)), "brake")
    assert shown["sentence"]["metric"] == swap.words
    told = {row["readout"]: row["metric"]["change"] for row in shown["rows"]}
    assert all(told[one.readout] == one.amount for one in swap.changes if one.readout in told)
    assert not shown["broken"]


def test_what_swap_refuses_is_told_as_broken() -> None:
    refused = asking.swap_cam(DEMO).refused[0]
    shown = next(one for one in bench_view(DEMO, (refused.on.id,))["levers"] if one["changed"])
    broken = [one["sentence"] for one in shown["broken"] if not one["as_fitted"]]
    assert tuple(broken) == refused.broken


def test_inch_words_are_the_metric_ones_converted() -> None:
    for row in lever(bench_view(DEMO, (LIGHTER,)), "brake")["rows"]:
        for side in ("fitted", "proposed"):
            metric, inch = (numbers(row[system][side]) for system in ("metric", "inch"))
            for (told, unit, half), (other, sign, other_half) in zip(metric, inch, strict=True):
                if sign not in INCH:
                    assert (other, sign) == (told, unit)
                    continue
                same, factor = INCH[sign]
                assert unit == same
                assert other * factor == pytest.approx(told, abs=1.01 * (half + other_half * factor))


def test_sentence_speaks_in_inches_too() -> None:
    told = lever(bench_view(DEMO, ("brake-in4-tu0.0-st8.5",)), "brake")["sentence"]
    assert re.search(r"\d mm|\d N", told["metric"])
    assert not re.search(r"\d mm|\d N", told["inch"])
    assert re.search(r"\d in|\d lbf", told["inch"])


# What is asked for ------------------------------------------------------------------------------------------


def test_without_cams_everything_is_as_fitted() -> None:
    view = bench_view(DEMO)
    assert not any(cam["changed"] for cam in view["cams"].values())
    for one in view["levers"]:
        assert one["proposed"] is None
        assert one["sentence"]["metric"] == "As fitted."
        assert {row["metric"]["fitted"] == row["metric"]["proposed"] for row in one["rows"]} == {True}
    # A cam that is on already is no change.
    assert bench_view(DEMO, ("brake-in0-tu0.0-st8.5",)) == view


def test_only_the_lever_that_changes_has_two_pulls() -> None:
    view = bench_view(DEMO, (LIGHTER,))
    assert [one["proposed"] is not None for one in view["levers"]] == [True, False]
    assert view["cams"]["brake"]["proposed"]["id"] == LIGHTER
    assert view["cams"]["brake"]["fitted"]["id"] == "brake-in0-tu0.0-st8.5"


def test_a_page_may_ask_for_one_lever_without_what_it_knows() -> None:
    whole_view, part = bench_view(DEMO, (LIGHTER,)), bench_view(DEMO, (LIGHTER,), lever=0, fitted=False)
    (one,) = part["levers"]
    assert one["fitted"] is None
    assert {**one, "fitted": whole_view["levers"][0]["fitted"]} == whole_view["levers"][0]
    assert bench_view(DEMO, pulled=asking.pull_levers(DEMO)) == bench_view(DEMO)


def test_is_plain_data() -> None:
    for name in jobs.demo_names():
        view = bench_view(jobs.demo_job(name))
        assert json.loads(json.dumps(view, allow_nan=False)) == view


def test_wrong_questions_get_one_line() -> None:
    with pytest.raises(BadInput, match=r"lever is 2; allowed is 0 to 1"):
        bench_view(DEMO, lever=2)
    with pytest.raises(BadInput, match="is no cam of the rack"):
        bench_view(DEMO, ("brake-in0-tu0.0-st99.0",))
    with pytest.raises(BadInput, match="reach"):
        bench_view(DEMO, ("clutch-in8-li10.00",))


def test_checks_come_before_cams() -> None:
    """The demo rider complains of heavy levers: both are told what to check first."""
    for one in bench_view(DEMO)["levers"]:
        assert one["check_first"]
        assert {entry["complaint"] for entry in one["check_first"]} == {f"{one['kinds'][0]}, heavy"}


# Steps ------------------------------------------------------------------------------------------------------


def steps(view: Record) -> list[tuple[Record, Record]]:
    """Every step of every number."""
    return [
        (stepper, step) for one in view["levers"] for stepper in one["steppers"] for step in stepper["steps"]
    ]


@pytest.mark.parametrize("name", ["enduro-300.toml", "enduro-125.toml", "enduro-250.toml"])
def test_every_step_is_a_set_of_the_rack_that_differs_in_one_number(name: str) -> None:
    job = jobs.demo_job(name)
    view = bench_view(job)
    for stepper, step in steps(view):
        if step["cams"] is None:
            continue
        fitted = fitted_cams(asking.refitted(job, asking.cams_named(job, tuple(step["cams"]))))
        for kind, cam in fitted_cams(job).items():
            moved = {key for key in type(cam).model_fields if getattr(cam, key) != getattr(fitted[kind], key)}
            concerned = stepper["of"] in (kind, "lever") and not step["now"]
            assert moved <= {stepper["key"]} if concerned else not moved
            if concerned and moved:
                assert getattr(fitted[kind], stepper["key"]) == step["value"]


def fitted_cams(job: Job) -> dict[str, Cam]:
    """The cams that are on, by kind."""
    kinds = ("brake", "clutch", "assist")
    return {kind: getattr(job.fitted, kind) for kind in kinds if getattr(job.fitted, kind)}


def test_hollow_steps_are_what_the_rack_lacks() -> None:
    """One lever carries all: its brake cams have five reaches, its clutch and assist cams only two of them."""
    job = jobs.demo_job("enduro-125.toml")
    reach = next(stepper for stepper, _ in steps(bench_view(job)) if stepper["label"] == "reach")
    assert job.rack is not None
    have = [
        {cam.reach_deg for cam in cams}
        for cams in (job.rack.brake_cams, job.rack.clutch_cams, job.rack.assist_cams)
    ]
    common, every = set.intersection(*have), set.union(*have)
    assert {step["value"] for step in reach["steps"]} == every
    assert {step["value"] for step in reach["steps"] if step["cams"] is not None} == common


def test_steps_know_where_they_stand() -> None:
    view = bench_view(DEMO, (LIGHTER,))
    stroke = next(stepper for stepper, _ in steps(view) if stepper["label"] == "stroke")
    assert [step["value"] for step in stroke["steps"] if step["now"]] == [7.5]
    back = next(step for step in stroke["steps"] if step["fitted"])
    assert (back["value"], back["cams"]) == (8.5, [])
    # A step on one lever keeps what is tried on the other.
    lift = next(stepper for stepper, _ in steps(view) if stepper["label"] == "lift")
    assert all(LIGHTER in step["cams"] for step in lift["steps"])


def test_a_job_without_a_rack_has_no_steps() -> None:
    job = Job.model_validate({**one_lever_job().model_dump(exclude_unset=True), "rack": None})
    assert steps(bench_view(job)) == []
    assert len(bench_view(whole())["levers"]) == 2
