"""The page for programs: every question with what it carries, made from the description of the interface."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class FieldLine:
    """One thing that a question carries."""

    name: str
    place: str
    kind: str
    missing: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question: how it is asked and what it carries."""

    method: str
    path: str
    words: str
    fields: tuple[FieldLine, ...]

    @property
    def id(self) -> str:
        """A name for links to it."""
        return f"{self.method}{self.path}".replace("/", "-").replace("{", "").replace("}", "").lower()


def questions(description: dict[str, Any]) -> dict[str, list[Question]]:
    """Every question by its group."""
    found: dict[str, list[Question]] = {}
    for path, methods in description["paths"].items():
        for method, known in methods.items():
            words = str(known.get("description", known.get("summary", ""))).replace("`", "")
            listed = tuple(_parameters(known)) + tuple(_body(known, description))
            tag = known.get("tags", ["more"])[0]
            found.setdefault(tag, []).append(Question(method.upper(), path, words, listed))
    return found


def _parameters(known: dict[str, Any]) -> Iterator[FieldLine]:
    for one in known.get("parameters", ()):
        schema = one["schema"]
        missing = "must be given" if one["required"] else _plain(schema.get("default"))
        yield FieldLine(one["name"], one["in"], _kind(schema), missing)


def _body(known: dict[str, Any], description: dict[str, Any]) -> Iterator[FieldLine]:
    for media, content in known.get("requestBody", {}).get("content", {}).items():
        name = content["schema"].get("$ref", "").rpartition("/")[2]
        if not name:
            yield FieldLine("the file itself", media, "file", "must be given")
            continue
        schema = description["components"]["schemas"][name]
        for key, inner in schema["properties"].items():
            missing = "must be given" if key in schema.get("required", ()) else _plain(inner.get("default"))
            yield FieldLine(key, "body", _kind(inner), missing)


def _kind(schema: dict[str, Any]) -> str:
    """A kind of value in words, with its range."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2].replace("-Input", "")
    if "enum" in schema:
        return " or ".join(str(one) for one in schema["enum"])
    if "anyOf" in schema:
        return " or ".join(_kind(one) for one in schema["anyOf"] if one.get("type") != "null")
    kind = str(schema.get("type", "any"))
    ends = [f"from {schema['minimum']:g}" if "minimum" in schema else ""]
    ends.append(f"to {schema['maximum']:g}" if "maximum" in schema else "")
    return " ".join((kind, *filter(None, ends)))


def _plain(value: object) -> str:
    """What stands in for something left out."""
    if value is None or value in ([], {}):
        return "nothing"
    return str(value).lower() if isinstance(value, bool) else str(value)
