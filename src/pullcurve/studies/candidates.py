"""Every cam of the rack that fits one lever, pulled at once, with what each would break."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields, replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from pullcurve.errors import BadInput, Fault
from pullcurve.mechanics.curve import FloatArray
from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BoolArray
from pullcurve.pull.loop import pull_lever
from pullcurve.pull.mechanism import Cam, Choice, mechanism
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, Readouts
from pullcurve.pull.shape import Shape, cam_shape
from pullcurve.studies.limits import Limit, judge

KINDS = ("brake", "clutch", "assist")
COARSE_STATIONS = 64
"""Stations of a search: events are exact at any count, and what is read between stations changes by under 0.1 %."""

CHUNK = 1024
"""Sets pulled in one go: arrays of this many pulls stay in the processor's cache and in little memory."""


Told = Callable[[int, int], None]


def silent(done: int, total: int) -> None:
    """Hear nothing."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """n candidates for one lever: their cams, read-outs of shape (n,) and margins to every limit."""

    lever: str
    cams: dict[str, tuple[Cam, ...]]
    picked: dict[str, NDArray[np.intp]]
    brake: BrakeReadouts | None
    clutch: ClutchReadouts | None
    limits: tuple[Limit, ...]

    @property
    def count(self) -> int:
        """How many candidates there are."""
        return len(next(iter(self.picked.values()))) if self.picked else 0

    @property
    def allowed(self) -> BoolArray:
        """Which candidates keep every limit, (n,)."""
        kept: BoolArray = np.ones(self.count, dtype=np.bool_)
        for limit in self.limits:
            kept &= limit.margin >= 0.0
        return kept

    def set_at(self, row: int) -> dict[str, Cam]:
        """The cams of one candidate by what they drive."""
        return {kind: self.cams[kind][index[row]] for kind, index in self.picked.items()}

    def readouts(self) -> dict[str, Readouts]:
        """Read-outs by what they belong to."""
        both = {"brake": self.brake, "clutch": self.clutch}
        return {kind: known for kind, known in both.items() if known is not None}


def crossings(cams: Mapping[str, Sequence[Cam]]) -> list[dict[str, tuple[Cam, ...]]]:
    """Groups of cams of one reach: within a group every cam of a kind may meet every cam of the others."""

    def reach(cam: Cam) -> float:
        return cam.reach_deg

    grouped = {
        kind: {key: tuple(members) for key, members in groupby(sorted(known, key=reach), key=reach)}
        for kind, known in cams.items()
    }
    shared = sorted(set.intersection(*(set(groups) for groups in grouped.values()))) if grouped else []
    return [{kind: groups[key] for kind, groups in grouped.items()} for key in shared]


def _chunks(group: dict[str, tuple[Cam, ...]]) -> list[dict[str, tuple[Cam, ...]]]:
    """Cut a group along its longest kind so that no piece crosses more sets than a chunk holds."""
    sets = int(np.prod([len(cams) for cams in group.values()]))
    if sets <= CHUNK:
        return [group]
    longest = max(group, key=lambda kind: len(group[kind]))
    rows = max(1, len(group[longest]) * CHUNK // sets)
    return [
        {**group, longest: group[longest][start : start + rows]}
        for start in range(0, len(group[longest]), rows)
    ]


def candidates(
    job: Job,
    lever: int,
    cams: Mapping[str, Sequence[Cam]],
    stations: int = COARSE_STATIONS,
    told: Told = silent,
) -> Candidates:
    """Pull every combination of equal reach on one lever and measure it against the limits.

    ``told`` hears how many groups of how many are done. Raises BadInput when no cams share a reach.
    """
    pieces = [piece for group in crossings(cams) for piece in _chunks(group)]
    if not pieces:
        kinds = " and ".join(cams)
        raise BadInput(
            Fault(
                job.title, "rack", f"has no {kinds} cams of equal reach for the {job.unit.levers[lever].name}"
            )
        )
    pulled = []
    with ThreadPoolExecutor(max_workers=2) as pool:
        for piece in pool.map(lambda piece: _pull_piece(job, lever, piece, stations), pieces):
            pulled.append(piece)
            told(len(pulled), len(pieces))
    return _join(job.unit.levers[lever].name, pulled)


def single(job: Job, lever: int, cams: Mapping[str, Cam], stations: int = COARSE_STATIONS) -> Candidates:
    """One set as a table of one row."""
    return _pull_piece(job, lever, {kind: (cam,) for kind, cam in cams.items()}, stations)


def chosen(piece: Mapping[str, Sequence[Cam]]) -> Choice:
    """Cams by what they drive as a crossed choice."""
    return Choice(
        brake=tuple(cam for cam in piece.get("brake", ()) if isinstance(cam, BrakeCam)),
        clutch=tuple(cam for cam in piece.get("clutch", ()) if isinstance(cam, ClutchCam)),
        assist=tuple(cam for cam in piece.get("assist", ()) if isinstance(cam, AssistCam)),
        crossed=True,
    )


def _pull_piece(job: Job, lever: int, piece: dict[str, tuple[Cam, ...]], stations: int) -> Candidates:
    """Pull one crossing and lay its axes flat."""
    choice = chosen(piece)
    whole = mechanism(job, choice)
    moving = whole.levers[lever]
    pulled = pull_lever(moving, whole.hands[lever], whole, stations)
    shape = tuple(len(piece.get(kind, ())) or 1 for kind in KINDS)
    index = np.unravel_index(np.arange(int(np.prod(shape))), shape)
    picked = {kind: index[axis] for axis, kind in enumerate(KINDS) if kind in piece}
    shapes = {rocker.drives: cam_shape(rocker, pulled.end) for rocker in moving.rockers}
    brake = None if pulled.brake is None else _flat_readouts(pulled.brake, shape)
    clutch = None if pulled.clutch is None else _flat_readouts(pulled.clutch, shape)
    assert not isinstance(brake, ClutchReadouts) and not isinstance(clutch, BrakeReadouts)
    limits = judge(job, brake, clutch, {kind: _flat_shape(known, shape) for kind, known in shapes.items()})
    return Candidates(job.unit.levers[lever].name, dict(piece), picked, brake, clutch, limits)


def _flat(values: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """Set axes laid flat; an axis beyond them (surfaces) stays."""
    beyond = values.shape[len(shape) :] if values.ndim > len(shape) else ()
    return np.broadcast_to(values, shape + beyond).reshape(-1, *beyond)


def _flat_shape(known: Shape, shape: tuple[int, ...]) -> Shape:
    return Shape(*(_flat(getattr(known, part.name), shape) for part in fields(known)))


def _flat_readouts(readouts: Readouts, shape: tuple[int, ...]) -> Readouts:
    """Read-outs with their set axes laid flat, (n,) or (n, surfaces)."""
    flat = {part.name: _flat(getattr(readouts, part.name), shape) for part in fields(readouts)}
    return type(readouts)(**flat)


def _join(lever: str, pieces: list[Candidates]) -> Candidates:
    """One table from many pieces; cams keep the order in which they first appear."""
    cams: dict[str, tuple[Cam, ...]] = {}
    for piece in pieces:
        for kind, known in piece.cams.items():
            cams[kind] = cams.get(kind, ()) + tuple(cam for cam in known if cam not in cams.get(kind, ()))
    place = {kind: {cam: row for row, cam in enumerate(known)} for kind, known in cams.items()}
    picked = {
        kind: np.concatenate(
            [
                np.array([place[kind][cam] for cam in piece.cams[kind]], dtype=np.intp)[piece.picked[kind]]
                for piece in pieces
            ]
        )
        for kind in cams
    }

    def joined(parts: list[Readouts | None]) -> Readouts | None:
        known = [part for part in parts if part is not None]
        if not known:
            return None
        arrays = {
            part.name: np.concatenate([getattr(one, part.name) for one in known]) for part in fields(known[0])
        }
        return type(known[0])(**arrays)

    brake, clutch = joined([piece.brake for piece in pieces]), joined([piece.clutch for piece in pieces])
    assert not isinstance(brake, ClutchReadouts) and not isinstance(clutch, BrakeReadouts)
    limits = tuple(
        replace(first, margin=np.concatenate([piece.limits[row].margin for piece in pieces]))
        for row, first in enumerate(pieces[0].limits)
    )
    return Candidates(lever, cams, picked, brake, clutch, limits)
