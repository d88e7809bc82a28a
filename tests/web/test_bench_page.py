"""The bench in a real browser: the lever is dragged, cams are stepped, numbers are those of the pull verb."""

import os
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect

from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.loop import LeverPull
from pullcurve.verbs import asking, jobs
from pullcurve.verbs.asking import Pulled
from pullcurve.verbs.posing import bench_view
from tests.web.conftest import Watched

DEMO = jobs.demo_job()
SIZES = {390: 844, 1024: 768, 1920: 1080}
LIGHTER = "brake-in0-tu0.0-st7.5"
TOURED = "localStorage.setItem('pullcurve.toured', 'true')"
PICTURES = os.environ.get("PULLCURVE_PICTURES")
"""Folder where the pictures are kept; without it they are made, looked over by the tests, and thrown away."""


@pytest.fixture
def bench(page: Page) -> Page:
    """The bench with the demo job, the tour put away."""
    page.add_init_script(TOURED)
    return opened(page, "/")


def opened(page: Page, path: str) -> Page:
    """A page of the bench, once everything is drawn."""
    page.goto(path)
    page.locator("#bench[aria-busy=false]").wait_for()
    page.locator("#mechanism-view .grab").wait_for()
    return page


@cache
def fine(ids: tuple[str, ...] = ()) -> Pulled:
    """The pull verb's answer at many stations."""
    cams = asking.with_cams(DEMO, asking.cams_named(DEMO, ids)) if ids else None
    return asking.pull_levers(DEMO, cams, stations=2048)


def at(lever: LeverPull, travel_mm: float, values: FloatArray) -> float:
    """A curve of the pull verb at a travel."""
    return float(np.interp(travel_mm * 1e-3, lever.curves.travel, values))


def slider(page: Page) -> Locator:
    """The lever as a reader of the page finds it."""
    return page.get_by_role("slider")


def travel(page: Page) -> float:
    """Where the lever stands [mm]."""
    return float(slider(page).get_attribute("aria-valuenow") or "nan")


def settled(page: Page) -> None:
    """Wait until two frames are drawn."""
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def finger(page: Page) -> tuple[float, float]:
    """The blade's tip, px: of its outline the point that is farthest left."""
    x, y = page.evaluate(
        "() => { const path = document.querySelector('.grab .handle'); const whole = path.getTotalLength();"
        " const points = Array.from({ length: 200 }, (_, step) =>"
        " path.getPointAtLength((step * whole) / 200).matrixTransform(path.getScreenCTM()));"
        " const tip = points.reduce((one, other) => (other.x < one.x ? other : one)); return [tip.x, tip.y]; }"
    )
    return x + 2.0, y


def drag(page: Page, down: float, *, keep: bool = False) -> None:
    """Pull the lever down by some px, in small moves; with ``keep`` the hand stays on it."""
    x, y = finger(page)
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 13):
        page.mouse.move(x, y + down * step / 12.0)
    settled(page)
    if not keep:
        page.mouse.up()


def cursor(page: Page) -> float:
    """Where the cursor of the plot stands [mm], from its own line."""
    known = page.evaluate(
        "() => ({ line: document.querySelector('#plot-view .cursor').getAttribute('d'),"
        " dot: Number(document.querySelector('#plot-view .dot').getAttribute('cx')) })"
    )
    line = float(re.match(r"M([\d.]+)", known["line"]).group(1))  # type: ignore[union-attr]
    assert line == pytest.approx(known["dot"], abs=0.02)
    return line


def told(page: Page, name: str) -> float:
    """The number of a label in the drawing."""
    text = page.locator(f"#mechanism-view .label.{name} .number").first.text_content() or ""
    return float(text.replace("−", "-"))


# The lever in the hand --------------------------------------------------------------------------------------


def test_opens_on_the_demo_job(bench: Page) -> None:
    expect(bench.locator('[data-block="job"]')).to_have_text(DEMO.title)
    expect(bench.locator("#sentence")).to_have_text("As fitted.")
    expect(bench.get_by_role("button", name="brake lever")).to_have_attribute("aria-pressed", "true")
    assert bench.locator("#mechanism-view .cam").count() == 1
    assert travel(bench) == 0.0


def test_drag_moves_lever_cursor_and_numbers_as_one(bench: Page) -> None:
    before = cursor(bench)
    drag(bench, 40.0, keep=True)
    moved = travel(bench)
    assert moved > 5.0
    theta = np.degrees(moved / DEMO.unit.levers[0].finger_radius_mm)
    for part in ("lever-edge", "cam"):
        turn = bench.locator(f"#mechanism-view g:has(> .{part})").get_attribute("transform") or ""
        assert -float(re.findall(r"-?[\d.]+", turn)[0]) == pytest.approx(theta, abs=0.02)
    assert cursor(bench) > before
    assert float(bench.locator("#plot-view").get_attribute("data-travel") or "nan") == pytest.approx(
        moved, abs=0.01
    )
    bench.mouse.up()
    settled(bench)
    assert travel(bench) == pytest.approx(moved, abs=0.01)


@pytest.mark.parametrize("kind", ["brake", "clutch"])
@pytest.mark.parametrize("share", [0.2, 0.5, 0.85])
def test_numbers_at_a_travel_are_those_of_the_pull_verb(bench: Page, kind: str, share: float) -> None:
    row = 0 if kind == "brake" else 1
    lever = fine().pull.levers[row]
    asked = share * float(lever.curves.travel[-1]) * 1e3
    opened(bench, f"/?lever={kind}&travel={asked:.2f}")
    where = travel(bench)
    assert where == pytest.approx(asked, abs=0.01)
    curves = lever.curves
    rocker = curves.rocker(kind)
    assert rocker is not None
    assert told(bench, "main") == pytest.approx(at(lever, where, curves.pull), abs=0.6)
    assert told(bench, "note") == pytest.approx(at(lever, where, curves.release), abs=0.6)
    gap = bench.locator("#mechanism-view .label", has_text="gap").locator(".number").text_content()
    assert float(gap or "nan") == pytest.approx(at(lever, where, curves.gap) * 1e3, abs=0.06)
    pressure = bench.locator("#mechanism-view .label", has_text="bar").locator(".number").text_content()
    assert float(pressure or "nan") == pytest.approx(at(lever, where, rocker.load.pressure) * 1e-5, abs=0.6)
    spoken = slider(bench).get_attribute("aria-valuetext") or ""
    assert spoken.startswith(f"travel {where:.1f} mm, pull {at(lever, where, curves.pull):.0f} N")


def test_dragging_asks_the_server_for_nothing(bench: Page) -> None:
    asked: list[str] = []
    bench.wait_for_load_state("networkidle")
    bench.on("request", lambda request: asked.append(request.url))
    drag(bench, 60.0)
    drag(bench, -30.0)
    slider(bench).focus()
    bench.keyboard.press("ArrowDown")
    settled(bench)
    assert travel(bench) > 1.0
    assert asked == []


def test_plot_drags_the_lever_too(bench: Page) -> None:
    box = bench.locator("#plot-view").bounding_box()
    assert box is not None
    bench.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 100.0)
    bench.mouse.down()
    bench.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 100.0, steps=5)
    settled(bench)
    bench.mouse.up()
    assert travel(bench) > 15.0
    assert cursor(bench) == pytest.approx(0.6 * box["width"], abs=1.5)


def test_lever_stops_at_both_ends(bench: Page) -> None:
    drag(bench, 600.0)
    assert travel(bench) == pytest.approx(float(fine().pull.levers[0].curves.travel[-1]) * 1e3, abs=0.01)
    drag(bench, -600.0)
    assert travel(bench) == 0.0


def test_arrow_keys_move_the_lever(bench: Page) -> None:
    slider(bench).focus()
    for key, least, most in (
        ("ArrowDown", 0.4, 0.6),
        ("PageDown", 5.0, 6.0),
        ("ArrowUp", 4.5, 5.5),
        ("End", 25.0, 40.0),
    ):
        bench.keyboard.press(key)
        settled(bench)
        assert least < travel(bench) < most
        assert float(bench.locator("#plot-view").get_attribute("data-travel") or "nan") == pytest.approx(
            travel(bench)
        )
    bench.keyboard.press("Home")
    settled(bench)
    assert travel(bench) == 0.0


def test_everything_is_reached_with_the_tab_key(bench: Page) -> None:
    reached = set()
    for _ in range(60):
        bench.keyboard.press("Tab")
        reached.add(
            bench.evaluate(
                "() => document.activeElement.getAttribute('role') || document.activeElement.dataset.step"
                " || document.activeElement.id || document.activeElement.textContent.trim()"
            )
        )
    assert {
        "slider",
        "brake-stroke_mm--1",
        "brake-stroke_mm-1",
        "clutch lever",
        "pressure",
        "units",
    } <= reached


def test_finger_on_glass_drags_and_the_page_stays(browser: Browser, served: str) -> None:
    """Touches as the browser's own input makes them, so that touch-action is honoured."""
    watched = Watched(browser, served, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = watched.page
    page.add_init_script(TOURED)
    opened(page, "/")
    session = watched.context.new_cdp_session(page)
    x, y = finger(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        session.send(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": a, "y": b} for a, b in points]}
        )

    touch("touchStart", (x, y))
    for step in range(1, 11):
        touch("touchMove", (x, y + 3.0 * step))
    settled(page)
    assert travel(page) > 5.0
    assert page.evaluate("() => scrollY") == 0
    touch("touchEnd")
    watched.close()


# Cams in hand -----------------------------------------------------------------------------------------------


def step(page: Page, name: str) -> None:
    """Press a step and wait until the answer is drawn."""
    before = page.locator('[data-block="set"]').text_content() or ""
    page.locator(f'[data-step="{name}"]').click()
    expect(page.locator('[data-block="set"]')).not_to_have_text(before)


def test_a_step_puts_the_next_cam_of_the_rack_beside_the_fitted_one(bench: Page) -> None:
    step(bench, "brake-stroke_mm--1")
    step(bench, "brake-stroke_mm--1")
    expect(bench.locator('[data-block="set"]')).to_contain_text(LIGHTER)
    view = bench_view(DEMO, (LIGHTER,))["levers"][0]
    expect(bench.locator("#sentence")).to_have_text(view["sentence"]["metric"])
    assert bench.locator("#plot-view .trace.fitted.ghost").count() == 1
    assert bench.locator("#plot-view .trace.proposed").count() == 1
    rows = {row["label"]: row for row in view["rows"] if row["main"]}
    for line in bench.locator("#readouts tbody tr").all():
        row = rows.pop(line.locator("th").inner_text())
        cells = [" ".join(cell.inner_text().split()) for cell in line.locator("td").all()]
        expected = [
            row["metric"]["fitted"],
            row["metric"]["proposed"],
            row["metric"]["change"].replace("-", "−"),
        ]
        assert [cell.replace(" ", "") for cell in cells[:3]] == [words.replace(" ", "") for words in expected]
        assert row["felt"] in cells[3]
        if row["grade"]:
            assert f"{abs(row['felt_steps']):.1f} steps" in cells[3]
    assert not rows


def test_quick_steps_are_all_counted(bench: Page) -> None:
    """Faster than the server answers: four presses are four cams, and a press on another number waits its turn."""
    bench.evaluate(
        "() => { const press = (name) => document.querySelector(`[data-step='${name}']`).click();"
        " for (let count = 0; count < 4; count += 1) press('brake-stroke_mm--1'); press('brake-take_up_mm-1'); }"
    )
    expect(bench.locator('[data-block="set"]')).to_contain_text("brake-in0-tu0.3-st6.5")
    expect(bench.locator("#sentence")).not_to_have_text("As fitted.")


def test_forces_follow_the_proposed_cam(bench: Page) -> None:
    opened(bench, f"/?with={LIGHTER}&travel=20")
    lever = fine((LIGHTER,)).pull.levers[0]
    assert told(bench, "main") == pytest.approx(at(lever, travel(bench), lever.curves.pull), abs=0.6)
    dots = bench.locator("#plot-view .dot.fitted, #plot-view .dot.proposed")
    assert dots.count() == 4


def test_what_the_rack_lacks_is_hollow_and_stepped_over(page: Page) -> None:
    """One lever for everything: clutch and assist cams have two reaches, brake cams five."""
    page.add_init_script(TOURED)
    opened(page, "/")
    page.evaluate(
        "async () => { const { adopt } = await import('/static/store.js');"
        " adopt(await (await fetch('/api/jobs/demo/enduro-125')).json()); }"
    )
    reach = page.get_by_role("group", name="lever reach")
    expect(reach.locator(".tick.lacking")).to_have_count(3)
    expect(reach.locator(".tick")).to_have_count(5)
    step(page, "lever-reach_deg-1")
    expect(page.locator('[data-block="set"]')).to_contain_text("clutch-in8")
    expect(page.locator('[data-block="set"]')).to_contain_text("brake-in8")
    expect(page.locator('[data-step="lever-reach_deg-1"]')).to_be_disabled()


def test_back_to_what_is_fitted(bench: Page) -> None:
    back = bench.get_by_role("button", name="back to what is fitted")
    expect(back).to_be_disabled()
    step(bench, "brake-stroke_mm--1")
    back.click()
    expect(bench.locator("#sentence")).to_have_text("As fitted.")
    expect(back).to_be_disabled()


def test_undo_and_redo_a_step(bench: Page) -> None:
    step(bench, "brake-stroke_mm--1")
    there = bench.locator('[data-block="set"]').text_content() or ""
    bench.get_by_role("button", name="undo").click()
    expect(bench.locator("#sentence")).to_have_text("As fitted.")
    bench.keyboard.press("Control+Shift+Z")
    expect(bench.locator('[data-block="set"]')).to_have_text(there)


def test_levers_are_switched_and_each_keeps_its_cams(bench: Page) -> None:
    step(bench, "brake-stroke_mm--1")
    bench.get_by_role("button", name="clutch lever").click()
    expect(bench.locator("#mechanism-view .cam")).to_have_count(2)
    step(bench, "clutch-lift_mm--1")
    expect(bench.locator('[data-block="set"]')).to_have_text(
        "brake-in0-tu0.0-st8.0, clutch-in0-li10.25, assist-in0-on10-fa0.40"
    )
    bench.get_by_role("button", name="brake lever").click()
    expect(bench.locator("#mechanism-view .cam.proposed")).to_have_count(1)


def test_reload_keeps_lever_travel_and_cams(bench: Page) -> None:
    bench.get_by_role("button", name="clutch lever").click()
    step(bench, "clutch-lift_mm--1")
    drag(bench, 30.0)
    known = (
        travel(bench),
        bench.locator("#sentence").inner_text(),
        bench.locator('[data-block="set"]').inner_text(),
    )
    bench.reload()
    bench.locator("#bench[aria-busy=false]").wait_for()
    expect(bench.locator("#sentence")).to_have_text(known[1])
    assert travel(bench) == pytest.approx(known[0], abs=0.01)
    expect(bench.locator('[data-block="set"]')).to_have_text(known[2])
    expect(bench.get_by_role("button", name="clutch lever")).to_have_attribute("aria-pressed", "true")


def test_a_link_with_clutch_cams_shows_the_clutch(bench: Page) -> None:
    opened(bench, "/?with=clutch-in0-li9.50")
    expect(bench.get_by_role("button", name="clutch lever")).to_have_attribute("aria-pressed", "true")
    expect(bench.locator("#mechanism-view .cam.proposed")).to_have_count(2)


def test_cams_that_the_rack_lacks_are_told_and_left_out(bench: Page) -> None:
    opened(bench, "/?with=brake-in0-tu0.0-st99.0")
    expect(bench.locator("#line")).to_contain_text("is no cam of the rack")
    expect(bench.locator("#sentence")).to_have_text("As fitted.")


# Looks ------------------------------------------------------------------------------------------------------


def test_inches_are_shown_everywhere(bench: Page) -> None:
    opened(bench, f"/?with={LIGHTER}&travel=20")
    metric = told(bench, "main")
    bench.get_by_role("button", name="inch").click()
    assert told(bench, "main") * 4.4482216 == pytest.approx(metric, abs=0.8)  # NIST SP 811, appendix B.8
    words = " ".join(
        bench.locator("#mechanism-view .unit, #plot-view .unit, #readouts .unit").all_text_contents()
    )
    assert not re.search(r"\b(mm|N|bar)\b(?!·)", words.replace("N·m", ""))
    expect(bench.locator("#sentence")).to_contain_text("lbf")


def test_what_stands_below_the_force_is_chosen(bench: Page) -> None:
    bench.get_by_role("button", name="deceleration").click()
    expect(bench.locator("#plot-view .axis-title").nth(1)).to_contain_text("deceleration")
    bench.get_by_role("button", name="clutch lever").click()
    expect(bench.get_by_role("button", name="torque left")).to_have_attribute("aria-pressed", "true")


@pytest.fixture(params=[(width, theme) for width in SIZES for theme in ("light", "dark")], ids=str)
def sized(request: pytest.FixtureRequest, browser: Browser, served: str) -> Iterator[tuple[Page, str]]:
    """A window of a phone, a tablet and a wide screen, light and dark, with its name."""
    width, theme = request.param
    watched = Watched(browser, served, viewport={"width": width, "height": SIZES[width]}, color_scheme=theme)
    watched.page.add_init_script(TOURED)
    yield watched.page, f"{width}-{theme}"
    watched.close()


CUT_OFF = """() => [...document.querySelectorAll('.drawing text')]
  .filter((text) => text.textContent.trim() && getComputedStyle(text).visibility === 'visible')
  .filter((text) => {
    const box = text.getBoundingClientRect();
    const sheet = text.ownerSVGElement.getBoundingClientRect();
    return box.left < sheet.left - 1 || box.right > sheet.right + 1
      || box.top < sheet.top - 1 || box.bottom > sheet.bottom + 1;
  }).map((text) => text.textContent)"""

SMALL = """() => [...document.querySelectorAll('button, summary, nav a')].filter((one) => one.checkVisibility())
  .map((one) => [one.textContent.trim(), one.getBoundingClientRect()])
  .filter(([, box]) => box.width < 43.5 || box.height < 43.5).map(([name]) => name)"""


@pytest.mark.parametrize("kind", ["brake", "clutch"])
def test_nothing_is_cut_off_and_everything_can_be_touched(
    sized: tuple[Page, str], kind: str, tmp_path: Path
) -> None:
    page, name = sized
    cams = {"brake": "brake-in2-tu0.3-st7.5", "clutch": "clutch-in0-li9.50"}[kind]
    for travelled in ("0", "12", "32"):
        opened(page, f"/?with={cams}&lever={kind}&travel={travelled}")
        assert page.evaluate(CUT_OFF) == []
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
        assert page.evaluate(
            "() => { const table = document.getElementById('readouts');"
            " return table.scrollWidth <= table.clientWidth; }"
        )
    assert page.evaluate(SMALL) == []
    opened(page, f"/?with={cams}&lever={kind}&travel=16")
    target = Path(PICTURES or tmp_path) / f"bench-{kind}-{name}.png"
    page.screenshot(path=target, full_page=True)
    assert target.stat().st_size > 20_000


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing(bench: Page, theme: str) -> None:
    opened(bench, f"/?with={LIGHTER}&travel=15")
    bench.evaluate("(theme) => { document.documentElement.dataset.theme = theme; }", theme)
    found = Axe().run(bench)
    assert found.violations_count == 0, found.generate_report()


# First visit ------------------------------------------------------------------------------------------------


def test_tour_has_three_steps_and_comes_once(page: Page) -> None:
    opened(page, "/")
    note = page.get_by_role("dialog")
    for words, button in (("1 of 3", "next"), ("2 of 3", "next"), ("3 of 3", "done")):
        expect(note).to_contain_text(words)
        note.get_by_role("button", name=button).click()
    expect(note).to_have_count(0)
    page.reload()
    page.locator("#bench[aria-busy=false]").wait_for()
    expect(note).to_have_count(0)


def test_tour_is_put_away_with_escape_and_is_in_nobodys_way(page: Page) -> None:
    opened(page, "/")
    drag(page, 30.0)
    assert travel(page) > 4.0
    page.get_by_role("dialog").get_by_role("button", name="next").focus()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.reload()
    page.locator("#bench[aria-busy=false]").wait_for()
    expect(page.get_by_role("dialog")).to_have_count(0)
