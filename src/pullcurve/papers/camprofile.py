"""A cam's profile drawn to scale in its own frame: metal, bore, holes, and the roller at even lever angles."""

import math
from collections.abc import Iterator

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import style
from pullcurve.papers.camnames import Other, write_list
from pullcurve.papers.camscene import Scene, angle_places, profile_height, scene_of
from pullcurve.papers.camwords import RadiusLine, captions, other_role, radius_lines
from pullcurve.papers.labels import write
from pullcurve.papers.plot import Box, element, halo, line, number, polyline, text
from pullcurve.papers.style import Role, Theme, role_colour
from pullcurve.pull.plate import Metal

__all__ = ["draw_profile", "profile_height"]

HATCH_STEP = 8.0
CONTACT, CONTACT_END = 2.6, 4.0
OVERRUN = 8.0
"""Centre lines run so far beyond what they are the centre of, px."""

FINE_DASH = "7 2.5 1.5 2.5"
"""Chain line of small circles: those of centre lines would leave half of them out."""

ARROW_LONG, ARROW_WIDE = 11.0, 3.2
TURN_AWAY, TURN_FROM, TURN_SWEEP = 16.0, 145.0, 60.0
"""The arc of the turning sense: px off the hub, where it begins and how far it goes [degrees]."""

BAR, BAR_HIGH = 180.0, 5.0
BAR_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


def draw_profile(metal: Metal, body: Box, theme: Theme, role: Role, other: Other | None = None) -> str:
    """Everything of a profile, from the back to the front, and its scale as data."""
    scene = scene_of(metal, body, other)
    radii = radius_lines(scene)
    turn = _turn_arc(scene)
    parts = [
        *_metal(scene, theme),
        *_other(scene, theme, role),
        *_edges(scene, theme, role_colour(theme, role)),
        *_hub(scene, theme),
        *_rollers(scene, theme),
        *_rocker(scene, theme),
        *_turning(turn, theme),
    ]
    for one in radii:
        parts += _radius(one, theme)
    parts += _contacts(scene, theme, role_colour(theme, role))
    for words, box in angle_places(scene):
        middle, base = (box.left + box.right) / 2.0, box.bottom - 3.5
        parts.append(text(middle, base, words, theme.ink, style.NOTE_SIZE, text_anchor="middle", class_="angle",
                          **halo(theme.paper)))  # fmt: skip
    parts += write(captions(scene, radii, turn, (theme, role)), theme.paper, 4.0)
    parts += _scale_bar(scene, theme)
    if scene.view.lettered:
        parts += write_list(scene.view.listed, body.left, scene.area.bottom, body.width, theme)
    per_mm = f"{scene.scale * 1e-3:.7g}"
    origin = {"data_x": f"{scene.x:.7g}", "data_y": f"{scene.y:.7g}"}
    return element("g", *parts, class_="cam", data_name=metal.name, data_px_per_mm=per_mm, **origin)


# Metal ------------------------------------------------------------------------------------------------------


def _rings(scene: Scene) -> list[tuple[float, float, float]]:
    """Bore and holes, the bore first: centre and radius, px."""
    circles = np.array([(0.0, 0.0, scene.metal.bore_radius), *scene.metal.holes])
    places = np.concatenate([scene.px(circles[:, :2]), scene.scale * circles[:, 2:]], axis=-1)
    return [(x, y, r) for x, y, r in places.tolist()]


def _metal(scene: Scene, theme: Theme) -> Iterator[str]:
    """The metal toned and hatched."""
    outline, rings = scene.px(scene.metal.outline), _rings(scene)
    edge = _closed(outline)
    empty = "".join(_circle(*ring) for ring in rings)
    yield element(
        "path", d=edge + empty, fill=theme.surface, fill_rule="evenodd", stroke="none", class_="metal"
    )
    bounds = [outline, *(_ring(*ring) for ring in rings)]
    yield element("path", d=hatching(bounds, HATCH_STEP), stroke=theme.ink_2, stroke_width=style.HATCHING,
                  stroke_opacity=0.5, fill="none", class_="hatch")  # fmt: skip


def _other(scene: Scene, theme: Theme, role: Role) -> Iterator[str]:
    """The outline of the other cam, dashed, in the colour of its role."""
    if scene.other:
        edge = _closed(scene.px(scene.other.metal.outline))
        yield element("path", d=edge, fill="none", stroke=role_colour(theme, other_role(role)),
                      stroke_width=style.RELEASE, stroke_dasharray=style.HIDDEN_DASH, class_="other")  # fmt: skip


def _edges(scene: Scene, theme: Theme, colour: str) -> Iterator[str]:
    """All edges of the metal, and the flank on them heavier and in colour."""
    edge = _closed(scene.px(scene.metal.outline))
    yield element("path", d=edge, fill="none", stroke=theme.ink, stroke_width=style.VISIBLE_EDGE,
                  stroke_linejoin="round", class_="outline")  # fmt: skip
    for index, (x, y, r) in enumerate(_rings(scene)):
        yield element("circle", cx=x, cy=y, r=r, fill="none", stroke=theme.ink,
                      stroke_width=style.VISIBLE_EDGE, class_="hole" if index else "bore")  # fmt: skip
    flank = scene.px(scene.metal.flank)
    yield element("path", d=polyline(flank[:, 0], flank[:, 1]), fill="none", stroke=colour,
                  stroke_width=style.PULL + 0.5, stroke_linecap="round", class_="flank")  # fmt: skip


def _closed(points: FloatArray) -> str:
    """Path data of a closed polygon."""
    around = np.concatenate([points, points[:1]])
    return polyline(around[:, 0], around[:, 1]) + "Z"


def _circle(x: float, y: float, r: float) -> str:
    """Path data of a circle."""
    arc = f"a{number(r)} {number(r)} 0 1 0 "
    return f"M{number(x - r)} {number(y)}{arc}{number(2 * r)} 0{arc}{number(-2 * r)} 0Z"


def _ring(x: float, y: float, r: float) -> FloatArray:
    """A circle as a polygon, (120, 2)."""
    turn = 2.0 * np.pi * np.arange(120) / 120
    return np.stack([x + r * np.cos(turn), y + r * np.sin(turn)], axis=-1)


def hatching(bounds: list[FloatArray], step: float) -> str:
    """Path data of lines x + y = constant inside closed polygons (P, 2), what lies in two of them left out.

    The lines are in step with every other hatching of the drawing.
    """
    start = np.concatenate(bounds)
    end = np.concatenate([np.roll(known, -1, axis=0) for known in bounds])
    low, high = start.sum(axis=-1), end.sum(axis=-1)
    first, last = math.ceil(float(low.min()) / step), math.floor(float(low.max()) / step)
    pieces = []
    for index in range(first, last + 1):
        c = index * step
        met = (low > c) != (high > c)
        share = (c - low[met]) / (high[met] - low[met])
        x = np.sort(start[met, 0] + share * (end[met, 0] - start[met, 0]))
        pieces += [
            f"M{number(a)} {number(c - a)}L{number(b)} {number(c - b)}"
            for a, b in zip(x[::2].tolist(), x[1::2].tolist(), strict=True)
        ]
    return "".join(pieces)


def _hub(scene: Scene, theme: Theme) -> Iterator[str]:
    """Centre lines of bore and holes."""
    yield _cross(scene.x, scene.y, scene.metal.hub_radius * scene.scale + OVERRUN, theme.ink_2)
    for x, y, radius in scene.metal.holes:
        middle = scene.px(np.array([x, y])).tolist()
        yield _cross(middle[0], middle[1], radius * scene.scale + OVERRUN, theme.ink_2)


def _cross(x: float, y: float, arm: float, colour: str) -> str:
    """Two centre lines that cross in the middle of a dash."""
    arms = [f"M{number(x)} {number(y)}{way}{number(size)}" for way in "hv" for size in (arm, -arm)]
    return element("path", d="".join(arms), fill="none", stroke=colour, stroke_width=style.CENTRE_LINE,
                   stroke_dasharray=style.CENTRE_DASH, class_="centre")  # fmt: skip


# Roller and rocker --------------------------------------------------------------------------------------------


def _rollers(scene: Scene, theme: Theme) -> Iterator[str]:
    """The path of the roller centre, the roller solid at rest and thin further on, and its centres."""
    pitch = scene.px(scene.metal.pitch)
    yield element("path", d=polyline(pitch[:, 0], pitch[:, 1]), fill="none", stroke=theme.ink_2,
                  stroke_width=style.CENTRE_LINE, stroke_dasharray=style.CENTRE_DASH, class_="pitch")  # fmt: skip
    centres = scene.px(scene.stations.roller).tolist()
    for x, y in centres[:0:-1]:
        yield element("circle", cx=x, cy=y, r=scene.roller, fill="none", stroke=theme.ink_2,
                      stroke_width=style.CENTRE_LINE, stroke_dasharray=FINE_DASH, class_="roller")  # fmt: skip
        yield line(x, y, x + 0.01, y, theme.ink_2, 3.0, stroke_linecap="round")
    x, y = centres[0]
    yield element("circle", cx=x, cy=y, r=scene.roller, fill="none", stroke=theme.ink,
                  stroke_width=style.VISIBLE_EDGE, class_="roller rest")  # fmt: skip
    yield _cross(x, y, 5.0, theme.ink)


def _rocker(scene: Scene, theme: Theme) -> Iterator[str]:
    """The rocker's centre line with the lever at rest, and its pivot."""
    x, y = scene.pivot
    to_x, to_y = scene.px(scene.stations.roller[0]).tolist()
    yield line(x, y, to_x, to_y, theme.ink, style.HIDDEN_EDGE, class_="rocker")
    yield element("circle", cx=x, cy=y, r=4.5, fill=theme.paper, stroke=theme.ink,
                  stroke_width=style.VISIBLE_EDGE, class_="pivot")  # fmt: skip


def _contacts(scene: Scene, theme: Theme, colour: str) -> Iterator[str]:
    """Where the roller touches: dots on the flank, at rest and at the end larger."""
    points = scene.px(scene.stations.metal).tolist()
    for index, (x, y) in enumerate(points):
        r = CONTACT_END if index in (0, len(points) - 1) else CONTACT
        yield element("circle", cx=x, cy=y, r=r, fill=colour, stroke=theme.paper, stroke_width=1.0,
                      class_="contact")  # fmt: skip


# Dimensions ---------------------------------------------------------------------------------------------------


def _radius(one: RadiusLine, theme: Theme) -> Iterator[str]:
    """A radius from the lever pivot to the contact point, its words along it."""
    (x1, y1), (x2, y2) = one.start, one.end
    yield line(x1, y1, x2, y2, theme.ink_2, style.DIMENSION, class_="radius")
    yield _arrow(x2, y2, math.atan2(y2 - y1, x2 - x1), theme.ink_2)
    turned = f"rotate({number(one.turn)} {number(one.x)} {number(one.y)})"
    yield text(one.x, one.y, one.words, theme.ink, style.NOTE_SIZE, transform=turned, text_anchor="middle",
               class_="dimension", **halo(theme.surface))  # fmt: skip


def _arrow(x: float, y: float, way: float, colour: str) -> str:
    """A filled arrow head with its tip at a point."""
    c, s = math.cos(way), math.sin(way)
    corners = ((0.0, 0.0), (-ARROW_LONG, ARROW_WIDE), (-ARROW_LONG, -ARROW_WIDE))
    data = "M" + "L".join(f"{number(x + c * a - s * b)} {number(y + s * a + c * b)}" for a, b in corners)
    return element("path", d=data + "Z", fill=colour, stroke="none", class_="arrow")


def _turn_arc(scene: Scene) -> FloatArray:
    """The arc beside the hub that shows which way the cam turns, (N, 2) px, its tip last."""
    sense = scene.metal.sense
    middle = math.radians(TURN_FROM + TURN_SWEEP / 2.0)
    half = math.radians(TURN_SWEEP / 2.0)
    angle = middle + sense * np.linspace(-half, half, 24)
    radius = scene.metal.hub_radius + TURN_AWAY / scene.scale
    return scene.px(radius * np.stack([np.cos(angle), np.sin(angle)], axis=-1))


def _turning(arc: FloatArray, theme: Theme) -> Iterator[str]:
    """The arc with its arrow head."""
    yield element("path", d=polyline(arc[:, 0], arc[:, 1]), fill="none", stroke=theme.ink_2,
                  stroke_width=style.HIDDEN_EDGE, class_="turn")  # fmt: skip
    (x1, y1), (x2, y2) = arc[-4].tolist(), arc[-1].tolist()
    yield _arrow(x2, y2, math.atan2(y2 - y1, x2 - x1), theme.ink_2)


def _scale_bar(scene: Scene, theme: Theme) -> Iterator[str]:
    """A bar of a round length in the lower left corner, in two halves, one filled."""
    per_mm = scene.scale * 1e-3
    length = max((known for known in BAR_MM if known * per_mm <= BAR), default=BAR_MM[0])
    x, y, half = scene.area.left, scene.area.bottom - 8.0, length * per_mm / 2.0
    for start, fill in ((x, theme.ink), (x + half, theme.paper)):
        yield element("rect", x=start, y=y, width=half, height=BAR_HIGH, fill=fill, stroke=theme.ink,
                      stroke_width=style.DIMENSION, class_="bar")  # fmt: skip
    yield text(x + 2 * half + 8.0, y + 7.0, f"{length:.0f} mm", theme.ink, class_="bar-words")
