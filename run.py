#!/usr/bin/env python3
"""Start pullcurve from a fresh clone with nothing but Python: make .venv beside this file and run a command.

An old Python must be able to read this file, so that it can say which one is needed: annotations are quoted.
"""

import hashlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import sysconfig
import tempfile
import time
from pathlib import Path
from typing import IO
from xml.etree import ElementTree

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "made-for"
RUNTIME, DEVELOPMENT = "requirements.txt", "requirements-dev.txt"
OLDEST = (3, 11)
MUTATION_SECONDS = 1800

USAGE = """\
usage: python3 run.py [--wheelhouse DIR] COMMAND [arguments]

  demo                     a worked example, from a job file to curves
  serve                    the bench in a browser on this machine
  pull, find, swap, ...    any pullcurve command; run.py COMMAND --help tells more
  test [--all]             style, types, floors, tests, coverage; --all adds slow tests and a mutation run
  test PYTEST-ARGUMENTS    pytest alone, for example: run.py test tests/mechanics -k spring
  benchmark                the benchmarks

The first run makes .venv beside run.py. Without internet: on a machine with internet, the same system and the
same Python, run

  python3 -m pip download --only-binary=:all: -r requirements.txt -d wheelhouse

then bring the folder along and add --wheelhouse wheelhouse.
"""
TOO_OLD = (
    "pullcurve needs Python {}.{} or newer; this is {}.{}: install a newer one and start run.py with it."
)
NO_VENV = (
    "this Python cannot make an environment: its venv and ensurepip modules are missing; "
    "on Debian and its relatives: apt install python3-venv"
)
NO_PACKAGES = "{}\n{} could not be installed; without internet, add --wheelhouse DIR (see run.py --help)"
DEBIAN = {
    "chromium": "chromium",
    "gdal-bin": "ogr2ogr",
    "librecad": "librecad",
    "poppler-utils": "pdftoppm",
    "postgresql": "pg_ctlcluster",
    "zbar-tools": "zbarimg",
}
"""Debian packages whose programs read in the tests what was written, each with the program that it is known by."""

APT = ("apt-get", "--quiet", "--assume-yes", "--no-install-recommends", "-o", "DPkg::Lock::Timeout=120")
NO_DEBIAN = "Debian packages that tests need could not be installed: {} ({})"
START = "import sys; sys.argv[0] = 'pullcurve'; from pullcurve.cli import main; sys.exit(main())"
FLOORS = """\
import sys; sys.argv = ['lint-imports', '--no-logo']
from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())
"""


class Unready(Exception):
    """The environment could not be made; the text says why and what helps."""


def main(arguments: "list[str]") -> int:
    """Make the environment if need be and run what was asked; the exit code is that of the command."""
    if sys.version_info < OLDEST:
        return complain(TOO_OLD.format(*OLDEST, *sys.version_info[:2]))
    arguments, wheelhouse = split_wheelhouse(arguments)
    if not arguments or arguments[0] in ("-h", "--help"):
        print(USAGE, end="")
        return 0 if arguments else 2
    command, rest = arguments[0], arguments[1:]
    try:
        make_environment(DEVELOPMENT if command in ("test", "benchmark") else RUNTIME, wheelhouse)
    except Unready as reason:
        return complain(str(reason))
    if command == "test":
        return test(rest)
    if command == "benchmark":
        return benchmark(rest)
    return start([str(PYTHON), "-P", "-X", "utf8", "-c", START, *arguments])


def complain(sentence: str) -> int:
    """Say on stderr why nothing was run."""
    print("run.py: " + sentence, file=sys.stderr)
    return 1


def split_wheelhouse(arguments: "list[str]") -> "tuple[list[str], str | None]":
    """Take `--wheelhouse DIR` or `--wheelhouse=DIR`, wherever it stands, out of the arguments."""
    rest = list(arguments)
    for place, word in enumerate(rest):
        if word == "--wheelhouse" and place + 1 < len(rest):
            return rest[:place] + rest[place + 2 :], rest[place + 1]
        if word.startswith("--wheelhouse="):
            return rest[:place] + rest[place + 1 :], word.partition("=")[2]
    return rest, None


def start(command: "list[str]") -> int:
    """Hand over to the command: on POSIX it takes this process's place, so that signals reach it."""
    if os.name == "posix":
        os.execv(command[0], command)
    return subprocess.call(command)


# The environment --------------------------------------------------------------------------------------------


def made_for(requirements: str) -> str:
    """What the environment depends on, in one line: which file of pins, its content and this Python."""
    digest = hashlib.sha256(sys.version.encode() + (ROOT / requirements).read_bytes())
    return requirements + " " + digest.hexdigest()


def make_environment(requirements: str, wheelhouse: "str | None") -> None:
    """Make .venv, or leave it alone if it fits; the development pins contain the run-time pins."""
    present = STAMP.read_text(encoding="utf-8") if STAMP.exists() and PYTHON.exists() else ""
    if present in (made_for(requirements), made_for(DEVELOPMENT)):
        return
    fresh = present != made_for(RUNTIME)
    if fresh and not (has("venv") and (has("ensurepip") or has("pip"))):
        raise Unready(NO_VENV)
    seconds = 30 if requirements == DEVELOPMENT else 15
    print(f"making the environment (about {seconds} s, once)", file=sys.stderr, flush=True)
    if fresh:
        make_venv()
    STAMP.unlink(missing_ok=True)
    install(requirements, wheelhouse)
    link_source()
    STAMP.write_text(made_for(requirements), encoding="utf-8")


def has(module: str) -> bool:
    """Whether this Python brings a module; Debian splits some of the standard library off."""
    return importlib.util.find_spec(module) is not None


def make_venv() -> None:
    """Make an empty environment; where only ensurepip is missing, this Python's own pip fills it."""
    options = [] if has("ensurepip") else ["--without-pip"]
    command = [sys.executable, "-m", "venv", "--clear", *options, str(VENV)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise Unready("no environment could be made in .venv\n" + last_lines(done.stdout + done.stderr))


def install(requirements: str, wheelhouse: "str | None") -> None:
    """Install the pins: wheels only, each with its hash."""
    inside = [str(PYTHON), "-m", "pip"]
    outside = [sys.executable, "-m", "pip", "--python", str(PYTHON)]
    command = [*(inside if has("ensurepip") else outside), "install", "--quiet", "--no-input"]
    command += ["--disable-pip-version-check", "--require-hashes", "--only-binary=:all:"]
    command += ["-r", str(ROOT / requirements)]
    if wheelhouse:
        command += ["--no-index", "--find-links", wheelhouse]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise Unready(NO_PACKAGES.format(last_lines(done.stdout + done.stderr), requirements))


def link_source() -> None:
    """Point the environment at src/, by a relative path so that the folder can be moved."""
    base = str(VENV)
    site = sysconfig.get_path("purelib", "venv", {"base": base, "platbase": base})
    (Path(site) / "pullcurve.pth").write_text(os.path.relpath(ROOT / "src", site) + "\n", encoding="utf-8")


def last_lines(text: str, count: int = 4) -> str:
    """The end of a tool's output, where it says what went wrong."""
    return "\n".join(text.strip().splitlines()[-count:])


# Debian packages -------------------------------------------------------------------------------------------


def install_debian() -> None:
    """Install the Debian packages that the tests need and that are not there, where root and apt are."""
    missing = [package for package, program in DEBIAN.items() if shutil.which(program) is None]
    if not missing or not may_install():
        return
    print(f"installing {', '.join(missing)} for the tests (once)", file=sys.stderr, flush=True)
    said = apt("install", *missing)
    if said:  # a fresh container has no lists of packages, an old one stale ones
        apt("update")
        said = apt("install", *missing)
    if said:
        complain(NO_DEBIAN.format(", ".join(missing), said))


def may_install() -> bool:
    """Whether this is root on a system with apt."""
    return sys.platform != "win32" and os.geteuid() == 0 and shutil.which(APT[0]) is not None


def apt(*arguments: str) -> str:
    """Run apt-get without questions; what it said last if it failed, else nothing."""
    done = subprocess.run(
        [*APT, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
        check=False,
    )
    return last_lines(done.stdout.decode(errors="replace"), 1) or "apt-get failed" if done.returncode else ""


# Tests and benchmarks ---------------------------------------------------------------------------------------


def benchmark(arguments: "list[str]") -> int:
    """Run the benchmarks."""
    if not (ROOT / "benchmarks" / "run_all.py").exists():
        return complain("benchmarks/run_all.py is not here, so there is nothing to time.")
    os.chdir(ROOT)
    return start([str(PYTHON), "-m", "benchmarks.run_all", *arguments])


def test(arguments: "list[str]") -> int:
    """Run every check in order, whatever the ones before it said; or pytest alone on what is named."""
    everything = "--all" in arguments
    chosen = ["-m", "slow or not slow"] if everything else []
    named = [word for word in arguments if word != "--all"]
    install_debian()
    if named:
        return subprocess.call([str(PYTHON), "-m", "pytest", *chosen, *named], cwd=str(ROOT))
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as scratch:
        report = Path(scratch, "pytest.xml")
        results = {name: step(name, command) for name, command in steps(report, chosen).items()}
        if everything:
            results["mutation"] = mutation()
        counts = closing_line(report)
    failed = [name for name, passed in results.items() if not passed]
    verdict = "failed: " + ", ".join(failed) if failed else "all steps passed"
    print(f"\n{verdict} ({time.monotonic() - began:.1f} s)\n{counts}", flush=True)
    return 1 if failed else 0


def steps(report: Path, chosen: "list[str]") -> "dict[str, list[str]]":
    """The checks by name, each a command for the environment's Python."""
    sources = [name for name in ("src", "tests", "benchmarks", "run.py") if (ROOT / name).exists()]
    pytest = ["-m", "pytest", "--numprocesses=auto", "--maxprocesses=4", f"--junitxml={report}", *chosen]
    return {
        "ruff check": ["-m", "ruff", "check", "."],
        "ruff format": ["-m", "ruff", "format", "--check", "."],
        "mypy": ["-m", "mypy", "--strict", *sources],
        "floors": ["-c", FLOORS],
        "pytest": [*pytest, "--cov", "--cov-report=", "--cov-fail-under=0"],
        "coverage": ["-m", "coverage", "report"],
    }


def step(name: str, command: "list[str]") -> bool:
    """Run one check and print how long it took; pytest speaks for itself, the others only when they fail."""
    print(f"{name:12}", end="\n" if name == "pytest" else " ", flush=True)
    began = time.monotonic()
    done = subprocess.run(
        [str(PYTHON), *command],
        cwd=str(ROOT),
        stdout=None if name == "pytest" else subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    again = f"{name:12} " if name == "pytest" else ""
    print(f"{again}{'FAILED' if done.returncode else 'ok':6} {time.monotonic() - began:6.1f} s", flush=True)
    if done.returncode and done.stdout:
        print(done.stdout.decode(errors="replace").rstrip(), flush=True)
    return done.returncode == 0


def closing_line(report: Path) -> str:
    """Count the tests in pytest's report file."""
    if not report.exists():
        return "0 passed, 0 failed"
    suite = next(ElementTree.parse(str(report)).iter("testsuite"))
    tests, failures, errors, skipped = (
        int(suite.get(name, "0")) for name in ("tests", "failures", "errors", "skipped")
    )
    failed = failures + errors
    return f"{tests - failed - skipped} passed, {failed} failed, {skipped} skipped"


def mutation() -> bool:
    """Change the mechanics a little, many hundred times, and count the changes that no test notices.

    Survivors are for reading, so they fail nothing; what half an hour did not reach is tried the next time.
    """
    print("mutation     ", end="", flush=True)
    if not sys.platform.startswith("linux"):
        print("left out: the tool needs Linux", flush=True)
        return True
    began = time.monotonic()
    mutmut = [str(PYTHON), "-m", "mutmut"]
    with tempfile.TemporaryFile() as log:
        passed = within(MUTATION_SECONDS, [*mutmut, "run"], log)
        log.seek(0)
        output = log.read().decode(errors="replace")
    listed = subprocess.run(
        [*mutmut, "results", "--all", "true"], cwd=str(ROOT), capture_output=True, text=True, check=False
    )
    verdicts = [line.rpartition(": ")[2] for line in listed.stdout.splitlines()]
    counts = ", ".join(f"{verdicts.count(verdict)} {verdict}" for verdict in sorted(set(verdicts)))
    print(f"{'ok' if passed else 'FAILED':6} {time.monotonic() - began:6.1f} s   {counts}", flush=True)
    if passed:
        print("             to read them: mutmut results, mutmut show NAME, both in .venv", flush=True)
    else:
        print(last_lines(output, 20), flush=True)
    return passed


def within(seconds: int, command: "list[str]", log: "IO[bytes]") -> bool:
    """Run a command whose workers must end with it; out of time is no failure."""
    run = subprocess.Popen(
        command, cwd=str(ROOT), stdout=log, stderr=subprocess.STDOUT, start_new_session=True
    )
    try:
        return run.wait(timeout=seconds) == 0
    except subprocess.TimeoutExpired:
        return True
    finally:
        if sys.platform != "win32" and run.poll() is None:
            os.killpg(run.pid, signal.SIGKILL)
            run.wait()


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
