"""Cams and racks: plate cams named by what they are in numbers, nothing else."""

from itertools import product
from math import prod
from typing import Annotated, Self

from pydantic import ValidationError, model_validator
from pydantic_core import PydanticCustomError

from pullcurve.parts.fields import Part, Span

MOST_CAMS = 2000
"""Cams of one kind in a rack."""

Reach = Annotated[float, Span(0, 20)]
Flank = Annotated[float, Span(5, 60)]

FLANK = 26.0
"""Working angle of a law [deg] where a cam states none."""


def _decimals(value: float, least: int) -> str:
    """A number in as many decimals as it needs, and at least some."""
    text = f"{value:.4f}".rstrip("0")
    whole, _, part = text.partition(".")
    return f"{whole}.{part.ljust(least, '0')}" if least else f"{value:g}"


class BrakeCam(Part):
    """Brake cam: where the lever sits, how much stroke comes early, stroke over the whole flank."""

    reach_deg: Reach
    take_up_mm: Annotated[float, Span(-0.5, 2)]
    stroke_mm: Annotated[float, Span(2, 20)]
    flank_deg: Flank = FLANK

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        return f"brake-in{self.reach_deg:g}-tu{_decimals(self.take_up_mm, 1)}-st{_decimals(self.stroke_mm, 1)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        return (
            f"brake cam · reach {self.reach_deg:g}° in · take-up {_decimals(self.take_up_mm, 1)} mm"
            f" · stroke {_decimals(self.stroke_mm, 1)} mm"
        )


class ClutchCam(Part):
    """Clutch cam: where the lever sits, travel of plunger or cable over the whole flank."""

    reach_deg: Reach
    lift_mm: Annotated[float, Span(2, 25)]
    flank_deg: Flank = FLANK

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        return f"clutch-in{self.reach_deg:g}-li{_decimals(self.lift_mm, 2)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        return f"clutch cam · reach {self.reach_deg:g}° in · lift {_decimals(self.lift_mm, 2)} mm"


class AssistCam(Part):
    """Assist cam: where the lever sits, where it begins to help, how fast it lets the spring down."""

    reach_deg: Reach
    onset_deg: Annotated[float, Span(0, 30)]
    fall: Annotated[float, Span(0.05, 1.5)]
    flank_deg: Flank = FLANK
    blend_deg: Annotated[float, Span(1, 30)] = 8.0

    @property
    def id(self) -> str:
        """Short id in numbers, for files and lists."""
        return f"assist-in{self.reach_deg:g}-on{self.onset_deg:g}-fa{_decimals(self.fall, 2)}"

    @property
    def name(self) -> str:
        """Name in numbers with units."""
        return (
            f"assist cam · reach {self.reach_deg:g}° in · onset {self.onset_deg:g}°"
            f" · strength {_decimals(self.fall, 2)}"
        )


class Fitted(Part):
    """What is on the machine, or what one proposes to put there."""

    brake: BrakeCam | None = None
    clutch: ClutchCam | None = None
    assist: AssistCam | None = None

    @model_validator(mode="after")
    def _one_reach(self) -> Self:
        if self.clutch and self.assist and self.clutch.reach_deg != self.assist.reach_deg:
            allowed = f"{self.clutch.reach_deg:g}, the reach_deg of the clutch cam"
            raise PydanticCustomError(
                "refused_at",
                "{sentence}",
                {"sentence": f"is {self.assist.reach_deg:g}; allowed is {allowed}", "at": ("assist", "reach_deg")},
            )
        return self


class Rack(Part):
    """Cams that the workshop has; a row whose values are lists stands for every combination.

    ``brake``, ``clutch`` and ``assist`` keep the rows as written; ``brake_cams`` and so on are the cams they stand for.
    """

    brake: tuple[dict[str, float | tuple[float, ...]], ...] = ()
    clutch: tuple[dict[str, float | tuple[float, ...]], ...] = ()
    assist: tuple[dict[str, float | tuple[float, ...]], ...] = ()

    @model_validator(mode="after")
    def _cuttable_count(self) -> Self:
        for kind in ("brake", "clutch", "assist"):
            count = sum(_combinations(row) for row in getattr(self, kind))
            if count > MOST_CAMS:
                sentence = f"stands for {count} cams; allowed is up to {MOST_CAMS}"
                raise PydanticCustomError("refused_at", "{sentence}", {"sentence": sentence, "at": (kind,)})
        for kind in ("brake", "clutch", "assist"):
            _cams(kind, getattr(self, kind))
        return self

    @property
    def brake_cams(self) -> tuple[BrakeCam, ...]:
        """All brake cams, each once."""
        return tuple(cam for cam in _cams("brake", self.brake) if isinstance(cam, BrakeCam))

    @property
    def clutch_cams(self) -> tuple[ClutchCam, ...]:
        """All clutch cams, each once."""
        return tuple(cam for cam in _cams("clutch", self.clutch) if isinstance(cam, ClutchCam))

    @property
    def assist_cams(self) -> tuple[AssistCam, ...]:
        """All assist cams, each once."""
        return tuple(cam for cam in _cams("assist", self.assist) if isinstance(cam, AssistCam))


KINDS: dict[str, type[BrakeCam] | type[ClutchCam] | type[AssistCam]] = {
    "brake": BrakeCam,
    "clutch": ClutchCam,
    "assist": AssistCam,
}


def _choices(value: float | tuple[float, ...]) -> tuple[float, ...]:
    return value if isinstance(value, tuple) else (value,)


def _combinations(row: dict[str, float | tuple[float, ...]]) -> int:
    return prod(len(_choices(value)) for value in row.values())


def _cams(
    kind: str, rows: tuple[dict[str, float | tuple[float, ...]], ...]
) -> tuple[BrakeCam | ClutchCam | AssistCam, ...]:
    """Every combination of every row, each cam once, in the order written; a bad value is named with its row."""
    found: dict[BrakeCam | ClutchCam | AssistCam, None] = {}
    for place, row in enumerate(rows):
        for values in product(*(_choices(value) for value in row.values())):
            try:
                found[KINDS[kind](**dict(zip(row, values, strict=True)))] = None
            except ValidationError as error:
                first = error.errors()[0]
                at = (kind, place, *first["loc"])
                kept = {**first.get("ctx", {}), "at": at, "type": first["type"], "fields": tuple(KINDS[kind].model_fields)}
                raise PydanticCustomError("rack_row", "{sentence}", {"sentence": first["msg"], **kept}) from None
    return tuple(found)
