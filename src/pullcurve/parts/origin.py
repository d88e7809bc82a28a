"""Where every value of a job came from: given, measured, or a documented prior."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from pydantic.fields import FieldInfo

from pullcurve.parts.facts import known
from pullcurve.parts.fields import Part

Source = Literal["given", "measured", "prior"]

PLAIN = "plain meaning where nothing is said"
SKIPPED = ("notes", "rack", "measured", "wishes", "fitted")
"""Parts of a job that are wishes, cams or remarks, not values with an origin."""


@dataclass(frozen=True, slots=True)
class Origin:
    """One value, whether it was given, measured or a prior, and for a prior its source and mark."""

    value: float | str
    source: Source
    note: str


def origins(job: Part) -> dict[str, Origin]:
    """Origin of every number and choice of a job, by its path in the file."""
    measured: Mapping[str, object] = getattr(job, "measured", {})
    found = dict(_walk(job, "", given=True))
    for path, interval in measured.items():
        if path in found and found[path].source == "given":
            told = f"{interval.date}, {interval.low:g} to {interval.high:g}"  # type: ignore[attr-defined]
            found[path] = Origin(found[path].value, "measured", told)
    return found


def _walk(part: Part, prefix: str, given: bool) -> Iterator[tuple[str, Origin]]:
    for key, info in type(part).model_fields.items():
        if not prefix and key in SKIPPED:
            continue
        value, stated = getattr(part, key), given and key in part.model_fields_set
        yield from _leaves(value, f"{prefix}{key}", stated, info, part)


def _leaves(value: object, path: str, stated: bool, info: FieldInfo, owner: Part) -> Iterator[tuple[str, Origin]]:
    if isinstance(value, Part):
        yield from _walk(value, f"{path}.", stated)
    elif isinstance(value, tuple) and value and isinstance(value[0], Part):
        for row, member in enumerate(value):
            yield from _walk(member, f"{path}.{row}.", stated)
    elif isinstance(value, tuple):
        if value:
            yield path, _origin(" ".join(f"{part:g}" if isinstance(part, float) else str(part) for part in value), stated, info, owner)
    elif value is not None:
        yield path, _origin(value if isinstance(value, int | float) else str(value), stated, info, owner)


def _origin(value: float | str, stated: bool, info: FieldInfo, owner: Part) -> Origin:
    """Origin of one leaf; a prior is looked up again for its source and mark."""
    if stated:
        return Origin(value, "given", "")
    extra = info.json_schema_extra
    if not isinstance(extra, dict):
        return Origin(value, "prior", PLAIN)
    by = extra.get("by")
    fact = known(str(extra["prior"]), str(getattr(owner, str(by))) if by else None)
    return Origin(value, "prior", f"{fact.source} ({fact.mark})")
