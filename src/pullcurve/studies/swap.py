"""Swap: every exchange of exactly one cam, what it changes, and whether it answers a complaint."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pullcurve.parts.job import Job
from pullcurve.pull.mechanism import Cam
from pullcurve.studies.candidates import Candidates, Told, candidates, silent, single
from pullcurve.studies.complaints import Complaint, named
from pullcurve.studies.doubt import differences
from pullcurve.studies.find import fitted_at, rack_for
from pullcurve.studies.sentences import SPOKEN, Change, changes, summary

GAIN_MOST = 4.0
"""Felt steps beyond which more of a wanted change counts no further: a complaint asks for better, not for all."""

SCORE_LEAST = 1.0
"""Felt steps that a swap must bring, side effects taken off, to be called a help."""

UNSURE = "That it helps is not sure: the change is within what the measured numbers leave open."
"""Said of a swap that would help if the measured numbers were exact."""

SIDE_WEIGHT = 0.25
"""What a felt step that nobody asked for takes off the gain; read-outs that only follow from others do not count."""


@dataclass(frozen=True, slots=True)
class Swap:
    """One cam for another: its changes, what it breaks, gain and side effects in felt steps, plain words.

    ``sure`` says whether something that the complaint asks for changes by more than a felt step and more than the
    measured numbers of the job leave open; None where nothing is measured or the swap is no help anyway.
    """

    lever: str
    kind: str
    off: Cam
    on: Cam
    changes: tuple[Change, ...]
    broken: tuple[str, ...]
    gain: float
    side: float
    words: str
    sure: bool | None = None

    @property
    def helps(self) -> bool:
        """Whether it is called a help."""
        return self.score >= SCORE_LEAST and self.sure is not False

    @property
    def score(self) -> float:
        """Gain less the weighted side effects."""
        return self.gain - SIDE_WEIGHT * self.side

    @property
    def side_effects(self) -> tuple[Change, ...]:
        """Changes that a finger would feel, largest first."""
        return tuple(
            sorted((change for change in self.changes if change.grade), key=lambda known: -abs(known.steps))
        )


@dataclass(frozen=True, slots=True)
class Swaps:
    """Answer to a complaint, or to none: what to check first, the swaps that help, those that would break a limit."""

    complaints: tuple[Complaint, ...]
    helping: tuple[Swap, ...]
    others: tuple[Swap, ...]
    refused: tuple[Swap, ...]
    notes: tuple[str, ...]


def swaps(job: Job, complaint: str | None = None, told: Told = silent) -> Swaps:
    """Every single-cam change from what is fitted, ranked for a complaint; never two cams at once.

    Without a complaint, those that the job itself states are answered.
    """
    driven = tuple(
        kind
        for kind in ("brake", "clutch")
        if any(r.drives == kind for lever in job.unit.levers for r in lever.rockers)
    )
    phrases = (complaint,) if complaint else job.wishes.complaints if job.wishes else ()
    every = [known for phrase in phrases for known in named(phrase, driven)]
    heard = tuple(known for place, known in enumerate(every) if known not in every[:place])
    found = [swap for lever in range(len(job.unit.levers)) for swap in _at_lever(job, lever, heard, told)]
    allowed = [swap for swap in found if not swap.broken]
    helping = [swap for swap in allowed if heard and swap.helps]
    rest = [swap for swap in allowed if swap not in helping]
    refused = tuple(swap for swap in found if swap.broken)
    return Swaps(
        complaints=heard,
        helping=tuple(sorted(helping, key=lambda swap: (-swap.score, swap.side))),
        others=tuple(sorted(rest, key=lambda swap: swap.side)),
        refused=refused,
        notes=_notes(job, heard, helping, rest, refused),
    )


def _at_lever(job: Job, lever: int, heard: tuple[Complaint, ...], told: Told) -> list[Swap]:
    """All single swaps on one lever."""
    now = fitted_at(job, lever)
    if not now or job.rack is None:
        return []
    before = single(job, lever, now)
    found: list[Swap] = []
    for kind, rack in rack_for(job, lever).items():
        others = [cam for cam in rack if kind in now and cam != now[kind] and _meets(cam, kind, now)]
        if not others:
            continue
        choice: dict[str, Sequence[Cam]] = {known: (cam,) for known, cam in now.items()}
        table = candidates(job, lever, {**choice, kind: tuple(others)}, told=told)
        every = [_swap(before, table, row, kind, now[kind], heard) for row in range(table.count)]
        found += [_doubted(job, lever, now, swap, heard) for swap in every] if job.measured else every
    return found


def _doubted(job: Job, lever: int, now: dict[str, Cam], swap: Swap, heard: tuple[Complaint, ...]) -> Swap:
    """A swap that would be called a help, with what the measured numbers leave open of it."""
    if not heard or swap.broken or swap.score < SCORE_LEAST:
        return swap
    sure = any(
        one.counts and known.wants[one.readout] * one.steps.value > 0.0
        for one in differences(job, lever, now, {**now, swap.kind: swap.on})
        for known in heard
        if one.kind == known.lever and one.readout in known.wants
    )
    words = swap.words if sure else f"{swap.words} {UNSURE}"
    return replace(swap, sure=sure, words=words)


def _meets(cam: Cam, kind: str, now: dict[str, Cam]) -> bool:
    """Whether a cam has the reach of every other cam that stays on the lever."""
    return all(cam.reach_deg == other.reach_deg for known, other in now.items() if known != kind)


def _swap(
    before: Candidates, table: Candidates, row: int, kind: str, off: Cam, heard: tuple[Complaint, ...]
) -> Swap:
    """One row of the table as a swap."""
    changed = changes(before, table, row)
    wanted = {(known.lever, readout) for known in heard for readout in known.wants}
    answered = [gain for known in heard if (gain := _answered(changed, known)) is not None]
    gain = sum(answered) / len(answered) if answered else 0.0
    side = sum(
        abs(change.steps)
        for change in changed
        if change.grade and change.readout in SPOKEN and (change.kind, change.readout) not in wanted
    )
    # A limit that the fitted set breaks already does not forbid a swap that eases it.
    broken = tuple(
        limit.sentence
        for limit, was in zip(table.limits, before.limits, strict=True)
        if limit.margin[row] < min(0.0, was.margin[0])
    )
    on = table.set_at(row)[kind]
    return Swap(table.lever, kind, off, on, changed, broken, gain, side, summary(changed))


def _answered(changed: tuple[Change, ...], complaint: Complaint) -> float | None:
    """How far the changes go the way that a complaint asks, mean over what it asks for [felt steps].

    None where the complaint asks nothing of this lever.
    """
    steps = [
        max(-GAIN_MOST, min(GAIN_MOST, complaint.wants[change.readout] * change.steps))
        for change in changed
        if change.kind == complaint.lever and change.readout in complaint.wants
    ]
    return sum(steps) / len(steps) if steps else None


def _notes(
    job: Job,
    heard: tuple[Complaint, ...],
    helping: list[Swap],
    others: list[Swap],
    refused: tuple[Swap, ...],
) -> tuple[str, ...]:
    """What a technician should know besides the list."""
    notes = ["Change one cam, ride the same test, write it down; then decide on the next."]
    if heard and not any(known.wants for known in heard):
        notes.append("No cam cures this: the checks above do.")
    elif heard and not helping:
        notes.append(_no_help(refused))
    unsure = sum(swap.sure is False for swap in others)
    if unsure:
        notes.append(
            f"{unsure} more would help if the measured numbers were exact, which their intervals leave open: measure "
            "again before changing one of those."
        )
    if job.fitted.clutch is not None and job.fitted.assist is not None:
        notes.append(
            "Clutch and assist cam must have the same reach: to bring that lever nearer both go together, "
            "as one change of reach, so no single swap of either is listed with another reach."
        )
    return tuple(notes)


def _no_help(refused: tuple[Swap, ...]) -> str:
    """Why no single swap is called a help."""
    reasons = {reason: None for swap in refused if swap.score >= SCORE_LEAST for reason in swap.broken}
    if reasons:
        return f"Every single cam that would surely help here breaks a limit: {'; '.join(reasons)}."
    return "No single cam of the rack would surely help here by as much as a finger can feel."
