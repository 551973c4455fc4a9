"""Files that wait for a person's yes."""

from __future__ import annotations

import datetime as dt
import hashlib
from pathlib import PurePath

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.importing.kinds import find_kind
from nursery.services.importing.matching import heading_test
from nursery.tabular.reader import read_table

#: Files that nobody confirmed are kept so long.
WAITING = dt.timedelta(days=30)
#: Rows read at once to see whether the file can be read at all.
_TASTE = 50


def keep_upload(session: Session, actor: str, *, kind: str, file_name: str, content: bytes) -> Upload:
    """Keep a file until it is confirmed; a file already waiting is kept once, and stale ones go.

    Raises ``Invalid`` with the field ``file`` when it cannot be read as a table.
    """
    chosen = find_kind(kind)
    table = read_table(content, heading_test(chosen), limit=_TASTE)
    if not table.rows:
        raise Invalid({"file": _("The file has headings but no rows. Fill in at least one row.")})
    session.execute(delete(Upload).where(Upload.confirmed_at.is_(None), Upload.created_at < utc_now() - WAITING))
    digest = hashlib.sha256(content).hexdigest()
    waiting = session.scalar(
        select(Upload).where(Upload.digest == digest, Upload.kind == kind, Upload.confirmed_at.is_(None)).limit(1)
    )
    if waiting is not None:
        return waiting
    upload = Upload(
        kind=kind,
        file_name=_base_name(file_name),
        digest=digest,
        content=content,
        person=actor,
        created_at=utc_now(),
    )
    session.add(upload)
    auditing.record(
        session, actor, action="uploaded", row=upload,
        details={"kind": [None, kind], "file_name": [None, upload.file_name], "digest": [None, digest]},
    )  # fmt: skip
    return upload


def find_upload(session: Session, upload_id: int) -> Upload:
    """The waiting or confirmed file; raises NotFound."""
    upload = session.get(Upload, upload_id)
    if upload is None:
        raise NotFound(_("This file is no longer kept. Choose it again."))
    return upload


def _base_name(file_name: str) -> str:
    """The name alone: some browsers send the folders of the person's machine too."""
    return (PurePath(file_name.replace("\\", "/")).name or "file")[-200:]
