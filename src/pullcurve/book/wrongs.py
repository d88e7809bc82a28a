"""What went wrong with a book, in one sentence that says what is still safe."""

from pullcurve.errors import BookFault

REASONS = (
    ("database is locked", "another program has been writing to it for 10 s; try again"),
    ("disk is full", "the disk is full; make room and try again"),
    ("No space left", "the server's disk is full; make room and try again"),
    ("readonly database", "it may not be written; check the rights of the file and its folder"),
    ("read-only", "it may not be written; check the rights of this user"),
    (
        "not a database",
        "it is no job book, or its beginning is damaged; `pullcurve book restore` brings a copy back",
    ),
    ("malformed", "the file is damaged; `pullcurve book restore` brings the newest copy back"),
    ("disk I/O error", "the disk does not answer; check it, then `pullcurve book restore` if need be"),
    ("unable to open", "the file cannot be opened; check the rights of the file and its folder"),
    ("password", "the server wants another user or password"),
    ("does not exist", "the server has no such database or user"),
    ("permission denied", "this user may not do that there"),
    ("connection", "the server does not answer; check that it runs and that the address is right"),
    ("could not translate host name", "there is no such server"),
    ("Name or service not known", "there is no such server"),
)
"""What engines say, and what it means."""


def refused(place: str, error: Exception, safe: str) -> BookFault:
    """The one line for an engine's error."""
    said = str(getattr(error, "orig", None) or error)
    known = next((means for sign, means in REASONS if sign.lower() in said.lower()), None)
    return BookFault(f"{place}: {known or ' '.join(said.split())}; {safe}")
