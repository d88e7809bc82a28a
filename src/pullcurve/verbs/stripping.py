"""Strip and build: what a workshop does to a job's unit, line by line, and when it is due again.

Without a description of its own hardware, a job has that of the demo units, and the lines say so.
"""

from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.hardwarefile import hardware_faults, hardware_text, parse_hardware, read_hardware
from pullcurve.parts.hardware import Hardware, Task
from pullcurve.parts.job import Job
from pullcurve.parts.layout import features, hardware_of
from pullcurve.studies.precedence import MOST_PLACES
from pullcurve.studies.service import FluidReminder, Reminder, Ridden, fluid_reminder, reminders
from pullcurve.studies.steps import Steps, steps, task_of

MOST_LOOKS = 2_000_000
"""Pieces looked at with each tool in search of the fewest pick-ups: a second's work, a hundred times a usual unit's."""


def hardware_for(job: Job, own: Hardware | None = None) -> Hardware:
    """The hardware of a job's unit; raises BadInput where a description of its own leaves nothing of this unit."""
    try:
        return hardware_of(job, own)
    except ValidationError as error:
        plain = {} if own is None else own.model_dump()
        raise BadInput(*hardware_faults(error, "hardware, as this unit has it", plain)) from None


def steps_for(job: Job, task: str, own: Hardware | None = None) -> Steps:
    """The lines of a task on a job's unit; raises BadInput where the unit cannot have the task."""
    hardware = hardware_for(job, own)
    places = min(MOST_PLACES, MOST_LOOKS // (len(hardware.pieces) * len(hardware.tools)))
    return steps(hardware, task_of(hardware, task), job.unit.name, places)


def tasks_for(job: Job, own: Hardware | None = None) -> tuple[Task, ...]:
    """What can be done on a job's unit."""
    return hardware_for(job, own).tasks


def own_text(job: Job, own: Hardware | None = None) -> str:
    """The hardware of a job's unit as the text of a file to go on from."""
    return hardware_text(hardware_for(job, own), job.unit.name)


def start_hardware(job: Job, path: Path | str, own: Hardware | None = None) -> Path:
    """Write the hardware of a job's unit as a file to go on from; refuses to write over one."""
    target = Path(path)
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(own_text(job, own))
    except FileExistsError:
        said = "is there already and stays as it is; give another name"
        raise BadInput(Fault(str(target), "", said)) from None
    except OSError as error:
        raise BadInput(Fault(str(target), "", f"cannot be written: {error.strerror}")) from None
    return target


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
    "hardware_for",
    "own_text",
    "parse_hardware",
    "read_hardware",
    "service_for",
    "start_hardware",
    "steps_for",
    "tasks_for",
]
