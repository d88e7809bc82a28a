"""Worked cams as polygons: another library's area, perimeter and offset, and a roller that must raise undercut.

The cam: a = 80, l = 60 mm, roller path 40 mm at rest, cycloidal rise of 20 degrees over 90, dwell, return, dwell.
Area 5850.495 mm2, perimeter 274.2526 mm and radii 32 to 52.79595 mm with a roller of 8 mm, smallest convex radius of
the path 32.2454 mm: computed, two ways, from the formulas for a swinging roller.
"""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.integrate import quad

from pullcurve.mechanics import contact, law, plate
from pullcurve.mechanics.curve import FloatArray
from tests.outside import cams

RADIANS = np.pi / 180
A, L, BASE, RISE, OVER = 80.0, 60.0, 40.0, 20 * RADIANS, 90 * RADIANS
SIZES = {
    "centre_distance": np.array(A), "arm": np.array(L), "base_radius": np.array(BASE), "rise": np.array(RISE),
    "over": np.array(OVER), "sense": np.array(1.0),
}  # fmt: skip


@cache
def outline(roller: float, step: int = 1) -> FloatArray:
    """Points of the closed cam, or for a roller of nothing the path of its centre; every so many of 80,000."""
    x, y = cams.closed_cam(roller_radius=np.array(roller), **SIZES)
    return np.stack([x, y], axis=-1)[:-1:step]


def test_closed_cam_as_a_polygon() -> None:
    ring = shapely.Polygon(outline(8.0))
    assert ring.is_valid
    assert ring.area == pytest.approx(5850.495, abs=5.1e-4)
    assert ring.length == pytest.approx(274.2526, abs=5.1e-5)
    radii = np.hypot(*outline(8.0).T)
    assert (radii.min(), radii.max()) == pytest.approx((32.0, 52.79595), abs=5.1e-6)


def test_area_and_perimeter_by_quadrature() -> None:
    """Steiner's formulas for a curve so far inside another: A - r U + pi r2, U - 2 pi r, over the path by quadrature.

    The path's own area and length come from SciPy, with derivatives by complex numbers instead of the package's.
    """

    def path(angle: float, way: float) -> tuple[complex, complex]:
        """Place and velocity of the roller's centre in the cam, on the rise or (way -1) the mirrored return."""
        psi, ratio, _ = cams.swinging(
            **{key: value for key, value in SIZES.items() if key != "sense"}, cam_angle=np.array(angle)
        )
        place = A - L * np.exp(-1j * float(psi))
        return place, 1j * L * np.exp(-1j * float(psi)) * way * float(ratio) - 1j * place

    def swept(angle: float, way: float) -> float:
        place, speed = path(angle, way)
        return -(place.conjugate() * speed).imag / 2

    top = abs(path(OVER, 1.0)[0])
    area = np.pi / 4 * (BASE**2 + top**2)
    length = np.pi / 2 * (BASE + top)
    for way in (1.0, -1.0):
        area += quad(swept, 0.0, OVER, args=(way,), epsabs=1e-10)[0]
        length += quad(lambda angle, way=way: abs(path(angle, way)[1]), 0.0, OVER, epsabs=1e-10)[0]
    whole = shapely.Polygon(outline(0.0))
    assert whole.area == pytest.approx(area, rel=1e-8)
    assert whole.length == pytest.approx(length, rel=1e-8)
    assert area - 8.0 * length + 64.0 * np.pi == pytest.approx(5850.495, abs=5.1e-4)
    assert length - 16.0 * np.pi == pytest.approx(274.2526, abs=5.1e-5)


RISE_LEAST, RETURN_LEAST = 32.2454, 30.8165
"""Smallest convex radius of the path on the rise, and on the mirrored return, where the cam turns the other way, mm."""


def part(roller: float, returning: bool) -> shapely.LineString:
    """Rise or return of the profile alone."""
    start = 40_000 if returning else 0
    return shapely.LineString(outline(roller)[start : start + 20_001])


@pytest.mark.parametrize(
    ("roller", "rise_cut", "return_cut"),
    [(8.0, False, False), (30.7, False, False), (31.0, False, True), (32.2, False, True), (32.3, True, True)],
)
def test_roller_larger_than_its_path_is_round_cuts_the_profile(
    roller: float, rise_cut: bool, return_cut: bool
) -> None:
    """By self-crossing of each flank and of the whole, and by points that lie nearer to the path than the radius."""
    assert part(roller, False).is_simple is not rise_cut
    assert part(roller, True).is_simple is not return_cut
    assert shapely.Polygon(outline(roller)).is_valid is not (rise_cut or return_cut)
    path = shapely.LinearRing(outline(0.0, 8))
    shapely.prepare(path)
    nearest = shapely.distance(path, shapely.points(outline(roller, 16)))
    assert bool(nearest.min() < roller - 1e-5) is (rise_cut or return_cut)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_curvature_of_the_metal_turns_over_where_the_roller_undercuts(sense: float) -> None:
    """Beyond the centre of curvature a convex flank turns inside out: its curvature changes sign through infinity."""
    known = {key: value for key, value in SIZES.items() if key != "sense"}
    path = contact.pitch_curvature(
        *cams.swinging(**known, cam_angle=np.linspace(0.0, OVER, 20_001)), A, L, sense
    )
    least = RISE_LEAST if sense > 0 else RETURN_LEAST
    for roller, cut in ((least - 1e-3, False), (least + 1e-3, True), (32.3, True)):
        metal = contact.offset_curvature(path, roller)
        assert bool((metal[path > 0] < 0).any()) is cut


@pytest.mark.parametrize(("returning", "least"), [(False, RISE_LEAST), (True, RETURN_LEAST)])
def test_undercut_begins_at_the_smallest_convex_radius(returning: bool, least: float) -> None:
    """Search for the roller at which a flank first crosses itself."""
    low, high = 30.0, 33.0
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (middle, high) if part(middle, returning).is_simple else (low, middle)
    assert high == pytest.approx(least, abs=5e-3)


# Offset ---------------------------------------------------------------------------------------------------------------


def off(step: int, roller: float) -> float:
    """How far another library's offset of the path, from a polygon with chords of its own, is off the profile, mm."""
    offset = shapely.Polygon(outline(0.0, step)).buffer(-roller, quad_segs=64)
    shapely.prepare(offset.exterior)
    return float(shapely.distance(offset.exterior, shapely.points(outline(roller, 16))).max())


@pytest.mark.parametrize("roller", [3.0, 8.0, 20.0])
def test_offset_of_the_path_tends_to_the_profile_with_the_square_of_the_step(roller: float) -> None:
    """Halving the chords takes three quarters off the error, which is never more than the sagitta of a chord."""
    steps = (800, 400, 200, 100)
    errors = [off(step, roller) for step in steps]
    for coarse, fine in pairwise(errors):
        assert 3.2 < coarse / fine < 4.8
    for step, error in zip(steps, errors, strict=True):
        chords = outline(0.0, step)
        longest = np.hypot(*(np.roll(chords, -1, axis=0) - chords).T).max()
        # The path is nowhere rounder than 32.2 mm; s2/8R.
        assert error < 1.05 * longest**2 / 8 / 32.2


def test_stations_hold_the_chord_error_of_the_offset_as_well() -> None:
    """As many stations as the package asks for keep the other library's offset within the stated error."""
    length, chord = shapely.LinearRing(outline(0.0)).length, 1e-3
    # Stations are even in angle; the longest step is this much longer than the mean one.
    path = outline(0.0)
    steps = np.hypot(*np.diff(path, axis=0).T)
    count = plate.stations_for(length * steps.max() / steps.mean(), 1 / 32.2454, chord, 3)
    step = next(one for one in (160, 100, 80, 50, 40, 32, 25, 20) if 80_000 // one >= count)
    assert 80_000 // step < 1.7 * count
    assert off(step, 8.0) < chord


# Every point of the profile -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_no_roller_reaches_behind_the_profile(seed: int) -> None:
    """Closed cams at random, both senses: each point at r from its own roller and at r or more from all others."""
    rng = np.random.default_rng(seed)
    a, l = 80.0, float(rng.uniform(50.0, 65.0))
    base, rise = float(rng.uniform(36.0, 44.0)), float(rng.uniform(10.0, 20.0)) * RADIANS
    sense = 1.0 if seed % 2 else -1.0
    geometry = {
        "centre_distance": np.array(a), "arm": np.array(l), "base_radius": np.array(base), "rise": np.array(rise),
        "over": np.array(OVER), "sense": np.array(sense),
    }  # fmt: skip
    roller = 6.0
    bend = cams.curvature(**geometry, cam_angle=np.linspace(0.0, OVER, 2001))
    assert bend.max() * roller < 0.6
    profile, path = (
        np.stack(cams.closed_cam(roller_radius=np.array(inward), **geometry), axis=-1)[:-1:100]
        for inward in (roller, 0.0)
    )
    away = np.hypot(*(profile[:, None] - path[None]).transpose(2, 0, 1))
    np.testing.assert_allclose(np.diag(away), roller, rtol=1e-12)
    assert away.min() >= roller * (1 - 1e-12)


# Jerk -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("motion", "factor"),
    [
        ("harmonic", 15.503),
        ("modified trapezoid", 61.42597),
        ("modified sine", 69.46636),
        ("polynomial 3-4-5", 60.0),
        ("cycloidal", 39.47842),
        ("polynomial 4-5-6-7", 52.5),
    ],
)
def test_peak_jerk_of_a_motion(motion: str, factor: float) -> None:
    """Closed forms (computed); R. L. Norton, Design of Machinery, table 8-2 prints 61, 69, 60, 40 and 52."""
    u = np.linspace(0.0, 1.0, 200_001)
    _, _, bend = law.motion(motion, u)
    jerk = np.abs(np.diff(bend) / np.diff(u))
    # The harmonic's acceleration jumps at its ends: the jerk inside counts.
    assert jerk[1:-1].max() == pytest.approx(factor, rel=2e-4)
