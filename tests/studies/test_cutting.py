"""Limits as margins: each is nought where another road says that the limit is met, and has the right sign beside it."""

from dataclasses import replace
from math import atan

import numpy as np
import pytest

from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.law import motion_curve
from pullcurve.pull.loop import LeverPull, pull
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.plate import cam_metal
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts
from pullcurve.studies.bearing import roller_rating
from pullcurve.studies.cutting import Demand, Kept, demands
from tests.road.geometry import pressure_angle
from tests.road.road import balance, met
from tests.studies import shop
from tests.studies.feeling import Felt, felt

DEGREE = np.pi / 180
MM = 1e-3
TEXTBOOK = np.linspace(0.0, np.pi / 2, 7201)


def demand(kind: str = "brake", name: str = shop.MAIN) -> Demand:
    """What the fitted cam of a demo must keep."""
    job = shop.known(name)
    levers = mechanism(job).levers
    rocker = next(known for lever in levers if (known := lever.rocker(kind)) is not None)
    return demands(job, rocker)


def least(found: tuple[Kept, ...], part: str) -> float:
    """Smallest margin of the limit whose name has a part."""
    return next(kept for kept in found if part in kept.name).least


def fitted_pull(kind: str = "brake") -> LeverPull:
    """The demo's lever as fitted."""
    return next(lever for lever in pull(mechanism(shop.known())).levers if lever.curves.rocker(kind))


@pytest.fixture(scope="module")
def road() -> Felt:
    """The demo's brake lever on the independent road."""
    rocker = mechanism(shop.known()).levers[0].rocker("brake")
    assert rocker is not None
    return felt(shop.known(), "brake", rocker.law)


# The flank ------------------------------------------------------------------------------------------------------------


def cycloid(roller_mm: float, cutter_mm: float = 3.0, rise: float = 20.0) -> tuple[Demand, Curve]:
    """Cycloidal rise over 90 degrees: a = 80, l = 60, pitch circle 40 mm, as in the worked cases of the notes."""
    start = float(np.arccos((80**2 + 60**2 - 40**2) / (2 * 80 * 60)))
    known = demand()
    rocker = replace(
        known.rocker, centre_distance=80 * MM, arm=60 * MM, roller_radius=roller_mm * MM, rest_angle=start
    )
    curve = motion_curve("cycloidal", start, rise * DEGREE, np.pi / 2)
    return replace(known, rocker=rocker, cutter=cutter_mm * MM), curve


@pytest.mark.parametrize("roller_mm", [8.0, 31.9454, 33.0])
def test_undercut_begins_where_the_worked_case_says(roller_mm: float) -> None:
    """Smallest convex pitch radius 32.2454 mm (computed two ways), 0.3 mm to spare."""
    known, curve = cycloid(roller_mm)
    expected = 1.0 - (roller_mm + 0.3) / 32.2454
    assert least(known.flank(curve, TEXTBOOK), "undercut") == pytest.approx(expected, abs=2e-6)


def test_cutter_fits_the_hollow_that_three_points_show() -> None:
    """Circles through three points of the metal itself; the cutter wants a twentieth more."""
    known, curve = cycloid(8.0, rise=35.0)
    psi = known.rocker.rest_angle + 35.0 * DEGREE * (
        TEXTBOOK / (np.pi / 2) - np.sin(4.0 * TEXTBOOK) / (2 * np.pi)
    )
    centre = (80 * MM - 60 * MM * np.exp(-1j * psi)) * np.exp(-1j * TEXTBOOK)
    bend = _bend(centre)
    hollow = -1.0 / float(np.min(bend)) + 8.0 * MM if np.min(bend) < 0.0 else np.inf
    assert np.isfinite(hollow)
    for cutter in (0.9, 1.0, 1.1):
        fitting = replace(known, cutter=cutter * hollow / 1.05)
        margin = least(fitting.flank(curve, TEXTBOOK[5:-5]), "cutter")
        assert margin == pytest.approx((1.0 - cutter) * hollow / (hollow - 8.0 * MM), abs=2e-3)


def _bend(points: FloatArray) -> FloatArray:
    """Curvature of a curve of complex points by circles through three, convex towards the origin positive."""
    a, b, c = points[:-2], points[1:-1], points[2:]
    area = np.imag(np.conj(b - a) * (c - a))
    inward = np.sign(np.imag(np.conj(c - a) * -b))
    return 2.0 * inward * area / np.abs(b - a) / np.abs(c - b) / np.abs(c - a)


def test_cam_that_turns_back_is_told_and_one_that_rests() -> None:
    """A pushing cam keeps a fiftieth of the lever's turn; a letting-down one may rest but not push."""
    theta = np.linspace(0.0, 0.4, 41)
    for slope, pushing, letting in ((0.3, 2.8, -3.0), (0.02, 0.0, -0.2), (0.0, -0.2, 0.0), (-0.1, -1.2, 1.0)):
        line = Curve(np.array([0.0, 0.5]), np.array([[0.6, slope]]))
        assert least(demand().flank(line, theta), "one way") == pytest.approx(pushing)
        assert least(demand("assist").flank(line, theta), "one way") == pytest.approx(letting)


def test_pressure_angle_is_that_of_the_traced_metal(road: Felt) -> None:
    """The angle between the roller's way and the direction in which the metal is met, against 45 degrees."""
    plan, law = road.slots["brake"].plan, demand().rocker.law
    theta = np.linspace(0.02, 0.95, 7) * road.end
    angles = np.array([pressure_angle(plan, met(plan, one)) for one in theta])
    kept = next(known for known in demand().used(law, theta) if known.name == "the pressure angle")
    np.testing.assert_allclose(kept.values, 1.0 - angles / (45.0 * DEGREE), atol=2e-4)


def test_rocker_locks_where_the_force_passes_its_pin(road: Felt) -> None:
    """Moment of the push about the rocker's pin, the push tilted by cold and worn roller friction both ways (2.5)."""
    known = demand()
    slot, plan = road.slots["brake"], road.slots["brake"].plan
    theta = np.linspace(0.02, 0.95, 7) * road.end
    pivot, tilt = np.array([plan.distance, 0.0]), atan(2.5 * slot.roller_pin.arm / plan.roller)
    arms = []
    for one in theta:
        here = met(plan, one)
        away = complex(*(here.point - pivot))
        pushes = [complex(*here.normal) * np.exp(1j * way * tilt) for way in (1.0, -1.0)]
        arms.append(min(abs(float(np.imag(np.conj(away) * push))) for push in pushes))
    kept = next(one for one in known.used(known.rocker.law, theta) if "locking" in one.name)
    expected = (np.array(arms) - 2.5 * slot.rocker_pin.arm) / plan.arm
    np.testing.assert_allclose(kept.values, expected, atol=2e-4)


# Along the pull -------------------------------------------------------------------------------------------------------


def test_contact_pressure_by_hand(road: Felt) -> None:
    """Hertz, line contact: p = sqrt(N E / (pi L) (1/r + kappa)), 1/E = 2 (1 - 0.3^2) / 207 GPa, steel on steel.

    Contact force from the road, curvature of the metal from its points, steel from data/materials.
    """
    known, found = demand(), fitted_pull()
    assert found.brake is not None
    metal = cam_metal(shop.known(), "brake")
    flank = metal.flank[:, 0] + 1j * metal.flank[:, 1]
    bend = _bend(flank)
    kept = known.along(found, found.brake, 0.0, 1)
    values = next(one for one in kept if "pressure" in one.name).values[::-1]
    for share in (0.4, 0.7, 0.95):
        theta = share * road.end
        push = float(balance(road.lever, theta, 1).contact[0])
        both = 1.0 / (4.0 * MM) + float(np.interp(theta, metal.theta[1:-1], bend))
        modulus = 207e9 / (2.0 * (1.0 - 0.3**2))
        pressure = np.sqrt(push * modulus / (np.pi * known.length) * both)
        margin = float(np.interp(theta, found.curves.theta.reshape(-1), values))
        assert 1.0 - margin == pytest.approx(pressure / 1.5e9, rel=5e-3)


def test_roller_load_is_its_share_of_what_it_bears(road: Felt) -> None:
    known, found = demand(), fitted_pull()
    assert found.brake is not None
    kept = known.along(found, found.brake, 0.0, 1)
    push = float(balance(road.lever, road.end - 1e-6, 1).contact[0])
    bears = roller_rating(shop.known().unit.levers[0].rockers[0])
    assert least(kept, "load of the roller") == pytest.approx(1.0 - push / bears, rel=1e-3)


def read_outs(**values: float) -> BrakeReadouts:
    """The demo's read-outs with others in their place."""
    found = fitted_pull().brake
    assert found is not None
    return replace(found, **{key: np.array(value) for key, value in values.items()})


@pytest.mark.parametrize(
    ("part", "values", "margin"),
    [
        ("travel must be left", {"travel_left": 3.5 * MM}, 1.0),
        ("travel must be left", {"travel_left": 0.5 * MM}, -1.0),
        ("hold the lever", {"hold_margin": -0.3 * MM}, -0.2),
        ("within the hand", {"effort": 0.80}, -1.0),
        ("type approval", {"force_gauge": 190.0}, 1.0),
        ("plunger", {"stroke_left": 0.75 * MM}, 0.5),
    ],
)
def test_limits_of_the_lever_count_in_steps(part: str, values: dict[str, float], margin: float) -> None:
    """2 mm of travel, 70 % of the hand, 200 N (data/limits): by 1.5 mm, a tenth of the hand, 10 N each."""
    found = demand().along(fitted_pull(), read_outs(**values), 0.0, 4)
    assert least(found, part) == pytest.approx(margin, abs=1e-9)


def test_lever_already_out_of_reach_is_held_to_what_it_has() -> None:
    known, far = demand(), read_outs(hold_margin=-3.0 * MM)
    assert least(known.along(fitted_pull(), far, 0.0, 4), "hold the lever") == pytest.approx(-2.0)
    assert least(known.along(fitted_pull(), far, 3.0 * MM, 4), "hold the lever") == pytest.approx(0.0)


def test_assist_cam_has_no_say_in_where_the_load_stands() -> None:
    found = fitted_pull("assist")
    assert found.clutch is not None
    names = [kept.name for kept in demand("assist").along(found, found.clutch, 0.0, 4)]
    assert not [name for name in names if "travel" in name or "plunger" in name or "hold" in name]
    pushing = [kept.name for kept in demand("clutch").along(found, found.clutch, 0.0, 4)]
    assert [name for name in pushing if "travel" in name]


def test_brake_gets_heavier_as_it_bites_harder() -> None:
    """M psi'/L by differences: nought is a force that does not rise; before the bite at 2 bar nothing is asked."""
    known, found = demand(), fitted_pull()
    assert found.brake is not None
    ours = found.curves.rocker("brake")
    assert ours is not None
    kept = next(one for one in known.along(found, found.brake, 0.0, 1) if "heavier" in one.name)
    bitten = ours.load.pressure[:-1] > 2e5
    force, travel = ours.load.moment * ours.law.dpsi / 0.075, found.curves.travel.reshape(-1)
    rise = np.diff(force) / np.diff(travel) / 1e3  # one newton a millimetre counts as one
    np.testing.assert_allclose(kept.values[::-1][bitten], rise[bitten], rtol=1e-9)
    assert np.all(kept.values[::-1][ours.load.pressure[:-1] < 1e5] > 20.0)
    assert not [one for one in demand("clutch").along(*served("clutch"), 0.0, 4) if "heavier" in one.name]


def served(kind: str) -> tuple[LeverPull, ClutchReadouts]:
    """The pull of the clutch's lever with its read-outs."""
    found = fitted_pull(kind)
    assert found.clutch is not None
    return found, found.clutch


def test_every_so_many_stations_have_the_last_among_them() -> None:
    found = fitted_pull()
    assert found.brake is not None
    fine, coarse = (demand().along(found, found.brake, 0.0, every)[0].values for every in (1, 4))
    np.testing.assert_array_equal(coarse, fine[::4])
    assert fine[0] == np.min(fine)  # the pull is heaviest at its end


@pytest.mark.parametrize(
    ("kept", "said"),
    [
        (
            Kept("the pressure angle", np.array([0.1, -0.02]), "deg", 45 * DEGREE),
            "the pressure angle, by 0.90°",
        ),
        (Kept("the plunger", np.array([-0.5]), "mm", 1.5 * MM), "the plunger, by 0.75 mm"),
        (Kept("the contact pressure", np.array([-0.1]), "gpa", 1.5e9), "the contact pressure, by 0.15 GPa"),
    ],
)
def test_what_lacks_is_told_in_its_unit(kept: Kept, said: str) -> None:
    assert kept.lacking == said
