"""What errors do to what a finger feels: against formulas for single errors, and one method against another."""

from dataclasses import fields

import numpy as np
import pytest

from pullcurve.mechanics.contact import pressure_angle
from pullcurve.mechanics.hand import felt_steps_force
from pullcurve.mechanics.law import law
from pullcurve.pull.events import find_events
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.solve import travel_end
from pullcurve.studies.misfits import Errors
from pullcurve.studies.tolerance import (
    AMOUNTS,
    HALF_STEP,
    LOSSES,
    SOURCES,
    WEAR,
    Effects,
    justified_tolerance,
    monte_carlo,
    ranking,
    steps_from,
    subject,
    tolerance,
    wear,
)
from tests.studies import shop

LEVER = 0.075
"""Pivot to finger of the demo's levers [m]."""

NEARLY_LINEAR = ("size", "slope", "centre_distance", "roller_diameter", "clocking", "finger_position")
"""Sources whose effect goes with their size; where a bump stands does not."""


@pytest.fixture(scope="module")
def effects() -> Effects:
    return tolerance(shop.known(), "brake")


def column(source: str) -> int:
    """Place of a source."""
    return tuple(SOURCES).index(source)


# Known sensitivities --------------------------------------------------------------------------------------------------


def test_force_goes_with_one_over_the_finger_radius() -> None:
    """F = T/L; what the lever pin's friction adds is small, and without friction it is exact."""
    smooth = shop.changed(shop.known(), unit__pin_friction=0)
    found = tolerance(smooth, "brake").effect("brake", "force_lock")
    spread = 0.002
    expected = found.nominal * LEVER * (1 / (LEVER + spread) - 1 / (LEVER - spread)) / 2
    assert found.change[:, column("finger_position")] == pytest.approx([expected] * 3, rel=1e-9)
    rubbing = tolerance(shop.known(), "brake").effect("brake", "force_lock")
    assert rubbing.change[0, column("finger_position")] == pytest.approx(
        -rubbing.nominal * spread / LEVER, rel=0.02
    )


def test_travel_goes_with_the_finger_radius(effects: Effects) -> None:
    """s = L theta, and the lever angle of the bite does not know where the finger is."""
    found = effects.effect("brake", "travel_bite")
    assert found.change[1, column("finger_position")] == pytest.approx(
        found.nominal * 0.002 / LEVER, rel=1e-9
    )


@pytest.mark.parametrize("event", ["bite", "lock"])
def test_higher_flank_brings_bite_and_lock_up_sooner(effects: Effects, event: str) -> None:
    """By hand: the rocker gains delta/(l cos alpha), so that the lever needs that over psi' less."""
    whole = mechanism(shop.known())
    lever = whole.levers[0]
    rocker = lever.rocker("brake")
    assert rocker is not None
    events = find_events(lever, whole, travel_end(lever))
    theta = events.theta[events.index("bite" if event == "bite" else "lock-up 0")][None]
    state = law(rocker.law, theta)
    alpha = pressure_angle(state.psi, state.dpsi, rocker.centre_distance, rocker.arm, rocker.sense)
    sooner = -LEVER / (float(rocker.arm) * np.cos(alpha[0]) * state.dpsi[0])
    found = effects.effect("brake", f"travel_{event}")
    assert found.change[:, column("size")] == pytest.approx(sooner * np.array(AMOUNTS), rel=2e-3)
    assert found.change[:, column("roller_diameter")] == pytest.approx(
        sooner * np.array(AMOUNTS) / 2, rel=2e-3
    )


def test_clocking_moves_everything_by_its_angle(effects: Effects) -> None:
    """A cam turned ahead of its lever brings every event sooner by the angle, and changes no force at all there."""
    angle = effects.spread[:, column("clocking")]
    for readout in ("travel_bite", "travel_lock"):
        assert effects.effect("brake", readout).change[:, column("clocking")] == pytest.approx(
            -LEVER * angle, rel=1e-6
        )
    force = effects.effect("brake", "force_lock")
    assert np.max(np.abs(force.change[:, column("clocking")])) < 1e-3 * force.nominal
    flank = AMOUNTS[0] / angle[0]
    assert 0.0187 < flank < 0.0301


def test_what_the_wheel_needs_does_not_depend_on_the_cam(effects: Effects) -> None:
    for readout in ("pressure_lock", "deceleration_lock"):
        assert effects.effect("brake", readout).change == pytest.approx(0.0, abs=1e-6)


# One method against another -------------------------------------------------------------------------------------------


def test_five_times_the_error_is_five_times_the_change(effects: Effects) -> None:
    linear = [
        column(source) for source in ("size", "slope", "centre_distance", "roller_diameter", "clocking")
    ]
    for readout in ("travel_bite", "travel_lock", "gap_lock", "stroke_left", "modulation_travel"):
        change = effects.effect("brake", readout).change[:, linear]
        assert change[2] == pytest.approx(5 * change[0], rel=0.02, abs=1e-9)


@pytest.mark.parametrize("kind", ["brake", "clutch"])
def test_many_at_random_scatter_as_the_single_effects_say(kind: str) -> None:
    """An even spread of +-w has the variance w^2/3; 3,000 samples fix a deviation to about 1 %."""
    job, amount = shop.known(), 5e-5
    single = tolerance(job, kind, amounts=(amount,))
    rows = [column(source) for source in NEARLY_LINEAR]
    many = monte_carlo(job, kind, amount, np.random.default_rng(7), 3000, NEARLY_LINEAR)
    for readout in many:
        if readout.readout in (
            "gap_rest",
            "travel_bite",
            "force_lock",
            "travel_slip",
            "force_hold",
            "friction_zone",
        ):
            effect = single.effect(kind, readout.readout)
            expected = np.sqrt(np.sum(effect.change[0, rows] ** 2) / 3)
            assert readout.deviation == pytest.approx(expected, rel=0.05), readout.readout
            assert readout.mean == pytest.approx(readout.nominal, abs=0.1 * expected)
            assert readout.low < readout.nominal < readout.high


def test_same_generator_same_units() -> None:
    first, second = (monte_carlo(shop.known(), "brake", 2e-5, np.random.default_rng(3), 20) for _ in range(2))
    assert [one.mean for one in first] == pytest.approx([one.mean for one in second], nan_ok=True)


def test_ranking_agrees_with_the_single_effects() -> None:
    """Nearly linear: the share of the variance is the square of the change over the sum of squares."""
    job, amount = shop.known(), 5e-5
    single = tolerance(job, "brake", amounts=(amount,))
    rows = [column(source) for source in NEARLY_LINEAR]
    checked = 0
    for found in ranking(job, "brake", amount, 5, 256, NEARLY_LINEAR):
        if found.readout in ("travel_bite", "travel_lock", "stroke_left", "force_lock"):
            square = single.effect("brake", found.readout).change[0, rows] ** 2
            assert found.sources == NEARLY_LINEAR
            assert found.total == pytest.approx(square / np.sum(square), abs=0.05)
            assert found.alone == pytest.approx(square / np.sum(square), abs=0.05)
            checked += 1
    assert checked == 4


def test_ranking_leaves_out_what_does_not_change_and_groups_a_bump_with_its_place() -> None:
    found = {known.readout: known for known in ranking(shop.known(), "brake", 2e-5, 1, 64)}
    assert np.all(np.isnan(found["port_margin"].total))
    assert found["force_lock"].total.shape == (len(SOURCES),)
    shares = found["force_gauge"].total
    assert np.argmax(shares) == column("bump")


def test_stack_of_errors_is_its_members_one_by_one() -> None:
    known = subject(shop.known(), "clutch")
    size, place = np.array([[1e-5], [-3e-5], [0.0]]), np.array([[0.2], [0.5], [0.9]])
    stack = known.pulled(Errors(size=size, bump=2e-5, place=place))
    for row in range(3):
        alone = known.pulled(Errors(size=float(size[row, 0]), bump=2e-5, place=float(place[row, 0])))
        for name, values in alone.items():
            assert stack[name][row] == pytest.approx(values[0], rel=1e-12, nan_ok=True)


def test_without_errors_the_pull_is_the_pull() -> None:
    whole = pull(mechanism(shop.known()))
    found = subject(shop.known(), "brake").pulled(Errors())
    assert whole.brake is not None
    for known in fields(whole.brake):
        expected = np.ravel(getattr(whole.brake, known.name))[0]
        assert found["brake", known.name] == pytest.approx([expected], rel=1e-6, nan_ok=True)


# Felt steps and the tolerance -----------------------------------------------------------------------------------------


def test_steps_are_counted_from_the_nominal_value_on_the_worse_side(effects: Effects) -> None:
    """Lighter by dL is more steps than heavier by dL: F goes with 1/L."""
    found = effects.effect("brake", "force_lock")
    expected = abs(float(felt_steps_force(1 / LEVER, 1 / (LEVER - 0.002))))
    assert found.steps[0, column("finger_position")] == pytest.approx(expected, rel=0.02)
    assert effects.effect("brake", "pressure_lock").steps == pytest.approx(0.0)


def test_what_is_lost_is_felt_without_bound(effects: Effects) -> None:
    facet = effects.effect("brake", "travel_lock").facet
    lost = steps_from(0.02, np.array([np.nan, 0.02, 0.0215]), facet)
    assert lost.tolist() == [np.inf, 0.0, pytest.approx(1.0)]
    assert steps_from(np.nan, np.array([np.nan, 0.02]), facet).tolist() == [0.0, np.inf]


@pytest.mark.parametrize("kind", ["brake", "clutch", "assist"])
def test_justified_tolerance_is_just_not_felt(kind: str) -> None:
    """At the tolerance no profile error reaches half a step, a little beyond one does."""
    job = shop.known()
    found = justified_tolerance(job, kind)
    assert 5e-6 < found.tolerance < 2e-4
    assert found.binding is not None
    assert found.shape in ("size", "slope", "bump")
    profile = [column(source) for source in ("size", "slope", "bump")]
    around = tolerance(job, kind, amounts=(found.tolerance, found.tolerance + 2e-6))
    most = np.max([effect.steps[:, profile] for effect in around.effects], axis=0)
    assert np.max(most[0]) <= HALF_STEP < np.max(most[1])
    assert around.effect(*found.binding).steps[1, column(found.shape)] == np.max(most[1])


def test_tolerance_that_no_finger_tells_is_the_widest_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pullcurve.studies.tolerance.HALF_STEP", 1e9)
    monkeypatch.setattr(
        "pullcurve.studies.tolerance.steps_from", lambda nominal, found, facet: 0.0 * np.nan_to_num(found)
    )
    found = justified_tolerance(shop.known(), "brake")
    assert found.tolerance == pytest.approx(5e-4)
    assert (found.binding, found.facet, found.shape) == (None, None, "")


# Wear -----------------------------------------------------------------------------------------------------------------


def test_wear_makes_the_lever_come_in_further() -> None:
    found = wear(shop.known(), "brake")
    assert found.sources == tuple(WEAR)
    assert found.amounts.tolist() == list(LOSSES)
    for readout in ("travel_bite", "travel_lock"):
        assert np.all(found.effect("brake", readout).change > 0)
        assert np.all(np.diff(found.effect("brake", readout).change, axis=0) > 0)


def test_play_of_the_pins_is_felt_as_a_smaller_roller() -> None:
    """Both let the roller centre sink by half of it; the roller's own size changes next to nothing else."""
    found = wear(shop.known(), "clutch").effect("clutch", "travel_free")
    roller, play = (tuple(WEAR).index(source) for source in ("roller_loss", "pin_play"))
    assert found.change[:, play] == pytest.approx(found.change[:, roller], rel=1e-3)


def test_other_cam_can_be_asked_about() -> None:
    job = shop.known()
    assert job.fitted.brake is not None
    firmer = job.fitted.brake.model_copy(update={"stroke_mm": 9.0})
    here, other = (
        tolerance(job, "brake", cam, (1e-5,)).effect("brake", "force_lock") for cam in (None, firmer)
    )
    assert other.nominal != pytest.approx(here.nominal, rel=0.01)


@pytest.mark.parametrize("name", shop.NAMES)
def test_every_demo_has_a_tolerance(name: str) -> None:
    job = shop.known(name)
    for kind in ("brake", "clutch", "assist"):
        if getattr(job.fitted, kind) is not None:
            assert justified_tolerance(job, kind).tolerance > 3e-6
