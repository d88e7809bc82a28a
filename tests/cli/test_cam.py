"""The cam commands: what is typed and what comes back."""

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from pullcurve.pull.plate import cam_metal
from pullcurve.verbs.jobs import demo_job
from tests.cli.speaking import Said, Speak, job_file
from tests.intake.picture import Scanner, circle, saved, scanned
from tests.intake.plates import metal_mm

KINDS = ("brake", "clutch", "assist")
SPIKED = "theta_deg,rocker_turn_deg\n" + "\n".join(
    f"{angle:.1f},{angle + (1.5 if 11 <= angle <= 12 else 0):.3f}" for angle in np.arange(-2, 28, 0.5)
)


def answer(said: Said) -> dict[str, Any]:
    """JSON by the standard, and nothing on standard error."""
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert isinstance(found, dict)
    return found


def refused(said: Said, part: str, code: int = 2) -> None:
    """One line that says so, and nothing else."""
    assert (said.code, said.out, len(said.lines)) == (code, "", 1)
    assert part in said.lines[0]


# Show and check ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_show_says_what_the_cam_is(cli: Speak, job: Path, kind: str) -> None:
    said = cli("cam", "show", job, "--kind", kind)
    assert (said.code, said.err) == (0, "")
    for part in (
        "hardened steel",
        "13.00 mm H7",
        "roller diameter",
        "The cam passes every check.",
        "certifies nothing",
    ):
        assert part in " ".join(said.out.split())
    of = "brake" if kind == "brake" else "clutch"
    assert f"\n{of} " in said.out and ("force at lock-up" in said.out) == (kind == "brake")


def test_show_as_json_has_the_plate_its_flank_and_its_pull(cli: Speak, job: Path) -> None:
    found = answer(cli("cam", "show", job, "--kind", "clutch", "--json"))
    cam = found["cam"]
    assert cam["drives"] == "clutch"
    outline = np.array(cam["outline"])
    x, y = outline.T
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert area > math.pi * cam["hub_radius"] ** 2  # counter-clockwise, and larger than its hub
    centres, flank = np.array(cam["flank"]["roller_centre"]), np.array(cam["flank"]["points"])
    assert np.allclose(np.hypot(*(centres - flank).T), cam["roller_radius"], rtol=1e-9)
    assert found["check"]["passes"] is True
    assert found["pull"]["levers"][1]["readouts"]["clutch"]["force_peak_newton"] > 0


@pytest.mark.parametrize("ending", [".svg", ".png", ".pdf"])
def test_picture_of_a_cam(cli: Speak, job: Path, ending: str) -> None:
    target = job.with_name(f"cam{ending}")
    said = cli("cam", "show", job, "--kind", "brake", "--plot", target)
    assert (said.code, said.err) == (0, "")
    assert "picture: " in said.out
    assert target.stat().st_size > 5000


def test_another_cam_of_the_rack_is_shown_in_place_of_the_fitted_one(cli: Speak, job: Path) -> None:
    said = cli("cam", "show", job, "--kind", "brake", "--cam", "brake-in0-tu0.3-st7.5")
    assert said.out.startswith("brake-in0-tu0.3-st7.5 in 300 two-stroke enduro")


def test_check_passes_what_is_fitted(cli: Speak, job: Path) -> None:
    said = cli("cam", "check", job, "--kind", "assist")
    assert (said.code, said.err) == (0, "")
    assert "check: passes every check" in said.out and "WRONG" not in said.out
    assert said.out.count("\n  ok ") >= 12


def test_check_of_a_spoilt_law_fails_with_places_and_exit_code_one(cli: Speak, job: Path) -> None:
    path = job.with_name("spoilt.csv")
    path.write_text(SPIKED, encoding="ascii")
    said = cli("cam", "check", job, "--kind", "brake", "--from", path)
    assert (said.code, said.err) == (1, "")
    assert "WRONG" in said.out and "of lever" in said.out
    found = json.loads(cli("cam", "check", job, "--kind", "brake", "--from", path, "--json").out)
    assert found["passes"] is False
    wrong = [one for one in found["findings"] if not one["passes"]]
    assert any(9 <= (one["at_lever_deg"] or 0) <= 14 for one in wrong)


# What is typed wrong ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (("show", "--kind", "assist", "--cam", "brake-in0-tu0.3-st7.6"), "did you mean"),
        (("show", "--kind", "brake", "--cam", "brake-in0-tu0.3-st7.5", "--from", "a.csv"), "are both given"),
        (("show", "--kind", "brake", "--dpi", "1200"), "say how to read a file"),
        (("show", "--kind", "brake", "--from", "none.dxf"), "none.dxf: is not there"),
        (("show", "--kind", "brake", "--from", "job.toml"), "is no kind of file that a cam is read from"),
        (("draw", "--kind", "brake"), "wish is missing"),
        (("draw", "--kind", "brake", "--wish", "force_lock_newton"), "lacks its value"),
        (("draw", "--kind", "brake", "--wish", "force_lock_newton=much"), "is no number"),
        (("draw", "--kind", "brake", "--wish", "lock=5"), "lock is not known here; allowed is gap_rest_mm"),
        (
            ("draw", "--kind", "brake", "--wish", "force_lock_newton=5", "--wish", "force_lock_newton=6"),
            "is given twice",
        ),
        (("draw", "--kind", "brake", "--points", "none.csv"), "none.csv: is not there"),
        (("ladder", "--kind", "brake", "--vary", "force_lock_newton", "45", "75", "--count", "1"), "2 to 24"),
        (
            ("ladder", "--kind", "brake", "--vary", "force_lock_newton", "60", "62"),
            "could not tell the rungs apart",
        ),
        (
            (
                "ladder",
                "--kind",
                "brake",
                "--vary",
                "force_lock_newton",
                "45",
                "75",
                "--wish",
                "force_lock_newton=5",
            ),
            "varies along the ladder",
        ),
    ],
)
def test_what_is_typed_wrong_is_one_line(
    cli: Speak, job: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], part: str
) -> None:
    monkeypatch.chdir(job.parent)
    refused(cli("cam", arguments[0], "job.toml", *arguments[1:]), part)


@pytest.mark.parametrize("verb", ["show", "check", "draw", "tolerance"])
def test_a_kind_that_the_job_lacks(cli: Speak, tmp_path: Path, verb: str) -> None:
    path = job_file(tmp_path, "electric.toml")
    more = ("--wish", "force_peak_newton=45") if verb == "draw" else ()
    refused(cli("cam", verb, path, "--kind", "clutch", *more), 'kind is "clutch"; allowed is brake')


def test_the_group_alone_shows_its_help(cli: Speak) -> None:
    said = cli("cam")
    assert said.code == 2
    assert all(
        f"  {verb} " in said.out + said.err for verb in ("show", "check", "read", "draw", "ladder", "export")
    )


# Files that are no cams -----------------------------------------------------------------------------------------------


def test_broken_drawing(cli: Speak, job: Path) -> None:
    path = job.with_name("broken.dxf")
    path.write_text("0\nSECTION\n2\nENTITIES\n0\nLWPOLY", encoding="ascii")
    said = cli("cam", "read", path, "--job", job, "--kind", "brake")
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert said.lines[0].startswith("broken.dxf: ")


def test_self_crossing_profile(cli: Speak, job: Path) -> None:
    path = job.with_name("crossing.csv")
    corners = [(-15, -15), (15, 15), (15, -15), (-15, 15)]
    sides = [
        np.linspace(start, end, 60, endpoint=False)
        for start, end in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    lines = [f"{x:.3f},{y:.3f}" for x, y in np.concatenate(sides)]
    path.write_text("x_mm,y_mm\n" + "\n".join(lines), encoding="ascii")
    said = cli("cam", "read", path, "--job", job, "--kind", "brake")
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert "crosses itself" in said.lines[0]


# Pictures ------------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def scan() -> NDArray[np.uint8]:
    """The fitted brake cam of the main demo job on a scanner's glass, 600 dpi."""
    metal = cam_metal(demo_job(), "brake")
    return scanned(metal_mm(metal), circle(1e3 * metal.bore_radius), Scanner(dpi=600.0, noise=0.01, turn=0.7))


def test_scan_says_how_well_it_was_read_and_which_cam_it_is(
    cli: Speak, job: Path, scan: NDArray[np.uint8]
) -> None:
    path, plot = saved(scan, job.with_name("scan.png")), job.with_name("feel.svg")
    said = cli("cam", "read", path, "--job", job, "--kind", "brake", "--dpi", "600", "--plot", plot)
    assert (said.code, said.err) == (0, "")
    assert "Nearest cam of the rack: brake-in0-tu0.0-st8.5" in said.out
    for part in ("read from scan.png", "The cam lay turned by", "at the roller", "picture: "):
        assert part in said.out
    found = answer(cli("cam", "read", path, "--job", job, "--kind", "brake", "--dpi", "600", "--json"))
    assert found["read"]["nearest"]["id"] == "brake-in0-tu0.0-st8.5"
    assert found["read"]["nearest_apart"] < 2e-5


def test_picture_without_a_scale(cli: Speak, job: Path, scan: NDArray[np.uint8]) -> None:
    path = saved(scan, job.with_name("scan.png"))
    refused(cli("cam", "read", path, "--job", job, "--kind", "brake"), "scan.png: ")


def test_picture_cut_off_at_the_edge(cli: Speak, job: Path, scan: NDArray[np.uint8]) -> None:
    path = saved(scan[:, : 2 * scan.shape[1] // 3], job.with_name("scan.png"))
    said = cli("cam", "read", path, "--job", job, "--kind", "brake", "--dpi", "600")
    refused(said, "edge")


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n\x1a\n", b"no picture at all"])
def test_a_picture_that_is_none(cli: Speak, job: Path, content: bytes) -> None:
    path = job.with_name("scan.png")
    path.write_bytes(content)
    refused(cli("cam", "read", path, "--job", job, "--kind", "brake", "--dpi", "600"), "scan.png: ")


# Draw, ladder, tolerance, export --------------------------------------------------------------------------------------


def test_drawn_cam_for_a_wish_and_its_files(cli: Speak, job: Path) -> None:
    out = job.parent / "cut"
    found = answer(
        cli("cam", "draw", job, "--kind", "brake", "--wish", "force_lock_newton=62", "-o", out, "--json")
    )
    assert found["drawn"]["met"] is True
    assert found["check"]["passes"] is True
    lock = found["pull"]["levers"][0]["readouts"]["brake"]["force_lock_newton"][0]
    assert abs(math.log(lock / 62) / math.log(1.07)) < 1.0  # less than a felt step of 7 %
    (files,) = found["files"].values()
    assert sorted(Path(path).name for path in files) == sorted(path.name for path in out.iterdir())


def test_drawn_cam_in_words_with_the_picture_of_both_feels(cli: Speak, job: Path) -> None:
    target = job.with_name("feel.svg")
    said = cli("cam", "draw", job, "--kind", "clutch", "--wish", "force_peak_newton=66", "--plot", target)
    assert (said.code, said.err) == (0, "")
    for part in ("the drawn cam", "felt steps", "drawn", "check: ", "picture: "):
        assert part in said.out
    assert target.stat().st_size > 5000


def test_points_of_a_pull_as_a_wish(cli: Speak, job: Path) -> None:
    path = job.with_name("wanted.csv")
    path.write_text("travel_mm,force_newton\n12,18\n18,36\n24,62\n", encoding="ascii")
    found = answer(cli("cam", "draw", job, "--kind", "brake", "--points", path, "--json"))
    assert set(found["drawn"]["felt_steps_left"]) == {
        "force at 12.0 mm",
        "force at 18.0 mm",
        "force at 24.0 mm",
    }


def test_ladder_is_one_line_a_cam(cli: Speak, job: Path) -> None:
    said = cli(
        "cam", "ladder", job, "--kind", "brake", "--vary", "force_lock_newton", "52", "70", "--count", "3"
    )
    assert (said.code, said.err) == (0, "")
    assert said.out.count("brake-force-lock-") == 3
    assert "passes" in said.out


def test_tolerance_in_words_and_as_json(cli: Speak, job: Path) -> None:
    said = cli("cam", "tolerance", job, "--kind", "brake")
    assert (said.code, said.err) == (0, "")
    for part in ("The finger justifies a profile tolerance of ±0.0", "a thousand units", "by wear"):
        assert part in said.out
    found = answer(cli("cam", "tolerance", job, "--kind", "brake", "--json"))
    assert 1e-6 < found["justified"]["profile_tolerance"] < 5e-4
    assert found["making"]["amounts"] == [1e-5, 2e-5, 5e-5]
    assert set(found["making"]["readouts"]) == set(found["wear"]["readouts"]) == set(found["scatter"])


def test_export_lists_what_it_wrote(cli: Speak, job: Path) -> None:
    out = job.parent / "[bold]cut"
    said = cli("cam", "export", job, "-o", out)
    assert (said.code, said.err) == (0, "")
    listed = [line.strip() for line in said.out.splitlines() if line.startswith("  ")]
    assert sorted(Path(line).name for line in listed) == sorted(path.name for path in out.iterdir())
    assert len(listed) == 24


def test_one_law_at_two_reaches_is_two_cams(cli: Speak, job: Path, tmp_path: Path) -> None:
    typed = ("--kind", "brake", "--wish", "force_lock_newton=60", "--reach", "0", "--reach", "4")
    found = answer(cli("cam", "draw", job, *typed, "-o", tmp_path / "cut", "--json"))
    assert [round(math.degrees(one["reach"])) for one in found["reaches"]] == [0, 4]
    assert list(found["files"]) == ["brake-force-lock-60-in0", "brake-force-lock-60-in4"]
    flanks = [np.array(one["cam"]["flank"]["points"]) for one in found["reaches"]]
    # The same law from another rest: the same flank in the cam's own frame, where both were cut.
    assert all(one["check"]["passes"] for one in found["reaches"])
    shorter, longer = sorted(flanks, key=lambda points: float(np.sum(np.hypot(*np.diff(points, axis=0).T))))
    assert shapely.distance(shapely.points(shorter), shapely.linestrings(longer)).max() < 2e-6


def test_drawn_cam_goes_into_a_job_of_its_own(cli: Speak, job: Path, tmp_path: Path) -> None:
    into = tmp_path / "with-it.toml"
    before = job.read_bytes()
    typed = ("--kind", "brake", "--wish", "force_lock_newton=60", "--into", into)
    said = cli("cam", "draw", job, *typed)
    assert (said.code, said.err) == (0, "")
    fitted = re.search(r"with (brake-\S+) fitted", said.out)
    assert fitted is not None and job.read_bytes() == before
    pulled = answer(cli("pull", into, "--json"))
    [lock] = [lever["readouts"]["brake"]["force_lock_newton"][0] for lever in pulled["levers"][:1]]
    assert lock == pytest.approx(60.0, abs=1.0)
    assert answer(cli("cam", "show", into, "--kind", "brake", "--json"))["cam"]["name"] == fitted[1]
    refused(cli("cam", "draw", job, *typed[:-1], tmp_path), "cannot be written")


@pytest.mark.parametrize(
    ("typed", "part"),
    [(("--reach", "25"), "is 25; allowed is 0 to 20"), (("--reach", "2", "--reach", "2"), "is 2 twice")],
)
def test_reach_that_cannot_be_is_one_line(cli: Speak, job: Path, typed: tuple[str, ...], part: str) -> None:
    refused(cli("cam", "draw", job, "--kind", "brake", "--wish", "force_lock_newton=60", *typed), part)
