"""Make cams: draw one for a feel, a ladder of them, and the files to cut them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pullcurve.errors import BadInput, Fault, Impossible
from pullcurve.intake.files import refused
from pullcurve.intake.tables import read_table
from pullcurve.mechanics.curve import FloatArray
from pullcurve.papers import camsheet, cutfiles, inspection, trial
from pullcurve.papers.border import TitleBlock
from pullcurve.parts.cams import REACH, decimals
from pullcurve.parts.job import Job
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.candidates import silent
from pullcurve.studies.draw import Drawn, Wanted, at_reach, draw
from pullcurve.studies.ladder import at_reaches, ladder, rungs
from pullcurve.studies.tolerance import justified_tolerance
from pullcurve.studies.wishes import WISH_READOUTS, Wish
from pullcurve.units import bare, from_si, to_si
from pullcurve.verbs.cams import CamCase, cam_case, kinds_of, known_kind
from pullcurve.verbs.drawing import source_words
from pullcurve.verbs.jobs import make_folder

NOTHING: FloatArray = np.zeros(0)

POINTS = ("travel", "force")
"""How the columns of a wanted pull are called."""


def wish_keys(kind: str) -> tuple[str, ...]:
    """What may be wished of a cam: an assist cam serves the clutch."""
    lever = "brake" if kind == "brake" else "clutch"
    return tuple(key.removeprefix(f"{lever}.") for key in WISH_READOUTS if key.startswith(f"{lever}."))


def wish_of(kind: str, key: str, value: float) -> Wish:
    """One wish for a cam, by its key with unit; raises BadInput for one that is not known."""
    if key not in wish_keys(kind):
        raise BadInput(Fault("wish", key, f"is not known here; allowed is {', '.join(wish_keys(kind))}"))
    if not 0.0 < value < 1000.0:
        raise BadInput(Fault("wish", key, f"is {value:g}; allowed is more than 0 and less than 1000"))
    lever = "brake" if kind == "brake" else "clutch"
    readout = WISH_READOUTS[f"{lever}.{key}"]
    known = dict(facets(BrakeReadouts if lever == "brake" else ClutchReadouts))
    return Wish(f"{lever}.{key}", lever, readout, to_si(key, value)[1], 1.0, "given", known[readout])


def wanted_feel(
    job: Job,
    kind: str,
    wishes: Mapping[str, float],
    points: Path | str | None = None,
    *,
    keep_end: bool = False,
) -> Wanted:
    """What to draw for: wishes by key, points of force over travel from a table (mm, N), or both."""
    known = _wanted(known_kind(job, kind), wishes)
    travel, force = (NOTHING, NOTHING) if points is None else wanted_points(points)
    if not known and not travel.size:
        raise BadInput(
            Fault("draw", "wish", f"is missing; give one of {', '.join(wish_keys(kind))}, or points")
        )
    return Wanted(travel, force, known, keep_end)


def draw_cam(job: Job, kind: str, wanted: Wanted, reaches_deg: Sequence[float] = ()) -> tuple[Drawn, ...]:
    """Draw a cam for a feel, within every limit: one law, at every reach that is asked for, judged at the first.

    Without a reach the lever rests where it does now.
    """
    places = _reaches(reaches_deg)
    first = draw(job, kind, wanted, reaches=places)
    return (first, *(at_reach(job, first, place) for place in places[1:]))


def _reaches(reaches_deg: Sequence[float]) -> tuple[float, ...]:
    """Reaches in rad; raises BadInput for one that no cam may have, or for one twice."""
    for place, reach in enumerate(reaches_deg):
        if not REACH.low <= reach <= REACH.high:
            said = f"is {reach:g}; allowed is {REACH.low:g} to {REACH.high:g} deg"
            raise BadInput(Fault("draw", "reach", said))
        if reach in reaches_deg[:place]:
            raise BadInput(Fault("draw", "reach", f"is {reach:g} twice; allowed is once"))
    return tuple(to_si("reach_deg", reach)[1] for reach in reaches_deg)


def _wanted(kind: str, wishes: Mapping[str, float]) -> tuple[Wish, ...]:
    return tuple(wish_of(kind, key, value) for key, value in wishes.items())


def wanted_points(path: Path | str) -> tuple[FloatArray, FloatArray]:
    """Wanted force [N] over finger travel [m] from a table with the columns travel (mm) and force (N)."""
    table = read_table(path, POINTS)
    travel, force = (table.column(name) for name in POINTS)
    if travel is None or force is None:
        raise refused(table.file, "has no columns called travel (mm) and force (N); both are needed")
    pairs = table.numbers((travel, force), "a number")
    if len(pairs) < 2 or np.any(np.diff(pairs[:, 0]) <= 0) or np.any(pairs < 0) or np.any(pairs[:, 1] == 0):
        said = "needs two or more lines, travel in mm from 0 up and rising, force in N above 0"
        raise refused(table.file, said)
    return pairs[:, 0] * to_si("travel_mm", 1.0)[1], pairs[:, 1].copy()


def drawn_name(kind: str, wishes: Mapping[str, float], reach: float | None = None) -> str:
    """Name of a drawn cam by the first wish that it was drawn for, and by its reach [rad] if one is given."""
    place = "" if reach is None else f"-in{decimals(from_si('reach_deg', reach))}"
    for key, value in wishes.items():
        return f"{kind}-{bare(key).replace('_', '-')}-{value:g}{place}"
    return f"{kind}-drawn{place}"


@dataclass(frozen=True, slots=True)
class Ladder:
    """Cams in equal felt steps of one wish, by its key, and the value that each was drawn for in the key's unit.

    Every rung holds its cam at every reach that was asked for, the one that the feel is judged at first.
    """

    key: str
    values: tuple[float, ...]
    rungs: tuple[tuple[Drawn, ...], ...]


def draw_ladder(
    job: Job,
    kind: str,
    key: str,
    ends: tuple[float, float],
    count: int,
    wishes: Mapping[str, float],
    told: Callable[[int, int], None] = silent,
    *,
    reaches_deg: Sequence[float] = (),
    keep_end: bool | None = None,
) -> Ladder:
    """Cams in equal felt steps of one wish between two ends, each at every reach that is asked for.

    Brake cams share the end point of the fitted one unless ``keep_end`` says otherwise; others share it only if it
    says so.
    """
    if not 2 <= count <= 24:
        raise BadInput(Fault("ladder", "count", f"is {count}; allowed is 2 to 24"))
    known_kind(job, kind)
    first, last = (wish_of(kind, key, value) for value in ends)
    if key in wishes:
        raise BadInput(
            Fault("ladder", key, "varies along the ladder; allowed is a wish for another read-out")
        )
    others = _wanted(kind, wishes)
    places = _reaches(reaches_deg)
    ends_si = first.target, last.target
    drawn = ladder(job, kind, first, ends_si, count, others, told, reaches=places, keep_end=keep_end)
    more = at_reaches(job, drawn, places[1:])
    targets = rungs(first.target, last.target, count, first.facet.felt).tolist()
    rows = tuple((one, *rest) for one, rest in zip(drawn, more, strict=True))
    return Ladder(key, tuple(round(from_si(key, target), 2) for target in targets), rows)


@dataclass(frozen=True, slots=True)
class Made:
    """Files of one cam, drawn with a profile tolerance [m]."""

    case: CamCase
    tolerance: float
    files: tuple[Path, ...]


def export_cams(job: Job, folder: Path, *, day: str = "") -> tuple[Made, ...]:
    """Every fitted cam of a job as files to cut, to inspect and to try."""
    return tuple(export_cam(cam_case(job, kind), folder, day=day) for kind in kinds_of(job))


def export_cam(case: CamCase, folder: Path, *, day: str = "") -> Made:
    """One cam as DXF (two releases), SVG at full size, inspection tables, drawing and trial solids."""
    metal = case.metal
    for found in case.verdict.findings:
        if found.key == "crossing" and not found.ok:
            raise Impossible(f"{metal.name}: {found.sentence.rstrip('.')}; nothing was written")
    allowed = justified_tolerance(case.job, case.kind, curve=case.rocker.law).tolerance
    contents: dict[str, bytes] = {
        ".dxf": cutfiles.cut_dxf(metal, "R2000").encode(),
        "-r12.dxf": cutfiles.cut_dxf(metal, "R12").encode(),
        ".svg": cutfiles.cut_svg(metal).encode(),
        "-outline.csv": inspection.profile_table(metal, allowed).encode(),
        "-flank.csv": inspection.flank_table(metal, allowed).encode(),
        "-drawing.pdf": camsheet.cam_page(metal, case.verdict, title_block(case, day), allowed),
        "-trial-bench-only.stl": trial.trial_stl(metal),
        "-trial-bench-only.3mf": trial.trial_3mf(metal),
    }
    place, written = make_folder(folder), []
    for ending, content in contents.items():
        target = place / f"{metal.name}{ending}"
        try:
            target.write_bytes(content)
        except OSError as error:
            raise BadInput(Fault(str(target), "", f"cannot be written: {error.strerror}")) from None
        written.append(target)
    return Made(case, allowed, tuple(written))


def title_block(case: CamCase, day: str = "") -> TitleBlock:
    """Foot of a sheet about one cam."""
    job = case.job
    return TitleBlock(
        job=job.title,
        machine=job.motorcycle.name,
        rider=job.rider.need,
        set=case.name,
        numbers=source_words(case.pulled.origins),
        date=day,
    )
