"""Settings for every test: Hypothesis without a clock, and in CI no skip for want of a package."""

import os
from collections.abc import Generator

import pytest
from hypothesis import settings

CI = os.environ.get("CI") == "true"
MISSING = "Skipped: needs Debian package"

settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if CI else "here")


def fail_if_package_missing(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip for a missing Debian package into a failure."""
    if report.outcome == "skipped" and isinstance(report.longrepr, tuple):
        path, line, reason = report.longrepr
        if reason.startswith(MISSING):
            report.outcome = "failed"
            report.longrepr = f"{path}:{line}: {reason.removeprefix('Skipped: ')}, and CI must have it"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """In CI a test may not be left out for want of a package."""
    report = yield
    if CI:
        fail_if_package_missing(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """The same for a whole module."""
    report = yield
    if CI:
        fail_if_package_missing(report)
    return report
