"""Figures of a cam for screen and paper: its profile with the roller on it, what the roller meets, and the feel."""

from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.border import INSET, Heading, TitleBlock, surround, surround_height
from pullcurve.papers.camflank import draw_flank, flank_height
from pullcurve.papers.camnames import Other
from pullcurve.papers.camprofile import draw_profile, profile_height
from pullcurve.papers.camrows import Flank, Moment
from pullcurve.papers.figures import panel_height, pull_key
from pullcurve.papers.frame import extent_of, frame
from pullcurve.papers.loop import draw_panel
from pullcurve.papers.plot import Box, picture
from pullcurve.papers.pulls import from_si_unit, panel_of
from pullcurve.papers.style import LIGHT, Role, Theme
from pullcurve.papers.traces import Panel, drawable
from pullcurve.pull.loop import LeverPull
from pullcurve.pull.plate import Metal

__all__ = ["Feel", "Moment", "cam_figure", "feel_figure", "flank_figure", "profile_figure"]

WIDTH, LEAST_WIDTH = 900.0, 320.0
ABREAST, FEEL_ABREAST = 1200.0, 840.0
"""From these widths on, profile and plots stand side by side."""

PROFILE_SHARE, FEEL_SHARE = 0.52, 0.5
GUTTER, STACK_GAP = 32.0, 14.0


@dataclass(frozen=True, slots=True)
class Feel:
    """A cam, the pull of its lever with it, and what it is called: fitted, drawn, read."""

    label: str
    metal: Metal
    pull: LeverPull


def profile_figure(
    metal: Metal,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    role: Role = "fitted",
) -> str:
    """The cam's outline as an SVG sheet, to scale and seen from the cam: the roller rolls along its flank.

    The height follows from the width. The role gives the flank its colour.
    """
    _check(metal, width)
    given = Heading(title, subtitle, notes)
    height = surround_height(given, block, width, theme) + profile_height(metal, width - 2.0 * INSET)
    around, body = surround(given, block, (width, height), theme)
    return picture(width, height, title, theme, [*around, draw_profile(metal, body, theme, role)])


def flank_figure(
    metal: Metal,
    pressure_pa: FloatArray,
    limit_pa: float,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    role: Role = "fitted",
    events: tuple[Moment, ...] = (),
) -> str:
    """Curvature of the metal, pressure angle and contact pressure over lever angle as an SVG sheet.

    The contact pressure (S,) stands over ``metal.theta``, NaN where the roller never comes; events are pairs of
    words and lever angle [rad], drawn through all three plots.
    """
    _check(metal, width)
    shown = _flank(metal, pressure_pa, limit_pa, events)
    given = Heading(title, subtitle, notes)
    height = surround_height(given, block, width, theme) + flank_height(shown, width - 2.0 * INSET)
    around, body = surround(given, block, (width, height), theme)
    return picture(width, height, title, theme, [*around, draw_flank(shown, body, theme, role)])


def cam_figure(
    metal: Metal,
    pressure_pa: FloatArray,
    limit_pa: float,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    role: Role = "fitted",
    events: tuple[Moment, ...] = (),
) -> str:
    """The whole cam as one SVG sheet: the profile, and under or beside it what the roller meets along the flank.

    The arguments are those of ``flank_figure``.
    """
    _check(metal, width)
    shown = _flank(metal, pressure_pa, limit_pa, events)
    given = Heading(title, subtitle, notes)
    rooms = _rooms(width, ABREAST, PROFILE_SHARE)
    heights = profile_height(metal, rooms[0]), flank_height(shown, rooms[1])
    height = surround_height(given, block, width, theme) + _joint_height(heights, width >= ABREAST)
    around, body = surround(given, block, (width, height), theme)
    left, right = _boxes(body, rooms, heights, width >= ABREAST)
    parts = draw_profile(metal, left, theme, role), draw_flank(shown, right, theme, role)
    return picture(width, height, title, theme, [*around, *parts])


def feel_figure(
    fitted: Feel,
    proposed: Feel,
    *,
    title: str,
    subtitle: str = "",
    notes: str = "",
    block: TitleBlock | None = None,
    theme: Theme = LIGHT,
    width: float = WIDTH,
    wanted: tuple[FloatArray, FloatArray] | None = None,
    limit_newton: float | None = None,
) -> str:
    """The old feel and the new as one SVG sheet: both pulls, and the new cam with the outline of the old one.

    Wanted points are arrays (P,) of finger travel [m] and force [N], drawn as crosses.
    """
    for one in (fitted, proposed):
        _check(one.metal, width)
    panel = _feel_panel(fitted, proposed, wanted, limit_newton)
    given = Heading(title, subtitle, notes, pull_key((panel,)))
    rooms = _rooms(width, FEEL_ABREAST, FEEL_SHARE)
    other = Other(fitted.metal, f"outline of the {fitted.label} cam")
    heights = panel_height(panel, width), profile_height(proposed.metal, rooms[1], other)
    height = surround_height(given, block, width, theme) + _joint_height(heights, width >= FEEL_ABREAST)
    around, body = surround(given, block, (width, height), theme)
    left, right = _boxes(body, rooms, heights, width >= FEEL_ABREAST)
    plot = draw_panel(panel, frame(panel, extent_of(panel), left), left, theme)
    cam = draw_profile(proposed.metal, right, theme, "proposed", other)
    return picture(width, height, title, theme, [*around, plot, cam])


# What is shown ------------------------------------------------------------------------------------------------


def _flank(metal: Metal, pressure_pa: FloatArray, limit_pa: float, events: tuple[Moment, ...]) -> Flank:
    """What the plots along the flank show."""
    pressure = np.asarray(pressure_pa, dtype=np.float64)
    if pressure.shape != metal.theta.shape:
        raise ValueError(
            f"contact pressure of shape {pressure.shape}: one value is needed for each of the "
            f"{len(metal.theta)} lever angles of the flank"
        )
    return Flank(metal, pressure, limit_pa, events)


def _feel_panel(
    fitted: Feel,
    proposed: Feel,
    wanted: tuple[FloatArray, FloatArray] | None,
    limit_newton: float | None,
) -> Panel:
    """Both pulls in one plot, with the points that were wanted."""
    known = panel_of(((fitted.label, "fitted", fitted.pull), (proposed.label, "proposed", proposed.pull)))
    points = None
    if wanted is not None:
        travel, force = (np.asarray(one, dtype=np.float64) for one in wanted)
        if travel.ndim != 1 or travel.shape != force.shape:
            raise ValueError(
                f"wanted points: travel of shape {travel.shape} and force of shape {force.shape} "
                "must be (P,), both alike"
            )
        points = np.stack([travel / from_si_unit("mm"), force], axis=-1)
    (panel,) = drawable((replace(known, force_limit_newton=limit_newton, wanted=points),))
    return panel


def _check(metal: Metal, width: float) -> None:
    """Refuse what cannot be drawn."""
    if not width >= LEAST_WIDTH:
        raise ValueError(f"a figure of a cam {width:.0f} px wide: give {LEAST_WIDTH:.0f} px or more")
    for name in ("outline", "flank", "pitch"):
        if not np.all(np.isfinite(getattr(metal, name))):
            raise ValueError(f"{metal.name}: its {name} has points that are no numbers, and cannot be drawn")


# Two on a sheet -----------------------------------------------------------------------------------------------


def _rooms(width: float, abreast: float, share: float) -> tuple[float, float]:
    """Widths of two drawings on a sheet."""
    room = width - 2.0 * INSET
    if width < abreast:
        return room, room
    return share * (room - GUTTER), (1.0 - share) * (room - GUTTER)


def _joint_height(heights: tuple[float, float], abreast: bool) -> float:
    """Height of two drawings, side by side or stacked."""
    return max(heights) if abreast else sum(heights) + STACK_GAP


def _boxes(
    body: Box, rooms: tuple[float, float], heights: tuple[float, float], abreast: bool
) -> tuple[Box, Box]:
    """Places of two drawings."""
    if abreast:
        return replace(body, right=body.left + rooms[0]), replace(body, left=body.right - rooms[1])
    split = body.top + heights[0]
    return replace(body, bottom=split), replace(body, top=split + STACK_GAP)
