"""Figures of measured pulls for screen and paper: a fit with what it leaves, what it says of each number, two pulls."""

from collections.abc import Mapping

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.benchplotfit import draw_fit, fit_height, fit_key, told
from pullcurve.papers.benchplotpair import draw_pair, pair, pair_height
from pullcurve.papers.benchplotspan import draw_table, span_key, table, table_height
from pullcurve.papers.border import INSET, Heading, TitleBlock, surround, surround_height
from pullcurve.papers.key import BRANCHES
from pullcurve.papers.plot import picture
from pullcurve.papers.style import LIGHT, Theme
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.compare import Compared
from pullcurve.studies.fit import Fit
from pullcurve.studies.prediction import Predicted

__all__ = ["bench_figure", "compare_figure", "interval_figure"]

WIDTH, LEAST_WIDTH = 900.0, 320.0
LOWEST, HIGHEST, SHARE = 300.0, 520.0, 0.4
"""Least and greatest height of a plot of forces, px, and its height as a share of the width between them."""


def bench_figure(
    fit: Fit,
    written: Predicted | None = None,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
) -> str:
    """A measured pull with its fit as an SVG sheet: forces, what is left of them, and the line pressure if measured.

    ``written`` is what the job as written predicts at the places of the fit, drawn as a thin line. The height follows
    from the width.
    """
    _check_width(width)
    _check_fit(fit, written)
    known = told(fit, written)
    given = Heading(title, subtitle, notes, fit_key())
    high = _force_height(width)
    height = surround_height(given, block, width, theme) + fit_height(known, high, width - 2.0 * INSET)
    around, body = surround(given, block, (width, height), theme)
    return picture(width, height, title, theme, [*around, draw_fit(known, body, high, theme)])


def interval_figure(
    fit: Fit,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
) -> str:
    """What a pull tells of each number as an SVG sheet: a row each, those first that the pull told.

    Every row has its own scale, on which all priors are equally wide. The height follows from the width.
    """
    _check_width(width)
    _check_unknowns(fit)
    given = Heading(title, subtitle, notes, span_key())
    rows = table(fit, width - 2.0 * INSET)
    height = surround_height(given, block, width, theme) + table_height(rows)
    around, body = surround(given, block, (width, height), theme)
    return picture(width, height, title, theme, [*around, draw_table(rows, body, theme)])


def compare_figure(
    before: Branches,
    after: Branches,
    compared: Compared,
    labels: tuple[str, str] = ("before", "after"),
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
) -> str:
    """Two measured pulls as an SVG sheet: both loops, and their difference in felt steps.

    What no finger feels is hatched. The height follows from the width.
    """
    _check_width(width)
    _check_pair(before, after, compared, labels)
    known = pair(before, after, compared, labels)
    given = Heading(title, subtitle, notes, BRANCHES)
    high = _force_height(width)
    height = surround_height(given, block, width, theme) + pair_height(known, high, width - 2.0 * INSET)
    around, body = surround(given, block, (width, height), theme)
    return picture(width, height, title, theme, [*around, draw_pair(known, body, high, theme)])


def _force_height(width: float) -> float:
    """Height of a plot of forces on a sheet so wide, px."""
    return float(np.clip(SHARE * width, LOWEST, HIGHEST))


# What cannot be drawn -----------------------------------------------------------------------------------------


def _check_width(width: float) -> None:
    """Refuse a sheet that nothing fits on."""
    if not width >= LEAST_WIDTH:
        raise ValueError(
            f"a figure of a measured pull {width:.0f} px wide: give {LEAST_WIDTH:.0f} px or more"
        )


def _check_place(place: FloatArray) -> None:
    """Refuse places that are no places."""
    if place.ndim != 1 or not place.size or not np.all(np.isfinite(place)) or np.any(np.diff(place) <= 0.0):
        raise ValueError("places of a measured pull must be (P,), finite, and grow from one to the next")


MEASURED = ("pull", "release", "pull_deviation", "release_deviation", "pull_pressure", "release_pressure")


def _check_branches(name: str, known: Branches) -> None:
    """Refuse branches whose arrays do not belong together."""
    _check_place(known.place)
    arrays = {key: getattr(known, key) for key in MEASURED}
    _check_shapes(name, known.place, {key: one for key, one in arrays.items() if one is not None})


def _check_shapes(name: str, place: FloatArray, arrays: Mapping[str, FloatArray]) -> None:
    """Refuse arrays that are not over the places."""
    for key, array in arrays.items():
        if np.shape(array) != place.shape:
            raise ValueError(
                f"{name}: {key} of shape {np.shape(array)}: one value is needed for each of the {place.size} places"
            )


def _check_fit(fit: Fit, written: Predicted | None) -> None:
    """Refuse a fit, or a prediction, that is not of these places."""
    place, known = fit.measured.place, fit.readings
    _check_branches("measured pull", fit.measured)
    _check_shapes("fit", place, {key: getattr(fit, key) for key in ("pull_residual", "release_residual")})
    _check_shapes(
        "readings", place, {key: getattr(known, key) for key in ("pull_at", "release_at", "pressure_at")}
    )
    count = sum(int(np.count_nonzero(at)) for at in (known.pull_at, known.release_at, known.pressure_at))
    if known.deviation.shape != (count,):
        raise ValueError(f"readings: deviation of shape {known.deviation.shape}: {count} values were read")
    for name, seen in (("fitted job", fit.predicted), ("job as written", written)):
        for key in ("pull", "release", "pressure") if seen else ():
            array = getattr(seen, key)
            if array is not None and np.shape(array) != (1, place.size):
                raise ValueError(
                    f"{name}: {key} of shape {np.shape(array)}: one row is needed, with one value for each of "
                    f"the {place.size} places"
                )


def _check_pair(before: Branches, after: Branches, compared: Compared, labels: tuple[str, str]) -> None:
    """Refuse two pulls that cannot stand in one plot."""
    if not all(words.strip() for words in labels):
        raise ValueError(f"labels {labels!r}: two pulls need two names")
    _check_branches(labels[0], before)
    _check_branches(labels[1], after)
    if before.angular != after.angular:
        raise ValueError("one pull has travel and the other lever angles; both must have the same")
    _check_place(compared.place)
    keys = [f"{name}_{what}" for name in ("pull", "release") for what in ("change", "deviation", "steps")]
    _check_shapes("difference", compared.place, {key: getattr(compared, key) for key in keys})


def _check_unknowns(fit: Fit) -> None:
    """Refuse a fit whose numbers do not belong together."""
    count = len(fit.unknowns)
    if not count:
        raise ValueError("a fit without unknowns: there is nothing to show")
    for key in ("value", "low", "high", "narrowing"):
        array = getattr(fit, key)
        if np.shape(array) != (count,):
            raise ValueError(f"fit: {key} of shape {np.shape(array)}: {count} numbers were fitted")
