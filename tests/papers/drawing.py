"""Reading a figure back: its words and their boxes, computed from the font files and not by the writer."""

import re
import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import font_source_sans_pro

SPACE = "{http://www.w3.org/2000/svg}"
ASCENT, DESCENT = 0.72, 0.22
"""Height of capitals and depth of descenders in type sizes, a little generously."""


@cache
def glyph_widths(weight: str) -> dict[str, float]:
    """Advance width of every character in type sizes, read from the font file (OpenType cmap, hmtx)."""
    name = "Semibold" if weight == "600" else "Regular"
    data = (Path(font_source_sans_pro.font_directory) / f"SourceSansPro-{name}.ttf").read_bytes()
    count = struct.unpack(">H", data[4:6])[0]
    tables = {
        data[at : at + 4].decode(): struct.unpack(">I", data[at + 8 : at + 12])[0]
        for at in range(12, 12 + 16 * count, 16)
    }
    em = struct.unpack(">H", data[tables["head"] + 18 : tables["head"] + 20])[0]
    metrics = struct.unpack(">H", data[tables["hhea"] + 34 : tables["hhea"] + 36])[0]
    advance = struct.unpack(f">{2 * metrics}H", data[tables["hmtx"] : tables["hmtx"] + 4 * metrics])[::2]
    glyphs = _glyphs(data, tables["cmap"])
    return {chr(code): advance[min(glyph, metrics - 1)] / em for code, glyph in glyphs.items()}


def _glyphs(data: bytes, cmap: int) -> dict[int, int]:
    """Character code to glyph, from the Windows Unicode subtable in format 4."""
    for index in range(struct.unpack(">H", data[cmap + 2 : cmap + 4])[0]):
        platform, encoding, offset = struct.unpack(">HHI", data[cmap + 4 + 8 * index : cmap + 12 + 8 * index])
        if (platform, encoding) == (3, 1):
            break
    at = cmap + offset
    pairs = struct.unpack(">H", data[at + 6 : at + 8])[0]
    half = pairs // 2
    ends, starts, deltas, offsets = (
        struct.unpack(f">{half}H", data[begin : begin + pairs])
        for begin in (at + 14, at + 16 + pairs, at + 16 + 2 * pairs, at + 16 + 3 * pairs)
    )
    known = {}
    for index, (start, end, delta, offset) in enumerate(zip(starts, ends, deltas, offsets, strict=True)):
        for code in range(start, end + 1):
            glyph = code
            if offset:
                place = at + 16 + 3 * pairs + 2 * index + offset + 2 * (code - start)
                glyph = struct.unpack(">H", data[place : place + 2])[0]
            if glyph:
                known[code] = (glyph + delta) % 65536
    return {code: glyph for code, glyph in known.items() if glyph}


@dataclass(frozen=True, slots=True)
class Words:
    """A text of the figure and the box that it covers, px."""

    content: str
    kind: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Words") -> bool:
        """Whether the two cover each other."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def parse(svg: str) -> ElementTree.Element:
    """The figure as a tree; fails where it is not well formed."""
    return ElementTree.fromstring(svg)


def texts(svg: str) -> list[Words]:
    """Every text of the figure with its box."""
    return [_words(node) for node in parse(svg).iter(f"{SPACE}text")]


def _words(node: ElementTree.Element) -> Words:
    """One text; upright text is turned about its own anchor."""
    content = "".join(node.itertext())
    size = float(node.attrib["font-size"])
    known = glyph_widths(node.get("font-weight", "400"))
    width = size * sum(known.get(letter, 0.6) for letter in content)
    x, y = float(node.attrib["x"]), float(node.attrib["y"])
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")]
    left, right = x - shift * width, x + (1.0 - shift) * width
    top, bottom = y - ASCENT * size, y + DESCENT * size
    turn = re.fullmatch(r"rotate\(-90 ([\d.]+) ([\d.]+)\)", node.get("transform", ""))
    if turn:
        left, top, right, bottom = x - ASCENT * size, y + x - right, x + DESCENT * size, y + x - left
    return Words(content, node.get("class", ""), left, top, right, bottom)


def classes(svg: str) -> list[str]:
    """The classes of all elements, in order."""
    return [node.attrib["class"] for node in parse(svg).iter() if "class" in node.attrib]


def paths(svg: str, kind: str) -> list[str]:
    """Path data of all elements of a class."""
    return [node.attrib["d"] for node in parse(svg).iter(f"{SPACE}path") if node.get("class") == kind]
