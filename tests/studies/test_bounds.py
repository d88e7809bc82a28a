"""Energy bounds against a numerical integration of the pull without friction."""

import numpy as np
import pytest

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BrakeLine, ClutchCable, ClutchLine, Lever, Mechanism
from pullcurve.pull.energy import brake_energy, clutch_energy
from pullcurve.pull.events import find_events
from pullcurve.pull.mechanism import Choice, fitted, mechanism
from pullcurve.pull.solve import solve, travel_end
from pullcurve.studies.bounds import Bound, bounds
from pullcurve.studies.candidates import single
from pullcurve.studies.find import fitted_at
from pullcurve.studies.wishes import wishes_of
from tests.studies import shop

FINE = 20_001


def with_one_cam(job: Job, kind: str) -> tuple[Mechanism, Lever]:
    """The lever with the fitted cam of one kind alone on it, so that the finger works against one load."""
    whole = mechanism(job, Choice(**{kind: fitted(job).of(kind)}))  # type: ignore[arg-type]
    return whole, next(lever for lever in whole.levers if lever.rocker(kind))


def work(lever: Lever, start: float, end: float, whole: Mechanism) -> float:
    """Finger's work without friction between two lever angles, less what the lever's own spring takes [J].

    From the second piece on by the midpoints, so that a jump of the force at one station counts half a step at most.
    """
    edges = np.linspace(start, end, FINE)
    middle = (edges[1:] + edges[:-1]) / 2
    force: FloatArray = solve(lever, middle, whole.worn).force
    by_finger = float(np.sum(force) * (edges[1] - edges[0])) * float(lever.finger_radius)
    spring = float(lever.spring_torque) * (end - start) + float(lever.spring_rate) * (end**2 - start**2) / 2
    return by_finger - spring


def angle(lever: Lever, whole: Mechanism, name: str) -> float:
    """Lever angle of an event."""
    events = find_events(lever, whole, travel_end(lever))
    return float(events.theta.reshape(-1)[events.index(name)])


@pytest.mark.parametrize("name", shop.NAMES)
def test_brake_energy_is_the_work_of_the_finger(name: str) -> None:
    whole, lever = with_one_cam(shop.known(name), "brake")
    rocker = lever.rocker("brake")
    assert rocker is not None and isinstance(rocker.load, BrakeLine) and whole.wheel is not None
    bite, lock = brake_energy(
        rocker.load, np.array([whole.wheel.bite_pressure, whole.wheel.lock_pressure[0]])
    ).tolist()
    at_bite, at_lock = (angle(lever, whole, event) for event in ("bite", "lock-up 0"))
    assert work(lever, 0.0, at_bite, whole) == pytest.approx(bite, rel=2e-4)
    assert work(lever, at_bite, at_lock, whole) == pytest.approx(lock - bite, rel=1e-6)


@pytest.mark.parametrize("name", [name for name in shop.NAMES if name != shop.BRAKE_ONLY])
def test_clutch_energy_is_the_work_of_the_finger(name: str) -> None:
    whole, lever = with_one_cam(shop.known(name), "clutch")
    rocker = lever.rocker("clutch")
    assert (
        rocker is not None and isinstance(rocker.load, ClutchLine | ClutchCable) and whole.plates is not None
    )
    plates = whole.plates
    slip, free, clean = clutch_energy(
        rocker.load, np.array([plates.slip_lift, plates.free_lift, plates.clean_lift])
    ).tolist()
    places = [angle(lever, whole, event) for event in ("first slip", "free", "clean")]
    assert work(lever, 0.0, places[0], whole) == pytest.approx(slip, rel=2e-4)
    assert work(lever, places[0], places[1], whole) == pytest.approx(free - slip, rel=1e-5)
    assert work(lever, places[1], places[2], whole) == pytest.approx(clean - free, rel=1e-5)


def bounds_at(job: Job, row: int) -> tuple[Bound, ...]:
    """Bounds of one lever with what is fitted."""
    now = single(job, row, fitted_at(job, row))
    wishes = tuple(wish for kind, known in now.readouts().items() for wish in wishes_of(job, kind, known))
    whole = mechanism(job, fitted(job))
    return bounds(whole, whole.levers[row], wishes)


def test_least_force_is_energy_over_travel() -> None:
    job = shop.known()
    found = {bound.stretch: bound for bound in bounds_at(job, shop.BRAKE)}
    whole, lever = with_one_cam(job, "brake")
    at_bite, at_lock = (angle(lever, whole, event) for event in ("bite", "lock-up 0"))
    between = found["from bite to lock-up"]
    assert between.travel == pytest.approx(0.013)  # the wish of the file
    assert between.least_force == pytest.approx(work(lever, at_bite, at_lock, whole) / 0.013, rel=1e-6)
    assert between.wished_force == 58.0
    both = found["from rest to lock-up"]
    assert both.travel == pytest.approx(0.013 + 0.011)
    assert both.least_force == pytest.approx(work(lever, 0.0, at_lock, whole) / 0.024, rel=2e-4)


def test_all_the_travel_there_is_does_not_depend_on_what_is_fitted() -> None:
    near = shop.known("trials-280.toml")
    assert near.fitted.brake is not None and near.fitted.brake.reach_deg == 4.0
    far = shop.changed(near, fitted__brake__reach_deg=0)
    whole = "from rest to lock-up, all the travel there is"
    (one,) = [bound for bound in bounds_at(near, shop.BRAKE) if bound.stretch == whole]
    (other,) = [bound for bound in bounds_at(far, shop.BRAKE) if bound.stretch == whole]
    assert one == other
    lever = mechanism(far, fitted(far)).levers[shop.BRAKE]
    assert one.travel == pytest.approx(float(lever.finger_radius * travel_end(lever)[0]), rel=1e-12)


def test_a_wish_below_the_bound_is_not_met_and_one_above_it_is() -> None:
    job = shop.known()
    needed = min(bound.least_force for bound in bounds_at(job, shop.BRAKE))
    for share, met in ((0.99, False), (1.0, True), (1.01, True)):
        asked = shop.changed(
            job,
            wishes__brake__force_lock_newton=needed * share,
            wishes__brake__modulation_mm=None,
            wishes__brake__travel_bite_mm=None,
        )
        (found,) = bounds_at(asked, shop.BRAKE)
        assert found.met is met


@pytest.mark.parametrize("name", shop.NAMES)
def test_no_set_of_the_rack_goes_below_the_bound(name: str) -> None:
    """The greatest force of any cam, friction left out, up to the event is at least energy over all the travel."""
    from pullcurve.studies.find import rack_for

    job = shop.known(name)
    for row, lever in enumerate(job.unit.levers):
        drives = {rocker.drives for rocker in lever.rockers}
        for bound in bounds_at(job, row):
            if "all the travel" not in bound.stretch:
                continue
            event = "lock-up 0" if bound.wish.startswith("brake") else "clean"
            rack = rack_for(job, row)
            for place in range(12):
                cams = {kind: known[place % len(known)] for kind, known in rack.items()}
                if len({cam.reach_deg for cam in cams.values()}) > 1:
                    continue
                whole = mechanism(job, Choice(**{kind: (cam,) for kind, cam in cams.items()}))  # type: ignore[arg-type]
                known_lever = whole.levers[row]
                at = angle(known_lever, whole, event)
                if np.isnan(at):
                    continue
                force = solve(known_lever, np.linspace(0.0, at, 400), whole.worn).force
                assert float(np.max(force)) >= bound.least_force, (drives, cams)


def test_help_of_the_assist_is_all_that_its_spring_holds() -> None:
    # 240 N let down at 22 N/mm gives 240^2 / (2 x 22 000) J, whatever cam does it
    given = 240.0**2 / (2 * 22_000.0)
    job = shop.known()
    alone = shop.changed(job, unit__levers__1__rockers__1__spring__preload_newton=0)
    (helped, *_), (bare, *_) = bounds_at(job, shop.CLUTCH), bounds_at(alone, shop.CLUTCH)
    assert bare.energy - helped.energy == pytest.approx(given, rel=1e-12)


def test_help_of_a_shared_lever_counts_for_the_brake_too() -> None:
    given = 240.0**2 / (2 * 22_000.0)
    job = shop.known(shop.SINGLE)
    alone = shop.changed(job, unit__levers__0__rockers__2__spring__preload_newton=0)
    brake = [bound for bound in bounds_at(job, 0) if bound.wish.startswith("brake")]
    bare = [bound for bound in bounds_at(alone, 0) if bound.wish.startswith("brake")]
    assert brake and len(brake) == len(bare)
    for one, other in zip(brake, bare, strict=True):
        assert other.energy - one.energy == pytest.approx(given, rel=1e-12)


def test_without_a_wished_force_there_is_nothing_to_bound() -> None:
    job = shop.changed(shop.known(), wishes__brake={"travel_bite_mm": 11})
    assert bounds_at(job, shop.BRAKE) == ()
