"""Many sets at once: two read-outs against each other, with what no set beats, fitted and proposed."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.key import DOT, Entry
from pullcurve.papers.labels import Label, Placed, name_label, write
from pullcurve.papers.places import place_labels
from pullcurve.papers.plot import (
    Box,
    Scale,
    across_axis,
    axis_title,
    dots,
    element,
    grid,
    pennant,
    place,
    plus,
    span,
    up_axis,
    up_axis_width,
)
from pullcurve.papers.style import Role, Theme, role_colour
from pullcurve.papers.traces import defined

BoolArray = NDArray[np.bool_]
MARGIN = 0.06
LABEL_ROOM = 210.0
BETTER = {"less": "← less is better", "more": "more is better →", "": ""}
BETTER_UP = {"less": "↓ less is better", "more": "↑ more is better", "": ""}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One read-out of every set (N,), and which way is better, where one is."""

    label: str
    unit: str
    values: FloatArray
    decimals: int = 1
    better: Literal["less", "more", ""] = ""


@dataclass(frozen=True, slots=True)
class Cloud:
    """Two read-outs of N sets; `undominated` (N,) marks the sets that no other set beats."""

    across: Quantity
    up: Quantity
    undominated: BoolArray
    fitted: int | None = None
    proposed: int | None = None


def check_cloud(cloud: Cloud) -> None:
    """Refuse arrays that do not belong together and numbers of sets that do not exist."""
    shape = cloud.across.values.shape
    if len(shape) != 1 or cloud.up.values.shape != shape or cloud.undominated.shape != shape:
        raise ValueError(
            f"{cloud.across.label} and {cloud.up.label} must be (N,), all alike, with `undominated`"
        )
    for role, index in (("fitted", cloud.fitted), ("proposed", cloud.proposed)):
        if index is not None and not 0 <= index < shape[0]:
            raise ValueError(f"{role}: set {index} is not among the {shape[0]} sets")


def cloud_key(cloud: Cloud) -> tuple[Entry, ...]:
    """What dots and crosses are, with how many there are."""
    drawn = _drawn(cloud)
    sets = Entry("dot", f"{np.count_nonzero(drawn)} sets")
    best = Entry("plus", f"undominated: {np.count_nonzero(drawn & cloud.undominated)}")
    return sets, best


def _drawn(cloud: Cloud) -> BoolArray:
    """The sets that have both read-outs."""
    return np.isfinite(defined(cloud.across.values)) & np.isfinite(defined(cloud.up.values))


def _padded(values: FloatArray, start: float, end: float) -> Scale:
    """A scale with some room at both ends."""
    low, high = span([values], with_zero=False)
    room = MARGIN * (high - low)
    return Scale(low - room, high + room, start, end)


def _points(cloud: Cloud, across: Scale, up: Scale) -> FloatArray:
    """All sets in px, (N, 2)."""
    return np.stack(
        [place(across, defined(cloud.across.values)), place(up, defined(cloud.up.values))], axis=-1
    )


def draw_cloud(cloud: Cloud, box: Box, theme: Theme) -> str:
    """The cloud with its axes, from the back to the front."""
    drawn = _drawn(cloud)
    bare = Box(box.left, box.top + 28.0, box.right, box.bottom - 44.0)
    up = _padded(np.where(drawn, cloud.up.values, np.nan), bare.bottom, bare.top)
    main = Box(box.left + up_axis_width(up), bare.top, bare.right, bare.bottom)
    across = _padded(np.where(drawn, cloud.across.values, np.nan), main.left, main.right)
    points = _points(cloud, across, up)
    parts = [*_axes(cloud, box, main, (across, up), theme)]
    parts.append(dots(points[:, 0], points[:, 1], theme.ink_2, DOT))
    parts += [plus(x, y, theme.ink) for x, y in points[drawn & cloud.undominated].tolist()]
    for role, index in _chosen(cloud):
        x, y = points[index].tolist()
        parts.append(pennant(x, y, role, role_colour(theme, role), theme.paper, size=8.0, rim=3.0))
    parts += write(_words(cloud, points, main, theme), theme.paper, 11.0)
    return element("g", *parts, class_="panel")


def _words(cloud: Cloud, points: FloatArray, main: Box, theme: Theme) -> tuple[Placed, ...]:
    """Fitted and proposed with their read-outs; rather on grey dots than on crosses."""
    drawn = _drawn(cloud)
    labels = [_label(cloud, role, index, points, theme) for role, index in _chosen(cloud)]
    taken = [
        Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0)
        for x, y in (points[index].tolist() for _, index in _chosen(cloud))
    ]
    crosses = points[drawn & cloud.undominated].repeat(3, axis=0)
    every = points[drawn][:: max(1, np.count_nonzero(drawn) // 1500)]
    area = Box(main.left + 8.0, main.top + 2.0, main.right - 4.0, main.bottom - 6.0)
    return place_labels(labels, area, taken, np.concatenate([crosses, every]))


def _chosen(cloud: Cloud) -> Iterator[tuple[Role, int]]:
    """What is fitted and what is proposed, as far as it has both read-outs."""
    drawn = _drawn(cloud)
    if cloud.fitted is not None and drawn[cloud.fitted]:
        yield "fitted", cloud.fitted
    if cloud.proposed is not None and drawn[cloud.proposed]:
        yield "proposed", cloud.proposed


def _reading(quantity: Quantity, index: int) -> str:
    """One read-out of one set in words."""
    value = f"{quantity.values[index] + 0.0:.{quantity.decimals}f}".replace("-", "−")
    return f"{value} {quantity.unit}".strip()


def _label(cloud: Cloud, role: Role, index: int, points: FloatArray, theme: Theme) -> Label:
    """Role and both read-outs."""
    words = f"{role}: {_reading(cloud.across, index)}, {_reading(cloud.up, index)}"
    return name_label(words, role_colour(theme, role), points[index], LABEL_ROOM, role, 1)


def _axes(cloud: Cloud, box: Box, main: Box, scales: tuple[Scale, Scale], theme: Theme) -> Iterator[str]:
    """Axes with titles, units and the better direction."""
    across, up = scales
    yield grid(main, across, up, theme)
    yield from up_axis(main.left, up, theme)
    yield from across_axis(main.bottom, across, theme)
    yield axis_title(
        box.left, main.top - 10.0, cloud.up.label, cloud.up.unit, theme, BETTER_UP[cloud.up.better]
    )
    better = BETTER[cloud.across.better]
    yield axis_title(
        main.right, main.bottom + 38.0, cloud.across.label, cloud.across.unit, theme, better, anchor="end"
    )
