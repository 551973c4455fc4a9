"""What was first planted at a site in a season, as far as plantings are written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass, field

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Lot, Planting, Site
from nursery.services.seasons import season_at

#: Site, season, species.
Key = tuple[int, int, int]


@dataclass(slots=True)
class Planted:
    """Plants of one species planted first at one site in one season, and replacements that came later."""

    plants: int = 0
    first_on: dt.date = dt.date.max
    last_on: dt.date = dt.date.min
    #: Lots, and what their material is.
    lots: dict[int, str] = field(default_factory=dict)


def read_planted(session: Session, *, site_ids: Collection[int] | None = None) -> dict[Key, Planted]:
    """All first plantings by site, season and species, in one query; of some sites where they are named."""
    query = (
        select(
            Planting.site_id, Site.latitude, Lot.species_id, Lot.id, Lot.material, Planting.planted_on,
            func.sum(Planting.plants),
        )
        .join(Site, Planting.site_id == Site.id)
        .join(Lot, Planting.lot_id == Lot.id)
        .where(Planting.archived_at.is_(None), Planting.is_replacement.is_(False))
        .group_by(
            Planting.site_id, Site.latitude, Lot.species_id, Lot.id, Lot.material, Planting.planted_on
        )
        .order_by(Planting.planted_on, Lot.id)
    )  # fmt: skip
    if site_ids is not None:
        query = query.where(Planting.site_id.in_(site_ids))
    found: dict[Key, Planted] = {}
    for site_id, latitude, species_id, lot_id, material, day, plants in session.execute(query):
        one = found.setdefault((site_id, season_at(day, southern=latitude < 0), species_id), Planted())
        one.plants += int(plants)
        one.first_on, one.last_on = min(one.first_on, day), max(one.last_on, day)
        one.lots[lot_id] = str(material)
    return found


def seasons_planted(session: Session, site: Site) -> dict[int, tuple[dt.date, dt.date]]:
    """First and last planting day of each season at a site, newest season first."""
    found: dict[int, tuple[dt.date, dt.date]] = {}
    for (_site, season, _species), one in read_planted(session, site_ids=[site.id]).items():
        first, last = found.get(season, (dt.date.max, dt.date.min))
        found[season] = min(first, one.first_on), max(last, one.last_on)
    return dict(sorted(found.items(), reverse=True))
