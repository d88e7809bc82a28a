"""A fitted job: what a pull told takes the place of priors in the job file, with its interval and its date."""

from datetime import date
from typing import Any

from pullcurve.parts.job import Job
from pullcurve.studies.fit import Fit
from pullcurve.studies.parameters import Unknown

DIGITS = 5
"""Significant digits of an adopted number; the interval is always coarser."""


def adopted(job: Job, fit: Fit, day: date) -> Job:
    """The job with every number that the data told, as given and measured on a day; the rest stays what it was.

    What the bench alone knows, and what no job may hold (a port beyond its end is a fault to be mended), stays out.
    """
    typed: dict[str, Any] = job.model_dump(exclude_unset=True)
    measured = dict(typed.get("measured", {}))
    rows = {path: fit.place(path) for path in fit.informed}
    for path, row in rows.items():
        unknown, value = fit.unknowns[row], rounded(float(fit.value[row]))
        if unknown.behind == "bench" or not unknown.least <= value <= unknown.most or value < 0:
            continue
        _set(typed, path.split("."), value)
        low, high = rounded(float(fit.low[row])), rounded(float(fit.high[row]))
        measured[path] = {"date": day, "low": min(low, value), "high": max(high, value)}
        _scale_table(typed, job, unknown, value)
    return Job.model_validate({**typed, "measured": measured} if measured else typed)


def rounded(value: float) -> float:
    """A number to as many digits as are kept."""
    return float(f"{value:.{DIGITS}g}")


def _set(typed: Any, steps: list[str], value: float) -> None:
    """Put a number at a path of what was typed; rows of a list are numbers."""
    node = typed
    for step in steps[:-1]:
        node = node[int(step)] if isinstance(node, list | tuple) else node.setdefault(step, {})
    node[steps[-1]] = value


def _scale_table(typed: dict[str, Any], job: Job, unknown: Unknown, clamp: float) -> None:
    """A diaphragm's table goes with its clamp."""
    if unknown.path == "clutch.clamp_newton" and job.clutch is not None and job.clutch.table_force_newton:
        share = clamp / job.clutch.clamp_newton
        later = tuple(rounded(share * force) for force in job.clutch.table_force_newton[1:])
        typed["clutch"]["table_force_newton"] = (clamp, *later)
