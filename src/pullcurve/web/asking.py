"""Pull, find, swap and the bench over the wire."""

from fastapi import APIRouter, Request, Response

from pullcurve.papers import answers, record
from pullcurve.papers.style import DARK, LIGHT
from pullcurve.pull.readouts import BrakeReadouts, ClutchReadouts, facets
from pullcurve.studies.complaints import complaints
from pullcurve.verbs import asking, drawing
from pullcurve.verbs.asking import Pulled
from pullcurve.web import clouds
from pullcurve.web.bodies import FindBody, PullBody, PullFigureBody, SwapBody
from pullcurve.web.running import Runner, Told, answered

THEMES = {"light": LIGHT, "dark": DARK}
SVG = "image/svg+xml"

router = APIRouter(prefix="/api", tags=["pull, find, swap"])


def pulls(body: PullBody) -> tuple[Pulled, Pulled | None]:
    """What is fitted and, where other cams are named, what is proposed."""
    job, stations, foot = body.job, body.stations, body.foot_newton
    now = asking.pull_levers(job, stations=stations, foot_newton=foot)
    if not body.cams:
        return now, None
    then = asking.with_cams(job, asking.cams_named(job, body.cams))
    return now, asking.pull_levers(job, then, stations=stations, foot_newton=foot)


def _pull_record(known: Pulled) -> record.Record:
    return record.pull_record(known.job, known.pull, known.mechanism, known.origins, known.cams)


@router.post("/pull")
def pull(body: PullBody) -> Response:
    """The pull of every lever with what is fitted; `proposed` holds the same with the named cams."""
    now, then = pulls(body)
    found = _pull_record(now)
    return answered(found if then is None else {**found, "proposed": _pull_record(then)})


@router.post("/pull/figure", response_class=Response, responses={200: {"content": {SVG: {}}}})
def pull_figure(body: PullFigureBody) -> Response:
    """The same as a picture."""
    now, then = pulls(body)
    svg = drawing.figure(now, then, theme=THEMES[body.theme], width=body.width)
    return Response(svg, media_type=SVG)


@router.post("/find")
async def find(request: Request, body: FindBody) -> Response:
    """Sets of the rack that come nearest to the wishes; as lines with progress where the question accepts them."""

    def work(told: Told) -> record.Record:
        found = asking.find_sets(body.job, most=body.most, told=told)
        known = answers.find_record(body.job, found)
        return {**known, "clouds": [clouds.cloud(one) for one in found.levers]} if body.cloud else known

    return await runner(request).answer(request, work)


@router.post("/swap")
async def swap(request: Request, body: SwapBody) -> Response:
    """What exchanging exactly one cam would change; with a complaint, ranked for it."""

    def work(told: Told) -> record.Record:
        return answers.swaps_record(body.job, asking.swap_cam(body.job, body.complaint or None, told=told))

    return await runner(request).answer(request, work)


@router.get("/complaints")
def known_complaints() -> Response:
    """Complaints in the trade's words, and what to check first for each."""
    listed = [{"name": one.name, "lever": one.lever, "words": list(one.words)} for one in complaints()]
    return answered({"complaints": listed})


def runner(request: Request) -> Runner:
    """The threads for long work."""
    found: Runner = request.app.state.runner
    return found


@router.get("/readouts")
def readouts() -> Response:
    """Every read-out of brake and clutch: label, unit, decimals, and whether a finger feels it."""
    both = {"brake": BrakeReadouts, "clutch": ClutchReadouts}
    return answered(
        {
            kind: {
                name: {"label": one.label, "unit": one.unit, "decimals": one.decimals, "felt": one.felt}
                for name, one in facets(known)
            }
            for kind, known in both.items()
        }
    )


@router.get("/alive")
def alive() -> Response:
    """Whether the server is there."""
    return answered({"alive": True})
