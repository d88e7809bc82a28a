"""The form of a job, made from the descriptions themselves: every key with unit, range and what stands in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from pullcurve.intake.places import allowed, counted, models, opened, words
from pullcurve.parts.fields import Day, Several, Span, Text, Whole
from pullcurve.parts.job import Job
from pullcurve.units import bare, unit_of
from pullcurve.web import shelf

SIGNS: Mapping[str, str] = {
    "mm": "mm",
    "m": "m",
    "mm3": "mm³",
    "cm3": "cm³",
    "deg": "°",
    "newton": "N",
    "newton_mm": "N·mm",
    "newton_m": "N·m",
    "newton_per_mm": "N/mm",
    "newton_mm_per_deg": "N·mm/°",
    "bar": "bar",
    "gpa": "GPa",
    "kg": "kg",
    "percent": "%",
    "mm3_per_m_bar": "mm³/(m·bar)",
    "mm3_per_bar": "mm³/bar",
    "per_kelvin": "1/K",
    "s": "s",
    "m_per_s2": "m/s²",
    "m_per_s2_per_mm": "m/s² per mm",
    "g_per_newton": "g/N",
    "g_per_mm": "g/mm",
}
"""How a unit suffix is printed."""

ASIDE = ("measured", "importance")
"""Tables that the form shows beside the values that they speak of."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One value: where it stands in the job, what it means, what is allowed, what was typed."""

    path: str
    label: str
    meaning: str
    kind: str
    unit: str
    sign: str
    allowed: str
    low: float | None
    high: float | None
    options: tuple[str, ...]
    typed: Any
    required: bool

    @property
    def given(self) -> bool:
        """Whether anything was typed."""
        return self.typed is not None and self.typed != ""


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the job with its values and parts; absent where it was left out and may be."""

    path: str
    title: str
    meaning: str
    present: bool
    removable: bool
    kinds: tuple[str, ...]
    kind: str
    children: tuple["Entry | Section | Rows", ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of parts."""

    path: str
    title: str
    meaning: str
    least: int
    most: int
    rows: tuple[Section, ...]
    stands_in: bool

    @property
    def allowed(self) -> str:
        """How many there may be."""
        return f"{self.least} to {self.most}" if self.least else f"up to {self.most}"


Child = Entry | Section | Rows
MANY = 50
"""Rows of a list that is open."""


def job_form(job: Any) -> tuple[Child, ...]:
    """The whole form for a job as it stands, right or wrong."""
    return tuple(_children(Job, job if isinstance(job, dict) else {}, ""))


def _children(model: type[BaseModel], value: Mapping[str, Any], path: str) -> Iterator[Child]:
    for key, info in model.model_fields.items():
        if key not in ASIDE and not (key == "kind" and len(words(info)) == 1):
            yield _child(model, key, info, value.get(key), f"{path}{key}")


def _child(model: type[BaseModel], key: str, info: FieldInfo, value: Any, path: str) -> Child:
    """One key of a part: a value, a part or a list of parts."""
    annotation, said = opened(info)
    told = _meaning(model, key)
    inside = [one for one in get_args(annotation)[:1] if get_origin(annotation) is tuple]
    rows = models(inside[0]) if inside else []
    if rows:
        return _rows(rows, key, info, said, value, path, told)
    found = models(info)
    return _section(found, key, info, value, path, told) if found else _entry(key, info, value, path, told)


def _rows(
    found: list[type[BaseModel]],
    key: str,
    info: FieldInfo,
    said: tuple[Any, ...],
    value: Any,
    path: str,
    told: str,
) -> Rows:
    listed = value if isinstance(value, list) else []
    least = next((one.min_length for one in said if hasattr(one, "min_length")), 0)
    most = next((one.max_length for one in said if hasattr(one, "max_length")), MANY)
    rows = []
    for row, entry in enumerate(listed):
        known = entry if isinstance(entry, dict) else {}
        title = str(known.get("name") or known.get("drives") or f"{_words(key).removesuffix('s')} {row + 1}")
        children = tuple(_children(found[0], known, f"{path}.{row}."))
        rows.append(Section(f"{path}.{row}", title, "", True, True, (), "", children))
    return Rows(path, _words(key), told, least, most, tuple(rows), info.default_factory is not None)


def _section(
    found: list[type[BaseModel]], key: str, info: FieldInfo, value: Any, path: str, told: str
) -> Section:
    optional = not info.is_required() and info.default is None
    known = value if isinstance(value, dict) else {}
    present = isinstance(value, dict) or not optional
    kinds = tuple(words(one.model_fields["kind"])[0] for one in found) if len(found) > 1 else ()
    kind = str(known.get("kind", kinds[0])) if kinds else ""
    model = found[kinds.index(kind)] if kind in kinds else found[0]
    children = tuple(_children(model, known, f"{path}.")) if present else ()
    return Section(path, _words(key), told, present, optional, kinds, kind, children)


def _entry(key: str, info: FieldInfo, value: Any, path: str, told: str) -> Entry:
    annotation, said = opened(info)
    span = next((one for one in said if isinstance(one, Span | Several | Whole | Text | Day)), None)
    inner = span.span if isinstance(span, Several) else span
    low, high = (inner.low, inner.high) if isinstance(inner, Span | Whole) else (None, None)
    unit = unit_of(key) or ""
    sign = "years" if key.endswith("_years") else SIGNS.get(unit, "")
    options = tuple(words(info)) or tuple(words(get_args(annotation)[0]) if get_args(annotation) else ())
    kind = _kind(annotation, span, options)
    return Entry(
        path,
        _words(key),
        told,
        kind,
        unit,
        sign,
        _allowed(info, kind, said),
        low,
        high,
        options,
        value,
        info.is_required(),
    )


def _kind(annotation: Any, span: object, options: tuple[str, ...]) -> str:
    """What a value is typed with."""
    if annotation is bool:
        return "yes"
    if options:
        return "several" if get_origin(annotation) is tuple else "choice"
    if isinstance(span, Text):
        return "lines" if span.lines else "text"
    if get_origin(annotation) is tuple:
        inner = opened(get_args(annotation)[0])[1]
        return "texts" if any(isinstance(one, Text) for one in inner) else "numbers"
    if isinstance(span, Several):
        return "numbers"
    return "whole" if isinstance(span, Whole) else "number"


def _allowed(info: FieldInfo, kind: str, said: tuple[Any, ...]) -> str:
    """What may stand here, in words; choices speak for themselves."""
    if kind in ("choice", "several", "yes"):
        return ""
    if kind == "texts":
        return f"{counted(said)}phrases, with commas between them"
    if kind == "numbers":
        return f"{allowed(info, '')}; commas between several".replace("a number or a list of numbers, ", "")
    return allowed(info, "")


def _meaning(model: type[BaseModel], key: str) -> str:
    """What a key means; a row of the rack has the keys of the cams that it stands for."""
    known = shelf.meanings().get(model.__name__.replace("Row", "Cam"), {})
    return known.get(key, "").replace("`", "")


def _words(key: str) -> str:
    """A key as it is read."""
    return bare(key).removesuffix("_years").replace("_", " ")
