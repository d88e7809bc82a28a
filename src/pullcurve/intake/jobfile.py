"""Job files: TOML in, TOML out; every fault of a file in one line, all at once."""

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.places import short
from pullcurve.intake.sentences import faults
from pullcurve.intake.syntax import toml_tables
from pullcurve.parts.job import Job

LARGEST = 1_000_000
"""Bytes that a job file may have."""

LONGEST_LINE = 20_000
"""Characters that a line of a job file may have: room for a rack's longest list."""

LARGEST_WHOLE = 1e15
"""Numbers without a fraction are written without a point up to here."""


def read_job(path: Path | str) -> Job:
    """Read a job file; raises BadInput with all its faults."""
    file = Path(path)
    return parse_job(text_of(file), _name(file))


def _name(file: Path) -> str:
    return file.name or str(file)


def text_of(file: Path) -> str:
    """Text of a job file as it was typed, or one line that says why not."""
    try:
        if file.is_dir():
            raise _refused(file, "is a folder; a job is one TOML file")
        with file.open("rb") as opened:
            content = opened.read(LARGEST + 1)
    except FileNotFoundError:
        raise _refused(file, "is not there; `pullcurve init DIR` writes a job to start from") from None
    except (OSError, ValueError) as error:
        raise _refused(file, f"cannot be read: {_reason(error)}") from None
    if len(content) > LARGEST:
        raise _refused(file, f"has more than {LARGEST // 1_000_000} MB; a job has a few kB")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(file, f"is no UTF-8 text from byte {error.start} on; a job is one TOML file") from None


def _refused(file: Path, said: str) -> BadInput:
    return BadInput(Fault(short(_name(file)), "", said))


def _reason(error: OSError | ValueError) -> str:
    return (getattr(error, "strerror", None) or str(error)).lower()


def parse_job(text: str, name: str) -> Job:
    """Job from the text of a file; ``name`` is what faults call it."""
    typed = _typed(text, name)
    try:
        return Job.model_validate(typed)
    except ValidationError as error:
        raise BadInput(*faults(error, name)) from None


def _typed(text: str, name: str) -> dict[str, Any]:
    """Tables of a file as typed."""
    lines = text.split("\n")
    longest = max(range(len(lines)), key=lambda row: len(lines[row]))
    if len(lines[longest]) > LONGEST_LINE:
        said = f"has {len(lines[longest])} characters in line {longest + 1}; allowed is up to {LONGEST_LINE}"
        raise BadInput(Fault(short(name), "", said))
    return toml_tables(text, name, "a job has at most six levels")


def write_job(job: Job, path: Path | str) -> None:
    """Write a job as TOML, only what was given; reading it back gives an equal job."""
    file = Path(path)
    try:
        file.write_bytes(job_text(job).encode("utf-8"))
    except (OSError, ValueError) as error:
        raise _refused(file, f"cannot be written: {_reason(error)}") from None


def job_text(job: Job) -> str:
    """A job as TOML text, only what was given."""
    import tomlkit  # most commands read a job and write none

    return tomlkit.dumps(_plain(job.model_dump(exclude_unset=True)))


def _plain(value: Any) -> Any:
    """Tables without what is None, lists instead of tuples, whole numbers without a point."""
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items() if part is not None}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, float) and value.is_integer() and abs(value) <= LARGEST_WHOLE:
        return int(value)
    return value


__all__ = ["job_text", "parse_job", "read_job", "text_of", "write_job"]
