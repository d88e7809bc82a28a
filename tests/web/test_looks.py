"""What every page owes its reader: it fits the screen, can be touched with a glove, read and reached by keyboard.

With PULLCURVE_SCREENS set to a folder, pictures of every page at three widths are left there.
"""

import os
from io import BytesIO
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from pullcurve.web.entry import entry_for
from tests.web.conftest import Watched, serving

PAGES = {
    "bench": ("/", "main svg"),
    "job": ("/job?open=rider", ".chapter[open] .origin[data-source=prior]"),
    "find": ("/find", ".answer"),
    "swap": ("/swap?complaint=clutch+too+heavy", ".answer"),
    "measure": ("/measure", "main form, main .drop, #file"),
    "cam": ("/cam", "#sheet svg"),
    "steps": ("/steps?task=brake-cam", ".step"),
    "sheet": ("/sheet", "#paper h1"),
    "book": ("/book", "#empty:not([hidden]), #machines li"),
    "help": ("/help", "article"),
    "theory": ("/help/theory", "article"),
    "api": ("/help/api", "article"),
    "missing": ("/nothing", "main p"),
}
WIDTHS = {"phone": (390, 844), "tablet": (1024, 768), "wide": (1920, 1080)}
LONG = ("theory", "api")
"""Pages of which a picture shows only what the screen shows; of a tablet, every picture does."""

LEAST = 44
"""Height and width that a finger in a glove hits [px]."""

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"],
    "resultTypes": ["violations"],
}

SMALL = """least => [...document.querySelectorAll('button, a[href], input, select, textarea, summary')].filter(one => {
  if (one.closest('p, li, td, .text') && one.matches('a:not(.button)')) return false;  // a link inside a text
  if (one.matches('.aside, .skip, [type=checkbox], [type=radio]')) one = one.closest('label') ?? one;
  if (one.matches('.aside, .skip')) return false;
  const { width, height } = one.getBoundingClientRect();
  return width && (height < least - 0.5 || (width < least - 0.5 && !one.matches('summary')));
}).map(one => one.outerHTML.slice(0, 120))"""


def shown(page: Page, name: str) -> None:
    """A page with everything on it."""
    path, sign = PAGES[name]
    page.goto(path)
    page.locator(sign).first.wait_for()
    expect(page.locator("[data-block=numbers]")).not_to_have_text("–")


def kept(page: Page, path: Path, *, whole: bool) -> None:
    """A picture of the page in 256 colours, which is a third of the bytes and looks the same."""
    with Image.open(BytesIO(page.screenshot(full_page=whole))) as picture:
        picture.convert("RGB").quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_fits_and_can_be_touched_at_every_width(page: Page, name: str) -> None:
    folder = os.environ.get("PULLCURVE_SCREENS")
    shown(page, name)
    for word, (width, height) in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function("width => document.documentElement.clientWidth === width", arg=width)
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{name} is {over} px too wide on a {word}"
        assert page.evaluate(SMALL, LEAST) == [], word
        if folder:
            page.wait_for_timeout(800)
            kept(page, Path(folder, f"{name}-{word}.png"), whole=name not in LONG and word != "tablet")


@pytest.mark.parametrize(
    ("name", "scheme"),
    [*((name, "light") for name in PAGES), ("bench", "dark"), ("find", "dark"), ("cam", "dark")],
)
def test_a_page_can_be_read_by_everybody(browser: Browser, served: str, name: str, scheme: str) -> None:
    watched = Watched(browser, served, viewport={"width": 1024, "height": 768}, color_scheme=scheme)
    shown(watched.page, name)
    assert watched.page.evaluate("document.documentElement.dataset.theme") == scheme
    found = Axe().run(watched.page, options=RULES).response["violations"]
    watched.close()
    told = [
        f"{one['id']}: {node['target']} {node['failureSummary']}" for one in found for node in one["nodes"]
    ]
    assert told == []


def test_the_passphrase_is_asked_for_and_opens_the_way(browser: Browser) -> None:
    with serving(entry_for("roller on the flank")) as address:
        watched = Watched(browser, address)
        page = watched.page
        page.goto("/find")
        for passphrase in ("wrong", "roller on the flank"):
            page.get_by_label("Passphrase").fill(passphrase)
            page.keyboard.press("Enter")
            if passphrase == "wrong":
                expect(page.get_by_role("alert")).to_contain_text("not the passphrase")
                assert Axe().run(page, options=RULES).response["violations"] == []
        expect(page.locator("[data-block=numbers]")).not_to_have_text("–")
        watched.close()


@pytest.mark.parametrize("name", ["job", "find", "cam", "steps", "sheet"])
def test_everything_is_reached_by_keyboard(page: Page, name: str) -> None:
    shown(page, name)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    wanted = page.locator("main button:visible:not([disabled]), main select:visible").count()
    reached = set()
    for _ in range(400):
        page.keyboard.press("Tab")
        active = page.evaluate_handle(
            "[document.activeElement].map(one => one.shadowRoot?.activeElement ?? one)[0]"
        )
        if active.evaluate("one => one === document.body"):
            break
        outline = active.evaluate("one => getComputedStyle(one).outlineStyle")
        assert outline != "none", active.evaluate("one => one.outerHTML")
        if active.evaluate("one => one.matches('main button, main select')"):
            reached.add(active.evaluate("one => [...document.querySelectorAll('*')].indexOf(one)"))
    assert len(reached) == wanted


def test_nothing_is_said_by_colour_alone(page: Page) -> None:
    shown(page, "cam")
    assert page.locator("#verdict").inner_text()[0] in "✓✕"
    shown(page, "job")
    words = page.locator(".origin").all_text_contents()
    assert {word.split(" ")[-1] for word in words} <= {"given", "prior", "plain", "–", "missing"}
