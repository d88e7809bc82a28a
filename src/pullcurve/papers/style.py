"""The look of every paper and page: colours, line weights, type, and the shapes that stand for events."""

from dataclasses import dataclass, fields
from typing import Literal

EventKind = Literal["bite", "lock-up", "first slip", "free", "clean"]
Role = Literal["fitted", "proposed"]

EVENT_KINDS: tuple[EventKind, ...] = ("bite", "lock-up", "first slip", "free", "clean")

EVENT_SIGNS: dict[EventKind, str] = {
    "bite": "◇",
    "lock-up": "■",
    "first slip": "△",
    "free": "○",
    "clean": "●",
}
"""The shape of every event, as a character for plain text; the plot writer draws the same shapes."""

ROLE_SIGNS: dict[Role, str] = {"fitted": "▷", "proposed": "▶"}
"""Fitted is hollow, proposed is filled: colour never carries the difference alone."""

# Line weights, px -------------------------------------------------------------------------------------------

VISIBLE_EDGE = 2.0
HIDDEN_EDGE = 1.25
CENTRE_LINE = 1.0
DIMENSION = 1.0
HATCHING = 0.75
HAIRLINE = 0.75
PULL = 2.5
RELEASE = 1.5

RELEASE_DASH = "6 4"
HIDDEN_DASH = "5 3"
CENTRE_DASH = "12 3 2 3"

# Type, px ---------------------------------------------------------------------------------------------------

FONT_STACK = "'Source Sans 3','Source Sans Pro','Noto Sans','Segoe UI',sans-serif"
"""The family has two names: the newer one, and the one in the font files that the PDF uses."""

TITLE_SIZE = 20.0
BODY_SIZE = 16.0
NOTE_SIZE = 14.0
CAPTION_SIZE = 12.0

REGULAR = 400
SEMIBOLD = 600


@dataclass(frozen=True, slots=True)
class Theme:
    """The colours of one theme; text colours keep a contrast of at least 4.5 on paper and on surface."""

    paper: str
    surface: str
    ink: str
    ink_2: str
    fitted: str
    proposed: str
    good: str
    caution: str
    danger: str
    grid: str
    """Hairlines behind a plot: meant to be seen last, and never the only carrier of a value."""


LIGHT = Theme(
    paper="#F6F4EE",
    surface="#FFFFFF",
    ink="#1B2A33",
    ink_2="#4A5A64",
    fitted="#1B5A86",
    proposed="#A8430C",
    good="#2B6336",
    caution="#7A4F00",
    danger="#9C1D18",
    grid="#DAD9D2",
)

DARK = Theme(
    paper="#12181C",
    surface="#1A2329",
    ink="#E8EDEF",
    ink_2="#A9B6BD",
    fitted="#7DB9E8",
    proposed="#F0965A",
    good="#7CC48A",
    caution="#E0B050",
    danger="#F08A80",
    grid="#2C363C",
)

TEXT_TOKENS = ("ink", "ink_2", "fitted", "proposed", "good", "caution", "danger")
"""The tokens that text may have."""


def role_colour(theme: Theme, role: Role) -> str:
    """The colour of what is on the machine, or of what is being considered."""
    return theme.fitted if role == "fitted" else theme.proposed


def css_variables(theme: Theme) -> str:
    """The colours as declarations for a style sheet, `--ink-2: #4A5A64;` and so on, one a line."""
    return "\n".join(
        f"--{known.name.replace('_', '-')}: {getattr(theme, known.name)};" for known in fields(theme)
    )
