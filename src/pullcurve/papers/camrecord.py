"""Answers about cams as plain data for JSON: names without a unit are SI, names with one are in it."""

from collections.abc import Iterable

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers.record import Record
from pullcurve.pull.plate import Metal
from pullcurve.studies.draw import Drawn
from pullcurve.studies.findings import Finding, Verdict
from pullcurve.studies.tolerance import Effect, Effects, Justified, Ranking, Scatter


def metal_record(metal: Metal) -> Record:
    """The cam as cut: its law along the flank, its flank and outline, bore and holes."""
    return {
        "drives": metal.drives,
        "name": metal.name,
        "material": metal.material,
        "bore_fit": metal.bore_fit,
        "engraving": metal.engraving,
        "bore_radius": metal.bore_radius,
        "hub_radius": metal.hub_radius,
        "thickness": metal.thickness,
        "roller_radius": metal.roller_radius,
        "cutter_radius": metal.cutter_radius,
        "centre_distance": metal.centre_distance,
        "rocker_arm": metal.arm,
        "rest_angle": metal.rest_angle,
        "travel_end": metal.rest_end,
        "rocker_turns": "against the cam" if metal.sense > 0 else "with the cam",
        "holes": [{"x": x, "y": y, "radius": radius} for x, y, radius in metal.holes],
        "flank": {
            "theta": metal.theta,
            "rocker_angle": metal.law.psi,
            "rocker_ratio": metal.law.dpsi,
            "rocker_ratio_slope": metal.law.d2psi,
            "pressure_angle": metal.alpha,
            "curvature": metal.curvature,
            "points": metal.flank,
            "roller_centre": metal.pitch,
            "cutter_centre": metal.cutter,
        },
        "outline": metal.outline,
    }


def stress_record(pressure: FloatArray, allowed: float) -> Record:
    """Contact pressure along the flank, null where the roller never comes, and what the material bears."""
    return {"contact_pressure": pressure, "contact_pressure_allowed": allowed}


def verdict_record(verdict: Verdict) -> Record:
    """What was checked, one by one."""
    return {
        "passes": verdict.ok,
        "words": verdict.words,
        "findings": [_finding(found) for found in verdict.findings],
    }


def _finding(found: Finding) -> Record:
    return {
        "of": found.key,
        "passes": found.ok,
        "value": found.value,
        "limit": found.limit,
        "at_lever_deg": found.where_deg,
        "sentence": found.sentence,
    }


def drawn_record(drawn: Drawn) -> Record:
    """A drawn law, what is left of each wish, what binds."""
    return {
        "met": drawn.met,
        "worst_felt_steps": drawn.worst,
        "felt_steps_left": dict(drawn.left),
        "binding": list(drawn.binding),
        "law": {"theta": drawn.theta, "rocker_angle": drawn.psi},
    }


# Tolerance ------------------------------------------------------------------------------------------------------------


def justified_record(known: Justified) -> Record:
    """The tolerance that a finger justifies, and what would be felt first."""
    first = None if known.binding is None else ".".join(known.binding)
    return {"profile_tolerance": known.tolerance, "felt_first": first, "shape": known.shape or None}


def effects_record(known: Effects) -> Record:
    """What each source of error does to each read-out, at each amount."""
    return {
        "sources": list(known.sources),
        "amounts": known.amounts,
        "spread": known.spread,
        "readouts": {f"{one.of}.{one.readout}": _effect(one) for one in known.effects},
    }


def _effect(one: Effect) -> Record:
    return {"nominal": one.nominal, "change": one.change, "felt_steps": one.steps}


def scatter_record(known: Iterable[Scatter]) -> Record:
    """Each read-out over many units made at random."""
    return {
        f"{one.of}.{one.readout}": {
            "nominal": one.nominal,
            "mean": one.mean,
            "standard_deviation": one.deviation,
            "percentile_5": one.low,
            "percentile_95": one.high,
            "share_felt": one.felt,
        }
        for one in known
    }


def ranking_record(known: Iterable[Ranking]) -> Record:
    """Shares of each read-out's variance by source."""
    return {
        f"{one.of}.{one.readout}": {
            "alone": dict(zip(one.sources, np.asarray(one.alone).tolist(), strict=True)),
            "total": dict(zip(one.sources, np.asarray(one.total).tolist(), strict=True)),
        }
        for one in known
    }
