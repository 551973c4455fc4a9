"""Loads with all that their pages show, in a fixed number of queries whatever their length."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Dispatch, DispatchLine, FetchedPlants, ReturnedPlants
from nursery.models.dispatches import DispatchStatus
from nursery.services.dispatches.sums import LineSums, line_sums
from nursery.services.dispatches.trays import counts_in_trays, trays_by_line
from nursery.services.seasons import season_span


def loads_of(
    session: Session,
    *,
    site_id: int | None = None,
    season: int | None = None,
    statuses: Collection[DispatchStatus] | None = None,
) -> Sequence[Dispatch]:
    """Loads with their lines and returns, by day; of a site, of a season by the day planned, or in some states."""
    query = _whole().where(Dispatch.archived_at.is_(None)).order_by(Dispatch.planned_on, Dispatch.id)
    if site_id is not None:
        query = query.where(Dispatch.site_id == site_id)
    if season is not None:
        query = query.where(Dispatch.planned_on.between(*season_span(season)))
    if statuses is not None:
        query = query.where(Dispatch.status.in_(statuses))
    return session.scalars(query).unique().all()


def get_load(session: Session, load_id: int) -> Dispatch:
    """A load with its lines, batches and returns; ``NotFound`` where there is none."""
    load = session.scalars(_whole().where(Dispatch.id == load_id)).unique().one_or_none()
    if load is None:
        raise NotFound(_("There is no such load."))
    return load


def loads_of_batch(session: Session, batch_id: int) -> Sequence[tuple[Dispatch, DispatchLine]]:
    """Every load that a batch has plants in or was replaced in, the newest first."""
    rows = session.execute(
        select(Dispatch, DispatchLine)
        .join(DispatchLine, DispatchLine.dispatch_id == Dispatch.id)
        .options(joinedload(Dispatch.site), selectinload(DispatchLine.returns))
        .where((DispatchLine.batch_id == batch_id) | (DispatchLine.substitutes_id == batch_id))
        .where(Dispatch.archived_at.is_(None))
        .order_by(Dispatch.planned_on.desc(), Dispatch.id.desc())
    )
    return [(load, line) for load, line in rows]


def planned_for_target(session: Session, target_id: int) -> Sequence[Dispatch]:
    """Planned loads that have plants for a target."""
    return session.scalars(
        select(Dispatch)
        .where(
            Dispatch.status == DispatchStatus.PLANNED, Dispatch.archived_at.is_(None),
            Dispatch.id.in_(select(DispatchLine.dispatch_id).where(DispatchLine.target_id == target_id)),
        )
        .order_by(Dispatch.planned_on, Dispatch.id)
    ).all()  # fmt: skip


def under_way(session: Session, *, until: dt.date) -> Sequence[Dispatch]:
    """Loads planned for a day up to ``until``, and those on the road, the earliest first; without their lines."""
    return session.scalars(
        select(Dispatch)
        .options(joinedload(Dispatch.site))
        .where(
            Dispatch.archived_at.is_(None),
            (Dispatch.status == DispatchStatus.SENT)
            | ((Dispatch.status == DispatchStatus.PLANNED) & (Dispatch.planned_on <= until)),
        )
        .order_by(Dispatch.planned_on, Dispatch.id)
        .limit(12)
    ).all()


def waiting_returns(session: Session) -> Sequence[ReturnedPlants]:
    """Plants that came back and wait for a decision, the longest first."""
    return session.scalars(
        select(ReturnedPlants)
        .options(
            joinedload(ReturnedPlants.line).options(
                joinedload(DispatchLine.batch).joinedload(Batch.species),
                joinedload(DispatchLine.dispatch).joinedload(Dispatch.site),
            )
        )
        .where(ReturnedPlants.decision.is_(None))
        .order_by(ReturnedPlants.returned_on, ReturnedPlants.id)
    ).all()


@dataclass(frozen=True, slots=True)
class Row:
    """A line with its sums."""

    line: DispatchLine
    sums: LineSums
    #: As they stand, or as they left.
    trays: int | None

    @property
    def lacks_trays(self) -> bool:
        """Whether it left in trays that nobody wrote down."""
        return bool(self.line.act) and self.trays is None and counts_in_trays(self.line.batch)


def rows_of(load: Dispatch) -> list[Row]:
    """Lines in the order of loading."""
    trays = trays_by_line(load.lines)
    return [Row(line, line_sums(line), trays[line.id]) for line in load.lines]


def _whole() -> Select[Dispatch]:
    lines = selectinload(Dispatch.lines)
    return select(Dispatch).options(
        joinedload(Dispatch.site),
        joinedload(Dispatch.recipient),
        lines.joinedload(DispatchLine.batch).joinedload(Batch.species),
        lines.joinedload(DispatchLine.batch).joinedload(Batch.container),
        lines.joinedload(DispatchLine.substitutes),
        lines.joinedload(DispatchLine.target),
        lines.selectinload(DispatchLine.returns),
        lines.selectinload(DispatchLine.fetched).joinedload(FetchedPlants.bench).joinedload(Bench.nursery),
    )
