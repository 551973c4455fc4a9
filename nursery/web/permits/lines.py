"""Adding, changing and removing the lines of a permit."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import CombinedMultiDict

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Permit, PermitLine
from nursery.services import records
from nursery.services.permits.lines import get_line, remove_line, save_line, unknown_places
from nursery.web.permits.forms import LineForm
from nursery.web.permits.pages import bp
from nursery.web.records import ID
from nursery.web.session import actor, db

_LINE = f"/permits/{ID}/lines/<int(max=2147483647):line_id>"


@bp.route(f"/permits/{ID}/lines/new", methods=["GET", "POST"])
def new_line(record_id: int) -> ResponseReturnValue:
    """A further species."""
    return _form(records.get(db(), Permit, record_id), None)


@bp.route(_LINE, methods=["GET", "POST"])
def edit_line(record_id: int, line_id: int) -> ResponseReturnValue:
    """Another cap or area."""
    permit = records.get(db(), Permit, record_id)
    return _form(permit, get_line(db(), permit, line_id))


@bp.post(f"{_LINE}/remove")
def drop_line(record_id: int, line_id: int) -> ResponseReturnValue:
    """Take a species out."""
    permit = records.get(db(), Permit, record_id)
    line = get_line(db(), permit, line_id)
    name = line.species.scientific_name
    remove_line(db(), actor(), permit=permit, line=line)
    flash(_("The line of %(species)s was removed; the history tells what it said.", species=name), "ok")
    return redirect(url_for("permits.detail", record_id=record_id), 303)


def _form(permit: Permit, line: PermitLine | None) -> ResponseReturnValue:
    stored = LineForm.stored(line) if line is not None else {}
    if request.method != "POST":
        return _page(permit.id, line, LineForm(data=stored)), 200
    form = LineForm(CombinedMultiDict([request.files, request.form]), data=stored)
    saved = _save(permit, line, form)
    if saved is None:
        return _page(permit.id, line, form), 422
    flash(_("The line of %(species)s was saved.", species=saved.species.scientific_name), "ok")
    for told in (form.species_id.understood, *unknown_places(db(), saved)):
        if told:
            flash(told, "info")
    return redirect(url_for("permits.detail", record_id=permit.id), 303)


def _save(permit: Permit, line: PermitLine | None, form: LineForm) -> PermitLine | None:
    if not form.validate():
        return None
    try:
        return save_line(db(), actor(), permit=permit, line=line, values=form.values())
    except Invalid as refused:
        db().rollback()
        for name, message in refused.errors.items():
            form[name].errors = [message]
        return None


def _page(permit_id: int, line: Any, form: LineForm) -> str:
    permit = records.get(db(), Permit, permit_id)
    title = (
        _("Change a line of %(number)s", number=permit.number)
        if line is not None
        else _("New line of %(number)s", number=permit.number)
    )
    return render_template("permits/line.html", section="collect", permit=permit, form=form, title=title)
