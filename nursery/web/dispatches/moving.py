"""Sending a load, taking it over, cancelling it, and taking each of these back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from flask import flash, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Dispatch
from nursery.models.dispatches import DispatchStatus
from nursery.services.batches.words import plants_text
from nursery.services.dispatches import planning, receiving, sending
from nursery.services.dispatches.expecting import expected
from nursery.services.dispatches.holding import hold
from nursery.services.dispatches.reading import rows_of
from nursery.services.dispatches.stopping import stops_of
from nursery.services.dispatches.sums import load_sums
from nursery.web.batches.writing import attempt
from nursery.web.dispatches.forms import ReasonForm, by_line, receive_form, send_form
from nursery.web.dispatches.looking import papers_context
from nursery.web.dispatches.pages import AT, BOTH, back, bp, find
from nursery.web.session import actor, db, now, today


@bp.route(f"{AT}/send", methods=BOTH)
def send(record_id: int) -> ResponseReturnValue:
    """What goes, line by line."""
    load = find(record_id)
    if (gone := _passed(load, DispatchStatus.PLANNED)) is not None:
        return gone
    papers = papers_context(load)
    form = send_form(
        rows_of(load), request.form or None, may_lack_papers=bool(papers["to_others"] and papers["papers"]),
        data={"sent_on": today(), "rest": sending.Rest.LATER, "version": load.version},
    )  # fmt: skip
    done: dict[str, Any] = {}

    def write() -> bool:
        done["later"] = sending.send(
            db(), actor(), load=load, sent_on=form["sent_on"].data, today=today(),
            sent=by_line(form, "sent"), trays=by_line(form, "trays"), rest=form["rest"].data,
            version=form.seen_version,
            reason=(form["reason"].data or "") if "reason" in form else "",
        )  # fmt: skip
        return True

    if request.method == "POST" and attempt(form, write):
        flash(_("%(load)s is on the road with %(plants)s.", load=load.code,
                plants=plants_text(load_sums(load).sent)), "ok")  # fmt: skip
        if (later := done["later"]) is not None:
            flash(_("What did not go is in %(load)s, planned for %(day)s.", load=later.code,
                    day=format_date(later.planned_on)), "info")  # fmt: skip
        return back(load)
    load = find(record_id)
    return _page(
        "dispatches/send.html", load, form, rows=rows_of(load), stops=stops_of(db(), load, now=now()),
        **papers_context(load),
    )  # fmt: skip


@bp.route(f"{AT}/receive", methods=BOTH)
def receive(record_id: int) -> ResponseReturnValue:
    """Who took it over, when, and how many plants came."""
    load = find(record_id)
    if (gone := _passed(load, DispatchStatus.SENT)) is not None:
        return gone
    form = receive_form(
        rows_of(load), expected(db(), load), request.form or None,
        data={"received_on": today(), "received_time": now().strftime("%H:%M"), "version": load.version},
    )  # fmt: skip

    def write() -> Dispatch:
        return receiving.receive(
            db(), actor(), load=load, received_on=form["received_on"].data, received_by=form["received_by"].data,
            received_time=form["received_time"].data or "", today=today(),
            received=by_line(form, "received"), version=form.seen_version,
        )  # fmt: skip

    if request.method == "POST" and attempt(form, write):
        sums = load_sums(load)
        flash(_("%(person)s took %(plants)s over.", person=load.received_by,
                plants=plants_text(sums.received)), "ok")  # fmt: skip
        if sums.missing:
            flash(_("%(plants)s were missing: the ledger has them as lost on the way.",
                    plants=plants_text(sums.missing)), "caution")  # fmt: skip
        return back(load)
    load = find(record_id)
    return _page("dispatches/receive.html", load, form, rows=rows_of(load))


#: What asks for nothing but a reason: title, what it does, button, the service, and the states it fits.
_ASKED: Mapping[str, tuple[Any, Any, Any, Callable[..., Any], tuple[DispatchStatus, ...]]] = {
    "cancel": (
        _l("Cancel the load"),
        _l("Nothing has left: its plants are free for other sites again."),
        _l("Cancel it"),
        lambda load, reason, version: planning.cancel_load(
            db(), actor(), load=load, reason=reason, version=version
        ),
        (DispatchStatus.PLANNED,),
    ),
    "take-back": (
        _l("Take the load back"),
        _l(
            "For a load that was written down by mistake: its plants are in their batches again, and the load is"
            " planned again. Both entries stay in the ledger. Plants that truly came back are a return: write them"
            " down at their line."
        ),
        _l("Take it back"),
        lambda load, reason, version: sending.take_back(
            db(), actor(), load=load, reason=reason, today=today(), version=version
        ),
        (DispatchStatus.SENT, DispatchStatus.RECEIVED),
    ),
    "take-receipt-back": (
        _l("Take the receipt back"),
        _l("For a receipt with a wrong number or name: the load is on the road again, with what was missing."),
        _l("Take it back"),
        lambda load, reason, version: receiving.take_receipt_back(
            db(), actor(), load=load, reason=reason, today=today(), version=version
        ),
        (DispatchStatus.RECEIVED,),
    ),
}


@bp.route(f"{AT}/<any(cancel,'take-back','take-receipt-back'):step>", methods=BOTH)
def ask(record_id: int, step: str) -> ResponseReturnValue:
    """Ask why, and do it."""
    load = find(record_id)
    title, lead, label, do, statuses = _ASKED[step]
    if (gone := _passed(load, *statuses)) is not None:
        return gone
    form = ReasonForm(request.form or None, data={"version": load.version})
    if request.method == "POST" and attempt(form, lambda: do(load, form.reason.data or "", form.seen_version)):
        flash(_("It was written down. The history keeps why."), "ok")
        return back(load)
    return _page("dispatches/ask.html", find(record_id), form, title=title, lead=lead, label=label, kind="stop")


def _passed(load: Dispatch, *statuses: DispatchStatus) -> ResponseReturnValue | None:
    """Away from a page that no longer fits the load, with what somebody did meanwhile."""
    if load.status in statuses and load.archived_at is None:
        return None
    try:
        hold(db(), load, *statuses)
    except Conflict as refused:
        db().rollback()
        flash(str(refused), "caution")
    return back(load)


def _page(template: str, load: Dispatch, form: Any, **more: Any) -> ResponseReturnValue:
    page = render_template(
        template, section="plant", load=load, form=form,
        cancel_url=url_for("dispatches.detail", record_id=load.id), **more,
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page
