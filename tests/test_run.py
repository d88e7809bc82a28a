"""run.py: what can be checked without making an environment."""

import ast
from pathlib import Path

import pytest

import run


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
