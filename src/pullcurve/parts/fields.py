"""Kinds of field: number in a range, whole number, text, date; each says in its own words what is allowed."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic.config import JsonDict
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from pullcurve.parts.facts import fact, word

Place = tuple[str | int, ...]
"""Where in a job something stands: keys and row numbers, outermost first."""

LONGEST_SHOWN = 40
MOST_DIGITS = 20

BITS_PER_DIGIT = 3.3219
"""Binary digits per decimal digit, log2(10)."""

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")
"""Signs that break or spoil a line."""

NAMES: tuple[tuple[type | tuple[type, ...], str], ...] = (
    (str, "a text"),
    (dict, "a table"),
    ((list, tuple), "a list"),
    (datetime, "a date with a time"),
    (date, "a date"),
    (time, "a time of day"),
)
"""What the kinds of value in a file are called."""


class Part(BaseModel):
    """Base of every description: frozen, and nothing that it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def shown(value: object) -> str:
    """A value as an error names it: short, in the words of the file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str) and len(value) <= LONGEST_SHOWN:
        return f'"{value}"'
    if isinstance(value, int) and value.bit_length() > MOST_DIGITS * BITS_PER_DIGIT:
        return f"a number of some {value.bit_length() / BITS_PER_DIGIT:.0f} digits"
    if isinstance(value, int | float):
        return repr(value)
    return next((name for kind, name in NAMES if isinstance(value, kind)), "of another kind")


def refuse(value: object, allowed: str) -> PydanticCustomError:
    """The refusal of one value, with what is allowed."""
    return refuse_all([((), f"is {shown(value)}; allowed is {allowed}")])


def refuse_all(faults: Iterable[tuple[Place, str]]) -> PydanticCustomError:
    """The refusal of one or more values of a part, each with its place in it and the rest of its sentence."""
    return PydanticCustomError("refused", "refused", {"faults": tuple(faults)})


class Kind:
    """A kind of field that checks before pydantic does, so that a refusal is in our own words."""

    __slots__ = ()

    def check(self, value: object) -> object:
        """The value as it is kept, or the reason why not."""
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Check first."""
        return core_schema.no_info_before_validator_function(self.check, handler(source))


@dataclass(frozen=True, slots=True)
class Span(Kind):
    """A number from low to high, both allowed."""

    low: float
    high: float

    @property
    def allowed(self) -> str:
        """The range in words."""
        return f"{self.low:.12g} to {self.high:.12g}"

    def check(self, value: object) -> float:
        """The number, zero without a sign, or the reason why not."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refuse(value, f"a number, {self.allowed}")
        if not self.low <= value <= self.high:
            raise refuse(value, self.allowed)
        return float(value) + 0.0


@dataclass(frozen=True, slots=True)
class Several(Kind):
    """One number of a span, or a list of them."""

    span: Span

    @property
    def allowed(self) -> str:
        """The range in words."""
        return f"a number or a list of numbers, {self.span.allowed}"

    def check(self, value: object) -> float | tuple[float, ...]:
        """The number or the numbers; every one that is refused is named."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.span.check(value)
        if not isinstance(value, list | tuple):
            raise refuse(value, self.allowed)
        if not value:
            raise refuse_all([((), f"has no entries; allowed is {self.allowed}")])
        kept: list[float] = []
        faults: list[tuple[Place, str]] = []
        for row, number in enumerate(value):
            try:
                kept.append(self.span.check(number))
            except PydanticCustomError as refusal:
                faults += [((row, *at), said) for at, said in (refusal.context or {})["faults"]]
        if faults:
            raise refuse_all(faults)
        return tuple(kept)


@dataclass(frozen=True, slots=True)
class Whole(Kind):
    """A whole number from low to high."""

    low: int
    high: int

    @property
    def allowed(self) -> str:
        """The range in words."""
        return f"a whole number, {self.low} to {self.high}"

    def check(self, value: object) -> int:
        """The number, or the reason why not."""
        if isinstance(value, bool) or not isinstance(value, int) or not self.low <= value <= self.high:
            raise refuse(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Text(Kind):
    """A text of limited length on one line (or several where ``lines`` is set)."""

    longest: int = 200
    lines: bool = False
    empty: bool = False

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        least, where = 0 if self.empty else 1, "" if self.lines else " on one line"
        return f"a text of {least} to {self.longest} characters{where}"

    def check(self, value: object) -> str:
        """The text, or the reason why not."""
        if not isinstance(value, str):
            raise refuse(value, self.allowed)
        if len(value) > self.longest:
            raise refuse_all([((), f"has {len(value)} characters; allowed is {self.allowed}")])
        signs = re.sub("[\n\t]", "", value) if self.lines else value
        if CONTROL.search(signs) or not (value.strip() or self.empty):
            raise refuse(value, self.allowed)
        return value


@dataclass(frozen=True, slots=True)
class Day(Kind):
    """A day, without a time."""

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        return "a date such as 2026-05-14"

    def check(self, value: object) -> date:
        """The day, or the reason why not."""
        if type(value) is not date:
            raise refuse(value, self.allowed)
        return value


def prior(path: str, by: str | None = None) -> Any:
    """A field that falls back to a documented prior; ``by`` names the sibling that picks among several."""
    if by is None:
        return Field(default_factory=lambda: fact(path), json_schema_extra={"prior": path})

    return computed_prior(path, lambda data: fact(path, data[by]), needs=(by,), by=by)


def prior_word(path: str) -> Any:
    """A field that falls back to a word of the priors."""
    return Field(default_factory=lambda: word(path), json_schema_extra={"prior": path})


def computed_prior(
    path: str, compute: Callable[[dict[str, Any]], Any], needs: tuple[str, ...], by: str | None = None
) -> Any:
    """A field that falls back to a value computed from siblings; ``path`` documents how, ``needs`` names them."""

    def computed(data: dict[str, Any]) -> Any:
        # Some versions of pydantic come here although a sibling was refused, and refuse the part afterwards.
        return compute(data) if all(key in data for key in needs) else None

    extra: JsonDict = {"prior": path} if by is None else {"prior": path, "by": by}
    return Field(default_factory=computed, json_schema_extra=extra)
