"""The road is checked before it is used: closed forms, the energy balance, branches without friction."""

from dataclasses import replace
from math import atan, cos, degrees, pi, radians, sin
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.integrate import quad

from tests.road.geometry import Floats, Metal, Plan, is_cuttable, offset, pressure_angle, touch, trace
from tests.road.loads import (
    AssistSpring,
    Brake,
    CableClutch,
    Demand,
    HydraulicClutch,
    Pack,
    PlainSpring,
    Plunger,
)
from tests.road.mechanisms import random_mechanisms
from tests.road.road import (
    Lever,
    Pin,
    Slot,
    balance,
    lever_pin_load,
    road_friction,
    road_pull,
    rocker_pin_load,
    stand,
    stored,
)

SPAN = radians(26)


def straight(angle: Floats | float) -> Floats:
    return np.asarray(radians(35) + 0.6 * angle)


def falling(angle: Floats | float) -> Floats:
    late = np.clip(angle - radians(8), 0, None)
    return radians(65) - 1.5 * late**2


def plan(law: object = straight, sigma: int = 1) -> Plan:
    assert callable(law)
    return Plan(law, SPAN, 0.04, 0.02, 0.0045, sigma)


def carried(lever: object) -> str:
    """A mechanism as a test id: the loads it carries."""
    assert isinstance(lever, Lever)
    return "+".join(type(slot.load).__name__ for slot in lever.slots)


def one_slot(load: PlainSpring | Brake, sigma: int = 1, **more: object) -> Lever:
    slot = Slot(plan(sigma=sigma), radians(35), load, 0.018, False, 0.3)
    return Lever((replace(slot, **more),), 0.075, radians(100))  # type: ignore[arg-type]


# Geometry ---------------------------------------------------------------------------------------------------

# Eccentric circle, a = 40, l = 30, e = 6, R = 16, r = 6 mm: a four-bar linkage with coupler 22 mm; computed.
ECCENTRIC = {
    0: (39.59326, 9.94643),
    30: (43.60270, 7.12354),
    60: (44.06548, 0.52088),
    90: (40.80086, 11.00584),
    120: (35.01103, 21.88391),
    150: (28.56779, 30.38629),
    180: (23.45236, 33.67941),
}


@pytest.mark.parametrize("angle", ECCENTRIC)
def test_roller_on_an_eccentric_circle(angle: int) -> None:
    around = np.linspace(-pi, pi, 20_001)
    circle = np.array([0.006, 0.0]) + 0.016 * np.stack([np.cos(around), np.sin(around)], axis=1)
    path = np.array([0.006, 0.0]) + 0.022 * np.stack([np.cos(around), np.sin(around)], axis=1)
    edges = np.diff(circle, axis=0)
    sizes = Plan(straight, pi, 0.04, 0.03, 0.006, 1)
    metal = Metal(sizes, path, circle, radians(20), radians(48), edges, (edges**2).sum(axis=1))
    psi, alpha = ECCENTRIC[angle]
    found = touch(metal, radians(angle))
    assert degrees(found.psi) == pytest.approx(psi, abs=1e-5)
    assert degrees(pressure_angle(sizes, found)) == pytest.approx(alpha, abs=1e-5)


@pytest.mark.parametrize("sigma", [1, -1])
@pytest.mark.parametrize("law", [straight, falling])
def test_traced_cam_gives_its_law_back(law: object, sigma: int) -> None:
    metal = trace(plan(law, sigma))
    assert is_cuttable(metal)
    for theta in np.linspace(0, SPAN, 14):
        assert touch(metal, float(theta)).psi == pytest.approx(float(metal.plan.law(theta)), abs=1e-7)


@pytest.mark.parametrize("sigma", [1, -1])
def test_profile_is_the_rim_of_the_swept_roller(sigma: int) -> None:
    metal = trace(plan(sigma=sigma))
    swept = shapely.LineString(metal.pitch).buffer(metal.plan.roller, quad_segs=64, cap_style="flat")
    away = shapely.distance(shapely.points(metal.profile[100:-100]), swept.exterior)
    assert away.max() < 1e-7  # the buffer is simplified by its library


def test_undercut_is_seen() -> None:
    def hook(angle: Floats | float) -> Floats:
        return np.asarray(radians(40) + 0.3 * angle - 9 * (angle - SPAN / 2) ** 2)

    assert not is_cuttable(trace(plan(hook)))


def test_offset_of_a_circle_is_a_circle() -> None:
    around = np.linspace(0, 1, 1000)
    circle = 0.03 * np.stack([np.cos(around), np.sin(around)], axis=1)
    inner = offset(circle, 0.01, np.zeros(2))
    assert np.hypot(*inner[1:-1].T) == pytest.approx(0.02, abs=1e-8)


# Loads ------------------------------------------------------------------------------------------------------

DEMAND = Demand(1e-7, 3e4, 5e-8, 8e5, 6e-14, 2e-5, 1.3e9, 5e-8, 1.4)
PLUNGER = Plunger(7e-5, 2e-4, 8e-4, 12.0, 900.0)
PACK = Pack(1800.0, 2.5e5, 6e-4)


def forces_and_energy(load: object, far: float, bends: list[float]) -> tuple[float, float]:
    """The integral of the push from rest to x = far, and the energy that the load says it has taken."""
    assert isinstance(load, Brake | HydraulicClutch | CableClutch)
    work = quad(lambda x: load.force(x, 0), 0, far, points=bends, limit=400, epsrel=1e-9)[0]
    return float(work), load.energy(far)


@pytest.mark.parametrize(
    ("load", "far", "bends"),
    [
        (Brake(PLUNGER, DEMAND), 0.007, [2e-4, 1e-3]),
        (HydraulicClutch(PLUNGER, Demand(linear=2e-14), 6e-4, PACK), 0.009, [2e-4, 1e-3, 6.6e-3]),
        (CableClutch(1e-3, 7.0, 1.5e5, PACK), 0.011, [1e-3]),
    ],
    ids=["brake", "hydraulic clutch", "cable clutch"],
)
def test_force_is_the_slope_of_the_energy(load: object, far: float, bends: list[float]) -> None:
    work, taken = forces_and_energy(load, far, bends)
    assert work == pytest.approx(taken, rel=1e-6)


def test_pressure_is_the_inverse_of_the_demand() -> None:
    for pressure in (1e3, 1e5, 2e6, 6e6):
        assert DEMAND.pressure(DEMAND.volume(pressure)) == pytest.approx(pressure, rel=1e-9)


def test_nothing_pushes_before_it_is_touched() -> None:
    assert PLUNGER.force(1e-4, 0.0, 1) == 0.0
    assert PLUNGER.energy(1e-4) == 0.0


def test_assist_spring_runs_out() -> None:
    spring = AssistSpring(60.0, 2e4)
    assert spring.force(-2e-3, 0) == pytest.approx(20.0)
    assert spring.force(-4e-3, 0) == 0.0
    assert spring.energy(-9e-3) == pytest.approx(-(60.0**2) / (2 * 2e4))  # the whole of F0^2 / 2k is given


# The pull ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sigma", [1, -1])
@pytest.mark.parametrize("by_pin", [True, False])
def test_linear_spring_in_closed_form(by_pin: bool, sigma: int) -> None:
    lever = one_slot(PlainSpring(100.0, 5e4), sigma, guided_by_pin=by_pin)
    for theta in (0.0, 0.2, 0.4):
        turn = 0.6 * theta
        moment = 0.018 * (100.0 + 5e4 * 0.018 * turn)
        if by_pin:
            moment = 0.018 * cos(turn) * (100.0 + 5e4 * 0.018 * sin(turn))
        assert road_pull(lever, theta).force == pytest.approx(moment * 0.6 / 0.075, rel=1e-5)


@pytest.mark.parametrize("mechanism", random_mechanisms(6, 11), ids=carried)
def test_energy_closes(mechanism: Lever) -> None:
    ends = (0.03, 0.42)
    work = quad(lambda t: road_pull(mechanism, t).force, *ends, epsrel=1e-4, limit=30)[0]
    assert mechanism.pad_radius * work == pytest.approx(
        stored(mechanism, ends[1]) - stored(mechanism, ends[0]), rel=5e-4
    )


def without_friction(lever: Lever) -> Lever:
    """The same mechanism on frictionless pins and seals."""
    slots = []
    for slot in lever.slots:
        load = slot.load
        if isinstance(load, Brake | HydraulicClutch):
            load = replace(load, plunger=replace(load.plunger, drag=0.0, drag_share=0.0))
        if isinstance(load, HydraulicClutch):
            load = replace(load, slave_drag=0.0, slave_drag_share=0.0)
        if isinstance(load, CableClutch):
            load = replace(load, wrap=0.0)
        slots.append(replace(slot, load=load, roller_pin=Pin(), rocker_pin=Pin()))
    return replace(lever, slots=tuple(slots), pin=Pin())


@pytest.mark.parametrize("mechanism", random_mechanisms(6, 12), ids=carried)
def test_both_branches_meet_without_friction(mechanism: Lever) -> None:
    """Statics with forces and arms, and the slope of the energy, are two ways to one force."""
    bare = without_friction(mechanism)
    for theta in (0.05, 0.2, 0.37):
        force = road_pull(bare, theta).force
        assert road_friction(bare, theta, 1) == pytest.approx(force, rel=1e-4, abs=1e-3)
        assert road_friction(bare, theta, -1) == pytest.approx(force, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("mechanism", random_mechanisms(6, 13), ids=carried)
def test_friction_takes_on_both_ways(mechanism: Lever) -> None:
    for theta in (0.05, 0.2, 0.37):
        between = road_pull(mechanism, theta).force
        assert road_friction(mechanism, theta, -1) < between < road_friction(mechanism, theta, 1)


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("mechanism", random_mechanisms(6, 16), ids=carried)
def test_what_the_finger_loses_is_what_friction_eats(mechanism: Lever, way: int) -> None:
    """Power in = growth of stored energy + every friction moment times the turn it works against."""
    for theta in (0.06, 0.21, 0.36):
        found = balance(mechanism, theta, way)
        stands = [stand(slot, theta, way) for slot in mechanism.slots]
        eaten = mechanism.pin.arm * lever_pin_load(mechanism, theta, stands, found.contact, found.force)
        for one, push in zip(stands, found.contact, strict=True):
            psi, tilt = one.contact.psi, atan(one.slot.roller_pin.arm / one.slot.plan.roller)
            eaten += one.slot.rocker_pin.arm * rocker_pin_load(one, push) * abs(one.rocker_rate)
            eaten += one.slot.plan.roller * sin(tilt) * push * abs(one.roller_spin)
            eaten += (one.slot.moment(psi, one.rocker_sense) - one.slot.moment(psi, 0)) * one.rocker_rate
        grown = way * road_pull(mechanism, theta).force * mechanism.pad_radius
        assert way * found.force * mechanism.pad_radius == pytest.approx(grown + eaten, rel=1e-4, abs=1e-4)
        assert eaten > 0


def test_rocker_pin_friction_by_hand() -> None:
    """The rocker's balance N l cos(tilt) = M + mu r |R| written along and across the roller's way."""
    lever = one_slot(PlainSpring(200.0, 0.0), rocker_pin=Pin(0.004, 0.15))
    theta = 0.15
    metal = trace(lever.slots[0].plan)
    tilt = pressure_angle(metal.plan, touch(metal, theta))
    moment, arm = 200.0 * 0.018, 0.15 * 0.004
    push = moment / (0.02 * cos(tilt))
    for _ in range(60):
        pin_load = np.hypot(push * cos(tilt) - 200.0, push * sin(tilt))
        push = (moment + arm * pin_load) / (0.02 * cos(tilt))
    expected = push * 0.02 * cos(tilt) * 0.6 / 0.075
    assert road_friction(lever, theta, 1) == pytest.approx(expected, rel=1e-5)


# The dice ---------------------------------------------------------------------------------------------------


def test_dice_throw_every_kind() -> None:
    slots = [slot for lever in random_mechanisms(40, 14) for slot in lever.slots]
    assert {(type(slot.load), slot.plan.sigma) for slot in slots} == {
        (kind, sigma) for kind in (Brake, HydraulicClutch, CableClutch, AssistSpring) for sigma in (1, -1)
    }
    assert {slot.guided_by_pin for slot in slots} == {True, False}
    assert {slot.load.torsion for slot in slots if isinstance(slot.load, AssistSpring)} == {True, False}
    assert {len(lever.slots) for lever in random_mechanisms(40, 14)} == {1, 2, 3}


def test_dice_throw_the_same_again() -> None:
    assert random_mechanisms(3, 15) == random_mechanisms(8, 15)[:3]


def test_road_does_not_lean_on_the_package() -> None:
    here = Path(__file__).parent
    for module in ("geometry", "loads", "mechanisms", "road"):
        assert "pullcurve" not in (here / f"{module}.py").read_text(encoding="utf-8")
