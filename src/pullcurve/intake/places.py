"""Places in a job file: from where a fault was found to the section, the key and what may stand there."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from pullcurve.parts.fields import Day, Place, Several, Span, Text, Whole
from pullcurve.parts.job import Job

LONGEST_NAME = 60
"""Characters of a key or a file name that are shown."""

BARE = re.compile(r"[A-Za-z0-9_-]+")
"""A key that wants no quotes."""

Allowing = Span | Several | Whole | Text | Day


@dataclass(frozen=True, slots=True)
class Spot:
    """One place in a job: its steps as in the file, the parts that hold its last key, what may stand there."""

    steps: Place
    owners: tuple[type[BaseModel], ...]
    field: Any

    @property
    def keys(self) -> list[str]:
        """Keys that are known beside this one."""
        return list(dict.fromkeys(key for owner in self.owners for key in owner.model_fields))

    @property
    def allowed(self) -> str:
        """What may stand here, in words of the file."""
        return allowed(self.field, header(self.steps))


def spot(at: Place, root: type[BaseModel] = Job) -> Spot:
    """Walk a place from the root of a file down; words that only pick one of several parts are left out."""
    steps: list[str | int] = []
    owners: tuple[type[BaseModel], ...] = ()
    field: Any = root
    for step in at:
        parts = models(field)
        if len(parts) > 1 and step not in parts[0].model_fields:
            field = next((part for part in parts if step in words(part.model_fields["kind"])), field)
            continue
        steps.append(step)
        owners, field = tuple(parts), _below(field, parts, step)
    return Spot(tuple(steps), owners, field)


def _below(field: Any, parts: list[type[BaseModel]], step: str | int) -> Any:
    """What may stand one step further down; None where nothing is known."""
    if isinstance(step, str) and parts:
        return next((part.model_fields[step] for part in parts if step in part.model_fields), None)
    return next((inner for inner in _members(field)), None)


def _members(field: Any) -> Iterator[Any]:
    """What a list or a table of free keys holds."""
    annotation, _ = opened(field)
    if get_origin(annotation) is tuple:
        yield get_args(annotation)[0]
    elif get_origin(annotation) is dict:
        yield get_args(annotation)[1]


def opened(field: Any) -> tuple[Any, tuple[Any, ...]]:
    """Plain annotation of a field, without "or nothing", and what is said about it."""
    if isinstance(field, FieldInfo):
        inner, said = opened(field.annotation)
        return inner, (*field.metadata, *said)
    if get_origin(field) is Annotated:
        inner, said = opened(get_args(field)[0])
        return inner, (*field.__metadata__, *said)
    if get_origin(field) in (Union, UnionType):
        some = [part for part in get_args(field) if part is not type(None)]
        if len(some) == 1:
            return opened(some[0])
    return field, ()


def models(field: Any) -> list[type[BaseModel]]:
    """Parts that may stand in a field; none where it holds a list or a number."""
    annotation, _ = opened(field)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if get_origin(annotation) in (Union, UnionType):
        return [part for one in get_args(annotation) for part in models(one)]
    return []


def words(field: Any) -> list[str]:
    """Words of a choice."""
    annotation, _ = opened(field)
    return [str(word) for word in get_args(annotation)] if get_origin(annotation) is Literal else []


def kinds(field: Any) -> list[str]:
    """Words by which one of several parts is chosen."""
    return [word for part in models(field) for word in words(part.model_fields["kind"])]


def allowed(field: Any, section: str) -> str:
    """What may stand in a field, in words; ``section`` is how the file would head a table there."""
    annotation, said = opened(field)
    span = next((one for one in said if isinstance(one, Allowing)), None)
    if span is not None:
        return span.allowed
    if annotation is bool:
        return "true or false"
    if words(field):
        return either(words(field))
    if get_origin(annotation) is tuple:
        return _list(annotation, said, section)
    return f"a table, [{section}]"


def _list(annotation: Any, said: tuple[Any, ...], section: str) -> str:
    """What a list may hold."""
    inner = get_args(annotation)[0]
    counts = counted(said)
    if models(inner):
        return f"a list of {counts}tables, [[{section}]]"
    each = allowed(inner, section)
    return f"a list of {counts}entries, each {each}"


def counted(said: tuple[Any, ...]) -> str:
    """How many entries a list may have: "1 to 3 ", "up to 50 ", or nothing where that is open."""
    least = next((one.min_length for one in said if hasattr(one, "min_length")), 0)
    most = next((one.max_length for one in said if hasattr(one, "max_length")), None)
    if most is None:
        return ""
    return f"{least} to {most} " if least else f"up to {most} "


def either(choices: list[str]) -> str:
    """Words as a choice: "one", "two" or "three"."""
    quoted = [f'"{word}"' for word in choices]
    return " or ".join(part for part in (", ".join(quoted[:-1]), quoted[-1]) if part)


def header(steps: Place) -> str:
    """How the file heads a table at a place: keys without row numbers."""
    return ".".join(written(step) for step in steps if isinstance(step, str))


def written(step: str | int) -> str:
    """A step of a path as a TOML file writes it."""
    text = str(step)
    return short(text) if BARE.fullmatch(text) else f'"{short(text)}"'


def short(name: str) -> str:
    """A name that fits on a line."""
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


@cache
def homes(root: type[BaseModel] = Job) -> dict[str, tuple[str, ...]]:
    """Sections that know a key, for every key of a job or of another kind of file."""
    found: dict[str, dict[str, None]] = {}
    for section, key in _keys(root, ()):
        found.setdefault(key, {})[section] = None
    return {key: tuple(sections) for key, sections in found.items()}


def _keys(part: type[BaseModel], steps: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key, info in part.model_fields.items():
        yield ".".join(steps), key
        annotation, _ = opened(info)
        for inner in (info, *_members(annotation)):
            for model in models(inner):
                yield from _keys(model, (*steps, key))
