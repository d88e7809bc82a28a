"""The bench pull and the drawing of cams, each beside its target.

Run with ``python3 -m benchmarks.measuring``; ``python3 run.py benchmark`` runs it with the others.
"""

import tempfile
import time
from collections.abc import Callable
from functools import partial
from importlib.resources import as_file, files
from pathlib import Path

import numpy as np

from benchmarks.timing import line, timed
from pullcurve.verbs import making, measuring
from pullcurve.verbs.jobs import demo_job

ROWS = 1_000_000
PULLS = 100
"""Rows of the large file, and pulls in it."""


def large_file(path: Path) -> None:
    """A log of many pulls: a straight spring with a tenth of friction, read with scatter, time in milliseconds."""
    dice = np.random.default_rng(1)
    each = ROWS // PULLS
    share = (1.0 - np.cos(2.0 * np.pi * np.arange(each) / each)) / 2.0
    way = np.where(np.arange(each) < each // 2, 1.1, 0.9)
    travel = np.tile(30.0 * share, PULLS) + dice.normal(0.0, 0.05, ROWS)
    force = np.tile((5.0 + 60.0 * share) * way, PULLS) + dice.normal(0.0, 0.3, ROWS)
    with path.open("w", encoding="utf-8") as file:
        file.write("time_ms;travel_mm;force_N\n")
        np.savetxt(file, np.column_stack((np.arange(ROWS), travel, force)), fmt="%.0f;%.3f;%.2f")


def processor(work: Callable[[], object]) -> float:
    """Seconds of processor time that one call takes, which is slow enough to be asked for once."""
    start = time.process_time()
    work()
    return time.process_time() - start


def report() -> None:
    """Measure and report."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "large.csv")
        large_file(path)
        seconds = processor(partial(measuring.read_pull, path))
        line(f"bench pull read, {ROWS:,} rows", f"{seconds:.2f} s", "target 3 s or less, processor time")
    with as_file(files("pullcurve").joinpath("data/demo")) as demo:
        fits, verdicts = [], []
        for path in sorted(demo.glob("*.csv")):
            known = measuring.on_job(measuring.read_pull(path), None, None)
            fits.append(processor(partial(measuring.fit_pull, known)))
            verdicts.append(processor(partial(measuring.diagnose_pull, known)))
    line(f"fit of the {len(fits)} demo pulls, slowest", f"{max(fits):.2f} s", "target 2 s or less")
    line("diagnosis of the same, median", f"{np.median(verdicts):.2f} s", f"slowest {max(verdicts):.2f} s")
    job = demo_job()
    drawn = timed(
        partial(making.draw_cam, job, "brake", making.wanted_feel(job, "brake", {"force_lock_newton": 60.0})),
        3,
    )
    line("one cam drawn for a feel", f"{drawn:.2f} s", "target 5 s or less")


if __name__ == "__main__":
    report()
