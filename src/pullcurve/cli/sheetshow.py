"""A written sheet on a terminal, or as JSON."""

import json
from pathlib import Path

import click

from pullcurve.papers.record import plain
from pullcurve.papers.sheet import RiderSheet, Sheet
from pullcurve.papers.sheetrecord import sheet_record
from pullcurve.papers.sheetwords import computed


def written(sheet: Sheet, path: Path, as_json: bool) -> None:
    """Where the sheet lies and whose it is; what is wrong with the set stands first."""
    if as_json:
        answer = {"file": str(path), **sheet_record(sheet)}
        click.echo(json.dumps(plain(answer), ensure_ascii=False, indent=1, allow_nan=False))
        return
    for right, words in computed(sheet) if isinstance(sheet, RiderSheet) else ():
        if not right:
            click.echo(f"! {words}")
    click.echo(f"sheet: {path}")
    click.echo(f"job {sheet.id}, {sheet.day.isoformat()}: {sheet.job.title}")
