"""Curves of a vector picture (SVG) at full size: paths, polygons and circles, with the groups that hold them."""

import math
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from pullcurve.intake.files import refused
from pullcurve.mechanics.curve import FloatArray

INCH_MM = 25.4
SIZES_MM: Mapping[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "in": INCH_MM,
    "pt": INCH_MM / 72.0,
    "pc": INCH_MM / 6.0,
    "px": INCH_MM / 96.0,
    "": INCH_MM / 96.0,
}
"""Millimetres of the units that a size may be in (CSS Values and Units, absolute lengths)."""

NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
STEP = re.compile(rf"([A-Za-z])|({NUMBER.pattern})")
MOVE = re.compile(r"(matrix|translate|scale|rotate)\s*\(([^)]*)\)")
TAKES: Mapping[str, int] = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
"""Numbers that each letter of a path takes (SVG 2, chapter 9)."""

FEWEST, MOST = 2, 4000
"""Chords of one curved piece."""

MOST_POINTS = 500_000
"""Points of a whole picture."""

Piece = tuple[str, FloatArray]


def svg_pieces(file: Path, chord_mm: float) -> list[Piece]:
    """Every curve of a vector picture with the group that holds it, y up [mm]; closed ones end where they began."""
    try:
        text = file.read_bytes()
        if b"<!ENTITY" in text:
            raise refused(file, "holds entities of its own; save it as plain SVG")
        root = ElementTree.fromstring(text)
        if root.tag.rpartition("}")[2] != "svg":
            raise refused(file, "is XML, but no vector picture (SVG)")
        frame = _frame(root, file)
        found: list[Piece] = []
        count = 0
        with np.errstate(all="ignore"):  # what is not finite is left out below
            for layer, place, element in _elements(root, frame):
                lines = list(_curves(element, place, chord_mm))
                found += [(layer, points) for points in lines]
                count += sum(len(points) for points in lines)
                _few(count)
    except (ElementTree.ParseError, ValueError, TypeError, IndexError, ArithmeticError, OSError) as error:
        reason = str(error).splitlines() or ["it ends too early"]
        raise refused(file, f"cannot be read as a vector picture (SVG): {reason[0][:80]}") from None
    return [(layer, points) for layer, points in found if len(points) > 1 and np.isfinite(points).all()]


def _few(count: int) -> None:
    if count > MOST_POINTS:
        raise ValueError(f"it has more than {MOST_POINTS} points")


def _frame(root: ElementTree.Element, file: Path) -> FloatArray:
    """What takes the picture's units to mm, y up, (2, 3)."""
    size = re.fullmatch(rf"\s*({NUMBER.pattern})\s*([a-z]*)\s*", root.get("width", ""))
    box = [float(one) for one in NUMBER.findall(root.get("viewBox", ""))]
    if size is None or size[2] not in SIZES_MM:
        raise refused(file, f"states no full size: a width in {', '.join(filter(None, SIZES_MM))} is needed")
    unit = SIZES_MM[size[2]]
    scale = unit * float(size[1]) / box[2] if len(box) == 4 and box[2] > 0 else unit
    return np.array([[scale, 0.0, 0.0], [0.0, -scale, 0.0]])


def _elements(
    root: ElementTree.Element, frame: FloatArray
) -> Iterator[tuple[str, FloatArray, ElementTree.Element]]:
    """Every element with its group and where it stands; what is only defined is not drawn."""
    left = [("", frame, root)]
    while left:
        layer, place, element = left.pop()
        name = element.tag.rpartition("}")[2]
        if name in ("defs", "symbol", "clipPath", "mask", "marker", "pattern"):
            continue
        place = _moved(place, element.get("transform", ""))
        layer = element.get("id", layer) if name == "g" else layer
        yield layer, place, element
        left += [(layer, place, child) for child in reversed(element)]


def _moved(place: FloatArray, text: str) -> FloatArray:
    """A place after the moves of an element."""
    for name, inside in MOVE.findall(text):
        known = [float(one) for one in NUMBER.findall(inside)]
        place = _after(place, MOVES[name](*known))
    return place


def _after(place: FloatArray, inner: FloatArray) -> FloatArray:
    return np.column_stack([place[:, :2] @ inner[:, :2], place[:, :2] @ inner[:, 2] + place[:, 2]])


def _translate(x: float, y: float = 0.0) -> FloatArray:
    return np.array([[1.0, 0.0, x], [0.0, 1.0, y]])


def _scale(x: float, y: float | None = None) -> FloatArray:
    return np.array([[x, 0.0, 0.0], [0.0, x if y is None else y, 0.0]])


def _rotate(degrees: float, x: float = 0.0, y: float = 0.0) -> FloatArray:
    angle = math.radians(degrees)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    return np.column_stack([turn, np.array([x, y]) - turn @ np.array([x, y])])


def _matrix(a: float, b: float, c: float, d: float, e: float, f: float) -> FloatArray:
    return np.array([[a, c, e], [b, d, f]])


MOVES: Mapping[str, Callable[..., FloatArray]] = {
    "translate": _translate,
    "scale": _scale,
    "rotate": _rotate,
    "matrix": _matrix,
}


def _curves(element: ElementTree.Element, place: FloatArray, chord_mm: float) -> Iterator[FloatArray]:
    """Points along the curves of one element [mm]."""
    size = math.sqrt(abs(float(np.linalg.det(place[:, :2]))))
    chord = chord_mm / size if size > 0 else math.inf
    name = element.tag.rpartition("}")[2]
    if name == "path":
        lines = list(_path(element.get("d", ""), chord))
    elif name in ("polygon", "polyline"):
        points = np.array([float(one) for one in NUMBER.findall(element.get("points", ""))]).reshape(-1, 2)
        lines = [np.concatenate([points, points[:1]]) if name == "polygon" else points]
    elif name in ("circle", "ellipse"):
        both = "r", "r"
        x, y, wide, high = (
            float(element.get(key, 0)) for key in ("cx", "cy", *(both if name == "circle" else ("rx", "ry")))
        )
        turn = np.linspace(0.0, 2.0 * math.pi, _count(max(wide, high), 2.0 * math.pi, chord) + 1)
        lines = [np.column_stack([x + wide * np.cos(turn), y + high * np.sin(turn)])]
    else:
        return
    for line in lines:
        yield line @ place[:, :2].T + place[:, 2]


def _count(radius: float, turn: float, chord: float) -> int:
    """Chords of an arc that stay as near to it as asked: the sagitta of one is r t2/8."""
    return int(np.clip(math.ceil(abs(turn) * math.sqrt(abs(radius) / (8.0 * chord))), FEWEST, MOST))


# Paths ----------------------------------------------------------------------------------------------------------------


def _path(text: str, chord: float) -> Iterator[FloatArray]:
    """Points along every part of a path, in its own units."""
    at, start, hinge = np.zeros(2), np.zeros(2), None
    line: list[FloatArray] = []
    for letter, numbers in _steps(text):
        kind, base = letter.upper(), at if letter.islower() else np.zeros(2)
        if kind == "M":
            if len(line) > 1:
                yield np.array(line)
            at = start = base + numbers
            line, hinge = [at], None
            continue
        if kind == "Z":
            yield np.array([*line, start])
            at, line, hinge = start, [start], None
            continue
        corners = _corners(kind, numbers, base, at, hinge)
        points = _arc(at, numbers, base, chord) if kind == "A" else _bent(np.array([at, *corners]), chord)
        hinge = _mirrored(kind, corners)
        at = points[-1]
        line += list(points)
        _few(len(line))
    if len(line) > 1:
        yield np.array(line)


def _steps(text: str) -> Iterator[tuple[str, FloatArray]]:
    """Letters of a path with their numbers; one letter may stand for many, and lines follow a move."""
    letter = ""
    numbers: list[float] = []
    for word, number in STEP.findall(text):
        if word:
            if numbers:
                raise ValueError(f"a path breaks off after {letter}")
            letter = word
            if letter.upper() not in TAKES:
                raise ValueError(f"a path has the letter {letter}, which is none")
        else:
            numbers.append(float(number))
        takes = TAKES.get(letter.upper(), -1)
        if len(numbers) == takes:
            yield letter, np.array(numbers)
            numbers = []
            letter = {"M": "L", "m": "l", "Z": "", "z": ""}.get(letter, letter)
    if numbers:
        raise ValueError(f"a path breaks off after {letter or 'nothing'}")


def _corners(
    kind: str, numbers: FloatArray, base: FloatArray, at: FloatArray, hinge: tuple[str, FloatArray] | None
) -> list[FloatArray]:
    """Control points of a piece after its start."""
    if kind == "A":
        return []
    if kind in "HV":
        along = 0 if kind == "H" else 1
        end = at.copy()
        end[along] = base[along] + numbers[0]
        return [end]
    known = [base + pair for pair in numbers.reshape(-1, 2)]
    if kind in "ST":
        smooth = hinge is not None and hinge[0] == kind
        known.insert(0, 2 * at - hinge[1] if smooth and hinge is not None else at)
    return known


def _mirrored(kind: str, corners: list[FloatArray]) -> tuple[str, FloatArray] | None:
    """The control point that a smooth piece goes on from, and which kind of piece that is."""
    if kind in "CS":
        return "S", corners[-2]
    return ("T", corners[-2]) if kind in "QT" else None


def _bent(corners: FloatArray, chord: float) -> FloatArray:
    """Points after the start along a line or a Bezier curve of degree 2 or 3."""
    degree = len(corners) - 1
    if degree == 1:
        return corners[1:]
    bend = degree * (degree - 1) * float(np.max(np.hypot(*np.diff(corners, n=2, axis=0).T)))
    count = int(np.clip(math.ceil(math.sqrt(bend / (8.0 * chord))), FEWEST, MOST))
    share = np.linspace(0.0, 1.0, count + 1)[1:, None]
    weights = [math.comb(degree, k) * share**k * (1 - share) ** (degree - k) for k in range(degree + 1)]
    return np.asarray(sum(weight * corner for weight, corner in zip(weights, corners, strict=True)))


def _arc(at: FloatArray, numbers: FloatArray, base: FloatArray, chord: float) -> FloatArray:
    """Points after the start along an elliptical arc given by its ends (SVG 2, appendix B.2)."""
    wide, high = abs(numbers[0]), abs(numbers[1])
    end = base + numbers[5:]
    if wide == 0.0 or high == 0.0 or np.array_equal(at, end):
        return end[None, :]
    angle = math.radians(numbers[2])
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    half = turn @ (at - end) / 2.0
    grown = max(1.0, math.hypot(half[0] / wide, half[1] / high))
    size = np.array([wide, high]) * grown
    unit = half / size
    away = math.sqrt(max(0.0, 1.0 / float(unit @ unit) - 1.0)) * (1.0 if numbers[3] != numbers[4] else -1.0)
    middle = away * np.array([unit[1], -unit[0]])
    first, last = (math.atan2(*(side - middle)[::-1]) for side in (unit, -unit))
    sweep = (last - first) % (2.0 * math.pi) if numbers[4] else -((first - last) % (2.0 * math.pi))
    turns = first + np.linspace(0.0, sweep, _count(float(size.max()), sweep, chord) + 1)[1:]
    round_ = np.column_stack([np.cos(turns), np.sin(turns)]) + middle
    points = (round_ * size) @ turn + (at + end) / 2.0
    points[-1] = end
    return np.asarray(points)


__all__ = ["svg_pieces"]
