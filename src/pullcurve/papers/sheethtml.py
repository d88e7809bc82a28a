"""Sheets as HTML: one file that asks for nothing else, for the screen and for any printer."""

from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from pullcurve.papers.sheet import RiderSheet, Sheet
from pullcurve.papers.sheetfigure import PAPER
from pullcurve.papers.sheetpage import code, rider_figure, rider_words
from pullcurve.papers.style import FONT_STACK, css_variables

HEIGHT = 300.0
"""Height of the figure, px."""


def sheet_html(sheet: Sheet) -> str:
    """The sheet as one page; every word of the job is text there, never markup."""
    if isinstance(sheet, RiderSheet):
        words, page, pull = rider_words(sheet), "sheet.html", rider_figure(sheet, HEIGHT)
    else:
        from pullcurve.papers.sheetbench import bench_words

        words, page, pull = bench_words(sheet), "sheetbench.html", ""
    pages = Environment(
        loader=PackageLoader("pullcurve", "papers"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return pages.get_template(page).render(
        **words,
        machine=sheet.job.motorcycle.name,
        rider=sheet.job.rider.need,
        css=Markup(files("pullcurve.papers").joinpath("sheet.css").read_text(encoding="utf-8")),
        look=Markup(f"{css_variables(PAPER)}\n--font: {FONT_STACK};"),
        code=Markup(code(sheet)),
        pull=Markup(pull),
    )
