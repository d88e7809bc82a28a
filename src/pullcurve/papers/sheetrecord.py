"""A sheet as plain data for JSON: every key with its unit, the words that were printed beside the numbers."""

import numpy as np

from pullcurve.papers.answers import change_record
from pullcurve.papers.record import Record, cam_record, readouts_record
from pullcurve.papers.sheet import BenchSheet, RiderSheet, Sheet, Shown, code_words
from pullcurve.papers.sheetwords import cautions, computed, counts, limit_words, months_later, service_words
from pullcurve.studies.limits import Limit
from pullcurve.studies.service import Reminder


def sheet_record(sheet: Sheet) -> Record:
    """What a sheet says."""
    head = {
        "job_id": sheet.id,
        "date": sheet.day.isoformat(),
        "code": code_words(sheet),
        "title": sheet.job.title,
    }
    return {**head, **(_rider(sheet) if isinstance(sheet, RiderSheet) else _bench(sheet))}


def _rider(sheet: RiderSheet) -> Record:
    return {
        "sheet": "rider",
        "sets": {one.role: _set(one) for one in sheet.sets},
        "changes": [change_record(change) for change in sheet.changes],
        "surfaces": list(sheet.surfaces),
        "limits": [_limit(limit) for limit in sheet.limits],
        "fit_to_ride_as_computed": not sheet.broken and all(one.ok for one in sheet.verdicts.values()),
        "computed": [{"right": right, "words": words} for right, words in computed(sheet)],
        "measured": None if sheet.taken is None else {"file": sheet.taken.pull.name, "set": sheet.taken.role},
        "to_tick": list(sheet.closing),
        "cautions": cautions(sheet),
        "next_check": [_reminder(sheet, known) for known in sheet.service.reminders],
        "service_words": service_words(sheet),
        "numbers_from": {source: len(paths) for source, paths in counts(sheet.origins).items()},
    }


def _set(one: Shown) -> Record:
    both = (("brake", one.pull.brake), ("clutch", one.pull.clutch))
    return {
        "cams": {kind: cam_record(cam) for kind, cam in one.cams.items()},
        "readouts": {kind: readouts_record(known) for kind, known in both if known},
    }


def _limit(limit: Limit) -> Record:
    margin = float(np.min(limit.margin))
    return {
        "key": limit.key,
        "kept": margin >= 0.0,
        "margin": margin,
        "unit": limit.unit,
        "words": limit.sentence if margin >= 0.0 else limit_words(limit),
    }


def _reminder(sheet: RiderSheet, known: Reminder) -> Record:
    return {
        "of": known.item.id,
        "name": known.item.name,
        "state": known.state,
        "hours_left": known.hours_left,
        "at_the_latest": months_later(sheet.day, known.months_left).isoformat(),
    }


def _bench(sheet: BenchSheet) -> Record:
    from pullcurve.papers.stepsrecord import steps_record

    cams = [{"off": off.id if off else None, "on": on.id} for off, on in sheet.exchanged]
    return {"sheet": "bench", "exchanged": cams, **steps_record(sheet.steps)}
