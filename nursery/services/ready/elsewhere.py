"""Plants that went to a site for no target: sent out there, though nobody asked for them."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session, aliased

from nursery.models import Batch, Container, Nursery, PlanLine, PlantMovement, Site, Species, Target
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.ready.rows import Want
from nursery.services.ready.wanting import SeasonWant
from nursery.services.seasons import season_of, window_days

#: Stands for no target.
NO_TARGET = 0


def read_elsewhere(session: Session) -> list[SeasonWant]:
    """By batch and site, in the season that its report counts them in; two queries."""
    waiting: defaultdict[tuple[int, int], int] = defaultdict(int)
    for one in read_waiting(session):
        if one.target_id is None and one.own_target_id is None:
            waiting[one.batch_id, one.site_id] += one.plants
    found = []
    for row in session.execute(_movements()):
        sent = int(row.plants) - waiting[row.batch_id, row.site_id]
        if sent > 0:
            season = row.season if row.season is not None else season_of(row.ready_on or row.sown_on)
            found.append(SeasonWant(season, _want(row, season, sent)))
    return found


def _movements() -> Any:
    undone, went = aliased(PlantMovement), aliased(Site)
    site = func.coalesce(PlantMovement.site_id, undone.site_id)
    return (
        select(
            PlantMovement.batch_id, went.id.label("site_id"),
            (-func.sum(PlantMovement.change)).label("plants"), went.name.label("site_name"), went.latitude,
            went.window_opens, went.window_closes, Batch.species_id, Species.scientific_name, Batch.ready_on,
            Batch.sown_on, func.coalesce(Target.season, PlanLine.season).label("season"),
            Container.name.label("container_name"), Nursery.name.label("nursery_name"),
        )
        .join(Batch, PlantMovement.batch_id == Batch.id)
        .join(Batch.species)
        .outerjoin(undone, PlantMovement.reverses_id == undone.id)
        .join(went, went.id == site)
        .outerjoin(Target, Batch.target_id == Target.id)
        .outerjoin(PlanLine, Batch.line_id == PlanLine.id)
        .outerjoin(Batch.container)
        .outerjoin(Nursery, Nursery.id == func.coalesce(Batch.nursery_id, Container.nursery_id))
        .where(
            func.coalesce(PlantMovement.target_id, undone.target_id).is_(None),
            or_(Target.id.is_(None), Target.site_id != site), Batch.archived_at.is_(None),
        )
        .group_by(PlantMovement.batch_id, went.id)
        .order_by(PlantMovement.batch_id, went.id)
    )  # fmt: skip


def _want(row: Any, season: int, sent: int) -> Want:
    opens, closes = window_days(season, row.window_opens, row.window_closes, southern=row.latitude < 0)
    return Want(
        target_id=NO_TARGET, species_id=row.species_id, species_name=row.scientific_name, site_id=row.site_id,
        site_name=row.site_name, nursery_name=row.nursery_name or "", container_name=row.container_name or "",
        wanted=0, sent=sent, covered=0, to_sow=0, opens_on=opens, closes_on=closes,
    )  # fmt: skip
