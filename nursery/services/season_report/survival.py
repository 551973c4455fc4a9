"""Survival in the field, exactly as the surveys' own pages reckon it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlalchemy.orm import Session

from nursery.planning.intervals import wilson_interval
from nursery.services.season_report.scope import Scope
from nursery.services.surveys.survival import survival


@dataclass(frozen=True)
class Surveyed:
    """Plants of one species in the plots of one site, some years after planting."""

    species_id: int
    site_id: int
    season: int
    year: int
    planted: int
    alive: int
    rate: float
    low: float
    high: float
    replacements: int
    #: Dead by cause; the empty cause holds those whose cause nobody saw.
    causes: Mapping[str, int]


@dataclass(frozen=True)
class Survival:
    """Rows of the season's plantings and of older ones that were looked at in it."""

    season: int
    rows: Sequence[Surveyed]
    #: Dead plants of the season's plantings by the cause that was seen.
    causes: Mapping[str, int] = field(default_factory=dict)

    def own(self) -> list[Surveyed]:
        """The season's plantings, each species and site by its latest survey."""
        latest: dict[tuple[int, int], Surveyed] = {}
        for one in self.rows:
            key = (one.species_id, one.site_id)
            if one.season == self.season and (key not in latest or one.year > latest[key].year):
                latest[key] = one
        return list(latest.values())

    def rate(self, species_id: int | None = None) -> tuple[float, float, float] | None:
        """Alive among planted with its Wilson interval, of a species or of all; None where nobody looked."""
        some = [one for one in self.own() if species_id is None or one.species_id == species_id]
        planted = sum(one.planted for one in some)
        if not planted:
            return None
        alive = sum(one.alive for one in some)
        low, high = wilson_interval(alive, planted)
        return alive / planted, float(low), float(high)


def read_survival(session: Session, scope: Scope) -> Survival:
    """Surveys of the season's plantings whenever they were made, and of older plantings made in the season."""
    found = Survival(
        scope.season,
        [
            Surveyed(
                one.species_id, one.site_id, one.season, one.year, one.planted, one.alive, one.rate, one.low,
                one.high, one.replacements, one.causes,
            )
            for one in survival(session)
            if one.season == scope.season or (one.season < scope.season and scope.holds(one.surveyed_on))
        ],
    )  # fmt: skip
    causes: Counter[str] = Counter()
    for one in found.own():
        causes.update({cause: plants for cause, plants in one.causes.items() if cause})
    return replace(found, causes=causes)
