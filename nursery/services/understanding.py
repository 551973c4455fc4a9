"""What people type, understood the same way in forms, files and calculators.

Numbers may carry a decimal comma or point and blanks between thousands. What could mean two things is refused
with both readings named, never guessed. A fraction may be typed as 0.85, 0,85, 85 or 85 %: without a sign,
values above 1 up to 100 are percent, and 1 is the whole.
"""

from __future__ import annotations

import datetime as dt
import re

from nursery.errors import Invalid
from nursery.i18n import current_locale
from nursery.i18n import gettext as _

#: Years in which a nursery's dates can lie; what is outside is a slip of the keyboard.
YEARS = range(1900, 2201)
_BLANKS = re.compile(r"(?<=\d)[\s\u00a0\u2009\u202f'’](?=\d{3}(?!\d))")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d{1,3})?", re.IGNORECASE)
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(\.\d*)?|[+-]?\d{1,3}(?:\.\d{3})+(,\d*)?")
_ONE_GROUP = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_ISO_DATE = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_DAY_DATE = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4})")


def parse_number(text: str, field: str = "value") -> float:
    """The number a person wrote, in any of the product's languages.

    In English the point marks decimals, in Portuguese and Spanish the comma; the other mark is understood as
    decimal too. Only the other mark with three digits after it (1,234 in English, 1.234 in Portuguese) can
    mean thousands as well and is refused.
    """
    typed = _BLANKS.sub("", text.strip().replace("−", "-"))
    foreign = "," if current_locale() == "en" else "."
    if _ONE_GROUP.fullmatch(typed) and foreign in typed:
        raise Invalid(
            {
                field: _(
                    "“%(text)s” can be read as %(decimal)s or as %(thousands)s. Write it without a"
                    " separator for"
                    " thousands, or with one more zero behind the decimal mark.",
                    text=_shown(text),
                    decimal=typed.replace(",", "."),
                    thousands=re.sub("[.,]", "", typed),
                )
            }
        )
    plain = typed
    if _NUMBER.fullmatch(typed):
        plain = typed.replace(",", ".")
    elif _GROUPED.fullmatch(typed):
        marks = [mark for mark in typed if mark in ".,"]
        decimal = marks[-1] if len(set(marks)) == 2 else None
        plain = "".join("." if c == decimal else c for c in typed if c == decimal or c not in ".,")
    else:
        raise Invalid(
            {field: _("“%(text)s” is not a number. Write digits, such as 1250 or 0.5.", text=_shown(text))}
        )
    value = float(plain)
    if value in (float("inf"), float("-inf")):
        raise Invalid({field: _("“%(text)s” is too large. Write a smaller number.", text=_shown(text))})
    return value


def parse_fraction(text: str, field: str = "value") -> float:
    """The fraction 0–1 a person wrote as 0.85, 0,85, 85, 85 % or 85%."""
    typed = text.strip()
    signed = typed.endswith("%")
    value = parse_number(typed.removesuffix("%"), field)
    if not 0 <= value <= 100:
        raise Invalid(
            {
                field: _(
                    "“%(text)s” is not a fraction. Write 0.85 or 85 %%; it lies between 0 and 100 %%.",
                    text=_shown(text),
                )
            }
        )
    return value / 100 if signed or value > 1 else value


def parse_date(text: str, field: str = "value") -> dt.date:
    """The day a person wrote: 2027-11-15, or with the day first 15/11/2027, 15.11.2027 or 15-11-2027.

    The day comes first in every language of the product: its English is written as in Europe.
    """
    typed = text.strip()
    if found := _ISO_DATE.fullmatch(typed):
        year, month, day = (int(part) for part in found.groups())
    elif found := _DAY_DATE.fullmatch(typed):
        day, month, year = int(found[1]), int(found[3]), int(found[4])
    else:
        raise Invalid({field: _no_date(text)})
    try:
        date = dt.date(year, month, day)
    except ValueError:
        raise Invalid({field: _no_date(text)}) from None
    if date.year not in YEARS:
        raise Invalid(
            {
                field: _(
                    "The year %(year)s is out of range. Write a year from %(first)s to %(last)s.",
                    year=date.year,
                    first=YEARS[0],
                    last=YEARS[-1],
                )
            }
        )
    return date


def _no_date(text: str) -> str:
    return _("“%(text)s” is not a date. Write year, month and day, such as 2027-11-15.", text=_shown(text))


def _shown(text: str) -> str:
    """The typed text, short enough to show."""
    typed = text.strip()
    return typed if len(typed) <= 40 else typed[:39] + "…"
