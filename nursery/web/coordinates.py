"""Latitude and longitude as people have them: decimal degrees, degrees with minutes, or a pasted pair."""

from __future__ import annotations

import re
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.limits import LATITUDE, LONGITUDE
from nursery.services.understanding import parse_number
from nursery.web.fields import NumberField

_NUMBER = r"[-+−]?\d{1,3}(?:[.,]\d+)?"
# A comma parts two numbers when a blank or a sign follows it, or when both have a decimal point.
_PAIR = re.compile(
    rf"\(?\s*({_NUMBER})\s*°?\s*(?:;|,\s+|,(?=[-+−])|\s+)\s*({_NUMBER})\s*°?\s*\)?"
    r"|([-+−]?\d{1,3}\.\d+),([-+−]?\d{1,3}\.\d+)"
)
_DEGREES = re.compile(
    r"""(?P<sign>[-+−]?)\s*(?P<degrees>\d{1,3})\s*[°º]\s*
        (?:(?P<minutes>\d{1,2}(?:[.,]\d+)?)\s*['′’]\s*)?
        (?:(?P<seconds>\d{1,2}(?:[.,]\d+)?)\s*(?:["″”]|''|′′)\s*)?
        (?P<side>[NSEWO]?)""",
    re.VERBOSE | re.IGNORECASE,
)


def read_pair(text: str) -> tuple[float, float] | None:
    """Latitude and longitude of a pasted pair, or None when the text is not one."""
    whole = _PAIR.fullmatch(text.strip())
    if whole:
        first, second = (part for part in whole.groups() if part is not None)
        return _decimal(first), _decimal(second)
    sexagesimal = [match for match in _DEGREES.finditer(text) if match["side"] or match["minutes"]]
    if len(sexagesimal) == 2:
        if (sexagesimal[0]["side"] or "").upper() in {"E", "W", "O"}:
            sexagesimal.reverse()
        return _from_degrees(sexagesimal[0]), _from_degrees(sexagesimal[1])
    return None


def read_degrees(text: str) -> float:
    """One coordinate; raises ``ValueError`` or ``Invalid``."""
    match = _DEGREES.fullmatch(text.strip())
    if match:
        return _from_degrees(match)
    return float(parse_number(text))


def _decimal(text: str) -> float:
    return float(text.replace("−", "-").replace(",", "."))


def _from_degrees(match: re.Match[str]) -> float:
    minutes, seconds = _decimal(match["minutes"] or "0"), _decimal(match["seconds"] or "0")
    if minutes >= 60 or seconds >= 60:
        raise ValueError(_("“%(text)s” has minutes or seconds of 60 or more. Correct them.", text=match[0]))
    value = int(match["degrees"]) + minutes / 60 + seconds / 3600
    negative = match["sign"] in {"-", "−"} or (match["side"] or "").upper() in {"S", "W", "O"}
    return round(-value if negative else value, 6)


class LatitudeField(NumberField):
    """Degrees north; a pasted pair fills the longitude too."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, unit="°", bounds=LATITUDE, **options)
        self.pair: tuple[float, float] | None = None

    def parse(self, text: str) -> Any:
        """The latitude, alone or first of a pair."""
        self.pair = read_pair(text)
        latitude = self.pair[0] if self.pair else read_degrees(text)
        if abs(latitude) > 90 and abs(latitude) <= 180:
            raise ValueError(
                _(
                    "%(value)s is off the globe as a latitude, which lies between -90 and 90."
                    " Are latitude and longitude swapped?",
                    value=latitude,
                )
            )
        if refusal := LATITUDE.refusal(latitude):
            raise ValueError(refusal)
        return latitude


class LongitudeField(NumberField):
    """Degrees east."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, unit="°", bounds=LONGITUDE, **options)

    def parse(self, text: str) -> Any:
        """The longitude."""
        longitude = read_degrees(text)
        if refusal := LONGITUDE.refusal(longitude):
            raise ValueError(refusal)
        return longitude


class CoordinateFields:
    """The two fields of a form for a place; list it before the base form."""

    latitude = LatitudeField(
        _l("Latitude"),
        needed=True,
        description=_l("Degrees north, such as 40.1234. A pair pasted here fills the longitude too."),
    )
    longitude = LongitudeField(_l("Longitude"), needed=True, description=_l("Degrees east; west is negative."))

    def process(self, *arguments: Any, **options: Any) -> None:
        """Read the form; a pair in the latitude is dealt out when the longitude is empty."""
        super().process(*arguments, **options)  # type: ignore[misc]  # of the form that this is mixed into
        if self.latitude.pair and not self.longitude.typed and self.latitude.data is not None:
            latitude, longitude = (self.latitude.write(value) for value in self.latitude.pair)
            for field, text in ((self.latitude, latitude), (self.longitude, longitude)):
                field.raw_data, field.process_errors = [text], []
                try:
                    field.process_formdata([text])
                except ValueError as refused:
                    field.process_errors = [str(refused)]
