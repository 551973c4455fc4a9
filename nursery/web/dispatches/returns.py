"""Plants that came back: written down, and decided about."""

from __future__ import annotations

from typing import Any

from flask import abort, flash, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import NurseryError
from nursery.i18n import gettext as _
from nursery.models import Dispatch, ReturnedPlants
from nursery.models.dispatches import ReturnDecision
from nursery.services.batches.words import plants_text
from nursery.services.dispatches import returning
from nursery.services.dispatches.words import DECISION_LABELS
from nursery.web.batches.writing import attempt
from nursery.web.dispatches.forms import DecideForm, ReasonForm, ReturnForm
from nursery.web.dispatches.lines import LINE, line_of
from nursery.web.dispatches.pages import AT, BOTH, back, bp, find
from nursery.web.session import actor, db, today

_RETURN = f"{AT}/returns/<int(max=2147483647):return_id>"


@bp.route(f"{LINE}/return", methods=BOTH)
def come_back(record_id: int, load_line_id: int) -> ResponseReturnValue:
    """How many came back, when, and how they look."""
    load = find(record_id)
    line = line_of(load, load_line_id)
    form = ReturnForm.for_line(line, request.form or None, data={"returned_on": today()})
    if request.method == "POST" and attempt(
        form,
        lambda: returning.note_return(
            db(), actor(), line=line, plants=form["plants"].data, returned_on=form["returned_on"].data,
            condition=form["condition"].data or "", today=today(),
            trays=form["trays"].data if "trays" in form else None,
        ),
    ):  # fmt: skip
        flash(
            _("%(plants)s came back. They stand apart until somebody decides what becomes of them.",
              plants=plants_text(form["plants"].data)), "caution",
        )  # fmt: skip
        return back(load, _anchor="returns")
    load = find(record_id)
    return _page("dispatches/return.html", load, form, line=line_of(load, load_line_id))


@bp.route(f"{_RETURN}/decide", methods=BOTH)
def decide(record_id: int, return_id: int) -> ResponseReturnValue:
    """Back in stock, or discarded: with a reason."""
    load = find(record_id)
    row = _row(load, return_id)
    form = DecideForm(request.form or None, data={"decision": ReturnDecision.DISCARDED, "decided_on": today()})
    if request.method == "POST" and attempt(
        form,
        lambda: returning.decide(
            db(), actor(), row=row, decision=form["decision"].data, reason=form["reason"].data or "",
            decided_on=form["decided_on"].data, today=today(),
        ),
    ):  # fmt: skip
        told = (
            _("%(plants)s are back in %(batch)s.", plants=plants_text(row.plants), batch=row.line.batch.code)
            if row.decision is ReturnDecision.BACK_IN_STOCK
            else _("%(plants)s were discarded.", plants=plants_text(row.plants))
        )
        flash(told, "ok")
        return back(load, _anchor="returns")
    load = find(record_id)
    row = _row(load, return_id)
    decision = DECISION_LABELS[row.decision] if row.decision is not None else ""
    return _page("dispatches/decide.html", load, form, row=row, decision=decision)


@bp.route(f"{_RETURN}/undo", methods=BOTH)
def undo(record_id: int, return_id: int) -> ResponseReturnValue:
    """A decision is taken back: the plants stand apart again."""
    load = find(record_id)
    row = _row(load, return_id)
    form = ReasonForm(request.form or None)
    if request.method == "POST" and attempt(
        form,
        lambda: returning.undo_decision(db(), actor(), row=row, reason=form["reason"].data or "", today=today()),
    ):
        flash(_("The decision was taken back. The plants stand apart again."), "ok")
        return back(load, _anchor="returns")
    return _page(
        "dispatches/ask.html", find(record_id), form, title=_("Take the decision back"),
        lead=_("The plants stand apart again, and the ledger keeps both entries."), label=_("Take it back"),
        kind="stop",
    )  # fmt: skip


@bp.post(f"{_RETURN}/strike")
def strike(record_id: int, return_id: int) -> ResponseReturnValue:
    """They never came back: struck out while nobody has decided."""
    load = find(record_id)
    try:
        returning.withdraw_return(db(), actor(), row=_row(load, return_id), today=today())
        flash(_("The return was struck out. The history keeps it."), "ok")
    except NurseryError as refused:
        db().rollback()
        flash(str(refused), "stop")
    return back(find(record_id), _anchor="returns")


def _row(load: Dispatch, return_id: int) -> ReturnedPlants:
    rows = (row for line in load.lines for row in line.returns if row.id == return_id and not row.is_missing)
    return next(rows, None) or abort(404)


def _page(template: str, load: Dispatch, form: Any, **more: Any) -> ResponseReturnValue:
    page = render_template(
        template, section="plant", load=load, form=form,
        cancel_url=url_for("dispatches.detail", record_id=load.id), **more,
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page
