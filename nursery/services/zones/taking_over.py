"""Taking the map's code into a record."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Population, Site
from nursery.models.zones import ZoneKind
from nursery.services import records
from nursery.services.zones.placing import FIELDS, place_records


def take_over(session: Session, actor: str, *, row: Population | Site, kind: ZoneKind, code: str) -> Any:
    """Write the map's code into the record.

    Raises
    ------
    Conflict
        When the map no longer says so.
    """
    placement = place_records(session, type(row), [row.id])[row.id][kind]
    if code not in placement.codes:
        raise Conflict(
            _("The map no longer says %(code)s here. Nothing was changed; look at the page again.", code=code)
        )
    return records.update(session, actor, row, {FIELDS[kind]: code})
