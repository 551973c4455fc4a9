"""Rulings on the purpose of a planting: one page for a site, and one for a recipient."""

from __future__ import annotations

from typing import Any

from flask import abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import gettext as _
from nursery.models import Recipient, Ruling, Site
from nursery.services.papers.rulings import record_ruling, rulings_of, standing_ruling, withdraw_ruling
from nursery.web.batches.writing import attempt
from nursery.web.papers.forms import RulingForm, RulingWithdrawalForm
from nursery.web.papers.routes import bp
from nursery.web.paths import asked
from nursery.web.session import actor, db, today

_KINDS: dict[str, type[Site] | type[Recipient]] = {"site": Site, "recipient": Recipient}
_AT = "/papers/rulings/<any(site,recipient):kind>/<int(max=2147483647):record_id>"


@bp.route(_AT, methods=["GET", "POST"])
def ruling(kind: str, record_id: int) -> ResponseReturnValue:
    """What stands, and the form of a new one where none does."""
    of = _of(kind, record_id)
    form = RulingForm(request.form or None)
    if request.method == "POST" and attempt(
        form,
        lambda: record_ruling(
            db(), actor(), of=of, reason=form["reason"].data, ruled_on=form["ruled_on"].data, today=today()
        ),
    ):
        flash(_("The ruling was written down. Papers follow it from its day on."), "ok")
        return redirect(asked(url_for("papers.ruling", kind=kind, record_id=record_id)), 303)
    return _page(kind, _of(kind, record_id), form)


@bp.post(f"{_AT}/<int(max=2147483647):ruling_id>/withdraw")
def withdraw(kind: str, record_id: int, ruling_id: int) -> ResponseReturnValue:
    """From today on it does not hold."""
    of = _of(kind, record_id)
    row = next((one for one in rulings_of(db(), of) if one.id == ruling_id), None) or abort(404)
    form = RulingWithdrawalForm(request.form)
    if attempt(form, lambda: withdraw_ruling(db(), actor(), ruling=row, reason=form["reason"].data)):
        flash(_("The ruling was withdrawn. It stays on record with both reasons."), "ok")
        return redirect(url_for("papers.ruling", kind=kind, record_id=record_id), 303)
    return _page(kind, _of(kind, record_id), form)


def _of(kind: str, record_id: int) -> Site | Recipient:
    return db().get(_KINDS[kind], record_id) or abort(404)


def _page(kind: str, of: Site | Recipient, form: Any) -> ResponseReturnValue:
    standing: Ruling | None = standing_ruling(db(), of)
    if standing is not None and not isinstance(form, RulingWithdrawalForm):
        refused = form.form_errors
        form = RulingWithdrawalForm()
        form.form_errors = refused
    page = render_template(
        "papers/ruling.html", section="plant", of=of, kind=kind, form=form, standing=standing,
        earlier=[row for row in rulings_of(db(), of) if row.withdrawn_at is not None],
        back_url=url_for("sites.detail" if kind == "site" else "recipients.detail", record_id=of.id),
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page
