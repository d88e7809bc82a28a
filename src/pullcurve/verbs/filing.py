"""Keep files in the job book: bench pulls as their loggers wrote them, photos."""

from collections.abc import Mapping
from pathlib import Path
from typing import cast

from pullcurve.book import store
from pullcurve.book.opening import Book, reading, writing
from pullcurve.intake.files import present, refused
from pullcurve.intake.photo import check_photo
from pullcurve.papers.benchplotspan import UNIT_SIGNS
from pullcurve.papers.measurerecord import measured_record
from pullcurve.papers.record import plain
from pullcurve.studies.benchpull import LeverKind
from pullcurve.units import unit_of
from pullcurve.verbs.booking import Entry, Written
from pullcurve.verbs.entries import job_at, line, visit_at
from pullcurve.verbs.measuring import Measured, fit_pull, on_job, read_pull

LARGEST_PULL, LARGEST_PHOTO = 50_000_000, 30_000_000
"""Bytes that a file may have."""

PHOTOS: Mapping[str, tuple[int, bytes]] = {
    "image/jpeg": (0, b"\xff\xd8\xff"),
    "image/png": (0, b"\x89PNG\r\n\x1a\n"),
    "image/webp": (8, b"WEBP"),
}
"""Kinds of photo, each with the signs that it holds and where [bytes]."""


def add_pull(
    book: Book,
    name: str,
    path: Path,
    told: Entry,
    *,
    lever: LeverKind | None = None,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    drop_first: bool = False,
    fitting: bool = False,
    memory: Path | None = None,
) -> Written:
    """Keep a bench pull as its file came, with what is read off it; with ``fitting``, also fit the job's numbers."""
    raw = _bytes(path, LARGEST_PULL, "a bench pull")
    pull = read_pull(path, columns=columns, units=units, drop_first=drop_first, memory=memory)
    with reading(book) as page:
        machine, visit = visit_at(page, name, told.day)
        job = job_at(page, visit)
    measured = on_job(pull, job, lever)
    record = {
        key: value for key, value in measured_record(pull, measured.branches).items() if key != "branches"
    }
    fit = _fit(measured) if fitting else None
    with writing(book) as page:
        number = store.add_pull(
            page,
            visit.id,
            told.day,
            raw,
            told.signed,
            lever=measured.lever,
            file=line("file", path.name, 200),
            told=plain(record),
            words=told.words,
        )
        if fit is not None:
            store.add_fit(page, number, *fit, told.signed)
    return Written("pull", machine, visit.id, number, fit[2] if fit else "")


def _fit(measured: Measured) -> tuple[Mapping[str, object], float, str]:
    """Numbers that a pull tells, how well they explain it, and one sentence."""
    fit = fit_pull(measured).fit
    numbers = {
        unknown.path: {
            "before": unknown.value,
            "value": float(fit.value[row]),
            "low": float(fit.low[row]),
            "high": float(fit.high[row]),
        }
        for row, unknown in enumerate(fit.unknowns)
        if unknown.path in fit.informed
    }
    told = ", ".join(
        f"{unknown.label} {_shown(unknown.key, float(fit.value[row]))}"
        for row, unknown in enumerate(fit.unknowns)
        if unknown.path in numbers
    )
    return cast("Mapping[str, object]", plain(numbers)), fit.reduced, f"The pull tells {told or 'nothing'}."


def _shown(key: str, value: float) -> str:
    """A number with its unit as it is written."""
    unit = unit_of(key) or ""
    sign = UNIT_SIGNS.get(unit, unit.replace("_", " "))
    return f"{value:.3g}{sign}" if unit == "deg" else f"{value:.3g} {sign}".strip()


def add_photo(book: Book, name: str, path: Path, told: Entry) -> Written:
    """Keep a photo of what was seen."""
    content = _bytes(path, LARGEST_PHOTO, "a photo")
    kind = next((kind for kind, (at, sign) in PHOTOS.items() if content[at : at + len(sign)] == sign), None)
    if kind is None:
        raise refused(path, "is no photo; allowed is JPEG, PNG or WebP")
    check_photo(path)
    with writing(book) as page:
        machine, visit = visit_at(page, name, told.day)
        file = line("file", path.name, 200)
        number = store.add_photo(page, visit.id, told.day, content, file, kind, told.words, told.signed)
    return Written("photo", machine, visit.id, number)


def _bytes(path: Path, largest: int, wanted: str) -> bytes:
    """A file as it is."""
    try:
        return present(path, largest, wanted).read_bytes()
    except OSError as error:
        raise refused(path, f"cannot be read: {(error.strerror or str(error)).lower()}") from None
