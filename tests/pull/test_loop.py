"""The whole loop: stations, events and ends of one lever, and the shapes of many sets."""

import numpy as np
import pytest

from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.loop import STATIONS, pull, pull_lever
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.readouts import facets
from pullcurve.pull.solve import solve, travel_end
from tests.pull.example import JOBS


@pytest.mark.parametrize("name", JOBS)
def test_a_pull_goes_from_rest_to_its_end(name: str) -> None:
    known = mechanism(JOBS[name]())
    for lever, found in zip(known.levers, pull(known).levers, strict=True):
        assert found.curves.theta.shape == (STATIONS,)
        assert found.curves.theta[0] == 0.0
        assert found.curves.theta[-1] == pytest.approx(travel_end(lever).item())
        assert found.end == pytest.approx(travel_end(lever))
        np.testing.assert_allclose(np.diff(found.curves.theta), found.curves.theta[1], rtol=1e-9)
        assert found.curves.name == lever.name


@pytest.mark.parametrize("name", JOBS)
def test_curves_at_events_are_the_curves_at_those_angles(name: str) -> None:
    """Exact and not interpolated: the same as solving there alone."""
    known = mechanism(JOBS[name]())
    for lever, found in zip(known.levers, pull(known).levers, strict=True):
        alone = solve(lever, found.events.theta, known.worn)
        for key in ("theta", "travel", "gap", "force", "pull", "release", "release_worn"):
            np.testing.assert_allclose(getattr(found.at, key), getattr(alone, key), rtol=1e-12)


def test_few_or_many_stations() -> None:
    known = mechanism(JOBS["two levers"]())
    for stations in (2, 33, 512):
        found = pull_lever(known.levers[0], known.hands[0], known, stations)
        assert found.curves.pull.shape == (stations,)
        assert found.brake is not None
        assert found.clutch is None


@pytest.mark.parametrize("reaches", [(0.0, 0.0, 0.0), (0.0, 2.0, 4.0)])
@pytest.mark.parametrize("name", ["two levers", "one lever"])
def test_readouts_of_many_sets_have_their_shape(name: str, reaches: tuple[float, ...]) -> None:
    """Whether the sets share their stations or not."""
    cams = Choice(
        [BrakeCam(reach_deg=reach, take_up_mm=0, stroke_mm=7.5) for reach in reaches],
        [ClutchCam(reach_deg=reach, lift_mm=9.0) for reach in reaches],
        [AssistCam(reach_deg=reach, onset_deg=6, fall=0.4) for reach in reaches],
    )
    found = pull(mechanism(JOBS[name](), cams), 33)
    for readouts in (found.brake, found.clutch):
        assert readouts is not None
        for key, facet in facets(readouts):
            shape = np.shape(getattr(readouts, key))
            assert np.broadcast_shapes(shape, (3, 3) if facet.per_surface else (3,))[0] == 3, key


def test_a_lever_without_its_cam_is_pulled_all_the_same() -> None:
    """A clutch cam alone on a two-lever unit: the brake lever has its spring and no read-outs."""
    found = pull(mechanism(JOBS["two levers"](), Choice(clutch=[ClutchCam(reach_deg=0, lift_mm=9.0)])))
    assert found.brake is None
    assert found.clutch is not None
    assert found.levers[0].events.names == ()
    assert found.levers[0].curves.rockers == ()
    assert (found.levers[0].curves.pull > 0).all()
