"""Steps and sheets: what comes over the wire, and the pages in a real browser with what is ticked on them."""

import hashlib
import json
import os
import re
from base64 import b64encode
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Download, Page, expect
from starlette.testclient import TestClient

from pullcurve.papers.words import CAUTION
from pullcurve.parts.facts import table
from pullcurve.parts.layout import SHARED, layout
from pullcurve.verbs import jobs, stripping
from tests.papers import readers
from tests.web.conftest import Watched
from tests.web.test_looks import LEAST, RULES, SMALL

PICTURES = os.environ.get("PULLCURVE_PICTURES")
JOB = jobs.demo_job()
PULL = "enduro-300-brake-1.csv"
BETTER = "brake-in0-tu0.3-st7.5"
TASKS = [(name, task.id) for name in jobs.demo_names() for task in stripping.tasks_for(jobs.demo_job(name))]
NAME = re.compile(r"[a-z0-9][a-z0-9-]*\.(pdf|html|toml)")


def typed(name: str = jobs.MAIN_DEMO, **changes: Any) -> dict[str, Any]:
    """A demo job as it goes over the wire."""
    return {**jobs.demo_job(name).model_dump(mode="json", exclude_unset=True), **changes}


def post(client: TestClient, path: str, status: int = 200, **body: Any) -> Any:
    answer = client.post(path, json={"job": typed(), **body})
    assert answer.status_code == status, answer.text
    return answer


def packed(name: str = PULL) -> dict[str, str]:
    content = files("pullcurve").joinpath(f"data/demo/{PULL}").read_bytes()
    return {"name": name, "data": b64encode(content).decode()}


def paper(content: bytes, folder: Path) -> Path:
    file = folder / "sheet.pdf"
    file.write_bytes(content)
    return file


# Over the wire ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", jobs.demo_names())
def test_tasks_are_those_of_the_unit(client: TestClient, name: str) -> None:
    found = post(client, "/api/steps/tasks", job=typed(name)).json()
    assert [one["id"] for one in found["tasks"]] == [task for of, task in TASKS if of == name]
    assert found["hardware"] == table(f"hardware-{layout(jobs.demo_job(name))}")["title"]


def waits(name: str) -> dict[str, set[str]]:
    """What must be off before each piece, read from the data itself."""
    rows = [*table(f"hardware-{layout(jobs.demo_job(name))}")["pieces"], *table("hardware-common")["pieces"]]
    found = {
        row["id"]: {*row.get("held_by", ()), *row.get("blocked_by", ())}
        | {lock["first"] for lock in row.get("interlocks", ())}
        for row in rows
    }
    for row in rows:
        for later in row.get("ahead_of", ()):
            found[later].add(row["id"])
    return found


@pytest.mark.parametrize(("name", "task"), TASKS)
def test_steps_keep_the_order_of_the_data_and_come_back_in_reverse(
    client: TestClient, name: str, task: str
) -> None:
    found = post(client, "/api/steps", job=typed(name), task=task).json()
    lines = found["lines"]
    assert [line["number"] for line in lines] == list(range(1, len(lines) + 1))
    off = [line["piece"] for line in lines if line["act"] == "off"]
    on = [line["piece"] for line in lines if line["act"] == "on"]
    assert on == off[::-1] and len(set(off)) == len(off)
    before = waits(name)
    for place, piece in enumerate(off):
        assert before[piece] & set(off) <= set(off[:place]), piece
    used = {line["tool"] for line in lines if line["tool"]}
    assert used == set(found["tools"])
    assert all(
        (line["torque"] is not None) == (line["act"] == "on" and bool(line["screws"])) for line in lines
    )
    assert [line["words"] for line in lines if line["act"] == "prepare"] == table("hardware-common")[
        "prepare"
    ]
    assert set(table("hardware-common")["cautions"]) <= set(found["cautions"])


def test_tried_cams_go_on_where_the_task_lays_them_bare(client: TestClient) -> None:
    tried = [BETTER, "assist-in0-on4-fa0.60"]
    found = post(client, "/api/steps", task="brake-cam", cams=tried).json()
    assert [(one["off"]["id"], one["on"]["id"]) for one in found["exchanged"]] == [
        ("brake-in0-tu0.0-st8.5", BETTER)
    ]
    assert [cam["id"] for cam in found["left"]] == tried[1:]
    fitted = {**typed(), "fitted": {**typed()["fitted"], "brake": numbers(BETTER)}}
    assert post(client, "/api/steps", job=fitted, task="brake-cam", cams=[BETTER]).json()["exchanged"] == []


def numbers(cam: str) -> dict[str, float]:
    reach, take_up, stroke = (float(part) for part in re.findall(r"[a-z]+([\d.]+)", cam.partition("-")[2]))
    return {"reach_deg": reach, "take_up_mm": take_up, "stroke_mm": stroke}


@pytest.mark.parametrize(("name", "task"), TASKS)
def test_bench_sheet_of_every_task_is_a4(client: TestClient, tmp_path: Path, name: str, task: str) -> None:
    answer = post(client, "/api/steps/sheet", job=typed(name), task=task)
    facts = readers.page_facts(paper(answer.content, tmp_path))
    assert "A4" in facts["Page size"]
    assert int(facts["Pages"]) <= 2
    assert answer.headers["content-type"] == "application/pdf"


@pytest.mark.parametrize("name", jobs.demo_names())
def test_rider_sheet_of_every_job_is_one_a4_page(client: TestClient, tmp_path: Path, name: str) -> None:
    answer = post(client, "/api/sheet", job=typed(name))
    facts = readers.page_facts(paper(answer.content, tmp_path))
    assert "A4" in facts["Page size"] and facts["Pages"] == "1"


def test_sheet_has_the_id_of_the_saved_job_its_cams_and_its_pull(client: TestClient, tmp_path: Path) -> None:
    """The id is the head of the SHA-256 of the job file as it is saved, worked out here by the standard library."""
    saved = client.post("/api/jobs/export", json={"job": typed()}).content
    answer = post(client, "/api/sheet", cams=[BETTER], pull=packed())
    text = readers.page_text(paper(answer.content, tmp_path))
    assert hashlib.sha256(saved).hexdigest()[:12] in text
    assert BETTER in text and PULL in text
    page = post(client, "/api/sheet", cams=[BETTER], pull=packed(), form="html")
    assert page.text.startswith("<!DOCTYPE html>") and ">measured<" in page.text


@pytest.mark.parametrize(
    "title", ["../../etc/passwd", 'a"; filename="b.exe', "Größe: 300 <b>", "…", "x" * 120, "a\u0301 b"]
)
def test_names_of_files_are_safe(client: TestClient, title: str) -> None:
    asked: tuple[tuple[str, dict[str, Any]], ...] = (
        ("/api/sheet", {"form": "html"}),
        ("/api/steps/sheet", {"task": "reach", "form": "html"}),
        ("/api/steps/hardware", {}),
    )
    for path, body in asked:
        answer = post(client, path, job=typed(title=title), **body)
        kind, _, name = answer.headers["content-disposition"].partition("; filename=")
        assert kind == "attachment" and NAME.fullmatch(name.strip('"')) and len(name) < 80


@pytest.mark.parametrize(
    ("path", "body", "said"),
    [
        ("/api/steps", {"task": "brake-can"}, "did you mean brake-cam?"),
        ("/api/steps", {"task": ""}, "is missing"),
        ("/api/steps", {"task": "reach", "cams": ["brake-in0"]}, "is no cam of the rack"),
        ("/api/steps/sheet", {"task": "brake-cam", "cams": ["clutch-in0-li9.50"]}, "leaves the clutch cam"),
        ("/api/steps/sheet", {"task": "reach", "form": "exe"}, "allowed is"),
        ("/api/sheet", {"cams": ["brake-in0-tu0.3-st7.6"]}, f"did you mean {BETTER}?"),
        ("/api/sheet", {"pull": packed("x.exe")}, 'ends in ".exe"'),
        ("/api/steps/tasks", {"hardware": {"text": "a = ", "name": "../x/hw.toml"}}, "is not TOML"),
        ("/api/steps/tasks", {"hardware": {"text": "title = 1"}}, "title is 1; allowed is a text"),
    ],
)
def test_what_is_wrong_is_one_line(client: TestClient, path: str, body: dict[str, Any], said: str) -> None:
    faults = post(client, path, 422, **body).json()["faults"]
    lines = [f"{one['where']}: {one['key']} {one['said']}" for one in faults]
    assert any(said in line for line in lines), lines
    assert all("\n" not in line and "/" not in one["where"] for line, one in zip(lines, faults, strict=True))


def test_own_hardware_takes_the_place_of_the_demo_units(client: TestClient) -> None:
    text = post(client, "/api/steps/hardware").text
    own = {"name": "mine.toml", "text": text.replace("two levers on one pin", "an own unit of the workshop")}
    found = post(client, "/api/steps/tasks", hardware=own).json()
    assert found["hardware"].startswith("an own unit of the workshop")
    same = [post(client, "/api/steps", task="reach", hardware=one).json() for one in (own, None)]
    assert same[0]["lines"] == same[1]["lines"] and same[0]["cautions"] == same[1]["cautions"]
    assert (
        "an own unit of the workshop"
        in post(client, "/api/steps/sheet", task="reach", hardware=own, form="html").text
    )
    assert not any(re.search(rf"^{key} = ", text, re.MULTILINE) for key in SHARED[2:])


# In a browser -------------------------------------------------------------------------------------------------


DEMO = """async name => {
  const { store, ready } = await import('/static/store.js');
  await ready;
  store.replace('demo', await (await fetch(`/api/jobs/demo/${name}`)).json());
}"""


def opened(page: Page, task: str = "", name: str = "") -> None:
    """The steps of a task on the page."""
    page.goto(f"/steps?task={task}" if task else "/steps")
    page.locator("#tasks button").first.wait_for()
    if name:
        page.evaluate(DEMO, name.removesuffix(".toml"))
    if task:
        page.locator(".step").first.wait_for()


def clicked(page: Page, button: str) -> Download:
    with page.expect_download() as waited:
        page.locator(button).click()
    return waited.value


@pytest.mark.parametrize("name", jobs.demo_names())
def test_every_task_of_a_unit_is_shown_whole(page: Page, name: str) -> None:
    opened(page, name=name)
    job = jobs.demo_job(name)
    known = stripping.tasks_for(job)
    expect(page.locator("#tasks button")).to_have_text([task.name for task in known])
    for task in known:
        page.locator("#tasks button", has_text=task.name).click()
        expect(page.locator("#name")).to_have_text(task.name)
        steps = stripping.steps_for(job, task.id)
        numbers = [str(step.number) for step in steps.lines]
        expect(page.locator(".step .at")).to_have_text(numbers)
        expect(page.locator(".step input")).to_have_count(sum(step.ticked for step in steps.lines))
        expect(page.locator("#tools li")).to_have_text(list(steps.tools))
        expect(page.locator("#consumables li")).to_have_text(list(steps.consumables) or ["none"])
        assert page.locator("#cautions li").count() == len(steps.cautions) + 1
        for step in steps.lines:
            text = page.locator(f"#line-{step.number}").inner_text()
            act = text.index(step.words)
            assert all(text.index(one.words) < act for one in step.cautions), "traps stand before the act"
            assert (step.tool or "") in text and all(use in text for use in step.uses)
            if step.torque:
                about, most = step.torque.torque, step.torque.most
                assert f"about {about:.1f} N·m, never above {most:.1f} N·m" in text


def test_ticks_stay_with_job_and_task(page: Page) -> None:
    opened(page, "brake-cam")
    boxes = page.locator(".step input")
    count = boxes.count()
    expect(page.locator("#count")).to_have_text(f"! 0 of {count} checks ticked")
    expect(page.locator("#again")).to_be_disabled()
    for place in (0, 1, 4):
        boxes.nth(place).check()
    page.reload()
    page.locator(".step").first.wait_for()
    assert [boxes.nth(place).is_checked() for place in range(5)] == [True, True, False, False, True]
    expect(page.locator("#open-head")).to_have_text(
        f"! Not done: {count - 3} of {count} checks are still open"
    )
    expect(page.locator("#open li")).to_have_count(count - 3)
    page.locator("#tasks button", has_text="grease").click()
    expect(page.locator("#name")).to_have_text("grease service")
    expect(page.locator("#count")).to_contain_text("! 0 of ")
    page.evaluate("import('/static/store.js').then(({ store, adopt }) => adopt(store.job))")
    opened(page, "brake-cam")
    expect(page.locator("#count")).to_contain_text("! 0 of ")


def test_start_again_can_be_taken_back(page: Page) -> None:
    opened(page, "brake-cam")
    boxes = page.locator(".step input")
    for box in boxes.all():
        box.check()
    expect(page.locator("#open-head")).to_have_text(
        f"✓ All {boxes.count()} checks are ticked. The list certifies nothing."
    )
    page.locator("#again").click()
    expect(page.locator("#count")).to_contain_text("! 0 of ")
    page.reload()
    page.locator("#back").click()
    expect(page.locator("#count")).to_contain_text(f"✓ {boxes.count()} of {boxes.count()}")
    expect(page.locator("#back")).to_be_hidden()


def test_ticks_of_another_day_or_other_cams_are_called_old(page: Page) -> None:
    page.clock.set_fixed_time("2026-03-14T10:00:00")
    opened(page, "brake-cam")
    page.locator(".step input").first.check()
    expect(page.locator("#stale")).to_be_hidden()
    page.clock.set_fixed_time("2026-06-01T10:00:00")
    page.reload()
    expect(page.locator("#stale")).to_contain_text(
        "1 of these checks was ticked on another day, the first on 2026-03-14"
    )
    page.locator("#again").click()
    page.locator(".step input").first.check()
    expect(page.locator("#stale")).to_be_hidden()
    change = "store.change('cam', (job) => { job.fitted.brake.stroke_mm = 8; })"
    page.evaluate(f"import('/static/store.js').then(({{ store }}) => {change})")
    expect(page.locator("#stale")).to_contain_text("cams were changed after the last tick")


def test_sheet_for_the_bench_is_downloaded(page: Page, tmp_path: Path) -> None:
    page.goto(f"/?with={BETTER}")
    expect(page.locator("[data-block=set]")).to_contain_text(BETTER)
    opened(page, "brake-cam")
    expect(page.locator("#going-on")).to_contain_text(BETTER)
    done = clicked(page, "#pdf")
    assert done.suggested_filename == "bench-brake-cam-300-two-stroke-enduro-no-foot-pedal.pdf"
    file = tmp_path / "sheet.pdf"
    done.save_as(file)
    facts = readers.page_facts(file)
    assert "A4" in facts["Page size"] and facts["Pages"] == "1"
    assert f"{BETTER} on" in readers.page_text(file)


def test_own_hardware_is_told_what_is_wrong_kept_and_left_out(page: Page, tmp_path: Path) -> None:
    opened(page, "reach")
    page.locator("#own summary").click()
    file = tmp_path / "unit.toml"
    clicked(page, "#template").save_as(file)
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('"end-cover-screws"]', '"end-cover-screw"]'), encoding="utf-8")
    page.set_input_files("#file", file)
    expect(page.locator("#hardware-faults li").first).to_contain_text('did you mean "end-cover-screws"?')
    expect(page.locator("#whose")).to_contain_text("demo units")
    file.write_text(text.replace("Lift the end cover off.", "Turn the lid off."), encoding="utf-8")
    page.set_input_files("#file", file)
    expect(page.locator("#whose")).to_contain_text("unit.toml")
    expect(page.locator("#groups")).to_contain_text("Turn the lid off.")
    expect(page.locator("#cautions")).not_to_contain_text("Invented hardware")
    page.reload()
    expect(page.locator("#groups")).to_contain_text("Turn the lid off.")
    sheet(page)
    expect(page.locator("#whose")).to_contain_text("follows unit.toml")
    opened(page, "reach")
    page.locator("#own summary").click()
    page.locator("#swap-hardware").click()
    expect(page.locator("#groups")).to_contain_text("Lift the end cover off.")
    page.locator("#swap-hardware").click()
    expect(page.locator("#groups")).to_contain_text("Turn the lid off.")


# The sheet ----------------------------------------------------------------------------------------------------


def sheet(page: Page, more: str = "") -> None:
    page.goto(f"/sheet{more}")
    page.locator("#paper h1").wait_for()
    expect(page.locator("[data-block=numbers]")).not_to_have_text("–")


def test_sheet_is_shown_downloaded_and_printed_on_one_page(page: Page, tmp_path: Path) -> None:
    sheet(page)
    expect(page.locator("#paper h1")).to_have_text(JOB.title)
    for sentence in re.split(r"(?<=\.) ", CAUTION):
        expect(page.locator("#paper")).to_contain_text(sentence)
    page.get_by_label("what is fitted, and what is proposed").check()
    expect(page.locator("#nothing")).to_be_visible()
    page.get_by_role("button", name="less stroke").click()
    expect(page.locator("#paper")).to_contain_text("brake-in0-tu0.0-st8.0")
    page.reload()
    expect(page.locator("#paper")).to_contain_text("brake-in0-tu0.0-st8.0")
    done = clicked(page, "#pdf")
    assert done.suggested_filename == "sheet-300-two-stroke-enduro-no-foot-pedal.pdf"
    file, printed = tmp_path / "sheet.pdf", tmp_path / "printed.pdf"
    done.save_as(file)
    assert clicked(page, "#html").suggested_filename.endswith(".html")
    page.pdf(path=printed, prefer_css_page_size=True)
    for one in (file, printed):
        facts = readers.page_facts(one)
        assert "A4" in facts["Page size"] and facts["Pages"] == "1"
        assert "brake-in0-tu0.0-st8.0" in readers.page_text(one)
    words = readers.page_words(printed)
    over = [
        (one.text, other.text)
        for place, one in enumerate(words)
        for other in words[:place]
        if one.text != other.text  # a label in the figure lies on its own halo
        and min(one.right, other.right) - max(one.left, other.left) > 0.5
        and min(one.bottom, other.bottom) - max(one.top, other.top) > 1.0
        and max(one.bottom - one.top, other.bottom - other.top) < 7.5  # a turned word does not fill its box
    ]
    assert over == []
    page.locator("#undo").click()
    expect(page.locator("#paper")).not_to_contain_text("brake-in0-tu0.0-st8.0")


def test_pull_of_the_measure_page_and_of_a_file_stand_on_it(page: Page) -> None:
    buffer = files("pullcurve").joinpath(f"data/demo/{PULL}").read_bytes()
    page.goto("/measure")
    page.locator("[data-block=numbers]").get_by_text("given").wait_for()
    page.set_input_files("#file", {"name": PULL, "mimeType": "text/csv", "buffer": buffer})
    page.locator("#sheet svg").wait_for()
    sheet(page)
    page.get_by_label(f"the pull of the measure page ({PULL})").check()
    expect(page.locator("#paper")).to_contain_text(f"Measured against computed ({PULL}")
    page.get_by_label("none").check()
    expect(page.locator("#paper")).not_to_contain_text("Measured against computed")
    page.set_input_files("#file", {"name": "other.csv", "mimeType": "text/csv", "buffer": buffer})
    expect(page.locator("#paper")).to_contain_text("Measured against computed (other.csv")
    page.reload()
    expect(page.locator("#paper")).to_contain_text("Measured against computed (other.csv")


def test_cams_in_hand_are_those_of_the_job_that_is_open(page: Page) -> None:
    sheet(page, "?of=proposed")
    expect(page.locator("#hands h2")).to_have_text([lever.name for lever in JOB.unit.levers])
    page.evaluate(DEMO, "enduro-125")
    name = jobs.demo_job("enduro-125.toml").unit.levers[0].name
    expect(page.locator("#hands h2")).to_have_text([f"{name}: brake", f"{name}: clutch"])
    expect(page.get_by_role("group", name="lever reach")).to_have_count(1)
    page.get_by_role("button", name="more lift").click()
    page.get_by_role("button", name="less stroke").click()
    expect(page.locator("#paper")).to_contain_text("clutch-in0-li10.75")
    expect(page.locator("#paper")).to_contain_text("brake-in0-tu0.3-st7.0")


def test_what_cannot_be_a_sheet_is_told_and_not_handed_out(page: Page) -> None:
    sheet(page)
    page.set_input_files("#file", {"name": "no.csv", "mimeType": "text/csv", "buffer": b"a\n1\n2\n"})
    expect(page.locator("#line")).to_contain_text("no.csv")
    expect(page.locator("#paper")).to_be_hidden()
    for button in ("#pdf", "#html", "#print"):
        expect(page.locator(button)).to_be_disabled()
    page.get_by_label("none").check()
    expect(page.locator("#paper h1")).to_be_visible()
    expect(page.locator("#line")).to_be_hidden()


def test_a_hostile_title_is_text_on_the_page(page: Page) -> None:
    title = "<img src=x onerror=alert(1)></style><script>alert(2)</script>"
    page.goto("/sheet")
    page.locator("#paper h1").wait_for()
    page.evaluate(
        "title => import('/static/store.js').then(({ store }) => store.change('t', (job) => { job.title = title; }))",
        title,
    )
    expect(page.locator("#paper h1")).to_have_text(title)
    assert page.locator("#paper img, #paper script").count() == 0


def put(page: Page, state: str, file: Path) -> None:
    """One page in one state."""
    if state in ("fitted", "proposed"):
        sheet(page, f"?of={state}")
        if state == "proposed":
            page.locator("#hands .stepper").first.wait_for()
            page.get_by_role("button", name="less stroke").click()
            expect(page.locator("#paper")).to_contain_text("st8.0")
        return
    opened(page, "" if state == "steps" else "reach")
    if state == "ticked":
        for box in page.locator(".step input").all():
            box.check()
        page.locator("#again").click()
    if state == "hardware":
        page.locator("#own summary").click()
        file.write_text("title = 1\n", encoding="utf-8")
        page.set_input_files("#file", file)
        page.locator("#hardware-faults li").first.wait_for()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("state", ["steps", "task", "ticked", "hardware", "fitted", "proposed"])
def test_page_fits_can_be_touched_and_read(
    browser: Browser, served: str, tmp_path: Path, state: str, theme: str
) -> None:
    watched = Watched(browser, served, viewport={"width": 1024, "height": 768}, color_scheme=theme)
    page = watched.page
    put(page, state, tmp_path / "wrong.toml")
    for width in (390, 1024, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        assert page.evaluate(SMALL, LEAST) == [], width
        if PICTURES:
            page.screenshot(path=Path(PICTURES) / f"steps-{state}-{width}-{theme}.png", full_page=True)
        if width != 1024 and theme == "dark":
            continue  # colours were looked at; the layout is that of the light sheet
        found = Axe().run(page, options=RULES).response["violations"]
        told = [f"{one['id']}: {node['target']}" for one in found for node in one["nodes"]]
        assert told == [], json.dumps(told, indent=1)
    watched.close()
