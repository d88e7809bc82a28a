"""Fixtures of the command line."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from pullcurve.cli import catching
from tests.cli.speaking import Speak, job_file, speak_here


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str]) -> Speak:
    """The command line in this process."""
    return speak_here(capsys)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The main demo job as a file."""
    return job_file(tmp_path)


@pytest.fixture(autouse=True)
def no_reports(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No test here may meet a fault of our own, but for the one that makes it and keeps it."""
    met: list[BaseException] = []

    def keep(error: BaseException) -> str:
        met.append(error)
        return "nowhere"

    monkeypatch.setattr(catching, "save_report", keep)
    yield
    if met:
        raise AssertionError("a fault of our own reached the last fence") from met[0]
