"""What plain comparison of parts cannot tell: faults of a job that only a formula finds."""

from collections.abc import Iterator

import numpy as np

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics import circuit
from pullcurve.mechanics.curve import FloatArray, evaluate
from pullcurve.mechanics.law import law
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import ClutchCable, ClutchLine, Lever, Mechanism, Rocker
from pullcurve.pull.mechanism import brake_line, fitted, mechanism, si
from pullcurve.pull.shape import cam_shape
from pullcurve.pull.solve import travel_end
from pullcurve.units import from_si

LEAST_TRAVEL = 0.05
"""Lever travel below which nothing can be pulled [rad]."""

TRAVEL_SHARES = np.linspace(0.0, 1.0, 33)
"""Places along the travel where a rocker's turn is looked at."""


def check_job(job: Job, name: str, built: Mechanism | None = None) -> None:
    """Raise BadInput, with the path in the file, for what cannot work as described; all faults at once.

    ``built`` is the job's mechanism with its fitted cams, from whoever has it already.
    """
    whole = built or mechanism(job, fitted(job))
    faults = [
        fault for row, lever in enumerate(whole.levers) for fault in _lever_faults(job, lever, row, name)
    ]
    if faults:
        raise BadInput(*faults)


def _lever_faults(job: Job, lever: Lever, row: int, name: str) -> Iterator[Fault]:
    """Faults of one lever with its fitted cams."""
    where = f"{name} [unit.levers.{row}]"
    end = travel_end(lever)
    if float(np.max(end)) < LEAST_TRAVEL:
        rest = job.unit.levers[row].rest_angle_deg
        least = from_si("rest_angle_deg", float(lever.rest_angle + LEAST_TRAVEL - np.max(end)))
        yield Fault(
            where,
            "rest_angle_deg",
            f"is {rest:g}; allowed is {least:.1f} or more, so that the lever can travel at all",
        )
        return
    places = [place for place, known in enumerate(job.unit.levers[row].rockers) if lever.rocker(known.drives)]
    for place, rocker in zip(places, lever.rockers, strict=True):
        yield from _rocker_faults(job, rocker, end, f"{where[:-1]}.rockers.{place}]", row, place, name)


def _rocker_faults(
    job: Job, rocker: Rocker, end: FloatArray, where: str, row: int, place: int, name: str
) -> Iterator[Fault]:
    """A rocker turned past its own line, a roller that the cam cannot carry, a clutch that jumps through."""
    psi = law(rocker.law, end * TRAVEL_SHARES).psi
    if not np.all((psi > 0.0) & (psi < np.pi)):
        rest = job.unit.levers[row].rockers[place].rest_angle_deg
        turned = from_si("rest_angle_deg", float(np.ravel(psi - rocker.rest_angle)[-1]))
        yield Fault(
            where,
            "rest_angle_deg",
            f"is {rest:g} and the fitted {rocker.drives} cam turns the rocker by {turned:.3g}; allowed is to stay "
            "within 0 to 180",
        )
        return
    shape = cam_shape(rocker, end)
    if float(np.min(shape.roller_spare)) <= 0.0:
        radius = job.unit.levers[row].rockers[place].roller_radius_mm
        most = from_si("radius_mm", float(np.min(shape.convex_radius)))
        yield Fault(
            where,
            "roller_radius_mm",
            f"is {radius:g}; allowed is less than {most:.2f}, or the fitted {rocker.drives} cam is undercut",
        )
    if isinstance(rocker.load, ClutchLine | ClutchCable):
        yield from _clutch_faults(rocker.load, f"{name} [clutch]")


def _clutch_faults(load: ClutchLine | ClutchCable, where: str) -> Iterator[Fault]:
    """A table of the springs that no clutch could follow."""
    if np.any(evaluate(load.release, load.lift_knots)[0] < 0.0):
        yield Fault(
            where,
            "table_force_newton",
            "falls so steeply that the force between two entries is below zero; allowed is a smoother table",
        )
    elif isinstance(load, ClutchLine):
        volume = circuit.lift_volume(
            load.lift_knots, np.asarray(load.slave_area), load.release, load.compliance
        )[0]
        if np.any(np.diff(volume) <= 0.0):
            yield Fault(
                where,
                "table_force_newton",
                "falls so steeply that the plates would jump; allowed is a fall that the line can follow",
            )


HEATING = (60.0, 100.0)
"""Heating of the caliper's fluid for which a shut port is told [K]."""


def shut_port(job: Job) -> tuple[tuple[float, float], ...]:
    """Pressure that hot fluid would make if the compensating port never opened: (heating [K], pressure [Pa])."""
    line = job.brake_circuit
    if line is None:
        return ()
    hot, rise = si(line, "hot_fluid_cm3"), line.fluid_expansion_per_kelvin
    found = circuit.closed_port_pressure(brake_line(line), hot, rise, np.array(HEATING))
    return tuple(zip(HEATING, found.tolist(), strict=True))
