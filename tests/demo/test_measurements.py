"""The demo measurements: they are what the independent road writes, and diagnosis names what was put in."""

from functools import cache

import numpy as np
import pytest

from pullcurve.verbs.measuring import Diagnosed, Measured, diagnose_pull, on_job, read_pull
from tests.demo.measurements import FOLDER, MEASUREMENTS, Measurement, text_of

BY_FILE = {known.file: known for known in MEASUREMENTS}
HEALTHY = "healthy"


@cache
def read(file: str) -> Measured:
    """A measurement on the job that it names."""
    return on_job(read_pull(FOLDER / file), folder=FOLDER)


@cache
def told(file: str) -> Diagnosed:
    return diagnose_pull(read(file))


def test_there_are_twelve_and_no_others() -> None:
    assert len(BY_FILE) == 12
    assert {path.name for path in FOLDER.glob("*.csv")} == set(BY_FILE)
    every = {
        "air", "pad stand-off", "swollen hose", "sticky seal", "worn plates", "blocked port", "stuck roller",
        "wrong cam fitted", "clocked wrongly", HEALTHY,
    }  # fmt: skip
    assert {known.holds for known in MEASUREMENTS} == every


@pytest.mark.parametrize("file", BY_FILE)
def test_file_is_what_the_road_writes(file: str) -> None:
    """Line by line; a number may fall on the other side of a rounding on another machine."""
    known = BY_FILE[file]
    there, here = ((FOLDER / file).read_text(encoding="utf-8").splitlines(), text_of(known).splitlines())
    head = 4
    assert there[:head] == here[:head]
    assert numbers(known, there[head:]) == pytest.approx(numbers(known, here[head:]), abs=0.11, nan_ok=True)


def numbers(known: Measurement, lines: list[str]) -> np.ndarray:
    """Readings as numbers."""
    rows = [(line.replace(",", ".") if known.comma else line).split(known.separator) for line in lines]
    return np.array([[float(cell or "nan") for cell in row] for row in rows])


@pytest.mark.parametrize("file", BY_FILE)
def test_what_was_put_in_is_named_first(file: str) -> None:
    first = told(file).diagnosis.first
    assert first.name == BY_FILE[file].holds
    assert (first.name == HEALTHY) == (not first.checks)


@pytest.mark.parametrize("file", BY_FILE)
def test_no_file_says_what_it_holds(file: str) -> None:
    assert BY_FILE[file].holds not in file + (FOLDER / file).read_text(encoding="utf-8")


def test_mess_is_told_and_read_all_the_same() -> None:
    known = next(known for known in MEASUREMENTS if known.upset)
    remarks = " ".join(read(known.file).pull.remarks)
    assert "spike" in remarks
    assert "empty cell" in remarks
    assert "counted from there" in remarks
    assert "drifts" in remarks


def test_wrong_cam_is_named_with_its_number() -> None:
    known = next(known for known in MEASUREMENTS if known.cam is not None)
    assert known.cam is not None
    assert known.cam.name in told(known.file).diagnosis.first.cause


@pytest.mark.parametrize("file", [known.file for known in MEASUREMENTS if known.wrong])
def test_size_of_the_fault_is_found(file: str) -> None:
    """Within the fit's own 95 % interval, or a fifth of the value, whichever is wider."""
    known, first = BY_FILE[file], told(file).diagnosis.first
    for path, size in known.wrong.items():
        row = first.fit.place(path)
        unknown, value = first.fit.unknowns[row], float(first.fit.value[row])
        wanted = size * unknown.value if path == "clutch.clamp_newton" else size
        low, high = float(first.fit.low[row]), float(first.fit.high[row])
        assert min(low, value - 0.2 * abs(value)) <= wanted <= max(high, value + 0.2 * abs(value))
