"""Where every value of a job came from: given, measured, or a documented prior."""

from collections.abc import Iterator
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
    found = dict(_walk(job, "", "given"))
    for path, interval in getattr(job, "measured", {}).items():
        if path in found and found[path].source == "given":
            told = f"{interval.date}, {interval.low:g} to {interval.high:g}"
            found[path] = Origin(found[path].value, "measured", told)
    return found


def _walk(part: Part, prefix: str, note: str) -> Iterator[tuple[str, Origin]]:
    """Leaves of a part; ``note`` is "given", or else what stands behind the whole of it."""
    for key, info in type(part).model_fields.items():
        value = getattr(part, key)
        if value is None or (not prefix and key in SKIPPED):
            continue
        stated = note == "given" and key in part.model_fields_set
        if isinstance(value, Part):
            yield from _walk(value, f"{prefix}{key}.", "given" if stated else PLAIN)
        elif isinstance(value, tuple) and value and isinstance(value[0], Part):
            for row, member in enumerate(value):
                behind = "given" if stated else _behind(info, member)
                yield from _walk(member, f"{prefix}{key}.{row}.", behind)
        elif value != ():
            said = "given" if stated else _behind(info, part) if note == "given" else note
            yield f"{prefix}{key}", _origin(value, said)


def _origin(value: object, note: str) -> Origin:
    """Origin of one leaf."""
    kept = _kept(value)
    return Origin(kept, "given", "") if note == "given" else Origin(kept, "prior", note)


def _kept(value: object) -> float | str:
    if isinstance(value, int | float):
        return value
    return " ".join(_word(one) for one in value) if isinstance(value, tuple) else str(value)


def _word(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _behind(info: FieldInfo, owner: Part) -> str:
    """Source and mark of what stands in for a field; a sibling may pick one of several priors."""
    extra = info.json_schema_extra
    if not isinstance(extra, dict) or "prior" not in extra:
        return PLAIN
    by = extra.get("by")
    return known(str(extra["prior"]), str(getattr(owner, str(by))) if by else None).note
