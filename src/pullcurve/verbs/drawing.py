"""Figures of answers: the pull of what is fitted, alone or against what is proposed."""

from collections.abc import Mapping
from pathlib import Path

from pullcurve.errors import BadInput, Fault
from pullcurve.papers.figures import LIGHT, TitleBlock, pull_figure, text_plot
from pullcurve.papers.pulls import panels_of
from pullcurve.papers.raster import pdf, png
from pullcurve.papers.style import Role, Theme
from pullcurve.papers.words import CAUTION
from pullcurve.parts.origin import PLAIN, Origin
from pullcurve.verbs.asking import Pulled

FORMS = (".svg", ".png", ".pdf")


def _members(fitted: Pulled, proposed: Pulled | None) -> tuple[tuple[str, Role, Pulled], ...]:
    found: tuple[tuple[str, Role, Pulled], ...] = (("fitted", "fitted", fitted),)
    return found if proposed is None else (*found, ("proposed", "proposed", proposed))


def source_words(known: Mapping[str, Origin]) -> str:
    """How many numbers were given, measured or priors, for the foot of a sheet."""
    sources = [origin.source for origin in known.values() if origin.note != PLAIN]
    return " · ".join(
        f"{sources.count(source)} {source}" for source in ("given", "measured", "prior") if source in sources
    )


def figure(
    fitted: Pulled,
    proposed: Pulled | None = None,
    *,
    theme: Theme = LIGHT,
    width: float = 900.0,
    day: str = "",
) -> str:
    """Force over travel of every lever as an SVG sheet."""
    members = _members(fitted, proposed)
    panels = panels_of(tuple((label, role, known.pull) for label, role, known in members))
    job = fitted.job
    shown = members[-1][2].cams
    block = TitleBlock(
        job=job.title,
        machine=job.motorcycle.name,
        rider=job.rider.need,
        set=", ".join(cam.id for cam in shown.values()),
        numbers=source_words(fitted.origins),
        date=day,
    )
    return pull_figure(
        panels,
        title="Pull and release",
        subtitle=job.unit.name,
        notes=CAUTION,
        block=block,
        theme=theme,
        width=width,
    )


def terminal_figure(fitted: Pulled, proposed: Pulled | None = None, width: int = 78) -> str:
    """The same for a terminal, in characters."""
    members = _members(fitted, proposed)
    return text_plot(panels_of(tuple((label, role, known.pull) for label, role, known in members)), width)


def picture_path(path: Path | str) -> tuple[Path, str]:
    """Where a picture goes and in which form, by the ending of its name; raises BadInput for any other ending."""
    target = Path(path)
    form = target.suffix.lower()
    if form not in FORMS:
        raise BadInput(Fault(str(target), "", f'ends in "{target.suffix}"; allowed is {", ".join(FORMS)}'))
    return target, form


def draw_pull(path: Path | str, fitted: Pulled, proposed: Pulled | None = None, *, day: str = "") -> Path:
    """Write the figure of a pull as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, figure(fitted, proposed, day=day))


def write_picture(path: Path | str, svg: str) -> Path:
    """Write a figure as SVG, PNG or PDF, by the ending of the file's name."""
    target, form = picture_path(path)
    try:
        target.write_bytes({".svg": lambda text: text.encode(), ".png": png, ".pdf": pdf}[form](svg))
    except OSError as error:
        raise BadInput(Fault(str(target), "", f"cannot be written: {error.strerror}")) from None
    return target
