"""Mean branches of hand-made pulls: lines stay lines, scatter and drift become the doubt that statistics says."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.random import default_rng

from pullcurve.errors import BadInput
from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.benchmean import branches
from pullcurve.studies.benchpull import PULL, RELEASE, STILL, BenchPull

END, EACH = 0.03, 400


def pulls(count: int, scatter: float = 0.0, offsets: FloatArray | None = None, seed: int = 1) -> BenchPull:
    """Pulls along 5 + 1000 s N in and three quarters of that out, each raised by an offset, with white noise."""
    dice = default_rng(seed)
    offsets = np.zeros(count) if offsets is None else offsets
    place = np.tile(np.concatenate([np.linspace(0, END, EACH), np.linspace(END, 0, EACH)]), count)
    branch = np.tile(np.repeat(np.array([PULL, RELEASE], dtype=np.int8), EACH), count)
    cycle = np.repeat(np.arange(count), 2 * EACH)
    force = np.where(branch == PULL, 1.0, 0.75) * (5.0 + 1000.0 * place) + offsets[cycle]
    force = force + dice.normal(0.0, scatter, force.size)
    return BenchPull("hand", place, False, force, 1e8 * place, None, branch, cycle, ())


def test_line_is_found_again() -> None:
    known = branches(pulls(2), 31)
    assert known.place == pytest.approx(np.linspace(0.0, END, 31))
    assert known.pull[1:-1] == pytest.approx(5.0 + 1000.0 * known.place[1:-1], abs=1e-9)
    assert known.release[1:-1] == pytest.approx(0.75 * (5.0 + 1000.0 * known.place[1:-1]), abs=1e-9)
    assert known.pull_pressure is not None
    assert known.pull_pressure[1:-1] == pytest.approx(1e8 * known.place[1:-1], abs=1e-3)


def test_doubt_of_a_mean_falls_with_the_root_of_its_readings() -> None:
    """Standard error: 0.5 N over the root of 400 x 4 / 30 readings at each place."""
    known = branches(pulls(4, 0.5), 31)
    expected = 0.5 / np.sqrt(4 * EACH / 30)
    assert np.mean(known.pull_deviation[1:-1]) == pytest.approx(expected, rel=0.1)
    assert np.std(known.pull[1:-1] - 5.0 - 1000.0 * known.place[1:-1]) == pytest.approx(expected, rel=0.5)


def test_pulls_that_lie_apart_make_their_mean_unsure() -> None:
    """Four pulls at -1.5, -0.5, 0.5, 1.5 N: the standard error of their mean is 1.29 / 2 = 0.645 N."""
    known = branches(pulls(4, 0.05, np.array([-1.5, -0.5, 0.5, 1.5])), 31)
    assert np.median(known.pull_deviation) == pytest.approx(
        np.std([-1.5, -0.5, 0.5, 1.5], ddof=1) / 2, rel=0.02
    )
    assert known.pull[15] == pytest.approx(5.0 + 1000.0 * known.place[15], abs=0.1)


def test_first_pull_is_left_out_if_wished() -> None:
    known = pulls(3, offsets=np.array([9.0, 0.0, 0.0]))
    assert branches(known, 31, drop_first=True).pull[15] == pytest.approx(20.0)
    assert branches(known, 31).pull[15] == pytest.approx(23.0)


def test_holes_stay_holes_and_rest_counts_for_nothing() -> None:
    known = pulls(1)
    middle = (known.place > 0.01) & (known.place < 0.02)
    known = replace(known, branch=np.where(middle, STILL, known.branch).astype(np.int8))
    told = branches(known, 31)
    assert np.isnan(told.pull[12:19]).all()
    assert np.isfinite(told.pull[:9]).all()


def test_single_readings_have_no_doubt_of_their_own() -> None:
    """Eleven typed points of one pull: nothing scatters, so nothing is known of scatter."""
    place = np.linspace(0.0, END, 11)
    typed = BenchPull(
        "typed", place, False, 1000.0 * place, None, None, np.full(11, PULL), np.zeros(11, int), ()
    )
    told = branches(typed, 11)
    assert told.pull == pytest.approx(1000.0 * place)
    assert np.isnan(told.pull_deviation).all()
    assert told.pull_pressure is None
    assert np.isnan(told.release).all()


def test_too_little_is_refused() -> None:
    with pytest.raises(BadInput, match="has 3 points on its grid; allowed are 4 at least"):
        branches(pulls(1), 3)
    with pytest.raises(BadInput, match="holds no reading on a branch"):
        branches(replace(pulls(1), branch=np.zeros(2 * EACH, dtype=np.int8)))
