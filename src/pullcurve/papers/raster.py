"""From SVG to paper: PNG and PDF through typst, with the project's font files and none of the system's."""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType

FONT_FILES = ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf")
PX = 0.75
"""A px is 1/96 inch, a point 1/72 inch (CSS Values and Units, absolute lengths)."""

DOT_LIMIT = 20_000

VIEW_BOX = re.compile(r'<svg\b[^>]*\bviewBox="([^"]*)"')
LABEL = re.compile(r'<svg\b[^>]*\baria-label="([^"]*)"')

SOURCE = """#set document(title: sys.inputs.title, date: none)
#set page(width: {width}pt, height: {height}pt, margin: 0pt)
#image("figure.svg", width: 100%, height: 100%, alt: sys.inputs.title)
"""


def png(svg: str, width_px: int = 1800) -> bytes:
    """The figure as a PNG of so many px across."""
    if not 1 <= width_px <= DOT_LIMIT:
        raise ValueError(f"a PNG {width_px} px wide: give 1 to {DOT_LIMIT} px")
    width, _ = size_of(svg)
    return _compiled(svg, "png", 72.0 * width_px / (width * PX))


def pdf(svg: str) -> bytes:
    """The figure as a PDF page of its own size, lines as lines and text as text, every time the same."""
    return _compiled(svg, "pdf")


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a figure, px, from its view box."""
    found = VIEW_BOX.search(svg)
    numbers = [float(part) for part in found[1].split()] if found else []
    if len(numbers) != 4 or min(numbers[2:]) <= 0.0:
        raise ValueError("this text is no figure: its <svg> has no viewBox with a width and a height")
    return numbers[2], numbers[3]


@contextmanager
def fonts() -> Iterator[Path]:
    """A folder with the font files of the project alone.

    Their package holds every face twice, in two formats; which one is found would depend on the machine.
    """
    package = _needed("font_source_sans_pro", "font-source-sans-pro")
    with TemporaryDirectory() as folder:
        for name in FONT_FILES:
            shutil.copyfile(Path(package.font_directory) / name, Path(folder) / name)
        yield Path(folder)


def _needed(module: str, package: str) -> ModuleType:
    """A module, or a sentence that says what is missing and what still works."""
    try:
        return import_module(module)
    except ModuleNotFoundError as missing:
        raise ModuleNotFoundError(
            f"PNG and PDF need the Python package {package}, which is not installed here; "
            f"install it, or write the figure as SVG, which needs nothing",
            name=module,
        ) from missing


def _compiled(svg: str, form: str, dots_per_inch: float | None = None) -> bytes:
    """One page with the figure on it."""
    typst = _needed("typst", "typst")
    width, height = size_of(svg)
    label = LABEL.search(svg)
    page = SOURCE.format(width=f"{width * PX:.4f}", height=f"{height * PX:.4f}")
    with fonts() as folder:
        result = typst.compile(
            {"main.typ": page.encode(), "figure.svg": svg.encode()},
            format=form,
            ppi=dots_per_inch,
            font_paths=typst.Fonts(
                include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)]
            ),
            sys_inputs={"title": unescape(label[1]) if label else "figure"},
        )
    return bytes(result)
