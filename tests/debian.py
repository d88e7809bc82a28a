"""Programs of Debian packages that read back what was written; without them a test is left out, and says why."""

import shutil

import pytest

import run


def program(package: str) -> str:
    """Path of the program that a package is known by; skips the test by the package's name where it is missing.

    `run.py test` installs the packages where it can; with CI=true such a skip fails (tests/conftest.py).
    """
    found = shutil.which(run.DEBIAN[package])
    if found is None:
        pytest.skip(f"needs Debian package {package}")
    return found
