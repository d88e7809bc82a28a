"""Tables for the pages, made from the code: keys of a job file, read-outs, arguments, limits, complaints, commands."""

import ast
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, get_args, get_origin

import click
from pydantic.fields import FieldInfo

from pullcurve.cli.commands import group
from pullcurve.parts import facts
from pullcurve.parts.fields import Kind, Part
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.complaints import complaints
from pullcurve.units import unit_of

HERE = Path(__file__).resolve().parent
SOURCE = HERE.parent / "src" / "pullcurve"
MECHANICS = SOURCE / "mechanics"
MEANINGS: dict[str, dict[str, str]] = tomllib.loads((HERE / "meanings.toml").read_text(encoding="utf-8"))

UNITS = {
    "s": "s",
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
    "years": "years",
    "m_per_s2": "m/s²",
    "m_per_s2_per_mm": "m/s² per mm",
    "g_per_newton": "g/N",
    "g_per_mm": "g/mm",
}
"""How a unit suffix is printed."""

GREEK = {"psi": "ψ", "theta": "θ", "alpha": "α", "sigma": "σ", "mu": "μ", "beta": "β", "kappa": "κ", "tau": "τ",
         "lambda": "λ", "eta": "η", "phi": "φ", "nu": "ν", "gamma": "γ"}  # fmt: skip
READOUTS: dict[type[BrakeReadouts | ClutchReadouts], str] = {BrakeReadouts: "brake", ClutchReadouts: "clutch"}
"""Kinds of read-outs by what they are read off."""

SYMBOL = re.compile(
    rf", ((?:[A-Za-z]{{1,2}}|[a-zA-Z]_\w+|S0|(?:{'|'.join(GREEK)})(?:_\w+)?)'{{0,2}})(?=,|;|:|$| >| <)"
)
"""A symbol in the text of an argument: the short word between commas that follows what it is."""


def rows(head: Sequence[str], body: Iterable[Sequence[str]]) -> str:
    """A table in Markdown."""
    lines = [head, ["---"] * len(head), *body]
    return "".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |\n" for line in lines)


# Keys of a job file -----------------------------------------------------------------------------------------


def models(annotation: Any) -> list[type[Part]]:
    """Parts that an annotation may hold."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return [annotation]
    return [model for one in get_args(annotation) for model in models(one)]


def several(annotation: Any) -> bool:
    """Whether an annotation holds a list of parts, which the file writes in double brackets."""
    return get_origin(annotation) is tuple or any(several(one) for one in get_args(annotation))


def sections(model: type[Part] = Job, path: str = "") -> Iterator[tuple[str, type[Part]]]:
    """Every table of a job file, with the part that it describes."""
    yield path, model
    for key, info in model.model_fields.items():
        found = models(info.annotation)
        for inner in found:
            below = f"{path}.{key}" if path else key
            name = below + (".<path>" if get_origin(info.annotation) is dict else "")
            yield from sections(inner, name)


def kinds(annotation: Any, metadata: tuple[Any, ...] = ()) -> Iterator[Kind]:
    """Kinds of field in an annotation, the outermost first."""
    yield from (one for one in metadata if isinstance(one, Kind))
    for one in (*get_args(annotation), *getattr(annotation, "__metadata__", ())):
        if isinstance(one, Kind):
            yield one
        else:
            yield from kinds(one)


def literals(annotation: Any) -> list[str]:
    """Words of a choice."""
    if str(get_origin(annotation)) == "typing.Literal":
        return [str(word) for word in get_args(annotation)]
    return [word for one in get_args(annotation) for word in literals(one)]


def allowed(info: FieldInfo) -> str:
    """What may stand in a field, in words."""
    words = literals(info.annotation)
    if words:
        return ("one or more of " if several(info.annotation) else "") + ", ".join(
            f"`{word}`" for word in words
        )
    found = next(kinds(info.annotation, tuple(info.metadata)), None)
    if found is not None:
        listed = get_origin(info.annotation) in (tuple, dict)
        return ("each " if listed else "") + str(getattr(found, "allowed", ""))
    if info.annotation is bool:
        return "`true` or `false`"
    return "a list of tables" if several(info.annotation) else "a table"


def left_out(info: FieldInfo) -> str:
    """What stands in for a key that a file does not have."""
    extra = info.json_schema_extra
    if info.is_required():
        return "must be given"
    if isinstance(extra, dict):
        return prior_words(str(extra["prior"]), extra.get("by"))
    if isinstance(info.default, Part):
        return "a table without a key"
    if info.default_factory is not None or info.default in (None, (), ""):
        return "nothing"
    return f"{info.default:g}" if isinstance(info.default, float) else f"`{str(info.default).lower()}`"


def prior_words(path: str, by: Any) -> str:
    """A prior with its band and mark; several where another key picks one."""
    node: Any = {**facts.table("priors"), **facts.table("limits")}
    for step in path.split("."):
        node = node[step]
    if by or "value" not in node:
        found = ", ".join(f"{name} {plain(one['value'])}" for name, one in node.items())
        return f"by `{by}`: {found}" if by else found
    band = f" ({plain(node['low'])} to {plain(node['high'])})" if "low" in node else ""
    return f"{plain(node['value'])}{band}, {node['mark']}"


def plain(value: Any) -> str:
    """A prior as it is printed: a number without needless noughts, words in the file's own type."""
    if isinstance(value, int | float):
        return f"{value:g}"
    return ", ".join(f"`{word}`" for word in str(value).split())


def meaning(model: type[Part], key: str) -> str:
    """What a key means; a row of the rack has the keys of the cams that it stands for."""
    return words_for(model.__name__.replace("Row", "Cam"), key)


def words_for(kind: str, key: str) -> str:
    """What docs/meanings.toml says of a key; whoever adds a key adds its line there."""
    try:
        return MEANINGS[kind][key]
    except KeyError:
        raise KeyError(f"docs/meanings.toml has no line for {key} under [{kind}]") from None


def printed_unit(key: str) -> str:
    """The unit of a key as it is printed."""
    if key.endswith("_years"):
        return "years"
    unit = unit_of(key)
    return UNITS[unit] if unit else ""


def keys() -> str:
    """Every key of a job file: meaning, unit, what is allowed, what stands in."""
    text = []
    for path, model in sections():
        kind = literals(model.model_fields["kind"].annotation) if "kind" in model.model_fields else []
        which = f", kind `{kind[0]}`" if len(kind) == 1 else ""
        body = [
            (f"`{key}`", meaning(model, key), printed_unit(key), allowed(info), left_out(info))
            for key, info in model.model_fields.items()
        ]
        head = f"**`[{path}]`**{which}" if path else "**top of the file**"
        text.append(f"{head}\n\n" + rows(("key", "meaning", "unit", "allowed", "left out"), body))
    return "\n".join(text)


# Read-outs, limits, complaints, commands --------------------------------------------------------------------


def readouts() -> str:
    """Every read-out: JSON key, label, what it is, unit, decimals, how a change of it is felt."""
    head = ("name in JSON", "label", "what it is", "unit", "decimals", "felt as")
    text = []
    for kind, name in READOUTS.items():
        body = []
        for key, facet in facets(kind):
            measure = "" if facet.felt == "no" else facet.felt
            words = words_for(kind.__name__, key)
            body.append(
                (f"`{key}_{facet.unit}`", facet.label, words, UNITS[facet.unit], str(facet.decimals), measure)
            )
        text.append(f"**{name}**\n\n{rows(head, body)}")
    return "\n".join(text)


def limits() -> str:
    """Limits, conventions and wear factors with source and mark."""
    body = [
        (f"`{key}`", printed_unit(key), f"{entry['value']:g}", entry["source"], entry["mark"])
        for key, entry in facts.table("limits")["limits"].items()
    ]
    return rows(("name", "unit", "value", "where from", "mark"), body)


def wishes() -> str:
    """Wishes that stand in where a job states none."""
    body = []
    for kind, known in facts.table("limits")["wishes"].items():
        for key, entry in known.items():
            value = f"{entry['value']:g}" if "value" in entry else "none"
            body.append((f"`{kind}.{key}`", printed_unit(key), value, entry["source"], entry["mark"]))
    return rows(("wish", "unit", "value", "where from", "mark"), body)


def complaint_table() -> str:
    """Every complaint: lever, words for it, what a cam should change."""
    body = []
    for known in complaints():
        words = ", ".join(word for word in known.words if word != known.name)
        wanted = ", ".join(f"{'more' if way > 0 else 'less'} `{key}`" for key, way in known.wants.items())
        body.append((known.lever, f"**{known.name}**", words, wanted or "no cam cures it"))
    return rows(("lever", "complaint", "also typed as", "what a cam should change"), body)


def commands() -> str:
    """Every command with its options."""
    body = []
    for name, command in every_command(group):
        typed, options = [name], []
        for known in command.params:
            if isinstance(known, click.Option):
                options.append(f"`{', '.join(known.opts)}` {known.help}")
            else:
                typed.append(known.metavar or (known.name or "").upper())
        body.append((f"`{' '.join(typed)}`", (command.help or "").split("\n")[0], "; ".join(options)))
    return rows(("command", "what it does", "options"), body)


def every_command(known: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    """Every command that does something, by the words that are typed for it."""
    for name, command in known.commands.items():
        if isinstance(command, click.Group):
            yield from every_command(command, f"{before}{name} ")
        else:
            yield before + name, command


# Modules ----------------------------------------------------------------------------------------------------

FLOORS = {
    "cli": 7,
    "web": 7,
    "verbs": 6,
    "papers": 5,
    "intake": 5,
    "book": 5,
    "studies": 4,
    "pull": 3,
    "mechanics": 2,
    "parts": 2,
}


def modules() -> str:
    """Every module with the first sentence that it says of itself."""
    body = []
    for package, floor in FLOORS.items():
        for path in sorted((SOURCE / package).rglob("*.py")):
            if path.stem != "__init__" and "migrations" not in path.parts:
                said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
                body.append((str(floor), f"`{package}`", f"`{path.stem}`", said.partition("\n")[0]))
    return rows(("floor", "package", "module", "what it is"), body)


# Arguments of the mechanics ---------------------------------------------------------------------------------


def arguments() -> str:
    """Every argument of every public function on the ground floor, as its docstring has it."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for path in sorted(MECHANICS.glob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                for entry in described(ast.get_docstring(node) or ""):
                    found.setdefault(entry, []).append(f"{path.stem}.{node.name}")
    body = [
        (symbol, f"`{name}`", meaning, unit, ", ".join(used))
        for (name, symbol, meaning, unit), used in sorted(found.items())
    ]
    return rows(("symbol", "name in code", "meaning", "unit", "argument of"), body)


def described(docstring: str) -> Iterator[tuple[str, str, str, str]]:
    """Name, symbol, meaning and unit of every argument in a docstring."""
    section = re.search(r"^Parameters\n-+\n(.*?)(?=^\w[\w ]*\n-{3,}$)", docstring, re.DOTALL | re.MULTILINE)
    parts = re.split(r"^(\w[\w, ]*?) *: .*\n", section[1] if section else "", flags=re.MULTILINE)
    for names, text in zip(parts[1::2], parts[2::2], strict=True):
        flat = " ".join(text.split())
        units = ", ".join(dict.fromkeys(printed(one) for one in re.findall(r"\[([^\[\]]+)\]", flat)))
        words = re.sub(r",? *(?:shape \(.*?\)|broadcastable|\(\.\.\.,? ?S?\)| or scalar)", "", flat)
        words = re.sub(r" *\[[^\[\]]+\]", "", words).rstrip(". ").replace("``", "`")
        symbol = None if "," in names else SYMBOL.search(words)
        shown = symbol[1] if symbol else ""
        meaning = re.sub(rf", {re.escape(shown)}(?: [<>]=? \S+)?", "", words, count=1) if shown else words
        for name in names.replace(",", " ").split():
            yield name, greek(shown), meaning, units


def printed(unit: str) -> str:
    """A unit of a docstring as it is printed: m3/Pa as m³/Pa, a pure number as 1."""
    powers = re.sub(r"(?<=[a-zA-Z])[234]", lambda found: "²³⁴"[int(found[0]) - 2], unit)
    return "1" if unit == "-" else powers.replace("N m", "N·m")


def greek(symbol: str) -> str:
    """A symbol with its Greek letter and primes."""
    for word, letter in GREEK.items():
        symbol = re.sub(rf"^{word}(?![a-z])", letter, symbol)
    return symbol.replace("''", "″").replace("'", "′")


MADE: dict[str, Callable[[], str]] = {
    "keys": keys,
    "readouts": readouts,
    "limits": limits,
    "wishes": wishes,
    "complaints": complaint_table,
    "commands": commands,
    "modules": modules,
    "arguments": arguments,
}
"""Tables by the name that a page asks for."""
