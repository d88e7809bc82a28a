"""What a question about the job book carries: who writes, the day, the machine by its name or number."""

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import Base64Bytes, BeforeValidator, Field
from pydantic_core import PydanticCustomError

from pullcurve.web.bodies import Body, PullFile, WireJob
from pullcurve.web.strict import LONGEST, Number, Short

DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

LONGEST_WORDS = 4000
"""Characters of free words that a question may carry; the book says itself what it takes."""


def _day(value: Any) -> date:
    """A day as it is typed, and nothing that merely could be one."""
    try:
        if isinstance(value, str) and DAY.fullmatch(value):
            return date.fromisoformat(value)
    except ValueError:
        pass
    raise PydanticCustomError("no_day", "a day such as 2026-05-14")


Name = Annotated[str, Field(max_length=LONGEST, examples=["#1"])]
"""A machine by its name, or by its number as #12."""

Day = Annotated[date, BeforeValidator(_day)]
Words = Annotated[str, Field(max_length=LONGEST_WORDS)]
Count = Annotated[int, Field(ge=1, le=2_000_000_000)]
Most = Annotated[int, Field(ge=1, le=200)]
Points = Annotated[int, Field(strict=True)]


class Telling(Body):
    """What every line has: who writes it, the day it is about (today where none is told), free words."""

    who: Short
    day: Day | None = None
    words: Words = ""


class MachineBody(Telling):
    """A machine whose history starts."""

    name: Short
    owner: Short = ""


class OnMachine(Telling):
    """A line on a machine, by its name or as #12."""

    machine: Name


class VisitBody(OnMachine):
    """A visit: the machine leaves the bench as the job says. Two changes at once ask for a reason."""

    job: WireJob
    unit: Short = ""
    reason: Words = ""
    hours: Annotated[dict[Short, Number], Field(max_length=8)] = Field(default_factory=dict)
    done: Annotated[tuple[Short, ...], Field(max_length=40)] = ()
    fluid: Short = ""
    boils_celsius: Number | None = None


class RideBody(OnMachine):
    """A ride note: points for each read-out from -3, far too little, to 3, far too much, and free words."""

    points: Annotated[dict[Short, Points], Field(max_length=20)] = Field(default_factory=dict)


class ProposalBody(OnMachine):
    """Cams of the rack to be tried next, by their ids, and what that comes from."""

    cams: Annotated[tuple[Short, ...], Field(max_length=3)]
    source: Literal["workshop", "learned"] = "workshop"


class KeptPullBody(OnMachine):
    """A bench pull as its logger wrote it; the lever only where the file does not name it."""

    file: PullFile
    lever: Literal["brake", "clutch"] | None = None
    fit: Annotated[bool, Field(strict=True)] = False


class PhotoBody(OnMachine):
    """A photo of what was seen."""

    name: Annotated[str, Field(max_length=200)]
    data: Base64Bytes


class LearnBody(Body):
    """What the ride notes of a machine teach, up to a day; with ``find``, also the best set of the rack for it."""

    machine: Name
    day: Day | None = None
    find: Annotated[bool, Field(strict=True)] = False
