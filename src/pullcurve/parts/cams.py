"""Cams and racks: plate cams named by what they are in numbers, nothing else."""

from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from itertools import product
from math import prod
from typing import Annotated, Any, Self, TypeVar

from pydantic import Field, model_validator

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
SHAPE = Span(-20, 20)

MOST_SHAPE = 32
"""Control values of a drawn law's shape, at even steps from an eighth of the flank before rest to its end."""

QUARTERS = (10, 17, 24)
"""Control values by which a shape is named: those that stand at a quarter, half and three quarters of the flank."""

Shape = Annotated[tuple[Annotated[float, SHAPE], ...], Field(max_length=MOST_SHAPE)]
"""How much further a drawn law turns the rocker than the other numbers say [deg]; none for a cam in numbers alone."""


@lru_cache(maxsize=4096)
def decimals(value: float, least: int = 0) -> str:
    """A number in as many decimals as it needs, and at least some."""
    whole, _, part = f"{Decimal(repr(value + 0.0)):f}".partition(".")
    kept = part.rstrip("0").ljust(least, "0")
    return f"{whole}.{kept}" if kept else whole


class Shaped(Part):
    """Whatever may have a drawn shape: all of its control values or none."""

    @model_validator(mode="after")
    def _whole_shape(self) -> Self:
        count = len(getattr(self, "shape_deg", ()))
        if count not in (0, MOST_SHAPE):
            said = f"has {count} entries; allowed is {MOST_SHAPE} numbers, {SHAPE.allowed}, or none"
            raise refuse_all([(("shape_deg",), said)])
        return self


class BrakeCam(Shaped):
    """Brake cam: where the lever sits, how much stroke comes early, stroke over the whole flank."""

    reach_deg: Annotated[float, REACH]
    take_up_mm: Annotated[float, TAKE_UP]
    stroke_mm: Annotated[float, STROKE]
    flank_deg: Annotated[float, FLANKS] = FLANK
    shape_deg: Shape = ()

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        numbers = f"tu{decimals(self.take_up_mm, 1)}-st{decimals(self.stroke_mm, 1)}"
        flank = _flank_id(self.flank_deg)
        return f"brake-in{decimals(self.reach_deg)}-{numbers}{flank}{_shape_id(self.shape_deg)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        numbers = f"take-up {decimals(self.take_up_mm, 1)} mm · stroke {decimals(self.stroke_mm, 1)} mm"
        flank = _flank_name(self.flank_deg)
        return f"brake cam · reach {decimals(self.reach_deg)}° in · {numbers}{flank}{_shape_name(self.shape_deg)}"


class ClutchCam(Shaped):
    """Clutch cam: where the lever sits, travel of plunger or cable over the whole flank."""

    reach_deg: Annotated[float, REACH]
    lift_mm: Annotated[float, LIFT]
    flank_deg: Annotated[float, FLANKS] = FLANK
    shape_deg: Shape = ()

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        numbers = f"li{decimals(self.lift_mm, 2)}{_flank_id(self.flank_deg)}"
        return f"clutch-in{decimals(self.reach_deg)}-{numbers}{_shape_id(self.shape_deg)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        numbers = f"lift {decimals(self.lift_mm, 2)} mm"
        flank = _flank_name(self.flank_deg)
        return f"clutch cam · reach {decimals(self.reach_deg)}° in · {numbers}{flank}{_shape_name(self.shape_deg)}"


class AssistCam(Shaped):
    """Assist cam: where the lever sits, where it begins to help, how fast it lets the spring down."""

    reach_deg: Annotated[float, REACH]
    onset_deg: Annotated[float, ONSET]
    fall: Annotated[float, FALL]
    flank_deg: Annotated[float, FLANKS] = FLANK
    blend_deg: Annotated[float, BLENDS] = BLEND
    shape_deg: Shape = ()

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        blend = "" if self.blend_deg == BLEND else f"-bl{decimals(self.blend_deg)}"
        numbers = f"on{decimals(self.onset_deg)}-fa{decimals(self.fall, 2)}{_flank_id(self.flank_deg)}{blend}"
        return f"assist-in{decimals(self.reach_deg)}-{numbers}{_shape_id(self.shape_deg)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        blend = "" if self.blend_deg == BLEND else f" · blend {decimals(self.blend_deg)}°"
        numbers = f"onset {decimals(self.onset_deg)}° · strength {decimals(self.fall, 2)}"
        flank = _flank_name(self.flank_deg)
        shape = _shape_name(self.shape_deg)
        return f"assist cam · reach {decimals(self.reach_deg)}° in · {numbers}{flank}{blend}{shape}"


def _flank_id(flank_deg: float) -> str:
    return "" if flank_deg == FLANK else f"-fl{decimals(flank_deg)}"


def _flank_name(flank_deg: float) -> str:
    return "" if flank_deg == FLANK else f" · flank {decimals(flank_deg)}°"


def _shape_id(shape: tuple[float, ...]) -> str:
    return f"-sh{'-'.join(_quarters(shape))}" if shape else ""


def _shape_name(shape: tuple[float, ...]) -> str:
    return f" · drawn {' / '.join(_quarters(shape))}°" if shape else ""


def _quarters(shape: tuple[float, ...]) -> list[str]:
    return [decimals(round(shape[place], 2), 2) for place in QUARTERS]


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


class BrakeRow(Shaped):
    """Brake cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    take_up_mm: Annotated[Values, Several(TAKE_UP)]
    stroke_mm: Annotated[Values, Several(STROKE)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK
    shape_deg: Shape = ()


class ClutchRow(Shaped):
    """Clutch cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    lift_mm: Annotated[Values, Several(LIFT)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK
    shape_deg: Shape = ()


class AssistRow(Shaped):
    """Assist cams of a rack: every combination of the values."""

    reach_deg: Annotated[Values, Several(REACH)]
    onset_deg: Annotated[Values, Several(ONSET)]
    fall: Annotated[Values, Several(FALL)]
    flank_deg: Annotated[Values, Several(FLANKS)] = FLANK
    blend_deg: Annotated[Values, Several(BLENDS)] = BLEND
    shape_deg: Shape = ()


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


def _choices(row: Part) -> dict[str, tuple[Values, ...]]:
    """Values of a row by key, each as a list; a shape is one value."""
    values = {key: getattr(row, key) for key in type(row).model_fields}
    return {
        key: value if isinstance(value, tuple) and key != "shape_deg" else (value,)
        for key, value in values.items()
    }


@lru_cache(maxsize=64)
def _cams(kind: type[AnyCam], rows: tuple[Part, ...]) -> tuple[AnyCam, ...]:
    """Every combination of every row, each cam once, in the order written; some racks are kept at hand."""
    found: dict[AnyCam, None] = {}
    for row in rows:
        choices = _choices(row)
        for values in product(*choices.values()):
            given: dict[str, Any] = dict(zip(choices, values, strict=True))
            found[kind(**given)] = None
    return tuple(found)
