"""The written pages: theory, tour and the rest, from the package or from the checkout beside it."""

import re
import tomllib
from functools import cache
from importlib.resources import files
from pathlib import Path

from markdown_it import MarkdownIt

TITLES = {
    "tour": "Tour",
    "theory": "The model",
    "nomenclature": "Nomenclature",
    "validation": "Validation",
}
"""Pages that can be read here."""

MADE = re.compile(r"<!--.*?-->\n?", re.DOTALL)
LINK = re.compile(r'href="(?:\.\./)?(?:docs/)?([a-z]+)\.md')
PICTURE = re.compile(r'src="img/')


@cache
def folder() -> Path | None:
    """Where the written pages lie; None where a package came without them."""
    inside = Path(str(files("pullcurve"))) / "docs"
    beside = inside.parent.parent.parent / "docs"
    return next((place for place in (inside, beside) if (place / "theory.md").is_file()), None)


@cache
def meanings() -> dict[str, dict[str, str]]:
    """What every key means, by kind of part; empty where the package came without it."""
    place = folder()
    if place is None:
        return {}
    return tomllib.loads((place / "meanings.toml").read_text(encoding="utf-8"))


@cache
def page(name: str) -> str | None:
    """One written page as HTML; None where there is none of that name."""
    place = folder()
    if place is None or name not in TITLES or not (place / f"{name}.md").is_file():
        return None
    text = MADE.sub("", (place / f"{name}.md").read_text(encoding="utf-8"))
    html = MarkdownIt("commonmark", {"html": False}).enable("table").render(text)
    html = LINK.sub(lambda found: f'href="/help/{found[1]}', html)
    html = PICTURE.sub('src="/help/img/', html)
    html = html.replace("<th></th>", "<td></td>").replace("<pre>", '<pre tabindex="0">')
    return html.replace("<table>", '<div class="wide" tabindex="0"><table>').replace(
        "</table>", "</table></div>"
    )


def picture(name: str) -> Path | None:
    """A picture of the written pages."""
    place = folder()
    known = {} if place is None else {path.name: path for path in (place / "img").glob("*.png")}
    return known.get(name)
