"""The normals of one place, present beside expected."""

from __future__ import annotations

from dataclasses import dataclass

from babel.support import LazyProxy
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Population, Site
from nursery.models.climates import Climate, Period

PERIOD_LABELS = {Period.PRESENT: _l("Present"), Period.EXPECTED: _l("Expected")}
#: Measure, its label, unit and decimals.
ROWS: tuple[tuple[str, LazyProxy, str, int], ...] = (
    ("mean_annual_c", _l("Mean annual temperature"), "°C", 1),
    ("annual_rain_mm", _l("Annual rain"), "mm", 0),
    ("summer_rain_mm", _l("Summer rain"), "mm", 0),
    ("coldest_month_min_c", _l("Minimum of the coldest month"), "°C", 1),
)


@dataclass(frozen=True, slots=True)
class Normals:
    """A place's climate for both periods; None where nothing is on file."""

    present: Climate | None
    expected: Climate | None

    @property
    def is_known(self) -> bool:
        """Whether anything is on file."""
        return self.present is not None or self.expected is not None

    @property
    def rows(self) -> list[tuple[LazyProxy, str, int, float | None, float | None, float | None]]:
        """Label, unit, decimals, present, expected, and the change where both are known."""
        found = []
        for key, label, unit, digits in ROWS:
            now, later = (None if one is None else getattr(one, key) for one in (self.present, self.expected))
            change = None if now is None or later is None else later - now
            found.append((label, unit, digits, now, later, change))
        return found


def normals_of(session: Session, row: Population | Site) -> Normals:
    """The normals of one place, in one query."""
    own = Climate.population_id if isinstance(row, Population) else Climate.site_id
    found = {climate.period: climate for climate in session.scalars(select(Climate).where(own == row.id))}
    return Normals(found.get(Period.PRESENT), found.get(Period.EXPECTED))
