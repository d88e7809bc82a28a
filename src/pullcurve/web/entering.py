"""The page that asks for the passphrase."""

from urllib.parse import parse_qs

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse

from pullcurve.web.entry import LASTS, Entry
from pullcurve.web.gate import COOKIE
from pullcurve.web.pages import templates

MOST = 2000
"""Bytes of what is typed here."""

router = APIRouter(include_in_schema=False)


def _entry(request: Request) -> Entry | None:
    found: Entry | None = request.app.state.settings.entry
    return found


def _inside(target: str) -> str:
    """Where to go afterwards: a page of this server, never another."""
    plain = target.startswith("/") and not target.startswith(("//", "/\\")) and target.isprintable()
    return target if plain else "/"


def _page(request: Request, target: str, said: str = "", status: int = 200) -> Response:
    known = {"page": "enter", "next": _inside(target), "said": said}
    return templates.TemplateResponse(request, "enter.html", known, status_code=status)


@router.get("/enter")
def ask(request: Request, next: str = "/") -> Response:
    """Ask for the passphrase."""
    return RedirectResponse("/", 303) if _entry(request) is None else _page(request, next)


@router.post("/enter")
async def enter(request: Request) -> Response:
    """Look at what was typed; after too many wrong tries nobody is heard for a while."""
    entry = _entry(request)
    if entry is None:
        return RedirectResponse("/", 303)
    typed = parse_qs((await request.body())[:MOST].decode(errors="replace"))
    target = typed.get("next", ["/"])[0]
    address = request.client.host if request.client else ""
    if not entry.tries.allow(address):
        return _page(request, target, "Too many tries. Wait a minute, then try again.", 429)
    if not await run_in_threadpool(entry.knows, typed.get("passphrase", [""])[0]):
        return _page(request, target, "That is not the passphrase.", 403)
    entry.tries.forget(address)
    answer = RedirectResponse(_inside(target), 303)
    answer.set_cookie(COOKIE, entry.mark(), max_age=LASTS, httponly=True, samesite="strict", path="/")
    return answer


@router.post("/leave")
def leave() -> Response:
    """Forget who this is."""
    answer = RedirectResponse("/enter", 303)
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict", path="/")
    return answer
