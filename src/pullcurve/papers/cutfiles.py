"""Files that a cutter reads: DXF of two releases and SVG at full size, in mm, one layer for each kind of line."""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING, Literal

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.drawing import Circle, Polyline, Shape, Sheet, Text, svg
from pullcurve.papers.flank import cutter_path
from pullcurve.papers.lettering import Lettering, base_line, engraved, holes_mm, in_mm
from pullcurve.parts.fit import zone_of
from pullcurve.pull.plate import CHORD, Metal
from pullcurve.units import from_si

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

Release = Literal["R2000", "R12"]

LAYERS = {"profile": 7, "bore": 5, "holes": 4, "engraving": 3, "cutter_path": 1, "notes": 8}
"""Layers and their colours by number in the format's own table; a name of the older release has no blank."""

NOTE_HEIGHT, NOTE_STEP, MARGIN = 2.0, 3.2, 5.0
CAPITALS = 0.66
"""Height of capitals over the size of the type."""

SIGNS = {
    "Ø": "%%c",
    "⌀": "%%c",
    "°": "%%d",
    "±": "%%p",
    "−": "-",
    "–": "-",
    "·": "-",
    "×": "x",
    "µ": "u",
    "≤": "<=",
    "ß": "ss",
}
"""What the format writes for signs that are not ASCII."""


@dataclass(frozen=True, slots=True)
class CutLines:
    """Everything that is cut, engraved or said of a cam, mm."""

    profile: FloatArray
    bore: float
    holes: tuple[tuple[float, float, float], ...]
    engraving: Lettering | None
    cutter: FloatArray
    notes: tuple[str, ...]


def cut_lines(metal: Metal) -> CutLines:
    """The lines of a cam in mm; no chord of profile or cutter path is further off than CHORD [m]."""
    bore = from_si("radius_mm", metal.bore_radius)
    engraving = engraved(metal)
    return CutLines(
        profile=in_mm(metal.outline),
        bore=bore,
        holes=holes_mm(metal),
        engraving=engraving,
        cutter=in_mm(cutter_path(metal, CHORD)),
        notes=tuple(_notes(metal, engraving is not None)),
    )


def _notes(metal: Metal, engraved_on_it: bool) -> Iterator[str]:
    """What the maker has to know besides the lines."""
    bore = zone_of(metal.bore_fit, round(from_si("bore_mm", 2 * metal.bore_radius), 6))
    limits = f"{bore.smallest_mm:.3f} to {bore.largest_mm:.3f}"
    yield metal.name
    yield f"bore Ø{bore.diameter_mm:g} {bore.name} ({limits})"
    yield f"{from_si('thickness_mm', metal.thickness):g} mm {metal.material}"
    yield f"cutter path: centre of Ø{from_si('cutter_mm', 2 * metal.cutter_radius):g}"
    yield f"mm, chord error at most {from_si('chord_mm', CHORD):g} mm"
    if metal.engraving and not engraved_on_it:
        yield f"engraving finds no room: {metal.engraving}"


# DXF ---------------------------------------------------------------------------------------------------------


def ascii_text(text: str) -> str:
    """A text in the format's plain ASCII: `%%c` for a diameter, `%%d` for degrees; no other control codes."""
    broken = " ".join(text.split())
    while "%%" in broken:
        broken = broken.replace("%%", "% %")
    known = "".join(SIGNS.get(sign, sign) for sign in broken)
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", known) if not unicodedata.combining(sign))
    plain = bare.encode("ascii", "replace").decode("ascii")
    return "".join(sign for sign in plain if sign.isprintable()).strip()


def cut_dxf(metal: Metal, release: Release = "R2000") -> str:
    """A cam as DXF text in mm: closed polyline, circles, ASCII text; the same bytes every time."""
    from ezdxf._options import options

    lines = cut_lines(metal)
    before = options.write_fixed_meta_data_for_testing
    # The library notes the time when it makes and when it writes a document.
    options.write_fixed_meta_data_for_testing = True
    try:
        return _comments(lines) + _text_of(_document(lines, release))
    finally:
        options.write_fixed_meta_data_for_testing = before


def _document(lines: CutLines, release: Release) -> "Drawing":
    """Every line on its layer."""
    from ezdxf import units
    from ezdxf.document import Drawing

    document = Drawing.new(release)
    document.header["$MEASUREMENT"] = 1
    if release == "R2000":  # the older release knows no unit; its notes say mm
        document.units = units.MM
    for name, colour in LAYERS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    _polyline(space, release, lines.profile, "profile", closed=True)
    _polyline(space, release, lines.cutter, "cutter_path", closed=False)
    space.add_circle((0.0, 0.0), lines.bore, dxfattribs={"layer": "bore"})
    for x, y, radius in lines.holes:
        space.add_circle((x, y), radius, dxfattribs={"layer": "holes"})
    _write_texts(space, lines)
    return document


def _polyline(space: "Modelspace", release: Release, points: FloatArray, layer: str, closed: bool) -> None:
    """A light polyline, or for the older release its heavy forerunner."""
    attributes = {"layer": layer}
    add = space.add_polyline2d if release == "R12" else space.add_lwpolyline
    add(points.tolist(), close=closed, dxfattribs=attributes)


def _write_texts(space: "Modelspace", lines: CutLines) -> None:
    """Engraving where it finds room on the cam, notes under it."""
    from ezdxf.enums import TextEntityAlignment

    if lines.engraving:
        known = lines.engraving
        attributes = {"layer": "engraving", "rotation": np.rad2deg(known.turn)}
        text = space.add_text(ascii_text(known.content), height=known.height, dxfattribs=attributes)
        text.set_placement(base_line(known), align=TextEntityAlignment.CENTER)
    left, low = np.minimum(lines.profile.min(axis=0), lines.cutter.min(axis=0)).tolist()
    for row, note in enumerate(lines.notes):
        text = space.add_text(ascii_text(note), height=NOTE_HEIGHT, dxfattribs={"layer": "notes"})
        text.set_placement((left, low - MARGIN - NOTE_STEP * row))


def _comments(lines: CutLines) -> str:
    """The notes once more as comments before the first section, for who opens the file as text."""
    return "".join(f"999\n{ascii_text(note)}\n" for note in lines.notes)


def _text_of(document: "Drawing") -> str:
    out = StringIO()
    document.write(out)
    return out.getvalue()


# SVG ---------------------------------------------------------------------------------------------------------


def cut_svg(metal: Metal) -> str:
    """A cam as SVG at full size: width and height in mm, a group for each layer, nothing behind it."""
    lines = cut_lines(metal)
    every = np.concatenate([lines.profile, lines.cutter])
    (left, low), (right, high) = every.min(axis=0) - MARGIN, every.max(axis=0) + MARGIN
    groups: dict[str, tuple[Shape, ...]] = {
        "profile": (Polyline(lines.profile, closed=True, pen="cut"),),
        "bore": (Circle((0.0, 0.0), lines.bore, "cut"),),
        "holes": tuple(Circle((x, y), radius, "cut") for x, y, radius in lines.holes),
        "engraving": tuple(_svg_text(lines.engraving)),
        "cutter_path": (Polyline(lines.cutter, pen="cut", ink="proposed"),),
    }
    sheet = Sheet(float(left), float(low), float(right - left), float(high - low))
    return svg(groups, sheet, "; ".join(lines.notes))


def _svg_text(text: Lettering | None) -> Iterator[Text]:
    if text:
        size = text.height / CAPITALS
        yield Text(base_line(text), text.content, size, turn=text.turn, ink="fitted")
