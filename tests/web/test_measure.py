"""The measure page: the answers of the verbs over the wire, and the page with a file dropped on it."""

import os
from base64 import b64encode
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from starlette.testclient import TestClient

from pullcurve.verbs import jobs, measuring
from tests.web.conftest import Watched

PICTURES = os.environ.get("PULLCURVE_PICTURES")
JOB = jobs.demo_job()
TYPED = JOB.model_dump(mode="json", exclude_unset=True)
NAME = "enduro-300-brake-1.csv"
PULL = files("pullcurve").joinpath(f"data/demo/{NAME}").read_bytes()


def packed(content: bytes, name: str = NAME) -> dict[str, str]:
    return {"name": name, "data": b64encode(content).decode()}


def post(client: TestClient, path: str, status: int = 200, **body: Any) -> Any:
    answer = client.post(f"/api/measure/{path}", json={"job": TYPED, **body})
    assert answer.status_code == status, answer.text
    return answer.json()


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> measuring.Measured:
    """The same pull by the verbs."""
    file = tmp_path_factory.mktemp("pull") / NAME
    file.write_bytes(PULL)
    return measuring.on_job(measuring.read_pull(file), JOB)


# Over the wire ------------------------------------------------------------------------------------------------


def test_diagnosis_is_that_of_the_verb(client: TestClient, known: measuring.Measured) -> None:
    found = post(client, "diagnose", file=packed(PULL))
    diagnosis = measuring.diagnose_pull(known).diagnosis
    assert found["diagnosis"]["first"] == diagnosis.first.name
    assert found["diagnosis"]["causes"][0]["probability"] == pytest.approx(diagnosis.first.probability)
    assert found["measured"]["name"] == NAME and found["sheet"].startswith("<svg")


def test_fit_is_that_of_the_verb_and_its_job_can_be_asked_again(
    client: TestClient, known: measuring.Measured
) -> None:
    found = post(client, "fit", file=packed(PULL))
    values = measuring.fit_pull(known).fit.values()
    assert {path: one["value"] for path, one in found["fit"]["numbers"].items()} == pytest.approx(values)
    assert found["job"]["measured"]
    checked = client.post("/api/jobs/check", json={"job": found["job"]})
    assert checked.status_code == 200


def test_pull_is_compared_with_what_the_job_predicts(client: TestClient, known: measuring.Measured) -> None:
    found = post(client, "compare", before=packed(PULL))
    assert (found["before"], found["after"]) == ("predicted", NAME)
    assert found["words"] == measuring.against_predicted(known).compared.sentence


def test_demo_pulls_are_listed_with_their_jobs(client: TestClient) -> None:
    listed = client.get("/api/measure/demo").json()["pulls"]
    assert {"name": NAME, "job": "enduro-300.toml"} in listed
    assert all(one["job"] in jobs.demo_names() for one in listed)
    assert client.get(f"/api/measure/demo/{NAME}").content == PULL
    assert client.get("/api/measure/demo/..%2Fenduro-300.toml").status_code == 404


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"", "empty.csv", "empty"),
        (bytes(range(256)) * 9, "noise.csv", "text"),
        (b"PK\x03\x04" + bytes(500), "bomb.zip", 'ends in ".zip"; allowed is .csv'),
        (b"a\n1\n", "../../one-column.csv", "one-column.csv"),
    ],
)
def test_wrong_file_is_one_line(client: TestClient, content: bytes, name: str, said: str) -> None:
    [fault] = post(client, "diagnose", 422, file=packed(content, name))["faults"]
    words = f"{fault['where']} {fault['said']}"
    assert said in words and "/" not in fault["where"] and "\n" not in words


def test_file_that_is_too_large_is_refused(client: TestClient) -> None:
    answer = client.post(
        "/api/measure/diagnose",
        content=b"{}",
        headers={"Content-Type": "application/json", "Content-Length": "200000000"},
    )
    assert answer.status_code == 413 and answer.json()["faults"]


def test_no_file_is_left_behind(client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    post(client, "diagnose", file=packed(PULL))
    post(client, "diagnose", 422, file=packed(b"", "empty.csv"))
    assert list(tmp_path.iterdir()) == []


# In a browser -------------------------------------------------------------------------------------------------


def measured(page: Page) -> None:
    """The page with the pull of the demo on it."""
    page.goto("/measure")
    page.locator("[data-block=numbers]").get_by_text("given").wait_for()
    page.set_input_files("#file", {"name": NAME, "mimeType": "text/csv", "buffer": PULL})
    page.locator("#sheet svg").wait_for()


def test_dropped_pull_tells_what_to_check_first_and_stays_on_reload(page: Page) -> None:
    measured(page)
    expect(page.locator("#verdict")).to_contain_text("Check first: air in the line")
    expect(page.locator("#cam")).to_contain_text("The cam:")
    page.reload()
    expect(page.locator("#verdict")).to_contain_text("Check first: air in the line")


def test_numbers_go_into_the_job_and_out_again(page: Page) -> None:
    measured(page)
    page.locator("#fit").click()
    page.locator("#intervals svg").wait_for()
    page.locator("#adopt").click()
    expect(page.locator("[data-block=numbers]")).to_contain_text("measured")
    page.locator("#undo").click()
    expect(page.locator("[data-block=numbers]")).not_to_contain_text("measured")


def test_numbers_of_a_job_that_changed_since_are_not_taken(page: Page) -> None:
    measured(page)
    page.locator("#fit").click()
    page.locator("#intervals svg").wait_for()
    page.evaluate(
        "import('/static/store.js').then(({ store }) => store.change('title', (job) => { job.title = 'another'; }))"
    )
    page.locator("#adopt").click()
    expect(page.locator("#line")).to_contain_text("ask for its numbers again")
    expect(page.locator("[data-block=job]")).to_have_text("another")


def test_choices_stay_on_reload(page: Page) -> None:
    measured(page)
    page.locator("#first").check()
    expect(page.locator("#now")).to_contain_text("4 pulls")
    page.reload()
    expect(page.locator("#now")).to_contain_text("4 pulls")
    assert page.locator("#first").is_checked()


def asked(page: Page) -> list[str]:
    """What a page asks of the server about pulls from now on."""
    known: list[str] = []
    page.on(
        "request",
        lambda one: known.append(one.url.rpartition("/")[2]) if "/api/measure/" in one.url else None,
    )
    return known


def test_fit_and_comparison_stay_on_reload_without_being_asked_again(page: Page) -> None:
    measured(page)
    page.locator("#fit").click()
    page.locator("#intervals svg").wait_for()
    page.set_input_files("#other", {"name": "other.csv", "mimeType": "text/csv", "buffer": PULL})
    page.locator("#compared svg").wait_for()
    shown = ["#verdict", "#numbers tbody", "#compared h2"]
    before = [page.locator(one).inner_text() for one in shown]
    known = asked(page)
    page.reload()
    page.locator("#intervals svg").wait_for()
    page.locator("#compared svg").wait_for()
    assert [page.locator(one).inner_text() for one in shown] == before
    page.wait_for_load_state("networkidle")
    assert known == ["demo"]
    # Another light is another picture: all three are asked for again, with the files that were kept.
    page.locator("#theme").click()
    page.locator("#busy, #busy-more").first.wait_for(state="attached")
    expect(page.locator("#compared svg")).to_have_count(1)
    page.wait_for_function("() => !document.querySelector('#compared').hidden")
    assert [one for one in known if one != "demo"] == ["diagnose", "fit", "compare"]
    assert page.locator("#compared h2").inner_text() == before[2]


def test_answers_to_a_job_that_changed_since_say_so(page: Page) -> None:
    measured(page)
    page.locator("#predicted").click()
    page.locator("#compared svg").wait_for()
    expect(page.locator("#stale-compare")).to_be_hidden()
    page.evaluate(
        "import('/static/store.js').then(({ store }) => store.change('title', (job) => { job.title = 'another'; }))"
    )
    expect(page.locator("#stale-compare")).to_be_visible()
    page.reload()
    expect(page.locator("#stale-compare")).to_be_visible()
    page.locator("#undo").click()
    expect(page.locator("#stale-compare")).to_be_hidden()


def test_file_too_large_to_be_kept_is_told_and_leaves_the_page_whole(page: Page) -> None:
    page.goto("/measure")
    page.locator("[data-block=numbers]").get_by_text("given").wait_for()
    large = PULL + b"\n" * 1_300_000
    page.set_input_files("#file", {"name": "large.csv", "mimeType": "text/csv", "buffer": large})
    page.locator("#sheet svg").wait_for()
    expect(page.locator("#line")).to_have_text(
        "! large.csv is too large to be kept here: after a reload, drop it again."
    )
    page.reload()
    expect(page.locator("[data-block=numbers]")).to_contain_text("given")
    expect(page.locator("#answer")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden()


def test_pull_of_the_demo_comes_with_its_job(page: Page) -> None:
    page.goto("/measure")
    page.locator("#demo option", has_text="trials-280-clutch-1").wait_for(state="attached")
    page.select_option("#demo", label="trials-280-clutch-1")
    page.locator("#sheet svg").wait_for()
    expect(page.locator("#now")).to_contain_text("clutch")
    page.locator("#predicted").click()
    page.locator("#compared svg").wait_for()


def test_wrong_file_is_told_above_the_sheet(page: Page) -> None:
    page.goto("/measure")
    page.locator("[data-block=numbers]").get_by_text("given").wait_for()
    page.set_input_files("#file", {"name": "no.csv", "mimeType": "text/csv", "buffer": b"a\n1\n2\n"})
    expect(page.locator("#line")).to_contain_text("no.csv")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1024, 1920])
def test_page_looks_right(browser: Browser, served: str, width: int, theme: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    watched = Watched(browser, served, viewport={"width": width, "height": 900})
    page = watched.page
    page.add_init_script(f"localStorage.setItem('pullcurve.theme', '{theme}')")
    measured(page)
    page.locator("#fit").click()
    page.locator("#intervals svg").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main select, main label.button')]"
        ".filter(one => one.offsetParent && one.getBoundingClientRect().height < 44).map(one => one.outerHTML)"
    )
    assert small == []
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    if PICTURES:
        page.screenshot(path=Path(PICTURES) / f"measure-{width}-{theme}.png", full_page=True)
    watched.close()
