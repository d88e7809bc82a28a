"""The job book in a real browser: every form from typing to what is in the book, with reloads in the middle.

With PULLCURVE_SCREENS set to a folder, pictures of the page at three widths in both themes are left there.
"""

import os
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, FilePayload, Locator, Page, expect

from pullcurve.studies.history import Line, Visit
from pullcurve.verbs import booking, leafing, reminding
from tests.web.books import JOB, NAME, PULL, PULL_BYTES, STROKES, filled, picture
from tests.web.conftest import Watched, serving
from tests.web.test_looks import LEAST, RULES, SMALL, WIDTHS

WRITES = ("visit", "ride", "proposal", "pull", "photo")
READS = ("compare", "due", "learn", "due-all", "whole", "add")
PHOTO = FilePayload(name="flank.png", mimeType="image/png", buffer=picture())
CSV = FilePayload(name=PULL, mimeType="text/csv", buffer=PULL_BYTES)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled book; tests write into copies."""
    return filled(tmp_path_factory.mktemp("whole") / "book.sqlite")


@pytest.fixture
def place(whole: Path, tmp_path: Path) -> Path:
    """A filled book of this test's own."""
    return Path(shutil.copy(whole, tmp_path / "own.sqlite"))


@pytest.fixture
def served(place: Path) -> Iterator[str]:
    """A server with a filled book of this test's own."""
    with serving(book=str(place)) as address:
        yield address


def history(place: Path) -> tuple[tuple[Visit, ...], tuple[Line, ...]]:
    """What the verbs read of the machine."""
    with booking.book_at(str(place)) as book:
        known = leafing.timeline(book, NAME)
        return known.visits, known.lines


def last(place: Path, kind: str) -> Line:
    """The last line of a kind that was written."""
    return max((line for line in history(place)[1] if line.kind == kind), key=lambda line: line.id)


def opened(page: Page, *chapters: str, who: str | None = "Ann") -> None:
    """The page of the machine, with some chapters open."""
    page.goto("/book?machine=1")
    page.locator(".told").first.wait_for()
    expect(page.locator("[data-block=numbers]")).not_to_have_text("–")
    if who is not None:
        page.get_by_label("Who writes").fill(who)
    for one in chapters:
        page.locator(f"#{one} > summary").click()


def form(page: Page, name: str) -> Locator:
    """A form by what it writes."""
    return page.locator(f"form[data-form={name}]")


def wrote(page: Page, name: str) -> Locator:
    """Press the button of a form, and what is said then."""
    form(page, name).locator("button.main").click()
    done = form(page, name).locator(".done")
    expect(done).to_contain_text("is in the book")
    return done


def rate(page: Page, read_out: str, name: str) -> Locator:
    """One of the seven steps of a read-out."""
    group = page.get_by_role("group", name=read_out)
    return group.get_by_role("radio", name=name, exact=True)


# An empty book ------------------------------------------------------------------------------------------------


def test_an_empty_book_says_so_and_the_first_machine_starts_it(browser: Browser, tmp_path: Path) -> None:
    place = tmp_path / "new" / "book.sqlite"
    with serving(book=str(place)) as address:
        watched = Watched(browser, address)
        page = watched.page
        page.goto("/book")
        expect(page.locator("#empty")).to_have_text(
            "Nothing is in the book yet; the first machine starts it."
        )
        assert Axe().run(page, options=RULES).response["violations"] == []
        page.get_by_label("Name", exact=True).fill(NAME)
        page.get_by_label("Whose it is").fill("enduro")
        form(page, "machine").locator("button.main").click()
        expect(form(page, "machine").locator(".said")).to_contain_text("who is")
        expect(page.get_by_label("Who writes")).to_be_focused()
        assert not place.exists()
        page.get_by_label("Who writes").fill("Ann")
        page.reload()
        expect(page.get_by_label("Name", exact=True)).to_have_value(NAME)
        expect(page.get_by_label("Who writes")).to_have_value("Ann")
        form(page, "machine").locator("button.main").click()
        expect(page.locator("#name")).to_contain_text(NAME)
        expect(page.locator("#nothing")).to_be_visible()
        page.locator("#visit > summary").click()
        form(page, "visit").locator("button.main").click()
        expect(page.locator("#visit-1")).to_contain_text(f"on it: brake-in0-tu0.0-st{STROKES[0]}")
        watched.close()
    with booking.book_at(str(place)) as book:
        known = leafing.timeline(book, NAME)
        assert known.machine.owner == "enduro"
        assert [(one.title, one.day, one.who) for one in known.visits] == [(JOB.title, date.today(), "Ann")]


# Every form, end to end ---------------------------------------------------------------------------------------


def test_a_visit_goes_into_the_book_with_a_reload_in_the_middle(page: Page, place: Path) -> None:
    opened(page, "visit")
    expect(page.locator("#visit-changes")).to_contain_text("brake-in0-tu0.0-st7.5 → brake-in0-tu0.0-st8.5")
    of = form(page, "visit")
    of.get_by_label("Day").fill("2026-06-01")
    of.get_by_label("mud").fill("2,5")
    of.get_by_label("screws of cams, pin and cover").check()
    of.get_by_label("Fresh").select_option("DOT 5.1")
    page.reload()
    expect(of.get_by_label("screws of cams, pin and cover")).to_be_checked()
    expect(of.get_by_label("Day")).to_have_value("2026-06-01")
    expect(of.get_by_label("Fresh")).to_have_value("DOT 5.1")
    of.get_by_label("Boiling point, as measured").fill("251")
    of.get_by_label("Mark of the control unit").fill("second unit")
    of.get_by_label("What was done, and why").fill("back to the first cam")
    expect(wrote(page, "visit")).to_contain_text("Visit 4 is in the book; next due")
    expect(page.locator("#visit-4")).to_contain_text("back to the first cam")
    expect(of.get_by_label("mud")).to_have_value("")
    visit = history(place)[0][-1]
    assert (visit.day, visit.words, visit.unit) == (date(2026, 6, 1), "back to the first cam", "second unit")
    assert (visit.hours["mud"], visit.who) == (2.5, "Ann")
    assert {one.item for one in visit.services} == {"screws", "fluid", "boiling point"}
    assert visit.cams["brake"] == "brake-in0-tu0.0-st8.5"


def test_two_changed_cams_ask_for_a_reason_where_it_is_typed(page: Page, place: Path) -> None:
    opened(page, "visit")
    page.evaluate("""import('/static/store.js').then(({ store }) => store.change('two', (job) => {
        job.fitted.brake.stroke_mm = 7.0; job.fitted.clutch.lift_mm = 10.0; }))""")
    expect(page.locator("#visit-changes")).to_contain_text("clutch-in0-li10.50 → clutch-in0-li10.00")
    reason = page.get_by_label("Reason for more than one change")
    expect(reason).to_be_hidden()
    form(page, "visit").locator("button.main").click()
    expect(form(page, "visit").locator(".said")).to_contain_text("makes 2 changes at once")
    expect(reason).to_be_focused()
    assert Axe().run(page, options=RULES).response["violations"] == []
    reason.fill("both were asked for")
    page.reload()
    expect(reason).to_have_value("both were asked for")
    wrote(page, "visit")
    assert history(place)[0][-1].reason == "both were asked for"
    expect(page.locator("#visit-4")).to_contain_text("reason: both were asked for")
    expect(reason).to_be_hidden()


def test_a_ride_note_goes_into_the_book_with_a_reload_in_the_middle(page: Page, place: Path) -> None:
    opened(page, "ride")
    form(page, "ride").locator("button.main").click()
    expect(form(page, "ride").locator(".said")).to_contain_text("says nothing")
    rate(page, "brake, force at lock-up", "−2, too little").check()
    page.keyboard.press("ArrowRight")
    expect(rate(page, "brake, force at lock-up", "−1, a little too little")).to_be_checked()
    rate(page, "clutch, peak force", "+3, far too much").check()
    page.reload()
    expect(rate(page, "clutch, peak force", "+3, far too much")).to_be_checked()
    rate(page, "brake, travel to bite", "0, just right").check()
    rate(page, "brake, gap at rest", "+1, a little too much").check()
    page.get_by_role("group", name="brake, gap at rest").get_by_label("not rated").check()
    form(page, "ride").get_by_label("As the rider says it").fill("müde Hand")
    wrote(page, "ride")
    line = last(place, "ride")
    points = {"brake.force_lock": -1, "clutch.force_peak": 3, "brake.travel_bite": 0}
    assert (line.told["points"], line.words, line.day) == (points, "müde Hand", date.today())
    shown = page.locator(f"#ride-{line.id}")
    expect(shown).to_contain_text("clutch, peak force: +3 far too much")
    expect(rate(page, "clutch, peak force", "+3, far too much")).not_to_be_checked()


def test_a_proposal_goes_into_the_book(page: Page, place: Path) -> None:
    opened(page, "proposal")
    page.get_by_label("brake cam").select_option("brake-in0-tu0.3-st7.5")
    form(page, "proposal").get_by_label("Why").fill("sooner, not heavier")
    page.reload()
    expect(page.get_by_label("brake cam")).to_have_value("brake-in0-tu0.3-st7.5")
    wrote(page, "proposal")
    line = last(place, "proposal")
    assert line.told == {"cams": {"brake": "brake-in0-tu0.3-st7.5"}, "source": "workshop"}
    shown = page.locator(f"#proposal-{line.id}")
    expect(shown).to_contain_text("sooner, not heavier")
    shown.get_by_role("link", name="on the bench").click()
    expect(page.locator("main svg").first).to_be_visible()
    assert "with=brake-in0-tu0.3-st7.5" in page.url


def test_a_bench_pull_goes_into_the_book_and_a_wrong_one_does_not(page: Page, place: Path) -> None:
    opened(page, "pull")
    before = len(history(place)[1])
    of = form(page, "pull")
    of.locator("button.main").click()
    expect(of.locator(".said")).to_contain_text("choose the file")
    of.get_by_label("Measured pull (CSV)").set_input_files(
        {"name": "no.csv", "mimeType": "text/csv", "buffer": b"a\n1\n2\n"}
    )
    of.locator("button.main").click()
    expect(of.locator(".said")).to_contain_text("✕ no.csv")
    assert len(history(place)[1]) == before
    of.get_by_text("Columns and units").click()
    of.get_by_label("Columns").fill("travel")
    of.locator("button.main").click()
    expect(of.locator(".said")).to_contain_text('columns is "travel"; allowed is NAME=VALUE')
    of.get_by_label("Columns").fill("")
    of.get_by_label("Measured pull (CSV)").set_input_files(CSV)
    of.get_by_label("Words").fill("after bleeding")
    expect(of.locator(".chosen")).to_have_text(f"chosen: {PULL}")
    page.reload()
    expect(of.locator(".chosen")).to_have_text(f"chosen: {PULL}")
    of.get_by_label("also fit the numbers").check()
    expect(wrote(page, "pull")).to_contain_text("The pull tells")
    line = last(place, "pull")
    assert (line.told["file"], line.told["lever"], line.words) == (PULL, "brake", "after bleeding")
    with page.expect_download() as waited:
        page.locator(f"#pull-{line.id} a").click()
    assert waited.value.suggested_filename == PULL
    assert Path(waited.value.path()).read_bytes() == PULL_BYTES


def test_a_photo_goes_into_the_book_and_is_shown(page: Page, place: Path) -> None:
    opened(page, "photo")
    of = form(page, "photo")
    field = of.get_by_label("Photo (JPEG, PNG or WebP)")
    field.set_input_files({"name": "drawn.png", "mimeType": "image/png", "buffer": b"<svg/>"})
    of.locator("button.main").click()
    expect(of.locator(".said")).to_contain_text("drawn.png: is no photo; allowed is JPEG, PNG or WebP")
    field.set_input_files({"name": "huge.jpg", "mimeType": "image/jpeg", "buffer": bytes(30_000_001)})
    expect(of.locator(".said")).to_contain_text("huge.jpg: has 30 MB")
    expect(of.locator(".chosen")).to_be_hidden()
    field.set_input_files(PHOTO)
    of.get_by_label("What it shows").fill("pit on the other flank")
    wrote(page, "photo")
    line = last(place, "photo")
    assert line.words == "pit on the other flank"
    image = page.get_by_role("img", name="pit on the other flank")
    image.scroll_into_view_if_needed()
    page.wait_for_function("one => one.naturalWidth === 48", arg=image.element_handle())


# What is read -------------------------------------------------------------------------------------------------


def test_two_dates_stand_beside_each_other(page: Page) -> None:
    opened(page, "compare")
    answer = page.locator("#compare .answer")
    expect(answer).to_contain_text("2026-03-01 (visit 1) and 2026-05-14 (visit 3)")
    expect(answer).to_contain_text("brake: brake-in0-tu0.0-st8.5 → brake-in0-tu0.0-st7.5")
    row = answer.locator("tr", has=page.get_by_role("rowheader", name="brake, force at lock-up", exact=True))
    cells = row.locator("td").all_inner_texts()
    assert cells[2].startswith("−") and cells[4].startswith("−") and cells[3].startswith("felt")
    page.get_by_label("From").fill("2026-04-12")
    page.get_by_role("button", name="compare", exact=True).click()
    expect(answer).to_contain_text("2026-04-10 (visit 2) and 2026-05-14 (visit 3)")
    page.reload()
    expect(answer).to_contain_text("2026-04-10 (visit 2) and 2026-05-14 (visit 3)")
    page.get_by_label("From").fill("2020-01-01")
    page.get_by_role("button", name="compare", exact=True).click()
    expect(page.locator("#compare .said")).to_contain_text("has no visit up to 2020-01-01")


def test_inches_and_pounds_are_shown_on_request(page: Page) -> None:
    opened(page, "compare")
    row = page.locator("#compare tr", has=page.get_by_role("rowheader", name="brake, gap at bite"))
    metric = float(row.locator("td").first.inner_text().split()[0])
    page.locator("#units").click()
    expect(row.locator("td").first).to_contain_text("in")
    # 25.4 mm an inch (ISO 31-1, annex); both are rounded to what is shown.
    assert float(row.locator("td").first.inner_text().split()[0]) == pytest.approx(metric / 25.4, abs=0.007)


def test_what_is_due_is_said_with_signs_and_words(page: Page, place: Path) -> None:
    opened(page, "due", "due-all")
    page.get_by_label("On", exact=True).fill("2026-06-20")
    with booking.book_at(str(place)) as book:
        known = reminding.due(book, NAME, date(2026, 6, 20))
    lines = page.locator("#due .answer li")
    expect(lines).to_have_count(len(known.items) + 1)
    expect(page.locator("#due [data-state=good]")).not_to_have_count(0)
    signs = {"due": "✕", "soon": "!", "good": "✓"}
    for row, one in enumerate(known.items):
        expect(lines.nth(row)).to_contain_text(f"{signs[one.state]} {one.words}")
    expect(lines.last).to_contain_text("✓ brake fluid: DOT 4")
    page.get_by_role("link", name="steps for lever pin and rocker posts").click()
    expect(page.locator("[data-block=job]")).to_have_text(JOB.title)
    assert "task=grease" in page.url
    page.go_back()
    expect(page.locator("#due-all li")).to_contain_text("✕ due since 2026-05-14")
    page.get_by_label("By", exact=True).fill("2026-01-01")
    expect(page.locator("#due-all li")).to_have_text("✓ Nothing is due.")


def test_the_notes_teach_and_the_best_set_becomes_a_proposal(page: Page, place: Path) -> None:
    opened(page, "learn")
    learn = page.locator("#learn")
    expect(learn).to_contain_text("3 rated rides; doubt now")
    expect(learn).to_contain_text("What one ride would teach most next")
    expect(learn.locator(".reasons li").last).to_contain_text("as it is: doubt")
    learn.get_by_role("button", name="find the best set for it").click()
    learn.get_by_role("button", name="write it as a proposal").click()
    expect(learn.locator(".done")).to_contain_text("is in the book")
    line = last(place, "proposal")
    with booking.book_at(str(place)) as book:
        known = leafing.learned(book, NAME, date.today())
    assert line.told["source"] == "learned"
    assert sorted(line.told["cams"].values()) == sorted(leafing.exchanges(known, leafing.find_learned(known)))
    expect(page.locator(f"#proposal-{line.id}")).to_contain_text("learned from the ride notes")
    learn.get_by_role("button", name="take the learned wishes").click()
    expect(page.locator("[data-block=set]")).to_contain_text(f"brake-in0-tu0.0-st{STROKES[2]}")
    page.locator("#undo").click()
    expect(page.locator("[data-block=set]")).to_contain_text(f"brake-in0-tu0.0-st{STROKES[0]}")


def test_the_job_of_a_visit_is_opened_and_the_other_brought_back(page: Page) -> None:
    opened(page)
    page.get_by_role("button", name="open the job of visit 2").click()
    expect(page.locator("[data-block=set]")).to_contain_text(f"brake-in0-tu0.0-st{STROKES[1]}")
    expect(page.locator("#visit-2 .done")).to_contain_text("undo brings the other one back")
    page.locator("#undo").click()
    expect(page.locator("[data-block=set]")).to_contain_text(f"brake-in0-tu0.0-st{STROKES[0]}")


def test_the_read_outs_of_a_visit_are_those_that_were_written(page: Page, place: Path) -> None:
    opened(page)
    page.locator("#visit-3 summary").click()
    force = history(place)[0][-1].readouts["brake"]["force_lock"]
    row = page.locator("#visit-3 tr", has=page.get_by_role("rowheader", name="brake, force at lock-up"))
    assert force is not None
    expect(row.locator("td")).to_have_text(f"{force:.0f} N")
    page.locator("#visit-3 summary").click()
    page.locator("#visit-3 summary").click()
    expect(page.locator("#visit-3 table")).to_have_count(1)


def test_search_leads_to_the_line(page: Page) -> None:
    page.goto("/book")
    page.get_by_label("Search").fill("stroke 7.5")
    page.keyboard.press("Enter")
    expect(page.locator("#found h2")).to_have_text("2 found")
    page.reload()
    page.locator("#found button", has_text="visit 3").click()
    expect(page.locator("#visit-3")).to_be_focused()
    page.get_by_label("Search").fill("nobody wrote this")
    page.keyboard.press("Enter")
    expect(page.locator("#found h2")).to_have_text("Nothing in the book holds these words.")


def test_machines_come_page_by_page(page: Page, place: Path) -> None:
    with booking.book_at(str(place)) as book:
        entry = booking.entry(date(2026, 3, 1), "Ann", "2026-06-30T12:00:00Z")
        for number in range(60):
            booking.add_machine(book, f"west-{number:02d}", "", entry)
    page.goto("/book")
    machines = page.locator("#machines li")
    expect(machines).to_have_count(50)
    page.get_by_role("button", name="more machines").click()
    expect(machines).to_have_count(62)
    expect(page.get_by_role("button", name="more machines")).to_be_hidden()


def test_the_whole_book_is_saved(page: Page) -> None:
    opened(page, "whole")
    with page.expect_download() as waited:
        page.get_by_role("link", name="save the whole book").click()
    assert waited.value.suggested_filename.endswith(".zip")
    expect(page.locator("#whole")).to_contain_text("pullcurve book import")


# What is typed ------------------------------------------------------------------------------------------------


def test_a_cleared_form_is_brought_back(page: Page) -> None:
    opened(page, "ride")
    words = form(page, "ride").get_by_label("As the rider says it")
    words.fill("typed by mistake?")
    rate(page, "clutch, peak force", "−1, a little too little").check()
    form(page, "ride").get_by_role("button", name="clear").click()
    expect(words).to_have_value("")
    form(page, "ride").get_by_role("button", name="bring back").click()
    expect(words).to_have_value("typed by mistake?")
    expect(rate(page, "clutch, peak force", "−1, a little too little")).to_be_checked()
    page.reload()
    expect(words).to_have_value("typed by mistake?")


def test_each_machine_has_drafts_of_its_own(page: Page) -> None:
    opened(page, "visit")
    words = form(page, "visit").get_by_label("What was done, and why")
    words.fill("for north-12")
    page.locator("#machines button", has_text="south-01").click()
    expect(page.locator("#name")).to_contain_text("south-01")
    expect(words).to_have_value("")
    page.locator("#machines button", has_text=NAME).click()
    expect(words).to_have_value("for north-12")


def test_what_is_typed_while_the_server_is_away_is_written_later(page: Page, place: Path) -> None:
    opened(page, "ride")
    before = len(history(place)[1])
    page.context.set_offline(True)
    form(page, "ride").get_by_label("As the rider says it").fill("typed in the tunnel")
    form(page, "ride").locator("button.main").click()
    expect(page.locator("#line")).to_contain_text("The server does not answer")
    page.context.set_offline(False)
    expect(page.locator("#line")).not_to_contain_text("does not answer", timeout=10_000)
    wrote(page, "ride")
    assert len(history(place)[1]) == before + 1
    assert last(place, "ride").words == "typed in the tunnel"


def test_two_browsers_write_at_once_and_see_each_other(page: Page, other_page: Page, place: Path) -> None:
    for one, who in ((page, "Ann"), (other_page, "Ben")):
        opened(one, "ride", who=who)
        form(one, "ride").get_by_label("As the rider says it").fill(f"said to {who}")
    for one in (page, other_page):
        form(one, "ride").locator("button.main").click(no_wait_after=True)
    for one in (page, other_page):
        expect(form(one, "ride").locator(".done")).to_contain_text("is in the book")
    rides = {(line.words, line.who) for line in history(place)[1] if line.kind == "ride"}
    assert {("said to Ann", "Ann"), ("said to Ben", "Ben")} <= rides
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    for one in (page, other_page):
        one.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        expect(one.locator(".history")).to_contain_text("said to Ann")
        expect(one.locator(".history")).to_contain_text("said to Ben")


def test_a_button_that_is_pressed_twice_writes_once(page: Page, place: Path) -> None:
    opened(page, "ride")
    before = len(history(place)[1])
    form(page, "ride").get_by_label("As the rider says it").fill("once")
    form(page, "ride").locator("button.main").dblclick()
    expect(form(page, "ride").locator("textarea")).to_have_value("")
    page.wait_for_timeout(300)
    assert len(history(place)[1]) == before + 1


def test_what_looks_like_markup_is_text(page: Page, place: Path) -> None:
    evil = "<img src=x onerror=document.title='oops'><b>bold</b>"
    opened(page, "ride", who="<b>Ann</b>")
    form(page, "ride").get_by_label("As the rider says it").fill(evil)
    wrote(page, "ride")
    expect(page.locator(f"#ride-{last(place, 'ride').id}")).to_contain_text(evil)
    assert page.locator("main b").count() == 0 and "oops" not in page.title()


# What the page owes its reader --------------------------------------------------------------------------------


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("word", WIDTHS)
def test_the_page_fits_can_be_touched_and_read(browser: Browser, served: str, word: str, scheme: str) -> None:
    width, height = WIDTHS[word]
    folder = os.environ.get("PULLCURVE_SCREENS")
    watched = Watched(browser, served, viewport={"width": width, "height": height}, color_scheme=scheme)
    page = watched.page
    for state, chapters in (("history", ()), ("write", WRITES), ("read", READS)):
        page.evaluate("localStorage.clear()") if state != "history" else None
        opened(page, *chapters)
        if state == "read":
            page.locator("#compare table").wait_for()
            page.locator("#learn .find").click()
            page.get_by_role("button", name="write it as a proposal").wait_for()
            page.locator("#due .answer li").first.wait_for()
        if state == "write":
            page.get_by_label("assist cam").wait_for()
            page.get_by_label("hydraulic hoses").wait_for()
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{over} px too wide"
        assert page.evaluate(SMALL, LEAST) == [], state
        seven = page.locator(".seven label").evaluate_all(
            "all => all.map(one => one.getBoundingClientRect()).filter(({ width, height }) => width)"
            ".map(({ width, height }) => Math.min(width, height))"
        )
        assert all(side >= LEAST for side in seven)
        found = Axe().run(page, options=RULES).response["violations"]
        told = [f"{one['id']}: {node['target']}" for one in found for node in one["nodes"]]
        assert told == [], state
        if folder:
            page.screenshot(path=Path(folder, f"book-{state}-{word}-{scheme}.png"), full_page=True)
    watched.close()


def test_everything_is_reached_by_keyboard(page: Page) -> None:
    opened(page, *WRITES, "compare", "due")
    page.get_by_label("assist cam").wait_for()
    page.get_by_label("hydraulic hoses").wait_for()
    page.locator("#compare table").wait_for()
    page.locator(".skip").focus()
    wanted = page.locator(
        "main :is(button, select, textarea, summary):visible:not([disabled]), main .rate:visible"
    ).count()
    reached = set()
    for _ in range(400):
        page.keyboard.press("Tab")
        active = page.evaluate_handle("document.activeElement")
        if active.evaluate("one => one === document.body"):
            break
        reached.add(
            active.evaluate("""one => [...document.querySelectorAll('*')].indexOf(
            one.closest('main .rate') ?? one.closest('main :is(button, select, textarea, summary)'))""")
        )
    assert len(reached - {-1}) == wanted


def test_cautions_stand_where_the_hand_is_about_to_act(page: Page) -> None:
    opened(page, "visit", "ride", "proposal")
    expect(form(page, "visit").locator(".checks")).to_contain_text("Before riding check: firm lever")
    expect(form(page, "ride")).to_contain_text("stop and do not ride on")
    expect(form(page, "ride")).to_contain_text("engine off")
    expect(form(page, "proposal")).to_contain_text("practise away from others")
