"""Permits as records: the list, and writing them down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Permit, PermitLine
from nursery.services import auditing, checking, limits, records
from nursery.services.listing import Column, Filter, Listing
from nursery.services.permits.words import number_key

BOUNDS = {"notice_days": limits.Bounds(0, 365), "report_days": limits.Bounds(0, 3650)}
_LINES = (
    select(func.count(PermitLine.id)).where(PermitLine.permit_id == Permit.id).correlate(Permit).scalar_subquery()
)
_LOTS = select(func.count(Lot.id)).where(Lot.permit_id == Permit.id).correlate(Permit).scalar_subquery()


def _authorities(session: Session) -> Sequence[tuple[str, str]]:
    rows = session.scalars(
        select(Permit.authority).where(Permit.archived_at.is_(None)).distinct().order_by(Permit.authority)
    )
    return [(name, name) for name in rows]


LISTING = Listing(
    model=Permit,
    order="-valid_to",
    columns=(
        Column("number", _l("Number"), Permit.number, "code", link=("permits.detail", Permit.id)),
        Column("authority", _l("Authority"), Permit.authority),
        Column("valid_from", _l("From"), Permit.valid_from, "date"),
        Column("valid_to", _l("Until"), Permit.valid_to, "date"),
        Column("lines", _l("Lines"), _LINES, "number", nullable=False),
        Column("lots", _l("Lots"), _LOTS, "number", nullable=False),
        Column("holder", _l("Holder"), Permit.holder, on_screen=False),
        Column("notice", _l("Notice before, days"), Permit.notice_days, "number", on_screen=False),
        Column("report", _l("Report after, days"), Permit.report_days, "number", on_screen=False),
        Column("conditions", _l("Conditions"), Permit.conditions, on_screen=False),
        Column("notes", _l("Notes"), Permit.notes, on_screen=False),
    ),
    search=(Permit.number, Permit.authority, Permit.holder),
    filters=(Filter("authority", _l("Authority"), Permit.authority, _authorities),),
)


def create_permit(session: Session, actor: str, *, values: Mapping[str, Any], today: dt.date) -> Permit:
    """Write a permit down, and link the lots that bear its number already."""
    del today
    _check(values)
    row = records.create(session, actor, Permit, values)
    _link_lots(session, actor, row)
    return row


def change_permit(
    session: Session,
    actor: str,
    *,
    row: Permit,
    values: Mapping[str, Any],
    version: int | None = None,
    today: dt.date,
) -> Permit:
    """Change a permit; its lots follow a corrected number."""
    del today
    _check({**checking.columns_of(row), **values})
    before = row.number
    changed = records.update(session, actor, row, values, version=version)
    if changed.number != before:
        session.execute(
            update(Lot)
            .where(Lot.permit_id == row.id)
            .values(permit_number=changed.number, version=Lot.version + 1)
            .execution_options(synchronize_session="fetch")
        )
        _link_lots(session, actor, changed)
    return changed


def _check(values: Mapping[str, Any]) -> None:
    refused = checking.beyond(values, BOUNDS)
    if values["valid_to"] < values["valid_from"]:
        refused["valid_to"] = _("The permit would end before it begins. Correct one of the days.")
    if refused:
        raise Invalid(refused)


def _link_lots(session: Session, actor: str, permit: Permit) -> None:
    """Lots that bear the number and belong to no permit yet count under this one; none is held for it."""
    rows = session.execute(
        select(Lot.id, Lot.permit_number).where(
            Lot.permit_id.is_(None), Lot.permit_number != "", Lot.is_received.is_(False)
        )
    )
    key = number_key(permit.number)
    found = [lot_id for lot_id, number in rows if number_key(number) == key]
    for first in range(0, len(found), 500):
        some = found[first : first + 500]
        session.execute(
            update(Lot)
            .where(Lot.id.in_(some))
            .values(permit_id=permit.id, version=Lot.version + 1)
            .execution_options(synchronize_session="fetch")
        )
        auditing.record_many(
            session, actor, action="changed", subject=Lot.__tablename__,
            details={lot_id: {"permit_id": [None, permit.id]} for lot_id in some},
        )  # fmt: skip
