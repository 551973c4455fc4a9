"""Zone files that wait for a person's yes, kept where the other imports wait."""

from __future__ import annotations

import hashlib
from pathlib import PurePath

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.importing.uploads import WAITING
from nursery.services.outlines import OutlineError, features_of, read_json

KIND = "zones"
MOST_BYTES = 20_000_000


def keep_zone_file(session: Session, actor: str, *, file_name: str, content: bytes) -> Upload:
    """Keep a file until it is confirmed; a file already waiting is kept once, and stale ones go.

    Raises
    ------
    Invalid
        At ``file``, when it is no GeoJSON at all.
    """
    if len(content) > MOST_BYTES:
        raise Invalid({"file": _("The file is larger than 20 MB. Simplify the outlines, or split the file.")})
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Invalid({"file": _("This file is no text, so it is no GeoJSON. Choose another.")}) from None
    try:
        if not features_of(read_json(text)):
            raise Invalid({"file": _("There is no feature in this file. Export the layer again.")})
    except OutlineError as bad:
        raise Invalid({"file": bad.message}) from None
    session.execute(delete(Upload).where(Upload.confirmed_at.is_(None), Upload.created_at < utc_now() - WAITING))
    digest = hashlib.sha256(content).hexdigest()
    same = select(Upload).where(Upload.digest == digest, Upload.kind == KIND, Upload.confirmed_at.is_(None))
    if (waiting := session.scalar(same.limit(1))) is not None:
        return waiting
    name = (PurePath(file_name.replace("\\", "/")).name or "zones.geojson")[-200:]
    upload = Upload(kind=KIND, file_name=name, digest=digest, content=content, person=actor, created_at=utc_now())
    session.add(upload)
    auditing.record(
        session, actor, action="uploaded", row=upload,
        details={"kind": [None, KIND], "file_name": [None, name], "digest": [None, digest]},
    )  # fmt: skip
    return upload


def find_zone_file(session: Session, upload_id: int) -> Upload:
    """The waiting or confirmed file; raises NotFound."""
    upload = session.get(Upload, upload_id)
    if upload is None or upload.kind != KIND:
        raise NotFound(_("This file is no longer kept. Choose it again."))
    return upload
