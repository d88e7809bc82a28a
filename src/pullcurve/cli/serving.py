"""Start the server, say where it is found, and stop it again."""

import gc
import logging
import os
import socket
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path

import click
import uvicorn

from pullcurve.errors import BadInput, Fault
from pullcurve.web.app import create_app
from pullcurve.web.entry import SHORTEST, Entry, entry_for
from pullcurve.web.settings import Settings, is_loopback

EVERYWHERE = ("0.0.0.0", "::")

IN_THE_CLEAR = (
    "Whoever is in this network and knows the passphrase can use it. The network sees what is sent: it is not "
    "encrypted, so this is for the workshop's own network."
)

SELDOM = (50_000, 20, 50)
"""When Python looks for rubbish: what is there at the start stays, and a step of the bench makes some ten thousand
lists of numbers, so that looking as often as usual takes half of its time."""


def served(
    port: int,
    host: str,
    names: tuple[str, ...],
    passphrase_file: Path | None,
    no_open: bool,
    typed: str | None = None,
    book: str = "",
) -> None:
    """Serve until it is interrupted.

    ``typed`` is the passphrase that the environment holds, if any; ``book`` is where the job book is.
    """
    entry = None if is_loopback(host) else entry_for(_passphrase(passphrase_file, typed))
    with _listening(host, port) as listening:
        port = listening.getsockname()[1]
        app = create_app(Settings(host, port, names, entry, book))
        address = address_of(host, port)
        _tell(address, entry)
        logging.basicConfig(level=logging.WARNING, format="%(message)s")
        config = uvicorn.Config(
            app, log_level="warning", access_log=False, server_header=False, lifespan="on"
        )
        server = uvicorn.Server(config)
        if not no_open:
            threading.Timer(0.5, webbrowser.open, [address]).start()
        # Where the signal is ignored by whoever started us, the server ends without an exception.
        with suppress(KeyboardInterrupt):
            gc.freeze()
            gc.set_threshold(*SELDOM)
            server.run(sockets=[listening])
        click.echo("stopped")


def _listening(host: str, port: int) -> socket.socket:
    """A socket at the address; raises BadInput where there can be none."""
    try:
        family, _, _, _, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except OSError:
        raise BadInput(
            Fault("serve", "host", f'is "{host}"; allowed is an address of this machine')
        ) from None
    listening = socket.socket(family, socket.SOCK_STREAM)
    if os.name == "posix":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(place)
        listening.listen()  # who is quick waits until the server is ready
    except OSError as error:
        listening.close()
        said = (
            f"is {port} and cannot be had at {host} ({error.strerror}); allowed is another one, or 0 for any"
        )
        raise BadInput(Fault("serve", "port", said)) from None
    return listening


def address_of(host: str, port: int) -> str:
    """What to type into a browser on this machine."""
    name = "127.0.0.1" if host in EVERYWHERE else f"[{host}]" if ":" in host else host
    return f"http://{name}:{port}/"


def _tell(address: str, entry: Entry | None) -> None:
    click.echo(f"pullcurve is at {address} until you press Ctrl-C.")
    if entry is not None:
        click.echo(f"From another machine: http://{socket.gethostname()}:{address.rsplit(':', 1)[1]}")
        click.echo(IN_THE_CLEAR)


def _passphrase(file: Path | None, typed: str | None) -> str:
    """The passphrase from a file, from the environment, or asked for."""
    if file is not None:
        try:
            lines = file.read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError) as error:
            reason = getattr(error, "strerror", None) or "it is no UTF-8 text"
            raise BadInput(Fault(str(file), "", f"cannot be read: {reason.lower()}")) from None
        known = lines[0].strip() if lines else ""
    else:
        known = typed or click.prompt(
            "Passphrase for this network", hide_input=True, confirmation_prompt=True, err=True
        )
    if len(known) < SHORTEST:
        said = f"has {len(known)} characters; allowed is {SHORTEST} or more"
        raise BadInput(Fault("serve", "passphrase", said))
    return known
