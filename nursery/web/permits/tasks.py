"""Ticking off what a permit asks for."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Permit
from nursery.services import records
from nursery.services.permits.notices import note_notice
from nursery.web.permits.pages import bp
from nursery.web.records import ID
from nursery.web.session import actor, db, today


@bp.post(f"/permits/{ID}/notice")
def notice(record_id: int) -> ResponseReturnValue:
    """The authority was told of a collection to come, under this permit and those that share the task."""
    records.get(db(), Permit, record_id)
    try:
        note_notice(db(), actor(), marks=request.form.getlist("mark"), told_on=today())
    except Invalid as refused:
        flash(str(refused), "stop")
    else:
        flash(_("Noted: the authority was told today."), "ok")
    return redirect(url_for("permits.detail", record_id=record_id), 303)
