"""The cam page beyond the sheet: drawn cams put into the job, ladders, cams read from files; each kept on a reload."""

import os
from io import StringIO
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from starlette.testclient import TestClient

from pullcurve.papers.cutfiles import cut_dxf, cut_svg
from pullcurve.parts.job import Job
from pullcurve.verbs import asking, cams, jobs
from tests.intake.picture import Scanner, circle, saved, scanned
from tests.intake.plates import metal_mm
from tests.web.conftest import Watched
from tests.web.test_looks import LEAST, RULES, SMALL
from tests.web.test_pages import job_of

PICTURES = os.environ.get("PULLCURVE_PICTURES")
JOB = jobs.demo_job()
TYPED: dict[str, Any] = JOB.model_dump(mode="json", exclude_unset=True)
OTHER = "brake-in0-tu0.3-st7.5"
METAL = cams.cam_case(cams.cams_for(JOB, "brake", (OTHER,)), "brake").metal
CUT = cut_dxf(METAL, "R2000").encode()
WISHED = 55.0
QUARTER = 0.07 / 4
"""A quarter of the change that a finger can just tell: 7 % of force (Pang, Tan and Durlach 1991)."""


def opened(page: Page) -> None:
    """The cam page with everything on it that comes by itself."""
    page.goto("/cam")
    page.locator("#sheet svg").wait_for()
    page.locator(".desire").first.wait_for()
    page.locator("#ladder-key option").first.wait_for(state="attached")


def drawn(page: Page, force: float = WISHED) -> str:
    """A brake cam drawn for a force at lock-up, by its id in the job."""
    page.locator("#wish-force_lock_newton").fill(str(force))
    page.keyboard.press("Tab")
    page.locator("#go").click()
    page.locator("#drawn svg").wait_for()
    return named(page, "#drawn")


def named(page: Page, box: str) -> str:
    """The id of the cam that a box offers."""
    return (
        page.locator(f"{box} .placing .name")
        .inner_text()
        .removeprefix("As a cam of the rack: ")
        .split(",")[0]
    )


def asked(page: Page) -> list[str]:
    """What a page asks the server to work out about cams from now on."""
    long = ("/api/cam/draw", "/api/cam/ladder", "/api/cam/read")
    known: list[str] = []
    page.on("request", lambda one: known.append(one.url) if one.url.endswith(long) else None)
    return known


def lock_of(job: Any) -> float:
    """Force at lock-up of a job [N], pulled by the verb."""
    brake = asking.pull_levers(Job.model_validate(job)).pull.brake
    assert brake is not None
    return float(np.ravel(brake.force_lock)[0])


# Drawn ------------------------------------------------------------------------------------------------------------


def test_a_drawn_cam_is_fitted_and_gives_what_was_wished(page: Page) -> None:
    opened(page)
    name = drawn(page)
    page.locator("#drawn .fit").click()
    expect(page.locator("[data-block=set]")).to_contain_text(name)
    expect(page.locator("#drawn .placing .said")).to_contain_text(
        "It is fitted in this job; undo takes it off again."
    )
    expect(page.locator("#sheet svg")).to_have_attribute("aria-label", f"Brake cam {name}")
    # Against the wish: within a quarter of what a finger can tell.
    assert lock_of(job_of(page)) == pytest.approx(WISHED, rel=QUARTER)
    page.reload()
    expect(page.locator("[data-block=set]")).to_contain_text(name)
    expect(page.locator("#drawn .fit")).to_be_disabled()
    expect(page.locator("#drawn .stale")).to_be_visible()
    page.locator("#undo").click()
    expect(page.locator("[data-block=set]")).not_to_contain_text(name)
    expect(page.locator("#drawn .stale")).to_be_hidden()
    assert job_of(page) == TYPED
    page.locator("#redo").click()
    expect(page.locator("[data-block=set]")).to_contain_text(name)


def test_a_drawn_cam_stands_on_the_rack_and_is_seen_on_the_bench(page: Page) -> None:
    opened(page)
    before = page.locator("#which option").count()
    name = drawn(page)
    page.locator("#drawn .rack").click()
    expect(page.locator("#which option")).to_have_count(before + 1)
    assert "fl" in name and job_of(page)["fitted"] == TYPED["fitted"]
    with page.expect_download() as waited:
        page.locator("#which").select_option(name)
        page.locator("[data-export='.dxf']").click()
    assert waited.value.suggested_filename == f"{name}.dxf"
    page.locator("#drawn, #sheet svg").first.wait_for()
    page.locator("#drawn .bench").click()
    page.locator("main svg").first.wait_for()
    expect(page.locator("main")).to_contain_text(f"{WISHED:.0f}")
    expect(page.locator("main")).to_contain_text("proposed")


def test_a_drawing_stays_on_a_reload_without_being_asked_again(page: Page) -> None:
    opened(page)
    name = drawn(page)
    outcome = page.locator("#drawn .outcome").inner_text()
    known = asked(page)
    page.reload()
    page.locator("#drawn svg").wait_for()
    assert (named(page, "#drawn"), page.locator("#drawn .outcome").inner_text()) == (name, outcome)
    page.get_by_role("radio", name="clutch").check()
    expect(page.locator("#drawn")).to_be_hidden()
    page.get_by_role("radio", name="brake").check()
    expect(page.locator("#drawn")).to_be_visible()
    assert known == []
    # In another light the picture is drawn anew, and it is the same cam.
    with page.expect_response("**/api/cam/draw"):
        page.locator("#theme").click()
    page.locator("#drawn svg").wait_for()
    assert named(page, "#drawn") == name


# Ladder -----------------------------------------------------------------------------------------------------------


def test_a_ladder_rises_in_equal_felt_steps_and_each_can_be_cut_and_fitted(page: Page) -> None:
    opened(page)
    page.locator("#ladder-first").fill("50")
    page.locator("#ladder-last").fill("80")
    page.locator("#ladder-count").select_option("4")
    page.locator("#ladder-go").click()
    rows = page.locator("#rungs tbody tr")
    expect(rows).to_have_count(4)
    # A finger tells ratios of force: equal steps are a geometric row (Weber's law).
    wanted = [50.0 * 1.6 ** (step / 3) for step in range(4)]
    assert [float(row.locator("td").first.inner_text().split()[0]) for row in rows.all()] == pytest.approx(
        wanted, abs=0.06
    )
    name = rows.nth(2).locator("td").nth(1).inner_text()
    with page.expect_download() as waited:
        page.get_by_role("button", name=f"DXF of {name}", exact=True).click()
    assert waited.value.suggested_filename == f"{name}.dxf"
    text = Path(waited.value.path()).read_text(encoding="utf-8")
    outline = max(ezdxf.read(StringIO(text)).modelspace().query("LWPOLYLINE"), key=len)  # type: ignore[attr-defined]
    assert outline.closed
    known = asked(page)
    page.reload()
    expect(rows).to_have_count(4)
    expect(page.locator("#ladder-first")).to_have_value("50")
    assert known == []
    page.get_by_role("button", name=f"fit {name}", exact=True).click()
    expect(page.locator("[data-block=set]")).to_contain_text(name)
    assert lock_of(job_of(page)) == pytest.approx(wanted[2], rel=QUARTER)
    page.get_by_role("button", name="put all on the rack").click()
    assert len(job_of(page)["rack"]["brake"]) == len(TYPED["rack"]["brake"]) + 4
    page.locator("#undo").click()
    assert len(job_of(page)["rack"]["brake"]) == len(TYPED["rack"]["brake"]) + 1


def test_a_ladder_shows_what_it_does_and_stops(page: Page) -> None:
    opened(page)
    page.locator("#ladder-count").select_option("5")
    page.locator("#ladder-go").click()
    page.get_by_role("progressbar", name="drawing the cams").wait_for()
    page.get_by_role("button", name="stop").click()
    expect(page.get_by_role("progressbar")).to_have_count(0)
    expect(page.locator("#rungs")).to_be_hidden()
    expect(page.locator("#line")).to_be_hidden()


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("", "80", "force at lock-up needs a number at both ends"),
        ("60", "62", "a finger could not tell the rungs apart"),
    ],
)
def test_a_ladder_that_cannot_be_is_one_line(page: Page, first: str, last: str, said: str) -> None:
    opened(page)
    page.locator("#ladder-first").fill(first)
    page.locator("#ladder-last").fill(last)
    page.locator("#ladder-go").click()
    expect(page.locator("#line")).to_contain_text(said)
    expect(page.locator("#rungs")).to_be_hidden()


# Read -------------------------------------------------------------------------------------------------------------


def given(page: Page, name: str, content: bytes) -> None:
    """A file dropped into the field."""
    page.set_input_files(
        "#read-file", {"name": name, "mimeType": "application/octet-stream", "buffer": content}
    )


@pytest.mark.parametrize(("ending", "content"), [(".dxf", CUT), (".svg", cut_svg(METAL).encode())])
def test_a_cam_read_from_a_drawing_is_known_again_and_fitted(page: Page, ending: str, content: bytes) -> None:
    opened(page)
    given(page, f"from the drawer{ending}", content)
    page.locator("#found svg").wait_for()
    expect(page.locator("#found h3")).to_have_text(f"Read from from-the-drawer{ending}")
    expect(page.locator("#found .nearest")).to_contain_text(f"Nearest cam of the rack: {OTHER}.")
    expect(page.locator("#found .nearest")).to_contain_text("No finger would tell the read one from it.")
    assert named(page, "#found") == OTHER
    known = asked(page)
    page.reload()
    page.locator("#found svg").wait_for()
    expect(page.locator("#read-name")).to_have_text(f"from the drawer{ending}")
    assert known == []
    expect(page.locator("#found .rack")).to_be_disabled()  # the rack has it already
    page.locator("#found .fit").click()
    expect(page.locator("[data-block=set]")).to_contain_text(OTHER)
    assert job_of(page)["rack"] == TYPED["rack"]


def test_a_cam_read_from_a_scan_needs_its_scale(page: Page, tmp_path: Path) -> None:
    opened(page)
    path = saved(
        scanned(metal_mm(METAL), circle(METAL.bore_radius * 1e3), Scanner(dpi=600)), tmp_path / "scan.png"
    )
    given(page, "scan.png", path.read_bytes())
    expect(page.locator("#line")).to_contain_text("scan.png")
    expect(page.locator("#line")).to_contain_text("scale")
    page.locator("#read-dpi").fill("600")
    page.get_by_role("button", name="read the cam").click()
    page.locator("#found svg").wait_for()
    expect(page.locator("#line")).to_be_hidden()
    expect(page.locator("#found .nearest")).to_contain_text(OTHER)
    page.locator("#read-layer").fill("outline")
    page.get_by_role("button", name="read the cam").click()
    expect(page.locator("#line")).to_contain_text("layer is for")
    expect(page.locator("#found")).to_be_hidden()


def test_what_a_read_cam_differs_in_is_told_in_felt_steps(page: Page) -> None:
    opened(page)
    case = cams.cam_case(JOB, "brake")
    theta = np.linspace(-3.0, 29.0, 129)
    turn = theta * 1.3  # steeper than anything on the rack
    rows = "\n".join(f"{at:.3f},{psi:.4f}" for at, psi in zip(theta, turn, strict=True))
    given(page, "law.csv", f"theta_deg,rocker_turn_deg\n{rows}\n".encode())
    page.locator("#found svg").wait_for()
    expect(page.locator("#found .nearest li").first).to_contain_text("felt steps")
    assert case.kind == "brake"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("cam.exe", b"MZ", 'ends in ".exe"; allowed is .csv'),
        ("bomb.zip", b"PK\x03\x04" + bytes(500), 'ends in ".zip"'),
        ("empty.csv", b"", "empty.csv"),
        ("noise.dxf", bytes(range(256)) * 9, "noise.dxf"),
        ("page.svg", b"<html/>", "no vector picture"),
        ("noise.png", b"\x89PNG\r\n\x1a\n" + bytes(50), "noise.png"),
        ("../../passwd.csv", b"a,b\n1,2\n", "passwd.csv"),
        ("huge.tif", bytes(30_000_001), "huge.tif: has 30 MB; allowed is 30"),
    ],
)
def test_a_wrong_upload_leaves_one_line(page: Page, name: str, content: bytes, said: str) -> None:
    opened(page)
    given(page, name, content)
    expect(page.locator("#line")).to_contain_text(said)
    assert "\n" not in page.locator("#line").inner_text() and "/" not in page.locator("#line").inner_text()
    expect(page.locator("#found")).to_be_hidden()
    page.reload()
    page.locator("#sheet svg").wait_for()
    expect(page.locator("#found")).to_be_hidden()


# Over the wire ----------------------------------------------------------------------------------------------------


def test_files_of_a_cam_in_numbers_are_those_of_the_rack(client: TestClient) -> None:
    assert JOB.rack is not None
    numbers = next(cam for cam in JOB.rack.brake_cams if cam.id == OTHER).model_dump()
    body = {"job": TYPED, "kind": "brake", "numbers": numbers, "ending": ".dxf"}
    answer = client.post("/api/cam/export", json=body)
    assert answer.status_code == 200, answer.text
    read, known = (
        max(ezdxf.read(StringIO(text.decode())).modelspace().query("LWPOLYLINE"), key=len)  # type: ignore[attr-defined]
        for text in (answer.content, CUT)
    )
    np.testing.assert_array_equal(np.array(read.get_points("xy")), np.array(known.get_points("xy")))


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"kind": "brake", "numbers": {"reach_deg": 0}}, "take_up_mm is missing"),
        ({"kind": "brake", "numbers": {"lift_mm": 9}}, "lift_mm"),
        ({"kind": "assist", "numbers": {"reach_deg": 9, "onset_deg": 6, "fall": 0.5}}, "reach_deg is 9"),
        ({"numbers": {"reach_deg": 0}}, "kind is missing"),
    ],
)
def test_numbers_that_are_no_cam_are_told(client: TestClient, body: dict[str, Any], said: str) -> None:
    answer = client.post("/api/cam/export", json={"job": TYPED, **body})
    assert answer.status_code == 422
    assert any(said in f"{one['key']} {one['said']}" for one in answer.json()["faults"])


# Looks ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_state_looks_right_at_three_widths(browser: Browser, served: str, theme: str) -> None:
    watched = Watched(browser, served, viewport={"width": 1024, "height": 900})
    page = watched.page
    page.add_init_script(f"localStorage.setItem('pullcurve.theme', '{theme}')")
    opened(page)
    drawn(page)
    page.locator("#ladder-count").select_option("3")
    page.locator("#ladder-go").click()
    page.locator("#rungs tbody tr").first.wait_for()
    given(page, "cam.dxf", CUT)
    page.locator("#found svg").wait_for()
    page.locator("#drawn .fit").click()
    expect(page.locator("#rungs .stale")).to_be_visible()
    for width in (390, 1024, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        page.wait_for_function("width => document.documentElement.clientWidth === width", arg=width)
        assert page.evaluate(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
        ), width
        assert page.evaluate(SMALL, LEAST) == [], width
        told = [
            f"{width} {one['id']}: {node['target']} {node['failureSummary']}"
            for one in Axe().run(page, options=RULES).response["violations"]
            for node in one["nodes"]
        ]
        assert told == []
        if PICTURES:
            page.wait_for_timeout(800)
            page.screenshot(path=Path(PICTURES) / f"cam-{width}-{theme}.png", full_page=True)
    watched.close()
