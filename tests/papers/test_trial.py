"""Trial cams: closed bodies of the right volume as an independent reader sees them, never without the warning."""

import io
import math
import re
import struct
import zipfile
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
import trimesh

from pullcurve.papers import strokes, trial
from tests.papers.metals import HOLES, NAMES, metal

MM = 1e3


@cache
def stl(name: str) -> trimesh.Trimesh:
    """The STL file as trimesh reads it."""
    body: trimesh.Trimesh = trimesh.load_mesh(io.BytesIO(trial.trial_stl(metal(name))), file_type="stl")
    return body


@cache
def three_mf(name: str) -> trimesh.Trimesh:
    """The one body of the 3MF file as trimesh reads it."""
    scene = trimesh.load_scene(io.BytesIO(trial.trial_3mf(metal(name))), file_type="3mf")
    assert scene.units == "millimeter"
    (body,) = scene.geometry.values()
    assert isinstance(body, trimesh.Trimesh)
    return body


def plate_volume(name: str) -> float:
    """Area of the outline less bore and holes, times the thickness, mm3."""
    known = metal(name)
    area = shapely.Polygon(MM * known.outline).area - math.pi * (MM * known.bore_radius) ** 2
    area -= sum(math.pi * (MM * radius) ** 2 for _, _, radius in known.holes)
    return float(area * MM * known.thickness)


def sunk_volume(name: str) -> float:
    """What the letters take, mm3."""
    known = metal(name)
    return float(trial.DEPTH * sum(letter.area for letter in trial.letters(known, trial.plan(known))))


# Bodies -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("read", [stl, three_mf])
def test_body_is_closed_and_has_the_volume_of_the_plate(name: str, read: object) -> None:
    assert callable(read)
    body = read(name)
    assert body.is_watertight and body.is_winding_consistent and body.is_volume
    assert len(body.split(only_watertight=True)) == 1
    # Round holes are polygons of 240 corners: 1e-4 of their area.
    assert body.volume == pytest.approx(plate_volume(name) - sunk_volume(name), rel=1e-4)
    assert sunk_volume(name) > 5.0


@pytest.mark.parametrize("name", NAMES)
def test_body_lies_flat_and_measures_in_mm(name: str) -> None:
    low, high = stl(name).bounds
    outline = MM * metal(name).outline
    assert low == pytest.approx([*outline.min(axis=0), 0.0], abs=1e-5)
    assert high == pytest.approx([*outline.max(axis=0), MM * metal(name).thickness], abs=1e-5)


def test_plate_without_room_for_letters_is_whole() -> None:
    thin = replace(metal("brake"), bore_radius=metal("brake").hub_radius - 0.0012)
    assert trial.letters(thin, trial.plan(thin)) == ()
    body = trimesh.load_mesh(io.BytesIO(trial.trial_stl(thin)), file_type="stl")
    area = shapely.Polygon(MM * thin.outline).area - math.pi * (MM * thin.bore_radius) ** 2
    assert body.is_volume and body.volume == pytest.approx(area * MM * thin.thickness, rel=2e-4)


def test_genus_counts_bore_and_holes() -> None:
    """Euler: V - E + F = 2 - 2 g, g through holes."""
    assert stl("brake").euler_number == 0
    assert stl("drilled").euler_number == 2 - 2 * (1 + len(HOLES))


def test_thin_plate_is_sunk_by_half_at_most() -> None:
    thin = replace(metal("brake"), thickness=0.001)
    solid = trial.trial_solid(thin)
    assert sorted(set(np.round(solid.corners[:, 2], 6))) == [0.0, 0.5, 1.0]


# Letters ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_letters_stand_in_the_ring_and_clear_of_every_hole(name: str) -> None:
    known = metal(name)
    plate = trial.plan(known)
    letters = shapely.union_all(trial.letters(known, plate))
    assert plate.buffer(-0.3).contains(letters)
    radii = np.hypot(*shapely.get_coordinates(letters).T)
    assert radii.min() > MM * known.bore_radius and radii.max() < MM * known.hub_radius


def test_warning_is_complete_and_no_letter_touches_the_next() -> None:
    known = metal("brake")
    letters = trial.letters(known, trial.plan(known))
    assert trial.CUT_IN.split() == ["BENCH", "ONLY", "NEVER", "RIDE"]
    assert len(letters) == len(trial.CUT_IN.replace(" ", ""))
    # With the clock, from the first letter: angles fall.
    centres = np.array([letter.representative_point().coords[0] for letter in letters])
    assert len({round(float(np.arctan2(y, x)), 2) for x, y in centres}) == len(letters)
    assert min(letter.area for letter in letters) > 0.5


def test_every_letter_of_the_warning_is_known_and_fits_its_cell() -> None:
    assert set(trial.CUT_IN) - {" "} <= set(strokes.LETTERS)
    for letter in strokes.LETTERS.values():
        points = np.concatenate([np.array(stroke) for stroke in letter])
        assert points.min() >= 0.0 and points[:, 0].max() <= 4.0 and points[:, 1].max() == strokes.HIGH


def test_text_goes_round_once() -> None:
    height = strokes.ring_height("HHHH", 10.0, 100.0)
    units = 4 * (4.0 + strokes.BETWEEN)
    assert height * units / strokes.HIGH == pytest.approx(2 * math.pi * 10.0)
    assert strokes.ring_height("I", 10.0, 2.0) == 2.0


# Warning ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_stl_begins_with_the_warning(name: str) -> None:
    data = trial.trial_stl(metal(name))
    assert data[:80].startswith(b"bench only, never ride")  # and not with "solid", which means text
    (count,) = struct.unpack("<I", data[80:84])
    assert len(data) == 84 + 50 * count


@pytest.mark.parametrize("name", NAMES)
def test_3mf_says_it_in_title_description_and_name(name: str) -> None:
    with zipfile.ZipFile(io.BytesIO(trial.trial_3mf(metal(name)))) as box:
        assert box.testzip() is None
        model = box.read("3D/3dmodel.model").decode()
    said = dict(re.findall(r'<metadata name="(\w+)">([^<]*)</metadata>', model))
    assert all("ench only, never ride" in said[key] for key in ("Title", "Description"))
    assert re.search(r'<object [^>]*name="[^"]*bench-only-never-ride"', model)
    assert "bench-only-never-ride" in trial.trial_name(metal(name))


def test_files_are_the_same_every_time() -> None:
    assert trial.trial_stl(metal("brake")) == trial.trial_stl(metal("brake"))
    assert trial.trial_3mf(metal("brake")) == trial.trial_3mf(metal("brake"))


def test_name_of_a_cam_is_data() -> None:
    odd = replace(metal("brake"), name='<Ø "4" & co>' + 90 * "x")
    assert len(trial.trial_stl(odd)[:84]) == 84
    assert trimesh.load_scene(io.BytesIO(trial.trial_3mf(odd)), file_type="3mf").geometry
