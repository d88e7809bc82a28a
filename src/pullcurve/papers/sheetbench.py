"""Every word of the sheet for the bench: strip and build of a task, line by line."""

from pullcurve.papers.sheet import BenchSheet
from pullcurve.papers.sheetpage import Words, head_words, title_block
from pullcurve.papers.sheetwords import sentences
from pullcurve.papers.words import CAUTION
from pullcurve.studies.steps import TRAPS, Step
from pullcurve.studies.tightening import Torque, torque_note
from pullcurve.units import from_si


def bench_words(sheet: BenchSheet) -> Words:
    """The sheet for the bench: strip and build of a task, line by line."""
    steps = sheet.steps
    groups = (
        ("Before you start", steps.prepare),
        (f"Strip: {len(steps.strip)} things come off, no more than the task needs", steps.strip),
        ("On the bench", (steps.exchange,)),
        ("Build: the same way back", steps.build),
        ("Before riding", steps.closing),
    )
    cams = [f"{off.id} off, {on.id} on" if off else f"{on.id} on" for off, on in sheet.exchanged]
    fitted = [getattr(sheet.job.fitted, kind) for kind in ("brake", "clutch", "assist")]
    return {
        **head_words(sheet),
        "kind": f"Bench sheet: {steps.name}",
        "document": f"{sheet.job.title}, {steps.name}",
        "unit": f"{steps.unit} · {steps.hardware}",
        "note": steps.note,
        "cautions": list(steps.cautions),
        "exchanged": cams,
        "tools": list(steps.tools),
        "pick_ups": "picked up once" if steps.pick_ups == 1 else f"picked up {steps.pick_ups} times",
        "consumables": list(steps.consumables),
        "groups": [{"title": title, "lines": [_line(step) for step in lines]} for title, lines in groups],
        "closing": [
            *([torque_note()] if any(step.torque for step in steps.build) else []),
            *sentences(CAUTION),
        ],
        "block": title_block(sheet, "task", steps.name, cams or [cam.id for cam in fitted if cam]),
    }


def _line(step: Step) -> Words:
    return {
        "number": step.number,
        "ticked": step.ticked,
        "tool": step.tool or "",
        "words": step.words,
        "screws": f"{step.screws}{torque_words(step.torque)}" if step.screws else "",
        "uses": list(step.uses),
        "cautions": [{"trap": TRAPS[one.trap], "words": one.words} for one in step.cautions],
    }


def torque_words(torque: Torque | None) -> str:
    """How tight, and what must not be passed."""
    if torque is None:
        return ""
    about, most = (from_si("torque_newton_m", value) for value in (torque.torque, torque.most))
    return f"; about {about:.1f} N m, never above {most:.1f}"
