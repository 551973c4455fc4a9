"""One lot at one site: every reason, and what people decide about it."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Decision, Lot, Site, Target
from nursery.models.decisions import DecisionKind
from nursery.planning.origin.words import Verdict
from nursery.services import records
from nursery.services.origin import words
from nursery.services.origin.decisions import decide, list_decisions, withdraw
from nursery.services.origin.verdicts import judge_pair
from nursery.services.seasons import season_name
from nursery.web.origin.forms import DecisionForm, WithdrawalForm
from nursery.web.origin.pages import LOT, SITE, bp
from nursery.web.session import actor, db, today

_PAIR = f"/origin/lots/{LOT}/sites/{SITE}"


@bp.route(_PAIR, methods=["GET", "POST"])
def pair(lot_id: int, site_id: int) -> ResponseReturnValue:
    """The verdict with its reasons; posting decides about it."""
    lot, site = records.get(db(), Lot, lot_id), records.get(db(), Site, site_id)
    if request.method != "POST":
        return _page(lot, site, None)
    form = DecisionForm(request.form)
    if form.validate():
        target = db().get(Target, form.target_id.data) if form.target_id.data else None
        pinned = form.kind.data is DecisionKind.PIN
        try:
            decide(
                db(), actor(), kind=form.kind.data, lot=lot, site=site, reason=form.reason.data, today=today(),
                target=target if pinned else None, plants=form.plants.data if pinned else None,
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("Decided. Plans made from now on heed it, and every report shows it with its reason."), "ok")
            return redirect(url_for("origin.pair", lot_id=lot_id, site_id=site_id), 303)
    return _page(records.get(db(), Lot, lot_id), records.get(db(), Site, site_id), form), 422


@bp.route("/origin/decisions/<int(max=2147483647):decision_id>/withdraw", methods=["GET", "POST"])
def withdrawal(decision_id: int) -> ResponseReturnValue:
    """Take a decision back."""
    row = db().get(Decision, decision_id)
    if row is None:
        raise NotFound(_("There is no such decision."))
    back = url_for("origin.pair", lot_id=row.lot_id, site_id=row.site_id)
    form = WithdrawalForm(request.form if request.method == "POST" else None)
    if request.method == "POST" and form.validate():
        try:
            withdraw(db(), actor(), decision_id=decision_id, reason=form.reason.data)
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("Withdrawn. The decision stays on record with both reasons."), "ok")
            return redirect(back, 303)
    page = render_template(
        "origin/withdraw.html", section="plan", form=form, back=back, decision=row, labels=words.DECISION_LABELS
    )
    return (page, 422) if request.method == "POST" else page


def _page(lot: Lot, site: Site, form: DecisionForm | None) -> str:
    judged = judge_pair(db(), lot_id=lot.id, site_id=site.id, today=today())
    targets = db().scalars(
        select(Target)
        .where(Target.site_id == site.id, Target.species_id == lot.species_id, Target.archived_at.is_(None))
        .order_by(Target.season)
    )
    kind = DecisionKind.OVERRIDE if judged.verdict is Verdict.STOP else DecisionKind.FORBID
    form = form or DecisionForm(data={"kind": kind})
    form.target_id.offered = [(str(target.id), season_name(target.season)) for target in targets]
    return render_template(
        "origin/pair.html",
        section="plan",
        lot=lot,
        site=site,
        judged=judged,
        form=form,
        decisions=list_decisions(db(), lot_id=lot.id, site_id=site.id),
        words=words,
    )
