"""Attaching a file to a record, fetching it, putting it aside."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from contextlib import closing
from typing import Any

from flask import Blueprint, Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import CombinedMultiDict
from wtforms import FileField, Form

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.attachments import AttachmentKind
from nursery.services.attachments import (
    KIND_LABELS,
    MOST_BYTES,
    SUBJECTS,
    add_attachment,
    archive_attachment,
    find_subject,
    get_attachment,
)
from nursery.web.fields import ChoiceField, TextField
from nursery.web.history import called
from nursery.web.session import actor, db

bp = Blueprint("attachments", __name__)
_SUBJECT = f"<any({','.join(SUBJECTS)}):subject>"
_ID = "<int(max=2147483647):attachment_id>"
SECTIONS = {"lots": "seed", "scoutings": "grow", "surveys": "plant"}


class AttachmentForm(Form):
    """A file with what it shows."""

    file = FileField(
        _l("File"),
        description=_l("PDF, PNG, JPEG or WebP, up to 10 MB. What it is, is told from its content."),
        render_kw={"accept": ".pdf,.png,.jpg,.jpeg,.webp"},
    )
    kind = ChoiceField(_l("What it is"), kind=AttachmentKind, labels=KIND_LABELS, default=AttachmentKind.DOCUMENT)
    title = TextField(_l("Title"), most=120, description=_l("Left empty, the name of the file."))


@bp.route(f"/attachments/new/{_SUBJECT}/<int(max=2147483647):subject_id>", methods=["GET", "POST"])
def new(subject: str, subject_id: int) -> ResponseReturnValue:
    """The form that takes a file, or its keeping."""
    row = find_subject(db(), subject, subject_id)
    back = url_for(f"{subject}.detail", record_id=subject_id)
    form = AttachmentForm(CombinedMultiDict([request.files, request.form]) if request.method == "POST" else None)
    if request.method == "POST" and form.validate():
        try:
            kept = add_attachment(
                db(),
                actor(),
                row=row,
                file_name=getattr(form.file.data, "filename", "") or "",
                content=_content(form.file.data),
                kind=form.kind.data,
                title=form.title.data,
            )
        except Invalid as refused:
            db().rollback()
            for name, message in refused.errors.items():
                form[name].errors = [message]
        else:
            flash(_("“%(name)s” was attached.", name=kept.title or kept.file_name), "ok")
            return redirect(back, 303)
    page = render_template(
        "attachments/new.html",
        section=SECTIONS.get(subject, "collect"),
        form=form,
        name=called(find_subject(db(), subject, subject_id)),
        back=back,
    )
    return page, 422 if request.method == "POST" else 200


@bp.get(f"/attachments/{_ID}")
def fetch(attachment_id: int) -> Response:
    """The file, to be saved; no browser is to open it as a page of this site."""
    found = get_attachment(db(), attachment_id)
    response = Response(found.content, content_type=found.media_type)
    response.headers.set("Content-Disposition", "attachment", filename=found.file_name)
    return response


@bp.post(f"/attachments/{_ID}/archive")
def archive(attachment_id: int) -> ResponseReturnValue:
    """Put a file aside."""
    found = get_attachment(db(), attachment_id)
    archive_attachment(db(), actor(), attachment=found)
    flash(_("“%(name)s” was put aside. It is kept in the database.", name=found.title or found.file_name), "ok")
    return redirect(url_for(f"{found.subject}.detail", record_id=found.subject_id), 303)


def _content(storage: Any) -> bytes:
    """The file's bytes, one more than are kept at most; large ones wait on disk until they are closed."""
    if not getattr(storage, "filename", ""):
        raise Invalid({"file": _("Choose a file.")})
    with closing(storage):
        return bytes(storage.read(MOST_BYTES + 1))
