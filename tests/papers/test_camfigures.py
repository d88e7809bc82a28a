"""Figures of a cam: every word readable, every row with its unit, the outline to scale, the roller on the flank."""

import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.camfigures import cam_figure, feel_figure, flank_figure, profile_figure
from pullcurve.papers.style import DARK, LIGHT, Theme
from pullcurve.pull.loop import LeverPull
from tests.papers.camcases import CAMS, CamCase, every, feels, odd
from tests.papers.camcases import case as cam_case
from tests.papers.drawing import SPACE, classes, parse, paths, texts
from tests.papers.samples import BLOCK

WIDTHS = (320.0, 390.0, 560.0, 700.0, 900.0, 1200.0, 1600.0)
CASES = every()
BRAKE = CASES["enduro-300 brake"]
WORDY = 900.0

DRAWN: dict[tuple[str, float, Theme], str] = {}
"""Sheets that were drawn already: many tests look at the same ones."""

NOTES = "Check before riding: firm lever, free wheel at rest, full release of the clutch, all screws, a slow test."


def sheet(known: CamCase, width: float = 900.0, theme: Theme = LIGHT) -> str:
    """The whole cam with everything around it."""
    key = next((name for name, one in CASES.items() if one is known), "")
    if not key:
        return drawn_sheet(known, width, theme)
    if (key, width, theme) not in DRAWN:
        DRAWN[key, width, theme] = drawn_sheet(known, width, theme)
    return DRAWN[key, width, theme]


def drawn_sheet(known: CamCase, width: float, theme: Theme) -> str:
    """The same, drawn anew."""
    return cam_figure(
        known.metal,
        known.pressure,
        known.limit,
        title=known.metal.name,
        subtitle="seen from the cam",
        notes=NOTES,
        block=BLOCK,
        theme=theme,
        width=width,
        events=known.events,
    )


def feel_sheet(machine: str, kind: str, width: float = 900.0, theme: Theme = LIGHT, points: int = 4) -> str:
    """Old feel and new with some wanted points."""
    fitted, drawn = feels(machine, kind)
    return feel_figure(
        fitted,
        drawn,
        title="Old feel and new",
        subtitle=f"{fitted.metal.name} → {drawn.metal.name}",
        notes=NOTES,
        block=BLOCK,
        theme=theme,
        width=width,
        wanted=wanted_along(drawn.pull, points),
    )


def wanted_along(lever: LeverPull, count: int) -> tuple[FloatArray, FloatArray]:
    """Points a little beside a pull branch."""
    travel = np.linspace(0.2, 0.9, count) * float(lever.curves.travel[-1])
    return travel, np.interp(travel, lever.curves.travel, lever.curves.pull) + 2.0


# Reading back -------------------------------------------------------------------------------------------------


def areas(svg: str) -> list[tuple[str, BaseGeometry]]:
    """What every text covers, turned as it is written."""
    found = []
    for node, known in zip(parse(svg).iter(f"{SPACE}text"), texts(svg), strict=True):
        box = shapely.box(known.left, known.top, known.right, known.bottom)
        turn = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", node.get("transform", ""))
        if turn and turn[1] != "-90":
            angle, x, y = (float(one) for one in turn.groups())
            box = rotate(box, angle, origin=(x, y))  # both turn the x axis to the y axis
        found.append((known.content, box))
    return found


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Pairs of texts that cover each other."""
    return [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(areas(svg), 2)
        if a.intersection(b).area > 1e-6
    ]


def outside(svg: str, width: float) -> list[str]:
    """Texts that leave the frame of the sheet."""
    high = float(parse(svg).attrib["height"])
    frame = shapely.box(8.0, 8.0, width - 8.0, high - 8.0)
    return [content for content, area in areas(svg) if not frame.contains(area)]


def points_of(data: str) -> FloatArray:
    """The points of path data of straight lines, (P, 2)."""
    numbers = re.findall(r"(-?[\d.]+) (-?[\d.]+)", data)
    return np.array(numbers, dtype=np.float64)


def circles(svg: str, kind: str) -> list[tuple[float, float, float]]:
    """Centre and radius of all circles of a class."""
    return [
        (float(node.attrib["cx"]), float(node.attrib["cy"]), float(node.attrib["r"]))
        for node in parse(svg).iter(f"{SPACE}circle")
        if node.get("class", "").split()[:1] == [kind]
    ]


def bar_px_per_mm(svg: str) -> float:
    """The scale as the bar on the sheet tells it, by its two halves and its words."""
    halves = [node for node in parse(svg).iter(f"{SPACE}rect") if node.get("class") == "bar"]
    (words,) = [known.content for known in texts(svg) if known.kind == "bar-words"]
    return sum(float(node.attrib["width"]) for node in halves) / float(words.removesuffix(" mm"))


def contents(svg: str) -> str:
    """All words of a sheet; lines of one label follow each other."""
    return " ".join(known.content.replace("\u00a0", " ") for known in texts(svg))


def panes(svg: str) -> dict[str, dict[str, float]]:
    """The scales of the plots along the flank, by name."""
    return {
        node.attrib["data-name"]: {
            key.removeprefix("data-"): float(value)
            for key, value in node.attrib.items()
            if re.match(r"data-[xy]-", key)
        }
        for node in parse(svg).iter(f"{SPACE}g")
        if node.get("class") == "pane"
    }


def curves(svg: str) -> dict[str, list[str]]:
    """Path data of the values, by the name of their plot."""
    found: dict[str, list[str]] = {}
    for pane in parse(svg).iter(f"{SPACE}g"):
        if pane.get("class") == "pane":
            (values,) = [node for node in pane.iter(f"{SPACE}g") if node.get("class") == "values"]
            found[pane.attrib["data-name"]] = [node.attrib["d"] for node in values.iter(f"{SPACE}path")]
    return found


def values_at(svg: str, name: str, theta_deg: FloatArray) -> FloatArray:
    """What a curve of the sheet shows at lever angles, read off by its scales."""
    scale, (data,) = panes(svg)[name], curves(svg)[name]
    x, y = points_of(data).T
    theta = scale["x-low"] + (x - scale["x-start"]) / (scale["x-end"] - scale["x-start"]) * (
        scale["x-high"] - scale["x-low"]
    )
    values = scale["y-low"] + (y - scale["y-start"]) / (scale["y-end"] - scale["y-start"]) * (
        scale["y-high"] - scale["y-low"]
    )
    return np.asarray(np.interp(theta_deg, theta, values))


# The sheet ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", CASES)
def test_no_word_of_a_cam_covers_another_or_leaves_the_sheet(name: str, width: float) -> None:
    svg = sheet(CASES[name], width)
    assert overlaps(svg) == []
    assert outside(svg, width) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("one", CAMS, ids=" ".join)
def test_no_word_of_a_feel_covers_another_or_leaves_the_sheet(one: tuple[str, str], width: float) -> None:
    svg = feel_sheet(*one, width)
    assert overlaps(svg) == []
    assert outside(svg, width) == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", CASES)
def test_everything_drawn_lies_on_the_sheet(name: str, width: float) -> None:
    svg = sheet(CASES[name], width)
    high = float(parse(svg).attrib["height"])
    drawn = [points_of(data) for kind in ("outline", "flank", "pitch", "turn") for data in paths(svg, kind)]
    drawn += [
        np.array([(x - r, y - r), (x + r, y + r)])
        for kind in ("roller", "pivot", "hole", "bore")
        for x, y, r in circles(svg, kind)
    ]
    every = np.concatenate(drawn)
    assert every.min() > 8.0
    assert np.all(every.max(axis=0) < [width - 8.0, high - 8.0])


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", CASES)
def test_every_row_has_its_name_and_unit(name: str, width: float) -> None:
    titles = [
        known.content.replace("\u00a0", " ")
        for known in texts(sheet(CASES[name], width))
        if known.kind == "axis-title"
    ]
    begun = ("curvature of the metal (1/m)", "pressure angle (°)", "contact pressure (GPa)")
    assert [title.startswith(start) for title, start in zip(titles, begun, strict=False)] == [True] * 3
    assert titles[3:] == ["lever angle from rest (°)"]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", CASES)
def test_everything_in_the_drawing_is_named_at_every_width(name: str, width: float) -> None:
    known, svg = CASES[name], sheet(CASES[name], width)
    content, metal = contents(svg), CASES[name].metal
    for words in (
        f"roller {2e3 * metal.roller_radius:.1f} mm, at rest",
        "path of the roller centre",
        f"rocker pivot at rest, {1e3 * metal.centre_distance:.1f} mm from the lever pivot",
        f"lever pivot, bore {2e3 * metal.bore_radius:.1f} mm H7",
        "turns this way as the lever comes in",
        "0° rest",
        f"travel ends {math.degrees(metal.rest_end):.1f}°",
        *(words for words, _ in known.events),
    ):
        assert words in content
    radii = [
        known.content for known in texts(svg) if re.match(r"R \d+\.\d mm at (rest|the end)$", known.content)
    ]
    assert len(radii) == 2
    ends = [known for known in texts(svg) if known.kind == "angle" and known.content.endswith(" end")]
    assert len(ends) == 1


@pytest.mark.parametrize("width", [320.0, 390.0])
def test_every_letter_of_a_small_drawing_stands_in_it_and_in_the_list(width: float) -> None:
    svg = sheet(odd("drilled"), width)
    listed = [known.content for known in texts(svg) if known.kind == "letter"]
    drawn = [known.content for known in texts(svg) if known.kind in ("label", "dimension")]
    assert listed == list("abcdefghi")
    assert sorted(known for known in drawn if len(known) == 1) == listed
    assert "2 holes 1.8 mm hole 3.0 mm" in contents(svg).replace(" h ", " ")


def test_wide_drawing_has_words_and_no_list() -> None:
    assert "letter" not in classes(sheet(BRAKE, 900.0))
    assert "letter" in classes(sheet(BRAKE, 390.0))


def test_leaders_do_not_run_through_angles_or_radii() -> None:
    for width in WIDTHS:
        for known in CASES.values():
            svg = sheet(known, width)
            leaders = [shapely.LineString(points_of(data)) for data in paths(svg, "leader")]
            kept = [
                area.buffer(-2.0)
                for (_, area), words in zip(areas(svg), texts(svg), strict=True)
                if words.kind in ("angle", "dimension")
            ]
            assert not any(line.intersects(area) for line in leaders for area in kept)


@pytest.mark.parametrize("width", WIDTHS)
def test_themes_of_a_cam_differ_in_colours_only(width: float) -> None:
    for light, dark in (
        (sheet(BRAKE, width), sheet(BRAKE, width, DARK)),
        (
            feel_sheet("enduro-300", "clutch", width),
            feel_sheet("enduro-300", "clutch", width, DARK),
        ),
    ):
        back = dark
        for token in ("paper", "surface", "ink", "ink_2", "fitted", "proposed", "grid", "danger"):
            back = back.replace(getattr(DARK, token), getattr(LIGHT, token))
        assert back == light
        assert dark != light


def test_figure_of_a_cam_is_the_same_every_time_and_self_contained() -> None:
    svg = sheet(BRAKE)
    assert svg == drawn_sheet(BRAKE, 900.0, LIGHT)
    root = parse(svg)
    assert not [name for node in root.iter() for name in node.attrib if name.endswith(("href", "src", "id"))]
    assert "url(" not in svg


def test_plots_stand_beside_the_profile_where_there_is_room_and_under_it_elsewhere() -> None:
    for width, beside in ((900.0, False), (1600.0, True)):
        svg = sheet(BRAKE, width)
        foot = points_of(paths(svg, "outline")[0])[:, 1].max()
        assert (panes(svg)["curvature of the metal"]["y-end"] < foot) == beside


# The profile --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", CASES)
def test_outline_is_drawn_to_the_scale_of_its_bar(name: str, width: float) -> None:
    svg, metal = sheet(CASES[name], width), CASES[name].metal
    drawn = points_of(paths(svg, "outline")[0])
    # The polygon repeats its first point; paths are written to 0.01 px.
    assert np.array_equal(drawn[0], drawn[-1])
    per_metre = 1e3 * bar_px_per_mm(svg)
    (hub_x, hub_y, _) = circles(svg, "bore")[0]
    back = (drawn[:-1] - [hub_x, hub_y]) / [per_metre, -per_metre]
    outline = shapely.LinearRing(metal.outline)
    tolerance = 0.1 / per_metre  # curves leave out what nobody sees: 0.05 px, and the rounding
    assert shapely.distance(outline, shapely.points(back)).max() < tolerance
    assert shapely.distance(shapely.LinearRing(back), shapely.points(metal.outline)).max() < tolerance
    assert circles(svg, "bore")[0][2] == pytest.approx(metal.bore_radius * per_metre, abs=0.02)
    holes = [
        ((x - hub_x) / per_metre, (hub_y - y) / per_metre, r / per_metre) for x, y, r in circles(svg, "hole")
    ]
    assert np.allclose(np.reshape(holes, (-1, 3)), np.reshape(metal.holes, (-1, 3)), atol=tolerance)


@pytest.mark.parametrize("width", [390.0, 900.0, 1600.0])
@pytest.mark.parametrize("one", CAMS, ids=" ".join)
def test_rollers_touch_the_drawn_metal_and_do_not_cut_it(one: tuple[str, str], width: float) -> None:
    svg = sheet(cam_case(*one), width)
    shape = shapely.Polygon(points_of(paths(svg, "outline")[0]))
    rollers, contacts = circles(svg, "roller"), circles(svg, "contact")
    assert len(rollers) == len(contacts) >= 4
    touched = []
    for x, y, r in rollers:
        centre = shapely.Point(x, y)
        assert not shape.contains(centre)
        assert shape.distance(centre) == pytest.approx(r, abs=0.1)
        touched.append(np.asarray(shapely.shortest_line(shape, centre).coords[0]))
    # Every dot is where one of the rollers touches.
    away = np.hypot(*np.moveaxis(np.array(contacts)[:, None, :2] - np.array(touched), -1, 0))
    assert away.min(axis=-1).max() < 0.4 + 0.002 * width


def test_rollers_stand_at_the_angles_beside_them() -> None:
    # The rocker pivot turns backward about the lever pivot by the lever angle: a second road to every centre.
    known = BRAKE.metal
    svg = profile_figure(known, title="brake")
    per_metre = 1e3 * bar_px_per_mm(svg)
    hub_x, hub_y, _ = circles(svg, "bore")[0]
    centres = np.array([((x - hub_x), (hub_y - y)) for x, y, _ in circles(svg, "roller")]) / per_metre
    shown = [known.content for known in texts(svg) if known.kind == "angle"]
    angles = [float(re.match(r"[\d.]+", words)[0]) for words in shown]  # type: ignore[index]
    assert len(angles) == len(centres)
    found = []
    for theta in sorted(angles):
        psi = np.interp(math.radians(theta), known.theta, known.law.psi)
        # In the frame of the housing the roller is an arm away from the rocker pivot at (a, 0).
        apart = np.hypot(*(centres - known.centre_distance * turned(-known.sense * math.radians(theta))).T)
        row = int(np.argmin(abs(apart - known.arm)))
        assert apart[row] == pytest.approx(known.arm, abs=1.5e-4)  # the last angle is written to 0.1°
        found.append(row)
        away = np.hypot(*centres[row])
        expected = math.sqrt(
            known.centre_distance**2 + known.arm**2 - 2 * known.centre_distance * known.arm * math.cos(psi)
        )
        assert away == pytest.approx(expected, abs=1.5e-4)
    assert sorted(found) == list(range(len(centres)))


def turned(angle: float) -> FloatArray:
    """A unit vector."""
    return np.array([math.cos(angle), math.sin(angle)])


def test_radii_are_those_of_the_contact_points() -> None:
    for known in CASES.values():
        svg = sheet(known, WORDY)
        hub_x, hub_y, _ = circles(svg, "bore")[0]
        per_mm = bar_px_per_mm(svg)
        said = [
            float(words[0]) for one in texts(svg) if (words := re.findall(r"^R (\d+\.\d) mm", one.content))
        ]
        drawn = [math.dist((hub_x, hub_y), points_of(data)[1]) / per_mm for data in paths(svg, "radius")]
        assert said == pytest.approx(drawn, abs=0.06)


@pytest.mark.parametrize("width", [390.0, 900.0])
def test_words_of_a_radius_keep_off_holes(width: float) -> None:
    svg = sheet(odd("drilled"), width)
    words = [area for (_, area), one in zip(areas(svg), texts(svg), strict=True) if one.kind == "dimension"]
    holes = [shapely.Point(x, y).buffer(r) for x, y, r in circles(svg, "hole")]
    assert len(words) == 2
    assert not any(area.intersects(hole) for area in words for hole in holes)


def test_flank_takes_the_colour_of_the_role() -> None:
    for role, colour in (("fitted", LIGHT.fitted), ("proposed", LIGHT.proposed)):
        svg = profile_figure(BRAKE.metal, title="brake", role=role)  # type: ignore[arg-type]
        (flank,) = [node for node in parse(svg).iter() if node.get("class") == "flank"]
        assert flank.attrib["stroke"] == colour


# Along the flank ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("one", CAMS, ids=" ".join)
def test_curves_read_back_to_what_they_show(one: tuple[str, str]) -> None:
    known = cam_case(*one)
    svg = flank_figure(
        known.metal, known.pressure, known.limit, title="flank", events=known.events, width=900.0
    )
    theta = np.linspace(1.0, math.degrees(known.metal.rest_end) - 1.0, 60)
    shown = {
        "curvature of the metal": known.metal.curvature,
        "pressure angle": np.degrees(known.metal.alpha),
        "contact pressure": known.pressure / 1e9,
    }
    for name, values in shown.items():
        expected = np.interp(theta, np.degrees(known.metal.theta), values)
        scale = panes(svg)[name]
        step = (scale["y-high"] - scale["y-low"]) / abs(scale["y-end"] - scale["y-start"])
        # A curve is drawn to 0.05 px; across a bend it is off by the slope over as much.
        assert np.abs(values_at(svg, name, theta) - expected).max() < 0.3 * step


def test_greatest_of_every_row_is_named() -> None:
    known, content = BRAKE, contents(sheet(BRAKE))
    used = (known.metal.theta >= 0.0) & (known.metal.theta <= known.metal.rest_end)
    alpha, bend = np.degrees(known.metal.alpha), known.metal.curvature
    steep = int(np.argmax(np.where(used, np.abs(alpha), 0.0)))
    assert f"steepest: {alpha[steep]:.1f}° at {math.degrees(known.metal.theta[steep]):.1f}°" in content
    assert f"greatest: {np.nanmax(known.pressure) / 1e9:.2f} GPa at" in content
    tight = int(np.argmax(bend))
    place = f"{math.degrees(known.metal.theta[tight]):.1f}°".replace("-", "−")
    assert f"tightest round: radius {1e3 / bend[tight]:.1f} mm at {place}" in content
    assert "tightest hollow" not in content


def test_limits_are_said_and_danger_shows_only_beyond_them() -> None:
    kept, beyond = sheet(BRAKE), sheet(odd("too much"))
    assert "limit 45°" in contents(kept)
    assert "limit 1.50 GPa" in contents(kept)
    assert LIGHT.danger not in kept
    for words in ("limit ±45°", "−45°, exceeded", " 45°, exceeded", "0.50 GPa, exceeded"):
        assert words in contents(beyond)
    assert [node.attrib["stroke"] for node in parse(beyond).iter() if node.get("class") == "limit"] == [
        LIGHT.danger
    ] * 3


def test_hollow_flank_is_held_against_the_cutter() -> None:
    known = odd("hollow")
    svg = sheet(known)
    cutter = 1e3 * known.metal.cutter_radius
    assert f"cutter radius {cutter:.1f} mm, exceeded" in contents(svg)
    assert f"tightest hollow: radius {cutter / 1.02:.1f} mm" in contents(svg)
    # What is beyond a cusp is no curve.
    end = panes(svg)["curvature of the metal"]
    x = points_of(curves(svg)["curvature of the metal"][0])[:, 0]
    at_cusp = end["x-start"] + (math.degrees(0.3) - end["x-low"]) / (end["x-high"] - end["x-low"]) * (
        end["x-end"] - end["x-start"]
    )
    assert x.max() < at_cusp + 1.0
    gentle = replace(known, metal=replace(known.metal, curvature=np.full(known.metal.theta.shape, -20.0)))
    assert "cutter" not in contents(sheet(gentle))


def test_pressure_that_is_nowhere_known_leaves_an_empty_plot() -> None:
    svg = sheet(odd("never touched"))
    assert curves(svg)["contact pressure"] == [""]
    assert "contact pressure (GPa) nothing known" in contents(svg)


def test_limit_far_above_the_pressure_is_said_and_not_drawn() -> None:
    assert "limit 100.00 GPa (above)" in contents(sheet(odd("nothing happens")))


def test_events_are_drawn_in_their_shapes_in_every_row() -> None:
    kinds = [known for known in classes(sheet(BRAKE)) if known.startswith("event ")]
    assert kinds == ["event bite", "event lock-up"] * 3
    assert not [known for known in classes(sheet(odd("nothing happens"))) if known.startswith("event ")]


def test_event_off_the_flank_is_left_out_and_one_of_no_known_kind_is_a_line() -> None:
    known = replace(BRAKE, events=(("far away", 2.0), ("undefined", math.nan), ("gap 20.0 mm", 0.2)))
    svg = sheet(known)
    assert "far away" not in contents(svg)
    assert "undefined" not in contents(svg)
    assert "gap 20.0 mm" in contents(svg)
    assert not [one for one in classes(svg) if one.startswith("event ")]


# The feel -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [390.0, 900.0, 1600.0])
def test_wanted_points_are_crosses_at_their_places(width: float) -> None:
    travel, force = wanted_along(feels("enduro-300", "clutch")[1].pull, 4)
    svg = feel_sheet("enduro-300", "clutch", width)
    panel = next(node for node in parse(svg).iter() if node.get("class") == "panel")
    scale = {key: float(value) for key, value in panel.attrib.items() if re.match(r"data-[xy]-", key)}
    places = []
    for data in paths(svg, "wanted"):
        x, y, half = re.match(r"M(\S+) (\S+)h(\S+)M", data).groups()  # type: ignore[union-attr]
        places.append((float(x) + float(half) / 2.0, float(y)))
    for axis, values in (("x", 1e3 * travel), ("y", force)):
        low, high, start, end = (scale[f"data-{axis}-{part}"] for part in ("low", "high", "start", "end"))
        px = np.array(places)[:, 0 if axis == "x" else 1]
        assert low + (px - start) / (end - start) * (high - low) == pytest.approx(values, abs=0.05)
    assert [known.content for known in texts(svg) if known.kind == "key"] == ["pull", "release", "wanted"]


def test_wanted_point_beyond_the_pulls_stays_on_the_plot() -> None:
    fitted, drawn = feels("enduro-300", "brake")
    svg = feel_figure(fitted, drawn, title="far", wanted=(np.array([0.05]), np.array([400.0])))
    (cross,) = paths(svg, "wanted")
    x, y = (float(one) for one in cross[1:].split("h")[0].split())
    panel = next(node for node in parse(svg).iter() if node.get("class") == "panel")
    assert float(panel.attrib["data-x-start"]) < x < float(panel.attrib["data-x-end"])
    assert float(panel.attrib["data-y-end"]) < y < float(panel.attrib["data-y-start"])


@pytest.mark.parametrize("width", [390.0, 900.0])
def test_feel_without_wanted_points_has_no_crosses(width: float) -> None:
    fitted, drawn = feels("enduro-300", "brake")
    for wanted in (None, (np.empty(0), np.empty(0)), (np.array([math.nan]), np.array([5.0]))):
        svg = feel_figure(fitted, drawn, title="plain", width=width, wanted=wanted)
        assert paths(svg, "wanted") == []
        assert "wanted" not in contents(svg)


@pytest.mark.parametrize("one", CAMS, ids=" ".join)
def test_old_outline_stands_behind_the_new_cam_in_one_scale(one: tuple[str, str]) -> None:
    fitted, drawn = feels(*one)
    svg = feel_sheet(*one)
    per_metre = 1e3 * bar_px_per_mm(svg)
    hub_x, hub_y, _ = circles(svg, "bore")[0]
    for kind, metal in (("outline", drawn.metal), ("other", fitted.metal)):
        back = (points_of(paths(svg, kind)[0]) - [hub_x, hub_y]) / [per_metre, -per_metre]
        ring = shapely.LinearRing(metal.outline)
        assert shapely.distance(ring, shapely.points(back)).max() < 0.1 / per_metre
    (old,) = [node for node in parse(svg).iter() if node.get("class") == "other"]
    assert old.attrib["stroke"] == LIGHT.fitted
    assert "stroke-dasharray" in old.attrib
    assert "outline of the fitted cam" in contents(svg)
    known = classes(svg)
    assert known.index("other") < known.index("outline")


def test_both_pulls_are_drawn_with_their_names_and_the_force_limit() -> None:
    fitted, drawn = feels("enduro-300", "brake")
    svg = feel_figure(fitted, drawn, title="feel", limit_newton=80.0)
    labels = [node.attrib["data-label"] for node in parse(svg).iter() if "data-label" in node.attrib]
    assert labels == ["fitted", "drawn"]
    assert "force limit 80 N" in contents(svg)


def test_cam_against_itself_is_one_pull_and_one_outline() -> None:
    fitted, _ = feels("enduro-300", "brake")
    svg = feel_figure(fitted, replace(fitted, label="read"), title="same")
    assert "fitted and read" in contents(svg)
    assert overlaps(svg) == []


# What cannot be drawn -----------------------------------------------------------------------------------------


def test_figure_too_narrow_is_refused() -> None:
    for width in (319.0, math.nan):
        with pytest.raises(ValueError, match="give 320 px or more"):
            profile_figure(BRAKE.metal, title="narrow", width=width)


def test_pressure_of_another_flank_is_refused() -> None:
    with pytest.raises(ValueError, match=r"contact pressure of shape \(3,\): one value is needed"):
        cam_figure(BRAKE.metal, np.zeros(3), 1e9, title="wrong")


@pytest.mark.parametrize("name", ["outline", "flank", "pitch"])
def test_metal_without_numbers_is_refused(name: str) -> None:
    away = np.full((5, 2), np.nan)
    broken = {
        "outline": replace(BRAKE.metal, outline=away),
        "flank": replace(BRAKE.metal, flank=away),
        "pitch": replace(BRAKE.metal, pitch=away),
    }[name]
    with pytest.raises(ValueError, match=f"its {name} has points that are no numbers"):
        profile_figure(broken, title="broken")


def test_wanted_points_that_do_not_belong_together_are_refused() -> None:
    fitted, drawn = feels("enduro-300", "brake")
    for travel, force in ((np.zeros(3), np.zeros(2)), (np.zeros((2, 2)), np.zeros((2, 2)))):
        with pytest.raises(ValueError, match=r"wanted points: travel of shape .* must be \(P,\), both alike"):
            feel_figure(fitted, drawn, title="wrong", wanted=(travel, force))


def test_no_text_reads_downward() -> None:
    # Words along a line are turned by less than a right angle to either side.
    for known in CASES.values():
        turns = re.findall(r'class="dimension"[^>]*', sheet(known))
        assert len(turns) == 2
        for found in re.findall(r'transform="rotate\((\S+) ', sheet(known)):
            assert abs(float(found)) <= 90.0
