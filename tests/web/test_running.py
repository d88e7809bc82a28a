"""Long work: heard of while it runs, and over when nobody listens."""

import asyncio
import json
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any, TypeVar

import pytest
from starlette.exceptions import HTTPException
from starlette.requests import Request

from pullcurve.errors import Impossible
from pullcurve.web import running
from pullcurve.web.running import Download, Runner, Running, Told

Answer = TypeVar("Answer")


def run(work: Coroutine[Any, Any, Answer]) -> Answer:
    """Run in a thread of its own: the browser of other tests has a loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def asked(gone: bool = False, accept: str = "application/json") -> Request:
    """A question from somebody who is there, or who has gone."""

    async def receive() -> dict[str, Any]:
        if gone:
            return {"type": "http.disconnect"}
        await asyncio.sleep(3600)
        raise AssertionError

    return Request({"type": "http", "headers": [(b"accept", accept.encode())]}, receive)


def test_work_stops_when_its_reader_leaves() -> None:
    stopped = Event()

    def work(told: Told) -> dict[str, Any]:
        try:
            for done in range(10**9):
                told(done, 10**9)
        finally:
            stopped.set()
        return {}

    async def read_one_line() -> bytes:
        lines = Running(Runner(), work).lines()
        first = await anext(lines)
        await lines.aclose()
        return first

    assert json.loads(run(read_one_line())) == {"done": 0, "total": 10**9}
    assert stopped.wait(30)


def test_work_stops_when_who_asked_has_gone() -> None:
    stopped = Event()

    def work(told: Told) -> dict[str, Any]:
        try:
            while True:
                told(0, 1)
        finally:
            stopped.set()

    answer = run(Runner().answer(asked(gone=True), work))
    assert answer.status_code == 499
    assert stopped.wait(30)


def test_faults_of_long_work_are_the_last_line() -> None:
    def impossible(_: Told) -> dict[str, Any]:
        raise Impossible("no cam does it")

    def broken(_: Told) -> dict[str, Any]:
        raise RuntimeError("secret")

    async def last(work: running.Work) -> Any:
        return json.loads([line async for line in Running(Runner(), work).lines()][-1])

    assert run(last(impossible)) == {
        "status": 409,
        "faults": [{"where": "", "key": "", "said": "no cam does it"}],
    }
    told = run(last(broken))
    assert told["status"] == 500 and "secret" not in json.dumps(told)


def test_a_file_is_told_as_data_where_lines_are_read() -> None:
    async def both() -> tuple[Any, Any]:
        runner = Runner()
        whole = await runner.answer(asked(), lambda _: Download("a.txt", "text/plain", b"abc"))
        lines = [
            line async for line in Running(runner, lambda _: Download("a.txt", "text/plain", b"abc")).lines()
        ]
        return whole, json.loads(lines[-1])["answer"]

    whole, line = run(both())
    assert whole.body == b"abc" and whole.headers["content-disposition"] == 'attachment; filename="a.txt"'
    assert line == {"name": "a.txt", "media": "text/plain", "data": "YWJj"}


def test_too_much_at_once_has_to_wait() -> None:
    async def crowd() -> int:
        runner, hold = Runner(), Event()
        waiting = [Running(runner, lambda _: {"held": hold.wait(30)}) for _ in range(running.MOST_WAITING)]
        with pytest.raises(HTTPException) as refused:
            await runner.answer(asked(), lambda _: {})
        hold.set()
        await asyncio.gather(*(one.waiter for one in waiting))
        answer = await runner.answer(asked(), lambda _: {})
        assert answer.status_code == 200
        return refused.value.status_code

    assert run(crowd()) == 429
