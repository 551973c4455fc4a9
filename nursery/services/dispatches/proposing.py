"""What could go to a site now: for each open target its own batches first, then free ones that may stand there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from nursery.models import Batch, Dispatch, DispatchLine, PlanLine, PlantMovement, Site, Target
from nursery.models.dispatches import DispatchStatus
from nursery.planning.growing.words import Stage
from nursery.services.dispatches.judging import Judged, judge_batches
from nursery.services.dispatches.planning import plan_load
from nursery.services.dispatches.reserving import reserved
from nursery.services.dispatches.waiting import read_waiting
from nursery.services.health.quarantine import standing_quarantines
from nursery.services.planning.plans import current_plan
from nursery.services.seasons import season_of
from nursery.services.targets.meaning import wanted_of


@dataclass(frozen=True, slots=True)
class Proposed:
    """Plants of a batch that could go for a target."""

    target: Target
    batch: Batch
    plants: int
    #: Whether the batch was sown for the target, or belongs to nobody.
    is_own: bool
    judged: Judged


@dataclass(frozen=True, slots=True)
class Open:
    """A target of the site with what it still waits for, and what could go."""

    target: Target
    wanted: int
    #: At the site or on its way.
    sent: int
    #: In loads that are planned already.
    planned: int
    lines: Sequence[Proposed]

    @property
    def left(self) -> int:
        """Plants that no load has yet."""
        return max(self.wanted - self.sent - self.planned, 0)

    @property
    def short(self) -> int:
        """Of these, what nothing ready can give today."""
        return max(self.left - sum(one.plants for one in self.lines), 0)


def propose(
    session: Session, site: Site, *, planned_on: dt.date, today: dt.date, season: int | None = None
) -> list[Open]:
    """Every target of the site and season with its proposal, in a fixed number of queries."""
    year = season_of(planned_on) if season is None else season
    targets = session.scalars(
        select(Target)
        .where(Target.site_id == site.id, Target.season == year, Target.archived_at.is_(None))
        .options(joinedload(Target.species))
        .order_by(Target.priority, Target.id)
    ).all()
    if not targets:
        return []
    wanted, sent = _wanted(session, targets), _sent(session, [one.id for one in targets])
    planned = _planned(session, [one.id for one in targets])
    batches = _ready(session, {one.species_id for one in targets}, {one.id for one in targets}, planned_on)
    ids = [batch.id for batch in batches]
    kept, shut = reserved(session, ids), standing_quarantines(session, ids)
    judged = judge_batches(session, ids, site.id, today=today)
    free = {batch.id: max(batch.alive - kept.get(batch.id, 0), 0) for batch in batches if batch.id not in shut}
    found: dict[int, list[Proposed]] = {one.id: [] for one in targets}
    left = {one.id: max(wanted[one.id] - sent.get(one.id, 0) - planned.get(one.id, 0), 0) for one in targets}
    for is_own in (True, False):
        for target in targets:
            for batch in batches:
                fits = batch.target_id == target.id if is_own else batch.target_id is None
                plants = min(left[target.id], free.get(batch.id, 0))
                if not fits or not plants or batch.species_id != target.species_id or not judged[batch.id].allowed:
                    continue
                found[target.id].append(Proposed(target, batch, plants, is_own, judged[batch.id]))
                free[batch.id] -= plants
                left[target.id] -= plants
    return [
        Open(one, wanted[one.id], sent.get(one.id, 0), planned.get(one.id, 0), found[one.id]) for one in targets
    ]


def make_load(
    session: Session, actor: str, *, site: Site, planned_on: dt.date, today: dt.date, season: int | None = None
) -> Dispatch:
    """A load of everything proposed for a site, what is planted last first on the lorry."""
    lines = [
        line
        for one in propose(session, site, planned_on=planned_on, today=today, season=season)
        for line in one.lines
    ]
    lines.sort(key=lambda line: (line.target.plant_on or dt.date.min, -line.target.priority), reverse=True)
    return plan_load(
        session, actor, site_id=site.id, planned_on=planned_on, today=today,
        lines=[
            {"batch_id": line.batch.id, "target_id": line.target.id, "plants": line.plants} for line in lines
        ],
    )  # fmt: skip


def _wanted(session: Session, targets: Sequence[Target]) -> dict[int, int]:
    """Ready plants that the plan in force promises, else what the target itself asks for."""
    plan = current_plan(session)
    found = {
        one.id: told.plants if (told := wanted_of(_values(one), one.site.area_ha)) is not None else 0
        for one in targets
    }
    if plan is not None:
        rows = session.execute(
            select(PlanLine.target_id, PlanLine.ready_plants).where(
                PlanLine.plan_id == plan.id, PlanLine.target_id.in_([one.id for one in targets])
            )
        )
        found |= {target_id: plants for target_id, plants in rows if target_id is not None}
    return found


def _values(target: Target) -> Mapping[str, object]:
    names = ("basis", "plants", "density_per_ha", "share", "survival_year")
    return {name: getattr(target, name) for name in names}


def _sent(session: Session, target_ids: Collection[int]) -> dict[int, int]:
    """What went for each target, less what came back."""
    rows = session.execute(
        select(PlantMovement.target_id, -func.sum(PlantMovement.change))
        .where(PlantMovement.site_id.is_not(None), PlantMovement.target_id.in_(target_ids))
        .group_by(PlantMovement.target_id)
    )
    found = {target_id: int(plants) for target_id, plants in rows if target_id is not None}
    for one in read_waiting(session, None, DispatchLine.target_id.in_(target_ids)):
        if one.target_id is not None:
            found[one.target_id] = found.get(one.target_id, 0) - one.plants
    return {target_id: max(plants, 0) for target_id, plants in found.items()}


def _planned(session: Session, target_ids: Collection[int]) -> dict[int, int]:
    rows = session.execute(
        select(DispatchLine.target_id, func.sum(DispatchLine.plants))
        .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
        .where(
            Dispatch.status == DispatchStatus.PLANNED, Dispatch.archived_at.is_(None),
            DispatchLine.target_id.in_(target_ids),
        )
        .group_by(DispatchLine.target_id)
    )  # fmt: skip
    return {target_id: int(plants) for target_id, plants in rows if target_id is not None}


def _ready(
    session: Session, species_ids: Collection[int], target_ids: Collection[int], day: dt.date
) -> Sequence[Batch]:
    """Batches that are ready, or hardening and due by the day; those that are ready first."""
    found = session.scalars(
        select(Batch)
        .where(
            Batch.species_id.in_(species_ids), Batch.alive > 0, Batch.archived_at.is_(None),
            Batch.target_id.is_(None) | Batch.target_id.in_(target_ids),
            (Batch.stage == Stage.READY) | ((Batch.stage == Stage.HARDENING) & (Batch.ready_on <= day)),
        )
        .order_by(Batch.stage == Stage.HARDENING, Batch.ready_on, Batch.code)
    )  # fmt: skip
    return found.all()
