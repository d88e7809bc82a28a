"""Figures of measured pulls: what was read against what the fitted job gives, and two pulls against each other."""

from pathlib import Path

from pullcurve.papers.benchfigures import bench_figure, compare_figure, interval_figure
from pullcurve.papers.border import TitleBlock
from pullcurve.papers.style import LIGHT, Theme
from pullcurve.papers.words import CAUTION
from pullcurve.parts.origin import origins
from pullcurve.pull.mechanism import fitted
from pullcurve.studies.fit import Fit
from pullcurve.studies.prediction import Predicted
from pullcurve.verbs.drawing import source_words, write_picture
from pullcurve.verbs.measuring import Comparison, Diagnosed, Fitted, Measured


def fit_sheet(answer: Fitted, *, day: str = "", theme: Theme = LIGHT, width: float = 900.0) -> str:
    """A measured pull, its fit and what is left, as an SVG sheet."""
    told = f"fitted: {len(answer.fit.informed)} numbers told by the pull"
    return _sheet(answer.measured, answer.fit, answer.written, told, day, theme, width)


def interval_sheet(answer: Fitted, *, day: str = "", theme: Theme = LIGHT, width: float = 900.0) -> str:
    """What the pull told of each number, with its interval, as an SVG sheet."""
    return interval_figure(
        answer.fit,
        title=f"What the pull of the {answer.measured.lever} tells",
        subtitle=answer.measured.pull.name,
        notes="",
        block=_block(answer.measured, day),
        theme=theme,
        width=width,
    )


def diagnosis_sheet(answer: Diagnosed, *, day: str = "", theme: Theme = LIGHT, width: float = 900.0) -> str:
    """A measured pull with its most probable cause, as an SVG sheet."""
    first = answer.diagnosis.first
    told = f"{first.cause} ({first.probability:.0%})"
    return _sheet(answer.measured, first.fit, answer.written, told, day, theme, width)


def comparison_sheet(answer: Comparison, *, theme: Theme = LIGHT, width: float = 900.0) -> str:
    """Two pulls and their difference in felt steps, as an SVG sheet."""
    return compare_figure(
        answer.before,
        answer.after,
        answer.compared,
        labels=answer.labels,
        title=f"{answer.labels[1]} beside {answer.labels[0]}",
        subtitle=answer.compared.sentence,
        notes="",
        block=None,
        theme=theme,
        width=width,
    )


def draw_fit(path: Path | str, answer: Fitted, *, day: str = "") -> Path:
    """Write the sheet of a fit as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, fit_sheet(answer, day=day))


def draw_intervals(path: Path | str, answer: Fitted, *, day: str = "") -> Path:
    """Write the sheet of intervals as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, interval_sheet(answer, day=day))


def draw_diagnosis(path: Path | str, answer: Diagnosed, *, day: str = "") -> Path:
    """Write the sheet of a diagnosis as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, diagnosis_sheet(answer, day=day))


def draw_comparison(path: Path | str, answer: Comparison) -> Path:
    """Write the sheet of two pulls as SVG, PNG or PDF, by the ending of the file's name."""
    return write_picture(path, comparison_sheet(answer))


def _sheet(
    measured: Measured, fit: Fit, written: Predicted, told: str, day: str, theme: Theme, width: float
) -> str:
    """Measured pull, fit, residual."""
    return bench_figure(
        fit,
        written,
        title=f"Bench pull of the {measured.lever}",
        subtitle=f"{measured.pull.name} · {told}",
        notes=CAUTION,
        block=_block(measured, day),
        theme=theme,
        width=width,
    )


def _block(measured: Measured, day: str) -> TitleBlock:
    """Foot of the sheet."""
    job = measured.job
    known = fitted(job)
    on = [known.of(kind)[0].id for kind in ("brake", "clutch", "assist") if known.of(kind)]
    return TitleBlock(
        job=job.title,
        machine=job.motorcycle.name,
        rider=job.rider.need,
        set=", ".join(on),
        numbers=source_words(origins(job)),
        date=day,
    )
