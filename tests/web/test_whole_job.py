"""One job through the whole tool in one browser: wish, find, steps, fit, measure, ride note, next proposal, sheet.

What the pages wrote is read back by the verbs, and what they show is held against the verbs' own answer. Nothing is
typed twice: each page finds what the one before it left.
"""

import hashlib
import re
from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from pullcurve.intake.jobfile import read_job
from pullcurve.parts.job import Job
from pullcurve.verbs import asking, booking, leafing
from pullcurve.verbs.jobs import demo_job
from tests.papers import readers
from tests.web.conftest import Watched, serving

NAME, WISHED = "north-12", 48
PULL = "enduro-300-brake-2.csv"
PULL_BYTES = files("pullcurve").joinpath(f"data/demo/{PULL}").read_bytes()


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Where the book will be."""
    return tmp_path / "book.sqlite"


@pytest.fixture
def window(browser: Browser, place: Path) -> Iterator[Page]:
    """A window of its own at a server with no book yet."""
    with serving(book=str(place)) as address:
        watched = Watched(browser, address, viewport={"width": 1024, "height": 768})
        yield watched.page
        watched.close()


def visited(page: Page, words: str) -> None:
    """Write a visit with the job that is open."""
    page.goto("/book?machine=1")
    expect(page.locator("#name")).to_contain_text(NAME)
    if not page.locator("form[data-form=visit]").is_visible():
        page.locator("#visit > summary").click()
    form = page.locator("form[data-form=visit]")
    form.get_by_label("What was done, and why").fill(words)
    form.locator("button.main").click()
    expect(form.locator(".done")).to_contain_text("is in the book")


def started(page: Page) -> None:
    """A machine in the book, as it came into the shop."""
    page.goto("/book")
    page.get_by_label("Who writes").fill("Ann")
    page.get_by_label("Name", exact=True).fill(NAME)
    page.locator("form[data-form=machine] button.main").click()
    expect(page.locator("#name")).to_contain_text(NAME)
    visited(page, "as it came: brake too heavy")


def found(page: Page) -> str:
    """Wish for a lighter brake, and put the nearest set's brake cam into the job."""
    page.goto("/find")
    slider = page.get_by_role("slider", name="force at lock-up, wished", exact=True)
    first = page.locator(".answer strong").first
    expect(first).to_be_visible()
    before = first.inner_text()
    slider.fill(str(WISHED))
    expect(first).not_to_have_text(before)
    cam = first.inner_text()
    page.get_by_role("button", name=f"fit {cam}", exact=True).click()
    expect(page.locator("[data-block=set]")).to_contain_text(cam)
    return cam


def built(page: Page) -> None:
    """Strip and build for the brake cam, every check ticked."""
    page.goto("/steps?task=brake-cam")
    page.locator(".step").first.wait_for()
    for box in page.locator(".step input").all():
        box.check()
    expect(page.locator("#open-head")).to_contain_text("checks are ticked")


def measured(page: Page) -> None:
    """The bench pull after the service, and what it says."""
    page.goto("/measure")
    page.locator("[data-block=numbers]").get_by_text("given").wait_for()
    page.set_input_files("#file", {"name": PULL, "mimeType": "text/csv", "buffer": PULL_BYTES})
    page.locator("#sheet svg").wait_for()
    expect(page.locator("#verdict")).not_to_be_empty()


def kept(page: Page) -> None:
    """The pull and a ride note in the book."""
    page.goto("/book?machine=1")
    page.locator("#pull > summary").click()
    form = page.locator("form[data-form=pull]")
    form.get_by_label("Measured pull (CSV)").set_input_files(
        {"name": PULL, "mimeType": "text/csv", "buffer": PULL_BYTES}
    )
    form.locator("button.main").click()
    expect(form.locator(".done")).to_contain_text("is in the book")
    page.locator("#ride > summary").click()
    form = page.locator("form[data-form=ride]")
    group = page.get_by_role("group", name="brake, force at lock-up")
    group.get_by_role("radio", name="+2, too much", exact=True).check()
    form.get_by_label("As the rider says it").fill("still too heavy downhill")
    form.locator("button.main").click()
    expect(form.locator(".done")).to_contain_text("is in the book")


def proposed(page: Page) -> None:
    """What the note teaches, as the next proposal."""
    learn = page.locator("#learn")
    learn.locator("> summary").click()
    expect(learn).to_contain_text("1 rated ride")
    learn.get_by_role("button", name="find the best set for it").click()
    learn.get_by_role("button", name="write it as a proposal").click()
    expect(learn.locator(".done")).to_contain_text("is in the book")


def handed(page: Page, file: Path) -> None:
    """The rider's sheet as it is handed over."""
    page.goto("/sheet")
    page.locator("#paper h1").wait_for()
    with page.expect_download() as waited:
        page.locator("#pdf").click()
    waited.value.save_as(file)


def test_one_job_goes_through_all_pages(window: Page, place: Path, tmp_path: Path) -> None:
    page, file = window, tmp_path / "sheet.pdf"
    page.goto("/")
    expect(page.locator("[data-block=job]")).to_have_text(demo_job().title)
    started(page)
    cam = found(page)
    built(page)
    visited(page, "lighter brake cam")
    measured(page)
    kept(page)
    proposed(page)
    handed(page, file)

    with booking.book_at(str(place)) as book:
        known = leafing.timeline(book, NAME)
        text = leafing.job_on(book, NAME, date.today())[2]
        learned = leafing.learned(book, NAME, date.today())
        next_cams = sorted(leafing.exchanges(learned, leafing.find_learned(learned)))
    ridden = job_of(text, tmp_path)
    assert [one.words for one in known.visits] == ["as it came: brake too heavy", "lighter brake cam"]
    kinds = [line.kind for line in known.lines]
    assert sorted(kinds) == ["proposal", "pull", "ride"]
    lines = {line.kind: line for line in known.lines}
    assert lines["pull"].told["sha256"] == hashlib.sha256(PULL_BYTES).hexdigest()
    assert lines["ride"].told["points"] == {"brake.force_lock": 2}
    assert sorted(lines["proposal"].told["cams"].values()) == next_cams

    # The cam is the one that the verb finds for the wish, exchanged alone, and it is lighter by what the verb says.
    wishing = demo_job().model_dump(exclude_unset=True)
    wishing["wishes"].setdefault("brake", {})["force_lock_newton"] = WISHED
    answer = asking.find_sets(Job.model_validate(wishing), most=1).levers[0].answers[0]
    assert answer.cams["brake"].id == cam
    assert ridden.fitted == asking.refitted(demo_job(), {"brake": answer.cams["brake"]}).fitted
    facts = readers.page_facts(file)
    assert "A4" in facts["Page size"] and facts["Pages"] == "1"
    paper = readers.page_text(file)
    assert cam in paper and demo_job().title in paper
    brake = asking.pull_levers(ridden).pull.brake
    assert brake is not None
    assert f"{float(brake.force_lock.ravel()[0]):.0f}" in paper


def job_of(text: str, folder: Path) -> Job:
    """A job from the text that the book keeps."""
    path = folder / "kept.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def test_a_stranger_finds_the_lighter_clutch_by_what_the_page_says(window: Page) -> None:
    """Only names that stand on the page are used; nine presses, at some seconds each, are well under two minutes."""
    page, presses = window, 0

    def press(name: str) -> None:
        nonlocal presses
        presses += 1
        page.get_by_role("button", name=re.compile(f"^{name}")).first.click()

    page.goto("/")
    for name in ("next", "next", "done", "clutch lever"):
        press(name)
    heavy = page.locator("#readouts tr", has_text="peak force")
    before = heavy.inner_text()
    for _ in range(4):  # the rack is finely stepped: fewer steps are nothing that one would feel
        press("less lift")
    expect(page.locator("#sentence")).to_contain_text("lighter")
    assert heavy.inner_text() != before
    told = page.locator("#warnings").inner_text()
    assert "Check first (clutch, heavy)" in told
    page.get_by_role("link", name="swap", exact=True).click()
    page.locator("#helping li").first.wait_for()
    page.get_by_label("Complaint, as it is said").fill("clutch too heavy")
    page.keyboard.press("Enter")
    best = asking.swap_cam(demo_job(), "clutch too heavy").helping[0]
    expect(page.locator(".answer .on").first).to_have_text(best.on.id)
    expect(page.locator(".answer .words").first).to_contain_text("lighter")
    presses += 1
    page.locator(".answer .fit").first.click()
    expect(page.locator("[data-block=set]")).to_contain_text(best.on.id)
    assert presses <= 9
