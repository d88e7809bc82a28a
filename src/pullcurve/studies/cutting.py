"""What a law that is being drawn must keep at every station, as smooth margins for the search."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import arms, contact, friction, stress
from pullcurve.mechanics.curve import Curve, FloatArray
from pullcurve.mechanics.hand import FELT_POSITION
from pullcurve.mechanics.law import law
from pullcurve.parts import facts
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BrakeLine, Rocker
from pullcurve.pull.loop import LeverPull
from pullcurve.pull.mechanism import in_si, si
from pullcurve.pull.plate import rocker_of
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, Readouts
from pullcurve.pull.solve import RockerCurves
from pullcurve.studies.bearing import material, roller_rating
from pullcurve.studies.findings import taken, told
from pullcurve.studies.limits import judge
from pullcurve.units import from_si

ROUNDNESS = 0.15
"""Room for the roller and the cutter: a corner of a millimetre under a roller of four, in place of a third."""

LEAST_RATIO = 0.02
"""Rocker turn per lever turn that a pushing cam keeps at least; a letting-down one may rest."""

RATIO_STEP = 0.1
"""Rocker turn per lever turn that counts as much as the whole of another limit."""

CUTTER_ROOM = 1.05
"""Hollow radius per cutter radius that leaves the cutter room."""

PUSHING_DECIDES, HELPING_DECIDES = ("travel_left", "hold", "effort", "gauge", "plunger"), ("effort", "gauge")
"""Limits of a lever that the law of a cam can keep or break: where a load stands, an assist cam has no say."""

MOST = 50.0
"""Margin beyond which nothing is near, and below which all is equally far."""

STEEPNESS = 1.0e3
"""Rise of force over travel that counts as much as the whole of another limit [N/m]."""

STEPS = {"mm": FELT_POSITION, "newton": 10.0, "percent": 0.1}
"""What counts as much as the whole of another limit, by unit [SI]."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One limit: its name, its margins (..., k), kept at or above 0, and what 1 of them is worth in SI.

    ``room`` is the margin that a cam keeps where its feel does not ask for the last of it: an easier flank to cut, to
    scan and to wear.
    """

    name: str
    values: FloatArray
    unit: str
    size: float
    room: float = 0.0

    @property
    def least(self) -> float:
        """Smallest margin of all."""
        return float(np.min(self.values))

    @property
    def lacking(self) -> str:
        """What is missing of it, in words."""
        return f"{self.name}, by {told(-self.least * self.size, self.unit)}"


@dataclass(frozen=True, slots=True)
class Demand:
    """Limits of one cam of a job: geometry and roller [SI], forces [N], pressure that the metal bears [Pa]."""

    job: Job
    rocker: Rocker
    way: float
    cutter: float
    spare: float
    steepest: float
    tilt: float
    friction_arm: float
    modulus: float
    length: float
    bears: float
    roller_bears: float
    least_return: float
    finger_radius: float
    bite: float

    @property
    def _geometry(self) -> tuple[float, float, float]:
        rocker = self.rocker
        return float(rocker.centre_distance), float(rocker.arm), float(rocker.sense)

    def flank(self, curve: Curve, theta: FloatArray) -> tuple[Kept, ...]:
        """What the metal must keep at lever angles theta (S,), lead-in and run-out among them."""
        state, geometry = law(curve, theta), self._geometry
        bend = contact.pitch_curvature(state.psi, state.dpsi, state.d2psi, *geometry)
        radius = float(self.rocker.roller_radius)
        slowest = LEAST_RATIO if self.way > 0 else 0.0
        turned = (self.way * state.dpsi - slowest) / RATIO_STEP
        hollow = 1.0 + bend * max(self.cutter * CUTTER_ROOM - radius, 0.0)
        return (
            Kept("the cam turning its rocker one way", turned, "", RATIO_STEP),
            Kept(
                "the roller following the flank (undercut)",
                1.0 - bend * (radius + self.spare),
                "percent",
                1.0,
                ROUNDNESS,
            ),
            Kept("the cutter in the hollow", hollow, "percent", 1.0, ROUNDNESS),
        )

    def used(self, curve: Curve, theta: FloatArray) -> tuple[Kept, ...]:
        """What the cam must keep where the roller comes, at lever angles theta (S,)."""
        state, (distance, arm, sense) = law(curve, theta), self._geometry
        alpha = contact.pressure_angle(state.psi, state.dpsi, distance, arm, sense)
        size = (distance, arm, float(self.rocker.roller_radius), sense)
        both = [arms.force_arms(state.psi, alpha, way * self.tilt, *size).rocker for way in (1.0, -1.0)]
        free = (np.minimum(*both) - self.friction_arm) / arm
        return (
            Kept("the pressure angle", 1.0 - np.abs(alpha) / self.steepest, "deg", self.steepest),
            Kept("the rocker not locking", free, "mm", arm),
        )

    def along(self, pulled: LeverPull, known: Readouts, held: float, every: int) -> tuple[Kept, ...]:
        """What a pull must keep, at every so many of its stations, and its read-outs.

        ``held`` is how far the lever already lies out of the finger's reach where its work begins [m]: that is for its
        reach to mend, and for the law not to make worse.
        """
        ours = pulled.curves.rocker(self.rocker.drives)
        assert ours is not None
        bend = contact.pitch_curvature(ours.law.psi, ours.law.dpsi, ours.law.d2psi, *self._geometry)
        metal = contact.offset_curvature(bend, self.rocker.roller_radius)
        both = np.maximum(stress.curvature_sum(self.rocker.roller_radius, metal), 0.0)
        pressure = stress.contact_pressure(ours.contact_pull, both, self.modulus, self.length)
        push, back = 1.0 - ours.contact_pull / self.roller_bears, pulled.curves.release_worn
        return (
            Kept("the contact pressure", _thinned(1.0 - pressure / self.bears, every), "gpa", self.bears),
            Kept("the load of the roller", _thinned(push, every), "newton", self.roller_bears),
            Kept(
                "the lever coming back by itself", back / self.least_return - 1.0, "newton", self.least_return
            ),
            *self._judged(known, held),
            *self._rising(pulled, ours, every),
        )

    def _rising(self, pulled: LeverPull, ours: RockerCurves, every: int) -> tuple[Kept, ...]:
        """A brake gets heavier as it bites harder; before the bite it need not."""
        if not isinstance(self.rocker.load, BrakeLine):
            return ()
        force = ours.load.moment * ours.law.dpsi / self.finger_radius
        rise = np.diff(force) / np.diff(pulled.curves.travel) / STEEPNESS
        early = np.clip(1.0 - ours.load.pressure[..., :-1] / self.bite, 0.0, 1.0)
        margin = _thinned(rise + MOST * early, every)
        return (Kept("the brake getting heavier as it bites harder", margin, "newton_per_mm", STEEPNESS),)

    def _judged(self, known: Readouts, held: float) -> tuple[Kept, ...]:
        """Limits of the lever that the law decides, by the sentences that a search of the rack uses."""
        brake = known if isinstance(known, BrakeReadouts) else None
        clutch = known if isinstance(known, ClutchReadouts) else None
        decides = PUSHING_DECIDES if self.way > 0 else HELPING_DECIDES
        found = []
        for limit in judge(self.job, brake, clutch, {}):
            what, size = limit.key.split(".")[1], STEPS[limit.unit]
            if what in decides:
                margin = limit.margin / from_si(f"value_{limit.unit}", size)
                margin = np.clip(margin + (held / size if what == "hold" else 0.0), -MOST, MOST)
                found.append(Kept(limit.sentence, np.asarray(margin)[..., None], limit.unit, size))
        return tuple(found)


def _thinned(margins: FloatArray, every: int) -> FloatArray:
    """Every so many stations, the last one among them."""
    return np.asarray(margins[..., ::-every])


def demands(job: Job, rocker: Rocker) -> Demand:
    """What a cam on this rocker of a job must keep."""
    row, part = rocker_of(job, rocker.drives)
    plate, worn = part.plate, facts.fact("limits.worn_pins")
    metal = material(plate.material)
    roller = taken("roller.elastic_modulus_gpa"), taken("roller.poisson")
    radii = si(part, "roller_pin_radius_mm"), si(part, "roller_radius_mm")
    width = min(si(plate, "thickness_mm"), si(part, "roller_width_mm"))
    return Demand(
        job=job,
        rocker=rocker,
        way=-1.0 if rocker.drives == "assist" else 1.0,
        cutter=si(plate, "cutter_radius_mm"),
        spare=in_si("limits.roller_spare_mm"),
        steepest=in_si("limits.pressure_angle_most_deg"),
        tilt=float(friction.roller_tilt(worn * part.roller_friction, *radii)),
        friction_arm=worn * part.pivot_friction * si(part, "pivot_radius_mm"),
        modulus=float(stress.contact_modulus(*roller, metal.elastic_modulus, metal.poisson)),
        length=width - 2.0 * taken("cutting.chamfer_mm"),
        bears=metal.allowed,
        roller_bears=roller_rating(part),
        least_return=facts.fact("limits.return_least_newton"),
        finger_radius=si(job.unit.levers[row], "finger_radius_mm"),
        bite=in_si("limits.bite_pressure_bar"),
    )
