"""Thousands of spoilt job files: each is read, or refused in plain sentences; nothing else ever happens."""

import re
from pathlib import Path
from time import process_time

import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import parse_job, read_job
from pullcurve.intake.sentences import MOST_FAULTS
from tests.intake.mutate import mutants
from tests.parts.jobs import EXAMPLE

COUNT, SEED = 2000, 20260514
SLOWEST = 20.0
"""All of them together [s]."""

FOREIGN = re.compile(
    r"invalid|please|input should|extra inputs|pydantic|traceback|valid (?:number|string|tuple|dict)|validation"
    r"|default_factory|<class|object at 0x|\[type=|for further information",
    re.IGNORECASE,
)
"""What belongs to a library's wording and never to ours."""


def faults_of(content: bytes, file: Path) -> tuple[str, ...]:
    """What is wrong with a file, one line each; nothing for a job."""
    file.write_bytes(content)
    try:
        read_job(file)
    except BadInput as refused:
        return tuple(str(fault) for fault in refused.faults)
    return ()


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, ...]]:
    """What every mutant is told."""
    file = tmp_path_factory.mktemp("mutants") / "job.toml"
    start = process_time()
    found = [faults_of(content, file) for content in mutants(EXAMPLE, COUNT, SEED)]
    assert process_time() - start < SLOWEST
    return found


def test_some_are_read_and_most_are_refused(lines: list[tuple[str, ...]]) -> None:
    read = sum(not told for told in lines)
    assert len(lines) == COUNT
    assert 0.02 * COUNT < read < 0.5 * COUNT


def test_every_refusal_is_plain(lines: list[tuple[str, ...]]) -> None:
    for told in lines:
        assert len(told) <= MOST_FAULTS + 1
        for line in told:
            assert line.startswith("job.toml"), line
            assert "\n" not in line
            assert line.isprintable()
            assert len(line) < 700
            assert not FOREIGN.search(line), line


def test_no_fault_is_told_twice(lines: list[tuple[str, ...]]) -> None:
    assert all(len(set(told)) == len(told) for told in lines)


def test_the_same_seed_spoils_the_same_way() -> None:
    assert list(mutants(EXAMPLE, 20, 7)) == list(mutants(EXAMPLE, 20, 7))
    assert list(mutants(EXAMPLE, 20, 7)) != list(mutants(EXAMPLE, 20, 8))


def test_the_unspoilt_text_is_a_job() -> None:
    assert parse_job(EXAMPLE, "job.toml").title == "two-stroke enduro"
