"""Outline of a cam from a flatbed scan or a square-on picture of it beside a scale."""

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pullcurve.intake.edges import enclosed, fitted_edge, smoothed
from pullcurve.intake.files import refused
from pullcurve.intake.grey import Grey, grey_picture, stated_dpi
from pullcurve.intake.outline import MM, MOST, Outline, checked
from pullcurve.intake.plates import Found, plates
from pullcurve.mechanics.curve import FloatArray

INCH_MM = 25.4

DPI = (50.0, 10_000.0)
BAR_MM = (5.0, 500.0)
BORE_MM = (4.0, 60.0)
"""What may be stated."""

OVAL = 0.04
"""How much longer than wide the bore may look: more is a picture taken at a slant."""

ROUNDNESS = 0.01
"""Scatter of the bore's radius as a share above which a hole is not the bore."""

AGREEMENT = 0.01
"""Share by which the bore may differ from what the stated scale makes of it."""

WINDOW_MM = 0.8
"""Length of the local cubics that smooth the edge."""

EDGE_PIXELS = 0.05
"""Standard deviation of an edge that is off by the same everywhere, as a share of a pixel: blur, brightness, glare."""

WOBBLE_PIXELS = 0.015
"""Scatter that the grid of the pixels leaves on a smoothed edge, seen on synthetic scans (computed)."""

SHARED = 1.45
"""How much more scatter is left than if places a pixel apart had nothing in common, on synthetic scans (computed)."""

BORE_SHARE = 5e-4
"""Standard deviation of a bore of 13 mm H7 against its middle size, as a share."""

BAR_ENDS_MM = 0.02
"""Standard deviation of a scale bar's stated length."""


@dataclass(frozen=True, slots=True)
class Bore:
    """A bore as it looks: centre (2,) [pixels], what makes it a unit circle (2, 2) [1/pixel], scatter as a share."""

    centre: FloatArray
    unit: FloatArray
    scatter: float

    @property
    def radius(self) -> float:
        """Mean radius [pixels]."""
        return float(1 / np.sqrt(np.linalg.det(self.unit)))

    @property
    def oval(self) -> float:
        """Longer over shorter axis, less one."""
        axes = np.linalg.eigvalsh(self.unit)
        return float(axes[-1] / axes[0]) - 1


def outline_from_scan(
    path: Path | str, dpi: float | None = None, scale_mm: float | None = None, bore_mm: float = 13.0
) -> Outline:
    """Outline of the cam in a picture, from its resolution or the length of a plain scale bar beside it.

    The bore is the gauge for skew and for unequal scales, since it is round; its centre is the axis. Its diameter
    also sets the size where only the resolution is known, stated or by the file itself, which it must agree with; a
    scale bar overrules it.
    """
    file = Path(path)
    _allowed(file, dpi, scale_mm, bore_mm)
    grey = grey_picture(file)
    resolution = _resolution(file, dpi) if scale_mm is None else math.nan
    found = plates(grey, file)
    bore = _bore(grey, found, file)
    radius_mm = _gauged(grey, found, bore, file, (resolution, scale_mm, bore_mm))
    edge = fitted_edge(grey, found.cam)
    unit_mm = radius_mm * bore.unit
    pixel_mm = radius_mm / bore.radius
    window = max(7, 2 * round(WINDOW_MM / pixel_mm / 2) + 1)
    line = smoothed(edge.points, window)
    step = max(1, round(0.06 / pixel_mm), math.ceil(len(line) / MOST))
    points = checked((line[::step] - bore.centre) @ unit_mm.T * MM, file)
    # What local cubics leave of the scatter of places that share pixels with their neighbours.
    scatter = math.hypot(edge.scatter * SHARED * math.sqrt(9 / 4 / window), WOBBLE_PIXELS)
    pixel = pixel_mm * MM
    size = BORE_SHARE if scale_mm is None else BAR_ENDS_MM / scale_mm
    return Outline(
        points,
        radius_mm * MM,
        bore.centre * pixel,
        math.hypot(scatter, EDGE_PIXELS) * pixel,
        file.name,
        scatter * pixel,
        WINDOW_MM / 4 * MM,
        size,
    )


def _allowed(file: Path, dpi: float | None, scale_mm: float | None, bore_mm: float) -> None:
    """Refuse a scale that cannot be."""
    for name, value, (least, most) in (
        ("dpi", dpi, DPI),
        ("scale_mm", scale_mm, BAR_MM),
        ("bore_mm", bore_mm, BORE_MM),
    ):
        if value is not None and not least <= value <= most:
            raise refused(file, f"is stated with {name} {value:g}; allowed is {least:g} to {most:g}")


def _resolution(file: Path, dpi: float | None) -> float:
    """Resolution as stated, else as the file states it, or one line that asks for a scale."""
    known = dpi if dpi is not None else stated_dpi(file)
    if known is None or not DPI[0] <= known <= DPI[1]:
        said = "has no scale: state its resolution in dpi, or the length in mm of a dark bar beside the cam"
        raise refused(file, said)
    return known


def _bore(grey: Grey, found: Found, file: Path) -> Bore:
    """The largest round hole of the cam."""
    for line in found.holes:
        if enclosed(line) < 0.002 * enclosed(found.cam):
            break
        bore = ellipse(fitted_edge(grey, line).points)
        if bore is not None and bore.scatter <= ROUNDNESS:
            if bore.oval > OVAL:
                said = f"shows a bore that is {100 * bore.oval:.0f} % longer than wide; take the picture square on"
                raise refused(file, said)
            return bore
    raise refused(file, "shows no round bore in the cam; the bore's edge must be seen all round")


def ellipse(points: FloatArray) -> Bore | None:
    """Ellipse by least squares through points (P, 2), dirt and keyways left out; None where they lie on none."""
    middle, size = points.mean(axis=0), float(points.std())
    x, y = ((points - middle) / size).T
    design = np.stack([x**2, x * y, y**2, x, y], axis=-1)
    kept = np.ones(len(points), dtype=bool)
    for _ in range(4):
        a, b, c, d, e = np.linalg.lstsq(design[kept], np.ones(kept.sum()), rcond=None)[0]
        form = np.array([[a, b / 2], [b / 2, c]])
        if np.linalg.det(form) <= 0:
            return None
        centre = np.linalg.solve(-2 * form, np.array([d, e]))
        scaled = form / (1 + centre @ form @ centre)
        values, vectors = np.linalg.eigh(scaled)
        if values[0] <= 0:
            return None
        unit = vectors @ np.diag(np.sqrt(values)) @ vectors.T
        off = np.hypot(*(unit @ (np.stack([x, y]) - centre[:, None]))) - 1
        scatter = 1.4826 * float(np.median(np.abs(off[kept])))
        kept = np.abs(off) <= 4 * scatter + 1e-9
    return Bore(middle + size * centre, unit / size, scatter)


def _gauged(
    grey: Grey, found: Found, bore: Bore, file: Path, stated: tuple[float, float | None, float]
) -> float:
    """Radius of the bore in mm: by the scale bar, or as stated where the resolution agrees."""
    dpi, scale_mm, bore_mm = stated
    if scale_mm is None:
        seen = 2 * bore.radius * INCH_MM / dpi
        by, used = f"at {round(dpi, 1):g} dpi", bore_mm / 2
    else:
        lengths = [_length(fitted_edge(grey, bar).points, bore) for bar in found.bars]
        if not lengths:
            said = "shows no scale bar: a plain bar, apart from the cam, whole, at least three times as long as wide"
            raise refused(file, said)
        used = scale_mm / max(lengths)
        seen, by = 2 * used, f"by the bar of {scale_mm:g} mm"
    if abs(seen / bore_mm - 1) > AGREEMENT:
        said = f"shows a bore of {seen:.2f} mm {by}, but the bore is {bore_mm:g} mm; look at both"
        raise refused(file, said)
    return used


def _length(points: FloatArray, bore: Bore) -> float:
    """Length of a bar between its ends, in radii of the bore."""
    laid = (points - points.mean(axis=0)) @ bore.unit.T
    way, side = (laid @ np.linalg.svd(laid, full_matrices=False)[2].T).T
    middle = np.abs(side - np.median(side)) < 0.3 * np.ptp(side)
    ends = [np.median(way[middle & (way > 0)]), np.median(way[middle & (way < 0)])]
    return float(ends[0] - ends[1])
