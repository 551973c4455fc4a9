"""Which sites and lots a dossier can be made of, and of which seasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, select
from sqlalchemy.orm import Session

from nursery.models import Dispatch, Planting, PlantMovement, Target
from nursery.services import lots, sites
from nursery.services.listing import ListQuery, read_page
from nursery.services.seasons import season_of

#: Of each kind; more are found by typing more.
SHOWN = 12


@dataclass(frozen=True)
class Subjects:
    """Sites and lots that a text names; ``more`` where there are more than are shown."""

    sites: Sequence[Row[Any]]
    lots: Sequence[Row[Any]]
    more_sites: bool
    more_lots: bool


def find_subjects(session: Session, text: str) -> Subjects:
    """By code, name or species, archived ones too; the first of each where nothing is typed."""
    query = ListQuery(q=text, archived="all")
    found_sites = read_page(session, sites.LISTING, query, size=SHOWN)
    found_lots = read_page(session, lots.LISTING, query, size=SHOWN)
    return Subjects(found_sites.rows, found_lots.rows, bool(found_sites.after), bool(found_lots.after))


def seasons_of(session: Session, *, site_id: int | None = None, lot_id: int | None = None) -> list[int]:
    """Seasons in which something was wanted, sent or planted, the latest first."""
    if site_id is None:
        days = set(session.scalars(select(Planting.planted_on).where(Planting.lot_id == lot_id).distinct()))
        return sorted({season_of(day) for day in days}, reverse=True)
    found = set(session.scalars(select(Target.season).where(Target.site_id == site_id).distinct()))
    for column, where in (
        (Planting.planted_on, Planting.site_id == site_id),
        (PlantMovement.happened_on, PlantMovement.site_id == site_id),
        (Dispatch.planned_on, Dispatch.site_id == site_id),
    ):
        found |= {season_of(day) for day in session.scalars(select(column).where(where).distinct())}
    return sorted(found, reverse=True)
