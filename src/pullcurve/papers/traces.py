"""What a figure of a pull is made from: plain arrays in the units of the workshop, and words."""

from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.style import EVENT_SIGNS, EventKind, Role

LARGEST = 1e12
"""Beyond this nothing is a force, a travel or a pressure; such values are treated as undefined."""

NEAR = 0.05
"""Travel and force that one cannot read off, mm and N."""

MOST_PANELS, MOST_TRACES = 2, 3

Second = tuple[str, str, tuple[FloatArray, ...]]
"""A quantity under the main plot: label, unit, and one array (S,) per trace over the same travel."""


@dataclass(frozen=True, slots=True)
class Mark:
    """An event on a pull; NaN where it is not reached. An empty label becomes kind, travel and force."""

    kind: EventKind
    travel_mm: float
    force_newton: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """One force-travel loop over stations (S,); the travel ends at `end_mm`, NaN where it has no end."""

    label: str
    role: Role
    travel_mm: FloatArray
    pull_newton: FloatArray
    release_newton: FloatArray
    events: tuple[Mark, ...]
    end_mm: float


@dataclass(frozen=True, slots=True)
class Panel:
    """One lever: one to three loops, the force that it should stay below, a second quantity, and wanted points.

    Wanted points (P, 2) are travel [mm] and force [N].
    """

    title: str
    traces: tuple[Trace, ...]
    force_limit_newton: float | None = None
    second: Second | None = None
    wanted: FloatArray | None = None


def wanted_of(panel: Panel) -> FloatArray:
    """The wanted points that can be drawn, (P, 2)."""
    points = np.empty((0, 2)) if panel.wanted is None else defined(panel.wanted)
    return points[np.all(np.isfinite(points), axis=-1)]


def ranks(panel: Panel) -> tuple[int, ...]:
    """How many pennants each trace has: one more than the one before it in the same role."""
    roles = [trace.role for trace in panel.traces]
    return tuple(roles[: index + 1].count(role) for index, role in enumerate(roles))


def defined(values: FloatArray) -> FloatArray:
    """The values that can be drawn; the others NaN."""
    values = np.asarray(values, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        return np.where(np.abs(values) <= LARGEST, values, np.nan)


def words_of(mark: Mark) -> str:
    """What is written beside an event."""
    return mark.label or f"{mark.kind} {mark.travel_mm:.1f} mm, {mark.force_newton:.0f} N"


def sign_of(mark: Mark) -> str:
    """The event's shape as a character."""
    return EVENT_SIGNS[mark.kind]


def drawable(panels: tuple[Panel, ...]) -> tuple[Panel, ...]:
    """The panels as they are drawn: checked, cut where the travel ends, and what is alike drawn once."""
    check(panels)
    return tuple(merged(ended(panel)) for panel in panels)


def ended(panel: Panel) -> Panel:
    """The panel with every trace cut where its travel ends: beyond it there is nothing to show."""
    traces = tuple(_cut(trace, trace) for trace in panel.traces)
    if not panel.second:
        return replace(panel, traces=traces)
    label, unit, arrays = panel.second
    pairs = zip(panel.traces, arrays, strict=True)
    cut = tuple(_cut(trace, replace(trace, pull_newton=array)).pull_newton for trace, array in pairs)
    return replace(panel, traces=traces, second=(label, unit, cut))


def merged(panel: Panel) -> Panel:
    """The panel with one trace, and both names, for traces that no eye could tell apart."""
    kept: list[Trace] = []
    seconds: list[FloatArray] = []
    for index, trace in enumerate(panel.traces):
        second = panel.second[2][index] if panel.second else np.zeros(trace.travel_mm.shape)
        pairs = enumerate(zip(kept, seconds, strict=True))
        twin = next((place for place, known in pairs if _alike(known, (trace, second))), None)
        if twin is None:
            kept.append(trace)
            seconds.append(second)
        elif trace.label != kept[twin].label:
            kept[twin] = replace(kept[twin], label=f"{kept[twin].label} and {trace.label}")
    left = (*panel.second[:2], tuple(seconds)) if panel.second else None
    return replace(panel, traces=tuple(kept), second=left)


def _alike(one: tuple[Trace, FloatArray], other: tuple[Trace, FloatArray]) -> bool:
    """Whether two traces, each with its second quantity, differ by less than one can read off."""
    (a, a_second), (b, b_second) = one, other
    if a.travel_mm.shape != b.travel_mm.shape or len(a.events) != len(b.events):
        return False
    marks = list(zip(a.events, b.events, strict=True))
    pairs = [
        (a.travel_mm, b.travel_mm),
        (a.pull_newton, b.pull_newton),
        (a.release_newton, b.release_newton),
        (np.array([a.end_mm]), np.array([b.end_mm])),
        *(
            (np.array([m.travel_mm, m.force_newton]), np.array([n.travel_mm, n.force_newton]))
            for m, n in marks
        ),
    ]
    return (
        all((m.kind, m.label) == (n.kind, n.label) for m, n in marks)
        and all(np.allclose(defined(x), defined(y), rtol=0.0, atol=NEAR, equal_nan=True) for x, y in pairs)
        and np.allclose(defined(a_second), defined(b_second), rtol=1e-3, equal_nan=True)
    )


def _cut(like: Trace, trace: Trace) -> Trace:
    """Stations up to the end, and the end itself between the two stations around it."""
    travel, end = defined(like.travel_mm), like.end_mm
    beyond = np.flatnonzero(travel > end)
    if not len(beyond):
        return trace
    last = int(beyond[0])
    before = max(last - 1, 0)
    share = (end - travel[before]) / (travel[last] - travel[before]) if last else np.nan

    def shorter(values: FloatArray) -> FloatArray:
        values = defined(values)
        return np.append(values[:last], values[before] + share * (values[last] - values[before]))

    return replace(
        trace,
        travel_mm=np.append(travel[:last], end),
        pull_newton=shorter(trace.pull_newton),
        release_newton=shorter(trace.release_newton),
    )


def reached(trace: Trace) -> tuple[Mark, ...]:
    """The events that happen within the travel."""
    return tuple(
        mark
        for mark in trace.events
        if abs(mark.travel_mm) <= LARGEST
        and abs(mark.force_newton) <= LARGEST
        and not mark.travel_mm > trace.end_mm + NEAR
    )


def exceeded(panel: Panel) -> bool:
    """Whether a pull goes beyond the force limit."""
    limit = panel.force_limit_newton
    return limit is not None and any(np.any(defined(trace.pull_newton) > limit) for trace in panel.traces)


def check(panels: tuple[Panel, ...]) -> None:
    """Refuse what cannot be drawn: no lever, too many loops, arrays that do not belong together."""
    if not 1 <= len(panels) <= MOST_PANELS:
        raise ValueError(f"a figure of a pull shows 1 to {MOST_PANELS} levers, and was given {len(panels)}")
    for panel in panels:
        if not 1 <= len(panel.traces) <= MOST_TRACES:
            raise ValueError(f"{panel.title}: {len(panel.traces)} pulls, a panel shows 1 to {MOST_TRACES}")
        if panel.wanted is not None and (panel.wanted.ndim != 2 or panel.wanted.shape[1] != 2):
            raise ValueError(f"{panel.title}: wanted points must be (P, 2), travel and force")
        arrays: list[tuple[FloatArray, ...]] = [
            (trace.pull_newton, trace.release_newton) for trace in panel.traces
        ]
        if panel.second:
            if len(panel.second[2]) != len(panel.traces):
                raise ValueError(f"{panel.title}, {panel.second[0]}: one array is needed for each pull")
            arrays = [(*known, extra) for known, extra in zip(arrays, panel.second[2], strict=True)]
        for trace, known in zip(panel.traces, arrays, strict=True):
            shape = trace.travel_mm.shape
            if len(shape) != 1 or any(array.shape != shape for array in known):
                raise ValueError(f"{panel.title}, {trace.label}: travel and forces must be (S,), all alike")
