"""Figures of a cam: its profile and what its roller meets, and the old feel beside the new one."""

from pathlib import Path

from pullcurve.papers.camfigures import Feel, Moment, cam_figure, feel_figure
from pullcurve.papers.style import LIGHT, Theme
from pullcurve.papers.words import CAUTION
from pullcurve.studies.draw import Wanted
from pullcurve.verbs.cams import CamCase
from pullcurve.verbs.drawing import write_picture
from pullcurve.verbs.making import title_block

EVENTS = {
    "bite": "bite",
    "lock-up 0": "lock-up",
    "first slip": "first slip",
    "free": "free",
    "clean": "clean",
}
"""Events of a pull that a figure of the flank shows, and their words."""


def cam_sheet(case: CamCase, *, day: str = "", theme: Theme = LIGHT, width: float = 900.0) -> str:
    """Profile, curvature, pressure angle and contact pressure of one cam as an SVG sheet."""
    return cam_figure(
        case.metal,
        case.stress,
        case.allowed,
        title=f"{case.kind.capitalize()} cam {case.name}",
        subtitle=case.job.unit.name,
        notes=CAUTION,
        block=title_block(case, day),
        theme=theme,
        width=width,
        events=_moments(case),
    )


def feel_sheet(
    fitted: CamCase,
    other: CamCase,
    label: str,
    *,
    wanted: Wanted | None = None,
    day: str = "",
    theme: Theme = LIGHT,
    width: float = 900.0,
) -> str:
    """The fitted cam's pull beside that of another, with the points that were wanted, as an SVG sheet."""
    points = (wanted.travel, wanted.force) if wanted is not None and wanted.travel.size else None
    return feel_figure(
        Feel("fitted", fitted.metal, fitted.pull),
        Feel(label, other.metal, other.pull),
        title=f"{other.kind.capitalize()} cam {other.name}",
        subtitle=f"{label} beside fitted ({fitted.name})",
        notes=CAUTION,
        block=title_block(other, day),
        theme=theme,
        width=width,
        wanted=points,
    )


def draw_cam_sheet(path: Path | str, case: CamCase, *, day: str = "") -> Path:
    """Write the sheet of one cam as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, cam_sheet(case, day=day))


def draw_feel(
    path: Path | str,
    fitted: CamCase,
    other: CamCase,
    label: str,
    *,
    wanted: Wanted | None = None,
    day: str = "",
) -> Path:
    """Write the fitted feel beside another as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, feel_sheet(fitted, other, label, wanted=wanted, day=day))


def _moments(case: CamCase) -> tuple[Moment, ...]:
    """Events of the pull by their lever angles."""
    pulled = case.pull
    return tuple(
        (words, float(pulled.at.theta[pulled.events.index(name)]))
        for name, words in EVENTS.items()
        if name in pulled.events.names
    )
