"""The family of errors: one line per fault, exit codes, nothing lost on the way between processes."""

import pickle

import pytest

from pullcurve.errors import BadInput, BookFault, Fault, Impossible, PullcurveError


def test_fault_is_one_sentence() -> None:
    fault = Fault("job.toml [pedal]", "bore_mm", "is -9.5; allowed is 4 to 30")
    assert str(fault) == "job.toml [pedal]: bore_mm is -9.5; allowed is 4 to 30"


def test_fault_without_a_key() -> None:
    assert str(Fault("job.toml", "", "is a folder")) == "job.toml: is a folder"


def test_fault_stays_on_one_line_whatever_was_typed() -> None:
    fault = Fault("a\nb.toml", "k\u2028y\x1b", 'is "\ud800ä·°"')
    assert str(fault) == r"a\nb.toml: k\u2028y\x1b " + r'is "\ud800ä·°"'


def test_bad_input_tells_every_fault() -> None:
    error = BadInput(Fault("job.toml", "a", "is 1"), Fault("job.toml", "b", "is 2"))
    assert str(error) == "job.toml: a is 1\njob.toml: b is 2"
    assert [fault.key for fault in error.faults] == ["a", "b"]


@pytest.mark.parametrize(
    ("error", "code"),
    [(BadInput(Fault("x", "", "is 1")), 2), (Impossible("too wide by 1 mm"), 3), (BookFault("is locked"), 4)],
)
def test_exit_codes_and_the_way_between_processes(error: PullcurveError, code: int) -> None:
    assert error.exit_code == code
    copy = pickle.loads(pickle.dumps(error))
    assert type(copy) is type(error)
    assert str(copy) == str(error)


def test_any_of_them_is_caught_as_one() -> None:
    assert PullcurveError.exit_code == 1
    with pytest.raises(PullcurveError, match="too wide"):
        raise Impossible("too wide by 1 mm")
