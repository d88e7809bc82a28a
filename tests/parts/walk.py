"""Every kind of part that a job may hold."""

from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel


def inside(annotation: Any) -> Iterator[type[BaseModel]]:
    """Parts named in an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from inside(inner)


def models(part: type[BaseModel]) -> list[type[BaseModel]]:
    """A part and every part that may stand in it, each once."""
    found: dict[type[BaseModel], None] = {part: None}
    for info in part.model_fields.values():
        for inner in inside(info.annotation):
            found.update(dict.fromkeys(models(inner)))
    return list(found)


def sections(part: type[BaseModel], path: str = "") -> Iterator[tuple[str, type[BaseModel]]]:
    """Every section that a file may have, without row numbers, with each part that may stand there."""
    yield path, part
    for key, info in part.model_fields.items():
        for inner in inside(info.annotation):
            yield from sections(inner, f"{path}.{key}" if path else key)
