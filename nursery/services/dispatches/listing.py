"""The list of loads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, case, extract, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Dispatch, DispatchLine, Recipient, ReturnedPlants, Site
from nursery.models.dispatches import DispatchStatus
from nursery.services.dispatches.words import STATUS_LABELS
from nursery.services.listing import Column, Filter, Listing, choice_options, whole
from nursery.services.seasons import season_name, season_of

#: As `seasons.season_of`, for the database.
_SEASON = extract("year", Dispatch.planned_on) - case((extract("month", Dispatch.planned_on) < 7, 1), else_=0)
_ASKED, _SENT, _RECEIVED = (
    select(func.coalesce(func.sum(column), 0))
    .where(DispatchLine.dispatch_id == Dispatch.id)
    .correlate(Dispatch)
    .scalar_subquery()
    for column in (DispatchLine.plants, DispatchLine.sent, DispatchLine.received)
)
_WAITING = (
    select(func.coalesce(func.sum(ReturnedPlants.plants), 0))
    .join(DispatchLine, ReturnedPlants.line_id == DispatchLine.id)
    .where(DispatchLine.dispatch_id == Dispatch.id, ReturnedPlants.decision.is_(None))
    .correlate(Dispatch)
    .scalar_subquery()
)


def _joins(query: Select[Any]) -> Select[Any]:
    return query.join(Site, Dispatch.site_id == Site.id).outerjoin(
        Recipient, Dispatch.recipient_id == Recipient.id
    )


def _sites(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Dispatch.site_id).where(Dispatch.archived_at.is_(None))
    rows = session.execute(select(Site.id, Site.name).where(Site.id.in_(used)).order_by(Site.name).limit(500))
    return [(str(key), name) for key, name in rows]


def _seasons(session: Session) -> Sequence[tuple[str, str]]:
    used = select(Dispatch.planned_on).where(Dispatch.archived_at.is_(None))
    first = session.scalar(used.order_by(Dispatch.planned_on).limit(1))
    last = session.scalar(used.order_by(Dispatch.planned_on.desc()).limit(1))
    if first is None or last is None:
        return []
    return [(str(year), season_name(year)) for year in range(season_of(last), season_of(first) - 1, -1)]


LISTING = Listing(
    model=Dispatch,
    order="-day",
    joins=_joins,
    columns=(
        Column("code", _l("Load"), Dispatch.code, "code", link=("dispatches.detail", Dispatch.id)),
        Column("status", _l("State"), Dispatch.status, "choice", choices=STATUS_LABELS),
        Column("site", _l("Planting site"), Site.name, link=("sites.detail", Site.id)),
        Column("day", _l("Planned for"), Dispatch.planned_on, "date"),
        Column("plants", _l("Plants asked for"), _ASKED, "number", nullable=False),
        Column("sent", _l("Sent"), _SENT, "number", nullable=False),
        Column("received", _l("Taken over"), _RECEIVED, "number", nullable=False),
        Column("waiting", _l("Back, to be decided"), _WAITING, "number", nullable=False),
        Column(
            "recipient", _l("Recipient"), Recipient.name, link=("recipients.detail", Recipient.id), nullable=True
        ),
        Column("sent_on", _l("Sent on"), Dispatch.sent_on, "date", on_screen=False),
        Column("received_on", _l("Taken over on"), Dispatch.received_on, "date", on_screen=False),
        Column("received_by", _l("Taken over by"), Dispatch.received_by, on_screen=False),
        Column("reason", _l("Reason"), Dispatch.reason, on_screen=False),
        Column("notes", _l("Notes"), Dispatch.notes, on_screen=False),
    ),
    search=(Dispatch.code, Site.code, Site.name, Recipient.name, Dispatch.received_by),
    filters=(
        Filter("status", _l("State"), Dispatch.status, choice_options(STATUS_LABELS), DispatchStatus),
        Filter("site", _l("Planting site"), Dispatch.site_id, _sites, whole),
        Filter("season", _l("Season"), _SEASON, _seasons, whole),
    ),
)
