"""Sheets as verbs: whose id, which sets, what was checked, which bench pull may stand on it."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.parts.facts import data_text
from pullcurve.parts.job import Job
from pullcurve.studies.service import Ridden
from pullcurve.verbs import sheets
from pullcurve.verbs.asking import cams_named, pull_levers, with_cams
from pullcurve.verbs.cams import cam_case
from pullcurve.verbs.jobs import demo_job, demo_names
from pullcurve.verbs.stripping import service_for, steps_for

DAY = date(2026, 11, 28)
ON = ("brake-in0-tu0.3-st7.5", "assist-in0-on4-fa0.60")


@pytest.fixture(scope="module")
def job() -> Job:
    return demo_job()


# The id ---------------------------------------------------------------------------------------------------------------


def test_id_is_the_head_of_a_published_digest() -> None:
    """SHA-256 of "abc": FIPS 180-2, appendix B.1, begins ba7816bf 8f01cfea."""
    assert sheets.job_id("abc") == "ba7816bf8f01"


def test_id_does_not_see_how_lines_end_but_sees_every_letter() -> None:
    text = data_text("demo/enduro-300.toml")
    assert sheets.job_id(text.replace("\n", "\r\n")) == sheets.job_id(f"\ufeff{text}") == sheets.job_id(text)
    assert sheets.job_id(text.replace("430", "431")) != sheets.job_id(text)


def test_id_of_a_file_is_that_of_its_text(tmp_path: Path) -> None:
    text = data_text("demo/enduro-300.toml")
    file = tmp_path / "job.toml"
    file.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    known, name = sheets.open_for_sheet(file)
    assert known.title == demo_job().title and name == sheets.job_id(text)


# Rider ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", demo_names())
def test_every_demo_job_has_its_sheet(name: str) -> None:
    job = demo_job(name)
    sheet = sheets.rider_sheet(job, "0", DAY)
    now = pull_levers(job)
    assert len(sheet.sets) == 1 and sheet.changes == () and sheet.taken is None
    assert dict(sheet.last.cams) == now.cams and list(sheet.verdicts) == list(now.cams)
    assert sheet.service.reminders == tuple(
        sorted(
            service_for(job, {one.item.id: Ridden({}) for one in service_for(job, {})}),
            key=lambda one: -one.used,
        )
    )
    asked = " ".join(sheet.closing)
    assert ("Hand alone, foot alone" in asked) == (job.pedal is not None)
    assert ("clutch lever fully in" in asked) == (now.pull.clutch is not None)


def test_proposed_set_is_pulled_and_judged(job: Job) -> None:
    sheet = sheets.rider_sheet(job, "0", DAY, wanted=ON)
    then = pull_levers(job, with_cams(job, cams_named(job, ON)))
    assert [one.role for one in sheet.sets] == ["fitted", "proposed"]
    assert sheet.last.cams == then.cams
    assert sheet.last.pull.brake is not None and then.pull.brake is not None
    assert np.array_equal(sheet.last.pull.brake.force_lock, then.pull.brake.force_lock)
    change = next(one for one in sheet.changes if one.readout == "force_lock")
    assert change.after == pytest.approx(float(then.pull.brake.force_lock[..., 0]), rel=1e-12)
    assert sheet.verdicts["clutch"].ok and not sheet.broken


def test_checks_of_the_cams_are_those_of_the_cams_themselves(job: Job) -> None:
    sheet = sheets.rider_sheet(job, "0", DAY)
    for kind, verdict in sheet.verdicts.items():
        told = cam_case(job, kind).verdict
        assert [(one.key, one.ok, one.sentence) for one in verdict.findings] == [
            (one.key, one.ok, one.sentence) for one in told.findings
        ]


def test_limits_are_measured_on_the_set_that_is_shown(job: Job) -> None:
    """Hand and travel by hand, from the read-outs of the pull: reach left, and 5 mm of travel at least."""
    sheet = sheets.rider_sheet(job, "0", DAY, wanted=ON)
    margins = {limit.key: float(limit.margin[0]) for limit in sheet.limits}
    brake = sheet.last.pull.brake
    assert brake is not None
    assert margins["brake.touch"] == pytest.approx(1e3 * float(brake.touch_margin), abs=1e-6)
    fitted = {limit.key: float(limit.margin[0]) for limit in sheets.rider_sheet(job, "0", DAY).limits}
    moved = next(one for one in sheet.changes if one.kind == "brake" and one.readout == "travel_left")
    assert margins["brake.travel_left"] - fitted["brake.travel_left"] == pytest.approx(
        1e3 * (moved.after - moved.before), abs=1e-3
    )


def test_cams_that_are_not_there_or_do_not_go_together_are_one_line(job: Job) -> None:
    with pytest.raises(BadInput, match="is no cam of the rack; did you mean"):
        sheets.rider_sheet(job, "0", DAY, wanted=("brake-in0-tu0.3-st7.6",))
    with pytest.raises(BadInput, match="reach"):
        sheets.rider_sheet(job, "0", DAY, wanted=("clutch-in8-li9.50",))


def test_notes_change_what_is_due(job: Job) -> None:
    sheet = sheets.rider_sheet(job, "0", DAY, since={"pads": Ridden({"dry": 9.0})})
    assert sheet.service.noted and sheet.service.reminders == service_for(job, {"pads": Ridden({"dry": 9.0})})


# With a bench pull ----------------------------------------------------------------------------------------------------


def taken(path: Path, job: Job, cams: tuple[str, ...], said: str, factor: float = 1.0) -> Path:
    """A bench pull of the clutch lever as it is computed for some cams, three times in and out."""
    known = pull_levers(job, with_cams(job, cams_named(job, cams)) if cams else None).pull.levers[1].curves
    travel = np.tile(1e3 * np.concatenate([known.travel, known.travel[::-1]]), 3)
    force = np.tile(factor * np.concatenate([known.pull, known.release[::-1]]), 3)
    lines = [f"{place:.4f};{newton:.4f}" for place, newton in zip(travel, force, strict=True)]
    path.write_text(
        "\n".join([*said.splitlines(), "travel_mm;force_newton", *lines]) + "\n", encoding="utf-8"
    )
    return path


def test_pull_of_what_is_fitted_is_alike_and_drawn_on_its_lever(tmp_path: Path, job: Job) -> None:
    file = taken(tmp_path / "p.csv", job, (), "# lever: clutch")
    sheet = sheets.with_pull(sheets.rider_sheet(job, "0", DAY, wanted=ON), file)
    assert sheet.taken is not None
    assert (sheet.taken.lever, sheet.taken.row, sheet.taken.role) == ("clutch", 1, "fitted")
    assert sheet.taken.compared.sentence.startswith("No finger can tell")
    target = sheets.write_sheet(tmp_path / "s.html", sheet)
    text = target.read_text(encoding="utf-8")
    assert "Measured against computed (p.csv, 3 pulls of the clutch lever with what is fitted)" in " ".join(
        text.split()
    )
    dots = text.partition('class="cloud"')[0].rpartition("<path")[2]
    assert dots.count("M") > 50


def test_pull_of_what_is_proposed_is_known_by_its_cams(tmp_path: Path, job: Job) -> None:
    file = taken(tmp_path / "p.csv", job, ON, f"# lever: clutch\n# fitted: {ON[1]}", factor=1.3)
    sheet = sheets.with_pull(sheets.rider_sheet(job, "0", DAY, wanted=ON), file)
    assert sheet.taken is not None and sheet.taken.role == "proposed"
    assert "harder" in sheet.taken.compared.sentence


def test_pull_of_another_set_is_refused(tmp_path: Path, job: Job) -> None:
    file = taken(tmp_path / "p.csv", job, (), "# lever: clutch\n# fitted: clutch-in0-li9.00")
    with pytest.raises(
        BadInput, match=r"was taken with .*clutch-in0-li9.00.*; allowed is a pull of what is fitted"
    ):
        sheets.with_pull(sheets.rider_sheet(job, "0", DAY, wanted=ON), file)


def test_pull_over_lever_angles_is_drawn_over_travel(tmp_path: Path, job: Job) -> None:
    """75 mm from pin to finger: a degree is 1.309 mm."""
    from pullcurve.papers.sheetpage import rider_figure

    file = taken(tmp_path / "p.csv", job, (), "# lever: clutch")
    rows = [line.split(";") for line in file.read_text(encoding="utf-8").splitlines()[2:]]
    turned = [f"{float(place) / 1.3089969:.5f};{force}" for place, force in rows]
    other = tmp_path / "q.csv"
    other.write_text(
        "\n".join(["# lever: clutch", "angle_deg;force_newton", *turned]) + "\n", encoding="utf-8"
    )
    fresh = sheets.rider_sheet(job, "0", DAY)
    clouds = []
    for path in (file, other):
        figure = rider_figure(sheets.with_pull(fresh, path), 260.0)
        data = figure.partition('class="cloud"')[0].rpartition("<path")[2]
        clouds.append([float(one) for one in data.partition('d="M')[2].partition('"')[0].replace("h.01M", " ")
                       .replace("h.01", "").split()])  # fmt: skip
    ends = [(min(cloud[::2]), max(cloud[::2])) for cloud in clouds]
    assert ends[0] == pytest.approx(ends[1], abs=6.0)


# Bench ----------------------------------------------------------------------------------------------------------------


def test_bench_sheet_has_the_steps_and_what_is_exchanged(job: Job) -> None:
    sheet = sheets.bench_sheet(job, "0", DAY, "brake-cam", wanted=ON[:1])
    assert sheet.steps == steps_for(job, "brake-cam")
    assert [(off.id if off else None, on.id) for off, on in sheet.exchanged] == [
        ("brake-in0-tu0.0-st8.5", "brake-in0-tu0.3-st7.5")
    ]
    assert sheets.bench_sheet(job, "0", DAY, "grease").exchanged == ()


@pytest.mark.parametrize(
    ("task", "wanted", "said"),
    [
        ("brake-cam", ("clutch-in0-li9.50",), "leaves the clutch cam where it is; allowed is .* clutch-cam"),
        ("brake-can", (), "did you mean brake-cam"),
        ("clutch-cam", ("clutch-in8-li9.50",), "reach"),
    ],
)
def test_bench_sheet_that_would_mislead_is_refused(
    job: Job, task: str, wanted: tuple[str, ...], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        sheets.bench_sheet(job, "0", DAY, task, wanted=wanted)


# Write ----------------------------------------------------------------------------------------------------------------


def test_ending_says_the_form(tmp_path: Path, job: Job) -> None:
    sheet = sheets.bench_sheet(job, "0", DAY, "brake-cam")
    assert sheets.write_sheet(tmp_path / "a.PDF", sheet).read_bytes().startswith(b"%PDF-")
    assert sheets.write_sheet(tmp_path / "a.html", sheet).read_text("utf-8").startswith("<!DOCTYPE html>")
    with pytest.raises(BadInput, match=r'ends in "\.txt"; allowed is \.pdf or \.html'):
        sheets.write_sheet(tmp_path / "a.txt", sheet)
    with pytest.raises(BadInput, match="cannot be written: No such file"):
        sheets.write_sheet(tmp_path / "none" / "a.html", sheet)
