"""What differs between two jobs of one machine: cams, numbers, and read-outs in felt steps."""

from collections.abc import Mapping
from dataclasses import dataclass

from pullcurve.parts.job import Job
from pullcurve.parts.origin import origins
from pullcurve.pull.loop import Pull
from pullcurve.pull.readouts import facets
from pullcurve.studies.exchanged import Exchanged, exchanged
from pullcurve.studies.sentences import Change, compare

KINDS = ("brake", "clutch")


@dataclass(frozen=True, slots=True)
class Number:
    """A value that differs: its path, before and after as typed; None where it was not there."""

    path: str
    before: float | str | None
    after: float | str | None


@dataclass(frozen=True, slots=True)
class Between:
    """What differs: cams, one change each; values of the job; every read-out, those that are the same too."""

    cams: tuple[tuple[Exchanged, ...], ...]
    numbers: tuple[Number, ...]
    readouts: tuple[Change, ...]


def between(jobs: tuple[Job, Job], pulls: tuple[Pull, Pull]) -> Between:
    """What differs between a job and a later one."""
    before, after = jobs
    return Between(
        exchanged(before.fitted, after.fitted, after.unit), _numbers(before, after), _readouts(*pulls)
    )


def _numbers(before: Job, after: Job) -> tuple[Number, ...]:
    """Values of the jobs that differ."""
    first, second = _typed(before), _typed(after)
    return tuple(
        Number(path, first.get(path), second.get(path))
        for path in dict.fromkeys([*first, *second])
        if first.get(path) != second.get(path)
    )


def _typed(job: Job) -> Mapping[str, float | str]:
    """Values by path, wishes among them."""
    found = {path: origin.value for path, origin in origins(job).items()}
    wishes = job.wishes.model_dump(exclude_none=True) if job.wishes else {}
    for kind in KINDS:
        found |= {f"wishes.{kind}.{key}": value for key, value in wishes.get(kind, {}).items()}
    return found


def _readouts(then: Pull, now: Pull) -> tuple[Change, ...]:
    """Read-outs of both, as far as both have them."""
    found: list[Change] = []
    for kind in KINDS:
        before, after = getattr(then, kind), getattr(now, kind)
        if before is not None and after is not None:
            found += [
                compare(kind, name, facet, getattr(before, name), getattr(after, name))
                for name, facet in facets(after)
            ]
    return tuple(found)
