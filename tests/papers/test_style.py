"""Colours that can be read, and shapes that can be told apart."""

import pytest

from pullcurve.papers import style
from pullcurve.papers.style import DARK, EVENT_KINDS, EVENT_SIGNS, LIGHT, ROLE_SIGNS, TEXT_TOKENS, Theme


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_21() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # the definition's upper end
    assert contrast("#123456", "#123456") == 1.0


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "surface"])
@pytest.mark.parametrize("token", TEXT_TOKENS)
def test_text_is_readable(theme: Theme, ground: str, token: str) -> None:
    assert contrast(getattr(theme, token), getattr(theme, ground)) >= 4.5  # WCAG 2.2, criterion 1.4.3


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_hairlines_stay_behind(theme: Theme) -> None:
    assert 1.0 < contrast(theme.grid, theme.paper) < 2.0


def test_every_event_and_role_has_its_own_sign() -> None:
    assert list(EVENT_SIGNS) == list(EVENT_KINDS)
    signs = [*EVENT_SIGNS.values(), *ROLE_SIGNS.values()]
    assert len(set(signs)) == len(signs)


def test_style_sheet_variables() -> None:
    known = style.css_variables(LIGHT).splitlines()
    assert "--ink-2: #4A5A64;" in known
    assert len(known) == len({line.split(":")[0] for line in known}) == 10
