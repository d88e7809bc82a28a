"""The family of errors: each builds its sentence from thing, value, limit and remedy."""

from dataclasses import dataclass


class PullcurveError(Exception):
    """Anything that a user can mend or must know; carries the exit code of the command line."""

    exit_code = 1


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input: where, which key, and the rest of the sentence.

    ``said`` starts with a verb: "is -9.5; allowed is 4 to 30", "is not known here; did you mean bore_mm?".
    """

    where: str
    key: str
    said: str

    def __str__(self) -> str:
        """One line that names place, key, value and remedy, whatever the input contained."""
        sentence = f"{self.where}: {self.key} {self.said}" if self.key else f"{self.where}: {self.said}"
        return on_one_line(sentence)


def on_one_line(text: str) -> str:
    """A text whose line breaks and other signs that cannot be shown are written as escapes."""
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in text
    )


class BadInput(PullcurveError):
    """What was given cannot be used as it stands; all faults at once, one line each."""

    exit_code = 2

    def __init__(self, *faults: Fault) -> None:
        """Collect the faults."""
        super().__init__(*faults)
        self.faults = faults

    def __str__(self) -> str:
        """One line per fault."""
        return "\n".join(str(fault) for fault in self.faults)


class Impossible(PullcurveError):
    """Nothing can do what was asked: which limit, by how much, why."""

    exit_code = 3

    def __init__(self, sentence: str) -> None:
        """Keep the sentence."""
        super().__init__(sentence)


class BookFault(PullcurveError):
    """The job book could not be read or written; says what is still safe."""

    exit_code = 4

    def __init__(self, sentence: str) -> None:
        """Keep the sentence."""
        super().__init__(sentence)
