"""What gauges and loggers get wrong in single readings: holes, time, spikes, sign, direction, zero, wrong units."""

from dataclasses import replace

import numpy as np

from pullcurve.errors import BadInput
from pullcurve.intake.benchlog import Log
from pullcurve.intake.cycles import scatter
from pullcurve.mechanics.curve import FloatArray
from pullcurve.pull.arrays import BoolArray
from pullcurve.units import FACTORS

FEWEST = 4
"""Readings that a pull has at least."""

MOST_HOLES = 0.05
MOST_BACK = 0.05
"""Shares of the readings that may be empty, or earlier than the one before."""

ANEW = 0.1
"""A clock starts anew that falls back to less than this share of what it had counted."""

MOST_SCATTER = 0.1
"""Scatter of the place, as a share of its span, beyond which the readings are no movement."""

SPIKE_SCATTER = 8.0
SPIKE_SHARE = 0.02
DIGITS = 3.0
"""A reading is a spike that stands out of its neighbours by so many scatters, so much of the whole range, and so many
steps of the gauge's last digit."""

BESIDE = 3
FEWEST_BESIDE = 28
"""Readings on each side that a spike is compared with, and readings from which on spikes are looked for."""

FORCE_NEWTON = (2.0, 800.0)
TRAVEL_MM = (2.0, 150.0)
ANGLE_DEG = (1.0, 90.0)
PRESSURE_BAR = 300.0
"""What a hand lever is pulled with and how far: well beyond what hands, levers and hydraulic lines reach."""

ONE_SIDED = 10.0
"""A force is one that pulls the other way if it goes so many times as far below zero as above."""

SURE = 0.01
"""Share of the work of one whole pull that a loop must at least take up, or give back, to tell which way is in."""

CLOSED = 0.1
FALLS = -0.5
TORN, TORN_STEPS = 0.25, 10.0
"""A step so large, as a share of the span and in usual steps, is a branch that was lost."""

OFF_ZERO = 0.02
UNLOADED = 0.05

FARTHEST = 3.0
"""Scatters that the lowest of many readings lies below their middle."""


def cleaned(log: Log) -> Log:
    """Readings without holes and spikes, in order, forces positive, travel growing on the pull."""
    log = without_spikes(_in_order(_whole(_taken(log))))
    return _inward(_moving(plausible(_pulling(log))))


def _taken(log: Log) -> Log:
    """Readings without a time or a pressure that was hardly taken: a pull can do without."""
    remarks = []
    for key, row in (("time", log.time), ("pressure", log.pressure)):
        if row is not None and (holes := _holes(row)) > MOST_HOLES * row.size:
            remarks.append(f"{key} is missing in {holes} of {row.size} readings and is not used")
            log = replace(log, time=None) if key == "time" else replace(log, pressure=None)
    return replace(log, remarks=(*log.remarks, *remarks))


def _holes(row: FloatArray) -> int:
    return int(np.count_nonzero(~np.isfinite(row)))


def _whole(log: Log) -> Log:
    """Readings of which nothing is missing."""
    rows = {log.along: log.place, "force": log.force, "pressure": log.pressure, "time": log.time}
    known = {key: np.isfinite(row) for key, row in rows.items() if row is not None}
    whole = np.logical_and.reduce(list(known.values()))
    holes = int(np.count_nonzero(~whole))
    if holes > MOST_HOLES * whole.size:
        first = int(np.argmin(whole))
        where = (
            f"first the {next(key for key, row in known.items() if not row[first])} of reading {first + 1}"
        )
        said = f"has an empty cell or no number in {holes} of {whole.size} readings, {where}"
        raise log.refused(f"{said}; allowed is up to {MOST_HOLES:.0%} of them")
    if holes:
        log = log.keeping(whole, f"{_count(holes, 'reading')} with an empty cell left out")
    if log.place.size < FEWEST:
        raise log.refused(f"has {_count(log.place.size, 'reading')}; a pull needs {FEWEST} at least")
    return log


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _in_order(log: Log) -> Log:
    """Readings in the order of time, each once; a clock that starts anew runs on."""
    if log.time is None:
        return log
    log = _without_doubles(log)
    assert log.time is not None
    step = np.diff(log.time)
    back = np.flatnonzero(step < 0)
    if not back.size:
        return log
    gone = log.time - log.time[0]
    if np.all(gone[back + 1] <= ANEW * gone[back]):
        usual = float(np.median(step[step > 0])) if np.any(step > 0) else 0.0
        shift = np.zeros_like(log.time)
        shift[back + 1] = usual - step[back]
        remark = f"time starts anew {_count(back.size, 'time')}; it was run on"
        return replace(log, time=log.time + np.cumsum(shift), remarks=(*log.remarks, remark))
    if back.size > MOST_BACK * log.time.size + 1:
        raise log.refused(
            f"has {back.size} readings that are earlier than the one before; allowed is time that grows"
        )
    return log.keeping(
        np.argsort(log.time, kind="stable"), f"{_count(back.size, 'reading')} put in order of time"
    )


def _without_doubles(log: Log) -> Log:
    """Readings that were not written a second time: the same time, place and force as the one before."""
    assert log.time is not None
    same = np.logical_and.reduce([np.diff(row) == 0 for row in (log.time, log.place, log.force)])
    if not np.any(same) or np.ptp(log.time) == 0:
        return log
    doubles = _count(int(np.count_nonzero(same)), "reading")
    return log.keeping(np.append(True, ~same), f"{doubles} written twice left out")


def without_spikes(log: Log) -> Log:
    """Readings that do not stand out of their neighbours alone."""
    force, at = np.abs(log.force), log.place - np.min(log.place)
    near = np.minimum(at, np.max(at) - at) < OFF_ZERO * np.max(at)
    rests = near & (force < UNLOADED * np.max(force))  # however short, a lever let go has no force
    out = (spikes(log.force) & ~rests) | spikes(log.place)
    count = int(np.count_nonzero(out))
    return log.keeping(~out, f"{_count(count, 'spike')} left out") if count else log


def spikes(values: FloatArray) -> BoolArray:
    """Which values stand far out of the three on each side, of which the highest and the lowest may be spikes too."""
    found = np.zeros(values.size, dtype=bool)
    if values.size < FEWEST_BESIDE:
        return found
    low, high = np.percentile(values, (0.2, 99.8))
    least = max(SPIKE_SCATTER * scatter(values), SPIKE_SHARE * float(high - low))
    steps = np.abs(np.diff(values))
    digit = float(np.min(steps, where=steps > 1e-9 * (high - low), initial=np.inf))
    if np.isfinite(digit):  # the last digit of a coarse gauge goes back and forth by itself
        least = max(least, DIGITS * digit)
    step = steps > least
    at = np.flatnonzero(step[:-1] | step[1:]) + 1
    at = at[(at >= BESIDE) & (at < values.size - BESIDE)]
    around = [row for row in range(-BESIDE, BESIDE + 1) if row]
    beside = np.sort(values[at[:, None] + np.array(around)], axis=1)
    above = np.maximum(values[at] - beside[:, -2], beside[:, 1] - values[at])
    found[at] = above > np.maximum(least, 2.0 * (beside[:, -2] - beside[:, 1]))
    return found


def _pulling(log: Log) -> Log:
    """Forces that pull are positive."""
    high, low = float(np.max(log.force)), float(np.min(log.force))
    if -low > ONE_SIDED * max(high, 0.0):
        return replace(
            log, force=-log.force, remarks=(*log.remarks, "forces are negative throughout; turned round")
        )
    if -low > 0.5 * high:
        said = f"has forces from {low:.3g} to {high:.3g} N; allowed is one sign throughout"
        raise log.refused(said)
    return log


def plausible(log: Log) -> Log:
    """The same readings, if a hand could have pulled them; BadInput names what is plausible."""
    force = float(np.max(log.force))
    if not FORCE_NEWTON[0] <= force <= FORCE_NEWTON[1]:
        least, most = FORCE_NEWTON
        raise log.refused(
            f"has a largest force of {_plain(force)} N; plausible is {least:g} to {most:g} N: {_unit('force')}"
        )
    unit, (least, most) = ("deg", ANGLE_DEG) if log.angular else ("mm", TRAVEL_MM)
    span = float(np.ptp(log.place)) / FACTORS[unit]
    if span == 0:
        raise log.refused(
            f"has {log.shown(float(log.place[0]))} of {log.along} throughout; a pull moves the lever"
        )
    if not least <= span <= most:
        said = f"has {_plain(span)} {unit} of {log.along} in all; plausible is {least:g} to {most:g} {unit}: "
        raise log.refused(said + _unit(log.along))
    if log.pressure is not None and float(np.max(np.abs(log.pressure))) > PRESSURE_BAR * FACTORS["bar"]:
        highest = float(np.max(np.abs(log.pressure))) / FACTORS["bar"]
        said = f"has a largest pressure of {_plain(highest)} bar; plausible is up to {PRESSURE_BAR:g} bar: "
        raise log.refused(said + _unit("pressure"))
    return log


def _plain(value: float) -> str:
    """A number in three digits, without a power of ten as long as a person can read it."""
    return f"{float(f'{value:.3g}'):g}"


def _unit(quantity: str) -> str:
    return f"see its unit (--unit {quantity}=…) and its column (--column {quantity}=…)"


def _moving(log: Log) -> Log:
    """The same readings, if they follow a lever from one to the next."""
    noise, span = scatter(log.place), float(np.ptp(log.place))
    if noise > MOST_SCATTER * span:
        said = f"has a {log.along} that scatters by {log.shown(noise)} from reading to reading, of {log.shown(span)}"
        raise log.refused(
            f"{said} in all; allowed are readings of one lever in the order in which they were taken"
        )
    return log


def _inward(log: Log) -> Log:
    """Travel that grows on the pull; BadInput where that cannot be told."""
    span = float(np.ptp(log.place))
    peak = float(np.max(log.force))
    work = float(np.sum((log.force[1:] + log.force[:-1]) / 2.0 * np.diff(log.place))) / (span * peak)
    closed = abs(float(log.place[-1] - log.place[0])) < CLOSED * span and not _torn(log.place, span)
    loops = _loops(log.place)
    rising = float(np.corrcoef(log.place, log.force)[0, 1]) if np.ptp(log.force) > 0 else 0.0
    start = (float(log.place[0]) - float(np.min(log.place))) / span
    if closed and abs(work) > SURE * loops:
        backward = work < 0
        if backward and rising > -FALLS and start < 0.5:
            raise _either_way(log)
    elif rising > FALLS:
        return log
    elif start > 1.0 - CLOSED:
        backward = True
    elif start < CLOSED and abs(float(np.min(log.place))) < CLOSED * span:
        backward = False
    else:
        raise _either_way(log)
    if not backward:
        return log
    rest = -_rest(-log.place)
    remark = f"{log.along} falls on the pull; turned round"
    return replace(log, place=2.0 * rest - log.place, remarks=(*log.remarks, remark))


def _torn(place: FloatArray, span: float) -> bool:
    """Whether a whole branch was lost on the way: what a loop encloses is then no work."""
    steps = np.abs(np.diff(place))
    return float(np.max(steps)) > max(TORN * span, TORN_STEPS * float(np.median(steps)))


def _rest(place: FloatArray) -> float:
    """The place at rest, if a pull begins at the least one: the middle of the readings there."""
    low, span = float(np.min(place)), float(np.ptp(place))
    wide = max(OFF_ZERO * span / 2.0, min(2.0 * FARTHEST * scatter(place), 0.1 * span))
    return float(np.median(place[place <= low + wide]))


def _loops(place: FloatArray) -> float:
    """How many times the place goes there and back, at least once."""
    middle = (float(np.max(place)) + float(np.min(place))) / 2.0
    return max(1.0, float(np.count_nonzero(np.diff(place > middle))) / 2.0)


def _either_way(log: Log) -> BadInput:
    said = f"does not tell which way the lever was pulled: the force falls along the {log.along}"
    return log.refused(f"{said}; allowed is a {log.along} of 0 at rest that grows on the pull")


def from_rest(log: Log) -> Log:
    """Places counted from rest, where the readings show where that is; small errors of zero stay."""
    span, rest = float(np.ptp(log.place)), _rest(log.place)
    there = log.force[log.place < rest + OFF_ZERO * span]
    unloaded = float(np.median(there)) < UNLOADED * float(np.max(log.force))
    if rest < -OFF_ZERO * span or (rest > OFF_ZERO * span and unloaded):
        remark = f"{log.along} is {log.shown(rest)} at rest; counted from there"
        return replace(log, place=log.place - rest, remarks=(*log.remarks, remark))
    return log
