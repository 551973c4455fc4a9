"""Weights and counts in sentences about permits."""

from __future__ import annotations

import re
from collections.abc import Sequence

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _


def weight(milligrams: float) -> str:
    """Grams below a kilogram, else kilograms; rounded to what a person weighs, never to nothing."""
    size = abs(milligrams)
    if size >= 999_500:
        return _("%(kilograms)s kg", kilograms=format_number(milligrams / 1e6, 2))
    digits = 0 if size >= 100_000 else 1 if size >= 10_000 else 2 if size >= 1_000 else 3
    return _("%(grams)s g", grams=format_number(milligrams / 1e3, digits))


def quantity(amount: float, *, by_weight: bool) -> str:
    """Milligrams as a weight, or a count of pieces."""
    return weight(amount) if by_weight else ngettext("%(num)s piece", "%(num)s pieces", round(amount))


def number_key(text: str) -> str:
    """A permit's number without regard to capitals and blanks."""
    return re.sub(r"\s+", " ", text).strip().casefold()


def place_names(text: str) -> Sequence[str]:
    """Named places of a permit line."""
    return [name for part in re.split(r"[;\n]", text) if (name := " ".join(part.split()))]
