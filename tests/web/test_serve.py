"""`pullcurve serve` as it is typed: found at its address, stopped with Ctrl-C, and clear about what it lacks."""

import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.request import urlopen

import pytest

from pullcurve.cli import serving
from pullcurve.errors import BadInput

START = "from pullcurve.cli import main; main()"


@contextmanager
def started(*arguments: str, **environment: str) -> Iterator[subprocess.Popen[str]]:
    """The command in a process of its own."""
    run = subprocess.Popen(
        [sys.executable, "-c", START, "serve", "--no-open", "--port", "0", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PYTHONUNBUFFERED": "1", **environment},
    )
    try:
        yield run
    finally:
        run.kill()
        run.communicate()


@pytest.mark.skipif(os.name != "posix", reason="a process group cannot be interrupted here")
def test_it_serves_until_it_is_interrupted() -> None:
    with started() as run:
        assert run.stdout is not None
        line = run.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert found and "Ctrl-C" in line, line
        with urlopen(found[0]) as answer:
            assert b"pullcurve" in answer.read()
        run.send_signal(signal.SIGINT)
        assert run.stdout.read() == "stopped\n"
        assert run.wait(20) == 0


def test_a_network_needs_a_passphrase_and_is_told_what_it_means(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked: list[object] = []
    monkeypatch.setattr("uvicorn.Server.run", lambda server, sockets: asked.append(server.config.app))
    file = tmp_path / "words"
    file.write_text("roller on the flank\n", encoding="utf-8")
    serving.served(0, "0.0.0.0", (), file, True, None)
    assert asked[0].state.settings.entry.knows("roller on the flank")  # type: ignore[attr-defined]
    assert "not encrypted" in capsys.readouterr().out
    with pytest.raises(BadInput, match="has 5 characters; allowed is 8 or more"):
        serving.served(0, "0.0.0.0", (), None, True, "short")
    with pytest.raises(BadInput, match="cannot be read: no such file"):
        serving.served(0, "0.0.0.0", (), tmp_path / "nothing", True, None)


def test_a_port_that_is_taken_is_told() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(BadInput, match="allowed is another one, or 0 for any"):
            serving.served(taken.getsockname()[1], "127.0.0.1", (), None, True, None)


def test_an_address_that_is_not_here_is_told() -> None:
    with pytest.raises(BadInput, match="allowed is an address of this machine"):
        serving.served(0, "no such host", (), None, True, "roller on the flank")


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("0.0.0.0", "http://127.0.0.1:80/"),
        ("::1", "http://[::1]:80/"),
        ("10.0.0.2", "http://10.0.0.2:80/"),
    ],
)
def test_the_address_is_one_that_a_browser_takes(host: str, address: str) -> None:
    assert serving.address_of(host, 80) == address
