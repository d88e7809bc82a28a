"""Jobs for the tests of the studies: the demo jobs, and the same jobs with single values changed."""

from functools import cache
from typing import Any

from pullcurve.parts.job import Job
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import Cam, Choice, mechanism
from pullcurve.pull.readouts import Readouts
from pullcurve.verbs.jobs import demo_job, demo_names

MAIN = "enduro-300.toml"
"""Two levers, hydraulic clutch on coil springs, compression assist."""

CABLE = "enduro-250.toml"
SINGLE = "enduro-125.toml"
"""One lever that carries brake, clutch and assist cam."""

BRAKE_ONLY = "electric.toml"
DIAPHRAGM = "motocross-450.toml"

BRAKE, CLUTCH = 0, 1
"""Rows of the levers of a two-lever unit."""

NAMES = demo_names()


@cache
def known(name: str = MAIN) -> Job:
    """A demo job, read once."""
    return demo_job(name)


def changed(job: Job, **values: Any) -> Job:
    """The job with other values; a key is the path in the file with `__` between its steps, None takes it out."""
    whole = job.model_dump(exclude_unset=True)
    for path, value in values.items():
        *steps, last = path.split("__")
        node: Any = whole
        for step in steps:
            node = node[int(step)] if step.isdigit() else node.setdefault(step, {})
        if value is None:
            node.pop(last, None)
        else:
            node[last] = value
    return Job.model_validate(whole)


def readouts_of(job: Job, cams: dict[str, Cam], stations: int) -> dict[str, Readouts]:
    """Read-outs of one set pulled alone, by what they belong to."""
    whole = pull(mechanism(job, Choice(**{kind: (cam,) for kind, cam in cams.items()})), stations)  # type: ignore[arg-type]
    both = {"brake": whole.brake, "clutch": whole.clutch}
    return {kind: read for kind, read in both.items() if read is not None}
