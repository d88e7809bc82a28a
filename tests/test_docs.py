"""The pages say what the program does: quotes, tables, commands, links and examples are compared with the code."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

import pullcurve
import run
from docs import make_pages, tables
from pullcurve.cli.commands import group
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import facets

ROOT = Path(run.__file__).resolve().parent
PAGES = {name: (ROOT / name).read_text(encoding="utf-8") for name in make_pages.PAGES}
README = PAGES["README.md"]
MODULES = sorted(path for path in (ROOT / "src" / "pullcurve").glob("*/*.py") if path.stem != "__init__")
OWN = {"test", "benchmark"}
"""Commands of run.py itself; all others are passed on."""

REMEDY = "run `python docs/make_pages.py` (and read what changed)"


def blocks() -> Iterator[tuple[str, re.Match[str]]]:
    """Every made block of every page, with an id."""
    for name, text in PAGES.items():
        for found in make_pages.BLOCK.finditer(text):
            yield f"{name}: {found[2]} {found[3]}", found


BLOCKS = dict(blocks())


def flat(text: str) -> str:
    """A text with every run of blanks and line breaks as one blank."""
    return " ".join(text.split())


# Quotes and tables ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BLOCKS)
def test_block_is_what_the_program_makes_now(name: str) -> None:
    found = BLOCKS[name]
    with make_pages.desk():
        made = make_pages.MADE[found[2]](found[3])
    assert flat(found[4]) == flat(made), REMEDY


def test_every_block_has_its_end() -> None:
    opened, ended = (
        {name: len(re.findall(f"^<!-- {word}", text, flags=re.MULTILINE)) for name, text in PAGES.items()}
        for word in ("made: ", "end -->$")
    )
    assert opened == ended
    assert sum(opened.values()) == len(BLOCKS)


def test_every_table_is_asked_for() -> None:
    asked = {found[3] for found in BLOCKS.values() if found[2] == "table"}
    assert asked == set(tables.MADE)


def test_readme_shows_a_whole_answer_of_find() -> None:
    shown = next(found[4] for name, found in BLOCKS.items() if name.startswith("README.md: run find"))
    assert "…" not in shown
    for part in ("sets searched", "felt steps from the wishes", "one change at a time", "certifies nothing"):
        assert part in flat(shown)


def test_no_line_of_the_meanings_is_left_over() -> None:
    parts = {model.__name__.replace("Row", "Cam"): model for _, model in tables.sections()}
    known = {name: set(model.model_fields) for name, model in parts.items()}
    known |= {kind.__name__: {key for key, _ in facets(kind)} for kind in tables.READOUTS}
    assert {name: set(words) for name, words in tables.MEANINGS.items()} == known


# Commands ---------------------------------------------------------------------------------------------------


def typed() -> Iterator[tuple[str, list[str]]]:
    """Every command line in a page, with its words."""
    for name, text in PAGES.items():
        for line in re.findall(r"(?:python3 run\.py|(?<=`)pullcurve) ([a-z-][^`\n]*)", text):
            yield f"{name}: {line}", list(make_pages.words_of(line))


LINES = dict(typed())


@pytest.mark.parametrize("name", LINES)
def test_typed_command_and_its_options_exist(name: str) -> None:
    words = LINES[name]
    options = [word for word in words if word.startswith("-")]
    if words[0].startswith("-"):
        assert set(options) <= {"--help", "--version", "--wheelhouse"}
        return
    if words[0] in OWN:
        return
    known: click.Command = group
    for word in words:
        if not isinstance(known, click.Group):
            break
        known = known.commands[word]
    assert set(options) <= {one for param in known.params for one in param.opts}


def test_readme_has_every_command_and_option() -> None:
    for name, command in tables.every_command(group):
        assert f"`{name}" in README
        for param in command.params:
            if isinstance(param, click.Option):
                assert any(one in README for one in param.opts)


def test_readme_starts_with_demo_and_test() -> None:
    commands = re.findall(r"^    (python3 run\.py \w+)$", README, flags=re.MULTILINE)
    assert commands[:2] == ["python3 run.py demo", "python3 run.py test"]


# Interface and job file -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", pullcurve.__all__)
def test_name_of_the_interface_is_in_the_readme(name: str) -> None:
    assert f"`{name}`" in README


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.py")), ids=lambda path: path.name)
def test_example_runs_and_is_shown(path: Path) -> None:
    with make_pages.desk():
        assert make_pages.python(f"examples/{path.name}").count("\n") > 3
    assert any(f"file examples/{path.name}" in name for name in BLOCKS)


def test_lines_of_a_job_in_the_readme_are_known() -> None:
    lines = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
    assert lines is not None
    assert len(lines[1].splitlines()) == 10
    demo = pullcurve.demo_job().model_dump(exclude_unset=True)
    for section, keys in tomllib.loads(lines[1]).items():
        demo[section] = {**demo[section], **keys}
    assert Job.model_validate(demo).fitted.brake == pullcurve.demo_job().fitted.brake


# Links, pictures, modules -----------------------------------------------------------------------------------


def slug(heading: str) -> str:
    """The anchor that a heading gets."""
    kept = re.sub(r"[^\w\- ]", "", heading.strip().lower())
    return kept.replace(" ", "-")


def links() -> Iterator[tuple[str, str]]:
    """Every link of every page."""
    for name, text in PAGES.items():
        without_code = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
        for target in re.findall(r"\]\(([^)]+)\)", without_code):
            yield name, target


@pytest.mark.parametrize(("name", "target"), sorted(set(links())))
def test_link_leads_somewhere(name: str, target: str) -> None:
    file, _, anchor = target.partition("#")
    place = (ROOT / name).parent / file if file else ROOT / name
    assert place.exists()
    if anchor:
        headings = re.findall(r"^#+ (.*)$", place.read_text(encoding="utf-8"), flags=re.MULTILINE)
        assert anchor in map(slug, headings)


def test_pictures_are_those_that_are_drawn() -> None:
    pictures = {path.name: path.read_bytes() for path in (ROOT / "docs" / "img").iterdir()}
    assert set(pictures) == set(make_pages.PICTURES)
    shown = {Path(target).name for _, target in links() if "img/" in target and target.endswith(".png")}
    assert shown == set(pictures)
    for name, command in make_pages.PICTURES.items():
        assert pictures[name].startswith(b"\x89PNG")
        assert any(f"python3 run.py {' '.join(command)}" in text for text in PAGES.values()), "say how"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_module_is_in_the_architecture(path: Path) -> None:
    page = PAGES["docs/architecture.md"]
    rows = [row for row in page.splitlines() if f"| `{path.parent.name}` |" in row]
    assert any(f"`{path.stem}`" in row for row in rows)


# The makers -------------------------------------------------------------------------------------------------


def test_part_of_a_text() -> None:
    text = "head\nbrake lever\nbrake\none\ntwo\ntail"
    assert make_pages.part(text, "brake", "two") == "…\nbrake\none\ntwo\n…"
    assert make_pages.part(text, "head", "tail") == text
    with pytest.raises(ValueError, match="no line from 1 on"):
        make_pages.part(text, "clutch", "two")


def test_argument_of_a_docstring() -> None:
    docstring = (
        "Summary.\n\nParameters\n----------\npsi : FloatArray\n    Rocker angle OAB, psi, shape (..., S) [rad].\n"
        "low, high : FloatArray\n    Ends, a and b, broadcastable [m3/Pa].\n\nReturns\n-------\nfloat\n    [-]\n"
    )
    assert list(tables.described(docstring)) == [
        ("psi", "ψ", "Rocker angle OAB", "rad"),
        ("low", "", "Ends, a and b", "m³/Pa"),
        ("high", "", "Ends, a and b", "m³/Pa"),
    ]
