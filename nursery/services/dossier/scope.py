"""How far a dossier reaches: from what stands at a site, or became of a lot, back to the mothers."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import ColumnElement, Select, select
from sqlalchemy.orm import Session

from nursery.models import Batch, Dispatch, DispatchLine, Lot, PlanLine, Planting, PlantMovement, Site, Target
from nursery.models.batches import PlantMovementKind
from nursery.services import records
from nursery.services.batches.origins import batch_lots
from nursery.services.dossier.asking import Asked, Basis
from nursery.services.flows import Origins, follow_lot
from nursery.services.flows.back import origins_of
from nursery.services.flows.reading import Planned, Planted, read_planned, read_planted
from nursery.services.flows.sent import Sent, read_sent
from nursery.services.planning.plans import current_plan
from nursery.services.seasons import season_of, season_span

Condition = ColumnElement[bool]
_JOINS = (PlantMovementKind.SPLIT, PlantMovementKind.MERGED)


@dataclass(frozen=True)
class Scope:
    """What the tables of a dossier are filled with, by ids."""

    asked: Asked
    subject: Site | Lot
    planted: Sequence[Planted]
    sent: Sequence[Sent]
    planned: Sequence[Planned]
    origins: Mapping[Basis, Origins]
    #: Pairs of a lot and a site for which the rules of origin are asked.
    pairs: Sequence[tuple[int, int]]
    planting_ids: Sequence[int]
    target_ids: Sequence[int]
    lot_ids: Sequence[int]
    batch_ids: Sequence[int]
    load_ids: Sequence[int]
    site_ids: Sequence[int]
    #: Plants alive in the nursery: for the site, or of the lot.
    growing: float = 0.0
    #: Share of each lot in each batch.
    batch_lots: Mapping[int, Mapping[int, float]] = field(default_factory=dict)

    @property
    def site(self) -> Site | None:
        """The site, where the dossier is of one."""
        return self.subject if isinstance(self.subject, Site) else None

    @property
    def lot(self) -> Lot | None:
        """The lot, where the dossier is of one."""
        return self.subject if isinstance(self.subject, Lot) else None

    @property
    def plants(self) -> int:
        """Plants that were planted: at the site, or of the lot."""
        return round(sum(row.plants for row in self.planted))


def reach(session: Session, asked: Asked) -> Scope:
    """How far the dossier reaches, in a fixed number of queries."""
    if asked.site_id is not None:
        return _of_site(session, asked, records.get(session, Site, asked.site_id))
    return _of_lot(session, asked, records.get(session, Lot, asked.lot_id or 0))


def _of_site(session: Session, asked: Asked, site: Site) -> Scope:
    planted = read_planted(session, Planting.site_id == site.id, *_days(asked))
    sent = [row for row in read_sent(session, site_id=site.id) if _within(asked, row.day)]
    plan = current_plan(session)
    of_season = [PlanLine.season == asked.season] if asked.season is not None else []
    planned = read_planned(session, plan.id if plan else None, PlanLine.site_id == site.id, *of_season)
    targets = select(Target.id).where(Target.site_id == site.id, Target.archived_at.is_(None))
    if asked.season is not None:
        targets = targets.where(Target.season == asked.season)
    target_ids = session.scalars(targets.order_by(Target.id)).all()
    loads = session.scalars(
        select(Dispatch.id).where(Dispatch.site_id == site.id, *_load_days(asked)).order_by(Dispatch.id)
    ).all()
    batches = set(session.scalars(select(DispatchLine.batch_id).where(DispatchLine.dispatch_id.in_(loads))))
    alive = {row[0]: row[1] for row in session.execute(_growing(target_ids))}
    growing = _of_batches(session, alive)
    plants = {
        Basis.PLANTED: _together(planted),
        Basis.SENT: _together(sent),
        Basis.GROWING: growing,
        Basis.PLANNED: _together(planned),
    }
    origins = {
        basis: origins_of(session, select(Lot.id).where(Lot.id.in_(found)), found)
        for basis, found in plants.items()
        if found
    }
    batches |= {*alive, *(row.id for row in sent)}
    rows: list[Planted | Sent | Planned] = [*planted, *sent, *planned]
    return _closed(
        session, asked, site, planted, sent, planned, origins,
        pairs={(lot_id, site.id) for lot_id in {*growing, *(row.lot_id for row in rows)}},
        lots=set(), batches=batches, loads=loads, sites={site.id}, targets=target_ids, growing=sum(alive.values()),
    )  # fmt: skip


def _of_lot(session: Session, asked: Asked, lot: Lot) -> Scope:
    _lot, onward = follow_lot(session, current_plan(session), lot.id)
    shares = onward.shares
    planted = [
        row._replace(plants=row.plants * shares[row.lot_id]) for row in onward.plantings if _within(asked, row.day)
    ]
    sent = [row._replace(plants=row.plants * shares[row.lot_id]) for row in onward.sent if _within(asked, row.day)]
    planned = [
        row._replace(plants=row.plants * shares[row.lot_id])
        for row in onward.lines
        if asked.season in {None, row.season}
    ]
    batches = {batch.id for batch, _share in onward.batches}
    loads = session.scalars(
        select(Dispatch.id)
        .where(
            Dispatch.id.in_(select(DispatchLine.dispatch_id).where(DispatchLine.batch_id.in_(batches))),
            *_load_days(asked),
        )
        .order_by(Dispatch.id)
    ).all()
    rows: list[Planted | Sent | Planned] = [*planted, *sent, *planned]
    sites = {row.site_id for row in rows}
    sites |= set(session.scalars(select(Dispatch.site_id).where(Dispatch.id.in_(loads))))
    origins = {Basis.LOT: origins_of(session, select(Lot.id).where(Lot.id == lot.id), {lot.id: 1.0})}
    return _closed(
        session, asked, lot, planted, sent, planned, origins,
        pairs={(row.lot_id, row.site_id) for row in rows} | {(lot.id, site_id) for site_id in sites},
        lots={lot.id, *shares}, batches=batches, loads=loads, sites=sites, targets=(), growing=onward.growing,
    )  # fmt: skip


def _closed(
    session: Session, asked: Asked, subject: Site | Lot, planted: Sequence[Planted], sent: Sequence[Sent],
    planned: Sequence[Planned], origins: Mapping[Basis, Origins], *, pairs: set[tuple[int, int]], lots: set[int],
    batches: set[int], loads: Sequence[int], sites: set[int], targets: Sequence[int],
    growing: float,
) -> Scope:  # fmt: skip
    """With the batches behind the batches, and every lot that any row names."""
    planting_ids = sorted({row.id for row in planted})
    named = session.execute(select(Planting.lot_id, Planting.batch_id).where(Planting.id.in_(planting_ids))).all()
    batches |= {row.batch_id for row in named if row.batch_id is not None}
    batches |= _behind(session, batches)
    shares = batch_lots(session, batches)
    lots = lots | {lot_id for lot_id, _site in pairs} | {row.lot_id for row in named}
    lots |= {lot_id for found in shares.values() for lot_id in found}
    lots |= {one.lot.id for found in origins.values() for one in found.lots}
    return Scope(
        asked, subject, planted, sent, planned, origins, sorted(pairs), planting_ids, targets, sorted(lots),
        sorted(batches), loads, sorted(sites), growing, shares,
    )  # fmt: skip


def _behind(session: Session, batch_ids: Iterable[int]) -> set[int]:
    """Batches whose plants came into these by splits and mergers, through any chain."""
    up = select(Batch.id.label("id")).where(Batch.id.in_(set(batch_ids))).cte("before", recursive=True)
    up = up.union(
        select(PlantMovement.other_batch_id)
        .join(up, PlantMovement.batch_id == up.c.id)
        .where(PlantMovement.kind.in_(_JOINS), PlantMovement.change > 0, PlantMovement.other_batch_id.is_not(None))
    )
    return set(session.scalars(select(up.c.id)))


def _growing(target_ids: Sequence[int]) -> Select[int, int]:
    """Batches sown for targets, or given to them, and their plants alive."""
    return select(Batch.id, Batch.alive).where(Batch.target_id.in_(target_ids))


def _of_batches(session: Session, alive: Mapping[int, int]) -> dict[int, float]:
    """Plants alive by lot."""
    found: defaultdict[int, float] = defaultdict(float)
    for batch_id, shares in batch_lots(session, [one for one, plants in alive.items() if plants]).items():
        for lot_id, share in shares.items():
            found[lot_id] += share * alive[batch_id]
    return dict(found)


def _together(rows: Sequence[Planted] | Sequence[Sent] | Sequence[Planned]) -> dict[int, float]:
    found: defaultdict[int, float] = defaultdict(float)
    for row in rows:
        found[row.lot_id] += row.plants
    return dict(found)


def _days(asked: Asked) -> list[Condition]:
    if asked.season is None:
        return []
    return [Planting.planted_on.between(*season_span(asked.season))]


def _load_days(asked: Asked) -> list[Condition]:
    return [] if asked.season is None else [Dispatch.planned_on.between(*season_span(asked.season))]


def _within(asked: Asked, day: dt.date) -> bool:
    return asked.season is None or season_of(day) == asked.season
