"""Drawn cams there and back: to their drawing, or under a scanner, and in again with the feel they were drawn for."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.cutfiles import cut_dxf
from pullcurve.studies.draw import CLOSE, Drawn, draw
from pullcurve.studies.wishes import distances
from pullcurve.verbs.cams import CamCase, Read, drawn_case, read_cam
from pullcurve.verbs.making import wanted_feel
from tests.intake.picture import Scanner, circle, saved, scanned
from tests.intake.plates import metal_mm
from tests.studies import shop

FORCE, AT_REST = 0.01, 0.02
"""What a cam read back must keep of the finger force; the last in newton, where the finger holds little."""

ROUGH = Scanner(noise=0.03, turn=0.4, stretch=0.003, skew=0.002, shading=0.1)
"""A scanner with all against it: noise, skew, unequal scales, uneven light."""

CAMS = [
    (shop.MAIN, "brake", {"force_lock_newton": 58.0, "travel_bite_mm": 11.0}),
    (shop.MAIN, "clutch", {"force_peak_newton": 62.0}),
    (shop.MAIN, "assist", {"force_hold_newton": 50.0}),
    (shop.CABLE, "brake", {"force_lock_newton": 50.0}),
    (shop.CABLE, "clutch", {"force_peak_newton": 45.0}),
    (shop.CABLE, "assist", {"force_hold_newton": 28.0}),
    (shop.SINGLE, "brake", {"force_lock_newton": 66.0}),
    (shop.SINGLE, "clutch", {"force_peak_newton": 80.0}),
    (shop.SINGLE, "assist", {"force_hold_newton": 52.0}),
]


@cache
def made(number: int) -> tuple[Drawn, CamCase]:
    """A cam for a wish, drawn once, and on its lever."""
    name, kind, wishes = CAMS[number]
    job = shop.known(name)
    drawn = draw(job, kind, wanted_feel(job, kind, wishes))
    assert drawn.worst <= CLOSE
    return drawn, drawn_case(job, drawn, f"{kind}-drawn")


def named(number: int) -> str:
    name, kind, _ = CAMS[number]
    return f"{name.removesuffix('.toml')} {kind}"


def same_feel(number: int, read: Read) -> None:
    """Force along the whole pull on both branches, and every wish, as drawn."""
    drawn, case = made(number)
    for branch in ("pull", "release"):
        before, after = (getattr(one.pull.curves, branch) for one in (case, read.case))
        np.testing.assert_allclose(after, before, rtol=FORCE, atol=AT_REST)
    known = {"brake": read.case.pull.brake, "clutch": read.case.pull.clutch}
    for wish in drawn.wanted.wishes:
        readouts = known[wish.kind]
        assert readouts is not None
        assert abs(float(distances((wish,), readouts).ravel()[0])) <= CLOSE


@pytest.mark.parametrize("number", range(len(CAMS)), ids=named)
def test_drawn_cam_read_from_its_own_drawing_gives_that_feel(number: int, tmp_path: Path) -> None:
    name, kind, _ = CAMS[number]
    path = tmp_path / "drawn.dxf"
    path.write_text(cut_dxf(made(number)[1].metal), encoding="ascii")
    read = read_cam(shop.known(name), kind, path)
    same_feel(number, read)
    assert read.case.verdict.ok


def scan(number: int, path: Path) -> Path:
    """The drawn cam under a scanner: shapely offsets the path of its roller, nothing of the drawing is used."""
    metal = made(number)[1].metal
    bore: FloatArray = circle(metal.bore_radius * 1e3)
    return saved(scanned(metal_mm(metal), bore, ROUGH), path)


def scanned_again(number: int, folder: Path) -> None:
    name, kind, _ = CAMS[number]
    same_feel(number, read_cam(shop.known(name), kind, scan(number, folder / "drawn.png"), dpi=1200))


@pytest.mark.parametrize("number", [0, 4], ids=named)
def test_drawn_cam_read_from_a_scan_gives_that_feel(number: int, tmp_path: Path) -> None:
    """Brake and clutch cams: an assist cam is round where it rests, so that a picture alone clocks it badly."""
    scanned_again(number, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("number", [1, 3, 6, 7], ids=named)
def test_every_drawn_cam_read_from_a_scan_gives_that_feel(number: int, tmp_path: Path) -> None:
    scanned_again(number, tmp_path)
