"""The pages: each a drawing sheet with its title block."""

from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse
from fastapi.templating import Jinja2Templates
from pydantic import BaseModel

from pullcurve import __version__
from pullcurve.papers import style, words
from pullcurve.web import cams, display, fields
from pullcurve.web.bodies import CamSheetBody
from pullcurve.web.running import answered

FOLDER = Path(str(files("pullcurve.web").joinpath("templates")))
PAGES = (
    ("/", "bench"),
    ("/job", "job"),
    ("/find", "find"),
    ("/swap", "swap"),
    ("/measure", "measure"),
    ("/cam", "cam"),
    ("/steps", "steps"),
    ("/sheet", "sheet"),
    ("/book", "book"),
    ("/help", "help"),
)
"""What the navigation leads to; a page appears when its template is there."""

FONTS = {"regular": 400, "semibold": 600}


def typed(value: Any) -> str:
    """A value as it would be typed: lists with commas, numbers without needless noughts."""
    if isinstance(value, list):
        return ", ".join(typed(one) for one in value)
    return f"{value:.12g}" if isinstance(value, float) else str(value)


router = APIRouter(include_in_schema=False)
templates = Jinja2Templates(directory=FOLDER)
templates.env.trim_blocks = templates.env.lstrip_blocks = True
templates.env.filters["typed"] = typed


def shown(request: Request, page: str, status: int = 200, **more: object) -> Response:
    """A page in its frame."""
    listed = [(path, name) for path, name in PAGES if (FOLDER / f"{name}.html").exists()]
    known = {
        "page": page,
        "pages": listed,
        "version": __version__,
        "caution": words.CAUTION,
        "units": display.table(),
    }
    return templates.TemplateResponse(request, f"{page}.html", {**known, **more}, status_code=status)


@router.get("/")
def bench(request: Request) -> Response:
    """The bench."""
    return shown(request, "bench")


@router.get("/job")
def job(request: Request) -> Response:
    """The job: every part with its values."""
    return shown(request, "job")


@router.get("/find")
def find(request: Request) -> Response:
    """Find: wishes and the sets that come nearest."""
    return shown(request, "find")


@router.get("/swap")
def swap(request: Request) -> Response:
    """Swap: a complaint, what to check first, one change."""
    return shown(request, "swap")


@router.get("/measure")
def measure(request: Request) -> Response:
    """Measure: a pull from a file, what it says is wrong, its numbers into the job."""
    return shown(request, "measure")


@router.get("/cam")
def cam(request: Request) -> Response:
    """Cam: its sheet, its files, a new one for a feel."""
    return shown(request, "cam")


@router.post("/form/cam")
def cam_sheet(body: CamSheetBody) -> Response:
    """The sheet of one cam, as part of a page."""
    return answered({"svg": cams.sheet_of(body)})


class Raw(BaseModel):
    """A job as it stands, right or wrong."""

    job: dict[str, Any]


@router.post("/form/job")
def job_form(body: Raw) -> Response:
    """The form of a job, made from the descriptions."""
    html = templates.get_template("form.html").render(form=fields.job_form(body.job))
    return answered({"html": html})


@router.get("/tokens.css")
def tokens() -> Response:
    """Colours, line weights and type, as every paper has them."""
    light, dark = style.css_variables(style.LIGHT), style.css_variables(style.DARK)
    weights = {
        "visible": style.VISIBLE_EDGE,
        "hidden": style.HIDDEN_EDGE,
        "centre": style.CENTRE_LINE,
        "dimension": style.DIMENSION,
        "hatching": style.HATCHING,
        "pull": style.PULL,
        "release": style.RELEASE,
        "title-size": style.TITLE_SIZE,
        "body-size": style.BODY_SIZE,
        "note-size": style.NOTE_SIZE,
        "caption-size": style.CAPTION_SIZE,
    }
    sizes = "\n".join(f"--{name}: {value:g}px;" for name, value in weights.items())
    faces = "\n".join(
        "@font-face { font-family: 'Source Sans 3'; font-display: swap; "
        f"font-weight: {weight}; src: url('/fonts/{name}.ttf') format('truetype'); }}"
        for name, weight in FONTS.items()
    )
    text = (
        f"{faces}\n:root {{ color-scheme: light; --type: {style.FONT_STACK};\n{sizes}\n{light} }}\n"
        f":root[data-theme='dark'] {{ color-scheme: dark;\n{dark} }}\n"
    )
    return Response(text, media_type="text/css")


@router.get("/fonts/{name}.ttf")
def font(name: str) -> Response:
    """A font file of the same package that sets the sheets."""
    if name not in FONTS:
        return Response(status_code=404)
    place = files("font_source_sans_pro").joinpath(f"files/SourceSansPro-{name.capitalize()}.ttf")
    headers = {"Cache-Control": "max-age=86400"}
    return FileResponse(Path(str(place)), media_type="font/ttf", headers=headers)
