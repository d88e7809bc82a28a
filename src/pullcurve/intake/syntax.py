"""What a TOML parser trips over, in plain words and with the line."""

import re
import tomllib
from typing import Any

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.places import short

PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")

REASONS = (
    ("Invalid statement", "no key, section or comment begins like this"),
    ("Invalid value", "no value looks like this; a text stands in quotes, a decimal point is a dot"),
    ("Invalid initial character for a key part", "no key begins like this"),
    ("Invalid date", "there is no such date or time"),
    ("Invalid hex", "an escape in a text has too few digits"),
    ("Escaped character", "an escape in a text names no character"),
    ("Unescaped", "a backslash in a text stands twice, or the text in single quotes"),
    ("Unterminated string", "a text is not closed"),
    ("Expected '='", "a key wants = and a value after it"),
    ("Expected ']", "a section's name is not closed with ]"),
    ("Expected newline", "nothing may follow a value on its line"),
    ("Expected", "a text is not closed"),
    ("Unclosed array", "a list is not closed, or misses a comma"),
    ("Unclosed inline table", "a table in braces is not closed on its line, or misses a comma"),
    ("Cannot declare", "this section stands here a second time, or was closed further up"),
    ("Cannot overwrite", "this key stands here a second time"),
    ("Cannot mutate", "this table was closed further up"),
    ("Cannot redefine", "this table was closed further up"),
    ("Duplicate", "this key stands here a second time"),
    ("Found invalid character", "a character stands here that no file of text may contain"),
    ("Illegal character", "a character stands here that no text or comment may contain"),
)
"""How a parser's message begins, and the same in plain words."""


def reading_fault(message: str) -> str:
    """Rest of the sentence for a file that is no TOML, from the parser's message."""
    reason = next((plain for start, plain in REASONS if message.startswith(start)), "")
    place = PLACE.search(message)
    where = "" if place is None else _where(*place.groups())
    return f"is not TOML{where}{': ' if reason else ''}{reason}"


def _where(line: str | None, column: str | None) -> str:
    return " at its end" if line is None else f" at line {line}, column {column}"


def toml_tables(text: str, name: str, levels: str) -> dict[str, Any]:
    """Tables of a TOML text as typed; raises BadInput, and ``levels`` says how deep such a file may nest."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = reading_fault(str(error))
    except RecursionError:
        said = f"nests lists or tables too deep; {levels}"
    except ValueError:
        said = "holds a number with thousands of digits"
    raise BadInput(Fault(short(name), "", said))
