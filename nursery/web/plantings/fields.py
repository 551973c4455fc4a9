"""The field of a planting that names the load its plants came by."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from sqlalchemy import or_, select

from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine
from nursery.models.dispatches import DispatchStatus
from nursery.web.record_fields import RecordSelect
from nursery.web.session import db

#: The newest loads; older ones are named only where a planting has them already.
_OFFERED = 200


class LoadLineSelect(RecordSelect):
    """A line of a load that arrived: load, batch, plants taken over."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Dispatch, **options)

    def process_data(self, value: Any) -> None:
        """Offer the lines of received loads, and the one named already."""
        self.data = value
        query = (
            select(DispatchLine.id, Dispatch.code, Batch.code, DispatchLine.received)
            .join(Dispatch, DispatchLine.dispatch_id == Dispatch.id)
            .join(Batch, DispatchLine.batch_id == Batch.id)
            .where(or_(Dispatch.status == DispatchStatus.RECEIVED, DispatchLine.id == value))
            .order_by(Dispatch.received_on.desc(), DispatchLine.id.desc())
            .limit(_OFFERED)
        )
        self.offered = [
            ("", _("no load on record")),
            *((str(key), _told(load, batch, plants)) for key, load, batch, plants in db().execute(query)),
        ]

    def show(self, value: Any) -> str:
        """Its load and batch."""
        line = db().get(DispatchLine, value)
        return _told(line.dispatch.code, line.batch.code, line.received) if line is not None else ""


def _told(load: str, batch: str, plants: int | None) -> str:
    return _("%(load)s: %(batch)s, %(plants)s plants", load=load, batch=batch, plants=plants or 0)
