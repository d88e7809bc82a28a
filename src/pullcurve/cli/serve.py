"""The serve command: the bench in a browser."""

import os
from pathlib import Path

import click

from pullcurve.cli.book import BOOK
from pullcurve.cli.commands import Examples

LOOPBACK, PORT = "127.0.0.1", 8137
VARIABLE = "PULLCURVE_PASSPHRASE"


@click.command(cls=Examples, epilog="pullcurve serve")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="Port; 0 takes any free one.",
)
@click.option(
    "--host",
    default=LOOPBACK,
    show_default=True,
    metavar="ADDRESS",
    help="Address to be found at; any but this machine's own needs a passphrase.",
)
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="NAME",
    help="A further name that this machine has in the shop's network; may be repeated.",
)
@click.option(
    "--passphrase-file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help=f"Where the passphrase stands; else {VARIABLE}, else it is asked for.",
)
@click.option("--no-open", is_flag=True, help="Open no browser.")
@BOOK
def serve(
    port: int, host: str, names: tuple[str, ...], passphrase_file: Path | None, no_open: bool, place: str
) -> None:
    """Show the whole tool in a browser on this machine; nothing leaves it."""
    from pullcurve.cli import serving

    serving.served(port, host, names, passphrase_file, no_open, os.environ.get(VARIABLE), place)
