"""Cams over the wire: shown, checked, read, drawn, made."""

import io
import re
import tempfile
import zipfile
from datetime import date
from pathlib import Path
from typing import Literal

import numpy as np
from fastapi import APIRouter, Request, Response

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.reading import DRAWINGS, PICTURES, TABLES
from pullcurve.papers import answers, camrecord, cutfiles, record
from pullcurve.parts.job import Job
from pullcurve.studies.draw import Drawn, Wanted
from pullcurve.units import to_si
from pullcurve.verbs import camdrawing, cams, making, racking
from pullcurve.verbs.cams import CamCase, Read
from pullcurve.verbs.making import Made
from pullcurve.web.asking import SVG, THEMES, runner
from pullcurve.web.bodies import (
    CamBody,
    CamSheetBody,
    DrawBody,
    Drawing,
    ExportBody,
    Kind,
    LadderBody,
    ReadBody,
)
from pullcurve.web.running import Download, Told, answered

FORMS = (*TABLES, *DRAWINGS, *PICTURES)
"""Endings of the files that a cam can be read from."""

router = APIRouter(prefix="/api/cam", tags=["cams"])


def case_of(body: CamBody) -> CamCase:
    """The cam that a question names, on its lever."""
    return cams.cam_case(cams.cams_for(body.job, body.kind, body.cams), body.kind)


def case_record(case: CamCase) -> record.Record:
    """A cam on its lever, as data."""
    pulled = case.pulled
    pull = record.pull_record(case.job, pulled.pull, pulled.mechanism, pulled.origins, pulled.cams)
    return {
        "cam": camrecord.metal_record(case.metal),
        "stress": camrecord.stress_record(case.stress, case.allowed),
        "check": camrecord.verdict_record(case.verdict),
        "pull": pull,
    }


@router.post("/show")
def show(body: CamBody) -> Response:
    """One cam: outline, flank, contact pressure, check, and the pull of its lever."""
    return answered(case_record(case_of(body)))


@router.post("/check")
def check(body: CamBody) -> Response:
    """What was checked, one by one."""
    case = case_of(body)
    return answered({"name": case.name, **camrecord.verdict_record(case.verdict)})


@router.post("/sheet", response_class=Response, responses={200: {"content": {SVG: {}}}})
def sheet(body: CamSheetBody) -> Response:
    """The sheet of one cam as a picture."""
    return Response(sheet_of(body), media_type=SVG)


def sheet_of(body: CamSheetBody) -> str:
    """The sheet of one cam as SVG."""
    return camdrawing.cam_sheet(case_of(body), day=_today(), theme=THEMES[body.theme], width=body.width)


@router.post("/tolerance")
async def tolerance(request: Request, body: CamBody) -> Response:
    """What errors of making and wear do to each read-out, and which tolerance a finger justifies."""

    def work(told: Told) -> record.Record:
        known = cams.allow(cams.cams_for(body.job, body.kind, body.cams), body.kind, told)
        return {
            "cam": known.name,
            "justified": camrecord.justified_record(known.justified),
            "making": camrecord.effects_record(known.effects),
            "wear": camrecord.effects_record(known.worn),
            "scatter": camrecord.scatter_record(known.scatter),
            "ranking": camrecord.ranking_record(known.ranked),
        }

    return await runner(request).answer(request, work)


# Read -----------------------------------------------------------------------------------------------------------------


@router.post("/read")
async def read(request: Request, body: ReadBody) -> Response:
    """A cam read from points, a law, a DXF or a picture; the file is gone when the answer is there.

    ``described`` is the same cam as a job can hold it; ``beside_nearest`` what a finger would tell from the nearest.
    """
    given = Path(body.name.replace("\\", "/"))
    ending = given.suffix.lower()
    if ending not in FORMS:
        said = f'ends in "{ending[:12]}"; allowed is {", ".join(FORMS)}'
        raise BadInput(Fault(body.name[-80:] or "file", "", said))

    def work(told: Told) -> record.Record:
        told(0, 3)
        found = _read(body, f"{_plain(given.stem)}{ending}")
        told(1, 3)
        now = cams.cam_case(body.job, body.kind)
        changed = racking.beside_nearest(found)
        told(2, 3)
        theme, width, day = THEMES[body.theme], body.width, _today()
        return {
            "read": read_record(found),
            **case_record(found.case),
            "described": described_record(found.case),
            "beside_nearest": [{**answers.change_record(one), "words": one.words} for one in changed],
            "sheet": camdrawing.feel_sheet(now, found.case, "read", day=day, theme=theme, width=width),
        }

    return await runner(request).answer(request, work)


def _read(body: ReadBody, name: str) -> Read:
    """The cam in a file that is there for no longer than that; faults say nothing of where it was."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place, name)
        path.write_bytes(body.data)
        try:
            return cams.read_cam(
                body.job, body.kind, path, dpi=body.dpi, scale_mm=body.scale_mm, layer=body.layer
            )
        except BadInput as error:
            told = (Fault(one.where, one.key, one.said.replace(str(path), name)) for one in error.faults)
            raise BadInput(*told) from None


def _plain(stem: str) -> str:
    """A name that a file may have anywhere."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", stem)[:40].strip("-") or "read"


def read_record(found: Read) -> record.Record:
    """What was read and how well, and the nearest cam of the rack."""
    return {
        "source": found.found.source,
        "shown": list(found.found.shown),
        "residual": found.found.residual,
        "roller_deviation": found.roller_deviation,
        "force_deviation": found.force_deviation,
        "nearest": None if found.nearest is None else record.cam_record(found.nearest),
        "nearest_apart": found.apart,
    }


def described_record(case: CamCase) -> record.Record | None:
    """A cam of any law as a job can hold it, how far its roller is from the law's, its own check; or null."""
    known = racking.as_cam(case)
    if known is None:
        return None
    verdict = racking.numbered_case(case.job, case.kind, known.cam).verdict
    told = {"passes": verdict.ok, "words": verdict.words}
    return {"cam": record.cam_record(known.cam), "apart": known.apart, "check": told}


# Draw -----------------------------------------------------------------------------------------------------------------


def wanted(kind: str, drawing: Drawing) -> Wanted:
    """What to draw for; raises BadInput where nothing is wished for, or where the points do not rise."""
    wishes = tuple(making.wish_of(kind, key, value) for key, value in drawing.wishes.items())
    pairs = np.array(drawing.points, dtype=np.float64).reshape(-1, 2)
    if not wishes and not len(pairs):
        said = f"are missing; allowed is one or more of {', '.join(making.wish_keys(kind))}, or points"
        raise BadInput(Fault("draw", "wishes", said))
    rising = len(pairs) != 1 and bool(np.all(np.diff(pairs[:, 0]) > 0))
    if not rising or np.any(pairs < 0) or np.any(pairs[:, 1] == 0):
        said = "are not usable; allowed is two or more, travel in mm from 0 up and rising, force in N above 0"
        raise BadInput(Fault("draw", "points", said))
    return Wanted(pairs[:, 0] * to_si("travel_mm", 1.0)[1], pairs[:, 1].copy(), wishes, drawing.keep_end)


def _drawn(job: Job, kind: Kind, drawing: Drawing) -> tuple[CamCase, Drawn, Wanted]:
    """A drawn cam on its lever."""
    cams.known_kind(job, kind)
    wish = wanted(kind, drawing)
    found = making.draw_cam(job, kind, wish)[0]
    return cams.drawn_case(job, found, making.drawn_name(kind, drawing.wishes)), found, wish


@router.post("/draw")
async def draw(request: Request, body: DrawBody) -> Response:
    """A cam drawn for a feel within every limit, and a picture of its pull beside the fitted one's."""

    def work(told: Told) -> record.Record:
        told(0, 3)
        case, found, wish = _drawn(body.job, body.kind, body.drawing)
        told(1, 3)
        now = cams.cam_case(body.job, body.kind)
        told(2, 3)
        theme, width, day = THEMES[body.theme], body.width, _today()
        svg = camdrawing.feel_sheet(now, case, "drawn", wanted=wish, day=day, theme=theme, width=width)
        known = {"drawn": camrecord.drawn_record(found), "described": described_record(case)}
        return {**known, **case_record(case), "sheet": svg}

    return await runner(request).answer(request, work)


@router.post("/ladder")
async def ladder(request: Request, body: LadderBody) -> Response:
    """Cams in equal felt steps between two ends of one wish."""

    def work(told: Told) -> record.Record:
        ends, known = (body.first, body.last), (body.count, body.wishes, told)
        found = making.draw_ladder(body.job, body.kind, body.key, ends, *known, keep_end=body.keep_end)
        rows = zip(found.values, found.rungs, strict=True)
        return {"varies": found.key, "rungs": [_rung(body, value, rung[0]) for value, rung in rows]}

    return await runner(request).answer(request, work)


def _rung(body: LadderBody, value: float, drawn: Drawn) -> record.Record:
    """One step of a ladder: what it was drawn for, how well, its check, and the cam as a job can hold it."""
    case = cams.drawn_case(body.job, drawn, making.drawn_name(body.kind, {body.key: value}))
    return {
        body.key: value,
        "drawn": camrecord.drawn_record(drawn),
        "name": case.name,
        "check": camrecord.verdict_record(case.verdict),
        "described": described_record(case),
    }


@router.get("/wishes/{kind}")
def wishes(kind: Kind) -> Response:
    """What may be wished of a cam, by key with unit, and the read-out that it speaks of."""
    known = [(key, making.wish_of(kind, key, 1.0)) for key in making.wish_keys(kind)]
    listed = [
        {
            "key": key,
            "label": wish.facet.label,
            "unit": wish.facet.unit,
            "decimals": wish.facet.decimals,
            "readout": f"{wish.readout}_{wish.facet.unit}",
        }
        for key, wish in known
    ]
    return answered({"wishes": listed})


# Make -----------------------------------------------------------------------------------------------------------------


def _cases(body: ExportBody) -> list[CamCase]:
    """The cams whose files are asked for."""
    if body.numbers is not None and body.kind is not None:
        return [racking.numbered_case(body.job, cams.known_kind(body.job, body.kind), body.numbers)]
    if body.drawing is not None and body.kind is not None:
        return [_drawn(body.job, body.kind, body.drawing)[0]]
    if body.drawing is not None or body.numbers is not None:
        raise BadInput(Fault("export", "kind", "is missing; a drawn cam needs it"))
    kinds = cams.kinds_of(body.job) if body.kind is None else (cams.known_kind(body.job, body.kind),)
    return [cams.cam_case(cams.cams_for(body.job, kind, body.cams), kind) for kind in kinds]


@router.post("/export")
async def export(request: Request, body: ExportBody) -> Response:
    """Files of one cam or of all that are fitted: a zip, or one file by its ending, such as .dxf."""

    def work(told: Told) -> Download:
        cases = _cases(body)
        with tempfile.TemporaryDirectory() as place:
            made: list[Made] = []
            for done, case in enumerate(cases):
                told(done, len(cases))
                made.append(making.export_cam(case, Path(place), day=_today()))
            return packed(made, body.ending)

    return await runner(request).answer(request, work)


def packed(made: list[Made], ending: str | None) -> Download:
    """All files in a zip, or the one file that ends as asked."""
    files = {path.name: path for one in made for path in one.files}
    if ending is None:
        whole = io.BytesIO()
        with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, path in files.items():
                archive.write(path, name)
        return Download("cams.zip", "application/zip", whole.getvalue())
    name = f"{made[0].case.name}{ending}"
    if len(made) != 1 or name not in files:
        said = f'is "{ending}"; allowed is, for one kind of cam, the end of one of {", ".join(files)}'
        raise BadInput(Fault("export", "ending", said))
    return Download(name, "application/octet-stream", files[name].read_bytes())


@router.post("/dxf", response_class=Response, responses={200: {"content": {"image/vnd.dxf": {}}}})
def dxf(body: CamBody, release: Literal["R2000", "R12"] = "R2000") -> Response:
    """The outline of one cam to cut, at once."""
    metal = case_of(body).metal
    headers = {"Content-Disposition": f'attachment; filename="{metal.name}.dxf"'}
    return Response(cutfiles.cut_dxf(metal, release), media_type="image/vnd.dxf", headers=headers)


def _today() -> str:
    """The day, for the foot of a sheet."""
    return date.today().isoformat()
