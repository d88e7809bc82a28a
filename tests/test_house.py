"""The rules of the house as far as a program can see them; CONTRIBUTING.md says what they are for."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "pullcurve"
MODULES = sorted(SOURCE.rglob("*.py"))
GROUND = [path for path in MODULES if path.is_relative_to(SOURCE / "mechanics")]

LONGEST_MODULE, LONGEST_BODY = 399, 39

UNIT = re.compile(r"(?:kg|m|s|N|Pa|J|W|K|rad)-?\d?|year|1|-")
OTHER_UNIT = re.compile(r"any|SI, see the class|unit of .+")

# What no file may contain. Written so that the patterns do not match themselves.
FORBIDDEN = {
    "the host of a package registry": re.compile(
        r"\b(?:pypi|pythonhosted|npmjs|crates|(?:deb|security)[.]debian)[.](?:org|com|io)\b"
    ),
    "a path of one machine": re.compile(
        r"(?<![\w.~])/(?:home|opt|root|tmp|work|Users)/\w|[.]pyenv\b|\b[A-Z]:\\Users\b"
    ),
    "a code of digit, letter, digit": re.compile(r"\b[0-9][A-D][0-9]\b"),
}


def name_of(path: Path) -> str:
    """A path as a test id."""
    return path.relative_to(ROOT).as_posix()


def tree(path: Path) -> ast.Module:
    """The syntax tree of a module."""
    return ast.parse(path.read_text(encoding="utf-8"))


def public_functions() -> Iterator[tuple[str, ast.FunctionDef]]:
    """Every public function on the ground floor, with a name for it."""
    for path in GROUND:
        for node in tree(path).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield f"{path.stem}.{node.name}", node


def argument_names(function: ast.FunctionDef) -> list[str]:
    """The arguments of a function, in order."""
    arguments = function.args
    return [known.arg for known in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs)]


def sections(docstring: str) -> dict[str, str]:
    """The underlined sections of a docstring, by heading."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}$", docstring, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def has_unit(text: str) -> bool:
    """Whether the text carries a unit in brackets: `[m]`, `[N m]`, `[m3/Pa]`, `[-]`, `[rad, -, 1/rad]`."""
    return any(
        OTHER_UNIT.fullmatch(inside)
        or all(UNIT.fullmatch(one) for one in re.split(r"[ ,/()]+", inside) if one)
        for inside in re.findall(r"\[([^\[\]]+)\]", text)
    )


def parameter_texts(section: str) -> dict[str, str]:
    """The entries of a Parameters section: name to description."""
    parts = re.split(r"^(\w[\w, ]*?) *:", section, flags=re.MULTILINE)
    return {
        name: text
        for names, text in zip(parts[1::2], parts[2::2], strict=True)
        for name in names.replace(",", " ").split()
    }


def project_files() -> list[Path]:
    """The files of the project: what git knows or would add; without git, the tree without caches."""
    command = ["git", "-C", str(ROOT), "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        listed = subprocess.run(command, capture_output=True, check=True).stdout.decode().split("\0")
    except (OSError, subprocess.CalledProcessError):
        listed = [path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*")]
        ignored = re.compile(
            r"(?:^|/)(?:__pycache__|mutants|build|dist|wheelhouse|[.](?!ci/|gitignore)\w+)(?:/|$)"
        )
        listed = [name for name in listed if not ignored.search(name)]
    return sorted(ROOT / name for name in listed if name and (ROOT / name).is_file())


FUNCTIONS = dict(public_functions())


def test_there_is_something_to_check() -> None:
    assert len(GROUND) > 5
    assert len(FUNCTIONS) > 20
    assert ROOT / "run.py" in project_files()


# Sizes ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_module_and_its_functions_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE
    too_long = {}
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = body[-1].end_lineno - body[0].lineno + 1 if body and body[-1].end_lineno else 0
            if lines > LONGEST_BODY:
                too_long[node.name] = lines
    assert not too_long


# The ground floor -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FUNCTIONS)
def test_formula_names_source_and_units(name: str) -> None:
    function = FUNCTIONS[name]
    found = sections(ast.get_docstring(function) or "")
    assert found.get("Source", found.get("References", "")).strip(), "no Source section"
    described = parameter_texts(found.get("Parameters", ""))
    assert list(described) == argument_names(function)
    without = [argument for argument, text in described.items() if not has_unit(text)]
    assert not without, f"no unit in brackets: {without}"
    assert has_unit(found.get("Returns", "")), "no unit in brackets on what is returned"


def test_arguments_are_in_the_nomenclature() -> None:
    page = (ROOT / "docs" / "nomenclature.md").read_text(encoding="utf-8")
    listed = {word for code in re.findall(r"`([^`]+)`", page) for word in re.findall(r"\w+", code)}
    used = {argument for function in FUNCTIONS.values() for argument in argument_names(function)}
    assert sorted(used - listed) == []


@pytest.mark.parametrize("path", GROUND, ids=name_of)
def test_mechanics_needs_only_numbers(path: Path) -> None:
    imported = [
        name
        for node in ast.walk(tree(path))
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    ]
    own = re.compile(r"(?:numpy|scipy|pullcurve\.mechanics)(?:\.|$)")
    assert [n for n in imported if not own.match(n) and n.split(".")[0] not in sys.stdlib_module_names] == []


# What belongs in one room only ------------------------------------------------------------------------------


def calls(path: Path) -> Iterator[str]:
    """The dotted names of what a module calls."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func)


def test_only_the_top_floor_speaks() -> None:
    speaking = {name_of(path) for path in MODULES if "print" in set(calls(path))}
    assert {name for name in speaking if not re.match(r"src/pullcurve/(?:cli|web)/", name)} == set()


def test_degrees_are_turned_in_units_only() -> None:
    turning = re.compile(r"(?:np|numpy|math)\.(?:deg2rad|rad2deg|radians|degrees)")
    below = [SOURCE / floor for floor in ("mechanics", "parts", "pull", "studies")]
    found = {
        f"{name_of(path)}: {call}"
        for path in MODULES
        if any(path.is_relative_to(floor) for floor in below)
        for call in calls(path)
        if turning.fullmatch(call)
    }
    assert found == set()


def test_queries_stand_in_the_store_only() -> None:
    """A step from one schema to the next belongs to the store and is never changed afterwards."""
    found = {name_of(path) for path in MODULES if "SELECT " in path.read_text(encoding="utf-8")}
    steps = {name for name in found if name.startswith("src/pullcurve/book/migrations/versions/")}
    assert found - steps <= {"src/pullcurve/book/store.py"}


def test_no_file_contains_what_does_not_belong_in_it() -> None:
    found = []
    for path in project_files():
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:  # a picture
            continue
        found += [
            f"{name_of(path)}:{number}: {what}"
            for number, line in enumerate(lines, 1)
            for what, pattern in FORBIDDEN.items()
            if pattern.search(line)
        ]
    assert found == []


# Pins -------------------------------------------------------------------------------------------------------


def pins(file: str) -> list[str]:
    """The requirements of a file of pins, one a line, without comments."""
    text = (ROOT / file).read_text(encoding="utf-8").replace("\\\n", " ")
    return [line for line in text.splitlines() if line and not line.lstrip().startswith("#")]


@pytest.mark.parametrize("file", ["requirements.txt", "requirements-dev.txt"])
def test_pins_carry_hashes_and_no_address(file: str) -> None:
    name, where, digest = (
        r"[a-z0-9-]+(?:\[[a-z0-9,-]+\])?",
        r" ; [\w.*<>=!'\" ]+?",
        r" +--hash=sha256:[0-9a-f]{64}",
    )
    pin = re.compile(rf"{name}==[\w.]+(?:{where})?(?:{digest})+ *")
    assert [line for line in pins(file) if not pin.fullmatch(line)] == []
    assert "://" not in (ROOT / file).read_text(encoding="utf-8")


def test_development_pins_contain_the_run_time_pins() -> None:
    assert sorted(set(pins("requirements.txt")) - set(pins("requirements-dev.txt"))) == []


def test_pins_cover_what_the_package_asks_for() -> None:
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    for wanted, file in (
        (asked["project"]["dependencies"], "requirements.txt"),
        (asked["dependency-groups"]["dev"], "requirements-dev.txt"),
    ):
        pinned = {re.split(r"\[|==", line)[0] for line in pins(file)}
        assert {re.split(r"[<>=~! ;\[]", name)[0] for name in wanted} - pinned == set()


# The checks themselves --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Force, F [N].", True),
        ("Torque [N m]", True),
        ("V [m3] and dV/dp [m3/Pa]", True),
        ("all three [rad, -, 1/rad]", True),
        ("y [unit of the curve]", True),
        ("Force, F.", False),
        ("Force, F [kgf].", False),
        ("the index [i]", False),
    ],
)
def test_units_are_told_from_other_brackets(text: str, expected: bool) -> None:
    assert has_unit(text) is expected


def test_forbidden_patterns_find_what_they_are_for() -> None:
    slash = "/"
    samples = {
        "the host of a package registry": "files." + "pythonhosted" + ".org",
        "a path of one machine": slash + "root" + slash + "main",
        "a code of digit, letter, digit": "1" + "B" + "2",
    }
    for what, pattern in FORBIDDEN.items():
        assert pattern.search(samples[what])
