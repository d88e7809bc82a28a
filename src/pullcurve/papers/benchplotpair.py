"""Two measured pulls as plots: both loops, and their difference in felt steps with what no finger feels."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.hand import felt_steps_force
from pullcurve.papers import style
from pullcurve.papers.benchplot import (
    ABOVE,
    DOUBT_SHARE,
    SURE,
    Pane,
    Row,
    axes,
    band,
    cut,
    extent,
    name_room,
    name_spots,
    places_axis,
    scale_data,
    stack,
    stack_height,
    widened,
    words_area,
)
from pullcurve.papers.frame import stations
from pullcurve.papers.labels import Label, Placed, label, name_label, write
from pullcurve.papers.letters import shorten
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import Box, at, curve, element, hatch, line, pennant, span
from pullcurve.papers.style import NOTE_SIZE, Role, Theme, role_colour
from pullcurve.papers.traces import defined
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.compare import Compared
from pullcurve.units import from_si

FORCE, STEPS = "force at the finger", "difference"
"""What the plots show, from top to bottom."""

STEPS_HEIGHT, LEAST_STEPS = 168.0, 1.6
"""Height of the plot of felt steps, px, and how far it goes at least to both sides of zero."""

FELT, READ = 1.0, 0.05
"""A finger feels a step and more; a difference below the second is none in one decimal."""

HATCH, NOT_FELT, IN_BAND = 8.0, "not felt", 20.0
PEAK = 3.2
ASIDE_ROOM = 130.0
"""Width of a pull's name in an aside, px."""

ROLES: tuple[Role, Role] = ("fitted", "proposed")
PENNANTS = {"fitted": (0.46, 0.56), "proposed": (0.56, 0.46)}
"""Where along pull and release the mark of a role sits."""

LEAST_POINTS, BEFORE_TURN = 12, 3


@dataclass(frozen=True, slots=True)
class Pair:
    """Two pulls with their names, what is between them, and places in the unit of the sheet."""

    both: tuple[Branches, Branches]
    labels: tuple[str, str]
    compared: Compared
    turned: float

    @property
    def angular(self) -> bool:
        """Whether the places are lever angles."""
        return self.both[0].angular


def pair(before: Branches, after: Branches, compared: Compared, labels: tuple[str, str]) -> Pair:
    """Two pulls ready to be drawn."""
    return Pair((before, after), labels, compared, from_si("to_deg" if before.angular else "to_mm", 1.0))


# Rows ---------------------------------------------------------------------------------------------------------


def rows_of(known: Pair, height: float) -> tuple[Row, Row]:
    """The plots from top to bottom, the first so many px high."""
    values = [values for one in known.both for values in (one.pull, one.release)]
    doubts = [
        (values, doubt)
        for one in known.both
        for values, doubt in ((one.pull, one.pull_deviation), (one.release, one.release_deviation))
    ]
    force = Row(FORCE, "N", "shaded: 95 % interval", *extent(values, doubts), height)
    low, high = _felt_extent(known)
    aside = f"above zero: {shorten(known.labels[1], ASIDE_ROOM, NOTE_SIZE)} is harder"
    if 2.0 * FELT / (high - low) * STEPS_HEIGHT < IN_BAND:
        aside = f"{aside}; hatched: {NOT_FELT}"
    return force, Row(STEPS, "felt steps", aside, low, high, STEPS_HEIGHT)


def _felt_extent(known: Pair) -> tuple[float, float]:
    """As many felt steps as there are, the band that no finger feels in any case, and some of their doubt."""
    steps = {name: defined(getattr(known.compared, f"{name}_steps")) for name in ("pull", "release")}
    low, high = span([*steps.values(), np.array([-LEAST_STEPS, LEAST_STEPS])])
    room = 2.0 * ABOVE * (high - low)
    low, high = (low - room if low < -LEAST_STEPS else low), (high + room if high > LEAST_STEPS else high)
    doubts = {name: steps_doubt(known.both[0], known.compared, name) for name in steps}
    ends = [steps[name] + sign * doubts[name] for name in steps for sign in (-1.0, 1.0)]
    return widened(low, high, ends, DOUBT_SHARE)


def pair_height(known: Pair, height: float, room: float) -> float:
    """Height of both plots in a room so many px wide."""
    return stack_height(rows_of(known, height), room)


def draw_pair(known: Pair, body: Box, height: float, theme: Theme) -> str:
    """Both plots, from the back to the front."""
    places = np.concatenate([one.place for one in known.both]) * known.turned
    panes = stack(rows_of(known, height), places, body)
    parts = []
    for pane, draw in zip(panes, (_loops, _steps), strict=True):
        inside = *axes(pane, body, theme, pane is panes[-1]), *draw(known, pane, theme)
        parts.append(element("g", *inside, class_="pane", data_name=pane.row.name, **scale_data(pane)))
    return element("g", *parts, places_axis(panes[-1], known.angular, theme), class_="bench")


# Both loops ---------------------------------------------------------------------------------------------------


def _loops(known: Pair, pane: Pane, theme: Theme) -> Iterator[str]:
    """Force over the places: what was read on both, with its doubt."""
    for one, role in zip(known.both, ROLES, strict=True):
        colour, places = role_colour(theme, role), one.place * known.turned
        for name in ("pull", "release"):
            values, doubt = defined(getattr(one, name)), SURE * defined(getattr(one, f"{name}_deviation"))
            x, high = pane.px(places, values + doubt)
            _, low = pane.px(places, values - doubt)
            yield band(x, cut(high, pane.box), cut(low, pane.box), colour, f"doubt {name}")
    for one, role, words in zip(known.both, ROLES, known.labels, strict=True):
        colour, places = role_colour(theme, role), one.place * known.turned
        release = curve(*pane.px(places, one.release), colour, release=True)
        pulled = curve(*pane.px(places, one.pull), colour)
        yield element("g", release, pulled, class_=f"trace {role}", data_label=words)
    for one, role in zip(known.both, ROLES, strict=True):
        yield from _pennants(one, role, known.turned, pane, theme)
    yield from _names(known, pane, theme)


def _pennants(one: Branches, role: Role, turned: float, pane: Pane, theme: Theme) -> Iterator[str]:
    """Which way a branch is gone through, and by the shape whose it is."""
    for name, share in zip(("pull", "release"), PENNANTS[role], strict=True):
        points = stations(*pane.px(one.place * turned, getattr(one, name)))
        if len(points) >= LEAST_POINTS:
            row = int(share * (len(points) - 1))
            dx, dy = (points[row + BEFORE_TURN] - points[row - BEFORE_TURN]).tolist()
            turn = math.atan2(dy, dx) + (math.pi if name == "release" else 0.0)
            x, y = points[row].tolist()
            yield pennant(x, y, role, role_colour(theme, role), theme.paper, turn)


def _names(known: Pair, pane: Pane, theme: Theme) -> Iterator[str]:
    """Both pulls by name, off the curves."""
    box = pane.box
    lines = [
        [stations(*pane.px(one.place * known.turned, values)) for values in (one.pull, one.release)]
        for one in known.both
    ]
    names = []
    for own, others, role, words in zip(lines, reversed(lines), ROLES, known.labels, strict=True):
        spots = name_spots(own[0] if len(own[0]) else own[1], others, box)
        said = words if len(own[0]) else f"{words}: no pull to show"
        names.append(name_label(said, role_colour(theme, role), spots, name_room(box), role, 1))
    avoided = np.concatenate([points for own in lines for points in own])
    yield from write(place_labels(names, words_area(box), (), avoided), theme.paper, 4.0)


# Felt steps ---------------------------------------------------------------------------------------------------


def steps_doubt(before: Branches, compared: Compared, name: str) -> FloatArray:
    """How many steps the 95 % interval of a change of force is, counted from the lighter force, (P,)."""
    read = getattr(before, name)
    known = np.isfinite(defined(read))
    change, steps = getattr(compared, f"{name}_change"), getattr(compared, f"{name}_steps")
    doubt = SURE * defined(getattr(compared, f"{name}_deviation"))
    if not np.any(known):
        return np.full(compared.place.shape, np.nan)
    force = np.interp(compared.place, before.place[known], read[known])
    lighter = force + np.minimum(change, 0.0)
    felt = np.isfinite(steps) & np.isfinite(doubt) & (lighter > 0.0)
    lighter, heavier = np.where(felt, lighter, 1.0), np.where(felt, lighter + doubt, 1.0)
    return np.where(felt, felt_steps_force(lighter, heavier), np.nan)


def _steps(known: Pair, pane: Pane, theme: Theme) -> Iterator[str]:
    """The difference over the places, the band that no finger feels, and the greatest difference by name."""
    box, places = pane.box, known.compared.place * known.turned
    unfelt = Box(box.left, at(pane.up, FELT), box.right, at(pane.up, -FELT))
    yield hatch(unfelt, theme.ink_2, HATCH)
    for y in (unfelt.top, unfelt.bottom):
        yield line(box.left, y, box.right, y, theme.ink_2, style.DIMENSION, class_="felt")
    for name in ("pull", "release"):
        steps, doubt = (
            getattr(known.compared, f"{name}_steps"),
            steps_doubt(known.both[0], known.compared, name),
        )
        x, high = pane.px(places, defined(steps) + doubt)
        _, low = pane.px(places, defined(steps) - doubt)
        yield band(x, cut(high, box), cut(low, box), theme.ink, f"doubt {name}")
    for name in ("release", "pull"):
        steps = getattr(known.compared, f"{name}_steps")
        yield curve(*pane.px(places, steps), theme.ink, release=name == "release")
    yield from _felt_words(known, pane, unfelt, theme)


def _greatest(known: Pair, name: str) -> tuple[float, float] | None:
    """Place and steps of the greatest difference on a branch; None where there is none."""
    steps = defined(getattr(known.compared, f"{name}_steps"))
    if not np.any(np.isfinite(steps)):
        return None
    row = int(np.nanargmax(np.abs(steps)))
    return float(known.compared.place[row] * known.turned), float(steps[row])


def _felt_words(known: Pair, pane: Pane, unfelt: Box, theme: Theme) -> Iterator[str]:
    """The greatest difference of each branch by name, and the band where it has room."""
    box = pane.box
    lines = [_steps_px(known, pane, name) for name in ("pull", "release")]
    avoided = np.concatenate([*lines, *_edges(unfelt)])
    names, taken = list[Label](), list[Box]()
    for name, (where, steps) in _peaks(known):
        x, y = at(pane.across, where), at(pane.up, steps)
        words = _peak_words(name, where, steps, known.angular)
        names.append(label(words, theme.ink, np.array([x, y]), name_room(box)))
        taken.append(Box(x - PEAK, y - PEAK, x + PEAK, y + PEAK))
        yield element("circle", cx=x, cy=y, r=PEAK, fill=theme.ink, stroke=theme.paper, stroke_width=1.0,
                      class_="peak")  # fmt: skip
    if not names:
        words = "no difference" if any(map(len, lines)) else "no common force to compare"
        spots = name_spots(np.concatenate(lines), (), box)
        names.append(label(words, theme.ink, spots, name_room(box)))
    banded = _not_felt(unfelt, taken, np.concatenate(lines), theme)
    taken += [one.box for one in banded]
    yield from (_ground(one.box, theme) for one in banded)
    placed = place_labels(names, words_area(box), taken, avoided)
    yield from write([*banded, *placed], theme.paper, PEAK + 2.0)


def _peaks(known: Pair) -> Iterator[tuple[str, tuple[float, float]]]:
    """The greatest difference of each branch, as far as one can read it."""
    for name in ("pull", "release"):
        most = _greatest(known, name)
        if most and abs(most[1]) >= READ:
            yield name, most


def _steps_px(known: Pair, pane: Pane, name: str) -> FloatArray:
    """Points along a curve of felt steps, px."""
    places = known.compared.place * known.turned
    return stations(*pane.px(places, getattr(known.compared, f"{name}_steps")))


def _peak_words(name: str, where: float, steps: float, angular: bool) -> str:
    """The greatest difference of a branch."""
    return f"{name}: {steps:+.1f} at {where:.1f}{'°' if angular else ' mm'}".replace("-", "−")


def _edges(unfelt: Box) -> tuple[FloatArray, ...]:
    """Points along both edges of the band, px: words do not stand across them."""
    x = np.arange(unfelt.left, unfelt.right, 3.0)
    return tuple(np.stack([x, np.full(x.shape, y)], axis=-1) for y in (unfelt.top, unfelt.bottom))


def _not_felt(unfelt: Box, taken: Sequence[Box], curves: FloatArray, theme: Theme) -> tuple[Placed, ...]:
    """The name of the band inside it, where it is high enough."""
    if unfelt.height < IN_BAND:
        return ()
    x = np.linspace(unfelt.left, unfelt.right, 9)
    middle = np.full(x.shape, (unfelt.top + unfelt.bottom) / 2.0)
    name = label(NOT_FELT, theme.ink_2, np.stack([x, middle], axis=-1), unfelt.width)
    inside = Box(unfelt.left + 6.0, unfelt.top + 1.0, unfelt.right - 6.0, unfelt.bottom - 1.0)
    return place_labels([name], inside, taken, curves)


def _ground(box: Box, theme: Theme) -> str:
    """Paper under words, so that hatching does not cross them."""
    return element(
        "rect", x=box.left - 4.0, y=box.top, width=box.width + 8.0, height=box.height, fill=theme.paper
    )
