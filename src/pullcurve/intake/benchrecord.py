"""Our own file of a bench pull: written as it was sorted, and read back the same within its printed digits."""

from pathlib import Path

import numpy as np

from pullcurve.errors import on_one_line
from pullcurve.intake.benchcolumns import Column
from pullcurve.intake.benchlog import about
from pullcurve.intake.benchnumbers import numbers
from pullcurve.intake.benchtext import Sheet
from pullcurve.intake.files import refused
from pullcurve.mechanics.curve import FloatArray
from pullcurve.studies.benchpull import PULL, RELEASE, STILL, BenchPull
from pullcurve.units import FACTORS, unit_of

FIRST_LINE = "# bench pull, sorted; 1"
"""How such a file begins: what it is, and the number of this layout."""

FORMATS = {
    "time_s": "%.6f",
    "travel_mm": "%.5f",
    "angle_deg": "%.6f",
    "force_newton": "%.4f",
    "pressure_bar": "%.5f",
    "branch": "%d",
    "cycle": "%d",
}
"""Columns in their order, and their digits."""


def write_bench(path: Path | str, pull: BenchPull) -> Path:
    """Write a bench pull as semicolon-separated text; the branch is 1 in, -1 out, 0 neither."""
    told = [("name", pull.name), ("job", pull.job), ("lever", pull.lever), ("fitted", ", ".join(pull.fitted))]
    told += [("remark", remark) for remark in pull.remarks]
    lines = [FIRST_LINE, *(f"# {key}: {on_one_line(text)}" for key, text in told if text)]
    known = _columns(pull)
    table = np.column_stack([values / FACTORS[unit_of(key) or "m"] for key, values in known.items()])
    file = Path(path)
    try:
        with file.open("w", encoding="utf-8", newline="\n") as stream:
            stream.write("\n".join([*lines, ";".join(known), ""]))
            np.savetxt(stream, table, fmt=[FORMATS[key] for key in known], delimiter=";")
    except OSError as error:
        raise refused(file, f"cannot be written: {(error.strerror or str(error)).lower()}") from None
    return file


def _columns(pull: BenchPull) -> dict[str, FloatArray]:
    """What is written, by the names of the columns."""
    known = {
        "time_s": pull.time,
        "angle_deg" if pull.angular else "travel_mm": pull.place,
        "force_newton": pull.force,
        "pressure_bar": pull.pressure,
        "branch": pull.branch.astype(np.float64),
        "cycle": pull.cycle.astype(np.float64),
    }
    return {key: values for key, values in known.items() if values is not None}


def is_record(sheet: Sheet) -> bool:
    """Whether a file is one that was written here."""
    return sheet.lines[0].lstrip("\ufeff").strip() == FIRST_LINE


def read_record(sheet: Sheet) -> BenchPull:
    """Read a file back that was written here."""
    known = [
        Column(place, name, FACTORS[unit_of(name) or "m"])
        for place, name in enumerate(sheet.names)
        if name in FORMATS
    ]
    values, _ = numbers(sheet, known)
    rows = {column.name: row for column, row in zip(known, values.T, strict=True)}
    angular = "angle_deg" in rows
    place = "angle_deg" if angular else "travel_mm"
    lacking = [key for key in (place, "force_newton", "branch", "cycle") if key not in rows]
    if lacking:
        raise refused(sheet.file, f"has no column {lacking[0]}, which a sorted bench pull has")
    if not np.all(np.isfinite(values)):
        raise refused(sheet.file, "has an empty cell; a sorted bench pull has none")
    branch, cycle = rows["branch"], rows["cycle"]
    if not np.all(np.isin(branch, (PULL, RELEASE, STILL))):
        raise refused(sheet.file, "has another branch than 1 for in, -1 for out, 0 for neither")
    if np.any(cycle != np.floor(cycle)) or np.any(cycle < 0) or np.any(cycle > cycle.size):
        raise refused(sheet.file, "has a cycle that is no count of pulls from 0")
    job, lever, fitted = about(sheet.told)
    return BenchPull(
        name=sheet.told.get("name", sheet.file.name),
        place=rows[place],
        angular=angular,
        force=rows["force_newton"],
        pressure=rows.get("pressure_bar"),
        time=rows.get("time_s"),
        branch=branch.astype(np.int8),
        cycle=cycle.astype(np.int64),
        remarks=tuple(text for key, text in sheet.said if key == "remark"),
        job=job,
        lever=lever,
        fitted=fitted,
    )
