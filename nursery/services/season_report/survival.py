"""Survival in the field, exactly as the surveys' own pages reckon it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Survey, SurveyCount, SurveyPlot
from nursery.planning.intervals import wilson_interval
from nursery.services.season_report.scope import Scope


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
    rows = session.execute(
        select(
            SurveyCount.species_id, SurveyPlot.site_id, Survey.season, Survey.year, SurveyCount.planted,
            SurveyCount.alive, SurveyCount.replacements_alive, SurveyCount.causes, Survey.surveyed_on,
        )
        .join(SurveyCount.survey)
        .join(Survey.plot)
        .where(Survey.withdrawn_at.is_(None), SurveyPlot.archived_at.is_(None))
        .order_by(Survey.id, SurveyCount.id)
    )  # fmt: skip
    sums: dict[tuple[int, int, int, int], list[int]] = {}
    causes: defaultdict[str, int] = defaultdict(int)
    for species_id, site_id, season, year, planted, alive, replaced, dead, day in rows:
        if season == scope.season or scope.holds(day):
            found = sums.setdefault((species_id, site_id, season, year), [0, 0, 0])
            found[0] += planted
            found[1] += alive
            found[2] += replaced
        if season == scope.season:
            for cause, plants in dead.items():
                causes[cause] += plants
    made = []
    for key, (planted, alive, replaced) in sums.items():
        low, high = wilson_interval(alive, planted)
        made.append(Surveyed(*key, planted, alive, alive / planted, float(low), float(high), replaced))
    return Survival(scope.season, made, dict(causes))
