"""Files beside a record: known by their content, pictures drawn anew, put aside and never deleted."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Mapping, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Attachment, Lot, Permit, Population, Scouting, Survey, Trip
from nursery.models.attachments import AttachmentKind
from nursery.models.base import Base
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.pictures import redrawn

MOST_BYTES = 10 * 1024 * 1024
KIND_LABELS = {
    AttachmentKind.DOCUMENT: _l("Document"),
    AttachmentKind.PHOTO: _l("Photograph"),
    AttachmentKind.VOUCHER: _l("Herbarium voucher"),
}
#: Records that may have files, by the name of their table.
SUBJECTS: Mapping[str, type[Base]] = {
    model.__tablename__: model for model in (Permit, Lot, Population, Trip, Scouting, Survey)
}
#: Endings by media type; a file is named after what it is, not after what it was called.
ENDINGS = {"application/pdf": "pdf", "image/png": "png", "image/jpeg": "jpg", "image/webp": "webp"}
_LONGEST = 80


def media_type_of(content: bytes) -> str:
    """What a file is by its first bytes; empty for what is not taken.

    The marks are those of ISO 32000 (PDF), of the PNG and JPEG standards, and of the RIFF container of WebP.
    """
    if content.startswith(b"%PDF-"):
        return "application/pdf"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    return ""


def find_subject(session: Session, subject: str, subject_id: int) -> Base:
    """The record that files stand beside, or ``NotFound``."""
    model = SUBJECTS.get(subject)
    row = session.get(model, subject_id) if model else None
    if row is None:
        raise NotFound(_("There is no such record."))
    return row


def add_attachment(
    session: Session,
    actor: str,
    *,
    row: Base,
    file_name: str,
    content: bytes,
    kind: AttachmentKind = AttachmentKind.DOCUMENT,
    title: str = "",
) -> Attachment:
    """Keep a file beside a record: PDF as it came, PNG, JPEG or WebP drawn anew; by its content, up to 10 MB.

    Raises
    ------
    Invalid
        At ``file``, for anything else, and for a file that stands there already.
    """
    media_type = _accepted(content, kind)
    if media_type.startswith("image/"):
        content = redrawn(content, media_type, "file")
    digest = hashlib.sha256(content).hexdigest()
    if any(other.digest == digest for other in list_attachments(session, row)):
        raise Invalid({"file": _("This very file is attached here already.")})
    attachment = Attachment(
        subject=row.__tablename__,
        subject_id=row.id,
        kind=kind,
        title=title.strip()[:120],
        file_name=safe_name(file_name, media_type),
        media_type=media_type,
        size=len(content),
        digest=digest,
        content=content,
        person=actor,
    )
    session.add(attachment)
    session.flush()
    auditing.record(
        session, actor, action="attached", row=row, details={"file_name": [None, attachment.file_name]}
    )
    return attachment


def list_attachments(session: Session, row: Base) -> Sequence[Attachment]:
    """Files beside a record, oldest first, without their content."""
    return session.scalars(
        select(Attachment)
        .where(
            Attachment.subject == row.__tablename__,
            Attachment.subject_id == row.id,
            Attachment.archived_at.is_(None),
        )
        .order_by(Attachment.id)
    ).all()


def get_attachment(session: Session, attachment_id: int) -> Attachment:
    """A file with its content, archived or not, or ``NotFound``."""
    found = session.get(Attachment, attachment_id, options=[undefer(Attachment.content)])
    if found is None:
        raise NotFound(_("There is no such file."))
    return found


def archive_attachment(session: Session, actor: str, *, attachment: Attachment) -> None:
    """Put a file aside; it leaves the record's page and stays in the database."""
    if attachment.archived_at is None:
        attachment.archived_at = utc_now()
        row = find_subject(session, attachment.subject, attachment.subject_id)
        auditing.record(
            session, actor, action="detached", row=row, details={"file_name": [attachment.file_name, None]}
        )


def safe_name(file_name: str, media_type: str) -> str:
    """A name without folders, control characters and marks that some system reads in its own way."""
    base = unicodedata.normalize("NFC", re.split(r"[\\/]", file_name)[-1])
    stem = base.rsplit(".", 1)[0] if "." in base.strip(".") else base
    stem = re.sub(r"[^\w \-.()]", "_", stem).strip(" ._")[:_LONGEST].rstrip(" ._")
    return f"{stem or 'file'}.{ENDINGS[media_type]}"


def _accepted(content: bytes, kind: AttachmentKind) -> str:
    if not content:
        raise Invalid({"file": _("The file is empty. Choose another.")})
    if len(content) > MOST_BYTES:
        most = format_number(MOST_BYTES / 1024**2)
        raise Invalid({"file": _("The file is larger than %(most)s MB. Make it smaller.", most=most)})
    media_type = media_type_of(content)
    if not media_type:
        raise Invalid({"file": _("Only PDF, PNG, JPEG and WebP files are kept, and this is none of them.")})
    if kind is AttachmentKind.PHOTO and media_type == "application/pdf":
        raise Invalid({"kind": _("A PDF is no photograph. Call it a document or a voucher.")})
    return media_type
