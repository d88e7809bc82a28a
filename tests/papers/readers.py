"""Independent readers of what was written: GDAL and LibreCAD for cut files, Poppler for pages."""

import json
import os
import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from lxml import etree
from numpy.typing import NDArray
from PIL import Image
from shapely.geometry import shape

from pullcurve.mechanics.curve import FloatArray
from tests.debian import program

MM_PER_POINT = 25.4 / 72
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")

Read = list[tuple[str, shapely.Geometry, str]]


def asked(command: list[str], folder: Path) -> str:
    """What a program says; it may keep its settings in the folder only."""
    kept = {"HOME": str(folder), "XDG_RUNTIME_DIR": str(folder), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        command, cwd=folder, env={**os.environ, **kept}, capture_output=True, check=True, timeout=60
    )
    return done.stdout.decode()


def numbers(text: str) -> list[float]:
    """The numbers of an attribute."""
    return [float(one) for one in NUMBER.findall(text)]


def gdal(file: Path) -> Read:
    """Layer, geometry and text of every entity, as GDAL reads a DXF."""
    command = [
        program("gdal-bin"),
        "-f",
        "GeoJSON",
        "-lco",
        "COORDINATE_PRECISION=12",
        "/vsistdout/",
        file.name,
    ]
    return [
        (found["properties"]["Layer"], shape(found["geometry"]), found["properties"].get("Text", ""))
        for found in json.loads(asked(command, file.parent))["features"]
    ]


def librecad(file: Path) -> dict[tuple[int, int, int], FloatArray]:
    """Points of all strokes by their colour, mm on paper, y down, as LibreCAD plots a DXF at full size."""
    cairo = Path(program("poppler-utils")).with_name("pdftocairo")
    asked([program("librecad"), "dxf2pdf", "-c", "-s", "1", file.name], file.parent)
    asked([str(cairo), "-svg", "-noshrink", file.with_suffix(".pdf").name, "plot.svg"], file.parent)
    found: dict[tuple[int, int, int], list[FloatArray]] = {}
    for path in etree.parse(str(file.with_name("plot.svg"))).iter(f"{SVG}path"):
        colour = re.search(r"stroke:rgb\(([^)]*)\)", path.get("style") or "")
        if colour is None:
            continue  # the edge of what is shown
        red, green, blue = (round(2.55 * one) for one in numbers(colour[1]))
        points = np.array(numbers(path.get("d"))).reshape(-1, 2)
        stroke = MM_PER_POINT * placed(points, path.get("transform"))
        found.setdefault((red, green, blue), []).append(stroke)
    return {colour: np.concatenate(strokes) for colour, strokes in found.items()}


def page_lines(file: Path) -> list[str]:
    """The lines of a PDF as they stand side by side."""
    command = [str(Path(program("poppler-utils")).with_name("pdftotext")), "-layout", file.name, "-"]
    return asked(command, file.parent).splitlines()


def page_text(file: Path) -> str:
    """The words of a PDF, block by block, blanks and line breaks as one blank."""
    command = [str(Path(program("poppler-utils")).with_name("pdftotext")), file.name, "-"]
    return " ".join(asked(command, file.parent).split())


def page_facts(file: Path) -> dict[str, str]:
    """What the head of a PDF says: count and size of its pages."""
    command = [str(Path(program("poppler-utils")).with_name("pdfinfo")), file.name]
    lines = [line.partition(":") for line in asked(command, file.parent).splitlines()]
    return {key: value.strip() for key, _, value in lines}


@dataclass(frozen=True, slots=True)
class Word:
    """A word on a page and its box, mm from the upper left corner."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def page_words(file: Path) -> list[Word]:
    """Every word of a one-page PDF."""
    command = [str(Path(program("poppler-utils")).with_name("pdftotext")), "-bbox", file.name, "words.html"]
    asked(command, file.parent)
    edges = ("xMin", "yMin", "xMax", "yMax")
    return [
        Word(str(word.text), *(MM_PER_POINT * float(word.get(key)) for key in edges))
        for word in etree.parse(str(file.with_name("words.html"))).iter("{http://www.w3.org/1999/xhtml}word")
    ]


def page_strokes(file: Path) -> list[FloatArray]:
    """Points of every stroke of a one-page PDF, mm from the upper left corner."""
    command = [
        str(Path(program("poppler-utils")).with_name("pdftocairo")),
        "-svg",
        "-noshrink",
        file.name,
        "page.svg",
    ]
    asked(command, file.parent)
    found = []
    for path in etree.parse(str(file.with_name("page.svg"))).iter(f"{SVG}path"):
        if "stroke:rgb" in (path.get("style") or ""):
            points = np.array(numbers(path.get("d"))).reshape(-1, 2)
            found.append(MM_PER_POINT * placed(points, path.get("transform")))
    return found


def placed(points: FloatArray, transform: str | None) -> FloatArray:
    """Points under the transform of their element."""
    a, b, c, d, e, f = numbers(transform or "1 0 0 1 0 0")
    moved: FloatArray = points @ np.array([[a, b], [c, d]]) + [e, f]
    return moved


def page_picture(file: Path, dots_per_inch: int) -> NDArray[np.uint8]:
    """A one-page PDF as grey values, row by row."""
    command = [program("poppler-utils"), "-r", str(dots_per_inch), "-gray", "-png", "-singlefile"]
    asked([*command, file.name, "page"], file.parent)
    with Image.open(file.with_name("page.png")) as picture:
        return np.asarray(picture.convert("L"))
