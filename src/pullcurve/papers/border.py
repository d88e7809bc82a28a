"""What stands around a figure: the edge of the sheet, its heading, its notes and its title block."""

from dataclasses import dataclass

from pullcurve.papers import style
from pullcurve.papers.key import Entry, key_rows, key_width, write_key
from pullcurve.papers.letters import text_width, wrap
from pullcurve.papers.plot import Box, element, line, text, words
from pullcurve.papers.style import Theme

EDGE, INSET = 8.0, 20.0
NARROW = 680.0
"""Below this width a figure stands in one column."""

TITLE_LINE, SUBTITLE_LINE, LINE, CELL_LINE = 25.0, 21.0, 18.0, 17.0
KEY_GAP = 24.0
CELL_HEAD, CELL_PAD = 17.0, 7.0
SUBTITLE_SIZE = 15.0
BODY_GAP = 8.0
NONE = "–"


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the foot of a sheet says; the date is given, never read from a clock."""

    job: str = ""
    machine: str = ""
    rider: str = ""
    set: str = ""
    numbers: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """Title, subtitle, the lines below the figure, and its key."""

    title: str
    subtitle: str = ""
    notes: str = ""
    key: tuple[Entry, ...] = ()


def surround(
    given: Heading, block: TitleBlock | None, size: tuple[float, float], theme: Theme
) -> tuple[tuple[str, ...], Box]:
    """Edge, heading, notes and title block of a sheet, and the box that they leave for the figure."""
    width, height = size
    head, top = _heading(given, width, theme)
    edge = element("rect", x=EDGE, y=EDGE, width=width - 2 * EDGE, height=height - 2 * EDGE, fill="none",
                   stroke=theme.ink, stroke_width=style.VISIBLE_EDGE)  # fmt: skip
    foot = height - EDGE - block_height(block, width)
    bottom = foot - _notes_height(given.notes, width)
    parts = [*head, *_notes(given.notes, bottom, width, theme)]
    if block:
        parts += _block(block, foot, width, theme)
    return (*parts, edge), Box(INSET, top, width - INSET, bottom - BODY_GAP)


def surround_height(given: Heading, block: TitleBlock | None, width: float, theme: Theme) -> float:
    """What edge, heading, notes and title block take of the height, px."""
    parts_height = _heading(given, width, theme)[1] + BODY_GAP + EDGE
    return parts_height + _notes_height(given.notes, width) + block_height(block, width)


# Heading ----------------------------------------------------------------------------------------------------


def _heading(given: Heading, width: float, theme: Theme) -> tuple[tuple[str, ...], float]:
    """Title, subtitle and key, and the y where they end; the key stands at the right where there is room."""
    room = width - 2 * INSET
    parts: list[str] = []
    y, end = EDGE + 6.0, 0.0
    for known in wrap(given.title, room, style.TITLE_SIZE, style.SEMIBOLD, 2):
        y, end = y + TITLE_LINE, text_width(known, style.TITLE_SIZE, style.SEMIBOLD)
        parts.append(text(INSET, y, known, theme.ink, style.TITLE_SIZE, font_weight="600", class_="title"))
    for known in wrap(given.subtitle, room, SUBTITLE_SIZE, lines=3):
        y, end = y + SUBTITLE_LINE, text_width(known, SUBTITLE_SIZE)
        parts.append(text(INSET, y, known, theme.ink_2, SUBTITLE_SIZE, class_="subtitle"))
    key = key_width(given.key)
    if end and end + KEY_GAP + key <= room:
        parts += write_key(given.key, width - INSET - key, y, theme)
    else:
        for row in key_rows(given.key, room):
            y += LINE + 4.0
            parts += write_key(row, INSET, y, theme)
    return tuple(parts), y + 10.0


# Foot -------------------------------------------------------------------------------------------------------


def _note_lines(notes: str, width: float) -> tuple[str, ...]:
    """The notes, broken."""
    return wrap(notes, width - 2 * INSET, style.NOTE_SIZE, lines=4)


def _notes_height(notes: str, width: float) -> float:
    """Height of the notes, px."""
    lines = len(_note_lines(notes, width))
    return LINE * lines + 10.0 if lines else 0.0


def _notes(notes: str, y: float, width: float, theme: Theme) -> tuple[str, ...]:
    """The notes, from y downward."""
    return tuple(
        text(INSET, y + LINE * (index + 1) - 4.0, one, theme.ink_2, class_="note")
        for index, one in enumerate(_note_lines(notes, width))
    )


Cell = tuple[str, str, float]


def _rows(block: TitleBlock, width: float) -> tuple[tuple[Cell, ...], ...]:
    """Rows of caption, value and share of the width."""
    if width >= NARROW:
        return (
            (("job", block.job, 0.34), ("machine", block.machine, 0.33), ("rider", block.rider, 0.33)),
            (
                ("set", block.set, 0.56),
                ("origin of numbers", block.numbers, 0.29),
                ("date", block.date, 0.15),
            ),
        )
    return (
        (("job", block.job, 0.68), ("date", block.date, 0.32)),
        (("machine", block.machine, 0.5), ("rider", block.rider, 0.5)),
        (("set", block.set, 1.0),),
        (("origin of numbers", block.numbers, 1.0),),
    )


def _cell_lines(value: str, room: float) -> tuple[str, ...]:
    """What stands in a cell of so much room."""
    return wrap(value, room - 2 * CELL_PAD, style.NOTE_SIZE, lines=2) or (NONE,)


def _row_height(row: tuple[Cell, ...], room: float) -> float:
    """As high as its fullest cell asks."""
    return CELL_HEAD + CELL_LINE * max(len(_cell_lines(value, share * room)) for _, value, share in row) + 4.0


def block_height(block: TitleBlock | None, width: float) -> float:
    """Height of the title block, px."""
    room = width - 2 * EDGE
    return sum(_row_height(row, room) for row in _rows(block, width)) if block else 0.0


def _block(block: TitleBlock, y: float, width: float, theme: Theme) -> tuple[str, ...]:
    """The title block, standing on the lower edge of the sheet."""
    room = width - 2 * EDGE
    deep = block_height(block, width)
    parts = [element("rect", x=EDGE, y=y, width=room, height=deep, fill=theme.surface)]
    weight = style.HIDDEN_EDGE
    for row in _rows(block, width):
        deep = _row_height(row, room)
        x = EDGE
        parts.append(line(EDGE, y, width - EDGE, y, theme.ink, weight))
        weight = style.DIMENSION
        for index, (caption, value, share) in enumerate(row):
            if index:
                parts.append(line(x, y, x, y + deep, theme.ink, style.DIMENSION))
            parts.append(_cell(Box(x, y, x + share * room, y + deep), caption, value, theme))
            x += share * room
        y += deep
    return tuple(parts)


def _cell(box: Box, caption: str, value: str, theme: Theme) -> str:
    """One cell: what it is, small, and what it says; the whole text stays reachable where it is cut."""
    x = box.left + CELL_PAD
    lines = _cell_lines(value, box.width)
    shown = [
        text(x, box.top + CELL_HEAD + CELL_LINE * (index + 1) - 4.5, one, theme.ink, class_="cell")
        for index, one in enumerate(lines)
    ]
    small = text(x, box.top + 14.0, caption, theme.ink_2, style.CAPTION_SIZE, class_="caption")
    whole = (element("title", words(value)),) if " ".join(lines) != " ".join(value.split()) and value else ()
    return element("g", *whole, small, *shown)
