"""Photos for the file: whether a picture is whole and not too large, read off its head without unpacking it."""

import warnings
from pathlib import Path

from pullcurve.errors import BadInput
from pullcurve.intake.files import refused
from pullcurve.intake.grey import BROKEN

FORMATS = ("JPEG", "PNG", "WEBP")

MOST_PIXELS = 120_000_000
"""Pixels that whoever looks at a photo has to unpack; telephones come with up to 108 million."""


def check_photo(path: Path) -> None:
    """Raise BadInput for what is no photo, is spoilt, or unpacks too large."""
    from PIL import Image, UnidentifiedImageError

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(path, formats=FORMATS) as opened:
                width, height = opened.size
                if width * height > MOST_PIXELS:
                    raise _too_large(path, f"{width} by {height} pixels")
                opened.verify()
        except Image.DecompressionBombError:
            raise _too_large(path, "more pixels than a camera") from None
        except UnidentifiedImageError:
            raise refused(path, "is no photo; allowed is JPEG, PNG or WebP") from None
        except BROKEN as error:
            reason = str(error).strip().splitlines() or ["it ends too early"]
            raise refused(path, f"cannot be read as a photo: {reason[0][:80]}") from None


def _too_large(path: Path, has: str) -> BadInput:
    return refused(path, f"has {has}; allowed is up to {MOST_PIXELS / 1e6:.0f} million")
