"""Sheets as PDF: A4 pages set by typst, every word as data, the same bytes for the same day."""

import json
from importlib.resources import files
from typing import Any

from pullcurve.papers.raster import fonts
from pullcurve.papers.sheet import RiderSheet, Sheet
from pullcurve.papers.sheetpage import code, rider_figure, rider_words, settable

HEIGHT = 215.0
"""Height of the figure, px."""


def sheet_pdf(sheet: Sheet) -> bytes:
    """The sheet for rider and file on one page, or the sheet for the bench on as few as it needs."""
    import typst

    parts: Any = _parts(sheet)  # the typesetter's own types know no files in memory
    with fonts() as folder:
        known = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)]
        )
        return bytes(typst.compile(parts, format="pdf", font_paths=known))


def _parts(sheet: Sheet) -> dict[str, bytes]:
    """The files that the page is set from."""
    found = {"sheetlook.typ": _source("sheetlook.typ"), "code.svg": code(sheet).encode()}
    if isinstance(sheet, RiderSheet):
        words, main = rider_words(sheet), "sheet.typ"
        found["pull.svg"] = rider_figure(sheet, HEIGHT).encode()
    else:
        from pullcurve.papers.sheetbench import bench_words

        words, main = bench_words(sheet), "sheetbench.typ"
    found["data.json"] = json.dumps(settable(words)).encode()
    return {"main.typ": _source(main), **found}


def _source(name: str) -> bytes:
    return files("pullcurve.papers").joinpath(name).read_bytes()
