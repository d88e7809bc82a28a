"""Errors become answers: one line for each fault, with its place; never a traceback."""

import logging
from collections.abc import Iterable
from http import HTTPStatus

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from pullcurve.errors import BadInput, Fault, Impossible, on_one_line
from pullcurve.parts.fields import shown

LOG = logging.getLogger("pullcurve.web")

UNPROCESSABLE, CONFLICT = 422, 409

SAID = {
    400: "cannot be read; allowed is JSON in UTF-8",
    401: "needs the passphrase of this server",
    403: "is refused: the question came from another site",
    404: "is not here",
    405: "is not asked this way",
    413: "is too large",
    415: "comes in a form that is not taken here",
    421: "is refused: this server is not known by that name",
    429: "has to wait: too much at once; ask again in a minute",
}
"""Rest of the sentence for what is refused before it is looked at."""

BUG = "failed: a fault of this program, not of the job; the server's window says more"


def record(fault: Fault) -> dict[str, str]:
    """One fault as data."""
    parts = {"where": fault.where, "key": fault.key, "said": fault.said}
    return {name: on_one_line(text) for name, text in parts.items()}


def refusal(status: int, faults: Iterable[Fault]) -> JSONResponse:
    """The answer that names the faults."""
    return JSONResponse({"faults": [record(fault) for fault in faults]}, status)


def of_error(error: BadInput | Impossible) -> tuple[int, tuple[Fault, ...]]:
    """Status and faults of an error of the verbs."""
    if isinstance(error, BadInput):
        return UNPROCESSABLE, error.faults
    return CONFLICT, (Fault("", "", str(error)),)


def said_of(status: int, where: str) -> tuple[Fault, ...]:
    """The one fault of a refusal by status."""
    said = SAID.get(status) or f"is refused: {HTTPStatus(status).phrase.lower()}"
    return (Fault(where, "", said),)


def _own(_: Request, error: Exception) -> Response:
    assert isinstance(error, BadInput | Impossible)
    return refusal(*of_error(error))


def _typed(_: Request, error: Exception) -> Response:
    """What is wrong with the question around the job."""
    assert isinstance(error, RequestValidationError)
    return refusal(UNPROCESSABLE, (_fault(entry) for entry in error.errors()))


def _fault(entry: dict[str, object]) -> Fault:
    at, kind, message = entry["loc"], str(entry["type"]), str(entry["msg"])
    assert isinstance(at, tuple)
    key = ".".join(str(step) for step in at[1:])
    if kind == "json_invalid":
        return Fault("question", "", f"is no JSON from character {key or 0} on")
    if kind == "missing":
        return Fault("question", key, "is missing")
    if kind == "extra_forbidden":
        return Fault("question", key, "is not known here")
    allowed = message.removeprefix("Input should be ").removeprefix("Value error, ")
    return Fault("question", key, f"is {shown(entry.get('input'))}; allowed is {allowed}")


def answer_http(request: Request, error: Exception) -> Response:
    """A refusal by status as data."""
    assert isinstance(error, HTTPException)
    answer = refusal(error.status_code, said_of(error.status_code, request.url.path))
    answer.headers.update(error.headers or {})
    return answer


def _bug(request: Request, error: Exception) -> Response:
    LOG.error("%s %s failed", request.method, request.url.path, exc_info=error)
    return refusal(500, (Fault(request.url.path, "", BUG),))


def answer_errors(app: FastAPI) -> None:
    """Have every error answered in one way."""
    app.add_exception_handler(BadInput, _own)
    app.add_exception_handler(Impossible, _own)
    app.add_exception_handler(RequestValidationError, _typed)
    app.add_exception_handler(HTTPException, answer_http)
    app.add_exception_handler(Exception, _bug)
