"""Numbers of many lines at once, against Python's own reader of single numbers and numpy's reader of tables."""

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullcurve.errors import BadInput
from pullcurve.intake import benchnumbers
from pullcurve.intake.bench import read_bench
from pullcurve.intake.benchdigits import decimals
from tests.intake.pulls import planned, table


def slowly(typed: str) -> float | None:
    """Python's reader, for what is no plain number."""
    try:
        return float(typed)
    except ValueError:
        return None


def alone(typed: str) -> float | None:
    """Nothing is read here: every cell must have been plain."""
    raise AssertionError(typed)


PLAIN = st.tuples(
    st.sampled_from(("", "-", "+")), st.text("0123456789", max_size=8), st.text("0123456789", max_size=7)
)


@given(st.lists(PLAIN, min_size=1, max_size=30), st.booleans())
def test_plain_numbers_are_exact_to_the_last_bit(parts: list[tuple[str, str, str]], point: bool) -> None:
    typed = [f"{sign}{whole or '0'}{'.' + part if part or point else ''}" for sign, whole, part in parts]
    values = decimals([f"x;{one}" for one in typed], ";", 2, [1], ".", alone)
    assert values is not None
    assert values[:, 0].tolist() == [float(one) for one in typed]
    assert np.signbit(values[:, 0]).tolist() == [one.startswith("-") for one in typed]


@given(st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=30))
def test_as_many_digits_as_there_may_be(numbers: list[float]) -> None:
    values = decimals([repr(one) for one in numbers], ";", 1, [0], ".", slowly)
    assert values is not None
    np.testing.assert_allclose(values[:, 0], numbers, rtol=4e-15, atol=0)


@given(
    st.lists(
        st.text("0123456789+-.eE nxa", max_size=6).filter(lambda typed: "\n" not in typed),
        min_size=1,
        max_size=20,
    )
)
def test_anything_else_is_what_the_slow_reader_says(typed: list[str]) -> None:
    expected = [slowly(one.strip()) for one in typed]
    values = decimals(typed, ";", 1, [0], ".", slowly)
    if None in expected:
        assert values is None
    else:
        assert values is not None
        np.testing.assert_array_equal(values[:, 0], np.array(expected, dtype=float))


@pytest.mark.parametrize("lines", [["1;2", "3"], ["1;2;3", "4;5"], ["1", "2;3;4"], ["1;2", ""], ["", ""]])
def test_lines_that_differ_are_not_read_at_once(lines: list[str]) -> None:
    assert decimals(lines, ";", 2, [0], ".", lambda typed: 0.0) is None


def test_a_table_against_the_reader_of_numpy() -> None:
    dice = np.random.default_rng(7)
    table = dice.normal(0.0, 1.0, (5000, 4)) * 10.0 ** dice.integers(-3, 6, (5000, 4))
    text = io.StringIO()
    np.savetxt(text, table, fmt=["%.3f", "%.7f", "%+.1f", "%12.5f"], delimiter=",")
    lines = text.getvalue().splitlines()
    values = decimals(lines, ",", 4, [3, 0, 1, 2], ".", alone)
    assert values is not None
    expected = np.loadtxt(lines, delimiter=",")
    np.testing.assert_array_equal(values, expected[:, [3, 0, 1, 2]])


def test_many_blocks_are_put_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With odd lines in some of the blocks, each is read where it stands."""
    plan = planned()
    file = table(tmp_path / "p.csv", [("travel mm", plan.travel), ("force N", plan.force)], digits=3)
    head, *lines = file.read_text(encoding="utf-8").splitlines()
    lines[500] += ","
    lines[900:900] = ["# a remark", head]
    file.write_text("\n".join([head, *lines]), encoding="utf-8")
    expected = read_bench(file).force
    np.testing.assert_allclose(expected, plan.force, atol=0.5e-3)
    for block in (1, 7, 64, 902):
        monkeypatch.setattr(benchnumbers, "BLOCK", block)
        np.testing.assert_array_equal(read_bench(file).force, expected)


def test_the_line_of_a_fault_is_told_from_any_block(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = planned()
    file = table(
        tmp_path / "p.csv", [("travel mm", plan.travel), ("force N", plan.force)], above=["# job: a.toml"]
    )
    lines = file.read_text(encoding="utf-8").splitlines()
    lines[702] = "3.5,4.5x"
    file.write_text("\n".join(lines), encoding="utf-8")
    for block in (1, 50, 20_000):
        monkeypatch.setattr(benchnumbers, "BLOCK", block)
        with pytest.raises(BadInput, match=r"has '4\.5x' in line 703, force N; a number is needed"):
            read_bench(file)
