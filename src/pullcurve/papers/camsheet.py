"""One A4 page that a cam is made from: views, flank in numbers, what the check says, cautions, title block."""

import json
import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib.resources import files
from typing import Any

import numpy as np

from pullcurve.papers.border import NONE, TitleBlock
from pullcurve.papers.camview import cam_view, degrees, scale_words
from pullcurve.papers.drawing import Circle, Line, Polyline, Shape, Sheet, cross, svg
from pullcurve.papers.inspection import Station, stations
from pullcurve.papers.lettering import holes_mm
from pullcurve.papers.letters import shorten, wrap
from pullcurve.papers.raster import fonts
from pullcurve.papers.style import LIGHT, SEMIBOLD
from pullcurve.papers.words import CAUTION
from pullcurve.pull.plate import Metal
from pullcurve.studies.findings import Verdict
from pullcurve.units import from_si

STEPS = (1.0, 2.0, 5.0, 10.0)
MOST_ROWS = 32
"""Rows of the flank's table that the page has room for."""

ROOM, ROW = 118.0, 2.05
"""Height of the flank's table and of the type in a row, mm."""

COLUMNS = ("angle °", "radius", "x", "y", "± radius")
POINT = 72.0 / 25.4
"""Typographic points in a mm."""

CELL_SIZE = 8.5
NAME_ROOM, NAME_SIZE, ENGRAVING_ROOM = 130.0, 12.0, 34.0
"""Room of a name and size of its type, room of what is engraved, mm and points."""

CHECK_ROOM, CHECK_WIDTH, HOLE_ROW = 52.0, 76.0, 3.6
"""Room of the check, mm; every hole takes a row of the data from its height."""

TYPE, LEADING, APART = 0.68, 0.5, 1.0
"""Height of a line and room between lines over the size of the type; room between entries, mm."""

CHECK_SIZES = (8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
MOST_LINES = 9
"""Lines of one sentence: none is cut."""

COMPARE = "Lay the cam on this view printed at its scale, and measure it against the inspection table."
TRADE = {
    "brake": "Let go: the lever returns by itself, the plunger clears its port, the wheel turns free.",
    "clutch": "Pulled to the grip the clutch is free of drag; let go it carries the whole torque.",
    "assist": "From every angle the lever comes back by itself, cold and worn too, before the engine runs.",
}
"""What fitting this kind of cam asks for, besides the usual cautions (common practice)."""


def cam_page(metal: Metal, verdict: Verdict, block: TitleBlock, tolerance: float) -> bytes:
    """The page as PDF, the same every time; the tolerance [m] is that of the flank at right angles to it."""
    with _ready(metal, verdict, block, tolerance) as (typst, parts, known):
        return bytes(typst.compile(parts, format="pdf", font_paths=known))


def cam_page_png(
    metal: Metal, verdict: Verdict, block: TitleBlock, tolerance: float, dots_per_inch: float = 150.0
) -> bytes:
    """The page as a picture to look at."""
    with _ready(metal, verdict, block, tolerance) as (typst, parts, known):
        return bytes(typst.compile(parts, format="png", ppi=dots_per_inch, font_paths=known))


@contextmanager
def _ready(
    metal: Metal, verdict: Verdict, block: TitleBlock, tolerance: float
) -> Iterator[tuple[Any, dict[str, bytes], Any]]:
    """The typesetter, the files that it reads, and the fonts that it may use."""
    import typst

    view, scale = cam_view(metal)
    data = page_data(metal, verdict, block, tolerance, scale)
    source = files("pullcurve.papers").joinpath("camsheet.typ").read_bytes()
    parts = {
        "main.typ": source,
        "view.svg": view.encode(),
        "projection.svg": first_angle().encode(),
        "data.json": json.dumps(data).encode(),
    }
    with fonts() as folder:
        known = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)]
        )
        yield typst, parts, known


def page_data(
    metal: Metal, verdict: Verdict, block: TitleBlock, tolerance: float, scale: float
) -> dict[str, Any]:
    """Every word and number of the page."""
    allowed = from_si("tolerance_mm", tolerance)
    step, rows = flank_rows(metal)
    lines, size = _fitted(check_lines(verdict), CHECK_ROOM - HOLE_ROW * len(metal.holes))
    return {
        "ink": LIGHT.ink,
        "ink_2": LIGHT.ink_2,
        "title": f"{metal.name}, cam drawing",
        "view": f"Front view of {metal.name} with its roller at rest, and section through the hub.",
        "name": shorten(metal.name, NAME_ROOM * POINT, NAME_SIZE, SEMIBOLD),
        "scale": scale_words(scale),
        "flank_title": f"Flank, every {step:g}° of cam angle",
        "columns": COLUMNS,
        "flank": [_cells(row, allowed) for row in rows],
        "row_inset": max(0.05, min(0.9, (ROOM / (len(rows) + 1) - ROW) / 2)),
        "flank_note": f"± radius: what ±{allowed:g} mm at right angles to the flank allows along the radius. "
        "Counter-clockwise is positive.",
        "data": cam_data(metal),
        "check_title": check_title(verdict),
        "verdict": lines,
        "check_size": size,
        "cautions": [COMPARE, TRADE[metal.drives], *_sentences(CAUTION)],
        "material": metal.material,
        "thickness": f"{from_si('thickness_mm', metal.thickness):g} mm",
        "tolerance": f"±{allowed:g} mm, to bore A",
        **_block(block),
    }


def _block(block: TitleBlock) -> dict[str, str]:
    """The title block, every entry on at most two lines of its cell."""
    rooms = {"job": 41.0, "machine": 39.0, "rider": 41.0, "set": 41.0, "numbers": 39.0, "date": 17.0}
    return {
        key: "\n".join(wrap(getattr(block, key), room * POINT, CELL_SIZE, lines=2)) or NONE
        for key, room in rooms.items()
    }


def _sentences(text: str) -> list[str]:
    """Sentences of a paragraph, one line each."""
    return re.split(r"(?<=\.) ", text)


# Flank -------------------------------------------------------------------------------------------------------


def flank_rows(metal: Metal) -> tuple[float, tuple[Station, ...]]:
    """Points of the flank at the finest whole step of cam angle for which the page has room, from start to end."""
    for step in STEPS:
        found = [one for one in stations(metal, step) if one.part == "flank"]
        if len(found) <= MOST_ROWS:
            break
    start = float(from_si("start_deg", math.atan2(metal.flank[0, 1], metal.flank[0, 0])))
    return step, tuple(sorted(found, key=lambda one: abs(_turn(one.angle_deg - start))))


def _turn(angle_deg: float) -> float:
    """An angle between -180 and 180 degrees."""
    return math.remainder(angle_deg, 360.0)


def _cells(one: Station, allowed: float) -> list[str]:
    """One row: angle, radius, x, y, tolerance of the radius."""
    radial = one.radial(allowed)
    numbers = (one.radius_mm, one.x_mm, one.y_mm)
    return [
        signed(_turn(one.angle_deg), 0),
        *(signed(value, 3) for value in numbers),
        NONE if radial is None else f"{radial:.3f}",
    ]


def signed(value: float, decimals: int) -> str:
    """A number with a true minus sign, never minus zero."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


# Data and check ----------------------------------------------------------------------------------------------


def cam_data(metal: Metal) -> list[tuple[str, str]]:
    """What the flank was computed for, and what it is cut with."""

    def mm(value: float) -> str:
        return f"{from_si('value_mm', value):g} mm"

    turns = "opposite to the cam" if metal.sense > 0 else "the same way as the cam"
    lift = float(metal.law.psi[-1] - metal.rest_angle)
    bend = metal.curvature
    tightest = float(bend[np.argmax(np.abs(bend))])
    return [
        ("rocker pivot from bore", mm(metal.centre_distance)),
        ("rocker arm, pivot to roller", mm(metal.arm)),
        ("rocker at rest, from pivot line", f"{signed(from_si('a_deg', metal.rest_angle), 2)}°"),
        ("rocker turns", turns),
        ("roller diameter", mm(2 * metal.roller_radius)),
        ("flank, lever angle", f"{_degrees(metal.theta[0])} to {_degrees(metal.theta[-1])}"),
        ("lever travel ends at", _degrees(metal.rest_end)),
        ("rocker turn, rest to end of flank", degrees(lift)),
        ("pressure angle", f"{_degrees(metal.alpha.min())} to {_degrees(metal.alpha.max())}"),
        ("tightest radius of the flank", radius_words(tightest)),
        ("cutter diameter", mm(2 * metal.cutter_radius)),
        ("engraving", shorten(metal.engraving, ENGRAVING_ROOM * POINT, CELL_SIZE) or NONE),
        *(_hole(*one) for one in holes_mm(metal)),
    ]


def _hole(x: float, y: float, radius: float) -> tuple[str, str]:
    """A hole by its diameter and its place, polar."""
    return f"hole Ø{2 * radius:g}", f"R{math.hypot(x, y):.3f} at {degrees(math.atan2(y, x))}"


def _degrees(angle: float) -> str:
    return f"{signed(from_si('angle_deg', float(angle)), 1)}°"


def radius_words(curvature: float) -> str:
    """A curvature as the radius that a maker reads, with its kind."""
    if abs(curvature) < 1e-3:
        return "straight"
    kind = "convex" if curvature > 0 else "hollow"
    return f"{from_si('radius_mm', 1.0 / abs(curvature)):.2f} mm {kind}"


def check_title(verdict: Verdict) -> str:
    """What the check says in one line."""
    wrong, points = sum(not finding.ok for finding in verdict.findings), len(verdict.findings)
    if not points:
        return "Check: not made"
    said = f"fails {wrong} of {points} points" if wrong else f"passes all {points} points"
    return f"Check: the cam {said}"


def check_lines(verdict: Verdict) -> tuple[str, ...]:
    """What the check says, one sentence a line: what is wrong before what is right."""
    ordered = sorted(verdict.findings, key=lambda finding: finding.ok)
    return tuple(finding.sentence for finding in ordered)


def _fitted(lines: tuple[str, ...], room: float) -> tuple[list[str], float]:
    """The lines of the check and the largest type in which they have room; beyond that the last ones are counted."""
    for size in CHECK_SIZES:
        if _height(lines, size) <= room:
            return list(lines), size
    kept = list(lines)
    while _height((*kept, ""), size) > room:
        kept.pop()
    return [*kept, f"and {len(lines) - len(kept)} more, see the check"], size


def _height(lines: Sequence[str], size: float) -> float:
    """What lines of the check take in a size of type, mm."""
    if not lines:
        return 0.0
    em = size / POINT
    taken = [max(1, len(wrap(line, CHECK_WIDTH * POINT, size, lines=MOST_LINES))) for line in lines]
    return (sum(taken) * TYPE + (sum(taken) - len(lines)) * LEADING) * em + (len(lines) - 1) * APART


# Sign --------------------------------------------------------------------------------------------------------


def first_angle() -> str:
    """The sign of first angle projection: a cone from the side, and at its right what is seen from its left."""
    cone = np.array([[-9.0, 1.75], [-1.0, 3.5], [-1.0, -3.5], [-9.0, -1.75]])
    ring = (7.0, 0.0)
    shapes: tuple[Shape, ...] = (
        Polyline(cone, closed=True, pen="thin"),
        Circle(ring, 3.5, "thin"),
        Circle(ring, 1.75, "thin"),
        Line((-10.5, 0.0), (0.5, 0.0), "centre"),
        *cross(ring, 5.0),
    )
    return svg({"projection": shapes}, Sheet(-11.0, -5.2, 23.5, 10.4), "first angle projection")
