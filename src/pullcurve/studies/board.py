"""The board that a law is drawn on: the lever at its reaches, what is wanted of it, and what it must keep."""

from dataclasses import dataclass, fields, replace

import numpy as np

from pullcurve.errors import BadInput, Fault, Impossible
from pullcurve.mechanics.curve import Curve, FloatArray, evaluate
from pullcurve.mechanics.hand import felt_steps_force
from pullcurve.mechanics.spline import Basis, basis, fit_coefficients, spline_curve, straight_on
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray, Hand, Lever, Mechanism, Rocker
from pullcurve.pull.loop import LeverPull, pull_lever
from pullcurve.pull.mechanism import fitted, mechanism, si
from pullcurve.pull.plate import rocker_of
from pullcurve.pull.readouts import Readouts
from pullcurve.pull.solve import travel_end
from pullcurve.studies.cutting import Demand, Kept, demands
from pullcurve.studies.wishes import Wish, felt_steps, first_surface
from pullcurve.units import from_si

SHOWN = 5.0e-5
"""How nearly a travel is shown [m]."""

KINDS = ("brake", "clutch")
"""Whose read-outs a lever has, in the order in which wishes are counted."""

COEFFICIENTS = {"brake": 10, "clutch": 10, "assist": 16}
"""B-spline coefficients of a drawn law: enough for a bite, a middle and an end, too few for ripples.

An assist law needs more: it rests, and sets in within a few degrees.
"""

FITTED_PLACES = 64
"""Places where a B-spline is fitted to a known law."""

PEAK = "force_peak"
"""The read-out that is the highest of many: all of them are to come down together."""

NOWHERE = -100.0
"""Felt steps below a wished peak where no force counts."""

UNREACHED = 20.0
"""Felt steps that a wish counts whose place no pull has."""

FURTHER = 0.6
"""How much further a lever is thought to go, to tell how far off an event is that its travel does not reach [rad]."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to draw for: points of force over travel [m, N], wishes on read-outs, and whether the end point is kept."""

    travel: FloatArray
    force: FloatArray
    wishes: tuple[Wish, ...]
    keep_end: bool = False


@dataclass(frozen=True, slots=True)
class Grain:
    """How finely laws are looked at: stations of a pull, places on the flank, and every how many stations are borne."""

    stations: int
    places: int
    every: int


ROUGH, FINE, FINEST, LAST = Grain(64, 48, 4), Grain(256, 192, 1), Grain(256, 768, 1), Grain(256, 3072, 1)
"""For the search, for what it misses between the stations, and for the last word."""


@dataclass(frozen=True, slots=True)
class Look:
    """What laws do, rows leading: their pull at the first reach, felt steps missed (..., wishes + points), limits.

    ``climbs`` (..., peaks, S) is how far every station stands above each wished peak [felt steps].
    """

    pulled: LeverPull
    missed: FloatArray
    climbs: FloatArray
    limits: tuple[Kept, ...]

    def margins(self, roomy: bool = False) -> FloatArray:
        """Margins to every limit, or to the room that is kept from it, (..., limits)."""
        shape = self.missed.shape[:-1]
        parts = [
            np.broadcast_to(kept.values - kept.room * roomy, shape + kept.values.shape[-1:])
            for kept in self.limits
        ]
        return np.concatenate(parts, axis=-1)


@dataclass(frozen=True, slots=True)
class Board:
    """Everything that stays the same while a law is drawn.

    ``levers`` is the lever at each of its reaches, the one to judge by first; ``held`` how far each lies out of the
    finger's reach where its work begins with the fitted cam [m]; ``theta`` (S,) spans the flank; ``end`` is where the
    longest travel ends [rad].
    """

    job: Job
    kind: str
    whole: Mechanism
    levers: tuple[Lever, ...]
    held: tuple[float, ...]
    hand: Hand
    basis: Basis
    theta: FloatArray
    end: float
    wanted: Wanted
    demand: Demand

    @property
    def rocker(self) -> Rocker:
        """The rocker that the cam drives, with the fitted law."""
        return self.demand.rocker

    @property
    def serves(self) -> str:
        """Whose read-outs the cam is for: an assist cam serves the clutch."""
        return "brake" if self.kind == "brake" else "clutch"

    def curve(self, coefficients: FloatArray) -> Curve:
        """Laws of rows of coefficients; past the flank they go straight on."""
        return straight_on(spline_curve(self.basis, coefficients))

    def coefficients(self, curve: Curve) -> FloatArray:
        """Coefficients of the laws nearest to given ones."""
        return fit_coefficients(self.basis, self.theta, evaluate(curve, self.theta)[0])

    def look(self, coefficients: FloatArray, grain: Grain) -> Look:
        """Pull laws of rows of coefficients at every reach, and measure them."""
        return self.look_at(self.curve(coefficients), grain)

    def look_at(self, curve: Curve, grain: Grain) -> Look:
        """Pull laws at every reach, and measure them."""
        cut = np.linspace(self.theta[0], self.theta[-1], grain.places)
        used = np.linspace(0.0, self.end, grain.places)
        limits = [*self.demand.flank(curve, cut), *self.demand.used(curve, used)]
        looks = [self._pull(lever.with_law(self.kind, curve), grain.stations) for lever in self.levers]
        for (pulled, known), held in zip(looks, self.held, strict=True):
            limits += self.demand.along(pulled, known[self.serves], held, grain.every)
        pulled, known = looks[0]
        return Look(pulled, self._missed(pulled, known), self._climbs(pulled), tuple(limits))

    def _pull(self, lever: Lever, stations: int) -> tuple[LeverPull, dict[str, Readouts]]:
        """A pull and its read-outs; what the travel does not reach is read off a lever that goes further."""
        pulled = pull_lever(lever, self.hand, self.whole, stations)
        known = _readouts(pulled)
        if np.any(np.isnan(pulled.events.theta)):
            longer = replace(lever, stop=lever.stop + FURTHER, gap_floor=-1.0)
            far = pull_lever(longer, self.hand, self.whole, stations)
            short = float(lever.finger_radius * np.ravel(far.end - pulled.end)[0])
            known = {kind: _filled(near, _readouts(far)[kind], short) for kind, near in known.items()}
        return pulled, known

    def _missed(self, pulled: LeverPull, known: dict[str, Readouts]) -> FloatArray:
        """Felt steps between feel and wish, by wish and then by point."""
        shape, travel = pulled.curves.pull.shape[:-1], np.asarray(pulled.curves.travel).reshape(-1)
        parts = [
            felt_steps_force(self.wanted.force, _between(travel, pulled.curves.pull, self.wanted.travel))
        ]
        for wish in reversed(self._ordered):
            read = first_surface(getattr(known[wish.kind], wish.readout), wish.facet)
            parts.insert(0, np.broadcast_to(felt_steps(wish.target, read, wish.facet), shape)[..., None])
        steps = np.concatenate(parts, axis=-1)
        return np.asarray(np.nan_to_num(steps, nan=UNREACHED, posinf=UNREACHED, neginf=-UNREACHED))

    def _climbs(self, pulled: LeverPull) -> FloatArray:
        """How far every station's force stands above each wished peak, where the work is not yet done."""
        until = _work_end(pulled)[..., None]
        counted = [
            np.where(np.broadcast_to(part.theta, part.pull.shape) <= until, part.pull, 0.0)
            for part in (pulled.curves, pulled.at)
        ]
        force = np.concatenate(counted, axis=-1)
        wished = [wish for wish in self.wanted.wishes if wish.readout == PEAK]
        climbs = [wish.weight**0.5 * felt_steps_force(wish.target, force) for wish in wished]
        return (
            np.maximum(np.stack(climbs, axis=-2), NOWHERE) if climbs else np.zeros((*force.shape[:-1], 0, 1))
        )

    @property
    def _ordered(self) -> tuple[Wish, ...]:
        """Wishes in the order in which missed steps are counted."""
        return tuple(wish for kind in KINDS for wish in self.wanted.wishes if wish.kind == kind)

    @property
    def weights(self) -> FloatArray:
        """How much each missed step counts: wishes as the rider weighs them, points by their share of the force."""
        wishes, force = [wish.weight for wish in self._ordered], self.wanted.force
        return np.sqrt(np.array([*wishes, *(force / np.max(force, initial=1.0))], dtype=np.float64))

    @property
    def plain(self) -> BoolArray:
        """Which missed steps are about one place, not about a peak."""
        wishes = [wish.readout != PEAK for wish in self._ordered]
        return np.array(wishes + [True] * self.wanted.travel.size, dtype=np.bool_)

    @property
    def names(self) -> tuple[str, ...]:
        """What each missed step is about."""
        return (
            *(wish.key for wish in self._ordered),
            *(f"force at {from_si('at_mm', at):.1f} mm" for at in self.wanted.travel),
        )


def board_of(job: Job, kind: str, wanted: Wanted, reaches: tuple[float, ...] = ()) -> Board:
    """Set the board for one cam of a job whose lever is to rest at given reaches [rad], or at the fitted one."""
    row, part = rocker_of(job, kind)
    whole = mechanism(job, fitted(job))
    lever = whole.levers[row]
    rocker = lever.rocker(kind)
    if rocker is None:
        raise Impossible(f"{job.title}: no {kind} cam is fitted to start from")
    levers = tuple(lever.at_reach(reach) for reach in reaches) or (lever,)
    end = max(float(travel_end(known)[0]) for known in levers)
    plate = part.plate
    span = (-si(plate, "lead_in_deg"), end + si(plate, "run_out_deg"))
    pulls = [pull_lever(known, whole.hands[row], whole, ROUGH.stations) for known in levers]
    return Board(
        job=job,
        kind=kind,
        whole=whole,
        levers=levers,
        held=tuple(_held(known, kind) for known in pulls),
        hand=whole.hands[row],
        basis=basis(*span, COEFFICIENTS[kind]),
        theta=np.linspace(*span, FITTED_PLACES),
        end=end,
        wanted=_answerable(wanted, pulls[0], kind),
        demand=demands(job, rocker),
    )


def _held(pulled: LeverPull, kind: str) -> float:
    """How far a lever lies out of the finger's reach where its work begins, 0 where it does not [m]."""
    known = pulled.brake if kind == "brake" else pulled.clutch
    assert known is not None
    margin = float(np.ravel(known.hold_margin)[0])
    return max(0.0, -margin) if np.isfinite(margin) else 0.0


def _answerable(wanted: Wanted, pulled: LeverPull, kind: str) -> Wanted:
    """What a cam can do anything about: wishes for its lever, points where its load has begun.

    Raises BadInput for what lies beyond the lever.
    """
    for wish in wanted.wishes:
        if wish.kind not in _readouts(pulled):
            raise BadInput(Fault("draw", wish.key, f"is not read on the lever of the {kind} cam"))
    travel = np.asarray(pulled.curves.travel).reshape(-1)
    if wanted.travel.size and wanted.travel[-1] > travel[-1] + SHOWN:
        said, most = (f"{from_si('at_mm', float(at[-1])):.1f} mm" for at in (wanted.travel, travel))
        raise BadInput(
            Fault("draw", "points", f"go to {said} of travel; allowed is up to {most}, where it ends")
        )
    rocker = pulled.curves.rocker(kind)
    assert rocker is not None
    begun = travel[int(np.argmax(np.broadcast_to(rocker.contact, travel.shape) > 0.0))]
    kept = wanted.travel >= begun
    return replace(wanted, travel=wanted.travel[kept], force=wanted.force[kept])


def _work_end(pulled: LeverPull) -> FloatArray:
    """Lever angle up to which a peak counts: the end of the travel, or where a brake locks and the plates are clean."""
    end = np.broadcast_to(pulled.end[..., 0], pulled.events.theta.shape[:-1])
    if pulled.brake is None:
        return end
    lock = pulled.events.theta[..., pulled.events.index("lock-up 0")]
    last = (
        lock
        if pulled.clutch is None
        else np.fmax(lock, pulled.events.theta[..., pulled.events.index("clean")])
    )
    return np.asarray(np.where(np.isnan(lock), end, last))


def _readouts(pulled: LeverPull) -> dict[str, Readouts]:
    both: dict[str, Readouts | None] = {"brake": pulled.brake, "clutch": pulled.clutch}
    return {kind: known for kind, known in both.items() if known is not None}


def _filled(near: Readouts, far: Readouts, short: float) -> Readouts:
    """Read-outs with those of a lever that goes further where they are not reached, its travel so much longer."""
    values = {part.name: (getattr(near, part.name), getattr(far, part.name)) for part in fields(near)}
    values["travel_left"] = (near.travel_left, far.travel_left - short)
    return type(near)(**{name: np.where(np.isnan(a), b, a) for name, (a, b) in values.items()})


def _between(travel: FloatArray, force: FloatArray, wanted: FloatArray) -> FloatArray:
    """Force at given travels, linear between the stations that all rows share, (..., points)."""
    place = np.clip(np.searchsorted(travel, wanted, side="right") - 1, 0, travel.size - 2)
    share = np.clip((wanted - travel[place]) / (travel[place + 1] - travel[place]), 0.0, 1.0)
    return np.asarray(force[..., place] * (1.0 - share) + force[..., place + 1] * share)
