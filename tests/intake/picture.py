"""A synthetic flatbed scanner: outlines become grey pictures, with everything that a scanner does to them.

The coverage of every pixel is the exact area of the outline in it (signed areas summed along the rows, as
fonts are drawn), so that nothing here shares a model with what reads the picture.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

FloatArray = NDArray[np.float64]
INCH_MM = 25.4


@dataclass(frozen=True)
class Scanner:
    """How a plate is laid on the glass and what the scanner makes of it; lengths in mm or pixels, as named."""

    dpi: float = 1200.0
    turn: float = 0.3
    stretch: float = 0.0  # x against y, as a share
    skew: float = 0.0  # shear of y into x [rad]
    blur_pixels: float = 0.8
    noise: float = 0.0  # share of the contrast
    dark: float = 45.0
    light: float = 225.0
    shading: float = 0.0  # share of the light that is lost from one side of the picture to the other
    margin_mm: float = 4.0
    seed: int = 1

    def pixels(self, points: FloatArray) -> FloatArray:
        """Points in mm, y up, as pixels, y down, before the origin is moved."""
        cos, sin = np.cos(self.turn), np.sin(self.turn)
        laid = points @ np.array([[cos, sin], [-sin, cos]])
        seen = np.stack([laid[:, 0] * (1 + self.stretch) + self.skew * laid[:, 1], laid[:, 1]], axis=-1)
        return np.asarray(seen * np.array([1.0, -1.0]) * self.dpi / INCH_MM)


def coverage(outline: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """Share of every pixel that a closed outline covers (rows, columns); pixel (i, j) spans j..j+1 and i..i+1."""
    after = np.roll(outline, -1, axis=0)
    parts = np.maximum(np.ceil(np.hypot(*(after - outline).T) * 20), 1).astype(int)
    start = np.repeat(np.cumsum(parts) - parts, parts)
    share = (np.arange(parts.sum()) - start) / np.repeat(parts, parts)
    step = np.repeat((after - outline) / parts[:, None], parts, axis=0)
    first = np.repeat(outline, parts, axis=0) + np.repeat(after - outline, parts, axis=0) * share[:, None]
    area = np.zeros((shape[0], shape[1] + 1))
    column = np.floor(first[:, 0] + step[:, 0] / 2).astype(int)
    left = np.where(column < 0, 1.0, 1.0 - (first[:, 0] + step[:, 0] / 2 - column))
    column = np.clip(column, 0, None)
    ends = np.stack([first[:, 1], first[:, 1] + step[:, 1]])
    line = np.floor(ends.max(axis=0))  # a piece that crosses into the next row belongs to both
    for row, part in ((line - 1, np.clip(ends, None, line)), (line, np.clip(ends, line, None))):
        inside = (row >= 0) & (row < shape[0]) & (column < shape[1])
        place, height = row[inside].astype(int), (part[1] - part[0])[inside]
        np.add.at(area, (place, column[inside]), height * left[inside])
        np.add.at(area, (place, column[inside] + 1), height * (1 - left[inside]))
    return np.abs(np.cumsum(area, axis=1)[:, :-1])


def scanned(
    outline: FloatArray,
    bore: FloatArray,
    scanner: Scanner,
    *others: FloatArray,
    holes: tuple[FloatArray, ...] = (),
) -> NDArray[np.uint8]:
    """Picture of a dark plate with a bore on light ground, and of other dark plates beside it; all in mm."""
    plates = [scanner.pixels(one) for one in (outline, *others)]
    gone = [scanner.pixels(one) for one in (bore, *holes)]
    margin = scanner.margin_mm * scanner.dpi / INCH_MM
    low = np.min([one.min(axis=0) for one in plates], axis=0) - margin
    high = np.max([one.max(axis=0) for one in plates], axis=0) + margin
    columns, rows = (int(side) for side in np.ceil(high - low))
    dark = np.sum([coverage(one - low, (rows, columns)) for one in plates], axis=0)
    dark -= np.sum([coverage(one - low, (rows, columns)) for one in gone], axis=0)
    return developed(dark, scanner)


def developed(dark: FloatArray, scanner: Scanner) -> NDArray[np.uint8]:
    """Grey picture of a share of darkness per pixel: blur, uneven light, noise, whole steps of grey."""
    grey = scanner.light + (scanner.dark - scanner.light) * gaussian_filter(dark, scanner.blur_pixels)
    grey *= 1 - scanner.shading * np.linspace(0, 1, grey.shape[1])
    random = np.random.default_rng(scanner.seed)
    grey += random.normal(0.0, scanner.noise * abs(scanner.light - scanner.dark), grey.shape)
    return np.clip(np.rint(grey), 0, 255).astype(np.uint8)


def circle(radius: float, x: float = 0.0, y: float = 0.0, points: int = 720) -> FloatArray:
    """A circle in mm (points, 2)."""
    angle = 2 * np.pi * np.arange(points) / points
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=-1)


def bar(length: float, width: float, x: float, y: float) -> FloatArray:
    """A scale bar in mm, its lower left corner at x, y (4, 2)."""
    return np.array([[x, y], [x + length, y], [x + length, y + width], [x, y + width]])


def saved(picture: NDArray[np.uint8], path: Path) -> Path:
    """The picture as a file."""
    Image.fromarray(picture).save(path, compress_level=1)
    return path
