"""Ride notes that teach: the grid against other methods, simulated riders, and what a next ride is expected to tell."""

import tomllib
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from pullcurve.intake.jobfile import job_text, parse_job
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import BrakeReadouts, facets
from pullcurve.studies.candidates import single
from pullcurve.studies.find import find, fitted_at
from pullcurve.studies.preference import (
    DOUBT,
    GAIN,
    GAIN_SPREAD,
    GAINS,
    MOST_POINTS,
    OFFSETS,
    SCATTER,
    Note,
    Preference,
    at_steps,
    doubt,
    expected_square,
    learn,
    teach,
    wishing,
)
from pullcurve.studies.wishes import felt_steps
from tests.studies.shop import BRAKE, MAIN, SINGLE, changed, known

FORCE = dict(facets(BrakeReadouts))["force_lock"]
PLACE = dict(facets(BrakeReadouts))["travel_bite"]
TARGET = 58.0
"""The main demo job's wish for the force at lock-up [N]."""


def rated(steps: float, points: int) -> Note:
    """A rating of the lock-up force so many felt steps from the wish."""
    return Note("brake", "force_lock", TARGET * 1.07**steps, points)


def of(preferences: Sequence[Preference], key: str) -> Preference:
    """One of them, by the key of its wish."""
    return next(one for one in preferences if one.wish.key == key)


def lock(notes: Sequence[Note], job: Job | None = None) -> Preference:
    """What notes say of the lock-up force."""
    return of(learn(job or known(), notes), "brake.force_lock_newton")


def steps_of(one: Preference, value: float) -> float:
    """Felt steps from the wish."""
    return float(felt_steps(one.before.target, value, one.before.facet))


# Limits and other methods ---------------------------------------------------------------------------------------------


def test_felt_steps_there_and_back() -> None:
    """By hand: 7 % for a force, 1.5 mm for a place."""
    assert at_steps(50.0, 2.0, FORCE) == pytest.approx(50.0 * 1.07 * 1.07)
    assert at_steps(0.011, -2.0, PLACE) == pytest.approx(0.008)


def test_without_notes_a_wish_stays_a_wish() -> None:
    """The grid gives back the normal doubt it began with: its 95 % are 1.96 deviations to both sides."""
    for name, source in (("brake.force_lock_newton", "given"), ("brake.gap_rest_mm", "kept")):
        one = of(learn(known(), ()), name)
        assert not one.learned and one.wish == one.before and one.wish.source == source
        assert one.doubt == pytest.approx(DOUBT[source], rel=1e-3)
        low, high = (steps_of(one, value) for value in (one.low, one.high))
        assert (low, high) == pytest.approx((-1.96 * DOUBT[source], 1.96 * DOUBT[source]), abs=0.02)


def posterior(notes: Sequence[tuple[float, int]]) -> tuple[float, float]:
    """Mean and deviation of the ideal by adaptive quadrature over ideal and gain: another method than the grid."""

    nodes, shares = np.polynomial.hermite_e.hermegauss(24)
    gains = GAIN * GAIN_SPREAD**nodes

    def over_gain(ideal: float) -> float:
        """Mean likelihood over a log-normal gain, by Gauss-Hermite quadrature."""
        found = np.ones(gains.size)
        for steps, points in notes:
            felt = gains * (steps - ideal)
            high = 1.0 if points == MOST_POINTS else norm.cdf(points + 0.5, felt, SCATTER)
            low = 0.0 if points == -MOST_POINTS else norm.cdf(points - 0.5, felt, SCATTER)
            found *= high - low
        return float(np.dot(shares, found))

    def moment(power: int) -> float:
        width = DOUBT["given"]
        return quad(lambda m: m**power * norm.pdf(m, 0.0, width) * over_gain(m), -15, 15, limit=200)[0]

    zeroth, first, second = (moment(power) for power in range(3))
    mean = first / zeroth
    return mean, float(np.sqrt(second / zeroth - mean**2))


@pytest.mark.parametrize(
    "notes",
    [
        [(4.0, 2)],
        [(4.0, 3), (-2.0, 0)],
        [(6.0, 1), (3.0, 0), (-4.0, -3)],
        [(-3.0, -1), (-3.0, -2), (0.0, 0), (2.0, 1)],
    ],
)
def test_ideal_by_quadrature(notes: list[tuple[float, int]]) -> None:
    one = lock([rated(*note) for note in notes])
    mean, deviation = posterior(notes)
    # nine gains stand for the whole log-normal, which costs some hundredths of a step and of the doubt
    assert steps_of(one, one.wish.target) == pytest.approx(mean, abs=0.1)
    assert one.doubt == pytest.approx(deviation, rel=0.06)
    assert one.notes == len(notes) and one.wish.source == "learned"


def test_many_notes_by_least_squares() -> None:
    """With many ratings the ideal is where a straight line through them meets zero, and the gain is its slope."""
    rng = np.random.default_rng(6)
    ideal, gain = 2.3, 0.4
    steps = rng.uniform(-3.0, 5.0, 400)  # nothing beyond the ends of the scale
    points = np.rint(gain * (steps - ideal) + rng.normal(0.0, 0.5, steps.size)).astype(int)
    slope, start = np.polyfit(steps, points, 1)
    one = lock([rated(float(step), int(point)) for step, point in zip(steps, points, strict=True)])
    assert steps_of(one, one.wish.target) == pytest.approx(-start / slope, abs=0.15)
    assert steps_of(one, one.wish.target) == pytest.approx(ideal, abs=0.3)
    most = GAINS[int(np.argmax(np.sum(one.weights, axis=1)))]
    assert most == pytest.approx(slope, rel=0.15)


def test_all_just_right_where_it_was_ridden() -> None:
    """Equal ratings of nothing to complain about, on both sides alike, leave the ideal in the middle."""
    one = lock([rated(1.5, 0), rated(-1.5, 0)])
    assert steps_of(one, one.wish.target) == pytest.approx(0.0, abs=1e-9)


def test_signs() -> None:
    """Far too heavy asks for less, far too light for more, and both mirror each other."""
    heavy, light = lock([rated(0.0, 3)]), lock([rated(0.0, -3)])
    assert heavy.wish.target < TARGET < light.wish.target
    assert heavy.wish.target * light.wish.target == pytest.approx(TARGET**2, rel=1e-9)
    more = lock([rated(0.0, 3), rated(0.0, 3)])
    assert more.wish.target < heavy.wish.target


def test_notes_of_one_read_out_sharpen_the_gain_of_all() -> None:
    """A rider who is shown to feel much on the brake is taken to feel much on the clutch."""
    clutch = Note("clutch", "force_peak", 52.0 * 1.07**4, 3)
    steady = [rated(steps, int(np.clip(round(1.5 * steps), -3, 3))) for steps in (-2.0, -1.0, 1.0, 2.0)]
    alone, both = (
        of(learn(known(), notes), "clutch.force_peak_newton") for notes in ([clutch], [clutch, *steady])
    )
    assert both.doubt < alone.doubt


def test_a_read_out_that_was_not_reached_teaches_nothing() -> None:
    one = lock([Note("brake", "force_lock", float("nan"), 3)])
    assert not one.learned and one.doubt == pytest.approx(DOUBT["given"], rel=1e-3)


def test_a_rated_read_out_without_a_wish_becomes_one() -> None:
    job = known()
    gap = float(single(job, BRAKE, fitted_at(job, BRAKE)).readouts()["brake"].gap_rest[0])
    preferences = learn(job, [Note("brake", "gap_rest", gap, -2), Note("brake", "gap_bite", 0.03, 1)])
    rest, bite = of(preferences, "brake.gap_rest_mm"), of(preferences, "brake.gap_bite_mm")
    assert rest.wish.weight == bite.wish.weight == 1.0
    assert rest.wish.target > gap and bite.wish.target < 0.03
    assert (rest.before.source, bite.before.source) == ("kept", "kept")


# Simulated riders -----------------------------------------------------------------------------------------------------


def ride(ideals: dict[str, float], gain: float, rng: np.random.Generator, job: Job) -> list[Note]:
    """Notes of one ride at random places near the wishes, by a rider who answers with scatter."""
    notes = []
    for one in learn(job, ()):
        steps = rng.normal(0.0, 3.0)
        felt = gain * (steps - ideals[one.wish.key]) + rng.normal(0.0, SCATTER)
        points = int(np.clip(np.rint(felt), -MOST_POINTS, MOST_POINTS))
        value = at_steps(one.wish.target, steps, one.wish.facet)
        notes.append(Note(one.wish.kind, one.wish.readout, value, points))
    return notes


@pytest.mark.parametrize("gain", [0.3, 0.5, 0.8])
def test_riders_find_their_ideal_in_the_interval(gain: float) -> None:
    """True ideals of simulated riders lie within the 95 % after three rides, nine times of ten at least."""
    job = known()
    rng = np.random.default_rng(int(gain * 100))
    base = [one for one in learn(job, ()) if one.wish.source == "given"]
    inside: list[bool] = []
    narrowed = []
    for _ in range(40):
        ideals = {one.wish.key: float(rng.normal(0.0, DOUBT[one.wish.source])) for one in learn(job, ())}
        notes = [note for _ in range(3) for note in ride(ideals, gain, rng, job)]
        after = learn(job, notes)
        for before in base:
            one = of(after, before.wish.key)
            true = at_steps(before.wish.target, ideals[before.wish.key], before.wish.facet)
            inside.append(one.low <= true <= one.high)
            narrowed.append(one.doubt / before.doubt)
    assert np.mean(inside) >= 0.9
    assert np.mean(narrowed) < 0.6  # few rides suffice


# What the finder makes of it ------------------------------------------------------------------------------------------


def test_the_finder_looks_for_what_was_learned() -> None:
    """A rider who finds 58 N far too light gets a heavier brake than one who never rode."""
    job = known()
    preferences = learn(job, [rated(steps, -3) for steps in (0.0, 1.0, 2.0)])
    wished = wishing(job, preferences)
    assert wished.wishes is not None and wished.wishes.brake is not None
    assert wished.wishes.brake.force_lock_newton == pytest.approx(
        of(preferences, "brake.force_lock_newton").wish.target, abs=0.05
    )
    forces = []
    for one in (job, wished):
        best = find(one).levers[0]
        readouts = best.table.brake
        assert readouts is not None
        forces.append(float(readouts.force_lock[best.answers[0].row, 0]))
    assert forces[1] > forces[0] * 1.07


def test_the_job_with_learned_wishes_can_be_written_and_read() -> None:
    job = known()
    wished = wishing(job, learn(job, [rated(0.0, 3), Note("clutch", "gap_rest", 0.05, 1)]))
    assert parse_job(job_text(wished), "learned.toml") == wished
    told = tomllib.loads(job_text(wished))["wishes"]
    assert told["complaints"] == ["too heavy"]
    assert told["brake"]["travel_bite_mm"] == 11 and told["clutch"]["force_peak_newton"] == 52
    assert "gap_rest_mm" not in told["brake"]


def test_without_notes_the_job_stays_as_it_is() -> None:
    assert wishing(known(), learn(known(), ())) == known()


def test_notes_without_any_wish_in_the_job() -> None:
    job = changed(known(), wishes=None)
    one = lock([rated(0.0, 1)], job)
    assert one.before.source == "prior" and one.before.target == 55.0
    wished = wishing(job, learn(job, [rated(0.0, 1)])).wishes
    assert wished is not None and wished.brake is not None and wished.clutch is None
    assert wished.brake.travel_bite_mm == 11.0


def test_an_ideal_beyond_what_may_be_wished_is_kept_within() -> None:
    job = changed(known(), wishes__brake__travel_bite_mm=1.0)
    notes = [Note("brake", "travel_bite", 0.001, 3)] * 4
    assert of(learn(job, notes), "brake.travel_bite_mm").wish.target < 0.0005
    wished = wishing(job, learn(job, notes)).wishes
    assert wished is not None and wished.brake is not None and wished.brake.travel_bite_mm == 0.5


# What teaches most ----------------------------------------------------------------------------------------------------


def test_expected_doubt_by_riding_it_many_times() -> None:
    """What is left of the doubt, against simulated answers of riders drawn from what is believed."""
    one = lock([rated(3.0, 2)])
    rng = np.random.default_rng(8)
    weights: FloatArray = one.weights.reshape(-1)
    drawn = rng.choice(weights.size, size=4000, p=weights / weights.sum())
    gains, ideals = GAINS[drawn // OFFSETS.size], OFFSETS[drawn % OFFSETS.size]
    for steps in (-4.0, 0.0, 2.5):
        felt = gains * (steps - ideals) + rng.normal(0.0, SCATTER, drawn.size)
        given = np.clip(np.rint(felt), -MOST_POINTS, MOST_POINTS)
        left = np.sum(
            [np.var(ideals[given == points]) * np.sum(given == points) for points in np.unique(given)]
        )
        expected = expected_square(one, TARGET * 1.07**steps)
        assert expected == pytest.approx(left / drawn.size, rel=0.08)
        assert expected < one.doubt**2


def test_expected_doubt_is_that_after_the_notes_that_may_come() -> None:
    """The mean over all answers of what `learn` itself would say after each, weighed by their chance."""
    job = known()
    notes = [rated(3.0, 2)]
    one = lock(notes)
    steps = 1.0
    chances, squares = [], []
    for points in range(-MOST_POINTS, MOST_POINTS + 1):
        high = (
            1.0
            if points == MOST_POINTS
            else norm.cdf((points + 0.5 - GAINS[:, None] * (steps - OFFSETS)) / SCATTER)
        )
        low = (
            0.0
            if points == -MOST_POINTS
            else norm.cdf((points - 0.5 - GAINS[:, None] * (steps - OFFSETS)) / SCATTER)
        )
        chances.append(float(np.sum(one.weights * (high - low))))
        squares.append(lock([*notes, rated(steps, points)], job).doubt ** 2)
    assert sum(chances) == pytest.approx(1.0, abs=1e-9)
    assert expected_square(one, TARGET * 1.07**steps) == pytest.approx(np.dot(chances, squares), rel=1e-6)


def test_a_ride_that_was_never_reached_teaches_nothing() -> None:
    one = lock([rated(3.0, 2)])
    assert expected_square(one, float("nan")) == one.doubt**2


def test_the_next_ride_that_teaches_most() -> None:
    job = known()
    preferences = learn(job, [rated(4.0, 3)])
    lessons = teach(job, preferences)
    assert [one.doubt for one in lessons] == sorted(one.doubt for one in lessons)
    assert sum(one.swap is None for one in lessons) == 1
    assert all(not one.swap.broken for one in lessons if one.swap)
    assert lessons[0].doubt < doubt(preferences)
    assert {one.tells for one in lessons} <= {one.wish.key for one in preferences}
    # by hand for the first of them
    after = {(one.kind, one.readout): one.after for one in lessons[0].swap.changes} if lessons[0].swap else {}
    left = [
        one.wish.weight * expected_square(one, after.get((one.wish.kind, one.wish.readout), one.now))
        for one in preferences
    ]
    weights = sum(one.wish.weight for one in preferences)
    assert lessons[0].doubt == pytest.approx((sum(left) / weights) ** 0.5)


def test_what_is_known_well_need_not_be_ridden_again() -> None:
    """Much ridden on the brake only, the next lesson is one of the clutch."""
    job = known()
    rng = np.random.default_rng(3)
    notes = []
    for one in learn(job, ()):
        if one.wish.kind == "brake":
            notes += [
                Note(
                    "brake", one.wish.readout, at_steps(one.wish.target, float(steps), one.wish.facet), points
                )
                for steps in rng.uniform(-3.0, 3.0, 40)
                for points in [int(np.clip(np.rint(0.5 * steps), -3, 3))]
            ]
    lessons = teach(job, learn(job, notes))
    best = next(one for one in lessons if one.swap is not None)
    assert best.swap is not None and best.swap.kind in ("clutch", "assist")
    assert best.tells.startswith("clutch.")


@pytest.mark.parametrize("name", [MAIN, SINGLE])
def test_without_a_rack_there_is_only_the_ride_as_it_is(name: str) -> None:
    job = changed(known(name), rack=None)
    lessons = teach(job, learn(job, ()))
    assert [one.swap for one in lessons] == [None]
    assert doubt(()) == 0.0
