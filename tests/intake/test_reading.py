"""Cams from files: own drawings and tables, pictures of metal made by another road, and files that are none."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

from pullcurve.errors import BadInput
from pullcurve.intake.reading import ReadCam, law_from_file
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.mechanics.law import law
from pullcurve.mechanics.reading import turned_points
from pullcurve.papers.cutfiles import Release, cut_dxf
from pullcurve.papers.inspection import flank_table, profile_table
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.arrays import Wear
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import Metal, cam_metal
from pullcurve.pull.solve import solve
from pullcurve.verbs.jobs import demo_job
from tests.intake.picture import Scanner, bar, circle, saved, scanned
from tests.intake.plates import metal_mm
from tests.papers import metals

MM, RADIANS = 1e-3, np.pi / 180
DRAWN_MM, SCANNED_MM = 0.002, 0.02
"""What an own drawing and a picture at 1200 dpi must keep at the roller."""

FORCE, AT_REST = 0.01, 0.2
"""What the finger force from a picture must keep, as a share, and with an assist in newton at rest: there a preload of
240 N hangs on a slope of nothing, while the finger holds 3 to 8 N."""

ROUGH = Scanner(noise=0.03, turn=0.4, stretch=0.003, skew=0.002, shading=0.1)
KINDS = ("brake", "clutch", "assist")
OTHERS: dict[str, BrakeCam | ClutchCam | AssistCam] = {
    "brake": BrakeCam(reach_deg=0, take_up_mm=0.3, stroke_mm=7.65),
    "clutch": ClutchCam(reach_deg=0, lift_mm=9.45),
    "assist": AssistCam(reach_deg=0, onset_deg=8, fall=0.44),
}
"""Cams with another law than the fitted ones: a tenth less stroke, more take-up, more fall, sooner."""


@cache
def nominal(kind: str) -> Metal:
    """A cam of the demo's machine."""
    return cam_metal(demo_job(), kind)


@cache
def other(kind: str) -> Metal:
    """Another cam that fits the same rocker."""
    return cam_metal(demo_job(), kind, OTHERS[kind])


def off_mm(read: ReadCam, true: Metal) -> float:
    """How far the law that was read puts the roller off within the pull, at most."""
    theta = np.linspace(0.0, true.rest_end, 301)
    expected = np.interp(theta, true.theta, true.law.psi)
    return float(np.abs(evaluate(read.curve, theta)[0] - expected).max() * true.arm / MM)


def off_slope(read: ReadCam, true: Metal) -> float:
    """How far its slope is off, over the largest."""
    theta = np.linspace(0.0, true.rest_end, 301)
    expected = np.interp(theta, true.theta, true.law.dpsi)
    return float(np.abs(evaluate(read.curve, theta)[1] - expected).max() / np.abs(expected).max())


def written(path: Path, text: str) -> Path:
    """A text as a file."""
    path.write_text(text, encoding="utf-8")
    return path


def scan(outline: FloatArray, path: Path, scanner: Scanner = ROUGH, *others: FloatArray) -> Path:
    """A scan of an outline in mm with a bore of 13 mm."""
    return saved(scanned(outline, circle(6.5), scanner, *others), path)


def refusal(path: Path, metal: Metal | None = None, **stated: object) -> str:
    """The one line that a file is answered with."""
    with pytest.raises(BadInput) as caught:
        law_from_file(path, metal or nominal("brake"), **stated)  # type: ignore[arg-type]
    said = str(caught.value)
    assert len(said.splitlines()) == 1
    assert said.startswith(f"{path.name}: ")
    return said


# Own drawings and tables --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("release", ["R2000", "R12"])
@pytest.mark.parametrize("kind", KINDS)
def test_own_drawing_is_taken_as_it_lies(tmp_path: Path, kind: str, release: Release) -> None:
    """Of the cam itself and of one with another law: no turn, no mirror, within 0.002 mm at the roller."""
    for true in (nominal(kind), other(kind)) if release == "R2000" else (other(kind),):
        read = law_from_file(written(tmp_path / "cam.DXF", cut_dxf(true, release)), nominal(kind))
        assert off_mm(read, true) < DRAWN_MM
        assert off_slope(read, true) < 5e-3
        assert (read.turn, read.mirrored, read.source) == (0.0, False, "cam.DXF")
        assert read.outline is not None
        assert read.outline.bore_radius == pytest.approx(true.bore_radius)
        assert read.doubtful.size == 0
        assert (read.deviation < 2e-4).all()
        assert (read.dpsi_deviation < 3e-2).all()


@pytest.mark.parametrize("name", metals.NAMES)
def test_own_drawing_of_every_sense_and_with_holes(tmp_path: Path, name: str) -> None:
    true = metals.metal(name)
    read = law_from_file(written(tmp_path / "cam.dxf", cut_dxf(true)), true)
    assert off_mm(read, true) < DRAWN_MM
    assert read.turn == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_curve_covers_lead_in_and_run_out(tmp_path: Path, kind: str) -> None:
    """Its span is the cam's; where corners hide the flank it goes on within 0.02 mm."""
    true = nominal(kind)
    read = law_from_file(written(tmp_path / "cam.dxf", cut_dxf(true)), true)
    assert read.curve.breaks[[0, -1]] == pytest.approx(true.theta[[0, -1]])
    assert read.theta[[0, -1]] == pytest.approx(true.theta[[0, -1]])
    assert read.covariance.shape == (read.theta.size, 2, 2)
    np.testing.assert_allclose(evaluate(read.curve, true.theta)[0], true.law.psi, atol=1e-4)
    assert true.theta[0] <= read.shown[0] < 0.0
    assert true.rest_end < read.shown[1] < true.theta[-1]


@pytest.mark.parametrize("kind", KINDS)
def test_own_profile_table_comes_back(tmp_path: Path, kind: str) -> None:
    """Points a degree of cam angle apart; where faces meet the flank in a hollow they hide it by 0.013 mm."""
    for true in (nominal(kind), other(kind)):
        read = law_from_file(written(tmp_path / "cam.csv", profile_table(true, 2e-5)), nominal(kind))
        assert off_mm(read, true) < SCANNED_MM
        assert read.turn == 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_own_flank_table_comes_back(tmp_path: Path, kind: str) -> None:
    for true in (nominal(kind), other(kind)):
        read = law_from_file(written(tmp_path / "cam.csv", flank_table(true, 2e-5)), nominal(kind))
        assert off_mm(read, true) < DRAWN_MM
        assert (read.outline, read.turn, read.mirrored) == (None, 0.0, False)
        assert read.curve.breaks[[0, -1]] == pytest.approx(true.theta[[0, -1]])


def test_other_law_shows_in_what_is_left(tmp_path: Path) -> None:
    """Root mean square of two laws over the pull, by the laws themselves."""
    theta = np.linspace(0.0, nominal("brake").rest_end, 2001)
    laws = [np.interp(theta, one.theta, one.law.psi) for one in (nominal("brake"), other("brake"))]
    expected = np.sqrt(np.mean((laws[0] - laws[1]) ** 2))
    read = law_from_file(written(tmp_path / "cam.dxf", cut_dxf(other("brake"))), nominal("brake"))
    assert read.clock_residual == pytest.approx(expected, rel=1e-2)


# Clocking -----------------------------------------------------------------------------------------------------------


def drawn(outline: FloatArray, path: Path, place: tuple[float, float] = (0.0, 0.0)) -> Path:
    """A drawing of an outline in mm with its bore somewhere."""
    import ezdxf

    document = ezdxf.new("R2000", units=4)  # type: ignore[attr-defined]
    document.modelspace().add_lwpolyline(outline + np.array(place), close=True)
    document.modelspace().add_circle(place, 6.5)
    document.saveas(path)
    return path


@pytest.mark.parametrize(
    ("kind", "angle", "place"),
    [
        ("brake", 2.0, (0.0, 0.0)),
        ("clutch", -110.0, (0.0, 0.0)),
        ("assist", 3.0, (0.0, 0.0)),
        ("brake", 0.2, (40.0, 7.0)),
        ("assist", 100.0, (-3.0, 5.0)),
    ],
)
def test_turned_drawing_of_another_law_is_clocked_by_how_it_rests(
    tmp_path: Path, kind: str, angle: float, place: tuple[float, float]
) -> None:
    """A fit to the nominal law alone would turn it by a degree or so; the turn back is known."""
    true = other(kind)
    laid = turned_points(metal_mm(true), angle * RADIANS)
    read = law_from_file(drawn(laid, tmp_path / "cam.dxf", place), nominal(kind))
    assert read.turn / RADIANS == pytest.approx(-angle, abs=0.02)
    assert off_mm(read, true) < 0.005


def test_drawing_seen_from_behind(tmp_path: Path) -> None:
    true = other("clutch")
    laid = metal_mm(true) * np.array([-1.0, 1.0])
    read = law_from_file(drawn(laid, tmp_path / "cam.dxf"), nominal("clutch"))
    assert read.mirrored
    assert off_mm(read, true) < DRAWN_MM


def test_points_to_two_decimals(tmp_path: Path) -> None:
    """Rounded to 0.01 mm: the law is off by less than that, and says so."""
    true = nominal("brake")
    ring = shapely.LinearRing(metal_mm(true)).segmentize(0.4)
    rows = "\n".join(f"{x:.2f};{y:.2f}" for x, y in ring.coords[:-1])
    read = law_from_file(written(tmp_path / "cam.txt", f"cam 3, measured\nX;Y\n{rows}\n"), true)
    assert off_mm(read, true) < 0.01
    assert 0.003 < read.deviation.max() * true.arm / MM < 0.02


# Pictures -----------------------------------------------------------------------------------------------------------


def trip(true: Metal, known: Metal, path: Path, scanner: Scanner, behind: bool) -> ReadCam:
    """From a law over metal and picture back to the law, the nominal cam being known."""
    outline = metal_mm(true) * np.array([-1.0 if behind else 1.0, 1.0])
    read = law_from_file(scan(outline, path, scanner), known, dpi=1200)
    assert off_mm(read, true) < SCANNED_MM
    assert read.mirrored is behind
    return read


def check_forces(kinds: tuple[str, ...], reads: dict[str, ReadCam]) -> None:
    """Finger force of the lever with the read cams against the fitted ones, on every branch, friction on."""
    lever = next(one for one in mechanism(demo_job()).levers if one.rocker(kinds[0]) is not None)
    rockers = tuple(replace(one, law=reads[one.drives].curve) for one in lever.rockers)
    theta = np.linspace(0.0, nominal(kinds[0]).rest_end, 105)
    true, read = (solve(one, theta, Wear()) for one in (lever, replace(lever, rockers=rockers)))
    atol = AT_REST if "assist" in kinds else 0.0
    for branch in ("force", "pull", "release"):
        np.testing.assert_allclose(getattr(read, branch), getattr(true, branch), rtol=FORCE, atol=atol)


@pytest.mark.parametrize("kind", ["brake", "assist"])
def test_picture_of_another_law_is_not_bent_to_the_nominal_one(tmp_path: Path, kind: str) -> None:
    """Noise, turn, skew and stretch; a tenth of law away from what is expected."""
    read = trip(other(kind), nominal(kind), tmp_path / "cam.png", replace(ROUGH, turn=2.1), kind == "assist")
    assert read.clock_residual * 20 > 0.2


def test_finger_force_from_a_picture(tmp_path: Path) -> None:
    read = trip(nominal("brake"), nominal("brake"), tmp_path / "cam.png", ROUGH, False)
    check_forces(("brake",), {"brake": read})
    theta = np.linspace(0.0, nominal("brake").rest_end, 50)
    told = np.interp(theta, read.theta, read.deviation)
    off = law(read.curve, theta).psi - np.interp(theta, nominal("brake").theta, nominal("brake").law.psi)
    assert (np.abs(off) < 3 * told).all()


SWEEP = [
    replace(ROUGH, turn=turn, noise=noise, seed=seed, stretch=stretch, skew=-skew, blur_pixels=blur)
    for seed, (turn, noise, stretch, skew, blur) in enumerate(
        [
            (0.0, 0.0, 0.0, 0.0, 0.4),
            (1.0, 0.03, 0.004, 0.003, 0.8),
            (2.5, 0.06, -0.004, 0.002, 1.2),
            (4.0, 0.08, 0.002, -0.004, 1.6),
            (5.5, 0.03, -0.002, -0.002, 2.0),
        ]
    )
]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(SWEEP)))
@pytest.mark.parametrize("behind", [False, True])
def test_sweep_of_pictures(tmp_path: Path, number: int, behind: bool) -> None:
    """Every kind of cam, nominal and another, both faces, five scanners: 0.02 mm, and 1 % of force."""
    reads = {}
    for kind in KINDS:
        reads[kind] = trip(nominal(kind), nominal(kind), tmp_path / "cam.png", SWEEP[number], behind)
        trip(other(kind), nominal(kind), tmp_path / "cam.png", SWEEP[number], behind)
    check_forces(("brake",), reads)
    check_forces(("clutch", "assist"), reads)


@cache
def small() -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """A scan of the brake cam at 300 dpi with a scale bar of 30 mm."""
    return scanned(metal_mm(nominal("brake")), circle(6.5), Scanner(dpi=300.0, turn=0.5), bar(30, 4, -5, -36))


def test_scale_by_file_by_word_and_by_bar(tmp_path: Path) -> None:
    path = tmp_path / "cam.tif"
    Image.fromarray(small()).save(path, dpi=(300, 300))
    for dpi, bar_mm in ((None, None), (300.0, None), (None, 30.0)):
        read = law_from_file(path, nominal("brake"), dpi=dpi, scale_mm=bar_mm)
        assert off_mm(read, nominal("brake")) < 0.03


def test_file_that_states_a_resolution_that_it_does_not_have(tmp_path: Path) -> None:
    for name in ("cam.png", "cam.jpg"):
        Image.fromarray(small()).save(tmp_path / name, dpi=(72, 72))
        said = refusal(tmp_path / name)
        assert "shows a bore of 54.1" in said
        assert said.endswith("mm at 72 dpi, but the bore is 13 mm; look at both")
    for odd in ((300, 150), (1, 1)):
        Image.fromarray(small()).save(tmp_path / "cam.png", dpi=odd)
        assert "has no scale: state its resolution in dpi" in refusal(tmp_path / "cam.png")


# Tables of a law ----------------------------------------------------------------------------------------------------


def law_rows(line: Callable[[float, float], str], step: float = 1.0) -> str:
    """Lines of a law table of the clutch cam, by lever angle and rocker angle [rad]."""
    known = nominal("clutch")
    theta = np.arange(-1.0, 27.0, step) * RADIANS
    psi = np.interp(theta, known.theta, known.law.psi)
    return "\n".join(line(*pair) for pair in zip(theta, psi, strict=True)) + "\n"


REST = 35.0 * RADIANS

LAW_TABLES: dict[str, str] = {
    "turn": "lever_angle_deg;rocker_turn_deg\n"
    + law_rows(lambda t, p: f"{t / RADIANS:.3f};{(p - REST) / RADIANS:.5f}"),
    "decimal comma": "# from the bench\nLever angle [deg];Rocker angle [deg]\n"
    + law_rows(lambda t, p: f"{t / RADIANS:.3f};{p / RADIANS:.5f}".replace(".", ",")),
    "radians": "theta_rad\tpsi_rad\n" + law_rows(lambda t, p: f"{t:.7f}\t{p:.7f}"),
    "exponents": "no,rocker angle (rad),lever angle (rad)\n" + law_rows(lambda t, p: f"1,{p:.8e},{t:.8e}"),
    "titled": "clutch cam, third of its kind\nbench two\nlever_angle_deg,rocker_turn_deg,x_mm,y_mm\n"
    + law_rows(lambda t, p: f"{t / RADIANS:.3f},{(p - REST) / RADIANS:.5f},1,2"),
}


@pytest.mark.parametrize("name", LAW_TABLES)
def test_every_way_of_writing_a_law(tmp_path: Path, name: str) -> None:
    read = law_from_file(written(tmp_path / "law.tsv", LAW_TABLES[name]), nominal("clutch"))
    assert off_mm(read, nominal("clutch")) < 0.001
    assert read.clock_residual < 1e-5


def test_law_in_any_order_and_to_two_decimals(tmp_path: Path) -> None:
    """Rounded to 0.01 degrees: 0.003 mm at the roller at most, told as less."""
    rows = law_rows(lambda t, p: f"{t / RADIANS:.3f};{p / RADIANS:.2f}", 0.5).splitlines()
    text = "\n".join(["lever_angle_deg;rocker_angle_deg", *rows[::2], *rows[1::2]])
    read = law_from_file(written(tmp_path / "law.csv", text), nominal("clutch"))
    assert off_mm(read, nominal("clutch")) < 0.003
    assert 5e-6 < np.interp(0.2, read.theta, read.deviation) < 1e-4


SPOILT_LAWS: dict[str, tuple[str, str]] = {
    "few": ("1;2\n3;4\n", "has 2 rows; a table of a law has at least 8"),
    "words": ("0;0\n1;much\n", "has 'much' in line 3; an angle is needed"),
    "twice": (
        "".join(f"{n};{n}\n" for n in (0, 1, 2, 3, 3, 4, 5, 6, 7)),
        "has the lever angle 3 degrees twice",
    ),
    "round": (
        "".join(f"{n};{30 * n}\n" for n in range(9)),
        "turns the rocker to 275.0 degrees from the line to the lever pivot; allowed is 0 to 180",
    ),
    "short": (
        "".join(f"{n};{n}\n" for n in range(12)),
        "shows a flank from 0.0 to 11.0 degrees of lever angle; the pull is 24.7 degrees",
    ),
    "elsewhere": (
        "".join(f"{n};1\n" for n in range(40, 60)),
        "shows no flank within the pull of 24.7 degrees",
    ),
}


@pytest.mark.parametrize("name", SPOILT_LAWS)
def test_spoilt_law_gives_one_line(tmp_path: Path, name: str) -> None:
    rows, said = SPOILT_LAWS[name]
    assert said in refusal(written(tmp_path / "law.csv", "lever_angle_deg;rocker_turn_deg\n" + rows))


def test_lever_angles_alone_are_no_law(tmp_path: Path) -> None:
    path = written(tmp_path / "law.csv", "lever_angle_deg;force\n1;2\n")
    assert "has 0 points on the profile" in refusal(path)


# Files that are none ------------------------------------------------------------------------------------------------


def test_kinds_of_file(tmp_path: Path) -> None:
    said = refusal(tmp_path / "cam.step")
    assert "is no kind of file that a cam is read from; allowed are points (.csv, .txt, .tsv)" in said
    assert "a drawing (.dxf, .svg), a picture (.png, .tif, .tiff, .jpg, .jpeg)" in said
    assert "is no picture and has its own scale" in refusal(tmp_path / "cam.dxf", dpi=300.0)
    assert "is no picture and has its own scale" in refusal(tmp_path / "cam.csv", scale_mm=30.0)
    assert "is no drawing and has no layers" in refusal(tmp_path / "cam.png", layer="profile")
    for name in ("cam.csv", "cam.dxf", "cam.png"):
        assert "is not there" in refusal(tmp_path / name)
        (tmp_path / name).touch()
        assert "is empty" in refusal(tmp_path / name)
        (tmp_path / name).write_bytes(bytes(range(256)) * 9)
    assert "no UTF-8 text from byte 128 on" in refusal(tmp_path / "cam.csv")
    assert "cannot be read as a drawing (DXF)" in refusal(tmp_path / "cam.dxf")
    assert "is not a picture (PNG, TIFF or JPEG)" in refusal(tmp_path / "cam.png", dpi=300.0)


def test_metal_that_does_not_carry_the_pull(tmp_path: Path) -> None:
    """A disc of hub size is never touched; half of a flank ends too early; a crossed profile is none."""
    disc = drawn(circle(9.0), tmp_path / "disc.dxf")
    assert "has no flank that carries the whole law" in refusal(disc)
    known = nominal("brake")
    part = known.theta < 9 * RADIANS
    short = replace(known, theta=known.theta[part], law=replace(known.law, psi=known.law.psi[part]))
    said = refusal(drawn(metal_mm(short), tmp_path / "short.dxf"))
    assert "shows a flank from -2.0 to " in said
    crossed = metal_mm(known)
    crossed[[10, 40]] = crossed[[40, 10]]
    assert "crosses itself at x" in refusal(drawn(crossed, tmp_path / "crossed.dxf"))


def test_cut_off_scan(tmp_path: Path) -> None:
    path = saved(small()[:, 60:], tmp_path / "cam.png")
    assert "cut off at the edge of the picture" in refusal(path, dpi=300.0)
