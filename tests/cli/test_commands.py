"""What is typed and what comes back: exit codes, lines on standard error, files, help."""

import json
import re
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from docs.tables import every_command
from pullcurve import __version__
from pullcurve.cli import catching
from pullcurve.cli.commands import SHELLS, group
from pullcurve.errors import BookFault
from pullcurve.parts.facts import data_text
from pullcurve.verbs.jobs import demo_names
from tests.cli.speaking import Said, Speak, job_file, speak_alone

COMMANDS = sorted(group.commands)
EVERY = dict(every_command(group))
"""Every command that does something, by the words that are typed for it."""

PREPARED = {"completion", "init", "demo", "cam read", "cam ladder", "serve"}
"""Commands whose example needs more than a job, or whose tests stand elsewhere."""

ELSEWHERE = ("bench ", "book ")
"""Groups whose examples need a measured pull or a book; their tests stand elsewhere."""

SAVE_REPORT = catching.save_report
ANSI = re.compile(r"\x1b\[")
CLUTCH_ASIDE = ("--with", "clutch-in8-li9.00")


def edited(path: Path, old: str, new: str) -> Path:
    """A job file with one thing changed."""
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def refused(said: Said, code: int, *lines: str) -> None:
    """An exit code, nothing on standard output, exactly these lines on standard error."""
    assert (said.code, said.out, said.lines) == (code, "", list(lines))


# Help -------------------------------------------------------------------------------------------------------


def test_there_are_the_commands_that_the_tests_speak_of() -> None:
    assert COMMANDS == [
        "bench", "book", "cam", "completion", "demo", "find", "init", "pull", "serve", "sheet", "steps", "swap",
    ]  # fmt: skip


@pytest.mark.parametrize("name", EVERY)
def test_help_ends_with_an_example_of_the_command(cli: Speak, name: str) -> None:
    said = cli(*name.split(), "--help")
    assert (said.code, said.err) == (0, "")
    _, _, example = said.out.partition("Example:\n")
    assert f"pullcurve {name}" in " ".join(example.split())
    assert said.out == cli(*name.split(), "-h").out


@pytest.mark.parametrize(
    "name", [name for name in EVERY if name not in PREPARED and not name.startswith(ELSEWHERE)]
)
def test_example_of_the_help_runs_as_it_stands(
    cli: Speak, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import shlex

    job_file(tmp_path)
    monkeypatch.chdir(tmp_path)
    epilog = EVERY[name].epilog
    assert epilog
    said = cli(*shlex.split(epilog)[1:])
    assert (said.code, said.err) == (0, "")


def test_every_option_says_what_it_does() -> None:
    for command in EVERY.values():
        for parameter in command.params:
            assert isinstance(parameter, click.Argument) or getattr(parameter, "help", None)


def test_version(cli: Speak) -> None:
    said = cli("--version")
    assert (said.code, said.out) == (0, f"pullcurve {__version__}\n")


def test_the_group_alone_in_a_runner_of_the_library() -> None:
    assert CliRunner().invoke(group, ["--help"]).exit_code == 0


# Usage ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments",
    [
        ("pull",),
        ("nothing",),
        ("pull", "job.toml", "--nothing"),
        ("find", "job.toml", "--most", "0"),
        ("find", "job.toml", "--most", "many"),
        ("swap", "job.toml", "too heavy", "more"),
        ("pull", "job.toml", "--foot", "much"),
        ("completion", "dos"),
        ("init",),
    ],
)
def test_usage_is_exit_code_two_and_names_what_is_wrong(cli: Speak, arguments: tuple[str, ...]) -> None:
    said = cli(*arguments)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    name = arguments[0] if arguments[0] in COMMANDS else ""
    command = f"pullcurve {name}".strip()
    assert said.lines[0].startswith(f"{command}: ")
    assert said.lines[0].endswith(f" (see {command} --help)")


def test_no_command_shows_the_help_and_is_usage(cli: Speak) -> None:
    said = cli()
    assert said.code == 2
    assert all(f"  {name} " in said.out + said.err for name in COMMANDS)


# Bad files --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["pull", "find", "swap"])
def test_a_file_that_is_not_there(cli: Speak, command: str, tmp_path: Path) -> None:
    refused(
        cli(command, tmp_path / "none.toml"),
        2,
        "none.toml: is not there; `pullcurve init DIR` writes a job to start from",
    )


def test_one_line_per_fault_and_all_of_them(cli: Speak, job: Path) -> None:
    edited(job, "hose_length_m = 2.1", "hose_lenght_m = 2.1")
    edited(job, "mass_kg = 112", "mass_kg = 1120")
    edited(job, 'sex = "man"', 'sex = "nobody"')
    said = cli("find", job)
    assert (said.code, said.out) == (2, "")
    assert len(said.lines) == 3
    assert "job.toml [motorcycle]: mass_kg is 1120; allowed is 30 to 400" in said.lines
    assert (
        "job.toml [brake_circuit]: hose_lenght_m is not known here; did you mean hose_length_m?" in said.lines
    )


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"title = ", b"[", b"\x00" * 100])
def test_files_that_are_no_jobs(cli: Speak, tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    said = cli("pull", path)
    assert (said.code, said.out) == (2, "")
    assert said.lines
    assert all(line.startswith("job.toml") for line in said.lines)


def test_a_folder_is_no_job(cli: Speak, tmp_path: Path) -> None:
    said = cli("pull", tmp_path)
    assert (said.code, len(said.lines)) == (2, 1)
    assert "is a folder" in said.err


def test_a_fault_that_only_a_formula_finds_has_its_place_too(cli: Speak, job: Path) -> None:
    edited(
        job,
        "roller_radius_mm = 4\nrest_angle_deg = 35\nload_arm_mm = 16",
        "roller_radius_mm = 4\nrest_angle_deg = 6\nload_arm_mm = 16",
    )
    said = cli("pull", job)
    assert (said.code, len(said.lines)) == (2, 1)
    assert said.lines[0].startswith("job.toml [unit.levers.0.rockers.0]: ")
    assert "; allowed is " in said.lines[0]


def test_a_title_may_hold_what_a_terminal_takes_for_markup(cli: Speak, job: Path) -> None:
    edited(job, 'title = "300 two-stroke enduro, no foot pedal"', 'title = "[bold]enduro[/bold] [/x] \\\\"')
    for command in ("pull", "find", "swap"):
        said = cli(command, job)
        assert (said.code, said.err) == (0, "")
        assert "[bold]enduro[/bold] [/x] \\" in said.out


# Nothing to be had ------------------------------------------------------------------------------------------


def test_when_no_set_is_allowed_the_exit_code_is_three_and_one_line_says_why(cli: Speak, job: Path) -> None:
    edited(job, "measured_reach_mm = 84", "measured_reach_mm = 60")
    said = cli("find", job)
    assert (said.code, said.out, len(said.lines)) == (3, "", 1)
    assert said.err.startswith("brake lever: none of the 120 sets of the rack keeps every limit; ")
    assert cli("pull", job).code == 0  # what is fitted can be looked at all the same


def test_find_without_a_rack(cli: Speak, job: Path) -> None:
    text = job.read_text(encoding="utf-8")
    job.write_text(text[: text.index("[[rack.brake]]")], encoding="utf-8")
    said = cli("find", job)
    assert (said.code, len(said.lines)) == (2, 1)
    assert "give the cams that the workshop has" in said.err


# Options ----------------------------------------------------------------------------------------------------


def test_with_compares_what_is_fitted_with_another_cam(cli: Speak, job: Path) -> None:
    said = cli("pull", job, "--with", "brake-in0-tu0.3-st7.5", "--json")
    assert said.code == 0
    answer = json.loads(said.out)
    assert answer["cams"]["brake"]["id"] == "brake-in0-tu0.0-st8.5"
    assert answer["proposed"]["cams"]["brake"]["id"] == "brake-in0-tu0.3-st7.5"
    assert answer["proposed"]["cams"]["clutch"] == answer["cams"]["clutch"]
    table = cli("pull", job, "--with", "brake-in0-tu0.3-st7.5").out
    assert "proposed" in table and "felt?" in table


def test_with_a_cam_that_the_rack_lacks_names_the_nearest(cli: Speak, job: Path) -> None:
    said = cli("pull", job, "--with", "brake-in0-tu0.3-st7.6")
    assert (said.code, len(said.lines)) == (2, 1)
    assert re.search(r"did you mean brake-in\S+\?$", said.lines[0])


def test_with_two_of_a_kind(cli: Speak, job: Path) -> None:
    said = cli("pull", job, "--with", "brake-in0-tu0.3-st7.5", "--with", "brake-in0-tu0.3-st8.0")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "allowed is one of a kind" in said.err


def test_with_cams_that_do_not_go_together_says_which_reach(cli: Speak, job: Path) -> None:
    said = cli("pull", job, *CLUTCH_ASIDE)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert "reach_deg is 0; allowed is 8, the reach_deg of the clutch cam" in said.lines[0]
    assert cli("pull", job, *CLUTCH_ASIDE, "--with", "assist-in8-on4-fa0.50").code == 0


def test_with_one_cam_of_a_shared_lever_turned_says_so(cli: Speak, tmp_path: Path) -> None:
    said = cli("pull", job_file(tmp_path, "enduro-125.toml"), "--with", "brake-in2-tu0.0-st7.0")
    assert (said.code, said.out) == (2, "")
    assert len(said.lines) == 2  # clutch and assist cam each
    assert all("allowed is 2, the reach of the brake cam on the same lever" in line for line in said.lines)


@pytest.mark.parametrize("count", ["7", "0", "-1", "4097"])
def test_stations_out_of_range(cli: Speak, job: Path, count: str) -> None:
    refused(cli("pull", job, "--stations", count), 2, f"pull: stations is {count}; allowed is 8 to 4096")


@pytest.mark.parametrize("force", ["-1", "nan", "inf", "1001"])
def test_foot_force_out_of_range(cli: Speak, tmp_path: Path, force: str) -> None:
    said = cli("pull", job_file(tmp_path, "motocross-450.toml"), f"--foot={force}")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "; allowed is 0 to 1000" in said.err


def test_foot_force_without_a_pedal(cli: Speak, job: Path) -> None:
    said = cli("pull", job, "--foot", "50")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "allowed is 0 for a job without a pedal" in said.err


def test_a_foot_on_the_pedal_takes_force_off_the_finger(cli: Speak, tmp_path: Path) -> None:
    path = job_file(tmp_path, "motocross-450.toml")
    with_foot, alone = (
        json.loads(cli("pull", path, "--json", "--foot", force).out)["levers"][0]["readouts"]["brake"]
        for force in ("40", "0")
    )
    assert with_foot["force_lock_newton"][0] < alone["force_lock_newton"][0]
    assert with_foot["travel_lock_mm"] == pytest.approx(alone["travel_lock_mm"])


def test_swap_without_a_word_and_with_one(cli: Speak, job: Path) -> None:
    assert "Single swaps that would help" in cli("swap", job, "clutch too heavy").out
    said = cli("swap", job, "clutch too hevy")
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert "did you mean too heavy" in said.err


def test_most_limits_what_is_shown(cli: Speak, job: Path) -> None:
    few, many = (
        cli("swap", job, "too far", "--most", "2").out,
        cli("swap", job, "too far", "--most", "200").out,
    )
    assert " 2. " in few and " 3. brake lever" not in few
    assert "more (--most)" in few and "more (--most)" not in many


# Pictures ---------------------------------------------------------------------------------------------------

HEADS = {".svg": b"<svg", ".png": b"\x89PNG\r\n\x1a\n", ".pdf": b"%PDF-"}


@pytest.mark.parametrize("ending", [*HEADS, ".SVG"])
@pytest.mark.parametrize("command", ["pull", "find", "swap"])
def test_picture_has_the_head_of_its_kind(cli: Speak, job: Path, command: str, ending: str) -> None:
    target = job.with_name(f"picture{ending}")
    said = cli(command, job, "--plot", target)
    assert (said.code, said.err) == (0, "")
    content = target.read_bytes()
    head = HEADS[ending.lower()]
    assert head in content[:200] if ending.lower() == ".svg" else content.startswith(head)
    assert "picture: " in said.out


@pytest.mark.parametrize("name", ["picture.gif", "picture", "picture.svgz", ".svg"])
@pytest.mark.parametrize("command", ["pull", "find", "swap"])
def test_another_ending_is_refused_before_anything_is_computed(
    cli: Speak, job: Path, command: str, name: str
) -> None:
    said = cli(command, job, "--plot", job.with_name(name))
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert "allowed is .svg, .png, .pdf" in said.err
    assert sorted(path.name for path in job.parent.iterdir()) == ["job.toml"]


def test_a_picture_in_a_folder_that_is_not_there(cli: Speak, job: Path) -> None:
    said = cli("pull", job, "--plot", job.parent / "none" / "picture.svg")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "cannot be written: " in said.err


def test_json_with_a_picture_is_json_and_nothing_else(cli: Speak, job: Path) -> None:
    said = cli("find", job, "--json", "--plot", job.with_name("picture.svg"))
    assert json.loads(said.out)["best"]
    assert job.with_name("picture.svg").exists()


# Init, demo, completion -------------------------------------------------------------------------------------


def test_init_writes_a_job_that_every_command_takes(cli: Speak, tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "first"
    said = cli("init", folder)
    assert (said.code, said.err) == (0, "")
    written = folder / "job.toml"
    assert str(written) in said.out
    assert written.read_text(encoding="utf-8") == data_text("template_job.toml")
    for command in ("pull", "find", "swap"):
        done = cli(command, written)
        assert (done.code, done.err) == (0, "")


def test_init_never_writes_over_a_job(cli: Speak, job: Path) -> None:
    before = job.read_bytes()
    said = cli("init", job.parent)
    assert (said.code, said.out, len(said.lines)) == (2, "", 1)
    assert "is there already and stays as it is" in said.err
    assert job.read_bytes() == before


def test_init_into_a_file(cli: Speak, job: Path) -> None:
    said = cli("init", job)
    assert (said.code, len(said.lines)) == (2, 1)
    assert "is a file; give a folder" in said.err


def test_init_below_a_file(cli: Speak, job: Path) -> None:
    said = cli("init", job / "below")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "cannot be written: " in said.err


def test_init_as_json(cli: Speak, tmp_path: Path) -> None:
    assert json.loads(cli("init", tmp_path / "new", "--json").out) == {
        "job": str(tmp_path / "new" / "job.toml")
    }


def test_demo_runs_the_whole_job_and_leaves_pictures(cli: Speak, tmp_path: Path) -> None:
    said = cli("demo", "-o", tmp_path / "out")
    assert (said.code, said.err) == (0, "")
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == ["fitted-and-proposed.png", "fitted-and-proposed.svg", "fitted.png"]
    for part in (
        "brake lever",
        "clutch lever",
        "felt steps from the wishes",
        "where the numbers come from",
        "Computed guidance",
    ):
        assert part in said.out


def test_demo_of_every_job(cli: Speak, tmp_path: Path) -> None:
    listed = cli("demo", "--list").out.split()
    assert tuple(listed) == demo_names()
    for name in listed:
        said = cli("demo", "--job", name, "-o", tmp_path / name, "--json")
        assert (said.code, said.err) == (0, "")
        answer = json.loads(said.out)
        assert all(Path(path).stat().st_size > 1000 for path in answer["pictures"])


def test_demo_of_a_job_that_is_not_there(cli: Speak, tmp_path: Path) -> None:
    said = cli("demo", "--job", "none", "-o", tmp_path / "out")
    assert (said.code, len(said.lines)) == (2, 1)
    assert "known are electric.toml" in said.err
    assert not (tmp_path / "out").exists()


def test_demo_into_a_file_says_so(cli: Speak, job: Path) -> None:
    said = cli("demo", "-o", job)
    assert (said.code, len(said.lines)) == (2, 1)
    assert "is a file; give a folder" in said.err


def test_a_path_may_hold_what_a_terminal_takes_for_markup(cli: Speak, tmp_path: Path, job: Path) -> None:
    said = cli("demo", "-o", tmp_path / "[bold]a")
    assert (said.code, said.err) == (0, "")
    assert "[bold]a" in said.out.replace("\n", "")
    said = cli("pull", job, "--plot", tmp_path / "[bold]b.svg")
    assert (said.code, said.err) == (0, "")
    assert "[bold]b.svg" in said.out.replace("\n", "")


@pytest.mark.parametrize("shell", SHELLS)
def test_completion_prints_what_the_shell_reads(cli: Speak, shell: str) -> None:
    said = cli("completion", shell)
    assert (said.code, said.err) == (0, "")
    assert "_PULLCURVE_COMPLETE" in said.out


# The last fence ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "code", "line"),
    [
        (KeyboardInterrupt(), 130, "stopped"),
        (
            BookFault("the job book is damaged; the copy of yesterday is safe"),
            4,
            "the job book is damaged; the copy of yesterday is safe",
        ),
    ],
)
def test_what_stops_a_command(
    capsys: pytest.CaptureFixture[str], error: BaseException, code: int, line: str
) -> None:
    def command() -> None:
        raise error

    assert catching.run(command) == code
    assert capsys.readouterr().err == f"{line}\n"


def test_a_fault_of_our_own_is_one_line_and_a_report(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr(catching, "save_report", SAVE_REPORT)

    def command() -> None:
        raise ZeroDivisionError("by nothing")

    assert catching.run(command) == catching.BUG
    out, err = capsys.readouterr()
    (report,) = tmp_path.iterdir()
    assert (out, err) == ("", f"pullcurve has a fault of its own; what happened is written in {report}\n")
    assert "ZeroDivisionError: by nothing" in report.read_text(encoding="utf-8")


# In a process of its own ------------------------------------------------------------------------------------


def test_a_whole_run_leaves_no_report_and_no_warning(tmp_path: Path, job: Path) -> None:
    folder = tmp_path / "reports"
    folder.mkdir()
    said = speak_alone("find", job, cwd=tmp_path, TMPDIR=str(folder))
    assert (said.code, said.err) == (0, "")
    assert "felt steps from the wishes" in said.out
    assert list(folder.iterdir()) == []


def test_a_pipe_gets_no_colours_and_neither_does_who_asked_for_none(tmp_path: Path, job: Path) -> None:
    assert not ANSI.search(speak_alone("pull", job, cwd=tmp_path).out)
    coloured = speak_alone("pull", job, cwd=tmp_path, FORCE_COLOR="1")
    plain = speak_alone("pull", job, cwd=tmp_path, FORCE_COLOR="1", NO_COLOR="1")
    assert ANSI.search(coloured.out)
    assert not re.search(r"\x1b\[[0-9;]*3[0-7]", plain.out)


@pytest.mark.skipif(sys.platform == "win32", reason="no other terminals there")
@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_that_lacks_signs_gets_others(tmp_path: Path, job: Path, encoding: str) -> None:
    import subprocess

    from tests.cli.speaking import START, environment

    done = subprocess.run(
        [sys.executable, "-c", START, "pull", str(job)],
        capture_output=True,
        cwd=tmp_path,
        env=environment(PYTHONIOENCODING=encoding),
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"?" in done.stdout


def test_who_stops_reading_is_not_told_of_it(tmp_path: Path, job: Path) -> None:
    import subprocess

    from tests.cli.speaking import START, environment

    with subprocess.Popen(
        [sys.executable, "-c", START, "pull", str(job), "--json", "--stations", "4096"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        env=environment(TMPDIR=str(tmp_path)),
    ) as running:
        assert running.stdout is not None and running.stderr is not None
        running.stdout.read(10)
        running.stdout.close()
        err = running.stderr.read()
        # what exactly is left to the library that was writing; a shell shows only the reader's code
        assert running.wait() in (0, 1, catching.BROKEN_PIPE)
    assert err == b""
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]


def sizes(answer: dict[str, Any]) -> int:
    """Stations of a pull as JSON."""
    return len(answer["levers"][0]["arrays"]["theta"])


def test_stations_are_as_many_as_asked_for(cli: Speak, job: Path) -> None:
    assert sizes(json.loads(cli("pull", job, "--json", "--stations", "33").out)) == 33
