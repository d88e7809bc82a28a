"""The description of the interface against what it does: whatever is asked, nothing breaks.

Jobs are taken from a few that are right and a few that are not: what else can be wrong with one is tested where jobs
are read, and a whole job made at random is never one that can be pulled.
"""

import atexit
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance

from pullcurve.verbs import jobs
from pullcurve.web.app import create_app
from pullcurve.web.settings import Settings
from tests.web.books import filled

EXAMPLES = 8
SLOW = ("/api/cam/export", "/api/cam/tolerance", "/api/cam/draw", "/api/cam/ladder")
"""Seconds for each answer: asked with wrong jobs only; tests of the interface ask them with right ones."""

FOLDER = TemporaryDirectory()
atexit.register(FOLDER.cleanup)
PLACE = Path(FOLDER.name, "book.sqlite")
APP = create_app(Settings(book=str(PLACE)))
PULLED: list[dict[str, Any]] = [
    jobs.demo_job(f"{name}.toml").model_dump(mode="json", exclude_unset=True)
    for name in ("enduro-300", "trials-280", "electric")
]
PULLED.append({**PULLED[0], "rack": None})
WRONG: list[Any] = [{}, {**PULLED[0], "rider": 1}, None, [], "job"]


def description(listed: list[Any]) -> dict[str, Any]:
    """The description with a short list of jobs in place of every job that there could be."""
    known: dict[str, Any] = APP.openapi()
    schemas = known["components"]["schemas"]
    job = next(name for name in ("Job", "Job-Input") if name in schemas)
    return {**known, "components": {"schemas": {**schemas, job: {"enum": listed}}}}


SCHEMA = schemathesis.openapi.from_dict(description([*PULLED, *WRONG]))
SCHEMA_OF_LONG_WORK = schemathesis.openapi.from_dict(description(WRONG))
SCHEMA.app = SCHEMA_OF_LONG_WORK.app = APP


@pytest.fixture(scope="module", autouse=True)
def book() -> None:
    """The book that is asked about holds something."""
    filled(PLACE)


def asked(case: schemathesis.Case[Any]) -> None:
    """Ask, and look at the answer."""
    case.call_and_validate(
        headers={"Host": "127.0.0.1"}, checks=[not_a_server_error, response_schema_conformance]
    )


@SCHEMA.exclude(path=list(SLOW)).parametrize()
@settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_whatever_is_asked_nothing_breaks(case: schemathesis.Case[Any]) -> None:
    asked(case)


@SCHEMA_OF_LONG_WORK.include(path=list(SLOW)).parametrize()
@settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_whatever_long_work_is_asked_nothing_breaks(case: schemathesis.Case[Any]) -> None:
    asked(case)
