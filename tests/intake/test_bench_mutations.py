"""Thousands of spoilt tables of readings: each is read, or refused in plain sentences; nothing else ever happens."""

import random
import re
from collections.abc import Callable, Iterator

import numpy as np
import pytest

from pullcurve.errors import BadInput
from pullcurve.intake.bench import read_bench

COUNT, SEED = 2000, 20260514

FOREIGN = re.compile(
    r"invalid|please|traceback|errno|could not convert|<class|object at 0x|codec|numpy", re.IGNORECASE
)
"""What belongs to a library's wording and never to ours."""

CELLS = (
    "", " ", "nan", "NaN", "inf", "-inf", "0", "-0", "1e308", "-1e308", "1e-308", "1e999", "9" * 30, "9" * 400, "1_0",
    "0x10", "1.2.3", "1,2,3", "1.234,5", "12:30:05", "2026-05-14", "x", "°", "٣", "½", '"', '""', '"1', "'1'", "+",
    "-", ".", ",", ";", "\t", "1 2", "#", "1e", "e5", "--5", "true", "null", "\ufeff", "\x1f", "\x1a", "N", "mm", "kgf",
    "\r",
)  # fmt: skip
NAMES = (
    "force", "Kraft [N]", "travel", "Weg [mm]", "angle [rad]", "Winkel [°]", "time [ms]", "Zeit", "p [bar]", "N", "mm",
    "F", "s", "", "force kN", "force [mm]", "x" * 500, "1", "travel [N]", "druck psi", "[", "]", "()", "°", "in",
    "\x1f",
)  # fmt: skip
LINES = (
    "", "#", "# job: x.toml", "# job:", "# lever: clutch", "// lever: foot", "% a: b: c", ";;;", ",,,", "\t\t", "   ",
    "end", "0;0;0", "0,0,0", '"', "nan;nan;nan", "\x0c", "\u2028", "5 5", "1;2;3;4;5;6;7;8;9",
)  # fmt: skip

Draw = random.Random
Spoil = Callable[[list[list[str]], Draw], None]


def good(comma: bool, draw: Draw) -> list[list[str]]:
    """A table as a logger writes it, in its cells: three pulls along a straight line with friction, or a few points."""
    count = draw.choice((5, 8, 20, 60))
    way = np.concatenate([np.linspace(0.0, 24.0, count), np.linspace(24.0, 0.0, count)])
    force = np.where(np.arange(2 * count) < count, 6.0 + 2.0 * way, 4.0 + 1.5 * way) * (way > 0)
    rows = [["time [ms]", "travel [mm]", "force [N]", "pressure [bar]"]]
    for row in range(draw.choice((1, 3)) * 2 * count):
        at = row % (2 * count)
        rows.append([str(10 * row), f"{way[at]:.2f}", f"{force[at]:.1f}", f"{force[at] / 3:.2f}"])
    if draw.random() < 0.5:
        rows = [[*row[:3]] for row in rows]
    if comma:
        rows = [[cell.replace(".", ",") for cell in row] for row in rows]
    return rows


def _row(rows: list[list[str]], draw: Draw) -> list[str]:
    """Some line; one of the first few as often as any other."""
    near = rows[: draw.choice((1, 2, 5, len(rows)))]
    return draw.choice(near)


def _cell(rows: list[list[str]], draw: Draw) -> None:
    row = _row(rows, draw)
    if row:
        row[draw.randrange(len(row))] = draw.choice(CELLS)


def _some_cells(rows: list[list[str]], draw: Draw) -> None:
    share, typed = draw.choice((0.02, 0.2, 1.0)), draw.choice(CELLS)
    for row in rows[1:]:
        if row and draw.random() < share:
            row[draw.randrange(len(row))] = typed


def _column(rows: list[list[str]], draw: Draw) -> None:
    """A column is gone, doubled, constant, a ramp, another unit, quoted or empty."""
    place, kind = draw.randrange(len(rows[0]) or 1), draw.randrange(7)
    factor = draw.choice((-1.0, 1e-3, 1e3, 1e-9, 1e300, 0.0175))
    for number, row in enumerate(rows):
        if place < len(row):
            typed = row[place]
            plain = re.fullmatch(r"-?\d+([.]\d+)?", typed)
            scaled = repr(float(typed) * factor) if plain else typed
            spoilt = ([], [typed] * 2, ["7"], [str(number)], [scaled], [f'"{typed}"'], [""])[kind]
            row[place : place + 1] = spoilt if number or kind in (0, 1, 6) else [typed]


def _name(rows: list[list[str]], draw: Draw) -> None:
    if rows[0]:
        rows[0][draw.randrange(len(rows[0]))] = draw.choice(NAMES)


def _line(rows: list[list[str]], draw: Draw) -> None:
    rows.insert(draw.choice((0, 1, draw.randrange(len(rows) + 1), len(rows))), [draw.choice(LINES)])


def _lines(rows: list[list[str]], draw: Draw) -> None:
    """Lines are taken out, said twice, turned round or mixed."""
    start, end = sorted(draw.randrange(len(rows) + 1) for _ in range(2))
    part, kind = rows[start:end], draw.randrange(5)
    if kind == 0 and end - start < len(rows):
        del rows[start:end]
    elif kind == 1:
        rows[end:end] = [list(row) for row in part]
    elif kind == 2:
        rows[start:end] = part[::-1]
    elif kind == 3:
        draw.shuffle(part)
        rows[start:end] = part
    else:
        rows[:] = [list(row) for row in rows for _ in range(2)]


SPOILS: tuple[Spoil, ...] = (_cell, _cell, _some_cells, _column, _column, _name, _line, _lines)


def _text(text: str, draw: Draw) -> str:
    """A text that is cut, or has a piece missing or a sign too many."""
    match draw.randrange(4):
        case 0:
            return text[: draw.randrange(len(text) + 1)]
        case 1:
            start, end = sorted(draw.randrange(len(text) + 1) for _ in range(2))
            return text[:start] + text[end:]
        case 2:
            at = draw.randrange(len(text) + 1)
            return text[:at] + draw.choice((*CELLS, "\x00", "\ud800")) + text[at:]
        case _:
            return text.replace(
                *draw.choice(((".", ","), (",", ";"), (";", ","), (",", " "), (" ", ""), ("0", "")))
            )


def _bytes(text: str, draw: Draw) -> bytes:
    """A text as bytes, at times in another encoding or with bytes that belong to none."""
    whole = text.encode("utf-8", "surrogatepass")
    match draw.randrange(12):
        case 0:
            return text.encode(draw.choice(("utf-16", "utf-16-le", "utf-16-be")), "replace")
        case 1:
            return text.encode("latin-1", "replace")
        case 2:
            at = draw.randrange(len(whole) + 1)
            return whole[:at] + draw.randbytes(draw.randint(1, 30)) + whole[at:]
        case 3:
            return whole.replace(b"\n", draw.choice((b"\r\n", b"\r", b"\n\n")))
        case 4:
            return b"\xef\xbb\xbf" + whole
        case _:
            return whole


def mutants(count: int, seed: int) -> Iterator[bytes]:
    """So many spoilt tables, each with up to four things wrong; the same ones for the same seed."""
    draw = random.Random(seed)
    for _ in range(count):
        separator, comma = draw.choice(((",", False), (";", True), (";", False), ("\t", True), (" ", False)))
        rows = good(comma, draw)
        for _ in range(draw.randint(0, 3)):
            draw.choice(SPOILS)(rows, draw)
        text = "\n".join(separator.join(row) for row in rows) + "\n"
        if draw.random() < 0.3:
            text = _text(text, draw)
        yield _bytes(text, draw)


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, ...]]:
    """What every mutant is told; nothing for one that could be read."""
    file = tmp_path_factory.mktemp("mutants") / "pull.csv"
    told = []
    for content in mutants(COUNT, SEED):
        file.write_bytes(content)
        try:
            pull = read_bench(file, drop_first=len(content) % 7 == 0)
        except BadInput as refused:
            told.append(tuple(str(fault) for fault in refused.faults))
        else:
            assert np.all(np.isfinite(pull.place)) and np.all(np.isfinite(pull.force))
            told.append(())
    return told


def test_both_happen_often(lines: list[tuple[str, ...]]) -> None:
    assert sum(not told for told in lines) > COUNT / 10
    assert sum(bool(told) for told in lines) > COUNT / 10


def test_each_refusal_is_one_plain_line(lines: list[tuple[str, ...]]) -> None:
    for told in lines:
        assert len(told) <= 1
        for line in told:
            assert line.startswith("pull.csv: ")
            assert line.isprintable() and len(line) < 600
            assert not FOREIGN.search(line)
