"""Our own file of a sorted bench pull: what is written is read back, and others can read it too."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.bench import bench_pull, read_bench
from pullcurve.intake.benchlog import Log
from pullcurve.intake.benchrecord import FIRST_LINE, write_bench
from tests.intake.pulls import noisy, planned

PLAN = noisy(planned(pulls=3))
PULL = bench_pull(
    Log(
        Path("monday.csv"), PLAN.travel * 1e-3, False, PLAN.force, PLAN.pressure * 1e5, PLAN.time,
        remarks=("a remark", "another: with a colon"), job="enduro-300.toml", lever="clutch", fitted=("one", "two"),
    )
)  # fmt: skip


@pytest.mark.parametrize(
    "pull",
    [
        PULL,
        replace(PULL, time=None, pressure=None, remarks=(), job=None, lever=None, fitted=()),
        replace(PULL, angular=True, place=PULL.place * 20.0, name="a name; with signs\nand two lines"),
    ],
)
def test_written_and_read_back(tmp_path: Path, pull: object) -> None:
    assert isinstance(pull, type(PULL))
    again = read_bench(write_bench(tmp_path / "out.csv", pull))
    np.testing.assert_allclose(again.place, pull.place, atol=1e-8)
    np.testing.assert_allclose(again.force, pull.force, atol=0.5e-4)
    for key, digits in (("time", 0.5e-6), ("pressure", 0.5)):
        one, other = getattr(again, key), getattr(pull, key)
        assert (one is None) == (other is None)
        if other is not None:
            np.testing.assert_allclose(one, other, atol=digits * 1.01)
    np.testing.assert_array_equal(again.branch, pull.branch)
    np.testing.assert_array_equal(again.cycle, pull.cycle)
    assert again.remarks == pull.remarks
    assert (again.job, again.lever, again.fitted, again.angular) == (
        pull.job,
        pull.lever,
        pull.fitted,
        pull.angular,
    )
    assert again.name == pull.name.replace("\n", "\\n")


def test_another_program_reads_it(tmp_path: Path) -> None:
    """numpy's own reader, with nothing told but the separator and the names."""
    file = write_bench(tmp_path / "out.csv", PULL)
    text = file.read_text(encoding="utf-8").splitlines()
    head = next(row for row, line in enumerate(text) if not line.startswith("#"))
    assert text[head] == "time_s;travel_mm;force_newton;pressure_bar;branch;cycle"
    table = np.loadtxt(text[head + 1 :], delimiter=";")
    np.testing.assert_allclose(table[:, 1], PLAN.travel, atol=1e-5)
    np.testing.assert_allclose(table[:, 2], PLAN.force, atol=1e-4)
    np.testing.assert_array_equal(table[:, 5], PULL.cycle)


def test_the_first_pull_can_be_left_out_later(tmp_path: Path) -> None:
    again = read_bench(write_bench(tmp_path / "out.csv", PULL), drop_first=True)
    assert again.cycles == 2
    np.testing.assert_allclose(again.force, PULL.force[PULL.cycle > 0], atol=1e-4)


@pytest.mark.parametrize(
    ("rows", "line"),
    [
        ("travel_mm;force_newton;branch\n1;2;1\n2;3;1", "has no column cycle, which a sorted bench pull has"),
        ("travel_mm;force_newton;branch;cycle\n1;2;1;0\n2;;1;0", "has an empty cell; a sorted bench pull has none"),
        ("travel_mm;force_newton;branch;cycle\n1;2;1;0\n2;3;2;0",
         "has another branch than 1 for in, -1 for out, 0 for neither"),
        ("travel_mm;force_newton;branch;cycle\n1;2;1;0\n2;3;1;0.5", "has a cycle that is no count of pulls from 0"),
        ("travel_mm;force_newton;branch;cycle\n1;2;1;0\n2;3;1;900", "has a cycle that is no count of pulls from 0"),
        ("travel_mm;force_newton;branch;cycle\n1;2;1;0\n2;x;1;0\n3;3;1;0",
         "has 'x' in line 4, force_newton; a number is needed"),
        ("", "holds no readings; at least two columns of numbers are needed, travel and force"),
    ],
)  # fmt: skip
def test_a_spoilt_one_is_told(tmp_path: Path, rows: str, line: str) -> None:
    file = tmp_path / "out.csv"
    file.write_text(f"{FIRST_LINE}\n{rows}", encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        read_bench(file)
    assert str(refused.value) == f"out.csv: {line}"


def test_where_it_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"^out\.csv: cannot be written: no such file or directory$"):
        write_bench(tmp_path / "missing" / "out.csv", PULL)
