"""Who changed what, when and why: searched, looked into, taken as a file."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, abort, render_template, url_for
from sqlalchemy import select

from nursery.i18n import gettext as _
from nursery.models import Change, Seal
from nursery.services.auditing import newest_seal
from nursery.services.changes import ACTIONS, LISTING, SUBJECTS
from nursery.web.history import LABELS
from nursery.web.listing import export_list, view_list
from nursery.web.records import pages_of
from nursery.web.session import db

bp = Blueprint("changes", __name__)


@bp.get("/changes")
def list_page() -> str:
    """The list, the newest first."""
    listed = view_list(LISTING, export="changes.export")
    count, seal = newest_seal(db())
    return render_template("changes/list.html", section="settings", listed=listed, sealed=count, seal=seal)


@bp.get("/changes.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The list as a file, with what was before and after."""
    return export_list(LISTING, _("Record of changes"), file_format)


@bp.get("/changes/<int(max=2147483647):record_id>")
def detail(record_id: int) -> str:
    """One change: every field before and after, and the record it was made to."""
    change = db().get(Change, record_id)
    if change is None:
        abort(404)
    pages = pages_of(change.subject)
    form = pages.form() if pages else None
    labels = {name: str(label) for name, label in LABELS.items()} | (form.labels() if form else {})

    def shown(column: str, value: Any) -> str:
        return form.show(column, value) if form and column in form else "" if value is None else str(value)

    fields = [
        (labels.get(column, column), shown(column, pair[0]), shown(column, pair[1]))
        for column, pair in change.details.items()
        if isinstance(pair, list) and len(pair) == 2
    ]
    seal = db().scalar(select(Seal).where(Seal.change_id == change.id))
    address = url_for(f"{pages.name}.detail", record_id=change.subject_id) if pages else ""
    return render_template(
        "changes/detail.html", section="settings", change=change, fields=fields, seal=seal, address=address,
        action=ACTIONS.get(change.action, change.action), subject=SUBJECTS.get(change.subject, change.subject),
    )  # fmt: skip
