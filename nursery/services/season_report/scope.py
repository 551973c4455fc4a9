"""What a season's report is about: its days, its batches, and the names that its rows carry."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Batch, PlanLine, Site, Species, Target
from nursery.services.seasons import season_of, season_span


class SeasonBatch(NamedTuple):
    """A batch that grew for the season."""

    id: int
    code: str
    species_id: int
    site_id: int | None
    seeds: int
    viability: float | None
    seed_act: str
    alive: int


@dataclass(frozen=True)
class Scope:
    """One season as it is reported on."""

    season: int
    first: dt.date
    last: dt.date
    as_of: dt.date
    species: Mapping[int, str]
    sites: Mapping[int, str]
    batches: Mapping[int, SeasonBatch]

    def holds(self, day: dt.date) -> bool:
        """Whether a day lies in the season."""
        return self.first <= day <= self.last

    def species_name(self, species_id: int | None) -> str:
        """A species' scientific name; empty for none."""
        return self.species.get(species_id or 0, "")

    def site_name(self, site_id: int | None) -> str:
        """A site's name; empty for none."""
        return self.sites.get(site_id or 0, "")


#: From this month on no winter planting is to be expected any more (common practice round the Mediterranean, no
#: source).
_OVER_FROM = 4


def last_season(today: dt.date) -> int:
    """The last season whose planting winter is over: the one that is reported on."""
    return today.year - 1 if today.month >= _OVER_FROM else today.year - 2


def read_scope(session: Session, season: int, *, today: dt.date) -> Scope:
    """Names and batches, in three queries."""
    first, last = season_span(season)
    return Scope(
        season, first, last, today,
        dict(session.execute(select(Species.id, Species.scientific_name)).all()),
        dict(session.execute(select(Site.id, Site.name)).all()),
        {batch.id: batch for batch in _batches(session, season)},
    )  # fmt: skip


def _batches(session: Session, season: int) -> Iterable[SeasonBatch]:
    """Batches of the season's targets; one without a target belongs to the season in which it is ready."""
    known = func.coalesce(Target.season, PlanLine.season)
    rows = session.execute(
        select(
            Batch.id, Batch.code, Batch.species_id, func.coalesce(Target.site_id, PlanLine.site_id), Batch.seeds,
            Batch.viability, Batch.seed_act, Batch.alive, known, Batch.ready_on, Batch.sown_on,
        )
        .outerjoin(Target, Batch.target_id == Target.id)
        .outerjoin(PlanLine, Batch.line_id == PlanLine.id)
        .where(Batch.archived_at.is_(None))
        .order_by(Batch.id)
    )  # fmt: skip
    for *values, own, ready_on, sown_on in rows:
        if (own if own is not None else season_of(ready_on or sown_on)) == season:
            yield SeasonBatch(*values)
