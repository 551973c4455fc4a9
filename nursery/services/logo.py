"""The organisation's logo in its reports: kept as an attachment, drawn anew so that nothing hidden comes along."""

from __future__ import annotations

import hashlib
import io

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, undefer

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Attachment
from nursery.models.attachments import AttachmentKind
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.attachments import media_type_of
from nursery.services.pictures import open_picture
from nursery.services.preferences import read_preferences

MOST_BYTES = 4 * 1024 * 1024
#: Points of the picture that is sent, and width and height of the one that is kept.
MOST_POINTS = 25_000_000
SIZE = (720, 240)
_SUBJECT = "preferences"


def read_logo(session: Session) -> bytes | None:
    """The logo as PNG; None where there is none."""
    found = session.scalars(_standing().options(undefer(Attachment.content))).first()
    return found.content if found is not None else None


def keep_logo(session: Session, actor: str, *, content: bytes) -> Attachment:
    """Take a picture as logo, in place of the one before.

    Raises
    ------
    Invalid
        At ``logo``, for what is no PNG, JPEG or WebP picture, or is too large.
    """
    drawn = _redrawn(content)
    remove_logo(session, actor)
    own = read_preferences(session)
    kept = Attachment(
        subject=_SUBJECT, subject_id=own.id, kind=AttachmentKind.DOCUMENT, title="", file_name="logo.png",
        media_type="image/png", size=len(drawn), digest=hashlib.sha256(drawn).hexdigest(), content=drawn,
        person=actor,
    )  # fmt: skip
    session.add(kept)
    session.flush()
    auditing.record(session, actor, action="attached", row=own, details={"file_name": [None, kept.file_name]})
    return kept


def remove_logo(session: Session, actor: str) -> None:
    """Reports made from now on have no logo; those that were made keep theirs."""
    for before in session.scalars(_standing()):
        before.archived_at = utc_now()
        told = {"file_name": [before.file_name, None]}
        auditing.record(session, actor, action="detached", row=read_preferences(session), details=told)


def _standing() -> Select[Attachment]:
    return select(Attachment).where(Attachment.subject == _SUBJECT, Attachment.archived_at.is_(None))


def _redrawn(content: bytes) -> bytes:
    """The picture on white paper, small enough for the head of a page, without anything but its points."""
    from PIL import Image  # noqa: PLC0415 -- slow import

    if len(content) > MOST_BYTES:
        most = format_number(MOST_BYTES / 1024**2)
        raise Invalid({"logo": _("The picture is larger than %(most)s MB. Make it smaller.", most=most)})
    if not media_type_of(content).startswith("image/"):
        raise Invalid({"logo": _("Choose a picture: PNG, JPEG or WebP.")})
    turned = open_picture(content, "logo", most=MOST_POINTS).convert("RGBA")
    turned.thumbnail(SIZE)
    paper = Image.new("RGB", turned.size, "#ffffff")
    paper.paste(turned, mask=turned.getchannel("A"))
    buffer = io.BytesIO()
    paper.save(buffer, format="PNG", optimize=True)
    return buffer.getvalue()
