"""The command line in this process and in one of its own."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from pullcurve.cli import main
from pullcurve.parts.facts import data_text

ROOT = Path(__file__).resolve().parent.parent.parent
START = "from pullcurve.cli import main; main()"


@dataclass(frozen=True, slots=True)
class Said:
    """What a command left: exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def lines(self) -> list[str]:
        """Lines on standard error."""
        return self.err.splitlines()


Speak = Callable[..., Said]


def speak_here(capsys: pytest.CaptureFixture[str]) -> Speak:
    """Run the whole command line in this process, entry point and last fence included."""

    def speak(*arguments: str | Path) -> Said:
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        code = left.value.code
        assert isinstance(code, int)
        return Said(code, out, err)

    return speak


def environment(**more: str) -> dict[str, str]:
    """Environment of a process of its own, without what a terminal or a test left in ours."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS")
    }
    return {**kept, "PYTHONPATH": str(ROOT / "src"), "PYTHONWARNINGS": "error", **more}


def speak_alone(*arguments: str | Path, cwd: Path, **more: str) -> Said:
    """Run the command line in a process of its own."""
    command = [sys.executable, "-c", START, *(str(argument) for argument in arguments)]
    done = subprocess.run(command, capture_output=True, cwd=cwd, env=environment(**more), check=False)
    return Said(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def job_file(folder: Path, name: str = "enduro-300.toml") -> Path:
    """A demo job as a file of one's own."""
    path = folder / "job.toml"
    path.write_text(data_text(f"demo/{name}"), encoding="utf-8")
    return path
