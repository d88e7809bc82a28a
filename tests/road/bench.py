"""A bench that reads the independent road pull by pull: noise, drift, coarse digits, branches that got lost."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from tests.road.geometry import Floats
from tests.road.road import Lever, met, road_friction

STATIONS = 60
BESIDE = 1e-4
"""So far on each side of the place where a plunger is met the road is walked too [rad]."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Both branches along the finger's travel: what a perfect bench would read; pressures are NaN on a cable."""

    travel: Floats
    pull: Floats
    release: Floats
    pressure: Floats


@dataclass(frozen=True, slots=True)
class Habits:
    """What the bench does to a reading [N, m] and to whole pulls."""

    force_noise: float = 0.5
    place_noise: float = 1e-4
    force_digit: float = 0.1
    place_digit: float = 5e-5
    drift: float = 0.4
    """Greatest zero error of the force, and its greatest growth from the first pull to the last."""
    rest: float = 2e-4
    """Greatest error of where the lever was taken to rest."""
    pulls: int = 5
    lost: float = 0.2
    """Share of the pulls of which one branch is missing."""
    seconds: float = 2.0
    """How long one branch takes, a fifth more or less."""
    pause: float = 0.3
    """How long the lever stands at each end [s]."""
    rate: float = 50.0
    """Readings in a second."""


@dataclass(frozen=True, slots=True)
class Logged:
    """Readings in the order in which they were taken [s, m, N, Pa]."""

    time: Floats
    travel: Floats
    force: Floats
    pressure: Floats


USUAL = Habits()


def walk(lever: Lever, end: float, most: float = 130.0, stations: int = STATIONS) -> Curve:
    """The road along a lever's travel up to an angle, or until the finger has had enough."""
    theta = np.unique(np.concatenate([np.linspace(0.0, end, stations), *_edges(lever, end)]))
    pull, release = (
        np.array([max(road_friction(lever, angle, way), 0.0) for angle in theta.tolist()]) for way in (1, -1)
    )
    kept = theta <= theta[np.argmax(pull > most)] if np.any(pull > most) else theta >= 0
    slot = lever.slots[0]
    pressure = np.array(
        [slot.load.pressure(slot.travel(met(slot.plan, angle).psi)) for angle in theta[kept].tolist()]
    )
    return Curve(lever.pad_radius * theta[kept], pull[kept], release[kept], pressure)


def _edges(lever: Lever, end: float) -> list[Floats]:
    """Angles on both sides of where each rocker meets its plunger."""
    coarse = np.linspace(0.0, end, STATIONS)
    found = []
    for slot in lever.slots:
        gap = getattr(getattr(slot.load, "plunger", None), "rest_gap", None)
        if gap is None:
            continue
        moved = np.array([slot.travel(met(slot.plan, angle).psi) for angle in coarse.tolist()])
        if moved[0] < gap < moved[-1]:
            at = float(np.interp(gap, moved, coarse))
            found.append(np.array([at - BESIDE, at + BESIDE]))
    return found


def record(curve: Curve, dice: Generator, habits: Habits = USUAL) -> Logged:
    """Several pulls along a curve, as a logger writes them down."""
    rest = float(dice.uniform(-habits.rest, habits.rest))
    zero, growth = dice.uniform(-habits.drift, habits.drift, 2)
    time, travel, force, pressure = (
        np.concatenate(rows) for rows in zip(*_passes(curve, dice, habits), strict=True)
    )
    force = force + zero + growth * time / time[-1] + dice.normal(0.0, habits.force_noise, time.size)
    travel = travel + rest + dice.normal(0.0, habits.place_noise, time.size)
    return Logged(
        time, _digits(travel, habits.place_digit), _digits(force, habits.force_digit), _digits(pressure, 1e4)
    )


def _passes(curve: Curve, dice: Generator, habits: Habits) -> Iterator[tuple[Floats, Floats, Floats, Floats]]:
    """Every branch of every pull without the bench's errors, in the order in which it was pulled."""
    begin, end = 0.0, float(curve.travel[-1])
    for number in range(habits.pulls):
        lost = int(dice.integers(2)) if dice.random() < habits.lost and number else None
        for row, branch in enumerate((curve.pull, curve.release)):
            moving = habits.seconds * float(dice.uniform(0.8, 1.2))
            time = np.arange(0.0, moving + habits.pause, 1.0 / habits.rate)
            share = np.clip(time / moving, 0.0, 1.0)
            # A hand is slowest at both ends; in between it is nearly even.
            share = 0.6 * share + 0.4 * share**2 * (3.0 - 2.0 * share)
            at = end * (share if row == 0 else 1.0 - share)
            if row != lost:
                yield (
                    begin + time,
                    at,
                    np.interp(at, curve.travel, branch),
                    np.interp(at, curve.travel, curve.pressure),
                )
            begin += float(time[-1]) + 1.0 / habits.rate


def _digits(values: Floats, digit: float) -> Floats:
    return np.asarray(np.round(values / digit) * digit)
