"""The gate: who may ask, from where and how much; and what every answer says to the browser."""

import asyncio
from collections.abc import Iterable
from ipaddress import ip_address
from socket import gethostname
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import cookie_parser
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pullcurve.web import faults
from pullcurve.web.settings import Settings, is_loopback

COOKIE = "pullcurve-entry"

MOST, MOST_FILE = 2_000_000, 40_000_000
"""Bytes of a question, and of one that carries a file."""

WITH_FILE = (
    "/api/cam/read",
    "/api/measure/diagnose",
    "/api/measure/fit",
    "/api/measure/compare",
    "/api/sheet",
    "/api/book/pull",
    "/api/book/photo",
)

MOST_DRAINED, DRAIN_SECONDS = 1_000_000_000, 20.0
"""What is read and thrown away of a question that is too large, so that whoever sends it can hear why."""

OPEN = ("/enter", "/tokens.css", "/static/", "/fonts/", "/api/alive")
"""What can be had without the passphrase: the page that asks for it, and its looks."""

SAFE = ("GET", "HEAD", "OPTIONS")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",  # with none at all a form would come with the Origin "null"
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


def known_names(settings: Settings) -> frozenset[str]:
    """Names that this server answers to, besides addresses in numbers."""
    local = ("localhost", settings.host.lower())
    if is_loopback(settings.host):
        return frozenset(local)
    here = gethostname().lower().partition(".")[0]
    return frozenset((*local, here, f"{here}.local", *(name.lower() for name in settings.names)))


def is_known(host: str, names: Iterable[str], *, loopback_only: bool) -> bool:
    """Whether a Host header means this server.

    An address in numbers cannot be turned to another machine by whoever owns a name, so in a network any is taken.
    """
    try:
        name = (urlsplit(f"//{host}").hostname or "").rstrip(".")
        urlsplit(f"//{host}").port  # noqa: B018  raises where the port is no number
    except ValueError:
        return False
    try:
        address = ip_address(name)
    except ValueError:
        return name in names
    return address.is_loopback or not loopback_only


def same_site(headers: Headers, scheme: str) -> bool:
    """Whether a question that may change something comes from a page of this server, or from no page at all."""
    origin = headers.get("origin")
    if headers.get("sec-fetch-site") in ("cross-site", "same-site"):
        return False
    return origin is None or origin == f"{scheme}://{headers.get('host', '')}"


class Gate:
    """Everything passes here first."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        """Stand before an app."""
        self.app, self.settings, self.names = app, settings, known_names(settings)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a question through, or say why not."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close"})  # nothing here speaks another protocol
            return
        answer = _dressed(send)
        refused = self._refused(scope, Headers(scope=scope))
        if refused is not None:
            await _drain(receive)
            await refused(scope, receive, answer)
            return
        await self.app(scope, _counted(receive, _most(scope["path"])), answer)

    def _refused(self, scope: Scope, headers: Headers) -> Response | None:
        """The refusal of a question, by what stands on its envelope."""
        path = scope["path"]
        local = is_loopback(self.settings.host)
        if not is_known(headers.get("host", ""), self.names, loopback_only=local):
            return _refusal(421, path)
        if scope["method"] not in SAFE and not same_site(headers, scope["scheme"]):
            return _refusal(403, path)
        if headers.get("content-encoding", "identity") != "identity":
            return _refusal(415, path)
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length[:20]) > _most(path):
            return _refusal(413, path)
        return self._unknown(scope, headers)

    def _unknown(self, scope: Scope, headers: Headers) -> Response | None:
        """The way to the passphrase for whoever has not given it."""
        entry, path = self.settings.entry, scope["path"]
        if entry is None or any(path == one or (one[-1] == "/" and path.startswith(one)) for one in OPEN):
            return None
        if entry.accepts(cookie_parser(headers.get("cookie", "")).get(COOKIE, "")):
            return None
        return _refusal(401, path) if path.startswith("/api/") else RedirectResponse("/enter", 303)


def _most(path: str) -> int:
    return MOST_FILE if path in WITH_FILE else MOST


def _refusal(status: int, path: str) -> Response:
    return faults.refusal(status, faults.said_of(status, path))


def _counted(receive: Receive, most: int) -> Receive:
    """A question whose length nobody told, counted while it comes."""
    came = 0

    async def counting() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            if message.get("more_body"):
                await _drain(receive)
            raise HTTPException(413)
        return message

    return counting


async def _drain(receive: Receive) -> None:
    """Read what is left of a question and keep nothing of it."""
    came = 0
    try:
        async with asyncio.timeout(DRAIN_SECONDS):
            while came < MOST_DRAINED:
                message = await receive()
                came += len(message.get("body", b""))
                if message["type"] != "http.request" or not message.get("more_body"):
                    return
    except TimeoutError:
        return


def _dressed(send: Send) -> Send:
    """Answers with what every one of them says to the browser."""

    async def dressing(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers: Any = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-cache")
        await send(message)

    return dressing
