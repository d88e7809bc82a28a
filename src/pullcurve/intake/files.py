"""Files that a person names: their content, or one line that says why not."""

from pathlib import Path

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.places import short


def refused(file: Path, said: str) -> BadInput:
    """One line about a file."""
    return BadInput(Fault(short(file.name or str(file)), "", said))


def present(path: Path | str, largest: int, wanted: str) -> Path:
    """The file, if it is one and not too large; ``wanted`` is what stands in such a file."""
    file = Path(path)
    try:
        size = file.stat().st_size
        if file.is_dir():
            raise refused(file, f"is a folder; {wanted} is one file")
        with file.open("rb"):
            pass
    except FileNotFoundError:
        raise refused(file, "is not there") from None
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise refused(file, f"cannot be read: {said.lower()}") from None
    if size > largest:
        raise refused(file, f"has {size / 1e6:.0f} MB; allowed is up to {largest / 1e6:.0f} MB")
    if size == 0:
        raise refused(file, f"is empty; {wanted} is needed")
    return file
