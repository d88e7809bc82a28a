"""Vector pictures: curves where the standard says they are, and a cam read from one as from its drawing."""

import math
import random
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from pullcurve.errors import BadInput
from pullcurve.intake.loops import Loop, loops
from pullcurve.intake.points import points_from_dxf
from pullcurve.intake.vector import svg_pieces
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.papers.cutfiles import cut_dxf, cut_svg
from pullcurve.verbs import cams, jobs

CHORD = 1e-4
KAPPA = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)
"""Where a cubic's control points lie for a quarter circle: within 2.7e-4 of the radius (from memory)."""


def picture(
    tmp_path: Path, inside: str, head: str = 'width="100mm" height="80mm" viewBox="0 0 100 80"'
) -> Path:
    path = tmp_path / "cam.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{inside}</svg>', encoding="utf-8")
    return path


def only(path: Path) -> FloatArray:
    [(_, points)] = svg_pieces(path, CHORD)
    return points


@pytest.mark.parametrize(
    "drawn",
    [
        "M10 20L40 20L40 50L10 50Z",
        "m10,20 30,0 0,30 -30,0z",
        "M10 20H40V50H10Z",
        "M10 20h30v30h-30z",
        "M 1e1-.0+20 L 40 20 40 50 10 50 Z".replace("-.0+20", " 20"),
    ],
)
def test_the_letters_for_lines_say_the_same_square(tmp_path: Path, drawn: str) -> None:
    points = only(picture(tmp_path, f'<path d="{drawn}"/>'))
    # by hand: y down in the picture is y up here
    assert points.tolist() == [[10, -20], [40, -20], [40, -50], [10, -50], [10, -20]]


@pytest.mark.parametrize(
    ("drawn", "error"),
    [
        ("<circle cx='50' cy='40' r='20'/>", CHORD),
        ("<ellipse cx='50' cy='40' rx='20' ry='20'/>", CHORD),
        ("<path d='M70 40A20 20 0 0 1 30 40A20 20 0 0 1 70 40Z'/>", CHORD),
        ("<path d='M70 40a20 20 0 1 0 0 .0001z'/>", 2e-4),
        (
            f"<path d='M70 40C70 {40 + 20 * KAPPA} {50 + 20 * KAPPA} 60 50 60S30 {40 + 20 * KAPPA} 30 40"
            f"S{50 - 20 * KAPPA} 20 50 20S70 {40 - 20 * KAPPA} 70 40Z'/>",
            20 * 2.8e-4,
        ),
    ],
)
def test_round_things_are_round(tmp_path: Path, drawn: str, error: float) -> None:
    points = only(picture(tmp_path, drawn))
    away = np.hypot(*(points - [50, -40]).T)
    np.testing.assert_allclose(away, 20.0, atol=error)
    chords = Polygon(points)
    assert chords.area == pytest.approx(math.pi * 20.0**2, rel=6e-4)


def test_a_smooth_quadratic_goes_on_as_a_parabola(tmp_path: Path) -> None:
    points = only(picture(tmp_path, "<path d='M0 0Q10 20 20 0T40 0'/>"))
    # by hand: y = x (20 - x)/10 up to 20, its mirror image beyond
    x, y = points.T
    wanted = np.where(x <= 20, -x * (20 - x) / 10, (x - 20) * (40 - x) / 10)
    np.testing.assert_allclose(y, wanted, atol=1e-9)


def test_an_arc_takes_the_way_that_its_flags_say(tmp_path: Path) -> None:
    """The four arcs of the standard's own figure: large or small, one sense or the other (SVG 2, 9.3.8)."""
    lengths = {}
    for large in (0, 1):
        for sweep in (0, 1):
            points = only(picture(tmp_path, f"<path d='M10 0A10 10 0 {large} {sweep} 0 10'/>"))
            lengths[large, sweep] = float(np.sum(np.hypot(*np.diff(points, axis=0).T)))
            (x0, y0), (x1, y1) = np.diff(points[:3], axis=0)
            turned = x0 * y1 - y0 * x1
            assert bool(turned > 0) is (sweep == 0)  # y up here
    quarter = math.pi * 5.0
    assert lengths[0, 0] == pytest.approx(quarter, rel=1e-4) and lengths[0, 1] == pytest.approx(
        quarter, rel=1e-4
    )
    assert lengths[1, 0] == pytest.approx(3 * quarter, rel=1e-4)


@pytest.mark.parametrize(
    ("head", "wide"),
    [
        ('width="100mm" viewBox="0 0 50 40"', 2.0),
        ('width="4in" viewBox="0 0 101.6 80"', 1.0),
        ('width="96"', 25.4 / 96.0),
        ('width="10cm"', 10.0),
    ],
)
def test_sizes_are_full_sizes(tmp_path: Path, head: str, wide: float) -> None:
    points = only(picture(tmp_path, "<polygon points='0,0 1,0 1,1'/>", head))
    assert points[1] == pytest.approx([wide, 0.0])


def test_moves_of_groups_add_up(tmp_path: Path) -> None:
    inside = (
        '<defs><path d="M0 0H9V9Z"/></defs><g id="profile" transform="translate(10 5) rotate(90)">'
        '<g transform="scale(2)"><path transform="matrix(1 0 0 1 3 0)" d="M0 0H1V1Z"/></g></g>'
    )
    [(layer, points)] = svg_pieces(picture(tmp_path, inside), CHORD)
    # by hand: (0, 0) goes to (3, 0), doubled (6, 0), turned a quarter (0, 6), moved (10, 11)
    assert layer == "profile" and points[0] == pytest.approx([10.0, -11.0])
    assert points[1] == pytest.approx([10.0, -13.0])


@pytest.mark.parametrize("kind", ["brake", "clutch", "assist"])
def test_a_cam_is_read_from_its_picture_as_from_its_drawing(kind: str, tmp_path: Path) -> None:
    job = jobs.demo_job()
    metal = cams.cam_case(job, kind).metal
    found = []
    for ending, text in ((".svg", cut_svg(metal)), (".dxf", cut_dxf(metal))):
        path = tmp_path / f"cam{ending}"
        path.write_text(text, encoding="utf-8")
        found.append(cams.read_cam(job, kind, path))
    svg, dxf = found
    assert svg.nearest == dxf.nearest and svg.apart < 1e-6
    theta = np.linspace(0.0, metal.rest_end, 99)
    one, other = (evaluate(read.found.curve, theta)[0] for read in found)
    # The picture is written with five decimals of a millimetre.
    np.testing.assert_allclose(one, other, atol=2e-6)


def test_a_square_and_its_hole_are_loops(tmp_path: Path) -> None:
    path = picture(tmp_path, "<g id='a'><path d='M0 0H30V30H0Z M10 10H20V20H10Z'/></g><path d='M0 0L5 5'/>")
    known: list[Loop] = loops(path)
    assert [one.layer for one in known] == ["a", "a"]
    assert [one.area for one in known] == pytest.approx([9e-4, 1e-4])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is empty"),
        ("<svg", "cannot be read as a vector picture"),
        ("<html/>", "is XML, but no vector picture"),
        ("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 1 1'/>", "states no full size"),
        ("<svg width='50%'/>", "states no full size"),
        ("<svg width='9mm'><path d='M0 0L1'/></svg>", "a path breaks off after L"),
        ("<svg width='9mm'><path d='M0 0X1'/></svg>", "the letter X, which is none"),
        ("<svg width='9mm'><path d='M0 0L1 1'/></svg>", "has no closed outline"),
        ("<svg width='9mm'><g transform='rotate()'><path d='M0 0L1 1'/></g></svg>", "cannot be read"),
        (f"<svg width='9mm'><path d='M0 0{'C0 9e9 9e9 9e9 9e9 0' * 200}'/></svg>", "more than 500000 points"),
        ("<!DOCTYPE svg [<!ENTITY a 'aaaa'>]><svg width='9mm'>&a;</svg>", "holds entities of its own"),
        ("<svg width='9mm'><path d='M0 0H9V9H0Z'/></svg>", ""),
    ],
)
def test_what_is_no_cam_is_one_line(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "cam.svg"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        cams.read_cam(jobs.demo_job(), "brake", path)
    [fault] = caught.value.faults
    assert said in fault.said and fault.where == "cam.svg" and "\n" not in fault.said


WHOLE = (
    b"<svg width='60mm' viewBox='0 0 60 32'><g id='profile' transform='translate(1 2) rotate(3)'>"
    b"<path d='M17.7 5.1C20 4 30 9 57 20L57 30A30 30 0 0 1 17 27a11 11 0 0 1 0-22Z'/></g>"
    b"<circle cx='16' cy='16' r='6.5'/></svg>"
)
PUT_IN = (b"9e99", b"nan", b"-", b"Z", b"A", b"1e-320", b"<g>", b"&#0;", b"rotate(", b"M", b"00000")


@pytest.mark.parametrize("seed", range(5))
def test_whatever_becomes_of_a_picture_it_is_read_or_refused_in_one_line(seed: int, tmp_path: Path) -> None:
    """A hundred spoilt pictures a seed; 6,000 more were tried outside the suite."""
    chance = random.Random(seed)
    path = tmp_path / "cam.svg"
    for _ in range(100):
        spoilt = bytearray(WHOLE)
        for _ in range(chance.choice((1, 1, 2, 5))):
            place, way = chance.randrange(len(spoilt)), chance.randrange(4)
            if way == 0:
                spoilt[place] = chance.randrange(256)
            elif way == 1:
                del spoilt[place : place + chance.randrange(1, 30)]
            elif way == 2:
                spoilt[place:place] = spoilt[place : place + chance.randrange(1, 30)]
            else:
                spoilt[place:place] = chance.choice(PUT_IN)
            spoilt = spoilt or bytearray(b"x")
        path.write_bytes(bytes(spoilt))
        try:
            assert points_from_dxf(path).points.shape[1] == 2
        except BadInput as error:
            [fault] = error.faults
            assert fault.where == "cam.svg" and "\n" not in fault.said
