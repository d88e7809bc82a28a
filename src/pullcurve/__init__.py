"""Pullcurve: the right cams for a hand, a motorcycle and its hydraulics, by computation.

The names below are the whole interface; each is imported when it is first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pullcurve.errors import BadInput, Impossible
    from pullcurve.parts.cams import AssistCam, BrakeCam, ClutchCam, Fitted
    from pullcurve.parts.job import Job
    from pullcurve.verbs.asking import find_sets, pull_levers, swap_cam
    from pullcurve.verbs.drawing import draw_pull
    from pullcurve.verbs.jobs import demo_job, open_job, start, write_job

__version__ = "0.1.0"

_HOME = {
    "AssistCam": "parts.cams",
    "BadInput": "errors",
    "BrakeCam": "parts.cams",
    "ClutchCam": "parts.cams",
    "Fitted": "parts.cams",
    "Impossible": "errors",
    "Job": "parts.job",
    "demo_job": "verbs.jobs",
    "draw_pull": "verbs.drawing",
    "find_sets": "verbs.asking",
    "open_job": "verbs.jobs",
    "pull_levers": "verbs.asking",
    "start": "verbs.jobs",
    "swap_cam": "verbs.asking",
    "write_job": "verbs.jobs",
}

__all__ = [
    "AssistCam",
    "BadInput",
    "BrakeCam",
    "ClutchCam",
    "Fitted",
    "Impossible",
    "Job",
    "demo_job",
    "draw_pull",
    "find_sets",
    "open_job",
    "pull_levers",
    "start",
    "swap_cam",
    "write_job",
]


def __getattr__(name: str) -> Any:
    """Import a name of the interface when it is first asked for, so that the command line starts at once."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
