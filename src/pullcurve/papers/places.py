"""Where words go in a plot: near what they name, off the curves, and never on each other."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.labels import LEADER_FROM, Label, Placed
from pullcurve.papers.plot import Box

PAD = 3.0
"""Least distance between two labels, and between a label and a curve, px."""

CELL, TINY = 2.0, 1e-9
RADII = (9.0, 16.0, 26.0, 38.0, 54.0, 74.0, 98.0, 126.0, 160.0)
DIRECTIONS = 24
FAR, FAR_AWAY = 50.0, 1.5
"""Beyond this many px a leader gets tiresome to follow, and costs more."""

GOOD_ENOUGH = 20.0
FROM_MARK, FROM_CURVE = 14.0, 6.0
"""A leader leaves its marker here; a name should have no other curve between itself and its own."""

FIRST = 160
"""So many of the cheapest places are tried before all others are."""

ON_CURVE, LEADER_ON_CURVE, LEADER_ON_MARK = 12.0, 10.0, 60.0
LEADER_ON_LABEL, LEADER_ON_LEADER, FORBIDDEN = 400.0, 120.0, 1e6


@dataclass(frozen=True, slots=True)
class Plan:
    """What is fixed in a plot: the area for words, boxes (M, 4) to keep off, a summed table of the curves.

    `crowd[i, j]` counts the curve points in the cells above and left of cell (i, j).
    """

    area: Box
    taken: FloatArray
    crowd: FloatArray


@dataclass(frozen=True, slots=True)
class Choices:
    """Places for one label, cheapest first: box (K, 4), anchor and leader's end (K, 2), gap and cost (K,)."""

    boxes: FloatArray
    anchors: FloatArray
    near: FloatArray
    gap: FloatArray
    cost: FloatArray


def place_labels(
    labels: Sequence[Label], area: Box, taken: Sequence[Box], curves: FloatArray
) -> tuple[Placed, ...]:
    """Give every label a place; one that has none left without overlap is left out.

    `taken` are boxes to keep off, `curves` (P, 2) points to avoid. What is tied to one point goes first, what
    may slide along a curve takes what is left. Several orders are tried, because the first label does not
    know of the last, and the best result is kept.
    """
    boxes = np.array([_corners(box) for box in taken]).reshape(-1, 4)
    plan = Plan(area, boxes, _summed(curves, area))
    choices = [_choices(one, plan) for one in labels]
    best: Found = {}
    for order in _orders(labels, choices):
        found = _in_order(choices, order)
        if not best or _merit(found) < _merit(best):
            best = found
        if len(best) == len(labels) and _merit(best)[1] <= GOOD_ENOUGH * len(labels):
            break
    return tuple(_placed(labels[index], choices[index], best[index][0]) for index in sorted(best))


Found = dict[int, tuple[int, float]]
"""For each label the place that it was given, and what it costs there."""


def _merit(found: Found) -> tuple[int, float]:
    """The smaller the better: first as many labels as possible, then as cheap as possible."""
    return -len(found), sum(cost for _, cost in found.values())


def _orders(labels: Sequence[Label], choices: Sequence[Choices]) -> Iterator[tuple[int, ...]]:
    """Orders to try: as given, across, down, the hard ones first; each label comes up more than once.

    Words about a line, such as a limit, go first: far from their line they are hard to understand.
    """
    tied = [index for index, one in enumerate(labels) if len(one.anchors) == 1]
    lines = tuple(index for index, one in enumerate(labels) if len(one.anchors) > 1 and not one.role)
    loose = tuple(index for index, one in enumerate(labels) if len(one.anchors) > 1 and one.role)
    across = sorted(tied, key=lambda index: float(labels[index].anchors[0, 0]))
    down = sorted(tied, key=lambda index: float(labels[index].anchors[0, 1]))
    hard = sorted(tied, key=lambda index: float(choices[index].cost[:30].sum()), reverse=True)
    for order in (tied, across, across[::-1], down, down[::-1], hard):
        yield (*lines, *order, *order, *order, *loose, *loose)
    for order in (tied, down[::-1]):
        yield (*lines, *loose, *order, *loose, *order, *loose)


def _in_order(choices: Sequence[Choices], order: Sequence[int]) -> Found:
    """Place labels one after the other, each as well as the others allow."""
    found: Found = {}
    for index in order:
        others = [(choices[key], place) for key, (place, _) in found.items() if key != index]
        boxes = np.array([known.boxes[place] for known, place in others]).reshape(-1, 4)
        ends = [np.stack([known.anchors[place], known.near[place]]) for known, place in others]
        leaders = np.array(
            [end for end, (known, place) in zip(ends, others, strict=True) if known.gap[place] > LEADER_FROM]
        ).reshape(-1, 2, 2)
        best = _best(choices[index], boxes, leaders)
        if best:
            found[index] = best
    return found


def _best(choices: Choices, boxes: FloatArray, leaders: FloatArray) -> tuple[int, float] | None:
    """The cheapest place among the others' boxes (M, 4) and leaders (L, 2, 2).

    The others only add to what a place costs, so a place among the first ones that costs no more than the
    next one does by itself need not be compared with the rest.
    """
    count = len(choices.cost)
    for some in (min(FIRST, count), count):
        cost = _cost(choices, slice(0, some), boxes, leaders)
        best = int(np.argmin(cost)) if some else 0
        if some == count or cost[best] <= choices.cost[some]:
            return (best, float(cost[best])) if some and cost[best] < FORBIDDEN else None
    return None


def _cost(choices: Choices, part: slice, boxes: FloatArray, leaders: FloatArray) -> FloatArray:
    """What places cost among the others: no overlap, and leaders that cross neither words nor each other."""
    own, start, end = choices.boxes[part], choices.anchors[part], choices.near[part]
    tied = choices.gap[part] > LEADER_FROM
    cost = choices.cost[part] + FORBIDDEN * _overlaps(own, boxes, 2.0 * PAD)
    cost += LEADER_ON_LABEL * tied * _hits(start, end, boxes)
    cost += LEADER_ON_LABEL * _hits(leaders[:, 0], leaders[:, 1], own, of_box=True)
    return np.asarray(cost + LEADER_ON_LEADER * tied * _crossings(start, end, leaders))


def _placed(label: Label, choices: Choices, place: int) -> Placed:
    """A label at one of its places."""
    left, top, right, bottom = choices.boxes[place].tolist()
    x, y = choices.anchors[place].tolist()
    return Placed(label, Box(left, top, right, bottom), (x, y))


# Places -----------------------------------------------------------------------------------------------------


def _choices(label: Label, plan: Plan) -> Choices:
    """All places that the fixed things allow, with what they cost on account of these, cheapest first."""
    area = np.array(_corners(plan.area))
    boxes, anchors = (
        np.concatenate(pair) for pair in zip(_rings(label), _everywhere(label, plan.area), strict=True)
    )
    inside = np.all((boxes[:, :2] >= area[:2]) & (boxes[:, 2:] <= area[2:]), axis=-1)
    free = inside & ~_overlaps(boxes, plan.taken, PAD)
    boxes, anchors = boxes[free], anchors[free]
    near = np.clip(anchors, boxes[:, :2], boxes[:, 2:])
    gap = np.hypot(*(near - anchors).T)
    cost = (
        gap
        + FAR_AWAY * np.maximum(gap - FAR, 0.0)
        + ON_CURVE * _count(plan, boxes + np.array([-PAD, -PAD, PAD, PAD]))
    )
    steps = np.linspace(0.0, 1.0, 12)[:, None]
    tied = gap > LEADER_FROM
    begin = np.where(tied, FROM_MARK, FROM_CURVE) / np.maximum(gap, TINY)
    begin = np.minimum(begin, 1.0)[:, None, None]
    path = anchors[:, None, :] + (begin + steps * (1.0 - begin)) * (near - anchors)[:, None, :]
    on_curve = np.sum(_count(plan, np.concatenate([path - 2.0, path + 2.0], axis=-1)) > 0.0, axis=-1)
    cost = cost + LEADER_ON_CURVE * np.where(tied | (label.role is not None), on_curve, 0.0)
    cost = cost + LEADER_ON_MARK * tied * _hits(path[:, 0], near, plan.taken)
    order = np.argsort(cost, kind="stable")
    return Choices(boxes[order], anchors[order], near[order], gap[order], cost[order])


def _corners(box: Box) -> tuple[float, float, float, float]:
    """A box as numbers."""
    return box.left, box.top, box.right, box.bottom


def _rings(wanted: Label) -> tuple[FloatArray, FloatArray]:
    """Boxes (K, 4) in rings around every anchor, and the anchor (K, 2) of each."""
    width, height = wanted.size
    turn = 2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS
    c, s = np.cos(turn), np.sin(turn)
    radius = np.asarray(RADII)[:, None]
    x = c * radius + np.clip(1.5 * c, -1.0, 1.0) * width / 2.0
    y = s * radius + np.clip(1.5 * s, -1.0, 1.0) * height / 2.0
    centres = np.stack([x, y], axis=-1).reshape(1, -1, 2) + wanted.anchors[:, None, :]
    anchors = np.broadcast_to(wanted.anchors[:, None, :], centres.shape).reshape(-1, 2)
    return _around(centres.reshape(-1, 2), width, height), anchors


def _everywhere(wanted: Label, area: Box) -> tuple[FloatArray, FloatArray]:
    """Boxes (K, 4) on a grid over the whole area, each with the anchor nearest to it."""
    width, height = wanted.size
    x = np.arange(area.left + width / 2.0, area.right - width / 2.0 + 1e-6, 16.0)
    y = np.arange(area.top + height / 2.0, area.bottom - height / 2.0 + 1e-6, 8.0)
    centres = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    distance = np.hypot(*np.moveaxis(centres[:, None, :] - wanted.anchors[None], -1, 0))
    return _around(centres, width, height), wanted.anchors[np.argmin(distance, axis=-1)]


def _around(centres: FloatArray, width: float, height: float) -> FloatArray:
    """Boxes (K, 4) about their centres (K, 2)."""
    half = np.array([width, height]) / 2.0
    return np.concatenate([centres - half, centres + half], axis=-1)


# Geometry ---------------------------------------------------------------------------------------------------


def _summed(curves: FloatArray, area: Box) -> FloatArray:
    """How many points (P, 2) lie above and left of each cell corner of the area."""
    columns, rows = (max(1, math.ceil(extent / CELL)) for extent in (area.width, area.height))
    edges = (area.left + CELL * np.arange(columns + 1), area.top + CELL * np.arange(rows + 1))
    counted, _, _ = np.histogram2d(curves[:, 0], curves[:, 1], bins=edges)
    return np.pad(counted.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _count(plan: Plan, boxes: FloatArray) -> FloatArray:
    """How many curve points lie in each box (..., 4), to the nearest cell: (...)."""
    corner = np.array([plan.area.left, plan.area.top, plan.area.left, plan.area.top])
    last = np.array([*plan.crowd.shape, *plan.crowd.shape]) - 1
    x1, y1, x2, y2 = np.moveaxis(np.clip(np.rint((boxes - corner) / CELL).astype(np.intp), 0, last), -1, 0)
    table = plan.crowd
    return np.asarray(table[x2, y2] - table[x1, y2] - table[x2, y1] + table[x1, y1])


def _overlaps(boxes: FloatArray, others: FloatArray, pad: float) -> NDArray[np.bool_]:
    """Whether each box (K, 4) comes nearer than the pad to any other (M, 4): (K,)."""
    own = boxes[:, None]
    near = (own[..., :2] - pad < others[:, 2:]) & (own[..., 2:] + pad > others[:, :2])
    return np.asarray(np.any(near[..., 0] & near[..., 1], axis=-1))


def _hits(start: FloatArray, end: FloatArray, boxes: FloatArray, of_box: bool = False) -> FloatArray:
    """How many boxes (M, 4) each line (K, 2) runs through: (K,); or how many lines each box meets: (M,)."""
    along = end - start
    along = np.where(np.abs(along) < TINY, TINY, along)[:, None]
    first = (boxes[:, :2] - 1.0 - start[:, None]) / along
    last = (boxes[:, 2:] + 1.0 - start[:, None]) / along
    early, late = np.minimum(first, last), np.maximum(first, last)
    entry = np.maximum(np.maximum(early[..., 0], early[..., 1]), 0.0)
    leave = np.minimum(np.minimum(late[..., 0], late[..., 1]), 1.0)
    return np.asarray(np.sum(entry <= leave, axis=0 if of_box else 1), dtype=np.float64)


def _crossings(start: FloatArray, end: FloatArray, leaders: FloatArray) -> FloatArray:
    """How many of the leaders (L, 2, 2) each line from start to end (K, 2) crosses: (K,)."""
    a, b = start[:, None], end[:, None]
    c, d = leaders[None, :, 0], leaders[None, :, 1]
    crossed = (_side(a, b, c) * _side(a, b, d) < 0.0) & (_side(c, d, a) * _side(c, d, b) < 0.0)
    return np.asarray(np.sum(crossed, axis=-1), dtype=np.float64)


def _side(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    """On which side of the line from a to b a point c lies, by sign."""
    u, v = b - a, c - a
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])
