"""Strip and build: what a workshop does to a job's unit, line by line, and when it is due again."""

from collections.abc import Mapping

from pullcurve.parts.hardware import Task
from pullcurve.parts.job import Job
from pullcurve.parts.layout import features, hardware_of
from pullcurve.studies.service import FluidReminder, Reminder, Ridden, fluid_reminder, reminders
from pullcurve.studies.steps import Steps, steps, task_of


def steps_for(job: Job, task: str) -> Steps:
    """The lines of a task on a job's unit; raises BadInput where the unit cannot have the task."""
    hardware = hardware_of(job)
    return steps(hardware, task_of(hardware, task), job.unit.name)


def tasks_for(job: Job) -> tuple[Task, ...]:
    """What can be done on a job's unit."""
    return hardware_of(job).tasks


def service_for(job: Job, since: Mapping[str, Ridden]) -> tuple[Reminder, ...]:
    """What of a job's unit is due, the most pressing first; ``since`` says what was ridden since each was done."""
    return reminders(features(job), since)


def fluid_for(job: Job, kind: str, years: float, measured_celsius: float | None = None) -> FluidReminder:
    """Whether the fluid behind a job's brake hose is due."""
    hose = "rubber" if job.brake_circuit is None else job.brake_circuit.hose_kind
    return fluid_reminder(kind, years, hose, measured_celsius)


__all__ = [
    "FluidReminder",
    "Reminder",
    "Ridden",
    "Steps",
    "fluid_for",
    "service_for",
    "steps_for",
    "tasks_for",
]
