"""A described cam becomes metal: its whole closed outline, curvature, cutter path, bore and holes."""

from dataclasses import dataclass

import numpy as np

from pullcurve.mechanics import contact
from pullcurve.mechanics.curve import FloatArray, Number
from pullcurve.mechanics.law import Law, law
from pullcurve.mechanics.plate import closed_outline, stations_for
from pullcurve.parts.job import Job
from pullcurve.parts.plate import Plate
from pullcurve.parts.unit import Rocker as RockerPart
from pullcurve.pull.arrays import Lever, Rocker
from pullcurve.pull.mechanism import Cam, Choice, fitted, mechanism, si
from pullcurve.pull.solve import travel_end

FLANK_STATIONS = 721
"""Fewest points of a flank."""

CHORD = 1.0e-6
"""Largest distance between outline and polygon [m]."""


@dataclass(frozen=True, slots=True)
class Metal:
    """One cam as cut. Points in the cam's frame (lever pivot at the origin, x toward the rocker pivot at rest) [m].

    ``theta``, ``law``, ``alpha`` and ``curvature`` (of the metal, convex positive [1/m]) stand along the flank, as do
    ``flank``, ``pitch`` and ``cutter`` (S, 2). ``outline`` (P, 2) is closed, counter-clockwise, its end point not
    repeated; ``working`` is where the flank stands in it. ``rest_end`` is where the lever's travel ends [rad].
    """

    drives: str
    name: str
    theta: FloatArray
    law: Law
    alpha: FloatArray
    curvature: FloatArray
    flank: FloatArray
    pitch: FloatArray
    cutter: FloatArray
    outline: FloatArray
    working: tuple[int, int]
    bore_radius: float
    hub_radius: float
    thickness: float
    roller_radius: float
    cutter_radius: float
    holes: tuple[tuple[float, float, float], ...]
    centre_distance: float
    arm: float
    rest_angle: float
    sense: float
    material: str
    bore_fit: str
    engraving: str
    rest_end: float


def rocker_of(job: Job, kind: str) -> tuple[int, RockerPart]:
    """Number of the lever and the rocker that drive brake, clutch or assist."""
    return next(
        (row, rocker)
        for row, lever in enumerate(job.unit.levers)
        for rocker in lever.rockers
        if rocker.drives == kind
    )


def cam_metal(job: Job, kind: str, cam: Cam | None = None, chord: float = CHORD) -> Metal:
    """The cam that drives brake, clutch or assist, fitted or another, as metal."""
    row, part = rocker_of(job, kind)
    known = cam if cam is not None else fitted(job).of(kind)[0]
    lever = mechanism(job, Choice(**{kind: (known,)})).levers[row]  # type: ignore[arg-type]
    return law_metal(lever, kind, part.plate, known.id, chord)


def law_metal(lever: Lever, kind: str, plate: Plate, name: str, chord: float = CHORD) -> Metal:
    """Flank, faces and hub for whatever law the lever's rocker carries."""
    rocker = lever.rocker(kind)
    assert rocker is not None
    end = float(travel_end(lever)[0])
    flank = _flank(rocker, (-si(plate, "lead_in_deg"), end + si(plate, "run_out_deg")), chord)
    radius, cutter, hub = flank.radius, si(plate, "cutter_radius_mm"), si(plate, "hub_radius_mm")
    points = flank.offset(radius)
    outline, place = closed_outline(points, hub, radius, -float(rocker.sense), chord)
    return Metal(
        drives=rocker.drives,
        name=name,
        theta=flank.theta,
        law=flank.law,
        alpha=flank.alpha,
        curvature=flank.curvature,
        flank=points,
        pitch=flank.offset(0.0),
        cutter=flank.offset(radius - cutter),
        outline=outline,
        working=(place.start, place.stop - 1),
        bore_radius=si(plate, "bore_mm") / 2,
        hub_radius=hub,
        thickness=si(plate, "thickness_mm"),
        roller_radius=radius,
        cutter_radius=cutter,
        holes=_holes(plate, rocker, float(np.ravel(lever.reach)[0])),
        centre_distance=float(rocker.centre_distance),
        arm=float(rocker.arm),
        rest_angle=float(rocker.rest_angle),
        sense=float(rocker.sense),
        material=plate.material,
        bore_fit=plate.bore_fit,
        engraving=plate.engraving or name,
        rest_end=end,
    )


@dataclass(frozen=True, slots=True)
class _Flank:
    """A law at the stations of its flank, (S,), with rocker geometry a, l, sigma and roller radius."""

    theta: FloatArray
    law: Law
    geometry: tuple[Number, Number, Number]
    radius: float

    @property
    def alpha(self) -> FloatArray:
        """Pressure angle [rad]."""
        return contact.pressure_angle(self.law.psi, self.law.dpsi, *self.geometry)

    @property
    def curvature(self) -> FloatArray:
        """Curvature of the metal [1/m]."""
        bend = contact.pitch_curvature(self.law.psi, self.law.dpsi, self.law.d2psi, *self.geometry)
        return contact.offset_curvature(bend, self.radius)

    def offset(self, inward: float) -> FloatArray:
        """Points (S, 2) of the curve so far inside the pitch curve [m]."""
        return np.stack(
            contact.outline(self.theta, self.law.psi, self.law.dpsi, *self.geometry, inward), axis=-1
        )

    def stations(self, chord: float) -> int:
        """How many stations, even in lever angle, keep every chord of the metal within the error."""
        steps = np.hypot(*np.diff(self.offset(self.radius), axis=0).T)
        bend = np.abs(self.curvature)
        # The longest, roundest step decides for all.
        roundest = np.argmax(np.maximum(bend[1:], bend[:-1]) * steps**2)
        curvature = float(np.max(bend[roundest : roundest + 2]))
        return stations_for(float(steps[roundest]) * steps.size, curvature, chord, FLANK_STATIONS)


def _flank(rocker: Rocker, span: tuple[float, float], chord: float) -> _Flank:
    """Flank over a span of lever angles, with as many stations as the chord error asks for."""
    geometry = (rocker.centre_distance, rocker.arm, rocker.sense)

    def cut(count: int) -> _Flank:
        theta = np.linspace(*span, count)
        return _Flank(theta, law(rocker.law, theta), geometry, float(rocker.roller_radius))

    coarse = cut(FLANK_STATIONS)
    needed = coarse.stations(chord)
    return coarse if needed == FLANK_STATIONS else cut(needed)


def _holes(plate: Plate, rocker: Rocker, reach: float) -> tuple[tuple[float, float, float], ...]:
    """Holes in the cam's frame: they belong to the lever, so a reach turns them against the flank."""
    found = []
    for hole in plate.holes:
        angle = si(hole, "angle_deg") + float(rocker.sense) * reach
        away = si(hole, "radius_mm")
        found.append((away * float(np.cos(angle)), away * float(np.sin(angle)), si(hole, "diameter_mm") / 2))
    return tuple(found)
