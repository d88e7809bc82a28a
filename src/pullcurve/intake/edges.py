"""Edges in a picture to a fraction of a pixel: traced at half brightness, then fitted along their normals."""

from dataclasses import dataclass

import numpy as np

from pullcurve.intake.grey import Grey
from pullcurve.mechanics.curve import FloatArray

REACH = 6.0
"""Pixels to both sides of an edge that are looked at."""

SPACING = 0.5
"""Pixels between the places where the brightness across an edge is read."""

ROUNDS = 5
"""Gauss-Newton steps of the fit."""

OUTLIER = 5.0
"""Scatters from its neighbours at which a place on an edge counts as dirt."""

NEIGHBOURS = 15
"""Places that a place is compared with."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A closed edge (P, 2) in pixels, x to the right, y up, about one pixel apart; scatter of one place [pixels]."""

    points: FloatArray
    scatter: float


def traced(grey: Grey, corner: tuple[int, int], level: float) -> list[FloatArray]:
    """Closed lines at one brightness (P, 2), row and column of the whole picture; ``grey`` is cut out at ``corner``."""
    from scipy.ndimage import gaussian_filter
    from skimage.measure import find_contours

    smooth = gaussian_filter(grey.astype(np.float32), 1.0)
    found = find_contours(smooth, level)  # type: ignore[no-untyped-call]
    lines = [line for line in found if len(line) > 16 and (line[0] == line[-1]).all()]
    return [line[:-1] + np.array(corner) for line in lines]


def enclosed(line: FloatArray) -> float:
    """Area inside a closed line."""
    y, x = line.T
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2


def even(line: FloatArray, spacing: float) -> FloatArray:
    """A closed line with its points an even distance apart."""
    closed = np.concatenate([line, line[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, way[-1], max(16, round(way[-1] / spacing)), endpoint=False)
    return np.stack([np.interp(at, way, part) for part in closed.T], axis=-1)


def fitted_edge(grey: Grey, line: FloatArray) -> Edge:
    """The edge along a traced line, from a blurred step fitted to the brightness along every normal."""
    from scipy.ndimage import gaussian_filter1d, map_coordinates, median_filter

    places = even(gaussian_filter1d(even(line, 1.0), 2.0, axis=0, mode="wrap"), 1.0)
    ahead = gaussian_filter1d(places, 3.0, axis=0, order=1, mode="wrap")
    normal = np.stack([ahead[:, 1], -ahead[:, 0]], axis=-1) / np.hypot(*ahead.T)[:, None]
    across = np.arange(-REACH, REACH + SPACING / 2, SPACING)
    at = places[:, None] + normal[:, None] * across[:, None]
    low = np.maximum(np.floor(at.min(axis=(0, 1))).astype(int) - 2, 0)
    high = np.ceil(at.max(axis=(0, 1))).astype(int) + 3
    cut = grey[low[0] : high[0], low[1] : high[1]].astype(np.float32)
    values = map_coordinates(cut, np.moveaxis(at - low, -1, 0), order=1, mode="nearest").astype(np.float64)
    offset = _steps(values, across)
    usual = median_filter(offset, NEIGHBOURS, mode="wrap")
    scatter = 1.4826 * float(np.median(np.abs(offset - usual)))
    kept = np.where(np.abs(offset - usual) <= OUTLIER * scatter + 0.02, offset, usual)
    row, column = (places + normal * kept[:, None]).T
    return Edge(np.stack([column, -row], axis=-1), scatter)


def _steps(values: FloatArray, across: FloatArray) -> FloatArray:
    """Where along every normal (P, M) a blurred step stands [pixels]; the blur is one for the whole edge.

    low + (high - low) Phi((x - x0) / w): Gauss-Newton on low, high and x0 of every place, and on w of all.
    """
    from scipy.special import ndtr

    low, high = values[:, :4].mean(axis=-1), values[:, -4:].mean(axis=-1)
    place, width = np.zeros(len(values)), 1.0
    for _ in range(ROUNDS):
        scaled = (across - place[:, None]) / width
        rise, bell = ndtr(scaled), np.exp(-(scaled**2) / 2) / np.sqrt(2 * np.pi) / width
        step = (high - low)[:, None]
        left = values - low[:, None] - step * rise
        design = np.stack([1 - rise, rise, -step * bell], axis=-1)
        moved = np.linalg.solve(
            np.swapaxes(design, 1, 2) @ design + 1e-9 * np.eye(3), np.swapaxes(design, 1, 2) @ left[..., None]
        )[..., 0]
        widening = -step * bell * scaled
        low, high = low + moved[:, 0], high + moved[:, 1]
        place = np.clip(place + np.clip(moved[:, 2], -1.0, 1.0), -REACH / 2, REACH / 2)
        grown = np.sum(widening * (left - np.sum(design * moved[:, None], axis=-1))) / np.sum(widening**2)
        width = float(np.clip(width + grown, 0.4, REACH / 2))
    return place


def smoothed(edge: FloatArray, window: int) -> FloatArray:
    """A closed edge smoothed by local cubics over so many places."""
    from scipy.signal import savgol_filter

    return np.asarray(savgol_filter(edge, window, 3, axis=0, mode="wrap"))
