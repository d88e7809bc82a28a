"""Every word of a sheet in its place, for paper and screen alike: nothing is computed beyond this point."""

import re
from dataclasses import asdict
from typing import Any

from pullcurve.papers.border import NONE
from pullcurve.papers.letters import NUMBER_AND_UNIT, TIED, wrap
from pullcurve.papers.pulls import panels_of
from pullcurve.papers.sheet import RiderSheet, Sheet, code_words
from pullcurve.papers.sheetfigure import PAPER, Dots, code_figure, sheet_figure
from pullcurve.papers.sheetrows import Row, Table, cam_columns, cam_rows, hand_rows, surface_words, tables
from pullcurve.papers.sheetwords import (
    cautions,
    computed,
    count_words,
    plain_words,
    service_rows,
    service_words,
    source_lines,
    wish_words,
)
from pullcurve.papers.style import REGULAR, SEMIBOLD
from pullcurve.parts.job import Job
from pullcurve.units import to_si

Words = dict[str, Any]

FITTED_TITLE, PROPOSED_TITLE = "Set-up sheet", "Set-up sheet: fitted, and proposed"
POINT = 72.0 / 25.4
"""Typographic points in a mm."""

CELL_SIZE = 7.2
ROOMS = {"job": 96.0, "machine": 46.0, "rider": 46.0, "set": 96.0, "told": 46.0}
"""Width of the cells of the title block, mm."""

MOST_NOTES = 300
"""Characters of a job's notes that the sheet has room for."""


def title_block(sheet: Sheet, caption: str, told: str, cams: list[str]) -> Words:
    """The foot of every page; what is too long for its cell stands in full at the head of the sheet."""
    job = sheet.job
    said = {
        "job": job.title,
        "machine": job.motorcycle.name,
        "rider": job.rider.need,
        "set": ", ".join(cams),
        "told": told,
    }
    fitted = {
        key: "\n".join(
            wrap(text, ROOMS[key] * POINT, CELL_SIZE, SEMIBOLD if key == "job" else REGULAR, lines=2)
        )
        for key, text in said.items()
    }
    named = {"caption": caption, "id": sheet.id, "date": sheet.day.isoformat()}
    return {**{key: text or NONE for key, text in fitted.items()}, **named}


def head_words(sheet: Sheet) -> Words:
    """What stands above everything, and how it looks."""
    job = sheet.job
    return {
        "colours": asdict(PAPER),
        "code_words": code_words(sheet),
        "title": job.title,
        "subtitle": f"{job.motorcycle.name} · {job.rider.need} · {job.unit.name}",
        "notes": note_words(job),
    }


def note_words(job: Job) -> str:
    """The notes of a job on one line, as far as there is room."""
    notes = " ".join(job.notes.split())
    if len(notes) <= MOST_NOTES:
        return notes
    cut = notes[:MOST_NOTES].rsplit(" ", 1)[0] if " " in notes[:MOST_NOTES] else notes[:MOST_NOTES]
    return f"{cut} … (goes on in the job's file)"


# Rider ----------------------------------------------------------------------------------------------------------------


def rider_words(sheet: RiderSheet) -> Words:
    """The sheet for rider and file."""
    two, known = len(sheet.sets) > 1, tables(sheet)
    cams = [cam.id for cam in sheet.last.cams.values()]
    ticks = ["Proposed cams are on, each compared with its engraving."] if two else []
    return {
        **head_words(sheet),
        "kind": PROPOSED_TITLE if two else FITTED_TITLE,
        "document": f"{sheet.job.title}, set-up sheet",
        "two": two,
        "alarm": _alarm(sheet),
        "plain": plain_words(sheet),
        "wishes": wish_words(sheet),
        "columns": [column.heading for column in cam_columns(sheet.sets)],
        "cams": [asdict(row) for row in cam_rows(sheet.sets)],
        "figure": figure_words(sheet),
        "tables": [_table(table) for table in known],
        "computed": [{"right": right, "words": words} for right, words in computed(sheet)],
        "by_hand": {"levers": [table.kind for table in known], "rows": hand_rows(sheet)},
        "ticks": [*ticks, *sheet.closing],
        "cautions": cautions(sheet),
        "noted": sheet.service.noted,
        "service": [list(row) for row in service_rows(sheet)],
        "service_words": service_words(sheet),
        "sources": source_lines(sheet),
        "block": title_block(sheet, "origin of numbers", count_words(sheet), cams),
    }


def _alarm(sheet: RiderSheet) -> str:
    """What stands over everything when something is wrong."""
    wrong = bool(sheet.broken) or not all(verdict.ok for verdict in sheet.verdicts.values())
    return "Not fit to ride as it is: see what was checked." if wrong else ""


def _table(table: Table) -> Words:
    """A table; the head names the ground on which the wheel locks."""
    first = f", on {table.surfaces[0]}" if table.surfaces else ""
    return {
        "kind": table.kind,
        "title": f"{table.kind.capitalize()}{first}" + ("; stays as it is" if table.alike else ""),
        "alike": table.alike,
        "rows": [{**asdict(row), "short": row.felt.removeprefix("felt ")} for row in table.rows if row.feels],
        "rest": [_rest(row, table.alike) for row in table.rows if not row.feels],
        "surfaces": f"by surface: {surface_words(table.surfaces)}" if len(table.surfaces) > 1 else "",
    }


def _rest(row: Row, alike: bool) -> Words:
    """A read-out that no finger feels: `35 → 38 bar`, the unit once."""
    values = row.values[:1] if alike else tuple(dict.fromkeys(row.values))
    bare = [value.removesuffix(f" {row.unit}") for value in values[:-1]]
    return {"readout": row.readout, "label": row.label, "value": " → ".join([*bare, values[-1]])}


def figure_words(sheet: RiderSheet) -> str:
    """What the figure shows, for those who do not see it."""
    levers = " and ".join(lever.name for lever in sheet.job.unit.levers[:2])
    whose = "as fitted and as proposed" if len(sheet.sets) > 1 else "as fitted"
    more = ", and a measured pull" if sheet.taken else ""
    return f"Force over travel of {levers}, pull and release, {whose}{more}; the numbers stand in the tables."


def rider_figure(sheet: RiderSheet, height: float) -> str:
    """The pull of every lever, so high in px."""
    panels = panels_of(tuple((one.role, one.role, one.pull) for one in sheet.sets))
    return sheet_figure(panels, height, figure_words(sheet), _dots(sheet))


def _dots(sheet: RiderSheet) -> Dots | None:
    taken = sheet.taken
    if taken is None:
        return None
    known = taken.branches
    radius = to_si("radius_mm", sheet.job.unit.levers[taken.row].finger_radius_mm)[1]
    travel = known.place * radius if known.angular else known.place
    return Dots(taken.row, travel, known.pull, known.release)


def code(sheet: Sheet) -> str:
    """The code of the job."""
    return code_figure(code_words(sheet))


# Setting --------------------------------------------------------------------------------------------------------------


UNBROKEN = re.compile(r"[^\s\u200b-]{25,}")
"""Pieces of words so long that they may have to be broken in a cell."""


def settable(words: Any) -> Any:
    """Words for the typesetter: a number stays with its unit, and no piece is too long for its cell."""
    if isinstance(words, str):
        tied = NUMBER_AND_UNIT.sub(TIED, words.replace(" N m", " N\u00a0m"))
        return UNBROKEN.sub(lambda found: "\u200b".join(found[0]), tied)
    if isinstance(words, dict):
        return {key: settable(part) for key, part in words.items()}
    return [settable(part) for part in words] if isinstance(words, list | tuple) else words
