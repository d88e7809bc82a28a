"""Times of calls, and lines of the report."""

import time
from collections.abc import Callable

import numpy as np


def timed(work: Callable[[], object], rounds: int) -> float:
    """Median seconds of one call."""
    work()
    found = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return float(np.median(found))


def line(what: str, value: str, target: str) -> None:
    """One line of the report."""
    print(f"{what:<58} {value:>14}   {target}")
