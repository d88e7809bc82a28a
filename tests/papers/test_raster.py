"""PNG and PDF: right size, the same every time, and a sentence where something is missing."""

import struct
import sys
import time
import zlib

import pytest

from pullcurve.papers import raster
from pullcurve.papers.figures import LIGHT, pull_figure, small_pull
from tests.papers import samples


def pixels(data: bytes) -> tuple[int, int, list[bytes]]:
    """Width, height and raw rows of a PNG (ISO/IEC 15948: signature, IHDR, IDAT)."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, body, width, height = 8, b"", 0, 0
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        chunk = data[at + 8 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(kind + chunk)
        if kind == b"IHDR":
            width, height = struct.unpack(">II", chunk[:8])
        if kind == b"IDAT":
            body += chunk
        at += 12 + length
    raw = zlib.decompress(body)
    stride = len(raw) // height
    return width, height, [raw[row * stride : (row + 1) * stride] for row in range(height)]


@pytest.mark.parametrize("width", [168, 450, 900])
def test_png_has_the_size_that_was_asked_for(width: int) -> None:
    svg = pull_figure(samples.ONE, title="pull", height=600.0)
    found, high, rows = pixels(raster.png(svg, width))
    assert (found, high) == (width, round(width * 600.0 / 900.0))
    assert len({bytes(row) for row in rows}) > 20  # something is drawn


def test_png_has_the_paper_in_its_corner() -> None:
    _, _, rows = pixels(raster.png(small_pull(samples.ONE[0]), 168))
    assert rows[0][1:4].hex().upper() == LIGHT.paper.removeprefix("#")


def test_pdf_is_the_same_every_time_and_has_the_size_of_the_figure() -> None:
    svg = pull_figure(samples.ONE, title="pull", height=600.0)
    first = raster.pdf(svg)
    time.sleep(1.1)  # a date in it would now differ
    assert raster.pdf(svg) == first
    assert first.startswith(b"%PDF-")
    assert b"MediaBox [0 0 675 450]" in first.replace(b"/MediaBox[", b"MediaBox [")  # 900 x 600 px at 0.75 pt


def test_figure_text_is_data_and_never_a_program() -> None:
    title = '#panic("no") $x$ </svg> "quoted" & \\ `raw`'
    svg = pull_figure(samples.ONE, title=title)
    assert raster.png(svg, 200)[:4] == b"\x89PNG"
    assert raster.pdf(svg).startswith(b"%PDF-")


def test_missing_package_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    svg = pull_figure(samples.ONE, title="pull")
    for module, package in (("typst", "typst"), ("font_source_sans_pro", "font-source-sans-pro")):
        with monkeypatch.context() as missing:
            missing.setitem(sys.modules, module, None)
            with pytest.raises(ModuleNotFoundError, match=f"need the Python package {package}, which is not"):
                raster.png(svg)


def test_what_is_no_figure_is_refused() -> None:
    with pytest.raises(ValueError, match="no viewBox"):
        raster.pdf("<svg/>")
    with pytest.raises(ValueError, match="0 px wide"):
        raster.png(small_pull(samples.ONE[0]), 0)
