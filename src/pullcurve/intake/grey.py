"""Pictures as grey values: one byte a pixel, whatever the file holds, or one line that says why not."""

import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pullcurve.intake.files import present, refused

if TYPE_CHECKING:
    from PIL import Image

LARGEST = 600_000_000
"""Bytes that a picture file may have."""

MOST_PIXELS = 160_000_000
"""Pixels of a picture: a sheet of 210 mm by 297 mm at 1200 dpi has 139 million."""

SMALLEST_SIDE = 64
"""Pixels that the shorter side has at least."""

SQUARE = 0.01
"""Share by which the resolutions along and across may differ in what a picture file states."""

Grey = NDArray[np.uint8]

BROKEN = (OSError, ValueError, SyntaxError, LookupError, TypeError, ArithmeticError, EOFError, AttributeError)
"""What the reader of pictures is seen to raise on spoilt files."""


def grey_picture(path: Path | str) -> Grey:
    """Grey values of a picture (rows, columns), white 255."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    file = present(path, LARGEST, "a picture")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            with Image.open(file) as opened:
                _allowed(opened.size, file)
                return _values(ImageOps.exif_transpose(opened))
        except Image.DecompressionBombError:
            raise refused(
                file, f"is too large; allowed is up to {MOST_PIXELS / 1e6:.0f} million pixels"
            ) from None
        except UnidentifiedImageError:
            raise refused(file, "is not a picture (PNG, TIFF or JPEG)") from None
        except BROKEN as error:
            reason = str(error).strip().splitlines() or ["it ends too early"]
            raise refused(file, f"cannot be read as a picture: {reason[0][:80]}") from None


def stated_dpi(path: Path | str) -> float | None:
    """Resolution that a readable picture file states of itself [dpi]; None where it states none, or one each way."""
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(path) as opened:
            across, down = (float(one) for one in opened.info.get("dpi", (0.0, 0.0)))
    return across if across > 0 and abs(across - down) <= SQUARE * across else None


def _allowed(size: tuple[int, int], file: Path) -> None:
    """Refuse a picture that is too small to show a cam or too large to hold."""
    width, height = size
    if width * height > MOST_PIXELS:
        said = f"has {width} by {height} pixels; allowed is up to {MOST_PIXELS / 1e6:.0f} million: cut it to the cam"
        raise refused(file, said)
    if min(size) < SMALLEST_SIDE:
        raise refused(file, f"has {width} by {height} pixels; at least {SMALLEST_SIDE} each way are needed")


def _values(picture: "Image.Image") -> Grey:
    """Grey values; what is transparent counts as white, more than one byte a pixel is brought down to one."""
    if picture.mode.startswith(("I", "F")):
        deep = np.asarray(picture, dtype=np.float64)
        full = 65535.0 if deep.max(initial=0.0) > 255 else max(deep.max(initial=0.0), 1.0)
        return np.asarray(np.clip(deep / full * 255, 0, 255), dtype=np.uint8)
    if "A" in picture.getbands() or "transparency" in picture.info:
        from PIL import Image

        white = Image.new("RGBA", picture.size, "white")
        picture = Image.alpha_composite(white, picture.convert("RGBA"))
    return np.asarray(picture.convert("L"), dtype=np.uint8)
