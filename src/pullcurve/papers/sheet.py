"""What a sheet for rider and file, and a sheet for the bench, are made from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from pullcurve.papers.style import Role
from pullcurve.parts.job import Job
from pullcurve.parts.origin import Origin
from pullcurve.pull.loop import Pull
from pullcurve.pull.mechanism import Cam
from pullcurve.studies.findings import Verdict
from pullcurve.studies.limits import Limit
from pullcurve.studies.sentences import Change
from pullcurve.studies.service import FluidReminder, Reminder
from pullcurve.studies.wishes import Wish

if TYPE_CHECKING:  # a sheet for the rider must not wait for the libraries of the bench
    from pullcurve.studies.benchpull import BenchPull, Branches, LeverKind
    from pullcurve.studies.compare import Compared
    from pullcurve.studies.steps import Steps


@dataclass(frozen=True, slots=True)
class Shown:
    """One set: whether it is on the machine or considered, its cams by what they drive, its pull."""

    role: Role
    cams: Mapping[str, Cam]
    pull: Pull


@dataclass(frozen=True, slots=True)
class Taken:
    """A bench pull beside what the set that was on is computed to give: its lever, mean branches, the comparison."""

    pull: "BenchPull"
    lever: "LeverKind"
    row: int
    role: Role
    branches: "Branches"
    compared: "Compared"


@dataclass(frozen=True, slots=True)
class Service:
    """When the unit is looked at again: reminders, fluid where it is known, and whether they count from notes.

    Without notes everything counts from the day of the sheet, for whoever ticks that it was looked after.
    """

    reminders: tuple[Reminder, ...]
    fluid: FluidReminder | None
    noted: bool


@dataclass(frozen=True, slots=True)
class RiderSheet:
    """Everything that stands on the sheet for rider and file; ``sets`` are what is fitted and what is proposed.

    ``limits`` and ``verdicts`` (by kind of cam) are those of the last set; ``closing`` is what a person ticks.
    """

    job: Job
    id: str
    day: date
    sets: tuple[Shown, ...]
    surfaces: tuple[str, ...]
    changes: tuple[Change, ...]
    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]
    verdicts: Mapping[str, Verdict]
    closing: tuple[str, ...]
    shut_port: tuple[tuple[float, float], ...]
    service: Service
    origins: Mapping[str, Origin]
    taken: Taken | None = None

    @property
    def last(self) -> Shown:
        """The set that the sheet is about: what is proposed, else what is fitted."""
        return self.sets[-1]

    @property
    def broken(self) -> tuple[Limit, ...]:
        """Limits that the last set does not keep."""
        return tuple(limit for limit in self.limits if not bool((limit.margin >= 0.0).all()))


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """Strip and build of one task, and the cams that come off and go on (none that stays)."""

    job: Job
    id: str
    day: date
    steps: "Steps"
    exchanged: tuple[tuple[Cam | None, Cam], ...]


Sheet = RiderSheet | BenchSheet


def code_words(sheet: Sheet) -> str:
    """What the code of a sheet says: plain text, no address."""
    return f"pullcurve job {sheet.id} {sheet.day.isoformat()}"
