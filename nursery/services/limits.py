"""Bounds that every door shares: a form, a file and the command line refuse the same values.

The bounds are generous: they catch slips of the keyboard and wrong units, not unusual nurseries.
Where no source is named they are common practice.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace

from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _


@dataclass(frozen=True, slots=True)
class Bounds:
    """A closed interval; ``above`` and ``below`` leave the ends out."""

    low: float
    high: float
    above: bool = False
    below: bool = False

    def holds(self, value: float) -> bool:
        """Whether the value is allowed; no bound holds what is not a number."""
        if not math.isfinite(value):
            return False
        fits_low = value > self.low if self.above else value >= self.low
        return fits_low and (value < self.high if self.below else value <= self.high)

    def refusal(self, value: float) -> str | None:
        """What is wrong with a value, in words, or None."""
        if self.holds(value):
            return None
        places = {
            # Beyond this, decimals cannot be cut to six places, and nobody reads the digits.
            "value": format_number(value, 6) if abs(value) < 1e15 else _many_digits(value),
            "low": format_number(self.low, 3),
            "high": format_number(self.high, 3),
        }
        if self.above and self.below:
            return _("%(value)s is out of range. Give a number above %(low)s and below %(high)s.", **places)
        if self.above:
            return _("%(value)s is out of range. Give a number above %(low)s, up to %(high)s.", **places)
        return _("%(value)s is out of range. Give a number from %(low)s to %(high)s.", **places)

    def share_refusal(self, share: float) -> str | None:
        """What is wrong with a share of the whole, told in percent, as people write it."""
        if self.holds(share):
            return None
        return replace(self, low=self.low * 100, high=self.high * 100).refusal(share * 100)


def _many_digits(value: float) -> str:
    """How a number is named that is too long to be read."""
    if not math.isfinite(value):
        return f"{value:g}"
    return _("A number of %(digits)s digits", digits=math.floor(math.log10(abs(value))) + 1)


class Years(Bounds):
    """Years, which are written without a separator for thousands."""

    def refusal(self, value: float) -> str | None:
        """What is wrong with a year, in words, or None."""
        if self.holds(value):
            return None
        return _(
            "The year %(year)s is out of range. Write a year from %(first)s to %(last)s.",
            year=f"{value:g}" if abs(value) >= 1e15 or value % 1 else int(value),
            first=int(self.low),
            last=int(self.high),
        )


LATITUDE = Bounds(-90, 90)
LONGITUDE = Bounds(-180, 180)
#: Shore of the Dead Sea to the summit of Mount Everest, rounded outward (from memory).
ELEVATION_M = Bounds(-450, 9000)
FRUITING_PLANTS = Bounds(0, 10_000_000)
AREA_HA = Bounds(0, 1_000_000, above=True)
#: A lot above a tonne is a slip of the unit.
AMOUNT_G, AMOUNT_KG = Bounds(0, 1_000_000), Bounds(0, 1000)
#: A hundred tonnes of fruit in one lot is a slip of the unit too.
FRUIT_KG = Bounds(0, 100_000)
PIECES = Bounds(0, 100_000_000)
MOTHER_PLANTS = Bounds(1, 1_000_000)
FRACTION = Bounds(0, 1)
POSITIVE_FRACTION = Bounds(0, 1, above=True)
CHANCE = Bounds(0, 1, above=True, below=True)
MOISTURE_PCT = Bounds(0, 100, above=True, below=True)
#: The heaviest seeds of the temperate zone are chestnuts and walnuts, some 20 g each: 20,000 g (from memory).
TSW_G = Bounds(0, 100_000, above=True)
RIPENING_YEAR = Years(1900, 2200)
SEASON = Years(2000, 2200)
PLANTS = Bounds(1, 100_000_000)
DENSITY_PER_HA = Bounds(0, 1_000_000, above=True)
SEEDS_PER_CELL = Bounds(1, 100)
PRIORITY = Bounds(1, 5)
SURVIVAL_YEARS = (1, 3)


def refuse_coordinates(latitude: float, longitude: float) -> dict[str, str]:
    """What is wrong with a point, by field; says when the two look swapped."""
    if not LATITUDE.holds(latitude) and LATITUDE.holds(longitude) and LONGITUDE.holds(latitude):
        return {
            "latitude": _(
                "%(value)s is off the globe as a latitude. Latitude and longitude look swapped:"
                " latitude comes first and lies between -90 and 90.",
                value=format_number(latitude, 6),
            )
        }
    if latitude == 0 and longitude == 0:
        # What spreadsheets and phones write where nobody knew the place.
        return {"latitude": _("0, 0 lies in the open sea off Africa. Type the coordinates of the place itself.")}
    found = {"latitude": LATITUDE.refusal(latitude), "longitude": LONGITUDE.refusal(longitude)}
    return {field: message for field, message in found.items() if message}


def refuse_collection_date(collected_on: dt.date, ripening_year: int, today: dt.date) -> dict[str, str]:
    """A lot cannot come from the future, nor from before its seed ripened.

    Fruit may hang on the plant: collecting up to two years after ripening is allowed (common practice).
    """
    if collected_on > today:
        return {"collected_on": _("The lot would be collected in the future. Correct the date.")}
    if not ripening_year <= collected_on.year <= ripening_year + 2:
        return {
            "ripening_year": _(
                "Seed that ripened in %(year)s was not collected on %(day)s: collecting follows ripening within"
                " two years. Correct the year or the date.",
                year=ripening_year,
                day=format_date(collected_on),
            )
        }
    return {}


def refuse_test_date(tested_on: dt.date, collected_on: dt.date | None, today: dt.date) -> dict[str, str]:
    """A test lies between collection and today."""
    if tested_on > today:
        return {"tested_on": _("The test would lie in the future. Correct the date.")}
    if collected_on is not None and tested_on < collected_on:
        return {
            "tested_on": _(
                "The test would be before the collection on %(day)s. Correct one of the dates.",
                day=format_date(collected_on),
            )
        }
    return {}


def refuse_planting_day(plant_on: dt.date, season: int) -> dict[str, str]:
    """A planting day lies in one of the season's two years, on whichever half of the globe."""
    if season <= plant_on.year <= season + 1:
        return {}
    return {
        "plant_on": _(
            "%(day)s is not in the season %(season)s. Correct the day or the season.",
            day=format_date(plant_on),
            season=f"{season}/{(season + 1) % 100:02d}",
        )
    }
