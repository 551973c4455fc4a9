"""Latitude and longitude as people write them."""

from __future__ import annotations

import re

from nursery.errors import Invalid
from nursery.i18n import gettext as _

_NUMBER = r"\d+(?:[.,]\d+)?"
_PATTERN = re.compile(
    rf"(?P<before>[A-Z])? ?(?P<sign>[-+])? ?(?P<degrees>{_NUMBER}) ?°?"
    rf"(?: ?(?P<minutes>{_NUMBER}) ?')?(?: ?(?P<seconds>{_NUMBER}) ?\")? ?(?P<after>[A-Z])?"
)
#: Letters of the four winds in English, Portuguese and Spanish; O is oeste, L is leste.
_WINDS = {"N": ("lat", 1), "S": ("lat", -1), "E": ("lon", 1), "L": ("lon", 1), "W": ("lon", -1), "O": ("lon", -1)}


def parse_coordinate(text: str, axis: str) -> float:
    """Degrees from a decimal number or degrees, minutes and seconds; ``axis`` is ``lat`` or ``lon``."""
    plain = text.strip().upper().replace("−", "-").replace("º", "°")  # noqa: RUF100 -- both are typed for minus, degree
    plain = re.sub(r"''|[″”“]", '"', plain)
    plain = re.sub(r"[′’`´]", "'", plain)
    found = _PATTERN.fullmatch(" ".join(plain.split()))
    if not found:
        raise _refused(text)
    minutes, seconds = _value(found["minutes"]), _value(found["seconds"])
    wind = found["before"] or found["after"]
    if minutes >= 60 or seconds >= 60 or (found["before"] and found["after"]) or (wind and found["sign"] == "-"):
        raise _refused(text)
    if wind and _WINDS.get(wind, ("", 0))[0] != axis:
        raise Invalid(
            {
                axis: _(
                    "“%(text)s” belongs in the other column: latitude takes N or S, longitude E or W.", text=text
                )
            }
        )
    sign = _WINDS[wind][1] if wind else (-1 if found["sign"] == "-" else 1)
    degrees = _value(found["degrees"])
    return sign * (degrees + minutes / 60 + seconds / 3600)


def _value(number: str | None) -> float:
    return float(number.replace(",", ".")) if number else 0.0


def _refused(text: str) -> Invalid:
    return Invalid(
        {
            "coordinate": _(
                "“%(text)s” is no coordinate. Write degrees, such as 38.1234 or 38° 7' 24\" N.", text=text
            )
        }
    )
