"""Plates in a picture: which dark (or bright) patch is the cam, which the scale bar, where the bore is."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pullcurve.intake.edges import enclosed, traced
from pullcurve.intake.files import refused
from pullcurve.intake.grey import Grey
from pullcurve.mechanics.curve import FloatArray

OVERVIEW = 1600
"""Pixels of the longer side of the reduced picture in which plates are looked for."""

CONTRAST = 30
"""Grey steps between plate and ground, at least."""

SMALLEST_SHARE = 0.004
"""Share of the picture's area that a cam fills, at least; a scale bar a tenth of it."""

SLIMNESS = 3.0
"""How many times as long as wide a scale bar is, at least."""

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Found:
    """Lines at half brightness in a picture, row and column (P, 2): cam, its holes, the scale bars beside it."""

    cam: FloatArray
    holes: list[FloatArray]
    bars: list[FloatArray]


@dataclass(frozen=True, slots=True)
class _Patch:
    """One patch of the reduced picture."""

    box: tuple[int, int, int, int]
    filled: float
    holed: bool
    cut: bool
    slim: bool


def plates(grey: Grey, file: Path) -> Found:
    """Cam, holes and scale bars of a picture, or one line that says what is missing."""
    factor = max(1, -(-max(grey.shape) // OVERVIEW))
    rows, columns = (side // factor for side in grey.shape)
    small = _reduced(grey, factor)
    level, mask = _told_apart(small, file)
    patches = _patches(mask)
    cam = _cam(patches, rows * columns, file)
    lines = _lines(grey, cam, factor, level)
    if not lines:
        raise refused(file, "shows no closed edge round the cam; scan it flat, on plain ground")
    least = SMALLEST_SHARE / 10 * rows * columns
    bars = [one for one in patches if one is not cam and one.slim and not one.cut and one.filled >= least]
    outer = [_lines(grey, one, factor, level)[:1] for one in bars]
    return Found(lines[0], lines[1:], [line for some in outer for line in some])


def _reduced(grey: Grey, factor: int) -> FloatArray:
    """Means of square blocks of pixels."""
    rows, columns = (side // factor for side in grey.shape)
    cut = grey[: rows * factor, : columns * factor]
    blocks = np.add.reduce(cut.reshape(rows, factor, columns * factor), axis=1, dtype=np.uint32)
    return np.asarray(blocks.reshape(rows, columns, factor).sum(axis=-1) / factor**2)


def _told_apart(small: FloatArray, file: Path) -> tuple[float, Mask]:
    """Brightness halfway between plate and ground, and where the plates are: what the picture's border is not."""
    from skimage.filters import threshold_otsu

    flat = np.ptp(small) < CONTRAST
    level = 0.0 if flat else float(threshold_otsu(small))  # type: ignore[no-untyped-call]
    dark = small <= level
    if flat or small[~dark].mean() - small[dark].mean() < CONTRAST:
        raise refused(
            file, "shows nothing that stands out from its ground; lay the cam on plain white or black"
        )
    level = float(np.median(small[dark]) + np.median(small[~dark])) / 2
    dark = small <= level
    border = np.concatenate([dark[0], dark[-1], dark[:, 0], dark[:, -1]])
    return level, ~dark if border.mean() > 0.5 else dark


def _patches(mask: Mask) -> list[_Patch]:
    """Connected patches, the largest first."""
    from skimage.measure import label, regionprops

    rows, columns = mask.shape
    found = []
    for region in regionprops(label(mask, connectivity=1)):  # type: ignore[no-untyped-call]
        top, left, bottom, right = region.bbox
        if min(bottom - top, right - left) < 4:
            continue
        cut = top == 0 or left == 0 or bottom == rows or right == columns
        filled = float(region.area_filled)
        slim = region.axis_major_length > SLIMNESS * region.axis_minor_length and region.solidity > 0.9
        holed = filled - region.area > 0.01 * filled
        found.append(_Patch((top, left, bottom, right), filled, holed, cut, bool(slim)))
    return sorted(found, key=lambda patch: -patch.filled)


def _cam(patches: list[_Patch], area: int, file: Path) -> _Patch:
    """The largest patch with a hole."""
    large = [patch for patch in patches if patch.filled >= SMALLEST_SHARE * area]
    whole = [patch for patch in large if patch.holed and not patch.cut]
    cut = [patch for patch in large if patch.cut and not patch.slim]
    if cut and (not whole or cut[0].filled > whole[0].filled):
        raise refused(file, "shows a cam that is cut off at the edge of the picture")
    if not large:
        raise refused(file, "shows nothing large enough to be a cam; cut the picture closer to it")
    if not whole:
        raise refused(file, "shows no plate with a bore")
    return whole[0]


def _lines(grey: Grey, patch: _Patch, factor: int, level: float) -> list[FloatArray]:
    """Closed lines at half brightness in and round a patch, the one with the largest area first."""
    margin = 3 * factor + 8
    top, left, bottom, right = (side * factor for side in patch.box)
    rows, columns = slice(max(top - margin, 0), bottom + margin), slice(max(left - margin, 0), right + margin)
    lines = traced(grey[rows, columns], (rows.start, columns.start), level)
    return sorted(lines, key=enclosed, reverse=True)
