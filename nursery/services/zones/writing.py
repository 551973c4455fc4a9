"""Writing the zones of a file that was looked at: all of them or none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.models.types import utc_now
from nursery.models.zones import Zone
from nursery.services import auditing, records
from nursery.services.zones.looking import ZoneLook, look_at_file


def write_zones(
    session: Session, actor: str, *, upload: Upload, asked: Mapping[str, Any], seen: str | None = None
) -> ZoneLook:
    """Write every zone of a waiting file; ``seen`` is the fingerprint of what the person looked at.

    Raises
    ------
    Conflict
        When the file was written already, has faults, or comes to something else than was seen.
    """
    if upload.confirmed_at is not None:
        raise Conflict(_("This file is on the map already."))
    look = look_at_file(session, upload, asked)
    if not look.is_sound:
        raise Conflict(_("The file has faults, so nothing was written. They are listed below."))
    if seen is not None and seen != look.fingerprint:
        raise Conflict(
            _("The choices or the records changed since you looked, so nothing was written. Look once more.")
        )
    for zone in session.scalars(select(Zone).where(Zone.id.in_(look.replaced))):
        records.archive(session, actor, zone)
    settings = look.settings
    for row in look.rows:
        zone = Zone(
            kind=settings.kind, species_id=settings.species_id, jurisdiction=settings.jurisdiction,
            source=settings.source, code=row.code, name=row.name, lowest_m=row.lowest_m, highest_m=row.highest_m,
            geometry=row.geometry or {},
        )  # fmt: skip
        session.add(zone)
        # The outline stays out of the history: it never changes, and it is long.
        auditing.record(
            session, actor, action="imported", row=zone,
            details={"code": [None, row.code], "name": [None, row.name], "file_name": [None, upload.file_name]},
        )  # fmt: skip
    upload.confirmed_at = utc_now()
    auditing.record(session, actor, action="confirmed", row=upload)
    return look
