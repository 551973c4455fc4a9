"""How well a colour can be read: the contrast of WCAG 2.2, and whether a colour may carry headings."""

from __future__ import annotations

import re

from nursery.i18n import format_number
from nursery.i18n import gettext as _

#: Paper of the pages on screen, and of print.
GROUNDS = ("#f4eee0", "#ffffff")
#: Least contrast of text (W3C, Web Content Accessibility Guidelines 2.2, success criterion 1.4.3, level AA).
LEAST = 4.5
_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def contrast(one: str, other: str) -> float:
    """Contrast of two colours ``#rrggbb``, 1 to 21: (lighter + 0.05) ÷ (darker + 0.05), by relative luminance.

    The definitions are those of WCAG 2.2.
    """
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def colour_refusal(colour: str) -> str:
    """Why a colour cannot carry headings, in words; empty where it can. No colour at all is fine."""
    if not colour:
        return ""
    if not _HEX.fullmatch(colour):
        return _("“%(colour)s” is no colour. Write it as #rrggbb, such as #1d5547.", colour=colour)
    least = min(contrast(colour, ground) for ground in GROUNDS)
    if least < LEAST:
        return _(
            "%(colour)s is too pale to be read on paper: its contrast is %(contrast)s to 1, and headings need"
            " %(least)s to 1. Take a darker shade of it.",
            colour=colour,
            contrast=format_number(least, 1),
            least=format_number(LEAST, 1),
        )
    return ""


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
