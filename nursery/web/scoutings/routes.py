"""Closing a note, opening it again, and noting that the authority was told."""

from __future__ import annotations

from collections.abc import Callable

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Scouting
from nursery.services.health.scouting import close_scouting, reopen_scouting, report_scouting
from nursery.services.records import get
from nursery.services.understanding import parse_date
from nursery.web.records import ID
from nursery.web.scoutings.pages import bp
from nursery.web.session import actor, db, today

__all__ = ["bp"]


@bp.post(f"/scoutings/{ID}/close")
def close(record_id: int) -> ResponseReturnValue:
    """It is over."""
    row, outcome = get(db(), Scouting, record_id), request.form.get("outcome", "")
    return _do(
        record_id,
        lambda: close_scouting(db(), actor(), row=row, outcome=outcome, today=today()),
        _("The note is closed."),
    )


@bp.post(f"/scoutings/{ID}/reopen")
def reopen(record_id: int) -> ResponseReturnValue:
    """It is not over."""
    row = get(db(), Scouting, record_id)
    return _do(record_id, lambda: reopen_scouting(db(), actor(), row=row), _("The note is open again."))


@bp.post(f"/scoutings/{ID}/report")
def report(record_id: int) -> ResponseReturnValue:
    """The authority was told."""
    row = get(db(), Scouting, record_id)

    def write() -> Scouting:
        text = request.form.get("reported_on", "").strip()
        day = parse_date(text, "reported_on") if text else None
        return report_scouting(db(), actor(), row=row, reported_on=day, today=today())

    return _do(record_id, write, _("It is noted that the authority was told."))


def _do(record_id: int, write: Callable[[], Scouting], done: str) -> ResponseReturnValue:
    try:
        write()
    except (Invalid, Conflict) as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(done, "ok")
    return redirect(url_for("scoutings.detail", record_id=record_id), 303)
