"""Photos as cameras write them, and what only looks like one."""

import io
import struct
import zlib

from PIL import Image


def encoded(how: str) -> bytes:
    """A small picture, written by an encoder of pictures."""
    out = io.BytesIO()
    Image.effect_noise((48, 32), 60).convert("RGB").save(out, how)
    return out.getvalue()


def png(width: int, height: int, *more: tuple[bytes, bytes]) -> bytes:
    """The head of a PNG by the W3C specification, section 5, with other chunks and no row of the picture."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), *more, (b"IDAT", zlib.compress(b"")), (b"IEND", b""))
    parts = (
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def jpeg(width: int, height: int) -> bytes:
    """A JPEG whose frame header (ITU-T T.81, B.2.2) says another size."""
    whole = encoded("JPEG")
    at = whole.index(b"\xff\xc0") + 5
    return whole[:at] + struct.pack(">HH", height, width) + whole[at + 4 :]


NO_PHOTOS = {
    "empty": (b"", "is empty"),
    "another format": (encoded("GIF"), "is no photo; allowed is JPEG, PNG or WebP"),
    "a drawing that runs": (b"<svg onload='x()'/>", "is no photo"),
    "signs of a PNG and no more": (b"\x89PNG\r\n\x1a\nrest", "is no photo"),
    "signs of a JPEG and no more": (b"\xff\xd8\xff\xe0rest", "cannot be read as a photo"),
    "signs of a WebP and no more": (b"RIFF\x10\x00\x00\x00WEBPVP8 rest", "cannot be read as a photo"),
    "half a PNG": (encoded("PNG")[:-30], "cannot be read as a photo"),
    "half a WebP": (encoded("WEBP")[:60], "cannot be read as a photo"),
    "a head without a picture": (encoded("JPEG")[:200], "cannot be read as a photo"),
    "more than any camera": (png(11_000, 11_000), "has 11000 by 11000 pixels; allowed is up to 120 million"),
    "a PNG that fills a disk": (png(2**31 - 1, 2**31 - 1), "allowed is up to 120 million"),
    "a JPEG that fills the memory": (jpeg(65_000, 65_000), "allowed is up to 120 million"),
    "words that unpack without end": (
        png(2, 2, (b"zTXt", b"note\0\0" + zlib.compress(bytes(100_000_000)))),
        "cannot be read as a photo",
    ),
}
