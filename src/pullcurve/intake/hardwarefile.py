"""Hardware files: how a workshop's own unit is screwed together, as TOML; every fault in one line, all at once."""

import re
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.items import AoT

from pullcurve.errors import BadInput, Fault
from pullcurve.intake.files import present
from pullcurve.intake.places import short
from pullcurve.intake.sentences import faults
from pullcurve.intake.syntax import toml_tables
from pullcurve.parts.hardware import Hardware

LARGEST = 500_000
"""Bytes that a hardware file may have; the demo units' have some 30 kB."""

LISTED = ("tools", "consumables", "pieces", "tasks")
"""Tables with an id of their own, by which faults call them."""

ROW = re.compile(rf"\b({'|'.join(LISTED)})\.(\d+)")

HEAD = """\
# How one control unit is screwed together. It was written from the hardware of the demo units, which is invented:
# go through it with the unit on the bench, change what differs, then change title and note to what it is now.
#
# pieces      one thing each that comes off in one act (off) and goes back in one (on), with one tool or by hand
#   held_by     what fastens it                        } all must be off before it
#   blocked_by  what is in its way                     }
#   interlocks  what must be off although it could be forced, and what breaks then
#   ahead_of    what it comes off before where both come off; it does not ask for them
#   fastener    screws of one kind; softest: the softer of what heads bear on and threads are cut into
#   traps       what jumps out under load, falls out loose, or hurts; when: "off", "on" or "both"
#   opens       the fluid that it lets out: "brake", "clutch" or "pedal"
#   uses        consumables when it goes back; checks: what is ticked then, "before" or "after" it goes on
#   only        features of a unit without which there is no such piece (check, task, closing)
# tasks       what is done to the unit: the pieces that it is about, and what is exchanged when they are off
# rules       orders of building that have to come out of every task
# cautions, prepare, closing: only what this unit needs beside what is said, prepared and ticked on every unit
# Torques are not written here: they are computed from thread, head and property class.

"""


def read_hardware(path: Path | str) -> Hardware:
    """Read a hardware file; raises BadInput with all its faults."""
    file = present(path, LARGEST, "a hardware description")
    return parse_hardware(decoded(file.read_bytes(), file.name), file.name)


def decoded(content: bytes, name: str) -> str:
    """Text of a hardware file, or one line that says why not."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(
            name, f"is no UTF-8 text from byte {error.start} on; hardware is one TOML file"
        ) from None


def parse_hardware(text: str, name: str) -> Hardware:
    """Hardware from the text of a file; ``name`` is what faults call it."""
    typed = toml_tables(text, name, "hardware has at most four levels")
    try:
        return Hardware.model_validate(typed)
    except ValidationError as error:
        raise BadInput(*hardware_faults(error, name, typed)) from None


def hardware_faults(error: ValidationError, name: str, typed: dict[str, Any]) -> list[Fault]:
    """What is wrong, with each row of a table called by its id."""

    def called(found: re.Match[str]) -> str:
        try:
            id = typed[found[1]][int(found[2])]["id"]
        except (KeyError, IndexError, TypeError):
            return found[0]
        return f"{found[1]}.{short(id)}" if isinstance(id, str) else found[0]

    return [
        Fault(ROW.sub(called, one.where), ROW.sub(called, one.key), one.said)
        for one in faults(error, name, Hardware)
    ]


def _refused(name: str, said: str) -> BadInput:
    return BadInput(Fault(short(name), "", said))


def hardware_text(hardware: Hardware, unit: str) -> str:
    """Hardware of a unit of that name as TOML text with what each key means; without what every unit is told anyway."""
    told = {"cautions", "prepare", "closing"}
    own = hardware.model_copy(update={"unit": unit})
    plain = own.model_dump(mode="json", exclude_defaults=True, exclude=told)
    written = tomlkit.document()
    for key, value in plain.items():
        written[key] = _tables(value) if key in (*LISTED, "rules") else value
    return HEAD + tomlkit.dumps(written)


def _tables(rows: list[dict[str, Any]]) -> AoT:
    """Rows as tables, what lies deeper in them on one line each."""
    found = tomlkit.aot()
    for row in rows:
        table = tomlkit.table()
        for key, value in row.items():
            table[key] = _short(value)
        found.append(table)
    return found


def _short(value: Any) -> Any:
    """A table in braces, a list of them a line each, whole numbers without a point."""
    if isinstance(value, dict):
        braces = tomlkit.inline_table()
        braces.update({key: _short(part) for key, part in value.items()})
        return braces
    if isinstance(value, list):
        lines = tomlkit.array()
        lines.extend(_short(part) for part in value)
        return lines.multiline(any(isinstance(part, dict) for part in value))
    return int(value) if isinstance(value, float) and value.is_integer() else value


__all__ = ["LARGEST", "decoded", "hardware_faults", "hardware_text", "parse_hardware", "read_hardware"]
