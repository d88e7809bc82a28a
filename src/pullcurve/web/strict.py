"""Kinds of value in a question."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

LONGEST = 120


def _number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise PydanticCustomError("no_number", "a number")
    return value


Number = Annotated[float, BeforeValidator(_number), Field(ge=-1e9, le=1e9, allow_inf_nan=False)]
Short = Annotated[str, Field(max_length=LONGEST)]
