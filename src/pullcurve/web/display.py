"""Units as a reader likes them: metric as stored, or inches and pounds; the factors are those of `units`."""

from pullcurve.papers.record import Record
from pullcurve.units import FACTORS
from pullcurve.web.fields import SIGNS

POUND = FACTORS["lbf"] / FACTORS["kgf"]
"""Mass of a pound [kg]."""

OTHER = {
    "mm": ("in", FACTORS["in"] / FACTORS["mm"], 1),
    "m": ("ft", 12 * FACTORS["in"] / FACTORS["m"], 0),
    "newton": ("lbf", FACTORS["lbf"] / FACTORS["newton"], 1),
    "newton_mm": ("lbf·in", FACTORS["lbf"] * FACTORS["in"] / FACTORS["newton_mm"], 1),
    "newton_m": ("lbf·ft", 12 * FACTORS["lbf"] * FACTORS["in"] / FACTORS["newton_m"], 0),
    "newton_per_mm": ("lbf/in", FACTORS["lbf"] / FACTORS["in"] / FACTORS["newton_per_mm"], 0),
    "bar": ("psi", FACTORS["psi"] / FACTORS["bar"], 0),
    "kg": ("lb", POUND, 0),
}
"""For a stored unit: the other one, how many stored units it is, and decimals that it needs more."""


def table() -> Record:
    """Labels of every unit, and the other unit where there is one, for the pages."""
    found: Record = {unit: {"label": sign} for unit, sign in SIGNS.items()}
    for unit, (name, factor, decimals) in OTHER.items():
        found[unit] |= {"unit": name, "factor": factor, "decimals": decimals}
    return found
