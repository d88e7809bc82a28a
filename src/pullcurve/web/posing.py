"""The bench over the wire: the pose table that the page interpolates while a lever is dragged."""

import json
from functools import lru_cache

from fastapi import APIRouter, Response

from pullcurve.parts.job import Job
from pullcurve.verbs.asking import Pulled, pull_levers
from pullcurve.verbs.posing import bench_view
from pullcurve.web.bodies import BenchBody

MOST_KNOWN = 16
"""Jobs whose fitted pull is kept at hand: every step on the bench compares with it again."""

router = APIRouter(prefix="/api", tags=["bench"])


@router.post("/bench")
def bench(body: BenchBody) -> Response:
    """Poses, table, sentence and steps of the rack, for what is fitted and for what is proposed."""
    now = _fitted(body.job.model_dump_json(exclude_unset=True))
    found = bench_view(now.job, body.cams, lever=body.lever, fitted=body.fitted, pulled=now)
    # The view is plain data already: a second walk through some ten thousand numbers would be felt.
    return Response(json.dumps(found, allow_nan=False, separators=(",", ":")), media_type="application/json")


@lru_cache(maxsize=MOST_KNOWN)
def _fitted(text: str) -> Pulled:
    """The pull of what a job has fitted, by all that was given of the job."""
    return pull_levers(Job.model_validate_json(text))
