"""Job files: TOML in, TOML out; every fault of a file in one line, all at once."""

import tomllib
from difflib import get_close_matches
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import tomlkit
from pydantic import BaseModel, ValidationError

from pullcurve.errors import BadInput, Fault
from pullcurve.parts.fields import Part, Span, Text, Whole, shown
from pullcurve.parts.job import Job

LARGEST = 2_000_000
"""Bytes that a job file may have."""

Place = tuple[str | int, ...]


def read_job(path: Path) -> Job:
    """Read a job file; raises BadInput with all its faults."""
    return parse_job(_text(path), path.name)


def _text(path: Path) -> str:
    """Text of a file, or one line that says why not."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise BadInput(Fault(name, "", "is a folder; a job is one TOML file"))
        if path.stat().st_size > LARGEST:
            raise BadInput(Fault(name, "", f"has more than {LARGEST // 1_000_000} MB; a job file has a few kB"))
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        raise BadInput(Fault(name, "", "is not there; `pullcurve init DIR` writes a job to start from")) from None
    except UnicodeDecodeError as error:
        raise BadInput(Fault(name, "", f"is no UTF-8 text (byte {error.start}); a job is one TOML file")) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(Fault(name, "", f"cannot be read: {reason}")) from None


def parse_job(text: str, name: str) -> Job:
    """Job from the text of a file; ``name`` is what faults call it."""
    try:
        typed = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        said = "tables nest too deep" if isinstance(error, RecursionError) else str(error)
        raise BadInput(Fault(name, "", f"is not TOML: {said}")) from None
    try:
        return Job.model_validate(typed)
    except ValidationError as error:
        raise BadInput(*_faults(error, name)) from None
    except RecursionError:
        raise BadInput(Fault(name, "", "is not a job: tables nest too deep")) from None


def write_job(job: Job, path: Path) -> None:
    """Write a job as TOML, only what was given; reading it back gives an equal job."""
    path.write_text(job_text(job), encoding="utf-8")


def job_text(job: Job) -> str:
    """A job as TOML text, only what was given."""
    return tomlkit.dumps(_plain(job.model_dump(exclude_unset=True)))


def _plain(value: Any) -> Any:
    """Tables without what is None, lists instead of tuples."""
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items() if part is not None}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    return value


def _faults(error: ValidationError, name: str) -> list[Fault]:
    """One fault per error, in the file's own terms."""
    found: list[Fault] = []
    for entry in error.errors():
        kind, at, context = entry["type"], tuple(entry["loc"]), entry.get("ctx", {})
        if kind == "default_factory_not_called":
            continue
        if kind == "many":
            found += [_fault(name, (*at, *place), said) for place, said in context["faults"]]
            continue
        if "at" in context:
            at = (*at, *context["at"])
        found.append(_fault(name, at, _said(kind, at, entry["msg"], entry.get("input"), context)))
    return found


def _fault(name: str, at: Place, said: str) -> Fault:
    """A fault at a place: section in brackets, key, sentence."""
    steps = [str(part) for part in _without_tags(at)]
    section = f"{name} [{'.'.join(steps[:-1])}]" if len(steps) > 1 else name
    return Fault(section, steps[-1] if steps else "", said)


def _said(kind: str, at: Place, message: str, value: object, context: dict[str, Any]) -> str:
    """Rest of the sentence for one kind of error."""
    field = _field_at(at)
    if kind == "rack_row":
        kind = context.get("type", kind)
    match kind:
        case "missing":
            return f"is missing{_allowed(field)}"
        case "extra_forbidden":
            near = get_close_matches(str(at[-1]), context.get("fields") or _siblings(at), n=1, cutoff=0.6)
            return f"is not known here; {f'did you mean {near[0]}?' if near else _known(context.get('fields') or _siblings(at))}"
        case "refused" | "refused_at" | "rack_row":
            return str(context.get("sentence", message))
        case "literal_error" | "union_tag_invalid" | "union_tag_not_found":
            choices = _choices(field, context)
            at_key = " (by its kind)" if kind.startswith("union") else ""
            return f"is {shown(value)}; allowed is {choices}{at_key}"
        case "too_short" | "too_long":
            length = context.get("actual_length") or 0
            return f"has {length} entries; allowed is {context.get('min_length', 'at most ' + str(context.get('max_length')))} or more" if kind == "too_short" else f"has too many entries; allowed is up to {context.get('max_length')}"
        case _:
            return f"is {shown(value)}; allowed is {_shape(field, kind)}"


def _known(names: list[str]) -> str:
    return f"known are {', '.join(names)}" if names else "nothing is known here"


def _allowed(field: Any) -> str:
    """What may stand in a field, as the end of a sentence."""
    for span in _spans(field):
        return f"; allowed is {span.allowed}"
    choices = _literals(field)
    return f"; allowed is {' or '.join(choices)}" if choices else ""


def _choices(field: Any, context: dict[str, Any]) -> str:
    return " or ".join(_literals(field)) or str(context.get("expected_tags", context.get("expected", "another word"))).replace("'", '"')


def _shape(field: Any, kind: str) -> str:
    """The shape that a field wants, in words of the file."""
    words = {"bool": "true or false", "date": "a date", "dict": "a table", "model": "a table", "tuple": "a list", "list": "a list"}
    span = next(iter(_spans(field)), None)
    if span is not None:
        return f"{span.allowed}"
    return next((said for key, said in words.items() if kind.startswith(key)), "of another kind")


def _spans(field: Any) -> list[Span | Whole | Text]:
    """Ranges in an annotation, the outermost first."""
    if get_origin(field) is Annotated:
        own = [part for part in field.__metadata__ if isinstance(part, Span | Whole | Text)]
        return own or _spans(get_args(field)[0])
    if get_origin(field) in (Union, UnionType):
        return [span for part in get_args(field) for span in _spans(part)]
    return []


def _literals(field: Any) -> list[str]:
    """Words of a choice."""
    if get_origin(field) in (Annotated, Union, UnionType):
        return [word for part in get_args(field) for word in _literals(part)]
    values = get_args(field) if str(get_origin(field)) == "typing.Literal" else ()
    return [f'"{value}"' for value in values]


def _models(field: Any) -> list[type[BaseModel]]:
    """Models that an annotation may hold."""
    if isinstance(field, type) and issubclass(field, BaseModel):
        return [field]
    return [model for part in get_args(field) for model in _models(part)]


def _steps(at: Place) -> list[tuple[str | int, list[type[BaseModel]], Any]]:
    """Walk a place through the models: each step, the models it stands in, and the annotation it leads to."""
    models: list[type[BaseModel]] = [Job]
    walked: list[tuple[str | int, list[type[BaseModel]], Any]] = []
    field: Any = Job
    for part in at:
        tags = [model for model in models if isinstance(part, str) and f'"{part}"' in _tag(model)]
        if tags and part not in models[0].model_fields:
            models = tags
            walked.append((part, [], field))
            continue
        found = [model.model_fields[part] for model in models if part in model.model_fields] if isinstance(part, str) else []
        if found:
            inner = found[0].annotation
            field = Annotated[inner, *found[0].metadata] if found[0].metadata else inner
            walked.append((part, models, field))
            models = _models(field)
        else:
            walked.append((part, models, field))
    return walked


def _tag(model: type[BaseModel]) -> list[str]:
    """Word by which one of several models is chosen."""
    kind = model.model_fields.get("kind")
    return _literals(kind.annotation) if kind else []


def _without_tags(at: Place) -> Place:
    """A place without the words that only pick one of several models."""
    return tuple(part for part, models, _ in _steps(at) if models)


def _field_at(at: Place) -> Any:
    """Annotation at a place."""
    walked = _steps(at)
    return walked[-1][2] if walked else Job


def _siblings(at: Place) -> list[str]:
    """Keys that are known beside the last step of a place."""
    walked = _steps(at)
    return [key for model in (walked[-1][1] if walked else [Job]) for key in model.model_fields]


__all__ = ["Part", "job_text", "parse_job", "read_job", "write_job"]
