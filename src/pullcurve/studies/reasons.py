"""Why a cause is named, in words that a look at the curve confirms; and whether another cam would be felt at all."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.job import Job
from pullcurve.pull.loop import pull_lever
from pullcurve.pull.mechanism import fitted as fitted_cams
from pullcurve.pull.mechanism import mechanism
from pullcurve.pull.readouts import Facet, facets
from pullcurve.studies.benchpull import Branches
from pullcurve.studies.candidates import COARSE_STATIONS
from pullcurve.studies.fit import Fit
from pullcurve.studies.othercams import others, with_cams
from pullcurve.studies.prediction import Bench, Columns, lever_with, predict
from pullcurve.studies.sentences import SPOKEN
from pullcurve.studies.wishes import felt_steps, first_surface
from pullcurve.units import from_si

EARLY, LATE = 0.3, 0.6
"""Shares of the greatest force: the dead travel is read at the first, the stiffness from the second on."""

FELT = 1.0
"""Felt steps from which a change is one."""

HARDLY = 0.5
"""Share of the force as written below which a pull that ends at the same travel is said to have hardly begun."""

WORKING = 1.0 / 3.0
"""Share of the greatest force from which a change of the pull is counted."""

CLEARLY_MM, CLEARLY = 0.8, 0.12
"""Changes worth a word: of travel [mm], of stiffness and of friction [-]."""


Read = dict[tuple[str, str], tuple[Facet, FloatArray]]
"""What a hand reads off: by lever and name, with what shows it, (C,) each."""


@dataclass(frozen=True, slots=True)
class CamFelt:
    """What mending and what another cam would change: felt steps of the read-out that changes most, and which it is.

    ``regained`` is a read-out that is out of reach before mending. ``exchanged`` counts from the mended machine,
    ``cam`` is the cam that changes most. Steps are NaN where there is nothing to mend, or no other cam.
    """

    mended: float
    mended_readout: str
    regained: str
    exchanged: float
    exchanged_readout: str
    cam: str

    @property
    def sentence(self) -> str:
        """Mend first; then what the rack can do."""
        return f"{self._mending} {self._exchanging}"

    @property
    def _mending(self) -> str:
        if not np.isfinite(self.mended):
            return "Nothing is to be mended."
        told = f"Mending it changes {self.mended_readout} by {self.mended:.1f} felt steps"
        if self.regained:
            return f"{told} and brings {self.regained} within the travel again."
        return f"{told}." if self.mended >= FELT else f"{told}, which no finger tells."

    @property
    def _exchanging(self) -> str:
        if not np.isfinite(self.exchanged):
            return "The job has no rack to compare with."
        told = f"{self.cam} changes {self.exchanged_readout} by {self.exchanged:.1f} felt steps"
        if self.exchanged >= FELT:
            return f"Another cam of the rack would be felt: {told}."
        return f"No cam of the rack would be felt: {told}."


def shape(measured: Branches, fitted: Fit, healthy: bool) -> str:
    """How the measured pull differs from that of the job as it is written, in plain words."""
    written = predict(fitted.readings.bench, {})
    told = list(_differences(measured, written.pull[0], written.release[0]))
    if not told:
        return "The pull looks as the job is written: start, stiffness and friction agree."
    if healthy:
        told.append("All of that lies within the usual spread of the parts.")
    return " ".join(told)


def _differences(measured: Branches, pull: FloatArray, release: FloatArray) -> Iterator[str]:
    reached, expected = float(np.nanmax(measured.pull)), float(np.max(pull))
    top = min(reached, expected)
    level = EARLY * expected
    late = _where(measured.place, measured.pull, level) - _where(measured.place, pull, level)
    unit, name = ("deg", "°") if measured.angular else ("mm", "mm")
    moved = from_si(f"moved_{unit}", late)
    if reached < HARDLY * expected:
        yield f"It reaches {reached:.0f} N where the job as written reaches {expected:.0f} N."
    if abs(moved) > CLEARLY_MM:
        yield f"It starts {abs(moved):.1f} {name} {'later' if moved > 0 else 'earlier'} than the job as written."
    stiff = _stiffness(measured.place, measured.pull, top) / _stiffness(measured.place, pull, top) - 1.0
    if abs(stiff) > CLEARLY and reached >= HARDLY * expected:
        yield f"Near the end it is {abs(stiff):.0%} {'stiffer' if stiff > 0 else 'softer'}."
    work = np.isfinite(measured.pull) & np.isfinite(measured.release) & (measured.pull > WORKING * top)
    width, usual = (
        float(np.mean((one[work] - other[work]) / one[work]))
        for one, other in ((measured.pull, measured.release), (pull, release))
    )
    if abs(width - usual) > CLEARLY / 2.0:
        yield f"Pull and release lie {width:.0%} apart instead of {usual:.0%}."


def _where(place: FloatArray, force: FloatArray, level: float) -> float:
    """Where a branch first reaches a force; NaN where it does not."""
    read = np.isfinite(force)
    beyond = np.flatnonzero(force[read] >= level)
    if beyond.size == 0:
        return float("nan")
    row = max(int(beyond[0]), 1)
    part = slice(row - 1, row + 1)
    return float(np.interp(level, force[read][part], place[read][part]))


def _stiffness(place: FloatArray, force: FloatArray, top: float) -> float:
    """Mean rise of the force from its late share to its top; NaN where it does not rise."""
    way = _where(place, force, top) - _where(place, force, LATE * top)
    return (1.0 - LATE) * top / way if way > 0 else float("nan")


def cam_felt(job: Job, fitted: Fit, paths: tuple[str, ...]) -> CamFelt:
    """What mending the found fault and what any other cam of the rack would change in the fitted pull."""
    now = {path: np.array([[x]]) for path, x in fitted.values().items()}
    usual = {
        unknown.path: np.array([[unknown.value]]) for unknown in fitted.unknowns if unknown.path in paths
    }
    bench = replace(fitted.readings.bench, choice=None)
    mended = _read(bench, now | usual, 1)
    wrong = bool(paths) or fitted.readings.bench.choice is not None
    before = _read(fitted.readings.bench, now, 1) if wrong else mended
    steps, readouts = _most(before, mended)
    regained = [name for name in mended if np.isnan(before[name][1][0]) and not np.isnan(mended[name][1][0])]
    best, readout, cam = _farthest(job, bench, now | usual, mended)
    return CamFelt(
        mended=float(steps[0]) if wrong else float("nan"),
        mended_readout=readouts[0],
        regained=_called(regained[0], mended) if regained else "",
        exchanged=best,
        exchanged_readout=readout,
        cam=cam,
    )


def _farthest(job: Job, bench: Bench, values: Columns, mended: Read) -> tuple[float, str, str]:
    """Felt steps of the cam of the rack that changes most, in what, and its name; NaN where there is no other."""
    best, readout, name = float("nan"), "", ""
    for drives, cams in others(job, bench.row).items():
        if cams:
            choice = with_cams(job, drives, cams)
            steps, readouts = _most(mended, _read(replace(bench, choice=choice), values, len(cams)))
            row = int(np.argmax(steps))
            if not steps[row] <= best:
                best, readout, name = float(steps[row]), readouts[row], cams[row].name
    return best, readout, name


def _read(bench: Bench, values: Columns, sets: int) -> Read:
    """What a hand reads off the pull with fitted numbers, (C,) each."""
    whole = mechanism(bench.job, bench.choice or fitted_cams(bench.job))
    pulled = pull_lever(lever_with(bench, values), whole.hands[bench.row], whole, COARSE_STATIONS)
    both = {"brake": pulled.brake, "clutch": pulled.clutch}
    return {
        (kind, name): (facet, np.broadcast_to(first_surface(getattr(known, name), facet), (sets,)))
        for kind, known in both.items()
        if known is not None
        for name, facet in facets(known)
        if name in SPOKEN
    }


def _most(now: Read, other: Read) -> tuple[FloatArray, list[str]]:
    """Felt steps of the read-out that changes most, (C,), and what it is called; what is not reached counts nothing."""
    names = list(now)
    steps = np.stack(
        [
            np.nan_to_num(np.abs(felt_steps(now[name][1], other[name][1], now[name][0])), posinf=0.0)
            for name in names
        ]
    )
    rows = np.argmax(steps, axis=0)
    return np.max(steps, axis=0), [_called(names[row], now) for row in rows.tolist()]


def _called(name: tuple[str, str], known: Read) -> str:
    label = known[name][0].label
    return f"the {label}" if len({kind for kind, _ in known}) == 1 else f"the {name[0]}'s {label}"
