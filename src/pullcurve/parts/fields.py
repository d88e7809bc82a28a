"""Kinds of field: a number in a range, a whole number, a text; each says what is allowed in its own words."""

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from pullcurve.parts.facts import fact, word

LONGEST_SHOWN = 40


class Part(BaseModel):
    """Base of every description: frozen, and nothing that it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def shown(value: object) -> str:
    """A value as an error names it: short, in the words of the file."""
    kinds = {bool: "true or false", str: "a text", list: "a list", tuple: "a list", dict: "a table"}
    named = next((words for kind, words in kinds.items() if isinstance(value, kind)), None)
    if isinstance(value, str) and len(value) <= LONGEST_SHOWN:
        return f'"{value}"'
    if named:
        return named
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[:12]}… ({len(text)} digits)"


def refuse(value: object, allowed: str) -> PydanticCustomError:
    """The refusal of one value, with what is allowed."""
    return PydanticCustomError("refused", "{sentence}", {"sentence": f"is {shown(value)}; allowed is {allowed}"})


@dataclass(frozen=True, slots=True)
class Span:
    """A number from low to high, both allowed."""

    low: float
    high: float

    @property
    def allowed(self) -> str:
        """The range in words."""
        return f"{self.low:g} to {self.high:g}"

    def check(self, value: object) -> float:
        """The number, or the reason why not."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refuse(value, f"a number, {self.allowed}")
        if not (self.low <= value <= self.high) or not isfinite(value):
            raise refuse(value, self.allowed)
        return float(value)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Check before pydantic does, with our own sentence."""
        return core_schema.no_info_before_validator_function(self.check, handler(source))


@dataclass(frozen=True, slots=True)
class Whole:
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

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Check before pydantic does, with our own sentence."""
        return core_schema.no_info_before_validator_function(self.check, handler(source))


@dataclass(frozen=True, slots=True)
class Text:
    """A text of limited length on one line (or several where ``lines`` is set)."""

    longest: int = 200
    lines: bool = False
    empty: bool = False

    @property
    def allowed(self) -> str:
        """What may stand here, in words."""
        return f"a text of {0 if self.empty else 1} to {self.longest} characters{'' if self.lines else ' on one line'}"

    def check(self, value: object) -> str:
        """The text, or the reason why not."""
        if not isinstance(value, str) or len(value) > self.longest or not (value.strip() or self.empty):
            raise refuse(value, self.allowed)
        if not self.lines and not value.isprintable():
            raise refuse("…", self.allowed)
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Check before pydantic does, with our own sentence."""
        return core_schema.no_info_before_validator_function(self.check, handler(source))


def prior(path: str, by: str | None = None) -> Any:
    """A field that falls back to a documented prior; ``by`` names the sibling field that picks among several."""
    if by is None:
        return Field(default_factory=lambda: fact(path), json_schema_extra={"prior": path})

    def picked(data: dict[str, Any]) -> float:
        return fact(path, data[by])

    return Field(default_factory=picked, json_schema_extra={"prior": path, "by": by})


def prior_word(path: str) -> Any:
    """A field that falls back to a word of the priors."""
    return Field(default_factory=lambda: word(path), json_schema_extra={"prior": path})


def computed_prior(path: str, compute: Callable[[dict[str, Any]], Any]) -> Any:
    """A field that falls back to a value computed from its siblings; ``path`` documents how."""
    return Field(default_factory=compute, json_schema_extra={"prior": path})
