"""What a server is told when it starts."""

from dataclasses import dataclass
from ipaddress import ip_address

from pullcurve.web.entry import Entry

LOOPBACK = "127.0.0.1"
PORT = 8137


@dataclass(frozen=True, slots=True)
class Settings:
    """Address, further names of this machine, and who may enter; without an entry only this machine may ask.

    ``book`` is the place of the job book, a file or a server; where none is told, there is none.
    """

    host: str = LOOPBACK
    port: int = PORT
    names: tuple[str, ...] = ()
    entry: Entry | None = None
    book: str = ""


def is_loopback(host: str) -> bool:
    """Whether an address stays on this machine."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False
