"""The field of a planting that names the load its plants came by."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine
from nursery.services.plantings import Arrived, open_lines
from nursery.web.record_fields import RecordSelect
from nursery.web.session import db

#: The newest loads; older ones are named only where a planting has them already.
_OFFERED = 200


class LoadLineSelect(RecordSelect):
    """A line of a load that arrived: load, batch, plants left to be planted."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Dispatch, **options)

    def process_data(self, value: Any) -> None:
        """Offer the lines of received loads of which something is left, and the one named already."""
        self.data = value
        lines = open_lines(db(), named=value, most=_OFFERED)
        self.offered = [("", _("no load on record")), *((str(line.line_id), _told(line)) for line in lines)]

    def show(self, value: Any) -> str:
        """Its load and batch."""
        line = db().get(DispatchLine, value)
        return _named(line.dispatch.code, line.batch.code, line.received or 0) if line is not None else ""


def _told(line: Arrived) -> str:
    return _named(line.dispatch_code, line.batch_code, line.open or line.received)


def _named(load: str, batch: str, plants: int) -> str:
    return _("%(load)s: %(batch)s, %(plants)s plants", load=load, batch=batch, plants=plants)
