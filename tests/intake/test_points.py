"""Tables of points and drawings: every way of writing them gives back what it was made from; spoilt ones a line."""

import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely

from pullcurve.errors import BadInput
from pullcurve.intake.outline import Outline, clock
from pullcurve.intake.points import points_from_csv, points_from_dxf
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.reading import read_outline, turned_points
from tests.mechanics.metal import FLANK, RADIANS, Plate, fall, rise

DISC, OFF = 16.0, 6.0  # an eccentric disc in mm: its true edge is known everywhere
ANGLE = 2 * np.pi * np.arange(720) / 720
ROUND = np.stack([OFF + DISC * np.cos(ANGLE), DISC * np.sin(ANGLE)], axis=-1)


def off_the_disc(outline: Outline, offset: float = OFF) -> float:
    """How far the points are from the true disc at most [mm]."""
    x, y = outline.points.T * 1e3
    return float(np.abs(np.hypot(x - offset, y) - DISC).max())


def table(path: Path, points: FloatArray, line: str = "{},{}", head: str = "", decimal: str = ".") -> Path:
    """A table of points as a file."""
    rows = [line.format(*(f"{value:.6f}".replace(".", decimal) for value in point)) for point in points]
    path.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def refusal(read: Callable[[Path], Outline], path: Path) -> str:
    """The one line that a spoilt file is answered with."""
    with pytest.raises(BadInput) as caught:
        read(path)
    said = str(caught.value)
    assert len(said.splitlines()) == 1
    assert said.startswith(f"{path.name}: ")
    return said


# Tables -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "head", "decimal"),
    [
        ("{},{}", "", "."),
        ("{}, {}", "x_mm, y_mm\n", "."),
        ("{};{}", "", ","),
        ("{};{}", "X [mm];Y [mm]\n", "."),
        ("{}\t{}", "# measured today\n\n", ","),
        ("{} {}", "", ","),
        ("  {}   {}  ", "x y\n", "."),
        ("{};{};", "", "."),
        ("7,{0},{1},9", "angle_deg,x_mm,y_mm,tolerance_mm\n", "."),
        ("{1},{0}", "y,x\n", "."),
    ],
)
def test_every_way_of_writing_a_table(tmp_path: Path, line: str, head: str, decimal: str) -> None:
    read = points_from_csv(table(tmp_path / "cam.csv", ROUND, line, head, decimal), deviation_mm=0.004)
    assert len(read.points) == 720
    assert off_the_disc(read) < 1e-6
    assert np.isnan(read.bore_radius)
    assert read.edge_scatter == pytest.approx(4e-6)
    assert read.edge_deviation == pytest.approx(8e-6)
    assert read.source == "cam.csv"


def test_repeated_points_and_clockwise_order_are_mended(tmp_path: Path) -> None:
    points = np.repeat(np.concatenate([ROUND, ROUND[:1]])[::-1], 2, axis=0)
    read = points_from_csv(table(tmp_path / "cam.csv", points))
    assert len(read.points) == 720
    assert shapely.LinearRing(read.points).is_ccw


SPOILT_TABLES: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "is empty"),
    "remarks": ("# nothing\n", "has no points"),
    "text": ("1,2\n3,cam\n", "'cam' in line 2; a number in mm"),
    "gap": ("1;2\n3;\n", "1 columns in line 2"),
    "three": ("1,2,3\n4,5,6\n", "3 columns in line 1; x and y in mm are needed"),
    "words": ("x,y\nthe,cam\n", "'the' in line 2"),
    "short row": ("x,y,z\n1\n", "'' in line 2"),
    "huge number": ("x,y\n1e999,3\n", "'1e999' in line 2"),
    "few": ("1,2\n3,4\n5,0\n", "has 3 points on the profile; allowed is 24 to 20000"),
    "binary": (bytes(range(128, 256)), "no UTF-8 text from byte 0"),
}


@pytest.mark.parametrize("name", SPOILT_TABLES)
def test_spoilt_table_gives_one_line(tmp_path: Path, name: str) -> None:
    content, said = SPOILT_TABLES[name]
    path = tmp_path / "cam.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    assert said in refusal(points_from_csv, path)


def test_outlines_that_are_none(tmp_path: Path) -> None:
    crossed = ROUND.copy()
    crossed[[100, 200]] = crossed[[200, 100]]
    path = tmp_path / "cam.csv"
    assert "crosses itself at x" in refusal(points_from_csv, table(path, crossed))
    eight = np.stack([15 * np.sin(ANGLE), 9 * np.sin(2 * ANGLE)], axis=-1)
    assert "crosses itself at x 0.00, y" in refusal(points_from_csv, table(path, eight))
    assert "0.032 mm across" in refusal(points_from_csv, table(path, ROUND / 1000))
    assert "look at the unit of length" in refusal(points_from_csv, table(path, ROUND * 25.4))
    assert "0, 0 is not inside the profile" in refusal(points_from_csv, table(path, ROUND + 50.0))


def test_files_that_are_none(tmp_path: Path) -> None:
    for read in (points_from_csv, points_from_dxf):
        assert "is not there" in refusal(read, tmp_path / "none.csv")
        assert "is a folder" in refusal(read, tmp_path)
    large = tmp_path / "large.csv"
    with large.open("wb") as opened:
        opened.truncate(30_000_000)
    assert "has 30 MB; allowed is up to 20 MB" in refusal(points_from_csv, large)
    with pytest.raises(BadInput, match="cannot be read"):
        points_from_csv("a\0b.csv")


# Drawings -----------------------------------------------------------------------------------------------------------

Draw = Callable[[Any], object]


def lines_and_arcs(model: Any) -> None:
    """The disc in three arcs and a chain of lines, in no order and not in one direction."""
    centre = (OFF, 0)
    model.add_arc(centre, DISC, 200, 360)
    model.add_arc(centre, DISC, 0, 90)
    part = [(OFF + DISC * np.cos(at), DISC * np.sin(at)) for at in np.linspace(90, 150, 400) * RADIANS]
    for first, last in reversed(list(pairwise(part))):
        model.add_line(last, first)
    model.add_arc(centre, DISC, 150, 200)
    model.add_line((100, 100), (120, 100))  # a stray line


def in_a_block(model: Any) -> None:
    """The disc as a block that is put in."""
    model.doc.blocks.new("DISC").add_circle((0, 0), DISC)
    model.add_blockref("DISC", (OFF, 0))


QUARTER = np.tan(np.pi / 8)  # bulge of a quarter circle: the tangent of a quarter of its angle

DRAWN: dict[str, Draw] = {
    "light polyline": lambda model: model.add_lwpolyline(ROUND, close=True),
    "bulges": lambda model: model.add_lwpolyline([(22, 0, 1), (-10, 0, 1)], format="xyb", close=True),
    "bulges clockwise": lambda model: model.add_lwpolyline(
        [(OFF, -DISC, -QUARTER), (OFF - DISC, 0, -QUARTER), (OFF, DISC, -QUARTER), (OFF + DISC, 0, -QUARTER)],
        format="xyb",
        close=True,
    ),
    "old polyline": lambda model: model.add_polyline2d(ROUND, close=True),
    "space polyline": lambda model: model.add_polyline3d([(x, y, 0) for x, y in ROUND], close=True),
    "circle": lambda model: model.add_circle((OFF, 0), DISC),
    "ellipse": lambda model: model.add_ellipse((OFF, 0), (DISC, 0), 1.0),
    "lines and arcs": lines_and_arcs,
    "fit spline": lambda model: model.add_spline([(x, y, 0) for x, y in np.vstack([ROUND[::4], ROUND[:1]])]),
    "block": in_a_block,
}


def drawing(path: Path, draw: Draw, version: str = "R2000", unit: int = 4) -> Path:
    """A drawing as a file."""
    document = ezdxf.new(version)  # type: ignore[attr-defined]
    document.units = unit
    draw(document.modelspace())
    document.saveas(path)
    return path


@pytest.mark.parametrize("name", DRAWN)
def test_every_way_of_drawing_a_disc(tmp_path: Path, name: str) -> None:
    """Within the chord of 0.1 micrometre, bore at 0, 0; the spline's open ends bend a little away."""
    read = points_from_dxf(drawing(tmp_path / "cam.dxf", DRAWN[name]))
    assert off_the_disc(read) < (1e-3 if name == "fit spline" else 2e-4)
    assert shapely.Polygon(read.points).area == pytest.approx(np.pi * 0.016**2, rel=1e-4)
    assert np.isnan(read.bore_radius)


def test_closed_spline_without_clamped_knots(tmp_path: Path) -> None:
    """A closed cubic through control points on a circle is (1 4 1)/6 of three of them at a knot."""
    control = ROUND[::10]
    at_a_knot = DISC * (1 - (4 + 2 * np.cos(5 * RADIANS)) / 6)

    def closed(model: Any) -> None:
        model.add_spline().set_closed([(x, y, 0) for x, y in control])

    read = points_from_dxf(drawing(tmp_path / "cam.dxf", closed))
    x, y = read.points.T * 1e3
    np.testing.assert_allclose(DISC - np.hypot(x - OFF, y), at_a_knot, rtol=0.01)


def test_bulges_the_other_way_are_the_same_disc(tmp_path: Path) -> None:
    one = points_from_dxf(drawing(tmp_path / "cam.dxf", DRAWN["bulges"]))
    other = points_from_dxf(drawing(tmp_path / "back.dxf", DRAWN["bulges clockwise"]))
    assert shapely.Polygon(one.points).symmetric_difference(shapely.Polygon(other.points)).area < 1e-8


@pytest.mark.parametrize(("unit", "millimetres"), [(0, 1.0), (1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)])
@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_units_are_those_of_the_drawing(tmp_path: Path, version: str, unit: int, millimetres: float) -> None:
    if version == "R12":
        unit, millimetres = 0, 1.0  # too old to state one
    path = drawing(
        tmp_path / "cam.dxf",
        lambda model: model.add_circle((OFF / millimetres, 0), DISC / millimetres),
        version,
        unit,
    )
    assert off_the_disc(points_from_dxf(path)) < 2e-4


def test_largest_round_hole_is_the_bore_and_becomes_the_origin(tmp_path: Path) -> None:
    def plate(model: Any) -> None:
        model.add_circle((30, 40), DISC)
        model.add_circle((24, 40), 6.5)
        model.add_circle((35, 40), 1.5)
        model.add_lwpolyline([(32, 36), (42, 36), (42, 30), (32, 30)], close=True)
        model.add_circle((80, 40), 8)
        model.add_text("engraving")

    read = points_from_dxf(drawing(tmp_path / "cam.dxf", plate))
    assert read.bore_radius == pytest.approx(6.5e-3, rel=1e-9)
    assert read.bore_centre == pytest.approx([24e-3, 40e-3], rel=1e-9)
    assert off_the_disc(read) < 2e-4


def test_layer_by_name_else_profile_else_the_largest(tmp_path: Path) -> None:
    def layers(model: Any) -> None:
        model.add_circle((0, 0), 30, dxfattribs={"layer": "cutter path"})
        model.add_circle((OFF, 0), DISC, dxfattribs={"layer": "Profile"})
        model.add_circle((OFF, 0), DISC, dxfattribs={"layer": "other"})
        model.add_circle((0, 0), 6, dxfattribs={"layer": "bore"})

    path = drawing(tmp_path / "cam.dxf", layers)
    assert off_the_disc(points_from_dxf(path)) < 2e-4
    assert off_the_disc(points_from_dxf(path, layer="OTHER")) < 2e-4
    assert np.ptp(points_from_dxf(path, layer="cutter path").points[:, 0]) == pytest.approx(0.060, rel=1e-4)
    said = refusal(lambda at: points_from_dxf(at, layer="outside"), path)
    assert (
        "has no closed outline on layer outside; there are some on cutter path, Profile, other, bore" in said
    )


def test_drawings_without_an_outline(tmp_path: Path) -> None:
    path = tmp_path / "cam.dxf"
    open_line = drawing(path, lambda model: model.add_lwpolyline(ROUND[:700]))
    assert refusal(points_from_dxf, open_line).endswith("has no closed outline")
    crossed = ROUND.copy()
    crossed[[10, 20]] = crossed[[20, 10]]
    assert "crosses itself" in refusal(
        points_from_dxf, drawing(path, lambda model: model.add_lwpolyline(crossed, close=True))
    )
    off = drawing(path, lambda model: model.add_circle((60, 0), DISC))
    assert "shows no bore, and 0, 0 is not inside" in refusal(points_from_dxf, off)
    lightyears = drawing(path, DRAWN["circle"], unit=20)
    assert "states its unit as $INSUNITS 20; millimetres are 4" in refusal(points_from_dxf, lightyears)
    nothing = drawing(path, lambda model: model.add_text("cam"))
    assert "has no closed outline" in refusal(points_from_dxf, nothing)


def test_too_many_loose_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcurve.intake.loops.MOST_PIECES", 100)
    path = drawing(tmp_path / "cam.dxf", lines_and_arcs)
    assert "open lines and arcs; allowed is up to 100" in refusal(points_from_dxf, path)


def test_broken_drawings_give_one_line(tmp_path: Path) -> None:
    """Cut short, spoilt signs, left-out pieces, other things by that name: a disc or one line, never anything else."""
    path = tmp_path / "cam.dxf"
    whole = drawing(path, lambda model: [draw(model) for draw in DRAWN.values()]).read_bytes()
    for content in (whole[:5000], b"not a drawing", b"0\nSECTION\n", bytes(range(256)), b"\n" * 40):
        path.write_bytes(content)
        assert "cannot be read as a drawing (DXF)" in refusal(points_from_dxf, path)
    dice = random.Random(5)
    entities = whole.index(b"ENTITIES")
    for _ in range(25):
        spoilt = bytearray(whole)
        for _ in range(dice.choice((1, 4))):
            at = dice.randrange(entities, len(spoilt) - 50)
            if dice.random() < 0.5:
                spoilt[at] = dice.randrange(256)
            else:
                del spoilt[at : at + dice.randrange(1, 40)]
        path.write_bytes(bytes(spoilt))
        assert answer(path) in ("a disc", "one line")


def answer(path: Path) -> str:
    """What a drawing gives."""
    try:
        points_from_dxf(path)
    except BadInput as error:
        return "one line" if len(str(error).splitlines()) == 1 else str(error)
    return "a disc"


# Clocking -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("plate", [rise(1.0), rise(-1.0), fall(1.0)], ids=["against", "with", "fall"])
@pytest.mark.parametrize("behind", [False, True])
def test_cam_drawn_anywhere_gives_its_law_back(tmp_path: Path, plate: Plate, behind: bool) -> None:
    """Through a file: turned, moved, perhaps seen from behind; clocked by its law, read within 1e-5 rad."""
    laid = turned_points(plate.outline(1e-6), 2.2) * np.array([-1.0 if behind else 1.0, 1.0]) * 1e3

    def draw(model: Any) -> None:
        model.add_lwpolyline(laid + np.array([50.0, -20.0]), close=True)
        model.add_circle((50.0, -20.0), 6.5)

    read = points_from_dxf(drawing(tmp_path / "cam.dxf", draw))
    theta = np.linspace(0.0, FLANK, 53)
    psi = plate.law(theta).psi
    found = clock(read, theta, psi, *plate.rocker)
    assert found.mirrored is behind
    assert found.residual < 5e-6
    again = read_outline(found.outline.points, *plate.geometry, theta)
    np.testing.assert_allclose(again.psi, psi, atol=1e-5)
    named = clock(read, theta, psi, *plate.rocker, mirrored=behind)
    assert named.turn == found.turn


def test_metal_without_the_flank_cannot_be_clocked(tmp_path: Path) -> None:
    plate = rise()
    theta = np.linspace(0.0, FLANK, 9)
    small = points_from_csv(table(tmp_path / "hub.csv", (ROUND - np.array([OFF, 0])) * 0.6))
    with pytest.raises(BadInput, match=r"hub\.csv: has no flank that carries the whole law"):
        clock(small, theta, plate.law(theta).psi, *plate.rocker)
