"""Columns remembered: what a person once said of a logger's file holds for the next one with the same header line."""

import hashlib
import os
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from pullcurve.errors import BadInput
from pullcurve.intake.bench import read_bench
from pullcurve.intake.benchcolumns import QUANTITIES, unit_named
from pullcurve.intake.benchtext import Sheet, read_sheet
from pullcurve.studies.benchpull import BenchPull

FILE = "bench-columns.toml"
"""File in the folder of a person's own settings."""

MOST = 200
"""Header lines that are remembered; the oldest goes first."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What a person said of a file: by quantity, which column holds it and in which unit."""

    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)

    def over(self, older: "Naming") -> "Naming":
        """What was said now, and of what was said before whatever it leaves open."""
        along = {"travel", "angle"}
        if along & self.columns.keys():  # a pull goes along one of them: the other one was meant before
            older = Naming(
                {key: name for key, name in older.columns.items() if key not in along}, older.units
            )
        return Naming({**older.columns, **self.columns}, {**older.units, **self.units})


def read_remembered(
    path: Path | str, folder: Path | str, naming: Naming, *, drop_first: bool = False
) -> BenchPull:
    """Read a bench pull with what is said now and was said before of such a file, and remember it if that works."""
    sheet = read_sheet(path, head=True)
    key = _key(sheet)
    before = _fitting(sheet, known_columns(folder).get(key, Naming()))
    both = naming.over(before)
    try:
        pull = read_bench(path, columns=both.columns, units=both.units, drop_first=drop_first)
    except BadInput as refusal:
        if both == naming:
            raise
        said = f"; some columns are as remembered in {FILE}"
        raise BadInput(*(replace(fault, said=fault.said + said) for fault in refusal.faults)) from None
    if naming.columns or naming.units:
        remember_columns(folder, key, both)
    return pull


def header_key(path: Path | str) -> str:
    """Fingerprint of a file's header line, or of its number of columns where it has none."""
    return _key(read_sheet(path, head=True))


def _key(sheet: Sheet) -> str:
    line = "\x1f".join(name.casefold() for name in sheet.names) or f"{sheet.width} columns"
    return hashlib.sha256(line.encode("utf-8", "replace")).hexdigest()[:16]


def _fitting(sheet: Sheet, naming: Naming) -> Naming:
    """What a file can follow: the memory may have been written by another hand."""
    names = {name.casefold() for name in sheet.names} | {str(place + 1) for place in range(sheet.width)}
    return Naming(
        {key: name for key, name in naming.columns.items() if name.strip().casefold() in names},
        {key: unit for key, unit in naming.units.items() if (unit_named(unit) or ("", ""))[0] == key},
    )


def known_columns(folder: Path | str) -> dict[str, Naming]:
    """Everything that is remembered, by fingerprint; what is not there or not legible counts as nothing."""
    try:
        content = tomllib.loads((Path(folder) / FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return {key: _naming(said) for key, said in content.items() if isinstance(said, dict)}


def _naming(said: Mapping[str, object]) -> Naming:
    """What is legible of one entry."""
    return Naming(_words(said.get("columns")), _words(said.get("units")))


def _words(said: object) -> dict[str, str]:
    if not isinstance(said, dict):
        return {}
    return {key: word for key, word in said.items() if key in QUANTITIES and isinstance(word, str)}


def remember_columns(folder: Path | str, key: str, naming: Naming) -> bool:
    """Remember what was said of a header line, in place of what was said before; whether that could be written."""
    import tomlkit

    known = known_columns(folder)
    known.pop(key, None)
    known[key] = naming
    kept = dict(list(known.items())[-MOST:])
    file = Path(folder) / FILE
    written = file.with_suffix(f".{os.getpid()}.new")
    try:
        content = tomlkit.dumps(
            {key: {"columns": dict(one.columns), "units": dict(one.units)} for key, one in kept.items()}
        )
        file.parent.mkdir(parents=True, exist_ok=True)
        written.write_text(content, encoding="utf-8")
        written.replace(file)
    except (OSError, ValueError):  # a folder that cannot be written, or a name that is no text
        with suppress(OSError):
            written.unlink(missing_ok=True)
        return False
    return True
