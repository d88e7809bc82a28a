"""A stack of sets is every set by itself: side by side, crossed, with one reach or many."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.pull.loop import Pull, pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.readouts import Readouts, facets
from tests.pull.example import JOBS

reaches = st.sampled_from([0.0, 2.0, 4.0, 8.0])
brakes = st.builds(
    BrakeCam,
    reach_deg=reaches,
    take_up_mm=st.floats(0.0, 0.6),
    stroke_mm=st.floats(5.5, 9.0),
    flank_deg=st.just(26.0),
)
clutches = st.builds(ClutchCam, reach_deg=st.just(0.0), lift_mm=st.floats(7.0, 11.0), flank_deg=st.just(26.0))
assists = st.builds(
    AssistCam,
    reach_deg=st.just(0.0),
    onset_deg=st.floats(0.0, 10.0),
    fall=st.floats(0.1, 0.6),
    flank_deg=st.just(26.0),
    blend_deg=st.just(8.0),
)
names = st.sampled_from(sorted(JOBS))


def same(stack: Pull, place: tuple[int, ...], sets: tuple[int, ...], alone: Pull) -> None:
    """All curves, events and read-outs of one set, in the stack and by itself."""
    for one, other in zip(stack.levers, alone.levers, strict=True):
        for name in ("travel", "gap", "force", "pull", "release", "release_worn"):
            for curves, single in ((one.curves, other.curves), (one.at, other.at)):
                values = np.asarray(getattr(curves, name))
                spread = np.broadcast_to(values, sets + values.shape[-1:])[place]
                np.testing.assert_allclose(spread, getattr(single, name), rtol=1e-9, atol=1e-12)
    kinds: list[tuple[Readouts | None, Readouts | None]] = [
        (stack.brake, alone.brake),
        (stack.clutch, alone.clutch),
    ]
    for many, single_kind in kinds:
        assert (many is None) == (single_kind is None)
        if many is not None and single_kind is not None:
            for name, facet in facets(many):
                values = np.asarray(getattr(many, name))
                shape = sets + values.shape[-1:] if facet.per_surface else sets
                np.testing.assert_allclose(
                    np.broadcast_to(values, shape)[place], getattr(single_kind, name), rtol=1e-9, atol=1e-12
                )


def alone(name: str, brake: BrakeCam, clutch: ClutchCam, assist: AssistCam) -> Pull:
    """One set by itself."""
    return pull(mechanism(JOBS[name](), Choice([brake], [clutch], [assist])), 33)


def in_step(name: str, brake: Sequence[BrakeCam]) -> list[BrakeCam]:
    """On one lever all cams share its reach."""
    return (
        [cam.model_copy(update={"reach_deg": 0.0}) for cam in brake] if name == "one lever" else list(brake)
    )


Cams = tuple[list[BrakeCam], list[ClutchCam], list[AssistCam]]


def as_many(count: int) -> st.SearchStrategy[Cams]:
    """As many cams of every kind."""
    return st.tuples(
        st.lists(brakes, min_size=count, max_size=count),
        st.lists(clutches, min_size=count, max_size=count),
        st.lists(assists, min_size=count, max_size=count),
    )


@settings(max_examples=25)
@given(names, st.integers(2, 4).flatmap(as_many))
def test_sets_side_by_side(name: str, cams: Cams) -> None:
    brake, clutch, assist = in_step(name, cams[0]), cams[1], cams[2]
    stack = pull(mechanism(JOBS[name](), Choice(brake, clutch, assist)), 33)
    for k in range(len(brake)):
        same(stack, (k,), (len(brake),), alone(name, brake[k], clutch[k], assist[k]))


@settings(max_examples=25)
@given(
    names,
    st.lists(brakes, min_size=1, max_size=3),
    st.lists(clutches, min_size=1, max_size=3),
    st.lists(assists, min_size=1, max_size=2),
)
def test_sets_crossed(
    name: str, brakes_known: list[BrakeCam], clutch: list[ClutchCam], assist: list[AssistCam]
) -> None:
    brake = in_step(name, brakes_known)
    stack = pull(mechanism(JOBS[name](), Choice(brake, clutch, assist, crossed=True)), 33)
    sets = (len(brake), len(clutch), len(assist))
    for place in np.ndindex(sets):
        b, c, a = place
        same(stack, place, sets, alone(name, brake[b], clutch[c], assist[a]))


def test_many_of_one_kind_beside_one_of_another() -> None:
    """Sequences of one stand beside any number."""
    brake = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke) for stroke in (6.0, 7.0, 8.0)]
    clutch, assist = ClutchCam(reach_deg=0, lift_mm=9.0), AssistCam(reach_deg=0, onset_deg=6, fall=0.4)
    for name in ("two levers", "one lever"):
        stack = pull(mechanism(JOBS[name](), Choice(brake, [clutch], [assist])), 33)
        for k in range(3):
            same(stack, (k,), (3,), alone(name, brake[k], clutch, assist))


@pytest.mark.parametrize("name", ["two levers", "one lever"])
def test_sets_of_many_reaches(name: str) -> None:
    """Every set has its own stations then."""
    steps = (0.0, 4.0, 8.0)
    brake = [BrakeCam(reach_deg=reach, take_up_mm=0.3, stroke_mm=7.5) for reach in steps]
    clutch = [ClutchCam(reach_deg=reach, lift_mm=9.0) for reach in steps]
    assist = [AssistCam(reach_deg=reach, onset_deg=6, fall=0.4) for reach in steps]
    stack = pull(mechanism(JOBS[name](), Choice(brake, clutch, assist)), 33)
    for k in range(3):
        same(stack, (k,), (3,), alone(name, brake[k], clutch[k], assist[k]))


@pytest.mark.parametrize("name", ["two levers", "one lever"])
def test_crossed_sets_without_an_assist(name: str) -> None:
    """A kind of which no cam was chosen keeps an axis of one."""
    brake = [BrakeCam(reach_deg=0, take_up_mm=0, stroke_mm=stroke) for stroke in (6.0, 8.0)]
    clutch = [ClutchCam(reach_deg=0, lift_mm=lift) for lift in (8.0, 9.0, 10.0)]
    stack = pull(mechanism(JOBS[name](), Choice(brake, clutch, crossed=True)), 33)
    for b, c in np.ndindex(2, 3):
        single = pull(mechanism(JOBS[name](), Choice([brake[b]], [clutch[c]])), 33)
        same(stack, (b, c, 0), (2, 3, 1), single)
