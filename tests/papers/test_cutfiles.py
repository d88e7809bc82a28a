"""Files that a cutter reads, as programs of other people read them: every line where the law puts it, in mm."""

import itertools
import math
from dataclasses import replace
from functools import cache
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.filemanagement import read
from lxml import etree
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import Law
from pullcurve.papers import cutfiles
from pullcurve.papers.cutfiles import Release, ascii_text, cut_dxf, cut_lines, cut_svg
from pullcurve.pull.plate import Metal
from tests.papers import readers
from tests.papers.metals import FINE, HOLES, NAMES, metal

MM = 1e3
CHORD_MM = 0.001
RELEASES: tuple[Release, ...] = ("R2000", "R12")
COLOURS = {"profile": (0, 0, 0), "bore": (0, 0, 255), "engraving": (0, 255, 0), "cutter_path": (255, 0, 0)}
"""What a screen shows for 7 (black on white), 5, 3 and 1 of the format's table of colours (common practice)."""

FILES: tuple[tuple[str, Release], ...] = (
    *((name, "R2000") for name in NAMES),
    *((name, "R12") for name in ("brake", "clutch, same sense", "assist", "drilled")),
)

both = pytest.mark.parametrize("release", RELEASES)
all_cams = pytest.mark.parametrize("name", NAMES)
all_files = pytest.mark.parametrize(("name", "release"), FILES)


# The true outline, by another road ------------------------------------------------------------------------------------


def true_flank(known: Metal, inward: float) -> FloatArray:
    """Points of an offset of the roller centre's path, mm, from the law alone.

    Complex numbers instead of the package's formulas, and the direction of the path from a spline through its points.
    """
    theta = np.linspace(known.theta[0], known.theta[-1], 4001)
    psi = make_interp_spline(known.theta, known.law.psi, k=5)(theta)
    centre = known.centre_distance - known.arm * np.exp(-1j * psi)
    path = centre * np.exp(-1j * known.sense * theta)
    along = make_interp_spline(theta, path, k=5).derivative()(theta)
    # Seen along the pull the metal lies at the right where the flank runs clockwise.
    normal = -1j * known.sense * along / np.abs(along)
    cut = MM * (path + inward * normal)
    return np.stack([cut.real, cut.imag], axis=-1)


def swept(points: NDArray[np.complex128]) -> float:
    """Area that the ray from the origin to a curve sweeps, by Simpson, from an odd count of points."""
    first, middle, last = points[:-2:2], points[1:-1:2], points[2::2]
    chords = 4 * first.conj() * middle + 4 * middle.conj() * last - first.conj() * last
    return float(np.sum(chords.imag)) / 6


@cache
def true_area(name: str) -> float:
    """Area of the outline, mm2: Simpson along the flank, triangles to the faces, sectors of the hub."""
    known = metal(name)
    flank = true_flank(known, known.roller_radius) @ np.array([1.0, 1j])
    first, last = known.working
    corners = np.roll(MM * known.outline, -last, axis=0) @ np.array([1.0, 1j])
    rest = np.append(corners, corners[0])[: len(corners) - (last - first) + 1]
    triangles = (rest[:-1].conj() * rest[1:]).imag / 2
    on_hub = np.abs(np.abs(rest) - MM * known.hub_radius) < 1e-9
    turns = np.angle(rest[1:] / rest[:-1])
    sectors = (MM * known.hub_radius) ** 2 * turns / 2
    return swept(flank[:: -int(known.sense)]) + float(
        np.sum(np.where(on_hub[1:] & on_hub[:-1], sectors, triangles))
    )


def test_road_to_the_area_knows_a_sector() -> None:
    arc = 7.0 * np.exp(1j * np.linspace(0.2, 1.3, 201))
    assert swept(arc) == pytest.approx(0.5 * 7.0**2 * 1.1, rel=1e-9)


# DXF: structure -------------------------------------------------------------------------------------------------------


@cache
def document(name: str, release: Release) -> Drawing:
    """The file as the format's own library reads it."""
    return read(StringIO(text_of(name, release)))


def corners(known: Drawing, layer: str) -> tuple[FloatArray, bool]:
    """Corners of the one polyline of a layer, and whether it is closed."""
    (line,) = known.modelspace().query(f"LWPOLYLINE POLYLINE[layer=='{layer}']")
    if isinstance(line, LWPolyline):
        return np.array(line.get_points("xy")), line.closed
    assert isinstance(line, Polyline)
    return np.array([(at.x, at.y) for at in line.points()]), line.is_closed


@all_files
def test_dxf_has_nothing_to_mend(name: str, release: Release) -> None:
    known = document(name, release)
    audit = known.audit()
    assert not audit.errors and not audit.fixes
    assert known.dxfversion == {"R2000": "AC1015", "R12": "AC1009"}[release]
    if release == "R2000":  # the older release has neither
        assert (known.header["$INSUNITS"], known.header["$MEASUREMENT"]) == (4, 1)


@all_files
def test_dxf_has_its_lines_on_their_layers(name: str, release: Release) -> None:
    known = document(name, release)
    light = "LWPOLYLINE" if release == "R2000" else "POLYLINE"
    found = [(one.dxf.layer, one.dxftype()) for one in known.modelspace()]
    assert found.count(("profile", light)) == found.count(("cutter_path", light)) == 1
    assert found.count(("bore", "CIRCLE")) == found.count(("engraving", "TEXT")) == 1
    assert found.count(("holes", "CIRCLE")) == len(metal(name).holes)
    assert {layer for layer, _ in found} <= set(cutfiles.LAYERS)
    for layer, colour in cutfiles.LAYERS.items():
        assert known.layers.get(layer).color == colour
    assert corners(known, "profile")[1] is True
    assert corners(known, "cutter_path")[1] is False


@both
def test_dxf_is_plain_text_and_the_same_every_time(release: Release) -> None:
    text = text_of("brake", release)
    assert text == cut_dxf(metal("brake"), release)
    assert text.isascii()
    assert text.startswith("999\nbrake-in0-tu0.0-st7.5\n999\nbore %%c13 H7 (13.000 to 13.018)\n")


def test_dxf_leaves_the_libarys_options_as_they_were() -> None:
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    cut_dxf(metal("brake"))
    assert options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Ø13 ±0.02 90°", "%%c13 %%p0.02 90%%d"),
        ("größer – 5·2 × 1 ψ", "grosser - 5-2 x 1 ?"),
        ("50%%d off", "50% %d off"),
        ("%%%%%", "% % % % %"),
        ("a\n0\nSECTION\tb", "a 0 SECTION b"),
        ("\x1b[1m", "[1m"),
    ],
)
def test_text_is_ascii_without_codes_of_its_own(text: str, plain: str) -> None:
    assert ascii_text(text) == plain


def test_name_of_a_cam_cannot_break_the_file() -> None:
    odd = replace(metal("brake"), name="a\n0\nEOF", engraving="%%u0\nEND")
    for release in RELEASES:
        known = read(StringIO(cut_dxf(odd, release)))
        assert not known.audit().errors
        assert any(one.dxf.text == "a 0 EOF" for one in known.modelspace().query("TEXT"))


def test_engraving_without_room_is_told_in_the_notes() -> None:
    small = replace(metal("brake"), engraving=60 * "W")
    lines = cut_lines(small)
    assert lines.engraving is None
    assert lines.notes[-1] == f"engraving finds no room: {60 * 'W'}"
    assert 'id="engraving"' in cut_svg(small)
    assert cut_lines(replace(small, engraving="")).notes[-1].startswith("mm, chord error")


@all_cams
def test_engraving_stands_on_the_metal(name: str) -> None:
    """By the box that the format's own library finds for the text, with a font of its own."""
    from ezdxf import bbox

    known = metal(name)
    room = shapely.Polygon(MM * known.outline) - shapely.Point(0, 0).buffer(MM * known.bore_radius)
    for x, y, radius in known.holes:
        room -= shapely.Point(MM * x, MM * y).buffer(MM * radius)
    (text,) = document(name, "R2000").modelspace().query("TEXT[layer=='engraving']")
    assert text.dxf.text == known.engraving
    flat = text.copy()
    angle, at = flat.dxf.rotation, flat.dxf.align_point
    flat.dxf.rotation = 0.0
    box = bbox.extents([flat])
    corners = shapely.box(box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y)
    assert room.contains(shapely.affinity.rotate(corners, angle, origin=(at.x, at.y)))


# DXF: what other programs see -----------------------------------------------------------------------------------------


@cache
def text_of(name: str, release: Release) -> str:
    """The file of a cam."""
    return cut_dxf(metal(name), release)


def written(folder: Path, name: str, release: Release) -> Path:
    """The file of a cam in a folder."""
    file = folder / "cam.dxf"
    file.write_text(text_of(name, release), encoding="ascii")
    return file


@all_files
def test_gdal_finds_the_area_that_the_law_encloses(tmp_path: Path, name: str, release: Release) -> None:
    known = metal(name)
    found = readers.gdal(written(tmp_path, name, release))
    of = {
        layer: [one for key, one, _ in found if key == layer]
        for layer in ("profile", "bore", "holes", "cutter_path")
    }
    (profile,), (bore,), (cutter,) = of["profile"], of["bore"], of["cutter_path"]
    assert profile.is_ring and bore.is_ring and not cutter.is_closed
    area = shapely.Polygon(profile).area
    # The polygon's chords lie within the stated error of the curve.
    assert area == pytest.approx(true_area(name), abs=CHORD_MM * profile.length)
    assert area == pytest.approx(true_area(name), rel=1e-4)
    # GDAL draws a circle with 4 degrees a chord: 1 - sinc(4 degrees) = 0.0008 of its area is lost.
    assert shapely.Polygon(bore).area == pytest.approx(math.pi * (MM * known.bore_radius) ** 2, rel=1e-3)
    assert shapely.Polygon(profile).contains(bore)
    assert len(of["holes"]) == len(known.holes)
    for hole, (x, y, radius) in zip(of["holes"], known.holes, strict=True):
        assert shapely.Polygon(hole).centroid.distance(shapely.Point(MM * x, MM * y)) < 1e-3
        assert hole.length == pytest.approx(2 * math.pi * MM * radius, rel=1e-3)


@all_files
def test_gdal_finds_flank_and_cutter_path_where_the_law_puts_them(
    tmp_path: Path, name: str, release: Release
) -> None:
    known = metal(name)
    found = {layer: one for layer, one, _ in readers.gdal(written(tmp_path, name, release))}
    flank = shapely.points(true_flank(known, known.roller_radius)[::4])
    shapely.prepare(list(found.values()))
    assert shapely.distance(found["profile"], flank).max() < CHORD_MM
    centres = true_flank(known, known.roller_radius - known.cutter_radius)
    assert shapely.distance(found["cutter_path"], shapely.points(centres)).max() < CHORD_MM
    assert found["cutter_path"].length == pytest.approx(shapely.LineString(centres).length, abs=CHORD_MM)
    # A cutter that follows its path leaves the flank.
    away = shapely.distance(found["cutter_path"], flank)
    np.testing.assert_allclose(away, MM * known.cutter_radius, atol=CHORD_MM)


@both
def test_gdal_reads_the_words(tmp_path: Path, release: Release) -> None:
    found = [(layer, text) for layer, _, text in readers.gdal(written(tmp_path, "brake", release)) if text]
    assert ("engraving", "brake-in0-tu0.0-st7.5") in found
    notes = [text for layer, text in found if layer == "notes"]
    assert notes[0] == "brake-in0-tu0.0-st7.5"
    assert notes[1][5:] == "⌀13 H7 (13.000 to 13.018)"  # 12 and 13 mm: H7 is +0.018 and 0 (ISO 286-2)
    assert notes[2:] == [
        "6 mm hardened steel",
        "cutter path: centre of ⌀6",
        "mm, chord error at most 0.001 mm",
    ]


@both
@pytest.mark.parametrize("name", ["brake", "clutch, same sense", "assist", "drilled"])
def test_librecad_plots_it_at_full_size(tmp_path: Path, name: str, release: Release) -> None:
    """Extents on paper, layer by layer: the plot is in hundredths of a mm."""
    known = metal(name)
    strokes = readers.librecad(written(tmp_path, name, release))
    outline = MM * metal(name, FINE).outline
    cutter = true_flank(known, known.roller_radius - known.cutter_radius)
    assert np.ptp(strokes[COLOURS["profile"]], axis=0) == pytest.approx(np.ptp(outline, axis=0), abs=0.03)
    assert np.ptp(strokes[COLOURS["cutter_path"]], axis=0) == pytest.approx(np.ptp(cutter, axis=0), abs=0.03)
    bore = strokes[COLOURS["bore"]]
    assert np.ptp(bore, axis=0) == pytest.approx([13.0, 13.0], abs=0.03)
    # One frame for all layers: the bore's middle is the origin of the outline.
    middle = (bore.min(axis=0) + bore.max(axis=0)) / 2
    high, low = outline.max(axis=0), outline.min(axis=0)
    profile = strokes[COLOURS["profile"]] - middle
    assert (profile[:, 0].min(), profile[:, 0].max()) == pytest.approx((low[0], high[0]), abs=0.03)
    assert (-profile[:, 1].max(), -profile[:, 1].min()) == pytest.approx((low[1], high[1]), abs=0.03)
    letters = (strokes[COLOURS["engraving"]] - middle) * [1, -1]
    assert shapely.Polygon(outline).contains(shapely.MultiPoint(letters))


# Chord error ----------------------------------------------------------------------------------------------------------


@all_cams
def test_chords_of_the_profile_keep_the_stated_error(name: str) -> None:
    """Hausdorff distance from an outline whose own chords are 500 times nearer to the curve, both ways."""
    coarse = shapely.LinearRing(cut_lines(metal(name)).profile)
    fine = shapely.LinearRing(MM * metal(name, FINE).outline)
    # It is no vain number: the chords are not much finer than they need be.
    assert 0.2 * CHORD_MM < shapely.hausdorff_distance(coarse, fine) <= CHORD_MM


@all_cams
def test_chords_of_the_cutter_path_keep_the_stated_error(name: str) -> None:
    known = metal(name)
    fine = shapely.points(true_flank(known, known.roller_radius - known.cutter_radius))
    path = shapely.LineString(cut_lines(known).cutter)
    shapely.prepare(path)
    assert shapely.distance(path, fine).max() <= CHORD_MM


def test_cutter_path_takes_stations_of_its_own_where_those_of_the_flank_are_too_few() -> None:
    known, every = metal("brake"), slice(None, None, 30)
    law = Law(known.law.psi[every], known.law.dpsi[every], known.law.d2psi[every])
    coarse = replace(known, theta=known.theta[every], law=law, cutter=known.cutter[every])
    fine = shapely.points(true_flank(known, known.roller_radius - known.cutter_radius))
    assert shapely.distance(shapely.LineString(MM * coarse.cutter), fine).max() > CHORD_MM
    path = cut_lines(coarse).cutter
    assert len(coarse.cutter) < len(path) < len(known.cutter)
    assert shapely.distance(shapely.LineString(path), fine).max() <= CHORD_MM


# SVG ------------------------------------------------------------------------------------------------------------------


@cache
def picture(name: str) -> etree._Element:
    """The SVG file, parsed."""
    return etree.fromstring(cut_svg(metal(name)).encode())


def path_points(name: str, group: str) -> FloatArray:
    """Points of the one path of a group, in the cam's frame: the bore's middle is the origin, y up."""
    (path,) = picture(name).xpath(f'//*[@id="{group}"]/*[local-name()="path"]')
    (bore,) = picture(name).xpath('//*[@id="bore"]/*[local-name()="circle"]')
    middle = np.array([float(bore.get("cx")), float(bore.get("cy"))])
    found: FloatArray = (np.array(readers.numbers(path.get("d"))).reshape(-1, 2) - middle) * [1.0, -1.0]
    return found


@all_cams
def test_svg_is_full_size(name: str) -> None:
    root = picture(name)
    left, top, width, height = readers.numbers(root.get("viewBox"))
    assert (left, top) == (0.0, 0.0)
    assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm") or (
        root.get("width").endswith("mm") and float(root.get("width")[:-2]) == width
    )
    assert float(root.get("height")[:-2]) == height
    ids = [group.get("id") for group in root.iterchildren(f"{readers.SVG}g")]
    assert ids == ["profile", "bore", "holes", "engraving", "cutter_path"]


@all_cams
def test_svg_has_the_same_lines(name: str) -> None:
    known = metal(name)
    (bore,) = picture(name).xpath('//*[@id="bore"]/*[local-name()="circle"]')
    assert float(bore.get("r")) == pytest.approx(MM * known.bore_radius)
    profile = path_points(name, "profile")
    outline = MM * metal(name, FINE).outline
    assert profile.min(axis=0) == pytest.approx(outline.min(axis=0), abs=CHORD_MM)
    assert profile.max(axis=0) == pytest.approx(outline.max(axis=0), abs=CHORD_MM)
    assert shapely.Polygon(profile).area == pytest.approx(true_area(name), rel=1e-4)
    cutter = true_flank(known, known.roller_radius - known.cutter_radius)
    assert (
        shapely.hausdorff_distance(
            shapely.LineString(path_points(name, "cutter_path")), shapely.LineString(cutter)
        )
        < 2 * CHORD_MM
    )
    drilled = picture(name).xpath('//*[@id="holes"]/*[local-name()="circle"]')
    assert [float(one.get("r")) for one in drilled] == pytest.approx(
        [MM * radius for _, _, radius in known.holes]
    )


@all_cams
def test_svg_shows_everything_and_fills_nothing(name: str) -> None:
    root = picture(name)
    _, _, width, height = readers.numbers(root.get("viewBox"))
    for path in root.xpath('//*[local-name()="path"]'):
        points = np.array(readers.numbers(path.get("d"))).reshape(-1, 2)
        assert points.min() >= 4.99 and (points <= [width - 4.99, height - 4.99]).all()
    assert {one.get("fill") for one in root.xpath('//*[local-name()="path" or local-name()="circle"]')} == {
        "none"
    }
    assert root.xpath('//*[local-name()="path"]')[0].get("d").endswith("Z")
    assert not root.xpath('//*[local-name()="path"]')[-1].get("d").endswith("Z")


def test_holes_are_drawn_where_they_are() -> None:
    drilled = picture("drilled").xpath('//*[@id="holes"]/*[local-name()="circle"]')
    (bore,) = picture("drilled").xpath('//*[@id="bore"]/*[local-name()="circle"]')
    for one, (x, y, _) in zip(drilled, HOLES, strict=True):
        away = float(one.get("cx")) - float(bore.get("cx")), float(bore.get("cy")) - float(one.get("cy"))
        assert away == pytest.approx((MM * x, MM * y), abs=1e-4)


def test_all_files_of_a_cam_are_one_outline() -> None:
    """DXF of both releases and SVG have the same corners."""
    rings = [
        corners(document("assist", "R2000"), "profile")[0],
        corners(document("assist", "R12"), "profile")[0],
        path_points("assist", "profile"),
    ]
    for one, other in itertools.pairwise(rings):
        np.testing.assert_allclose(one, other, atol=2e-5)
