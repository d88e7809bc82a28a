"""Every check, against a cam made to fail it and by a second road."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import Law, law, motion_curve
from pullcurve.parts.job import Job
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import Metal, cam_metal, rocker_of
from pullcurve.studies.check import Finding, Verdict, check_cam
from tests.studies import shop

DEGREE = np.pi / 180
MM = 1e-3
ROCKER = "unit__levers__0__rockers__0__"
GOOD = "The cam passes every check."


def checked(job: Job, metal: Metal) -> dict[str, Finding]:
    """Findings without a pull, by key."""
    return {found.key: found for found in check_cam(job, metal).findings}


def brake(**values: Any) -> tuple[Job, Metal]:
    """The demo's brake cam, with other values of its rocker."""
    job = shop.changed(shop.known(), **{f"{ROCKER}{key}": value for key, value in values.items()})
    return job, cam_metal(job, "brake")


def with_law(metal: Metal, curve: Curve, theta: FloatArray | None = None, **values: Any) -> Metal:
    """A cam of another law and other sizes; its outline is the flank closed over the lever pivot."""
    known = replace(metal, **values)
    theta = metal.theta if theta is None else theta
    state = law(curve, theta)
    geometry = (known.centre_distance, known.arm, known.sense)
    bend = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)

    def along(inward: float) -> FloatArray:
        return np.stack(contact.outline(theta, state.psi, state.dpsi, *geometry, inward), axis=-1)

    return replace(
        known,
        theta=theta,
        law=state,
        alpha=contact.pressure_angle(state.psi, state.dpsi, *geometry),
        curvature=contact.offset_curvature(bend, known.roller_radius),
        flank=along(known.roller_radius),
        pitch=along(0.0),
        cutter=along(known.roller_radius - known.cutter_radius),
    )


def textbook(roller_mm: float, sense: float = 1.0, **values: Any) -> Metal:
    """Cycloidal rise of 20 degrees over 90: a = 80, l = 60, pitch circle 40 mm, as in the worked cases of the notes."""
    start = np.arccos((80**2 + 60**2 - 40**2) / (2 * 80 * 60))
    theta = np.linspace(0.0, np.pi / 2, 7201)
    _, metal = brake()
    sizes = {
        "centre_distance": 80 * MM,
        "arm": 60 * MM,
        "roller_radius": roller_mm * MM,
        "sense": sense,
        "rest_end": np.pi / 2,
    }
    return with_law(metal, motion_curve("cycloidal", start, 20 * DEGREE, np.pi / 2), theta, **sizes, **values)


# The demo -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", shop.NAMES)
def test_demo_cams_pass(name: str) -> None:
    job = shop.known(name)
    whole = pull(mechanism(job))
    for kind in ("brake", "clutch", "assist"):
        if getattr(job.fitted, kind) is not None:
            verdict = check_cam(job, cam_metal(job, kind), whole.levers[rocker_of(job, kind)[0]])
            assert verdict.ok, verdict.words
            assert verdict.words == GOOD
            assert {"contact_stress", "roller_load"} < {found.key for found in verdict.findings}


def test_sentences_are_sentences() -> None:
    for found in check_cam(*brake()).findings:
        assert found.sentence[0].isupper()
        assert found.sentence.endswith(".")
        assert "nan" not in found.sentence


def test_verdict_speaks_of_what_is_wrong_only() -> None:
    bad = Finding("one", False, 1.0, 2.0, "mm", np.nan, "This is wrong.")
    fine = Finding("two", True, 1.0, 2.0, "mm", np.nan, "This is right.")
    assert Verdict((fine, bad)).words == "This is wrong."
    assert not Verdict((fine, bad)).ok
    assert Verdict((fine,)).ok


# Undercut -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("roller_mm", "ok"), [(8.0, True), (31.9, True), (32.0, False), (32.3, False)])
def test_undercut_of_the_worked_case(roller_mm: float, ok: bool) -> None:
    """Smallest convex pitch radius 32.2454 mm at 65.480 degrees, found two ways; 0.3 mm must be to spare."""
    job, _ = brake()
    found = checked(job, textbook(roller_mm))["undercut"]
    assert found.value == pytest.approx(32.2454 * MM, abs=5e-8)
    assert found.where_deg == pytest.approx(65.480, abs=0.02)
    assert found.ok is ok
    assert found.sentence.startswith("Undercut: " if not ok else "The flank is nowhere too round")


@pytest.mark.parametrize(
    ("rest_deg", "roller_mm", "cut"), [(35, 4, False), (35, 11.9, False), (35, 15, True), (20, 9, True)]
)
def test_undercut_is_what_the_polygons_say(rest_deg: float, roller_mm: float, cut: bool) -> None:
    """Second road: where the roller cuts itself off, its envelope lies nearer than r to the path of its centre."""
    job, metal = brake()
    curve = mechanism(job).levers[0].rockers[0].law
    moved = replace(curve, coefficients=curve.coefficients.copy())
    moved.coefficients[..., 0] += (rest_deg - 35) * DEGREE
    metal = with_law(metal, moved, roller_radius=roller_mm * MM)
    away = shapely.distance(shapely.LineString(metal.pitch), shapely.points(metal.flank))
    lost = away < roller_mm * MM - 1e-6
    found = checked(job, metal)["undercut"]
    assert bool(np.any(lost)) is cut
    assert found.ok is not cut
    if cut:
        assert (
            np.min(metal.theta[lost]) / DEGREE - 0.1
            <= found.where_deg
            <= np.max(metal.theta[lost]) / DEGREE + 0.1
        )


def test_nothing_round_is_no_undercut() -> None:
    """A roller pushed out ever faster rolls up a hollow."""
    job, metal = brake()
    hollow = with_law(
        metal, Curve(np.array([0.0, 0.1]), np.array([[0.6, 0.0, 3.0]])), np.linspace(0, 0.1, 301)
    )
    found = checked(job, hollow)["undercut"]
    assert found.ok
    assert found.value == np.inf
    assert np.isnan(found.where_deg)
    assert "nowhere round" in found.sentence


# Cutter, pressure angle -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("cutter_mm", "ok"), [(3.0, True), (149.0, True), (149.3, False)])
def test_cutter_against_the_hollow(cutter_mm: float, ok: bool) -> None:
    """Smallest hollow pitch radius 141.161 mm at 19.449 degrees; the metal's is a roller radius larger."""
    job, _ = brake()
    found = checked(job, textbook(8.0, cutter_radius=cutter_mm * MM))["cutter"]
    assert found.value == pytest.approx(149.161 * MM, abs=1e-6)
    assert found.where_deg == pytest.approx(19.449, abs=0.02)
    assert found.ok is ok


def test_same_law_the_other_way_round_has_no_hollow() -> None:
    job, _ = brake()
    found = checked(job, textbook(8.0, -1.0))["cutter"]
    assert found.ok
    assert found.sentence == "The flank is nowhere hollow."


@pytest.mark.parametrize(("sense", "expected", "where"), [(1.0, 26.1112, 47.562), (-1.0, 32.7904, 34.943)])
def test_pressure_angle_of_the_worked_case(sense: float, expected: float, where: float) -> None:
    job, _ = brake()
    found = checked(job, textbook(8.0, sense))["pressure_angle"]
    assert found.value / DEGREE == pytest.approx(expected, abs=1e-4)
    assert found.where_deg == pytest.approx(where, abs=0.02)
    assert found.ok


def test_steep_push_is_told() -> None:
    job, metal = brake(rest_angle_deg=60)
    found = checked(job, metal)["pressure_angle"]
    assert not found.ok
    assert "sideways" in found.sentence


# Locking --------------------------------------------------------------------------------------------------------------


def test_arm_against_the_friction_of_the_pin_by_hand() -> None:
    """Force through the contact, turned by 2.5 x 0.006 x 2/4 either way; friction 2.5 x 0.12 x 3 mm."""
    job, metal = brake()
    found = checked(job, metal)["locking"]
    tilt = np.arctan(2.5 * 0.006 * 2 / 4)
    used = (metal.theta >= 0) & (metal.theta <= metal.rest_end)
    arms = [20 * MM * np.cos(metal.alpha[used] + way * tilt) + way * 4 * MM * np.sin(tilt) for way in (1, -1)]
    assert found.value == pytest.approx(np.min(arms), rel=1e-9)
    assert found.limit == pytest.approx(0.9 * MM)
    assert found.ok


def test_thick_dry_pin_locks() -> None:
    job, metal = brake(pivot_radius_mm=12, pivot_friction=0.6)
    found = checked(job, metal)["locking"]
    assert not found.ok
    assert "can lock" in found.sentence


# Law ------------------------------------------------------------------------------------------------------------------


def joined(slope: float, bend: float, at: float = 12.0) -> Curve:
    """A law of psi' = 1.2 that at some degrees steps by a slope and kinks by a second derivative."""
    place = at * DEGREE
    first = [0.61, 1.2, 0.0]
    return Curve(np.array([0.0, place, 1.0]), np.array([first, [0.61 + 1.2 * place, 1.2 + slope, bend / 2]]))


def test_step_of_the_force_and_its_place() -> None:
    """By hand: 0.06 of at most 1.26 is 4.8 %."""
    job, metal = brake()
    found = checked(job, with_law(metal, joined(0.06, 0.0)))
    assert found["step"].value == pytest.approx(0.06 / 1.26, rel=1e-6)
    assert found["step"].where_deg == pytest.approx(12.0, abs=0.1)
    assert not found["step"].ok
    assert "steps by 4.8 %" in found["step"].sentence


@pytest.mark.parametrize(("bend", "ok"), [(3.0, True), (-8.0, False)])
def test_kink_of_the_force_and_its_place(bend: float, ok: bool) -> None:
    """By hand: 1.5 mm at 75 mm is 0.02 rad of lever, over which psi' is off by 0.02 psi''."""
    job, metal = brake()
    changed = with_law(metal, joined(0.0, bend))
    found = checked(job, changed)
    assert found["kink"].value == pytest.approx(abs(bend) * 0.02 / np.max(np.abs(changed.law.dpsi)), rel=1e-6)
    assert found["kink"].ok is ok
    assert found["step"].ok
    if not ok:
        assert found["kink"].where_deg == pytest.approx(12.0, abs=0.1)


def test_smooth_law_has_neither() -> None:
    job, _ = brake()
    found = checked(job, textbook(8.0))
    assert found["step"].value < 1e-6
    assert found["kink"].value < 1e-4


def test_law_that_turns_back_is_told_with_its_place() -> None:
    job, metal = brake()
    found = checked(job, with_law(metal, Curve(np.array([0.0, 1.0]), np.array([[0.61, 0.5, -0.7]]))))[
        "monotone"
    ]
    assert not found.ok
    assert found.value == pytest.approx(0.5 - 1.4 * metal.rest_end, abs=2e-3)
    assert found.where_deg == pytest.approx(metal.rest_end / DEGREE, abs=0.1)


def test_assist_must_not_push() -> None:
    job = shop.known()
    metal = cam_metal(job, "assist")
    assert checked(job, metal)["monotone"].ok
    mirrored = Law(2 * metal.law.psi[0] - metal.law.psi, -metal.law.dpsi, -metal.law.d2psi)
    found = checked(job, replace(metal, law=mirrored))["monotone"]
    assert not found.ok
    assert "lets its rocker down" in found.sentence


# The whole part -------------------------------------------------------------------------------------------------------


def test_outline_that_crosses_itself_is_told_with_its_place() -> None:
    """A loop tied into the flank at 10 degrees."""
    job, metal = brake()
    row = int(np.argmin(np.abs(metal.theta - 10 * DEGREE)))
    first = metal.working[0] + (
        row if np.allclose(metal.outline[metal.working[0]], metal.flank[0]) else metal.theta.size - 1 - row
    )
    here, after = metal.outline[first], metal.outline[first + 1]
    along = (after - here) / np.hypot(*(after - here))
    across = np.array([-along[1], along[0]])
    knot = here + 2e-4 * np.array([along + across, along - across, -along - across + 0.5 * along])
    crossed = np.insert(metal.outline, first + 1, knot, axis=0)
    assert not shapely.Polygon(crossed).is_valid
    found = checked(job, replace(metal, outline=crossed))["crossing"]
    assert not found.ok
    assert found.where_deg == pytest.approx(10.0, abs=0.5)
    assert f"crosses itself at {found.where_deg:.1f}° of lever" in found.sentence


def test_crossing_off_the_flank_has_no_lever_angle() -> None:
    job, metal = brake()
    bow = np.array([[-0.02, -0.02], [-0.01, -0.02], [-0.02, -0.01], [-0.01, -0.01]])
    found = checked(job, replace(metal, outline=bow))["crossing"]
    assert not found.ok
    assert np.isnan(found.where_deg)
    assert "off the flank" in found.sentence


def test_roller_that_stands_in_another_part_of_the_cam() -> None:
    """A pin of 1 mm on the flank at 12 degrees: the roller stands 1 mm deep in it when it comes by."""
    job, metal = brake()
    row = int(np.argmin(np.abs(metal.theta - 12 * DEGREE)))
    bumped = shapely.Polygon(metal.outline).union(shapely.Point(metal.flank[row]).buffer(1e-3, quad_segs=200))
    outline = np.asarray(bumped.exterior.coords)[:-1]
    found = checked(job, replace(metal, outline=outline))["roller_room"]
    assert not found.ok
    assert found.value == pytest.approx(metal.roller_radius - 1e-3, abs=5e-6)
    assert found.where_deg == pytest.approx(12.0, abs=0.3)
    assert "deep in another part" in found.sentence


def test_roller_inside_the_metal_is_deeper_than_its_radius() -> None:
    job, metal = brake()
    found = checked(job, replace(metal, outline=metal.outline * 1.5))["roller_room"]
    assert found.value < 0
    assert not found.ok


@pytest.mark.parametrize(("bore_mm", "hub_mm"), [(9.5, 11.0), (6.5, 8.0)])
def test_hub_wall_by_hand(bore_mm: float, hub_mm: float) -> None:
    job, metal = brake()
    found = checked(job, replace(metal, bore_radius=bore_mm * MM, hub_radius=hub_mm * MM))["hub_wall"]
    assert found.value == pytest.approx(1.5 * MM)
    assert not found.ok


def test_bore_wall_is_the_way_from_bore_to_outline() -> None:
    """A square of 20 mm about a bore of 13 mm leaves 3.5 mm; one of 16 mm leaves 1.5 mm."""
    job, metal = brake()
    square = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    for half, thickness, ok in ((10 * MM, 3.5 * MM, True), (8 * MM, 1.5 * MM, False)):
        found = checked(job, replace(metal, outline=half * square))["bore_wall"]
        assert found.value == pytest.approx(thickness)
        assert found.ok is ok
    away = checked(job, replace(metal, outline=10 * MM * square + 0.03))["bore_wall"]
    assert away.value < 0
    assert not away.ok


def test_holes_keep_clear_of_edge_bore_and_each_other() -> None:
    job, metal = brake()
    square = 20 * MM * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    wide = replace(metal, outline=square)
    assert "hole_wall" not in checked(job, wide)
    one = checked(job, replace(wide, holes=((14 * MM, 0.0, 2 * MM),)))["hole_wall"]
    assert one.ok is True
    assert one.value == pytest.approx(4 * MM)
    edge = checked(job, replace(wide, holes=((17 * MM, 0.0, 2 * MM),)))["hole_wall"]
    assert edge.ok is False
    assert edge.value == pytest.approx(1 * MM)
    bore = checked(job, replace(wide, holes=((0.0, 9 * MM, 2 * MM),)))["hole_wall"]
    assert bore.ok is False
    assert bore.value == pytest.approx(0.5 * MM)
    pair = checked(job, replace(wide, holes=((13 * MM, 0.0, 2 * MM), (13 * MM, 5 * MM, 2 * MM))))["hole_wall"]
    assert pair.ok is False
    assert pair.value == pytest.approx(1 * MM)
