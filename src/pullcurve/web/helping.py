"""The help: how to begin, the written pages, and the page for programs."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse
from starlette.exceptions import HTTPException

from pullcurve.web import describing, faults, shelf
from pullcurve.web.pages import shown

router = APIRouter(include_in_schema=False)


def _titles() -> dict[str, str]:
    """The written pages that are there."""
    return {name: words for name, words in shelf.TITLES.items() if shelf.page(name) is not None}


def absent(request: Request, error: Exception) -> Response:
    """A refusal by status: a page for whoever reads, data for whoever asks."""
    reads = "text/html" in request.headers.get("accept", "") and not request.url.path.startswith("/api/")
    if not reads or not isinstance(error, HTTPException):
        return faults.answer_http(request, error)
    said = str(faults.said_of(error.status_code, request.url.path)[0])
    return shown(request, "missing", error.status_code, said=said)


@router.get("/help")
def begin(request: Request) -> Response:
    """How to begin, and the cautions."""
    return shown(request, "help", name="", title="help", titles=_titles(), html="")


@router.get("/help/api")
def programs(request: Request) -> Response:
    """The interface for programs, without asking anybody else for the page."""
    groups = describing.questions(request.app.openapi())
    return shown(request, "api", titles=_titles(), groups=groups, base=str(request.base_url))


@router.get("/help/{name}")
def written(request: Request, name: str) -> Response:
    """One of the written pages."""
    html = shelf.page(name)
    if html is None:
        raise HTTPException(404)
    return shown(request, "help", name=name, title=shelf.TITLES[name], titles=_titles(), html=html)


@router.get("/help/img/{name}")
def picture(name: str) -> Response:
    """A picture of the written pages."""
    found = shelf.picture(name)
    if found is None:
        raise HTTPException(404)
    return FileResponse(found)
