"""The list of plans, making one, and adopting one."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session
from wtforms import Form

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Plan
from nursery.models.plans import LineStatus
from nursery.services.listing import Column, Listing
from nursery.services.planning import adopt_plan, current_plan, get_plan, make_plan, newest_plan
from nursery.services.planning.lines import changes_since, lines_by_status
from nursery.web.fields import TextField
from nursery.web.listing import view_list
from nursery.web.plans.blueprint import bp
from nursery.web.plans.making import begin_plan, is_long
from nursery.web.plans.showing import joined
from nursery.web.records import ID
from nursery.web.session import actor, db, today

LISTING = Listing(
    model=Plan,
    order="-as_of",
    columns=(
        Column("label", _l("Plan"), Plan.label, link=("plans.detail", Plan.id)),
        Column("as_of", _l("Reckoned from"), Plan.as_of, "date"),
        Column("person", _l("Made by"), Plan.person),
        Column("is_adopted", _l("Adopted"), Plan.is_adopted, sortable=False),
        Column("fingerprint", _l("Fingerprint"), Plan.fingerprint, sortable=False),
    ),
    search=(Plan.label, Plan.person, Plan.fingerprint),
)


class MakeForm(Form):
    """What a new plan is called."""

    label = TextField(
        _l("Name of the plan"), most=120, description=_l("Left empty, the plan is named after the day.")
    )


@bp.get("/plans")
def list_page() -> str:
    """All plans, the newest first."""
    return _list_page(MakeForm())


@bp.post("/plans")
def make() -> ResponseReturnValue:
    """Reckon the plan of today; where nothing has changed, lead to the plan that says the same already."""
    form = MakeForm(request.form)
    if not form.validate():
        return _list_page(form), 422
    if is_long(db()):
        return begin_plan(form.label.data or "")
    before = newest_plan(db())
    try:
        plan = make_plan(db(), actor(), today=today(), label=form.label.data or "")
    except Invalid as refused:
        db().rollback()
        form.form_errors.extend(refused.errors.values())
        return _list_page(form), 422
    flash(*tell_made(db(), plan.id, is_new=before is None or plan.id > before.id))
    return redirect(url_for(".detail", record_id=plan.id), 303)


def tell_made(session: Session, plan_id: int, *, is_new: bool) -> tuple[str, str]:
    """What came of making a plan: a sentence, and its tone."""
    plan = get_plan(session, plan_id)
    if is_new:
        return _("The plan “%(label)s” is made. Look through it, then adopt it.", label=plan.label), "ok"
    return _(
        "Nothing has changed: the records of today give the plan “%(label)s” of %(day)s, shown here.",
        label=plan.label,
        day=format_date(plan.as_of),
    ), "info"


@bp.post(f"/plans/{ID}/adopt")
def adopt(record_id: int) -> ResponseReturnValue:
    """Make a plan the one that is worked by."""
    plan = adopt_plan(db(), actor(), plan_id=record_id, today=today())
    flash(_("“%(label)s” is now the adopted plan. Sowing and collecting lists follow it.", label=plan.label), "ok")
    return redirect(url_for(".detail", record_id=record_id), 303)


def _list_page(form: MakeForm) -> str:
    listed = view_list(LISTING)
    current, newest = current_plan(db()), newest_plan(db())
    return render_template(
        "plans/list.html",
        section="plan",
        listed=listed,
        form=form,
        counts=lines_by_status(db(), [row.id for row, _cells in listed.rows]),
        statuses=list(LineStatus),
        current=current,
        newest=newest,
        changed=joined(changes_since(db(), newest)) if newest else "",
    )
