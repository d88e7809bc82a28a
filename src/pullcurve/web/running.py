"""Long work: in threads of its own, with progress, stopped when nobody listens any more."""

import asyncio
import json
from base64 import b64encode
from collections.abc import AsyncGenerator, Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event

from fastapi import Request, Response
from fastapi.responses import StreamingResponse
from starlette.exceptions import HTTPException

from pullcurve.errors import BadInput, Fault, Impossible
from pullcurve.papers.record import Record, plain
from pullcurve.web import faults

Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Download:
    """A file as an answer."""

    name: str
    media: str
    content: bytes


Found = Record | Download
Work = Callable[[Told], Found]

LINES = "application/x-ndjson"
WORKERS, MOST_WAITING = 2, 16
PATIENCE = 0.25
"""Seconds between two looks at whether somebody still listens."""


class Stopped(Exception):
    """Nobody waits for the answer."""


def text(record: object) -> bytes:
    """An answer as JSON: what is not reached is null."""
    return json.dumps(plain(record), ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def answered(record: object) -> Response:
    """An answer."""
    return Response(text(record), media_type="application/json")


def _whole(found: Found) -> Response:
    """The answer in one piece."""
    if not isinstance(found, Download):
        return answered(found)
    headers = {"Content-Disposition": f'attachment; filename="{found.name}"'}
    return Response(found.content, media_type=found.media, headers=headers)


def _line(found: Found) -> Record:
    """The answer as data: a file in base 64."""
    if not isinstance(found, Download):
        return found
    return {"name": found.name, "media": found.media, "data": b64encode(found.content).decode()}


class Runner:
    """The threads of one app and how much waits for them."""

    def __init__(self) -> None:
        """Nothing runs yet."""
        self.pool = ThreadPoolExecutor(WORKERS, thread_name_prefix="long")
        self.waiting = 0
        self.closed = Event()

    def close(self) -> None:
        """Stop what runs and begin nothing more: the server goes."""
        self.closed.set()
        self.pool.shutdown(wait=False, cancel_futures=True)

    async def answer(self, request: Request, work: Work) -> Response:
        """The answer of long work: whole, or as lines with progress where the question accepts them."""
        if self.waiting >= MOST_WAITING:
            raise HTTPException(429, headers={"Retry-After": "10"})
        running = Running(self, work)
        if LINES in request.headers.get("accept", ""):
            return StreamingResponse(running.lines(), media_type=LINES)
        try:
            while not running.over:
                await asyncio.wait({running.waiter}, timeout=PATIENCE)
                if await request.is_disconnected():
                    break
            found = await running.waiter if running.over else None
        finally:
            running.stop.set()
        if found is None:
            return Response(status_code=499)
        return _whole(found)


class Running:
    """One piece of long work on its way."""

    def __init__(self, runner: Runner, work: Work) -> None:
        """Start it."""
        self.runner, self.stop = runner, Event()
        self.loop = asyncio.get_running_loop()
        self.news: asyncio.Queue[tuple[int, int] | None] = asyncio.Queue()
        runner.waiting += 1
        self.future: Future[Found] = runner.pool.submit(self._run, work)
        self.waiter = asyncio.wrap_future(self.future)
        self.waiter.add_done_callback(self._done)

    @property
    def over(self) -> bool:
        """Whether there is an answer."""
        return self.waiter.done()

    def _done(self, waiter: "asyncio.Future[Found]") -> None:
        self.runner.waiting -= 1
        if not waiter.cancelled():
            waiter.exception()  # looked at, so that nobody calls it forgotten
        self.news.put_nowait(None)

    def _run(self, work: Work) -> Found:
        if self.stop.is_set():
            raise Stopped
        return work(self._told)

    def _told(self, done: int, total: int) -> None:
        """Progress, heard in the thread that works; the place where it stops."""
        if self.stop.is_set() or self.runner.closed.is_set():
            raise Stopped
        self.loop.call_soon_threadsafe(self.news.put_nowait, (done, total))

    async def lines(self) -> AsyncGenerator[bytes, None]:
        """Progress, then the answer or the faults, a line each; a reader who leaves stops the work."""
        try:
            while (news := await self.news.get()) is not None:
                yield text({"done": news[0], "total": news[1]}) + b"\n"
            yield self._last()
        finally:
            self.stop.set()

    def _last(self) -> bytes:
        try:
            found = self.future.result()
        except (BadInput, Impossible) as error:
            status, listed = faults.of_error(error)
        except Exception as error:  # noqa: BLE001  the one place where a fault of ours becomes a line
            faults.LOG.error("long work failed", exc_info=error)
            status, listed = 500, (Fault("", "", faults.BUG),)
        else:
            return text({"answer": _line(found)}) + b"\n"
        told = [faults.record(fault) for fault in listed]
        return text({"status": status, "faults": told}) + b"\n"
