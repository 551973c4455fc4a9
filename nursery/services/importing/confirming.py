"""Writing a previewed file: every row or none, in the transaction of the caller."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.importing.outcome import Preview
from nursery.services.importing.previewing import preview
from nursery.services.importing.uploads import find_upload
from nursery.services.importing.writing import write_rows


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was written."""

    kind: str
    new: int
    changed: int
    unchanged: int


def preview_upload(
    session: Session, *, upload_id: int, today: dt.date, mapping: Sequence[str] | None = None,
    from_map: bool = False,
) -> Preview:  # fmt: skip
    """The preview of a waiting file."""
    upload = find_upload(session, upload_id)
    return preview(
        session, kind=upload.kind, file_name=upload.file_name, content=upload.content, today=today,
        mapping=mapping, from_map=from_map,
    )  # fmt: skip


def confirm(
    session: Session,
    actor: str,
    *,
    upload_id: int,
    today: dt.date,
    mapping: Sequence[str] | None = None,
    seen: str | None = None,
    from_map: bool = False,
) -> Outcome:
    """Write every row of a waiting file, or raise and write none.

    ``seen`` is the fingerprint of the preview the person looked at: when records changed in between, so that
    something else would be written, ``Conflict`` is raised. Nothing is ever archived or deleted.
    """
    upload = find_upload(session, upload_id)
    found = preview_upload(session, upload_id=upload_id, today=today, mapping=mapping, from_map=from_map)
    if found.refused:
        raise Invalid(
            {
                "file": ngettext(
                    "%(num)s row is refused, so nothing was written. Correct it and choose the file again.",
                    "%(num)s rows are refused, so nothing was written. Correct them and choose the file again.",
                    found.refused,
                )
            }
        )
    if upload.confirmed_at is not None and not found.writes:
        return Outcome(kind=found.kind.key, new=0, changed=0, unchanged=found.unchanged)  # a double click
    if seen is not None and seen != found.fingerprint:
        raise Conflict(_("The records changed since you looked at the preview. Nothing was written; look again."))
    try:
        write_rows(session, actor, found, today)
    except IntegrityError as clash:
        raise Conflict(
            _("Somebody else wrote one of these records at the same moment. Nothing was written; look again.")
        ) from clash
    upload.confirmed_at = utc_now()
    counts = {"new": found.new, "changed": found.changed, "unchanged": found.unchanged}
    auditing.record(
        session,
        actor,
        action="confirmed",
        row=upload,
        details={key: [None, count] for key, count in counts.items()},
    )
    return Outcome(kind=found.kind.key, **counts)


def last_outcome(session: Session, *, upload_id: int) -> Outcome | None:
    """What confirming a file wrote the last time; None when it was never confirmed."""
    upload = find_upload(session, upload_id)
    noted = next((change for change in auditing.history(session, upload) if change.action == "confirmed"), None)
    if noted is None:
        return None
    return Outcome(kind=upload.kind, **{key: pair[1] for key, pair in noted.details.items()})
