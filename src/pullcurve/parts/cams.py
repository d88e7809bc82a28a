"""Cams and racks: plate cams named by what they are in numbers, nothing else."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from functools import lru_cache
from itertools import product
from math import prod
from typing import Annotated, Self, TypeVar

from pydantic import model_validator

from pullcurve.parts.fields import Part, Place, Several, Span, refuse_all

MOST_CAMS = 2000
"""Cams of one kind in a rack."""

FLANK, BLEND = 26.0, 8.0
"""Working angle of a law, and the angle over which an assist sets in [deg], where a cam states none."""

REACH = Span(0, 20)
TAKE_UP = Span(-0.5, 2)
STROKE = Span(2, 20)
LIFT = Span(2, 25)
ONSET = Span(0, 30)
FALL = Span(0.05, 1.5)
FLANKS = Span(5, 60)
BLENDS = Span(1, 30)


@lru_cache(maxsize=4096)
def decimals(value: float, least: int = 0) -> str:
    """A number in as many decimals as it needs, and at least some."""
    whole, _, part = f"{Decimal(repr(value + 0.0)):f}".partition(".")
    kept = part.rstrip("0").ljust(least, "0")
    return f"{whole}.{kept}" if kept else whole


class BrakeCam(Part):
    """Brake cam: where the lever sits, how much stroke comes early, stroke over the whole flank."""

    reach_deg: Annotated[float, REACH]
    take_up_mm: Annotated[float, TAKE_UP]
    stroke_mm: Annotated[float, STROKE]
    flank_deg: Annotated[float, FLANKS] = FLANK

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        numbers = f"tu{decimals(self.take_up_mm, 1)}-st{decimals(self.stroke_mm, 1)}"
        return f"brake-in{decimals(self.reach_deg)}-{numbers}{_flank_id(self.flank_deg)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        numbers = f"take-up {decimals(self.take_up_mm, 1)} mm · stroke {decimals(self.stroke_mm, 1)} mm"
        return f"brake cam · reach {decimals(self.reach_deg)}° in · {numbers}{_flank_name(self.flank_deg)}"


class ClutchCam(Part):
    """Clutch cam: where the lever sits, travel of plunger or cable over the whole flank."""

    reach_deg: Annotated[float, REACH]
    lift_mm: Annotated[float, LIFT]
    flank_deg: Annotated[float, FLANKS] = FLANK

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        return f"clutch-in{decimals(self.reach_deg)}-li{decimals(self.lift_mm, 2)}{_flank_id(self.flank_deg)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        numbers = f"lift {decimals(self.lift_mm, 2)} mm"
        return f"clutch cam · reach {decimals(self.reach_deg)}° in · {numbers}{_flank_name(self.flank_deg)}"


class AssistCam(Part):
    """Assist cam: where the lever sits, where it begins to help, how fast it lets the spring down."""

    reach_deg: Annotated[float, REACH]
    onset_deg: Annotated[float, ONSET]
    fall: Annotated[float, FALL]
    flank_deg: Annotated[float, FLANKS] = FLANK
    blend_deg: Annotated[float, BLENDS] = BLEND

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        blend = "" if self.blend_deg == BLEND else f"-bl{decimals(self.blend_deg)}"
        numbers = f"on{decimals(self.onset_deg)}-fa{decimals(self.fall, 2)}{_flank_id(self.flank_deg)}{blend}"
        return f"assist-in{decimals(self.reach_deg)}-{numbers}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        blend = "" if self.blend_deg == BLEND else f" · blend {decimals(self.blend_deg)}°"
        numbers = f"onset {decimals(self.onset_deg)}° · strength {decimals(self.fall, 2)}"
        flank = _flank_name(self.flank_deg)
        return f"assist cam · reach {decimals(self.reach_deg)}° in · {numbers}{flank}{blend}"


def _flank_id(flank_deg: float) -> str:
    return "" if flank_deg == FLANK else f"-fl{decimals(flank_deg)}"


def _flank_name(flank_deg: float) -> str:
    return "" if flank_deg == FLANK else f" · flank {decimals(flank_deg)}°"


class Fitted(Part):
    """What is on the machine, or what one proposes to put there."""

    brake: BrakeCam | None = None
    clutch: ClutchCam | None = None
    assist: AssistCam | None = None

    @model_validator(mode="after")
    def _one_reach(self) -> Self:
        if self.clutch and self.assist and self.clutch.reach_deg != self.assist.reach_deg:
            allowed = f"{self.clutch.reach_deg:g}, the reach_deg of the clutch cam"
            said = f"is {self.assist.reach_deg:g}; allowed is {allowed}"
            raise refuse_all([(("assist", "reach_deg"), said)])
        return self


Values = float | tuple[float, ...]


class BrakeRow(Part):
    """Brake cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    take_up_mm: Annotated[Values, Several(TAKE_UP)]
    stroke_mm: Annotated[Values, Several(STROKE)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK


class ClutchRow(Part):
    """Clutch cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    lift_mm: Annotated[Values, Several(LIFT)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK


class AssistRow(Part):
    """Assist cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    onset_deg: Annotated[Values, Several(ONSET)]
    fall: Annotated[Values, Several(FALL)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK
    blend_deg: Annotated[Values, Several(BLENDS)] = BLEND


class Rack(Part):
    """Cams that the workshop has; a row whose values are lists stands for every combination.

    ``brake``, ``clutch`` and ``assist`` keep the rows as written; ``brake_cams`` and so on are their cams.
    """

    brake: tuple[BrakeRow, ...] = ()
    clutch: tuple[ClutchRow, ...] = ()
    assist: tuple[AssistRow, ...] = ()

    @model_validator(mode="after")
    def _cuttable_count(self) -> Self:
        faults = list(self._too_many())
        if faults:
            raise refuse_all(faults)
        return self

    def _too_many(self) -> Iterator[tuple[Place, str]]:
        for kind, rows in (("brake", self.brake), ("clutch", self.clutch), ("assist", self.assist)):
            count = sum(prod(len(values) for values in _choices(row).values()) for row in rows)
            if count > MOST_CAMS:
                yield (kind,), f"stands for {count} cams; allowed is up to {MOST_CAMS}"

    @property
    def brake_cams(self) -> tuple[BrakeCam, ...]:
        """All brake cams, each once."""
        return _cams(BrakeCam, self.brake)

    @property
    def clutch_cams(self) -> tuple[ClutchCam, ...]:
        """All clutch cams, each once."""
        return _cams(ClutchCam, self.clutch)

    @property
    def assist_cams(self) -> tuple[AssistCam, ...]:
        """All assist cams, each once."""
        return _cams(AssistCam, self.assist)


AnyCam = TypeVar("AnyCam", BrakeCam, ClutchCam, AssistCam)


def _choices(row: Part) -> dict[str, tuple[float, ...]]:
    """Values of a row by key, each as a list."""
    values = {key: getattr(row, key) for key in type(row).model_fields}
    return {key: value if isinstance(value, tuple) else (value,) for key, value in values.items()}


def _cams(kind: type[AnyCam], rows: Iterable[Part]) -> tuple[AnyCam, ...]:
    """Every combination of every row, each cam once, in the order written."""
    found: dict[AnyCam, None] = {}
    for row in rows:
        choices = _choices(row)
        for values in product(*choices.values()):
            found[kind(**dict(zip(choices, values, strict=True)))] = None
    return tuple(found)
