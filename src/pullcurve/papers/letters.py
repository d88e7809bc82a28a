"""How wide a line of text is, and how it is broken or shortened to a width.

The widths are those of Source Sans Pro as its font files give them (thousandths of the type size, without
kerning); a test reads the font files and compares. All digits are equally wide, so columns of numbers align.
"""

import re
import unicodedata
from functools import cache

from pullcurve.papers.style import REGULAR

ELLIPSIS = "…"
UNKNOWN, WIDE = 600, 1000
BOLD_ENOUGH = 550

TIED = "\u00a0"
NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=[^\W\d]{1,4}\b)")

REGULAR_WIDTHS: dict[int, str] = {
    200: " ", 202: "\u00a0", 241: "|", 246: "i", 247: "j", 249: "',.:;·′‘’", 255: "l", 263: "I", 289: "!",
    292: "f", 303: "()[]{}", 311: "-", 331: "°", 338: "t", 347: "r", 350: "/\\", 367: "²³₀", 418: "*",
    419: "s", 425: '"?z“”', 429: "«»", 446: "x", 456: "cç", 467: "vy", 476: "Y", 480: "J–", 486: "L",
    494: "Fκ", 495: "k", 496: "eéè", 497: "#$+0123456789<=>^~×÷±−≤≥≈€", 500: "_", 504: "agäàå", 513: "X",
    515: "V", 522: "θ", 527: "E", 531: "δ", 534: "S", 536: "T", 539: "Z", 542: "`oöø", 544: "AhuÄü",
    547: "nñ", 549: "ρ", 553: "b", 555: "dpq", 560: "α", 562: "µμ", 565: "β", 566: "P", 569: "R",
    571: "C", 576: "ß", 579: "K", 588: "B", 609: "&", 615: "D", 617: "G", 619: "→←↑↓", 645: "UÜ",
    647: "N", 652: "H", 664: "OQÖ", 678: "Ω", 689: "ψ", 718: "w", 727: "M", 781: "¼", 785: "æ", 786: "W",
    796: "¾", 800: "—", 808: "½", 824: "%", 829: "m", 847: "@", 948: "…", 1194: "‰",
}  # fmt: skip

SEMIBOLD_WIDTHS: dict[int, str] = {
    200: " ", 205: "\u00a0", 255: "|", 262: "i", 263: "j", 271: "l", 275: "',.:;·′‘’", 282: "I", 315: "!",
    317: "f", 322: "-", 324: "()[]{}", 344: "/\\", 348: "°", 361: "t", 372: "²³₀", 373: "r", 431: "s",
    438: "*", 443: "z", 444: "?", 456: "«»", 462: "cç", 480: "–", 481: "x", 482: '"“”', 494: "J",
    495: "vy", 500: "_", 501: "Y", 502: "L", 507: "eéè", 510: "F", 513: "#$+0123456789<=>^~×÷±−≤≥≈€",
    516: "aäàå", 520: "gκ", 522: "k", 536: "Vθ", 538: "E", 540: "Zδ", 541: "X", 545: "S", 546: "T",
    549: "`oöø", 556: "uü", 558: "AhÄ", 559: "ρ", 560: "nñ", 563: "b", 564: "dpq", 576: "C", 578: "µμα",
    582: "P", 583: "β", 592: "R", 597: "BK", 604: "ß", 618: "→←↑↓", 625: "D", 628: "G", 639: "&",
    655: "UÜ", 656: "N", 663: "H", 674: "OQÖ", 695: "Ω", 721: "ψ", 745: "M", 748: "w", 785: "æ", 795: "¼",
    800: "W—", 807: "¾", 827: "½", 841: "%", 843: "m", 875: "@", 963: "…", 1222: "‰",
}  # fmt: skip


@cache
def widths(weight: int) -> dict[str, int]:
    """Width of every known character in thousandths of the type size."""
    table = SEMIBOLD_WIDTHS if weight > BOLD_ENOUGH else REGULAR_WIDTHS
    return {letter: width for width, letters in table.items() for letter in letters}


def _width_of_stranger(letter: str) -> int:
    """Width of a character that the table lacks: generous, so that a label never comes out too narrow."""
    if unicodedata.combining(letter):
        return 0
    return WIDE if unicodedata.east_asian_width(letter) in "WF" else UNKNOWN


def text_width(text: str, size: float, weight: int = REGULAR) -> float:
    """Width of a line of text, px."""
    known = widths(weight)
    total = sum(known[letter] if letter in known else _width_of_stranger(letter) for letter in text)
    return total * size / 1000.0


def shorten(text: str, room: float, size: float, weight: int = REGULAR) -> str:
    """The text, cut with an ellipsis where it is wider than the room."""
    if text_width(text, size, weight) <= room:
        return text
    while text and text_width(text.rstrip() + ELLIPSIS, size, weight) > room:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS


def wrap(text: str, room: float, size: float, weight: int = REGULAR, lines: int = 3) -> tuple[str, ...]:
    """The text in at most so many lines, broken at spaces; what does not fit is cut with an ellipsis.

    A number stays with its unit.
    """
    broken: list[str] = []
    words = NUMBER_AND_UNIT.sub(TIED, " ".join(text.split())).split(" ")
    while words and len(broken) < lines - 1:
        taken = 1
        while taken < len(words) and text_width(" ".join(words[: taken + 1]), size, weight) <= room:
            taken += 1
        broken.append(" ".join(words[:taken]))
        words = words[taken:]
    if words:
        broken.append(" ".join(words))
    return tuple(shorten(line.replace(TIED, " "), room, size, weight) for line in broken if line)
