"""The interface for programs: the same numbers as the verbs, and every fault in one line."""

import json
import zipfile
from base64 import b64encode
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from starlette.testclient import TestClient

from pullcurve.errors import BadInput
from pullcurve.intake.jobfile import parse_job
from pullcurve.papers.record import plain
from pullcurve.verbs import asking, cams, jobs, making
from pullcurve.web.cams import packed

JOB = jobs.demo_job()
TYPED: dict[str, Any] = JOB.model_dump(mode="json", exclude_unset=True)
OTHER = "brake-in0-tu0.3-st7.5"


def post(client: TestClient, path: str, **body: Any) -> Any:
    """An answer that is one."""
    answer = client.post(path, json={"job": TYPED} | body)
    assert answer.status_code == 200, answer.text
    return answer.json()


def refused(client: TestClient, path: str, status: int = 422, **body: Any) -> list[dict[str, str]]:
    """The faults of a question that is refused."""
    answer = client.post(path, json={"job": TYPED, **body})
    assert answer.status_code == status, answer.text
    faults = answer.json()["faults"]
    assert faults and all(set(one) == {"where", "key", "said"} for one in faults)
    assert all(len(f"{one['said']}".splitlines()) == 1 for one in faults)
    return list(faults)


# Jobs ---------------------------------------------------------------------------------------------------------


def test_demo_jobs_are_those_of_the_package(client: TestClient) -> None:
    listed = client.get("/api/jobs/demo").json()["jobs"]
    assert [one["name"] + ".toml" for one in listed] == list(jobs.demo_names())
    for one in listed:
        known = jobs.demo_job(one["name"] + ".toml")
        assert one["title"] == known.title
        assert client.get(f"/api/jobs/demo/{one['name']}").json() == json.loads(
            known.model_dump_json(exclude_unset=True)
        )


def test_an_unknown_demo_job_is_told_with_those_that_are_known(client: TestClient) -> None:
    answer = client.get("/api/jobs/demo/nothing")
    assert answer.status_code == 422
    assert "enduro-300" in answer.json()["faults"][0]["said"]


def test_check_says_where_every_value_came_from(client: TestClient) -> None:
    found = post(client, "/api/jobs/check")
    assert found["origins"]["rider.mass_kg"] == {"value": 84, "source": "given", "note": ""}
    assert found["origins"]["brake_circuit.pad_gap_mm"]["source"] == "prior"
    assert found["block"]["set"] == ", ".join(cam["id"] for cam in found["fitted"].values())


def test_every_fault_of_a_job_is_named_with_its_place(client: TestClient) -> None:
    wrong = {**TYPED, "rider": {**TYPED["rider"], "mass_kg": 8, "hand": 1}}
    faults = refused(client, "/api/jobs/check", job=wrong)
    assert [(one["where"], one["key"]) for one in faults] == [
        ("job [rider]", "mass_kg"),
        ("job [rider]", "hand"),
    ]
    assert faults[0]["said"] == "is 8; allowed is 25 to 200"


def test_a_job_goes_out_as_a_file_and_comes_back_the_same(client: TestClient) -> None:
    measured = {"rider.mass_kg": {"date": "2026-05-14", "low": 83, "high": 85}}
    answer = client.post("/api/jobs/export", json={"job": {**TYPED, "measured": measured}})
    assert answer.headers["content-disposition"] == 'attachment; filename="job.toml"'
    assert parse_job(answer.text, "job.toml").measured["rider.mass_kg"].date.isoformat() == "2026-05-14"
    back = client.post("/api/jobs/import?name=job.toml", content=answer.content)
    assert back.json() == {**TYPED, "measured": {"rider.mass_kg": {**measured["rider.mass_kg"]}}}


def test_a_job_with_measured_numbers_stands_on_the_bench(client: TestClient) -> None:
    measured = {"rider.mass_kg": {"date": "2026-05-14", "low": 83, "high": 85}}
    asked = {"job": {**TYPED, "measured": measured}, "cams": ["brake-in0-tu0.3-st7.5"]}
    answer = client.post("/api/bench", json=asked)
    assert answer.status_code == 200
    plain = client.post("/api/bench", json={**asked, "job": TYPED}).json()
    assert answer.json()["levers"] == plain["levers"]


def test_a_file_that_is_no_job_is_told_by_its_name(client: TestClient) -> None:
    for content, said in (
        (b"\xff\xfe\x00", "is no UTF-8 text from byte 0 on; a job is one TOML file"),
        (b"#" * 1_500_000, "has more than 1 MB; a job has a few kB"),
        (b"title = ", "is not TOML"),
    ):
        answer = client.post("/api/jobs/import?name=../../etc/passwd", content=content)
        assert answer.status_code == 422
        [fault] = answer.json()["faults"]
        assert fault["where"] == "../../etc/passwd"
        assert said in fault["said"]


def test_the_rack_says_which_cams_fit_alone(client: TestClient) -> None:
    kinds = post(client, "/api/jobs/rack")["kinds"]
    assert JOB.rack is not None and JOB.fitted.clutch is not None
    assert [cam["id"] for cam in kinds["brake"]["cams"]] == [cam.id for cam in JOB.rack.brake_cams]
    assert all(cam["fits"] for cam in kinds["brake"]["cams"])
    fitting = {cam["reach_deg"] for cam in kinds["clutch"]["cams"] if cam["fits"]}
    assert fitting == {JOB.fitted.clutch.reach_deg}


# Pull, find, swap -----------------------------------------------------------------------------------------------


def test_pull_is_that_of_the_verb(client: TestClient) -> None:
    found = post(client, "/api/pull", cams=[OTHER])
    now = asking.pull_levers(JOB)
    then = asking.pull_levers(JOB, asking.with_cams(JOB, asking.cams_named(JOB, (OTHER,))))
    for known, verb in ((found, now), (found["proposed"], then)):
        for lever, pulled in zip(known["levers"], verb.pull.levers, strict=True):
            np.testing.assert_array_equal(lever["arrays"]["pull"], np.ravel(pulled.curves.pull))
            np.testing.assert_array_equal(lever["arrays"]["release"], np.ravel(pulled.curves.release))


def test_pull_with_stations_and_foot_reaches_the_verb(client: TestClient) -> None:
    found = post(client, "/api/pull", stations=16)
    known = asking.pull_levers(JOB, stations=16)
    assert len(found["levers"][0]["arrays"]["pull"]) == known.pull.levers[0].curves.pull.size
    [fault] = refused(client, "/api/pull", foot_newton=20)
    assert fault["key"] == "foot force"
    [fault] = refused(client, "/api/pull", cams=["brake-in0-tu0.3-st7.4"])
    assert fault["said"].endswith("did you mean brake-in0-tu0.3-st7.5?")


def test_a_figure_is_a_picture(client: TestClient) -> None:
    answer = client.post("/api/pull/figure", json={"job": TYPED, "theme": "dark", "width": 500})
    assert answer.headers["content-type"] == "image/svg+xml"
    assert 'width="500"' in answer.text and "#12181C" in answer.text


def test_find_is_that_of_the_verb_and_its_cloud_holds_every_allowed_set(client: TestClient) -> None:
    found = post(client, "/api/find", most=3, cloud=True)
    known = asking.find_sets(JOB, most=3)
    assert {kind: cam["id"] for kind, cam in found["best"].items()} == {
        kind: cam.id for kind, cam in known.best.items()
    }
    for lever, verb, cloud in zip(found["levers"], known.levers, found["clouds"], strict=True):
        assert [one["distance_felt_steps"] for one in lever["answers"]] == [
            one.distance for one in verb.answers
        ]
        assert len(cloud["cams"]) == lever["keeping_every_limit"] == int(verb.table.allowed.sum())
        assert sum(cloud["undominated"]) == lever["undominated"]
        assert {axis["key"] for axis in cloud["axes"] if axis["wish"] is not None} == {
            wish.key for wish in verb.wishes
        }


def test_a_point_of_the_cloud_is_the_pull_of_its_set(client: TestClient) -> None:
    cloud = post(client, "/api/find", cloud=True)["clouds"][0]
    axes = {axis["key"]: axis for axis in cloud["axes"]}
    for row in (0, len(cloud["cams"]) - 1):
        set_at = asking.cams_named(JOB, tuple(cloud["cams"][row].values()))
        pulled = asking.pull_levers(JOB, asking.with_cams(JOB, set_at)).pull.brake
        assert pulled is not None
        force, travel = float(np.ravel(pulled.force_lock)[0]), float(np.ravel(pulled.travel_bite)[0])
        assert axes["brake.force_lock_newton"]["values"][row] == pytest.approx(force, rel=1e-3)
        assert axes["brake.travel_bite_mm"]["values"][row] == pytest.approx(1e3 * travel, rel=1e-3)


def test_swap_is_that_of_the_verb(client: TestClient) -> None:
    found = post(client, "/api/swap", complaint="clutch too heavy")
    known = asking.swap_cam(JOB, "clutch too heavy")
    assert [one["on"]["id"] for one in found["helping"]] == [one.on.id for one in known.helping]
    assert [one["words"] for one in found["helping"]] == [one.words for one in known.helping]
    [fault] = refused(client, "/api/swap", complaint="clutch too hevy")
    assert "did you mean" in fault["said"]


def test_a_workshop_without_a_rack_is_told_what_to_check(client: TestClient) -> None:
    bare = {key: value for key, value in TYPED.items() if key != "rack"}
    found = post(client, "/api/swap", job=bare, complaint="clutch too heavy")
    assert found["complaints"][0]["check_first"] and not found["helping"]
    assert "No single cam of the rack" in found["notes"][1]
    [fault] = refused(client, "/api/find", job=bare)
    assert fault["key"] == "rack"


def test_every_complaint_that_is_listed_is_understood(client: TestClient) -> None:
    listed = client.get("/api/complaints").json()["complaints"]
    for one in listed[::15]:
        found = post(client, "/api/swap", complaint=f"{one['lever']} {one['words'][-1]}")
        assert (one["lever"], one["name"]) in {
            (known["lever"], known["name"]) for known in found["complaints"]
        }


def test_what_no_rack_can_do_is_a_conflict(client: TestClient) -> None:
    weak = {**TYPED, "rider": {**TYPED["rider"], "grip_newton": 31}}
    [fault] = refused(client, "/api/find", 409, job=weak)
    assert "none of the" in fault["said"]


def test_lines_tell_progress_first_and_the_answer_last(client: TestClient) -> None:
    headers = {"Accept": "application/x-ndjson"}
    answer = client.post("/api/find", json={"job": TYPED}, headers=headers)
    lines = [json.loads(line) for line in answer.text.splitlines()]
    assert all(0 <= line["done"] <= line["total"] for line in lines[:-1]) and len(lines) > 2
    assert lines[-1]["answer"] == post(client, "/api/find")
    wrong = client.post("/api/swap", json={"job": TYPED, "complaint": "purple"}, headers=headers)
    last = json.loads(wrong.text.splitlines()[-1])
    assert last["status"] == 422 and "is not known here" in last["faults"][0]["said"]


# Cams -----------------------------------------------------------------------------------------------------------


def test_a_cam_is_that_of_the_verb(client: TestClient) -> None:
    case = cams.cam_case(cams.cams_for(JOB, "brake", (OTHER,)), "brake")
    shown = post(client, "/api/cam/show", kind="brake", cams=[OTHER])
    np.testing.assert_array_equal(shown["cam"]["outline"], case.metal.outline)
    checked = post(client, "/api/cam/check", kind="brake", cams=[OTHER])
    assert checked["name"] == OTHER and checked["passes"] == case.verdict.ok
    assert [one["sentence"] for one in checked["findings"]] == [one.sentence for one in case.verdict.findings]


def test_the_outline_to_cut_is_a_drawing_another_reader_opens(client: TestClient) -> None:
    answer = client.post("/api/cam/dxf", json={"job": TYPED, "kind": "assist"})
    assert answer.headers["content-disposition"].endswith('assist-in0-on10-fa0.40.dxf"')
    drawing = ezdxf.read(StringIO(answer.text))  # type: ignore[attr-defined]
    outline = max(drawing.modelspace().query("LWPOLYLINE"), key=len)
    assert outline.closed


def test_a_cam_is_drawn_for_wishes_as_the_verb_draws_it(client: TestClient) -> None:
    found = post(client, "/api/cam/draw", kind="brake", drawing={"wishes": {"force_lock_newton": 58}})
    known = making.draw_cam(JOB, "brake", making.wanted_feel(JOB, "brake", {"force_lock_newton": 58}))[0]
    np.testing.assert_array_equal(found["drawn"]["law"]["rocker_angle"], known.psi)
    assert found["drawn"]["met"] and found["sheet"].startswith("<svg")


def test_a_ladder_climbs_in_equal_felt_steps(client: TestClient) -> None:
    found = post(client, "/api/cam/ladder", kind="brake", key="force_lock_newton", first=50, last=72, count=3)
    rungs = [rung["force_lock_newton"] for rung in found["rungs"]]
    # A felt step of a force is a share of it, so equal steps are equal ratios.
    assert rungs == pytest.approx([50, (50 * 72) ** 0.5, 72], rel=1e-3)
    [fault] = refused(client, "/api/cam/ladder", kind="brake", key="force", first=50, last=72)
    assert "is not known here" in fault["said"]


@pytest.mark.parametrize(
    ("drawing", "said"),
    [
        ({}, "are missing"),
        ({"points": [[1, 10]]}, "two or more"),
        ({"points": [[5, 10], [1, 20]]}, "rising"),
        ({"points": [[1, 0], [2, 20]]}, "above 0"),
        ({"wishes": {"force_lock": 58}}, "is not known here"),
        ({"wishes": {"force_lock_newton": "58"}}, "allowed is a number"),
        ({"wishes": {"force_lock_newton": -1}}, "more than 0"),
    ],
)
def test_what_cannot_be_drawn_is_told(client: TestClient, drawing: dict[str, Any], said: str) -> None:
    [fault] = refused(client, "/api/cam/draw", kind="brake", drawing=drawing)
    assert said in fault["said"]


def test_a_zip_holds_the_files_of_a_cam(client: TestClient) -> None:
    answer = client.post("/api/cam/export", json={"job": TYPED, "kind": "clutch"})
    metal = cams.cam_case(JOB, "clutch").metal
    with zipfile.ZipFile(BytesIO(answer.content)) as archive:
        files = {name.removeprefix(metal.name): archive.read(name) for name in archive.namelist()}
    assert {".dxf", "-r12.dxf", ".svg", "-outline.csv", "-flank.csv"} <= set(files)
    assert files["-drawing.pdf"].startswith(b"%PDF")
    drawn = ezdxf.read(StringIO(files[".dxf"].decode()))  # type: ignore[attr-defined]
    outline = max(drawn.modelspace().query("LWPOLYLINE"), key=len)
    corners = np.array([(x, y) for x, y, *_ in outline.get_points()])
    np.testing.assert_allclose(corners.max(axis=0), 1e3 * metal.outline.max(axis=0), atol=0.01)


def test_a_file_of_no_such_ending_is_told_with_those_there_are(client: TestClient) -> None:
    case = cams.cam_case(JOB, "brake")
    files = tuple(Path(f"{case.name}{ending}") for ending in (".dxf", "-flank.csv"))
    with pytest.raises(BadInput, match=r"-flank\.csv"):
        packed([making.Made(case, 1e-5, files)], ".exe")
    [fault] = refused(client, "/api/cam/export", drawing={"wishes": {"force_lock_newton": 58}})
    assert fault["key"] == "kind"


def test_a_cam_comes_back_from_its_own_points(client: TestClient) -> None:
    metal = cams.cam_case(JOB, "brake").metal
    table = "x (mm),y (mm)\n" + "".join(f"{1e3 * x:.5f},{1e3 * y:.5f}\n" for x, y in metal.outline)
    data = b64encode(table.encode()).decode()
    found = post(client, "/api/cam/read", kind="brake", name="points.csv", data=data)
    assert found["read"]["nearest"]["id"] == "brake-in0-tu0.0-st8.5"
    assert found["read"]["nearest_apart"] < 1e-4


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("../../../etc/passwd", b"x", "allowed is .csv"),
        ("cam.zip", b"PK\x03\x04", "allowed is .csv"),
        ("cam.csv", b"PK\x03\x04" + bytes(2000), ""),
        ("cam.png", b"\x89PNG\r\n\x1a\n" + bytes(50), ""),
        ("cam.dxf", b"\x00\x01\x02", ""),
        ("cam.csv", b"", ""),
    ],
)
def test_what_is_no_cam_is_told_and_leaves_nothing(
    client: TestClient, name: str, content: bytes, said: str, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    data = b64encode(content).decode()
    [fault] = refused(client, "/api/cam/read", kind="brake", name=name, data=data)
    assert said in fault["said"]
    assert list(tmp_path.iterdir()) == []


# The description --------------------------------------------------------------------------------------------------


def test_the_description_has_the_job_with_its_parts(client: TestClient) -> None:
    description = client.get("/api/openapi.json").json()
    body = description["components"]["schemas"]["PullBody"]["properties"]["job"]
    assert body["$ref"].rpartition("/")[2].startswith("Job")
    assert {"Rider", "Lever", "Rocker", "BrakeCam"} <= {
        name.removesuffix("-Input") for name in description["components"]["schemas"]
    }


def test_the_page_for_programs_names_every_question(client: TestClient) -> None:
    html = client.get("/help/api").text
    for path in client.get("/api/openapi.json").json()["paths"]:
        assert path in html


def test_no_ready_made_page_of_another_host_is_served(client: TestClient) -> None:
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert client.get(path).status_code == 404


def test_plain_has_no_number_that_json_lacks() -> None:
    assert plain({"a": np.array([1.0, np.nan]), "b": np.inf}) == {"a": [1.0, None], "b": None}
