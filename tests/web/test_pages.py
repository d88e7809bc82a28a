"""Every page in a real browser: typed, dragged, reloaded, and asked end to end."""

import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from pullcurve.intake.jobfile import read_job
from pullcurve.verbs import asking, cams, jobs

JOB = jobs.demo_job()
STORE = "import('/static/store.js').then(({ store }) => "


def opened(page: Page, path: str, sign: str) -> None:
    """A page that has its answer."""
    page.goto(path)
    page.locator(sign).first.wait_for()
    page.wait_for_function("document.querySelector('[data-block=numbers]').textContent !== '–'")


def field(page: Page, path: str) -> Locator:
    """A field of the form by its place in the job."""
    return page.locator(f"[id='{path}']")


def job_of(page: Page) -> Any:
    """The job that the browser keeps."""
    kept = page.evaluate("Object.entries(localStorage).filter(([key]) => key.startsWith('pullcurve.job.'))")
    last = page.evaluate("JSON.parse(localStorage.getItem('pullcurve.last'))")
    return json.loads(dict(kept)[f"pullcurve.job.{last}"])["job"]


def chapter(page: Page, name: str) -> None:
    """Open a chapter of the form with one press."""
    known = page.locator(f"[data-chapter='{name}']")
    if known.get_attribute("open") is None:
        known.locator("summary").first.click()
    expect(known).to_have_attribute("open", "")


LATE = """() => {
  const asked = window.fetch;
  window.fetch = async (...what) => {
    const answer = await asked(...what);
    await new Promise((go) => setTimeout(go, 400));
    return answer;
  };
}"""
"""Lets the answers of the server come late, so that there is time to press in between."""


# Job --------------------------------------------------------------------------------------------------------------


def test_the_first_visit_opens_on_the_demo_job(page: Page) -> None:
    opened(page, "/job", ".row")
    assert page.locator("[data-block=job]").inner_text() == JOB.title
    assert page.locator("[data-block=rider]").inner_text() == JOB.rider.need
    assert page.locator("[data-block=numbers]").inner_text() == "79 given · 64 prior"
    assert field(page, "title").input_value() == JOB.title


def test_what_is_typed_survives_a_reload_and_can_be_undone(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "rider")
    field(page, "rider.mass_kg").fill("91,5")
    field(page, "title").fill("another rider")
    expect(page.locator("[data-block=job]")).to_have_text("another rider")
    page.reload()
    expect(field(page, "rider.mass_kg")).to_have_value("91.5")
    assert job_of(page)["rider"]["mass_kg"] == 91.5
    page.locator("#undo").click()
    expect(field(page, "title")).to_have_value(JOB.title)
    page.locator("#undo").click()
    expect(field(page, "rider.mass_kg")).to_have_value("84")
    page.locator("#redo").click()
    expect(field(page, "rider.mass_kg")).to_have_value("91.5")


def test_a_wrong_value_is_told_at_its_field_and_kept(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "rider")
    field(page, "rider.mass_kg").fill("8 kg")
    said = page.locator("[id='said-rider.mass_kg']")
    expect(said).to_have_text('✕ mass_kg is "8 kg"; allowed is a number, 25 to 200')
    expect(field(page, "rider.mass_kg")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#line")).to_contain_text("rider")
    page.reload()
    expect(field(page, "rider.mass_kg")).to_have_value("8 kg")
    field(page, "rider.mass_kg").fill("80")
    expect(page.locator("#faults")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden()


def test_a_value_left_out_shows_its_prior_with_its_source(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "brake_circuit")
    gap = field(page, "brake_circuit.pad_gap_mm")
    expect(gap).to_have_value("")
    expect(gap).to_have_attribute("placeholder", re.compile(r"0\.\d+"))
    origin = page.locator("[data-origin='brake_circuit.pad_gap_mm']")
    expect(origin).to_have_text("○ prior")
    origin.click()
    expect(page.locator("[data-row='brake_circuit.pad_gap_mm'] .why")).to_contain_text("prior: ")
    gap.fill("0.2")
    expect(origin).to_have_text("● given")


def test_a_given_value_becomes_a_measured_one(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "rider")
    page.locator("[data-origin='rider.mass_kg']").click()
    row = page.locator("[data-row='rider.mass_kg']")
    row.get_by_label("from at least").fill("83")
    row.get_by_label("to at most").fill("85.5")
    row.get_by_role("button", name="measured", exact=True).click()
    expect(page.locator("[data-origin='rider.mass_kg']")).to_have_text("✓ measured")
    expect(page.locator("[data-block=numbers]")).to_contain_text("1 measured")


def test_inches_are_shown_and_millimetres_are_kept(page: Page) -> None:
    opened(page, "/job", ".row")
    page.locator("#units").click()
    offset = field(page, "unit.pivot_offset_mm")
    # 30 mm and 32 mm by the inch of 25.4 mm.
    expect(offset).to_have_value("1.1811")
    offset.fill("1.25")
    assert job_of(page)["unit"]["pivot_offset_mm"] == 31.75
    expect(page.locator("[data-row='unit.pivot_offset_mm'] .unit")).to_have_text("in")
    page.locator("#units").click()
    expect(offset).to_have_value("31.75")


def test_parts_are_added_and_taken_away(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "pedal")
    page.get_by_role("button", name="add pedal").click()
    expect(page.locator("#faults")).to_contain_text("[pedal]: ratio is missing")
    page.get_by_role("button", name="take away pedal").click()
    expect(page.locator("#faults")).to_be_hidden()
    chapter(page, "surfaces")
    page.get_by_role("button", name="add to surfaces").click()
    expect(field(page, "surfaces.0.name")).to_be_visible()


def test_a_job_goes_out_as_a_file_and_comes_in_again(page: Page, tmp_path: Path) -> None:
    opened(page, "/job", ".row")
    field(page, "title").fill("from the browser")
    with page.expect_download() as waited:
        page.get_by_role("button", name="Save as a job file").click()
    path = tmp_path / "job.toml"
    waited.value.save_as(path)
    assert waited.value.suggested_filename == "from-the-browser.toml"
    assert read_job(path).model_copy(update={"title": JOB.title}) == JOB
    page.locator("#file").set_input_files(path)
    expect(page.locator("#line")).to_have_text("✓ job.toml is open.")
    expect(page.locator("#mine option")).to_have_count(2)
    path.write_bytes(b"\x00\xff")
    page.locator("#file").set_input_files(path)
    expect(page.locator("#line")).to_contain_text("job.toml: is no UTF-8 text")
    path.write_bytes(bytes(3_000_000))
    page.locator("#file").set_input_files(path)
    expect(page.locator("#line")).to_contain_text("more than 1 MB")


def test_two_browsers_have_a_job_each(page: Page, other_page: Page) -> None:
    opened(page, "/job", ".row")
    opened(other_page, "/job", ".row")
    other_page.locator("#demo").select_option("/api/jobs/demo/trials-280")
    trials = jobs.demo_job("trials-280.toml")
    expect(other_page.locator("[data-block=job]")).to_have_text(trials.title)
    field(page, "title").fill("mine")
    page.reload()
    other_page.reload()
    expect(page.locator("[data-block=job]")).to_have_text("mine")
    expect(other_page.locator("[data-block=job]")).to_have_text(trials.title)


def test_what_is_typed_while_the_server_is_away_is_kept(page: Page) -> None:
    opened(page, "/job", ".row")
    page.context.set_offline(True)
    field(page, "title").fill("typed in the tunnel")
    expect(page.locator("#line")).to_contain_text("The server does not answer")
    page.context.set_offline(False)
    expect(page.locator("[data-block=job]")).to_have_text("typed in the tunnel")
    expect(page.locator("#line")).not_to_contain_text("does not answer", timeout=10_000)
    page.reload()
    expect(field(page, "title")).to_have_value("typed in the tunnel")


def test_a_chapter_pressed_while_the_form_is_set_anew_opens(page: Page) -> None:
    opened(page, "/job", ".row")
    page.evaluate(LATE)
    for name in ("rider", "brake_circuit", "motorcycle"):
        page.locator(f"[data-chapter='{name}'] > summary").hover()
        page.evaluate(STORE + "store.change('by another hand', (job) => { job.notes = `${job.notes}!`; }))")
        page.mouse.down()
        page.wait_for_timeout(900)
        page.mouse.up()
        expect(page.locator(f"[data-chapter='{name}']")).to_have_attribute("open", "")
    kept = page.locator(".chapter[open]").evaluate_all("all => all.map(one => one.dataset.chapter)")
    assert {"rider", "brake_circuit", "motorcycle"} <= set(kept)


def test_a_form_set_anew_keeps_focus_caret_and_what_is_half_typed(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "rider")
    page.locator("[data-origin='rider.mass_kg']").click()
    page.locator("[data-row='rider.mass_kg']").get_by_label("from at least").fill("83")
    need = field(page, "rider.need")
    need.click()
    need.evaluate("one => { one.wasHere = true; one.setSelectionRange(3, 5); }")
    with page.expect_response("**/form/job"):
        page.evaluate(STORE + "store.change('by another hand', (job) => { job.rider.mass_kg = 77; }))")
    expect(field(page, "rider.mass_kg")).to_have_value("77")
    kept = "one => [one.wasHere, one === document.activeElement, one.selectionStart, one.selectionEnd]"
    assert need.evaluate(kept) == [True, True, 3, 5]
    low = page.locator("[data-row='rider.mass_kg']").get_by_label("from at least")
    expect(low).to_have_value("83")
    expect(page.locator("[data-chapter='rider']")).to_have_attribute("open", "")


# Find -------------------------------------------------------------------------------------------------------------


def test_find_shows_what_the_verb_finds(page: Page) -> None:
    opened(page, "/find", ".answer")
    known = asking.find_sets(JOB, most=12)
    for lever, section in zip(known.levers, page.locator(".lever").all(), strict=True):
        best = " + ".join(cam.id for cam in lever.answers[0].cams.values())
        assert section.locator(".answer strong").first.inner_text() == best
        words = section.locator(".answer").first.locator(".words li").all_inner_texts()
        assert words == list(lever.answers[0].words)
        assert section.locator("circle").count() == int(lever.front.sum())


def test_a_wish_is_dragged_and_the_answer_follows(page: Page) -> None:
    opened(page, "/find", ".answer")
    slider = page.get_by_role("slider", name="force at lock-up, wished", exact=True)
    slider.focus()
    first = page.locator(".answer strong").first
    before = first.inner_text()
    slider.fill("48")
    expect(first).not_to_have_text(before)
    wished = job_of(page)
    assert wished["wishes"]["brake"]["force_lock_newton"] == 48
    told = asking.find_sets(type(JOB).model_validate(wished), most=1)
    expect(first).to_have_text(told.levers[0].answers[0].cams["brake"].id)
    page.reload()
    expect(slider).to_have_value("48")


def test_a_window_over_the_scatter_narrows_the_answers(page: Page) -> None:
    opened(page, "/find", ".answer")
    lever = page.locator(".lever").first
    lever.get_by_role("button", name="more").click()
    count = lever.locator(".answer").count()
    lever.locator(".cloud").scroll_into_view_if_needed()
    box = lever.locator(".cloud svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 70, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] - 50, steps=5)
    page.mouse.up()
    assert 0 < lever.locator(".answer").count() < count
    expect(lever.locator(".count")).to_contain_text("in the window")
    lever.get_by_role("button", name="show all").click()
    assert lever.locator(".answer").count() == count
    lever.locator(".window summary").click()
    lever.get_by_label("across to").fill("60")
    lever.get_by_label("across to").press("Enter")
    assert 0 < lever.locator(".answer").count() < count


def test_a_found_set_is_fitted_and_taken_back(page: Page) -> None:
    opened(page, "/find", ".answer")
    best = page.locator(".answer strong").first.inner_text()
    page.get_by_role("button", name=f"fit {best}", exact=True).click()
    expect(page.locator("[data-block=set]")).to_contain_text(best)
    page.locator("#undo").click()
    expect(page.locator("[data-block=set]")).to_contain_text("brake-in0-tu0.0-st8.5")


def test_what_no_rack_can_do_is_said_in_place(page: Page) -> None:
    opened(page, "/job", ".row")
    chapter(page, "rider")
    field(page, "rider.grip_newton").fill("31")
    opened(page, "/find", "#nothing:not([hidden])")
    expect(page.locator("#nothing")).to_contain_text("none of the")


# Swap -------------------------------------------------------------------------------------------------------------


def test_a_complaint_is_answered_with_checks_first(page: Page) -> None:
    opened(page, "/swap", "#helping li")
    page.get_by_label("Complaint, as it is said").fill("clutch too heavy")
    page.keyboard.press("Enter")
    known = asking.swap_cam(JOB, "clutch too heavy")
    expect(page.locator(".causes li")).to_have_count(len(known.complaints[0].causes))
    assert [one.inner_text() for one in page.locator(".answer .on").all()] == [
        swap.on.id for swap in known.helping[:5]
    ]
    page.reload()
    expect(page.locator(".causes li")).to_have_count(len(known.complaints[0].causes))
    page.locator(".answer .fit").first.click()
    expect(page.locator("[data-block=set]")).to_contain_text(known.helping[0].on.id)


def test_a_complaint_that_nobody_knows_is_told_with_near_ones(page: Page) -> None:
    opened(page, "/swap", "#helping li")
    page.get_by_label("Complaint, as it is said").fill("clutch too hevy")
    page.keyboard.press("Enter")
    expect(page.locator("#line")).to_contain_text("did you mean too heavy")
    page.locator("#known summary").click()
    page.get_by_role("button", name="brake soft", exact=True).click()
    expect(page.locator(".check h2")).to_have_text("brake, soft: check first, before any cam")


# Cam --------------------------------------------------------------------------------------------------------------


def test_the_sheet_of_each_cam_is_shown_with_its_check(page: Page) -> None:
    opened(page, "/cam", "#sheet svg")
    for kind in ("clutch", "assist"):
        page.get_by_role("radio", name=kind).check()
        case = cams.cam_case(JOB, kind)
        expect(page.locator("#sheet svg")).to_have_attribute(
            "aria-label", f"{kind.capitalize()} cam {case.name}"
        )
        expect(page.locator("#verdict")).to_contain_text(case.verdict.words)
    page.locator("#theme").click()
    expect(page.locator("#sheet rect").first).to_have_attribute("fill", re.compile("#12181C|#F6F4EE"))


def test_a_cam_of_the_rack_is_cut(page: Page) -> None:
    opened(page, "/cam", "#sheet svg")
    page.locator("#which").select_option("brake-in0-tu0.3-st7.5")
    expect(page.locator("#sheet svg")).to_have_attribute("aria-label", "Brake cam brake-in0-tu0.3-st7.5")
    with page.expect_download() as waited:
        page.get_by_role("button", name="DXF", exact=True).click()
    assert waited.value.suggested_filename == "brake-in0-tu0.3-st7.5.dxf"
    assert "LWPOLYLINE" in Path(waited.value.path()).read_text(encoding="utf-8")


def test_a_wanted_curve_is_sketched_and_drawn(page: Page) -> None:
    opened(page, "/cam", "#pad svg")
    page.locator(".desire").first.wait_for()
    page.locator("#pad").scroll_into_view_if_needed()
    box = page.locator("#pad svg").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 150, box["y"] + 240)
    page.mouse.down()
    page.mouse.move(box["x"] + 320, box["y"] + 170, steps=20)
    page.mouse.up()
    page.get_by_text("The sketch as numbers").click()
    points = [
        [float(one) for one in line.split()] for line in page.locator("#points").input_value().split("\n")
    ]
    assert len(points) > 3
    assert all(one[0] < other[0] and one[1] <= other[1] for one, other in pairwise(points))
    page.get_by_role("button", name="draw the cam").click()
    page.locator("#drawn svg").wait_for()
    expect(page.locator("#drawn .outcome")).to_contain_text("felt steps")
    page.reload()
    page.locator(".desire").first.wait_for()
    assert len(page.locator("#points").input_value().split("\n")) == len(points)


def test_nothing_wished_is_nothing_to_draw(page: Page) -> None:
    opened(page, "/cam", "#pad svg")
    page.get_by_role("button", name="draw the cam").click()
    expect(page.locator("#line")).to_contain_text("wishes are missing")


def test_long_work_shows_what_it_does_and_stops(page: Page) -> None:
    opened(page, "/cam", "#sheet svg")
    page.get_by_role("button", name="work out the tolerance").click()
    page.get_by_role("progressbar", name="pulling with errors").wait_for()
    page.get_by_role("button", name="stop").click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    expect(page.locator("#allowed")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden()


# Frame ------------------------------------------------------------------------------------------------------------


def test_the_job_of_an_address_goes_along(page: Page) -> None:
    opened(page, "/job", ".row")
    first = page.url.split("job=")[1].split("&")[0]
    page.locator("#demo").select_option("/api/jobs/demo/electric")
    expect(page.locator("#mine option")).to_have_count(2)
    page.get_by_role("link", name="help", exact=True).click()
    expect(page.locator("[data-block=job]")).to_have_text(jobs.demo_job("electric.toml").title)
    page.goto(f"/help?job={first}")
    expect(page.locator("[data-block=job]")).to_have_text(JOB.title)


def test_what_looks_like_markup_is_text(page: Page) -> None:
    evil = "<img src=x onerror=document.title='oops'><b>bold</b>"
    opened(page, "/job", ".row")
    field(page, "title").fill(evil)
    expect(page.locator("[data-block=job]")).to_have_text(evil)
    for path, sign in (("/job", ".row"), ("/cam", "#sheet svg"), ("/find", ".answer")):
        opened(page, path, sign)
        assert page.locator("main b, main img").count() == 0
        assert "oops" not in page.title()


def test_the_theme_is_kept(page: Page) -> None:
    page.goto("/help")
    page.locator("#theme").click()
    page.goto("/help/theory")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_a_page_that_is_not_here_says_so(page: Page) -> None:
    answer = page.goto("/nothing")
    assert answer is not None and answer.status == 404
    expect(page.locator("main")).to_contain_text("/nothing: is not here")


@pytest.mark.parametrize("name", ["tour", "theory", "nomenclature", "validation"])
def test_the_written_pages_have_no_dead_ends(page: Page, name: str) -> None:
    page.goto(f"/help/{name}")
    links = page.locator("article a[href^='/help']").evaluate_all(
        "all => all.map(one => one.getAttribute('href'))"
    )
    for link in {one.partition("#")[0] for one in links}:
        assert page.request.get(link).ok, link
    pictures = page.locator("article img").evaluate_all("all => all.map(one => one.naturalWidth)")
    assert all(width > 0 for width in pictures)
    assert page.locator("article").inner_text().count("<!--") == 0
