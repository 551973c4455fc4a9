"""Looks at the quality of a batch: all of them with the form of a new one, and the withdrawal of one."""

from __future__ import annotations

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import format_percent
from nursery.i18n import gettext as _
from nursery.models import QualityCheck
from nursery.services.quality.checking import record_look, withdraw_look
from nursery.services.quality.reading import Look, looks_of
from nursery.services.quality.words import DEFECT_LABELS
from nursery.web.batches.writing import attempt, get_batch
from nursery.web.paths import asked
from nursery.web.quality.forms import WithdrawForm, look_form
from nursery.web.session import actor, db, today

bp = Blueprint("quality", __name__)
_AT = "/batches/<int(max=2147483647):batch_id>/quality"


@bp.route(_AT, methods=["GET", "POST"])
def looks(batch_id: int) -> ResponseReturnValue:
    """What was seen so far, and what is seen now."""
    batch = get_batch(batch_id)
    form = look_form(request.form or None, data={"checked_on": today()})
    sent = request.method == "POST"
    row = sent and attempt(
        form,
        lambda: record_look(
            db(), actor(), batch=batch, checked_on=form.checked_on.data, looked_at=form.looked_at.data,
            fair=form.fair.data, heights_cm=form.heights_cm.data or (), collars_mm=form.collars_mm.data or (),
            defects=form.defects(), notes=form.notes.data or "", today=today(),
        ),
    )  # fmt: skip
    if row:
        flash(_("%(share)s of the plants looked at are fair.", share=format_percent(Look(row).share)), "ok")
        return redirect(asked(url_for("quality.looks", batch_id=batch_id)), 303)
    page = render_template(
        "quality/looks.html", section="grow", batch=get_batch(batch_id), form=form, looks=looks_of(db(), batch_id),
        defects={one.value: label for one, label in DEFECT_LABELS.items()},
        cancel_url=url_for("batches.detail", record_id=batch_id),
    )  # fmt: skip
    return (page, 422) if sent else page


@bp.route("/quality/<int(max=2147483647):look_id>/withdraw", methods=["GET", "POST"])
def withdraw(look_id: int) -> ResponseReturnValue:
    """Ask why, and withdraw it."""
    look = db().get(QualityCheck, look_id) or abort(404)
    batch_id = look.batch_id
    form = WithdrawForm(request.form or None)
    sent = request.method == "POST"
    if sent and attempt(form, lambda: withdraw_look(db(), actor(), look=look, reason=form.reason.data or "")):
        flash(_("The look was withdrawn. It stays on record."), "ok")
        return redirect(url_for("quality.looks", batch_id=batch_id), 303)
    page = render_template(
        "quality/withdraw.html", section="grow", batch=get_batch(batch_id), look=db().get(QualityCheck, look_id),
        form=form, cancel_url=url_for("quality.looks", batch_id=batch_id),
    )  # fmt: skip
    return (page, 422) if sent else page
