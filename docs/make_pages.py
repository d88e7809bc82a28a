"""Refresh what the pages quote from the program: terminal output, files, tables. By hand only the words between.

Run it in a clone with `.venv/bin/python docs/make_pages.py`; `--pictures` draws docs/img as well. A block stands
between `<!-- made: ... -->` and `<!-- end -->`. `tests/test_docs.py` fails when a block is not what is made now.
"""

import os
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout, suppress
from functools import cache
from io import StringIO
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from docs import tables  # noqa: E402  (the clone's own source comes first)
from pullcurve.cli.commands import main as pullcurve  # noqa: E402

PAGES = ("README.md", *(f"docs/{name}.md" for name in ("tour", "theory", "nomenclature", "architecture")))
DEMO = "src/pullcurve/data/demo"
MAIN = f"{DEMO}/enduro-300.toml"
WIDTH = "110"
BLOCK = re.compile(r"(<!-- made: (\w+) ?(.*?) -->\n)(.*?)(?=<!-- end -->)", re.DOTALL)

PICTURES = {
    "pull.png": ("pull", MAIN, "--plot", "pull.png"),
    "find.png": ("find", MAIN, "--plot", "find.png"),
    "cam.png": ("cam", "show", MAIN, "--kind", "brake", "--plot", "cam.png"),
    "bench.png": ("bench", "diagnose", f"{DEMO}/enduro-300-brake-1.csv", "--plot", "bench.png"),
}
"""Pictures of docs/img, each with the command that draws it."""


@contextmanager
def desk() -> Iterator[Path]:
    """An empty folder to run commands in, with the demo jobs where a clone has them."""
    known = {name: os.environ.get(name) for name in ("COLUMNS", "NO_COLOR")}
    os.environ.update(COLUMNS=WIDTH, NO_COLOR="1")
    try:
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(ROOT / DEMO, Path(folder, DEMO))
            with chdir(folder):
                yield Path(folder)
    finally:
        for name, value in known.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@cache
def said(arguments: tuple[str, ...]) -> str:
    """What the command line says, on both streams; its exit code is for scripts."""
    heard, told = StringIO(), StringIO()
    with redirect_stdout(heard), redirect_stderr(told), suppress(SystemExit):
        pullcurve(list(arguments))
    lines = (heard.getvalue().rstrip() + "\n" + told.getvalue().strip()).strip("\n").splitlines()
    return "\n".join(line.rstrip() for line in lines)


def words_of(line: str) -> tuple[str, ...]:
    """The arguments of a line as a shell would cut it: blanks between, double quotes around."""
    return tuple(quoted or bare for quoted, bare in re.findall(r'"([^"]*)"|(\S+)', line))


def run(line: str) -> str:
    """A command with its output; `[from .. to]` in front keeps the lines from one text to the next."""
    cut = re.match(r"\[(.*?) \.\. (.*?)\] ", line)
    command = line[cut.end() :] if cut else line
    output = said(words_of(command))
    kept = part(output, cut[1], cut[2]) if cut else output
    return f"```console\n$ python3 run.py {command}\n{kept}\n```\n"


def part(text: str, first: str, last: str) -> str:
    """The lines from one text to the next with another; three dots stand for the others."""
    lines = text.splitlines()
    begin = row_of(lines, first, 0)
    end = row_of(lines, last, begin)
    before, after = ["…"] if begin else [], ["…"] if end + 1 < len(lines) else []
    return "\n".join([*before, *lines[begin : end + 1], *after])


def row_of(lines: list[str], text: str, start: int) -> int:
    """The first line from a row on that is a text, or else that holds it."""
    for alike in (str.__eq__, str.__contains__):
        for row in range(start, len(lines)):
            if alike(lines[row], text):
                return row
    raise ValueError(f'no line from {start + 1} on has "{text}":\n' + "\n".join(lines))


def changed(line: str) -> str:
    """What a command says of the demo job with one of its lines changed: `command: before | after`."""
    command, _, lines = line.partition(": ")
    before, _, after = lines.partition(" | ")
    text = Path(MAIN).read_text(encoding="utf-8")
    if before not in text:
        raise ValueError(f"{MAIN} does not hold {before}")
    Path("job.toml").write_text(text.replace(before, after), encoding="utf-8")
    said.cache_clear()
    return run(command)


def file(name: str) -> str:
    """A file of the project as it stands."""
    language = {".py": "python", ".toml": "toml"}[Path(name).suffix]
    return f"```{language}\n{(ROOT / name).read_text(encoding='utf-8').rstrip()}\n```\n"


def python(name: str) -> str:
    """What a Python file of the project prints."""
    heard = StringIO()
    code = compile((ROOT / name).read_text(encoding="utf-8"), name, "exec")
    with redirect_stdout(heard):
        exec(code, {"__name__": "__main__"})
    return f"```text\n{heard.getvalue().rstrip()}\n```\n"


def table(name: str) -> str:
    """A table made from the code."""
    return tables.MADE[name]()


MADE: dict[str, Callable[[str], str]] = {
    "run": run,
    "changed": changed,
    "file": file,
    "python": python,
    "table": table,
}


def refreshed(page: str) -> str:
    """A page with every block as the program makes it now."""
    with desk():
        return BLOCK.sub(lambda found: found[1] + MADE[found[2]](found[3]), page)


def draw() -> None:
    """Draw the pictures."""
    for name, command in PICTURES.items():
        with desk() as folder:
            said.cache_clear()
            said(command)
            shutil.copy(folder / name, ROOT / "docs" / "img" / name)


def main(arguments: list[str]) -> None:
    """Refresh every page, and the pictures where asked."""
    for page in PAGES:
        place = ROOT / page
        old = place.read_text(encoding="utf-8")
        new = refreshed(old)
        place.write_text(new, encoding="utf-8")
        print(f"{page}: {'as it was' if new == old else 'refreshed'}")
    if "--pictures" in arguments:
        draw()
        print("docs/img: drawn")


if __name__ == "__main__":
    main(sys.argv[1:])
