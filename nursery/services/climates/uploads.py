"""Files of normals that wait for a person's yes, kept where the other imports wait."""

from __future__ import annotations

import hashlib
from pathlib import PurePath

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.climates.columns import KIND
from nursery.services.importing.matching import heading_test
from nursery.tabular.reader import read_table

_TASTE = 50


def keep_climate_file(session: Session, actor: str, *, file_name: str, content: bytes) -> Upload:
    """Keep a file until it is confirmed; a file already waiting is kept once.

    Raises
    ------
    Invalid
        With the field ``file`` when it cannot be read as a table.
    """
    if not read_table(content, heading_test(KIND), limit=_TASTE).rows:
        raise Invalid({"file": _("The file has headings but no rows. Fill in at least one row.")})
    digest = hashlib.sha256(content).hexdigest()
    same = select(Upload).where(Upload.digest == digest, Upload.kind == KIND.key, Upload.confirmed_at.is_(None))
    if (waiting := session.scalar(same.limit(1))) is not None:
        return waiting
    name = (PurePath(file_name.replace("\\", "/")).name or "climates.csv")[-200:]
    upload = Upload(
        kind=KIND.key, file_name=name, digest=digest, content=content, person=actor, created_at=utc_now()
    )
    session.add(upload)
    auditing.record(
        session, actor, action="uploaded", row=upload,
        details={"kind": [None, KIND.key], "file_name": [None, name], "digest": [None, digest]},
    )  # fmt: skip
    return upload


def find_climate_file(session: Session, upload_id: int) -> Upload:
    """The waiting or confirmed file; raises NotFound."""
    upload = session.get(Upload, upload_id)
    if upload is None or upload.kind != KIND.key:
        raise NotFound(_("This file is no longer kept. Choose it again."))
    return upload
