"""The bench over the wire: the pose table that the page interpolates while a lever is dragged."""

from functools import lru_cache
from threading import Lock

from fastapi import APIRouter, Response
from pydantic_core import to_json

from pullcurve.verbs.asking import Pulled, pull_levers
from pullcurve.verbs.posing import bench_view
from pullcurve.web.bodies import BenchBody, job_of

MOST_KNOWN = 64
"""Jobs whose fitted pull is kept at hand: every step on the bench compares with it again."""

MOST_ANSWERS = 512
"""Answers kept at hand, some 50 kB each."""

ONE = Lock()
"""Views are computed one after the other: side by side, threads of one interpreter only hold each other up."""

router = APIRouter(prefix="/api", tags=["bench"])


@router.post("/bench")
def bench(body: BenchBody) -> Response:
    """Poses, table, sentence and steps of the rack, for what is fitted and for what is proposed."""
    text = body.job.model_dump_json(exclude_unset=True)
    return Response(_view(text, body.cams, body.lever, body.fitted), media_type="application/json")


@lru_cache(maxsize=MOST_ANSWERS)
def _view(text: str, cams: tuple[str, ...], lever: int | None, fitted: bool) -> bytes:
    """The answer to one step: a hand goes to and fro between the cams of a rack."""
    with ONE:
        now = _fitted(text)
        view = bench_view(now.job, cams, lever=lever, fitted=fitted, pulled=now)
    # The view is plain data already: a second walk through some ten thousand numbers would be felt.
    return to_json(view, inf_nan_mode="null")


@lru_cache(maxsize=MOST_KNOWN)
def _fitted(text: str) -> Pulled:
    """The pull of what a job has fitted, by all that was given of the job."""
    return pull_levers(job_of(text))
