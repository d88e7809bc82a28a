"""A bench pull from the file of any logger: columns, units, decimals and cycles found, oddities told."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from pullcurve.intake.benchclean import cleaned, from_rest
from pullcurve.intake.benchcolumns import matched
from pullcurve.intake.benchdrift import cut_off, steadied
from pullcurve.intake.benchlog import Log, about
from pullcurve.intake.benchnumbers import numbers
from pullcurve.intake.benchrecord import is_record, read_record
from pullcurve.intake.benchtext import Sheet, read_sheet
from pullcurve.intake.cycles import split
from pullcurve.studies.benchpull import PULL, RELEASE, STILL, BenchPull


def read_bench(
    path: Path | str,
    *,
    columns: Mapping[str, str] | None = None,
    units: Mapping[str, str] | None = None,
    drop_first: bool = False,
) -> BenchPull:
    """Read a bench pull, sort it into pulls, and tell what was odd about it; BadInput where it cannot be used.

    ``columns`` and ``units`` name, by quantity (force, travel, angle, time, pressure), what the file does not tell
    of itself: a column by its name or its number from 1, a unit as it is usually written. With ``drop_first`` the
    first pull, on which seals and cables settle, is left out.
    """
    sheet = read_sheet(path)
    if is_record(sheet):
        pull = read_record(sheet)
        return without_first(pull, sheet.file) if drop_first else pull
    return bench_pull(_log(sheet, columns or {}, units or {}), drop_first)


def _log(sheet: Sheet, columns: Mapping[str, str], units: Mapping[str, str]) -> Log:
    """Readings of a file in SI."""
    known, remarks = matched(sheet, columns, units)
    values, more = numbers(sheet, list(known.values()))
    rows = dict(zip(known, values.T, strict=True))
    job, lever, fitted = about(sheet.told)
    place = "angle" if "angle" in rows else "travel"
    return Log(
        file=sheet.file,
        place=rows[place],
        angular=place == "angle",
        force=rows["force"],
        pressure=rows.get("pressure"),
        time=rows.get("time"),
        remarks=(*remarks, *more),
        job=job,
        lever=lever,
        fitted=fitted,
    )


def bench_pull(log: Log, drop_first: bool = False) -> BenchPull:
    """Readings sorted into pulls and releases, errors of the gauges taken out and told."""
    log = cleaned(log)
    cycles = split(log.place)
    out, remarks = cut_off(log, cycles)
    cycles = replace(cycles, branch=np.where(out, STILL, cycles.branch).astype(np.int8))
    log = from_rest(steadied(replace(log, remarks=(*log.remarks, *remarks)), cycles))
    branch = cycles.branch
    if not np.any(branch == PULL) and not np.any(branch == RELEASE):
        raise log.refused(f"holds no pull: the {log.along} never goes from one end to the other")
    pull = BenchPull(
        name=log.file.name,
        place=log.place,
        angular=log.angular,
        force=log.force,
        pressure=log.pressure,
        time=log.time,
        branch=branch,
        cycle=cycles.cycle,
        remarks=log.remarks,
        job=log.job,
        lever=log.lever,
        fitted=log.fitted,
    )
    return without_first(pull, log.file) if drop_first else pull


def without_first(pull: BenchPull, file: Path) -> BenchPull:
    """A bench pull without its first cycle; BadInput where that is all there is."""
    if pull.cycles < 2:
        raise Log(file, pull.place, pull.angular, pull.force).refused(
            "holds one pull, nothing without the first; allowed are two at least, or the first kept"
        )
    kept = pull.cycle > 0
    return replace(
        pull,
        place=pull.place[kept],
        force=pull.force[kept],
        pressure=None if pull.pressure is None else pull.pressure[kept],
        time=None if pull.time is None else pull.time[kept],
        branch=pull.branch[kept],
        cycle=pull.cycle[kept] - 1,
        remarks=(*pull.remarks, f"the first of {pull.cycles} pulls left out"),
    )
