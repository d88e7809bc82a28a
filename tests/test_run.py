"""run.py: what can be checked without making an environment."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import run
from tests import conftest, debian


@pytest.mark.parametrize(
    ("given", "rest", "folder"),
    [
        (["demo"], ["demo"], None),
        (["--wheelhouse", "w", "demo", "-o", "x"], ["demo", "-o", "x"], "w"),
        (["demo", "--wheelhouse=a b", "-o"], ["demo", "-o"], "a b"),
        (["demo", "--wheelhouse"], ["demo", "--wheelhouse"], None),
    ],
)
def test_wheelhouse_is_taken_out_and_the_rest_passed_on(
    given: list[str], rest: list[str], folder: str | None
) -> None:
    assert run.split_wheelhouse(given) == (rest, folder)


def test_an_old_python_can_read_the_file() -> None:
    text = Path(run.__file__).read_text(encoding="utf-8")
    old = ast.parse(text, feature_version=(3, 6))
    annotations = [
        part
        for node in ast.walk(old)
        for part in (getattr(node, "annotation", None), getattr(node, "returns", None))
        if part is not None
    ]
    assert annotations
    assert all(isinstance(part, ast.Name | ast.Constant) for part in annotations)


def test_too_old_a_python_gets_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.version_info", (3, 9, 18))
    assert run.main(["demo"]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "3.11 or newer; this is 3.9" in said.err


@pytest.mark.parametrize("present", [("venv",), ("ensurepip", "pip"), ()])
def test_missing_venv_gets_one_line_with_the_remedy(
    present: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    monkeypatch.setattr(run, "has", present.__contains__)
    monkeypatch.setattr(run, "STAMP", tmp_path / "none")
    assert run.main(["demo"]) == 1
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "apt install python3-venv" in said


def test_usage_without_a_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run.main([]) == 2
    assert run.main(["--help"]) == 0
    assert capsys.readouterr().out == 2 * run.USAGE


def test_fingerprint_follows_the_pins(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(run, "ROOT", tmp_path)
    pins = tmp_path / "requirements.txt"
    pins.write_text("numpy==1.0\n")
    before = run.made_for("requirements.txt")
    assert run.made_for("requirements.txt") == before
    pins.write_text("numpy==1.1\n")
    assert run.made_for("requirements.txt") != before
    pins.write_text("numpy==1.0\n")
    monkeypatch.setattr("sys.version", "3.99.0")
    assert run.made_for("requirements.txt") != before


def test_closing_line_counts_errors_as_failures(tmp_path: Path) -> None:
    report = tmp_path / "pytest.xml"
    assert run.closing_line(report) == "0 passed, 0 failed"
    report.write_text(
        '<testsuites><testsuite name="pytest" errors="1" failures="2" skipped="3" tests="10"/></testsuites>'
    )
    assert run.closing_line(report) == "4 passed, 3 failed, 3 skipped"


# Debian packages -------------------------------------------------------------------------------------------


class Apt:
    """A stand-in for apt-get: fails so many times, remembers what it was asked and how."""

    def __init__(self, failing: int) -> None:
        self.failing = failing
        self.asked: list[list[str]] = []

    def __call__(self, command: list[str], **options: object) -> "subprocess.CompletedProcess[bytes]":
        environment = options["env"]
        assert isinstance(environment, dict) and environment["DEBIAN_FRONTEND"] == "noninteractive"
        assert options["stdin"] == subprocess.DEVNULL
        words = [word for word in command[1:] if not word.startswith("-") and "::" not in word]
        self.asked.append(words)
        if words[0] == "install" and self.failing:
            self.failing -= 1
            return subprocess.CompletedProcess(command, 100, b"Reading lists\nE: Unable to locate it\n")
        return subprocess.CompletedProcess(command, 0, b"done\n")


def apt_run(
    monkeypatch: pytest.MonkeyPatch, failing: int, present: tuple[str, ...] = ("apt-get",), root: bool = True
) -> list[list[str]]:
    """What apt-get is asked where these programs are there."""
    fake = Apt(failing)
    monkeypatch.setattr("shutil.which", lambda name: name if name in present else None)
    monkeypatch.setattr("os.geteuid", lambda: 0 if root else 1000, raising=False)
    monkeypatch.setattr("subprocess.run", fake)
    run.install_debian()
    return fake.asked


EVERY = ["install", *run.DEBIAN]

linux = pytest.mark.skipif(sys.platform == "win32", reason="no root there")


@linux
def test_packages_that_are_missing_are_installed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert apt_run(monkeypatch, 0) == [EVERY]
    assert capsys.readouterr().err == f"installing {', '.join(run.DEBIAN)} for the tests (once)\n"
    there = ("apt-get", *list(run.DEBIAN.values())[1:])
    assert apt_run(monkeypatch, 0, there) == [["install", next(iter(run.DEBIAN))]]
    assert apt_run(monkeypatch, 0, ("apt-get", *run.DEBIAN.values())) == []


@linux
def test_lists_of_packages_are_fetched_only_after_a_failure(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert apt_run(monkeypatch, 1) == [EVERY, ["update"], EVERY]
    assert capsys.readouterr().err.count("\n") == 1


@linux
def test_packages_that_cannot_be_had_give_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert apt_run(monkeypatch, 2) == [EVERY, ["update"], EVERY]
    _, said = capsys.readouterr().err.splitlines()
    assert said.endswith(f"could not be installed: {', '.join(run.DEBIAN)} (E: Unable to locate it)")


@pytest.mark.parametrize(("present", "root"), [((), True), (("apt-get",), False)])
def test_without_root_or_apt_nothing_is_installed(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    present: tuple[str, ...],
    root: bool,
) -> None:
    assert apt_run(monkeypatch, 0, present, root) == []
    assert capsys.readouterr().err == ""


def test_test_without_its_package_is_left_out_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    package, program = next(iter(run.DEBIAN.items()))
    monkeypatch.setattr("shutil.which", lambda name: f"/there/{name}")
    assert debian.program(package) == f"/there/{program}"
    monkeypatch.setattr("shutil.which", lambda name: None)
    with pytest.raises(pytest.skip.Exception, match=f"^needs Debian package {package}$"):
        debian.program(package)


def test_in_ci_such_a_skip_fails_and_no_other() -> None:
    def report(reason: str) -> pytest.TestReport:
        place = ("tests/test_it.py", 3, f"Skipped: {reason}")
        return pytest.TestReport("tests/test_it.py::test_it", ("", 0, ""), {}, "skipped", place, "call")

    missing, other = report("needs Debian package gdal-bin"), report("no root there")
    for one in (missing, other):
        conftest.fail_if_package_missing(one)
    assert (missing.outcome, other.outcome) == ("failed", "skipped")
    assert missing.longrepr == "tests/test_it.py:3: needs Debian package gdal-bin, and CI must have it"
