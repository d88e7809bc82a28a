"""Speed of a pull and of a search, each beside its target; ratios are taken within this one run.

Run with ``python3 run.py benchmark``.
"""

import os
import resource
from functools import partial

import numpy as np
from scipy.optimize import brentq

from benchmarks import measuring
from benchmarks.timing import line, timed
from pullcurve.mechanics import circuit
from pullcurve.mechanics.curve import FloatArray
from pullcurve.mechanics.law import law
from pullcurve.parts.job import Job
from pullcurve.pull.arrays import BrakeLine, Lever, Mechanism, Rocker
from pullcurve.pull.loop import pull
from pullcurve.pull.mechanism import Choice, mechanism
from pullcurve.pull.solve import solve, travel_end
from pullcurve.verbs.asking import find_sets, pull_levers
from pullcurve.verbs.drawing import figure
from pullcurve.verbs.jobs import demo_job

STATIONS = 128
BATCH = 32
"""Sets pulled together: arrays of this many stay in the processor's cache."""


def station_by_station(lever: Lever, rocker: Rocker, load: BrakeLine) -> FloatArray:
    """Finger force without friction, every station by ``scipy.optimize.brentq`` on the line's pressure."""
    plunger, found = load.plunger, []
    for theta in np.linspace(0.0, float(travel_end(lever)[0]), STATIONS):
        state = law(rocker.law, np.array([theta]))
        stroke = float(rocker.load_arm * (state.psi[0] - rocker.rest_angle))
        moved = max(stroke - float(plunger.rest_gap), 0.0)
        volume = float(plunger.area) * max(moved - float(plunger.port), 0.0)
        pressure = 0.0
        if volume > 0.0:
            pressure = brentq(
                lambda p, v=volume: float(circuit.demand(load.circuit, np.array(p))[0]) - v, 0.0, 4e7
            )
        pushed = float(plunger.spring) + float(plunger.spring_rate) * moved + pressure * float(plunger.area)
        force = pushed if stroke >= float(plunger.rest_gap) else 0.0
        torque = force * float(rocker.load_arm) * float(state.dpsi[0])
        found.append(
            (torque + float(lever.spring_torque + lever.spring_rate * theta)) / float(lever.finger_radius)
        )
    return np.array(found)


def stream_share(lever: Lever, seconds: float) -> float:
    """Share of a batch's time that NumPy needs to write the arrays of the answer once and read them once."""
    theta = np.broadcast_to(np.linspace(0.0, 0.4, STATIONS), (BATCH, STATIONS)).copy()
    arrays = 8 + 12 * len(lever.rockers)

    def stream() -> None:
        for _ in range(arrays):
            np.add(theta, 1.0, out=theta)

    return timed(stream, 5) / seconds


def batch_of(job: Job) -> Mechanism:
    """Many sets of one lever side by side."""
    assert job.rack is not None
    cams = [job.rack.brake_cams[k % len(job.rack.brake_cams)] for k in range(BATCH)]
    return mechanism(job, Choice(brake=tuple(cams)))


def main() -> None:
    """Measure and report."""
    job, single = demo_job(), demo_job("enduro-125.toml")
    whole = mechanism(job)
    one = timed(lambda: pull(whole, STATIONS), 100)
    line(
        "one full pull, three loads, 128 stations, both branches",
        f"{one * 1e3:.2f} ms",
        "target 2 ms or less",
    )

    brake = whole.levers[0]
    rocker = brake.rocker("brake")
    assert rocker is not None and isinstance(rocker.load, BrakeLine)
    load = rocker.load
    slow = timed(lambda: station_by_station(brake, rocker, load), 3)
    theta = travel_end(brake) * np.linspace(0.0, 1.0, STATIONS)
    agreement = np.max(
        np.abs(station_by_station(brake, rocker, load) - solve(brake, theta, whole.worn).force)
    )
    sets = batch_of(job)
    grid = travel_end(sets.levers[0]) * np.linspace(0.0, 1.0, STATIONS)
    batch = timed(lambda: solve(sets.levers[0], grid, sets.worn), 5)
    line(
        "the same lever by brentq, station by station", f"{slow * 1e3:.1f} ms", f"agrees to {agreement:.0e} N"
    )
    line(
        "  times as slow as a pull alone",
        f"{slow / timed(lambda: solve(brake, theta, whole.worn), 50):.0f}",
        "",
    )
    line("  times as slow as a pull in a batch", f"{slow / (batch / BATCH):.0f}", "target 100 or more")
    line("curves per second, in batches, four branches each", f"{BATCH / batch:,.0f}", "")
    line("share of that time to stream the same arrays", f"{stream_share(sets.levers[0], batch):.1%}", "")

    shown = pull_levers(job)
    line("its figure, times a pull", f"{timed(lambda: figure(shown), 5) / one:.0f}", "")

    for known, name in ((job, "two-lever unit"), (single, "one lever with all cams")):
        count = sum(lever.table.count for lever in find_sets(known).levers)
        seconds = timed(partial(find_sets, known), 5)
        line(f"rack searched, {name}, {count:,} sets", f"{seconds:.3f} s", "target 0.3 s or less")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    line("peak memory of this process", f"{memory:.0f} MB", f"target 300 MB or less; {os.cpu_count()} cores")
    measuring.report()


if __name__ == "__main__":
    main()
