"""Movements of imported lots: what a new lot came with, and what a file counted otherwise than the ledger."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Movement, MovementKind
from nursery.services.importing.existing import Existing
from nursery.services.importing.lots import identities
from nursery.services.importing.outcome import Write
from nursery.services.ledger.opening import balance_changes, movement_row

#: Ids in one question; databases bound the number of parameters.
_AT_ONCE = 500


def open_imported(
    session: Session, actor: str, records: Iterable[Mapping[str, Any]], written: Existing, file_name: str
) -> None:
    """What each new lot holds becomes its opening movement, by one statement."""
    rows = []
    for record in records:
        (row,) = written.find(identities(dict(record))[0])
        rows += [
            movement_row(
                actor, row["id"], MovementKind.OPENING, measure, change, row["collected_on"], _told(file_name)
            )
            for measure, change in balance_changes({}, row)
        ]
    if rows:
        session.execute(insert(Movement), rows)


def recount_imported(
    session: Session, actor: str, changed: Sequence[Write], file_name: str, today: dt.date
) -> None:
    """An amount in the file that differs from the ledger is a recount; movements meanwhile stop everything."""
    counted = [write for write in changed if balance_changes(write.before, write.values)]
    held: dict[int, tuple[int | None, int | None]] = {}
    ids = [write.record_id or 0 for write in counted]
    for start in range(0, len(ids), _AT_ONCE):
        some = ids[start : start + _AT_ONCE]
        query = select(Lot.id, Lot.amount_mg, Lot.pieces).where(Lot.id.in_(some)).with_for_update()
        held |= {lot_id: (milligrams, pieces) for lot_id, milligrams, pieces in session.execute(query)}
    if any(held[write.record_id or 0] != (write.record["amount_mg"], write.record["pieces"]) for write in counted):
        raise Conflict(_("Somebody changed one of these records meanwhile. Nothing was written; look again."))
    rows = [
        movement_row(actor, write.record_id or 0, MovementKind.RECOUNTED, measure, change, today, _told(file_name))
        for write in counted
        for measure, change in balance_changes(write.before, write.values)
    ]
    if rows:
        session.execute(insert(Movement), rows)


def _told(file_name: str) -> str:
    return _("from the file %(name)s", name=file_name)
