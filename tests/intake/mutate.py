"""Spoilt job files: what slips of the pen, broken disks and bad luck make of a text."""

import random
import re
from collections.abc import Callable, Iterator

Draw = random.Random
Spoil = Callable[[str, Draw], str]

KEY_LINE = re.compile(r"^[\w\"].*=.*$", re.MULTILINE)
HEADER = re.compile(r"^\[.*\]$", re.MULTILINE)
NUMBER = re.compile(r"(?<![\w.\"-])-?\d+(?:\.\d+)?(?![\w.\"-])")
WORD = re.compile(r'"[^"\n]*"')

NUMBERS = (
    "0", "-1", "-0.0", "1e308", "-1e999", "1e999", "nan", "-nan", "inf", "-inf", "1e-320", "0.1.2", "007",
    "9" * 400, "9" * 5000, "0x" + "f" * 9000, "0o17", "0b1", "1_000", "true", "false", '"7"', "[]", "{}", "[[1]]",
    "[1, 'a']", "{ a = 1 }", "2026-05-14", "2026-05-14T10:00:00Z", "10:00:00", "99999999-01-01", "''",
)  # fmt: skip
"""What may stand where a number stood."""

WORDS = (
    '""', '" "', '"brake"', '"clutch"', '"assist"', '"hydraulic"', '"cable"', '"compression"', '"torsion"',
    '"opposed"', '"coil"', '"diaphragm"', '"thumb"', '"a\\nb"', '"\\u0000"', '"\\uD800"', '"' + "x" * 5000 + '"',
    "1", "1.5", "true", "[]", '["index"]', '["index", 3]', "{}", "2026-05-14", '"Ünïcödé ☃ \u202e"', "'", '"',
)  # fmt: skip
"""What may stand where a text stood."""

SIGNS = (
    "\x00",
    "\ufeff",
    "\u2028",
    "\u202e",
    "é",
    "\U0001f600",
    "]",
    "[",
    "{",
    "}",
    '"',
    "'",
    "=",
    ",",
    "\\",
    "\r",
)


def _pick(pattern: re.Pattern[str], text: str, draw: Draw) -> tuple[int, int]:
    """Where one of a pattern's places in a text begins and ends."""
    places = [found.span() for found in pattern.finditer(text)]
    return draw.choice(places) if places else (0, 0)


def _exchange(pattern: re.Pattern[str], others: tuple[str, ...]) -> Spoil:
    """One place of a pattern becomes something else."""

    def spoil(text: str, draw: Draw) -> str:
        start, end = _pick(pattern, text, draw)
        return text[:start] + draw.choice(others) + text[end:]

    return spoil


def _drop_line(text: str, draw: Draw) -> str:
    lines = text.split("\n")
    del lines[draw.randrange(len(lines))]
    return "\n".join(lines)


def _repeat_line(text: str, draw: Draw) -> str:
    lines = text.split("\n")
    row = draw.randrange(len(lines))
    lines.insert(draw.choice((row, draw.randrange(len(lines)))), lines[row])
    return "\n".join(lines)


def _move_line(text: str, draw: Draw) -> str:
    lines = text.split("\n")
    line = lines.pop(draw.randrange(len(lines)))
    lines.insert(draw.randrange(len(lines) + 1), line)
    return "\n".join(lines)


def _rename_key(text: str, draw: Draw) -> str:
    start, end = _pick(re.compile(r"\b[a-z]+(?:_[a-z0-9]+)*(?= = )"), text, draw)
    key = text[start:end]
    at = draw.randrange(len(key) + 1)
    named = (
        key[:at] + key[at + 1 :],
        key[:at] + "x" + key[at:],
        key.upper(),
        f'"{key}\\n"',
        f"{key}.{key}",
        "kind",
    )
    return text[:start] + draw.choice(named) + text[end:]


def _swap_headers(text: str, draw: Draw) -> str:
    one, other = _pick(HEADER, text, draw), _pick(HEADER, text, draw)
    if one == other:
        return text
    (a, b), (c, d) = sorted((one, other))
    return text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]


def _bracket_header(text: str, draw: Draw) -> str:
    """A table becomes a list of tables, a list of tables a table, or a table of something else."""
    start, end = _pick(HEADER, text, draw)
    inner = text[start:end].strip("[]")
    other = (
        f"[{inner}]",
        f"[[{inner}]]",
        f"[{inner}.more]",
        f"[more.{inner}]",
        f"[{inner}.0]",
        f"[[{inner}.kind]]",
    )
    return text[:start] + draw.choice(other) + text[end:]


def _list_value(text: str, draw: Draw) -> str:
    """A value becomes a list or a table of it."""
    start, end = _pick(KEY_LINE, text, draw)
    key, _, value = text[start:end].partition("=")
    other = (
        f"[{value}]",
        f"[{value}, {value}]",
        f"{{ {key.strip()} = {value} }}",
        f"[[{value}]]",
        f"[{value},] # x",
    )
    return text[:start] + f"{key}= {draw.choice(other)}" + text[end:]


def _nest(text: str, draw: Draw) -> str:
    start, end = _pick(NUMBER, text, draw)
    depth = draw.choice((3, 30, 300, 3000))
    opening, closing = draw.choice((("[", "]"), ("{ a = ", " }")))
    return text[:start] + opening * depth + "1" + closing * depth + text[end:]


def _add(text: str, draw: Draw) -> str:
    """Something at the end that nobody asked for."""
    dotted = ".".join("a" * 900)
    many = "\n".join(f"k{row} = {row}" for row in range(300))
    return text + draw.choice(
        ("\nflank_deg = 1", f"\n{dotted} = 1", f"\n{many}", "\n[extra]\na = 1", "\nfall = [" + "1," * 9000)
    )


def _cut(text: str, draw: Draw) -> str:
    return text[: draw.randrange(len(text) + 1)]


def _cut_out(text: str, draw: Draw) -> str:
    start, end = sorted(draw.randrange(len(text) + 1) for _ in range(2))
    return text[:start] + text[end:]


def _sprinkle(text: str, draw: Draw) -> str:
    for _ in range(draw.randint(1, 3)):
        at = draw.randrange(len(text) + 1)
        text = text[:at] + draw.choice(SIGNS) + text[at:]
    return text


SPOILS: tuple[Spoil, ...] = (
    _exchange(NUMBER, NUMBERS),
    _exchange(NUMBER, NUMBERS),
    _exchange(WORD, WORDS),
    _exchange(WORD, WORDS),
    _drop_line,
    _repeat_line,
    _move_line,
    _rename_key,
    _swap_headers,
    _bracket_header,
    _list_value,
    _nest,
    _add,
    _cut,
    _cut_out,
    _sprinkle,
)


def _bytes(text: str, draw: Draw) -> bytes:
    """A text as bytes, at times in another encoding or with bytes that belong to none."""
    whole = text.encode("utf-8", "surrogatepass")
    match draw.randrange(20):
        case 0:
            return text.encode("utf-16")
        case 1:
            return text.encode("latin-1", "replace")
        case 2:
            at = draw.randrange(len(whole) + 1)
            return whole[:at] + draw.randbytes(draw.randint(1, 30)) + whole[at:]
        case 3:
            return whole.replace(b"\n", b"\r\n")
        case 4:
            return b"\xef\xbb\xbf" + whole
        case _:
            return whole


def mutants(text: str, count: int, seed: int) -> Iterator[bytes]:
    """So many spoilt copies of a text, one to four things wrong with each; the same ones for the same seed."""
    draw = random.Random(seed)
    for _ in range(count):
        spoilt = text
        for _ in range(draw.randint(1, 4)):
            spoilt = draw.choice(SPOILS)(spoilt, draw)
        yield _bytes(spoilt, draw)
