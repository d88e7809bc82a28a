"""Who may enter from the shop's network: one passphrase, kept as a hash; a signed mark for those who know it."""

import hashlib
import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic, time

COST, BLOCK, LANES = 2**14, 8, 1
"""Parameters of scrypt, N, r and p: some 16 MB and 50 ms a try (RFC 7914; the values are common practice)."""

SHORTEST = 8
"""Characters that a passphrase must have."""

LASTS = 12 * 3600
"""Seconds that a mark is good for: a day in the workshop."""

TRIES, EVERYBODY, PAUSE = 5, 30, 60.0
"""Tries of one address, and of all together, within a pause [s] before nobody is heard any more."""


def digest(passphrase: str, salt: bytes) -> bytes:
    """Hash of a passphrase that is slow to compute on purpose."""
    return hashlib.scrypt(passphrase.encode(), salt=salt, n=COST, r=BLOCK, p=LANES, dklen=32)


@dataclass(slots=True)
class Tries:
    """Tries of late, by address; ``clock`` gives seconds."""

    clock: Callable[[], float] = monotonic
    late: dict[str, list[float]] = field(default_factory=dict)

    def allow(self, address: str) -> bool:
        """Count a try, unless this address, or everybody together, has tried too often of late."""
        now = self.clock()
        self.late = {
            known: kept
            for known, times in self.late.items()
            if (kept := [at for at in times if at > now - PAUSE])
        }
        every = sum(len(times) for times in self.late.values())
        if every >= EVERYBODY or len(self.late.get(address, ())) >= TRIES:
            return False
        self.late.setdefault(address, []).append(now)
        return True

    def forget(self, address: str) -> None:
        """Forget the tries of an address that knew the passphrase."""
        self.late.pop(address, None)


@dataclass(frozen=True, slots=True)
class Entry:
    """The hash of the passphrase, the key that signs marks, and who tried of late."""

    salt: bytes
    hashed: bytes
    key: bytes
    tries: Tries

    def knows(self, passphrase: str) -> bool:
        """Whether this is the passphrase; takes the same time for every wrong one."""
        return hmac.compare_digest(digest(passphrase, self.salt), self.hashed)

    def mark(self, now: float | None = None) -> str:
        """A mark that says until when its owner may enter, signed."""
        until = f"{int(time() if now is None else now) + LASTS}"
        return f"{until}.{self._signed(until)}"

    def accepts(self, mark: str, now: float | None = None) -> bool:
        """Whether a mark was signed here and is still good."""
        until, _, signature = mark.partition(".")
        signed = hmac.compare_digest(self._signed(until).encode(), signature.encode(errors="replace"))
        return (
            signed and until.isascii() and until.isdigit() and (time() if now is None else now) < int(until)
        )

    def _signed(self, until: str) -> str:
        return hmac.new(self.key, until.encode(errors="replace"), hashlib.sha256).hexdigest()


def entry_for(passphrase: str) -> Entry:
    """An entry for a passphrase; the passphrase itself is not kept."""
    salt = secrets.token_bytes(16)
    return Entry(salt, digest(passphrase, salt), secrets.token_bytes(32), Tries())
