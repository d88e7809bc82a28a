"""Help and completion answer at once: what is heavy is imported by the command that needs it."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.speaking import environment

HEAVY = ("numpy", "scipy", "pydantic", "rich", "sqlalchemy", "tomlkit", "typst")

SCRIPT = f"""
import sys
from pullcurve.cli import main
try:
    main(sys.argv[1:])
except SystemExit as left:
    code = left.code
heavy = [name for name in {HEAVY!r} if name in sys.modules]
print("heavy:", *heavy, file=sys.stderr)
sys.exit(code)
"""


def run(script: str, *arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a script in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", script, *arguments],
        capture_output=True,
        text=True,
        cwd=folder,
        env=environment(),
        check=False,
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ("--help",),
        ("--version",),
        ("pull", "--help"),
        ("book", "visit", "--help"),
        ("completion", "bash"),
        ("find", "--most", "0"),
    ],
)
def test_nothing_heavy_is_imported(arguments: tuple[str, ...], tmp_path: Path) -> None:
    done = run(SCRIPT, *arguments, folder=tmp_path)
    assert done.returncode == (2 if "0" in arguments else 0)
    assert done.stderr.splitlines()[-1] == "heavy:"


def test_the_check_itself_sees_what_a_pull_imports(tmp_path: Path) -> None:
    done = run(SCRIPT, "demo", "--list", folder=tmp_path)
    assert done.returncode == 0
    assert "numpy" in done.stderr.splitlines()[-1]


def test_importing_the_package_imports_nothing_heavy(tmp_path: Path) -> None:
    script = f"import sys, pullcurve; print(*[name for name in {HEAVY!r} if name in sys.modules])"
    done = run(script, folder=tmp_path)
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "", "")


def test_every_name_of_the_interface_is_there() -> None:
    import pullcurve

    for name in pullcurve.__all__:
        assert getattr(pullcurve, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = pullcurve.nothing
