"""Pulls invented for the tests of the figures: a brake up to about 70 N, a clutch that peaks near 56 N."""

from dataclasses import replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.figures import Mark, Panel, TitleBlock, Trace
from pullcurve.papers.style import EventKind, Role

NAN = float("nan")


def trace(
    travel: FloatArray,
    pull: FloatArray,
    events: dict[EventKind, float],
    end: float = NAN,
    role: Role = "fitted",
    label: str = "",
) -> Trace:
    """A pull with a quarter of its force lost on the way back, and its events on the pull branch."""
    marks = tuple(Mark(kind, at, float(np.interp(at, travel, pull))) for kind, at in events.items())
    return Trace(label or role, role, travel, pull, 0.75 * pull - 1.0, marks, end)


def brake(scale: float = 1.0, shift: float = 0.0, role: Role = "fitted", end: float = 31.2) -> Trace:
    """A brake lever: free travel, bite, then a rise to lock-up."""
    travel = np.linspace(0.0, end, 128)
    bite, lock = 12.0 + shift, 27.0 + shift
    pull = scale * (6.0 + 0.25 * travel + 0.14 * np.maximum(travel - bite, 0.0) ** 2)
    return trace(travel, pull, {"bite": bite, "lock-up": lock}, end, role)


def clutch(scale: float = 1.0, shift: float = 0.0, role: Role = "fitted", end: float = 32.5) -> Trace:
    """A clutch lever: over a hump, lighter at the end."""
    travel = np.linspace(0.0, end, 128)
    pull = scale * (4.0 + 52.0 * np.exp(-(((travel - 17.0 - shift) / 9.0) ** 2)))
    events: dict[EventKind, float] = {"first slip": 9.0 + shift, "free": 19.5 + shift, "clean": 24.0 + shift}
    return trace(travel, pull, events, end, role)


BLOCK = TitleBlock(
    job="winter set-up for tight woods",
    machine="300 cm³ two-stroke enduro, hydraulic clutch",
    rider="below-knee prosthesis on the right, small hands",
    set="brake cam · reach 2° in · take-up 0.6 mm · stroke 8.0 mm; clutch cam · lift 1.7 mm",
    numbers="measured: levers, cylinders · prior: hose, pads",
    date="2025-03-14",
)

ONE = (Panel("brake lever", (brake(),), 75.0), Panel("clutch lever", (clutch(),)))

PROPOSED = brake(0.85, -2.2, "proposed", 29.4), clutch(0.86, 1.0, "proposed")
TWO = (
    Panel("brake lever", (brake(), PROPOSED[0]), 75.0),
    Panel("clutch lever", (clutch(), PROPOSED[1]), 75.0),
)


def pressure(known: Trace) -> FloatArray:
    """A pressure for a brake: nothing until the bite."""
    return np.asarray(0.16 * np.maximum(known.travel_mm - 12.0, 0.0) ** 2)


SECOND = (
    Panel("brake lever", TWO[0].traces, 75.0, ("pressure", "bar", tuple(map(pressure, TWO[0].traces)))),
    Panel("clutch lever", TWO[1].traces),
)

THREE = (
    Panel("brake lever", (brake(),)),
    Panel("clutch lever", (clutch(), PROPOSED[1], clutch(0.75, -1.5, "proposed", 30.0)), 40.0),
)


def plateau(top: float, free: float, end: float, role: Role) -> Trace:
    """A clutch lever that rises straight from 4 mm to where the clutch is free, then stays; clean is missed."""
    travel = np.linspace(0.0, end, 128)
    pull = np.interp(travel, [0.0, 1.0, 4.0, free, end], [2.0, 8.0, 8.0, top, 1.05 * top])
    known = trace(travel, pull, {"first slip": 0.5 * (free + 1.0), "free": free}, end, role)
    return replace(known, events=(*known.events, Mark("clean", NAN, NAN)))


SHORT = (
    Panel(
        "clutch lever",
        (plateau(70.0, 11.9, 32.3, "fitted"), plateau(42.0, 18.7, 21.9, "proposed")),
        second=("plate lift", "mm", (np.linspace(0.0, 1.5, 128), np.linspace(0.0, 0.5, 128))),
    ),
)
"""What is proposed ends long before what is fitted: its wall stands in the middle of the plot."""

CLOSE = (
    Panel(
        "brake lever",
        (
            trace(
                np.linspace(0.0, 31.0, 64),
                np.linspace(5.0, 70.0, 64),
                {"bite": 20.0, "lock-up": 20.6, "clean": 21.1},
                31.0,
                label="what is fitted since the last rebuild in October",
            ),
        ),
    ),
)

BROKEN = (
    Panel(
        "brake lever",
        (
            Trace(
                "fitted",
                "fitted",
                np.linspace(0.0, 34.0, 80),
                np.where(np.linspace(0.0, 34.0, 80) > 24.0, np.nan, np.linspace(2.0, 60.0, 80)),
                np.where(np.linspace(0.0, 34.0, 80) > 24.0, np.nan, np.linspace(1.0, 40.0, 80)),
                (Mark("bite", 12.0, 22.5), Mark("lock-up", NAN, NAN)),
                NAN,
            ),
        ),
    ),
)
