"""Answers about measured pulls as plain data for JSON: names without a unit are SI, names with one are in it."""

from collections.abc import Iterable

import numpy as np

from pullcurve.papers.benchplotspan import UNIT_SIGNS
from pullcurve.papers.record import Record
from pullcurve.studies.benchpull import BenchPull, Branches
from pullcurve.studies.compare import Changed, Compared, Reading, readings_of
from pullcurve.studies.diagnose import Diagnosis, Suspect
from pullcurve.studies.fit import Fit
from pullcurve.studies.separating import Mixed
from pullcurve.units import unit_of


def measured_record(pull: BenchPull, known: Branches) -> Record:
    """A pull as it was read: what the file says of itself, what was odd, mean branches, what is read off them."""
    return {
        "name": pull.name,
        "job": pull.job,
        "lever": pull.lever,
        "fitted": list(pull.fitted),
        "pulls": pull.cycles,
        "readings": int(pull.place.size),
        "remarks": list(pull.remarks),
        "branches": branches_record(known),
        "read_off": {one.label: _reading(one) for one in readings_of(known)},
    }


def branches_record(known: Branches) -> Record:
    """Mean branches on an even grid of places, null where nothing was read."""
    return {
        "angle" if known.angular else "travel": known.place,
        "pull": known.pull,
        "pull_deviation": known.pull_deviation,
        "release": known.release,
        "release_deviation": known.release_deviation,
        "pull_pressure": known.pull_pressure,
        "release_pressure": known.release_pressure,
    }


def _reading(one: Reading) -> Record:
    return {"value": one.value, "deviation": one.deviation}


def fit_record(told: Fit, unclear: Iterable[Mixed]) -> Record:
    """What a fit says of every unknown, in the unit of its key, and of the pull."""
    return {
        "numbers": {
            unknown.path: {
                "label": unknown.label,
                "unit": UNIT_SIGNS.get(
                    unit_of(unknown.key) or "", (unit_of(unknown.key) or "").replace("_", " ")
                ),
                "before": unknown.value,
                "behind": unknown.behind,
                "value": float(told.value[row]),
                "low": float(told.low[row]),
                "high": float(told.high[row]),
                "width_left": float(told.narrowing[row]),
                "told_by_the_pull": unknown.path in told.informed,
            }
            for row, unknown in enumerate(told.unknowns)
        },
        "correlation": told.correlation,
        "chi_square": told.chi_square,
        "degrees_of_freedom": told.degrees,
        "measured": branches_record(told.measured),
        "fitted": {"pull": told.predicted.pull[0], "release": told.predicted.release[0]},
        "residual": {"pull": told.pull_residual, "release": told.release_residual},
        "not_told_apart": [_mixed(one) for one in unclear],
    }


def _mixed(one: Mixed) -> Record:
    return {
        "numbers": list(one.paths),
        "correlation": one.correlation,
        "words": one.words,
        "would_help": [
            {"measurement": helped.extra.words, "width_left": list(helped.widths)} for helped in one.helps
        ],
    }


def diagnosis_record(told: Diagnosis) -> Record:
    """Causes, most probable first, and what follows."""
    return {
        "first": told.first.name,
        "healthy": told.healthy,
        "causes": [_suspect(one) for one in told.suspects],
        "shape": told.shape,
        "no_cause_explains_it": told.strange,
        "measure_next": None if told.what_else is None else told.what_else.words,
        "cam": {
            "mending_felt_steps": told.cam.mended,
            "another_cam_felt_steps": told.cam.exchanged,
            "cam": told.cam.cam or None,
            "words": told.cam.sentence,
        },
    }


def _suspect(one: Suspect) -> Record:
    return {
        "of": one.name,
        "cause": one.cause,
        "probability": one.probability,
        "shows": one.shows,
        "found": {unknown.path: value for unknown, value in one.found},
        "check_first": [{"cause": check.cause, "check": check.check} for check in one.checks],
    }


def compared_record(known: Compared, labels: tuple[str, str]) -> Record:
    """Two pulls at equal travel."""
    return {
        "before": labels[0],
        "after": labels[1],
        "words": known.sentence,
        "place": known.place,
        "pull_change": known.pull_change,
        "pull_felt_steps": known.pull_steps,
        "release_change": known.release_change,
        "release_felt_steps": known.release_steps,
        "read_off": {one.before.label: _changed(one) for one in known.readings},
    }


def _changed(one: Changed) -> Record:
    return {
        "before": _reading(one.before),
        "after": _reading(one.after),
        "change": one.change,
        "deviation": one.deviation,
        "felt_steps": one.steps if np.isfinite(one.steps) else None,
        "sure": one.sure,
    }
