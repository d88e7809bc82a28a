"""Pictures of cams back to laws and forces: synthetic scans with all against them, and pictures that are none."""

import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from pullcurve.errors import BadInput
from pullcurve.intake.edges import Edge, fitted_edge, traced
from pullcurve.intake.outline import Clocked, Outline, clock, law_spread, scatter_angle
from pullcurve.intake.scan import ellipse, outline_from_scan
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import law
from pullcurve.mechanics.reading import read_outline
from pullcurve.mechanics.smoothing import SmoothLaw, force_deviation, smooth_law
from pullcurve.pull.arrays import Lever, Mechanism, Rocker, Wear
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import LeverCurves, load_state, solve
from tests.intake.picture import Scanner, bar, circle, coverage, developed, saved, scanned
from tests.mechanics.metal import FLANK, Plate, rise
from tests.pull.example import lever_with, whole

MM = 1e-3
THETA = np.linspace(0.0, FLANK, 105)
BORE_MM = 13.0

PROFILE_MM, FORCE, AT_REST = 0.02, 0.01, 0.02
"""What a scan at 1200 dpi must keep; the last in newton, where the finger holds little more than one."""

ROUGH = Scanner(noise=0.03, turn=0.4, stretch=0.003, skew=0.002, shading=0.1)


@dataclass(frozen=True)
class Read:
    """One trip from a law through a picture and back."""

    plate: Plate
    outline: Outline
    clocked: Clocked
    psi: FloatArray
    alpha: FloatArray
    smooth: SmoothLaw

    @property
    def profile_error_mm(self) -> FloatArray:
        """How far the smoothed law puts the metal off, along its normal."""
        off = law(self.smooth.curve, THETA).psi - self.plate.law(THETA).psi
        return np.asarray(off * self.plate.arm * np.cos(self.alpha) / MM)


def law_from(plate: Plate, picture: Path, **stated: float) -> Read:
    """The law of a plate from its picture: outline, clocking by its nominal law, reading, smoothing."""
    outline = outline_from_scan(picture, **stated)
    nominal = plate.law(THETA)
    found = clock(outline, THETA[::4], nominal.psi[::4], *plate.rocker, mirrored=False)
    read = read_outline(found.outline.points, *plate.geometry, THETA)
    spread = law_spread(found.outline, read, plate.arm, plate.sense)
    smooth = smooth_law(THETA, read.psi, scatter_angle(found.outline, plate.arm), spread)
    return Read(plate, outline, found, read.psi, read.alpha, smooth)


def scan_of(plate: Plate, path: Path, scanner: Scanner = ROUGH, *others: FloatArray) -> Path:
    """A scan of a plate with a bore of 13 mm."""
    return saved(scanned(plate.outline(1e-7) / MM, circle(BORE_MM / 2), scanner, *others), path)


# There and back -----------------------------------------------------------------------------------------------------


def plate_of(rocker: Rocker) -> Plate:
    """The metal of a rocker's cam."""
    return Plate(rocker.law, float(rocker.sense), float(rocker.rest_angle))


@cache
def machine() -> Mechanism:
    """A whole unit: brake lever, clutch lever with assist."""
    return mechanism(whole())


def forces(lever: Lever) -> LeverCurves:
    """Finger forces of a lever, friction on."""
    return solve(lever, THETA, Wear())


TRIPS: dict[str, tuple[str, Scanner]] = {
    "brake, all at once": ("brake", ROUGH),
    "clutch and assist, askew": ("clutch", replace(ROUGH, turn=2.3, stretch=-0.004, skew=-0.003, seed=5)),
    "brake, bright on black": ("brake", replace(ROUGH, turn=-1.2, dark=215.0, light=35.0, seed=8)),
    "brake, noisy and blurred": ("brake", replace(ROUGH, turn=4.0, noise=0.08, blur_pixels=1.6, seed=2)),
}


@pytest.mark.parametrize("name", TRIPS)
def test_law_profile_picture_law(tmp_path: Path, name: str) -> None:
    """Within 0.02 mm and 1 % of the finger force on both branches, every cam of the lever read from its picture."""
    drives, scanner = TRIPS[name]
    lever = lever_with(machine(), drives)
    rockers = []
    for rocker in lever.rockers:
        trip = law_from(plate_of(rocker), scan_of(plate_of(rocker), tmp_path / "cam.png", scanner), dpi=1200)
        assert np.abs(trip.profile_error_mm).max() < PROFILE_MM
        rockers.append(replace(rocker, law=trip.smooth.curve))
    nominal, read = forces(lever), forces(replace(lever, rockers=tuple(rockers)))
    for branch in ("force", "pull", "release"):
        np.testing.assert_allclose(getattr(read, branch), getattr(nominal, branch), rtol=FORCE, atol=AT_REST)


def test_scale_bar_instead_of_a_resolution(tmp_path: Path) -> None:
    """The bar sets the size: told 0.3 % too long, the cam comes out 0.3 % too large."""
    plate = rise()
    picture = scan_of(plate, tmp_path / "cam.png", ROUGH, bar(30.0, 4.0, -5.0, -22.0))
    read = law_from(plate, picture, scale_mm=30.0)
    assert np.abs(read.profile_error_mm).max() < PROFILE_MM
    assert read.outline.bore_radius == pytest.approx(6.5 * MM, rel=2e-4)
    longer = outline_from_scan(picture, scale_mm=30.09)
    np.testing.assert_allclose(longer.points, read.outline.points * 1.003, rtol=1e-9)


def test_resolution_of_600_dpi(tmp_path: Path) -> None:
    plate = rise(-1.0)
    read = law_from(plate, scan_of(plate, tmp_path / "cam.png", replace(ROUGH, dpi=600.0)), dpi=600)
    assert np.abs(read.profile_error_mm).max() < PROFILE_MM


def test_jpeg_with_dirt_keyway_and_holes(tmp_path: Path) -> None:
    """A lossy picture, specks on the edge, a key's slot in the bore, a screw hole; the law still comes back."""
    plate = rise()
    angle = np.linspace(0.15, 2 * np.pi - 0.15, 700)
    slotted = 6.5 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    slotted = np.concatenate([slotted, [[7.8, slotted[-1, 1]], [7.8, slotted[0, 1]]]])
    picture = scanned(plate.outline(1e-7) / MM, slotted, ROUGH, holes=(circle(1.5, 18.0, 9.0),))
    random = np.random.default_rng(4)
    for row, column in random.integers(8, np.array(picture.shape) - 8, (400, 2)):
        picture[row : row + 4, column : column + 4] = random.integers(0, 255)
    path = tmp_path / "cam.jpg"
    Image.fromarray(picture).save(path, quality=90)
    read = law_from(plate, path, dpi=1200)
    assert np.abs(read.profile_error_mm).max() < PROFILE_MM


def test_whole_outline_and_axis(tmp_path: Path) -> None:
    """Against the polygon that was drawn: corners are rounded a little, everything else is within a few micrometres."""
    plate = rise()
    trip = law_from(plate, scan_of(plate, tmp_path / "cam.png"), dpi=1200)
    edge = shapely.Polygon(plate.outline(1e-7)).exterior
    off = np.array([edge.distance(shapely.Point(point)) for point in trip.clocked.outline.points])
    assert np.median(off) < 1e-6
    assert np.percentile(off, 95) < 5e-6
    assert trip.outline.bore_radius == pytest.approx(6.5 * MM)
    assert shapely.LinearRing(trip.outline.points).is_ccw
    assert trip.outline.source == "cam.png"


def test_uncertainty_of_law_and_force_holds_what_happens(tmp_path: Path) -> None:
    """Three scans with other noise: what is left of psi, its slope and the force stays within three deviations told."""
    lever = lever_with(machine(), "brake")
    rocker = lever.rockers[0]
    plate = plate_of(rocker)
    nominal = plate.law(THETA)
    moment = load_state(rocker, nominal.psi).moment
    steepness = np.gradient(moment, nominal.psi)
    for seed in (1, 2, 3):
        trip = law_from(
            plate, scan_of(plate, tmp_path / "cam.png", replace(ROUGH, seed=seed, turn=seed)), dpi=1200
        )
        read = law(trip.smooth.curve, THETA)
        assert (np.abs(read.psi - nominal.psi) < 3 * trip.smooth.psi_deviation).all()
        assert (np.abs(read.dpsi - nominal.dpsi) < 3 * trip.smooth.dpsi_deviation).all()
        told = force_deviation(
            moment, steepness, nominal.dpsi, float(lever.finger_radius), trip.smooth.covariance
        )
        off = (load_state(rocker, read.psi).moment * read.dpsi - moment * nominal.dpsi) / lever.finger_radius
        assert (np.abs(off) < 3 * told + 1e-9).all()
        assert trip.outline.edge_deviation < 0.005 * MM


# Edges --------------------------------------------------------------------------------------------------------------


def test_coverage_is_the_area_in_every_pixel() -> None:
    """The scanner of these tests against shapely, pixel by pixel."""
    outline = circle(7.3, 11.2, 9.7, 90)
    metal = shapely.Polygon(outline)
    expected = [
        [metal.intersection(shapely.box(column, row, column + 1, row + 1)).area for column in range(22)]
        for row in range(20)
    ]
    np.testing.assert_allclose(coverage(outline, (20, 22)), expected, atol=2e-3)


def edge_of(dark: FloatArray, scanner: Scanner) -> Edge:
    """The longest edge in a picture."""
    grey = developed(dark, scanner)
    lines = traced(grey, (0, 0), (scanner.dark + scanner.light) / 2)
    return fitted_edge(grey, max(lines, key=len))


@pytest.mark.parametrize("blur", [0.3, 0.8, 2.0])
def test_edge_of_a_disc_to_a_hundredth_of_a_pixel(blur: float) -> None:
    """Centre (150.3, 140.6) from the picture's corner, that is half a pixel less from the first pixel's centre."""
    edge = edge_of(coverage(circle(100.25, 150.3, 140.6), (300, 300)), Scanner(blur_pixels=blur, noise=0.02))
    away = np.hypot(edge.points[:, 0] - 149.8, -edge.points[:, 1] - 140.1)
    assert away.mean() == pytest.approx(100.25, abs=0.02)
    assert away.std() < 0.08
    found = ellipse(edge.points)
    assert found is not None
    assert found.centre == pytest.approx([149.8, -140.1], abs=0.01)
    assert found.radius == pytest.approx(100.25, abs=0.02)
    assert found.oval < 3e-4


def test_ellipse_through_exact_points_and_dirt() -> None:
    """Half axes 40 and 39 leaning by 0.3, a tenth of the points two pixels off."""
    at = np.linspace(0.0, 2 * np.pi, 400, endpoint=False)
    x, y = 40 * np.cos(at), 39 * np.sin(at)
    points = np.stack([np.cos(0.3) * x - np.sin(0.3) * y + 5, np.sin(0.3) * x + np.cos(0.3) * y - 8], axis=-1)
    points[:40] *= 1.05
    found = ellipse(points)
    assert found is not None
    assert found.centre == pytest.approx([5.0, -8.0], abs=1e-6)
    assert found.oval == pytest.approx(1 / 39, rel=1e-6)
    assert found.radius == pytest.approx(np.sqrt(40 * 39), rel=1e-6)
    np.testing.assert_allclose(np.hypot(*(found.unit @ (points[40:] - found.centre).T)), 1.0, atol=1e-6)


def test_no_ellipse_through_a_hyperbola_or_a_line() -> None:
    at = np.linspace(-1.5, 1.5, 100)
    branches = [np.stack([side * np.cosh(at), np.sinh(at)], axis=-1) for side in (-1, 1)]
    assert ellipse(np.concatenate(branches)) is None


# Pictures of every kind ---------------------------------------------------------------------------------------------


@cache
def plain() -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """A small clean scan, for what does not need a fine one."""
    scanner = Scanner(dpi=300.0, turn=0.4)
    return scanned(rise().outline(1e-6) / MM, circle(BORE_MM / 2), scanner)


def as_deep(grey: Image.Image) -> Image.Image:
    """Sixteen bits a pixel."""
    return Image.fromarray(np.asarray(grey).astype(np.uint16) * 257)


def as_clear(grey: Image.Image) -> Image.Image:
    """Dark where the plate is, transparent black elsewhere."""
    values = np.asarray(grey)
    colour = np.zeros((*values.shape, 4), dtype=np.uint8)
    colour[..., 3] = 255 - values
    return Image.fromarray(colour)


KINDS: dict[str, Callable[[Image.Image], Image.Image]] = {
    "grey.tif": lambda grey: grey,
    "colour.png": lambda grey: grey.convert("RGB"),
    "palette.png": lambda grey: grey.convert("P"),
    "deep.png": as_deep,
    "clear.png": as_clear,
    "real.tif": lambda grey: Image.fromarray(np.asarray(grey).astype(np.float32) / 255),
}


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_of_picture(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    KINDS[name](Image.fromarray(plain())).save(path)
    points = outline_from_scan(path, dpi=300).points
    first = outline_from_scan(saved(plain(), tmp_path / "plain.png"), dpi=300).points
    assert shapely.Polygon(points).symmetric_difference(shapely.Polygon(first)).area < 1e-7


# Pictures that are none ---------------------------------------------------------------------------------------------


def refusal(path: Path, **stated: float) -> str:
    """The one line that a picture is answered with."""
    with pytest.raises(BadInput) as caught:
        outline_from_scan(path, **stated)
    said = str(caught.value)
    assert len(said.splitlines()) == 1
    assert said.startswith(f"{path.name}: ")
    return said


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ({}, "has no scale: state its resolution in dpi, or the length in mm of a dark bar"),
        ({"dpi": 0.0}, "is stated with dpi 0; allowed is 50 to 10000"),
        ({"dpi": float("nan")}, "is stated with dpi nan"),
        ({"scale_mm": 9999.0}, "is stated with scale_mm 9999; allowed is 5 to 500"),
        ({"dpi": 300.0, "bore_mm": -1.0}, "is stated with bore_mm -1; allowed is 4 to 60"),
        ({"dpi": 320.0}, "shows a bore of 12.19 mm at 320 dpi, but the bore is 13 mm; look at both"),
        ({"dpi": 300.0, "bore_mm": 12.0}, "shows a bore of 13.00 mm at 300 dpi, but the bore is 12 mm"),
        ({"scale_mm": 30.0}, "shows no scale bar: a plain bar"),
    ],
)
def test_scales_that_cannot_be(tmp_path: Path, stated: dict[str, float], said: str) -> None:
    assert said in refusal(saved(plain(), tmp_path / "cam.png"), **stated)


def test_wrong_bar(tmp_path: Path) -> None:
    scanner = Scanner(dpi=300.0)
    picture = scan_of(rise(), tmp_path / "cam.png", scanner, bar(30.0, 4.0, -5.0, -22.0))
    assert "by the bar of 40 mm, but the bore is 13 mm" in refusal(picture, scale_mm=40.0)


def test_cam_cut_off_at_every_edge_of_the_picture(tmp_path: Path) -> None:
    rows, columns = plain().shape
    cuts = [plain()[80:], plain()[: rows - 80], plain()[:, 80:], plain()[:, : columns - 80]]
    for number, cut in enumerate(cuts):
        path = saved(cut, tmp_path / f"cut{number}.png")
        assert "shows a cam that is cut off at the edge of the picture" in refusal(path, dpi=300)


def test_pictures_without_a_bore(tmp_path: Path) -> None:
    outline = rise().outline(1e-6) / MM
    scanner = Scanner(dpi=300.0)
    none = saved(scanned(outline, circle(0.01), scanner), tmp_path / "none.png")
    assert "shows no plate with a bore" in refusal(none, dpi=300)
    square = np.array([[-6, -6], [6, -6], [6, 6], [-6, 6]])
    angular = saved(scanned(outline, square, scanner), tmp_path / "square.png")
    assert "shows no round bore in the cam" in refusal(angular, dpi=300)
    slanted = saved(scanned(outline, circle(6.5), replace(scanner, stretch=0.08)), tmp_path / "slant.png")
    assert "shows a bore that is 8 % longer than wide" in refusal(slanted, dpi=300)


def test_pictures_of_nothing(tmp_path: Path) -> None:
    flat = np.full((400, 500), 230, dtype=np.uint8)
    assert "nothing that stands out" in refusal(saved(flat, tmp_path / "flat.png"), dpi=300)
    noise = np.random.default_rng(1).integers(100, 180, (400, 500)).astype(np.uint8)
    assert refusal(saved(noise, tmp_path / "noise.png"), dpi=300)
    speck = flat.copy()
    speck[200:206, 200:206] = 0
    assert "nothing large enough to be a cam" in refusal(saved(speck, tmp_path / "speck.png"), dpi=300)


def header(width: int, height: int) -> bytes:
    """A picture file that ends after saying how large it is."""
    said = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    start = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + said + struct.pack(">I", zlib.crc32(said))
    return start + struct.pack(">I", 1000) + b"IDAT"


def test_files_that_are_no_pictures(tmp_path: Path) -> None:
    whole_file = saved(plain(), tmp_path / "cam.png").read_bytes()
    path = tmp_path / "scan.png"
    for content, said in (
        (b"", "is empty"),
        (b"a cam of 13 mm\n", "is not a picture (PNG, TIFF or JPEG)"),
        (whole_file[:3000], "cannot be read as a picture"),
        (
            header(13_000, 13_000),
            "has 13000 by 13000 pixels; allowed is up to 160 million: cut it to the cam",
        ),
        (header(100_000, 100_000), "is too large; allowed is up to 160 million pixels"),
        (header(20, 900), "has 20 by 900 pixels; at least 64 each way are needed"),
    ):
        path.write_bytes(content)
        assert said in refusal(path, dpi=300)
    assert "is not there" in refusal(tmp_path / "none.png", dpi=300)
    assert "is a folder" in refusal(tmp_path, dpi=300)


def test_spoilt_bytes_give_an_outline_or_one_line(tmp_path: Path) -> None:
    random = np.random.default_rng(9)
    for name in ("cam.png", "cam.jpg", "cam.tif"):
        path = tmp_path / name
        Image.fromarray(plain()).save(path)
        content = np.frombuffer(path.read_bytes(), dtype=np.uint8)
        for _ in range(6):
            changed = content.copy()
            changed[random.integers(0, min(2000, content.size), 4)] = random.integers(0, 256, 4)
            path.write_bytes(changed.tobytes())
            assert answer(path) in ("an outline", "one line")


def answer(path: Path) -> str:
    """What a picture gives."""
    try:
        outline_from_scan(path, dpi=300)
    except BadInput as error:
        return "one line" if len(str(error).splitlines()) == 1 else str(error)
    return "an outline"
