"""The page of the nursery's own defaults."""

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.changes import ACTIONS
from nursery.services.preferences import change_preferences, read_preferences
from nursery.web.history import describe_history
from nursery.web.paths import asked
from nursery.web.session import actor, db
from nursery.web.settings.forms import PreferencesForm

bp = Blueprint("settings", __name__)


@bp.route("/settings", methods=["GET", "POST"])
def page() -> ResponseReturnValue:
    """The defaults, to read and to change."""
    if request.method != "POST":
        return _show(PreferencesForm(obj=read_preferences(db())))
    form = PreferencesForm(request.form)
    if form.validate():
        try:
            change_preferences(db(), actor(), values=form.values())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("The settings were saved. The next plan uses them."), "ok")
            for told in form.understood():
                flash(told, "info")
            return redirect(asked(url_for(".page")), 303)
    return _show(form), 422


def _show(form: PreferencesForm) -> str:
    # The species that the catalogue brought are on record with the preferences too; here they say nothing.
    told = describe_history(db(), read_preferences(db()), form)
    history = [entry for entry in told if entry["action"] == str(ACTIONS["changed"])]
    return render_template("settings/page.html", section="settings", form=form, history=history)
