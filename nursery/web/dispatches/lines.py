"""The lines of a planned load: added, changed, replaced, put in order."""

from __future__ import annotations

from typing import Any

from flask import abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import NurseryError
from nursery.i18n import gettext as _
from nursery.models import Batch, Dispatch, DispatchLine
from nursery.services.dispatches import planning, sending, substituting
from nursery.services.dispatches.proposing import propose
from nursery.services.dispatches.reading import rows_of
from nursery.services.dispatches.stopping import stops_of
from nursery.services.health.reentry import reentries_of_batches
from nursery.web.batches.writing import attempt
from nursery.web.dispatches.forms import ChangeLineForm, LineForm, SubstituteForm, TraysForm
from nursery.web.dispatches.pages import AT, BOTH, back, bp, find
from nursery.web.paths import asked
from nursery.web.session import actor, db, now, today

LINE = f"{AT}/lines/<int(max=2147483647):load_line_id>"


def line_of(load: Dispatch, load_line_id: int) -> DispatchLine:
    """The line of the load, or the page that says there is none."""
    return next((line for line in load.lines if line.id == load_line_id), None) or abort(404)


@bp.route(f"{AT}/lines/new", methods=BOTH)
def add_line(record_id: int) -> ResponseReturnValue:
    """Plants of another batch join the load; what is ready for the site is offered."""
    load = find(record_id)
    form = LineForm.for_load(load, request.form or None)

    def write() -> DispatchLine:
        return planning.add_line(
            db(), actor(), load=load, batch_id=form["batch_id"].data, plants=form["plants"].data,
            grade=form["grade"].data or "", today=today(), target_id=request.form.get("target_id", type=int),
        )  # fmt: skip

    if request.method == "POST" and attempt(form, write):
        flash(_("It is in the load."), "ok")
        return back(load, _anchor="lines")
    load = find(record_id)
    return _page(
        "dispatches/add_line.html", load, form,
        offers=propose(db(), load.site, planned_on=load.planned_on, today=today()),
    )  # fmt: skip


@bp.route(f"{LINE}/edit", methods=BOTH)
def change_line(record_id: int, load_line_id: int) -> ResponseReturnValue:
    """More or fewer plants, or another size."""
    load = find(record_id)
    line = line_of(load, load_line_id)
    row = next(one for one in rows_of(load) if one.line is line)
    form = ChangeLineForm.for_row(row, request.form or None)
    if request.method == "POST" and attempt(
        form,
        lambda: planning.change_line(
            db(), actor(), line=line, plants=form["plants"].data, grade=form["grade"].data or "",
            trays=form["trays"].data if "trays" in form else None,
        ),
    ):  # fmt: skip
        flash(_("“%(name)s” was saved.", name=line.batch.code), "ok")
        return back(load, _anchor="lines")
    load = find(record_id)
    return _page("dispatches/change_line.html", load, form, line=line_of(load, load_line_id))


@bp.route(f"{LINE}/trays", methods=BOTH)
def trays(record_id: int, load_line_id: int) -> ResponseReturnValue:
    """In how many trays plants left, where nobody wrote that down: papers ask for it."""
    load = find(record_id)
    line = line_of(load, load_line_id)
    form = TraysForm(request.form or None)
    if request.method == "POST" and attempt(
        form, lambda: sending.write_trays_down(db(), actor(), line=line, trays=form["trays"].data)
    ):
        flash(_("“%(name)s” was saved.", name=line.batch.code), "ok")
        return redirect(asked(url_for("dispatches.detail", record_id=record_id, _anchor="lines")), 303)
    load = find(record_id)
    return _page("dispatches/trays.html", load, form, line=line_of(load, load_line_id))


@bp.post(f"{LINE}/<any(earlier,later,remove):step>")
def move_line(record_id: int, load_line_id: int, step: str) -> ResponseReturnValue:
    """Load it earlier or later, or not at all."""
    load = find(record_id)
    line = line_of(load, load_line_id)
    try:
        if step == "remove":
            planning.remove_line(db(), actor(), line=line)
        else:
            planning.move_line(db(), actor(), line=line, earlier=step == "earlier")
    except NurseryError as refused:
        db().rollback()
        flash(str(refused), "stop")
    return redirect(url_for("dispatches.detail", record_id=record_id, _anchor="lines"), 303)


@bp.route(f"{LINE}/substitute", methods=BOTH)
def substitute(record_id: int, load_line_id: int) -> ResponseReturnValue:
    """Another batch stands in; those that the rules of origin stop are told with the reason."""
    load = find(record_id)
    line = line_of(load, load_line_id)
    form = SubstituteForm(request.form or None, data={"batch_id": request.args.get("batch", type=int)})
    if request.method == "POST" and attempt(
        form,
        lambda: substituting.substitute(
            db(),
            actor(),
            line=line,
            batch_id=form["batch_id"].data,
            reason=form["reason"].data or "",
            today=today(),
        ),
    ):
        flash(_("%(batch)s stands in.", batch=db().get_one(Batch, form["batch_id"].data).code), "ok")
        return back(load, _anchor="lines")
    load = find(record_id)
    line = line_of(load, load_line_id)
    stands = substituting.stand_ins(db(), line, today=today())
    return _page(
        "dispatches/substitute.html", load, form, line=line, stands=stands, stops=stops_of(db(), load, now=now()),
        closed=reentries_of_batches(db(), [one.batch.id for one in stands], now=now()),
    )  # fmt: skip


def _page(template: str, load: Dispatch, form: Any, **more: Any) -> ResponseReturnValue:
    page = render_template(
        template, section="plant", load=load, form=form,
        cancel_url=url_for("dispatches.detail", record_id=load.id), **more,
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page
