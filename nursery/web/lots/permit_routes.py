"""Holding and releasing a lot, checking it again, and noting that its quantity was reported."""

from __future__ import annotations

from collections.abc import Callable

from flask import flash, redirect, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.services.permits.holding import check_lots, hold_lot, release_lot, report_lot
from nursery.services.records import get
from nursery.services.understanding import parse_date
from nursery.web.lots.pages import bp
from nursery.web.lots.permit import remarks
from nursery.web.records import ID
from nursery.web.session import actor, db, today


@bp.post(f"/lots/{ID}/release")
def release(record_id: int) -> ResponseReturnValue:
    """Let a held lot be sown."""
    lot, reason = get(db(), Lot, record_id), request.form.get("reason", "")
    done = _("%(code)s is released: the next plan may draw it.", code=lot.code)
    return _do(record_id, lambda: release_lot(db(), actor(), lot=lot, reason=reason), done)


@bp.post(f"/lots/{ID}/hold")
def hold(record_id: int) -> ResponseReturnValue:
    """Keep a lot from being sown."""
    lot, reason = get(db(), Lot, record_id), request.form.get("reason", "")
    done = _("%(code)s is on hold: the next plan leaves it out.", code=lot.code)
    return _do(record_id, lambda: hold_lot(db(), actor(), lot=lot, reason=reason), done)


@bp.post(f"/lots/{ID}/report")
def report(record_id: int) -> ResponseReturnValue:
    """The authority was told the quantity."""
    lot = get(db(), Lot, record_id)

    def write() -> Lot:
        text = request.form.get("reported_on", "").strip()
        day = parse_date(text) if text else None
        return report_lot(db(), actor(), lot=lot, reported_on=day, today=today())

    return _do(record_id, write, _("The report of %(code)s is noted.", code=lot.code))


@bp.post(f"/lots/{ID}/check")
def check(record_id: int) -> ResponseReturnValue:
    """Ask the permits again, after one of them was written down or changed."""
    lot = get(db(), Lot, record_id)
    check_lots(db(), actor(), [lot.id])
    db().flush()
    for told, tone in remarks(lot):
        flash(told, tone)
    return redirect(_back(record_id), 303)


def _do(record_id: int, write: Callable[[], Lot], done: str) -> ResponseReturnValue:
    try:
        write()
    except (Invalid, Conflict) as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(done, "ok")
    return redirect(_back(record_id), 303)


def _back(record_id: int) -> str:
    return url_for("lots.detail", record_id=record_id, _anchor="permit")
