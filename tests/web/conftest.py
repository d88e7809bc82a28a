"""A server on loopback for every test of the pages, and a real browser that may ask nobody else."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from time import sleep
from typing import Any
from urllib.parse import urlsplit

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, Request, Route, expect, sync_playwright
from starlette.testclient import TestClient

from pullcurve.web.app import create_app
from pullcurve.web.entry import Entry
from pullcurve.web.settings import Settings
from tests.debian import program

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LOOPBACK = {"127.0.0.1", "localhost"}
PATIENCE = 30_000
"""Milliseconds after which a page is taken for stuck, on a machine that has much else to do."""

expect.set_options(timeout=PATIENCE)


@contextmanager
def own_book() -> Iterator[str]:
    """A place for a job book that is nobody's, gone afterwards."""
    with TemporaryDirectory() as folder:
        yield str(Path(folder, "book.sqlite"))


@contextmanager
def serving(entry: Entry | None = None, book: str = "") -> Iterator[str]:
    """A running server in a thread, by its address; without a place for its book, it has none."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = create_app(Settings(port=port, entry=entry, book=book))
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive()
        sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="session")
def served() -> Iterator[str]:
    """Address of a running server, such as http://127.0.0.1:40123."""
    with own_book() as book, serving(book=book) as address:
        yield address


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's own browser without a screen."""
    path = program("chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    """The app without a network, asked as from a program on this machine."""
    with own_book() as book:
        app = create_app(Settings(book=book))
        with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as asked:
            yield asked


class Watched:
    """A browser window with a fresh profile: who else was asked, what failed."""

    def __init__(self, browser: Browser, served: str, **how: Any) -> None:
        """Open it."""
        self.strangers: list[str] = []
        self.failures: list[str] = []
        self.context: BrowserContext = browser.new_context(base_url=served, **how)
        self.context.route("**/*", self._look)
        self.context.set_default_timeout(PATIENCE)
        self.page: Page = self.context.new_page()
        self.page.on("pageerror", lambda error: self.failures.append(str(error)))
        self.page.on("console", lambda message: self._hear(message.text))

    def _look(self, route: Route, request: Request) -> None:
        if urlsplit(request.url).hostname in LOOPBACK:
            route.continue_()
        else:
            self.strangers.append(request.url)
            route.abort()

    def _hear(self, text: str) -> None:
        if "Content Security" in text or "This page failed" in text:
            self.failures.append(text)

    def close(self) -> None:
        """Close it; nobody but this machine may have been asked, and no script may have failed."""
        self.context.close()
        assert self.strangers == []
        assert self.failures == []


@pytest.fixture
def page(browser: Browser, served: str) -> Iterator[Page]:
    """A window with a fresh profile; the test fails if it asks any host but loopback, or if a script fails."""
    watched = Watched(browser, served, viewport={"width": 1024, "height": 800})
    yield watched.page
    watched.close()


@pytest.fixture
def other_page(browser: Browser, served: str) -> Iterator[Page]:
    """A second browser of its own at the same server."""
    watched = Watched(browser, served, viewport={"width": 1024, "height": 800})
    yield watched.page
    watched.close()
