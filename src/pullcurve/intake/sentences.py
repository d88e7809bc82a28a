"""Sentences for what is wrong with a job file: one line per fault, in the file's own terms."""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from itertools import islice
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from pullcurve.errors import Fault
from pullcurve.intake.places import (
    LONGEST_NAME,
    Spot,
    counted,
    either,
    header,
    homes,
    kinds,
    opened,
    short,
    spot,
    written,
)
from pullcurve.parts.fields import Place, shown
from pullcurve.parts.job import Job

MOST_FAULTS = 100
"""Faults that are told one by one."""

MOST_HOMES = 3
"""Sections that are told for a key which stands in the wrong one."""

NEAR = 0.6
"""How alike two keys must be for the one to be a slip of the pen for the other, 0 to 1."""


def faults(error: ValidationError, name: str, root: type[BaseModel] = Job) -> list[Fault]:
    """What is wrong with a job, at most a hundred lines and one that says that there is more.

    ``root`` is what else the file describes.
    """
    found = list(dict.fromkeys(islice(_faults(error, name, root), MOST_FAULTS + 1)))
    if len(found) <= MOST_FAULTS:
        return found
    return [*found[:MOST_FAULTS], Fault(short(name), "", f"has more faults than these {MOST_FAULTS}")]


def _faults(error: ValidationError, name: str, root: type[BaseModel]) -> Iterator[Fault]:
    for entry in error.errors(include_url=False):
        at, kind = tuple(entry["loc"]), entry["type"]
        if kind == "refused":
            for place, said in entry["ctx"]["faults"]:
                yield fault(name, spot((*at, *place), root).steps, said)
        elif kind.startswith("union_tag"):
            yield _kind_fault(name, spot(at, root), entry["input"])
        elif kind != "default_factory_not_called" and not _follows(kind, entry):
            here = spot(at, root)
            said = _said(kind, here, entry["input"], entry.get("ctx", {}), root)
            yield fault(name, here.steps, said)


def _follows(kind: str, entry: ErrorDetails) -> bool:
    """Whether a list is only short because entries of it were refused, each with a line of its own."""
    value = entry["input"]
    return (
        kind == "too_short" and isinstance(value, list | tuple) and len(value) >= entry["ctx"]["min_length"]
    )


def fault(name: str, steps: Place, said: str) -> Fault:
    """A fault at a place: file and section, key with the rows of a list, rest of the sentence."""
    last = next((row for row in range(len(steps), 0, -1) if isinstance(steps[row - 1], str)), 0)
    section = ".".join(written(step) for step in steps[: max(last - 1, 0)])
    where = f"{short(name)} [{section}]" if section else short(name)
    return Fault(where, ".".join(written(step) for step in steps[max(last - 1, 0) :]), said)


def _kind_fault(name: str, here: Spot, value: Mapping[str, object]) -> Fault:
    """A table whose kind picks its other keys, without a kind or with another."""
    said = f"is {shown(value['kind'])}" if "kind" in value else "is missing"
    return fault(name, (*here.steps, "kind"), f"{said}; allowed is {either(kinds(here.field))}")


def _said(kind: str, here: Spot, value: object, context: Mapping[str, Any], root: type[BaseModel]) -> str:
    """Rest of the sentence for one kind of error."""
    if kind == "missing":
        return f"is missing; allowed is {here.allowed}"
    if kind == "extra_forbidden":
        return unknown(str(here.steps[-1]), here.keys, header(here.steps[:-1]), root)
    if kind in ("too_short", "too_long"):
        found = len(value) if isinstance(value, list | tuple) else context["actual_length"]
        return f"has {found or 'no'} entries; allowed is {counted(opened(here.field)[1]).strip()}"
    return f"is {shown(value)}; allowed is {here.allowed}"


def unknown(key: str, known: Iterable[str], section: str, root: type[BaseModel] = Job) -> str:
    """Rest of the sentence for an unknown key: what was meant, where it belongs, or what is known."""
    names = list(known)
    plain = key.strip().lower().replace("-", "_").replace(" ", "_")
    sections = [one for one in homes(root).get(plain, ()) if one]
    near = get_close_matches(plain[:LONGEST_NAME], names, n=1, cutoff=NEAR)
    if plain in names or (near and not sections):
        return f"is not known here; did you mean {near[0]}?"
    if section in sections:
        return f"belongs to another kind; known are {', '.join(names)}"
    if 0 < len(sections) <= MOST_HOMES:
        return f"is not known here; it belongs in {' or '.join(f'[{one}]' for one in sections)}"
    return f"is not known here; known are {', '.join(names)}"
